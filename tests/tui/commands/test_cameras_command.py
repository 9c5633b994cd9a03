"""`stillset cameras`: what answers on USB, as lines and as objects."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from session.cameras import home
from tests.support.in_process import stillset


def test_a_camera_is_listed_with_the_address_to_give(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VCAMERADIR", str(tmp_path))
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    # each account has this camera at this same address: claims where all users see them would tie test runs together
    monkeypatch.setattr(home, "SEEN_BY_ALL", ())
    (camera,) = (json.loads(line) for line in stillset("cameras", "--json").splitlines())
    assert camera["address"].startswith("usb:") and camera["model"]
    assert stillset("cameras") == f"{camera['address']:<16}{camera['model']}\n"
