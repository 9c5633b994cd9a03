"""An order in words: what is to go at the bench, and the lines of `stillset job`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from session.order.client_order import Delivery, Order, OrderedPiece, crop_text
from session.order.order_progress import Progress, ViewProgress
from session.set.client_standard import VALUES, Standard
from session.units.names import name_key
from session.units.value_words import name_words, value_words
from tui.words.harmless import NAME_CHARS, harmless


def count_words(count: int, thing: str) -> str:
    """`1 view`, `2 views`."""
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def place_words(progress: Progress, piece: str, *, short: bool = False) -> str:
    """`piece 2 of 3 · 2 views to go`, or `2 of 3 · 2 to go`: where in the order the piece is, and what is to go."""
    number = progress.piece_number(piece)
    where = f"{number} of {len(progress.order.pieces)} · " if number else ""
    if not short:
        return f"{'piece ' if number else ''}{where}{to_go_count(progress)}"
    return where + (f"{len(progress.to_go)} to go" if progress.to_go else "all done")


def leave_words(progress: Progress) -> str:
    """`2 views of the order to go: ring 4: front, top.`: what leaving now would forget; "" when all is done."""
    to_go = progress.to_go
    return f"{count_words(len(to_go), 'view')} of the order to go: {missing_words(to_go)}." if to_go else ""


def to_go_count(progress: Progress) -> str:
    """`2 views to go`, or `all views done`."""
    to_go = len(progress.to_go)
    return f"{count_words(to_go, 'view')} to go" if to_go else "all views done"


def missing_words(views: Sequence[ViewProgress], most: int = 4) -> str:
    """`ring 4: front, top; ring 5: front`, of at most so many views, and how many more."""
    told = [
        f"{harmless(piece, NAME_CHARS)}: {', '.join(harmless(one.view, NAME_CHARS) for one in some)}"
        for piece, some in groupby(views[:most], key=lambda one: one.piece.name)
    ]
    more = len(views) - most
    return "; ".join(told) + (f"; and {more} more" if more > 0 else "")


def order_lines(order: Order) -> list[str]:
    """The order as lines of text: the job's terms, then the pieces with their views."""
    rows = [
        ("client", order.client),
        ("due", order.due_on.isoformat() if order.due_on else ""),
        ("rights", order.rights),
        ("credit", order.credit),
        ("delivery", delivery_words(order.delivery)),
    ]
    lines = [f"Job {harmless(order.job, NAME_CHARS)}: {order_counts(order)}"]
    lines += [f"  {name:<9}{harmless(text)}" for name, text in rows if text]
    for number, piece in enumerate(order.pieces, 1):
        lines.append(f"{number:>4}  {piece_words(piece)}")
        lines.append(f"      {', '.join(_view_words(order, piece, view) for view in piece.views)}")
    lines += [f"Standard {standard_words(standard)}" for standard in order.standards]
    return lines


def _view_words(order: Order, piece: OrderedPiece, view: str) -> str:
    """`front`, or `front (catalogue-white)` for a view with a standard."""
    standard = order.standard_of(piece, view)
    return harmless(view, NAME_CHARS) + (f" ({harmless(standard.name, NAME_CHARS)})" if standard else "")


def standard_words(standard: Standard) -> str:
    """`catalogue-white: background 2.0 EV, shadow on the left …`: the name, and what was agreed."""
    told = {name: getattr(standard, name) for name in VALUES}
    words = [f"{name_words(name)} {value_words(name, value)}" for name, value in told.items() if value is not None]
    return harmless(f"{standard.name}: {', '.join(words) or 'nothing agreed yet'}")


def order_counts(order: Order) -> str:
    """`2 pieces, 5 views`."""
    return f"{count_words(len(order.pieces), 'piece')}, {count_words(sum(len(p.views) for p in order.pieces), 'view')}"


def piece_words(piece: OrderedPiece) -> str:
    """`ring 4 (A-104), 21 × 24 × 6 mm, polished`."""
    sides = [piece.width_mm, piece.height_mm, piece.depth_mm]
    while sides and sides[-1] is None:
        sides.pop()
    size = " × ".join("?" if side is None else f"{side:g}" for side in sides) + " mm" if sides else ""
    article = f" ({harmless(piece.article_number, NAME_CHARS)})" if piece.article_number else ""
    parts = (f"{harmless(piece.name, NAME_CHARS)}{article}", size, harmless(piece.surface, NAME_CHARS))
    return ", ".join(part for part in parts if part)


def delivery_words(delivery: Delivery) -> str:
    """`2400 × 3000 px, 4:5, margin 10 %, jpeg, sRGB`; "" where all is open."""
    width, height = delivery.pixels
    size = f"{width or '?'} × {height or '?'} px" if width or height else ""
    if delivery.width_mm or delivery.height_mm:
        sides = " × ".join("?" if side is None else f"{side:g}" for side in (delivery.width_mm, delivery.height_mm))
        size = f"{sides} mm at {delivery.ppi:g} ppi ({size})"
    parts = [
        size,
        crop_text(delivery.crop_ratio) if delivery.crop_ratio else "",
        "" if delivery.margin_percent is None else f"margin {delivery.margin_percent:g} %",
        delivery.file_format or "",
        delivery.colour_space,
    ]
    return ", ".join(harmless(part) for part in parts if part)


def status_lines(progress: Progress) -> list[str]:
    """How far the order is, a line for each view: done by which frames, or to go and why."""
    wanted = [view for view in progress.views if view.wanted]
    done = sum(view.is_done for view in wanted)
    due = f", due {progress.order.due_on.isoformat()}" if progress.order.due_on else ""
    lines = [
        f"Job {harmless(progress.order.job, NAME_CHARS)}{due}: {done} of {count_words(len(wanted), 'view')} done,"
        f" {to_go_count(progress)}."
    ]
    for _, views in groupby(progress.views, key=lambda one: name_key(one.piece.name)):
        several = list(views)
        lines.append(harmless(several[0].piece.name, NAME_CHARS))
        lines += [
            f"  {view_state(view):<6} {harmless(view.view, NAME_CHARS):<20} {_frames_words(view)}" for view in several
        ]
    return lines


def view_state(view: ViewProgress) -> str:
    """`done`, `to go`, or `extra` for a view that was shot and isn't ordered any more."""
    if not view.wanted:
        return "extra"
    return "done" if view.is_done else "to go"


def _frames_words(view: ViewProgress) -> str:
    if not view.frames:
        return "no frame yet"
    heroes = [f"hero {number}" for number in view.heroes]
    if len(heroes) > 1:
        heroes = [f"heroes {_numbers(view.heroes)}: one of them is wanted"]
    good = [frame.number for frame in view.frames if frame.is_good]
    words = heroes or ([f"good {_numbers(good)}, no hero yet"] if good else ["none of them good yet"])
    if view.heroes_not_judged:
        words[0] += f", focus of {_numbers(view.heroes_not_judged)} not judged"
    return f"{count_words(len(view.frames), 'frame')}; {words[0]}"


def _numbers(numbers: Iterable[int], most: int = 6) -> str:
    told = [str(number) for number in numbers]
    return ", ".join(told[:most]) + ("…" if len(told) > most else "")
