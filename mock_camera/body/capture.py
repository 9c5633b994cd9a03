"""A release, from the finger or the host, to the files on the card.

One exposure at a time: from the release until the picture is formed the shutter counts as open and
everything that would disturb it is answered DeviceBusy. The files are then encoded and written by a
second thread while the next exposure may already run, as many deep as the buffer. The cable
hears ObjectAdded for each file when it is whole on the card, and CaptureComplete after the last.
"""

import queue
import threading
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from mock_camera.body.cable import NO_TRANSACTION
from mock_camera.body.camera_body import PERCENT_PER_RELEASE, CameraBody
from mock_camera.body.memory_card import CardFullError, StoredObject, base_name
from mock_camera.body.picture_source import Encoders
from mock_camera.body.thumbs import THUMB_SIZE_PX, thumb_jpeg
from mock_camera.ptp.codes import SECOND_STORAGE_ID, STORAGE_ID, EventCode, Response
from mock_camera.table.imaging import ReleasedPicture
from mock_camera.table.world import Shot

SUFFIXES = {"jpeg": ".JPG", "raw": ".TIF"}
ESTIMATED_BYTES_PER_PX = {"jpeg": 1.0, "raw": 3.5}
"""What the body keeps free for a file before it opens the shutter; above what either encoder writes."""


def with_comment(jpeg: bytes) -> bytes:
    """A JPEG with a comment segment added after its start marker (ITU-T T.81, B.2.4.5): other bytes, longer."""
    comment = b"written to the second card"
    return jpeg[:2] + b"\xff\xfe" + (len(comment) + 2).to_bytes(2, "big") + comment + jpeg[2:]


@dataclass(frozen=True)
class Exposed:
    """A picture in the buffer, with the files it shall become ("raw", "jpeg") in order."""

    shot: Shot
    picture: ReleasedPicture
    kinds: tuple[str, ...]
    transaction_id: int
    release: int
    store: int = STORAGE_ID


class Capture:
    """Exposes and writes. Call `close` at the end; frames in the buffer are written first."""

    def __init__(self, body: CameraBody, encoders: Encoders) -> None:
        self._body, self._encoders = body, encoders
        self._change = threading.Condition()
        self._open = False
        self._buffered = self._later_still = 0
        self._buffer: queue.Queue[Exposed | None] = queue.Queue()
        self._exposure: threading.Thread | None = None
        self._writer = threading.Thread(target=self._write_all, name="card", daemon=True)
        self._writer.start()
        self.releases = 0
        self.truths: dict[str, dict[str, object]] = {}
        self.made_by: dict[str, int] = {}
        body.shutter_open = self.is_open
        self.kinds_of_release: Callable[[], tuple[str, ...]] = self._kinds_of_format
        self.store_of_release: Callable[[], int] = lambda: STORAGE_ID

    def is_open(self) -> bool:
        return self._open

    def pending(self) -> int:
        """Frames released whose files aren't all on the card yet, and files still to be written or announced late."""
        return self._buffered + self._later_still

    def release(self, transaction_id: int = NO_TRANSACTION) -> Response:
        """Let go, or say why not. The exposure runs on after this returns; `transaction_id` of the host's wish."""
        refused = self._refusal()
        if refused:
            return refused
        with self._change:
            if self._open or self._buffered >= self._body.options.buffer_frames:
                return Response.DeviceBusy
            self._open = True
            self._buffered += 1
            self.releases += 1
            release = self.releases
        self._exposure = threading.Thread(
            target=self._expose, args=(transaction_id, release), name="shutter", daemon=True
        )
        self._exposure.start()
        return Response.OK

    def _refusal(self) -> Response | None:
        body, faults = self._body, self._body.faults
        low = faults.take("battery_low")
        if low:
            body.set_battery(low.number("percent"))
        if low or body.battery_critical():
            return Response.GeneralError
        if self.room_frames() < 1 or faults.take("card_full", when="release"):
            return Response.StoreFull
        return None

    def kinds(self) -> tuple[str, ...]:
        """The files a release makes, in the order they are announced."""
        kinds = self.kinds_of_release()
        return kinds[::-1] if len(kinds) > 1 and self._body.options.jpeg_first else kinds

    def _kinds_of_format(self) -> tuple[str, ...]:
        return tuple(str(self._body.setting("file_format")).split("+"))

    def room_frames(self) -> int:
        """Releases that still fit on the card, by the body's own estimate."""
        width, height = self._body.options.pixels
        frame_bytes = width * height * sum(ESTIMATED_BYTES_PER_PX[kind] for kind in self.kinds())
        return int(self._body.card.free_bytes() // frame_bytes)

    def _expose(self, transaction_id: int, release: int) -> None:
        body, clock = self._body, self._body.clock
        try:
            clock.wait(body.options.shutter_lag_s + float(body.setting("capture_delay_s")))
            clock.note_release()
            shot, opened_s = body.shot(body.card.take_number()), clock.now_s()
            with body.table_lock:
                picture = body.source.expose(shot, opened_s)
            clock.wait(shot.exposure_s - (clock.now_s() - opened_s))
            body.use_battery(PERCENT_PER_RELEASE)
            self.truths[base_name(shot.number)] = picture.truth
            store = self.store_of_release()
            self._buffer.put(Exposed(shot, picture, self.kinds(), transaction_id, release, store))
        finally:
            self._open = False

    def _write_all(self) -> None:
        while exposed := self._buffer.get():
            self._write(exposed)

    def _write(self, exposed: Exposed) -> None:
        body, transaction_id = self._body, exposed.transaction_id
        if body.faults.take("event_channel_lost"):
            body.cable.lose_events()
        cut = body.faults.take("cable_cut", when="exposure")
        if cut:
            body.cable.cut(cut.number("reconnect_after_s"))
        full = bool(body.faults.take("card_full", when="writing"))
        if not full and not body.faults.take("no_file"):
            full = not self._write_files(exposed)
        if full:
            body.cable.send_event(EventCode.StoreFull, STORAGE_ID, transaction_id=transaction_id)
        with self._change:
            self._buffered -= 1
            self._change.notify_all()
        body.cable.send_event(EventCode.CaptureComplete, transaction_id, transaction_id=transaction_id)

    def _write_files(self, exposed: Exposed) -> bool:
        """Write and announce, or have that done later; False when the card is full."""
        body = self._body
        busy, late = body.faults.take("busy_writing"), body.faults.take("late_file")
        late_s = late.number("seconds") if late else 0.0
        if busy:
            body.busy_writing = True
            body.clock.wait(busy.number("seconds"))
            body.busy_writing = False
        if late and not late.number("on_card"):
            self._later(late_s, lambda: self._write_and_tell(exposed, 0.0))
            return True
        return self._write_and_tell(exposed, late_s)

    def _write_and_tell(self, exposed: Exposed, told_after_s: float) -> bool:
        """Write a release's files and announce each, at once or after `told_after_s`, s; False for a full card."""
        body = self._body
        renamed, left_out = body.faults.take("renamed"), body.faults.take("not_announced")
        raw_late = body.faults.take("raw_late")
        twice, second = body.faults.take("announced_twice"), body.faults.take("second_card")
        for place, kind in enumerate(sorted(exposed.kinds) if raw_late else exposed.kinds):
            if raw_late and kind == "raw":
                body.clock.wait(raw_late.number("seconds"))
            try:
                number = body.card.take_number() if renamed and place else exposed.shot.number
                file = self._write_file(exposed, kind, number)
            except CardFullError:
                return False
            if second and (second.text("holds") == "copy" or not place):
                other = self._write_to_second(exposed, kind, number, file, second.text("holds"))
                also = partial(
                    body.cable.send_event, EventCode.ObjectAdded, other, transaction_id=exposed.transaction_id
                )
                self._later(told_after_s + second.number("after_s"), also)
            if left_out and left_out.text("kind") in (kind, "all"):
                continue
            tell = partial(
                body.cable.send_event, EventCode.ObjectAdded, file.handle, transaction_id=exposed.transaction_id
            )
            self._later(told_after_s, tell)
            if twice:
                self._later(told_after_s + twice.number("after_s"), tell)
        return True

    def _later(self, seconds_s: float, do: Callable[[], object]) -> None:
        """Call `do` after `seconds_s` seconds of camera time, beside the next exposures; at once for 0 s."""
        if not seconds_s:
            do()
            return

        def wait_and_do() -> None:
            self._body.clock.wait(seconds_s)
            do()
            with self._change:
                self._later_still -= 1

        with self._change:
            self._later_still += 1
        threading.Thread(target=wait_and_do, name="later", daemon=True).start()

    def _write_to_second(self, exposed: Exposed, kind: str, number: int, file: StoredObject, holds: str) -> int:
        """Put the file, or another JPEG of its name, on the second card; the handle there."""
        data, suffix = file.path.read_bytes(), SUFFIXES[kind]
        if holds != "copy":
            data, suffix = with_comment(self._encoders.jpeg(exposed.picture, exposed.shot)), SUFFIXES["jpeg"]
        self.made_by[f"{base_name(number)}{suffix}"] = exposed.release
        taken_at = exposed.shot.taken_at
        return self._body.card.save(number, suffix, data, taken_at=taken_at, store=SECOND_STORAGE_ID).handle

    def _write_file(self, exposed: Exposed, kind: str, number: int) -> StoredObject:
        """Encode one file and put it on the card."""
        body, picture = self._body, exposed.picture
        data = (self._encoders.raw if kind == "raw" else self._encoders.jpeg)(picture, exposed.shot)
        body.clock.wait(body.options.buffer_s)
        if body.faults.take("empty_file", where="card"):
            data = b""
        broken = body.faults.take("truncated_file", where="card")
        if broken:
            data = data[: round(len(data) * broken.number("share"))]
        height_px, width_px = picture.rgb.shape[:2]
        self.made_by[f"{base_name(number)}{SUFFIXES[kind]}"] = exposed.release
        return body.card.save(
            number,
            SUFFIXES[kind],
            data,
            thumb=thumb_jpeg(picture),
            thumb_size_px=THUMB_SIZE_PX,
            image_size_px=(width_px, height_px),
            taken_at=exposed.shot.taken_at,
            store=exposed.store,
        )

    def wait_until_written(self, limit_s: float = 30.0) -> bool:
        """Wait until every frame released is on the card; False when that takes longer than `limit_s`."""
        with self._change:
            return self._change.wait_for(lambda: not self._buffered, limit_s)

    def close(self) -> None:
        if self._exposure:
            self._exposure.join()
        self._buffer.put(None)
        self._writer.join()
