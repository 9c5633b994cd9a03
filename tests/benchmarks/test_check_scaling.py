"""How `stillset check` scales: the same 500 files by one process and by two, in turn, as whole commands.

Wall-clock time counts, so it asks for two cores with nothing else to do; the ratio of two runs side by side is
told, and beside it how much of two cores a plain counting loop gets at the same time, for on a busy machine no
program can scale.

    pytest tests/benchmarks/test_check_scaling.py -s
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

import pytest

from session.checks.judge.judge_pool import cores
from session.system.process import import_path
from tests.support.made_pictures import coded, jpeg_bytes, photograph

FILES, ROUNDS = 500, 3
LEAST = 1.8
"""Times as fast by two processes as by one: what was asked for."""

LOOP = "total = 0\nfor number in range(60_000_000): total += number"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One photograph of 6 megapixels under 500 names."""
    folder = tmp_path_factory.mktemp("many")
    first = folder / "000.jpg"
    first.write_bytes(jpeg_bytes(coded(photograph("coffee.png", (3000, 2000)))))
    for number in range(1, FILES):
        os.link(first, folder / f"{number:03d}.jpg")
    return folder


def taken_s(work: Callable[[], object]) -> float:
    began = perf_counter()
    work()
    return perf_counter() - began


def check(folder: Path, jobs: int) -> None:
    command = [sys.executable, "-m", "tui", "check", str(folder), "--reference", str(folder / "000.jpg")]
    environment = os.environ | {"PYTHONPATH": import_path("tui")}
    done = subprocess.run([*command, "--jobs", str(jobs), "--json"], capture_output=True, env=environment, check=False)
    assert done.returncode == 0, done.stderr
    assert len(done.stdout.splitlines()) == FILES


def count(processes: int) -> None:
    running = [subprocess.Popen([sys.executable, "-c", LOOP]) for _ in range(processes)]
    assert all(process.wait() == 0 for process in running)


@pytest.mark.timeout(3600)
def test_two_processes_check_500_files_almost_twice_as_fast_as_one(folder: Path) -> None:
    if cores() < 2:
        pytest.skip("there is one core here")
    checked, counted = [], []
    for _ in range(ROUNDS):
        checked.append(taken_s(lambda: check(folder, 1)) / taken_s(lambda: check(folder, 2)))
        counted.append(2 * taken_s(lambda: count(1)) / taken_s(lambda: count(2)))
    print(
        f"\n{FILES} files, median of {ROUNDS} rounds: two processes are {statistics.median(checked):.2f} times as "
        f"fast as one ({min(checked):.2f} to {max(checked):.2f}); a loop without any sharing "
        f"{statistics.median(counted):.2f} ({min(counted):.2f} to {max(counted):.2f})"
    )
    assert statistics.median(checked) >= LEAST
