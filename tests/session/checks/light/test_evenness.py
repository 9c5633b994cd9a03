"""Unevenness that was put into photographs, what must not be seen as such, and how each kind is told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from session.checks.light import evenness
from session.checks.light.cells import Cells
from session.checks.light.evenness import Evenness
from session.checks.material.check_limits import EVENNESS_EV, HOT_SPOT_EV
from session.checks.material.checked_picture import Pair
from session.frame.finding import Finding, FlawKind, Level
from tests.support.made_pictures import photograph, relit
from tests.support.tinted_pairs import changed, material

SIZE = (900, 600)


def even(both: Pair) -> tuple[evenness.Evenness, tuple[Finding, ...]]:
    found = evenness.against_reference(both)
    assert found is not None
    return found, evenness.findings(found)


@pytest.mark.parametrize(("across_ev", "down_ev"), [(1.2, 0.0), (-0.8, 0.3), (0.2, 0.9)])
def test_fall_off_to_a_side_is_measured_in_ev(tmp_path: Path, across_ev: float, down_ev: float) -> None:
    picture = photograph("coffee.png", SIZE) * 0.4
    found, said = even(changed(tmp_path, picture, relit(picture, -0.2, across_ev, down_ev)))
    assert (found.across_ev, found.down_ev) == pytest.approx((across_ev, down_ev), abs=0.1)
    assert said[0].level is Level.CAUTION
    side = ("left" if across_ev > 0 else "right") if abs(across_ev) > abs(down_ev) else "top"
    assert f"falls off to the {side}" in said[0].text


def test_dark_centre_of_a_ring_light_is_measured_in_ev(tmp_path: Path) -> None:
    """A Gaussian hole of 1.2 EV: with radii up to 0.4 half sides against beyond 0.75, half a stop or more is left."""
    picture = photograph("coins.png", SIZE) * 0.5
    rows, columns = np.mgrid[-1 : 1 : SIZE[1] * 1j, -1 : 1 : SIZE[0] * 1j]
    hole = 1.2 * np.exp(-(rows**2 + columns**2) / (2 * 0.4**2))
    found, said = even(changed(tmp_path, picture, picture * 2.0**-hole))
    inner = np.hypot(rows, columns) < 0.4
    expected = -float(np.median(hole[inner]) - np.median(hole[np.hypot(rows, columns) > 0.75]))
    assert found.centre_ev == pytest.approx(expected, abs=0.2)
    assert "centre is" in said[0].text
    assert "darker" in said[0].text


def test_hot_spot_is_told_with_its_place(tmp_path: Path) -> None:
    picture = photograph("brick.png", SIZE) * 0.1
    rows, columns = np.mgrid[: SIZE[1], : SIZE[0]]
    spot = 2.5 * np.exp(-((rows - 150) ** 2 + (columns - 700) ** 2) / (2 * 60.0**2))
    found, said = even(changed(tmp_path, picture, picture * 2.0**spot))
    assert found.hot_spot_at == pytest.approx((700 / 900, 150 / 600), abs=0.1)
    assert "hot spot" in said[0].text


def test_plain_surface_shows_its_unevenness_without_a_reference_as_a_note(tmp_path: Path) -> None:
    card = relit(np.full((SIZE[1], SIZE[0]), 0.18), 0.0, 1.0)
    found = evenness.alone(material(tmp_path, card))
    assert found is not None
    assert found.across_ev == pytest.approx(1.0, abs=0.05)
    assert [finding.level for finding in evenness.findings(found)] == [Level.NOTE]


@pytest.mark.parametrize("name", ["coffee.png", "coins.png", "brick.png", "camera.png"])
def test_picture_of_things_claims_no_unevenness_without_a_reference(tmp_path: Path, name: str) -> None:
    assert evenness.alone(material(tmp_path, photograph(name, SIZE))) is None


LIMIT, SPOT = float(EVENNESS_EV), float(HOT_SPOT_EV)
EVEN = Evenness(0.0, 0.0, 0.0, 0.0, (0.5, 0.5))


def told(**off: object) -> list[FlawKind | None]:
    return [one.kind for one in evenness.findings(Evenness(**{**vars(EVEN), **off}))]


@pytest.mark.parametrize(
    ("off", "kinds"),
    [
        ({"across_ev": LIMIT}, []),
        ({"across_ev": LIMIT + 0.01}, [FlawKind.FALLS_OFF]),
        ({"down_ev": -LIMIT - 0.01}, [FlawKind.FALLS_OFF]),
        ({"centre_ev": -LIMIT}, []),
        ({"centre_ev": -LIMIT - 0.01}, [FlawKind.CENTRE]),
        ({"hot_spot_ev": SPOT}, []),
        ({"hot_spot_ev": SPOT + 0.01}, [FlawKind.HOT_SPOT]),
        ({"centre_ev": None, "hot_spot_ev": SPOT + 0.01}, [FlawKind.HOT_SPOT]),
        ({"centre_ev": LIMIT + 0.1, "hot_spot_ev": 9.0}, [FlawKind.CENTRE]),  # a bright centre is its own hot spot
        ({"across_ev": 1.0, "centre_ev": 1.0}, [FlawKind.FALLS_OFF, FlawKind.CENTRE]),
    ],
)
def test_each_kind_is_told_just_beyond_its_limit(off: dict[str, object], kinds: list[FlawKind]) -> None:
    assert told(**off) == kinds


@pytest.mark.parametrize(
    ("off", "text"),
    [
        ({"across_ev": -1.0}, "Light falls off to the right, by 1.0 EV more than in the reference."),
        ({"across_ev": 1.0}, "Light falls off to the left, by 1.0 EV more than in the reference."),
        ({"down_ev": 1.25}, "Light falls off to the top, by 1.2 EV more than in the reference."),
        ({"across_ev": 0.9, "down_ev": -1.0}, "Light falls off to the bottom, by 1.0 EV more than in the reference."),
        ({"centre_ev": -1.0}, "The centre is 1.0 EV darker against its surround than in the reference."),
        ({"centre_ev": 1.0}, "The centre is 1.0 EV brighter against its surround than in the reference."),
        (
            {"hot_spot_ev": 2.5, "hot_spot_at": (0.25, 0.8)},
            "A hot spot of 2.5 EV, 25 % from the left, 80 % from the top.",
        ),
        ({"across_ev": -1.0, "absolute": True}, "Light falls off to the right, by 1.0 EV."),
    ],
)
def test_where_the_light_went_is_said_in_words(off: dict[str, object], text: str) -> None:
    (finding,) = evenness.findings(Evenness(**{**vars(EVEN), **off}))
    assert finding.text == text and finding.remedy is not None
    assert finding.level is (Level.NOTE if off.get("absolute") else Level.CAUTION)


def test_a_dark_centre_is_taken_for_a_ring_lights_hole_and_a_bright_one_is_not() -> None:
    dark, bright = (evenness.findings(Evenness(**{**vars(EVEN), "centre_ev": ev}))[0].remedy for ev in (-1.0, 1.0))
    assert dark is not None and "ring light" in dark.text
    assert bright is not None and "ring light" not in bright.text


def cells(lit: dict[tuple[int, int], float], unknown: tuple[tuple[int, int], ...] = ()) -> Cells:
    """Eight rows of twelve cells of an unchanged light, but for those that are named, EV."""
    ev = np.zeros((8, 12))
    for place, more_ev in lit.items():
        ev[place] = more_ev
    for place in unknown:
        ev[place] = np.nan
    y, x = np.meshgrid((np.arange(8) + 0.5) / 4 - 1, (np.arange(12) + 0.5) / 6 - 1, indexing="ij")
    return Cells(ev, x, y)


@pytest.mark.parametrize(
    ("lit", "unknown", "hot_ev", "at"),
    [
        ({}, (), 0.0, (0.5, 0.5)),
        ({(2, 9): 2.0}, (), 0.0, (0.5, 0.5)),  # a cell alone is noise, or a highlight that wandered
        ({(2, 9): 2.0, (2, 10): 1.1}, (), 2.0, (9.5 / 12, 2.5 / 8)),
        ({(2, 9): 2.0, (2, 10): 0.9}, (), 0.9, (10.5 / 12, 2.5 / 8)),  # the lower one has company enough
        ({(6, 1): 3.0, (7, 2): 3.5}, (), 3.5, (2.5 / 12, 7.5 / 8)),
        ({(6, 1): 3.0, (7, 2): 2.0, (0, 11): 9.0}, (), 3.0, (1.5 / 12, 6.5 / 8)),
        ({(0, 0): 1.5, (1, 0): 1.5}, ((0, 1), (1, 1)), 1.5, (0.5 / 12, 0.5 / 8)),
        ({(3, 3): -2.0, (3, 4): -2.0}, (), 0.0, (0.5, 0.5)),
    ],
)
def test_a_hot_spot_is_the_cell_that_lies_highest_above_its_surround_with_a_neighbour_half_as_high(
    lit: dict[tuple[int, int], float], unknown: tuple[tuple[int, int], ...], hot_ev: float, at: tuple[float, float]
) -> None:
    there = cells(lit, unknown)
    found = evenness._hot_spot(there.ev, there)
    assert found == (pytest.approx(hot_ev), pytest.approx(at))


def test_the_centre_is_told_against_the_surround_of_cells_that_are_known() -> None:
    """Rings of half sides by the cells' middles: 0.4 of the one, 0.75 of the other; between them nothing counts."""
    even_cells = cells({})
    radius = np.hypot(even_cells.x, even_cells.y)
    rings = np.select([radius < 0.4, radius > 0.75], [-1.0, 0.25], 7.0)
    assert evenness._centre(rings, even_cells) == pytest.approx(-1.25)
    places = [(int(row), int(column)) for row, column in np.argwhere(radius < 0.4)]
    assert len(places) > 4
    assert evenness._centre(rings, cells({}, tuple(places[4:]))) == pytest.approx(-1.25)
    assert evenness._centre(rings, cells({}, tuple(places[3:]))) is None


def test_a_reference_that_is_all_but_black_shows_no_change_of_the_light(tmp_path: Path) -> None:
    picture = photograph("coffee.png", SIZE)
    assert evenness.against_reference(changed(tmp_path, picture * 1e-4, picture)) is None


@pytest.mark.parametrize(
    ("off", "value"),
    [({"across_ev": 1.2345}, 1.23), ({"centre_ev": -1.2355}, -1.24), ({"hot_spot_ev": SPOT + 1.0044}, SPOT + 1.0)],
)
def test_values_are_told_to_a_hundredth_of_a_stop(off: dict[str, object], value: float) -> None:
    (finding,) = evenness.findings(Evenness(**{**vars(EVEN), **off}))
    assert finding.value == pytest.approx(value, abs=1e-9)


def test_what_cant_be_told_gives_no_finding() -> None:
    assert evenness.findings(None) == () == evenness.findings(EVEN)
