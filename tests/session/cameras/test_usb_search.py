"""The search for cameras on USB, by the virtual camera inside the gphoto2 wheel."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from session.cameras import home
from session.cameras.usb_search import find_cameras
from session.frame import camera_messages as say


@pytest.fixture
def served(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> set[str]:
    """SHA-256 of the pictures in the virtual camera."""
    folder = tmp_path / "virtual"
    folder.mkdir()
    for number in range(3):
        values = np.random.default_rng(number).integers(0, 256, (60, 90, 3), dtype=np.uint8)
        Image.fromarray(values).save(folder / f"picture{number}.jpg")
    monkeypatch.setenv("VCAMERADIR", str(folder))
    # each account has this camera at this same address: claims where all users see them would tie test runs together
    monkeypatch.setattr(home, "SEEN_BY_ALL", ())
    return {hashlib.sha256(place.read_bytes()).hexdigest() for place in folder.iterdir()}


def test_a_search_finds_the_camera_by_its_own_name(served: set[str], tmp_path: Path) -> None:
    assert find_cameras(folder=tmp_path) == (say.FoundCamera("usb:001,001", "VC"),)
