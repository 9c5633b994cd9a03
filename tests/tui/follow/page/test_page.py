"""What a tablet gets: the words, the pictures and nothing from elsewhere, over a real log that grows meanwhile."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from session.frame.finding import FocusVerdict
from session.set.setup import Region
from tests.support.scripted_table import READING, REVISION
from tests.support.served_page import ServedPage
from tests.support.written_log import WrittenLog, add_frame, written_log
from tui.follow.followed_log import seen_in
from tui.follow.page import page_pictures
from tui.follow.page.shown import progress_line

SHARP, MISSED = FocusVerdict.SHARP, FocusVerdict.MISSED
WIDE, HIGH = 3600, 2400
ASSETS = Path(page_pictures.__file__).parent / "assets"
OURS = ("", "page.css", "page.js")


@pytest.fixture(scope="module")
def photograph(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Smooth structure with fine detail, as a JPEG."""
    down, across = np.mgrid[0:HIGH, 0:WIDE]
    waves = 127 + 60 * np.sin(across / 3.0) * np.cos(down / 5.0) + 60 * np.sin(across / 400.0)
    pixels = np.stack([waves, np.roll(waves, 40, axis=0), waves[::-1]], axis=2).clip(0, 255).astype(np.uint8)
    path = tmp_path_factory.mktemp("pictures") / "photograph.jpg"
    Image.fromarray(pixels).save(path, quality=97, subsampling="4:4:4")
    return path


@pytest.fixture
def written(tmp_path: Path, photograph: Path, in_utc: None) -> Iterator[WrittenLog]:
    picture = tmp_path / "picture.jpg"
    for name in (picture, f"{picture}.2.jpg", f"{picture}.3.jpg"):
        Path(name).write_bytes(photograph.read_bytes())
    log = written_log(tmp_path / "log.db", REVISION, READING, (SHARP, MISSED), picture)
    yield log
    log.close()


@pytest.fixture
def page(written: WrittenLog, tmp_path: Path) -> Iterator[ServedPage]:
    with ServedPage(tmp_path / "log.db") as served:
        yield served


def test_the_newest_frame_stands_there_with_the_word_of_the_bench(page: ServedPage) -> None:
    with page.looking_on() as viewer:
        state = viewer.until("large", "MISSED 0.3 mm")
    assert state["tone"] == "stop"
    assert state["sentence"].startswith("Frame 2, missed: blur")
    assert state["progress"] == "frame 2 · barrel 6 of 24 · three-quarter"
    assert state["region"] == [0.4, 0.4, 0.2, 0.2]


def test_a_frame_that_comes_in_meanwhile_is_told_to_all_who_look_on(
    page: ServedPage, written: WrittenLog, tmp_path: Path
) -> None:
    viewers = [page.looking_on() for _ in range(5)]
    for viewer in viewers:
        viewer.until("large", "MISSED 0.3 mm")
    add_frame(written, 3, SHARP, READING, tmp_path / "picture.jpg")
    for viewer in viewers:
        state = viewer.until("large", "SHARP")
        assert state["frame"] == written.frame_ids[3] and state["sentence"] == "", "a good word says all"
        assert page.get(f"picture/{state['frame']}").status == 200
        viewer.close()


def test_the_whole_picture_is_as_fine_as_a_tablet_shows_and_carries_nothing_but_pixels(
    page: ServedPage, written: WrittenLog
) -> None:
    page.looking_on().until("large", "MISSED 0.3 mm")
    answer = page.get(f"picture/{written.frame_ids[2]}")
    assert answer.status == 200 and answer.headers["content-type"] == "image/jpeg"
    with Image.open(io.BytesIO(answer.body)) as image:
        assert image.size == (WIDE // 2, HIGH // 2)
        assert not image.getexif()
    assert page.get(f"picture/{written.frame_ids[2]}", "HEAD").body == b""


def test_the_region_is_sent_pixel_for_pixel(page: ServedPage, written: WrittenLog, photograph: Path) -> None:
    page.looking_on().until("large", "MISSED 0.3 mm")
    answer = page.get(f"region/{written.frame_ids[2]}")
    box = Region().in_pixels(WIDE, HIGH)
    with Image.open(photograph) as file, Image.open(io.BytesIO(answer.body)) as sent:
        wanted = np.asarray(file.crop(box).convert("RGB"), np.float64)  # decoded whole by Pillow
        got = np.asarray(sent.convert("RGB"), np.float64)
    assert got.shape == wanted.shape == (480, 720, 3)
    off = np.abs(got - wanted).mean()
    assert off < 2.0, "codes of one more JPEG at quality 95"
    assert min(np.abs(got[:, 1:] - wanted[:, :-1]).mean(), np.abs(got[1:] - wanted[:-1]).mean()) > 3 * off
    assert answer.headers["x-caption"] == "region at 1:1, 720 × 480 px"


def test_of_a_large_region_the_middle_is_sent_and_said_so(photograph: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(page_pictures, "MOST_REGION_PX", 500)
    cut = page_pictures.region_cut(str(photograph), Region(0.0, 0.0, 1.0, 1.0))
    assert cut.caption == "its middle at 1:1, 500 × 500 px"
    with Image.open(photograph) as file, Image.open(io.BytesIO(cut.jpeg)) as sent:
        left, top = (WIDE - 500) // 2, (HIGH - 500) // 2
        wanted = np.asarray(file.crop((left, top, left + 500, top + 500)), np.float64)
        assert np.abs(np.asarray(sent, np.float64) - wanted).mean() < 2.0


def test_before_the_first_frame_and_without_a_log_the_page_says_so(tmp_path: Path, photograph: Path) -> None:
    with ServedPage(tmp_path / "late.db") as page, page.looking_on() as viewer:
        while "There is no log at" not in (state := viewer.next() or {})["sentence"]:
            assert state["large"] == "NO FRAME"
        assert state["sentence"].startswith("There is no log at late.db"), "where it lies is no onlooker's business"
        assert state["frame"] == ""
        log = written_log(tmp_path / "late.db", REVISION, READING, (SHARP,), photograph)
        assert viewer.until("large", "SHARP")["sentence"] == ""
        log.close()


def test_a_log_that_goes_away_leaves_the_last_word_with_the_trouble_under_it(
    page: ServedPage, written: WrittenLog, tmp_path: Path
) -> None:
    with page.looking_on() as viewer:
        viewer.until("large", "MISSED 0.3 mm")
        (tmp_path / "log.db").rename(tmp_path / "away.db")
        state = viewer.next() or {}
        assert state["large"] == "MISSED 0.3 mm" and "There is no log at" in state["sentence"]
        (tmp_path / "away.db").rename(tmp_path / "log.db")
        assert "There is no log" not in (viewer.next() or {})["sentence"]


def test_a_picture_that_is_gone_is_one_sentence(page: ServedPage, written: WrittenLog, tmp_path: Path) -> None:
    (tmp_path / "picture.jpg.2.jpg").unlink()
    page.looking_on().until("large", "MISSED 0.3 mm")
    answer = page.get(f"picture/{written.frame_ids[2]}")
    assert answer.status == 422 and answer.text == "The file can't be read: No such file or directory.\n"
    assert str(tmp_path) not in answer.text, "where things lie is nobody's business"


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


def test_pictures_are_made_once_for_all_and_the_oldest_are_let_go(
    written: WrittenLog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[page_pictures.Wanted] = []
    real = page_pictures.make

    def counted(wanted: page_pictures.Wanted) -> page_pictures.Cut:
        made.append(wanted)
        return real(wanted)

    monkeypatch.setattr(page_pictures, "make", counted)
    with ServedPage(tmp_path / "log.db") as page:
        page.looking_on().until("large", "MISSED 0.3 mm")
        for _ in range(4):
            assert page.get(f"picture/{written.frame_ids[2]}").status == 200
    assert len(made) == 1


async def test_what_is_kept_of_pictures_is_bounded(written: WrittenLog, photograph: Path) -> None:
    kept = page_pictures.Pictures(kept_bytes=1)
    first, second = (page_pictures.Wanted(name, str(photograph), Region()) for name in ("a", "b"))
    one = await kept.cut(first)
    assert await kept.cut(first) is one
    await kept.cut(second)
    assert await kept.cut(first) is not one
