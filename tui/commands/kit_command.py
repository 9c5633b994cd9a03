"""`stillset kit`: what may stand in a kit file, whether one is right, and a new one to begin with."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import click

from tui.shell.choices import json_option
from tui.shell.options import NewFile, argument
from tui.shell.troubles import CommandFailed
from tui.words.harmless import harmless


@click.group()
def kit() -> None:
    """The file of your own bodies, lenses, lights and supports; named with --kit or STILLSET_KIT."""


@kit.command()
@argument("table", default="")
@json_option
def fields(table: str, as_json: bool) -> None:
    """List what may stand in a kit file, or in one TABLE of it; needed fields are marked *."""
    import json  # noqa: PLC0415
    from dataclasses import asdict  # noqa: PLC0415

    from session.set.kit import Kit  # noqa: PLC0415 - pydantic, for those who use a kit
    from session.set.kit_fields import kit_fields  # noqa: PLC0415

    found = kit_fields(Kit)
    tables = list(dict.fromkeys(field.table for field in found if field.table))
    if table and table not in tables:
        raise click.UsageError(f"there is no table {table!r}; there are {', '.join(tables)}")
    shown, last = [field for field in found if table in ("", field.table)], ""
    for field in shown:
        if as_json:
            click.echo(json.dumps(asdict(field)))
            continue
        if field.table != last:
            click.echo(f"\n[[{field.table}]]")
            last = field.table
        click.echo(f"{'*' if field.needed else ' '} {field.name:<28} {field.words}")


@kit.command()
@argument("file", type=click.Path(path_type=Path))
def check(file: Path) -> None:
    """Read FILE as a kit: every fault at once with its line, or the kit's things. Exit code 2: an unusable file."""
    from session.set.kit import read_kit  # noqa: PLC0415

    found = read_kit(file)
    counts = [(table, len(getattr(found, table))) for table in type(found).model_fields if table != "invented"]
    told = ", ".join(f"{count} × {table.replace('_', ' ')}" for table, count in counts if count)
    click.echo(f"{harmless(str(file))} is right: {told or 'nothing in it yet'}.")
    if found.invented:
        click.echo("It says `invented = true`: put in your own things, then take that line out.")


@kit.command()
@argument("file", type=NewFile())
def new(file: Path) -> None:
    """Write FILE to begin with: the invented kit, with comments, to be filled with your own things."""
    text = resources.files("session").joinpath("demo_kit.toml").read_text(encoding="utf-8")
    try:
        with file.open("x", encoding="utf-8") as kit_file:
            kit_file.write(text)
    except FileExistsError:
        raise CommandFailed(f"{file} is there already; nothing was written.") from None
    click.echo(f"{harmless(str(file))}: put in your own things, then `stillset kit check {harmless(str(file))}`.")
