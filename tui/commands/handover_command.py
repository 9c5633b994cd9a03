"""`stillset handover`: what leaves the table, as one folder with hashes; first shown, then written."""

from __future__ import annotations

import json
import sys
from datetime import datetime
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

import click

from session.frame.states import Mark
from session.units.numbers import bytes_text
from session.units.refusals import UnreadableTextError
from tui.shell.choices import default_log, json_option, log_option
from tui.shell.options import Refused
from tui.shell.progress import ProgressLine
from tui.shell.troubles import CommandFailed
from tui.words.harmless import harmless
from tui.words.order_words import count_words, delivery_words

if TYPE_CHECKING:
    from storage.handover.handover_plan import HandoverPlan
    from storage.reading.views import SetPicture


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@log_option
@click.option("--job", default="", help="The job; else the last one.")
@click.option(
    "--mark",
    type=click.Choice([mark.value for mark in Mark]),
    default=Mark.HERO.value,
    show_default=True,
    help="Which frames.",
)
@click.option(
    "--names",
    default="",
    metavar="TEMPLATE",
    help="How files are called: of {job} {article} {piece} {view} {number}; else {article}_{piece}_{view}_{number}.",
)
@click.option("--deliver", is_flag=True, help="Also make pictures of the order's size, crop and format, in sRGB.")
@click.option(
    "--zip", "zipped", is_flag=True, help="Also the whole folder as FOLDER.zip; of one that is whole, only that."
)
@click.option("--yes", is_flag=True, help="Write without asking.")
@json_option
def handover(
    folder: Path, log: str | None, job: str, mark: str, names: str, deliver: bool, zipped: bool, yes: bool,
    as_json: bool,
) -> None:  # fmt: skip
    """Hand a job over: originals, sidecars, set cards and tables into FOLDER, with hashes (BagIt, RFC 8493).

    Shows first the files to be written, and what is wrong with them. Nothing is ever written over; a hand-over that was
    stopped goes on when it is asked for again. `stillset verify FOLDER` reads it again.
    """
    from storage.handover import bag  # noqa: PLC0415
    from storage.handover.hand_over import begun_on, hand_over  # noqa: PLC0415
    from tui.paper.documents import documents_of  # noqa: PLC0415

    if zipped and bag.is_bag(folder):
        _zip(folder, as_json=as_json)
        return
    if folder.exists() and not folder.is_dir():
        raise Refused(f"{harmless(str(folder))} is a file; a hand-over needs a folder.")
    plan, pictures = _plan(log or default_log(), job, mark, names, deliver)
    (_tell_as_json if as_json else _tell)(plan, folder)
    if plan.faults:
        raise CommandFailed("\n".join(harmless(fault) for fault in plan.faults))
    if not yes and not (sys.stdin.isatty() and click.confirm(f"Write this to {harmless(str(folder))}?")):
        click.echo("Nothing was written; --yes writes it.", err=True)
        return
    agent, today = f"stillset {version('stillset')}", begun_on(folder) or datetime.now().astimezone().date()
    written = count = 0
    with ProgressLine() as line:
        try:
            for step in hand_over(plan, folder, agent, today, documents_of(plan, agent, today, pictures)):
                written, count = written + step.bytes, count + 1
                amount = bytes_text(written, max(written, plan.total_bytes))
                line.tell(f"{count} files, {amount}", written, plan.total_bytes)
                if step.told:
                    line.clear()
                    click.echo(f"! {harmless(step.told)}", err=True)
        except OSError as error:
            raise CommandFailed(
                f"{harmless(str(folder))} is not whole yet: {error.strerror}. What is there is right;"
                " the same command goes on."
            ) from error
    if not as_json:
        click.echo(f"{harmless(str(folder))}: {count_words(len(plan.frames), 'frame')} handed over, {count} files.")
    if zipped:
        _zip(folder, as_json=as_json)


def _zip(folder: Path, *, as_json: bool) -> None:
    from storage.handover.zipped import write_zip, zip_path  # noqa: PLC0415

    total = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    written, target = 0, zip_path(folder)
    with ProgressLine() as line:
        try:
            for count_bytes in write_zip(folder):
                written += count_bytes
                line.tell(bytes_text(written, max(written, total)), written, total)
        except OSError as error:
            raise CommandFailed(
                f"{harmless(str(target))} was not made: {error.strerror}. Nothing is left of it."
            ) from error
    if not as_json:
        click.echo(f"{harmless(str(target))}: the whole folder.")


def _plan(
    log: str, job: str, mark: str, names: str, deliver: bool
) -> tuple[HandoverPlan, dict[str, tuple[SetPicture, ...]]]:
    """The plan, and the pictures of the set for each set-up of its frames, by label."""
    from storage.handover.handover_plan import NAMES, plan_handover  # noqa: PLC0415
    from storage.reading.log_reader import LogReader  # noqa: PLC0415
    from storage.reading.views import FrameFilter  # noqa: PLC0415

    with LogReader.looking(log) as reader:
        row = reader.job_named(job)
        if row is None:
            raise CommandFailed(f"There is no job {job!r} in this log." if job else "There is no job in this log yet.")
        name = row.name
        records = tuple(reader.records(FrameFilter(job=name)))
        try:
            plan = plan_handover(records, reader.progress(name), name, mark, names or NAMES, delivers=deliver)
        except UnreadableTextError as error:
            raise Refused(f"{error}.") from None
        revisions = {frame.record.setup: frame.record.revision for frame in plan.frames}
        return plan, {label: reader.set_pictures(name, revision) for label, revision in revisions.items()}


def _tell(plan: HandoverPlan, folder: Path) -> None:
    total = bytes_text(plan.total_bytes, plan.total_bytes).rpartition(" of ")[2]
    click.echo(f"{harmless(plan.order.job)}: {count_words(len(plan.frames), 'frame')}, originals {total}.")
    for frame in plan.frames:
        endings = ", ".join(dict.fromkeys(path.suffix.lower().lstrip(".") for _, path in frame.files))
        click.echo(f"  {frame.record.number:>5}  {harmless(frame.name)}  {harmless(endings)}, xmp")
    if plan.delivers:
        size = delivery_words(plan.order.delivery) or "size and crop as they are"
        click.echo(f"  delivered as {plan.kind}, sRGB: {size}")
    ordered = ", the order" if plan.progress else ""
    click.echo(f"  contact sheet, set cards; tables of frames, set-ups, findings{ordered}; hashes of every file")
    for caution in plan.cautions:
        click.echo(f"! {harmless(caution)}")


def _tell_as_json(plan: HandoverPlan, folder: Path) -> None:
    frames = [
        {
            "number": frame.record.number,
            "piece": frame.record.piece,
            "view": frame.record.view,
            "name": frame.name,
            "files": [file.path for file, _ in frame.files],
        }
        for frame in plan.frames
    ]
    told = {"job": plan.order.job, "frames": frames, "cautions": plan.cautions, "faults": plan.faults}
    click.echo(json.dumps({"folder": str(folder), **told}))
