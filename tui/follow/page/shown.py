"""The page's text on a log: the bench's word for the newest frame, and how far the job has come."""

from __future__ import annotations

import hashlib
from dataclasses import asdict, dataclass

from tui.follow.followed_log import LogMoment, headline_of
from tui.words.harmless import harmless
from tui.words.headline import Tone
from tui.words.order_words import place_words

LONGEST_NAME = 60
"""Characters of a name that are shown. Chosen: a line of the page across."""


@dataclass(frozen=True)
class Shown:
    """The state of the page.

    large, tone   the large line, as at the bench
    sentence      stands under it in small print, "" when the large line says all
    progress      `frame 12 · ring 4 · front · piece 2 of 3 · 2 views to go`
    frame         key of the frame whose picture may be asked for, "" when there is none yet
    version       changes when the frame has another file or region
    region        left, top, width, height in fractions of the picture; () without a picture
    """

    large: str
    tone: str
    sentence: str
    progress: str
    frame: str = ""
    version: str = ""
    region: tuple[float, ...] = ()

    def as_json(self) -> dict[str, object]:
        """The state as JSON for the browser."""
        return asdict(self)


def page_of(sight: LogMoment | None, trouble: str) -> Shown:
    """The page for the log's last state; `trouble` says why the log can't be read now, "" when it can."""
    said = headline_of(sight, trouble)
    # a good word needs no small print beside it; what went wrong with the log does, whatever the word is
    sentence = trouble or ("" if said.tone is Tone.GOOD else said.sentence)
    record = sight.record if sight else None
    progress = progress_line(sight) if sight else ""
    if sight is None or record is None or record.picture is None:
        return Shown(said.large, said.tone, harmless(sentence), progress)
    region = record.revision.region
    sides = (region.left, region.top, region.width, region.height)
    version = hashlib.sha256(f"{record.picture} {sides}".encode("utf-8", "surrogatepass")).hexdigest()[:16]
    return Shown(said.large, said.tone, harmless(sentence), progress, record.frame_id, version, sides)


def progress_line(sight: LogMoment) -> str:
    """`frame 12 · ring 4 · front · piece 2 of 3 · 2 views to go`; without an order views with no frame are to go."""
    record = sight.record
    if sight.progress:
        names = [f"frame {record.number}", record.piece, record.view] if record else [sight.job]
        ordered = place_words(sight.progress, record.piece if record else "")
        return " · ".join([*(harmless(name, LONGEST_NAME) for name in names), ordered])
    pieces = list(dict.fromkeys(place.piece for place in sight.places))
    to_go = sum(not place.frames for place in sight.places)
    names = [record.piece, record.view] if record else [sight.job]
    parts = [
        f"frame {record.number}" if record else "",
        *(harmless(name, LONGEST_NAME) for name in names),
        f"piece {pieces.index(record.piece) + 1} of {len(pieces)}" if record and len(pieces) > 1 else "",
        f"{to_go} view{'' if to_go == 1 else 's'} to go" if to_go else "",
    ]
    return " · ".join(part for part in parts if part)
