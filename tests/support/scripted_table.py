"""A table without camera, log or threads for tests of the screens: keeps the acts, and says what a test tells it to.

The shoot behind it is a mock with the real one's methods, so an act that the controller doesn't have fails.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any
from unittest.mock import create_autospec

from session.frame.camera import CameraDescription, Reading, Setting
from session.frame.finding import Finding, Level, Remedy, RemedyKind
from session.frame.ports import Place
from session.set.kit import Kit, demo_kit
from session.set.setup import Arrangement, PlacedLight, Revision, Settings
from session.shoot.controller import Shoot
from session.shoot.events import Event
from session.shoot.supports import Supports

PLACE = Place("j", "p1", "v1", "Invented movements", "barrel 6 of 24", "three-quarter")
REVISION = Revision(
    setup_number=7,
    revision=3,
    settings=Settings(1 / 200, 11.0, 100),
    arrangement=Arrangement("Longmere 100 close-up", 100.0, 0.5),
    lights=(PlacedLight("key", -2.0, 600.0, 45.0, 35.0, "tube"), PlacedLight("rim", -3.0, 410.0, 120.0, 20.0)),
    blur_limit_px=2.0,
)
CAMERA = CameraDescription("ptpip:127.0.0.1:15740", "Wendle 16", "invented-1", live_view=True, focus_drive=True)
READING = Reading(
    {
        "exposure_s": Setting("exposure_s", 1 / 200, "1/200", (1 / 60, 1 / 125, 1 / 200, 1 / 250, 1 / 500)),
        "f_number": Setting("f_number", 11.0, "f/11", (8.0, 9.0, 10.0, 11.0, 13.0, 16.0)),
        "iso": Setting("iso", 100, "100", (100, 200, 400)),
        "battery_percent": Setting("battery_percent", 81, "81 %", (), True),
    }
)
SYNC = Finding(
    "sync",
    Level.STOP,
    "1/500 s is shorter than the 1/200 s sync time: 33 % of the picture would stay dark.",
    1 / 500,
    1 / 200,
    "s",
    Remedy(RemedyKind.SET_CAMERA, "set 1/200 s", {"exposure_s": 1 / 200}),
)
DRIFTED = Finding(
    "drifted",
    Level.STOP,
    "Aperture is f/8, set-up 07.3 says f/11.",
    1,
    0,
    "settings",
    Remedy(RemedyKind.SET_CAMERA, "back to f/11", {"f_number": 11.0}),
)


class FixedClock:
    """Stands still until it is moved."""

    def __init__(self) -> None:
        self.now_s = 1000.0

    def monotonic_s(self) -> float:
        return self.now_s

    def now(self) -> datetime:
        return datetime(2026, 3, 5, 14, 30, tzinfo=UTC)


class ScriptedTable:
    """Implements `tui.screen.table.Table`; `shoot` is the mock that the acts are done to, at once."""

    def __init__(self, revision: Revision = REVISION, kit: Kit | None = None) -> None:
        self.place, self.kit = PLACE, kit or demo_kit()
        self.reader: Any = None
        self.shoot: Any = create_autospec(Shoot, instance=True)
        self.shoot.bench = SimpleNamespace(
            place=PLACE, revision=revision, revision_id="r", description=None, reading=Reading(), free_card_bytes=None
        )
        self.shoot.supports = create_autospec(Supports, instance=True)
        self.shoot.findings.return_value = ()
        self._listeners: list[Callable[[Event], None]] = []

    def call(self, act: Callable[[Shoot], object]) -> None:
        act(self.shoot)

    def listen(self, listener: Callable[[Event], None]) -> None:
        self._listeners.append(listener)

    def tell(self, *events: Event) -> None:
        """Let the screens hear these."""
        for event in events:
            for listener in self._listeners:
                listener(event)

    def open_place(self, piece: str, view: str) -> Place:
        return Place("j", piece, view, PLACE.job, piece, view)
