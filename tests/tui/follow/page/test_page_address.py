"""Where the page is served and how its address is told; the QR code is read back by another library."""

from __future__ import annotations

from ipaddress import ip_address

import click
import cv2
import numpy as np
import pytest

from tui.follow.page.page_address import PageAddress, parse_where, qr_text

SET_ADDRESS = PageAddress(ip_address("192.0.2.7"), 8080, "k7mp-3xqd-a9rt-wbn4")


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("8080", ("127.0.0.1", 8080)),
        ("192.0.2.7:80", ("192.0.2.7", 80)),
        ("127.0.0.1:1", ("127.0.0.1", 1)),
        ("[2001:db8::7]:65535", ("2001:db8::7", 65535)),
    ],
)
def test_a_port_alone_means_this_machine_and_an_address_what_it_says(text: str, place: tuple[str, int]) -> None:
    ip, port = parse_where(text)
    assert (str(ip), port) == place


@pytest.mark.parametrize(
    "text",
    ["", "http", "0", "65536", "8080:", ":", ":8080", "a:b", "studio.local:8080", "192.0.2:80", "2001:db8::7:80",
     "[192.0.2.7:80", "192.0.2.7]:80", "²:80", "١٢٣٤", "-1", "1e3", "9" * 5000],
)  # fmt: skip
def test_what_is_no_port_is_refused(text: str) -> None:
    with pytest.raises(click.UsageError, match="--serve takes a port like 8080"):
        parse_where(text)


@pytest.mark.parametrize("text", ["0.0.0.0:8080", "[::]:8080", "224.0.0.1:8080"])
def test_every_network_at_once_is_refused(text: str) -> None:
    with pytest.raises(click.UsageError, match="isn't one address of this machine"):
        parse_where(text)


@pytest.mark.parametrize("url", [SET_ADDRESS.url, "http://[2001:db8::1234:5678:9abc:def0]:65535/k7mp-3xqd-a9rt-wbn4/"])
def test_a_camera_reads_the_address_from_the_half_blocks(url: str) -> None:
    rows: list[list[int]] = []
    for line in qr_text(url).splitlines():
        rows.append([255 if sign in "█▀" else 0 for sign in line])
        rows.append([255 if sign in "█▄" else 0 for sign in line])
    if not any(rows[-1]):
        rows.pop()  # an odd number of modules leaves half a line
    drawn = np.pad(np.array(rows, np.uint8), 8)  # in a dark terminal
    enlarged = np.kron(drawn, np.ones((8, 8), np.uint8))
    assert cv2.QRCodeDetector().detectAndDecode(enlarged)[0] == url
    assert max(map(len, qr_text(url).splitlines())) <= 60 and len(qr_text(url).splitlines()) <= 24
