"""Where the limit of a finding comes from, for whoever asks why a frame was flagged."""

from __future__ import annotations

import math

from session.checks.material import check_limits
from session.checks.material.check_limits import Limit
from session.frame.finding import CheckId, Finding

LIMITS: dict[str, tuple[Limit, ...]] = {
    CheckId.EXPOSURE: (check_limits.EXPOSURE_EV,),
    CheckId.FLASH: (check_limits.NO_FLASH_EV, check_limits.WEAK_FLASH_EV, check_limits.NEARLY_BLACK_EV),
    CheckId.CLIPPING: (check_limits.CLIPPED_SURFACE_SHARE,),
    CheckId.BAND: (check_limits.BAND_SHARE,),
    CheckId.DRIFT: (
        check_limits.DRIFT_SHARE,
        check_limits.DRIFT_TURN_DEG,
        check_limits.DRIFT_SCALE,
        check_limits.BUMP_PX,
    ),
    CheckId.EVENNESS: (check_limits.EVENNESS_EV, check_limits.HOT_SPOT_EV),
    CheckId.COLOUR: (check_limits.COLOUR_DE2000,),
    CheckId.MIXED_LIGHT: (check_limits.MIXED_LIGHT_EV,),
}
"""Check → the limits that its findings are compared with."""

OWN_ORIGINS: dict[str, str] = {
    CheckId.FOCUS: "the view's own limit, from the plan or the settings: an end of the depth of field is blurred so "
    "much. "
    "Unless set, a radius of 1 px, the stricter end of the pixel rule for work inspected at 100 %: 2 to 3 px across. "
    "Common practice, no source",
    CheckId.LIGHT: "what the other lights, from where they stand in the set-up, leave of the reference's brightness "
    "without this one: a sum of their EV. Worked out. Where the kit doesn't know how much they give, half a "
    "stop as for a weak flash",
    CheckId.SETTINGS: "a tenth of a stop: less than the third by which settings differ, more than their rounding. "
    "Worked out",
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
