"""Building an old set-up again, as a plan of small steps: what the camera does, and what is for the hands.

The plan is a value: it is printed before anything moves, and the same steps are confirmed off at the table.
"""

from __future__ import annotations

from dataclasses import dataclass

from session.frame.camera_messages import Reading
from session.lighting.cautions import cautions_for
from session.set.setup import PassiveItem, PlacedLight, Revision, thing_name
from session.units.numbers import angles_text, mm_text, power_text, ratio_text
from session.units.value_words import name_words, same_value, size_words, turned_words, value_words


@dataclass(frozen=True)
class Step:
    """A step of the plan.

    by_camera  the camera does it when the set-up's settings are put on it; else it is for the hands
    what       `light key`, `lens`, `aperture` …
    text       one sentence with the numbers
    """

    what: str
    text: str
    by_camera: bool = False


def plan(revision: Revision, reading: Reading | None = None) -> tuple[Step, ...]:
    """The steps for building a revision again; with a reading, without the settings that stand already."""
    return (
        *_camera_steps(revision, reading),
        _lens_step(revision),
        *_camera_place_steps(revision),
        *_placed_steps(revision),
        *_last_steps(revision),
    )


def set_cautions(revision: Revision) -> tuple[str, ...]:
    """The usual cautions for what stands in this set-up."""
    hazards = ["capacitor", "stands", "eyes", "photosensitivity"] if revision.lights else []
    if any(item.kind == "plate" for item in revision.passive):
        hazards.append("glass")
    return cautions_for(*hazards) if hazards else ()


def _camera_steps(revision: Revision, reading: Reading | None) -> list[Step]:
    steps = []
    for name, value in revision.settings.by_name().items():
        told = reading.value(name) if reading else None
        stands = told is not None and same_value(name, told, value)
        offered = reading is None or name in reading.settings
        if not stands:
            steps.append(Step(name_words(name), f"set {value_words(name, value)}", by_camera=offered))
    if revision.settings.f_number is None:
        steps.append(Step("aperture", "set the aperture by hand, on the lens"))
    return steps


def _lens_step(revision: Revision) -> Step:
    lens = revision.arrangement
    parts = [lens.lens or f"a lens of {lens.focal_length_mm:g} mm"]
    if lens.reversed:
        parts.append("reversed")
    if lens.extension_mm:
        parts.append(f"{mm_text(lens.extension_mm)} of tubes")
    if lens.dioptres:
        parts.append(f"+{lens.dioptres:g} dioptres")
    if lens.converter != 1:
        parts.append(f"a {lens.converter:g}× converter")
    if lens.gap_mm:
        parts.append(f"the close-up lens {mm_text(lens.gap_mm)} before the front principal plane")
    return Step("lens", f"put up {', '.join(parts)}, at {ratio_text(lens.magnification)}")


def _camera_place_steps(revision: Revision) -> list[Step]:
    """The camera's support, and where the tape and the level say that the camera stands."""
    names = ("working_distance_mm", "camera_height_mm", "view_down_deg", "view_around_deg")
    told = {name: getattr(revision, name) for name in names}
    words = [f"{name_words(name)} {value_words(name, value)}" for name, value in told.items() if value is not None]
    on = [f"on {revision.support}"] if revision.support else []
    return [Step("camera", ", ".join((*on, *words)))] if on or words else []


def _placed_steps(revision: Revision) -> list[Step]:
    """A step for each thing of the set; the first that has angles says from where they count."""
    with_angles = (one for one in revision.placed if angles_text(one.azimuth_deg, one.elevation_deg))
    first = next(with_angles, None)
    wheres = ((one, _where(one, explained=one is first)) for one in revision.placed)
    return [_light_step(one, at) if isinstance(one, PlacedLight) else _passive_step(one, at) for one, at in wheres]


def _light_step(light: PlacedLight, where: str) -> Step:
    size = size_words(light.width_mm, light.height_mm)
    shaper = f" with {light.shaper}" if light.shaper else ", bare" if size else ""
    shaper += f", {size}" if size else ""
    note = f" ({light.note})" if light.note else ""
    return Step(thing_name(light), f"{power_text(light.power_ev)}{shaper}{where}{note}")


def _passive_step(item: PassiveItem, where: str) -> Step:
    note = f" ({item.note})" if item.note else ""
    told = (size_words(item.width_mm, item.height_mm), turned_words(item.turned_deg, item.turned_to))
    look = "".join(f", {words}" for words in told if words)
    return Step(thing_name(item), f"put it up{where}{look}{note}")


def _last_steps(revision: Revision) -> list[Step]:
    sharp = revision.must_be_sharp or "the region"
    steps = [Step("focus", f"focus by hand, enlarged, on {sharp}")]
    if revision.notes:
        steps.append(Step("notes", revision.notes))
    steps.append(Step("first frame", "release, and see how it compares with the reference"))
    return steps


def _where(thing: PlacedLight | PassiveItem, *, explained: bool) -> str:
    words = []
    if thing.distance_mm is not None:
        words.append(f"{mm_text(thing.distance_mm)} from the piece")
    angles = angles_text(thing.azimuth_deg, thing.elevation_deg)
    if angles:
        words.append(f"{angles} (0° is from the camera, and along the table)" if explained else angles)
    return (", " + ", ".join(words)) if words else ""
