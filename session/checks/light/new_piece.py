"""The first frames of a new piece, before one of its own is accepted: is the light what the set-up gave the last piece?

Pieces of one kind look alike, but not place by place, so nothing is said of focus, drift or a band's edge; the median
of the light over the frame, and a grey patch, are what a set-up keeps from piece to piece.
"""

from __future__ import annotations

from dataclasses import replace

from session.checks.light import brightness, colour, flash_fired
from session.checks.material.check_limits import NEW_PIECE_EV, NO_FLASH_EV
from session.checks.material.checked_picture import Material, Pair
from session.frame.finding import CheckId, Finding, Level
from session.picture.registration import Shift
from session.set.setup import Revision

ANOTHER_PIECE = Shift(0.0, 0.0, 0.0)
"""The shift isn't sought, since the pictures show different pieces."""


def findings(frame: Material, before: Material, revision: Revision, *, flash_used: bool) -> tuple[Finding, ...]:
    """Findings on the light against the last piece's reference, `before`; none for pictures of another size."""
    both = Pair(frame, before, ANOTHER_PIECE)
    if not both.same_size:
        return ()
    now = brightness.measure(frame, revision.region, both)
    if flash_used and now.whole_ev is not None and now.whole_ev <= -NO_FLASH_EV:
        return flash_fired.against_reference(now, frame, before)
    found: tuple[Finding, ...] = ()
    if now.whole_ev is not None and abs(now.whole_ev) > NEW_PIECE_EV:
        word = "darker" if now.whole_ev < 0 else "brighter"
        text = f"{abs(now.whole_ev):.1f} EV {word} than the piece before: another tone, or another light?"
        found = (Finding(CheckId.EXPOSURE, Level.NOTE, text, round(now.whole_ev, 2), float(NEW_PIECE_EV), "EV"),)
    tint = colour.measure(both, revision.region, revision.grey_patch) if revision.grey_patch else None
    if tint is not None and tint.on_patch:
        found += colour.findings(replace(tint, shadows_ev=None))
    return found
