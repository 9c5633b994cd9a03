"""The things of a kit, a class for each: the known facts of a body, a lens, a light, with their units.

A fact that the photographer doesn't know stays None or at its default; nothing is guessed from a name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Annotated, Any, ClassVar, Literal

from pydantic import AliasChoices, BaseModel, ConfigDict, Field, ValidationInfo, field_validator

from session.lighting.duration import duration_at_power_s
from session.units.quantities import is_quantity, require
from session.units.typed import typed_number

Name = Annotated[str, Field(min_length=1, max_length=80, pattern=r"^[^\x00-\x1f\x7f=,]+$")]


OLD_RECYCLING = "charging_time_s"
"""What kit files called the recycling time at first, which they may still do."""


class Thing(BaseModel):
    """Anything of the kit that has a name.

    Each number is held to what `session.units.quantities` says of the quantity that its field is named for, and may be
    written as everywhere: "1/128", "1/200".
    QUANTITIES  field → its quantity, where the field's own name isn't one; for a table, those of keys and values
    """

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)
    QUANTITIES: ClassVar[Mapping[str, str | tuple[str, str]]] = {}
    name: Name
    note: str = ""

    @classmethod
    def quantities_of(cls, field: str) -> tuple[str, str]:
        """The quantities of a field's keys and values, "" for what isn't a number; ("", "") for words."""
        named = cls.QUANTITIES.get(field, field)
        keys, values = ("", named) if isinstance(named, str) else named
        return keys, values if is_quantity(values) else ""

    @field_validator("*")
    @classmethod
    def _can_be_meant(cls, value: object, info: ValidationInfo) -> object:
        """Refuse what no close-up work could ask for, and name the likely slip (mm for m)."""
        keys, values = cls.quantities_of(info.field_name or "")
        pairs: Iterable[tuple[Any, Any]] = value.items() if isinstance(value, Mapping) else (("", value),)
        for key, one in pairs:
            if keys:
                require(**{keys: key})
            if values and one is not None:
                require(**{values: one})
        return value

    @field_validator("*", mode="before")
    @classmethod
    def _as_written(cls, value: object, info: ValidationInfo) -> object:
        quantity = cls.quantities_of(info.field_name or "")[1]
        return typed_number(quantity, value) if quantity and isinstance(value, str) else value


class Body(Thing):
    """A camera body.

    sync_time_s         shortest exposure time at which one flash lights the whole frame, by the maker
    curtain_travel_s    time in which a curtain crosses the frame; when not given, the sync time stands for it
    flange_distance_mm  lens mount to sensor
    mount               lenses, tubes and converters of the same mount fit; "" fits everything
    """

    sensor_width_mm: float
    sensor_height_mm: float
    pixels_across: int
    pixels_down: int
    sync_time_s: float
    curtain_travel_s: float | None = None
    flange_distance_mm: float | None = None
    mount: str = ""
    stabiliser: bool = False
    serial: str = ""


class Lens(Thing):
    """A lens. Where it looks out from is needed to tell the room before it: give one of the last three.

    closest_magnification        ratio at the closest focus; 0 when not known
    track_mm                     piece to sensor there; tells the focal length that is left in use close up
    closest_effective_f_number   the effective f-number there, the lens set to its widest: measured, or as bodies show
                                 it; a lens that focuses inside keeps less or more light than its ratio says
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

    focal_length_mm: float
    pupil_magnification: float = 1.0
    widest_f_number: float = 2.8
    smallest_f_number: float = 22.0
    sharp_from_f_number: float | None = None
    closest_magnification: float = 0.0
    track_mm: float | None = None
    closest_effective_f_number: float | None = None
    principal_gap_mm: float = 0.0
    front_to_pupil_mm: float | None = None
    closest_working_distance_mm: float | None = None
    length_mm: float = 0.0
    front_diameter_mm: float | None = None
    thread_mm: float | None = None
    mount: str = ""
    electronic_aperture: bool = True
    stabiliser: bool = False


class Light(Thing):
    """A flash or a lamp. Guide number in metres at ISO 100, full power, with the reflector it is rated with.

    duration_t01_s     time above a tenth of the peak; held for every power where durations_t01_s says nothing
    durations_t01_s    the same by power_ev, from the manual or measured
    source_size_mm     across what shines, without a shaper
    origin_behind_mm   how far behind its front the light seems to come from, without a shaper: a lamp deep in its
                       head, a zoom head; distances are measured from the front
    distance_mm        where it usually stands, from the piece; nearest_mm is as near as it can come
    from_axis_deg      at which angle from the optical axis: 0 with the camera, 90 level with the piece, more behind it
    level_ev           what it usually gives beside the key: 0 the key itself, −2 a fill two stops under it
    shaper             what usually stands before it
    shaper_losses_ev   loss measured with this light, by the shaper's name; goes before the shaper's own
    """

    QUANTITIES = {
        "duration_t01_s": "rated_duration_t01_s",
        "durations_t01_s": ("power_ev", "rated_duration_t01_s"),
        "shaper_losses_ev": ("", "loss_ev"),
    }
    kind: Literal["flash", "lamp"] = "flash"
    guide_number_m: float | None = None
    least_power_ev: float = -7.0
    duration_t01_s: float | None = None
    durations_t01_s: dict[float, float] = {}
    recycling_time_s: float = Field(default=2.0, validation_alias=AliasChoices("recycling_time_s", OLD_RECYCLING))
    source_size_mm: float = 0.0
    origin_behind_mm: float = 0.0
    distance_mm: float | None = None
    nearest_mm: float = 150.0
    from_axis_deg: float | None = None
    level_ev: float = 0.0
    shaper: str = ""
    shaper_losses_ev: dict[str, float] = {}

    def duration_at_s(self, power_ev: float) -> float | None:
        """t0.1, s, at a power in EV: between the known times, else the one for all; None when neither is known."""
        known = self.durations_t01_s
        if known and min(known) <= power_ev <= max(known):
            return duration_at_power_s(known, power_ev)
        return self.duration_t01_s


class Shaper(Thing):
    """A thing in front of a light; its loss is measured and recorded, never assumed.

    origin_behind_mm  how far behind its front the light seems to come from, as in a tube, a snoot or a grid
    """

    kind: Literal["tube", "snoot", "softbox", "grid", "diffuser", "reflector", "umbrella", "other"] = "other"
    loss_ev: float | None = None
    source_size_mm: float = 0.0
    origin_behind_mm: float = 0.0


class Trigger(Thing):
    """A radio trigger or cord: the delay from the camera's sync contact to the flash."""

    QUANTITIES = {"delay_s": "trigger_delay_s"}
    delay_s: float = 0.0


class Support(Thing):
    """A tripod or copy stand: its own frequency and damping where they were measured.

    touch_amplitude_um  swing just after a touch, as it shifts the picture on the piece
    hold_off_s          wait that the photographer keeps to in any case
    """

    frequency_hz: float | None = None
    damping_ratio: float | None = None
    touch_amplitude_um: float | None = None
    hold_off_s: float | None = None

    def measured_swing(self) -> dict[str, float]:
        """The known numbers of the support's swing, by the planner's names with their units (`frequency_hz`)."""
        told = {
            "frequency_hz": self.frequency_hz,
            "damping_ratio": self.damping_ratio,
            "amplitude_um": self.touch_amplitude_um,
        }
        return {name: value for name, value in told.items() if value is not None}


class ExtensionTube(Thing):
    """A ring between body and lens; electronic_aperture: it passes the camera's control of the aperture on."""

    QUANTITIES = {"extension_mm": "tube_extension_mm"}
    extension_mm: float
    electronic_aperture: bool = False
    mount: str = ""


class SupplementaryLens(Thing):
    """A close-up lens, screwed before the lens; a close-up lens fits filter threads up to its own."""

    QUANTITIES = {"dioptres": "supplementary_dioptres"}
    dioptres: float
    thread_mm: float | None = None


class Converter(Thing):
    """A teleconverter between body and lens."""

    factor: float
    length_mm: float = 0.0
    electronic_aperture: bool = True
    mount: str = ""


class ReversingRing(Thing):
    """Holds a lens by its filter thread, the wrong way round, extension_mm before the body's mount."""

    extension_mm: float = 0.0
    thread_mm: float | None = None
    mount: str = ""


class Plate(Thing):
    """A sheet of glass for axial light; width_mm by height_mm, either side may lie along its tilt."""

    QUANTITIES = {"thickness_mm": "plate_thickness_mm"}
    thickness_mm: float
    refractive_index: float = 1.52
    width_mm: float | None = None
    height_mm: float | None = None


class LensDrive(Thing):
    """What a step of a lens's focus drive was measured to be worth, at one ratio and with what stood behind the lens.

    lens              its name in the kit
    magnification     of the whole arrangement
    extension_mm, converter, dioptres   tubes, converter and close-up lens with which it was measured
    steps_per_mm      steps of the drive that move the plane of focus by 1 mm on the piece
    steps_per_mm_sd   their standard deviation
    play_steps        steps that the drive runs before anything moves when it is turned round; None: not measured
    measured_on       the day
    """

    lens: str
    magnification: float
    extension_mm: float = 0.0
    converter: float = 1.0
    dioptres: float = 0.0
    steps_per_mm: float
    steps_per_mm_sd: float | None = None
    play_steps: float | None = None
    measured_on: date | None = None

    @property
    def whole_play_steps(self) -> int | None:
        """The play as a drive can go it, steps; None where it wasn't measured."""
        return None if self.play_steps is None else round(self.play_steps)
