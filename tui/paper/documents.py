"""The documents of a hand-over: the contact sheet, and a set card for each set-up of the frames that leave."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from functools import partial
from pathlib import Path

from storage.handover.handover_plan import HandoverPlan
from storage.reading.views import SetPicture
from tui.paper.card_page import CardFacts, card_html
from tui.paper.sheet_page import SheetFacts, write_sheet


def documents_of(
    plan: HandoverPlan,
    agent: str,
    today: date,
    pictures: Mapping[str, Sequence[SetPicture]],
    heard: Callable[[], None] = lambda: None,
) -> list[tuple[str, Callable[[Path], None]]]:
    """Path in the hand-over and what writes it, the same each time.

    agent     program and version
    pictures  label of a revision → its pictures of the set
    heard     called between the frames of the sheet
    """
    sheet = SheetFacts(plan.order.job, plan.order.client, plan.progress, agent, today)
    found: list[tuple[str, Callable[[Path], None]]] = [
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


def _write_card(path: Path, facts: CardFacts) -> None:
    path.write_bytes(card_html(facts).encode("utf-8", "replace"))
