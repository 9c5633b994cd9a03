"""The documents of a hand-over: the contact sheet, a set card for each set-up of the frames that leave, a match report
for each frame that was shot again, and the note on the tables."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import partial
from pathlib import Path, PurePosixPath

from storage.handover.handover_plan import TABLES, HandoverPlan
from storage.reading.views import SetPicture
from tui.paper.card_page import CardFacts, card_html
from tui.paper.match_page import match_facts, match_html
from tui.paper.pdf_print import print_pdf
from tui.paper.sheet_page import SheetFacts, write_sheet
from tui.paper.tables_note import tables_note
from tui.shell.reshot import Reshot

Document = tuple[str, Callable[[Path], None]]
"""Path in the hand-over, and what writes the file to the path that it is handed, which lies in the same folder."""


def documents_of(
    plan: HandoverPlan,
    agent: str,
    today: date,
    pictures: Mapping[str, Sequence[SetPicture]],
    reshot: Iterable[Reshot] = (),
    heard: Callable[[], None] = lambda: None,
) -> list[Document]:
    """Path in the hand-over and what writes it, the same each time.

    agent     program and version
    pictures  label of a revision → its pictures of the set
    reshot    frames that were shot again; each is measured when its report is written
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
    names = {frame.record.frame_id: frame.name for frame in plan.frames}
    for one in reshot:
        if one.frame is not None and one.frame.frame_id in names:
            path = f"match-reports/{names[one.frame.frame_id]}.html"
            found.append((path, partial(_write_report, reshot=one, agent=agent, today=today)))
    set_ups = sorted({record.setup for record in plan.records})
    there = {"ordered": plan.progress is not None, "in_planes": bool(plan.series)}
    note = tables_note(plan.order.job, plan.order.client, set_ups, agent, today, **there)
    found.append((f"{TABLES}/README.txt", partial(_write_text, text=note)))
    return found


def with_pdfs(documents: Sequence[Document], heard: Callable[[str], None]) -> Iterator[Document]:
    """The documents, and after each page the same as PDF beside it.

    heard  is told of letters that no font has, once a document
    """
    for path, write in documents:
        yield path, write
        page = PurePosixPath(path)
        if page.suffix == ".html":
            yield str(page.with_suffix(".pdf")), partial(_print, page=page.name, heard=heard)


def _print(path: Path, page: str, heard: Callable[[str], None]) -> None:
    heard(print_pdf(path.with_name(page).read_text(encoding="utf-8"), path))


def _write_report(path: Path, reshot: Reshot, agent: str, today: date) -> None:
    _write_text(path, match_html(match_facts(reshot, agent, today)))


def _write_card(path: Path, facts: CardFacts) -> None:
    _write_text(path, card_html(facts))


def _write_text(path: Path, text: str) -> None:
    path.write_bytes(text.encode("utf-8", "replace"))
