"""The settings of a camera by their canonical names, whatever its maker calls them.

A camera offers widgets, each with a name, a text and the texts that it would take. Which widget is which setting
is found by name in `SETTINGS`, never by the camera's maker. Two widgets may show the same setting, the first
rounded (0.0062s for 1/160), the second as a fraction: the widget with fractions is used. A text that can't be read
stays unread; a value that the camera calls something new is shown in the camera's own words.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from session.frame.camera_messages import Setting, Value
from session.units.numbers import SETTING_SLACK_EV
from session.units.value_words import EV_PER_DOUBLING, name_words, value_words

MAINS = "acpower"
"""Switch of bodies that say that they run on the mains; then a battery tells nothing."""
AUTOMATIC_ISO = ("isoauto", "autoiso")
"""Switches beside the ISO speed that make it automatic."""

EXPOSURE_MODES = {
    "m": "manual",
    "manual": "manual",
    "p": "programme",
    "a": "aperture priority",
    "av": "aperture priority",
    "s": "exposure-time priority",
    "tv": "exposure-time priority",
    "auto": "automatic",
    "automatic": "automatic",
}
FOCUS_MODES = {
    "manual": "manual",
    "mf": "manual",
    "manual focus": "manual",
    "manual reverse": "manual",
    "preset mf": "manual",
    "mf (fixed)": "manual",
    "mf (selection)": "manual",
    "automatic": "automatic",
    "af": "automatic",
}
SWITCHES = {"on": "on", "off": "off", "1": "on", "0": "off"}

NUMBER = r"(\d+(?:[.,]\d+)?)"
TIME = re.compile(rf"{NUMBER}(?:\s*/\s*{NUMBER})?\s*(?:s|sec|\"|m)?", re.IGNORECASE)
LONGEST_EXPOSURE_S = 3600.0
"""Sixty minutes are the longest time in libgphoto2's tables; larger numbers stand for bulb, time and automatic."""
SPECIAL_BELOW = range(0xFFFD, 0x10000)
"""Below the line of a fraction these stand for bulb, time and automatic."""
HIGHEST_F_NUMBER = 128.0
"""f/91 is the highest in libgphoto2's tables; 655.34 and 655.35 stand for a lens that tells none."""
BY_HAND_TIMES = ("bulb", "time")
F_NUMBER = re.compile(rf"(?:f\s*/?\s*)?{NUMBER}", re.IGNORECASE)
AUTOMATIC_ISO_VALUES = frozenset({0xFFFF, 0xFFFFFF, -1, -2, -3})
"""ISO 15740 ExposureIndex: automatic; the negative ones are three automatics of one extension."""
AUTOMATIC_ISO_WORDS = re.compile(r"(iso )?auto\b.*|.*\bauto|a\d+ \(.*\)")
AUTOMATIC_BALANCE = re.compile(r"\bauto|\bawb\b")
MEMORY = re.compile(r"ram\b|memory(?! card)")
PERCENTS = re.compile(r"\d+\s*%(?:[ ,/]+\d+\s*%)*", re.ASCII)
SLOTS = re.compile(r"-?\d+(?:,-?\d+)+", re.ASCII)
"""Levels of all battery slots of a body and its grip; 0 and below: none is in."""
LOW = "low"
LOW_PERCENT, FULL_PERCENT = 10, 100
"""The number for the word `Low` of a body that tells its battery in words, for the rule about room; a guess."""

FORMAT_SIZES = r"c?(?:[lms]|[ms][12]|s3)"
PICTURE_WORD = re.compile(r"jpe?g|fine|normal|basic|std|standard|light|economy|large|medium|small")
SIZE_ALONE = re.compile(FORMAT_SIZES)
NO_FORMATS = ("undefined", "n/a", "disabled")
RAW_WORDS = re.compile(r"raw|crw")


@dataclass(frozen=True)
class Widget:
    """A widget with the camera's present value.

    text      the value as text
    choices   the texts that it would take, () when it lists none
    span      (least, greatest, step) when it takes a number between two
    """

    name: str
    text: str
    choices: tuple[str, ...] = ()
    span: tuple[float, float, float] | None = None
    read_only: bool = False


@dataclass(frozen=True)
class OfferedSetting:
    """A setting as cameras offer it.

    widgets  names of widgets that hold it, best first, as the PTP driver of libgphoto2 2.5.34 has them
    read     from the camera's text to the canonical value; None where the text can't be read as one
    """

    widgets: tuple[str, ...]
    read: Callable[[str], Value | None]


class NotOfferedError(ValueError):
    """The camera doesn't take this value; the text names a value near it that the camera takes."""


def mapping(widgets: Mapping[str, Widget]) -> dict[str, str]:
    """Canonical name → name of the widget to use, for what this camera offers.

    Of several widgets the mapping takes the settable widget with fractions; where no widget can be set, the first.
    """
    found = {}
    for name, known in SETTINGS.items():
        offered = [widgets[candidate] for candidate in known.widgets if candidate in widgets]
        settable = [widget for widget in offered if not widget.read_only] or offered
        exact = [widget for widget in settable if name == "exposure_s" and _writes_fractions(widget)]
        for widget in (exact or settable)[:1]:
            found[name] = widget.name
    return found


def setting(name: str, widget: Widget, automatic: bool = False) -> Setting:
    """A widget as a setting; automatic = a switch beside it says that the camera chooses the ISO speed."""
    read = SETTINGS[name].read
    allowed = dict.fromkeys(value for value in map(read, widget.choices) if value is not None)
    value = 0 if automatic and name == "iso" else read(widget.text)
    return Setting(name, value, widget.text, tuple(allowed), widget.read_only)


def choice(name: str, wanted: Value, widget: Widget) -> str:
    """The text to set so that the camera takes the wanted value.

    Numbers may be off by less than SETTING_SLACK_EV, since cameras round (1/160 s to 0.0062 s).
    Raises NotOfferedError with a sentence when the camera doesn't offer it, or not to be set from here.
    """
    if widget.read_only:
        raise NotOfferedError(f"The camera lets {name_words(name)} be changed by hand only.")
    if name in EV_PER_DOUBLING and wanted != 0:
        return _nearest(name, wanted, widget)
    matching = [text for text in widget.choices if _same(SETTINGS[name].read(text), wanted)]
    if widget.text in matching:
        return widget.text
    if matching:
        return max(matching, key=_fineness)
    offered = ", ".join(widget.choices) or widget.text
    raise NotOfferedError(f"This camera has no {name_words(name)} {wanted!s}; it has {offered}.")


def is_on_both(text: str) -> bool:
    """Whether pictures go to the card and to the camera's memory."""
    return capture_target(text) == "card" and bool(MEMORY.search(text.casefold()))


def target_on_card(widget: Widget) -> str:
    """The text to set so that pictures go to the card; where a choice goes to memory too, that: files come from there.

    Raises NotOfferedError when the camera offers no card.
    """
    both = [text for text in widget.choices if is_on_both(text)]
    return both[0] if both and not widget.read_only else choice("capture_target", "card", widget)


def _nearest(name: str, wanted: Value, widget: Widget) -> str:
    amount = _positive(wanted)
    if amount is None:
        raise NotOfferedError(f"{wanted!s} is no {name_words(name)}.")
    if not widget.choices:
        return _free_text(name, amount, widget)
    read = SETTINGS[name].read
    offered = {text: value for text in widget.choices if (value := _positive(read(text))) is not None}
    distances = {text: abs(math.log2(value / amount)) * EV_PER_DOUBLING[name] for text, value in offered.items()}
    best = min(distances, key=lambda text: distances[text], default=None)
    if best is None or distances[best] >= SETTING_SLACK_EV:
        near = f"the nearest is {value_words(name, offered[best])}" if best else f"it has {', '.join(widget.choices)}"
        raise NotOfferedError(f"This camera has no {name_words(name)} {value_words(name, amount)}; {near}.")
    return best


def _free_text(name: str, amount: float, widget: Widget) -> str:
    if widget.span and not widget.span[0] <= amount <= widget.span[1]:
        ends = f"{value_words(name, widget.span[0])} to {value_words(name, widget.span[1])}"
        raise NotOfferedError(f"This camera has no {name_words(name)} {value_words(name, amount)}; it has {ends}.")
    return value_words(name, amount).removesuffix(" s") if not widget.span else f"{amount:g}"


def _positive(value: Value | None) -> float | None:
    return float(value) if isinstance(value, int | float) and value > 0 and math.isfinite(value) else None


def _same(value: Value | None, wanted: Value) -> bool:
    return value is not None and str(value).casefold() == str(wanted).casefold()


def _fineness(text: str) -> int:
    """The rank of a JPEG quality's text, higher for a finer picture: several texts mean the same setting."""
    words = text.casefold()
    return 2 * ("fine" in words) + ("large" in words or "super" in words or "extra" in words)


def _writes_fractions(widget: Widget) -> bool:
    return "/" in widget.text or any("/" in text for text in widget.choices)


# --- from the camera's texts ------------------------------------------------------------------------


def exposure_s(text: str) -> float | None:
    """Seconds from "0.0050s", "1/200", "1/200s", "5/2", "30", "2m"; None for bulb, time, "Auto" and the like."""
    words = text.strip()
    match = TIME.fullmatch(words)
    if match is None:
        return None
    above, below = _decimal(match[1]), _decimal(match[2] or "1")
    if above <= 0 or below <= 0 or (match[2] and int(below) in SPECIAL_BELOW):
        return None
    seconds = above / below * (60 if words.casefold().endswith("m") else 1)
    return seconds if seconds <= LONGEST_EXPOSURE_S else None


def is_timed_by_hand(text: str) -> bool:
    """Whether an exposure's text says that the finger ends it: bulb, or time."""
    words = text.strip().casefold()
    match = TIME.fullmatch(words)
    numbered = match is not None and bool(match[2]) and int(_decimal(match[2])) in SPECIAL_BELOW
    return words in BY_HAND_TIMES or numbered


def f_number(text: str) -> float | None:
    """The f-number from "f/11", "11", "F5.6", "5,6"; None for "Auto", "--", 0, or a number that stands for no lens."""
    match = F_NUMBER.fullmatch(text.strip())
    number = _decimal(match[1]) if match else 0.0
    return number if 0 < number <= HIGHEST_F_NUMBER else None


def iso(text: str) -> int | None:
    """From "100", "ISO 100"; 0 for automatic; None for "Lo 1" and the like."""
    words = text.strip().casefold()
    if AUTOMATIC_ISO_WORDS.fullmatch(words):
        return 0
    number = words.removeprefix("iso").strip()
    value = int(number) if number.isdecimal() or number.removeprefix("-").isdecimal() else None
    if value in AUTOMATIC_ISO_VALUES:
        return 0
    return value if value is not None and value > 0 else None


def file_format(text: str) -> str | None:
    """`jpeg`, `raw` or `raw+jpeg` from "JPEG Fine", "RAW", "RAW + Large Fine JPEG", "L", "RAW + cS1", "XXX (Raw)".

    Two sizes are two JPEGs. Formats that are neither, and `Undefined`, stay unread.
    """
    words = text.strip().casefold()
    if "hei" in words or "tiff" in words or words in NO_FORMATS:
        return None
    parts = [part.strip() for part in re.split(r"[+&]", words)]
    kinds = {kind for part in parts if (kind := _kind_of_part(part, alone=len(parts) == 1))}
    return {("jpeg", "raw"): "raw+jpeg", ("jpeg",): "jpeg", ("raw",): "raw"}.get(tuple(sorted(kinds)))


def _kind_of_part(part: str, *, alone: bool) -> str:
    """A word that is no picture's, beside another part, is a maker's word for its raw files."""
    if RAW_WORDS.search(part):
        return "raw"
    if SIZE_ALONE.fullmatch(part) or PICTURE_WORD.search(part):
        return "jpeg"
    return "" if alone else "raw"


def battery_percent(text: str) -> int | None:
    """From "81%" or "100,40,0", of several batteries the least; `Low` as LOW_PERCENT; None for other words."""
    return min(_battery_levels(text), default=None)


def _battery_levels(text: str) -> list[int]:
    """Each battery's level in percent.

    A level above 100 % counts for nothing: bodies that don't know the level write such numbers.
    """
    words = text.strip()
    if words.casefold() == LOW:
        return [LOW_PERCENT]
    least = 1 if SLOTS.fullmatch(words) else 0
    if not least and not PERCENTS.fullmatch(words):
        return []
    return [level for level in map(int, re.findall(r"-?\d+", words)) if least <= level <= FULL_PERCENT]


def batteries(widgets: Sequence[Widget]) -> Setting:
    """The battery by all widgets that tell of one: the least level counts, and each is shown with its %.

    A level that was told in a word, and no level at all, are shown in the camera's own word.
    """
    levels = [level for widget in widgets for level in _battery_levels(widget.text)]
    words = [widget.text for widget in widgets if widget.text.strip().casefold() == LOW]
    by_level = ", ".join(f"{level} %" for level in levels)
    shown = by_level if len(levels) > 1 else [*words, by_level or widgets[0].text][0]
    return Setting("battery_percent", min(levels, default=None), shown, read_only=True)


def capture_target(text: str) -> str | None:
    """`card` or `memory`: where the camera puts a picture that is released from here."""
    words = text.casefold()
    if "card" in words:
        return "card"
    return "memory" if MEMORY.search(words) else None


def words_of(table: Mapping[str, str]) -> Callable[[str], str | None]:
    """A reader that knows some of the camera's words and leaves the others as they are, in small letters."""

    def read(text: str) -> str | None:
        small = text.strip().casefold()
        return table.get(small, small) or None

    return read


def white_balance(text: str) -> str | None:
    """The camera's own word; automatics of every name begin with `Auto`."""
    words = text.strip()
    is_automatic = AUTOMATIC_BALANCE.search(words.casefold()) and not words.casefold().startswith("auto")
    return f"Automatic ({words})" if is_automatic else words or None


def _decimal(text: str) -> float:
    return float(text.replace(",", "."))


SETTINGS: dict[str, OfferedSetting] = {
    "exposure_s": OfferedSetting(("shutterspeed2", "shutterspeed"), exposure_s),
    "f_number": OfferedSetting(("f-number", "aperture", "aperture2"), f_number),
    "iso": OfferedSetting(("iso",), iso),
    "white_balance": OfferedSetting(("whitebalance",), white_balance),
    "exposure_mode": OfferedSetting(
        ("expprogram", "expprogram2", "autoexposuremode", "autoexposuremodedial", "shootingmode"),
        words_of(EXPOSURE_MODES),
    ),
    "focus_mode": OfferedSetting(("focusmode", "focusmode2"), words_of(FOCUS_MODES)),
    "flash_mode": OfferedSetting(("flashmode",), words_of({})),
    "file_format": OfferedSetting(("imagequality", "imageformat"), file_format),
    "stabiliser": OfferedSetting(("imagestabilization",), words_of(SWITCHES)),
    "battery_percent": OfferedSetting(("batterylevel", "d36b"), battery_percent),
    "capture_target": OfferedSetting(("capturetarget",), capture_target),
}
"""Canonical name → how cameras offer it. What each name stands for is told in `session.frame.camera_messages`."""

SETTING_WIDGETS = frozenset(name for known in SETTINGS.values() for name in known.widgets) | {*AUTOMATIC_ISO, MAINS}
"""Every widget that a setting may be read from."""
