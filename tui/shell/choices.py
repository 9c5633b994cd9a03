"""A person's choices on the command line as a value, and the click options that fill the value.

Option names are the quantities' names with their units, the same as in code and JSON.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click
import platformdirs

from session.cameras.camera_address import parse_address
from session.set.setup import (
    Arrangement,
    PassiveItem,
    PlacedLight,
    Region,
    Revision,
    Settings,
    parse_label,
    put_at,
    thing_name,
)
from session.units.quantities import RefusedNumberError, is_quantity, require
from session.units.refusals import UnreadableTextError
from session.units.typed import typed_number, typed_turn
from tui.shell.options import Refused, quantity, refusing, stack_options

if TYPE_CHECKING:
    from session.set.kit import Kit

FunctionT = TypeVar("FunctionT", bound=Callable[..., Any])
PlacedT = TypeVar("PlacedT", PlacedLight, PassiveItem)

LIGHT_NUMBERS = tuple(one.name for one in fields(PlacedLight) if is_quantity(one.name))
LIMITS = ("hold_off_s", "blur_limit_px")
TAPED = "taped"
"""Names a place by tape, as it is typed at the bench."""

BY_TAPE_TOLD = ("distance_mm", "azimuth_deg", "elevation_deg")
"""What a place by tape fills."""

LIGHT_WORDS = (*(one.name for one in fields(PlacedLight) if one.name not in (*LIGHT_NUMBERS, "name")), TAPED)
ITEM_NUMBERS = tuple(one.name for one in fields(PassiveItem) if is_quantity(one.name))
ITEM_WORDS = ("note", TAPED)


@dataclass(frozen=True)
class Choices:
    """Where the log is, which camera, what is on the table, and what the set-up shall be.

    settings  canonical names → values that were asked for by option
    lights    (name, changes) for each --light
    struck    names of lights to take out of the set
    items     what is put up or changed, and the changes, for each --item
    struck_items   `thing_name` of each --no-item
    lens      a lens of the kit
    limits    names of the set-up's own numbers → values: hold_off_s, blur_limit_px
    building  the set-up is built again, for a reshoot
    late_file_s   see `session.shoot.recovery.LATE_FILE_S`, which holds when it is None
    live_minutes  see `session.shoot.live_stream.LIVE_MINUTES`, which holds when it is None
    """

    log: str
    folder: Path
    copy_to: Path | None = None
    late_file_s: float | None = None
    live_minutes: float | None = None
    camera: str = ""
    kit: Path | None = None
    job: str = ""
    client: str = ""
    piece: str = ""
    view: str = ""
    setup: str = ""
    settings: tuple[tuple[str, object], ...] = ()
    lights: tuple[tuple[str, dict[str, object]], ...] = ()
    struck: tuple[str, ...] = ()
    items: tuple[tuple[PassiveItem, dict[str, object]], ...] = ()
    struck_items: tuple[str, ...] = ()
    lens: str = ""
    magnification: float | None = None
    limits: tuple[tuple[str, float], ...] = ()
    region: Region | None = None
    building: bool = False

    def change(self, revision: Revision, kit: Kit) -> Revision:
        """The arrangement with the options' settings, lens and lights put in. Raises click.UsageError."""
        asked: dict[str, Any] = dict(self.settings)
        limits: dict[str, Any] = dict(self.limits)
        revision = replace(revision, settings=replace(revision.settings, **asked), **limits)
        revision = replace(revision, arrangement=self._arrange(revision.arrangement, kit))
        known_lights = [light.name for light in kit.light]
        for name, changes in self.lights:
            if known_lights and name not in known_lights and revision.light(name) is None:
                raise click.UsageError(f"the kit has no light {name!r}; it has {', '.join(known_lights)}")
            light = revision.light(name) or PlacedLight(name)
            rest, taped = without_tape(changes)
            light = put_at(light.with_shaper(str(rest.get("shaper", light.shaper))), **rest)
            light = at_tape(light, taped, revision)
            if "power_ev" in changes:
                from session.set.lights_in_use import require_power  # noqa: PLC0415 - slow to import, seldom needed

                with refusing():
                    require_power(light, kit)
            revision = revision.with_light(light)
        if self.region is not None:
            revision = replace(revision, region=self.region)
        for name in self.struck:
            if revision.light(name) is None:
                raise click.UsageError(f"there is no light {name!r} in set-up {revision.label}")
            revision = revision.without_light(name)
        for item, changes in self.items:
            rest, taped = without_tape(changes)
            thing = put_at(revision.item(thing_name(item)) or item, **rest)
            revision = revision.with_item(at_tape(thing, taped, revision))
        for name in self.struck_items:
            if revision.item(name) is None:
                raise click.UsageError(f"there is no {name!r} in set-up {revision.label}")
            revision = revision.without_item(name)
        return revision

    def _arrange(self, arrangement: Arrangement, kit: Kit) -> Arrangement:
        if self.lens:
            lens = kit.lens_for(self.lens)
            if lens is None:
                known = ", ".join(lens.name for lens in kit.lens)
                raise click.UsageError(f"the kit has no lens {self.lens!r}; it has {known or 'none'}")
            arrangement = replace(
                arrangement,
                lens=lens.name,
                focal_length_mm=lens.focal_length_mm,
                pupil_magnification=lens.pupil_magnification,
            )
        if self.magnification is not None:
            arrangement = replace(arrangement, magnification=self.magnification)
        return arrangement


def without_tape(changes: Mapping[str, object]) -> tuple[dict[str, object], str]:
    """The changes but the place by tape, and that place as it was typed; "" where none was."""
    return {name: value for name, value in changes.items() if name != TAPED}, str(changes.get(TAPED, ""))


def at_tape(thing: PlacedT, taped: str, revision: Revision) -> PlacedT:
    """The thing where the tape puts it; as it is where no tape measure was typed. Raises Refused."""
    if not taped:
        return thing
    from tui.words import adjust  # noqa: PLC0415 - slow to import, seldom needed
    from tui.words.setup_words import taped_words  # noqa: PLC0415

    with refusing():
        place = adjust.place_by_tape(taped, revision)
        if place is None:
            raise UnreadableTextError(f"{taped!r} is no place by tape. {adjust.BY_TAPE}")
    click.echo(taped_words(place), err=True)
    return adjust.at_place(thing, place)


def own_log() -> Path:
    """The account's own log: `shoot.db` in the user's data folder."""
    return platformdirs.user_data_path("stillset") / "shoot.db"


def default_log() -> str:
    """STILLSET_LOG, else the account's own log."""
    return os.environ.get("STILLSET_LOG") or str(own_log())


def log_to_write(log: str) -> Path:
    """The log's path, for a caller that may make the log: the account's own log may need all folders above.

    Of any other log only the last folder is made, so that a slip of the pen is refused. Raises OSError.
    """
    path = Path(log)
    if path == own_log():
        path.parent.mkdir(parents=True, exist_ok=True)
    return path


def pictures_of(log: str) -> Path:
    """The folder for pictures when none is named: `pictures` beside the log.

    Pictures of the account's own log go to the user's folder for pictures, unless the log has some beside it already.
    """
    beside = Path(log).absolute().parent / "pictures"
    if Path(log) == own_log() and not beside.is_dir():
        return platformdirs.user_pictures_path() / "stillset"
    return beside


def parse_light(text: str) -> tuple[str, dict[str, object]]:
    """`NAME[,power_ev=-2,distance_mm=600,…]`. Raises click.BadParameter, Refused."""
    name, *parts = [part.strip() for part in text.split(",")]
    if not name or "=" in name:
        raise click.BadParameter(f"a light begins with its name, like key,power_ev=-2 — not {text!r}")
    return name, _changes(parts, LIGHT_NUMBERS, LIGHT_WORDS, "power_ev=-2")


def parse_item(text: str) -> tuple[PassiveItem, dict[str, object]]:
    """`reflector white card[,width_mm=210,turned_deg=45 left,…]`. Raises click.BadParameter, Refused."""
    name, *parts = [part.strip() for part in text.split(",")]
    from tui.words.adjust import item_from  # noqa: PLC0415 - slow to import, seldom needed

    with refusing():
        item = item_from(name)
    changes = _changes(parts, ITEM_NUMBERS, ITEM_WORDS, "distance_mm=400")
    sizes = {side: getattr(item, side) for side in ("width_mm", "height_mm") if getattr(item, side) is not None}
    return item, {**sizes, **changes}


def _changes(parts: Sequence[str], numbers: Sequence[str], words: Sequence[str], example: str) -> dict[str, object]:
    """The changes that an option names. Raises click.BadParameter, Refused."""
    changes: dict[str, object] = {}
    for part in parts:
        key, sign, value = part.partition("=")
        if not sign or key not in (*numbers, *words):
            raise click.BadParameter(f"{part!r} is not one of {', '.join((*numbers, *words))}, written like {example}")
        if key in changes:
            raise click.BadParameter(f"{key} is given twice")
        if key == "turned_deg":
            with refusing():
                changes["turned_deg"], changes["turned_to"] = typed_turn(value)
        else:
            changes[key] = value if key in words else _number(key, value)
    told = [name for name in BY_TAPE_TOLD if name in changes]
    if TAPED in changes and told:
        raise click.BadParameter(f"{TAPED} tells where it stands, {' and '.join(told)} too: give one of them")
    return changes


def _number(key: str, text: str) -> float:
    """As a number in its unit, or as it is written everywhere: `1/4`, `60 left`, `35 up`. Raises Refused."""
    try:
        number = float(text.replace("−", "-"))
        require(**{key: number})
    except RefusedNumberError as error:
        raise Refused(str(error)) from None
    except ValueError:
        with refusing():
            return typed_number(key, text)
    return number


class _Address(click.ParamType[str]):
    name = "address"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        text = str(value)
        try:
            return parse_address(text).text if text else ""
        except ValueError as error:
            self.fail(str(error), param, ctx)


class Label(click.ParamType[str]):
    """A set-up as it is written: `07.3`, `07` or `7`."""

    name = "set-up"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        text = str(value)
        try:
            if text:
                parse_label(text)
        except ValueError as error:
            self.fail(str(error), param, ctx)
        return text


log_option = click.option(
    "--log", "log", default=None, metavar="PATH", help="The log; else STILLSET_LOG, else the user's data folder."
)
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON instead of text.")

place_options = stack_options(
    click.option("--job", default="", help="The job; else the last one."),
    click.option("--piece", default="", help="The piece on the table; else the last one of the job."),
    click.option("--view", default="", help="The picture wanted of it; else the last one."),
)

camera_options = stack_options(
    click.option(
        "--camera",
        type=_Address(),
        default="",
        metavar="ADDRESS",
        help="usb:BUS,DEVICE or ptpip:ADDRESS[:PORT]; else the only one found.",
    ),
    click.option(
        "--kit",
        type=click.Path(path_type=Path),
        default=None,
        help="Kit file (TOML); else STILLSET_KIT, else the demo's.",
    ),
    click.option(
        "--folder",
        type=click.Path(path_type=Path),
        default=None,
        help="Where pictures go; else `pictures` beside a log that was named, else `stillset` in your own pictures.",
    ),
    click.option(
        "--copy-to",
        type=click.Path(path_type=Path),
        default=None,
        metavar="FOLDER",
        help="Save each file here too, on another disk, before it counts as saved; else STILLSET_COPY_TO.",
    ),
    quantity(
        "late_file_s",
        "How long after a lost cable the camera may still write the frame; no release meanwhile.  [default: 15]",
        envvar="STILLSET_LATE_FILE_S",
        metavar="S",
    ),
    quantity(
        "live_minutes",
        "After how many minutes without focusing live view ends; 0: never.  [default: 10]",
        envvar="STILLSET_LIVE_MINUTES",
        metavar="MIN",
    ),
)

setup_options = stack_options(
    click.option(
        "--setup",
        type=Label(),
        default="",
        metavar="07[.3]",
        help="Set-up to go on with; else that of the piece and view.",
    ),
    quantity("exposure_s", "Exposure time, like 1/200 or 0.005."),
    quantity("f_number", "Aperture as marked on the lens, like 11."),
    click.option("--lens", default="", help="A lens of the kit."),
    quantity("magnification", "Image / piece, like 0.5."),
    quantity("hold_off_s", "Wait after the last touch."),
    quantity("blur_limit_px", "Radius of the blur that the view may show, in pixels of the sensor."),
    quantity("iso", "ISO speed."),
    click.option(
        "--light",
        "lights",
        multiple=True,
        metavar="NAME[,power_ev=1/4,…]",
        help="Put in or change a light: power_ev=1/4, distance_mm=600, azimuth_deg='60 left', elevation_deg='35 up', "
        "shaper, width_mm and height_mm of what shines, note; repeat for more. azimuth_deg: 0 from the camera, "
        "60 left, 60 right (or 60 and -60), 180 from behind; elevation_deg: 0 along the table, 90 from above. "
        "taped='620 540 300 left' instead: mm to the piece, to the lens and up; or '300 left 200 front 400 up'.",
    ),
    click.option("--no-light", "struck", multiple=True, metavar="NAME", help="Take a light out of the set."),
    click.option(
        "--item",
        "items",
        multiple=True,
        metavar="KIND NAME[,distance_mm=400,…]",
        help="Put in or change a reflector, flag or glass, like 'reflector white card': distance_mm, azimuth_deg, "
        "elevation_deg, width_mm, height_mm, turned_deg='45 left' (its face, from the piece), note; repeat for more.",
    ),
    click.option("--no-item", "struck_items", multiple=True, metavar="KIND NAME", help="Take it out of the set."),
)


def choices_from(options: dict[str, Any]) -> Choices:
    """Fill the value from click's keyword arguments; those of an option set that wasn't used are left out."""
    log = options.get("log") or default_log()
    kit = options.get("kit") or (Path(os.environ["STILLSET_KIT"]) if os.environ.get("STILLSET_KIT") else None)
    folder = options.get("folder") or (Path() if "://" in log else pictures_of(log))
    copy_to = options.get("copy_to") or os.environ.get("STILLSET_COPY_TO")
    settings = [(field.name, options[field.name]) for field in fields(Settings) if options.get(field.name) is not None]
    return Choices(
        log=log,
        folder=Path(folder).absolute(),
        copy_to=Path(copy_to).absolute() if copy_to else None,
        late_file_s=options.get("late_file_s"),
        live_minutes=options.get("live_minutes"),
        camera=options.get("camera") or "",
        kit=kit,
        job=options.get("job") or "",
        piece=options.get("piece") or "",
        view=options.get("view") or "",
        setup=options.get("setup") or "",
        settings=tuple(settings),
        lights=tuple(parse_light(text) for text in options.get("lights") or ()),
        struck=tuple(options.get("struck") or ()),
        items=tuple(parse_item(text) for text in options.get("items") or ()),
        struck_items=tuple(thing_name(parse_item(text)[0]) for text in options.get("struck_items") or ()),
        lens=options.get("lens") or "",
        magnification=options.get("magnification"),
        limits=tuple((name, options[name]) for name in LIMITS if options.get(name) is not None),
    )
