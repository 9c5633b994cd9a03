"""Pictures as files, and what the checks make of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from session.checks.material.checked_picture import Material, gather
from tests.support.made_pictures import jpeg_bytes


@pytest.fixture
def saved(tmp_path: Path) -> Callable[..., Path]:
    """Writes codes as a JPEG, `name` in the test's folder."""

    def write(codes: np.ndarray, name: str = "frame.jpg", **options: Any) -> Path:
        path = tmp_path / name
        path.write_bytes(jpeg_bytes(codes, **options))
        return path

    return write


@pytest.fixture
def material(saved: Callable[..., Path]) -> Callable[..., Material]:
    """What the checks see of these codes."""

    def made(codes: np.ndarray, name: str = "frame.jpg", **options: Any) -> Material:
        return gather(str(saved(codes, name, **options)))

    return made
