"""Invented places, set-ups and frames for tests of the log; nobody's and nothing's real names."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from session.frame.camera_messages import CardObject, Reading, SavedFile, Setting
from session.frame.finding import Finding, FlawKind, FocusJudgement, FocusVerdict, Level, Move, Remedy, RemedyKind
from session.frame.ports import Place
from session.frame.series_plane import Approach, MovedBy, SeriesPlane
from session.frame.states import TRANSITIONS, FrameEvent, FrameState, Intent, ReleasedBy
from session.set.setup import Arrangement, PassiveItem, PlacedLight, Region, Revision, Settings
from session.units.ids import new_id

SERIAL = "INVENTED-0001"
NOON = datetime(2026, 5, 4, 12, 0, tzinfo=UTC)


PLANE = SeriesPlane("01890a5d-ac96-774b-bcce-b302099a8057", 1.76, 7, 0.88, 1.32, MovedBy.DRIVE, Approach.NEAR, 48.5)
"""The third of seven planes."""


@dataclass
class SetClock:
    """A clock that a test sets; every look at the time of day takes a second."""

    at: datetime = NOON
    seen: list[datetime] = field(default_factory=list)

    def monotonic_s(self) -> float:
        return (self.at - NOON).total_seconds()

    def now(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at


def revision(setup_number: int = 7, number: int = 3) -> Revision:
    """A set-up with every field filled."""
    return Revision(
        setup_number=setup_number,
        revision=number,
        settings=Settings(1 / 160, 13.0, 64, "Flash", "raw+jpeg"),
        arrangement=Arrangement("invented 105 mm", 105.0, 0.71, 1.2, True, 25.0, 2.0, 31.0, 1.4),
        lights=(
            PlacedLight("key", -2.0, 620.0, 45.0, 30.0, "tube", "cable to the left", 90.0, 80.0, 5.8, 1.2, 0.8),
            PlacedLight("fill", -4.0, None, None, None, "", ""),
        ),
        passive=(
            PassiveItem(
                *("bounce", "white card", 410.0, 120.0, 20.0, "leans on the stand", 210.0, 297.0, 45.0, "left"),
                *(8.0, 1.6, 1.2),
            ),
        ),
        region=Region(0.1, 0.2, 0.3, 0.4),
        grey_patch=Region(0.7, 0.75, 0.1, 0.05),
        body="invented body",
        trigger="invented trigger",
        depth_needed_mm=1.4,
        must_be_sharp="the engraved letters",
        may_fall_off="the rim",
        ambient_ev=-6.5,
        support="copy stand",
        working_distance_mm=182.0,
        camera_height_mm=340.0,
        view_down_deg=35.0,
        view_around_deg=20.0,
        hold_off_s=3.5,
        blur_limit_px=1.5,
        confirmed=("stabiliser",),
        notes="second look, colder",
    )


def intent(number: int, revision_id: str, **changes: object) -> Intent:
    """What the controller writes before a release."""
    values: dict[str, object] = {
        "frame_id": new_id(),
        "number": number,
        "revision_id": revision_id,
        "camera_serial": SERIAL,
        "folder": "/pictures/movement/bridge",
        "stem": f"{number:04d}-three-quarter-07.3",
        "asked_at": NOON,
        "released_by": ReleasedBy.TOOL,
        "overrulings": {},
    }
    return Intent(**(values | changes))  # type: ignore[arg-type]


def card_object(number: int, ending: str = "JPG", size: int = 1000, modified_at: float | None = None) -> CardObject:
    """A file as a card lists it."""
    return CardObject("/store_00010001/DCIM/100STILL", f"STIL{number:04d}.{ending}", size, modified_at)


def saved_file(number: int, ending: str = "JPG", kind: str = "jpeg", size: int = 1000) -> SavedFile:
    """A file as the camera's process tells it."""
    path = f"/pictures/movement/bridge/{number:04d}-three-quarter-07.3.{ending}"
    return SavedFile(path, kind, size, f"{number:064x}", card_object(number, ending, size))


READING = Reading(
    {
        "exposure_s": Setting("exposure_s", 1 / 200, "1/200", (1 / 200, 1 / 160)),
        "f_number": Setting("f_number", 11.0, "f/11"),
        "iso": Setting("iso", 100, "100"),
        "white_balance": Setting("white_balance", "Flash", "Flash"),
        "battery_percent": Setting("battery_percent", 81, "81%", read_only=True),
    }
)

SYNC = Finding(
    "sync",
    Level.STOP,
    "1/500 s is shorter than the 1/200 s sync time.",
    1 / 500,
    1 / 200,
    "s",
    Remedy(RemedyKind.SET_CAMERA, "set 1/200 s", {"exposure_s": 1 / 200}),
)

MISS = Finding("focus", Level.CAUTION, "Sharpest 0.3 mm behind the region.", 4.2, 2.0, "px")

TASK = Finding(
    "drift", Level.CAUTION, "Move the camera 0.9 mm right.", 90.0, 30.0, "px", None, FlawKind.MOVE_CAMERA,
    Move(0.9, 0.0, -0.2, "mm"),
)  # fmt: skip

MISSED = FocusJudgement(FocusVerdict.MISSED, 4.2, 0.3, 0.31, 0.5, (0.4, 0.6), "")


def way_to(state: FrameState) -> list[FrameEvent] | None:
    """The shortest way from where the log begins a frame to this state, None when there is none."""
    ways: dict[FrameState, list[FrameEvent]] = {FrameState.RELEASING: []}
    reached = list(ways)
    for here in reached:
        for (before, event), after in TRANSITIONS.items():
            if before is here and after not in ways:
                ways[after] = [*ways[here], event]
                reached.append(after)
    return ways.get(state)


LOGGED_STATES = [state for state in FrameState if way_to(state) is not None]
"""States in which a log may hold a frame."""


def move_to(log: object, frame_id: str, state: FrameState, text: str = "") -> None:
    """Move a frame that was just begun to this state."""
    for event in way_to(state) or []:
        log.move_frame(frame_id, event, text)  # type: ignore[attr-defined]


def whole_frame(log: object, place: Place, number: int, revision_id: str, **changes: object) -> str:
    """Take a frame from the intent to `logged`, as the controller does; returns its key."""
    wish = intent(number, revision_id, **changes)
    log.begin_frame(wish, place)  # type: ignore[attr-defined]
    log.frame_reading(wish.frame_id, READING)  # type: ignore[attr-defined]
    log.move_frame(wish.frame_id, FrameEvent.FIRED, released_at=NOON + timedelta(seconds=number))  # type: ignore[attr-defined]
    log.frame_file(wish.frame_id, saved_file(number))  # type: ignore[attr-defined]
    log.move_frame(wish.frame_id, FrameEvent.ALL_SAVED)  # type: ignore[attr-defined]
    log.frame_judged(wish.frame_id, [MISS], MISSED)  # type: ignore[attr-defined]
    log.move_frame(wish.frame_id, FrameEvent.JUDGED)  # type: ignore[attr-defined]
    return wish.frame_id
