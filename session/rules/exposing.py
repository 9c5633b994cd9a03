"""Rules about what the camera is set to: nothing automatic, focus by hand, and as the set-up says."""

from __future__ import annotations

from collections.abc import Mapping

from session.cameras.protocol import Reading, Value
from session.finding import Finding, Level, Remedy, RemedyKind
from session.numbers import f_text, same_setting, time_text
from session.rules.situation import Situation
from session.setup import Revision

EV_PER_DOUBLING = {"exposure_s": 1.0, "f_number": 2.0, "iso": 1.0}
"""Settings that are compared as amounts of light."""

WORDS = {
    "exposure_s": "exposure time",
    "f_number": "aperture",
    "iso": "ISO",
    "white_balance": "white balance",
    "file_format": "file format",
}


def drifted_settings(situation: Situation) -> tuple[Finding, ...]:
    """The camera no longer says what the set-up says: a dial was turned."""
    revision, reading = situation.revision, situation.reading
    changed = differing(revision, reading)
    if not changed:
        return ()
    words = ", ".join(
        f"{WORDS[name]} is {shown(name, told)}, set-up {revision.label} says {shown(name, asked)}"
        for name, (told, asked) in changed.items()
    )
    text = words[:1].upper() + words[1:] + "."
    wanted: dict[str, object] = {name: asked for name, (_, asked) in changed.items()}
    settable = {name: value for name, value in wanted.items() if not reading.settings[name].read_only}
    kind = RemedyKind.SET_CAMERA if settable else RemedyKind.BY_HAND
    remedy = Remedy(kind, f"back to {listed(settable or wanted)}", settable or wanted)
    return (Finding("drifted", Level.STOP, text, len(changed), 0, "settings", remedy),)


def differing(revision: Revision, reading: Reading) -> dict[str, tuple[Value, object]]:
    """Settings that the camera has otherwise than the set-up: name → what it says, what is asked."""
    changed: dict[str, tuple[Value, object]] = {}
    for name, asked in revision.settings.asked().items():
        told = reading.value(name)
        if told is not None and not same_value(name, told, asked):
            changed[name] = (told, asked)
    return changed


def listed(values: Mapping[str, object]) -> str:
    """`f/11, 1/200 s, ISO 100`: settings as they are said without their names."""
    return ", ".join(
        f"ISO {shown(name, value)}" if name == "iso" else shown(name, value) for name, value in values.items()
    )


def fixed_exposure(situation: Situation) -> tuple[Finding, ...]:
    """Exposure mode, ISO or white balance is automatic, so that frames would not match."""
    found = []
    reading = situation.reading
    mode = reading.value("exposure_mode")
    if mode is not None and mode != "manual":
        text = f"The exposure mode is {mode}: frames would not match."
        found.append(_fixed("exposure-mode", Level.STOP, text, situation, "exposure_mode", "manual"))
    if reading.value("iso") == 0:
        iso = situation.revision.settings.iso
        text = "The ISO speed is automatic: frames would not match."
        found.append(_fixed("iso", Level.STOP, text, situation, "iso", iso))
    balance = reading.value("white_balance")
    if isinstance(balance, str) and balance.lower().startswith("auto"):
        text = "The white balance is automatic: colours would wander from frame to frame."
        asked = situation.revision.settings.white_balance or _fixed_balance(situation)
        found.append(_fixed("white-balance", Level.CAUTION, text, situation, "white_balance", asked))
    return tuple(found)


def focus_by_hand(situation: Situation) -> tuple[Finding, ...]:
    """The focus mode isn't manual: the camera would focus anew at the release."""
    mode = situation.reading.value("focus_mode")
    if mode is None or mode == "manual":
        return ()
    text = f"The focus mode is {mode}: the camera would focus anew at the release."
    return (_fixed("focus-mode", Level.STOP, text, situation, "focus_mode", "manual"),)


def shown(name: str, value: object) -> str:
    """A setting's value as photographers write it."""
    if isinstance(value, int | float) and name == "exposure_s":
        return time_text(float(value))
    if isinstance(value, int | float) and name == "f_number":
        return f_text(float(value))
    if isinstance(value, int | float) and name == "iso":
        return f"{value:.0f}" if value else "automatic"
    return str(value)


def same_value(name: str, told: object, asked: object) -> bool:
    """Whether two values of a setting are the same one, as amounts of light or as words."""
    if name in EV_PER_DOUBLING and isinstance(told, int | float) and isinstance(asked, int | float):
        return same_setting(float(told), float(asked), ev_per_doubling=EV_PER_DOUBLING[name])
    return str(told).lower() == str(asked).lower()


def _fixed(rule: str, level: Level, text: str, situation: Situation, name: str, value: Value | None) -> Finding:
    """A finding whose remedy sets one setting, by the camera where it can."""
    if value is not None and situation.can_set(name, value):
        return Finding(rule, level, text, remedy=Remedy(RemedyKind.SET_CAMERA, f"set {value}", {name: value}))
    return Finding(rule, level, text, remedy=Remedy(RemedyKind.BY_HAND, "turn it by hand on the camera"))


def _fixed_balance(situation: Situation) -> Value | None:
    """The camera's own word for flash or else daylight among the white balances it offers."""
    setting = situation.reading.settings.get("white_balance")
    offered = setting.allowed if setting else ()
    for wanted in ("flash", "daylight"):
        found = next((value for value in offered if str(value).lower() == wanted), None)
        if found is not None:
            return found
    return None
