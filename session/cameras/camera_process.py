"""The process that owns the camera: `python -m session.cameras.camera_process`, started by `RemoteCamera`.

Requests come in and messages go out by the pipe to the parent, one request after the other; between them the
camera's own events are looked at and live frames sent. A call that hangs ends the process by its timer's signal;
a dead parent ends it by the end of the pipe, once the frame under way is on the disk.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from multiprocessing.connection import Connection
from pathlib import Path
from time import monotonic

from session.cameras.camera_address import CameraAddress, Claim, parse_address
from session.cameras.camera_limits import CARD, AskedNow, Start
from session.cameras.card_list import CardList
from session.cameras.known_objects import KnownObjects
from session.cameras.libgphoto import IN_MEMORY, UNKNOWN_CODE, Gphoto, obey_time_limits, usb_cameras
from session.cameras.live_and_drive import LIVE_WIDGETS, Live
from session.cameras.release_hints import (
    HINT_WIDGETS,
    LIVE_HINT_WIDGETS,
    LOOK,
    LOOK_FOR_LIVE_VIEW,
    SWITCHES_ITSELF_OFF,
    hints,
    sleeps_after,
)
from session.cameras.result_codes import CameraError
from session.cameras.saving import Disk, SystemDisk
from session.cameras.settings_panel import SettingsPanel
from session.cameras.taking import Fetching, Say, Taking
from session.cameras.usb_access import why_not_opened
from session.cameras.watch import Watch
from session.cameras.widgets import BY_HAND_TIMES, SETTING_WIDGETS, is_timed_by_hand
from session.frame import camera_messages as say
from session.frame.camera_messages import Fault, Fired
from session.system.process import parent_connection

LOOK_EVERY_S = 0.02
SERIAL, MODEL = "serialnumber", "cameramodel"
WIDGETS_READ = frozenset({SERIAL, MODEL, SWITCHES_ITSELF_OFF, *SETTING_WIDGETS, *LIVE_WIDGETS})
SMALLEST_FRAME_BYTES = 1 << 20
"""A card with less room than this is called full when the camera refuses without a reason; a guess."""


NO_CARD = "There is no card in the camera: its pictures are in its memory only until they are fetched."
SET_MEMORY = "Put one in, or send its pictures to its memory."
MEMORY = "memory"
IN_MEMORY_ONLY = (
    "This camera keeps pictures in its memory only until they are fetched: without the cable they are lost."
)


class Session:
    """A connected camera with its panel, its known card objects and its live view. Making it may raise CameraError.

    without   names of widgets that ended the process before, or `CARD`: they are not read
    """

    def __init__(self, camera: Gphoto, send: Say, without: frozenset[str]) -> None:
        self.names = names = camera.widget_names() - without
        widgets = camera.widgets(sorted(names & WIDGETS_READ))
        self.serial = widgets[SERIAL].text.strip() if SERIAL in widgets else ""
        self.model = widgets[MODEL].text.strip() if MODEL in widgets else ""
        self.panel = SettingsPanel(camera, widgets)
        self.live = Live(camera, widgets, send)
        self.sleeps_after = sleeps_after(widgets)
        self.cards = CardList(camera)
        self.may_read_card = CARD not in without
        if self.may_read_card:
            self.cards.read_at_once()
        self.known = KnownObjects(self.cards.objects)
        self.watch = Watch(camera, self.panel, self.known, self.cards, send)
        self.asked: say.ListCard | None = None
        """To be read when nobody wants anything."""

    @property
    def card(self) -> tuple[say.CardObject, ...] | None:
        """The files on the card, None when the card's newest folder wasn't read."""
        return self.cards.objects if self.cards.is_read and self.may_read_card else None

    def description(self, address: CameraAddress, namesakes: Sequence[str], known_as: str) -> say.CameraDescription:
        """Its identity and abilities; the arguments as of `identity`."""
        return say.CameraDescription(
            address=address.text,
            model=self.model or "camera",
            serial=identity(self.serial, self.model, address, namesakes, known_as),
            live_view=self.live.offered,
            focus_drive=self.live.drives_focus,
        )


def identity(serial: str, model: str, address: CameraAddress, namesakes: Sequence[str] = (), known_as: str = "") -> str:
    """The name by which the camera is known again: its serial number, unless all digits are noughts.

    Without a number a camera on USB is known by its model, since bus and port change when it is plugged in anew, and a
    camera on a network by its address. Beside another of its model it is known by model and address.

    namesakes  addresses of others of its model on USB
    known_as   the name that it had at this very address before in this run; it is kept
    """
    if serial.strip("0"):
        return serial
    if address.on_network or not model:
        return address.text
    beside = _beside_namesakes(model, address)
    if known_as in (model, beside):
        return known_as
    return beside if namesakes else model


def _beside_namesakes(model: str, address: CameraAddress) -> str:
    return f"{model} {address.text}"


def namesakes_of(address: CameraAddress, listed: Sequence[tuple[str, str]]) -> tuple[str, ...]:
    """Addresses of the cameras that libgphoto2 calls by the same model as the one at the address.

    listed  (model, address) of each camera on USB
    """
    models = {model for model, other in listed if _address_of(other) == address}
    return tuple(other for model, other in listed if model in models and _address_of(other) != address)


class CameraProcess:
    """Serves one camera to the parent."""

    def __init__(self, pipe: Connection, start: Start, disk: Disk) -> None:
        self._pipe = pipe
        self._claims = Path(start.claims)
        self._without = start.without
        self._camera = Gphoto(start.limits, AskedNow(start.asked_file).note, self._say_folder_read)
        self._taking: Taking | None = None
        self._request: say.Request | None = None
        self._reading: tuple[int, int] | None = None
        self._wanted_at_s = monotonic()
        self._disk = disk
        self._claim: Claim | None = None
        self._session: Session | None = None

    def serve(self) -> None:
        """Until the parent hangs up."""
        while True:
            self._end_reading()
            if self._pipe.poll(self._wait_s()):
                try:
                    request = self._pipe.recv()
                except (EOFError, OSError):
                    break
                self._request = request
                try:
                    self._handler(request)()
                except CameraError as error:
                    self._refuse(request, error)
                self._request = None
                self._wanted_at_s = monotonic()
            elif self._session is not None:
                self._idle(self._session)
        self._hang_up()

    def _wait_s(self) -> float | None:
        if self._session is None:
            return None
        return 0.0 if self._session.live.wants_frame else LOOK_EVERY_S

    def _send(self, message: object) -> None:
        try:
            self._pipe.send(message)
        except OSError:  # the parent is dead: what is under way is finished, then `serve` ends
            return

    def _refuse(self, request: say.Request, error: CameraError) -> None:
        self._send(
            say.Failed(
                request=type(request).__name__,
                fault=error.fault,
                text=error.text,
                frame_id=getattr(request, "frame_id", ""),
                fired=error.fired,
                missing=error.missing,
                connected=error.connected and self._session is not None,
            )
        )
        self._part(error)

    def _part(self, error: CameraError) -> None:
        """Let the camera go when it is lost."""
        if not error.connected and self._session is not None:
            told = f"{error.text} {self._session.sleeps_after}".strip()
            self._hang_up()
            self._send(say.CameraGone(error.fault, told))

    def _idle(self, session: Session) -> None:
        try:
            session.watch.look()
            session.watch.reread(lambda: self._pipe.poll(0))
            idle_s = monotonic() - self._wanted_at_s
            if session.asked and not session.live.is_on and idle_s > self._camera.limits.idle_s:
                self._read_on(session, session.asked)
        except CameraError as error:
            self._part(error)  # a camera that is only grumpy is looked at again soon
        if self._session is not None and session.live.wants_frame:
            try:
                session.live.send_frame()
            except CameraError as error:
                text = self._with_live_reason(error, session)
                self._send(say.Failed(say.LiveView.__name__, error.fault, text, connected=error.connected))
                self._part(error)

    def _with_live_reason(self, error: CameraError, session: Session) -> str:
        """The error's sentence with what the body says of itself, or with what to look at."""
        if not error.connected or error.fault not in (Fault.BROKEN, Fault.REFUSED):
            return error.text
        try:
            told = hints(self._camera.widgets(sorted(session.names & frozenset(LIVE_HINT_WIDGETS))))
        except CameraError:
            return error.text
        return f"{error.text} {told or LOOK_FOR_LIVE_VIEW}"

    def _handler(self, request: say.Request) -> Callable[[], None]:  # noqa: PLR0911 — one for each kind
        """The function that answers the request.

        Raises CameraError when no camera is connected; the function may, too.
        """
        if isinstance(request, say.Connect):
            return partial(self._connect, request)
        session = self._session
        if session is None:
            raise CameraError(Fault.LOST, say.NO_CAMERA, connected=False)
        match request:
            case say.ReadSettings():
                return partial(self._say_settings, session)
            case say.ApplySettings(changes):
                return partial(self._apply, session, changes)
            case say.Release():
                return partial(self._release, session, request)
            case say.Fetch():
                return partial(self._fetch, session, request)
            case say.ListCard():
                return partial(self._ask_for_card, session, request)
            case say.LiveView(on):
                return partial(session.live.switch, on)
            case say.NextLiveFrame():
                return session.live.note_used
            case say.DriveFocus(steps):
                return partial(self._drive, session, steps)

    def _connect(self, request: say.Connect) -> None:
        self._hang_up()
        address = self._find(request)
        try:
            namesakes = () if address.on_network else namesakes_of(address, usb_cameras())
            self._open(address)
            session = Session(self._camera, self._send, self._without)
            notes = self._notes()
            free_bytes = self._camera.free_bytes()
        except CameraError as error:
            self._hang_up()
            sys.stderr.write(f"Nothing was connected at {address.text}; lines before this are libgphoto2's own.\n")
            why = why_not_opened(address)
            if why:
                raise error.but(fault=Fault.IN_USE, text=why) from error
            if error.code and error.fault not in (Fault.IN_USE, Fault.BUSY):
                # who is hung up on by a camera on the network gets this code; a camera has one computer at a time
                taken = ", or another computer has it" if address.on_network and error.code == UNKNOWN_CODE else ""
                text = f"No camera answers at {address.text}{taken}."
                raise error.but(fault=Fault.NOT_FOUND, text=text) from error
            raise
        self._session = session
        known_as = request.serial if request.address and _address_of(request.address) == address else ""
        description = session.description(address, namesakes, known_as)
        if namesakes and description.serial == _beside_namesakes(description.model, address):
            notes.append(_told_by_address(description, namesakes))
        self._send(say.Connected(description, session.panel.reading, session.card, free_bytes))
        for text in notes:
            self._send(say.CameraNote(text))

    def _notes(self) -> list[str]:
        """The sentences that the photographer should know of this camera before the first release."""
        if self._camera.target != MEMORY:
            return []  # without a card the rule about it speaks
        return [IN_MEMORY_ONLY if self._camera.has_card() else NO_CARD]

    def _open(self, address: CameraAddress) -> None:
        self._claim = Claim(address, self._claims)
        self._camera.open(address)

    def _find(self, request: say.Connect) -> CameraAddress:
        wanted = _address_of(request.address) if request.address else None
        if wanted is not None and (wanted.on_network or not request.serial):
            return wanted
        found = [_address_of(address) for _, address in usb_cameras()]
        if wanted in found or (wanted and not found):
            return wanted
        if wanted:
            return _the_only([other for other in found if self._has_serial(other, request.serial)] or [wanted])
        if not found:
            raise CameraError(Fault.NOT_FOUND, "No camera was found on USB; is it on, and the cable in?")
        return _the_only(found)

    def _has_serial(self, address: CameraAddress, serial: str) -> bool:
        try:
            self._open(address)
            told = self._camera.widgets((SERIAL, MODEL))
            own, model = (told[name].text.strip() if name in told else "" for name in (SERIAL, MODEL))
            return identity(own, model, address) == serial
        except CameraError:
            return False
        finally:
            self._hang_up()

    def _hang_up(self) -> None:
        self._camera.close()
        self._session = None
        if self._claim is not None:
            self._claim.release()
            self._claim = None

    def _apply(self, session: Session, changes: Mapping[str, say.Value]) -> None:
        refused = session.panel.apply(changes)
        if "capture_target" in changes and not refused:
            self._camera.look_at_target()
            for text in self._notes():
                self._send(say.CameraNote(text))
        self._say_settings(session, refused)

    def _say_settings(self, session: Session, refused: dict[str, str] | None = None) -> None:
        session.panel.read()
        self._send(say.SettingsRead(session.panel.reading, refused or {}))

    def _ask_for_card(self, session: Session, request: say.ListCard) -> None:
        if request.when_idle:
            session.asked = request
        else:
            self._list_card(session, request)

    def _read_on(self, session: Session, request: say.ListCard) -> None:
        """Read a little of the card while nobody wants anything, and the rest at once where no name leads further."""
        if not (session.may_read_card and session.cards.approach(request.known, self._say_files_read)):
            self._list_card(session, request)

    def _say_files_read(self, done: int, of: int) -> None:
        self._send(say.ReadingCard(done, of, "file"))

    def _say_folder_begun(self, done: int, of: int) -> None:
        self._reading = done, of
        self._send(say.ReadingCard(done, of))

    def _say_folder_read(self, done: int, of: int, left_s: float) -> None:
        if not isinstance(self._request, say.Release | say.Fetch):
            self._reading = done, of
            if not left_s:
                return  # another folder may follow: no request is looked at before
        frame_id = ""
        if self._taking is not None and self._camera.listens:  # for a file that was announced since the release
            self._taking.believe()
            frame_id = self._taking.frame_id
        self._send(say.ReadingCard(done, of, "file", left_s, frame_id))

    def _end_reading(self) -> None:
        """Say once that a folder's reading is over, since the next request is looked at now."""
        if self._reading is not None:
            done, of = self._reading
            self._reading = None
            self._send(say.ReadingCard(done, of, "file", 0.0))

    def _list_card(self, session: Session, request: say.ListCard) -> None:
        if not session.may_read_card:
            raise CameraError(Fault.NOT_OFFERED, "This camera's card can't be read.")
        session.asked = None
        objects = session.cards.read(request.since, self._say_folder_begun)
        for card in objects:
            session.known.take_listed(card)
        free_bytes = self._camera.free_bytes()
        self._end_reading()
        self._send(say.CardListed(objects, free_bytes))

    def _drive(self, session: Session, steps: int) -> None:
        session.live.drive(steps)
        self._send(say.FocusDriven(steps))

    def _release(self, session: Session, request: say.Release) -> None:
        self._refuse_bulb(session)
        session.watch.look_until_quiet()  # what has appeared until now is not this frame's
        exposure_s = session.panel.reading.value("exposure_s")
        files = Fetching(self._camera, self._disk, self._send, request)
        taking = Taking(self._camera, session.known, session.cards, files, self._send, request)
        self._taking = taking
        try:
            taking.run(request.expected_files, float(exposure_s or 0))
        except CameraError as error:
            self._hand_on(taking, request)
            raise self._with_reason(error, session) from error
        finally:
            self._taking = None
        self._hand_on(taking, request)
        session.panel.card_has_files |= any(file.card.folder != IN_MEMORY for file in files.saved)
        self._see_target(files)
        self._send(say.FrameComplete(request.frame_id, self._camera.free_bytes(), tuple(files.copies)))

    def _see_target(self, files: Fetching) -> None:
        """Say once that a body keeps its pictures in memory though they were to go to the card."""
        camera = self._camera
        in_memory = any(file.card.folder == IN_MEMORY for file in files.saved)
        if in_memory and not camera.keeps_both and camera.target != MEMORY:
            camera.target = MEMORY
            self._send(say.CameraNote(IN_MEMORY_ONLY))

    def _refuse_bulb(self, session: Session) -> None:
        """Raises CameraError when a finger ends the exposure: nobody here would."""
        exposure = session.panel.reading.settings.get("exposure_s")
        mode = session.panel.reading.value("exposure_mode")
        if (exposure is not None and is_timed_by_hand(exposure.shown)) or mode in BY_HAND_TIMES:
            shown = exposure.shown if exposure is not None else str(mode)
            text = f"The exposure time is set to {shown}, which a finger ends: not from here. Set a time on the camera."
            raise CameraError(Fault.REFUSED, text)

    def _hand_on(self, taking: Taking, request: say.Release) -> None:
        if taking.strangers:
            self._send(say.BodyRelease(tuple(taking.strangers), request.frame_id))

    def _with_reason(self, error: CameraError, session: Session) -> CameraError:
        """The error with what the camera says of itself: one that only refuses may be full, empty, or set to wait."""
        if error.connected and error.fault in (Fault.BROKEN, Fault.REFUSED, Fault.NOT_FOUND):
            if not self._camera.has_card() and self._camera.target != MEMORY:
                return error.but(text=f"{error.text} There is no card in the camera. {SET_MEMORY}")
            told = hints(self._camera.widgets(sorted(session.names & frozenset(HINT_WIDGETS))))
            if told:
                return error.but(text=f"{error.text} {told}")
        if error.fault is not Fault.BROKEN or error.fired is not Fired.NO or not error.connected:
            return error
        free_bytes = self._camera.free_bytes()
        session.panel.read()
        battery = session.panel.reading.settings.get("battery_percent")
        facts = [f"battery {battery.shown}"] if battery else []
        if free_bytes is not None:
            if free_bytes < SMALLEST_FRAME_BYTES:
                return error.but(fault=Fault.CARD_FULL, text="The card is full.")
            facts.append(f"{free_bytes / 1e9:.1f} GB free on its card")
        known = f" ({', '.join(facts)})" if facts else ""
        return error.but(fault=Fault.REFUSED, text=f"The camera refused to release and gave no reason{known}. {LOOK}")

    def _fetch(self, session: Session, request: say.Fetch) -> None:
        files = Fetching(self._camera, self._disk, self._send, request)
        files.prepare()
        files.add(*request.objects)
        for card in request.objects:
            session.known.take_listed(card)
        try:
            while files.next(raws_too=True):
                continue
            files.finish()
        except CameraError as error:
            raise error.but(missing=files.files_left()) from error
        self._send(say.FrameComplete(request.frame_id, self._camera.free_bytes(), tuple(files.copies)))


def _the_only(found: Sequence[CameraAddress]) -> CameraAddress:
    """The one address; raises CameraError where there are several to choose from."""
    if len(found) > 1:
        addresses = ", ".join(sorted(address.text for address in found))
        raise CameraError(Fault.NOT_FOUND, f"{len(found)} cameras were found: {addresses}. Choose one.")
    return found[0]


def _told_by_address(camera: say.CameraDescription, namesakes: Sequence[str]) -> str:
    return (
        f"{len(namesakes) + 1} cameras of the model {camera.model} are on USB, and this one tells no serial number: "
        f"it is known by {camera.address} until it is plugged in anew, and finds no frames that were left before."
    )


def _address_of(text: str) -> CameraAddress:
    try:
        return parse_address(text)
    except ValueError as error:
        raise CameraError(Fault.NOT_FOUND, str(error)) from error


def main() -> int:
    """Serve the parent until it hangs up; 2 when there is none."""
    try:
        pipe = parent_connection()
    except RuntimeError as error:
        sys.stderr.write(f"{error}\n")
        return 2
    obey_time_limits()
    try:
        start = pipe.recv()
    except (EOFError, OSError):
        return 0
    CameraProcess(pipe, start, SystemDisk()).serve()
    return 0


if __name__ == "__main__":
    sys.exit(main())
