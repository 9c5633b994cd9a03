"""Two themes: `dim` for a dark studio, `contrast` for a bright one or tired eyes. Words and signs carry the state."""

from __future__ import annotations

from textual.theme import Theme

DIM = Theme(
    name="dim",
    primary="#c8a878",
    secondary="#8a8f98",
    foreground="#c9c5bd",
    background="#0b0b0c",
    surface="#0b0b0c",
    panel="#17171a",
    success="#8fb98a",
    warning="#d9b45b",
    error="#e6937a",
    accent="#c8a878",
    dark=True,
    variables={"quiet": "#938f87", "line": "#2b2a2d"},
)
"""Warm and low, so that it neither blinds in the dark nor lights the piece. Contrast of text to ground stays
above 7:1 (4.5:1 for small print in `quiet`), by the formula of WCAG 2.2 (1.4.6, 1.4.3); a test holds it."""

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

THEMES = (DIM, CONTRAST)


def after(name: str) -> str:
    """The name of the other theme."""
    return CONTRAST.name if name == DIM.name else DIM.name
