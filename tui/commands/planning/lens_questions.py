"""`stillset plan depth` and `stillset plan steps`."""

from __future__ import annotations

from typing import Any

import click

from tui.commands.planning.answered import show
from tui.commands.planning.inputs import complete
from tui.shell.choices import json_option
from tui.shell.options import quantity, refusing

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
@quantity("gap_mm", "From the close-up lens to the lens's front principal plane; 0 in contact.", 0.0)
@json_option
def depth(as_json: bool, **given: Any) -> None:
    """Depth of field, light lost and diffraction of one arrangement."""
    from session.plan.lens_answers import depth_answer  # noqa: PLC0415 - wave optics, not for --help

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
