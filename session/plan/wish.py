"""The photographer's wish: the piece, its place in the picture, the delivered size, and the things between."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from session.optics.circle import PIXEL_RULE, RADII
from session.optics.diffraction import GREEN_UM
from session.optics.sharpness import USUAL_OVERLAP
from session.set.lens_in_use import USUAL_PLATE_ANGLE_DEG
from session.units.quantities import require
from session.units.refusals import ImpossibleNumbersError, UnreadableTextError
from session.units.surfaces import SURFACES, Surface
from session.units.typed import typed_number

LEAST_DEPTH_MM = 0.1
"""Depth that even a flat piece is given: nobody sets focus by hand, and squares a piece up, closer than this.
Common practice, no source."""

USUAL_TILT_DEG = 1.0
"""How far out of square a piece stands that was squared up by eye. Common practice, no source."""

HAND_ROOM_MM = 20.0
"""Room before the lens where nothing else is asked: for a hand with a brush. Common practice, no source."""


class NoPlanError(ValueError):
    """The kit has all that was named, but no way to meet the wish; the text is one sentence."""


@dataclass(frozen=True)
class WantedLight:
    """A light of the kit that is to be used; None leaves a number as the kit has it.

    level_ev       what it gives beside the key, 0 as much, −2 two stops less
    from_axis_deg  where it stands, from the optical axis: 90 level with the piece, more behind it
    """

    name: str
    level_ev: float | None = None
    from_axis_deg: float | None = None

    @classmethod
    def parse(cls, text: str) -> WantedLight:
        """`fill`, `fill=-2`, `rim=-1@120`, `rim@120`: name, level in EV, angle in degrees. Raises ValueError."""
        parts = re.fullmatch(r"\s*([^=]*?)\s*(?:=([^@]*))?(?:@([^@=]*))?", text)
        if parts is None or not parts[1]:
            raise UnreadableTextError(f"a light is written like fill, fill=-2 or rim=-1@120, not {text!r}")
        level, angle = (part.strip() if part else "" for part in parts.groups()[1:])
        level_ev = typed_number("level_ev", level) if level else None
        return cls(parts[1], level_ev, typed_number("from_axis_deg", angle) if angle else None)


@dataclass(frozen=True)
class Wish:
    """The picture that is wanted. Lengths in mm, on the piece.

    piece_width_mm     as it lies in the picture; the camera is turned upright where that suits the piece better
    piece_height_mm
    relief_mm          from the nearest to the farthest point of the piece, along the axis
    depth_needed_mm    what of it must be sharp; None: all of it
    fill               largest share of the picture's width or height that the piece may take
    delivered_pixels   across the delivered picture, which shows the piece with that margin; None: any, of a picture
                       that the piece fills that far, so that nothing need be cropped
    blur_radius_on_piece_mm   total blur allowed, as a radius, diffraction included; None: what two delivered pixels
                       across show
    clear_in_front_mm  what must stay free between the piece and whatever comes next
    light_angle_deg    from the axis: the steepest light that must pass the lens and reach all of the piece
    plate, plate_angle_deg   a plate of the kit for axial light, and its tilt
    lights             of the kit, that work together, the first is the key (and comes over the plate), each as
                       `WantedLight.parse` reads it; none: the first flash of the kit that is strong enough, alone;
                       for a mirror one with a surface that shines, where there is one
    surface            of the piece: "matt", "satin" or "mirror"; a mirror shows the sources, so their luminance counts
    body, lens         only this one; "" for any
    support, trigger     "" for the kit's first
    tilt_deg           by which a flat piece may be out of square to the axis: it asks for depth of its own
    overlap            of the depths in a focus series
    most_frames        that a focus series may take; None: any
    Raises ValueError when a number can't be meant, or nothing says how much blur is allowed.
    """

    piece_width_mm: float
    piece_height_mm: float
    relief_mm: float = 0.0
    depth_needed_mm: float | None = None
    fill: float = 0.8
    delivered_pixels: float | None = None
    blur_radius_on_piece_mm: float | None = None
    clear_in_front_mm: float = HAND_ROOM_MM
    light_angle_deg: float = 45.0
    plate: str = ""
    plate_angle_deg: float = USUAL_PLATE_ANGLE_DEG
    lights: tuple[str, ...] = ()
    surface: Surface = "matt"
    iso: float = 100.0
    body: str = ""
    lens: str = ""
    support: str = ""
    trigger: str = ""
    tilt_deg: float = USUAL_TILT_DEG
    overlap: float = USUAL_OVERLAP
    most_frames: int | None = None
    wavelength_um: float = GREEN_UM

    def __post_init__(self) -> None:
        require(
            piece_width_mm=self.piece_width_mm,
            piece_height_mm=self.piece_height_mm,
            relief_mm=self.relief_mm,
            fill=self.fill,
            clear_in_front_mm=self.clear_in_front_mm,
            light_angle_deg=self.light_angle_deg,
            plate_angle_deg=self.plate_angle_deg,
            iso=self.iso,
            tilt_deg=self.tilt_deg,
            overlap=self.overlap,
            wavelength_um=self.wavelength_um,
        )
        for name in ("depth_needed_mm", "delivered_pixels", "blur_radius_on_piece_mm", "most_frames"):
            if getattr(self, name) is not None:
                require(**{name: getattr(self, name)})
        for text in self.lights:
            WantedLight.parse(text)
        if self.surface not in SURFACES:
            raise UnreadableTextError(f"surface is {self.surface!r}, but must be one of {', '.join(SURFACES)}.")
        if self.blur_radius_on_piece_mm is None and self.delivered_pixels is None:
            raise ImpossibleNumbersError(
                "blur_radius_on_piece_mm is missing: give it in mm, or delivered_pixels to take it from."
            )
        if self.depth_needed_mm is not None and self.depth_needed_mm > self.relief_mm > 0:
            raise ImpossibleNumbersError(
                f"depth_needed_mm is {self.depth_needed_mm:.4g} mm, but the piece is only {self.relief_mm:.4g} mm deep."
            )

    @classmethod
    def from_fields(cls, fields_kept: Mapping[str, object]) -> Wish:
        """The wish of fields that were kept; what another version knew is left out. Raises ValueError."""
        names = {field.name for field in fields(cls)}
        known: dict[str, Any] = {name: value for name, value in fields_kept.items() if name in names}
        if isinstance(known.get("lights"), list):
            known["lights"] = tuple(known["lights"])
        try:
            return cls(**known)
        except TypeError:
            raise ImpossibleNumbersError(
                f"the wish that was kept lacks a number, or has a word for one: {known}"
            ) from None

    @property
    def wanted_lights(self) -> tuple[WantedLight, ...]:
        """The lights that work together, the key first."""
        return tuple(WantedLight.parse(text) for text in self.lights)

    @property
    def depth_mm(self) -> float:
        """Depth that must be sharp, mm: as asked for, else the piece's own, or a flat one's for standing aslant."""
        if self.depth_needed_mm is not None:
            return max(self.depth_needed_mm, LEAST_DEPTH_MM)
        side_mm = max(self.piece_width_mm, self.piece_height_mm)
        return max(self.relief_mm, side_mm * math.tan(math.radians(self.tilt_deg)), LEAST_DEPTH_MM)

    @property
    def framed_width_mm(self) -> float:
        """Width that the delivered picture shows, mm: the piece and its margin."""
        return self.piece_width_mm / self.fill

    @property
    def blur_radius_mm(self) -> float:
        """Total blur allowed on the piece, as a radius, mm."""
        if self.blur_radius_on_piece_mm is not None:
            return self.blur_radius_on_piece_mm
        assert self.delivered_pixels is not None
        return PIXEL_RULE / RADII * self.framed_width_mm / self.delivered_pixels

    @property
    def blur_circle_mm(self) -> float:
        """Total blur allowed on the piece, as a diameter, mm."""
        return RADII * self.blur_radius_mm

    def in_front_mm(self, frames: int) -> float:
        """How far the piece can rise from the plane of focus towards the lens, mm.

        In a series the last plane lies at the far end; where only a part must be sharp, nobody said which.
        """
        reach_mm = self.relief_mm if frames > 1 else self.relief_mm - self.depth_mm / 2
        return max(reach_mm, self.relief_mm / 2)
