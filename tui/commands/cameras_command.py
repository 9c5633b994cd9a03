"""`stillset cameras`: lists the cameras that answer."""

from __future__ import annotations

import json
from dataclasses import asdict

import click

from tui.shell.choices import json_option


@click.command()
@json_option
def cameras(as_json: bool) -> None:
    """List the cameras that answer on USB; one on the network is named by its address.

    Use the address with --camera. Network: ptpip:ADDRESS[:PORT], which no search finds.
    """
    from session.cameras.usb_search import find_cameras  # noqa: PLC0415 - starts a process with libgphoto2

    found = find_cameras()
    if as_json:
        for camera in found:
            click.echo(json.dumps(asdict(camera)))
        return
    for camera in found:
        click.echo(f"{camera.address:<16}{camera.model}")
    if not found:
        click.echo("No camera answers on USB. Is it switched on, the cable in, and no other program using it?")
