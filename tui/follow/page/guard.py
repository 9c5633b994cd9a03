"""The check of every request: the browser must name this server, know the token, ask to read, and use this page.

Host is checked, so that a name of a stranger's page that is pointed at this machine (DNS rebinding) opens nothing;
Origin, so that pages of strangers can't read along; the token, so that only people who were shown the address look on.
"""

from __future__ import annotations

import hmac
from collections.abc import Iterable

from starlette.datastructures import MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from tui.follow.page.page_address import PageAddress

METHODS = ("GET", "HEAD")

LONGEST_PATH = 200
"""Characters: a token, a word and a frame's key take 70."""

POLICY = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; "
        "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    ),
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "X-Robots-Tag": "noindex, nofollow",
    "Cache-Control": "no-store",
}
"""On every answer. A client's unpublished product is on these pictures: nothing of it is kept by a browser or sent on.
Sources: W3C Content Security Policy 3; Fetch standard (Cross-Origin-Resource-Policy); W3C Referrer Policy."""

NOT_HERE = "There is nothing here. The address is shown where stillset serves the page; it is new at each start.\n"


class Guard:
    """An ASGI app before the page: it passes on allowed requests, the token cut from the path, and answers others."""

    def __init__(self, app: ASGIApp, address: PageAddress) -> None:
        self._app, self._address = app, address
        self._token = address.token.encode("ascii")

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer an HTTP request; the server speaks nothing else."""

        async def with_policy(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(POLICY)
            await send(message)

        refused = self._refusal(scope)
        if refused is not None:
            refused.headers["Connection"] = "close"
            await refused(scope, receive, with_policy)
            return
        rest = "/" + scope["raw_path"].decode("ascii").split("/", 2)[2]
        inner = {**scope, "path": rest, "raw_path": rest.encode("ascii")}
        await self._app(inner, receive, with_policy)

    def _refusal(self, scope: Scope) -> Response | None:  # noqa: PLR0911 - one line for each way to be refused
        """The answer to a refused request, None for an allowed one."""
        headers: list[tuple[bytes, bytes]] = scope["headers"]
        if scope["method"] not in METHODS:
            return _answer(405, "This page can only be looked at.\n", {"Allow": ", ".join(METHODS)})
        if _values(headers, b"host") not in [[host] for host in self._address.hosts]:
            return _answer(403, "This server goes by another address.\n")
        if any(origin not in self._origins for origin in _values(headers, b"origin")):
            return _answer(403, "Other pages can't look on.\n")
        if _values(headers, b"transfer-encoding") or any(size != "0" for size in _values(headers, b"content-length")):
            return _answer(400, "This page takes nothing in.\n")
        path: bytes = scope["raw_path"]
        parts = path.split(b"/", 2)
        if len(path) > LONGEST_PATH or scope["query_string"] or len(parts) < 2 or parts[0]:
            return _answer(404, NOT_HERE)
        if not hmac.compare_digest(parts[1], self._token):
            return _answer(404, NOT_HERE)
        if len(parts) == 2:
            return RedirectResponse(f"/{self._address.token}/", 307)
        return None

    @property
    def _origins(self) -> Iterable[str]:
        return [f"http://{host}" for host in self._address.hosts]


def _values(headers: list[tuple[bytes, bytes]], name: bytes) -> list[str]:
    return [value.decode("latin-1").strip().lower() for key, value in headers if key == name]


def _answer(status: int, text: str, headers: dict[str, str] | None = None) -> Response:
    return PlainTextResponse(text, status, headers)
