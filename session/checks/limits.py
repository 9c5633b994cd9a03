"""What the checks hold their measurements against: one table, each limit with its origin.

The blur limit itself belongs to the view (`Revision.blur_limit_px`), as does what counts as missed
(`setup.MISSED_AT_LIMITS`). Limits that were chosen on pictures name the benchmark that shows them, and were
chosen on other pictures than those it evaluates.
"""

from __future__ import annotations


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
    "a band that loses less looks like uneven light and is told by exposure. Chosen: half a third "
    "of a stop under the 1 EV at which half the light is gone",
)
BAND_SHARE = Limit(
    0.01, "share of the frame", "some seven rows of the overview: less can't be told from the picture's rim. Chosen"
)
SLOWEST_SYNC_S = Limit(
    1 / 50,
    "s",
    "no focal-plane shutter in use needs longer to open fully: 1/60 s is the slowest sync "
    "time met, less a third of a stop for the trigger's delay. Common practice, no source",
)
LEAST_DETECTABILITY = Limit(
    2.5,
    "standard deviations",
    "one in 160 sharp regions would pass for blurred at the limit "
    "(normal tail); below it the region can't show the limit and nothing is claimed",
)
TOO_DARK_EV = Limit(
    4.0, "EV", "a correct exposure that far down lies under code 12, where one code is 0.14 EV. Worked out from sRGB"
)
SHARPER_PX = Limit(0.7, "px of the overview", "a tile counts as sharper than the reference above this. Chosen")
