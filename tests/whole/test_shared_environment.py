"""In an environment that stillset shares with packages of the same names, a start says so in one sentence."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from base64 import urlsafe_b64encode
from hashlib import sha256
from pathlib import Path

import pytest

from tests.support.stillset_program import Ended, without_account

ROOT = Path(__file__).parents[2]
PACKAGES = ("session", "storage", "tui", "mock_camera")
OTHERS = "def main():\n    print('another program ran')\n"


def version(*places: Path) -> Ended:
    """`stillset --version`, with these places before all others on Python's path."""
    environment = without_account(os.environ) | {"PYTHONPATH": os.pathsep.join(map(str, places))}
    command = [sys.executable, "-P", "-m", "stillset", "--version"]
    ended = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)
    return Ended(ended.returncode, ended.stdout, ended.stderr)


def record(site: Path, name: str, files: list[str]) -> None:
    """Write down a distribution as an installer does. Format: PyPA, "Recording installed projects"."""
    info = site / f"{name}-1.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name}\nVersion: 1.0\n")
    hashed = [(file, urlsafe_b64encode(sha256((site / file).read_bytes()).digest()).decode()) for file in files]
    lines = [f"{file},sha256={digest.rstrip('=')},{(site / file).stat().st_size}" for file, digest in hashed]
    (info / "RECORD").write_text("\n".join([*lines, f"{info.name}/RECORD,,", ""]))


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A folder in which stillset lies as installed, with its record."""
    folder = tmp_path / "site"
    for package in PACKAGES:
        shutil.copytree(ROOT / package, folder / package, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "stillset.py", folder)
    record(
        folder, "stillset", [str(path.relative_to(folder)) for path in sorted(folder.rglob("*.*")) if path.is_file()]
    )
    return folder


def another(site: Path, file: str) -> None:
    """Install the other distribution: its file in place of ours."""
    (site / file).write_text(OTHERS)
    record(site, "other-screens", [file])


@pytest.mark.parametrize("package", PACKAGES)
def test_a_package_of_the_same_name_that_is_found_first_is_named(tmp_path: Path, package: str) -> None:
    other = tmp_path / package
    other.mkdir()
    (other / "__init__.py").write_text(OTHERS)
    said = version(tmp_path, ROOT)
    assert (said.code, said.out) == (1, "")
    assert said.sentence() == (
        f"stillset can't start: `{package}` is another program's, in {other}. "
        "Install stillset by itself: `pipx install` or `uv tool install`."
    )


def test_a_module_of_the_same_name_that_is_found_first_is_named(tmp_path: Path) -> None:
    (tmp_path / "tui.py").write_text(OTHERS)
    said = version(tmp_path, ROOT)
    assert said.code == 1
    assert f"`tui` is another program's, in {tmp_path / 'tui.py'}." in said.sentence()


def test_stillset_alone_in_its_place_starts(site: Path) -> None:
    said = version(site)
    assert (said.code, said.out, said.err) == (0, "stillset 1.0\n", "")


@pytest.mark.parametrize("file", ["tui/__init__.py", "tui/__main__.py", "storage/__init__.py"])
def test_a_distribution_that_was_installed_over_ours_is_named(site: Path, file: str) -> None:
    another(site, file)
    said = version(site)
    assert (said.code, said.out) == (1, "")
    assert f"`{file}` is not its own" in said.sentence()
    assert "(other-screens)" in said.sentence()


def test_a_file_that_went_with_the_other_distribution_is_named(site: Path) -> None:
    (site / "session/__init__.py").unlink()
    said = version(site)
    assert said.code == 1
    assert "`session/__init__.py` is not its own" in said.sentence()
