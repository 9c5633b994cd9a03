"""The fields of a kit file: each table's fields, their meanings in words, and the nearest name to a slip."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from typing import get_args

from pydantic import BaseModel

WORDS = {
    "name": "what you call it; other parts of the set-up name it so",
    "note": "anything to remember",
    "invented": "true for a kit that nobody owns, like the demo's",
    "sensor_width_mm": "the sensor's long side, mm",
    "sensor_height_mm": "the sensor's short side, mm",
    "pixels_across": "pixels along the long side",
    "pixels_down": "pixels along the short side",
    "sync_time_s": "shortest exposure time at which one flash lights the whole frame, by the maker, s (0.005: 1/200)",
    "curtain_travel_s": "time in which a curtain crosses the frame, s",
    "flange_distance_mm": "lens mount to sensor, mm",
    "mount": "its mount; lenses, tubes and converters of the same mount fit, none fits everything",
    "stabiliser": "true when it has one",
    "serial": "the body's serial number, as the camera tells it",
    "focal_length_mm": "mm, at infinity",
    "pupil_magnification": "exit pupil over entrance pupil, seen from behind and from the front",
    "widest_f_number": "smallest number on the aperture ring",
    "smallest_f_number": "largest number on the aperture ring",
    "sharp_from_f_number": "widest opening that is sharp in the corners",
    "closest_magnification": "image over piece at the closest focus, 1 for 1:1",
    "track_mm": "piece to sensor at the closest focus, mm",
    "closest_effective_f_number": "effective f-number at the closest focus, the lens set to its widest",
    "principal_gap_mm": "front to rear principal plane, mm; negative when they are crossed",
    "front_to_pupil_mm": "front rim to entrance pupil, counted into the lens, mm",
    "closest_working_distance_mm": "front rim to piece at the closest focus, by the maker, mm",
    "length_mm": "its length along the axis, mm; of a lens mount to front rim at infinity",
    "front_diameter_mm": "across the front rim, with its hood, mm",
    "thread_mm": "filter thread, mm",
    "electronic_aperture": "true when the camera sets the aperture through it",
    "kind": "what sort it is, one of the words allowed",
    "guide_number_m": "guide number in metres at ISO 100 and full power, with the reflector it is rated with",
    "least_power_ev": "least power, in stops under full: -7 is 1/128",
    "duration_t01_s": "time above a tenth of the peak (t0.1), s, for every power",
    "durations_t01_s": "the same by power, {-2 = 0.0004, …}, from the manual or measured",
    "recycling_time_s": "time until it is ready again after full power, s",
    "source_size_mm": "across what shines, mm",
    "origin_behind_mm": "how far behind its front the light comes from, by two readings (plan light), mm",
    "distance_mm": "where it usually stands, from the piece, mm",
    "from_axis_deg": "its usual angle from the optical axis: 0 with the camera, 90 beside the piece, more behind it",
    "nearest_mm": "as near to the piece as it can come, mm",
    "level_ev": "what it usually gives beside the key, in stops: 0 the key itself, -2 a fill two stops under it",
    "shaper": "the shaper that usually stands before it",
    "shaper_losses_ev": "light lost in a shaper on this light, in stops, by the shaper's name",
    "loss_ev": "light lost in it, in stops, as you measured it",
    "delay_s": "from the camera's sync contact to the flash, s",
    "frequency_hz": "its own frequency, Hz, as measured",
    "damping_ratio": "its damping, between 0 and 1, as measured",
    "touch_amplitude_um": "swing just after a touch, as it shifts the picture on the piece, µm",
    "hold_off_s": "wait after the last touch that you keep to in any case, s",
    "extension_mm": "how far it holds the lens from the body, mm",
    "dioptres": "its power, in dioptres",
    "factor": "how much larger it makes the picture, 1.4 or 2",
    "thickness_mm": "mm",
    "refractive_index": "1.52 for window glass",
    "width_mm": "mm",
    "height_mm": "mm",
    "lens": "the lens's name in this kit",
    "magnification": "image over piece there, 1 for 1:1",
    "converter": "factor of the converter behind the lens, 1 without one",
    "steps_per_mm": "steps of the focus drive that move the focus by 1 mm on the piece",
    "steps_per_mm_sd": "their standard deviation, as measured",
    "play_steps": "steps that the drive runs before anything moves when it turns round, as measured; 0: none",
    "measured_on": "the day, 2026-11-30",
}
"""Field → its meaning, with the unit; a name means the same in all tables. A test finds a field that is left out."""


@dataclass(frozen=True)
class KitField:
    """A field of a table of the kit file. `table`: "" at the top of the file."""

    table: str
    name: str
    needed: bool
    words: str


def kit_fields(kit: type[BaseModel]) -> list[KitField]:
    """Every field, table by table."""
    found = []
    for table, field in kit.model_fields.items():
        thing = thing_of(kit, table)
        if thing is None:
            found.append(KitField("", table, field.is_required(), WORDS[table]))
            continue
        found += [KitField(table, name, f.is_required(), WORDS[name]) for name, f in thing.model_fields.items()]
    return found


def thing_of(kit: type[BaseModel], table: str) -> type[BaseModel] | None:
    """The class of a table's things; None for a field that is no table, or an unknown name."""
    field = kit.model_fields.get(table)
    args = get_args(field.annotation) if field else ()
    return args[0] if args and isinstance(args[0], type) and issubclass(args[0], BaseModel) else None


def advice(kit: type[BaseModel], place: tuple[int | str, ...], kind: str) -> str:
    """Help with a fault at a place of the file: the nearest name, or the field's meaning; "" without help.

    place  table, index and field, as pydantic gives it; kind  pydantic's word for the fault
    """
    thing = thing_of(kit, str(place[0])) if len(place) > 1 else kit
    name = str(place[-1] if len(place) <= 2 else place[2])
    if thing is None:
        return ""
    if kind == "extra_forbidden":
        near = get_close_matches(name, list(thing.model_fields), n=1, cutoff=0.6)
        return f"did you mean {near[0]}{_meaning(near[0])}?" if near else ""
    return WORDS.get(name, "") if name in thing.model_fields and thing is not kit else ""


def _meaning(name: str) -> str:
    return f" ({WORDS[name]})" if name in WORDS else ""
