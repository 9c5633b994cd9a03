"""The other end of the cable, as the body knows it."""

from typing import Protocol

from mock_camera.ptp.codes import EventCode

NO_TRANSACTION = 0xFFFFFFFF
"""Transaction of an event that no operation caused (ISO 15740)."""


class Cable(Protocol):
    """Whoever is connected. With nobody there everything is silently lost."""

    def send_event(self, code: EventCode, *parameters: int, transaction_id: int = NO_TRANSACTION) -> None:
        """Tell the host of an event; `transaction_id`: the operation that caused the event."""

    def cut(self, reconnect_after_s: float) -> None:
        """Drop the host, and refuse the next host for `reconnect_after_s` seconds."""

    def lose_events(self) -> None:
        """Drop the host's event connection only."""


class NoCable:
    """Nobody is connected."""

    def send_event(self, code: EventCode, *parameters: int, transaction_id: int = NO_TRANSACTION) -> None:
        return

    def cut(self, reconnect_after_s: float) -> None:
        """Do nothing: there is no cable to cut for `reconnect_after_s` seconds."""
        return

    def lose_events(self) -> None:
        return
