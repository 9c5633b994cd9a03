"""A table without camera, log or threads for tests of the screens: keeps the acts, and says what a test tells it to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from session.frame.camera_messages import CameraDescription, Reading, Setting
from session.frame.finding import Finding, Level, Remedy, RemedyKind
from session.frame.ports import Place
from session.match.reshoot_steps import Reshoot
from session.plan.planned_revision import as_revision
from session.set.kit import Kit, demo_kit
from session.set.setup import Arrangement, PlacedLight, Revision, Settings
from session.shoot.acts import Act, PlaceLight, Revise, StrikeLight, TakePlan, TellAll, TellWhenDone
from session.shoot.events import CameraFound, DoneSoFar, Event, PlaceChanged, RevisionChanged, RulesChanged

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


CHANGES = (Revise, PlaceLight, StrikeLight, TakePlan)
"""Acts that change the arrangement."""


class ScriptedTable:
    """Implements `tui.screen.shoot_port.ShootPort`: keeps the acts that are posted, and tells what a controller at rest
    would.

    on    kind of act → what is done with each of that kind, for tests with a log behind the screens
    """

    def __init__(self, revision: Revision = REVISION, kit: Kit | None = None) -> None:
        self.place, self.kit = PLACE, kit or demo_kit()
        self.reader: Any = None
        self.reshoot: Reshoot | None = None
        self.revision = revision
        self.camera: CameraDescription | None = None
        self.findings: tuple[Finding, ...] = ()
        self.acts: list[Act] = []
        self.on: dict[type[Act], Callable[[Any], object]] = {}
        self._listeners: list[Callable[[Event], None]] = []

    def post(self, act: Act) -> None:
        match act:
            case TellAll():
                self.tell(PlaceChanged(PLACE), RevisionChanged(self.revision, "r"))
                if self.camera is not None:
                    self.tell(CameraFound(self.camera, READING, None))
                self.tell(RulesChanged(self.findings))
            case TellWhenDone(name):
                self.tell(DoneSoFar(name))
            case _:
                self.acts.append(act)
        if type(act) in self.on:
            self.on[type(act)](act)

    def asked(self, *kinds: type[Act]) -> list[Any]:
        """The acts of these kinds, in order."""
        return [act for act in self.acts if isinstance(act, kinds)]

    @property
    def revised(self) -> Revision:
        """What the last change makes of the set-up on the table."""
        match self.asked(*CHANGES)[-1]:
            case Revise(changes):
                return replace(self.revision, **changes)  # type: ignore[arg-type]
            case PlaceLight(light):
                return self.revision.with_light(light)
            case StrikeLight(name):
                return self.revision.without_light(name)
            case TakePlan(plan):
                return as_revision(plan, self.revision)
        raise AssertionError("nothing was changed")

    def listen(self, listener: Callable[[Event], None]) -> None:
        self._listeners.append(listener)

    def tell(self, *events: Event) -> None:
        """Let the screens hear these."""
        for event in events:
            for listener in self._listeners:
                listener(event)
