"""The contact sheet as one HTML page: frames by piece and view, what is to go, to be looked at, printed or handed over.

The page holds its pictures, asks nothing of any network and runs no script. It is written frame by frame, so that the
memory it takes does not grow with the job.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from html import escape
from pathlib import Path

from session.frame.shot_plane import newest_by_plane
from session.frame.states import FrameState, Mark
from session.lighting.cautions import CAUTIONS, LAST_WORD
from session.order.order_progress import Progress
from session.units.names import name_key
from session.units.numbers import f_text, time_text
from storage.reading.views import FrameRecord
from tui.paper.held_picture import held_picture
from tui.paper.regions_beside import STYLE as REGIONS_STYLE
from tui.paper.regions_beside import opener, strip
from tui.words.harmless import harmless
from tui.words.order_words import count_words, to_go_count
from tui.words.series_words import shot_series_words
from tui.words.wording import verdict_words

NO_FRAME = (FrameState.ASKED, FrameState.REFUSED, FrameState.HELD_OFF, FrameState.CALLED_OFF, FrameState.NOT_FIRED)

STYLE = (
    """
@page { size: A4; margin: 12mm }
* { box-sizing: border-box }
body { font: 12px/1.35 sans-serif; color: #000; background: #fff; margin: 1.5em auto; max-width: 190mm }
h1 { font-size: 1.5em; margin: 0 } h2 { font-size: 1.15em; margin: 1.2em 0 .3em; border-bottom: 1px solid #000 }
h2, h3 { break-after: avoid } h3 { font-size: 1em; font-weight: normal; margin: .6em 0 .3em }
.row { font-size: 0; line-height: 0 }
figure { display: inline-block; vertical-align: top; width: 43mm; margin: 0 3mm 3mm 0 }
figure { font-size: 12px; line-height: 1.35; overflow-wrap: anywhere }
figure img { display: block; width: 43mm; height: 29mm; object-fit: contain; border: 1px solid #000 }
figure .none { min-height: 29mm; padding: 9mm 2mm 2mm; text-align: center; border: 1px dashed #000 }
h1, h2, h3, p, .none { overflow-wrap: anywhere }
@media screen { body { padding: 0 4mm; max-width: 198mm } }
.mark { font-weight: bold; text-transform: uppercase }
.hero > img { border-width: 3px } .kill > img { opacity: .35 }
footer { margin-top: 2em; font-size: .85em; border-top: 1px solid #000; break-inside: avoid }
"""
    + REGIONS_STYLE
)


@dataclass(frozen=True)
class SheetFacts:
    """The facts at the head of a sheet, besides its frames.

    agent    the program and its version
    regions  frames hold their region pixel for pixel, to be shown by a click, several beside each other
    """

    job: str
    client: str
    progress: Progress | None
    agent: str
    today: date
    regions: bool = False


def write_sheet(
    path: Path, facts: SheetFacts, records: Iterable[FrameRecord], heard: Callable[[], None] = lambda: None
) -> None:
    """Write the page to the path; `heard` is called before each part of the page. Raises OSError."""
    with path.open("w", encoding="utf-8") as page:
        for part in sheet_parts(facts, tuple(records)):
            heard()
            page.write(part)


def sheet_parts(facts: SheetFacts, records: Sequence[FrameRecord]) -> Iterator[str]:
    """The page in pieces, in their order."""
    shot = [one for one in records if one.state not in NO_FRAME and not one.measures]
    yield _head(facts, len(shot))
    by_view: dict[tuple[str, str], list[FrameRecord]] = defaultdict(list)
    for record in shot:
        by_view[name_key(record.piece), name_key(record.view)].append(record)
    last_piece = ""
    for piece, view, wanted in _views(facts.progress, shot):
        if name_key(piece) != last_piece:
            yield f'<h2 dir="auto">{_text(piece)}</h2>\n'
            last_piece = name_key(piece)
        frames = by_view[name_key(piece), name_key(view)]
        yield f'<h3>{_name(view)}: {_view_words(frames, wanted)}</h3>\n<div class="row">\n'
        if not frames:
            yield f'<figure><div class="none"><span>to go: {_name(piece)}, {_name(view)}</span></div></figure>\n'
        yield from (_figure(record, words, regions=facts.regions) for record, words in _entries(frames))
        yield "</div>\n"
        if frames and facts.regions:
            yield from strip(frames, _verdict)
    yield _foot(facts)


def _head(facts: SheetFacts, count: int) -> str:
    job = _text(facts.job)
    ordered = f" · {_text(to_go_count(facts.progress))}" if facts.progress else ""
    due = facts.progress.order.due_on if facts.progress else None
    client = _name(facts.client) if facts.client else ""
    about = [client, count_words(count, "frame") + ordered, f"due {due.isoformat()}" if due else ""]
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; img-src data:; '
        "style-src 'unsafe-inline'\">\n"
        f'<meta name="viewport" content="width=device-width">\n<title>{job}: contact sheet</title>\n'
        f'<style>{STYLE}</style>\n</head>\n<body>\n<h1 dir="auto">{job}</h1>\n'
        f"<p>Contact sheet · {' · '.join(part for part in about if part)}</p>\n"
    )


def _foot(facts: SheetFacts) -> str:
    cautions = _text(" ".join((*CAUTIONS.values(), LAST_WORD)))
    made = _text(f"{facts.today.isoformat()} · {facts.agent}")
    return f"<footer>\n<p>{made}</p>\n<p>Cautions on the set: {cautions}</p>\n</footer>\n</body>\n</html>\n"


def _views(progress: Progress | None, shot: Sequence[FrameRecord]) -> Iterator[tuple[str, str, bool]]:
    """Piece, view, and True for an ordered view, piece by piece: first the order's views, then other views shot."""
    ordered = [(one.piece.name, one.view, one.wanted) for one in progress.views] if progress else []
    known = {(name_key(piece), name_key(view)) for piece, view, _ in ordered}
    others: dict[str, dict[tuple[str, str], tuple[str, str, bool]]] = {}
    for record in shot:
        key = (name_key(record.piece), name_key(record.view))
        if key not in known:
            others.setdefault(key[0], {})[key] = (record.piece, record.view, False)
    pieces = dict.fromkeys([*(name_key(piece) for piece, _, _ in ordered), *others])
    for piece in pieces:
        yield from (one for one in ordered if name_key(one[0]) == piece)
        yield from others.get(piece, {}).values()


def _view_words(frames: Sequence[FrameRecord], wanted: bool) -> str:
    heroes = [record.number for record in frames if record.mark == "hero"]
    words = [count_words(len(frames), "frame")]
    if len(heroes) > 1:
        words.append(f"several heroes: {', '.join(map(str, heroes))}")
    elif not heroes and frames:
        words.append("no hero")
    elif not frames and wanted:
        words.append("to go")
    words += [
        f"focus of {record.number} not judged" for record in frames if record.mark == "hero" and record.focus_is_open
    ]
    return ", ".join(words)


def _entries(frames: Sequence[FrameRecord]) -> Iterator[tuple[FrameRecord, str]]:
    """The frames to be shown with words on them. A focus series is shown by one of its frames, see `_shown_of`."""
    mates: dict[str, list[FrameRecord]] = defaultdict(list)
    for record in frames:
        if record.series is not None:
            mates[record.series.series_id].append(record)
    for record in frames:
        series = mates[record.series.series_id] if record.series is not None else []
        if len(series) < 2:
            yield record, ""
        elif record is _shown_of(series):
            first, *_, last = sorted(one.number for one in series)
            words = shot_series_words([one.shot_plane for one in series if one.shot_plane])
            yield record, f"{words}, frames {first}-{last}"


def _shown_of(series: Sequence[FrameRecord]) -> FrameRecord:
    """The frame that stands for a series: the first marked hero, select or alternate, else the middle good plane."""
    for mark in (Mark.HERO, Mark.SELECT, Mark.ALTERNATE):
        marked = [one for one in series if one.mark == mark]
        if marked:
            return marked[0]
    best = newest_by_plane(one.shot_plane for one in series if one.shot_plane)
    middle = best[len(best) // 2].frame_id if best else series[-1].frame_id
    return next(one for one in series if one.frame_id == middle)


def _figure(record: FrameRecord, words: str, *, regions: bool) -> str:
    mark = record.mark or ""
    picture, told = held_picture(record)
    shown = f'<img alt="frame {record.number}" src="{picture}">' if picture else '<div class="none">no picture</div>'
    asked = record.revision.settings.by_name()
    values = {name: record.camera.get(name) or asked.get(name) for name in ("exposure_s", "f_number", "iso")}
    written = (("exposure_s", time_text), ("f_number", f_text), ("iso", "ISO {:.0f}".format))
    exposure = ", ".join(words(value) for name, words in written if isinstance(value := values[name], int | float))
    region = opener(record) if regions else ""
    marked = f' <span class="mark">{_text(mark)}</span>' if mark else ""
    verdict = _text(_verdict(record))
    stands_in = "".join(f"<br>{text}" for text in (_text(words), told) if text)
    return (
        f'<figure class="{escape(mark)}">{shown}<figcaption><b>{record.number}</b> {verdict}{marked}<br>'
        f"{_text(exposure)}<br>set-up {_text(record.setup)}{stands_in}{region}</figcaption></figure>\n"
    )


def _verdict(record: FrameRecord) -> str:
    return verdict_words(
        record.state, record.focus_verdict, record.flaw, purpose=record.purpose, is_reference=record.is_reference
    )


def _name(name: str) -> str:
    """A name from people, which reads its own way without turning the words around it (HTML standard, 4.5.24)."""
    return f"<bdi>{_text(name)}</bdi>"


def _text(text: str) -> str:
    return escape(harmless(text))
