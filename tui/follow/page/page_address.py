"""Where the page is served: an address of this machine, a port, and a token that the page's address ends with.

The token keeps out who wasn't shown the address. It doesn't encrypt anything: who can listen on the network can read
it, and the pictures.
"""

from __future__ import annotations

import io
import ipaddress
import secrets
import socket
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address

import click

LOOPBACK = ipaddress.ip_address("127.0.0.1")

TOKEN_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
"""Without i, l, o, 0 and 1, which are taken for each other when a person types them."""

TOKEN_GROUPS, GROUP_LETTERS = 4, 4
"""16 letters of 31: 79 bits. At 1,000 guesses a second a hit in a million is due after some 19,000 years."""

HTTP_PORT = 80
"""The port that a browser leaves out of the Host header: RFC 9110, 4.2.1."""

NOWHERE = ("192.0.2.1", 9)
"""An address for documentation (RFC 5737) and the discard port: a datagram socket is pointed there, nothing is sent."""


@dataclass(frozen=True)
class PageAddress:
    """An address and a port of this machine with the token of one run of the server."""

    ip: IPv4Address | IPv6Address
    port: int
    token: str

    @property
    def host(self) -> str:
        """The address as a browser's Host header names it: `192.0.2.7:8080`."""
        bare = f"[{self.ip}]" if self.ip.version == 6 else str(self.ip)
        return bare if self.port == HTTP_PORT else f"{bare}:{self.port}"

    @property
    def hosts(self) -> frozenset[str]:
        """The values of a request's Host header that name this server."""
        local = {self.host.replace(str(self.ip), "localhost")} if self.ip == LOOPBACK else set()
        return frozenset({self.host, *local})

    @property
    def url(self) -> str:
        """The address that is typed or scanned at the tablet."""
        return f"http://{self.host}/{self.token}/"

    @property
    def is_for_others(self) -> bool:
        """Whether another machine can reach it."""
        return not self.ip.is_loopback


def parse_where(where: str) -> tuple[IPv4Address | IPv6Address, int]:
    """Address and port of `8080`, which means this machine alone, of `192.0.2.7:8080`, or `[2001:db8::7]:8080`.

    Raises click.UsageError for anything else, and for an address that means every network this machine is in.
    """
    address, colon, port = where.rpartition(":")
    wrong = click.UsageError(f"--serve takes a port like 8080, or 192.0.2.7:8080, not {where!r}")
    if not (port.isascii() and port.isdecimal()) or len(port) > 5 or not 0 < int(port) < 65536:
        raise wrong
    if not colon:
        return LOOPBACK, int(port)
    if address.startswith("[") != address.endswith("]") or (":" in address and not address.startswith("[")):
        raise wrong
    try:
        ip = ipaddress.ip_address(address.strip("[]"))
    except ValueError:
        raise wrong from None
    if ip.is_unspecified or ip.is_multicast:
        raise click.UsageError(
            f"{address} isn't one address of this machine; give the one that it has on the set's own network"
            + example_of(int(port))
        )
    return ip, int(port)


def example_of(port: int) -> str:
    """`: --serve 192.0.2.7:8080` with an address of this machine, "" when it is in no network."""
    own = own_address()
    return f": --serve {own}:{port}" if own else ""


def own_address() -> str | None:
    """This machine's address in the network, None without a network. Sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(NOWHERE)
            found = str(probe.getsockname()[0])
        except OSError:
            return None
    return None if ipaddress.ip_address(found).is_loopback else found


def new_token() -> str:
    """A token for one run: `k7mp-3xqd-a9rt-wbn4`."""
    groups = ("".join(secrets.choice(TOKEN_LETTERS) for _ in range(GROUP_LETTERS)) for _ in range(TOKEN_GROUPS))
    return "-".join(groups)


def qr_text(url: str) -> str:
    """The address as a QR code (ISO/IEC 18004) in half blocks: light modules are drawn, dark ones left out.

    With two modules of margin in place of the standard's four, so that it stands in 24 rows beside what is said of it.
    """
    import segno  # noqa: PLC0415 - the extra `web`

    drawn = io.StringIO()
    segno.make_qr(url, error="m").terminal(drawn, border=2, compact=True)
    return drawn.getvalue()
