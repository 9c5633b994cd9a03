"""Writes what was measured into the kit file, and leaves each comment and blank line of the photographer's in place."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Table

from session.kit import Kit, KitError, parse_kit, read_kit
from session.optics.ring_down import RingDown

NEW_STAND = "stand"
"""What a stand is called that the kit knew nothing of."""

DIGITS = 3


def keep_stand(path: Path, name: str, found: RingDown) -> tuple[str, Kit]:
    """Put frequency and damping of a stand into the kit file; returns the stand's name, and the kit as it is now.

    name   of the stand; of an unknown or empty name the kit's first one, as everywhere
    Raises KitError; then the file is as it was.
    """
    kit = read_kit(path)
    known = kit.stand_for(name)
    called = known.name if known else name or NEW_STAND
    text = path.read_bytes().decode("utf-8")
    new = _with_stand(text, str(path), called, found)
    kit = parse_kit(new, str(path))
    _replace(path, new)
    return called, kit


def _with_stand(text: str, path: str, name: str, found: RingDown) -> str:
    try:
        document = tomlkit.parse(text)
        stands = document.setdefault("stand", tomlkit.aot())
        if not isinstance(stands, AoT):
            raise KitError(path, ["the stands aren't written as tables in double brackets, [[stand]]"])
        stand = next((table for table in stands if table["name"] == name), None)
        if stand is None:
            stand = tomlkit.table()
            stand["name"] = name
            stands.append(stand)
        _put(stand, "frequency_hz", found.frequency_hz)
        _put(stand, "damping_ratio", found.damping_ratio)
        return tomlkit.dumps(document)
    except TOMLKitError as error:
        raise KitError(path, [f"it can't be written to: {error}"]) from None


def _put(stand: Table, field: str, value: float) -> None:
    stand[field] = float(f"{value:.{DIGITS}g}")


def _replace(path: Path, text: str) -> None:
    """Whole or not at all, also when the power goes; a link stays one, permissions stay as they are."""
    target = path.resolve()
    try:
        mode = target.stat().st_mode
        descriptor, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=".part")
        try:
            with os.fdopen(descriptor, "wb") as file:
                file.write(text.encode("utf-8"))
                file.flush()
                os.fsync(file.fileno())
            Path(temporary).chmod(mode & 0o7777)
            Path(temporary).replace(target)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise KitError(str(path), [f"it can't be written: {error.strerror or error}"]) from None
