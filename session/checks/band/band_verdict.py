"""The dark band that the shutter's second curtain leaves when the exposure time is shorter than flash sync.

It begins at one side of the picture, runs right across it, and ends in an edge along the curtain: straight,
parallel to the side, soft where the flash burns long. Which side depends on how the camera was turned, so all
four are looked at.
"""

from __future__ import annotations

from session.checks.band.against_reference import against_reference, registered_by_lit_part, shows_the_same
from session.checks.band.alone import alone
from session.checks.band.shadow import Band
from session.checks.material.check_limits import BAND_SHARE, SLOWEST_SYNC_S, SYNC_MARGIN_EV
from session.checks.material.checked_picture import Material, Pair
from session.frame.finding import CheckId, Finding, Level, Remedy, RemedyKind
from session.set.setup import Region
from session.units.numbers import percent_text


def find(
    frame: Material, both: Pair | None, exposure_s: float | None, wholly_open_s: float | None = None
) -> Band | None:
    """The dark band of a frame, None when there is none that can be told from the piece.

    both           the frame and its reference, which only counts where it shows the same; None when there is none
    exposure_s     of the frame, if known: where the shutter was wholly open, none is looked for without reference
    wholly_open_s  exposure time from which on it is, by the kit; None: where every shutter is
    """
    surely_s = wholly_open_s * 2**SYNC_MARGIN_EV if wholly_open_s else SLOWEST_SYNC_S
    wholly_open = exposure_s is not None and exposure_s > surely_s
    same = _comparable(both) if both else None
    if same:
        return against_reference(same) or (None if wholly_open else _unseen_in_reference(same))
    return None if wholly_open else alone(frame.light)


def _comparable(both: Pair) -> Pair | None:
    """Frame and reference as a pair with the same rows, registered where needed; None if the pictures don't fit."""
    if not both.same_size:
        return None
    return both if shows_the_same(both) else registered_by_lit_part(both)


def _unseen_in_reference(both: Pair) -> Band | None:
    """A narrow band where the picture moved in, so that the reference shows nothing of most of its rows."""
    height, width = both.frame.light.shape
    to_overview = both.frame.overview.scale / both.frame.small_scale
    right, down = both.shift.right_px * to_overview, both.shift.down_px * to_overview
    unseen = {"top": down / height, "bottom": -down / height, "left": right / width, "right": -right / width}
    if not both.shift.found or max(unseen.values()) < BAND_SHARE / 2:
        return None
    band = alone(both.frame.light)
    return band if band and unseen[band.side] > band.share / 2 else None


def findings(band: Band | None) -> tuple[Finding, ...]:
    """The band as a finding; none without a band."""
    if band is None:
        return ()
    doubt = ", if it isn't a dark part of the set" if band.by_itself else ""
    text = (
        f"A dark band along the {band.side}{doubt}: {percent_text(band.share)} of the frame without flash, "
        f"{percent_text(band.lost_share)} lost half of it or more."
    )
    remedy = Remedy(RemedyKind.BY_HAND, "set a longer exposure time, within flash sync; release again")
    share = round(band.share, 4)
    return (Finding(CheckId.BAND, Level.CAUTION, text, share, float(BAND_SHARE), "share of the frame", remedy),)


def covers(band: Band, region: Region) -> bool:
    """Whether the region reaches into the rows that lost half of their flash light or more."""
    reach = {
        "bottom": region.top + region.height > 1 - band.lost_share,
        "top": region.top < band.lost_share,
        "right": region.left + region.width > 1 - band.lost_share,
        "left": region.left < band.lost_share,
    }
    return reach[band.side]
