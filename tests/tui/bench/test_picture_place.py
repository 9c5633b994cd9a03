"""The picture's place: the frame's picture with its region, a file that can't be shown, the plan before any frame."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from session.set.kit import demo_kit
from session.set.setup import Arrangement, Revision
from tests.support.bench_events import FOUND, released
from tests.support.running_screen import LARGE, SMALL, bench
from tests.support.scripted_table import REVISION, FixedClock, ScriptedTable
from tui.bench.picture_place import set_plan
from tui.screen.panel import Panel
from tui.screen.picture_view import PictureView

SIZES = pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "160x48"])


@SIZES
async def test_the_last_picture_is_shown_with_the_regions_frame(
    table: ScriptedTable, clock: FixedClock, size: tuple[int, int], picture: str
) -> None:
    async with bench(table, clock, size, FOUND, *released(1, path=picture)) as at:
        view = at.app.screen.query_one(PictureView)
        assert view.picture is not None and view.picture.full_width_px == 300
        assert "▀" in at.text and "┌" in at.text and "┘" in at.text
        left, top = view.region.offset
        upper_left = at.app.screen.get_style_at(left + view.size.width // 4, top + 1)
        lower_right = at.app.screen.get_style_at(left + 3 * view.size.width // 4, top + view.size.height - 4)
        assert upper_left.color and upper_left.color.triplet and min(upper_left.color.triplet) > 200
        assert lower_right.color and lower_right.color.triplet and max(lower_right.color.triplet) < 50


async def test_a_file_that_cant_be_shown_says_so_where_its_picture_would_be(
    table: ScriptedTable, clock: FixedClock, tmp_path: Path
) -> None:
    (tmp_path / "broken.jpg").write_bytes(b"\xff\xd8broken")
    async with bench(table, clock, SMALL, FOUND, *released(1, path=str(tmp_path / "broken.jpg"))) as at:
        assert "the file" in at.text


async def test_before_the_first_frame_the_plan_of_the_set_up_stands_where_the_picture_will(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        assert "PLAN OF SET-UP 07.3 · side view" in at.text and "no picture yet" not in at.text
        assert "Longmere 100 close-up, 1:2" in at.text and "lens" in at.text and "from the lens to" in at.text
        await at.tell(*released(1))
        assert "its files are coming in" in at.text and "PLAN OF" not in at.text


async def test_a_lens_that_the_kit_does_not_know_is_told_in_words_alone(clock: FixedClock) -> None:
    arrangement = Arrangement("Unheard of 50", 50.0, 1.0, extension_mm=50.0, dioptres=2.0, converter=1.4)
    table = ScriptedTable(replace(REVISION, arrangement=arrangement))
    async with bench(table, clock, SMALL, FOUND) as at:
        plan = " ".join(at.app.screen.query_one("#plan", Panel).content.plain.split())
        assert plan == "Unheard of 50, 1:1 with 50 mm of tubes, close-up lens +2 dpt, converter 1.4×"


def words_of_plan(revision: Revision) -> str:
    return " ".join(line.plain for line in set_plan(revision, demo_kit(), 200, 20))


def test_a_lens_that_does_not_come_to_the_ratio_has_no_distance_but_a_sentence() -> None:
    """1:1 by a 50 mm lens that comes to 0.15 by itself takes 50·(1 − 0.15) = 42.5 mm of tubes (thin lens)."""
    alone = Arrangement(lens="Plainfield 50", focal_length_mm=50.0, magnification=1.0)
    told = words_of_plan(Revision(arrangement=alone))
    assert "Plainfield 50 as put up comes to 1:6.7, not 1:1." in told and "from the lens" not in told
    with_tubes = replace(alone, extension_mm=48.0)
    told = words_of_plan(Revision(arrangement=with_tubes))
    assert "mm from the lens to the plane of focus" in told and "comes to" not in told


def test_no_distance_is_told_of_a_lens_that_nobody_named() -> None:
    told = words_of_plan(Revision(arrangement=Arrangement(magnification=0.5)))
    said = "Which lens it is wasn't said; all mm go by the ratio 1:2. Lens and ratio: [e] settings"
    assert said in told and "from the lens" not in told
