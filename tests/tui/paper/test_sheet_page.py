"""The contact sheet as a page: every view in its place, what is to go, words, no script, and nothing from outside."""

from __future__ import annotations

import base64
import io
import re
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from session.order.client_order import Order, OrderedPiece
from session.picture.stored_preview import keep_preview
from storage.files.paths import previews_folder
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.storage.handover.test_hand_over import ORDER, shot
from tests.support.hostile_texts import mixtures
from tests.support.log_samples import PLANE, SetClock, revision, whole_frame
from tui.paper.sheet_page import SheetFacts, sheet_parts, write_sheet

TODAY = date(2026, 12, 5)


class Page(HTMLParser):
    """The tags of a page, each with its attributes, and its text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


@pytest.fixture
def reader(tmp_path: Path) -> LogReader:
    log = SqlLog.open(tmp_path / "log.sqlite", SetClock())
    log.keep_order(ORDER)
    shot(log, tmp_path, 1, "ring 1", "front")
    shot(log, tmp_path, 2, "ring 1", "front", "select")
    shot(log, tmp_path, 3, "brooch", "back", None)
    log.close()
    return LogReader.open(tmp_path / "log.sqlite")


def test_a_hero_whose_focus_no_check_has_judged_is_said_so_in_its_views_heading(reader: LogReader) -> None:
    first, *others = reader.records()
    facts = SheetFacts("spring line", "", reader.progress("spring line"), "stillset 0", TODAY)
    told = "2 frames, focus of 1 not judged"
    assert told not in "".join(sheet_parts(facts, (first, *others)))
    open_focus = replace(first, focus_verdict=None, focus=None)
    assert told in "".join(sheet_parts(facts, (open_focus, *others)))


def page(reader: LogReader) -> Page:
    progress = reader.progress("spring line")
    facts = SheetFacts("spring line", "Invented & Sons", progress, "stillset 0", TODAY)
    return Page("".join(sheet_parts(facts, tuple(reader.records()))))


def test_each_view_stands_in_the_orders_place_with_its_frames(reader: LogReader) -> None:
    found = page(reader)
    told = re.sub(r"\s+", " ", found.text)
    places = ["ring 1", "front: 2 frames", "1 sharp hero", "2 sharp select", "top: 0 frames, to go"]
    places += ["to go: ring 1, top"]
    places += ["חישוק 2", "front: 0 frames, to go", "brooch", "back: 1 frame, no hero", "stillset 0"]
    at = [told.index(words) for words in places]
    assert at == sorted(at)
    assert "1/160 s, f/13, ISO 64set-up 01.1" in told
    assert sum(tag == "img" for tag, _ in found.tags) == 3


def test_it_carries_date_version_and_cautions(reader: LogReader) -> None:
    told = page(reader).text
    assert "2026-12-05 · stillset 0" in told
    assert "never open a head or pack" in told and "The maker's manual" in told


def test_it_asks_nothing_of_the_outside_and_runs_nothing(reader: LogReader) -> None:
    tags = page(reader).tags
    assert not {"script", "link", "iframe", "object"} & {tag for tag, _ in tags}
    sources = [value for _, attributes in tags for name, value in attributes.items() if name in ("src", "href")]
    assert sources and all(str(source).startswith("data:image/jpeg;base64,") for source in sources)
    assert not [name for _, attributes in tags for name in attributes if name.startswith("on")]


def test_a_picture_that_is_gone_leaves_its_place(reader: LogReader, tmp_path: Path) -> None:
    (tmp_path / "0001.JPG").unlink()
    (tmp_path / "0002.JPG").write_bytes(b"no picture")
    found = page(reader)
    assert sum(tag == "img" for tag, _ in found.tags) == 1
    assert found.text.count("no picture") == 2


def test_names_are_text_whatever_they_hold(tmp_path: Path) -> None:
    names = [name for name in mixtures(60, 7) if name.strip()]
    order = Order("<b>job</b>", "<script>x</script>", pieces=tuple(OrderedPiece(n, views=("</h2><i>",)) for n in names))
    log = SqlLog.open(tmp_path / "log.sqlite", SetClock())
    log.keep_order(replace(order, pieces=order.pieces[:1]))
    log.close()
    reader = LogReader.open(tmp_path / "log.sqlite")
    facts = SheetFacts(order.job, order.client, reader.progress(order.job), "<u>", TODAY)
    found = Page("".join(sheet_parts(facts, ())))
    assert not {"b", "i", "u", "script"} & {tag for tag, _ in found.tags}
    assert "<b>job</b>" in found.text and "<script>x</script>" in found.text


def test_the_same_job_gives_the_same_page(reader: LogReader, tmp_path: Path) -> None:
    facts = SheetFacts("spring line", "", reader.progress("spring line"), "stillset 0", TODAY)
    for name in ("one.html", "two.html"):
        write_sheet(tmp_path / name, facts, reader.records())
    assert (tmp_path / "one.html").read_bytes() == (tmp_path / "two.html").read_bytes()


def test_the_regions_of_all_frames_are_held_pixel_for_pixel_and_shown_by_a_click(reader: LogReader) -> None:
    facts = SheetFacts("spring line", "", reader.progress("spring line"), "stillset 0", TODAY, regions=True)
    records = tuple(reader.records())
    found = Page("".join(sheet_parts(facts, records)))
    regions = [attrs for tag, attrs in found.tags if (attrs.get("alt") or "").startswith("region of frame")]
    assert {attrs["alt"] for attrs in regions} == {f"region of frame {number}" for number in (1, 2, 3)}
    left, top, right, bottom = records[0].region.in_pixels(120, 80)
    for attrs in regions:
        data = base64.b64decode((attrs["src"] or "").partition(",")[2])
        with Image.open(io.BytesIO(data)) as image:
            assert image.size == (right - left, bottom - top) == (int(attrs["width"] or 0), int(attrs["height"] or 0))
    boxes = [attrs["id"] or "" for tag, attrs in found.tags if tag == "input"]
    opened = [attrs["for"] or "" for tag, attrs in found.tags if tag == "label"]
    assert sorted([*boxes, *boxes]) == sorted(opened), "each is opened at its picture and closed beneath"
    assert not {"input", "label"} & {tag for tag, _ in page(reader).tags}


def test_a_frame_whose_file_is_gone_is_shown_by_its_stored_preview_and_says_so(tmp_path: Path) -> None:
    log = SqlLog.open(tmp_path / "log.sqlite", SetClock())
    own = [shot(log, tmp_path, number, "ring 1", "front") for number in (1, 2)]
    log.close()
    reader = LogReader.open(tmp_path / "log.sqlite")
    first, _ = reader.records()
    folder = previews_folder(tmp_path / "log.sqlite")
    folder.mkdir()
    keep_preview(folder, first.frame_id, np.full((80, 120, 3), 118, np.uint8), (1200, 800))
    for path in own:
        path.unlink()
    facts = SheetFacts("spring line", "", None, "stillset 0", TODAY, regions=True)
    html = "".join(sheet_parts(facts, tuple(reader.records())))
    assert html.count("from the stored preview: no fine detail") == 1, "of the region"
    small, _ = html.split('<div class="beside">')
    assert small.count("<img") == small.count("from the stored preview") == 1 and small.count(">no picture<") == 1


def test_names_that_read_from_the_right_do_not_turn_the_words_around_them(tmp_path: Path) -> None:
    """Each stands in an element of its own (bdi), and no heading with our words takes its direction from a name."""
    log = SqlLog.open(tmp_path / "log.sqlite", SetClock())
    shot(log, tmp_path, 1, "חישוק 2", "מלמעלה")
    log.close()
    facts = SheetFacts("spring line", "חברה", None, "stillset 0", TODAY)
    html = "".join(sheet_parts(facts, tuple(LogReader.open(tmp_path / "log.sqlite").records())))
    assert "<h3><bdi>מלמעלה</bdi>: 1 frame</h3>" in html and "<p>Contact sheet · <bdi>חברה</bdi> · 1 frame" in html


def test_a_focus_series_is_one_entry_the_marked_frame_or_the_middle_plane(tmp_path: Path) -> None:
    log = SqlLog.open(tmp_path / "log.sqlite", SetClock())
    place = log.open_place("spring line", "ring 1", "front")
    key = log.save_revision(place, revision())
    whole_frame(log, place, 1, key)
    planes = [replace(PLANE, plane_mm=mm, frames=3) for mm in PLANE.planes_mm[:3]]
    frames = [whole_frame(log, place, number, key, series=plane) for number, plane in enumerate(planes, 2)]
    facts = SheetFacts("spring line", "", None, "stillset 0", TODAY)

    def shown() -> tuple[list[str], str]:
        html = "".join(sheet_parts(facts, tuple(LogReader.open(tmp_path / "log.sqlite").records())))
        return re.findall(r"<figcaption><b>(\d+)</b>", html), html

    numbers, html = shown()
    assert numbers == ["1", "3"] and "series of 3, frames 2-4" in html
    log.mark(frames[0], "kill")
    log.mark(frames[2], "hero")
    numbers, html = shown()
    assert numbers == ["1", "4"] and "series 2 of 3, frames 2-4" in html
    log.close()
