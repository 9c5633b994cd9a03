"""What Exif says against what was asked, and flashes that are missing or weak."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from session.checks.light import brightness, flash_fired
from session.checks.material import settings
from session.checks.material.checked_picture import Material, pair
from session.frame.finding import FlawKind
from session.picture.exif import Exif
from session.set.setup import Region
from tests.support.made_pictures import coded, photograph, relit

Make = Callable[..., Material]
ASKED: dict[str, object] = {"exposure_s": 1 / 200, "f_number": 11.0, "iso": 100, "white_balance": "Flash"}


def test_exif_as_asked_gives_no_finding() -> None:
    assert settings.as_asked(Exif(exposure_s=1 / 200, f_number=11.0, iso=100), ASKED) == ()


@pytest.mark.parametrize(
    ("exif", "asked"),
    [
        (Exif(f_number=11.314), {"f_number": 11.0}),
        (Exif(exposure_s=1 / 128), {"exposure_s": 1 / 125}),
        (Exif(exposure_s=0.0062), {"exposure_s": 1 / 160}),
    ],
)
def test_nominal_and_true_values_are_the_same_setting(exif: Exif, asked: dict[str, object]) -> None:
    """f/11 is 2^3.5 = 11.314, 1/125 s is 1/128 s (powers of √2 and 2), and PTP counts in 0.1 ms steps."""
    assert settings.as_asked(exif, asked) == ()


def test_turned_dial_is_named_with_both_numbers() -> None:
    (finding,) = settings.as_asked(Exif(exposure_s=1 / 250, f_number=8.0, iso=100), ASKED)
    assert finding.text == "The file says exposure time 1/250 s, asked was 1/200 s; aperture f/8, asked was f/11."
    assert finding.value == pytest.approx(2 * np.log2(11 / 8), abs=0.01)  # the larger of both, in EV
    assert finding.limit == pytest.approx(0.1)


def test_silent_exif_and_settings_left_to_the_camera_are_not_compared() -> None:
    assert settings.as_asked(Exif(), ASKED) == ()
    assert settings.as_asked(Exif(exposure_s=1.0, f_number=2.0, iso=800), {"f_number": None}) == ()


def test_flash_tag_is_no_evidence() -> None:
    """Heads fired by cord or radio leave 'did not fire' (common practice, no source)."""
    exif = Exif(exposure_s=1 / 200, f_number=11.0, iso=100, flash_fired=False)
    assert settings.as_asked(exif, ASKED) == ()


def judged(material: Make, ev: float) -> tuple[str, ...]:
    light = 0.5 * photograph("coffee.png", (720, 480))
    frame, reference = material(coded(relit(light, ev), seed=1)), material(coded(light), "reference.jpg")
    now = brightness.measure(frame, Region(), pair(frame, reference))
    return tuple(finding.text for finding in flash_fired.against_reference(now, frame, reference))


@pytest.mark.parametrize(
    ("ev", "beginning"),
    [(-6.0, "No flash: "), (-3.0, "No flash: 3.0"), (-1.0, "Weak flash: 1.0"), (-0.2, ""), (0.5, "")],
)
def test_darkness_tells_a_missing_flash_from_a_weak_one(material: Make, ev: float, beginning: str) -> None:
    texts = judged(material, ev)
    assert bool(texts) == bool(beginning)
    assert all(text.startswith(beginning) for text in texts)


class Taken:
    """A frame of which nothing but its Exif is looked at, or nothing but its light."""

    def __init__(self, *, light: np.ndarray | None = None, **values: float) -> None:
        self.exif, self.light = Exif(**values), light  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("region_ev", "whole_ev", "lights", "beginning"),
    [
        (-0.49, -0.49, 1, None),
        (-0.51, -0.51, 1, "Weak flash: 0.5 EV"),
        (-0.49, -3.0, 1, None),
        (-3.0, -0.49, 1, None),
        (-0.49, -0.49, 2, None),
        (-0.51, -0.51, 2, "A light is missing or weak: which one can't be told. 0.5 EV"),
        (-2.49, -2.49, 1, "Weak flash: 2.5 EV"),
        (-2.51, -2.51, 1, "No flash: 2.5 EV"),
        (-2.49, -4.0, 2, "A light is missing or weak"),
        (-2.51, -2.51, 2, "No flash: 2.5 EV"),
        (-0.5, -0.5, 1, "Weak flash: 0.5 EV"),
        (-2.5, -2.5, 1, "No flash: 2.5 EV"),
        (-1.0, -1.0, 0, "Weak flash: 1.0 EV"),
    ],
)
def test_on_either_side_of_half_a_stop_and_of_two_and_a_half(
    region_ev: float, whole_ev: float, lights: int, beginning: str | None
) -> None:
    """Region and whole must both have lost it."""
    now, alike = brightness.Exposure(region_ev, whole_ev, 0, 0, 0, 0, 0, 0), Taken(f_number=11.0, iso=100)
    found = flash_fired.against_reference(now, alike, alike, lights)  # type: ignore[arg-type]
    assert [finding.text.startswith(beginning or "-") for finding in found] == ([True] if beginning else [])


@pytest.mark.parametrize(("f_number", "told"), [(11.0 * 2**0.24, True), (11.0 * 2**0.26, False)])
def test_what_a_smaller_aperture_takes_is_no_loss_of_the_flash(f_number: float, told: bool) -> None:
    """A stop is lost; half of it, and hardly more, may be the aperture's: 2·log2 of the f-numbers' ratio."""
    now = brightness.Exposure(-1.0, -1.0, 0, 0, 0, 0, 0, 0)
    frames = Taken(f_number=f_number, iso=100), Taken(f_number=11.0, iso=100)
    assert bool(flash_fired.against_reference(now, *frames)) is told  # type: ignore[arg-type]


@pytest.mark.parametrize(("under_ev", "told"), [(4.95, False), (5.0, True), (5.05, True)])
def test_five_stops_under_white_are_nearly_black(under_ev: float, told: bool) -> None:
    frame = Taken(light=np.full((40, 60), 2.0**-under_ev, np.float32))
    assert bool(flash_fired.alone(frame)) is told  # type: ignore[arg-type]


def test_smaller_aperture_excuses_a_darker_frame_and_higher_iso_accuses_none() -> None:
    """Two stops by f-number (2·log2(22/11)) are no missing flash."""
    two_stops = settings.flash_light_ev(Exif(f_number=22.0, iso=100), Exif(f_number=11.0, iso=100))
    assert two_stops == pytest.approx(-2.0)
    brighter = settings.flash_light_ev(Exif(f_number=11.0, iso=400), Exif(f_number=11.0, iso=100))
    assert brighter == pytest.approx(2.0)
    now = brightness.Exposure(-1.9, -1.9, 0, 0, 0, 0, 0, 0)
    frames = Taken(f_number=22.0, iso=100), Taken(f_number=11.0, iso=100)
    assert flash_fired.against_reference(now, *frames) == ()  # type: ignore[arg-type]
    same = brightness.Exposure(0.0, 0.0, 0, 0, 0, 0, 0, 0)
    frames = Taken(f_number=11.0, iso=400), Taken(f_number=11.0, iso=100)
    assert flash_fired.against_reference(same, *frames) == ()  # type: ignore[arg-type]


def test_nearly_black_first_frame_is_told_without_a_reference(material: Make) -> None:
    light = photograph("coffee.png", (720, 480))
    (finding,) = flash_fired.alone(material(coded(relit(light, -7.0))))
    assert finding.text.startswith("Nearly black: the brightest parts lie ")
    assert flash_fired.alone(material(coded(light))) == ()
    assert flash_fired.alone(material(coded(relit(light, -2.0)))) == ()


@pytest.mark.parametrize(
    ("lost_ev", "lights", "limit_ev", "kind"),
    [
        (3.0, 1, -2.5, FlawKind.NO_FLASH),
        (1.0, 1, -0.5, FlawKind.WEAK_FLASH),
        (1.0, 2, -0.5, FlawKind.ONE_OF_SEVERAL),
        (1.23, 1, -0.5, FlawKind.WEAK_FLASH),
    ],
)
def test_number_and_limit_of_lost_light_are_below_zero_alike(
    lost_ev: float, lights: int, limit_ev: float, kind: FlawKind
) -> None:
    now, alike = brightness.Exposure(-lost_ev, -lost_ev, 0, 0, 0, 0, 0, 0), Taken(f_number=11.0, iso=100)
    (found,) = flash_fired.against_reference(now, alike, alike, lights)  # type: ignore[arg-type]
    assert (found.value, found.limit, found.unit, found.kind) == (-lost_ev, limit_ev, "EV", kind)


def test_a_nearly_black_first_frame_tells_how_far_under_white_it_lies() -> None:
    (found,) = flash_fired.alone(Taken(light=np.full((40, 60), 2.0**-6, np.float32)))  # type: ignore[arg-type]
    assert (found.value, found.limit, found.kind) == (pytest.approx(-6.0), -5.0, FlawKind.NO_FLASH)


@pytest.mark.parametrize(("lit_share", "told"), [(0.003, True), (0.01, False)])
def test_a_hundredth_of_the_picture_in_white_is_light_and_a_few_hot_pixels_are_none(
    lit_share: float, told: bool
) -> None:
    light = np.full(10_000, 2.0**-8, np.float32)
    light[: round(lit_share * light.size)] = 1.0
    assert bool(flash_fired.alone(Taken(light=light.reshape(100, 100)))) is told  # type: ignore[arg-type]


def test_a_number_is_told_in_hundredths_of_a_stop() -> None:
    now, alike = brightness.Exposure(-1.0049, -1.0049, 0, 0, 0, 0, 0, 0), Taken(f_number=11.0, iso=100)
    (found,) = flash_fired.against_reference(now, alike, alike)  # type: ignore[arg-type]
    assert found.value == -1.0
