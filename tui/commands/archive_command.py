"""`stillset archive`: send this station's log to the studio's archive, fetch jobs from it, see how far both are."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import UTC
from pathlib import Path
from typing import Any

import click

from tui.shell.choices import default_log, json_option, log_option, log_to_write
from tui.shell.options import argument
from tui.shell.progress import ProgressLine
from tui.words.harmless import NAME_CHARS, harmless

url_argument = argument("url", metavar="URL")


@click.group()
def archive() -> None:
    """Share logs in a PostgreSQL database, URL like postgresql://NAME@HOST/DATABASE, without a password.

    The password comes from the file that PGPASSFILE names (or ~/.pgpass), or from PGPASSWORD. A station needs no
    archive to shoot. To look back in it: stillset log --log URL; a role that may only read will do.
    """


@archive.command()
@url_argument
@log_option
@click.option("--station", default="", help="This table's name for the others; kept for the next time.")
@click.option("--previews", is_flag=True, help="Send previews of references and solos, and pictures of the set, too.")
@click.option("--again", is_flag=True, help="Look at every row anew, after the log was taken from a copy.")
@json_option
def send(url: str, log: str | None, station: str, previews: bool, again: bool, as_json: bool) -> None:
    """Send what the archive hasn't got. After a lost connection, send again: sending goes on where it stopped."""
    from storage.archive.send import send as send_rows  # noqa: PLC0415

    with ProgressLine() as line:
        sent = send_rows(
            Path(log or default_log()),
            url,
            station=station,
            previews=previews,
            again=again,
            tell=lambda done, of: line.tell(f"{done} of {of} entries sent", done, of),
        )
    if as_json:
        click.echo(json.dumps({"new": sent.new, "told": sent.told}))
        return
    new = ", ".join(f"{count} {table}s" for table, count in sent.new.items() if count)
    click.echo(f"Sent: {new or 'nothing, it has all'}.")
    _say(sent.told)


@archive.command()
@url_argument
@log_option
@click.option("--job", default="", help="Only this job; else all.")
@click.option("--previews", is_flag=True, help="Fetch previews of references and solos, and pictures of the set, too.")
@json_option
def fetch(url: str, log: str | None, job: str, previews: bool, as_json: bool) -> None:
    """Fetch jobs into this log: set-ups to reshoot, frames, findings, notes. Pictures stay where they are."""
    from storage.archive.fetch import fetch as fetch_jobs  # noqa: PLC0415

    with ProgressLine() as line:
        fetched = fetch_jobs(
            log_to_write(log or default_log()),
            url,
            job=job,
            previews=previews,
            tell=lambda done, of: line.tell(f"{done} of {of} frames fetched", done, of),
        )
    if as_json:
        click.echo(json.dumps(asdict(fetched)))
        return
    pictures = f"previews: {fetched.previews}; pictures of the set: {fetched.set_pictures}"
    click.echo(f"Fetched: {fetched.frames} new frames; jobs looked at: {fetched.jobs}; {pictures}.")
    _say(fetched.told)


@archive.command()
@url_argument
@log_option
@json_option
def status(url: str, log: str | None, as_json: bool) -> None:
    """Tell what the archive holds, who sent how much, and what this log has still to send."""
    from storage.archive.clocks import words as clock_words  # noqa: PLC0415
    from storage.archive.status import status as look  # noqa: PLC0415

    path = Path(log or default_log())
    found = look(path if path.exists() else None, url)
    if as_json:
        click.echo(json.dumps(asdict(found), default=_json_value))
        return
    click.echo(f"{found.jobs} jobs, {found.frames} frames in the archive.")
    for station in found.stations:
        own = " (this station)" if station.own else ""
        name = harmless(station.name, NAME_CHARS)
        sent = f"last sent {station.sent_at.astimezone():%Y-%m-%d %H:%M}"
        click.echo(f"  {name}{own}: {station.frames} frames, {sent}{clock_words(station.clock_ahead_s)}")
    click.echo(
        f"Still to send: {found.frames_to_send} frames, {found.revisions_to_send} set-up revisions, "
        f"{found.events_to_send} events."
    )
    _say(list(found.told))


def _say(told: list[str]) -> None:
    for sentence in told:
        click.echo(f"  {harmless(sentence)}")


def _json_value(value: Any) -> str:
    return str(value.astimezone(UTC).isoformat())
