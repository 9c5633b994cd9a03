"""Rules about the camera: the kit knows it, it is set as the set-up says, nothing is automatic, focus is by hand."""

from __future__ import annotations

from session.frame.camera_messages import Reading, Value
from session.frame.finding import Finding, Level, Remedy, RemedyKind, RuleId
from session.rules.situation import Situation
from session.set.setup import Revision
from session.units.numbers import time_text
from session.units.value_words import name_words, same_value, value_words, values_text


def camera_in_kit(situation: Situation) -> tuple[Finding, ...]:
    """The connected camera isn't in the kit, so that sync time and sensor are another body's, or aren't known.

    A body that the set-up names was chosen by a person, and is believed.
    """
    kit, model = situation.kit, situation.camera_model
    named = any(body.name == situation.revision.body for body in kit.body)
    if not model or named or kit.connected_body(situation.camera_serial, model):
        return ()
    body = situation.body
    if body is None:
        text = f"The kit has no body, so {model}'s sync time and sensor aren't known: no rule looks at them."
    else:
        whose = f"{body.name}{', which is invented' if kit.invented else ''}"
        text = f"{model} isn't in the kit: sync time {time_text(body.sync_time_s)} and sensor are those of {whose}."
    remedy = Remedy(RemedyKind.BY_HAND, "write the body into the kit, by its maker's manual")
    return (Finding(RuleId.KIT, Level.CAUTION, text, remedy=remedy),)


def drifted_settings(situation: Situation) -> tuple[Finding, ...]:
    """The camera no longer says what the set-up says: a dial was turned."""
    revision, reading = situation.revision, situation.reading
    changed = differing(revision, reading)
    if not changed:
        return ()
    words = ", ".join(
        f"{name_words(name)} is {value_words(name, told)}, set-up {revision.label} says {value_words(name, asked)}"
        for name, (told, asked) in changed.items()
    )
    text = words[:1].upper() + words[1:] + "."
    wanted: dict[str, object] = {name: asked for name, (_, asked) in changed.items()}
    settable = {name: value for name, value in wanted.items() if not reading.settings[name].read_only}
    kind = RemedyKind.SET_CAMERA if settable else RemedyKind.BY_HAND
    remedy = Remedy(kind, f"back to {values_text(settable or wanted)}", settable or wanted)
    return (Finding(RuleId.DRIFTED, Level.STOP, text, len(changed), 0, "settings", remedy),)


def differing(revision: Revision, reading: Reading) -> dict[str, tuple[Value, object]]:
    """Settings that differ between camera and set-up: name → the camera's value, the set-up's value."""
    changed: dict[str, tuple[Value, object]] = {}
    for name, asked in revision.settings.by_name().items():
        told = reading.value(name)
        if told is not None and not same_value(name, told, asked):
            changed[name] = (told, asked)
    return changed


def fixed_exposure(situation: Situation) -> tuple[Finding, ...]:
    """Exposure mode, ISO or white balance is automatic, so that frames would not match."""
    found = []
    reading = situation.reading
    mode = reading.value("exposure_mode")
    if mode is not None and mode != "manual":
        text = f"The exposure mode is {mode}: frames would not match."
        found.append(_setting_finding(RuleId.EXPOSURE_MODE, Level.STOP, text, situation, "exposure_mode", "manual"))
    if reading.value("iso") == 0:
        iso = situation.revision.settings.iso
        text = "The ISO speed is automatic: frames would not match."
        found.append(_setting_finding(RuleId.ISO, Level.STOP, text, situation, "iso", iso))
    balance = reading.value("white_balance")
    if isinstance(balance, str) and balance.lower().startswith("auto"):
        text = "The white balance is automatic: colours would wander from frame to frame."
        asked = situation.revision.settings.white_balance or _fixed_balance(situation)
        found.append(_setting_finding(RuleId.WHITE_BALANCE, Level.CAUTION, text, situation, "white_balance", asked))
    return tuple(found)


def focus_by_hand(situation: Situation) -> tuple[Finding, ...]:
    """The focus mode isn't manual: the camera would focus anew at the release."""
    mode = situation.reading.value("focus_mode")
    if mode is None or mode == "manual":
        return ()
    text = f"The focus mode is {mode}: the camera would focus anew at the release."
    return (_setting_finding(RuleId.FOCUS_MODE, Level.STOP, text, situation, "focus_mode", "manual"),)


def _setting_finding(
    rule: str, level: Level, text: str, situation: Situation, name: str, value: Value | None
) -> Finding:
    """A finding whose remedy sets one setting, by the camera where it can."""
    if value is not None and situation.can_set(name, value):
        remedy = Remedy(RemedyKind.SET_CAMERA, f"set {value_words(name, value)}", {name: value})
        return Finding(rule, level, text, remedy=remedy)
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
