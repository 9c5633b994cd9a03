"""The adapter for libgphoto2: no other module imports the library.

Faults of libgphoto2, each with the remedy of this module:
- a call may hang for ever, some while holding the interpreter: each runs under an interval timer whose signal ends
  the process; the parent starts another;
- hanging up over PTP/IP closes descriptor 0, whatever that is by then: the null device is put back at once;
- a camera on the network that answers and then refuses keeps its sockets, and its only place for a computer: they are
  closed here;
- `capture` loses files of a release: `trigger_capture` and events are used instead;
- reading the value of a list widget ends the process when the value isn't in the list: the library is asked for the
  text first, past the binding;
- a folder is read inside one call, for minutes on a slow camera: how far it is, is heard from the library's own lines
  for debugging;
- a live frame's bytes live only as long as its CameraFile; data that came short is reported as success;
- after a time-out the answers are out of step, and a broken link gives -1, -2 or -7 as it likes: a code that may
  mean it is looked into by another question before it is believed.
"""

from __future__ import annotations

import ctypes
import os
import signal
import stat
from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path
from time import monotonic, sleep
from typing import Any, TypeVar

import gphoto2 as gp
from gphoto2 import _port_log as gp_port_log
from gphoto2 import _widget as gp_widgets

from session.cameras.camera_address import CameraAddress
from session.cameras.camera_limits import CARD, CameraLimits
from session.cameras.folder_reading import FolderReading, Progress, libraries_in
from session.cameras.result_codes import LINK_CODES, CameraError
from session.cameras.widgets import NotOfferedError, Widget, capture_target, is_on_both, target_on_card
from session.frame.camera_messages import NO_CAMERA, CardObject, Fault
from session.frame.card import holds_pictures_only

T = TypeVar("T")

ASK_AGAIN_S = 0.02
FIRST_PART_BYTES, LARGEST_PART_BYTES = 1 << 16, 1 << 20
"""The largest is libgphoto2's own for long files; the first is short enough for a wire of a tenth of a megabit."""
PART_S = 0.1
"""Seconds up to which parts grow, so that the progress told is never a second old. Chosen."""
CAPTURE_TARGET = "capturetarget"
NETWORK_MODEL = "PTP/IP Camera"
UNKNOWN_CODE = -1
DOUBTFUL_CODES = frozenset({UNKNOWN_CODE, -2})  # a refusal, or a dead link
STORE_FULL = "PTP Event 400a"  # ISO 15740 StoreFull, as the PTP driver words events that it has no type for
CHANGED = "PTP Property"
LISTS = (gp.GP_WIDGET_RADIO, gp.GP_WIDGET_MENU)
TEXTS = (*LISTS, gp.GP_WIDGET_TEXT)
MOST_FILES_LISTED = 999
"""Numbers in a folder, after which most bodies begin another."""
BEYOND_ANY_FILE = 0xFFFFFFFF
"""The greatest place in a file that PTP can ask for: to read from there on transfers nothing."""
DESCRIPTORS = Path("/dev/fd")
"""The folder that shows a process its own descriptors, on Linux and macOS."""
IN_MEMORY = "/"
"""Folder of a picture that is in the camera's memory, not on its card; the library has the whole file then."""

MAPPED = Path("/proc/self/maps")
"""Where Linux shows a process which libraries it has loaded."""
PORT_LIBRARY = "libgphoto2_port"
_LINE = ctypes.CFUNCTYPE(None, ctypes.c_int, ctypes.c_char_p, ctypes.c_char_p, ctypes.c_void_p)

_value_of_widget = ctypes.CDLL(gp_widgets.__file__).gp_widget_get_value
_value_of_widget.argtypes = (ctypes.c_void_p, ctypes.c_void_p)


class EventKind(StrEnum):
    """The facts that the camera tells of itself."""

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

    def __init__(
        self,
        limits: CameraLimits,
        asking: Callable[[str], None] = lambda name: None,
        reading: Progress = lambda done, of, left_s: None,
    ) -> None:
        """
        asking   hears the name of each widget before it is read, and "" once it is: reading may end the process
        reading  hears how far the library is with a folder that it reads inside one call
        """
        self.limits = limits
        self._asking = asking
        self._reading = reading
        self._folder = FolderReading(reading)
        self.target = ""
        """Where pictures go, as the camera said when it was opened: `card`, `memory`, "" where it doesn't tell."""
        self.keeps_both = False
        """Pictures go to the card, and wait in memory for us too."""
        self.tells_files_slowly = False
        """A folder is read inside the call that tells of its first file, and that may take minutes."""
        self.listens = False
        """A look for an event is under way: a folder is read then for the sake of a file that was announced."""
        self._slowest_bytes_per_s = limits.slowest_bytes_per_s
        self.address: CameraAddress | None = None
        self._camera: Any = None

    # --- the connection ---------------------------------------------------------------------------

    def open(self, address: CameraAddress) -> None:
        """Connect. A camera that was open is let go first."""
        self.close()
        camera = gp.Camera()
        before = _open_sockets() if address.on_network else frozenset()
        try:
            with self._call(self.limits.call_s, probe=False):
                if address.on_network:
                    camera.set_abilities(_network_abilities())
                ports = gp.PortInfoList()
                ports.load()
                camera.set_port_info(ports[ports.lookup_path(address.path)])
                camera.init()
        except CameraError:
            del camera  # which may hang up
            if address.on_network:  # on USB the library's own thread may still listen at its socket
                for descriptor in _open_sockets() - before:
                    os.close(descriptor)
            _keep_descriptor_0()
            raise
        self._camera, self.address = camera, address
        self._folder = FolderReading(self._reading)
        self.target = self._save_on_card()

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
        """Wait a moment for a busy camera. Raises other CameraErrors, after `until_s`, s, the busy camera's too."""
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

    def widget_names(self) -> frozenset[str]:
        """The names of all widgets that the camera offers; none is read."""
        with self._call(self.limits.call_s):
            names = self._camera.list_config()
            return frozenset(names.get_name(index) for index in range(names.count()))

    def widgets(self, names: Iterable[str]) -> dict[str, Widget]:
        """The named widgets as far as the camera has them, without those that can't be read now."""
        found: dict[str, Widget] = {}
        for name in names:
            try:
                found[name] = self.widget(name)
            except CameraError as error:
                if not error.connected:
                    raise
        return found

    def widget(self, name: str) -> Widget:
        """A widget with the camera's present value."""
        with self._note_asking(name), self._call(self.limits.call_s):
            return _widget(self._camera.get_single_config(name))

    @contextmanager
    def _note_asking(self, name: str) -> Iterator[None]:
        """Note the widget's name while the camera is asked; the note stays when the question ends the process."""
        self._asking(name)
        try:
            yield
        finally:
            self._asking("")

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

    def _try_set(self, name: str, text: str) -> None:
        """Set it; whether the camera refused shows when it is read again."""
        try:
            self.set(name, text)
        except CameraError as error:
            if not error.connected:
                raise

    # --- releasing --------------------------------------------------------------------------------

    def look_at_target(self) -> str:
        """Ask where pictures go, see `target`."""
        text = self.widget(CAPTURE_TARGET).text
        self.keeps_both, self.target = is_on_both(text), capture_target(text) or ""
        return self.target

    def trigger(self, exposure_s: float) -> None:
        """Let the shutter go, `patiently`, for an exposure of that many seconds; the files are announced by events.

        With extension 0x0A the library waits inside the call until the body is free again: after the exposure, and
        the dark frame of as many seconds that takes its noise away.
        """
        for attempt in self._attempts():
            with attempt, self._call(self.limits.release_s + 2 * exposure_s):
                self._camera.trigger_capture()
                return

    def next_event(self, wait_ms: int) -> CameraEvent | None:
        """The camera's next event, or None; over PTP/IP the call returns after a millisecond whatever the wait.

        EVENTS_LOST when only the connection for events is gone: requests are still answered.
        """
        self.listens = True
        try:
            with self._call_that_reads(self._event_limit_s()):
                kind, about = self._camera.wait_for_event(wait_ms)
        except CameraError as error:
            if not error.connected:
                raise
            return CameraEvent(EventKind.EVENTS_LOST) if error.code == UNKNOWN_CODE else None
        finally:
            self.listens = False
        if kind == gp.GP_EVENT_TIMEOUT:
            return None
        if kind == gp.GP_EVENT_FILE_ADDED:
            self.tells_files_slowly = False
            return CameraEvent(EventKind.FILE_ADDED, about.folder, about.name)
        if kind == gp.GP_EVENT_CAPTURE_COMPLETE:
            return CameraEvent(EventKind.CAPTURE_COMPLETE)
        text = about if kind == gp.GP_EVENT_UNKNOWN and isinstance(about, str) else ""
        if text.startswith(STORE_FULL):
            return CameraEvent(EventKind.STORE_FULL)
        return CameraEvent(EventKind.CHANGED if text.startswith(CHANGED) else EventKind.OTHER)

    def _event_limit_s(self) -> float:
        """Longest time, s, for a look at what the camera tells: of a picture in memory the file comes with it."""
        limits = self.limits
        fetching_s = limits.largest_bytes / self._slowest_bytes_per_s if self.target == "memory" else 0.0
        return fetching_s + (limits.listing_s(MOST_FILES_LISTED) if self.tells_files_slowly else limits.call_s)

    # --- the card ---------------------------------------------------------------------------------

    def info(self, folder: str, name: str) -> CardObject:
        """A file on the card, as the camera describes it; of a picture in memory, which is here already, the size."""
        if folder == IN_MEMORY:
            with self._call(self.limits.call_s):
                data = self._camera.file_get(folder, name, gp.GP_FILE_TYPE_NORMAL)
            return CardObject(folder, name, len(memoryview(data.get_data_and_size())), None)
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
        with self._call_that_reads(self._transfer_s(card)):
            file = self._camera.file_get(card.folder, card.name, gp.GP_FILE_TYPE_NORMAL)
        yield memoryview(file.get_data_and_size())

    def _transfer_s(self, card: CardObject) -> float:
        """Longest time, s, for the whole of a file, or a part."""
        listing_s = self.limits.listing_s(MOST_FILES_LISTED) if self.tells_files_slowly else 0.0
        return self.limits.transfer_s(card.bytes) + listing_s

    def _in_parts(self, card: CardObject, came: Callable[[int], None]) -> bytearray | None:
        """The file's bytes, read part by part, since libgphoto2 tells no progress of a whole file over a network.

        None where the camera gives files only as a whole, or doesn't say how long this one is.
        """
        if card.folder == IN_MEMORY:
            return None
        data, most = bytearray(), FIRST_PART_BYTES
        while len(data) < card.bytes:
            part, began_s = bytearray(min(most, card.bytes - len(data))), monotonic()
            try:
                with self._call_that_reads(self._transfer_s(card)):
                    count = self._camera.file_read(card.folder, card.name, gp.GP_FILE_TYPE_NORMAL, len(data), part)
            except CameraError as error:
                if error.code == gp.GP_ERROR_NOT_SUPPORTED and not data:
                    return None
                raise
            data += part[:count]
            came(len(data))
            if count < len(part):
                break  # short data is reported as success; the whole file is looked at before it is saved
            took_s = monotonic() - began_s
            if count >= FIRST_PART_BYTES and took_s > 0:
                self._slowest_bytes_per_s = min(self._slowest_bytes_per_s, count / took_s)
            if took_s < PART_S:
                most = min(2 * most, LARGEST_PART_BYTES)
        return data if card.bytes else None

    def folders(self) -> tuple[tuple[str, ...], tuple[float, ...]]:
        """Every folder of the cards, and for each call that found folders the time of a folder in seconds (s)."""
        found: list[str] = []
        took_s: list[float] = []
        to_look = ["/"]
        while to_look:
            folder, began_s = to_look.pop(), monotonic()
            with self._call(self.limits.call_s):
                names = self._camera.folder_list_folders(folder)
                below = [f"{folder.rstrip('/')}/{names.get_name(index)}" for index in range(names.count())]
            if below and folder != "/":
                took_s.append((monotonic() - began_s) / len(below))
            found += below
            to_look += [one for one in below if not holds_pictures_only(one)]
        return tuple(found), tuple(took_s)

    def files_in(self, folder: str) -> tuple[CardObject, ...]:
        """Every file of a folder; the library asks the camera for all files in one call."""
        with self._note_asking(CARD):
            with self._call_that_reads(self.limits.listing_s(MOST_FILES_LISTED)):
                files = self._camera.folder_list_files(folder)
            return tuple(self.info(folder, files.get_name(index)) for index in range(files.count()))

    def looks_up(self, card: CardObject) -> bool:
        """Whether the file is on the card. The library asks the camera for each file before it, once in a connection.

        Nothing of the file is transferred. Raises CameraError, NOT_OFFERED where the library can't without a transfer.
        """
        with self._note_asking(CARD):
            try:
                with self._call_that_reads(self.limits.listing_s(MOST_FILES_LISTED), to_end=False):
                    self._camera.file_read(
                        card.folder, card.name, gp.GP_FILE_TYPE_NORMAL, BEYOND_ANY_FILE, bytearray(1)
                    )
            except CameraError as error:
                if error.code == gp.GP_ERROR_BAD_PARAMETERS:
                    return False
                raise
        return True

    def free_bytes(self) -> int | None:
        """Room on the card in bytes, of two cards the lesser; None when the camera doesn't tell, or has no card."""
        try:
            with self._call(self.limits.call_s):
                stores = self._camera.get_storageinfo()
        except CameraError as error:
            if not error.connected:
                raise
            return None
        told = [store.freekbytes for store in stores if store.fields & gp.GP_STORAGEINFO_FREESPACEKBYTES]
        return min(told) * 1024 if told else None

    def has_card(self) -> bool:
        """False when the camera says that no card is in."""
        try:
            with self._call(self.limits.call_s):
                return bool(self._camera.get_storageinfo())
        except CameraError as error:
            if not error.connected:
                raise
            return True

    # --- live view --------------------------------------------------------------------------------

    def claims_live_view(self) -> bool:
        """Whether the driver claims live view for the model; the claim of a driver may be wrong."""
        with self._call(self.limits.call_s):
            return bool(self._camera.get_abilities().operations & gp.GP_OPERATION_CAPTURE_PREVIEW)

    def live_frame(self) -> bytes:
        """The newest live picture, a JPEG; b"" when the camera was too busy to give one."""
        with self._call(self.limits.call_s):
            file = self._camera.capture_preview()
        return bytes(memoryview(file.get_data_and_size()))

    # ------------------------------------------------------------------------------------------------

    def _save_on_card(self) -> str:
        """Have pictures saved on the card: in the camera's memory only they would be lost with the cable.

        Returns where the camera then says that they go, see `target`.
        """
        if CAPTURE_TARGET not in self.widget_names():
            return ""
        try:
            target = self.widget(CAPTURE_TARGET)
            on_card = target_on_card(target)
            if on_card != target.text:
                self._try_set(CAPTURE_TARGET, on_card)
            return self.look_at_target()
        except NotOfferedError:
            return "memory"
        except CameraError as error:
            if not error.connected:
                raise
            return ""

    @contextmanager
    def _call(self, limit_s: float, probe: bool = True) -> Iterator[None]:
        """Run libgphoto2 under a time limit, its errors translated; the process ends when the limit does."""
        if self._camera is None and probe:
            raise CameraError(Fault.LOST, NO_CAMERA, connected=False)
        signal.setitimer(signal.ITIMER_REAL, limit_s)
        try:
            with _own_errors():
                yield
        except CameraError as error:
            signal.setitimer(signal.ITIMER_REAL, 0)
            raise self._surer_error(error) if probe else error from None
        finally:
            signal.setitimer(signal.ITIMER_REAL, 0)

    @contextmanager
    def _call_that_reads(self, limit_s: float, to_end: bool = True) -> Iterator[None]:
        """Run a call inside which the library may read a folder, up to its last file or `to_end` is False.

        As long as the camera is asked for another file, and another, no time limit ends it.
        """
        if not self.tells_files_slowly:
            with self._call(limit_s):
                yield
            return
        self._folder.begin(to_end)
        try:
            with _library_lines(self._hear), self._call(limit_s):
                yield
        finally:
            self._folder.end()

    def _hear(self, line: bytes) -> None:
        alive = self._folder.hear(line)
        if alive and signal.getitimer(signal.ITIMER_REAL)[0] < self.limits.call_s:
            signal.setitimer(signal.ITIMER_REAL, self.limits.call_s)

    def _surer_error(self, error: CameraError) -> CameraError:
        if error.code in DOUBTFUL_CODES:
            if self.is_alive():
                return error
            return CameraError.of_code(gp.GP_ERROR_IO).but(connected=False)
        return error.but(connected=error.code not in LINK_CODES)


@cache
def _network_abilities() -> Any:
    """What the library's driver can do with a camera on the network, looked up once: its list of models takes 7 MB."""
    models = gp.CameraAbilitiesList()
    models.load()
    return models[models.lookup_model(NETWORK_MODEL)]


@contextmanager
def _own_errors() -> Iterator[None]:
    try:
        yield
    except gp.GPhoto2Error as error:
        raise CameraError.of_code(error.code) from None  # its own text may name makers


@contextmanager
def _library_lines(hear: Callable[[bytes], None]) -> Iterator[None]:
    """Have `hear` called with each line that the library writes for debugging."""
    function = _LINE(lambda level, domain, line, data: hear(line))
    added = [(library, library.gp_log_add_func(gp.GP_LOG_DEBUG, function, None)) for library in _port_libraries()]
    try:
        yield
    finally:
        for library, number in added:
            library.gp_log_remove_func(number)


@cache
def _port_libraries() -> tuple[ctypes.CDLL, ...]:
    """The loaded copies of the port library, which writes the lines; a wheel may bring one copy for its drivers."""
    try:
        loaded = libraries_in(os.fsdecode(MAPPED.read_bytes()), PORT_LIBRARY)
    except OSError:  # not Linux
        loaded = frozenset()
    found = {}
    for path in sorted(loaded) or [gp_port_log.__file__]:  # which has the one that it was linked with
        with suppress(OSError, AttributeError):  # the file was replaced since, or writes no lines
            library = ctypes.CDLL(path)
            found[ctypes.cast(library.gp_log_add_func, ctypes.c_void_p).value] = library
    return tuple(found.values())


def _open_sockets() -> frozenset[int]:
    """Descriptors of this process's sockets; an empty set on a system that doesn't show a process its descriptors."""
    try:
        descriptors = [int(place.name) for place in DESCRIPTORS.iterdir()]
    except OSError:
        return frozenset()
    return frozenset(filter(_is_socket, descriptors))


def _is_socket(descriptor: int) -> bool:
    try:
        return stat.S_ISSOCK(os.fstat(descriptor).st_mode)
    except OSError:  # the folder of descriptors was read by it
        return False


def _keep_descriptor_0() -> None:
    try:
        os.fstat(0)
    except OSError:
        os.open(os.devnull, os.O_RDWR)  # the lowest free number, which is 0


def _widget(leaf: Any) -> Widget:
    kind = leaf.get_type()
    return Widget(
        name=leaf.get_name(),
        text=_text(leaf, kind),
        choices=tuple(leaf.get_choices()) if kind in LISTS else (),
        span=tuple(leaf.get_range()) if kind == gp.GP_WIDGET_RANGE else None,
        read_only=bool(leaf.get_readonly()),
    )


def _text(leaf: Any, kind: int) -> str:
    """The widget's value as text, "" where it has none."""
    if kind in TEXTS:
        value = ctypes.c_char_p()
        _value_of_widget(int(leaf.this), ctypes.byref(value))
        return (value.value or b"").decode(errors="replace")
    value = leaf.get_value()
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
