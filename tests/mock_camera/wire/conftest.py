"""A camera's answers without a wire, one a test."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from mock_camera.ptp.codes import Operation
from tests.support.bare_responder import BareResponder


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[BareResponder]:
    desk = BareResponder(tmp_path)
    desk.ask(Operation.OpenSession, 1)
    yield desk
    desk.close()
