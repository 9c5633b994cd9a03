"""What a mirror-like piece shows: rays thrown back by it, and luminance against the light that a source sheds."""

import math

import numpy as np
import pytest

from session.lighting import mirror

PUPIL_MM, WIDE_MM = 200.0, 17.9
"""Of a 100 mm lens at life size, f/5.6: 200 mm from the piece, as wide as the cone of light from a point of it."""


def seen_mm(piece_mm: np.ndarray, panel_mm: float, pupil_mm: float, wide_mm: float) -> np.ndarray:
    """Where on a panel so far off each point of the pupil sees it in each point of a flat piece, (piece, pupil).

    Rays in the plane of the axis, from pupil to piece, thrown back with the slope turned at the surface.
    """
    from_mm = np.linspace(-wide_mm / 2, wide_mm / 2, 201)
    slope = (piece_mm[:, None] - from_mm[None, :]) / pupil_mm  # sideways for each mm towards the piece
    return piece_mm[:, None] + slope * panel_mm  # the reflection leaves with the same sideways slope


@pytest.mark.parametrize(("half_mm", "panel_mm"), [(4.0, 195.0), (10.0, 300.0), (25.0, 80.0)])
def test_panel_is_as_large_as_what_all_of_the_pupil_sees_in_the_piece(half_mm: float, panel_mm: float) -> None:
    seen = seen_mm(np.linspace(-half_mm, half_mm, 101), panel_mm, PUPIL_MM, WIDE_MM)
    half = mirror.panel_half_width_mm(half_mm, panel_mm, PUPIL_MM, WIDE_MM)
    assert half == pytest.approx(np.abs(seen).max(), rel=1e-9)
    assert mirror.filled_half_width_mm(half, panel_mm, PUPIL_MM, WIDE_MM) == pytest.approx(half_mm)


def test_a_point_for_a_pupil_would_ask_for_half_the_panel() -> None:
    # piece 8.4 mm wide, panel 195 mm off, f/5.6 at life size: 34 mm, where the centre of the pupil sees 16.6
    seen = seen_mm(np.array([4.2]), 195.0, PUPIL_MM, WIDE_MM)
    assert 2 * mirror.panel_half_width_mm(4.2, 195.0, PUPIL_MM, WIDE_MM) == pytest.approx(34, abs=0.5)
    assert 2 * np.median(seen) == pytest.approx(16.6, abs=0.1)


@pytest.mark.parametrize(("inner_mm", "ring_mm"), [(20.0, 170.0), (35.0, 150.0), (6.0, 190.0)])
def test_dark_centre_is_where_no_point_of_the_pupil_sees_the_ring(inner_mm: float, ring_mm: float) -> None:
    piece = np.linspace(0, 40, 4001)
    in_hole = np.abs(seen_mm(piece, ring_mm, PUPIL_MM, WIDE_MM)) < inner_mm
    wholly_dark, wholly_lit = piece[in_hole.all(axis=1)], piece[~in_hole.any(axis=1)]
    dark_mm = mirror.dark_centre_radius_mm(inner_mm, ring_mm, PUPIL_MM, WIDE_MM)
    assert dark_mm == pytest.approx(wholly_dark.max() if len(wholly_dark) else 0.0, abs=0.011)
    lit_mm = mirror.lit_from_radius_mm(inner_mm, ring_mm, PUPIL_MM, WIDE_MM)
    assert lit_mm == pytest.approx(wholly_lit.min(), abs=0.011)


def light_on_card(size_mm: float, distance_mm: float) -> float:
    """Light on a card that faces a disc of luminance 1, summed over small parts of the disc by the cosine law."""
    radius = (np.arange(400) + 0.5) / 400 * size_mm / 2
    turn = (np.arange(64) + 0.5) / 64 * 2 * np.pi
    r, _ = np.meshgrid(radius, turn)
    area = r * (size_mm / 2 / 400) * (2 * np.pi / 64)
    away2 = r**2 + distance_mm**2
    return float(np.sum(area * distance_mm**2 / away2**2))


@pytest.mark.parametrize(("size_mm", "distance_mm"), [(300.0, 400.0), (600.0, 500.0), (100.0, 700.0)])
def test_a_mirror_shows_a_source_as_far_above_grey_as_its_luminance_is(size_mm: float, distance_mm: float) -> None:
    card = 0.18 * light_on_card(size_mm, distance_mm) / math.pi  # luminance of a grey card in that light
    shown = math.log2(mirror.POLISHED_REFLECTANCE * 1.0 / card)
    assert mirror.mirror_level_ev(size_mm, distance_mm) == pytest.approx(shown, abs=2e-3)


def test_a_softbox_of_300_mm_at_400_shows_nearly_five_stops_over_mid_grey() -> None:
    assert mirror.mirror_level_ev(300, 400) == pytest.approx(4.8, abs=0.05)


@pytest.mark.parametrize("distance_mm", [250.0, 900.0])
def test_power_for_a_lit_surface_shown_two_stops_over_grey_is_the_same_at_every_distance(distance_mm: float) -> None:
    """Guide number 30, 300 mm across, f/22 here: the card is lit by it at that distance, the mirror shows it."""
    power_ev = mirror.power_ev_for_luminance(22, 30, 300)
    far_mm = 1e6  # a guide number is for far away: there N = GN/d
    luminance = (30 * 1000 / far_mm) ** 2 * 2**power_ev / light_on_card(300, far_mm)
    right = 22**2 / light_on_card(300, distance_mm)  # luminance that exposes a card there rightly at f/22
    grey = 0.18 * light_on_card(300, distance_mm) * right / math.pi
    assert math.log2(mirror.POLISHED_REFLECTANCE * luminance / grey) == pytest.approx(mirror.SHOWN_EV, abs=2e-3)


def test_a_source_without_size_can_not_be_seen() -> None:
    with pytest.raises(ValueError, match="only a source with a size is seen"):
        mirror.mirror_level_ev(0, 400)
    with pytest.raises(ValueError, match="only a source with a size"):
        mirror.power_ev_for_luminance(22, 30, 0)


@pytest.mark.parametrize(("iso", "stops"), [(50, -1.0), (100, 0.0), (150, math.log2(1.5)), (400, 2.0)])
def test_a_faster_setting_needs_less_power_to_show_the_same_surface(iso: float, stops: float) -> None:
    slow = mirror.power_ev_for_luminance(22.0, 40.0, 300.0)
    assert slow - mirror.power_ev_for_luminance(22.0, 40.0, 300.0, iso) == pytest.approx(stops)
