"""Limits on connections, sizes and times of the page."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PageLimits:
    """All chosen: far above what a set needs, far below what troubles a laptop that shoots.

    viewers        who look on at the same time
    connections    open at a time, three for each viewer; a new one takes the place of the oldest that asks for nothing
    head_s         from the opening of a connection, or the last answer, until a request has come in whole
    stuck_s        an answer whose bytes nobody takes is given up
    picture_s      for a picture to be made, with others before it
    head_bytes     of a request's first line and headers
    looks_every_s  between looks at the log
    alive_s        between signs of life on a quiet stream
    memory_bytes   of the process; a picture that takes more isn't shown
    """

    viewers: int = 64
    connections: int = 192
    head_s: float = 5.0
    stuck_s: float = 20.0
    picture_s: float = 20.0
    head_bytes: int = 8192
    looks_every_s: float = 0.5
    alive_s: float = 10.0
    memory_bytes: int = 1 << 30
