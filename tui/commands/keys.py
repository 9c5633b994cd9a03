"""`stillset keys`: the keys of the screens, from the same table as footer and help."""

from __future__ import annotations

import click


@click.command()
def keys() -> None:
    """List the keys of the screens."""
    from tui.keys import keys_text  # noqa: PLC0415

    click.echo(keys_text())
