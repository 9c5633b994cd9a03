"""Small and read-only disks for tests, mounted where only the processes of the test see them.

A namespace of its own (Linux: `unshare`, `nsenter`) needs no root, and goes with its processes. Root ignores
permissions but not a read-only mount or a full disk, so the tests mean the same for every user.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from types import TracebackType
from typing import Self

import pytest


class OwnMounts:
    """A namespace with these mounts, made by lines of shell; skips the test where the system allows none."""

    def __init__(self, *lines: str) -> None:
        if not (shutil.which("unshare") and shutil.which("nsenter")):
            pytest.skip("util-linux' unshare and nsenter are needed for a disk of the test's own")
        self._holder = subprocess.Popen(
            [
                "unshare",
                "--user",
                "--map-root-user",
                "--mount",
                "sh",
                "-ec",
                "\n".join([*lines, "echo ready", "exec cat"]),
            ],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert self._holder.stdout is not None
        if self._holder.stdout.readline() != "ready\n":
            _, why = self._holder.communicate()
            pytest.skip(f"this system gives a test no mounts of its own: {why.strip()}")
        self.prefix: tuple[str, ...] = (
            "nsenter",
            "--target",
            str(self._holder.pid),
            "--user",
            "--mount",
            "--preserve-credentials",
        )

    def outside(self, path: Path) -> Path:
        """Where a file inside is found from outside."""
        return Path(f"/proc/{self._holder.pid}/root{path}")

    def shell(self, line: str) -> None:
        """Do something inside."""
        subprocess.run([*self.prefix, "sh", "-ec", line], check=True)

    def fill(self, folder: Path) -> Path:
        """Fill the disk to the last byte; the file that did it, to be removed."""
        filler = self.outside(folder) / "filler"
        with filler.open("wb", buffering=0) as file:
            try:
                while True:
                    file.write(b"\0" * 4096)
            except OSError:
                return filler

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._holder.communicate()
