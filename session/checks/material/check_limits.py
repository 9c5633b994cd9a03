"""The limits of the checks in one table, each limit with its origin.

The blur limit itself belongs to the view (`Revision.blur_limit_px`), as does what counts as missed
(`setup.MISSED_AT_LIMITS`). A limit chosen on pictures names the benchmark that shows its worth; the pictures of the
benchmark are others than those of the choice.
"""

from __future__ import annotations

import math

from session.frame.finding import CheckId, Finding


class Limit(float):
    """A number with its unit and origin; used as a plain float."""

    unit: str
    origin: str

    def __new__(cls, value: float, unit: str, origin: str) -> Limit:
        limit = super().__new__(cls, value)
        limit.unit, limit.origin = unit, origin
        return limit


EXPOSURE_EV = Limit(
    0.25,
    "EV",
    "three quarters of the smallest wrong click, a third of a stop on nearly all bodies. Common practice, no source",
)
WEAK_FLASH_EV = Limit(
    0.5,
    "EV",
    "five times the tenth of a stop within which studio flash repeats; one of two equal lights missing costs 1 EV. "
    "Common practice, no source",
)
NO_FLASH_EV = Limit(
    2.5,
    "EV",
    "half the five stops that the rules ask between flash and ambient light: without its flash a picture falls by "
    "those five. Worked out",
)
NEW_PIECE_EV = Limit(
    1.0,
    "EV",
    "pieces of one kind, steel and brass say, differ in tone by less than a stop, a light that is missing or a wrong "
    "power makes more. Common practice, no source",
)
NEARLY_BLACK_EV = Limit(
    5.0,
    "EV",
    "without a reference: the brightest half percent lies this far under white, the five stops that the rules ask "
    "between flash and ambient light. Worked out",
)
CLIPPED_CODE = Limit(253, "code", "two codes under white, for JPEG coding blurs the edge of clipping. Common practice")
BLACK_CODE = Limit(2, "code", "two codes above black, as at the other end. Common practice, no source")
CLIPPED_SURFACE_SHARE = Limit(
    0.005,
    "share of the region or frame",
    "a clipped patch of a fourteenth of the side, well beyond a specular. Common practice, no source",
)
BAND_EV = Limit(
    0.7,
    "EV",
    "of light lost at the side: under the 1 EV at which half of it is gone, over the half stop that uneven "
    "relighting makes. Chosen",
)
BAND_SHARE = Limit(
    0.01,
    "share of the frame",
    "some five rows of the overview; less can't be told from the picture's rim. Chosen",
)
BAND_LOG_ODDS = Limit(
    3.0,
    "natural logarithm",
    "of the odds for a band against light that changes along a parabola, as relighting makes it: twenty to one. "
    "Common practice",
)
SYNC_MARGIN_EV = Limit(
    1 / 3,
    "EV",
    "beyond the sync time, for a trigger's delay that the kit doesn't tell: 1.3 ms at 1/200 s. Common practice, no "
    "source",
)
SLOWEST_SYNC_S = Limit(
    2**SYNC_MARGIN_EV / 60,
    "s",
    "1/60 s is the slowest sync time of focal-plane shutters in use, with the margin. Common practice, no source",
)
LEAST_DETECTABILITY = Limit(
    2.0,
    "standard deviations",
    "one in 44 sharp regions would pass for blurred at the limit (normal tail) if the model erred as far as it may",
)
FAINT_DETECTABILITY = Limit(
    1.0,
    "standard deviations",
    "where the limit shows at least so much, a blur that lies two of its own standard deviations beyond the limit is "
    "claimed; below it nothing is. Chosen",
)
TOO_DARK_EV = Limit(
    4.0,
    "EV",
    "under the reference puts mid grey at code 27 (worked out from sRGB), where little but coding is left of fine "
    "detail. Chosen",
)
RELIT_EV = Limit(
    0.11,
    "EV",
    "scatter of the region's blocks against the reference: a light moved by 30° made 0.13 and more, a blur of 6 px "
    "0.10 at most, on two set-ups of the mock camera that no benchmark uses",
)
SHARPER_PX = Limit(0.7, "px of the overview", "a tile counts as sharper than the reference above this. Chosen")
DRIFT_SHARE = Limit(
    0.02,
    "share of the long side",
    "pieces laid by hand against marks come to lie within half a millimetre, 2 % of a 24 mm field; frames of a set "
    "that differ by more are seen to jump. Common practice, no source",
)
BUMP_PX = Limit(
    3.0,
    "px of the sensor",
    "that all of the picture moved, its corners where it turned: frames of a series or solos are laid on each other, "
    "and edges three pixels apart show as double at 100 %. The measurement errs by 0.04 px of its overview, 0.3 px of "
    "the sensor at an eighth. Refocusing by one to three depths of field changes the size, and left 0.4 px at most at "
    "the 8256 px of a sensor of 45 MP, 1.2 px at 1536 px, on the mock camera's seeds 201 to 205. Chosen",
)
BUMP_SD = Limit(
    4.0,
    "standard deviations",
    "of what the rim's tiles leave open, which a bump must stand out of: one frame in 16 000 by chance (normal tails). "
    "Chosen",
)
DRIFT_TURN_DEG = Limit(
    1.5, "°", "of two frames side by side a turn of a degree begins to show. Common practice, no source"
)
DRIFT_SCALE = Limit(
    0.02, "share of the size", "as the shift: 2 % over half the frame is a shift of 1 % at its edge. Common practice"
)
DRIFT_TOLD = Limit(
    0.25,
    "of the limits above",
    "a note from 0.5 % of the frame, 0.4° or 0.5 % in size on. Chosen, above the 0.4 % in size that focusing through "
    "half the depth of field makes at 1:1 (0.38 mm of 100 mm, f/11, 2 px of 8256 on 36 mm; thin lens: δ·m/f)",
)
EVENNESS_EV = Limit(
    0.5,
    "EV",
    "from side to side, or centre against surround, beyond the reference: half a stop over a flat subject is what copy "
    "work bears. Common practice, no source",
)
HOT_SPOT_EV = Limit(
    1.5, "EV", "a cell of a twelfth of the frame above those around it: more than a lighting ratio of 2:1. Chosen"
)
COLOUR_DE2000 = Limit(
    3.0,
    "ΔE2000",
    "about 1 is just seen side by side; up to 3 passes as the same in print. Common practice, no source",
)
MIXED_LIGHT_EV = Limit(
    0.15,
    "EV of red to blue",
    "dark parts against light ones: a tenth of tungsten light in the shadows, since 3200 K and 5500 K differ by "
    "1.65 EV in red (620 nm) to blue (450 nm) by Planck's law. Worked out",
)

LIMITS: dict[str, tuple[Limit, ...]] = {
    CheckId.EXPOSURE: (EXPOSURE_EV,),
    CheckId.FLASH: (NO_FLASH_EV, WEAK_FLASH_EV, NEARLY_BLACK_EV),
    CheckId.CLIPPING: (CLIPPED_SURFACE_SHARE,),
    CheckId.BAND: (BAND_SHARE,),
    CheckId.DRIFT: (
        DRIFT_SHARE,
        DRIFT_TURN_DEG,
        DRIFT_SCALE,
        BUMP_PX,
    ),
    CheckId.EVENNESS: (EVENNESS_EV, HOT_SPOT_EV),
    CheckId.COLOUR: (COLOUR_DE2000,),
    CheckId.MIXED_LIGHT: (MIXED_LIGHT_EV,),
}
"""Check → the limits that its findings are compared with."""

OWN_ORIGINS: dict[str, str] = {
    CheckId.FOCUS: "the view's own limit, from the plan or the settings: an end of the depth of field is blurred so "
    "much. "
    "Unless set, a radius of 1 px, the stricter end of the pixel rule for work inspected at 100 %: 2 to 3 px across. "
    "Common practice, no source",
    CheckId.SQUARE: "the view's own limit: less blur than that at the region's end is none that matters",
    CheckId.LIGHT: "what the other lights, from where they stand in the set-up, leave of the reference's brightness "
    "without this one: a sum of their EV. Worked out. Where the kit doesn't know how much they give, half a "
    "stop as for a weak flash",
    CheckId.SETTINGS: "a tenth of a stop: less than the third by which settings differ, more than their rounding. "
    "Worked out",
    CheckId.STANDARD: "what the client agreed for this view. Where no tolerance was agreed, a piece may lie 2 % of the "
    "long side off and the background be 0.25 EV off, as in the other checks",
    CheckId.FILE: "the length that the camera announced, and the marker that ends every JPEG. ITU-T T.81",
    CheckId.REGION: "the size of the picture",
}
"""Origins of limits that aren't in the table of limits."""


def origin_of(finding: Finding) -> str:
    """The origin of a finding's limit, as a clause or two; "" for a rule's finding, whose text has its origin."""
    known = LIMITS.get(finding.id)
    if not known:
        return OWN_ORIGINS.get(finding.id, "")
    held = abs(finding.limit) if finding.limit is not None else math.nan
    alike = [limit for limit in known if limit.unit == finding.unit] or known
    return next((limit for limit in alike if math.isclose(limit, held)), alike[0]).origin
