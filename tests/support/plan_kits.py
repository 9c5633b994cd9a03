"""Invented kits for tests of the planner."""

from __future__ import annotations

from session.set.kit import (
    Body,
    Converter,
    ExtensionTube,
    Kit,
    Lens,
    Light,
    Plate,
    ReversingRing,
    Shaper,
    SupplementaryLens,
    Support,
    Trigger,
)

BODY = Body(
    name="full", sensor_width_mm=36, sensor_height_mm=24, pixels_across=6000, pixels_down=4000,
    sync_time_s=1 / 200, curtain_travel_s=0.003, flange_distance_mm=44,
)  # fmt: skip
SMALL = Body(
    name="small", sensor_width_mm=23.6, sensor_height_mm=15.6, pixels_across=6000, pixels_down=4000,
    sync_time_s=1 / 250, curtain_travel_s=0.0028, flange_distance_mm=26,
)  # fmt: skip
LARGE = Body(
    name="large", sensor_width_mm=43.8, sensor_height_mm=32.9, pixels_across=11648, pixels_down=8736,
    sync_time_s=1 / 125, flange_distance_mm=26.7,
)  # fmt: skip
OLD = BODY.model_copy(update={"name": "old", "pixels_across": 3000, "pixels_down": 2000, "sync_time_s": 1 / 60})


def unit_focusing(name: str, focal_mm: float, closest: float, pupil: float = 1.0, **more: object) -> Lens:
    """A lens that moves out as a whole; its track follows from that."""
    values = {
        "name": name,
        "focal_length_mm": focal_mm,
        "pupil_magnification": pupil,
        "closest_magnification": closest,
        "track_mm": focal_mm * (1 + closest) ** 2 / closest,
        "length_mm": 0.9 * focal_mm + 20,
        "front_diameter_mm": 60.0,
        **more,
    }
    return Lens.model_validate(values)


LENSES = (
    unit_focusing("24", 24, 0.2, 1.8),
    unit_focusing("35", 35, 0.18, 1.5),
    unit_focusing("50", 50, 0.15, 1.2, widest_f_number=1.8, smallest_f_number=16),
    unit_focusing("55 close-up", 55, 0.5),
    unit_focusing("60 close-up", 60, 1.0, smallest_f_number=32),
    unit_focusing("85", 85, 0.12, 0.9),
    unit_focusing("90 tilting", 90, 0.5, 0.85, electronic_aperture=False),
    unit_focusing("100 close-up", 100, 1.0, smallest_f_number=32),
    unit_focusing("120 close-up", 120, 1.0, 0.7, widest_f_number=4, smallest_f_number=32),
    unit_focusing("135", 135, 0.2, 0.6),
    unit_focusing("180 close-up", 180, 1.0, 0.6, widest_f_number=3.5, smallest_f_number=32),
    Lens(name="100 inner", focal_length_mm=100, closest_magnification=1, track_mm=300,
         closest_working_distance_mm=136, pupil_magnification=0.8, smallest_f_number=32, front_diameter_mm=70),
)  # fmt: skip

LIGHTS = tuple(
    Light(name=f"flash {guide}", guide_number_m=guide, duration_t01_s=0.001, distance_mm=500 + 10 * guide)
    for guide in (12, 20, 28, 36, 50, 64)
)

FULL_KIT = Kit(
    body=(BODY, SMALL, LARGE, OLD),
    lens=LENSES,
    light=LIGHTS,
    shaper=(Shaper(name="softbox", kind="softbox", loss_ev=2, source_size_mm=300),),
    trigger=(Trigger(name="radio", delay_s=0.0003),),
    support=(Support(name="column", frequency_hz=22, damping_ratio=0.05),),
    tube=(
        ExtensionTube(name="12", extension_mm=12, electronic_aperture=True),
        ExtensionTube(name="25", extension_mm=25),
    ),
    supplementary=(SupplementaryLens(name="+4", dioptres=4),),
    converter=(Converter(name="1.4", factor=1.4),),
    reversing_ring=(ReversingRing(name="ring", extension_mm=5),),
    plate=(Plate(name="thin", thickness_mm=1, width_mm=150, height_mm=100),),
)
"""Four bodies, twelve lenses, more than five arrangements each, six lights."""
