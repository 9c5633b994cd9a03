"""What whoever serves the page reads: whom the address lets in, and that nothing is encrypted."""

from __future__ import annotations

from ipaddress import ip_address

from tui.follow.page import serving
from tui.follow.page.page_address import PageAddress

SET_ADDRESS = PageAddress(ip_address("192.0.2.7"), 8080, "k7mp-3xqd-a9rt-wbn4")


def test_who_serves_reads_whom_the_address_lets_in_and_that_nothing_is_encrypted() -> None:
    told = serving.serving_text(SET_ADDRESS, with_qr=False)
    assert f"Look on in a browser at {SET_ADDRESS.url}\n" in told
    assert "Who has this address can look at the newest frames, and do nothing else" in told
    assert "isn't encrypted" in told and "█" not in told
    with_qr = serving.serving_text(SET_ADDRESS, with_qr=True)
    assert "█" in with_qr and len(with_qr.splitlines()) < 24, "all of it stands in a small terminal"
    assert "From this machine only." in serving.serving_text(
        PageAddress(ip_address("127.0.0.1"), 8080, "t"), with_qr=True
    )
