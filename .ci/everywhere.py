"""The README's two commands in fresh copies: on every Python that is here, and with the lowest versions.

    python3 .ci/everywhere.py

The second command on this Python; the first on each Python from 3.11 up, and with the lowest versions that
pyproject.toml allows; lint and types; the tests of the log and of whole paths on the Python that is farthest from this
one, and those of the log on the Pythons in between. Each runs in a copy of the repository of its own, on an account
with nothing in it, two at a time. What the second command printed comes last.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from time import monotonic

ROOT = Path(__file__).resolve().parent.parent
OLDEST, NEWEST = 11, 14
"""Minor versions of Python 3: what `requires-python` asks for, and the newest that is looked for by name."""

AT_A_TIME = 2
WHOLE = "whole suite"
LONG = (
    *("frame_of_each_file", "stopped_anywhere", "typed_in_bursts", "full_disk", "slow_transfers"),
    *("other_logs_and_cards", "ambient_and_lights", "bench_picture", "no_control_by_sentences"),
    *("a_working_day", "program_interrupted", "disk_troubles", "each_view_goes_on"),
    *("played_bodies", "looking_on", "tablet_in_a_browser", "live_view_at_work", "live_view_mishaps"),
    *("planner_agrees_with_pictures", "plan_put_up_shows_what_it_promised", "camera_mishaps"),
    *("live_by_keys", "terminals", "demo_by_script", "bad_input", "late_files_and_copies"),
    *("program_killed", "new_account", "two_programs", "entries_set_aside"),
)
LONG_OF_STORAGE = ("archive/test_wrong_clocks", "archive/test_strangers", "writing/test_hostile_input")
"""What takes minutes through parts that other tests go through too, and what can't differ between Pythons: run on one
of them, so that the whole of it stays within twenty minutes on two cores."""

LEFT_OUT = (*(f"whole/test_{name}" for name in LONG), *(f"storage/{name}" for name in LONG_OF_STORAGE))
ELSEWHERE = " ".join(
    ["-q -n 2 --dist worksteal tests/storage tests/whole", *(f"--ignore=tests/{name}.py" for name in LEFT_OUT)]
)
"""What is tested on the Python that is farthest from the one that runs everything: the log and its files, and all parts
at once."""
OF_THE_LOG = " ".join(f"tests/storage/{name}" for name in ("schema", "migrations", "writing", "reading", "database"))
IN_BETWEEN = f"-q -n 2 --dist worksteal {OF_THE_LOG} --ignore=tests/storage/writing/test_hostile_input.py"
"""What is tested on the Pythons in between: what goes through their sqlite3."""
WITH_TOOLS = ".venv/bin/pip install -q -e '.[dev]'"


def readme_commands(readme: str) -> tuple[str, str]:
    """The two commands of the README's first section."""
    first, second = re.findall(r"```sh\n(.*?)```", readme, re.DOTALL)[:2]
    return first.strip(), second.strip()


def lowest(project: dict[str, object]) -> list[str]:
    """Constraints that hold each dependency, those of extras too, at the lowest version that pyproject.toml allows."""
    extras = project["optional-dependencies"]
    assert isinstance(extras, dict)
    asked = [*project["dependencies"], *(line for name, lines in extras.items() if name != "dev" for line in lines)]  # type: ignore[misc]
    found = [re.fullmatch(r"([\w.-]+)(\[[\w,]+\])?>=([\w.]+).*", line) for line in asked]
    return [f"{match[1]}=={match[3]}" for match in found if match]


def places() -> Iterator[Path]:
    """Folders in which Pythons lie: those of the path, of the system, and of version managers."""
    home = Path.home()
    data = Path(os.environ.get("XDG_DATA_HOME") or home / ".local/share")
    yield from (Path(place) for place in os.environ.get("PATH", "").split(os.pathsep) if place)
    yield from (Path("/usr/bin"), Path("/usr/local/bin"))
    managers = (
        Path(os.environ.get("PYENV_ROOT") or home / ".pyenv") / "versions",
        Path(os.environ.get("UV_PYTHON_INSTALL_DIR") or data / "uv/python"),
        Path(os.environ.get("ASDF_DATA_DIR") or home / ".asdf") / "installs/python",
        Path(os.environ.get("MISE_DATA_DIR") or data / "mise") / "installs/python",
        Path("/opt/python"),
    )
    for manager in managers:
        yield from sorted(manager.glob("*/bin"))


def pythons(folders: Iterator[Path]) -> dict[int, Path]:
    """Minor version → a Python 3 of it that can make environments; from OLDEST up."""
    found: dict[int, Path] = {}
    for folder in folders:
        for path in sorted(folder.glob("python3.*")):
            minor = re.fullmatch(r"python3\.(\d+)", path.name)
            if minor and int(minor[1]) >= OLDEST and int(minor[1]) not in found and _works(path, int(minor[1])):
                found[int(minor[1])] = path
    return dict(sorted(found.items()))


def _works(python: Path, minor: int) -> bool:
    """True for a Python of that minor version that runs and can make environments; a version manager's stub can't."""
    code = "import ensurepip, sqlite3, sys, venv; print(sys.version_info.minor)"
    try:
        ran = subprocess.run([python, "-I", "-c", code], capture_output=True, text=True, check=False, timeout=60)
    except OSError:
        return False
    return ran.returncode == 0 and ran.stdout.strip() == str(minor)


def copied(to: Path) -> Path:
    """A copy of the repository as a fresh clone has it: without what git ignores."""
    ignored = [line.rstrip("/") for line in (ROOT / ".gitignore").read_text().splitlines() if line]
    shutil.copytree(ROOT, to, ignore=shutil.ignore_patterns(".git", *ignored), symlinks=True)
    return to


class Job:
    """Runs commands one after the other in a folder of their own, and keeps the output until the last has ended."""

    def __init__(self, name: str, python: Path, work: Path) -> None:
        """python  what `python3` is here"""
        self.name = name
        work.chmod(0o755)  # tests run commands as another user too, who must be able to read the code
        own_folder = work / name.replace(" ", "-")
        self.copy = copied(own_folder / "stillset")
        account, tools = own_folder / "account", own_folder / "bin"
        account.mkdir()
        tools.mkdir()
        stub = tools / "python3"
        stub.write_text(f'#!/bin/sh\nexec "{python}" "$@"\n')
        stub.chmod(0o755)
        # hundreds of programs are started: each would compile all that it imports if none might keep what it compiled
        others = re.compile(r"XDG_\w+_HOME|XDG_PICTURES_DIR|STILLSET_\w+|PYTHONDONTWRITEBYTECODE")
        own = {name: value for name, value in os.environ.items() if not others.fullmatch(name)}
        self.environment = own | _pip_as_ever() | {
            "HOME": str(account),
            "PATH": f"{tools}{os.pathsep}{os.environ['PATH']}",
        }  # fmt: skip
        self._log = (own_folder / "said.txt").open("w+b")

    def run(self, command: str, folder: Path | None = None) -> None:
        """Raises CalledProcessError."""
        self._log.write(f"$ {command}\n".encode())
        self._log.flush()
        subprocess.run(
            ["bash", "-c", command], cwd=folder or self.copy, env=self.environment, check=True,
            stdin=subprocess.DEVNULL, stdout=self._log, stderr=subprocess.STDOUT,
        )  # fmt: skip

    def said(self) -> str:
        """All that was printed."""
        self._log.seek(0)
        return self._log.read().decode("utf-8", "replace")


def _pip_as_ever() -> dict[str, str]:
    """Where pip keeps what it fetched and how it is set up, though the account is empty; nothing is compiled ahead."""
    cache = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "pip"
    kept = {"PIP_CACHE_DIR": str(cache), "PIP_DISABLE_PIP_VERSION_CHECK": "1", "PIP_NO_COMPILE": "1"}
    settings = Path(os.environ.get("XDG_CONFIG_HOME") or Path.home() / ".config") / "pip/pip.conf"
    if settings.is_file():
        kept["PIP_CONFIG_FILE"] = str(settings)
    return kept | {name: value for name, value in os.environ.items() if name.startswith("PIP_")}


def first_command(job: Job, tests: str = "") -> None:
    """The README's first command, and then these tests."""
    job.run(readme_commands((ROOT / "README.md").read_text(encoding="utf-8"))[0])
    if tests:
        job.run(f"{WITH_TOOLS} && .venv/bin/python -m pytest {tests}")


def lint_and_types(job: Job) -> None:
    """The README's first command on this Python, and then what reads the code."""
    first_command(job)
    job.run(f"{WITH_TOOLS} && .venv/bin/ruff check . && .venv/bin/ruff format --check . && .venv/bin/mypy")


def lowest_versions(job: Job) -> None:
    """The demo with the lowest version of everything."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    (job.copy / "lowest.txt").write_text("\n".join(lowest(project)))
    extras = ",".join(name for name in project["optional-dependencies"] if name != "dev")
    job.run(f"python3 -m venv .venv && .venv/bin/pip install -q -e '.[{extras}]' -c lowest.txt")
    job.run(".venv/bin/pip freeze --exclude-editable && .venv/bin/stillset demo")


def second_command(job: Job) -> None:
    """The README's second command: all tests."""
    job.run(readme_commands((ROOT / "README.md").read_text(encoding="utf-8"))[1])


def everything(here: dict[int, Path]) -> list[tuple[str, Path, Callable[[Job], None]]]:
    """What is run, with a name and a Python each: first what takes longest.

    here  minor version → a Python of it
    """
    this = sys.version_info.minor
    others = sorted((minor for minor in here if minor != this), key=lambda minor: abs(minor - this), reverse=True)
    tests = {minor: IN_BETWEEN for minor in others} | {minor: ELSEWHERE for minor in others[:1]}
    return [
        (WHOLE, Path(sys.executable), second_command),
        *((f"Python 3.{minor}", here[minor], partial(first_command, tests=tests[minor])) for minor in others),
        (f"Python 3.{this}", here.get(this, Path(sys.executable)), lint_and_types),
        ("lowest versions", next(iter(here.values()), Path(sys.executable)), lowest_versions),
    ]


def run_all(work: Path) -> int:
    """0 when all went well."""
    here = pythons(places())
    missing = [minor for minor in range(OLDEST, max([NEWEST, *here]) + 1) if minor not in here]
    print("Python", ", ".join(f"3.{minor} ({path})" for minor, path in here.items()), flush=True)
    print("not found:", ", ".join(f"Python 3.{minor}" for minor in missing) or "none", flush=True)

    def done(one: tuple[str, Path, Callable[[Job], None]]) -> tuple[bool, str]:
        name, python, act = one
        began_s, well = monotonic(), True
        job = Job(name, python, work)
        try:
            act(job)
        except subprocess.CalledProcessError:
            well = False
        finally:
            shutil.rmtree(job.copy, ignore_errors=True)
        took = f"--- {name}, {monotonic() - began_s:.0f} s"
        closing = [line for line in job.said().splitlines() if "mishaps caught" in line or " passed" in line]
        print(f"{took}: {' '.join(closing)}" if well else f"{took} FAILED", flush=True)
        return well, f"{took}\n{job.said()}"

    todo = everything(here)
    with ThreadPoolExecutor(AT_A_TIME) as pool:
        whole, *others = pool.map(done, todo)
    for well, said in others:
        if not well:
            print(said, flush=True)
    print(whole[1].rstrip(), flush=True)
    return 0 if whole[0] and all(well for well, _ in others) else 1


if __name__ == "__main__":
    with tempfile.TemporaryDirectory(prefix="stillset-ci-", ignore_cleanup_errors=True) as folder:
        sys.exit(run_all(Path(folder)))
