"""The archive's address, like postgresql://NAME@HOST:PORT/DATABASE, without any password.

A password in an address would stand in the process list, in the shell's history and in messages. libpq takes it from
PGPASSFILE (or ~/.pgpass) and PGPASSWORD instead. Source: PostgreSQL documentation, "The Password File".
"""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import URL, make_url
from sqlalchemy.exc import ArgumentError

from session.frame.ports import LogError

SCHEMES = ("postgresql:", "postgres:")

TAKEN = ("sslmode", "sslrootcert", "sslcert", "sslkey", "connect_timeout", "target_session_attrs", "channel_binding")
"""Parameters of libpq that an address may carry; those that could carry a secret or commands may not."""

FORM = "An archive's address is written like postgresql://NAME@HOST/DATABASE"


def is_archive(log: str | Path) -> bool:
    """Whether a name is an archive's address, also as a path, which has lost one of the address's two slashes."""
    return str(log).startswith(SCHEMES)


def archive_url(address: str) -> URL:
    """The archive's address as a URL. Raises LogError, which never repeats the address, since that may hold secrets."""
    try:
        url = make_url(address)
        scheme_fits, port = f"{url.drivername}:" in SCHEMES, url.port
    except (ArgumentError, ValueError):
        raise LogError(f"{FORM}.") from None
    if not scheme_fits or not url.database or (port is not None and not 0 < port < 65536):
        raise LogError(f"{FORM}.")
    if url.password is not None or "password" in url.query:
        raise LogError(
            "Leave the password out of the archive's address, where everybody can read it:"
            " put it into the file that PGPASSFILE names (or ~/.pgpass), or into PGPASSWORD."
        )
    if any(name not in TAKEN for name in url.query):
        raise LogError(f"{FORM}; of parameters it takes {', '.join(TAKEN)}.")
    return url.set(drivername="postgresql+psycopg")


def plain_address(url: URL) -> str:
    """The address as messages show it: where, and nothing else."""
    return URL.create("postgresql", host=url.host, port=url.port, database=url.database).render_as_string()
