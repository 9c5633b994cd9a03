"""A panel shows what is made for its size, and is painted anew only when that differs; the large line likewise."""

from __future__ import annotations

import pytest
from textual.app import App, ComposeResult
from textual.content import Content

from tui.screen.panel import LargeLine, Panel
from tui.words.headline import Tone


class Shown(App[None]):
    CSS = "Panel { width: 20; height: 3; } LargeLine { width: 40; height: 3; }"

    def compose(self) -> ComposeResult:
        yield Panel(id="panel")
        yield LargeLine(id="large")


@pytest.fixture
def painted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The kinds of the widgets that asked to be painted."""
    asked: list[str] = []
    for kind in (Panel, LargeLine):
        monkeypatch.setattr(kind, "refresh", lambda self, *_, **__: asked.append(type(self).__name__))
    return asked


async def test_a_panel_is_made_for_its_size_and_painted_only_when_it_differs(painted: list[str]) -> None:
    async with Shown().run_test(size=(80, 24)) as at:
        panel = at.app.query_one(Panel)
        painted.clear()
        panel.show(lambda width, height: Content(f"{width} × {height}"))
        assert panel.content.plain == "20 × 3" and painted == ["Panel"]
        panel.show(lambda width, height: Content("20 × 3"))
        assert painted == ["Panel"], "made otherwise, and the same"
        panel.show(lambda width, height: Content("another"))
        assert painted == ["Panel", "Panel"]


async def test_the_large_line_says_its_tone_by_one_class_and_an_unchanged_line_is_left_alone(
    painted: list[str],
) -> None:
    async with Shown().run_test(size=(80, 24)) as at:
        large = at.app.query_one(LargeLine)
        painted.clear()
        for _ in range(2):
            large.say("READY", Tone.GO)
        assert painted == ["LargeLine"]
        large.say("READY", Tone.STOP)
        assert {name for name in large.classes if name.startswith("-")} == {"-stop"}
