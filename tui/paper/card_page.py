"""The set card as one HTML page, two sides of A4: what the next photographer needs to build a set-up again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from html import escape

from session.lighting.cautions import LAST_WORD
from session.match.match_steps import match_steps
from session.picture.preview import UnreadablePicture
from session.set.set_cautions import set_cautions
from session.set.setup import Revision, differences, thing_name
from session.units.quantities import RefusedNumberError
from session.units.value_words import name_words, thing_words
from storage.reading.views import FrameRecord, SetPicture
from tui.paper.held_picture import held_file, held_picture
from tui.paper.plan_drawing import camera_place, drawn_things, plan_svg
from tui.words.harmless import harmless
from tui.words.setup_words import camera_rows

STYLE = """
@page { size: A4; margin: 10mm 12mm }
* { box-sizing: border-box }
body { font: 11px/1.3 sans-serif; color: #000; background: #fff; margin: 1em auto; max-width: 186mm }
h1 { font-size: 1.5em; margin: 0 } h2 { font-size: 1.1em; margin: .8em 0 .3em; border-bottom: 1px solid #000 }
h2 { break-after: avoid } section { break-inside: avoid } p { margin: .4em 0 }
.plans figure, .set figure { display: inline-block; vertical-align: top; margin: 0 4mm 2mm 0 }
.plans svg { display: block; max-width: 100%; height: auto }
.seen { position: relative; width: 80mm; margin: .5em 0 }
.seen img { width: 100%; display: block; outline: 1px solid #000 }
.seen div { position: absolute; border: 2px solid #fff; outline: 1px solid #000 }
table { border-collapse: collapse; width: 100% }
td, th { border: 1px solid #000; padding: .12em .4em; text-align: left }
h1, td, p, li { overflow-wrap: anywhere } ol { margin: .3em 0; padding-left: 2em }
.set figure { margin-right: 3mm } .set img { max-width: 58mm; max-height: 38mm; display: block; border: 1px solid #000 }
.pairs { table-layout: fixed } .pairs th:nth-child(odd) { width: 15% }
footer { margin-top: 1em; border-top: 1px solid #000; font-size: .9em; break-inside: avoid }
footer ul { margin: 0; padding-left: 1.5em }
@media print { body { margin: 0 auto } }
@media screen { body { font-size: 15px; padding: 0 4mm; max-width: 210mm } }
@media screen and (max-width: 600px) { .pairs tr { display: grid; grid-template-columns: 8em 1fr }
.pairs tr:first-child, .pairs td:empty { display: none } .seen { width: 100% } }
"""

LEGEND = (
    "▲ light, dashed its beam (a sign of the shaper, no angle)   □ reflector   ■ flag   ∕ glass   × other; frame or"
    " thick stroke: its size as seen from there; the cross in the middle is the piece, dashed its plane. Numbers as in"
    " the table, distances to the piece."
)


@dataclass(frozen=True)
class CardFacts:
    """The facts on a card. `reference`: the set-up's approved frame or None; `agent`: program, version."""

    job: str
    client: str
    revision: Revision
    reference: FrameRecord | None
    agent: str
    today: date
    depth: str = ""
    """Depth of field of a frame, by the kit, in words; "" where no kit was at hand."""
    pictures: Sequence[SetPicture] = ()
    """Pictures of the set that are attached to it, or to an earlier revision."""


def card_html(facts: CardFacts) -> str:
    """The whole page."""
    revision = facts.revision
    title = _text(f"{facts.job} · set-up {revision.label}")
    about = [facts.client, *([f"{facts.reference.piece}, {facts.reference.view}"] if facts.reference else [])]
    about_line = " · ".join(f"<bdi>{_text(part)}</bdi>" for part in about if part)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; img-src data:; '
        "style-src 'unsafe-inline'\">\n"
        f'<meta name="viewport" content="width=device-width">\n<title>{title}</title>\n<style>{STYLE}</style>\n'
        "</head>\n"
        f"<body>\n<h1><bdi>{_text(facts.job)}</bdi> · set-up {_text(revision.label)}</h1>\n"
        f"<p>Set card · {about_line}</p>\n"
        f"{_reference(facts)}{_plans(revision)}{_things(revision)}{_camera(revision, facts.depth)}"
        f"{_steps(revision)}{_notes(revision)}{_pictures(facts)}{_foot(facts)}</body>\n</html>\n"
    )


SET_PICTURE_PX = 720
"""Long side of a picture of the set (px): 60 mm at 300 dots an inch. Chosen, as is its height on the card (mm), with
which three stand beside each other on what the rest leaves of the second page."""

SHORT_VALUE = 40
"""Characters of a value that stand on a line of half the page's width; a longer one has a row to itself. Measured."""

MOST_CHANGES = 12
"""Names of what was changed since the reference that are told. Chosen: they fit on three lines."""


def _since_reference(revision: Revision, record: FrameRecord) -> str:
    """A sentence on a reference that was shot with another revision, naming the changes since; else ""."""
    then = record.revision
    if then.label == revision.label:
        return ""
    changes = [name_words(name) for name, _, _ in differences(then, revision)]
    more = len(changes) - MOST_CHANGES
    told = ", ".join([*changes[:MOST_CHANGES], *([f"and {more} more"] if more > 0 else [])])
    since = f"changed since: {told}" if told else "nothing else was changed"
    return f" It was shot with {then.label}, not with {revision.label}; {since}."


def _reference(facts: CardFacts) -> str:
    record = facts.reference
    if record is None:
        return "<section><h2>Reference</h2><p>The set-up has no reference yet.</p></section>\n"
    (data, told), region = held_picture(record), facts.revision.region  # as the card's table says it
    words = f"Frame {record.number}; the rectangle must be sharp.{_since_reference(facts.revision, record)}"
    if not data:
        return f"<section><h2>Reference</h2><p>{_text(words)} Its file isn't there.</p></section>\n"
    words += f" Its file isn't there; shown {told}." if told else ""
    sides = (("left", region.left), ("top", region.top), ("width", region.width), ("height", region.height))
    place = ";".join(f"{name}:{value * 100:.2f}%" for name, value in sides)
    return (
        '<section><h2>Reference</h2><div class="seen">'
        f'<img alt="reference" src="{data}"><div style="{place}"></div></div>'
        f"<p>{_text(words)}</p></section>\n"
    )


def _plans(revision: Revision) -> str:
    if not drawn_things(revision) and camera_place(revision) is None:
        why = "Nothing has both a distance and a side recorded, so it is not drawn."
        return f"<section><h2>Plan</h2><p>{why}</p></section>\n"
    try:
        above, side = (plan_svg(revision, side=of_side) for of_side in (False, True))
    except RefusedNumberError as error:
        return f"<section><h2>Plan</h2><p>Not drawn: {_text(str(error))}</p></section>\n"
    return (
        '<section><h2>Plan, to scale</h2><div class="plans">'
        f"<figure>{above}<figcaption>from above</figcaption></figure>"
        f"<figure>{side}<figcaption>from the side, camera at the right</figcaption></figure>"
        f"</div><p>{_text(LEGEND)} {_text(_camera_words(revision))}</p></section>\n"
    )


def _camera_words(revision: Revision) -> str:
    if camera_place(revision) is None:
        return "The camera's distance was not measured, so it is not drawn."
    if revision.view_down_deg is None:
        return "How far the camera looks down was not measured: from above it is drawn level, from the side it isn't."
    return ""


def _things(revision: Revision) -> str:
    drawn = {one.number for one in drawn_things(revision)}
    rows = []
    for number, thing in enumerate(revision.placed, 1):
        how = thing_words(thing, ", ") + ("" if number in drawn else " (not drawn: no place recorded)")
        rows.append((str(number), thing_name(thing), how))
    if not rows:
        return "<section><h2>Lights</h2><p>No light, reflector or flag.</p></section>\n"
    return f"<section><h2>Lights, reflectors, flags, glass</h2>{_table(('', 'what', 'how'), rows)}</section>\n"


def _camera(revision: Revision, depth: str) -> str:
    rows = camera_rows(revision)
    rows += [("depth of field", depth)] if depth else []
    long = [row for row in rows if len(row[1]) > SHORT_VALUE]
    rows = [row for row in rows if len(row[1]) <= SHORT_VALUE]
    half = -(-len(rows) // 2)
    beside = [*rows[half:], *([("", "")] if len(rows) % 2 else [])]
    pairs = [(*one, *other) for one, other in zip(rows[:half], beside, strict=True)]
    table = _table(("what", "value", "what", "value"), [*long, *pairs], ' class="pairs"')
    return f"<section><h2>Camera, lens, tolerances</h2>{table}</section>\n"


def _steps(revision: Revision) -> str:
    told = (step for step in match_steps(revision) if step.key != "notes")  # they stand below
    steps = "".join(f"<li><bdi>{_text(step.name)}</bdi>: {_text(step.recorded)}</li>" for step in told)
    return f"<section><h2>Order of building</h2><ol>{steps}</ol></section>\n"


def _notes(revision: Revision) -> str:
    if not revision.notes:
        return ""
    lines = (harmless(line, len(line)) for line in revision.notes.splitlines() if line.strip())
    told = "".join(f'<p dir="auto">{escape(line)}</p>' for line in lines)
    return f"<h2>Notes</h2>{told}\n"


def _pictures(facts: CardFacts) -> str:
    """The pictures of the set, three in a row; one that can't be read, or was changed since, is said."""
    if not facts.pictures:
        return ""
    of = {picture.setup for picture in facts.pictures} - {facts.revision.label}
    when = f"<p>They were taken with {_text(', '.join(sorted(of)))}.</p>" if of else ""
    figures = "".join(_set_figure(picture) for picture in facts.pictures)
    return f'<h2>Pictures of the set</h2>{when}<div class="set">{figures}</div>\n'


def _set_figure(picture: SetPicture) -> str:
    try:
        shown = held_file(picture.path, SET_PICTURE_PX) if picture.whole else ""
    except UnreadablePicture:
        shown = ""
    if not shown:
        return f"<figure><p>Picture {picture.number} is not as it was stored.</p></figure>"
    named = f'<img alt="set, picture {picture.number}" src="{shown}">'
    return f"<figure>{named}<figcaption>{picture.number}</figcaption></figure>"


def _foot(facts: CardFacts) -> str:
    said = set_cautions(facts.revision) or (LAST_WORD,)
    told = "".join(f"<li>{_text(caution)}</li>" for caution in said)
    cautions = f"<p>Cautions:</p><ul>{told}</ul>"
    made = f"{_text(facts.today.isoformat())} · <bdi>{_text(facts.job)}</bdi> · set-up {_text(facts.revision.label)}"
    return f"<footer><p>{made} · {_text(facts.agent)}</p>{cautions}</footer>\n"


def _table(head: Sequence[str], rows: Iterable[Sequence[str]], kind: str = "") -> str:
    names = "".join(f"<th>{_text(name)}</th>" for name in head)
    lines = "".join(f"<tr>{''.join(_cells(row, len(head)))}</tr>" for row in rows)
    return f"<table{kind}><tr>{names}</tr>{lines}</table>"


def _cells(row: Sequence[str], columns: int) -> Iterator[str]:
    """The cells of a row, of which the last is as wide as the columns that are left."""
    for i, cell in enumerate(row, 1):
        left = f' colspan="{columns - i + 1}"' if i == len(row) < columns else ""
        yield f'<td{left} dir="auto">{_text(cell)}</td>'


def _text(text: str) -> str:
    return escape(harmless(text))
