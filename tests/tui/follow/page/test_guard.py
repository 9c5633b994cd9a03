"""The usual list of what is tried against a small server: paths, hosts, origins, methods, sizes, slowness, numbers.

Sources of the list: OWASP Web Security Testing Guide (path traversal, HTTP methods, host header), RFC 9112 (framing),
and what is known of slow clients; put together here, since no scanner is part of the project.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.served_page import ServedPage
from tests.support.written_log import WrittenLog
from tui.follow.page.page_address import TOKEN_LETTERS, PageAddress, new_token


@pytest.fixture(scope="module")
def served(still_log: WrittenLog, still_folder: Path) -> Iterator[ServedPage]:
    """One page for all strangers, each of whom must find it as the one before did."""
    with ServedPage(still_folder / "log.db") as page:
        page.looking_on().until("large", "SHARP")
        yield page


@pytest.fixture
def page(served: ServedPage) -> Iterator[ServedPage]:
    yield served
    assert served.get("").status == 200, "it still serves"


# --- paths ------------------------------------------------------------------------------------------

TRAVERSAL = (
    "../../../../etc/passwd",
    "..%2f..%2f..%2fetc%2fpasswd",
    "%2e%2e/%2e%2e/etc/passwd",
    "..%252f..%252fetc%252fpasswd",
    "..\\..\\etc\\passwd",
    "..%5c..%5cetc%5cpasswd",
    "....//....//etc/passwd",
    "%c0%ae%c0%ae/etc/passwd",
    "picture/../log.db",
    "picture//etc/passwd",
    "picture/%2fetc%2fpasswd",
    "picture/log.db",
    "picture/picture.jpg",
    "picture/00000000-0000-4000-8000-000000000001%00.jpg",
    "picture/00000000-0000-4000-8000-000000000001/",
    "picture/00000000-0000-4000-8000-000000000009",
    "picture/" + "-" * 36,
    "picture/",
    "raw/00000000-0000-4000-8000-000000000001",
    "page.html",
    "assets/page.html",
    "server.py",
    "__init__.py",
    "page.css/",
    "page.js.map",
    "events/",
    "?job=other",
    "picture/00000000-0000-4000-8000-000000000001?path=/etc/passwd",
    ".git/config",
    ".env",
    "favicon.ico",
    "robots.txt",
    "docs",
    "openapi.json",
    "x" * 4000,
)


@pytest.mark.parametrize("path", TRAVERSAL)
def test_only_what_the_page_itself_asks_for_is_there(page: ServedPage, path: str) -> None:
    answer = page.get(path)
    assert answer.status == 404
    assert b"root:" not in answer.body and b"JFIF" not in answer.body


@pytest.mark.parametrize("target", ["/", "//", "/page.css", "/events", "*", "/favicon.ico", "http://127.0.0.1/", "x"])
def test_without_the_token_there_is_nothing(page: ServedPage, target: str) -> None:
    assert page.ask(target, Host=page.host).status == 404


def test_no_token_but_this_runs_lets_anybody_in(page: ServedPage) -> None:
    token = page.token
    others = (new_token(), token[:-1], token + "a", token.upper(), token[::-1], f"%{ord(token[0]):02x}{token[1:]}", "")
    for other in others:
        for path in ("", "events", "page.js", "picture/00000000-0000-4000-8000-000000000001"):
            assert page.ask(f"/{other}/{path}").status == 404, other


def test_a_token_has_79_bits_and_is_new_each_time() -> None:
    tokens = {new_token() for _ in range(200)}
    assert len(tokens) == 200
    assert all(set(token) <= {*TOKEN_LETTERS, "-"} and len(token) == 19 for token in tokens)
    assert len(TOKEN_LETTERS) ** 16 > 2**79
    assert set("".join(tokens)) == {*TOKEN_LETTERS, "-"}, "3,200 letters of 31: one is left out once in 10^45"


def test_an_address_typed_without_its_last_stroke_leads_to_the_page(page: ServedPage) -> None:
    answer = page.ask(f"/{page.token}")
    assert answer.status == 307
    assert {name.lower(): value for name, value in answer.headers.items()}["location"] == f"/{page.token}/"


# --- hosts, origins, methods ------------------------------------------------------------------------


@pytest.mark.parametrize(
    "host",
    ["rebound.example", "rebound.example:{port}", "127.0.0.1", "127.0.0.1:1", "127.0.0.1:{port}.rebound.example",
     "localhost", "[::1]:{port}", "0.0.0.0:{port}", "127.1:{port}", "2130706433:{port}", "127.0.0.1:{port}@x", ""],
)  # fmt: skip
def test_a_name_that_was_pointed_here_opens_nothing(page: ServedPage, host: str) -> None:
    answer = page.get("", Host=host.format(port=page.port))
    assert answer.status == 403 and answer.text == "This server goes by another address.\n"


def test_no_host_and_two_hosts_are_refused(page: ServedPage) -> None:
    start = f"GET /{page.token}/ HTTP/1.0\r\n".encode()
    assert page.raw(start + b"\r\n").split(b"\r\n")[0].split()[1] == b"403"
    twice = f"GET /{page.token}/ HTTP/1.1\r\nHost: {page.host}\r\nHost: {page.host}\r\n\r\n".encode()
    assert page.raw(twice).split()[1] == b"400"


def test_this_machine_may_be_called_localhost(page: ServedPage) -> None:
    assert page.get("", Host=f"localhost:{page.port}").status == 200
    assert page.get("", Origin=f"http://{page.host}").status == 200


@pytest.mark.parametrize(
    "origin",
    ["http://evil.example", "null", "https://{host}", "http://{host}.evil.example", "http://127.0.0.1", "file:"],
)
def test_other_pages_can_not_look_on(page: ServedPage, origin: str) -> None:
    for path in ("", "events", "picture/00000000-0000-4000-8000-000000000001"):
        answer = page.get(path, Origin=origin.format(host=page.host))
        assert answer.status == 403
        assert not any("access-control" in name.lower() for name in answer.headers)


@pytest.mark.parametrize(
    "method",
    ["POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT", "PROPFIND", "get", "RELEASE", "PRI", "M-SEARCH"],
)
def test_nothing_but_looking_is_possible(page: ServedPage, method: str) -> None:
    for path in ("", "events", "release", "picture/00000000-0000-4000-8000-000000000001"):
        answer = page.get(path, method)
        assert answer.status == 405, "and not a word more"
        assert {name.lower(): value for name, value in answer.headers.items()}["allow"] == "GET, HEAD"


@pytest.mark.parametrize("upgrade", ["websocket", "h2c"])
def test_no_other_protocol_is_spoken(page: ServedPage, upgrade: str) -> None:
    answer = page.get(
        "", Connection="Upgrade", Upgrade=upgrade, Sec_WebSocket_Version="13", Sec_WebSocket_Key="x" * 22 + "=="
    )
    assert answer.status == 200 and b"<!DOCTYPE html>" in answer.body


# --- sizes and frames -------------------------------------------------------------------------------


def request_of(page: ServedPage, *lines: str, body: bytes = b"", method: str = "GET") -> bytes:
    head = [f"{method} /{page.token}/ HTTP/1.1", f"Host: {page.host}", *lines, "", ""]
    return "\r\n".join(head).encode("latin-1") + body


MALFORMED = {
    "no http": b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + b"\x00" * 200,
    "zeros": b"\x00" * 4000,
    "only line ends": b"\r\n" * 5000,
    "http 2": b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n" + b"\x00" * 50,
    "http 9": b"GET / HTTP/9.9\r\n\r\n",
    "no version": b"GET /\r\n\r\n",
    "no target": b"GET  HTTP/1.1\r\n\r\n",
    "blank before the colon": b"GET / HTTP/1.1\r\nHost : x\r\n\r\n",
    "folded": b"GET / HTTP/1.1\r\nHost: x\r\n y: z\r\n\r\n",
    "null in a header": b"GET / HTTP/1.1\r\nHost: \x00\r\n\r\n",
    "letters beyond ASCII": "GET /ü HTTP/1.1\r\nHost: x\r\n\r\n".encode(),
    "long line": b"GET /" + b"a" * 200_000 + b" HTTP/1.1\r\n\r\n",
    "long header": b"GET / HTTP/1.1\r\nX: " + b"a" * 200_000 + b"\r\n\r\n",
    "many headers": b"GET / HTTP/1.1\r\n" + b"X: a\r\n" * 20_000 + b"\r\n",
    "endless header": b"GET / HTTP/1.1\r\nX: " + b"a" * 9000,
}


@pytest.mark.parametrize("name", MALFORMED)
def test_what_is_no_request_is_refused_and_hung_up_on(page: ServedPage, name: str) -> None:
    came = page.raw(MALFORMED[name])
    assert not came or came.split()[1] in (b"400", b"403", b"405"), came[:200]
    assert came.count(b"HTTP/1.1 ") <= 1


def test_a_body_is_not_taken_in_and_hides_no_second_request(page: ServedPage) -> None:
    smuggled = request_of(page)
    bodies = [
        request_of(page, "Content-Length: 5", body=b"hello" + smuggled),
        request_of(page, "Content-Length: 1000000000"),
        request_of(page, "Transfer-Encoding: chunked", body=b"0\r\n\r\n" + smuggled),
        request_of(page, "Content-Length: 5", "Transfer-Encoding: chunked", body=b"0\r\n\r\n" + smuggled),
        request_of(page, "Transfer-Encoding: xchunked", body=b"0\r\n\r\n"),
        request_of(page, "Content-Length: 5", "Content-Length: 6", body=b"hello!"),
        request_of(page, "Content-Length: -1"),
        request_of(page, "Content-Length: +0", "Expect: 100-continue"),
    ]
    for sent in bodies:
        came = page.raw(sent)
        assert came.count(b"HTTP/1.1 ") == 1 and b"DOCTYPE" not in came
        assert came.split()[1] in (b"400", b"501"), came[:80]


def test_requests_one_behind_the_other_are_answered_in_turn(page: ServedPage) -> None:
    came = page.raw(request_of(page) * 20 + request_of(page, "Connection: close"))
    assert came.count(b"HTTP/1.1 200") == 21


# --- slowness and numbers ---------------------------------------------------------------------------


def test_frames_that_were_not_shown_lately_have_no_picture(page: ServedPage, still_log: WrittenLog) -> None:
    """Only the newest ones: what else lies in the log isn't the business of whoever looks on."""
    assert page.get(f"picture/{still_log.frame_ids[1]}").status == 200
    assert page.get("picture/00000000-0000-4000-8000-000000000002").status == 404


def test_hosts_of_an_address() -> None:
    from ipaddress import ip_address

    assert PageAddress(ip_address("192.0.2.7"), 8080, "t").hosts == {"192.0.2.7:8080"}
    assert PageAddress(ip_address("192.0.2.7"), 80, "t").hosts == {"192.0.2.7"}
    assert PageAddress(ip_address("127.0.0.1"), 8080, "t").hosts == {"127.0.0.1:8080", "localhost:8080"}
    assert PageAddress(ip_address("2001:db8::7"), 8080, "t").url == "http://[2001:db8::7]:8080/t/"
