"""What a photographer has no longer is said by keys: the steps take the values of what stands in its place."""

from __future__ import annotations

from session.frame.camera_messages import ApplySettings
from session.frame.step_said import StepWord
from tests.support.reshoot_screen import reshoot_screen
from tests.support.running_screen import SMALL
from tests.support.written_log import WrittenLog


def words(written: WrittenLog) -> dict[str, tuple[StepWord, str]]:
    said = written.reader.steps_said(written.place, written.revision_id)
    return {one.step: (one.word, one.reason) for one in said}


async def test_another_lens_is_chosen_by_what_it_changes_and_steps_and_camera_follow_the_next_day_too(
    written: WrittenLog,
) -> None:
    """11·(1 + 0.5) = 16.5 works as N·(1 + 0.5/0.9): N = 10.6, of thirds of a stop f/11; f/13 the 28 mm, by 1.7."""
    async with reshoot_screen(written, SMALL) as at:
        await at.press("x")
        assert "Lens and lights can have a substitute" in at.flat, "the check list has none"
        await at.press("down", "down")
        assert at.large == "LENS" and "x substitute" in at.key_line
        await at.press("x")
        assert at.large == "OTHER LENS" and "instead   nothing: as it was recorded" in at.text
        await at.press("up")
        assert "▸Broadfen 28" in at.text and "can't be the same" in at.flat
        await at.press("enter")
        assert "instead   Broadfen 28 at 1:2" in at.text
        assert at.app.model.revision.arrangement.lens == "Broadfen 28"
        assert at.studio.camera.last(ApplySettings).changes["f_number"] == 13.0
        await at.press("up")
        assert "aperture to f/13" in at.flat, "the camera's step asks for it, as a value that isn't the old one"
    assert words(written) == {"instead of lens": (StepWord.INSTEAD, "Broadfen 28")}
    async with reshoot_screen(written, SMALL) as at:
        assert at.studio.camera.last(ApplySettings).changes["f_number"] == 13.0, "put in force by itself"
        await at.press("down", "down")
        assert "instead   Broadfen 28" in at.text


async def test_another_flash_is_chosen_at_its_light_and_undone(written: WrittenLog) -> None:
    """Guide numbers 36 and 28 m: 2·log2(36/28) = 0.73 EV, two thirds of a stop."""
    async with reshoot_screen(written, SMALL) as at:
        for _ in range(5):
            await at.press("down")
        await at.press("x", "down", "enter")
        light = at.app.model.revision.light("key")
        assert "instead   1/4 +⅔ (−1.3 EV)" in at.text and round(light.power_ev, 1) == -1.3
        assert words(written) == {"instead of flash key": (StepWord.INSTEAD, "rim")}
        await at.press("z")
        assert "Undone: rim instead of flash key" in at.flat and "instead   1/2" not in at.text
        await at.press("z")
        assert at.app.model.revision.light("key").power_ev == -2.0 and not words(written)
