"""Three themes: `dim` for a dark studio, `contrast` for tired eyes, `light` for daylight and projectors.

Words and signs carry the state. Every text stands out from its ground by 7:1 or more in each of them, small print too
(WCAG 2.2, 1.4.6, by its formula of the contrast ratio); a test holds it, over the themes and over the screens.
"""

from __future__ import annotations

from textual.theme import Theme

DIM = Theme(
    name="dim",
    primary="#c8a878",
    secondary="#a0a5ae",
    foreground="#c9c5bd",
    background="#0b0b0c",
    surface="#0b0b0c",
    panel="#17171a",
    success="#8fb98a",
    warning="#d9b45b",
    error="#e6937a",
    accent="#c8a878",
    dark=True,
    variables={"quiet": "#a8a49c", "line": "#2b2a2d"},
)
"""Warm and low, so that it neither blinds in the dark nor lights the piece."""

CONTRAST = Theme(
    name="contrast",
    primary="#ffffff",
    secondary="#d0d0d0",
    foreground="#ffffff",
    background="#000000",
    surface="#000000",
    panel="#000000",
    success="#7dff7d",
    warning="#ffe14d",
    error="#ff8f7a",
    accent="#ffffff",
    dark=True,
    variables={"quiet": "#d0d0d0", "line": "#808080"},
)

LIGHT = Theme(
    name="light",
    primary="#5a3d0a",
    secondary="#3d4248",
    foreground="#1c1a17",
    background="#f6f3ec",
    surface="#f6f3ec",
    panel="#e6e1d6",
    success="#0f4a12",
    warning="#5c3f00",
    error="#7f1500",
    accent="#5a3d0a",
    dark=False,
    variables={"quiet": "#44403a", "line": "#b5ad9e"},
)

THEMES = (DIM, CONTRAST, LIGHT)


def after(name: str) -> str:
    """The name of the theme that comes after a theme, round and round."""
    names = [theme.name for theme in THEMES]
    return names[(names.index(name) + 1) % len(names)]
