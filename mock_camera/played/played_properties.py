"""The properties of a played body: listed values that the host reads and sets, some of which are the shutter's.

What a value stands for is known for exposure time, aperture and ISO speed only, so that the picture is taken with
them; a value that stands for none (bulb, no lens) leaves the body as it was.
"""

import threading
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

from mock_camera.body.camera_body import CameraBody
from mock_camera.ptp.codes import DataType, Response
from mock_camera.ptp.datasets import FORM_ENUMERATION, FORM_RANGE, Form, Value, pack_device_prop_desc
from mock_camera.ptp.summary import Listed

Quantity = tuple[str, Callable[[int], float | None]]
"""The body's setting and how the wire's number becomes its value; None where the number is no quantity."""


def parts_of(per_unit: float) -> Callable[[int], float | None]:
    """A number in parts of the unit; the largest of 16, 24 and 32 bits and those beside them stand for no value."""
    none = {0xFFFE, 0xFFFF, 0xFFFFFF, 0xFFFFFFFD, 0xFFFFFFFE, 0xFFFFFFFF}
    return lambda number: number / per_unit if number > 0 and number not in none else None


def fraction(number: int) -> float | None:
    """Numerator above, denominator below; the largest numbers stand for bulb, time and automatic."""
    above, below = number >> 16, number & 0xFFFF
    return above / below if 0 < above < 0xFFFF and 0 < below < 0xFFF0 else None


def small_word(code: int, data_type: DataType, value: Value, values: Iterable[Value] = ()) -> Listed:
    """A small property that the host may set, to any value or only to a listed value."""
    form = Form(FORM_ENUMERATION, tuple(values)) if values else Form(0)
    return Listed(code, data_type, True, form, value)


class Properties:
    """Safe to call from any thread."""

    def __init__(self, listed: Iterable[Listed], body: CameraBody, quantities: Mapping[int, Quantity]) -> None:
        self._listed = {one.code: one for one in listed}
        self._body, self._quantities = body, quantities
        self._lock = threading.RLock()
        self.changed: list[int] = []
        """Codes that hands changed and the host has not heard of."""
        for code in self._listed:
            self._expose(code)

    def all(self) -> list[Listed]:
        """Every property as it is now."""
        with self._lock:
            return list(self._listed.values())

    def find(self, code: int) -> Listed | None:
        with self._lock:
            return self._listed.get(code)

    def value(self, code: int) -> Value | None:
        """The present value, None for a property that isn't listed."""
        one = self.find(code)
        return None if one is None else one.value

    def put(self, code: int, value: Value) -> None:
        """Set without a question, as the body does itself, or a hand."""
        with self._lock:
            self._listed[code] = replace(self._listed[code], value=value)
            self.changed.append(code)
        self._expose(code)

    def write(self, code: int, value: Value) -> Response:
        """Set from the host: refused where it is read only, or outside the form."""
        one = self.find(code)
        if one is None:
            return Response.DevicePropNotSupported
        if not one.writable:
            return Response.AccessDenied
        if self._body.shutter_open():
            return Response.DeviceBusy
        if one.form.kind == FORM_ENUMERATION and one.form.values and value not in one.form.values:
            return Response.InvalidDevicePropValue
        if one.form.kind == FORM_RANGE and isinstance(value, int):
            least, most = int(one.form.values[0]), int(one.form.values[1])
            if least <= most and not least <= value <= most:
                return Response.InvalidDevicePropValue
        with self._lock:
            self._listed[code] = replace(one, value=value)
        self._expose(code)
        return Response.OK

    def description(self, code: int) -> bytes | None:
        """The DevicePropDesc dataset of a property, None for an unlisted property."""
        one = self.find(code)
        if one is None:
            return None
        return pack_device_prop_desc(code, one.data_type, one.writable, one.value, one.value, one.form)

    def take_changed(self) -> list[int]:
        """The codes that changed since this was asked last."""
        with self._lock:
            changed, self.changed = self.changed, []
            return changed

    def _expose(self, code: int) -> None:
        quantity, number = self._quantities.get(code), self.value(code)
        if quantity is None or not isinstance(number, int):
            return
        setting, read = quantity
        value = read(number)
        if value is not None:
            self._body.adopt(setting, value)
