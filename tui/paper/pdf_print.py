"""A page printed to PDF by WeasyPrint (extra `pdf`), which sets its letters with Pango, a library of the system."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, redirect_stdout
from io import StringIO
from pathlib import Path

BY_BROWSER = "Or write the page, open it in a browser and print it to PDF there."
NO_EXTRA = f"A PDF needs the extra `pdf`; the README says how. {BY_BROWSER}"
NO_PANGO = f"A PDF needs Pango, a library of the system that isn't here; docs/handover.md says how. {BY_BROWSER}"

MOST_LETTERS = 12
"""Letters without a font that are told by themselves. Chosen: they fit on a line."""


def pdf_refusal() -> str:
    """The reason why nothing can be printed to PDF here, in sentences; "" where it can be."""
    try:
        with redirect_stdout(StringIO()):  # without Pango the library prints where to read on
            import weasyprint  # noqa: F401, PLC0415 - the extra `pdf`
    except ImportError:
        return NO_EXTRA
    except OSError:
        return NO_PANGO
    return ""


def print_pdf(page: str, path: Path) -> str:
    """Write a page (HTML that holds its pictures) to the path as PDF, the same bytes each time.

    Nothing is fetched from outside. Returns the letters that no font here has, for which empty boxes stand; mostly "".
    Raises OSError for a path that can't be written. Ask `pdf_refusal` first.
    """
    from weasyprint import HTML  # noqa: PLC0415 - the extra `pdf`
    from weasyprint.urls import URLFetcher  # noqa: PLC0415

    with _letters_without_font() as letters:
        printed = HTML(string=page, url_fetcher=URLFetcher(allowed_protocols=("data",))).write_pdf()
    path.write_bytes(printed)
    return "".join(dict.fromkeys(letters))


def missing_letters_words(letters: Iterable[str]) -> str:
    """A sentence on letters that no font has, each told once; "" for none."""
    each = "".join(dict.fromkeys(letters))
    if not each:
        return ""
    more = f" and {len(each) - MOST_LETTERS} more" if len(each) > MOST_LETTERS else ""
    return f"No font here has the letters {each[:MOST_LETTERS]}{more}: empty boxes stand for them in the PDF."


@contextmanager
def _letters_without_font() -> Iterator[list[str]]:
    """The letters that WeasyPrint warns of, as they come; all else that WeasyPrint logs is dropped."""
    heard = _LettersHeard()
    log = logging.getLogger("weasyprint")
    kept, log.propagate = log.propagate, False
    log.addHandler(heard)
    try:
        yield heard.letters
    finally:
        log.removeHandler(heard)
        log.propagate = kept


class _LettersHeard(logging.Handler):
    """Keeps letters that a font lacks: `.notdef glyph rendered …: "春" (U+6625)`."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.letters: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        if found := re.match(r"\.notdef glyph .*\(U\+([0-9A-F]+)\)$", record.getMessage(), re.DOTALL):
            self.letters.append(chr(int(found[1], 16)))
