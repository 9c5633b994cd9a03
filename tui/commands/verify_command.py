"""`stillset verify`: whether the files are still what the log says; exit code 0 when they are, 1 when not."""

from __future__ import annotations

import json
import zipfile
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from session.units.numbers import bytes_text
from tui.shell.choices import default_log, json_option, log_option, pictures_of
from tui.shell.options import argument
from tui.shell.progress import ProgressLine
from tui.shell.troubles import CommandFailed
from tui.words.harmless import harmless

if TYPE_CHECKING:
    from storage.reading.verify import Found, VerifyProgress


@click.command()
@argument("handover", type=click.Path(path_type=Path), required=False)
@log_option
@click.option(
    "--folder",
    "folders",
    type=click.Path(path_type=Path),
    multiple=True,
    help="Look here too for files that were moved; repeat for more.",
)
@click.option("--relink", "relinking", is_flag=True, help="Have the log name the new place of files that were moved.")
@json_option
def verify(handover: Path | None, log: str | None, folders: tuple[Path, ...], relinking: bool, as_json: bool) -> None:
    """Read every file of the log again and compare it with its hash; the log itself is looked through, of any size.

    Tells which are missing, changed, truncated, moved, and which belong to no frame. A pass that is interrupted goes
    on where it was. Exit code 0: all as saved; 1: not. With HANDOVER, a folder that was handed over, its files are
    compared with its own hashes instead.
    """
    if handover is not None:
        _verify_handover(handover, as_json)
        return
    from storage.reading.verify import Trouble, must_be_free, relink  # noqa: PLC0415
    from storage.reading.verify import verify as verified  # noqa: PLC0415

    path = Path(log or default_log())
    if relinking:
        must_be_free(path)
    looked = [*folders, *(beside for beside in [pictures_of(str(path))] if beside.is_dir())]
    found, files = [], 0

    def tell(progress: VerifyProgress) -> None:
        nonlocal files
        files = progress.of_files
        read = bytes_text(progress.bytes, progress.of_bytes)
        line.tell(f"{progress.files} of {progress.of_files} files, {read}", progress.bytes, progress.of_bytes)

    with ProgressLine() as line:
        for one in verified(path, looked, tell):
            line.clear()
            found.append(one)
            click.echo(json.dumps(asdict(one)) if as_json else harmless(f"{one.trouble.value:<11}{one.text}"))
    wrong = len(found)
    if relinking:
        count = relink(path, found, datetime.now(UTC))
        wrong -= sum(one.trouble is Trouble.MOVED for one in found)
        click.echo(f"{count} files are linked to where they are now.", err=as_json)
    if wrong:
        raise CommandFailed(f"{_count_text(found)} among {files} files of the log.")
    if not as_json:
        click.echo(f"All {files} files of the log are as they were saved.")


def _verify_handover(folder: Path, as_json: bool) -> None:
    from storage.handover.bag import verify_bag  # noqa: PLC0415

    if zipfile.is_zipfile(folder):
        raise click.UsageError(f"a ZIP is unpacked first: verify the folder that is in {folder}")
    if not folder.is_dir():
        raise click.UsageError(f"there is no folder {folder}")
    read_bytes = count = 0

    def tell_read(size_bytes: int) -> None:
        nonlocal read_bytes
        read_bytes += size_bytes
        line.tell(f"{read_bytes / 1e6:.1f} MB read")

    with ProgressLine() as line:
        for fault in verify_bag(folder, tell_read):
            line.clear()
            count += 1
            click.echo(json.dumps({"fault": fault}) if as_json else harmless(fault))
    if count:
        raise CommandFailed(f"{harmless(str(folder))} is not as it was handed over.")
    if not as_json:
        click.echo(f"All files of {harmless(str(folder))} are as they were handed over.")


def _count_text(found: list[Found]) -> str:
    """`1 missing, 2 changed`."""
    names = [one.trouble.value for one in found]
    return ", ".join(f"{names.count(name)} {name}" for name in dict.fromkeys(names))
