"""What a contact sheet of 500 frames costs beside making its thumbnails with Pillow's `draft`, and in memory.

    pytest tests/benchmarks/test_sheet_cost.py -s -q --ignore-glob=

The other side opens each file, drafts it in colour, makes it small and codes it, and writes nothing else.
"""

from __future__ import annotations

import base64
import io
import os
import resource
import tracemalloc
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from time import process_time

import numpy as np
import pytest
from PIL import Image

from session.frame.finding import FocusVerdict
from storage.reading.views import FrameRecord
from tests.support.scripted_table import READING, REVISION
from tests.support.written_log import WrittenLog, written_log
from tui.paper.held_picture import QUALITY, SIDE_PX
from tui.paper.pdf_print import pdf_refusal, print_pdf
from tui.paper.sheet_page import SheetFacts, sheet_parts, write_sheet

FRAMES = 500
PIXELS = (3000, 2000)
MOST_RATIO = 1.2
MOST_BYTES = 4 << 20
"""Of one picture with its overview or its region, measured over all frames: the pages come to 15 MB and more."""


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Iterator[WrittenLog]:
    folder = tmp_path_factory.mktemp("sheet")
    grain = np.random.default_rng(7).normal(0, 12, (PIXELS[1] // 4, PIXELS[0] // 4, 3))
    smooth = np.linspace(60, 200, PIXELS[0] // 4)[None, :, None]
    whole = Image.fromarray(np.clip(smooth + grain, 0, 255).astype(np.uint8)).resize(PIXELS, Image.Resampling.BICUBIC)
    picture = folder / "picture.jpg"
    whole.save(picture, quality=92)
    for number in range(2, FRAMES + 1):
        os.link(picture, f"{picture}.{number}.jpg")
    log = written_log(folder / "log.db", REVISION, READING, [FocusVerdict.SHARP] * FRAMES, picture)
    yield log
    log.close()


def thumbnails(paths: list[str]) -> int:
    """The bytes of the small pictures, made by Pillow alone."""
    total = 0
    for path in paths:
        with Image.open(path) as image:
            image.draft("RGB", (SIDE_PX, SIDE_PX))
            image.thumbnail((SIDE_PX, SIDE_PX), Image.Resampling.BOX)
            written = io.BytesIO()
            image.save(written, "JPEG", quality=QUALITY)
        total += len(base64.b64encode(written.getvalue()))
    return total


@pytest.mark.timeout(0)
def test_a_sheet_costs_little_more_than_its_thumbnails_and_its_memory_is_flat(
    written: WrittenLog, tmp_path: Path
) -> None:
    records = tuple(written.reader.records())
    paths = [record.picture or "" for record in records]
    facts = SheetFacts("job", "", None, "stillset", date(2026, 12, 5))
    assert len(set(paths)) == FRAMES and all(paths)
    thumbnails(paths[:20])
    begun = process_time()
    thumbnails(paths)
    bare_s = process_time() - begun
    begun = process_time()
    write_sheet(tmp_path / "sheet.html", facts, records)
    ratio = (process_time() - begun) / bare_s
    few_bytes, most_bytes = (peak_of(tmp_path, facts, records[:count]) for count in (50, FRAMES))
    page_mb = (tmp_path / "sheet.html").stat().st_size / 1e6
    print(
        f"sheet of {FRAMES}: {ratio:.2f} of its thumbnails ({bare_s:.1f} s), {page_mb:.0f} MB; memory at most"
        f" {most_bytes / 1e6:.1f} MB, of 50 frames {few_bytes / 1e6:.1f} MB"
    )
    assert ratio <= MOST_RATIO
    assert most_bytes <= MOST_BYTES


@pytest.mark.timeout(0)
def test_its_pdf_costs_less_than_its_thumbnails(written: WrittenLog, tmp_path: Path) -> None:
    if refusal := pdf_refusal():
        pytest.skip(refusal)
    records = tuple(written.reader.records())
    begun = process_time()
    thumbnails([record.picture or "" for record in records])
    bare_s = process_time() - begun
    page = "".join(sheet_parts(SheetFacts("job", "", None, "stillset", date(2026, 12, 5)), records))
    begun = process_time()
    print_pdf(page, tmp_path / "sheet.pdf")
    printed_s = process_time() - begun
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
    print(f"PDF of {FRAMES}: {printed_s:.1f} s, thumbnails {bare_s:.1f} s; the process took {peak_mb:.0f} MB at most")
    assert printed_s <= bare_s


@pytest.mark.timeout(0)
def test_with_regions_the_memory_is_flat_too(written: WrittenLog, tmp_path: Path) -> None:
    records = tuple(written.reader.records())
    facts = SheetFacts("job", "", None, "stillset", date(2026, 12, 5), regions=True)
    few_bytes, most_bytes = (peak_of(tmp_path, facts, records[:count]) for count in (20, 200))
    page_mb = (tmp_path / "memory.html").stat().st_size / 1e6
    told = f"memory at most {most_bytes / 1e6:.1f} MB, of 20 frames {few_bytes / 1e6:.1f} MB"
    print(f"with regions, 200 frames: {page_mb:.0f} MB; {told}")
    assert most_bytes <= 1.5 * few_bytes


def peak_of(folder: Path, facts: SheetFacts, records: tuple[FrameRecord, ...]) -> int:
    """Most bytes that Python held at once while the page was written; the records are there before."""
    tracemalloc.start()
    write_sheet(folder / "memory.html", facts, records)
    _, peak_bytes = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak_bytes
