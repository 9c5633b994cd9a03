"""The themes' contrast, by the formula of WCAG, and their turns."""

from __future__ import annotations

import pytest
from textual.color import Color
from textual.theme import Theme

from session.frame.finding import Finding, FocusVerdict, Level
from session.shoot.events import RulesChanged
from tests.support.bench_events import COMING, FOUND, judged
from tests.support.running_screen import SMALL, bench
from tests.support.scripted_table import SYNC, FixedClock, ScriptedTable
from tui.screen.themes import THEMES, after

MISS = Finding("focus", Level.CAUTION, "blur 7.3 px in the region, limit 2.0 px: 0.3 mm off.", 7.3, 2.0, "px")


def relative_luminance(colour: str) -> float:
    """WCAG 2.2, "relative luminance", from sRGB code values."""
    channels = [value / 255 for value in Color.parse(colour).rgb]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, "contrast ratio"."""
    light, dark = sorted((relative_luminance(one), relative_luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
def test_text_stands_out_from_its_ground_as_wcag_asks(theme: Theme) -> None:
    """WCAG 2.2, 1.4.6: 7:1 for all text."""
    names = (theme.foreground, theme.primary, theme.secondary, theme.success, theme.warning, theme.error, theme.accent)
    for ground in (theme.background, theme.surface, theme.panel):
        for colour in (*names, theme.variables["quiet"]):
            assert contrast(str(colour), str(ground)) >= 7, (colour, ground)


@pytest.mark.parametrize("theme", THEMES, ids=lambda theme: theme.name)
@pytest.mark.parametrize("keys", [(), ("1",), ("e",), ("n",), ("p",), ("l",), ("m",), ("question_mark",)])
async def test_what_is_written_on_a_screen_stands_out_from_what_is_behind_it(
    table: ScriptedTable, clock: FixedClock, theme: Theme, keys: tuple[str, ...]
) -> None:
    """WCAG 2.2, 1.4.6, on what Textual paints; pictures and lines are no text."""
    events = (FOUND, *COMING, *judged(1, FocusVerdict.MISSED, 7.3, 0.3, (MISS,)), RulesChanged((SYNC,)))
    async with bench(table, clock, SMALL, *events, theme=theme.name) as at:
        await at.press(*keys)
        pairs = {
            (segment.style.color.triplet.hex, segment.style.bgcolor.triplet.hex, segment.style.reverse)
            for strip in at.app.screen._compositor.render_strips()
            for segment in strip
            if any(sign.isalnum() for sign in segment.text)
            and segment.style and segment.style.color and segment.style.bgcolor
            and segment.style.color.triplet and segment.style.bgcolor.triplet
        }  # fmt: skip
    assert len(pairs) >= 2
    for text, ground, _ in pairs:
        assert contrast(text, ground) >= 7, (text, ground)


def test_the_dim_theme_sends_out_less_light_than_the_others() -> None:
    dim, high, light = THEMES
    assert relative_luminance(str(dim.foreground)) < 0.7 * relative_luminance(str(high.foreground))
    assert relative_luminance(str(dim.background)) < 0.1 * relative_luminance(str(light.background))


def test_the_themes_take_turns() -> None:
    assert {after(theme.name) for theme in THEMES} == {theme.name for theme in THEMES}
