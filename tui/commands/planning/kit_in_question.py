"""The kit in the planner's questions: its file, a light by its name, and the correction from a measured frame."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from tui.shell.options import Refused

if TYPE_CHECKING:
    from session.set.kit import Kit, Light

FunctionT = TypeVar("FunctionT", bound=Callable[..., Any])

NO_FILE = "The demo's kit can't be changed; give --kit and a file of your own."


def kit_option(function: FunctionT) -> FunctionT:
    """`--kit`."""
    words = "Kit file (TOML); else STILLSET_KIT, else the demo's."
    return click.option("--kit", type=click.Path(path_type=Path), default=None, help=words)(function)


def kit_path(kit: Path | None) -> Path | None:
    """The kit's file, None for the demo's kit."""
    return kit or (Path(os.environ["STILLSET_KIT"]) if os.environ.get("STILLSET_KIT") else None)


def kit_at(path: Path | None) -> Kit:
    """The kit in the file, else the demo's. Raises KitError."""
    from session.set.kit import demo_kit, read_kit  # noqa: PLC0415 - pydantic, not for --help

    return read_kit(path) if path else demo_kit()


def with_light(given: Mapping[str, Any], kit: Kit, name: str, shaper: str | None) -> tuple[dict[str, Any], str]:
    """The given numbers, filled up with the kit's numbers of a light and of its shaper; and the shaper.

    shaper  None for the one that usually stands before the light
    Raises Refused when the kit hasn't the light or the shaper.
    """
    light = kit.light_for(name)
    if light is None:
        raise Refused(f"The kit has no light {name!r}; it has {_names_text([light.name for light in kit.light])}.")
    before = light.shaper if shaper is None else shaper
    known = kit.shaper_for(before)
    if before and known is None:
        raise Refused(f"The kit has no shaper {before!r}; it has {_names_text([one.name for one in kit.shaper])}.")
    own = {
        "guide_number_m": light.guide_number_m,
        "distance_mm": light.distance_mm,
        "source_size_mm": known.source_size_mm if known and known.source_size_mm else light.source_size_mm,
        "origin_behind_mm": kit.origin_behind_mm(light, before),
        "loss_ev": _loss_ev(kit, light, before),
        "full_recycling_time_s": light.recycling_time_s,
    }
    return {**given, **{name: value for name, value in own.items() if given.get(name) is None}}, before


def keep_measured(path: Path | None, light: str, shaper: str, answer: Mapping[str, Any]) -> str:
    """Put what one frame corrected into the kit file, for the light and what stood before it; says what was kept.

    Raises Refused for the demo's kit, KitError when the file can't take it.
    """
    from session.set.kit_file import keep_guide_number, keep_shaper_loss  # noqa: PLC0415 - tomlkit

    if path is None:
        raise Refused(NO_FILE)
    if shaper:
        loss_ev = answer["calibrated_loss_ev"]
        keep_shaper_loss(path, light, shaper, loss_ev)
        return f"Kept in {path}: {shaper} takes {loss_ev:.2f} EV from {light}."
    guide_number_m = answer["calibrated_guide_number_m"]
    keep_guide_number(path, light, guide_number_m)
    return f"Kept in {path}: guide number of {light} is {guide_number_m:.3g} m."


def _loss_ev(kit: Kit, light: Light, shaper: str) -> float:
    """As measured; a shaper that nobody measured counts as nothing lost, so that a first measured frame tells it."""
    return kit.loss_ev(light, shaper) or 0.0


def _names_text(names: list[str]) -> str:
    return ", ".join(names) or "none"
