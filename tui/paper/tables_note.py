"""The note beside a hand-over's tables: which file holds what, its day and program, and the cautions on the sets."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from session.lighting.cautions import CAUTIONS, LAST_WORD
from tui.words.harmless import harmless

FILES = {
    "frames": "each exposure: settings, set-up, verdict, mark, files with their hashes",
    "set-ups": "each set-up with its revision: camera, lens, lights, and what else stands in the set",
    "findings": "what rules and checks said of each frame, with number, limit and unit",
    "planes": "each plane of the focus series, near to far: its place, the step, and its frame's files",
    "order": "what was ordered, as `stillset job read` reads it, and how far it is",
}

FORMS = (
    "Each is there as CSV and as JSON Lines; tables.schema.json says what a line of JSON holds (JSON Schema, draft"
    " 2020-12). The name of a number ends with its unit: _s seconds, _mm millimetres, _px pixels of the full picture,"
    " _deg degrees, _ev stops. A light's power_ev is counted under full power; azimuth_deg runs clockwise from the"
    " camera, seen from above, and elevation_deg up from the table."
)


def tables_note(
    job: str, client: str, set_ups: Iterable[str], agent: str, today: date, *, ordered: bool, in_planes: bool
) -> str:
    """The note as plain text.

    set_ups  labels of set-ups with their revisions
    ordered  there is a table of the order; in_planes: one of the planes of focus series
    """
    left_out = {name for name, there in (("order", ordered), ("planes", in_planes)) if not there}
    told = [(name, words) for name, words in FILES.items() if name not in left_out]
    width = max(len(name) for name, _ in told)
    lines = [
        f"Tables of {harmless(job)}" + (f", for {harmless(client)}" if client else ""),
        f"{today.isoformat()} · set-ups {', '.join(set_ups) or 'none'} · {agent}",
        "",
        *(f"{name:<{width}}  {words}" for name, words in told),
        "",
        FORMS,
        "",
        "Cautions on the sets that these tables describe:",
        *(f"- {caution}" for caution in (*CAUTIONS.values(), LAST_WORD)),
    ]
    return "\n".join(lines) + "\n"
