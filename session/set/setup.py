"""The whole arrangement as a value: camera settings, lens, lights, reflectors, flags, glass, region, notes.

Every change makes a new immutable revision; `07.3` is set-up 7, revision 3.
Angles: azimuth 0° = from the camera, clockwise seen from above; elevation 0° = table plane, 90° = straight down.
`power_ev` 0 = full power, −2 = a quarter.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from enum import StrEnum
from types import MappingProxyType
from typing import Any, TypeAlias, TypeVar, get_args, get_type_hints

from session.units.refusals import ImpossibleNumbersError, UnreadableTextError

DEFAULT_HOLD_OFF_S = 2.0
"""Wait between the last touch and the release; 2 s is the usual self-timer. Common practice, no source."""

DEFAULT_BLUR_LIMIT_PX = 1.0
"""Blur radius in full-size pixels above the reference that a view may show: a disc of 2 px across, the stricter end of
the pixel rule for work inspected at 100 % (2 to 3 px across). Common practice, no source."""

MISSED_AT_LIMITS = 2.0
"""A frame is `soft` above the blur limit and `missed` above this many limits: one whole depth of field
off, since the limit is half of one. By definition."""


class Confirmation(StrEnum):
    """A photographer's confirmations of a set-up; the values stand in logs.

    APERTURE_BY_HAND  the aperture of a lens that the camera can't set was set by hand
    BY_STILLNESS      the release waits until the live picture rests; else, and without live view, for the timer
    FOCUS_LOCKED      the focus isn't driven
    """

    STABILISER = "stabiliser"
    APERTURE_BY_HAND = "aperture-by-hand"
    BY_STILLNESS = "released by stillness"
    FOCUS_LOCKED = "focus locked"


@dataclass(frozen=True)
class Settings:
    """The settings that the camera shall have; None leaves a setting as the camera has it.

    exposure_s       seconds, > 0
    f_number         as marked on the lens; None for a lens whose aperture is set by hand
    iso              ISO speed
    white_balance    the camera's own word for it, e.g. "Flash"
    file_format      "jpeg", "raw" or "raw+jpeg"
    """

    exposure_s: float = 1 / 200
    f_number: float | None = 11.0
    iso: int = 100
    white_balance: str | None = None
    file_format: str | None = None

    def by_name(self) -> dict[str, object]:
        """Canonical setting name → value, without those left to the camera."""
        return {name: value for name, value in field_values(self).items() if value is not None}


@dataclass(frozen=True)
class Arrangement:
    """Lens and what is between it and the camera.

    focal_length_mm      in use at this ratio
    magnification        image height / object height, of the whole
    pupil_magnification  exit / entrance pupil diameter, lens in normal orientation
    gap_mm               close-up lens to the front principal plane of the lens; 0 without one, or in contact
    converter            factor of a teleconverter, 1.0 without one
    """

    lens: str = ""
    focal_length_mm: float = 100.0
    magnification: float = 0.5
    pupil_magnification: float = 1.0
    reversed: bool = False
    extension_mm: float = 0.0
    dioptres: float = 0.0
    gap_mm: float = 0.0
    converter: float = 1.0


@dataclass(frozen=True)
class PlacedLight:
    """A light of the kit where it stands; distances from the piece.

    width_mm, height_mm  what shines: the front of its shaper, or of the light without one; None when nobody said
    *_sd_mm, *_sd_deg    one standard deviation of where it stands, by how finely the tape was read; None for a place
                         by eye
    """

    name: str
    power_ev: float = 0.0
    distance_mm: float | None = None
    azimuth_deg: float | None = None
    elevation_deg: float | None = None
    shaper: str = ""
    note: str = ""
    width_mm: float | None = None
    height_mm: float | None = None
    distance_sd_mm: float | None = None
    azimuth_sd_deg: float | None = None
    elevation_sd_deg: float | None = None

    def with_shaper(self, shaper: str) -> PlacedLight:
        """The light with another shaper before it, whose size nobody has said yet; the same light for its own."""
        return self if shaper == self.shaper else replace(self, shaper=shaper, width_mm=None, height_mm=None)


@dataclass(frozen=True)
class PassiveItem:
    """A reflector, flag, sheet of glass or other thing that stands in the set and gives no light of its own.

    width_mm, height_mm  its size; None when nobody said
    turned_deg           how far its face is turned from the piece; 0 faces the piece; None when nobody said
    turned_to            where to: `left` (clockwise around the piece, as sides are counted), `right`, `up` or `down`
    *_sd_mm, *_sd_deg    as for a light
    """

    kind: str
    name: str
    distance_mm: float | None = None
    azimuth_deg: float | None = None
    elevation_deg: float | None = None
    note: str = ""
    width_mm: float | None = None
    height_mm: float | None = None
    turned_deg: float | None = None
    turned_to: str = ""
    distance_sd_mm: float | None = None
    azimuth_sd_deg: float | None = None
    elevation_sd_deg: float | None = None


KIND_WORDS = {"bounce": "reflector", "flag": "flag", "plate": "glass"}
"""What people call the kinds of what stands in the set and gives no light of its own."""


def kind_word(item: PassiveItem) -> str:
    """The word for a kind of item: `reflector`, `flag`, `glass`, or the kind's own name."""
    return KIND_WORDS.get(item.kind, item.kind)


Placed: TypeAlias = PlacedLight | PassiveItem
"""What stands somewhere in the set."""


SD_OF_PLACE = {
    "distance_mm": "distance_sd_mm",
    "azimuth_deg": "azimuth_sd_deg",
    "elevation_deg": "elevation_sd_deg",
}
"""The parts of a place, and the fields that hold how well each is known."""

PlacedT = TypeVar("PlacedT", PlacedLight, PassiveItem)


def put_at(thing: PlacedT, **place: Any) -> PlacedT:
    """The thing with these fields of its place; how well a part that changes was known is forgotten, unless given."""
    moved = (name for name in place if name in SD_OF_PLACE and place[name] != getattr(thing, name))
    return replace(thing, **({SD_OF_PLACE[name]: None for name in moved} | place))


@dataclass(frozen=True)
class Region:
    """The rectangle that must be sharp, in fractions of the picture's width and height, origin top left."""

    left: float = 0.4
    top: float = 0.4
    width: float = 0.2
    height: float = 0.2

    def __post_init__(self) -> None:
        inside = 0 <= self.left < 1 and 0 <= self.top < 1 and self.width > 0 and self.height > 0
        if not inside or self.left + self.width > 1 + 1e-9 or self.top + self.height > 1 + 1e-9:
            raise ImpossibleNumbersError(f"a region must lie in the picture: {self}")

    def __str__(self) -> str:
        """`20 % × 20 % of the picture, middle at 50 %, 50 %`."""
        middle = f"{self.left + self.width / 2:.0%}, {self.top + self.height / 2:.0%}"
        return f"{self.width:.0%} × {self.height:.0%} of the picture, middle at {middle}".replace("%", " %")

    def in_pixels(self, width_px: int, height_px: int) -> tuple[int, int, int, int]:
        """(left, top, right, bottom) in pixels of a picture of that size; never less than a pixel wide and high."""
        left, top = int(self.left * width_px), int(self.top * height_px)
        right = max(left + 1, min(width_px, round((self.left + self.width) * width_px)))
        bottom = max(top + 1, min(height_px, round((self.top + self.height) * height_px)))
        return left, top, right, bottom


@dataclass(frozen=True)
class Revision:
    """One immutable state of a set-up.

    body, trigger, support   names from the kit; "" when unknown
    working_distance_mm    by tape, from the front of the lens to the piece; None when nobody measured
    camera_height_mm       by tape, from the table up to the middle of the lens
    view_down_deg          how far the camera looks down: 0 level, 90 straight down
    view_around_deg        how far it stands around the piece from its front, clockwise seen from above
    hold_off_s             wait between the last touch and the release
    grey_patch             where a grey card or another grey thing lies in the picture; None: not marked
    blur_limit_px          blur radius above the reference that the view may show, full-size pixels
    depth_needed_mm        depth of the piece that must be sharp; None when nobody said
    must_be_sharp          what that is, in words; may_fall_off likewise
    ambient_ev             the ambient light against the flash exposure as measured, −6 = six stops under; None: not yet
    confirmed              what the photographer has confirmed, see Confirmation
    """

    setup_number: int = 1
    revision: int = 1
    settings: Settings = field(default_factory=Settings)
    arrangement: Arrangement = field(default_factory=Arrangement)
    lights: tuple[PlacedLight, ...] = ()
    passive: tuple[PassiveItem, ...] = ()
    region: Region = field(default_factory=Region)
    grey_patch: Region | None = None
    body: str = ""
    trigger: str = ""
    support: str = ""
    working_distance_mm: float | None = None
    camera_height_mm: float | None = None
    view_down_deg: float | None = None
    view_around_deg: float | None = None
    hold_off_s: float = DEFAULT_HOLD_OFF_S
    blur_limit_px: float = DEFAULT_BLUR_LIMIT_PX
    depth_needed_mm: float | None = None
    must_be_sharp: str = ""
    may_fall_off: str = ""
    ambient_ev: float | None = None
    confirmed: tuple[str, ...] = ()
    notes: str = ""

    @property
    def placed(self) -> tuple[Placed, ...]:
        """Lights, and what else stands in the set."""
        return (*self.lights, *self.passive)

    @property
    def label(self) -> str:
        """`07.3` for set-up 7, revision 3."""
        return f"{self.setup_number:02d}.{self.revision}"

    def light(self, name: str) -> PlacedLight | None:
        """The placed light of that name, None when it isn't in the set."""
        return next((light for light in self.lights if light.name == name), None)

    def with_light(self, light: PlacedLight) -> Revision:
        """The arrangement with this light added, or put in the place of its namesake."""
        if self.light(light.name) is None:
            return replace(self, lights=(*self.lights, light))
        return replace(self, lights=tuple(light if old.name == light.name else old for old in self.lights))

    def item(self, name: str) -> PassiveItem | None:
        """The reflector, flag or glass of that `thing_name`, None when it isn't in the set."""
        return next((item for item in self.passive if thing_name(item) == name), None)

    def with_item(self, item: PassiveItem) -> Revision:
        """The same arrangement with this item added, or put in the place of its namesake."""
        name = thing_name(item)
        if self.item(name) is None:
            return replace(self, passive=(*self.passive, item))
        return replace(self, passive=tuple(item if thing_name(old) == name else old for old in self.passive))

    def without_item(self, name: str) -> Revision:
        """The same arrangement with the item of that `thing_name` struck."""
        return replace(self, passive=tuple(item for item in self.passive if thing_name(item) != name))

    def without_light(self, name: str) -> Revision:
        """The arrangement with the light of that name struck."""
        return replace(self, lights=tuple(light for light in self.lights if light.name != name))


def parse_label(text: str) -> tuple[int, int | None]:
    """Set-up and revision numbers from `07.3`, or from `7` (any revision: None). Raises ValueError."""
    match = re.fullmatch(r"\s*(\d{1,6})(?:\.(\d{1,6}))?\s*", text)
    if not match:
        raise UnreadableTextError(f"a set-up is written like 07.3 or 7, not {text!r}")
    return int(match[1]), int(match[2]) if match[2] else None


def differences(old: Revision, new: Revision) -> list[tuple[str, object, object]]:
    """Differences as (name, old value, new value); None for the value of a missing thing.

    Names of settings and of the lens arrangement stand alone (`exposure_s`), those of things in the set behind
    theirs (`light key power_ev`, `reflector white card distance_mm`). Numbers of set-up and revision aren't told.
    """
    before, after = arranged_parts(old), arranged_parts(new)
    found: list[tuple[str, object, object]] = []
    for name in dict.fromkeys((*before, *after)):
        one, other = before.get(name), after.get(name)
        if one == other:
            continue
        if isinstance(one, Placed) and isinstance(other, Placed):
            others = field_values(other)
            parts = [(part, value, others[part]) for part, value in field_values(one).items()]
            found += [(f"{name} {part}", was, now) for part, was, now in parts if was != now]
        else:
            found.append((name, one, other))
    return found


def arranged_parts(revision: Revision) -> Mapping[str, object]:
    """Everything that an arrangement holds, name → value, in the order of the fields; things by their names."""
    told: dict[str, object] = {}
    for name, value in field_values(revision).items():
        if name in GROUPS:
            told |= field_values(value)
        elif name in THINGS:
            for thing in value:
                told[_unlike(thing_name(thing), told)] = thing
        elif name not in NUMBERS:
            told[name] = value
    return MappingProxyType(told)


GROUPS, THINGS, NUMBERS = ("settings", "arrangement"), ("lights", "passive"), ("setup_number", "revision")
"""Fields of a revision that are values with fields of their own, several things of the set, or its number."""

PLAIN = tuple(one.name for one in fields(Revision) if one.name not in (*GROUPS, *THINGS, *NUMBERS))
"""The fields of a revision that are single values."""


RECTANGLES = tuple(name for name, kind in get_type_hints(Revision).items() if Region in (kind, *get_args(kind)))
"""The fields of a revision that are rectangles in the picture."""


def same_arrangement(one: Revision, other: Revision) -> bool:
    """Alike in everything but the numbers of set-up and revision."""
    return replace(one, setup_number=other.setup_number, revision=other.revision) == other


def thing_name(thing: Placed) -> str:
    """`light key`, `reflector white card`."""
    return f"{kind_word(thing) if isinstance(thing, PassiveItem) else 'light'} {thing.name}".strip()


def field_values(value: Any) -> dict[str, Any]:
    """Name → value for the fields of a dataclass, in their order, one level deep."""
    return {one.name: getattr(value, one.name) for one in fields(value)}


def _unlike(name: str, taken: Mapping[str, object]) -> str:
    """The name, numbered from the second of its namesakes on."""
    number = next(n for n in itertools.count(1) if (name if n == 1 else f"{name} {n}") not in taken)
    return name if number == 1 else f"{name} {number}"
