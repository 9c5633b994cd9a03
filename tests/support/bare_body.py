"""A camera body with nothing around it: a tiny table, a card in a folder, a clock that stands still, an open ear."""

from datetime import UTC, datetime
from pathlib import Path

from mock_camera.body.cable import NO_TRANSACTION
from mock_camera.body.camera_body import BodyOptions, CameraBody
from mock_camera.body.clock import SteppedClock
from mock_camera.body.faults import FaultScript
from mock_camera.body.memory_card import Card
from mock_camera.ptp.codes import EventCode
from tests.support.tiny_table import TinyTable

START = datetime(2026, 5, 4, 11, 0, tzinfo=UTC)


class Ears:
    """A cable that keeps what it hears: (code, parameters …, transaction)."""

    def __init__(self) -> None:
        self.events: list[tuple[int, ...]] = []
        self.cuts: list[float] = []

    def send_event(self, code: EventCode, *parameters: int, transaction_id: int = NO_TRANSACTION) -> None:
        self.events.append((code, *parameters, transaction_id))

    def cut(self, reconnect_after_s: float) -> None:
        """Keep for how many seconds the next host would be refused."""
        self.cuts.append(reconnect_after_s)

    def lose_events(self) -> None:
        self.cuts.append(-1.0)


def bare_body(folder: Path, options: BodyOptions | None = None, capacity_mib: int = 64) -> CameraBody:
    """The body; `capacity_mib`: of its card, MiB."""
    body = CameraBody(
        TinyTable(), Card(folder, capacity_mib), SteppedClock(START, 1.0), FaultScript(), options or BodyOptions()
    )
    body.cable = Ears()
    return body
