"""A body of extension 0x0B: the host asks for changes, in which properties, pictures and the body's status come.

Aperture, exposure time and ISO speed are in eighths of a stop (APEX values, with thirds rounded to 3 and 5 eighths);
a format is one or two records of kind, size and compression. A summary that has the whole configuration in words, but
none of these properties, is turned into them by the same scales.
"""

import math
import re
import struct
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import ClassVar

from mock_camera.body.cable import NO_TRANSACTION
from mock_camera.body.camera_body import CameraBody
from mock_camera.played.extension import STANDARD_QUANTITIES, Answer, Extension
from mock_camera.played.played_properties import Quantity, small_word
from mock_camera.ptp.codes import DataType, EventCode, Response
from mock_camera.ptp.datasets import FORM_ENUMERATION, STRUCT_CODES, Form, pack_array
from mock_camera.ptp.summary import Listed, Summary, Worded
from mock_camera.wire.host import Host, Parameters, Reply

STORES, STORE_INFO, SET_PROPERTY, REMOTE_MODE, EVENT_MODE = 0x9101, 0x9102, 0x9110, 0x9114, 0x9115
CHANGES, TRANSFERRED, ROOM_AT_HOST, KEEP_ON, REQUEST_PROPERTY = 0x9116, 0x9117, 0x911A, 0x911D, 0x9127
PRESS, LET_GO, LIVE_PICTURE, DRIVE_LENS = 0x9128, 0x9129, 0x9153, 0x9155

ADDED, TRANSFER, CHANGED, OFFER_CHANGED, STATUS = 0xC181, 0xC186, 0xC189, 0xC18A, 0xC18B
APERTURE, EXPOSURE, ISO, MODE, FOCUS, BALANCE, BATTERY = 0xD101, 0xD102, 0xD103, 0xD105, 0xD108, 0xD109, 0xD111
SHOTS_LEFT, DESTINATION, FORMAT, LIVE_OUTPUT = 0xD11B, 0xD11C, 0xD120, 0xD1B0
ON_CARD, IN_MEMORY = 2, 4
FULL_PRESS = 2
RAW_FLAG, NO_SECOND = 0x8, 0xFF
LENS_STEPS = {0x0001: -1, 0x0002: -4, 0x0003: -16, 0x8001: 1, 0x8002: 4, 0x8003: 16}
"""Parameter of the lens drive → steps of the motor, + away from the camera; how far a step goes is invented."""
NOT_LIVE = 0xA102

EIGHTHS_OF_THIRDS = {0: 0, 1: 3, 2: 5}
MODES = {"P": 0, "TV": 1, "AV": 2, "Manual": 3, "Bulb": 4}
FOCUS_BY_HAND = 3
BALANCES = {"Auto": 0, "Daylight": 1, "Cloudy": 2, "Tungsten": 3, "Fluorescent": 4, "Flash": 5, "Color Temperature": 9}
BATTERY_LEVELS = {"Low": 0, "50%": 1, "100%": 2, "75%": 3, "25%": 4}
SIZES = {"L": 0, "M": 1, "S": 2, "M1": 5, "M2": 6, "S1": 13, "S2": 14, "S3": 15}
WORDED_FORMAT = re.compile(r"(?:(c?)RAW)?(?: \+ )?(.*)")


def eighths(stops: float) -> int:
    """A count of stops in the body's eighths, rounded to thirds."""
    thirds = round(stops * 3)
    return 8 * (thirds // 3) + EIGHTHS_OF_THIRDS[thirds % 3]


def stops(code: int) -> float:
    """Inverse of `eighths`; half stops are 4 eighths."""
    rest = {3: 1 / 3, 4: 1 / 2, 5: 2 / 3}.get(code % 8, code % 8 / 8)
    return code // 8 + rest


def f_number(code: int) -> float | None:
    """f-number of a code; None for a lens without electronic aperture."""
    return 2 ** ((stops(code) - 1) / 2) if 0 < code < 0x80 else None


def exposure_s(code: int) -> float | None:
    """Seconds (s) of a code; None for bulb and automatic."""
    return 2.0 ** (7 - stops(code)) if 0x10 <= code < 0xC0 else None


def iso(code: int) -> float | None:
    """ISO speed of a code; None for automatic."""
    return 100 * 2 ** (stops(code) - 9) if 0x28 <= code < 0xE0 else None


def code_of_aperture(words: str) -> int | None:
    return None if not _number(words) else eighths(2 * math.log2(_number(words)) + 1)


def code_of_exposure(words: str) -> int | None:
    if words.casefold() == "bulb":
        return 0x0C
    above, _, below = words.partition("/")
    number = _number(above) / (_number(below) if below else 1.0) if _number(above) else 0.0
    return eighths(7 - math.log2(number)) if number else None


def code_of_iso(words: str) -> int | None:
    if words.casefold() == "auto":
        return 0
    return eighths(9 + math.log2(_number(words) / 100)) if _number(words) else None


def _number(words: str) -> float:
    try:
        return float(words)
    except ValueError:
        return 0.0


def code_of_format(words: str) -> int | None:
    """One or two files as the library condenses them: size and compression of a file, 4 bits each.

    The bodies name a JPEG `L`, `cL`, `S1`, or in words: `Large Fine JPEG`.
    """
    match = WORDED_FORMAT.fullmatch(words)
    has_raw = "RAW" in words
    jpeg = match[2] if match else ""
    size_words = {"Large": "L", "Medium": "M", "Small": "S", "Medium1": "M1", "Medium2": "M2"}
    coarse = jpeg.startswith("c") or "Normal" in jpeg
    first = jpeg.split(" ")[0].removeprefix("c")
    size = SIZES.get(size_words.get(first, first))
    picture = None if size is None else (size << 4) | (2 if coarse else 3)
    raw = (RAW_FLAG | (3 if words.startswith("cRAW") else 4)) if has_raw else None
    if raw is not None:
        return (raw << 8) | (NO_SECOND if picture is None else picture)
    return None if picture is None else (picture << 8) | NO_SECOND


def format_records(code: int) -> bytes:
    """A format as the body tells it: count of files, and a record of 16 bytes for each."""
    files = [code >> 8] if code & 0xFF == NO_SECOND else [code >> 8, code & 0xFF]
    records = b""
    for one in files:
        size, compression = one >> 4, one & 0x7
        wide = size + 1 if size >= 13 else size
        records += struct.pack("<IIII", 0x10, 6 if one & RAW_FLAG else 1, wide, compression)
    return struct.pack("<I", len(files)) + records


def code_of_records(data: bytes) -> int:
    """Inverse of `format_records`."""
    count = int(struct.unpack_from("<I", data)[0])
    files: list[int] = []
    for place in range(count):
        _, kind, size, compression = struct.unpack_from("<IIII", data, 4 + 16 * place)
        narrow = size - 1 if size >= 14 else size
        files.append((narrow << 4) | (compression | RAW_FLAG if kind == 6 else compression))
    return (files[0] << 8) | (files[1] if count == 2 else NO_SECOND)


WORDED: dict[str, tuple[int, DataType, Callable[[str], int | None]]] = {
    "aperture": (APERTURE, DataType.UINT16, code_of_aperture),
    "shutterspeed": (EXPOSURE, DataType.UINT16, code_of_exposure),
    "iso": (ISO, DataType.UINT16, code_of_iso),
    "autoexposuremode": (MODE, DataType.UINT16, MODES.get),
    "focusmode": (FOCUS, DataType.UINT32, lambda words: FOCUS_BY_HAND if words == "Manual" else 0),
    "whitebalance": (BALANCE, DataType.UINT8, BALANCES.get),
    "batterylevel": (BATTERY, DataType.UINT16, BATTERY_LEVELS.get),
    "imageformat": (FORMAT, DataType.UINT16, code_of_format),
}
READ_ONLY = frozenset({BATTERY, FOCUS, SHOTS_LEFT})


class Extension0B(Extension):
    """Changes are kept until the host asks for them; the first time it is told every property."""

    quantities: ClassVar[Mapping[int, Quantity]] = {
        **STANDARD_QUANTITIES,
        APERTURE: ("f_number", f_number),
        EXPOSURE: ("exposure_s", exposure_s),
        ISO: ("iso", iso),
    }

    def __init__(self, summary: Summary, body: CameraBody, makes: str = "") -> None:
        super().__init__(summary, body, makes)
        self._changes: list[bytes] = []
        self._asked = False

    @staticmethod
    def listed_of(summary: Summary) -> list[Listed]:
        there = {one.code: one for one in summary.properties}
        for name, worded in summary.worded.items():
            if name in WORDED and WORDED[name][0] not in there:
                listed = _from_words(*WORDED[name], worded)
                if listed is not None:
                    there[listed.code] = listed
        own = (
            small_word(SHOTS_LEFT, DataType.UINT32, 500),
            small_word(DESTINATION, DataType.UINT32, ON_CARD, (ON_CARD, IN_MEMORY)),
            small_word(LIVE_OUTPUT, DataType.UINT32, 0),
            small_word(FOCUS, DataType.UINT32, FOCUS_BY_HAND),
        )
        for one in own:
            there.setdefault(one.code, one)
        return [replace(one, writable=False) if one.code in READ_ONLY else one for one in there.values()]

    def property_codes(self) -> list[int]:
        """The body's own come as changes."""
        return [code for code in super().property_codes() if code < 0xD100 or code >= 0xD300]

    def files_of_format(self) -> str:
        code = self.properties.value(FORMAT)
        if not isinstance(code, int):
            return "jpeg"
        kinds = {"raw" if one & RAW_FLAG else "jpeg" for one in (code >> 8, code & 0xFF) if one != NO_SECOND}
        return "+".join(sorted(kinds, reverse=True))

    def saves_in_memory(self) -> bool:
        ignores = self.body.faults.take("target_ignored")
        return bool(ignores) or self.properties.value(DESTINATION) == IN_MEMORY

    def tell(self, code: EventCode, *parameters: int, transaction_id: int = NO_TRANSACTION) -> None:
        parameter = parameters[0] if parameters else 0
        if code == EventCode.ObjectAdded:
            self._tell_object(parameter)
        elif code == EventCode.CaptureComplete:
            self._changes.append(struct.pack("<III", 12, STATUS, 0))
        elif code == EventCode.StoreFull:
            self.cable.send_event(code, *parameters, transaction_id=transaction_id)

    def answers(self) -> dict[int, Answer]:
        done = {code: _answer_ok for code in (REMOTE_MODE, ROOM_AT_HOST, KEEP_ON, REQUEST_PROPERTY)}
        return {
            **done,
            EVENT_MODE: self._begin_events,
            STORES: self._get_stores,
            STORE_INFO: self._get_store_info,
            SET_PROPERTY: self._set_property,
            CHANGES: self._get_changes,
            TRANSFERRED: self._end_transfer,
            PRESS: self._press,
            LET_GO: _answer_ok,
            LIVE_PICTURE: self._get_live_picture,
            DRIVE_LENS: self._drive_lens,
        }

    def _tell_object(self, handle: int) -> None:
        item = self.body.card.find(handle)
        if item is None:
            return
        name = item.info.name.encode() + b"\0"
        if handle in self.in_memory:
            head = struct.pack("<IHHIIII", handle, item.info.object_format, 0, 0, item.info.size_bytes, 0, 0)[:20]
            body = head + name
            self._changes.append(struct.pack("<II", 8 + len(body), TRANSFER) + body)
            return
        head = struct.pack(
            "<IIHHIIIII",
            handle,
            item.info.storage_id,
            item.info.object_format,
            0,
            0,
            0,
            item.info.size_bytes,
            item.parent,
            0,
        )
        body = head + name
        self._changes.append(struct.pack("<II", 8 + len(body), ADDED) + body)

    def _begin_events(self, _: Host, __: Parameters, ___: bytes) -> Reply:
        """A host that begins to listen is told of all properties first."""
        self._asked = False
        return Reply()

    def _get_changes(self, _: Host, __: Parameters, ___: bytes) -> Reply:
        if not self._asked:
            self._asked = True
            codes = [one.code for one in self.properties.all() if 0xD100 <= one.code < 0xD300]
        else:
            codes = []
        codes += self.properties.take_changed()
        packed = b"".join(self._change_of(code) for code in codes)
        changes, self._changes = self._changes, []
        return Reply(data=packed + b"".join(changes) + struct.pack("<II", 8, 0))

    def _change_of(self, code: int) -> bytes:
        one = self.properties.find(code)
        if one is None or not isinstance(one.value, int):
            return b""
        value = (
            format_records(one.value)
            if code == FORMAT
            else struct.pack("<i", one.value)
            if one.value < 0
            else (struct.pack("<I", one.value))
        )
        told = struct.pack("<III", 12 + len(value), CHANGED, code) + value
        if one.form.kind != FORM_ENUMERATION or not one.form.values:
            return told
        values = [number for number in one.form.values if isinstance(number, int)]
        offered = b"".join(
            format_records(number) if code == FORMAT else struct.pack("<I", number & 0xFFFFFFFF) for number in values
        )
        return told + struct.pack("<IIIII", 20 + len(offered), OFFER_CHANGED, code, 3, len(values)) + offered

    def _set_property(self, _: Host, __: Parameters, data: bytes) -> Reply:
        size, code = struct.unpack_from("<II", data)
        one = self.properties.find(code)
        if one is None or one.data_type == DataType.STR:
            return Reply(Response.DevicePropNotSupported)
        if code == FORMAT:
            value = code_of_records(data[8:size])
        else:
            value = int(struct.unpack_from("<" + STRUCT_CODES[one.data_type], data, 8)[0])
        if code == DESTINATION and self.body.faults.take("setting_refused", setting="capture_target"):
            return Reply(Response.DeviceBusy)
        return Reply(self.properties.write(code, value))

    def _get_stores(self, host: Host, _: Parameters, __: bytes) -> Reply:
        return Reply(data=pack_array(DataType.UINT32, host.body.card.stores()))

    def _get_store_info(self, _: Host, __: Parameters, ___: bytes) -> Reply:
        return Reply(data=bytes(16))

    def _end_transfer(self, _: Host, parameters: Parameters, __: bytes) -> Reply:
        self.forget_in_memory(parameters[0])
        return Reply()

    def _press(self, host: Host, parameters: Parameters, _: bytes) -> Reply:
        if parameters[0] & FULL_PRESS == 0:
            return Reply()
        reply = self.release(host)
        if reply.code == Response.OK:
            self._changes.append(struct.pack("<III", 12, STATUS, 1))
        return reply

    def _get_live_picture(self, host: Host, _: Parameters, __: bytes) -> Reply:
        wanted = self.properties.value(LIVE_OUTPUT)
        if not isinstance(wanted, int) or not wanted & ~1:
            return Reply(Response.DeviceBusy)
        if not self.body.live_view:
            host.viewfinder.switch(True)
        code, picture = host.viewfinder.frame()
        if code != Response.OK:
            return Reply(Response.DeviceBusy)
        return Reply(data=struct.pack("<II", 8 + len(picture), 1) + picture)

    def _drive_lens(self, host: Host, parameters: Parameters, _: bytes) -> Reply:
        return Reply(host.viewfinder.drive_focus(LENS_STEPS.get(parameters[0], 0)))


def _answer_ok(_: Host, __: Parameters, ___: bytes) -> Reply:
    return Reply()


def _from_words(code: int, data_type: DataType, read: Callable[[str], int | None], worded: Worded) -> Listed | None:
    """The property of a setting in words; None for a value off the scale."""
    value = read(worded.value)
    values: Sequence[int] = [number for words in worded.choices if (number := read(words)) is not None]
    if value is None:
        return None
    form = Form(FORM_ENUMERATION, tuple(dict.fromkeys(values))) if values else Form(0)
    return Listed(code, data_type, True, form, value)
