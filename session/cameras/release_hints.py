"""The hints in a body's own settings when a release gave no picture: timers, mirrors, remote controls."""

from __future__ import annotations

from collections.abc import Mapping

from session.cameras.widgets import Widget

MODES, MIRROR = ("capturemode", "drivemode"), "mirrorlock"
HINT_WIDGETS = (*MODES, MIRROR)
ON = frozenset({"on", "1"})
LOOK = "Look whether it sleeps, its cover is open, or it shows a sign of heat."


def hints(widgets: Mapping[str, Widget]) -> str:
    """Sentences on what may hold the shutter by the camera's settings; "" where they say nothing of the kind."""
    said = []
    for mode in (widgets[name].text for name in MODES if name in widgets):
        words = mode.casefold()
        if "timer" in words:
            said.append(f"Its self-timer is on ({mode}).")
        if "mirror" in words:
            said.append(f"Mirror lock-up is on ({mode}): one release only lifts the mirror.")
        if "remote" in words:
            said.append(f"It waits for a remote control ({mode}).")
    if MIRROR in widgets and widgets[MIRROR].text.casefold() in ON:
        said.append("Mirror lock-up is on: one release only lifts the mirror.")
    return " ".join(said)
