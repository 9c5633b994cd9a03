"""The things of a kit, one class each: what is known of a body, a lens, a light, and in which unit.

What the photographer doesn't know stays None or at its default; nothing here is guessed from a name.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AliasChoices, BaseModel, ConfigDict, Field, ValidationInfo, field_validator

from session.lighting.duration import duration_at_power_s
from session.units.numbers import parse_power_ev, parse_time_s
from session.units.quantities import is_quantity, require

Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Finite = Annotated[float, Field(allow_inf_nan=False)]
PowerEv = Annotated[float, Field(ge=-16, le=0)]
LossEv = Annotated[float, Field(ge=-10, le=40)]
DurationS = Annotated[float, Field(gt=0, le=0.1)]
Name = Annotated[str, Field(min_length=1, max_length=80, pattern=r"^[^\x00-\x1f\x7f=,]+$")]


OLD_RECYCLING = "charging_time_s"
"""What kit files called the recycling time at first, which they may still do."""


POWERS = ("least_power_ev", "level_ev")


class Thing(BaseModel):
    """Anything of the kit that has a name."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)
    name: Name
    note: str = ""

    @field_validator("*")
    @classmethod
    def _can_be_meant(cls, value: object, info: ValidationInfo) -> object:
        """Refuse what no close-up work could ask for, and name the likely slip (mm for m)."""
        if isinstance(value, int | float) and info.field_name and is_quantity(info.field_name):
            require(**{info.field_name: value})
        return value

    @field_validator("*", mode="before")
    @classmethod
    def _as_written(cls, value: object, info: ValidationInfo) -> object:
        """Powers and times may be written as everywhere: "1/128", "1/200"."""
        name = info.field_name or ""
        if isinstance(value, str) and name in POWERS:
            return parse_power_ev(value)
        return parse_time_s(value) if isinstance(value, str) and name.endswith("_s") else value


class Body(Thing):
    """A camera body.

    sync_time_s         shortest exposure time at which one flash lights the whole frame, by the maker
    curtain_travel_s    time in which a curtain crosses the frame; when not given, the sync time stands for it
    flange_distance_mm  lens mount to sensor
    mount               lenses, tubes and converters of the same mount fit; "" fits everything
    """

    sensor_width_mm: Positive
    sensor_height_mm: Positive
    pixels_across: Annotated[int, Field(gt=0)]
    pixels_down: Annotated[int, Field(gt=0)]
    sync_time_s: Annotated[float, Field(ge=1e-5, le=0.5)]
    curtain_travel_s: Positive | None = None
    flange_distance_mm: Positive | None = None
    mount: str = ""
    stabiliser: bool = False
    serial: str = ""


class Lens(Thing):
    """A lens. Where it looks out from is needed to tell the room before it: give one of the last three.

    closest_magnification        ratio at the closest focus; 0 when not known
    track_mm                     piece to sensor there; tells the focal length that is left in use close up
    principal_gap_mm             front to rear principal plane, negative when they are crossed
    sharp_from_f_number          widest opening that is sharp in the corners; when not given, two stops under the
                                 widest (common practice, no source)
    electronic_aperture          the camera sets it; False for a ring turned by hand
    front_diameter_mm            across the front rim, with its hood
    thread_mm                    filter thread
    front_to_pupil_mm            front rim to entrance pupil, counted into the lens
    closest_working_distance_mm  front rim to piece at the closest focus, by the maker
    length_mm                    mount to front rim at infinity; 0 when not known
    """

    focal_length_mm: Positive
    pupil_magnification: Positive = 1.0
    widest_f_number: Positive = 2.8
    smallest_f_number: Positive = 22.0
    sharp_from_f_number: Positive | None = None
    closest_magnification: NotNegative = 0.0
    track_mm: Positive | None = None
    principal_gap_mm: Finite = 0.0
    front_to_pupil_mm: Finite | None = None
    closest_working_distance_mm: Positive | None = None
    length_mm: NotNegative = 0.0
    front_diameter_mm: Positive | None = None
    thread_mm: Positive | None = None
    mount: str = ""
    electronic_aperture: bool = True
    stabiliser: bool = False


class Light(Thing):
    """A flash or a lamp. Guide number in metres at ISO 100, full power, with the reflector it is rated with.

    duration_t01_s     time above a tenth of the peak; held for every power where durations_t01_s says nothing
    durations_t01_s    the same by power_ev, from the manual or measured
    source_size_mm     across what shines, without a shaper
    distance_mm        where it usually stands, from the piece; nearest_mm is as near as it can come
    level_ev           what it usually gives beside the key: 0 the key itself, −2 a fill two stops under it
    shaper             what usually stands before it
    shaper_losses_ev   loss measured with this light, by the shaper's name; goes before the shaper's own
    """

    kind: Literal["flash", "lamp"] = "flash"
    guide_number_m: Positive | None = None
    least_power_ev: Annotated[float, Field(le=0)] = -7.0
    duration_t01_s: Positive | None = None
    durations_t01_s: dict[PowerEv, DurationS] = {}
    recycling_time_s: NotNegative = Field(default=2.0, validation_alias=AliasChoices("recycling_time_s", OLD_RECYCLING))
    source_size_mm: NotNegative = 0.0
    distance_mm: Positive | None = None
    nearest_mm: Positive = 150.0
    level_ev: Annotated[float, Field(ge=-8, le=0)] = 0.0
    shaper: str = ""
    shaper_losses_ev: dict[str, LossEv] = {}

    def duration_at_s(self, power_ev: float) -> float | None:
        """t0.1 at that power: between the known ones, else the one figure for all; None when neither is known."""
        known = self.durations_t01_s
        if known and min(known) <= power_ev <= max(known):
            return duration_at_power_s(known, power_ev)
        return self.duration_t01_s


class Shaper(Thing):
    """What stands in front of a light; its loss is measured and recorded, never assumed."""

    kind: Literal["tube", "snoot", "softbox", "grid", "diffuser", "reflector", "umbrella", "other"] = "other"
    loss_ev: Finite | None = None
    source_size_mm: NotNegative = 0.0


class Trigger(Thing):
    """A radio trigger or cord: the delay from the camera's sync contact to the flash."""

    delay_s: Annotated[float, Field(ge=0, le=0.05)] = 0.0


class Support(Thing):
    """A tripod or copy stand: its own frequency and damping where they were measured.

    touch_amplitude_um  swing just after a touch, as it shifts the picture on the piece
    hold_off_s          wait that the photographer keeps to in any case
    """

    frequency_hz: Positive | None = None
    damping_ratio: Annotated[float, Field(gt=0, lt=1)] | None = None
    touch_amplitude_um: Positive | None = None
    hold_off_s: NotNegative | None = None

    def measured(self) -> dict[str, float]:
        """What is known of its swing, by the planner's names of quantities."""
        told = {
            "frequency_hz": self.frequency_hz,
            "damping_ratio": self.damping_ratio,
            "amplitude_um": self.touch_amplitude_um,
        }
        return {name: value for name, value in told.items() if value is not None}


class ExtensionTube(Thing):
    """A ring between body and lens; electronic_aperture: it passes the camera's control of the aperture on."""

    extension_mm: Positive
    electronic_aperture: bool = False
    mount: str = ""


class SupplementaryLens(Thing):
    """A close-up lens, screwed before the lens; it serves filter threads up to its own."""

    dioptres: Positive
    thread_mm: Positive | None = None


class Converter(Thing):
    """A teleconverter between body and lens."""

    factor: Annotated[float, Field(gt=1, le=4)]
    length_mm: NotNegative = 0.0
    electronic_aperture: bool = True
    mount: str = ""


class ReversingRing(Thing):
    """Holds a lens by its filter thread, the wrong way round, extension_mm before the body's mount."""

    extension_mm: NotNegative = 0.0
    thread_mm: Positive | None = None
    mount: str = ""


class Plate(Thing):
    """A sheet of glass for axial light; width_mm by height_mm, either side may lie along its tilt."""

    thickness_mm: Positive
    refractive_index: Annotated[float, Field(gt=1, lt=3)] = 1.52
    width_mm: Positive | None = None
    height_mm: Positive | None = None
