"""What connecting asks of libgphoto2 itself, by the lines that it writes for debugging (as 2.5.34 words them)."""

from __future__ import annotations

import pytest

from session.cameras import libgphoto
from session.cameras.camera_address import parse_address
from session.cameras.camera_limits import CameraLimits
from session.cameras.libgphoto import Gphoto
from session.cameras.result_codes import CameraError

READS_MODELS = b"Using ltdl to load camera libraries"
"""`gp_abilities_list_load_dir` in its gphoto2-abilities-list.c: 7 MB, which the second time stay with the process."""
TRIES_TO_CONNECT = b"Setting abilities ('PTP/IP Camera')"


def test_the_library_s_list_of_models_is_read_for_the_first_connection_alone() -> None:
    lines: list[bytes] = []
    libgphoto._network_abilities.cache_clear()
    nobody = parse_address("ptpip:127.0.0.1:1")
    for _ in range(3):
        with libgphoto._library_lines(lines.append), pytest.raises(CameraError):
            Gphoto(CameraLimits()).open(nobody)
    assert sum(line.startswith(READS_MODELS) for line in lines) == 1
    assert sum(line.startswith(TRIES_TO_CONNECT) for line in lines) == 3, lines
