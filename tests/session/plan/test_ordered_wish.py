"""The first wish for a view of the order: the piece's size, the delivery's pixels and margin, and nothing guessed."""

from typing import Any

import pytest

from session.order.client_order import Delivery, Order, OrderedPiece
from session.order.order_progress import Progress, ViewProgress
from session.plan.ordered_wish import ordered_wish
from session.plan.wish import Wish

WISH = Wish(50, 40, 3.0, blur_radius_on_piece_mm=0.02)


def progress(delivery: Delivery | None = None, **piece: Any) -> Progress:
    ordered = OrderedPiece("Ring 4", views=("front",), **piece)
    order = Order("Shop", delivery=delivery or Delivery(), pieces=(ordered,))
    return Progress(order, (ViewProgress(ordered, "front", (), wanted=True),))


def wished(delivery: Delivery | None = None, **piece: Any) -> Wish:
    return ordered_wish(WISH, progress(delivery, **piece), "ring 4", "Front")


def test_without_an_order_or_for_another_view_the_wish_stays() -> None:
    told = progress(Delivery(width_px=2400), width_mm=22.0, height_mm=22.0)
    assert ordered_wish(WISH, None, "Ring 4", "front") is WISH
    assert ordered_wish(WISH, told, "Ring 5", "front") is WISH
    assert ordered_wish(WISH, told, "Ring 4", "back") is WISH


def test_an_open_order_changes_nothing() -> None:
    assert wished() == WISH


def test_the_size_of_the_piece_is_taken_when_both_sides_are_told() -> None:
    both = wished(width_mm=22.0, height_mm=18.0)
    assert (both.piece_width_mm, both.piece_height_mm) == (22.0, 18.0)
    assert wished(width_mm=22.0) == WISH
    assert wished(height_mm=18.0, depth_mm=5.0) == WISH


@pytest.mark.parametrize(
    ("delivery", "pixels"),
    [
        (Delivery(width_px=2400), 2400),
        (Delivery(width_px=2400, height_px=3000), 2400),
        (Delivery(height_px=3000, crop_ratio=0.8), 2400),
        (Delivery(width_mm=254, ppi=300), 3000),
        (Delivery(height_px=3000), None),  # of an open shape the width can't be told
        (Delivery(ppi=300), None),
    ],
)
def test_the_width_in_pixels_sets_the_blur_that_is_allowed(delivery: Delivery, pixels: int | None) -> None:
    found = wished(delivery)
    assert found.delivered_pixels == pixels
    if pixels is None:
        assert found == WISH
    else:
        assert found.blur_radius_mm == pytest.approx(found.framed_width_mm / pixels)


def test_a_margin_on_either_side_leaves_the_rest_to_the_piece() -> None:
    assert wished(Delivery(margin_percent=10.0)).fill == pytest.approx(0.8)
    assert wished(Delivery(margin_percent=0.0)).fill == 1.0


def test_margins_that_leave_nothing_to_the_piece_are_refused() -> None:
    with pytest.raises(ValueError, match=r"fill is |margin_percent is "):
        wished(Delivery(margin_percent=49.9))
