"""What a measurement of the ambient light is worth after a change: light adds up, so each step is worked out in EV."""

from __future__ import annotations

from dataclasses import replace

import pytest

from session.set.ambient_kept import carried_ev, with_ambient, with_ambient_carried
from session.set.kit import demo_kit
from session.set.lights_in_use import guide_numbers_m
from session.set.setup import PassiveItem, PlacedLight, Revision, Settings

KEY, FILL = PlacedLight("key", -2.0, 620, 45, 30, "tube"), PlacedLight("fill", -4.0, 400, 300, 20)
BEFORE = Revision(lights=(KEY, FILL), ambient_ev=-6.0)


@pytest.mark.parametrize(
    ("after", "ambient_ev"),
    [
        pytest.param(replace(BEFORE, notes="colder"), -6.0, id="nothing about light"),
        pytest.param(replace(BEFORE, settings=Settings(exposure_s=1 / 50)), -4.0, id="four times as long open"),
        pytest.param(replace(BEFORE, settings=Settings(f_number=22.0, iso=800)), -6.0, id="lens and ISO alike"),
        pytest.param(
            replace(BEFORE, lights=(replace(KEY, power_ev=-3.0), replace(FILL, power_ev=-5.0))), -5.0, id="all half"
        ),
        pytest.param(replace(BEFORE, lights=(replace(KEY, power_ev=-3.0), FILL)), None, id="one light weaker"),
        pytest.param(replace(BEFORE, lights=(KEY, replace(FILL, distance_mm=200))), None, id="one nearer"),
        pytest.param(replace(BEFORE, lights=(KEY,)), None, id="one struck"),
        pytest.param(replace(BEFORE, lights=(replace(KEY, note="left cable"), FILL)), -6.0, id="a note to a light"),
        pytest.param(replace(BEFORE, passive=(PassiveItem("flag", "black card"),)), None, id="a flag put up"),
    ],
)
def test_ambient_goes_along_with_what_is_known_and_is_forgotten_otherwise(
    after: Revision, ambient_ev: float | None
) -> None:
    expected = None if ambient_ev is None else pytest.approx(ambient_ev)
    assert carried_ev(BEFORE, after) == expected
    assert with_ambient_carried(after, BEFORE).ambient_ev == expected


def test_ambient_that_is_given_anew_stands_whatever_else_changes() -> None:
    wanted = replace(BEFORE, lights=(KEY,), ambient_ev=-7.0)
    assert with_ambient_carried(wanted, BEFORE) == wanted


def test_what_was_never_measured_stays_unknown() -> None:
    assert with_ambient_carried(replace(BEFORE, ambient_ev=None, notes="x"), BEFORE).ambient_ev is None
    assert carried_ev(replace(BEFORE, ambient_ev=None), BEFORE) is None


def test_a_measurement_counts_for_the_set_up_in_force_where_that_can_be_told() -> None:
    unmeasured = replace(BEFORE, ambient_ev=None)
    longer = replace(unmeasured, revision=2, settings=Settings(exposure_s=1 / 100))
    kept = with_ambient(longer, unmeasured, -6.204)
    assert kept is not None and kept.ambient_ev == pytest.approx(-5.2)
    assert replace(kept, ambient_ev=None) == longer
    assert with_ambient(replace(unmeasured, lights=(KEY,)), unmeasured, -6.2) is None
    assert with_ambient(replace(unmeasured, setup_number=2), unmeasured, -6.2) is None


def test_guide_numbers_are_those_as_shaped_and_only_where_they_are_known() -> None:
    """A loss of 1 EV halves the light, and the guide number falls by the square root of that (ISO 1230: GN ∝ √H)."""
    kit = demo_kit()
    key = kit.light_for("key")
    assert key is not None and key.guide_number_m is not None
    loss_ev = kit.loss_ev(key, "tube")
    assert loss_ev is not None and loss_ev > 0
    unknown = replace(FILL, shaper="a thing that nobody measured")
    found = guide_numbers_m(Revision(lights=(KEY, unknown, PlacedLight("no such light"))), kit)
    assert found == {"key": pytest.approx(key.guide_number_m / (2**loss_ev) ** 0.5)}
    assert guide_numbers_m(Revision(lights=(replace(KEY, shaper=""),)), kit) == {"key": key.guide_number_m}
