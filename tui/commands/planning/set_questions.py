"""`stillset plan plate` and `stillset plan shake`: what stands in the set."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import click

from session.lighting.cautions import cautions_for
from tui.commands.planning.answered import show
from tui.commands.planning.inputs import complete
from tui.shell.choices import json_option
from tui.shell.options import Refused, quantity, refusing


@click.command()
@quantity("angle_deg", "Angle of incidence on the axis: the plate's tilt.", 45.0)
@quantity("refractive_index", "Of the glass.", 1.52)
@quantity("thickness_mm", "Of the plate.")
@quantity("plate_distance_mm", "Piece to the plate's centre: gives where to aim the light.")
@quantity("depth_mm", "Depth of field, to compare the astigmatism with.")
@json_option
def plate(as_json: bool, **given: Any) -> None:
    """What a sheet of glass for axial light costs and does to the picture."""
    from session.plan.light_answers import plate_answer  # noqa: PLC0415

    given = complete(given, {"thickness_mm": "Thickness of the plate"})
    with refusing():
        answer = plate_answer(**given)
    show(answer, given, as_json, cautions_for("glass", "eyes"))


def _swing_in_kit(support: str, kit: Path | None) -> dict[str, float]:
    """The kit's numbers of the support; none without a kit. Raises KitError; Refused for an unknown support."""
    from session.set.kit import demo_kit, read_kit  # noqa: PLC0415 - pydantic, not for --help

    path = kit or (Path(os.environ["STILLSET_KIT"]) if os.environ.get("STILLSET_KIT") else None)
    if path is None and not support:
        return {}
    things = read_kit(path) if path else demo_kit()
    found = things.support_for(support)
    if support and (found is None or found.name != support):
        raise Refused(
            f"The kit has no support {support!r}; it has {', '.join(one.name for one in things.support) or 'none'}."
        )
    return found.measured_swing() if found else {}


@click.command()
@quantity("frequency_hz", "Of the support's own swing.")
@quantity("damping_ratio", "Of the swing, like 0.02.")
@quantity("delay_s", "Wait after the last touch.")
@quantity("amplitude_um", "Half the swing after a touch, as it shifts the picture on the piece.")
@quantity("exposure_s", "How long the light falls: the shutter's time, or t0.1 where only flash counts.")
@quantity("magnification", "Reproduction ratio, image to piece.")
@quantity("pixel_pitch_um", "Distance of the sensor's pixels.")
@quantity("blur_px", "Smear that may be seen: gives the hold-off.")
@click.option("--support", default="", metavar="NAME", help="Its figures out of the kit; else the kit's first support.")
@click.option("--kit", type=click.Path(path_type=Path), default=None, help="Kit file (TOML); else STILLSET_KIT.")
@json_option
def shake(support: str, kit: Path | None, as_json: bool, **given: Any) -> None:
    """How long a touched support swings, and with amplitude, exposure, ratio and pixels what of it shows.

    Frequency and damping as live view measured them come from the kit; an option goes before them.
    """
    from session.plan.lens_answers import shake_answer  # noqa: PLC0415

    known = _swing_in_kit(support, kit)
    given = {name: known.get(name) if value is None else value for name, value in given.items()}
    words = {
        "frequency_hz": "Frequency of the support",
        "damping_ratio": "Damping ratio of the support",
        "delay_s": "Wait after the last touch",
    }
    given = complete(given, words)
    with refusing():
        answer = shake_answer(**given)
    show(answer, given, as_json, cautions_for("stands"))
