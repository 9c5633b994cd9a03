"""The search for cameras on USB, by the virtual camera inside the gphoto2 wheel."""

from __future__ import annotations

from pathlib import Path

import pytest

from session.cameras.usb_search import find_cameras
from session.frame import camera_messages as say
from tests.support.virtual_camera import put_pictures_in


@pytest.fixture
def served(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> set[str]:
    return put_pictures_in(tmp_path / "virtual", monkeypatch)


def test_a_search_finds_the_camera_by_its_own_name(served: set[str], tmp_path: Path) -> None:
    assert find_cameras(folder=tmp_path) == (say.FoundCamera("usb:001,001", "VC"),)
