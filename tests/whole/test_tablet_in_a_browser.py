"""The tablet page in Chromium, where one is installed: words, picture, region at 1:1, and nothing from elsewhere."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import numpy as np
import pytest
from PIL import Image

from session.frame.camera_messages import CardObject, SavedFile
from session.frame.finding import FocusJudgement, FocusVerdict
from session.frame.ports import SystemClock
from session.frame.states import FrameEvent, Intent
from tests.support.browser import Browser, Tab, browser_path
from tests.support.scripted_table import READING, REVISION
from tests.support.served_page import ServedPage
from tests.support.written_log import SERIAL, WrittenLog, add_frame, written_log

pytestmark = pytest.mark.skipif(browser_path() is None, reason="no Chromium is installed")

UPRIGHT, ACROSS = (820, 1180), (1180, 820)
WIDE, HIGH, PIXELS_PER_POINT = 3000, 2000, 2
LARGE = "document.getElementById('large').textContent"
PICTURE = "document.getElementById('picture')"
SHOWN = f"!{PICTURE}.hidden && {PICTURE}.complete"


@pytest.fixture
def written(tmp_path: Path) -> Iterator[WrittenLog]:
    pixels = np.random.default_rng(3).integers(0, 255, (HIGH // 20, WIDE // 20, 3), np.uint8)
    picture = Image.fromarray(pixels).resize((WIDE, HIGH), Image.Resampling.BILINEAR)
    for name in ("p.jpg", "p.jpg.2.jpg", "p.jpg.3.jpg"):
        picture.save(tmp_path / name)
    log = written_log(tmp_path / "log.db", REVISION, READING, (FocusVerdict.SHARP,), tmp_path / "p.jpg")
    yield log
    log.close()


FRAME_2 = "00000000-0000-4000-8000-000000000002"


def frame_2_asked(written: WrittenLog) -> None:
    intent = Intent(FRAME_2, 2, written.revision_id, SERIAL, "/pictures", "0002", SystemClock().now())
    written.log.begin_frame(intent, written.place)


def frame_2_fired(written: WrittenLog) -> None:
    written.log.move_frame(FRAME_2, FrameEvent.FIRED, released_at=SystemClock().now())


def frame_2_saved_and_missed(written: WrittenLog, path: Path) -> None:
    card = CardObject("/card", "IMG0002.JPG", 1000)
    written.log.frame_file(FRAME_2, SavedFile(str(path), "jpeg", 1000, "2" * 64, card))
    written.log.move_frame(FRAME_2, FrameEvent.ALL_SAVED)
    written.log.frame_judged(FRAME_2, (), FocusJudgement(FocusVerdict.MISSED, 7.3, 0.2, 0.31, 0.5))
    written.log.move_frame(FRAME_2, FrameEvent.JUDGED)


def box(tab: Tab, what: str) -> dict[str, float]:
    return dict(json.loads(tab.js(f"JSON.stringify({what}.getBoundingClientRect())")))


@pytest.mark.parametrize("size", [UPRIGHT, ACROSS], ids=["upright", "across"])
def test_a_tablet_shows_word_picture_and_region_and_asks_nobody_else(
    written: WrittenLog, tmp_path: Path, size: tuple[int, int]
) -> None:
    with Browser(tmp_path / "profile") as browser, ServedPage(tmp_path / "log.db") as page:
        tab = browser.tablet(*size, PIXELS_PER_POINT)
        tab.go(page.address.url)
        tab.until(f"{LARGE}.startsWith('SHARP') && {SHOWN}")
        view, picture = box(tab, "document.getElementById('view')"), box(tab, PICTURE)
        assert picture["width"] / picture["height"] == pytest.approx(WIDE / HIGH, rel=0.01)
        room = min(view["width"] / picture["width"], view["height"] / picture["height"])
        assert room == pytest.approx(1.0, abs=0.01), "as large as the page"
        assert view["height"] > 0.7 * size[1]
        assert tab.js("document.documentElement.scrollWidth <= innerWidth")
        region = box(tab, "document.getElementById('region')")
        assert region["width"] == pytest.approx(0.2 * picture["width"], abs=1)
        assert region["left"] == pytest.approx(picture["left"] + 0.4 * picture["width"], abs=1)

        tab.tap("#region")
        tab.until(f"document.body.classList.contains('close') && {SHOWN} && {PICTURE}.naturalWidth == {WIDE // 5}")
        assert box(tab, PICTURE)["width"] * PIXELS_PER_POINT == WIDE // 5, "one pixel on one pixel of the screen"
        frame_2_asked(written)
        tab.until(f"{PICTURE}.hidden && {LARGE} == 'HANDS OFF'")
        frame_2_fired(written)
        tab.until(f"{PICTURE}.hidden && document.getElementById('instead').textContent == 'Its files are coming in.'")
        frame_2_saved_and_missed(written, tmp_path / "p.jpg.2.jpg")
        tab.until(f"{LARGE}.startsWith('MISSED') && {SHOWN} && {PICTURE}.naturalWidth == {WIDE // 5}")
        tab.tap("#region")
        tab.until(f"!document.body.classList.contains('close') && {SHOWN} && {PICTURE}.naturalWidth > {WIDE // 5}")

        (tmp_path / "p.jpg.3.jpg").unlink()
        add_frame(written, 3, FocusVerdict.SHARP, READING, tmp_path / "p.jpg")
        tab.until(f"{PICTURE}.hidden && document.getElementById('instead').textContent.includes('No such file')")
        page.end()
        tab.until(f"{LARGE} == 'NOT CONNECTED'")
        asked = [
            told["params"]["request"]["url"] for told in browser.told if told["method"] == "Network.requestWillBeSent"
        ]
        assert {urlsplit(url.removeprefix("blob:")).netloc for url in asked} == {page.host}
        assert len(asked) > 6
        wrong = [told for told in browser.told if told["method"] == "Runtime.exceptionThrown"]
        assert not wrong
        refused = [told for told in browser.told if "Content Security Policy" in json.dumps(told)]
        assert not refused
