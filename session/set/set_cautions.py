"""The usual cautions for what stands in a set."""

from __future__ import annotations

from session.lighting.cautions import cautions_for
from session.set.setup import Revision


def set_cautions(revision: Revision) -> tuple[str, ...]:
    """The usual cautions for what stands in this set-up, the makers' manuals last; () for a set without light."""
    hazards = ["capacitor", "stands", "eyes", "photosensitivity"] if revision.lights else []
    if any(item.kind == "plate" for item in revision.passive):
        hazards.append("glass")
    return cautions_for(*hazards) if hazards else ()
