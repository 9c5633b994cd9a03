"""Writes what was measured into the kit file, and leaves each comment and blank line of the photographer's in place."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Table

from session.optics.closeup import effective_f_number
from session.optics.ring_down import RingDown
from session.set.kit import OLD_SUPPORT, Kit, KitError, Lens, LensDrive, parse_kit, read_kit

NEW_SUPPORT = "support"
"""What a support is called that the kit knew nothing of."""

DIGITS = 3


def keep_support(path: Path, name: str, found: RingDown) -> tuple[str, Kit]:
    """Put frequency and damping of a support into the kit file; returns the support's name, and the kit as it is now.

    name   of the support; of an unknown or empty name the kit's first one, as everywhere
    Raises KitError; then the file is as it was.
    """
    known = read_kit(path).support_for(name)
    called = known.name if known else name or NEW_SUPPORT

    def put(support: Table) -> None:
        support["frequency_hz"] = _round(found.frequency_hz)
        support["damping_ratio"] = _round(found.damping_ratio)

    return called, _change_thing(path, "support", called, put)


def keep_guide_number(path: Path, light: str, guide_number_m: float) -> Kit:
    """Put a light's corrected guide number, m, into the kit file. Raises KitError; then the file is as it was."""

    def put(table: Table) -> None:
        table["guide_number_m"] = _round(guide_number_m)

    return _change_thing(path, "light", light, put)


def keep_closest_f_number(path: Path, lens: str, closest_effective_f_number: float | None) -> Kit:
    """Put a lens's effective f-number at its closest focus into the kit file; None takes the number out again.

    Raises KitError; then the file is as it was.
    """

    def put(table: Table) -> None:
        if closest_effective_f_number is None:
            table.pop("closest_effective_f_number", None)
        else:
            table["closest_effective_f_number"] = _round(closest_effective_f_number)

    return _change_thing(path, "lens", lens, put)


def keep_pupil(path: Path, lens: Lens, pupil_magnification: float) -> Kit:
    """Put a lens's corrected pupil magnification into the kit file, the old value beside it as a comment.

    An effective f-number at the closest focus, which goes before it, is corrected alike.
    Raises KitError; then the file is as it was.
    """

    def put(table: Table) -> None:
        _replace_value(table, "pupil_magnification", lens.pupil_magnification, pupil_magnification)
        if lens.closest_effective_f_number is not None and lens.closest_magnification:
            corrected = effective_f_number(lens.widest_f_number, lens.closest_magnification, pupil_magnification)
            _replace_value(table, "closest_effective_f_number", lens.closest_effective_f_number, corrected)

    return _change_thing(path, "lens", lens.name, put)


def _replace_value(table: Table, field: str, was: float, value: float) -> None:
    """Put a value in the place of another, which stays beside it behind the photographer's own comment."""
    old = table[field].trivia.comment.lstrip("# ") if field in table else ""
    table[field] = _round(value)
    table[field].comment("; ".join(words for words in (old, f"was {_round(was):g}") if words))


def keep_drive(path: Path, drive: LensDrive) -> Kit:
    """Put a measured focus drive into the kit file, in the place of one of the same name.

    Raises KitError; then the file is as it was.
    """

    def put(table: Table) -> None:
        told = drive.model_dump(exclude_defaults=True, exclude={"note"})
        for field in type(drive).model_fields.keys() - told.keys() - {"note"}:
            table.pop(field, None)  # of the drive as it was measured before
        for field, value in told.items():
            table[field] = _round(value) if isinstance(value, float) else value

    return _change_thing(path, "drive", drive.name, put)


def keep_shaper_loss(path: Path, light: str, shaper: str, loss_ev: float) -> Kit:
    """Put what a shaper takes from this one light, EV, into the kit file.

    Raises KitError; then the file is as it was.
    """

    def put(table: Table) -> None:
        table.setdefault("shaper_losses_ev", tomlkit.inline_table())[shaper] = _round(loss_ev)

    return _change_thing(path, "light", light, put)


def _change_thing(path: Path, group: str, name: str, put: Callable[[Table], None]) -> Kit:
    """The kit after the file's thing of that name was changed by `put`; a new thing where the file has none."""
    read_kit(path)
    try:
        document = tomlkit.parse(path.read_bytes().decode("utf-8"))
        tables = document.setdefault(_written_group(document, group), tomlkit.aot())
        if not isinstance(tables, AoT):
            words = f"the {group}s aren't written as tables in double brackets, [[{group}]]"
            raise KitError(str(path), [words])
        table = next((table for table in tables if table["name"] == name), None)
        if table is None:
            table = tomlkit.table()
            table["name"] = name
            tables.append(table)
        put(table)
        text = tomlkit.dumps(document)
    except TOMLKitError as error:
        raise KitError(str(path), [f"it can't be written to: {error}"]) from None
    kit = parse_kit(text, str(path))
    _replace(path, text)
    return kit


def _written_group(document: TOMLDocument, group: str) -> str:
    """The group's name in the file: an older file's supports are stands."""
    return OLD_SUPPORT if group == "support" and OLD_SUPPORT in document else group


def _round(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")


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
