"""The trade's usual cautions where light, glass, heat or mains are involved.

They only remind: the maker's manual, the local electrical code and licensed practice decide. Stated from
common practice; standards are named where one covers the hazard.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from session.units.refusals import UnreadableTextError

LAST_WORD = "The maker's manual, the local electrical code and licensed practice decide; this only reminds."

# hazard → what to mind. 54 J is 1000 µF at 330 V; the voltages are those of small and studio units.
CAUTIONS: Mapping[str, str] = MappingProxyType(
    {
        # IEC 60491: photographic flash, up to 2000 J stored.
        "capacitor": (
            "Capacitors hold 250 to 500 V and more and stay charged after switch-off: never open a head or pack; "
            "change tubes only cold, unplugged and discharged."
        ),
        "idle unit": (
            "Bring a unit back from long rest only as its manual says; at smoke or a bang, off at the mains."
        ),
        # ISO 10330: synchronizers, ignition circuits and connectors. ISO 519: cable connector.
        "trigger voltage": (
            "Old flashes may put hundreds of volts on the sync contact: measure, or use a rated isolator or radio."
        ),
        # IEC 60598-2-17: luminaires for stage, film and photo studios.
        "heat": (
            "Modelling and tungsten lamps burn: let them cool, keep cloth, gel and paper clear, never unattended."
        ),
        "mains": "Earthed outlets, sound plugs, residual-current protection, no overloaded strips, no water near.",
        "stands": "Tape cables down, slack at the head; weight stands; fix the tether so that no trip pulls it.",
        "glass": "Plates with ground or taped edges, gloves, padded clamps, never leaning over the camera.",
        "eyes": "No full-power flash close to a face; look away when testing.",
        # WCAG 2.3.1, the nearest yardstick: not more than three flashes in a second.
        "photosensitivity": "Warn people on set; no trains of more than three flashes a second.",
        "duty cycle": "Keep the unit's limit for fast repeated full-power flashes; cracked covers: out of use.",
    }
)


def cautions_for(*hazards: str) -> tuple[str, ...]:
    """The sentences for these hazards in the table's order, then who has the last word.

    Raises ValueError when a hazard isn't in the table.
    """
    for hazard in hazards:
        if hazard not in CAUTIONS:
            raise UnreadableTextError(f"{hazard!r} is no known hazard: one of {', '.join(CAUTIONS)}.")
    return (*(text for hazard, text in CAUTIONS.items() if hazard in hazards), LAST_WORD)
