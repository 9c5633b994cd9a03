"""`stillset card`: the set card of a set-up as a page to print, or printed."""

from __future__ import annotations

from datetime import datetime
from importlib.metadata import version
from pathlib import Path

import click

from session.set.setup import Revision
from session.units.numbers import mm_text
from tui.commands.setup_command import find_revision, of_job_words
from tui.shell.choices import Label, default_log, log_option
from tui.shell.options import NewFile, argument


@click.command()
@argument("label", type=Label(), metavar="SETUP")
@argument("file", type=NewFile())
@log_option
@click.option("--job", default="", help="The job; else the last one.")
@click.option("--kit", type=click.Path(path_type=Path), envvar="STILLSET_KIT", help="Kit file, for the depth of field.")
def card(label: str, file: Path, log: str | None, job: str, kit: Path | None) -> None:
    """Write the set card of SETUP to FILE: reference, plan to scale, lights, lens, order of building, cautions.

    A page of two sides of A4 that holds its picture and runs no script; FILE.pdf is that page printed (extra `pdf`).
    Never written over an existing file.
    """
    from storage.reading.log_reader import LogReader  # noqa: PLC0415
    from tui.commands.page_file import put_page  # noqa: PLC0415
    from tui.paper.card_page import CardFacts, card_html  # noqa: PLC0415

    with LogReader.looking(log or default_log()) as reader:
        revision = find_revision(reader, job, label)
        row = reader.job_named(job)
        name = row.name if row else job
        of_number = [row for row in reader.setups(name) if row.number == revision.setup_number]
        numbers = [number for row in of_number for number in row.references.values()]
        reference = reader.frame_numbered(name, numbers[0]) if numbers else None
        agent, today = f"stillset {version('stillset')}", datetime.now().astimezone().date()
        shown, client = (row.name, row.client) if row else (name, "")
        pictures = reader.set_pictures(name, revision)
        facts = CardFacts(shown, client, revision, reference, agent, today, _depth_words(revision, kit), pictures)
        page = card_html(facts)
        called = f"{revision.label}{of_job_words(reader, row)}"
    put_page(file, (page,), f"set card of set-up {called}")


def _depth_words(revision: Revision, kit: Path | None) -> str:
    """Depth of field by the kit; "" without a kit, or where its parts don't go together. Raises KitError."""
    from session.rules.lens_rules import depth_here  # noqa: PLC0415
    from session.rules.situation import Situation  # noqa: PLC0415
    from session.set.kit import read_kit  # noqa: PLC0415

    if kit is None:
        return ""
    try:
        found = depth_here(Situation(revision, read_kit(kit)))
    except ValueError:
        return ""
    if found is None:
        return ""
    return mm_text(found.depth_mm) + (", by diffraction nowhere as sharp as the limit" if found.never_sharp else "")
