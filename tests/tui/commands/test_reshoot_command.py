"""`stillset reshoot`: which job, piece and reference are meant, and what the hands must do, without a camera."""

from __future__ import annotations

import json
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from session.picture.stored_preview import keep_preview
from storage.files.paths import previews_folder
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.fresh_log import fresh_log
from tests.support.in_process import stillset
from tests.support.log_samples import NOON, SetClock, revision, whole_frame
from tests.support.reshot_log import keep_only_preview, reshot_log


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Set-up 07.3 in one job, approved for its piece; set-up 09.1 in two jobs."""
    path = tmp_path / "log.sqlite"
    with closing(fresh_log(path, SetClock())) as log:
        for job, piece, setups in (("Movement", "Bridge", (7, 9)), ("Type", "Tray", (9,))):
            place = log.open_place(job, piece, "top")
            for number in setups:
                key = log.save_revision(place, revision(number, 3 if number == 7 else 1))
                frame_id = whole_frame(log, place, number, key)
                log.set_reference(place, number, frame_id)
    monkeypatch.setenv("STILLSET_LOG", str(path))
    return path


def test_the_piece_and_the_reference_are_those_that_the_set_up_was_approved_for(log: Path) -> None:
    told = stillset("reshoot", "07.3", "--list")
    assert told.startswith("Set-up 07.3 of Movement: Bridge\n")
    assert "  light key: 1/4 (−2 EV) with tube" in told and "Its reference is frame 7." in told
    assert "Nothing is measured: here frames count 12 hours after" in told
    listed = json.loads(stillset("reshoot", "07.3", "--list", "--json"))
    assert (listed["setup"], listed["reference"]) == ("07.3", 7) and listed["cautions"]


def test_what_substitutes_change_stands_below_the_steps(log: Path) -> None:
    told = stillset("reshoot", "07.3", "--list", "--other-lens", "Broadfen 28", "--other-flash", "key=fill")
    assert "      instead: Broadfen 28 at " in told and "perspective" in told and "instead of 1/4 (−2 EV)" in told
    listed = json.loads(stillset("reshoot", "07.3", "--list", "--json", "--lost-shaper", "key"))
    assert list(listed["instead"]) == ["light key"]
    assert "kit has no lens 'Nowhere'" in stillset("reshoot", "07.3", "--list", "--other-lens", "Nowhere", exit_code=2)
    assert "written like key=FLASH" in stillset("reshoot", "07.3", "--list", "--other-flash", "key", exit_code=2)
    twice = stillset("reshoot", "07.3", "--list", *("--other-flash", "key=fill") * 2, exit_code=2)
    assert "--other-flash names 'key' twice" in twice
    assert "told with --list" in stillset("reshoot", "07.3", "--headless", "--other-lens", "Broadfen 28", exit_code=2)


def test_a_reference_whose_files_are_gone_is_told_with_its_stored_preview(log: Path) -> None:
    with closing(LogReader.open(log)) as reader:
        reference = reader.frame_numbered("Movement", 7)
    assert reference is not None and reference.picture and not Path(reference.picture).exists()
    folder = previews_folder(log)
    folder.mkdir()
    keep_preview(folder, reference.frame_id, np.full((80, 120, 3), 118, np.uint8), (1200, 800))
    told = stillset("reshoot", "07.3", "--list")
    assert "Its reference is frame 7, from the stored preview: its files aren't there, and focus can't be" in told


def test_a_reference_that_was_shot_with_other_lights_is_said(log: Path) -> None:
    with closing(SqlLog.open(log, SetClock())) as more:
        place = more.open_place("Movement", "Bridge", "top")
        key_up = tuple(replace(light, power_ev=light.power_ev + 1) for light in revision().lights[:1])
        more.save_revision(place, replace(revision(7, 4), lights=(*key_up, *revision().lights[1:])))
    told = stillset("reshoot", "07.4", "--list")
    assert "Frame 7, the reference, was shot by set-up 07.3; 07.4 differs: light key 1/4 → 1/2." in told
    assert json.loads(stillset("reshoot", "07.4", "--list", "--json"))["reference_setup"] == "07.3"
    assert "was shot by" not in stillset("reshoot", "07.3", "--list")


def test_a_set_up_that_several_jobs_have_is_asked_for_by_job_when_the_last_has_none(log: Path) -> None:
    with closing(fresh_log(log.with_name("more.sqlite"), SetClock())) as more:
        for job in ("Movement", "Type", "Ring"):
            place = more.open_place(job, "piece", "top")
            if job != "Ring":
                more.save_revision(place, revision(9, 1))
    more_log = ("--log", str(log.with_name("more.sqlite")))
    said = " ".join(stillset("reshoot", "09.1", "--list", *more_log, exit_code=2).split())
    assert "Set-up 09.1 is in several jobs; choose with --job:" in said and "'Movement'" in said and "'Type'" in said
    told = stillset("reshoot", "09.1", "--list", *more_log, "--job", "Type")
    assert "Set-up 09.1 of Type" in told and "It has no reference; the first good frame can become one." in told


def test_a_piece_without_a_reference_of_its_own_is_said(log: Path) -> None:
    told = stillset("reshoot", "07.3", "--list", "--job", "Movement", "--piece", "Wheel")
    assert "Its reference is frame 7 of Bridge, since this piece has none of its own" in told


def test_a_set_up_that_is_not_there_is_told(log: Path) -> None:
    assert "Job 'Movement' has no set-up 08" in stillset("reshoot", "08", "--job", "Movement", "--list", exit_code=2)


def test_a_frame_of_another_day_is_measured_against_the_reference(tmp_path: Path) -> None:
    path, shot = reshot_log(tmp_path)
    listed = json.loads(stillset("reshoot", "07.3", "--list", "--json", "--log", str(path)))
    steps = {step["key"]: step for step in listed["steps"]}
    assert steps["framing"]["state"] == "off" and "right" in steps["framing"]["to_do"], steps["framing"]
    assert steps["together"]["to_do"].startswith("key 0.7 EV more, or "), steps["together"]
    told = stillset("reshoot", "07.3", "--list", "--log", str(path))
    day = (NOON + timedelta(days=2)).astimezone().date()
    assert f"Measured is frame 2, shot on {day}." in told
    assert (listed["frame"], listed["frame_asked_at"]) == (2, (NOON + timedelta(days=2)).isoformat())
    framing = steps["framing"]
    of = f"frame 2 of {(NOON + timedelta(days=2)).astimezone():%d %b %Y %H:%M}"
    assert f"OFF · {framing['measured']} · {of} · {framing['to_do']}" in told
    assert (framing["frame"], framing["asked_at"]) == (2, (NOON + timedelta(days=2)).isoformat())
    assert (steps["lens"]["frame"], steps["lens"]["asked_at"]) == (None, None)
    assert "skipped before a pause of" in told, "so long ago it settles nothing"
    assert "check list: piece free of dust" in told and ": a longer <lens> & tubes" in told

    page = tmp_path / "match.html"
    assert "FAIL: " in stillset("reshoot", "07.3", "--report", str(page), "--log", str(path))
    html = page.read_text()
    assert html.count('src="data:image/jpeg') == 3, "reference, frame, and their difference"
    assert "http:" not in html and "https:" not in html and "<script" not in html
    rows = {row.partition("</td>")[0].partition(">")[2]: row for row in html.split("<tr>") if 'class="word"' in row}
    assert '<b class="word">fail</b>' in rows["framing"] and steps["framing"]["measured"] in rows["framing"]
    assert "frame 2 of " in rows["framing"] and "features 1 px off on average" in rows["framing"]
    assert '<b class="word">not measured</b>' in rows["piece"] or '<b class="word">pass</b>' in rows["piece"]
    assert '<b class="word">skipped</b>' in rows["lens"] and "a longer &lt;lens&gt; &amp; tubes" in rows["lens"]
    assert "<li>Skipped: lens, because a longer &lt;lens&gt; &amp; tubes</li>" in html
    assert html.count(" EV FAIL") >= 1 and "upper left: −0.6" in html
    assert "Cautions:" in html and "set-up 07.3 · stillset " in html
    assert "is there already" in stillset("reshoot", "07.3", "--report", str(page), "--log", str(path), exit_code=1)

    with closing(LogReader.open(path)) as reader:
        reference = reader.frame_numbered("Movement", 1)
    assert reference is not None
    keep_only_preview(path, reference.frame_id, shot[0])
    by_preview = json.loads(stillset("reshoot", "07.3", "--list", "--json", "--log", str(path)))["steps"]
    again = {step["key"]: step for step in by_preview}
    stillset("reshoot", "07.3", "--report", str(tmp_path / "again.html"), "--log", str(path))
    assert "isn&#x27;t there, shown from the stored preview" in (tmp_path / "again.html").read_text()
    assert again["framing"]["to_do"] == steps["framing"]["to_do"]
    assert again["together"]["to_do"][:15] == steps["together"]["to_do"][:15]
