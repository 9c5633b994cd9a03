"""The documents of a hand-over: the contact sheet, and a set card for each set-up of the frames that leave."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from functools import partial
from pathlib import Path, PurePosixPath

from storage.handover.handover_plan import HandoverPlan
from storage.reading.views import SetPicture
from tui.paper.card_page import CardFacts, card_html
from tui.paper.pdf_print import print_pdf
from tui.paper.sheet_page import SheetFacts, write_sheet

Document = tuple[str, Callable[[Path], None]]
"""Path in the hand-over, and what writes the file to the path that it is handed, which lies in the same folder."""


def documents_of(
    plan: HandoverPlan,
    agent: str,
    today: date,
    pictures: Mapping[str, Sequence[SetPicture]],
    heard: Callable[[], None] = lambda: None,
) -> list[Document]:
    """Path in the hand-over and what writes it, the same each time.

    agent     program and version
    pictures  label of a revision → its pictures of the set
    heard     called between the frames of the sheet
    """
    sheet = SheetFacts(plan.order.job, plan.order.client, plan.progress, agent, today)
    found: list[Document] = [
        ("contact-sheet.html", partial(write_sheet, facts=sheet, records=plan.records, heard=heard))
    ]
    by_number = {record.number: record for record in plan.records}
    for record in {frame.record.setup: frame.record for frame in plan.frames}.values():
        reference = by_number.get(record.reference) if record.reference else None
        facts = CardFacts(
            plan.order.job,
            plan.order.client,
            record.revision,
            reference,
            agent,
            today,
            pictures=pictures.get(record.setup, ()),
        )
        found.append((f"set-cards/{record.setup}.html", partial(_write_card, facts=facts)))
    return found


def with_pdfs(documents: Sequence[Document], heard: Callable[[str], None]) -> Iterator[Document]:
    """The documents, and after each the same page as PDF beside it.

    heard  is told of letters that no font has, once a document
    """
    for path, write in documents:
        yield path, write
        page = PurePosixPath(path)
        yield str(page.with_suffix(".pdf")), partial(_print, page=page.name, heard=heard)


def _print(path: Path, page: str, heard: Callable[[str], None]) -> None:
    heard(print_pdf(path.with_name(page).read_text(encoding="utf-8"), path))


def _write_card(path: Path, facts: CardFacts) -> None:
    path.write_bytes(card_html(facts).encode("utf-8", "replace"))
