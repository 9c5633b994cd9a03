"""The page's own answers: nothing from elsewhere, nothing kept, names as text."""

from __future__ import annotations

import re
from pathlib import Path

from tests.support.served_page import ServedPage
from tests.support.written_log import WrittenLog
from tui.follow.followed_log import seen_in
from tui.follow.page import page_pictures
from tui.follow.page.shown import progress_line

ASSETS = Path(page_pictures.__file__).parent / "assets"
OURS = ("", "page.css", "page.js")


def test_names_reach_the_page_as_text(written: WrittenLog, tmp_path: Path) -> None:
    written.log.open_place("Invented movements", "<img src=x onerror=alert(1)>\u202e", "flat")
    sight = seen_in(written.reader)
    assert progress_line(sight) == "frame 2 · barrel 6 of 24 · three-quarter · piece 1 of 2 · 1 view to go"
    script = (ASSETS / "page.js").read_text(encoding="utf-8")
    assert "innerHTML" not in script and "outerHTML" not in script and "insertAdjacent" not in script


def test_the_page_loads_nothing_from_elsewhere_and_asks_only_to_read(page: ServedPage) -> None:
    for path in OURS:
        answer = page.get(path)
        assert answer.status == 200 and len(answer.body) > 500
        assert not re.search(r"\b(?:https?|wss?):|//[\w[]|@import|url\(", answer.text), "an address of another machine"
        assert not re.search(r"<form|method\s*[:=]|XMLHttpRequest|sendBeacon|WebSocket", answer.text)
    assert re.findall(r"<script[^>]*>([^<]*)<", page.get("").text) == [""], "no script in the page itself"
    assert "style=" not in page.get("").text


def test_every_answer_tells_the_browser_to_keep_it_here(page: ServedPage, written: WrittenLog) -> None:
    page.looking_on().until("large", "MISSED 0.3 mm")
    places = (*OURS, f"picture/{written.frame_ids[2]}", "nothing-here")
    for answer in [*(page.get(path) for path in places), page.ask("/"), page.get("", "POST")]:
        headers = {name.lower(): value for name, value in answer.headers.items()}
        assert headers["content-security-policy"].startswith("default-src 'none'; script-src 'self';")
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["referrer-policy"] == "no-referrer"
        assert headers["cache-control"] == "no-store"
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cross-origin-resource-policy"] == "same-origin"
        assert "server" not in headers
