"""The camera body: its settings and battery, and its messages to the other end of the cable.

Settings are physical values under their names (`exposure_s`, `f_number`, ...); `properties.py` says
how they look on the wire. Hands and host change them through the same door, `change`; the cable is
told of a change unless it came from there.
"""

import threading
from collections.abc import Callable
from dataclasses import dataclass

from mock_camera.body.cable import Cable, NoCable
from mock_camera.body.clock import CameraClock
from mock_camera.body.faults import FaultScript
from mock_camera.body.memory_card import Card
from mock_camera.body.picture_source import PictureSource
from mock_camera.body.properties import STANDARD_PROPERTIES, VENDOR_PROPERTIES, Property, RefusedSettingError, Setting
from mock_camera.ptp.codes import DevicePropCode, EventCode, Response
from mock_camera.ptp.datasets import pack_date_time, unpack_date_time
from mock_camera.table.world import Shot

CRITICAL_BATTERY_PERCENT = 3.0
"""At or below it the shutter stays shut; invented, bodies differ."""
PERCENT_PER_RELEASE = 0.05
"""About 2000 releases from a full battery; invented."""


@dataclass(frozen=True)
class BodyOptions:
    """The constants of a camera while it is on. Names are invented; `plain` = no vendor extension."""

    model: str = "Wendle 16"
    serial: str = "IOW-000001"
    plain: bool = False
    file_format: str = "jpeg"
    battery_percent: float = 80.0
    jpeg_first: bool = False
    shutter_lag_s: float = 0.05
    buffer_s: float = 0.05
    buffer_frames: int = 8
    pixels: tuple[int, int] = (1536, 1024)


class CameraBody:
    """State of the camera. Safe to call from any thread; `table_lock` guards the picture source."""

    def __init__(
        self, source: PictureSource, card: Card, clock: CameraClock, faults: FaultScript, options: BodyOptions
    ) -> None:
        self.source, self.card, self.clock, self.faults, self.options = source, card, clock, faults, options
        self.cable: Cable = NoCable()
        self.table_lock = threading.Lock()
        self.shutter_open: Callable[[], bool] = lambda: False
        self.busy_writing = False
        self.live_view = False
        self.objects_told = 0
        self._lock = threading.RLock()
        shown = STANDARD_PROPERTIES + (() if options.plain else VENDOR_PROPERTIES)
        self.properties: dict[int, Property] = {kind.code: kind for kind in shown}
        self._settings: dict[str, Setting] = {p.setting: p.default for p in shown}
        self._settings["file_format"] = options.file_format
        self._settings["battery_percent"] = options.battery_percent

    def setting(self, name: str) -> Setting:
        if name == "date_time":
            return pack_date_time(self.clock.date_time())
        if name == "live_view":
            return int(self.live_view)
        with self._lock:
            return self._settings[name]

    def settings(self) -> dict[str, Setting]:
        return {name: self.setting(name) for name in self._settings}

    def property_at(self, code: int) -> Property | None:
        return self.properties.get(code)

    def property_of(self, setting: str) -> Property:
        """First property that shows the setting. Raises ValueError with a sentence."""
        for candidate in self.properties.values():
            if candidate.setting == setting:
                return candidate
        names = ", ".join(sorted({p.setting for p in self.properties.values() if p.writable}))
        raise RefusedSettingError(f"This camera has no setting {setting!r}; it has {names}.")

    def change(self, setting: str, value: Setting, *, seen_as: DevicePropCode | None = None) -> None:
        """Set to an offered value and tell the cable of every view but `seen_as`, the one the host wrote."""
        if setting == "date_time":
            zone = self.clock.date_time().tzinfo
            self.clock.set_date_time(unpack_date_time(str(value)).replace(tzinfo=zone))
        else:
            kind = self.property_of(setting)
            offered = kind.from_wire(kind.to_wire(value))
            with self._lock:
                unchanged = self._settings[setting] == offered
                self._settings[setting] = offered
            if unchanged:
                return
        self.tell_changed(setting, seen_as)

    def adopt(self, setting: str, value: Setting) -> None:
        """Give a setting a played body's own value, which no property need offer; no host is told."""
        with self._lock:
            self._settings[setting] = value

    def tell_changed(self, setting: str, seen_as: DevicePropCode | None = None) -> None:
        """DevicePropChanged for every view of the setting but `seen_as`."""
        for code, kind in self.properties.items():
            if kind.setting == setting and code != seen_as:
                self.cable.send_event(EventCode.DevicePropChanged, code)

    def write(self, kind: Property, wire: int | str) -> Response:
        """SetDevicePropValue from the host."""
        if not kind.writable:
            return Response.AccessDenied
        if self.shutter_open():
            return Response.DeviceBusy
        fault = self.faults.take("setting_refused", setting=kind.setting)
        if fault:
            return Response.OK if fault.number("silently") else Response.AccessDenied
        try:
            self.change(kind.setting, kind.from_wire(wire), seen_as=kind.code)
        except ValueError:
            return Response.InvalidDevicePropValue
        return Response.OK

    def set_battery(self, percent: float) -> None:
        """Set the battery's level, 0 to 100 %, and tell the host when the whole per cent changed."""
        with self._lock:
            before = round(float(self._settings["battery_percent"]))
            self._settings["battery_percent"] = min(100.0, max(0.0, percent))
            after = round(float(self._settings["battery_percent"]))
        if before != after:
            self.tell_changed("battery_percent")

    def use_battery(self, percent: float) -> None:
        """Take so many per cent off the battery's level."""
        self.set_battery(float(self.setting("battery_percent")) - percent)

    def battery_critical(self) -> bool:
        return float(self.setting("battery_percent")) <= CRITICAL_BATTERY_PERCENT

    def shot(self, number: int) -> Shot:
        """The exposure as the settings now are."""
        return Shot(
            exposure_s=float(self.setting("exposure_s")),
            f_number=float(self.setting("f_number")),
            iso=int(self.setting("iso")),
            taken_at=self.clock.date_time(),
            number=number,
        )
