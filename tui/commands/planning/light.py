"""`stillset plan light` and `stillset plan sync`."""

from __future__ import annotations

from typing import Any

import click

from session.lighting.cautions import cautions_for
from tui.choices import json_option
from tui.commands.planning.answered import show
from tui.commands.planning.inputs import complete, quantity, refusing

FLASH_HAZARDS = ("capacitor", "idle unit", "trigger voltage", "heat", "mains", "stands", "eyes", "photosensitivity")
FLASH_HAZARDS_OF_SYNC = ("trigger voltage", "photosensitivity")


@click.command()
@quantity("guide_number_m", "Guide number at ISO 100 and full power.")
@quantity("power_ev", "0 is full power, -2 a quarter.", 0.0)
@quantity("distance_mm", "Light to piece.")
@quantity("source_size_mm", "Diameter of what shines; 0 for a small bare flash.", 0.0)
@quantity("iso", "ISO speed.", 100.0)
@quantity("magnification", "Reproduction ratio, image to piece: 0.5 or 1:2.", 0.0)
@quantity("pupil_magnification", "Exit over entrance pupil.", 1.0)
@quantity("loss_ev", "Lost in shaper, gel or plate.", 0.0)
@quantity("incidence_angle_deg", "Between the light and the way the piece faces; 90° less its elevation.", 0.0)
@quantity("from_distance_mm", "Where the light stood before: gives ev_change.")
@quantity("wanted_f_number", "As marked on the lens: gives the power, or the distance, that it needs.")
@quantity("measured_change_ev", "How much brighter one frame came out than it should: corrects the guide number.")
@quantity("full_charging_time_s", "Charging time at full power.")
@json_option
def light(as_json: bool, **given: Any) -> None:
    """The f-number that one flash gives, as marked on the lens, or the power that it needs."""
    from session.plan.light_answers import light_answer  # noqa: PLC0415

    given = complete(given, {"guide_number_m": "Guide number of the flash", "distance_mm": "Light to piece"})
    with refusing():
        answer = light_answer(**given)
    show(answer, given, as_json, cautions_for(*FLASH_HAZARDS))


@click.command()
@quantity("exposure_s", "Exposure time, like 1/200 or 0.005.")
@quantity("curtain_travel_s", "Time in which a curtain crosses the frame; the read-out of an electronic shutter.")
@quantity("trigger_delay_s", "Of radio trigger and flash together.", 0.0)
@quantity("flash_duration_t01_s", "Time above a tenth of the peak, at the power in use.", 0.0)
@json_option
def sync(as_json: bool, **given: Any) -> None:
    """What the shutter cuts off the flash, and the fastest safe time.

    Where the curtain's travel isn't known, the body's sync time is the safe figure for it.
    """
    from session.plan.light_answers import sync_answer  # noqa: PLC0415

    words = {
        "exposure_s": "Exposure time",
        "curtain_travel_s": "Curtain travel (the body's sync time is the safe figure)",
    }
    given = complete(given, words)
    with refusing():
        answer = sync_answer(**given)
    show(answer, given, as_json, cautions_for(*FLASH_HAZARDS_OF_SYNC))
