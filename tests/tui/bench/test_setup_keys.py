"""The set-up by keys: its settings line by line, and a new one."""

from __future__ import annotations

from dataclasses import replace

from session.frame import camera_messages as say
from session.set.setup import PassiveItem, PlacedLight, Revision
from tests.support.played_bench import played_bench
from tests.support.scripted import DESCRIPTION, Studio

TWO_LIGHTS = Revision(
    lights=(PlacedLight("key", -2.0, 600.0, 45.0, 35.0, "tube"), PlacedLight("rim", -3.0, 410.0, 120.0, 20.0))
)


async def test_where_the_camera_stands_is_typed_among_the_settings() -> None:
    async with played_bench() as at:
        await at.press("e", "up", "t")  # the last line
        await at.type("20 left")
        await at.press("enter", "up", "t")
        await at.type("35")
        await at.press("enter", "up", "up", "t")
        await at.type("182")
        await at.press("enter", "enter")
        after = at.revision
        assert (after.view_around_deg, after.view_down_deg, after.working_distance_mm) == (20.0, 35.0, 182.0)


async def test_settings_are_changed_line_by_line_and_kept_as_one_change() -> None:
    async with played_bench() as at:
        before = at.revision
        await at.press("e", "right", "down", "left")
        assert "exposure time * " in at.flat
        await at.press("down", "down", "down", "down", "down", "down", "t")
        await at.type("3.5")
        await at.press("enter", "enter")
        assert len(at.studio.log.acts) == 1
        after = at.revision
        assert after.settings.exposure_s != before.settings.exposure_s
        assert after.settings.f_number != before.settings.f_number
        assert after.hold_off_s == 3.5
        assert at.studio.camera.last(say.ApplySettings).changes["exposure_s"] == after.settings.exposure_s


async def test_a_new_set_up_is_begun_with_a_word_on_it_and_not_by_one_slip() -> None:
    async with played_bench() as at:
        await at.press("u", "escape")
        assert at.revision.setup_number == 1
        await at.press("u")
        await at.type("raking light")
        await at.press("enter")
        assert (at.revision.setup_number, at.revision.notes) == (2, "raking light")


async def test_a_region_framed_before_the_first_picture_is_said_to_be_blind_and_what_helps() -> None:
    async with played_bench() as at:
        await at.press("g")
        assert "There is no picture yet to frame the region over: [v] switches live view on." in at.flat
        await at.press("escape", "v", "g")
        assert "no picture yet to frame" not in at.flat
    async with played_bench(Studio(description=replace(DESCRIPTION, live_view=False))) as at:
        await at.press("g")
        assert "no picture yet to frame the region over: release a frame first." in at.flat
    async with played_bench() as at:
        await at.frame()
        await at.press("g")
        assert "no picture yet to frame" not in at.flat


async def test_settings_stand_in_two_columns_and_the_chosen_one_in_full() -> None:
    lens = "Longmere 100 close-up with the long hood and its collar"
    wide = replace(TWO_LIGHTS, arrangement=replace(TWO_LIGHTS.arrangement, lens=lens))
    async with played_bench(Studio(revision=wide)) as at:
        await at.press("e", "up")
        columns = {line.index("not said") for line in at.text.split("\n") if "not said" in line}
        assert len(columns) == 1, "labels of every length, one column of values"
        assert "…" in next(line for line in at.text.split("\n") if " lens  " in line)
        while "its collar" not in at.flat:
            await at.press("up")
        (column,) = columns
        side = [line[42:].rstrip() for line in at.text.split("\n")]
        first = next(number for number, line in enumerate(side) if line.startswith("▸lens  "))
        told = [side[first].removeprefix("▸lens").strip(), *(line.strip() for line in side[first + 1 : first + 5])]
        assert " ".join(told).startswith(lens)
        assert len(side[first + 1]) - len(side[first + 1].lstrip()) + 42 == column


async def test_a_long_note_to_a_light_and_a_long_name_of_a_reflector_are_read_whole_at_80_columns() -> None:
    note = "the cable runs to the left, under the table's edge, taped"
    key = replace(TWO_LIGHTS.lights[0], note=note)
    card = PassiveItem("bounce", "white card of the baker", 410.0, 120.0, 20.0, "", 210.0, 297.0)
    async with played_bench(Studio(revision=replace(TWO_LIGHTS, lights=(key,), passive=(card,)))) as at:
        side = " ".join(line[42:].strip() for line in at.text.split("\n")[6:])
        for words in ("reflector white card of the baker", "410 mm", "210 × 297 mm"):
            assert words in " ".join(side.split()), side
        await at.press("1")
        assert note in " ".join(" ".join(line[42:].strip() for line in at.text.split("\n")[6:]).split())
