"""The usual cautions for what stands in a set."""

from __future__ import annotations

from session.lighting.cautions import cautions_for
from session.set.setup import Revision


def set_hazards(revision: Revision) -> tuple[str, ...]:
    """What to mind in this set-up, by the names of `lighting.cautions`; () for a set without light and glass."""
    lights = ("capacitor", "stands", "eyes", "photosensitivity") if revision.lights else ()
    return (*lights, "glass") if any(item.kind == "plate" for item in revision.passive) else lights


def set_cautions(revision: Revision) -> tuple[str, ...]:
    """The usual cautions for what stands in a set-up, the makers' manuals last; () where there is nothing to mind."""
    hazards = set_hazards(revision)
    return cautions_for(*hazards) if hazards else ()
