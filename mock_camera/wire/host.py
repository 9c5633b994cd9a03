"""The camera's knowledge of the host at the other end, and the form of the camera's answers."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from mock_camera.body.camera_body import CameraBody
from mock_camera.body.capture import Capture
from mock_camera.body.memory_card import StoredObject
from mock_camera.body.viewfinder import Viewfinder
from mock_camera.ptp.codes import Response

Parameters = tuple[int, ...]


@dataclass(frozen=True)
class Reply:
    """An answer to the host. `data` None: no data phase."""

    code: Response = Response.OK
    parameters: Parameters = ()
    data: bytes | None = None


@dataclass
class Host:
    """A connected host, with its session, open or not, and its running transaction."""

    body: CameraBody
    capture: Capture
    viewfinder: Viewfinder
    operations: Sequence[int]
    session_open: bool = False
    transaction_id: int = 0
    _cut_files: dict[int, int] = field(default_factory=dict)

    def read(self, item: StoredObject, offset: int, count: int) -> bytes:
        """Part of a file as the wire will carry it: whole, unless a fault shortens this transfer."""
        if offset == 0:
            self._cut_files.pop(item.handle, None)
            short = self.body.faults.take("truncated_file", where="transfer")
            if short:
                self._cut_files[item.handle] = round(item.info.size_bytes * short.number("share"))
            if self.body.faults.take("empty_file", where="transfer"):
                self._cut_files[item.handle] = 0
        end = min(offset + count, self._cut_files.get(item.handle, item.info.size_bytes))
        with item.path.open("rb") as file:
            file.seek(offset)
            return file.read(max(0, end - offset))
