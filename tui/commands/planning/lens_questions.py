"""`stillset plan depth` and `stillset plan steps`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from tui.commands.planning.answered import show
from tui.commands.planning.inputs import complete
from tui.commands.planning.kit_in_question import NO_FILE, kit_at, kit_option, kit_path
from tui.shell.choices import json_option
from tui.shell.options import Refused, quantity, refusing

LENS = {
    "focal_length_mm": "Focal length in use",
    "f_number": "Aperture as marked on the lens",
    "magnification": "Reproduction ratio, image to piece",
    "blur_circle_mm": "Blur allowed at the sensor",
}


@click.command()
@quantity("focal_length_mm", LENS["focal_length_mm"] + ".")
@quantity("f_number", LENS["f_number"] + ", like 11 or f/11.")
@quantity("magnification", LENS["magnification"] + ", of the whole arrangement: 0.5 or 1:2.")
@quantity("pupil_magnification", "Exit over entrance pupil, lens the normal way round.", 1.0)
@quantity("blur_circle_mm", LENS["blur_circle_mm"] + ", as a diameter.")
@quantity("wavelength_um", "Light that diffraction is counted for.", 0.55)
@click.option("--reversed", "lens_reversed", is_flag=True, help="The lens is turned round.")
@quantity("converter", "Factor of a teleconverter.", 1.0)
@quantity("dioptres", "Close-up lens before the lens.", 0.0)
@quantity("front_focal_length_mm", "Of a second lens, reversed before this one, both at infinity.")
@quantity("front_f_number", "Its aperture.")
@quantity("depth_needed_mm", "Depth that must be sharp: gives the aperture that blurs its ends least.")
@quantity("gap_mm", "From the close-up lens to the lens's front principal plane; 0 in contact.", 0.0)
@json_option
def depth(as_json: bool, **given: Any) -> None:
    """Depth of field, light lost and diffraction of one arrangement."""
    from session.plan.lens_answers import depth_answer  # noqa: PLC0415 - wave optics, not for --help

    front_mm, front = given["front_focal_length_mm"], given["front_f_number"]
    if (front_mm is None) is not (front is None):
        missing = "--front-focal-length-mm" if front_mm is None else "--front-f-number"
        raise Refused(f"A second lens is told by both its numbers: give {missing} too.")
    if front_mm is not None and given["focal_length_mm"] is not None:
        given |= {"magnification": given["focal_length_mm"] / front_mm}
    given = complete(given, LENS)
    with refusing():
        answer = depth_answer(**given)
    given["reversed"] = given.pop("lens_reversed")
    show(answer, given, as_json)


@click.command()
@quantity("relief_mm", "Depth of the piece that must be sharp.")
@quantity("depth_mm", "Depth of field of one frame; taken from the lens where it is given instead.")
@quantity("overlap", "Share of each depth that the next one covers again.", 0.25)
@quantity("focal_length_mm", LENS["focal_length_mm"] + "; with the next three: the series by the focus ring.")
@quantity("f_number", LENS["f_number"] + ".")
@quantity("magnification", LENS["magnification"] + ", at the nearest plane.")
@quantity("blur_circle_mm", LENS["blur_circle_mm"] + ".")
@quantity("pupil_magnification", "Exit over entrance pupil.", 1.0)
@json_option
def steps(as_json: bool, **given: Any) -> None:
    """How many frames of a focus series cover a depth: on a rail, and by the ring where the lens is given."""
    from session.plan.lens_answers import depth_answer, steps_answer  # noqa: PLC0415

    if any(given[name] is not None for name in LENS):
        given = complete(given, LENS)
        if given["depth_mm"] is None:
            lens = {name: given[name] for name in (*LENS, "pupil_magnification")}
            with refusing():
                given["depth_mm"] = depth_answer(**lens)["depth_mm"]
    given = complete(given, {"relief_mm": "Depth of the piece", "depth_mm": "Depth of field of one frame"})
    with refusing():
        answer = steps_answer(**given)
    show(answer, {name: value for name, value in given.items() if value is not None}, as_json)


@click.command()
@click.option("--lens", "name", required=True, metavar="NAME", help="A lens of the kit.")
@quantity("magnification", "Ratio of the frame, the lens by itself; else its closest focus.")
@quantity("measured_change_ev", "How much brighter a frame of a grey card came out than it should.")
@click.option("--keep", is_flag=True, help="Put what the frame tells into the kit file.")
@kit_option
@json_option
def lens(kit: Path | None, name: str, keep: bool, as_json: bool, **given: Any) -> None:
    """What a lens that focuses inside lets through close up, from one frame of a grey card.

    Everything else of the exposure must be known: light, shaper and distance measured before.
    """
    from session.plan.lens_answers import lens_answer  # noqa: PLC0415
    from session.set.kit_file import keep_closest_f_number  # noqa: PLC0415 - tomlkit
    from session.set.lens_in_use import pupil_in_use  # noqa: PLC0415

    path = kit_path(kit)
    known = kit_at(path).lens_for(name)
    if known is None or known.closest_magnification == 0:
        raise Refused(f"The kit has no lens {name!r} with a closest_magnification.")
    if keep and path is None:
        raise Refused(NO_FILE)
    given = complete(given, {"measured_change_ev": "How much brighter the frame came out, EV"})
    ratio = given["magnification"] or known.closest_magnification
    with refusing():
        answer = lens_answer(
            known.widest_f_number, known.closest_magnification, ratio, pupil_in_use(known), given["measured_change_ev"]
        )
    show(answer, {**given, "magnification": ratio, "lens": name}, as_json)
    if keep and path is not None:
        keep_closest_f_number(path, name, float(str(answer["closest_effective_f_number"])))
        click.echo(f"Kept in {path}: {name} at its closest focus.", err=as_json)
