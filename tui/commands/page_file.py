"""A page that a command writes to a file of the user's choice: as it is, or printed where the name ends with `.pdf`."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import click

from storage.handover.bag import PART_ENDING, put_new
from tui.paper.pdf_print import missing_letters_words, pdf_refusal, print_pdf
from tui.shell.troubles import CommandFailed
from tui.words.harmless import harmless


def put_page(file: Path, parts: Iterable[str], what: str) -> None:
    """Write a page, whose parts (HTML) are asked for once, to a file that isn't there yet, and say so.

    what  words on the page for the closing sentence: `set card of set-up 07.3`
    Raises CommandFailed for a name that is taken, a file that can't be written, and where a PDF can't be printed.
    """
    as_pdf = file.suffix.lower() == ".pdf"
    refusal = pdf_refusal() if as_pdf else ""
    if refusal:
        raise CommandFailed(refusal)
    letters = ""

    def write(part: Path) -> None:
        nonlocal letters
        if as_pdf:
            letters = print_pdf("".join(parts), part)
            return
        with part.open("w", encoding="utf-8") as page:
            page.writelines(parts)

    try:
        written = put_new(file, write)
    except OSError as error:
        if error.filename is not None and not str(error.filename).endswith(PART_ENDING):
            raise
        raise CommandFailed(f"{harmless(str(file))} can't be written: {error.strerror or error}.") from error
    if not written:
        raise CommandFailed(f"{harmless(str(file))} is there already; nothing was written.")
    click.echo(f"{harmless(str(file))}: {what}.")
    if letters:
        click.echo(f"! {missing_letters_words(letters)}", err=True)
