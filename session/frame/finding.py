"""A finding of a rule or a check as a value: level, number, limit, sentence and remedy.

A rule that says no is not an exception but a finding, so that the screen, the log and the command
line show the same words and numbers.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from enum import StrEnum


class Level(StrEnum):
    """How much a finding weighs; a `stop` keeps the shutter shut until it is overruled with a reason."""

    STOP = "stop"
    CAUTION = "caution"
    NOTE = "note"


class RuleId(StrEnum):
    """The name of a rule, by which its findings stand in the log and in JSON, and by which it is overruled.

    `LOG` and `FILES` are the controller's own rules: the log refuses entries; a file's frame isn't known.
    """

    KIT = "kit"
    DRIFTED = "drifted"
    SYNC = "sync"
    FLASH_DURATION = "flash-duration"
    EXPOSURE_MODE = "exposure-mode"
    ISO = "iso"
    WHITE_BALANCE = "white-balance"
    FOCUS_MODE = "focus-mode"
    STABILISER = "stabiliser"
    APERTURE_BY_HAND = "aperture-by-hand"
    DEPTH = "depth"
    DIFFRACTION = "diffraction"
    AMBIENT = "ambient"
    BATTERY = "battery"
    NO_CARD = "no-card"
    CARD = "card"
    DISK = "disk"
    RECYCLING = "recycling"
    HOLD_OFF = "hold-off"
    LOG = "log"
    FILES = "files"


class CheckId(StrEnum):
    """The name of a check, by which its findings stand in the log and in JSON."""

    FILE = "file"
    SETTINGS = "settings"
    FLASH = "flash"
    LIGHT = "light"
    EXPOSURE = "exposure"
    CLIPPING = "clipping"
    BAND = "band"
    REGION = "region"
    REFERENCE = "reference"
    DRIFT = "drift"
    EVENNESS = "evenness"
    COLOUR = "colour"
    AMBIENT_LIGHT = "ambient light"
    MIXED_LIGHT = "mixed light"
    FOCUS = "focus"
    PIECE = "piece"
    STANDARD = "standard"
    SQUARE = "out of square"


class FlawKind(StrEnum):
    """Which flaw a check's finding is about, where the check knows several; the values stand in logs.

    MOVE_CAMERA, MOVE_PIECE   a set is built again, and what differs is a task, with its `Move`
    FRAMING and what follows  a departure from the client's standard, by what departs
    """

    NO_FLASH = "no flash"
    WEAK_FLASH = "weak flash"
    ONE_OF_SEVERAL = "one of several"
    CAMERA_MOVED = "camera moved"
    PIECE_MOVED = "piece moved"
    CAMERA_OR_PIECE_MOVED = "camera or piece moved"
    SIZE_CHANGED = "size changed"
    PART_MOVED = "part moved"
    ANOTHER_PIECE = "another piece"
    MOVE_CAMERA = "move camera"
    MOVE_PIECE = "move piece"
    FALLS_OFF = "falls off"
    CENTRE = "centre"
    HOT_SPOT = "hot spot"
    FRAMING = "framing"
    MARGIN = "margin"
    SHADOW_SIDE = "shadow side"
    BACKGROUND = "background"
    OVER_BLUR_LIMIT = "over blur limit"
    EXPOSURE = "exposure"
    COLOUR = "colour"
    SIZE = "size"


@dataclass(frozen=True)
class Move:
    """How far hands shall move a thing, in the picture's directions; 0 where no move is worth it.

    right, down   in `unit`, "mm" on the piece or "px" of the full-size picture; negative: left, up
    turn_deg      clockwise
    """

    right: float
    down: float
    turn_deg: float
    unit: str


class FocusVerdict(StrEnum):
    """The verdict on a frame's focus."""

    SHARP = "sharp"
    SOFT = "soft"
    MISSED = "missed"
    UNJUDGED = "unjudged"


def focus_is_open(verdict: FocusVerdict | None, *, is_reference: bool, no_picture: bool) -> bool:
    """Whether somebody has to look at a frame's focus: no check has said how it is, and no eye approved it.

    is_reference  approved by eye
    no_picture    not to be a picture by itself: it measures light, or is one plane of a focus series
    """
    return verdict in (None, FocusVerdict.UNJUDGED) and not is_reference and not no_picture


class Verdict(StrEnum):
    """The verdict on a frame by all findings but focus."""

    CLEAN = "clean"
    FLAWED = "flawed"  # in the log's tables; people are told the flaw's own name


class RemedyKind(StrEnum):
    """Who settles a finding: the camera at one key, time, the hands, or the photographer's word."""

    SET_CAMERA = "set camera"
    WAIT = "wait"
    BY_HAND = "by hand"
    CONFIRM = "tick"  # the value stands in logs


@dataclass(frozen=True)
class Remedy:
    """The act that would settle a finding.

    settings  for SET_CAMERA: canonical setting names (see `cameras.protocol`) and the values to send
    wait_s    for WAIT: seconds still to go
    """

    kind: RemedyKind
    text: str
    settings: dict[str, object] = field(default_factory=dict)
    wait_s: float = 0.0


def waits(wait_s: float) -> Remedy:
    """The remedy of a finding that time settles: the release waits `wait_s` seconds more, and comes then."""
    return Remedy(RemedyKind.WAIT, "fires by itself", wait_s=wait_s)


@dataclass(frozen=True)
class Finding:
    """A sentence of a rule or check on a frame, with its number, limit and remedy.

    id      a RuleId or CheckId; of a log by another stillset perhaps another word
    value   the number measured, in `unit`; None where nothing was measured
    limit   what it was compared with, in `unit`
    text    one sentence, about 90 characters, that is understood in the dark
    kind    which of the check's findings; move: for the hands; None when the check has only one kind
    """

    id: str
    level: Level
    text: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    remedy: Remedy | None = None
    kind: FlawKind | None = None
    move: Move | None = None


@dataclass(frozen=True)
class FocusJudgement:
    """The focus check's measurements in the region, against the reference.

    blur_px      radius of the disc, in pixels of the full-size picture, by which the region is blurrier
                 than the reference; None when unknown
    blur_px_sd   its uncertainty (one standard deviation), None when unknown
    defocus_mm   the same as a distance on the subject, unsigned; None when optics of the set-up are unknown
    scale        measured at this fraction of the full size (1.0, 0.5, 0.25 …)
    sharpest_at  (x, y) in fractions of the picture where it is sharpest, None when not known
    reason       for `unjudged`: why
    """

    verdict: FocusVerdict
    blur_px: float | None = None
    blur_px_sd: float | None = None
    defocus_mm: float | None = None
    scale: float | None = None
    sharpest_at: tuple[float, float] | None = None
    reason: str = ""


def worst(findings: Iterable[Finding]) -> Level | None:
    """The heaviest level among the findings, None without findings."""
    levels = {finding.level for finding in findings}
    return next((level for level in Level if level in levels), None)


def stops(findings: Iterable[Finding], overruled: Iterable[str] = ()) -> tuple[Finding, ...]:
    """The findings that keep the shutter shut: level `stop`, and not among the overruled ids."""
    waived = set(overruled)
    return tuple(f for f in findings if f.level is Level.STOP and f.id not in waived)


SPOILT = (CheckId.FILE, CheckId.FLASH, CheckId.LIGHT, CheckId.BAND)
"""Checks with the first word: their flaws spoil the picture, and with it the focus verdict."""


def flaw_of(checks: Iterable[Finding]) -> Finding | None:
    """The gravest stop or caution of the checks other than focus; None for a clean frame."""
    told = {finding.id: finding for finding in reversed(list(checks)) if finding.level is not Level.NOTE}
    told.pop(CheckId.FOCUS, None)
    spoilt = next((told[name] for name in SPOILT if name in told), None)
    return spoilt or next(reversed(told.values()), None)


def verdict_of(checks: Iterable[Finding]) -> Verdict:
    """`flawed` when any check other than focus says stop or caution."""
    return Verdict.FLAWED if flaw_of(checks) else Verdict.CLEAN
