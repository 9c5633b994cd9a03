"""`stillset plan light` and `stillset plan sync`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from session.lighting.cautions import cautions_for
from tui.commands.planning.answered import show
from tui.commands.planning.inputs import complete
from tui.commands.planning.kit_in_question import keep_measured, kit_at, kit_option, kit_path, with_light
from tui.shell.choices import json_option
from tui.shell.options import Refused, quantity, refusing

FLASH_HAZARDS = ("capacitor", "idle unit", "trigger voltage", "heat", "mains", "stands", "eyes", "photosensitivity")
FLASH_HAZARDS_OF_SYNC = ("trigger voltage", "photosensitivity")


@click.command()
@quantity("guide_number_m", "Guide number at ISO 100 and full power.")
@quantity("power_ev", "0 is full power, -2 a quarter.", 0.0)
@quantity("distance_mm", "Light to piece.")
@quantity("source_size_mm", "Diameter of what shines; else 0, a small bare flash.")
@quantity("iso", "ISO speed.", 100.0)
@quantity("magnification", "Reproduction ratio, image to piece: 0.5 or 1:2.", 0.0)
@quantity("pupil_magnification", "Exit over entrance pupil.", 1.0)
@quantity("loss_ev", "Lost in shaper, gel or plate; else 0.")
@quantity("incidence_angle_deg", "Between the light and the way the piece faces; 90° less its elevation.", 0.0)
@quantity("from_distance_mm", "Where the light stood before: gives ev_change.")
@quantity("reading_change_ev", "How much more a reading shows here than there: tells where the light comes from.")
@quantity("origin_behind_mm", "How far behind its front the light comes from, in a tube, a grid or a zoom head.")
@quantity("wanted_f_number", "As marked on the lens: gives the power, or the distance, that it needs.")
@quantity("measured_change_ev", "How much brighter one frame came out than it should: corrects the guide number.")
@quantity("full_recycling_time_s", "Recycling time at full power.")
@click.option("--light", "name", default="", metavar="NAME", help="A light of the kit: what isn't given is its own.")
@click.option("--shaper", default=None, metavar="NAME", help="What stands before it; '' for nothing, else the usual.")
@click.option("--keep", is_flag=True, help="Put what --measured-change-ev corrects into the kit file.")
@kit_option
@json_option
def light(kit: Path | None, name: str, shaper: str | None, keep: bool, as_json: bool, **given: Any) -> None:
    """The f-number that one flash gives, as marked on the lens, or the power that it needs.

    One frame at a known distance corrects the kit: how much brighter it came out than it should, in EV
    (--measured-change-ev), is kept for the light, or, with something before it, for light and shaper together.
    """
    from session.plan.light_answers import light_answer  # noqa: PLC0415

    if (keep or shaper is not None) and not name:
        raise Refused("Which light? Name it with --light.")
    if given["reading_change_ev"] is not None and given["from_distance_mm"] is None:
        told = f"{given['reading_change_ev']:g} EV more than where"
        raise Refused(f"{told}? Two readings tell it: say with --from-distance-mm where the other one was taken.")
    if keep and given["measured_change_ev"] is None:
        raise Refused("Nothing to keep: say with --measured-change-ev how much brighter the frame came out.")
    before = ""
    if name:
        given, before = with_light(given, kit_at(kit_path(kit)), name, shaper)
    given = complete(given, {"guide_number_m": "Guide number of the flash", "distance_mm": "Light to piece"})
    given |= {
        quantity: 0.0 for quantity in ("source_size_mm", "loss_ev", "origin_behind_mm") if given[quantity] is None
    }
    with refusing():
        answer = light_answer(**given)
    kept = keep_measured(kit_path(kit), name, before, answer) if keep else ""
    show(answer, given | ({"light": name, "shaper": before} if name else {}), as_json, cautions_for(*FLASH_HAZARDS))
    if kept:
        click.echo(kept, err=as_json)


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


@click.command()
@quantity("width_mm", "Of the card.")
@quantity("height_mm", "Of the card.")
@quantity("distance_mm", "Card to piece.")
@quantity("reflectance", "Of the card: 0.9 for a clean white one.", 0.9)
@quantity("level_ev", "Light on the card beside that on the piece: 0 for as much.", 0.0)
@json_option
def card(as_json: bool, **given: Any) -> None:
    """What a white card beside the piece fills in."""
    from session.plan.light_answers import card_answer  # noqa: PLC0415

    given = complete(
        given, {"width_mm": "Width of the card", "height_mm": "Height of the card", "distance_mm": "Card to piece"}
    )
    with refusing():
        answer = card_answer(**given)
    show(answer, given, as_json)
