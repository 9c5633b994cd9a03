"""`stillset keys`: the keys of the screens, from the same table as key line and help."""

from __future__ import annotations

import click


@click.command()
def keys() -> None:
    """List the keys of the screens."""
    from tui.words.keys import KEYS, Where  # noqa: PLC0415

    for where in Where:
        rows = [key for key in KEYS if key.where is where]
        if rows:
            click.echo(f"\n{where.value}")
        for key in rows:
            click.echo(f"  {key.cap:<11}{key.says}")
