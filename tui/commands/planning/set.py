"""`stillset plan plate` and `stillset plan shake`: what stands in the set."""

from __future__ import annotations

from typing import Any

import click

from session.lighting.cautions import cautions_for
from tui.choices import json_option
from tui.commands.planning.answered import show
from tui.commands.planning.inputs import complete, quantity, refusing


@click.command()
@quantity("angle_deg", "Angle of incidence on the axis: the plate's tilt.", 45.0)
@quantity("refractive_index", "Of the glass.", 1.52)
@quantity("thickness_mm", "Of the plate.")
@quantity("plate_distance_mm", "Piece to the plate's centre: gives where to aim the light.")
@quantity("depth_mm", "Depth of field, to hold the astigmatism against.")
@json_option
def plate(as_json: bool, **given: Any) -> None:
    """What a sheet of glass for axial light costs and does to the picture."""
    from session.plan.light_answers import plate_answer  # noqa: PLC0415

    given = complete(given, {"thickness_mm": "Thickness of the plate"})
    with refusing():
        answer = plate_answer(**given)
    show(answer, given, as_json, cautions_for("glass", "eyes"))


@click.command()
@quantity("frequency_hz", "Of the stand's own swing.")
@quantity("damping_ratio", "Of the swing, like 0.02.")
@quantity("delay_s", "Wait after the last touch.")
@quantity("amplitude_um", "Half the swing after a touch, as it shifts the picture on the piece.")
@quantity("exposure_s", "How long the light falls: the shutter's time, or t0.1 where only flash counts.")
@quantity("magnification", "Reproduction ratio, image to piece.")
@quantity("pixel_pitch_um", "Distance of the sensor's pixels.")
@quantity("blur_px", "Smear that may be seen: gives the hold-off.")
@json_option
def shake(as_json: bool, **given: Any) -> None:
    """How long a touched stand swings, and with amplitude, exposure, ratio and pixels what of it shows."""
    from session.plan.lens_answers import shake_answer  # noqa: PLC0415

    words = {
        "frequency_hz": "Frequency of the stand",
        "damping_ratio": "Damping ratio of the stand",
        "delay_s": "Wait after the last touch",
    }
    given = complete(given, words)
    with refusing():
        answer = shake_answer(**given)
    show(answer, given, as_json, cautions_for("stands"))
