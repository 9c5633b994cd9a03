"""The routes of the server: the page and its two files, the stream of news, and pictures of frames shown lately.

All of it is read only; a frame is named by its key, never by a path.
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import AsyncIterator
from importlib.resources import files

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp, Receive, Scope, Send

from session.picture.preview import UnreadablePicture
from tui.follow.page.guard import NOT_HERE, Guard
from tui.follow.page.page_address import PageAddress
from tui.follow.page.page_limits import PageLimits
from tui.follow.page.page_pictures import Pictures, Wanted
from tui.follow.page.watching import Watching

PAGE_FILES = {"": ("page.html", "text/html"), "page.css": ("page.css", "text/css"),
              "page.js": ("page.js", "text/javascript")}  # fmt: skip
"""Path → our file and its type."""

FRAME_ID = re.compile(r"[0-9a-f-]{36}")
CAPTION = "X-Caption"
"""Header with what the picture shows, in words of Latin-1, which browsers take headers to be."""

PIECE_BYTES = 65536
"""A picture is handed to the wire in pieces, so that a slow tablet keeps no more than one waiting."""


def page(address: PageAddress, watching: Watching, pictures: Pictures, limits: PageLimits) -> ASGIApp:
    """The whole application."""
    routes = Routes(watching, pictures, limits)
    shown = [
        *(Route(f"/{path}", _file(*known), methods=["GET"]) for path, known in PAGE_FILES.items()),
        Route("/events", routes.events, methods=["GET"]),
        Route("/{kind}/{frame_id}", routes.picture, methods=["GET"]),
    ]
    app = Starlette(routes=shown, exception_handlers={404: _not_here})
    app.router.redirect_slashes = False
    return Guard(app, address)


class Routes:
    """Answers that change."""

    def __init__(self, watching: Watching, pictures: Pictures, limits: PageLimits) -> None:
        self._watching, self._pictures, self._limits = watching, pictures, limits
        self._viewers = 0

    async def events(self, request: Request) -> Response:
        """The stream of news, for a bounded number at a time."""
        if request.method == "HEAD":
            return Response(media_type="text/event-stream")
        if self._viewers >= self._limits.viewers:
            return PlainTextResponse(f"{self._viewers} already look on.\n", 503)
        return _Counted(self._watching.news(), self)

    async def picture(self, request: Request) -> Response:
        """The whole picture of a frame, or its region at 1:1."""
        kind, frame_id = request.path_params["kind"], request.path_params["frame_id"]
        known = self._watching.picture(frame_id) if FRAME_ID.fullmatch(frame_id) else None
        if kind not in ("picture", "region") or known is None:
            return PlainTextResponse(NOT_HERE, 404)
        path, region = known
        try:
            async with asyncio.timeout(self._limits.picture_s):
                cut = await self._pictures.cut(Wanted(frame_id, path, region if kind == "region" else None))
        except UnreadablePicture as error:
            return PlainTextResponse(f"The file {error}.\n", 422)
        except TimeoutError:
            return PlainTextResponse("The picture takes too long to be read.\n", 503)
        headers = {"Content-Length": str(len(cut.jpeg)), CAPTION: cut.caption}
        return StreamingResponse(_in_pieces(cut.jpeg), headers=headers, media_type="image/jpeg")

    def enter(self) -> None:
        """Count an onlooker in."""
        self._viewers += 1

    def leave(self) -> None:
        """Count an onlooker out."""
        self._viewers -= 1


class _Counted(StreamingResponse):
    """A stream of news that counts as an onlooker while it is sent, however it ends."""

    def __init__(self, news: AsyncIterator[bytes], routes: Routes) -> None:
        super().__init__(news, media_type="text/event-stream")
        self._routes = routes
        routes.enter()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        try:
            await super().__call__(scope, receive, send)
        finally:
            self._routes.leave()


def _file(name: str, media_type: str) -> ASGIApp:
    """A route that serves one of the page's own files, read once."""
    content = (files("tui.follow.page") / "assets" / name).read_bytes()

    async def answer(request: Request) -> Response:
        return Response(content, media_type=media_type)

    return answer  # type: ignore[return-value]


async def _in_pieces(content: bytes) -> AsyncIterator[bytes]:
    for start in range(0, len(content), PIECE_BYTES):
        yield content[start : start + PIECE_BYTES]


async def _not_here(request: Request, error: Exception) -> Response:
    return PlainTextResponse(NOT_HERE, 404)
