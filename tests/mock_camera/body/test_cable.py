"""The cable as the body knows it: with nobody at the other end everything is silently lost."""

from mock_camera.body.cable import NO_TRANSACTION, NoCable
from mock_camera.ptp.codes import EventCode


def test_with_nobody_connected_nothing_comes_of_it() -> None:
    cable = NoCable()
    assert cable.send_event(EventCode.ObjectAdded, 1, 2, transaction_id=7) is None
    assert cable.cut(5.0) is None and cable.lose_events() is None


def test_an_event_that_no_operation_caused_names_none() -> None:
    """ISO 15740: all bits of the transaction's number set."""
    assert NO_TRANSACTION == 2**32 - 1
