"""A standard's values: which are numbers, what is refused, and what is told only from piece to piece."""

import math

import pytest

from session.set.client_standard import NUMBERS, VALUES, ShadowSide, Standard


def test_every_value_but_the_side_of_the_shadow_is_a_number_of_known_range() -> None:
    assert set(VALUES) - set(NUMBERS) == {"shadow_side"}
    assert "name" not in VALUES


@pytest.mark.parametrize("name", NUMBERS)
@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, -1e9, 1e9])
def test_no_value_may_be_beyond_measure(name: str, value: float) -> None:
    with pytest.raises(ValueError, match=f"^{name} is "):
        Standard("shop", **{name: value})  # type: ignore[arg-type]


@pytest.mark.parametrize("name", NUMBERS)
def test_each_value_alone_makes_a_standard_and_is_changed_alone(name: str) -> None:
    one = Standard("shop", shadow_side=ShadowSide.LEFT).with_values(**{name: 2.0})
    assert getattr(one, name) == 2.0
    assert [value for value in VALUES if getattr(one, value) is not None] == [
        value for value in VALUES if value in (name, "shadow_side")
    ]
    assert one.with_values(**dict.fromkeys(VALUES)) == one  # what isn't given stays
    assert one.without([name]) == Standard("shop", shadow_side=ShadowSide.LEFT)
    assert one.without(VALUES) == Standard("shop")


@pytest.mark.parametrize("name", VALUES)
def test_only_tolerances_beside_another_piece_need_one(name: str) -> None:
    value = ShadowSide.BELOW if name == "shadow_side" else 1.0
    needs = Standard("shop").with_values(**{name: value}).from_piece_to_piece
    assert needs == (name in {"exposure_tolerance_ev", "colour_tolerance_de2000", "size_tolerance_percent"})


def test_an_open_standard_judges_nothing() -> None:
    assert not Standard("shop").from_piece_to_piece
    assert all(getattr(Standard("shop"), name) is None for name in VALUES)


def test_a_new_value_that_cannot_be_meant_leaves_the_old_standard() -> None:
    old = Standard("shop", margin_percent=5.0)
    with pytest.raises(ValueError, match=r"margin_percent is -1 %"):
        old.with_values(margin_percent=-1.0)
    assert old.margin_percent == 5.0
