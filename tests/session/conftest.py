"""Pictures as files, and what the checks make of them; and which tests are the slow part.

Without `slow` the folder's tests take seconds: no pictures, no processes, no searches of many seconds.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    import numpy as np

    from session.checks.material.checked_picture import Material

SLOW_HELPERS = {"made_pictures", "tinted_pairs", "mock_set", "solo_sets", "live_pictures", "still_life"}
"""Who imports one of these makes pictures."""

SLOW_MODULES = {
    *("test_remote_camera", "test_judge_pool", "test_process"),
    *("test_kit_search", "test_plate_blur", "test_planned_revision", "test_ranking"),
    *("test_colour_difference", "test_linear_light"),
}
"""Tests that begin processes, plan again and again, or load a large library to compare with."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the slow part."""
    for item in items:
        if _is_slow(item.path):
            item.add_marker("slow")


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """With `-m "not slow"` modules of the slow part aren't even imported."""
    return True if config.option.markexpr == "not slow" and _is_slow(collection_path) else None


def _is_slow(path: Path) -> bool:
    here = path.suffix == ".py" and path.is_relative_to(Path(__file__).parent)
    return here and (path.stem in SLOW_MODULES or bool(_helpers(path) & SLOW_HELPERS))


@cache
def _helpers(path: Path) -> frozenset[str]:
    """The tests' helpers that a file imports."""
    return frozenset(re.findall(r"^from tests\.support\.(\w+) import", path.read_text(encoding="utf-8"), re.MULTILINE))


@pytest.fixture
def saved(tmp_path: Path) -> Callable[..., Path]:
    """Writes codes as a JPEG, `name` in the test's folder."""

    def write(codes: np.ndarray, name: str = "frame.jpg", **options: Any) -> Path:
        from tests.support.made_pictures import jpeg_bytes

        path = tmp_path / name
        path.write_bytes(jpeg_bytes(codes, **options))
        return path

    return write


@pytest.fixture
def material(saved: Callable[..., Path]) -> Callable[..., Material]:
    """What the checks see of these codes."""

    def made(codes: np.ndarray, name: str = "frame.jpg", **options: Any) -> Material:
        from session.checks.material.checked_picture import gather

        return gather(str(saved(codes, name, **options)))

    return made
