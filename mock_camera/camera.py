"""A whole camera put together: body, card, shutter, cable and hands. Construct, use, close."""

from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import Self

from mock_camera.body.camera_body import BodyOptions, CameraBody
from mock_camera.body.capture import Capture
from mock_camera.body.clock import CameraClock
from mock_camera.body.faults import FaultScript
from mock_camera.body.memory_card import Card
from mock_camera.body.picture_source import Encoders, PictureSource
from mock_camera.body.viewfinder import Viewfinder
from mock_camera.played.extension import Extension
from mock_camera.wire.commands import Hands
from mock_camera.wire.control import ControlServer
from mock_camera.wire.responder import ANSWERS, Responder
from mock_camera.wire.wire_server import Wire

PlayedBody = Callable[[CameraBody], Extension]


class SimulatedCamera:
    """Serves from construction until `close`: PTP/IP on `wire.port`, hands on `control.port`."""

    def __init__(
        self,
        source: PictureSource,
        encoders: Encoders,
        clock: CameraClock,
        card_folder: Path,
        *,
        options: BodyOptions,
        faults: FaultScript,
        card_mib: int = 4096,
        port: int = 0,
        control_port: int = 0,
        bytes_per_s: float = 0.0,
        played: PlayedBody | None = None,
    ) -> None:
        """played   makes the body's extension out of its summary; None: this camera's own body"""
        with ExitStack() as stack:
            self._extension: Extension | None = None
            self.body = CameraBody(source, Card(card_folder, card_mib), clock, faults, options)
            self.capture = Capture(self.body, encoders)
            stack.callback(self.capture.close)
            self.viewfinder = Viewfinder(self.body)
            stack.callback(self.viewfinder.close)
            self.wire = Wire(self.body, self._new_responder, port=port, bytes_per_s=bytes_per_s)
            stack.callback(self.wire.close)
            put = None
            if played is not None:
                self._extension = played(self.body)
                self._extension.join(self.body, self.capture)
                put = self._extension.properties.put
            hands = Hands(self.body, self.capture, self.viewfinder, self.wire, put)
            self.control = ControlServer(hands, port=control_port)
            stack.callback(self.control.close)
            self._stack = stack.pop_all()

    def _new_responder(self) -> Responder:
        extension = self._extension
        answers = extension.all_answers(ANSWERS) if extension else None
        return Responder(self.body, self.capture, self.viewfinder, answers)

    def close(self) -> None:
        """Hang up; frames still in the buffer are written to the card first."""
        self._stack.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
