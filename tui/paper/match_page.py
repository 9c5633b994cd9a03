"""The match report as one HTML page of A4: a frame that was shot again beside its reference, step by step in numbers.

All of it is worked out from the log and the pictures that are there: originals, or stored previews, which is said. The
page holds its pictures, asks nothing of any network and runs no script; every result is a word, for black and white.
"""

from __future__ import annotations

import base64
import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from html import escape

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from session.frame.ports import Place
from session.lighting.cautions import LAST_WORD
from session.match.light_words import EXPOSURE_EV, NINTHS
from session.match.match_steps import StepState
from session.match.picture_difference import FULL_EV, difference_codes
from session.match.reshoot_steps import Reshoot, ReshootStep
from session.match.solo_picture import SoloPicture, read_solo_picture
from session.picture.linear_light import codes_of
from session.picture.preview import UnreadablePicture
from session.set.set_cautions import set_cautions
from session.set.setup import differences
from session.units.refusals import UnlikeShapesError
from storage.reading.shown_picture import FROM_PREVIEW, shown_pictures
from storage.reading.views import FrameRecord
from tui.paper.held_picture import jpeg_address
from tui.shell.match_look import MatchLook, look_back
from tui.shell.repeated_series import LoggedSeries
from tui.shell.reshot import Reshot
from tui.words.harmless import harmless
from tui.words.match_words import frame_told, report_line, result_words, said_words, tolerance_words
from tui.words.series_words import repeat_words
from tui.words.setup_words import change_line

PICTURE_PX = 720
"""Long side of a picture (px): 60 mm at 300 dots an inch, three beside each other on the page. Chosen."""

STYLE = """
@page { size: A4; margin: 12mm }
* { box-sizing: border-box }
body { font: 10px/1.3 sans-serif; color: #000; background: #fff; margin: 1em auto; max-width: 186mm }
h1 { font-size: 1.5em; margin: 0 } h2 { font-size: 1.1em; margin: .8em 0 .3em; border-bottom: 1px solid #000 }
h2 { break-after: avoid } .result { font-size: 1.3em; border: 2px solid #000; padding: .4em .6em; margin: .6em 0 }
.three { display: flex; gap: 3mm } .three figure { margin: 0; width: 60mm; break-inside: avoid }
.three img { width: 100%; display: block; border: 1px solid #000 }
.three .none { width: 60mm; height: 40mm; border: 1px dashed #000; padding: 2mm }
table { border-collapse: collapse; width: 100% }
td, th { border: 1px solid #000; padding: .15em .4em; text-align: left }
td, p, li, figcaption { overflow-wrap: anywhere } tr { break-inside: avoid } ul { margin: .3em 0; padding-left: 1.5em }
b.word { text-transform: uppercase }
.steps { table-layout: fixed } .steps th:first-child { width: 11% } .steps th:nth-child(2) { width: 28% }
.steps th:nth-child(4) { width: 20% } .steps th:nth-child(5) { width: 15% }
.two { display: flex; gap: 6mm } .two > div { flex: 1 } .ninths td { width: 33% }
footer { margin-top: .8em; border-top: 1px solid #000; font-size: .9em; break-inside: avoid }
footer p { margin: .3em 0 }
"""


@dataclass(frozen=True)
class MatchFacts:
    """The facts on a report. `agent`: program and version; `look`: the steps as they were measured."""

    client: str
    place: Place
    reshoot: Reshoot
    look: MatchLook
    agent: str
    today: date

    @property
    def frame(self) -> FrameRecord | None:
        """The frame that was shot again; None before any frame was."""
        return self.look.pictures.record if self.look.pictures else None


def match_facts(reshot: Reshot, agent: str, today: date) -> MatchFacts:
    """The facts on a frame that was shot again, measured, which takes a second or more.

    The report stands as on the day of the last word or frame, so that the page is the same each time.
    """
    at = reshot.logged.last_at or datetime.combine(today, time(), UTC)
    look = look_back(reshot.logged, reshot.reshoot, reshot.kit, at)
    return MatchFacts(reshot.client, reshot.place, reshot.reshoot, look, agent, today)


def match_html(facts: MatchFacts) -> str:
    """The whole page."""
    label = facts.reshoot.revision.label
    title = _text(f"{facts.place.job} · set-up {label}: match report")
    about = " · ".join(
        f"<bdi>{_text(part)}</bdi>" for part in (facts.client, facts.place.piece, facts.place.view) if part
    )
    large, sentence = report_line(facts.look.steps)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; img-src data:; '
        "style-src 'unsafe-inline'\">\n"
        f'<meta name="viewport" content="width=device-width">\n<title>{title}</title>\n<style>{STYLE}</style>\n'
        "</head>\n"
        f"<body>\n<h1><bdi>{_text(facts.place.job)}</bdi> · set-up {_text(label)}</h1>\n"
        f"<p>Match report · {about}</p>\n"
        f'<p class="result"><b>{_text(large)}</b> {_text(sentence)}</p>\n'
        f'{_pictures(facts)}{_steps(facts)}{_series(facts)}<div class="two">{_ninths(facts)}{_changes(facts)}</div>\n'
        f"{_foot(facts)}</body>\n</html>\n"
    )


def _pictures(facts: MatchFacts) -> str:
    """The pictures of reference and frame and their difference, beside each other."""
    reference, frame = facts.look.reference, facts.frame
    if reference is None:
        return "<h2>Pictures</h2><p>The set-up has no reference, so there is nothing to compare with.</p>\n"
    then, then_told = _read(reference)
    now, now_told = _read(frame) if frame else (None, "")
    figures = [
        _figure(then, f"Reference: {_frame_words(reference)}{then_told}"),
        _figure(now, f"Shot again: {_frame_words(frame)}{now_told}" if frame else "Nothing was shot again yet"),
    ]
    if then is not None and now is not None:
        figures.append(_difference(then, now))
    return f'<h2>Pictures</h2><div class="three">{"".join(figures)}</div>\n'


def _read(record: FrameRecord) -> tuple[SoloPicture | None, str]:
    """The frame's picture, and words where its stored preview stands in, or none can be read."""
    for shown in shown_pictures(record):
        try:
            told = f"; its file isn't there, shown {FROM_PREVIEW}" if shown.told else ""
            return read_solo_picture(shown.path), told
        except UnreadablePicture:
            continue
    return None, "; its file isn't there"


def _frame_words(record: FrameRecord) -> str:
    at = record.asked_at.astimezone()
    return f"frame {record.number} of {at:%d %b %Y %H:%M}, {record.piece}, set-up {record.setup}"


def _figure(picture: SoloPicture | None, words: str) -> str:
    if picture is None:
        return f'<figure><div class="none">no picture</div><figcaption>{_text(words)}</figcaption></figure>'
    return _image(codes_of(picture.channels), words)


def _difference(then: SoloPicture, now: SoloPicture) -> str:
    try:
        codes = difference_codes(then, now)
    except UnlikeShapesError:
        words = "No difference: the two pictures' sides are in another ratio"
        return f'<figure><div class="none">no picture</div><figcaption>{_text(words)}</figcaption></figure>'
    words = (
        f"Difference as they lie: grey where alike, lighter where the frame is brighter, darker where it is darker;"
        f" {FULL_EV:g} EV is white or black"
    )
    return _image(np.repeat(codes[:, :, None], 3, axis=2), words)


def _image(pixels: NDArray[np.uint8], words: str) -> str:
    small = Image.fromarray(pixels)
    small.thumbnail((PICTURE_PX, PICTURE_PX), Image.Resampling.BOX)
    alt = _text(words.partition(":")[0])
    picture = jpeg_address(np.asarray(small))
    return f'<figure><img alt="{alt}" src="{picture}"><figcaption>{_text(words)}</figcaption></figure>'


def _steps(facts: MatchFacts) -> str:
    rows = [_row(one, facts) for one in facts.look.steps]
    head = "".join(f"<th>{name}</th>" for name in ("step", "recorded", "measured", "tolerance", "result"))
    note = (
        "Pass: measured within the tolerance. Confirmed: by a person's word, not measured. Of a step that fails, or"
        " can't be told, what was left to do stands below its value."
    )
    table = f'<table class="steps"><tr>{head}</tr>{"".join(rows)}</table>'
    return f"<h2>Steps</h2>{table}<p>{_text(note)}</p>\n"


def _row(one: ReshootStep, facts: MatchFacts) -> str:
    step = one.step
    measured = [step.measured] if step.measured else []
    measured += [frame_told(one.shot)] if step.measured and one.shot else []
    left = step.to_do if step.state in (StepState.OFF, StepState.CANT_TELL) else ""
    cells = [
        _text(step.name),
        _text(step.recorded),
        "<br>".join(_text(part) for part in (" · ".join(measured), left) if part),
        _text(tolerance_words(step, facts.reshoot.revision)),
    ]
    by_word = said_words(one).partition(" ")[2]
    cells.append(f'<b class="word">{_text(result_words(one))}</b>{"<br>" if by_word else ""}{_text(by_word)}')
    return "<tr>" + "".join(f'<td dir="auto">{cell}</td>' for cell in cells) + "</tr>"


def _series(facts: MatchFacts) -> str:
    """The focus series of then and of now beside each other, by what they came to and their previews."""
    then, now = facts.look.series.then, facts.look.series.now
    if then is None:
        return ""
    told = [_series_figure("Then", then)]
    told.append(_series_figure("Shot again", now) if now else "<p>It wasn't shot again yet.</p>")
    return f'<h2>Focus series</h2><div class="two">{"".join(told)}</div>\n'


def _series_figure(when: str, series: LoggedSeries) -> str:
    words = f"{when}: {repeat_words(series.plan, series.numbers)}. {series.outcome}".strip()
    preview = series.preview()
    if preview is None:
        return f"<p>{_text(words)} No preview of the whole is stored.</p>"
    data = f"data:image/jpeg;base64,{base64.b64encode(preview).decode()}"
    return f'<figure><img alt="preview" src="{data}"><figcaption>{_text(words)} Preview.</figcaption></figure>'


def _ninths(facts: MatchFacts) -> str:
    light = facts.look.measured.light
    if light is None:
        return ""
    rows = []
    for told, names in zip(light.ninths_ev, (NINTHS[:3], NINTHS[3:6], NINTHS[6:]), strict=True):
        cells = (f"<td>{_text(_ninth(ev, name))}</td>" for ev, name in zip(told, names, strict=True))
        rows.append(f"<tr>{''.join(cells)}</tr>")
    words = f"EV of the frame against the reference, laid onto each other; within {EXPOSURE_EV:g} EV each passes."
    colour = f"Colour of the picture's grey: ΔE2000 {light.tint.difference:.1f}."
    table = f'<table class="ninths">{"".join(rows)}</table>'
    return f"<div><h2>Light in ninths of the picture</h2>{table}<p>{_text(f'{words} {colour}')}</p></div>\n"


def _ninth(ev: float, name: str) -> str:
    if math.isnan(ev):
        return f"{name}: can't tell"
    return f"{name}: {'+' if ev >= 0 else '−'}{abs(ev):.2f} EV {'' if abs(ev) <= EXPOSURE_EV else 'FAIL'}".strip()


def _changes(facts: MatchFacts) -> str:
    """What was substituted, changed since the reference, or skipped, and why; and what the report couldn't use."""
    look, frame = facts.look, facts.frame
    told = [
        f"Skipped: {one.step.name}, because {one.said.reason}"
        for one in look.steps
        if one.is_skipped and one.said is not None
    ]
    told += [f"{named}: {'; '.join(why)}" if why else named for named, why in _substitutes(look, facts.reshoot)]
    if look.reference and look.reference.piece != facts.place.piece:
        told.append(f"Another piece: {facts.place.piece}; the reference shows {look.reference.piece}")
    if frame is not None and look.reference is not None:
        changes = differences(look.reference.revision, frame.revision)
        told += [f"Set otherwise than for the reference: {change_line(*change)}" for change in changes]
    lines = "".join(f"<li>{_text(line)}</li>" for line in told)
    body = f"<ul>{lines}</ul>" if told else "<p>Nothing.</p>"
    return f"<div><h2>Substituted, changed or skipped</h2>{body}</div>\n"


def _substitutes(look: MatchLook, reshoot: Reshoot) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Each substitute by name, and the clauses on what it changes."""
    why, instead, revision = {one.step.key: one.instead for one in look.steps}, look.instead, reshoot.revision
    if instead.body:
        then = f" instead of {look.body_then.name}" if look.body_then else ""
        yield f"Another body: {instead.body}{then}", why.get("camera", ())
    if instead.lens:
        yield (
            f"Another lens: {instead.lens} instead of {revision.arrangement.lens or 'that of then'}",
            why.get("lens", ()),
        )
    for light in revision.lights:
        flash, lost = instead.flashes.get(light.name), light.name in instead.unshaped
        parts = [f"another flash, {flash}"] if flash else []
        parts += [f"without its shaper {light.shaper}"] if lost else []
        if parts:
            yield f"Light {light.name}: {', '.join(parts)}", why.get(f"light {light.name}", ())


def _foot(facts: MatchFacts) -> str:
    label = facts.reshoot.revision.label
    made = f"{facts.today.isoformat()} · set-up {label} · {facts.agent} · worked out from the log"
    said = set_cautions(facts.reshoot.revision) or (LAST_WORD,)
    return f"<footer><p>{_text(made)}</p><p>Cautions: {_text(' '.join(said))}</p></footer>\n"


def _text(text: str) -> str:
    return escape(harmless(text))
