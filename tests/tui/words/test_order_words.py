"""An order in words: counts with their plural, what is to go, how a view stands, and names that try to be more."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from session.frame.finding import FocusVerdict
from session.frame.states import FrameState, Mark
from session.order.client_order import Delivery, Order, OrderedPiece
from session.order.order_progress import Progress, ShotFrame, ViewProgress
from tui.words.order_words import (
    count_words,
    leave_words,
    missing_words,
    order_counts,
    order_lines,
    piece_words,
    place_words,
    status_lines,
    to_go_count,
    view_state,
)

RING = OrderedPiece("ring 4", article_number="A-104", width_mm=21.0, height_mm=24.0, views=("front", "top"))
CLASP = OrderedPiece("clasp", views=("front",))
ORDER = Order("Spring", "Client & Daughters", date(2026, 12, 1), pieces=(RING, CLASP))


def shot(number: int, mark: str | None = None, focus: FocusVerdict = FocusVerdict.SHARP) -> ShotFrame:
    return ShotFrame(number, FrameState.LOGGED, mark, focus, None, False)


def progress(*frames: tuple[ShotFrame, ...], wanted: tuple[bool, ...] = (True, True, True)) -> Progress:
    places = ((RING, "front"), (RING, "top"), (CLASP, "front"))
    shot_ = [*frames, *[()] * (3 - len(frames))]
    views = (
        ViewProgress(piece, view, some, want) for (piece, view), some, want in zip(places, shot_, wanted, strict=True)
    )
    return Progress(ORDER, tuple(views))


@pytest.mark.parametrize(("count", "words"), [(0, "0 views"), (1, "1 view"), (2, "2 views")])
def test_one_is_one_and_all_else_are_many(count: int, words: str) -> None:
    assert count_words(count, "view") == words


@pytest.mark.parametrize(
    ("frames", "long", "short"),
    [
        ((), "piece 1 of 2 · 3 views to go", "1 of 2 · 3 to go"),
        (((shot(1),), (shot(2),)), "piece 1 of 2 · 1 view to go", "1 of 2 · 1 to go"),
        (((shot(1),), (shot(2),), (shot(3),)), "piece 1 of 2 · all views done", "1 of 2 · all done"),
        (((shot(1, focus=FocusVerdict.MISSED),),), "piece 1 of 2 · 3 views to go", "1 of 2 · 3 to go"),
    ],
)
def test_where_in_the_order_the_piece_is_and_what_is_to_go(
    frames: tuple[tuple[ShotFrame, ...], ...], long: str, short: str
) -> None:
    now = progress(*frames)
    assert (place_words(now, "RING 4"), place_words(now, "ring 4", short=True)) == (long, short)


def test_a_piece_outside_the_order_has_no_place_in_it() -> None:
    assert place_words(progress(), "somebody's") == "3 views to go"
    assert place_words(progress(), "somebody's", short=True) == "3 to go"


def test_leaving_names_what_would_be_forgotten_and_nothing_when_all_is_done() -> None:
    assert leave_words(progress()) == "3 views of the order to go: ring 4: front, top; clasp: front."
    assert leave_words(progress((shot(1),), (shot(2),))) == "1 view of the order to go: clasp: front."
    done = progress((shot(1),), (shot(2),), (shot(3),))
    assert leave_words(done) == "" and to_go_count(done) == "all views done"


def test_of_many_views_only_some_are_named() -> None:
    many = [ViewProgress(OrderedPiece(f"p{n}"), "front") for n in range(7)]
    assert missing_words(many, most=2) == "p0: front; p1: front; and 5 more"
    assert missing_words(many[:2], most=2) == "p0: front; p1: front"
    assert missing_words([]) == ""


@pytest.mark.parametrize(
    ("frames", "wanted", "state", "words"),
    [
        ((), True, "to go", "no frame yet"),
        ((shot(1, focus=FocusVerdict.SOFT),), True, "to go", "1 frame; none of them good yet"),
        ((shot(1), shot(2)), True, "done", "2 frames; good 1, 2, no hero yet"),
        ((shot(1, Mark.HERO), shot(2)), True, "done", "2 frames; hero 1"),
        ((shot(1, Mark.HERO), shot(2, Mark.HERO)), True, "done", "2 frames; heroes 1, 2: one of them is wanted"),
        ((shot(1, Mark.KILL),), True, "to go", "1 frame; none of them good yet"),
        ((shot(1),), False, "extra", "1 frame; good 1, no hero yet"),
    ],
)
def test_how_a_view_stands_is_said_on_its_line(
    frames: tuple[ShotFrame, ...], wanted: bool, state: str, words: str
) -> None:
    now = progress(frames, wanted=(wanted, True, True))
    assert view_state(now.views[0]) == state
    lines = status_lines(now)
    assert lines[0].startswith("Job Spring, due 2026-12-01: ") and lines[1] == "ring 4"
    assert lines[2].split() == f"{state} front {words}".split()


def test_the_order_itself_is_told_with_its_terms_and_pieces() -> None:
    lines = order_lines(ORDER)
    assert lines[0] == f"Job Spring: {order_counts(ORDER)}" == "Job Spring: 2 pieces, 3 views"
    assert "  client   Client & Daughters" in lines and "  due      2026-12-01" in lines
    assert "   1  ring 4 (A-104), 21 × 24 mm" in lines and "      front, top" in lines
    assert not any(line.strip().startswith(("rights", "credit")) for line in lines), "what is open is left out"


@pytest.mark.parametrize(
    ("piece", "words"),
    [
        (OrderedPiece("clasp"), "clasp"),
        (OrderedPiece("clasp", width_mm=21.0), "clasp, 21 mm"),
        (OrderedPiece("clasp", depth_mm=6.5), "clasp, ? × ? × 6.5 mm"),
        (OrderedPiece("clasp", surface="polished"), "clasp, polished"),
        (OrderedPiece("clasp", "A-1", 21.0, 24.0, 6.0, "matt"), "clasp (A-1), 21 × 24 × 6 mm, matt"),
    ],
)
def test_a_piece_is_told_as_far_as_it_is_known(piece: OrderedPiece, words: str) -> None:
    assert piece_words(piece) == words


def test_names_that_try_to_be_more_than_names_stay_text() -> None:
    bad = OrderedPiece("\x1b[31mred\x07", views=("fr\nont",))
    order = Order("j\x1b]0;title\x07", pieces=(bad,), delivery=Delivery())
    for line in order_lines(order):
        assert not any(ord(sign) < 32 or ord(sign) == 127 for sign in line), line


def test_a_hero_whose_focus_no_check_has_judged_is_said_so_where_the_order_stands() -> None:
    unjudged = shot(1, Mark.HERO, FocusVerdict.UNJUDGED)
    line = status_lines(progress((unjudged,)))[2]
    assert line.endswith("1 frame; hero 1, focus of 1 not judged")
    assert "not judged" not in "\n".join(status_lines(progress((replace(unjudged, is_reference=True),))))
    assert "not judged" not in "\n".join(status_lines(progress((replace(unjudged, mark=None),))))
