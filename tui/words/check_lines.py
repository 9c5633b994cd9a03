"""The large line for what a check on a frame says."""

from __future__ import annotations

from collections.abc import Callable

from session.checks.light.missing_light import MISSING_OR_WEAK
from session.checks.material.check_limits import NO_FLASH_EV
from session.frame.finding import CheckId, Finding, FlawKind
from session.lighting.mix import AMBIENT_STOPS_UNDER
from session.units.numbers import mm_text, percent_text

DRIFT_LINES = {
    FlawKind.CAMERA_MOVED: "CAMERA MOVED",
    FlawKind.PIECE_MOVED: "PIECE MOVED",
    FlawKind.CAMERA_OR_PIECE_MOVED: "MOVED",
    FlawKind.SIZE_CHANGED: "SIZE CHANGED",
    FlawKind.PART_MOVED: "PART MOVED",
    FlawKind.MOVE_CAMERA: "MOVE CAMERA",
    FlawKind.MOVE_PIECE: "MOVE PIECE",
}
"""The large line for a finding of the drift check; where it is a task, the first move stands in its place."""


STANDARD_LINES = {
    FlawKind.FRAMING: "FRAMING",
    FlawKind.MARGIN: "MARGIN",
    FlawKind.SHADOW_SIDE: "SHADOW SIDE",
    FlawKind.BACKGROUND: "BACKGROUND",
    FlawKind.OVER_BLUR_LIMIT: "BLUR",
    FlawKind.COLOUR: "COLOUR OFF",
    FlawKind.SIZE: "SIZE OFF",
}
"""The large line for a departure from the client's standard."""


def check_line(finding: Finding) -> str:
    """The large line for a finding of a check other than focus; the check's own name when this module has no words."""
    line = _LINES.get(finding.id)
    return line(finding) if line else finding.id.upper()


def flaw_words(finding: Finding) -> str:
    """A flaw in small print: `dark 0.6 EV`, `no flash`."""
    return check_line(finding).lower().replace(" ev", " EV")


def is_unmeasured_or_near(finding: Finding) -> bool:
    """Whether the ambient light is unmeasured, or too near to the flash for the rule on ambient light."""
    return finding.value is None or -finding.value < AMBIENT_STOPS_UNDER


def _amount(word: str, value: float | None, unit: str) -> str:
    """`DARK 0.6 EV`; the word alone where nothing was measured."""
    return word if value is None else f"{word} {abs(value):.1f} {unit}"


def _flash(finding: Finding) -> str:
    if finding.kind is FlawKind.ONE_OF_SEVERAL:
        return "LIGHT MISSING?"
    return "NO FLASH" if finding.value is None or -finding.value >= NO_FLASH_EV else "WEAK FLASH"


def _band(finding: Finding) -> str:
    return "DARK BAND" if finding.value is None else f"BAND {percent_text(finding.value)}"


def _exposure(finding: Finding) -> str:
    if finding.value is None:
        return "EXPOSURE"
    return _amount("DARK" if finding.value < 0 else "BRIGHT", finding.value, "EV")


def _drift(finding: Finding) -> str:
    """`CAMERA 0.8 MM RIGHT` for a task."""
    move = finding.move
    if move is not None and (move.right or move.down):
        thing = "CAMERA" if finding.kind is FlawKind.MOVE_CAMERA else "PIECE"
        far, ways = (move.right, ("RIGHT", "LEFT")) if move.right else (move.down, ("DOWN", "UP"))
        return f"{thing} {mm_text(abs(far)) if move.unit == 'mm' else f'{abs(far):.0f} px'} {ways[far < 0]}"
    if move is not None and move.turn_deg:
        return "TURN IT"
    return DRIFT_LINES.get(finding.kind, "MOVED") if finding.kind else "MOVED"


def _standard(finding: Finding) -> str:
    if finding.kind is FlawKind.EXPOSURE:
        return _exposure(finding)
    return STANDARD_LINES.get(finding.kind, "STANDARD") if finding.kind else "STANDARD"


def _evenness(finding: Finding) -> str:
    if finding.kind is FlawKind.HOT_SPOT:
        return _amount("HOT SPOT", finding.value, "EV")
    if finding.kind is FlawKind.CENTRE:
        return "CENTRE DARK" if finding.value is not None and finding.value < 0 else "CENTRE LIGHT"
    return _amount("UNEVEN", finding.value, "EV")


def _ambient(finding: Finding) -> str:
    if finding.value is None:
        return "AMBIENT ?"
    return f"AMBIENT {'−' if finding.value < 0 else '+'}{abs(finding.value):.1f} EV"


_LINES: dict[str, Callable[[Finding], str]] = {
    CheckId.FILE: lambda finding: "BAD FILE",
    CheckId.SETTINGS: lambda finding: "NOT AS SET",
    CheckId.FLASH: _flash,
    CheckId.LIGHT: lambda finding: f"LIGHT MISSING{'?' if MISSING_OR_WEAK in finding.text else ''}",
    CheckId.BAND: _band,
    CheckId.EXPOSURE: _exposure,
    CheckId.CLIPPING: lambda finding: "CLIPPED",
    CheckId.DRIFT: _drift,
    CheckId.EVENNESS: _evenness,
    CheckId.COLOUR: lambda finding: "COLOUR OFF",
    CheckId.MIXED_LIGHT: lambda finding: "MIXED LIGHT?",
    CheckId.AMBIENT_LIGHT: _ambient,
    CheckId.STANDARD: _standard,
}
