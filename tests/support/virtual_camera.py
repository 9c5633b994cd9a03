"""Pictures in the virtual USB camera that the gphoto2 wheel brings."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from session.cameras import home


def put_pictures_in(folder: Path, monkeypatch: pytest.MonkeyPatch) -> set[str]:
    """Have the virtual camera serve three pictures, kept in this new folder; their SHA-256 sums."""
    folder.mkdir()
    for number in range(3):
        values = np.random.default_rng(number).integers(0, 256, (60, 90, 3), dtype=np.uint8)
        Image.fromarray(values).save(folder / f"picture{number}.jpg")
    monkeypatch.setenv("VCAMERADIR", str(folder))
    # each account has this camera at this same address: claims where all users see them would tie test runs together
    monkeypatch.setattr(home, "SEEN_BY_ALL", ())
    return {hashlib.sha256(place.read_bytes()).hexdigest() for place in folder.iterdir()}
