"""Where a frame's files go: `FOLDER/JOB/PIECE/0042-bridge_6-three-quarter-07.3.EXT`.

Names from people are data. Whatever they hold, what comes out is one plain part of a path: no separator, no dot at
either end, no control or invisible character, no device name of another system, not too long. Two names that the
log tells apart never come to the same folder: where a name can't stand as it is, a piece of its hash follows.
"""

from __future__ import annotations

import hashlib
import os
import re
import unicodedata
from pathlib import Path

from session.frame.ports import Place
from session.set.setup import Revision
from session.units.names import name_key

BAG_TXT = "bagit.txt"
"""A folder with this file is a bag, and has hashes of its own (RFC 8493, 2.1.1)."""

LONGEST_BYTES = 80
"""Of one part in UTF-8. File systems take 255; whole paths stay well below the 4096 of Linux and 260 of others."""

HASH_DIGITS = 8
DEVICE = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)
"""Names that mean devices on some systems, with any ending."""

KEPT_CATEGORIES = ("L", "M", "N")
"""Unicode general categories that stand in a part: letters of all scripts, their marks, numbers."""

INVISIBLE = re.compile("[\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180f\u3164\ufe00-\ufe0f\uffa0\U000e0100-\U000e01ef]")
"""Letters and marks that show nothing: Default_Ignorable_Code_Point of the Unicode database, value from memory."""


def frame_folder(root: Path, place: Place) -> Path:
    """The absolute folder for the files of this job's piece."""
    return root.absolute() / part(place.job) / part(place.piece)


def previews_folder(log: Path) -> Path:
    """The folder in which the previews of a log's frames are stored."""
    return beside(log, ".previews")


def beside(log: Path, ending: str) -> Path:
    """A folder of the log's, in the folder and under the name of the log itself where a link leads to it."""
    itself = Path(os.path.realpath(log))
    return itself.with_name(itself.name + ending)


def frame_stem(place: Place, number: int, revision: Revision) -> str:
    """Base name of a frame's files, like `0042-bridge_6-three-quarter-07.3`: piece and view are told in any folder."""
    piece, view = part(place.piece, LONGEST_BYTES // 2), part(place.view, LONGEST_BYTES // 2)
    return f"{number:04d}-{piece}-{view}-{revision.label}"


def part(name: str, longest_bytes: int = LONGEST_BYTES) -> str:
    """One part of a path for a name, the same for names that differ in case or blanks only.

    longest_bytes  bytes that the part may take
    Blanks become `_`; `-` and full stops inside stay. Anything else that isn't a letter or a number becomes `-`,
    and then the hash tells it from its likes (and full stops go too: `nul.txt` is a device).
    """
    key = name_key(name)
    plain = "".join("_" if sign == " " else sign if _may_stand(sign) else "-" for sign in key)
    as_it_is = plain == key.replace(" ", "_") and not DEVICE.fullmatch(plain)
    if as_it_is and plain.strip(".-") == plain != "" and len(plain.encode()) <= longest_bytes:
        return plain
    start = _cut(plain.replace(".", "-"), longest_bytes - HASH_DIGITS - 1).strip("-._") or "unnamed"
    digest = hashlib.sha256(key.encode("utf-8", "surrogatepass")).hexdigest()
    return f"{start}-{digest[:HASH_DIGITS]}"


def _may_stand(sign: str) -> bool:
    kept = unicodedata.category(sign).startswith(KEPT_CATEGORIES) and not INVISIBLE.match(sign)
    return kept or sign in "-."


def _cut(text: str, most_bytes: int) -> str:
    return text.encode()[:most_bytes].decode("utf-8", "ignore")
