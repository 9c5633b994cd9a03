"""`stillset handover`: what leaves the table, as one folder with hashes; first shown, then written."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from session.frame.states import Mark
from session.units.numbers import bytes_text
from session.units.refusals import UnreadableTextError
from tui.shell.choices import default_log, json_option, log_option
from tui.shell.options import Refused, argument
from tui.shell.progress import ProgressLine
from tui.shell.troubles import NOT_ALL, CommandFailed
from tui.words.harmless import harmless

if TYPE_CHECKING:
    from storage.handover.handover_plan import HandoverPlan
    from tui.paper.handing_over import HandoverWish, PreparedHandover


@click.command()
@argument("folder", type=click.Path(path_type=Path))
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
@click.option("--pdf", is_flag=True, help="Also print contact sheet and set cards to PDF (extra `pdf`).")
@click.option("--deliver", is_flag=True, help="Also make pictures of the order's size, crop and format, in sRGB.")
@click.option(
    "--zip", "zipped", is_flag=True, help="Also the whole folder as FOLDER.zip; of one that is whole, only that."
)
@click.option(
    "--kit",
    type=click.Path(path_type=Path),
    envvar="STILLSET_KIT",
    help="Kit file, for the numbers in match reports that need the sensor and the lens; no kit is made up.",
)
@click.option("--yes", is_flag=True, help="Write without asking.")
@json_option
def handover(
    folder: Path, log: str | None, job: str, mark: str, names: str, pdf: bool, deliver: bool, zipped: bool,
    kit: Path | None, yes: bool, as_json: bool,
) -> None:  # fmt: skip
    """Hand a job over: originals, sidecars, set cards and tables into FOLDER, with hashes (BagIt, RFC 8493).

    Shows first the files to be written, and what is wrong with them. Nothing is ever written over; a hand-over that was
    stopped goes on when it is asked for again. `stillset verify FOLDER` reads it again.

    Exit code 4: written, but something that was wanted is missing, such as a view without a hero. Exit code 1: nothing
    was written, or not all of it.
    """
    from storage.handover import bag  # noqa: PLC0415
    from storage.handover.handover_plan import NAMES  # noqa: PLC0415
    from tui.paper.handing_over import HandoverWish, carry_out  # noqa: PLC0415
    from tui.paper.pdf_print import pdf_refusal  # noqa: PLC0415
    from tui.words.handover_words import not_whole_text, whole_text  # noqa: PLC0415

    if zipped and bag.is_bag(folder):
        _zip(folder, as_json=as_json)
        return
    if folder.exists() and not folder.is_dir():
        raise Refused(f"{harmless(str(folder))} is a file; a hand-over needs a folder.")
    if pdf and (refusal := pdf_refusal()):
        raise CommandFailed(refusal)
    wish = HandoverWish(job, mark, names or NAMES, deliver, prints=pdf)
    prepared = _look_ahead(log or default_log(), wish, kit)
    plan = prepared.plan
    (_tell_as_json if as_json else _tell)(prepared, folder)
    if plan.faults:
        raise CommandFailed("\n".join(harmless(fault) for fault in plan.faults))
    if not yes and not (sys.stdin.isatty() and click.confirm(f"Write this to {harmless(str(folder))}?")):
        raise CommandFailed(f"Nothing was written to {harmless(str(folder))}; --yes writes it.")
    count = 0
    with ProgressLine() as line:
        try:
            for step in carry_out(prepared, folder):
                count = step.count
                amount = bytes_text(step.done_bytes, max(step.done_bytes, step.total_bytes))
                line.tell(f"{count} files, {amount}", step.done_bytes, step.total_bytes)
                if step.told:
                    line.clear()
                    click.echo(f"! {harmless(step.told)}", err=True)
        except OSError as error:
            raise CommandFailed(not_whole_text(folder, str(folder), error, "the same command")) from error
    if not as_json:
        click.echo(whole_text(str(folder), len(plan.frames), count))
    if zipped:
        _zip(folder, as_json=as_json)
    _exit_for(plan)


def _exit_for(plan: HandoverPlan) -> None:
    """Name the pictures that are missing, and end with an exit code of their own; do nothing where none is missing."""
    from tui.words.handover_words import missing_text  # noqa: PLC0415

    if plan.missing:
        click.echo(missing_text(plan), err=True)
        click.get_current_context().exit(NOT_ALL)


def _zip(folder: Path, *, as_json: bool) -> None:
    from storage.handover.zipped import zip_path  # noqa: PLC0415
    from tui.paper.handing_over import carry_into_zip  # noqa: PLC0415
    from tui.words.handover_words import zip_text  # noqa: PLC0415

    target = zip_path(folder)
    with ProgressLine() as line:
        try:
            for step in carry_into_zip(folder):
                amount = bytes_text(step.done_bytes, max(step.done_bytes, step.total_bytes))
                line.tell(amount, step.done_bytes, step.total_bytes)
        except OSError as error:
            raise CommandFailed(
                f"{harmless(str(target))} was not made: {error.strerror}. Nothing is left of it."
            ) from error
    if not as_json:
        click.echo(zip_text(str(target)))


def _look_ahead(log: str, wish: HandoverWish, kit: Path | None) -> PreparedHandover:
    from storage.handover.leaving_files import OriginalsRead  # noqa: PLC0415
    from storage.reading.log_reader import LogReader  # noqa: PLC0415
    from tui.paper.handing_over import look_ahead  # noqa: PLC0415
    from tui.shell.build import named_kit  # noqa: PLC0415
    from tui.words.handover_words import no_job_text  # noqa: PLC0415

    with LogReader.looking(log) as reader, ProgressLine() as line:
        line.tell("The originals are being read", 0, 0)
        try:
            prepared = look_ahead(reader, wish, named_kit(kit), OriginalsRead())
        except UnreadableTextError as error:
            raise Refused(f"{error}.") from None
        finally:
            line.clear()
    if prepared is None:
        raise CommandFailed(no_job_text(wish.job))
    return prepared


def _tell(prepared: PreparedHandover, folder: Path) -> None:
    from tui.words.handover_words import caution_lines, plan_head, plan_lines  # noqa: PLC0415

    plan = prepared.plan
    click.echo(plan_head(plan))
    for line in plan_lines(plan, prints=prepared.prints):
        click.echo(f"  {line}")
    for line in caution_lines(plan):
        click.echo(line)


def _tell_as_json(prepared: PreparedHandover, folder: Path) -> None:
    plan = prepared.plan
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
    series = [
        {"name": one.name, "files": [file.path for file, *_ in one.originals], "preview": one.preview is not None}
        for one in plan.series
    ]
    told = {
        "job": plan.order.job,
        "frames": frames,
        "series": series,
        "pdf": prepared.prints,
        "missing": plan.missing,
        "cautions": plan.cautions,
        "faults": plan.faults,
    }
    click.echo(json.dumps({"folder": str(folder), **told}))
