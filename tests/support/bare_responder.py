"""A camera's answers without a wire: operations in, replies out, over a bare body with a picture on its card."""

import struct
from collections.abc import Callable
from pathlib import Path

from mock_camera.body.camera_body import BodyOptions, CameraBody
from mock_camera.body.capture import Capture
from mock_camera.body.viewfinder import Viewfinder
from mock_camera.played.bodies import body_of
from mock_camera.played.extension import Extension
from mock_camera.ptp.codes import Operation
from mock_camera.wire.host import Reply
from mock_camera.wire.responder import ANSWERS, Responder
from tests.support.bare_body import bare_body
from tests.support.tiny_table import ENCODERS

BODIES = Path(__file__).parent.parent / "bodies"


class BareResponder:
    """Asked operations, it answers them. `played`: the name of a summary in `tests/bodies`, "" for the own body."""

    def __init__(self, folder: Path, options: BodyOptions | None = None, played: str = "", makes: str = "") -> None:
        self.body: CameraBody = bare_body(folder, options or BodyOptions(pixels=(192, 128)))
        self.capture, self.viewfinder = Capture(self.body, ENCODERS), Viewfinder(self.body)
        self.picture = self.body.card.save(1, ".JPG", b"\xff\xd8 picture \xff\xd9", thumb=b"small")
        self.number = 0
        self.extension: Extension | None = None
        answers = None
        if played:
            self.extension = body_of(BODIES / f"{played}.txt", makes)(self.body)
            self.extension.join(self.body, self.capture)
            answers = self.extension.all_answers(ANSWERS)
        self.responder = Responder(self.body, self.capture, self.viewfinder, answers)

    def ask(self, operation: int, *parameters: int, data: bytes = b"") -> Reply:
        self.number += 1
        return self.responder.answer(operation, self.number, parameters, data)

    def release(self, ask: Callable[[], Reply] | None = None) -> Reply:
        """Let the shutter go, by the standard's operation or another, and wait until the picture is written."""
        reply = ask() if ask else self.ask(Operation.InitiateCapture)
        if self.capture._exposure is not None:
            self.capture._exposure.join()
        assert self.capture.wait_until_written()
        return reply

    def close(self) -> None:
        self.capture.close()
        self.viewfinder.close()


def handles(reply: Reply) -> tuple[int, ...]:
    """The handles in an answer's array."""
    assert reply.data is not None
    count = struct.unpack_from("<I", reply.data)[0]
    return struct.unpack_from(f"<{count}I", reply.data, 4)
