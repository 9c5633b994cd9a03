"""The command `stillset` starts here: the packages are seen to be its own, and then the command line runs.

`session`, `storage`, `tui` and `mock_camera` are short names. In an environment that is shared with other programs,
another distribution may have a package of the same name: it may be found before ours, or have been installed over it.
This module has the program's own name, so that it is found, and knows nothing of the four but where they must lie.
"""

from __future__ import annotations

import importlib.util
import sys
from base64 import urlsafe_b64encode
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

PACKAGES = ("session", "storage", "tui", "mock_camera")
FIRST_FILES = tuple(f"{package}/{name}.py" for package in PACKAGES for name in ("__init__", "__main__"))
"""The files of a package that run when it is imported or started; `session` and `storage` have no second one."""

HERE = Path(__file__).resolve().parent
REMEDY = "Install stillset by itself: `pipx install` or `uv tool install`."


def main() -> None:
    """Run the command line, or say in one sentence what lies in the way, and end with exit code 1."""
    in_the_way = next(trouble(HERE), "")
    if in_the_way:
        sys.exit(f"stillset can't start: {in_the_way} {REMEDY}")
    from tui.__main__ import main as run  # noqa: PLC0415 - only when `tui` is known to be ours

    run()


def trouble(here: Path) -> Iterator[str]:
    """Sentences on each package of ours that another one hides or has replaced.

    here  the folder that holds the four packages: that of a clone, or an environment's site-packages
    """
    installed = _installed(here)
    for name in FIRST_FILES:
        if name in installed and installed[name] != _record_hash(here / name):
            yield f"`{name}` is not its own: another distribution was installed over it, or taken out ({_who(name)})."
    for package in PACKAGES:
        found = importlib.util.find_spec(package)
        places = [Path(place).resolve() for place in (found and found.submodule_search_locations) or ()]
        if here / package not in places[:1]:
            other = places[0] if places else found.origin if found else None
            yield f"`{package}` is another program's, in {other}." if other else f"its package `{package}` is missing."


def _installed(here: Path) -> dict[str, str]:
    """File → hash as in RECORD, of what was installed as stillset; empty in a clone, which nothing is installed over.

    Format: PyPA, "Recording installed projects", the RECORD file.
    """
    records = [path for path in here.glob("stillset-*.dist-info/RECORD") if path.is_file()]
    lines = [line.split(",") for path in records for line in path.read_text(encoding="utf-8").splitlines()]
    return {line[0]: line[1] for line in lines if len(line) == 3 and line[0] in FIRST_FILES}


def _record_hash(path: Path) -> str:
    """`sha256=…` of a file as RECORD writes it; empty when the file is gone."""
    if not path.is_file():
        return ""
    return "sha256=" + urlsafe_b64encode(sha256(path.read_bytes()).digest()).rstrip(b"=").decode()


def _who(name: str) -> str:
    """Names of the other distributions that have installed a file of this name."""
    from importlib.metadata import distributions  # noqa: PLC0415 - slow, and only wanted once something is wrong

    others = {
        one.metadata["Name"]
        for one in distributions()
        if one.metadata["Name"] != "stillset" and any(str(file) == name for file in one.files or ())
    }
    return ", ".join(sorted(others)) or "which one isn't recorded any more"


if __name__ == "__main__":
    main()
