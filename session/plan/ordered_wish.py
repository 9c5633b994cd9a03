"""The planner's first wish for a view of the order: the piece's size, and the pixels and margin of the delivery."""

from __future__ import annotations

from dataclasses import replace

from session.order.order_progress import Progress
from session.plan.wish import Wish


def ordered_wish(wish: Wish, progress: Progress | None, piece: str, view: str) -> Wish:
    """The wish with the order's numbers for this view; the wish unchanged for a view that isn't ordered.

    The blur allowed follows from the order's pixels. Raises ValueError for contradictory numbers.
    """
    found = progress.of(piece, view) if progress else None
    if progress is None or found is None:
        return wish
    delivery, ordered = progress.order.delivery, found.piece
    width_px, height_px = delivery.pixels
    if width_px is None and height_px and delivery.ratio:
        width_px = round(height_px * delivery.ratio)
    changes: dict[str, float | None] = {}
    if ordered.width_mm and ordered.height_mm:
        changes |= {"piece_width_mm": ordered.width_mm, "piece_height_mm": ordered.height_mm}
    if width_px:
        changes |= {"delivered_pixels": float(width_px), "blur_radius_on_piece_mm": None}
    if delivery.margin_percent is not None:
        changes["fill"] = 1 - 2 * delivery.margin_percent / 100
    return replace(wish, **changes)  # type: ignore[arg-type]
