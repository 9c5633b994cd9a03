"""`stillset plan view`: what to put up for a piece."""

from __future__ import annotations

from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

import click

from session.units.surfaces import SURFACES
from tui.commands.planning.answered import put, put_json
from tui.commands.planning.inputs import complete
from tui.commands.planning.kit_in_question import kit_at, kit_option, kit_path
from tui.shell.choices import json_option
from tui.shell.options import Refused, quantity, refusing, stack_options
from tui.shell.terminal import columns

NEEDED = {
    "piece_width_mm": "Width of the piece",
    "piece_height_mm": "Height of the piece",
    "relief_mm": "Depth of the piece, nearest to farthest point",
}

wish_options = stack_options(
    quantity("piece_width_mm", NEEDED["piece_width_mm"] + ", as it lies in the picture."),
    quantity("piece_height_mm", NEEDED["piece_height_mm"] + "."),
    quantity("relief_mm", NEEDED["relief_mm"] + "."),
    quantity("depth_needed_mm", "What of that must be sharp; else all of it."),
    quantity("fill", "Share of the picture for the piece: the largest, with pixels wished; else the one wanted.", 0.8),
    quantity("delivered_pixels", "Across the delivered picture."),
    quantity("blur_radius_on_piece_mm", "Radius of the blur allowed, diffraction included; else one delivered pixel."),
    quantity("clear_in_front_mm", "What must stay free before the lens.", 20.0),
    quantity("light_angle_deg", "Steepest light beside the lens, from the axis.", 45.0),
    click.option("--plate", default="", metavar="NAME", help="A plate of the kit, for axial light."),
    quantity("plate_angle_deg", "Its tilt.", 45.0),
    click.option(
        "--light",
        "lights",
        multiple=True,
        metavar="NAME[=EV][@DEGREES]",
        help="Lights that work together, the key first; with level beside the key and angle from the axis.",
    ),
    click.option("--surface", type=click.Choice(SURFACES), default="matt", help="Of the piece."),
    quantity("iso", "ISO speed.", 100.0),
    click.option("--body", default="", metavar="NAME", help="Only this body."),
    click.option("--lens", default="", metavar="NAME", help="Only this lens."),
    click.option("--support", default="", metavar="NAME", help="The support; else the kit's first."),
    click.option("--trigger", default="", metavar="NAME", help="The trigger; else the kit's first."),
    quantity("tilt_deg", "How far a flat piece may be out of square.", 1.0),
    quantity("overlap", "Of the depths in a focus series.", 0.25),
    quantity("most_frames", "That a focus series may take."),
    quantity("wavelength_um", "Light that diffraction is counted for.", 0.55),
)


@click.command()
@wish_options
@kit_option
@click.option("--first", type=click.IntRange(1), default=8, show_default=True, help="How many arrangements to tell.")
@json_option
def view(kit: Path | None, first: int, as_json: bool, **given: Any) -> None:
    """What to put up for a piece: every arrangement of the kit, ranked with reasons.

    What fails is counted in stops, so that a lack of room can be weighed against a lack of light; a tenth more or
    less is equal. Then fewer frames go first, the aperture set by the camera, fewer added parts, more room,
    more pixels, less blur. Where nothing meets the whole wish, the nearest that something meets is told.
    """
    from session.plan.kit_search import rank_plans  # noqa: PLC0415
    from session.plan.nearest_wish import nearest_wish  # noqa: PLC0415
    from session.plan.report import cautions, numbers  # noqa: PLC0415 - pydantic, not for --help
    from session.plan.wish import Wish  # noqa: PLC0415
    from tui.planner.view_text import reasons, view_lines  # noqa: PLC0415

    given = complete(given, NEEDED)
    if given["blur_radius_on_piece_mm"] is None and given["delivered_pixels"] is None:
        words = {"blur_radius_on_piece_mm": "Radius of the blur allowed on the piece"}
        given = complete(given, words, ", or --delivered-pixels to take it from")
    things = kit_at(kit_path(kit))
    with refusing():
        wish = Wish(**{field.name: given[field.name] for field in fields(Wish)})
        found = rank_plans(things, wish)
        nearest = nearest_wish(things, wish, found)
    if not found.plans:
        first_out = found.left_out[0]
        raise Refused(f"Nothing in the kit can be planned with; {first_out.build.label}: {first_out.why}")
    if not as_json:
        for line, indent in view_lines(found, wish, nearest, first, invented=things.invented, width=columns()):
            put(line, indent)
        return
    told = [
        {"place": place, **numbers(plan), "reason": why}
        for place, (plan, why) in enumerate(reasons(found.plans)[:first], 1)
    ]
    left_out = [{"body": out.build.body.name, "arrangement": out.build.label, "why": out.why} for out in found.left_out]
    put_json(
        {
            "wish": asdict(wish),
            "kit_invented": things.invented,
            "arrangements": len(found.plans),
            "nearest_wish": asdict(nearest) if nearest else None,
            "plans": told,
            "left_out": left_out,
            "cautions": cautions(found.plans[0]),
        }
    )
