"""`stillset job`: what a client wants, read from a table or typed, and how much of it is done."""

from __future__ import annotations

import json
from contextlib import closing
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from session.order.client_order import Delivery, Order
from session.order.order_progress import Progress
from session.order.order_table import (
    MOST_BYTES,
    OrderFileError,
    read_due,
    read_format,
    read_order,
    read_side,
    require_table,
)
from session.set.client_standard import VALUES, Standard
from session.units.names import name_key
from session.units.refusals import UnreadableTextError
from tui.shell.choices import default_log, json_option, log_option, log_to_write
from tui.shell.options import Refused, argument, quantity, refusing, stack_options
from tui.shell.troubles import CommandFailed
from tui.words.harmless import harmless, storable
from tui.words.order_words import (
    count_words,
    missing_words,
    order_counts,
    order_lines,
    standard_words,
    status_lines,
    view_state,
)

if TYPE_CHECKING:
    from storage.writing.order_rows import OrderKept

job_option = click.option("--job", default="", help="The job; else the last one.")

AT_ITS_BENCH = "Type the order there (`O`, a piece and its views, or the name of the CSV file), or leave it first."

SIZE = {"width_px", "height_px", "width_mm", "height_mm", "ppi"}
"""Options that say a size together: any of them replaces the whole size."""

delivery_options = stack_options(
    quantity("width_px", "Width of the delivered picture."),
    quantity("height_px", "Height of the delivered picture."),
    quantity("width_mm", "Width as printed; wants --ppi."),
    quantity("height_mm", "Height as printed; wants --ppi."),
    quantity("ppi", "Pixels per inch of the print."),
    quantity("crop_ratio", "Width to height, like 4:5."),
    quantity("margin_percent", "Free around the piece on each side."),
    click.option("--file-format", default="", help="jpeg or tiff."),
    click.option("--colour-space", default="", help="As the client calls it, like sRGB."),
)

CLEARABLE = [name.replace("_", "-") for name in VALUES]

standard_options = stack_options(
    quantity("across_percent", "The piece's middle, from the left edge of the picture."),
    quantity("down_percent", "The piece's middle, from the upper edge."),
    quantity("framing_tolerance_percent", "How far it may lie off, of the long side; else 2 %."),
    quantity("margin_percent", "Free around the piece on each side, at least."),
    quantity("background_ev", "Light of the ground over mid grey; white is +2.5."),
    quantity("background_tolerance_ev", "How far the ground may be off; else 0.25 EV."),
    quantity("exposure_tolerance_ev", "From piece to piece, by the ground."),
    quantity("colour_tolerance_de2000", "From piece to piece, ΔE2000 of ground or grey patch."),
    quantity("size_tolerance_percent", "Of the piece's size in the picture, from piece to piece."),
    quantity("blur_limit_px", "Blur radius against the reference."),
)


@click.group()
def job() -> None:
    """The order: pieces and views that a client wants, what is done, what is to go."""


@job.command()
@argument("file", type=click.Path(path_type=Path))
@log_option
@click.option("--job", "name", default="", help="The job's name, where the file has no column for it.")
@json_option
def read(file: Path, log: str | None, name: str, as_json: bool) -> None:
    """Read an order from a CSV FILE; read again, it is brought up to date. What was shot is never dropped.

    Nothing is kept when a row is wrong: every fault is told by row and column. docs/orders.md lists the columns.
    """
    try:
        with file.open("rb") as opened:
            order = read_order(opened.read(MOST_BYTES + 1), storable(name))
    except OrderFileError as error:
        raise Refused(harmless_lines(error) + f"\nNothing was read from {harmless(str(file))}.") from None
    _tell(_keep(log, order, file.name), order, as_json)


@job.command()
@argument("name")
@log_option
@click.option("--client", default="", help="Who wants the pictures.")
@click.option("--due", default="", metavar="DATE", help="The day they are wanted, like 2026-12-05.")
@click.option("--rights", default="", help="The line of rights that goes into the files.")
@click.option("--credit", default="", help="The line of credit that goes into the files.")
@delivery_options
@click.option(
    "--wanted",
    multiple=True,
    metavar="'PIECE: VIEW, VIEW'",
    help="A piece with the views that are wanted of it; repeat for more.",
)
@json_option
def new(
    name: str, log: str | None, client: str, due: str, rights: str, credit: str, wanted: tuple[str, ...],
    as_json: bool, **delivery: Any,
) -> None:  # fmt: skip
    """Type an order for the job NAME. Of a job that has one, what is given is changed, and views are added."""
    typed = {"client": storable(client), "rights": storable(rights), "credit": storable(credit)}
    with refusing():
        given = {key: value for key, value in delivery.items() if value not in (None, "")}
        if "file_format" in given:
            given["file_format"] = read_format(given["file_format"])
        due_on = read_due(due) if due else None
        path = log_to_write(log or default_log())
        before = _progress_of(path, name)
        order = before.order if before else Order(storable(name))
        said: dict[str, Any] = {key: text for key, text in typed.items() if text}
        order = replace(order, **said, due_on=due_on or order.due_on)
        size = ("width_px", "height_px", "width_mm", "height_mm", "ppi")
        kept = {
            key: value for key, value in vars(order.delivery).items() if not (set(given) & set(size) and key in size)
        }
        order = replace(order, delivery=Delivery(**{**kept, **given}))
    for text in wanted:
        piece, views = _piece_and_views(text)
        order = order.with_views(piece, views)
    if not order.pieces:
        raise click.UsageError("an order wants a piece: --wanted 'ring 4: front, top'")
    _refuse_what_no_table_holds(order)
    _tell(_keep(log, order, ""), order, as_json)


@job.command()
@argument("name")
@log_option
@job_option
@standard_options
@click.option("--shadow-side", default="", help="Where the piece's shadow lies: left, right, above, below.")
@click.option(
    "--clear", "cleared", multiple=True, type=click.Choice(CLEARABLE), help="A value to leave open; repeatable."
)
@click.option("--view", "views", multiple=True, help="A view that it holds for; repeat for more. Else every view.")
@click.option("--piece", "pieces", multiple=True, help="A piece that it holds for; repeat for more. Else every piece.")
@json_option
def standard(
    name: str, log: str | None, job: str, shadow_side: str, cleared: tuple[str, ...], views: tuple[str, ...],
    pieces: tuple[str, ...], as_json: bool, **values: Any,
) -> None:  # fmt: skip
    """Keep what the client agreed, under NAME, for views of the order.

    Of a known standard, what is given is changed, and what is cleared isn't judged any more.
    """
    order = _looked_up(log, job).order
    with refusing():
        known = next((one for one in order.standards if name_key(one.name) == name_key(name)), None)
        said = values | {"shadow_side": read_side(shadow_side) if shadow_side else None}
        left_open = [one.replace("-", "_") for one in cleared]
        wanted = (known or Standard(storable(name))).without(left_open).with_values(**said)
    of_views, of_pieces = ({name_key(one) for one in some} for some in (views, pieces))
    chosen = {
        (name_key(piece.name), name_key(view))
        for piece, view in order.views()
        if (not of_views or name_key(view) in of_views) and (not of_pieces or name_key(piece.name) in of_pieces)
    }
    if known and not (views or pieces):
        chosen = {pair for pair in chosen if _has(order, pair, known)}
    if not chosen:
        raise click.UsageError("the order has no such view; `stillset job show` lists its pieces and views")
    changed = order.with_standard(wanted, chosen)
    _refuse_what_no_table_holds(changed)
    _keep(log, changed, "")
    if as_json:
        click.echo(json.dumps({**asdict(wanted), "views": len(chosen)}))
    else:
        click.echo(f"Standard {standard_words(wanted)}: {count_words(len(chosen), 'view')}.")


def _has(order: Order, pair: tuple[str, str], standard: Standard) -> bool:
    piece = next(piece for piece in order.pieces if name_key(piece.name) == pair[0])
    return order.standard_of(piece, pair[1]) == standard


@job.command()
@log_option
@job_option
@json_option
def show(log: str | None, job: str, as_json: bool) -> None:
    """Show what is wanted: client, date, delivery, pieces with their views."""
    order = _looked_up(log, job).order
    if as_json:
        click.echo(json.dumps(asdict(order), default=str))
    else:
        click.echo("\n".join(order_lines(order)))


@job.command()
@log_option
@job_option
@json_option
@click.option("--missing", is_flag=True, help="Only the views to go. Exit code 1 when there are some.")
def status(log: str | None, job: str, as_json: bool, missing: bool) -> None:
    """Say how far the order is: the views done, by which frames, and the views to go."""
    progress = _looked_up(log, job)
    views = progress.to_go if missing else progress.views
    if as_json:
        for view in views:
            click.echo(
                json.dumps(
                    {
                        "job": progress.order.job,
                        "piece": view.piece.name,
                        "article_number": view.piece.article_number,
                        "view": view.view,
                        "state": view_state(view),
                        "frames": [frame.number for frame in view.frames],
                        "heroes": list(view.heroes),
                        "heroes_not_judged": list(view.heroes_not_judged),
                    }
                )
            )
    else:
        lines = status_lines(progress) if not missing else []
        lines += [f"To go: {missing_words(views, len(views))}."] if views and missing else []
        click.echo("\n".join(lines or ["All views are done."]))
    if missing and views:
        click.get_current_context().exit(1)


def _refuse_what_no_table_holds(order: Order) -> None:
    try:
        require_table(order)
    except UnreadableTextError as error:
        raise Refused(harmless(str(error))) from None


def harmless_lines(error: OrderFileError) -> str:
    """The faults, a line each, fit for a terminal."""
    return "\n".join(harmless(line) for line in str(error).splitlines())


def _keep(log: str | None, order: Order, read_from: str) -> OrderKept:
    from storage.files.writer_lock import LogInUseError  # noqa: PLC0415
    from storage.writing.log import SqlLog  # noqa: PLC0415

    try:
        with closing(SqlLog.open(log_to_write(log or default_log()))) as writer:
            return writer.keep_order(order, read_from)
    except LogInUseError as error:
        raise CommandFailed(f"{error} {AT_ITS_BENCH}") from error


def _tell(kept: OrderKept, order: Order, as_json: bool) -> None:
    if as_json:
        click.echo(json.dumps(asdict(kept)))
        return
    click.echo(f"Job {harmless(kept.job)}: {order_counts(order)}; {count_words(len(kept.added), 'view')} new.")
    if kept.dropped:
        click.echo(f"Not ordered any more, and never shot: {_pairs(kept.dropped)}.")
    if kept.shot:
        click.echo(f"Not ordered any more, but shot, so they stay: {_pairs(kept.shot)}.")


def _pairs(views: tuple[tuple[str, str], ...], most: int = 8) -> str:
    told = [f"{harmless(piece)}, {harmless(view)}" for piece, view in views[:most]]
    return "; ".join(told) + (f"; and {len(views) - most} more" if len(views) > most else "")


def _piece_and_views(text: str) -> tuple[str, tuple[str, ...]]:
    piece, sign, views = text.rpartition(":")
    named = tuple(storable(view) for view in views.split(",") if storable(view))
    if not sign or not storable(piece) or not named:
        raise click.UsageError(f"{text!r} is not like 'ring 4: front, top'")
    return storable(piece), named


def _progress_of(path: Path, job: str) -> Progress | None:
    from storage.files.writer_lock import LogInUseError  # noqa: PLC0415
    from storage.reading.log_reader import LogReader  # noqa: PLC0415
    from storage.writing.log import SqlLog  # noqa: PLC0415

    try:
        SqlLog.open(path).close()  # made where it is new, brought up to date where it is old
    except LogInUseError as error:
        raise CommandFailed(f"{error} {AT_ITS_BENCH}") from error
    with LogReader.looking(path) as reader:
        return reader.progress(job)


def _looked_up(log: str | None, job: str) -> Progress:
    """The progress of the job of that name, else of the job worked on last that has an order. Raises CommandFailed."""
    from storage.reading.log_reader import LogReader  # noqa: PLC0415

    with LogReader.looking(log or default_log()) as reader:
        names = [job] if job else [row.name for row in reader.jobs()]
        found = next((one for name in names if (one := reader.progress(name)) is not None), None)
    if found is None:
        raise CommandFailed(
            f"Job {job!r} has no order in this log; read one with `stillset job read FILE.csv`."
            if job
            else "No job in this log has an order; read one with `stillset job read FILE.csv`."
        )
    return found
