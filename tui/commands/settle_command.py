"""`stillset log settle`: whose a file is, or whether a frame fired at all, where neither card nor disk can tell."""

from __future__ import annotations

import queue
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path, PurePath
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import click

from session.frame.ports import LogError
from tui.shell.choices import default_log, log_option
from tui.shell.options import argument
from tui.shell.troubles import CommandFailed
from tui.words.harmless import NAME_CHARS, harmless

if TYPE_CHECKING:
    from session.frame.camera_messages import CardObject, Message
    from storage.writing.settling import OpenFrame
    from tui.compare.beside_in_text import Named

CAMERA_S = 60.0
"""How long each answer of the camera is waited for, a transfer included. Chosen."""

MOST_FETCHED = 12
"""Pictures of the card that are fetched to be looked at. Chosen."""


@click.command()
@log_option
@argument("frame", type=click.IntRange(1), required=False, metavar="[FRAME]")
@click.option("--job", default="", help="In this job; else in the only one that has such a frame.")
@click.option("--file", default="", metavar="NAME", help="Its file: a name on the card, or a path on the disk.")
@click.option("--none", "none_of_these", is_flag=True, help="None of the files is its own.")
@click.option("--not-fired", "did_not_fire", is_flag=True, help="The shutter did not go.")
@click.option("--camera", default="", metavar="ADDRESS", help="Show the card's pictures too, fetched from this camera.")
@click.option("--open", "opens", is_flag=True, help="Open the pictures in the desktop's own viewer.")
@click.pass_context
def settle(
    ctx: click.Context,
    log: str | None,
    frame: int | None,
    job: str,
    file: str,
    none_of_these: bool,
    did_not_fire: bool,
    camera: str,
    opens: bool,
) -> None:
    """Settle frames by hand that card and disk can't settle: lists them with the files that may be theirs.

    With FRAME alone the files' pictures are shown beside each other, between the frames before and after it; with
    --file, --none or --not-fired it is settled.
    """
    from storage.writing.log import SqlLog  # noqa: PLC0415

    answers = sum((bool(file), none_of_these, did_not_fire))
    if answers > 1 or (frame is None and (answers or camera or opens)):
        raise click.UsageError("Give a frame's number with one of --file, --none and --not-fired; or nothing: a list.")
    with closing(SqlLog.open(Path(log or ctx.obj or default_log()))) as writer:
        found = [one for one in writer.still_open() if not job or one.job.casefold() == job.casefold()]
        if frame is None:
            for one in found:
                click.echo("\n".join(_lines(one)))
            if not found:
                click.echo("There are no frames to be settled by hand in this log.", err=True)
            return
        mine = _one(found, frame)
        if answers:
            try:
                said = (
                    writer.settle_file(mine, file)
                    if file
                    else (writer.settle_none(mine) if none_of_these else writer.settle_not_fired(mine))
                )
            except LogError as error:
                raise CommandFailed(harmless(str(error))) from error
            click.echo(harmless(said))
            return
    _show(mine, camera, opens)


def _one(found: Sequence[OpenFrame], number: int) -> OpenFrame:
    mine = [one for one in found if one.number == number]
    if len(mine) != 1:
        why = "is in several jobs; say which by --job" if mine else "is settled"
        raise CommandFailed(f"Frame {number} {why}.")
    return mine[0]


def _lines(one: OpenFrame) -> list[str]:
    asked_at = f"{one.asked_at.astimezone():%Y-%m-%d %H:%M:%S}"
    lines = [f"{harmless(one.job, NAME_CHARS)}, frame {one.number}, asked for {asked_at}"]
    lines.append(f"  {harmless(one.text, 400)}")
    for card in one.candidates:
        at = "" if card.modified_at is None else f"  {datetime.fromtimestamp(card.modified_at, UTC):%Y-%m-%d %H:%M:%S}"
        lines.append(f"  on the card: {harmless(card.name)}  {card.bytes} bytes{at}")
    return [*lines, *(f"  on the disk: {harmless(str(path), 400)}" for path in one.on_disk)]


def _show(one: OpenFrame, camera: str, opens: bool) -> None:
    """The pictures side by side, as they were taken; and what may be answered."""
    from rich.console import Console  # noqa: PLC0415

    from tui.compare.beside_in_text import Named, lines_beside  # noqa: PLC0415

    click.echo("\n".join(_lines(one)))
    around = [Named(f"frame {number}", path) for number, path in one.beside]
    before = [named for named, (number, _) in zip(around, one.beside, strict=True) if number < one.number]
    own = [Named(path.name, path) for path in one.on_disk]
    with _fetch_pictures(one.candidates, camera) as on_card:
        shown = [*before, *own, *on_card, *around[len(before) :]]
        for line in lines_beside(shown, Console()):
            click.echo(line)
        for named in shown:
            click.echo(f"{harmless(named.name)}: {harmless(str(named.path), 400)}")
        if opens:
            _open(shown)
            if on_card:
                click.pause("Press a key when you have seen them; the card's are removed here then.")
    if one.candidates and not camera:
        click.echo("What is on the card is shown with --camera ADDRESS.")
    click.echo("Its file: --file NAME. None of them: --none. It did not fire: --not-fired.")


def _open(shown: Sequence[Named]) -> None:
    from tui.screen.viewer import Viewer  # noqa: PLC0415

    with closing(Viewer()) as viewer:
        for named in shown:
            why = viewer.open(str(named.path))
            if why:
                raise CommandFailed(harmless(why, 400))


@contextmanager
def _fetch_pictures(candidates: Sequence[CardObject], camera: str) -> Iterator[list[Named]]:
    """The card's JPEGs, else the card's other pictures, in a folder of this user that is removed at the end."""
    if not camera:
        yield []
        return
    jpegs = [one for one in candidates if PurePath(one.name).suffix.upper() in (".JPG", ".JPEG")]
    with TemporaryDirectory(prefix="stillset-") as folder:
        yield list(_from_camera((jpegs or candidates)[:MOST_FETCHED], camera, folder))


def _from_camera(wanted: Sequence[CardObject], address: str, folder: str) -> Iterator[Named]:
    from session.cameras.remote_camera import RemoteCamera  # noqa: PLC0415
    from session.frame import camera_messages as say  # noqa: PLC0415
    from tui.compare.beside_in_text import Named  # noqa: PLC0415

    messages: queue.Queue[Message] = queue.Queue()
    camera = RemoteCamera(messages.put)
    try:
        camera.post(say.Connect(address))
        _answer(messages, say.Connected)
        for number, card in enumerate(wanted):
            camera.post(say.Fetch(str(number), folder, f"{number:02d}", (card,)))
            saved = _answer(messages, say.FileSaved)
            assert isinstance(saved, say.FileSaved)
            yield Named(card.name, Path(saved.file.path))
    finally:
        camera.close()


def _answer(messages: queue.Queue[Message], kind: type[Message]) -> Message:
    """The next message of the kind. Raises Failed with what the camera says instead."""
    from session.frame import camera_messages as say  # noqa: PLC0415

    while True:
        try:
            message = messages.get(timeout=CAMERA_S)
        except queue.Empty:
            raise CommandFailed(f"The camera has not answered for {CAMERA_S:g} s.") from None
        if isinstance(message, kind):
            return message
        if isinstance(message, say.Failed | say.CameraGone):
            raise CommandFailed(harmless(message.text))
