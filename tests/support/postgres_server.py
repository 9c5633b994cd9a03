"""A PostgreSQL server for tests on a free loopback port, with passwords, and a cable before it that can be cut."""

from __future__ import annotations

import os
import random
import shutil
import socket
import subprocess
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from math import log10
from pathlib import Path

import psycopg
import pytest

OWNER, LOOKER = "station", "looker"
PASSWORDS = {OWNER: "s3cret-of-the-station", LOOKER: "s3cret-of-the-looker"}


PORTS_TRIED = 5
"""A port that was free may be another program's a moment later: tests of other runs look for ports too."""


@dataclass
class Server:
    """A running server. `passwords`: a password file as libpq reads it."""

    port: int
    passwords: Path
    run: list[str]
    _made: int = 0

    def new_database(self) -> str:
        """A fresh database that the station's role owns; its name."""
        self._made += 1
        name = f"archive_{self._made}"
        where = {"host": str(self.passwords.parent / "socket"), "port": self.port, "user": "postgres"}
        with psycopg.connect(**where, dbname="postgres", autocommit=True) as administrator:  # type: ignore[arg-type]
            administrator.execute(f"CREATE DATABASE {name} OWNER {OWNER}")
        return name

    def address(self, database: str, role: str = OWNER, port: int | None = None) -> str:
        return f"postgresql://{role}@127.0.0.1:{port or self.port}/{database}"

    def ask(self, sql: str, database: str = "postgres") -> str:
        """What psql prints for a statement of the administrator, unaligned."""
        command = [*self.run, program("psql"), "-X", "-q", "-t", "-A", "-v", "ON_ERROR_STOP=1", "-c", sql]
        where = ["-h", str(self.passwords.parent / "socket"), "-p", str(self.port), "-U", "postgres", "-d", database]
        return subprocess.run([*command, *where], check=True, capture_output=True, text=True).stdout.strip()


def program(name: str) -> str:
    """Path of a program of the server; skips the test where it isn't installed."""
    installed = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    found = shutil.which(name) or (str(installed[-1]) if installed else None)
    if found is None:
        pytest.skip(f"no PostgreSQL server here: {name} isn't installed")
    return found


@contextmanager
def running_server() -> Iterator[Server]:
    """A throw-away cluster, as the user postgres when we are root, who may not run it."""
    initdb, pg_ctl = program("initdb"), program("pg_ctl")
    runuser = shutil.which("runuser", path=f"{os.environ['PATH']}:/usr/sbin:/sbin")
    run = [str(runuser), "-u", "postgres", "--"] if os.geteuid() == 0 else []
    folder = Path(tempfile.mkdtemp(prefix="stillset-postgres-"))
    (folder / "socket").mkdir()
    secret = folder / "administrator"
    secret.write_text("administrator\n")
    if run:
        for path in (folder, folder / "socket", secret):
            shutil.chown(path, "postgres")
    data = str(folder / "data")
    made = [initdb, "-D", data, "-U", "postgres", "-E", "UTF8", "--locale=C", "-N"]
    made += ["--auth-local=trust", "--auth-host=scram-sha-256", f"--pwfile={secret}"]
    subprocess.run([*run, *made], check=True, capture_output=True)
    for tries_left in reversed(range(PORTS_TRIED)):
        port = free_port()
        options = f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={folder / 'socket'} -c fsync=off"
        start = [pg_ctl, "-D", data, "-w", "-l", str(folder / "data" / "server.log"), "-o", options, "start"]
        if subprocess.run([*run, *start], check=not tries_left, capture_output=True).returncode == 0:
            break
    passwords = folder / "passwords"
    server = Server(port, passwords, run)
    try:
        lines = [f"*:*:*:{role}:{password}" for role, password in PASSWORDS.items()]
        passwords.write_text("\n".join(lines) + "\n")
        passwords.chmod(0o600)
        for role, password in PASSWORDS.items():
            server.ask(f"CREATE ROLE {role} LOGIN PASSWORD '{password}'")
        yield server
    finally:
        subprocess.run([*run, pg_ctl, "-D", data, "-m", "immediate", "stop"], check=False, capture_output=True)
        shutil.rmtree(folder, ignore_errors=True)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Cable:
    """Passes bytes on between stations and the server, and breaks `cuts` of the connections.

    Each breaks after some bytes, `within_bytes` at most.

    Which way the bytes went and how many there were is chance: so a request, or only the answer to it, is lost, in the
    middle of a message or between two.
    """

    def __init__(self, to_port: int, cuts: int, chance: random.Random, within_bytes: float = 1e5) -> None:
        self._to, self._chance, self._within = to_port, chance, log10(within_bytes)
        self._listening = socket.create_server(("127.0.0.1", 0))
        self._counting = threading.Lock()
        self.port = int(self._listening.getsockname()[1])
        self.left = cuts
        threading.Thread(target=self._accept, daemon=True).start()

    def close(self) -> None:
        self._listening.close()

    def _accept(self) -> None:
        while True:
            try:
                station, _ = self._listening.accept()
            except OSError:
                return
            server = socket.create_connection(("127.0.0.1", self._to))
            most: list[int | None] = [None, None]
            most[self._chance.randrange(2)] = round(10 ** self._chance.uniform(2, self._within))
            for source, target, after in ((station, server, most[0]), (server, station, most[1])):
                threading.Thread(target=self._pass_on, args=(source, target, after), daemon=True).start()

    def _pass_on(self, source: socket.socket, target: socket.socket, after: int | None) -> None:
        with suppress(OSError):
            while data := source.recv(4096):
                if after is not None and len(data) >= after and self._may_cut():
                    target.sendall(data[:after])
                    break
                after = None if after is None else max(1, after - len(data))
                target.sendall(data)
        for end in (source, target):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def _may_cut(self) -> bool:
        with self._counting:
            self.left -= 1
            return self.left >= 0
