"""A camera's summary as text, as libgphoto2's program writes it: the vendor extension and the device properties.

Code, type, form and value of a property are numbers in every language; names and words are passed over. Two layouts
are read: `NAME(0x5007):(readwrite) (type=0x4) Enumeration [560,1100] value: f/11 (1100)` and
`NAME (5007 rw u16): Enumeration [560,1100] value: f/11 (1100)`. A whole configuration, where the text has one, is
read as (setting's name → value and choices in words).
"""

import re
import struct
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from mock_camera.ptp.codes import DataType
from mock_camera.ptp.datasets import FORM_ENUMERATION, FORM_NONE, FORM_RANGE, Form, Value, pack_value

EXTENSION = re.compile(r"extension id\s*:\s*0x([0-9a-f]+)", re.IGNORECASE)
BY_TYPE_NUMBER = re.compile(r"\(0x([0-9a-f]{4})\):\s*\(([^)]*)\)\s*\(type=0x([0-9a-f]+)\)\s*(.*)")
BY_TYPE_NAME = re.compile(r"\(([0-9a-f]{4}) (r[ow]|wo) ([a-z]+\d*)\s*\):\s*(.*)")
TYPE_NAMES = {
    "i8": DataType.INT8,
    "u8": DataType.UINT8,
    "i16": DataType.INT16,
    "u16": DataType.UINT16,
    "i32": DataType.INT32,
    "u32": DataType.UINT32,
    "i64": DataType.INT64,
    "u64": DataType.UINT64,
    "str": DataType.STR,
}
RANGE = re.compile(r"\[(-?\d+) - (-?\d+), \D*(-?\d+)\]")
QUOTED = re.compile(r"'([^']*)'")
NUMBER_IN_WORDS = re.compile(r"\((-?\d+)\)\s*$")
BARE_NUMBER = re.compile(r"(-?\d+)\s*$")
SETTING = re.compile(r"/main/\w+/(\w+)$")


class SummaryError(ValueError):
    """A text that is no summary of a camera; the text is a sentence."""


@dataclass(frozen=True)
class Listed:
    """A device property as a summary lists it."""

    code: int
    data_type: DataType
    writable: bool
    form: Form
    value: Value


@dataclass(frozen=True)
class Worded:
    """A setting of a whole configuration, in the library's words."""

    value: str
    choices: tuple[str, ...]


@dataclass(frozen=True)
class Summary:
    """extension 0: none. `worded`: by the settings' names."""

    extension: int
    properties: tuple[Listed, ...]
    worded: Mapping[str, Worded] = field(default_factory=dict)


def parse_summary(text: str) -> Summary:
    """Read a summary; a property that is listed twice counts as it is listed last.

    Raises SummaryError when the text has neither an extension's number nor a property.
    """
    extension = EXTENSION.search(text)
    properties: dict[int, Listed] = {}
    for line in _logical_lines(text):
        listed = _property_of(line)
        if listed is not None:
            properties[listed.code] = listed
    if extension is None and not properties:
        raise SummaryError(f"A text of {len(text)} characters without a device property is no summary of a camera.")
    return Summary(int(extension[1], 16) if extension else 0, tuple(properties.values()), _words_of(text))


def _logical_lines(text: str) -> Iterator[str]:
    """The text's lines; a list of values that is broken over several lines is joined into a single line."""
    begun = ""
    for line in text.splitlines():
        begun = f"{begun} {line.strip()}" if begun else line
        opens = BY_TYPE_NUMBER.search(begun) or BY_TYPE_NAME.search(begun)
        if opens and begun.count("[") > begun.count("]") and opens[opens.lastindex or 0].count("["):
            continue
        yield begun
        begun = ""
    if begun:
        yield begun


def _property_of(line: str) -> Listed | None:
    """The property of a line; None for a line without one, or of a type that isn't played (arrays, 128 bits)."""
    by_number, by_name = BY_TYPE_NUMBER.search(line), BY_TYPE_NAME.search(line)
    if by_number:
        code, access, type_code, rest = by_number.groups()
        data_type = DataType(int(type_code, 16)) if int(type_code, 16) in set(DataType) else None
    elif by_name:
        code, access, type_name, rest = by_name.groups()
        data_type = TYPE_NAMES.get(type_name)
    else:
        return None
    if data_type is None:
        return None
    form, told = _form(rest, data_type)
    value = _value(told, data_type)
    try:
        for one in (value, *form.values):
            pack_value(data_type, one)
    except (ValueError, struct.error):
        return None
    return Listed(int(code, 16), data_type, "w" in access, form, value)


def _form(rest: str, data_type: DataType) -> tuple[Form, str]:
    """The form at the beginning of a property's text, and the text behind the form."""
    span = RANGE.search(rest)
    if span:
        return Form(FORM_RANGE, tuple(int(number) for number in span.groups())), rest[span.end() :]
    if "[" not in rest.partition("'")[0]:
        return Form(FORM_NONE), rest
    inside, _, told = rest.partition("[")[2].rpartition("]")
    if data_type == DataType.STR:
        return Form(FORM_ENUMERATION, tuple(QUOTED.findall(inside))), told
    values = tuple(int(number) for number in re.findall(r"-?\d+", inside))
    return Form(FORM_ENUMERATION, values), told


def _value(told: str, data_type: DataType) -> Value:
    if data_type == DataType.STR:
        quoted = QUOTED.findall(told)
        return quoted[-1] if quoted else ""
    number = NUMBER_IN_WORDS.search(told) or BARE_NUMBER.search(told)
    return int(number[1]) if number else 0


def _words_of(text: str) -> dict[str, Worded]:
    found: dict[str, Worded] = {}
    name, value = "", ""
    choices: list[str] = []
    for line in [*text.splitlines(), "END"]:
        setting = SETTING.match(line.strip())
        if setting or line.strip() == "END":
            if name and value:
                found.setdefault(name, Worded(value, tuple(choices)))
            name, value, choices = setting[1] if setting else "", "", []
        elif name and line.startswith("Current:"):
            value = line.partition(":")[2].strip()
        elif name and line.startswith("Choice:"):
            choices.append(line.partition(":")[2].strip().partition(" ")[2])
    return found
