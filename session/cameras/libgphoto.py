"""The adapter for libgphoto2: no other module imports the library.

Faults of libgphoto2, and the remedy that this module has for each:
- a call may hang for ever, some while holding the interpreter: each runs under an interval timer whose signal ends
  the process; the parent starts another;
- hanging up over PTP/IP closes descriptor 0, whatever that is by then: the null device is put back at once;
- `capture` loses files of a release: `trigger_capture` and events are used instead;
- a live frame's bytes live only as long as its CameraFile; data that came short is reported as success;
- after a time-out the answers are out of step, and a broken link gives -1, -2 or -7 as it likes: a code that may
  mean it is looked into by another question before it is believed.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from dataclasses import dataclass
from enum import StrEnum
from time import monotonic, sleep
from typing import Any, TypeVar

import gphoto2 as gp

from session.cameras.camera_address import CameraAddress
from session.cameras.camera_limits import CameraLimits
from session.cameras.result_codes import LINK_CODES, CameraError
from session.cameras.widgets import NotOfferedError, Widget, choice
from session.frame.camera_messages import CardObject, Fault

T = TypeVar("T")

ASK_AGAIN_S = 0.02
FIRST_PART_BYTES, LARGEST_PART_BYTES = 1 << 16, 1 << 20
"""The largest is libgphoto2's own for long files; the first is short enough for a wire of a tenth of a megabit."""
PART_S = 0.1
"""Parts grow until one takes so long, so that what is told of them isn't a second old. Chosen."""
CAPTURE_TARGET = "capturetarget"
NETWORK_MODEL = "PTP/IP Camera"
UNKNOWN_CODE = -1
DOUBTFUL_CODES = frozenset({UNKNOWN_CODE, -2})  # a refusal, or a dead link
STORE_FULL = "PTP Event 400a"  # ISO 15740 StoreFull, as the PTP driver words events that it has no type for
CHANGED = "PTP Property"
GROUPS = (gp.GP_WIDGET_WINDOW, gp.GP_WIDGET_SECTION)
LISTS = (gp.GP_WIDGET_RADIO, gp.GP_WIDGET_MENU)


class EventKind(StrEnum):
    """What the camera tells of itself."""

    FILE_ADDED = "file added"
    CAPTURE_COMPLETE = "capture complete"
    STORE_FULL = "store full"
    CHANGED = "setting changed"
    EVENTS_LOST = "events lost"
    OTHER = "other"


@dataclass(frozen=True)
class CameraEvent:
    """folder and name are those of a file that was added."""

    kind: EventKind
    folder: str = ""
    name: str = ""


def usb_cameras() -> list[tuple[str, str]]:
    """(libgphoto2's name for the model, address) of each camera on USB. Raises CameraError."""
    with _own_errors():
        found = gp.Camera.autodetect()
    cameras = [(found.get_name(index), found.get_value(index)) for index in range(found.count())]
    return [(model, address) for model, address in cameras if address.startswith("usb:") and "," in address]


def obey_time_limits() -> None:
    """The timer's signal must end the process even while the interpreter is held, whatever was inherited."""
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGALRM})


class Gphoto:
    """One camera through libgphoto2. One thread owns it; every method may raise CameraError."""

    def __init__(self, limits: CameraLimits) -> None:
        self.limits = limits
        self.address: CameraAddress | None = None
        self._camera: Any = None

    # --- the connection ---------------------------------------------------------------------------

    def open(self, address: CameraAddress) -> None:
        """Connect. A camera that was open is let go first."""
        self.close()
        camera = gp.Camera()
        try:
            with self._call(self.limits.call_s, probe=False):
                if address.on_network:
                    models = gp.CameraAbilitiesList()
                    models.load()
                    camera.set_abilities(models[models.lookup_model(NETWORK_MODEL)])
                ports = gp.PortInfoList()
                ports.load()
                camera.set_port_info(ports[ports.lookup_path(address.path)])
                camera.init()
        except CameraError:
            del camera  # which may hang up
            _keep_descriptor_0()
            raise
        self._camera, self.address = camera, address
        self._save_on_card()

    def close(self) -> None:
        """Hang up; an error in doing so tells nothing that isn't known."""
        camera, self._camera = self._camera, None
        if camera is None:
            return
        with suppress(CameraError), self._call(self.limits.call_s, probe=False):
            camera.exit()
        del camera
        _keep_descriptor_0()

    def reopen(self) -> None:
        """Hang up and connect anew: answers are in step again, and what the card holds is asked anew."""
        assert self.address is not None
        try:
            self.open(self.address)
        except CameraError as error:
            raise error.but(connected=False) from error

    def patiently(self, do: Callable[[], T]) -> T:
        """Do something, and again for a while as long as the camera says that it is busy."""
        for attempt in self._attempts():
            with attempt:
                return do()
        raise AssertionError("the last attempt raises its error")

    def _attempts(self) -> Iterator[AbstractContextManager[None]]:
        """Contexts to do something in, until it is done or the camera has been busy for too long."""
        until_s = monotonic() + self.limits.busy_s
        while True:
            yield self._attempt(until_s)

    @contextmanager
    def _attempt(self, until_s: float) -> Iterator[None]:
        """Wait a moment when the camera is busy; raises every other CameraError, and that one too from then on."""
        try:
            yield
        except CameraError as error:
            if error.fault is not Fault.BUSY or monotonic() > until_s:
                raise
            sleep(ASK_AGAIN_S)

    def is_alive(self) -> bool:
        """Whether the camera answers a question that it can't refuse."""
        try:
            with self._call(self.limits.call_s, probe=False):
                self._camera.get_storageinfo()
        except CameraError as error:
            return error.fault is Fault.NOT_OFFERED
        return True

    def says_busy(self) -> bool:
        """Whether the camera answers a question with its being busy. Raises CameraError when it is gone."""
        try:
            with self._call(self.limits.call_s):
                self._camera.get_storageinfo()
        except CameraError as error:
            if not error.connected:
                raise
            return error.fault is Fault.BUSY
        return False

    # --- settings ---------------------------------------------------------------------------------

    def widgets(self) -> dict[str, Widget]:
        """Every widget that the camera offers, by name; of two of one name the first."""
        found: dict[str, Widget] = {}
        with self._call(self.limits.call_s):
            for leaf in _leaves(self._camera.get_config()):
                found.setdefault(leaf.get_name(), _widget(leaf))
        return found

    def widget(self, name: str) -> Widget:
        """One widget as the camera has it now."""
        with self._call(self.limits.call_s):
            return _widget(self._camera.get_single_config(name))

    def set(self, name: str, text: str) -> None:
        """Set a widget by its text; whether the camera took it shows only when it is read again."""
        with self._call(self.limits.call_s):
            widget = self._camera.get_single_config(name)
            kind = widget.get_type()
            value: str | float | int = text
            if kind == gp.GP_WIDGET_RANGE:
                value = float(text)
            elif kind in (gp.GP_WIDGET_TOGGLE, gp.GP_WIDGET_DATE):
                value = int(text)
            widget.set_value(value)
            self._camera.set_single_config(name, widget)

    # --- releasing --------------------------------------------------------------------------------

    def trigger(self, exposure_s: float) -> None:
        """Let the shutter go, `patiently`, for an exposure of that many seconds; the files are announced by events."""
        for attempt in self._attempts():
            with attempt, self._call(self.limits.release_s + exposure_s):
                self._camera.trigger_capture()
                return

    def next_event(self, wait_ms: int) -> CameraEvent | None:
        """The camera's next event, or None; over PTP/IP the call returns after a millisecond whatever the wait.

        EVENTS_LOST when only the connection for events is gone: requests are still answered.
        """
        try:
            with self._call(self.limits.call_s):
                kind, about = self._camera.wait_for_event(wait_ms)
        except CameraError as error:
            if not error.connected:
                raise
            return CameraEvent(EventKind.EVENTS_LOST) if error.code == UNKNOWN_CODE else None
        if kind == gp.GP_EVENT_TIMEOUT:
            return None
        if kind == gp.GP_EVENT_FILE_ADDED:
            return CameraEvent(EventKind.FILE_ADDED, about.folder, about.name)
        if kind == gp.GP_EVENT_CAPTURE_COMPLETE:
            return CameraEvent(EventKind.CAPTURE_COMPLETE)
        text = about if kind == gp.GP_EVENT_UNKNOWN and isinstance(about, str) else ""
        if text.startswith(STORE_FULL):
            return CameraEvent(EventKind.STORE_FULL)
        return CameraEvent(EventKind.CHANGED if text.startswith(CHANGED) else EventKind.OTHER)

    # --- the card ---------------------------------------------------------------------------------

    def info(self, folder: str, name: str) -> CardObject:
        """A file on the card, as the camera describes it."""
        info = self.patiently(lambda: self._info(folder, name))
        file = info.file  # part of info, which must live as long
        size = file.size if file.fields & gp.GP_FILE_INFO_SIZE else 0
        at = float(file.mtime) if file.fields & gp.GP_FILE_INFO_MTIME and file.mtime else None
        return CardObject(folder, name, size, at)

    def _info(self, folder: str, name: str) -> Any:
        with self._call(self.limits.call_s):
            return self._camera.file_get_info(folder, name)

    @contextmanager
    def fetch(self, card: CardObject, came: Callable[[int], None]) -> Iterator[memoryview]:
        """The bytes of a file on the card, perhaps too few of them; valid inside the `with` only.

        came   hears how many are here, after each part
        """
        parts = self._in_parts(card, came)
        if parts is not None:
            yield memoryview(parts)
            return
        with self._call(self.limits.transfer_s(card.bytes)):
            file = self._camera.file_get(card.folder, card.name, gp.GP_FILE_TYPE_NORMAL)
        yield memoryview(file.get_data_and_size())

    def _in_parts(self, card: CardObject, came: Callable[[int], None]) -> bytearray | None:
        """The same part by part, as libgphoto2 does by itself with long files, of which it tells nobody over a network.

        None where the camera gives files only as a whole, or doesn't say how long this one is.
        """
        data, most = bytearray(), FIRST_PART_BYTES
        while len(data) < card.bytes:
            part, began_s = bytearray(min(most, card.bytes - len(data))), monotonic()
            try:
                with self._call(self.limits.transfer_s(card.bytes)):
                    count = self._camera.file_read(card.folder, card.name, gp.GP_FILE_TYPE_NORMAL, len(data), part)
            except CameraError as error:
                if error.code == gp.GP_ERROR_NOT_SUPPORTED and not data:
                    return None
                raise
            data += part[:count]
            came(len(data))
            if count < len(part):
                break  # short data is reported as success; the whole file is looked at before it is saved
            if monotonic() - began_s < PART_S:
                most = min(2 * most, LARGEST_PART_BYTES)
        return data if card.bytes else None

    def card(self) -> tuple[CardObject, ...]:
        """Every file on the card."""
        return tuple(self._card_below("/"))

    def _card_below(self, folder: str) -> Iterator[CardObject]:
        with self._call(self.limits.call_s):
            files = self._camera.folder_list_files(folder)
            folders = self._camera.folder_list_folders(folder)
        for index in range(files.count()):
            yield self.info(folder, files.get_name(index))
        for index in range(folders.count()):
            yield from self._card_below(f"{folder.rstrip('/')}/{folders.get_name(index)}")

    def free_bytes(self) -> int | None:
        """Room on the card in bytes; None when the camera doesn't tell."""
        try:
            with self._call(self.limits.call_s):
                stores = self._camera.get_storageinfo()
        except CameraError as error:
            if not error.connected:
                raise
            return None
        told = [store.freekbytes for store in stores if store.fields & gp.GP_STORAGEINFO_FREESPACEKBYTES]
        return told[0] * 1024 if told else None

    # --- live view --------------------------------------------------------------------------------

    def claims_live_view(self) -> bool:
        """Whether the driver claims live view for the model; some drivers claim it wrongly."""
        with self._call(self.limits.call_s):
            return bool(self._camera.get_abilities().operations & gp.GP_OPERATION_CAPTURE_PREVIEW)

    def live_frame(self) -> bytes:
        """The newest live picture, a JPEG; b"" when the camera was too busy to give one."""
        with self._call(self.limits.call_s):
            file = self._camera.capture_preview()
        return bytes(memoryview(file.get_data_and_size()))

    # ------------------------------------------------------------------------------------------------

    def _save_on_card(self) -> None:
        """Pictures that exist in the camera's memory only would be lost with the cable."""
        try:
            target = self.widget(CAPTURE_TARGET)
            on_card = choice("capture_target", "card", target)
            if on_card != target.text:
                self.set(CAPTURE_TARGET, on_card)
        except NotOfferedError:
            return
        except CameraError as error:
            if not error.connected:
                raise

    @contextmanager
    def _call(self, limit_s: float, probe: bool = True) -> Iterator[None]:
        """Run libgphoto2 under a time limit, its errors translated; the process ends when the limit does."""
        if self._camera is None and probe:
            raise CameraError(Fault.LOST, "No camera is connected.", connected=False)
        signal.setitimer(signal.ITIMER_REAL, limit_s)
        try:
            with _own_errors():
                yield
        except CameraError as error:
            signal.setitimer(signal.ITIMER_REAL, 0)
            raise self._surer_error(error) if probe else error from None
        finally:
            signal.setitimer(signal.ITIMER_REAL, 0)

    def _surer_error(self, error: CameraError) -> CameraError:
        if error.code in DOUBTFUL_CODES:
            if self.is_alive():
                return error
            return CameraError.of_code(gp.GP_ERROR_IO).but(connected=False)
        return error.but(connected=error.code not in LINK_CODES)


@contextmanager
def _own_errors() -> Iterator[None]:
    try:
        yield
    except gp.GPhoto2Error as error:
        raise CameraError.of_code(error.code) from None  # its own text may name makers


def _keep_descriptor_0() -> None:
    try:
        os.fstat(0)
    except OSError:
        os.open(os.devnull, os.O_RDWR)  # the lowest free number, which is 0


def _leaves(widget: Any) -> Iterator[Any]:
    if widget.get_type() not in GROUPS:
        yield widget
        return
    for index in range(widget.count_children()):
        yield from _leaves(widget.get_child(index))


def _widget(leaf: Any) -> Widget:
    kind = leaf.get_type()
    value = leaf.get_value()
    return Widget(
        name=leaf.get_name(),
        text="" if value is None else f"{value:g}" if isinstance(value, float) else str(value),
        choices=tuple(leaf.get_choices()) if kind in LISTS else (),
        span=tuple(leaf.get_range()) if kind == gp.GP_WIDGET_RANGE else None,
        read_only=bool(leaf.get_readonly()),
    )
