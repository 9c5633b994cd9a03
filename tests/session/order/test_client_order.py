"""An order as a value: sizes that agree, views and standards added without losing any, names as people write them."""

import math
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.order.client_order import Delivery, Order, OrderedPiece, crop_text
from session.set.client_standard import Standard
from session.units.names import name_key

NAMES = st.sampled_from(["Ring 12", "ring  12", "Caliper", "Watch", "watch ", "Étui"])
VIEWS = st.lists(st.sampled_from(["front", "Front", "back", "detail 1"]), max_size=4).map(tuple)


@pytest.mark.parametrize(
    ("fields", "pixels"),
    [
        ({}, (None, None)),
        ({"width_px": 2400}, (2400, None)),
        ({"width_px": 2400, "height_px": 3000}, (2400, 3000)),
        ({"width_mm": 25.4, "ppi": 300.0}, (300, None)),
        ({"width_mm": 210.0, "height_mm": 297.0, "ppi": 300.0}, (2480, 3508)),  # A4, as printers count it
        ({"width_mm": 0.01, "ppi": 72.0}, (1, None)),  # no picture of no pixels
        ({"ppi": 300.0}, (None, None)),
    ],
)
def test_a_printed_size_becomes_pixels(fields: dict[str, float], pixels: tuple[int | None, int | None]) -> None:
    assert Delivery(**fields).pixels == pixels  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"width_mm": 100.0}, r"a size of 100 × \? mm needs its pixels per inch \(ppi\)\."),
        ({"height_mm": 50.5}, r"a size of \? × 50\.5 mm needs its pixels per inch"),
        (
            {"width_px": 800, "height_mm": 80.0, "ppi": 300.0},
            r"the size is given in pixels \(800 × \?\) and in mm \(\? × 80\): one of them is enough\.",
        ),
        ({"width_px": 0}, r"width_px is 0"),
        ({"width_mm": -1.0, "ppi": 300.0}, r"width_mm is -1 mm"),
        ({"margin_percent": math.nan}, r"margin_percent is not a number"),
        ({"crop_ratio": 0.0}, r"crop_ratio is 0"),
    ],
)
def test_a_delivery_that_contradicts_itself_is_refused(fields: dict[str, float], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        Delivery(**fields)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("delivery", "ratio"),
    [
        (Delivery(), None),
        (Delivery(width_px=100), None),
        (Delivery(width_px=1600, height_px=900), 16 / 9),
        (Delivery(width_px=1600, height_px=900, crop_ratio=1.0), 1.0),
        (Delivery(width_mm=20, height_mm=30, ppi=254), 2 / 3),
    ],
)
def test_the_shape_is_as_asked_for_else_that_of_the_size(delivery: Delivery, ratio: float | None) -> None:
    assert delivery.ratio == ratio


@given(st.integers(1, 100), st.integers(1, 100))
def test_a_ratio_is_spoken_in_its_least_whole_numbers(width: int, height: int) -> None:
    common = math.gcd(width, height)
    assert crop_text(width / height) == f"{width // common}:{height // common}"


def test_a_piece_with_a_size_that_cannot_be_meant_is_refused() -> None:
    with pytest.raises(ValueError, match=r"depth_mm is -3 mm"):
        OrderedPiece("ring", depth_mm=-3.0)


@settings(max_examples=60)
@given(st.lists(st.tuples(NAMES, VIEWS), max_size=6))
def test_views_added_are_all_there_once_and_in_the_order_in_which_they_came(
    added: list[tuple[str, tuple[str, ...]]],
) -> None:
    order = Order("job", client="Müller", due_on=date(2026, 5, 1))
    wanted: dict[str, dict[str, str]] = {}
    for piece, views in added:
        order = order.with_views(piece, views)
        known = wanted.setdefault(name_key(piece), {})
        for view in views:
            known.setdefault(name_key(view), view)
    found = {name_key(piece.name): piece for piece in order.pieces}
    assert list(found) == list(wanted)
    for key, views_by_key in wanted.items():
        kept = [name_key(view) for view in found[key].views]
        assert sorted(kept) == sorted(views_by_key)
    assert (order.client, order.due_on) == ("Müller", date(2026, 5, 1))
    assert [view for _, view in order.views()] == [view for piece in order.pieces for view in piece.views]


@settings(max_examples=60)
@given(st.lists(st.tuples(st.sampled_from(["A", "a ", "B", "C"]), st.sets(st.integers(0, 3))), max_size=6))
def test_of_each_view_the_standard_given_last_holds_and_none_is_kept_for_no_view(
    given_: list[tuple[str, set[int]]],
) -> None:
    order = Order("job").with_views("Ring", ("front", "back")).with_views("Watch", ("front", "back"))
    places = [(piece.name, view) for piece in order.pieces for view in piece.views]
    wanted: dict[tuple[str, str], str] = {}
    for name, chosen in given_:
        keys = {(name_key(places[at][0]), name_key(places[at][1])) for at in chosen}
        order = order.with_standard(Standard(name), keys)
        wanted |= dict.fromkeys((places[at] for at in chosen), name)
    by_name = {piece.name: piece for piece in order.pieces}
    for piece, view in places:
        standard = order.standard_of(by_name[piece], view)
        expected = wanted.get((piece, view))
        assert (standard and name_key(standard.name)) == (expected and name_key(expected))
    assert {name_key(one.name) for one in order.standards} == {name_key(name) for name in wanted.values()}
    assert len(order.standards) == len({name_key(one.name) for one in order.standards})


def test_a_standard_of_the_same_name_takes_the_place_of_the_old() -> None:
    view = {("ring", "front")}
    order = Order("job").with_views("Ring", ("front",)).with_standard(Standard("Shop", margin_percent=5), view)
    order = order.with_standard(Standard("shop", margin_percent=8), view)
    assert [one.margin_percent for one in order.standards] == [8]
    assert order.standard_of(order.pieces[0], "FRONT") == order.standards[0]
    assert order.standard_of(order.pieces[0], "back") is None


def test_a_standard_of_a_name_that_is_gone_is_none() -> None:
    piece = OrderedPiece("Ring", views=("front",), standards=(("front", "gone"), ("back", "")))
    order = Order("job", pieces=(piece,), standards=(Standard("there"),))
    assert order.standard_of(piece, "front") is None
    assert order.standard_of(piece, "back") is None
