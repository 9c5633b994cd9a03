"""Pages printed to PDF: A4, to scale, with nothing from outside, and the same each time; read by another library."""

from __future__ import annotations

import base64
import io
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import pypdfium2
import pytest
from click.testing import CliRunner
from PIL import Image

from session.set.setup import PlacedLight
from tests.storage.handover.test_hand_over import ORDER, shot
from tests.support.fresh_log import fresh_log
from tests.support.log_samples import SetClock, revision
from tui.commands.command_line import stillset
from tui.paper.card_page import CardFacts, card_html
from tui.paper.pdf_print import NO_EXTRA, NO_PANGO, missing_letters_words, pdf_refusal, print_pdf
from tui.paper.plan_drawing import BOX_MM
from tui.shell.troubles import NOT_ALL

MM = 72 / 25.4
"""Points of a PDF in a mm (ISO 32000-1, 8.3.2.3)."""

A4_MM = (210, 297)
"""ISO 216."""

IMAGE = pypdfium2.raw.FPDF_PAGEOBJ_IMAGE


@pytest.fixture
def printing() -> None:
    """Skips where no PDF can be printed; asked for at the test, since the library takes a second to import."""
    if refusal := pdf_refusal():
        pytest.skip(refusal)


def pages_of(path: Path) -> list[pypdfium2.PdfPage]:
    return list(pypdfium2.PdfDocument(path))


def words_of(path: Path) -> str:
    return " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in pages_of(path))


@pytest.mark.usefixtures("printing")
def test_a_card_is_two_a4_pages_to_scale_the_same_each_time(tmp_path: Path) -> None:
    light = PlacedLight("key", -2.0, 600.0, 60.0, 45.0, "tube")
    made = replace(revision(7, 3), lights=(light,), notes="Wax under the ring.\nBrush between frames.\nטבעת")
    page = card_html(CardFacts("Spring", "", made, None, "stillset 0", date(2026, 12, 5)))
    for name in ("one.pdf", "two.pdf"):
        assert print_pdf(page, tmp_path / name) == ""
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()
    pages = pages_of(tmp_path / "one.pdf")
    assert len(pages) <= 2
    for one in pages:
        assert [side / MM for side in one.get_size()] == pytest.approx(A4_MM, abs=0.1)
    told = words_of(tmp_path / "one.pdf")
    for words in (
        "set-up 07.3",
        "1 · 600 mm",
        "Wax under the ring.",
        "2026-12-05 · Spring · set-up 07.3 · stillset 0",
        "decide",
    ):
        assert words in told
    sizes_mm = [
        ((right - left) / MM, (top - bottom) / MM)
        for left, bottom, right, top in (one.get_bounds() for one in pages[0].get_objects())
    ]
    for size_mm, stroke_mm in (((BOX_MM - 0.2, BOX_MM - 0.2), 0.2), ((20, 2), 0.3)):  # a view's frame, its scale bar
        wanted = pytest.approx(
            [side + 2 * stroke_mm for side in size_mm], abs=0.1
        )  # the reader adds the stroke's width
        assert sum(list(size) == wanted for size in sizes_mm) == 2


@pytest.mark.usefixtures("printing")
def test_only_what_the_page_holds_is_in_it(tmp_path: Path) -> None:
    held = io.BytesIO()
    Image.new("RGB", (8, 8), "red").save(held, "PNG")
    (tmp_path / "secret.png").write_bytes(held.getvalue())
    address = base64.b64encode(held.getvalue()).decode()
    print_pdf(f'<img src="{(tmp_path / "secret.png").as_uri()}"><p>x', tmp_path / "out.pdf")
    print_pdf(f'<img src="data:image/png;base64,{address}"><p>x', tmp_path / "own.pdf")
    found = [pages_of(tmp_path / name)[0].get_objects() for name in ("out.pdf", "own.pdf")]
    images = [sum(one.type == IMAGE for one in objects) for objects in found]
    assert images == [0, 1]


@pytest.mark.usefixtures("printing")
def test_letters_without_a_font_are_told(tmp_path: Path) -> None:
    assert print_pdf("<p>ring \ue123 \ue124 \ue123", tmp_path / "page.pdf") == "\ue123\ue124"
    assert missing_letters_words("abca") == "No font here has the letters abc: empty boxes stand for them in the PDF."
    assert "abcdefghijkl and 2 more" in missing_letters_words("abcdefghijklmn")


@pytest.mark.parametrize(("module", "refusal"), [(None, NO_EXTRA), ("raise OSError('cannot load library')", NO_PANGO)])
def test_a_pdf_that_cant_be_printed_is_one_sentence_and_nothing_is_written(
    module: str | None, refusal: str, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if module is None:
        monkeypatch.setitem(sys.modules, "weasyprint", None)
    else:
        Path("weasyprint.py").write_text(f"print('a page of advice')\n{module}\n")
        monkeypatch.syspath_prepend(str(Path.cwd()))
        monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    for words in (["card", "01.1", "a.pdf"], ["log", "sheet", "b.PDF"], ["handover", "out", "--pdf", "--yes"]):
        refused = CliRunner().invoke(stillset, words)
        assert refused.exit_code == 1 and refused.output == f"{refusal}\n"
    assert not [path for path in Path().iterdir() if path.suffix.lower() == ".pdf" or path.name == "out"]


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "log.sqlite"
    writer = fresh_log(path, SetClock())
    writer.keep_order(ORDER)
    shot(writer, tmp_path, 1, "ring 1", "front")
    writer.close()
    monkeypatch.setenv("STILLSET_LOG", str(path))
    monkeypatch.chdir(tmp_path)
    return path


@pytest.mark.usefixtures("printing")
def test_card_sheet_and_hand_over_are_printed_on_request(log: Path) -> None:
    def run(*words: str) -> str:
        done = CliRunner().invoke(stillset, words, catch_exceptions=False)
        assert done.exit_code in (0, NOT_ALL), done.output  # a view of the order has no hero
        return done.output

    assert run("card", "01.1", "card.pdf") == "card.pdf: set card of set-up 01.1.\n"
    assert run("log", "sheet", "sheet.pdf") == "sheet.pdf: 1 frame.\n"
    assert "contact sheet and set cards, as PDF too" in run("handover", "out", "--pdf", "--yes")
    data = Path("out/data")
    assert words_of(data / "contact-sheet.pdf") == words_of(Path("sheet.pdf"))
    assert "to go: ring 1, top" in words_of(Path("sheet.pdf"))
    assert (data / "set-cards/01.1.pdf").read_bytes() == Path("card.pdf").read_bytes()
    (data / "contact-sheet.pdf").unlink()
    for name in ("bagit.txt", "bag-info.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt"):
        Path("out", name).unlink()
    run("handover", "out", "--pdf", "--yes")
    assert run("verify", "out") == "All files of out are as they were handed over.\n"
