"""Invented orders for tests of the log, and the progress of one as its reader shows it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from session.order.client_order import DeliveredFormat, Delivery, Order, OrderedPiece
from session.set.client_standard import ShadowSide, Standard
from storage.reading.log_reader import LogReader

ORDER = Order(
    "Spring line",
    "Invented & Sons",
    date(2026, 12, 5),
    "one year, web",
    "A. Photographer",
    Delivery(2400, 3000, None, None, 300.0, 0.8, 10.0, DeliveredFormat.TIFF, "sRGB"),
    (
        OrderedPiece("ring 1", "A-101", 21.0, 24.0, 6.0, "polished", ("front", "top")),
        OrderedPiece("ring 2", "", None, None, None, "", ("front",)),
    ),
)


WHITE = Standard("catalogue-white", 50.0, 55.0, 3.0, 12.0, ShadowSide.LEFT, 2.0, 0.3, 0.2, 2.0, 4.0, 0.8)
AGREED = replace(
    ORDER,
    pieces=(
        replace(ORDER.pieces[0], standards=(("front", "catalogue-white"), ("top", "plain"))),
        replace(ORDER.pieces[1], standards=(("front", "catalogue-white"),)),
    ),
    standards=(WHITE, Standard("plain", blur_limit_px=1.5)),
)


def shown(reader: LogReader) -> list[tuple[str, str, int, bool, bool]]:
    """Piece, view, count of frames, whether it is wanted and whether it is done, for each view of the order."""
    progress = reader.progress("spring line")
    assert progress is not None
    return [(v.piece.name, v.view, len(v.frames), v.wanted, v.is_done) for v in progress.views]
