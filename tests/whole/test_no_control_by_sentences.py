"""Changing any sentence of `session` changes nothing but that sentence: neither what the controller does, nor the large
line of the bench. The controller's tests drive both twice, once with all sentences replaced."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

TESTS = Path(__file__).parents[1]
DRIVEN = TESTS / "session/shoot"
DRIVERS = (
    *("test_shoot_camera.py", "test_judging_anew.py", "test_shoot_log.py", "test_releasing.py"),
    *("test_arranging.py", "test_undoing.py", "test_live_stream.py", "test_recovery.py"),
)
LEAST_REPLACED = 400
"""There are some five hundred in what the controller stands on; far fewer would mean that the walk lost its way."""


def driven(sentences: str, folder: Path) -> dict[str, Any]:
    """What the controller did in each test, and how many texts were replaced in which module."""
    told = folder / f"{sentences}.json"
    environment = {
        **os.environ, "STILLSET_SENTENCES": sentences, "STILLSET_TOLD": str(told), "PYTHONPATH": str(TESTS.parent),
        "PYTHONPYCACHEPREFIX": str(folder / sentences),
    }  # fmt: skip
    command = [sys.executable, "-m", "pytest", "-q", "-p", "tests.support.replaced_sentences"]
    command += ["-p", "no:cacheprovider", "-p", "no:xdist", "--assert=plain", *(str(DRIVEN / name) for name in DRIVERS)]
    ended = subprocess.run(command, env=environment, cwd=TESTS.parent, capture_output=True, text=True, check=False)
    assert told.exists(), ended.stdout[-4000:] + ended.stderr[-4000:]
    found: dict[str, Any] = json.loads(told.read_text(encoding="utf-8"))
    return found


@pytest.mark.timeout(400)  # 121 tests, twice
def test_controller_and_bench_do_the_same_whatever_the_sentences_say(tmp_path: Path) -> None:
    kept, replaced = (driven(sentences, tmp_path) for sentences in ("kept", "replaced"))
    assert not kept["replaced"]
    assert sum(replaced["replaced"].values()) >= LEAST_REPLACED
    assert len(kept["tests"]) > 100
    assert list(kept["tests"]) == list(replaced["tests"])
    otherwise = [name for name, did in kept["tests"].items() if did != replaced["tests"][name]]
    assert otherwise == []
