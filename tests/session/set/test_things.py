"""The things of a kit: numbers held to their quantity, read as people write them, and a light's time by power."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from session.set.things import (
    OLD_RECYCLING,
    Body,
    Converter,
    ExtensionTube,
    Lens,
    LensDrive,
    Light,
    Plate,
    ReversingRing,
    Shaper,
    SupplementaryLens,
    Support,
    Thing,
    Trigger,
)
from session.units.quantities import is_quantity

THINGS: tuple[type[Thing], ...] = (
    Body, Converter, ExtensionTube, Lens, LensDrive, Light, Plate, ReversingRing, Shaper, SupplementaryLens, Support,
    Trigger,
)  # fmt: skip
BODY: dict[str, object] = {
    "sensor_width_mm": 36,
    "sensor_height_mm": 24,
    "pixels_across": 6000,
    "pixels_down": 4000,
    "sync_time_s": 0.005,
}
NEEDED: dict[type[Thing], dict[str, object]] = {
    Body: BODY,
    Lens: {"focal_length_mm": 100},
    Converter: {"factor": 1.4},
    ExtensionTube: {"extension_mm": 25},
    SupplementaryLens: {"dioptres": 3},
    Plate: {"thickness_mm": 2},
    LensDrive: {"lens": "100", "magnification": 1, "steps_per_mm": 100},
}


def made(kind: type[Thing], **values: object) -> Thing:
    return kind.model_validate({"name": "one", **NEEDED.get(kind, {}), **values})


@pytest.mark.parametrize("kind", THINGS, ids=lambda kind: kind.__name__)
def test_every_number_of_a_thing_is_a_quantity_with_a_range(kind: type[Thing]) -> None:
    """A number without a range would be taken as it is typed."""
    for name, field in kind.model_fields.items():
        words = str(field.annotation)
        if "float" in words or "int" in words:
            _, values = kind.quantities_of(name)
            assert values and is_quantity(values), f"{kind.__name__}.{name}"
        elif "dict" not in words:
            assert kind.quantities_of(name) == ("", ""), name


@pytest.mark.parametrize("kind", THINGS, ids=lambda kind: kind.__name__)
@pytest.mark.parametrize("name", ["", "a,b", "a=b", "two\nlines", "bell\x07", "x" * 81])
def test_a_name_that_a_command_line_could_not_say_is_refused(kind: type[Thing], name: str) -> None:
    with pytest.raises(ValidationError, match="name"):
        made(kind, name=name)


@pytest.mark.parametrize("kind", THINGS, ids=lambda kind: kind.__name__)
def test_a_misspelt_field_is_refused_and_a_thing_is_a_value(kind: type[Thing]) -> None:
    with pytest.raises(ValidationError, match="colour"):
        made(kind, colour="red")
    thing = made(kind)
    assert thing == made(kind)
    with pytest.raises(ValidationError):
        thing.name = "other"


@pytest.mark.parametrize(
    ("kind", "field", "written", "value"),
    [
        (Body, "sync_time_s", "1/200", 0.005),
        (Lens, "widest_f_number", "f/2.8", 2.8),
        (Lens, "closest_magnification", "1:2", 0.5),
        (Light, "least_power_ev", "1/128", -7.0),
        (Light, "duration_t01_s", "0,001", 0.001),
        (Plate, "thickness_mm", "2 mm", 2.0),
    ],
)
def test_a_number_may_be_written_as_photographers_write_it(
    kind: type[Thing], field: str, written: str, value: float
) -> None:
    assert getattr(made(kind, **{field: written}), field) == pytest.approx(value)


@pytest.mark.parametrize(
    ("kind", "field", "value", "said"),
    [
        (Body, "sync_time_s", 200, "sync_time_s is 200 s, but must be from 0.00001 to 0.5 s"),
        (Body, "sensor_width_mm", 0.036, "was it given in m?"),
        (Lens, "focal_length_mm", "long", "focal_length_mm is a number in mm, not 'long'."),
        (Trigger, "delay_s", 0.2, "trigger_delay_s is 0.2 s"),
        (SupplementaryLens, "dioptres", 0, "supplementary_dioptres is 0"),
        (ExtensionTube, "extension_mm", 0, "tube_extension_mm is 0 mm"),
        (Light, "durations_t01_s", {1.0: 0.001}, "power_ev is 1 EV, but must be from -16 to 0 EV."),
        (Light, "durations_t01_s", {0.0: 0.0}, "rated_duration_t01_s is 0 s"),
        (Light, "shaper_losses_ev", {"tube": 90}, "loss_ev is 90 EV"),
        (Support, "damping_ratio", 2, "damping_ratio is 2"),
    ],
)
def test_a_number_that_cant_be_meant_is_refused_by_its_quantity(
    kind: type[Thing], field: str, value: object, said: str
) -> None:
    with pytest.raises(ValidationError) as refused:
        made(kind, **{field: value})
    assert said in str(refused.value)


KNOWN = {0.0: 0.002, -4.0: 0.0005}


@settings(max_examples=40)
@given(st.floats(-10, 0))
def test_a_flash_burns_as_the_table_says_and_else_as_is_said_for_every_power(power_ev: float) -> None:
    both = Light(name="key", durations_t01_s=KNOWN, duration_t01_s=0.003)
    duration = both.duration_at_s(power_ev)
    if power_ev < -4:
        assert duration == 0.003
    else:
        assert duration is not None and 0.0005 <= duration <= 0.002
    assert Light(name="key", duration_t01_s=0.003).duration_at_s(power_ev) == 0.003
    assert Light(name="key").duration_at_s(power_ev) is None


def test_a_kit_file_of_the_first_days_still_names_the_recycling_time_as_it_did() -> None:
    assert Light.model_validate({"name": "key", OLD_RECYCLING: 3.5}).recycling_time_s == 3.5
    assert Light.model_validate({"name": "key", "recycling_time_s": 3.5}).recycling_time_s == 3.5


def test_what_is_known_of_a_supports_swing_is_told_by_the_planners_names() -> None:
    assert Support(name="column").measured_swing() == {}
    measured = Support(name="column", frequency_hz=6.0, touch_amplitude_um=40.0)
    assert measured.measured_swing() == {"frequency_hz": 6.0, "amplitude_um": 40.0}
