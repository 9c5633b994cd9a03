"""A frame beside a client's standard: each departure names the standard, and what can't be told is said once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from session.checks.judge.all_checks import judge
from session.frame.finding import CheckId, Finding, FlawKind, FocusVerdict, Level
from session.frame.ports import Agreement, Assignment, Reference
from session.set.client_standard import ShadowSide, Standard
from session.set.setup import Region, Revision
from tests.session.checks.standard.test_piece_on_ground import drawn

HELD = Standard(
    "catalogue-white",
    across_percent=45.0,
    down_percent=53.0,
    margin_percent=15.0,
    shadow_side=ShadowSide.RIGHT,
    background_ev=2.0,
    exposure_tolerance_ev=0.2,
    colour_tolerance_de2000=2.0,
    size_tolerance_percent=4.0,
)
"""What the picture of `plain` holds: its piece's middle lies at 45 % and 53 %, its ground is 0.72 of white."""

GOLD = (0.5, 0.3, 0.05)
REVISION = Revision(region=Region(0.35, 0.35, 0.2, 0.3))


def plain(**changes: object) -> Image.Image:
    return drawn(**{"ground": 0.72, "piece": GOLD, "box": (231, 140, 463, 402), "shadow": 46, **changes})  # type: ignore[arg-type]


@pytest.fixture
def first(tmp_path: Path) -> Iterator[Path]:
    path = tmp_path / "first.jpg"
    plain().save(path, quality=93)
    yield path


def told(
    picture: Image.Image, standard: Standard, first: Path | None = None, revision: Revision = REVISION
) -> list[Finding]:
    path = (first or Path("/nowhere")).parent / "frame.jpg" if first else Path("/nowhere")
    assert first is not None
    picture.save(path, quality=93)
    agreement = Agreement(standard, Reference("first", 1, str(first)))
    found = judge(Assignment("f", str(path), "jpeg", revision, {}, False, agreement=agreement)).findings
    return [one for one in found if one.id == CheckId.STANDARD]


def test_a_frame_that_holds_the_standard_has_no_finding(first: Path) -> None:
    assert told(plain(box=(233, 142, 465, 404)), HELD, first) == []


@pytest.mark.parametrize(
    ("changes", "standard", "kind", "words"),
    [
        ({"box": (331, 140, 563, 402)}, HELD, FlawKind.FRAMING, "lies 13 % right of its place"),
        ({"box": (231, 40, 463, 302)}, replace(HELD, margin_percent=None), FlawKind.FRAMING, "13 % above its place"),
        ({}, replace(HELD, margin_percent=28.0), FlawKind.MARGIN, "% free below the piece, 28 % is agreed"),
        ({"shadow": -46}, HELD, FlawKind.SHADOW_SIDE, "lies on the left, agreed is on the right"),
        (
            {"ground": 0.54},
            replace(HELD, exposure_tolerance_ev=None),
            FlawKind.BACKGROUND,
            "background 0.4 EV under its 2.0 EV",
        ),
        (
            {"ground": 0.54},
            replace(HELD, background_ev=None),
            FlawKind.EXPOSURE,
            "0.4 EV darker than the first piece, 0.2 EV is agreed",
        ),
        ({"box": (216, 123, 478, 419)}, HELD, FlawKind.SIZE, "% larger than the first one, 4 % is agreed"),
    ],
    ids=["framing across", "framing down", "margin", "shadow side", "background", "exposure", "size"],
)
def test_a_departure_is_one_caution_that_names_the_standard(
    changes: dict[str, object], standard: Standard, kind: FlawKind, words: str, first: Path
) -> None:
    (found,) = told(plain(**changes), standard, first)
    assert (found.level, found.kind) == (Level.CAUTION, kind)
    assert found.text.startswith("Standard catalogue-white: ") and words in found.text, found.text
    assert found.value is not None or kind is FlawKind.SHADOW_SIDE


def test_a_ground_of_another_colour_is_off_by_its_delta_e(first: Path) -> None:
    picture = plain()
    red, green, blue = picture.split()
    warm = Image.merge("RGB", (red, green, blue.point(lambda code: round(code * 0.95))))
    (found,) = told(warm, HELD, first)
    assert found.kind is FlawKind.COLOUR and found.value is not None and 2 < found.value < 12, found.text


def test_what_the_picture_cant_tell_is_said_in_one_note(first: Path) -> None:
    chequered = Image.effect_noise((768, 512), 200).convert("RGB")
    found = told(chequered, replace(HELD, blur_limit_px=0.8), first)
    assert [one.level for one in found] == [Level.NOTE]
    for thing in ("framing", "margin", "shadow side", "background", "blur", "exposure", "colour", "size"):
        assert thing in found[0].text


@pytest.mark.parametrize(
    ("accepted", "reason"),
    [
        (Image.effect_noise((768, 512), 200).convert("RGB"), "the rim of the picture shows no plain ground"),
        (plain(ground=1.5), "the ground is burnt out"),
    ],
)
def test_the_note_names_the_picture_whose_ground_cant_be_told(accepted: Image.Image, reason: str, first: Path) -> None:
    accepted.save(first, quality=93)
    empty = plain(piece=(0.72, 0.72, 0.72), shadow=0, box=(0, 0, 0, 0))
    standard = Standard("catalogue-white", exposure_tolerance_ev=0.2)
    (found,) = told(empty, standard, first)
    assert found.level is Level.NOTE and f"in the accepted frame, {reason}" in found.text
    assert "nothing stands out" not in found.text


def test_an_accepted_frame_that_is_gone_leaves_the_rest_of_the_standard(first: Path) -> None:
    path = first.parent / "frame.jpg"
    plain(ground=0.4).save(path, quality=93)
    agreement = Agreement(HELD, Reference("first", 1, str(first.parent / "gone.jpg")))
    found = judge(Assignment("f", str(path), "jpeg", REVISION, {}, False, agreement=agreement)).findings
    assert [one.kind for one in found if one.id == CheckId.STANDARD] == [FlawKind.BACKGROUND]


def test_blur_beyond_the_standard_is_told_though_the_set_up_bears_it(first: Path) -> None:
    from tests.support.made_pictures import blurred, coded, jpeg_bytes, photograph

    light = photograph("coins.png", (900, 700))
    sharp, soft = first.parent / "sharp.jpg", first.parent / "soft.jpg"
    sharp.write_bytes(jpeg_bytes(coded(light, seed=1)))
    soft.write_bytes(jpeg_bytes(coded(blurred(light, 2.2), seed=2)))
    revision = replace(REVISION, blur_limit_px=4.0)
    agreement = Agreement(Standard("catalogue-white", blur_limit_px=1.0))
    judged = judge(
        Assignment("f", str(soft), "jpeg", revision, {}, False, reference_path=str(sharp), agreement=agreement)
    )
    assert judged.focus.verdict is FocusVerdict.SHARP
    (found,) = (one for one in judged.findings if one.id == CheckId.STANDARD)
    assert found.kind is FlawKind.OVER_BLUR_LIMIT and "over its 1 px" in found.text, found.text
