"""The set-up by keys: its settings line by line, and a new one."""

from __future__ import annotations

from session.frame import camera_messages as say
from tests.support.played_bench import played_bench


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
        assert "exposure time  * " in at.text
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
