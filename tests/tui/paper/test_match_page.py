"""The match report as a page: what is said where nothing can be compared, and of names and bodies that are others."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

from session.frame.ports import Place
from session.match.match_steps import match_steps
from session.match.reshoot_steps import Reshoot, reshoot_steps
from session.match.set_measure import LitPictures
from session.set.kit import demo_kit
from session.set.setup import Revision
from tests.support.reshoot_screen import SET, picture, referenced_log
from tui.paper.match_page import MatchFacts, match_html
from tui.shell.match_look import MatchLook, ReshootLogged, look_back
from tui.shell.measured_set import SetPictures, reference_of

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)
PLACE = Place("", "", "", "Movement <7>", "Bridge & wheel", "top")


def facts(look: MatchLook, place: Place = PLACE, revision: Revision = SET) -> MatchFacts:
    measured = look.measured
    steps = reshoot_steps(revision, match_steps(revision, measured), (), (), NOON)
    return MatchFacts("", place, Reshoot(revision, "r"), replace(look, steps=steps), "stillset 0", date(2026, 12, 5))


def test_a_set_up_without_a_reference_says_so_and_names_from_people_stay_text() -> None:
    page = match_html(facts(MatchLook()))
    assert "The set-up has no reference, so there is nothing to compare with." in page
    assert "NOT ALL MEASURED" in page and "<img" not in page
    assert "Movement &lt;7&gt;" in page and "Bridge &amp; wheel" in page and "<7>" not in page
    assert "2026-12-05 · set-up 01.1 · stillset 0" in page and "Cautions:" in page


def test_another_body_and_another_piece_are_named_and_pictures_of_other_sides_have_no_difference(
    tmp_path: Path,
) -> None:
    written = referenced_log(tmp_path)
    reference = reference_of(written.reader, written.place, SET.setup_number)
    frame = written.reader.frame_numbered(written.place.job, 2)
    assert reference is not None and frame is not None
    picture(Path(reference.files[0].path))
    picture(Path(frame.files[0].path), size_px=(480, 720))
    then, now = (
        demo_kit().body[0],
        demo_kit().body[0].model_copy(update={"name": "Other A", "sensor_width_mm": 48.0, "sensor_height_mm": 32.0}),
    )
    pictures = SetPictures(LitPictures(), LitPictures(), record=frame)
    kit = demo_kit().model_copy(update={"body": (then, now)})
    logged = ReshootLogged((), (), reference, replace(pictures, body_then=then, body_now=now))
    look = look_back(logged, Reshoot(SET, written.revision_id), kit, NOON)
    page = match_html(replace(facts(look, replace(written.place, piece="barrel 7")), look=look))
    assert f"Another body: Other A instead of {then.name}: 1:1 instead of 1:2 for the same field" in page
    assert "Another piece: barrel 7; the reference shows barrel 6 of 24" in page
    assert "No difference: the two pictures&#x27; sides are in another ratio" in page
    assert page.count('src="data:image/jpeg') == 2
    written.close()
