"""Small changes to a set-up by keys: a light's power, distance and place, the region. Pure functions.

Each gives a new value, or None where the old one isn't known: a step from nowhere would invent a measure, so
the person is asked to type it first. Angles and powers as in `session.set.setup`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

from session.set.kit import Kit
from session.set.lights_in_use import least_power_ev, require_power, stepped_power_ev
from session.set.setup import KIND_WORDS, PassiveItem, PlacedLight, Region, Revision, put_at
from session.set.taped_place import TapedPlace, TapeMeasures, place_from_marks, taped_place
from session.units.refusals import UnreadableTextError
from session.units.typed import typed_number, typed_turn
from session.units.value_words import name_words

DISTANCE_STEP_MM, ANGLE_STEP_DEG = 10.0, 5.0
"""Steps that a hand tape and an eye can tell at a table. Chosen."""

REGION_STEP = 0.02
"""A fiftieth of the picture: less than the half-block picture at 80 columns can show. Chosen."""

SMALLEST_REGION = 0.02


def stepped_power(light: PlacedLight, steps: int, kit: Kit) -> PlacedLight:
    """Power moved by thirds of a stop, within what the light can do."""
    return replace(light, power_ev=stepped_power_ev(light, steps, kit))


def changed_power(light: PlacedLight, power_ev: float, kit: Kit) -> PlacedLight:
    """The light at a power to a tenth of a stop, EV, as flashes are set, within what the light can do."""
    return replace(light, power_ev=min(0.0, max(least_power_ev(kit, light.name), round(power_ev, 1))))


ThingT = TypeVar("ThingT", PlacedLight, PassiveItem)


def stepped_distance(light: ThingT, steps: int) -> ThingT | None:
    """Nearer (negative steps) or farther, never through the piece; None where the distance isn't known."""
    if light.distance_mm is None:
        return None
    grid = round(light.distance_mm / DISTANCE_STEP_MM) + steps
    return put_at(light, distance_mm=max(DISTANCE_STEP_MM, grid * DISTANCE_STEP_MM))


def move(light: ThingT, right: int, up: int) -> ThingT | None:
    """To the right or left around the piece, and up or down, by steps of 5°; None where the place isn't known."""
    if light.azimuth_deg is None or light.elevation_deg is None:
        return None
    azimuth_deg = (light.azimuth_deg - right * ANGLE_STEP_DEG) % 360
    elevation_deg = min(90.0, max(-90.0, light.elevation_deg + up * ANGLE_STEP_DEG))
    return put_at(light, azimuth_deg=azimuth_deg, elevation_deg=elevation_deg)


def next_shaper(light: PlacedLight, kit: Kit) -> PlacedLight:
    """The kit's next shaper; after the last, none."""
    names = ["", *(shaper.name for shaper in kit.shaper)]
    at = names.index(light.shaper) if light.shaper in names else 0
    return light.with_shaper(names[(at + 1) % len(names)])


def with_power(light: PlacedLight, text: str, kit: Kit) -> PlacedLight:
    """The light with its power as typed: `1/4`, `1/4 +1/3` or `-2`.

    Raises ValueError with a sentence, also for a power that the light hasn't.
    """
    wanted = replace(light, power_ev=number_in(text, "power_ev"))
    require_power(wanted, kit)
    return wanted


def with_distance(light: ThingT, text: str) -> ThingT:
    """Distance typed in mm. Raises ValueError with a sentence."""
    return put_at(light, distance_mm=number_in(text, "distance_mm"), distance_sd_mm=None)


MEASURED = re.compile(
    r"(?P<to_piece>[\d.,]+)[\s/;]+(?P<to_lens>[\d.,]+)[\s/;]+(?P<up>[\d.,]+)(?:[\s/;]+(?P<side>l|left|r|right))?"
    r"(?:[\s/;]+(?P<sideways>[\d.,]+))?"
)
"""`620 540 300 left`, and `620 540 300 left 410` with a measure too many."""


MARKED = re.compile(
    r"(?P<side_mm>[\d.,]+)\s*(?P<side>left|right|l|r)[\s/;,]+(?P<ahead_mm>[\d.,]+)\s*(?P<ahead>front|behind|f|b)[\s/;,]+"
    r"(?P<up>[\d.,]+)(?:\s*up)?"
)
"""`300 left 200 front 400 up`, from the piece along the table by marks on it."""

BY_TAPE = (
    "By tape, mm: to piece, to lens, up, side, like 620 540 300 left; or by marks, like 300 left 200 front 400 up."
)
"""The ways to type a place, as a sentence."""


def place_by_tape(text: str, revision: Revision) -> TapedPlace | None:
    """The place typed as tape measures, `620 540 300 left`: to the piece, to the lens, up, mm; None for other text.

    Or from marks on the table: `300 left 200 front 400 up`.
    Raises ValueError with a sentence for measures that can't be meant or don't meet.
    """
    marked = MARKED.fullmatch(text.strip().casefold().replace("mm", ""))
    if marked is not None:
        side_mm, ahead_mm = (number_in(marked[name], "sideways_mm") for name in ("side_mm", "ahead_mm"))
        left_mm = side_mm if marked["side"][0] == "l" else -side_mm
        front_mm = ahead_mm if marked["ahead"][0] == "f" else -ahead_mm
        return place_from_marks(left_mm, front_mm, number_in(marked["up"], "up_mm"))
    found = MEASURED.fullmatch(text.strip().casefold().replace("mm", ""))
    if found is None:
        return None
    if not found["side"]:
        raise UnreadableTextError(
            f"a tape tells mm to the piece, to the lens and up, then left or right, like 620 540 300 left, not {text!r}"
        )
    to_piece_mm, to_lens_mm = (number_in(found[name], "distance_mm") for name in ("to_piece", "to_lens"))
    up_mm = number_in(found["up"], "up_mm")
    sideways_mm = number_in(found["sideways"], "sideways_mm") if found["sideways"] else None
    measures = TapeMeasures(to_piece_mm, to_lens_mm, up_mm, found["side"].startswith("l"), sideways_mm)
    return taped_place(measures, revision)


ROUNDED_SD = 1 / math.sqrt(12)
"""Of whole numbers, evenly within a step of 1: JCGM 100:2008, 4.3.7."""


def at_place(light: ThingT, place: TapedPlace) -> ThingT:
    """The thing where the tape put it, angles to the whole degree, which is no finer than a tape tells."""
    azimuth_deg, elevation_deg = (float(round(angle)) for angle in (place.azimuth_deg % 360, place.elevation_deg))
    side_sd_deg, height_sd_deg = (
        round(math.hypot(sd, ROUNDED_SD), 1) for sd in (place.side_sd_deg, place.height_sd_deg)
    )
    return put_at(
        light,
        distance_mm=place.distance_mm,
        azimuth_deg=azimuth_deg % 360,
        elevation_deg=elevation_deg,
        distance_sd_mm=round(place.distance_sd_mm, 1),
        azimuth_sd_deg=side_sd_deg,
        elevation_sd_deg=height_sd_deg,
    )


def with_angles(light: ThingT, text: str) -> ThingT:
    """Side and height typed as `60 left/35 up` or `60 left 35`. Raises ValueError with a sentence."""
    parts = re.fullmatch(r"(.*?\d\s*°?\s*(?:l|left|r|right)?)\s*(?:[/,;·]|\s)\s*(\S.*)", text.strip().casefold())
    if parts is None:
        raise UnreadableTextError(f"side and height are written like 60 left/35 up, not {text!r}")
    side, height = (number_in(part, name) for part, name in zip(parts.groups(), ANGLES, strict=True))
    return put_at(light, azimuth_deg=side, elevation_deg=height, azimuth_sd_deg=None, elevation_sd_deg=None)


SIZE = r"(\d+(?:[.,]\d+)?)\s*(?:mm)?\s*[x×*]\s*(\d+(?:[.,]\d+)?)\s*(?:mm)?"
"""`210 x 297`, in mm."""


def with_turn(item: PassiveItem, text: str) -> PassiveItem:
    """How far the face is turned from the piece, typed as `45 left`. Raises ValueError with a sentence."""
    turned_deg, turned_to = typed_turn(text)
    return replace(item, turned_deg=turned_deg, turned_to=turned_to)


def with_size(item: ThingT, text: str) -> ThingT:
    """Width and height typed as `210 x 297`, mm. Raises ValueError with a sentence."""
    parts = re.fullmatch(SIZE, text.strip().casefold())
    if parts is None:
        raise UnreadableTextError(f"a size is written like 210 x 297, in mm, not {text!r}")
    width, height = (
        number_in(part, name) for part, name in zip(parts.groups(), ("width_mm", "height_mm"), strict=True)
    )
    return replace(item, width_mm=width, height_mm=height)


def item_from(text: str) -> PassiveItem:
    """What is put up, typed as `reflector white card 210 x 297`. Raises ValueError with a sentence."""
    bare = " ".join(text.split())
    kind = next((kind for kind, word in KIND_WORDS.items() if bare.casefold().split(" ")[:1] == [word]), None)
    if kind is None:
        raise UnreadableTextError(
            f"it begins with {', '.join(KIND_WORDS.values())}, like reflector white card, not {text!r}"
        )
    rest = bare.partition(" ")[2]
    sized = re.fullmatch(rf"(.*?)\s*\b({SIZE})", rest, re.IGNORECASE)
    name = sized[1] if sized else rest
    if re.search(SIZE, name, re.IGNORECASE):
        raise UnreadableTextError(f"a size stands at the end, in mm, like reflector white card 210 x 297, not {text!r}")
    item = PassiveItem(kind, name or KIND_WORDS[kind])
    return with_size(item, sized[2]) if sized else item


ANGLES = ("azimuth_deg", "elevation_deg")


def number_in(text: str, name: str) -> float:
    """A typed number for the quantity of that name, in its unit. Raises ValueError with a sentence."""
    return typed_number(name, text, name_words(name))


def moved_region(region: Region, right: int, down: int) -> Region:
    """Moved by steps of a fiftieth of the picture, and stopped at its edges."""
    left = min(1 - region.width, max(0.0, region.left + right * REGION_STEP))
    top = min(1 - region.height, max(0.0, region.top + down * REGION_STEP))
    return replace(region, left=left, top=top)


def half_of(region: Region, digit: int) -> Region:
    """The region halved each way, at the digit's place on a number pad: 7 upper left, 5 middle.

    The nine places overlap by half, so a detail up to half as large as the new region lies whole in one of them.
    """
    across, down = (digit - 1) % 3, 2 - (digit - 1) // 3
    width, height = (max(SMALLEST_REGION, side / 2) for side in (region.width, region.height))
    left = region.left + across * (region.width - width) / 2
    top = region.top + down * (region.height - height) / 2
    return Region(left, top, width, height)


def sized_region(region: Region, wider: int, higher: int) -> Region:
    """The region made wider and higher about its middle, as far as the edges let it; never below a fiftieth."""
    width = min(1.0, max(SMALLEST_REGION, region.width + wider * REGION_STEP))
    height = min(1.0, max(SMALLEST_REGION, region.height + higher * REGION_STEP))
    left = min(1 - width, max(0.0, region.left + (region.width - width) / 2))
    top = min(1 - height, max(0.0, region.top + (region.height - height) / 2))
    return Region(left, top, width, height)


def beside(value: float | str, offered: Sequence[float | str], steps: int) -> float | str:
    """The value so many places on among the values offered; a number that isn't offered counts from the nearest.

    No unit changes.
    """
    if not offered:
        return value
    if value in offered:
        at = list(offered).index(value)
    elif isinstance(value, str):
        at = 0
    else:
        numbers = [one for one in offered if not isinstance(one, str)]
        at = min(range(len(numbers)), key=lambda i: abs(numbers[i] - value)) if numbers else 0
    return offered[min(len(offered) - 1, max(0, at + steps))]
