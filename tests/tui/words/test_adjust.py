"""Changes to lights and region by keys: steps, limits, and typed numbers."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.frame.camera_messages import Reading
from session.set.kit import demo_kit
from session.set.setup import PlacedLight, Region, Revision
from session.units.refusals import UnreadableTextError
from tests.support.bench_events import FOUND
from tests.support.running_screen import SMALL, bench
from tests.support.scripted_table import READING, REVISION, FixedClock, ScriptedTable
from tui.bench.setting_lines import LINES, SettingLine
from tui.screen.panel import Panel
from tui.words import adjust

KIT = demo_kit()
KEY = PlacedLight("key", -2.0, 600.0, 45.0, 35.0, "tube")
UNKNOWN = PlacedLight("key")

CAMERA = Revision(working_distance_mm=300, view_down_deg=30)
WHOLE = Region(0.0, 0.0, 1.0, 1.0)
REGIONS = st.builds(
    lambda left, top, width, height: Region(left * (1 - width), top * (1 - height), width, height),
    *[st.floats(0, 1)] * 2,
    *[st.floats(0.02, 1)] * 2,
)


def line(label: str) -> SettingLine:
    return next(line for line in LINES if line.label == label and isinstance(line, SettingLine))


def test_power_moves_by_thirds_of_a_stop_and_onto_their_grid() -> None:
    assert adjust.stepped_power(KEY, 1, KIT).power_ev == pytest.approx(-5 / 3, abs=1e-4)
    assert adjust.stepped_power(replace(KEY, power_ev=-1.9), 1, KIT).power_ev == pytest.approx(-5 / 3, abs=1e-4)


def test_three_steps_up_and_three_down_end_where_they_began() -> None:
    light = KEY
    for steps in (1, 1, 1, -1, -1, -1):
        light = adjust.stepped_power(light, steps, KIT)
    assert light == KEY


@given(st.floats(-12, 0), st.integers(-60, 60))
def test_power_never_leaves_what_the_light_can_do(power_ev: float, steps: int) -> None:
    least = KIT.light_for("key").least_power_ev
    assert least <= adjust.stepped_power(replace(KEY, power_ev=power_ev), steps, KIT).power_ev <= 0


@given(st.integers(-200, 200))
def test_a_light_never_steps_into_the_piece(steps: int) -> None:
    moved = adjust.stepped_distance(KEY, steps)
    assert moved is not None and moved.distance_mm is not None and moved.distance_mm >= adjust.DISTANCE_STEP_MM


def test_steps_from_an_unknown_place_are_refused_since_they_would_invent_a_measure() -> None:
    assert adjust.stepped_distance(UNKNOWN, 1) is None
    assert adjust.move(UNKNOWN, 1, 0) is None


def test_a_light_goes_once_round_the_piece_and_is_where_it_was() -> None:
    light = KEY
    for _ in range(round(360 / adjust.ANGLE_STEP_DEG)):
        light = adjust.move(light, 1, 0) or light
    assert light == KEY


def test_the_shapers_of_the_kit_come_round_with_none_among_them() -> None:
    seen, light = [], KEY
    for _ in range(len(KIT.shaper) + 1):
        light = adjust.next_shaper(light, KIT)
        seen.append(light.shaper)
    assert sorted(seen) == sorted(["", *(shaper.name for shaper in KIT.shaper)])


@pytest.mark.parametrize(
    ("text", "power_ev"),
    [
        *[("-2", -2.0), ("−1.7 EV", -1.7), ("0", 0.0), ("1/1", 0.0), ("full", 0.0), ("1/4", -2.0), ("1/64", -6.0)],
        *[("1/3", -math.log2(3)), ("1/4 (−2 EV)", -2.0), ("1/4 +1/3", -5 / 3), ("1/4+0.3", -5 / 3), ("1/8 +⅔", -7 / 3)],
    ],
)
def test_power_is_typed_in_stops_or_as_a_share_of_full_power(text: str, power_ev: float) -> None:
    assert adjust.with_power(KEY, text, KIT).power_ev == pytest.approx(power_ev, abs=0.005)


@pytest.mark.parametrize("text", ["", "two", "2", "-99", "1/0", "1/-4", "nan", "1e9"])
def test_power_that_no_flash_has_is_refused_in_words(text: str) -> None:
    with pytest.raises(ValueError, match="power"):
        adjust.with_power(KEY, text, KIT)


def test_power_below_the_lights_least_is_refused_when_it_is_typed() -> None:
    """The demo's key goes down to 1/128."""
    assert adjust.with_power(KEY, "1/128", KIT).power_ev == pytest.approx(-7.0)
    with pytest.raises(ValueError, match=r"1/256 \(−8 EV\) is less than 'key' has; by the kit it goes down to 1/128"):
        adjust.with_power(KEY, "1/256", KIT)
    stranger = replace(KEY, name="borrowed")
    assert adjust.with_power(stranger, "1/256", KIT).power_ev == pytest.approx(-8.0), "the kit knows nothing of it"


@pytest.mark.parametrize(("text", "distance_mm"), [("620", 620.0), ("62,5 mm", 62.5), ("1e3", 1000.0)])
def test_distance_is_typed_in_mm(text: str, distance_mm: float) -> None:
    assert adjust.with_distance(KEY, text).distance_mm == distance_mm


@pytest.mark.parametrize("text", ["", "near", "0", "-5", "nan", "inf", "1e12"])
def test_a_distance_that_cant_be_is_refused_in_words(text: str) -> None:
    with pytest.raises(ValueError, match="distance is "):
        adjust.with_distance(KEY, text)


@pytest.mark.parametrize(
    ("text", "angles"),
    [
        *[
            ("60 left/35 up", (60, 35)),
            ("60° left · 35° up", (60, 35)),
            ("60 right 35", (300, 35)),
            ("90r/−10°", (270, -10)),
        ],
        *[("0/20 down", (0, -20)), ("180, 10", (180, 10)), ("-60/35", None), ("45/30", None), ("190 left/5", None)],
    ],
)
def test_angles_are_typed_with_their_side_and_never_without(text: str, angles: tuple[float, float] | None) -> None:
    if angles is None:
        with pytest.raises(ValueError, match="like 60 left"):
            adjust.with_angles(KEY, text)
    else:
        light = adjust.with_angles(KEY, text)
        assert (light.azimuth_deg, light.elevation_deg) == angles


@given(REGIONS, st.integers(-80, 80), st.integers(-80, 80))
def test_a_region_stays_in_the_picture_however_it_is_moved_and_sized(region: Region, one: int, other: int) -> None:
    moved = adjust.moved_region(region, one, other)
    assert (moved.width, moved.height) == (region.width, region.height)
    sized = adjust.sized_region(region, one, other)  # Region itself refuses to lie outside
    assert sized.width >= adjust.SMALLEST_REGION and sized.height >= adjust.SMALLEST_REGION


@given(st.floats(1 / 32, 0.5), st.floats(1 / 32, 0.5), st.floats(0, 1), st.floats(0, 1))
def test_three_digits_at_most_bring_a_region_around_any_detail(
    width: float, height: float, right: float, down: float
) -> None:
    """With the key before and enter after them that is five keys. Four times the detail's larger side at most."""
    left, top = right * (1 - width), down * (1 - height)
    around = [WHOLE]
    for _ in range(3):
        around += [adjust.half_of(region, digit) for region in around for digit in range(1, 10)]
    holding = [
        region
        for region in around
        if region.left <= left
        and region.top <= top
        and region.left + region.width >= left + width
        and region.top + region.height >= top + height
    ]
    assert min(region.width for region in holding) <= 4 * max(width, height) + 1e-9


def test_digits_stand_as_on_a_number_pad() -> None:
    assert adjust.half_of(WHOLE, 7) == Region(0, 0, 0.5, 0.5)
    assert adjust.half_of(WHOLE, 3) == Region(0.5, 0.5, 0.5, 0.5)
    assert adjust.half_of(Region(0.5, 0, 0.5, 0.5), 5) == Region(0.625, 0.125, 0.25, 0.25)


def test_a_region_grows_around_its_middle() -> None:
    grown = adjust.sized_region(Region(0.4, 0.4, 0.2, 0.2), 1, 1)
    assert grown.left + grown.width / 2 == pytest.approx(0.5)
    assert grown.width == pytest.approx(0.22)


def test_settings_step_through_what_the_camera_offers_and_stop_at_its_ends() -> None:
    aperture = line("aperture")
    wider = aperture.step(REVISION, -1, READING, KIT)
    assert wider.settings.f_number == 10.0
    for _ in range(9):
        wider = aperture.step(wider, -1, READING, KIT)
    assert wider.settings.f_number == 8.0


def test_without_a_camera_the_marked_series_is_offered_in_thirds_of_a_stop() -> None:
    """f/11 is √2 to the 7th and a third of a stop is a factor of 2 to the 1/6 in f-number (powers of √2)."""
    stepped = line("aperture").step(REVISION, 1, Reading(), KIT)
    assert stepped.settings.f_number == pytest.approx(2**3.5 * 2 ** (1 / 6))
    longer = line("exposure time").step(REVISION, 3, Reading(), KIT)
    assert longer.settings.exposure_s == pytest.approx(1 / 100, rel=0.1)


def test_a_lens_brings_its_focal_length_from_the_kit() -> None:
    revision = line("lens").step(REVISION, 1, Reading(), KIT)
    lens = KIT.lens_for(revision.arrangement.lens)
    assert lens is not None and lens.name != REVISION.arrangement.lens
    assert revision.arrangement.focal_length_mm == lens.focal_length_mm
    assert revision.arrangement.pupil_magnification == lens.pupil_magnification


@pytest.mark.parametrize(
    ("label", "text", "shown"),
    [
        ("exposure time", "1/160", "1/160 s"),
        ("aperture", "f/16", "f/16"),
        ("ISO", "iso 200", "200"),
        ("ratio", "1:2", "1:2"),
        ("ratio", "2:1", "2:1"),
        ("hold-off", "2.5 s", "2.5 s"),
        ("blur radius", "1.5", "1.5 px"),
        ("depth needed", "0.8 mm", "0.8 mm"),
        ("ambient", "-6", "−6 EV"),
    ],
)
def test_what_is_typed_reads_back_as_photographers_write_it(label: str, text: str, shown: str) -> None:
    it = line(label)
    assert it.text(it.with_value(REVISION, it.from_typed(text), KIT)) == shown


@pytest.mark.parametrize(
    ("label", "text"), [("exposure time", "long"), ("aperture", "0"), ("ratio", "1:0"), ("ISO", "")]
)
def test_a_setting_that_cant_be_is_refused_in_words(label: str, text: str) -> None:
    with pytest.raises(ValueError, match=r"\w+ \w+"):
        line(label).from_typed(text)


async def test_the_chosen_setting_stands_in_the_panel_however_low_that_is(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("e")
        mode = at.app.screen.mode  # type: ignore[attr-defined]
        for line in LINES:
            for height in (3, 8, 12, 14, 20):
                panel = mode.panel(38, height)
                assert len(panel) <= height
                first, *_ = (text.plain for text in panel if "reverse" in str(text.spans))
                assert first.startswith(f"▸{line.label}")
            await at.press("down")


async def test_the_panel_of_a_light_says_from_where_its_angles_count_uncut_at_80_columns(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("1")
        assert "side     45° left     from the camera" in at.text
        assert "height   35° up       from the table" in at.text
        await at.press("escape")
        panel = at.app.screen.query_one("#side", Panel).content.plain.splitlines()
        assert panel[1:3] == ["1 key   1/4  600 mm 45° left · 35° up", "        tube"]


@pytest.mark.parametrize("text", ["reflector 210 x 297 white", "reflector A4 2x3m", "flag 20x30 mm 210 x 297"])
def test_a_size_that_stands_elsewhere_than_at_the_end_is_no_name(text: str) -> None:
    with pytest.raises(UnreadableTextError, match="a size stands at the end, in mm, like reflector"):
        adjust.item_from(text)


def test_a_size_at_the_end_is_the_things_size() -> None:
    found = adjust.item_from("Reflector white card 2 210 x 297 mm")
    assert (found.name, found.width_mm, found.height_mm) == ("white card 2", 210.0, 297.0)


@pytest.mark.parametrize("text", ["620 540 0 left", "620/540/0 l", "620, 540, 0 left 5", "620 mm 540 mm 0 mm left"])
def test_tape_measures_are_read_as_people_write_them(text: str) -> None:
    """A thing that lies on the table is 0 mm up."""
    place = adjust.place_by_tape(text, CAMERA)
    assert place is not None and (place.distance_mm, place.elevation_deg) == (620, 0)


@pytest.mark.parametrize(
    ("text", "azimuth_deg"),
    [
        ("300 left 400 front 500 up", 36.87),
        ("300 mm r, 400 mm front, 500", -36.87),
        ("300left/400behind/500 up", 143.13),
    ],
)
def test_a_place_by_marks_on_the_table_is_that_of_the_triangle(text: str, azimuth_deg: float) -> None:
    """3, 4, 5: 500 mm along the table; with 500 mm up it is 45° high and 500·√2 off."""
    place = adjust.place_by_tape(text, CAMERA)
    assert place is not None and place.azimuth_deg == pytest.approx(azimuth_deg, abs=0.01)
    assert place.elevation_deg == pytest.approx(45) and place.distance_mm == pytest.approx(500 * 2**0.5)
    read_to_cm = math.hypot(5, 10 / math.sqrt(12))
    assert place.side_sd_deg == pytest.approx(math.degrees(read_to_cm / 500)) and place.fits


@pytest.mark.parametrize("text", ["620", "620 540", "sixty", "620 540 left"])
def test_what_is_no_tape_measure_is_left_to_the_distance(text: str) -> None:
    assert adjust.place_by_tape(text, CAMERA) is None


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("620 540 300", "like 620 540 300 left, not '620 540 300'"),
        ("620 540 20000 left", "up is 20,000 mm, but must be from 0"),
        ("100000 left 100000 front 9000 up", "the distance to the piece is 141,700 mm"),
        ("0 left 0 front 0.5 up", "the distance to the piece is 0.5 mm"),
    ],
)
def test_tape_measures_that_lack_a_side_or_can_not_be_are_refused(text: str, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        adjust.place_by_tape(text, CAMERA)


def test_how_well_the_tape_tells_a_place_stays_with_it_until_it_is_moved() -> None:
    place = adjust.place_by_tape("300 left 400 front 500 up", CAMERA)
    assert place is not None
    light = adjust.at_place(PlacedLight("key"), place)
    assert (light.distance_sd_mm, light.azimuth_sd_deg, light.elevation_sd_deg) == (5.8, 0.7, 0.5)
    nearer = adjust.stepped_distance(light, -1)
    assert nearer is not None and (nearer.distance_sd_mm, nearer.azimuth_sd_deg) == (None, 0.7)
    turned = adjust.with_angles(light, "60 left/35 up")
    assert (turned.distance_sd_mm, turned.azimuth_sd_deg, turned.elevation_sd_deg) == (5.8, None, None)
    assert adjust.with_distance(light, "707").distance_sd_mm is None
