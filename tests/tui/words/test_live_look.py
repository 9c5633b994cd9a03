"""How the live picture is looked at: steps in and back, lines over it, and the part of it that is shown."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.set.setup import Region
from tui.words.live_look import LARGEST, RATIOS, WHOLE, Hold, LiveLook, Overlay, crop_of

quick = settings(max_examples=50)
sides = st.integers(10, 4000)


@st.composite
def regions(draw: st.DrawFn) -> Region:
    left, top = draw(st.floats(0, 0.8)), draw(st.floats(0, 0.8))
    return Region(left, top, draw(st.floats(0.02, 1 - left)), draw(st.floats(0.02, 1 - top)))


def test_each_step_in_doubles_up_to_the_largest_and_each_step_back_undoes_one() -> None:
    look, seen = LiveLook(), []
    for _ in range(6):
        look.enlarge()
        seen.append(look.times)
    assert seen == [1, 2, 4, LARGEST, LARGEST, LARGEST]
    for times in (4, 2, 1, WHOLE, WHOLE):
        look.reduce()
        assert look.times == times


def test_lines_and_comparisons_go_round() -> None:
    look = LiveLook()
    overlays, holds = [], []
    for _ in range(len(Overlay) + 1):
        overlays.append(look.overlay)
        look.next_overlay()
    for _ in range(len(Hold) + 1):
        holds.append(look.hold)
        look.next_hold()
    assert overlays == [*Overlay, Overlay.REGION] and holds == [*Hold, Hold.ALONE]


@quick
@given(regions(), st.sampled_from([1, 2, 4, 8]), sides, sides, sides, sides)
def test_the_part_shown_lies_in_the_picture_and_holds_the_regions_middle(
    region: Region, times: int, wide: int, high: int, view_wide: int, view_high: int
) -> None:
    part = LiveLook(times=times).part(region, (wide, high), (view_wide, view_high))
    assert part is not None
    assert part.width >= region.width / times - 1e-9 and part.height >= region.height / times - 1e-9
    across, along = region.left + region.width / 2, region.top + region.height / 2
    assert part.left - 1e-9 <= across <= part.left + part.width + 1e-9
    assert part.top - 1e-9 <= along <= part.top + part.height + 1e-9
    if part.width < 1 and part.height < 1:
        shape = part.width * wide / (part.height * high)
        assert shape == pytest.approx(view_wide / view_high, rel=1e-6), "as much beside it as there is room for"


def test_the_whole_picture_has_no_part() -> None:
    assert LiveLook().part(Region(), (1024, 680), (80, 40)) is None


@pytest.mark.parametrize(
    ("look", "words"),
    [
        (LiveLook(), "LIVE VIEW"),
        (LiveLook(paused=True), "LIVE VIEW · paused"),
        (LiveLook(times=1), "LIVE VIEW · region"),
        (LiveLook(times=4), "LIVE VIEW · region ×4"),
        (LiveLook(overlay=Overlay.THIRDS), "LIVE VIEW · thirds"),
        (LiveLook(times=2, overlay=Overlay.THIRDS), "LIVE VIEW · region ×2"),  # lines are of the whole picture
        (LiveLook(overlay=Overlay.NONE, hold=Hold.DIFFERENCE), "LIVE VIEW · no lines · difference shown"),
        (LiveLook(1, Overlay.REGION, Hold.BLENDED, True), "LIVE VIEW · paused · region · reference blended"),
    ],
)
def test_how_it_is_looked_at_is_said(look: LiveLook, words: str) -> None:
    assert look.words() == words


@quick
@given(st.sampled_from(list(Overlay)), sides, sides)
def test_a_crop_is_the_largest_of_its_shape_in_the_middle(overlay: Overlay, wide: int, high: int) -> None:
    crop = crop_of(overlay, wide, high)
    if overlay not in RATIOS:
        assert crop is None
        return
    assert crop is not None
    assert crop.width * wide / (crop.height * high) == pytest.approx(RATIOS[overlay])
    assert max(crop.width, crop.height) == pytest.approx(1)
    assert crop.left * 2 + crop.width == pytest.approx(1) and crop.top * 2 + crop.height == pytest.approx(1)
