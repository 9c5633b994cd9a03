"""The panels around the large line and the picture, as styled text made from the model.

Every text from outside goes through `harmless`, and into Content as plain text, never as markup. Styles are
theme variables and follow the theme; a sign or a word always says the same as the colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

from rich.cells import cell_len, set_cell_size
from textual.content import Content

from session.checks.focus.map import place_text
from session.frame.finding import CheckId, Finding, FocusVerdict, Level, RuleId
from session.rules.camera_rules import differing
from session.set.lens_in_use import lens_in_use
from session.set.setup import PassiveItem, PlacedLight, Revision, kind_word
from session.units.numbers import angles_text, f_text, mm_text, power_text, share_text, stop_text, time_text
from session.units.value_words import size_words, turned_words
from tui.words.bench_frame import BenchFrame
from tui.words.harmless import harmless
from tui.words.headline import Headline
from tui.words.keys import Key, Where, cap_of, hint
from tui.words.model import BenchModel
from tui.words.order_words import place_words
from tui.words.wording import LEVEL_SIGNS, first_mendable, frame_words, headline, remedy_words, sentences, sign_of

LONG_LINE = 120
"""Columns from which on the job's name stands in the top line too."""

HEADING, QUIET, STRONG, CHOSEN = "bold $primary", "$quiet", "bold", "reverse"
LEVEL_STYLES = {Level.STOP: "bold $error", Level.CAUTION: "$warning", Level.NOTE: "$quiet"}
VERDICT_STYLES = {
    FocusVerdict.SHARP: "$success",
    FocusVerdict.SOFT: "$warning",
    FocusVerdict.MISSED: "bold $error",
    FocusVerdict.UNJUDGED: "$quiet",
}


def stack(lines: Sequence[Content]) -> Content:
    """The lines joined, each under the last."""
    return Content("\n").join(lines)


def caption_lines(text: str, width: int, height: int) -> Content:
    """A picture's caption in so many rows; what is too long for all of them is cut in the last."""
    rows = wrap(text, max(1, width)) or [""]
    if len(rows) > height:
        rows = [*rows[: height - 1], cut(" ".join(rows[height - 1 :]), width)]
    return Content("\n".join(rows))


def as_many(lines: list[Content], height: int) -> list[Content]:
    """As many lines as fit into the height; the last line counts the lines left out."""
    if len(lines) <= height:
        return lines
    kept = max(0, height - 1)
    return [*lines[:kept], Content.styled(f"… {len(lines) - kept} more lines", QUIET)]


BETWEEN_NAMES = " · "

MOST_SAID = 3
"""Lines for a passing sentence. Chosen: two sentences at 80 columns."""


def said_lines(text: str, width: int) -> list[str]:
    """A passing sentence broken at words, at most MOST_SAID lines; what is over is cut."""
    lines = wrap(text, max(1, width))
    kept, over = lines[: MOST_SAID - 1], lines[MOST_SAID - 1 :]
    return [*kept, cut(" ".join(over), width)] if over else kept


def cut(text: str, width: int) -> str:
    """The text in at most `width` columns, its end marked where something is missing; some letters take two."""
    return text if cell_len(text) <= width else set_cell_size(text, max(0, width - 1)) + "…"


def names_within(names: Sequence[str], width: int) -> str:
    """`ring 4 · front` in at most `width` columns: the longer names are cut, and each name keeps its beginning."""
    shown, longest = list(names), max(map(cell_len, names), default=0)
    while longest > 1 and cell_len(BETWEEN_NAMES.join(shown)) > width:
        longest -= 1
        shown = [cut(name, longest) for name in names]
    return cut(BETWEEN_NAMES.join(shown), width)


def hanging_lines(text: str, width: int, indent: int = 2) -> list[str]:
    """The text in lines of at most `width` characters, all but the first indented; nothing is left out."""
    return wrap(text, max(8, width), subsequent_indent=" " * indent, break_on_hyphens=False)


def heading(text: str, aside: str = "") -> Content:
    """A part's title in capitals, with small print beside it."""
    return Content.assemble((text, HEADING), (f"  {aside}" if aside else "", QUIET))


def place_line(model: BenchModel, width: int, aside: str = "") -> Content:
    """`barrel 6 of 24 · three-quarter · set-up 07.3` and, at the right end, battery and card."""
    right = "  ".join(part for part in (aside, battery_text(model), card_text(model)) if part)
    place, setup = model.place, f"set-up {model.revision.label}" if model.revision else ""
    names = [*([place.job] if width >= LONG_LINE else []), place.piece, place.view] if place else []
    names = [harmless(name, 60) for name in names if name]
    ordered = ""
    if place and model.progress:
        ordered = " · " + place_words(model.progress, place.piece, short=width < LONG_LINE)
    beside = max(0, width - len(right) - 2 - len(ordered))
    if ordered and model.revision and cell_len(BETWEEN_NAMES.join([*names, setup])) > beside:
        setup = model.revision.label
    standing = f" · {setup}" if setup and names else setup
    left = names_within(names, max(0, beside - len(standing))) + standing + ordered
    return Content.assemble((left, STRONG), " " * max(1, width - cell_len(left) - len(right)), (right, QUIET))


def battery_text(model: BenchModel) -> str:
    percent = model.reading.value("battery_percent") if model.description else None
    return f"battery {percent:.0f} %" if isinstance(percent, int | float) else ""


def card_text(model: BenchModel) -> str:
    """How many more frames the card takes, by the largest of its kind so far; in GB before the first frame."""
    if model.description is None or model.free_card_bytes is None:
        return ""
    if frame_bytes := model.frame_bytes:
        return f"card {model.free_card_bytes // frame_bytes} left"
    return f"card {model.free_card_bytes / 1e9:.1f} GB"


def exposure_lines(model: BenchModel, width: int) -> Content:
    """Exposure time, aperture and ISO, as the camera says them, else as the set-up does; `≠` marks what differs."""
    if model.revision is None:
        return Content("")
    drifted = next((finding for finding in model.rules if finding.id == RuleId.DRIFTED), None)
    by_remedy = drifted.remedy.settings if drifted and drifted.remedy else {}
    otherwise = {*by_remedy, *differing(model.revision, model.reading)} if drifted else set()
    names = ("exposure_s", "f_number", "iso")
    time_s, f_number, iso = (_setting_value(model, name) for name in names)
    lines = [
        time_text(time_s) if time_s else "",
        aperture_text(f_number, model.revision),
        f"ISO {iso:.0f}" if iso else "ISO automatic",
    ]
    return stack(
        [
            Content.styled(cut(f"≠ {line}", width), "bold $error")
            if name in otherwise
            else Content.styled(cut(line, width), STRONG)
            for name, line in zip(names, lines, strict=True)
        ]
    )


def aperture_text(f_number: float | None, revision: Revision) -> str:
    """`f/11 (f/16 here)`: the f-number as marked, and as it works with the lens as it is used."""
    if not f_number:
        return f_text(None)
    try:
        here = lens_in_use(revision.arrangement, f_number).effective_f_number
    except ValueError:  # the set-up's lens is only half described
        return f_text(f_number)
    return stop_text(f_number, here)


def lights_panel(revision: Revision | None, width: int) -> list[Content]:
    """The set's lights, a line each, with the digit that chooses the light; then reflectors, flags and glass."""
    lines = [heading("LIGHTS")]
    if revision is None:
        return [*lines, Content.styled("none in the set", QUIET)]
    if not (revision.lights or revision.passive):
        remedy = hint(Where.BENCH, "light", "puts one up")
        return [*lines, Content.styled(cut(f"none in the set  {remedy}", width), QUIET)]
    full = [[light_text(light, str(i))] for i, light in enumerate(revision.lights, 1)]
    if any(len(line) > width for one in full for line in one):
        full = [short_light_lines(light, width, str(i)) for i, light in enumerate(revision.lights, 1)]
    lines += [Content(cut(line, width)) for one in full for line in one]
    numbered = enumerate(revision.passive, len(revision.lights) + 1)
    lines += [
        Content.styled(line, QUIET) for i, item in numbered for line in hanging_lines(passive_text(item, str(i)), width)
    ]
    return lines


def light_text(light: PlacedLight, digit: str = "") -> str:
    """`1 key   1/4 (−2 EV)   600 mm 45° left · 35° up   tube`; a dash for what nobody measured."""
    name = cut(harmless(light.name, 20), 6)
    far = mm_text(light.distance_mm) if light.distance_mm is not None else "—"
    shaper = harmless(light.shaper, 30)
    where = angles_text(light.azimuth_deg, light.elevation_deg) or "—"
    return f"{digit:2}{name:<6}{power_text(light.power_ev):<12} {far:>7} {where:<20}{shaper}".rstrip()


def short_light_lines(light: PlacedLight, width: int, digit: str = "") -> list[str]:
    """`1 key   1/4  600 mm 45° left · 35° up`, and the shaper under it where there is no room beside it."""
    name = cut(harmless(light.name, 20), 5)
    far = mm_text(light.distance_mm) if light.distance_mm is not None else "—"
    where = angles_text(light.azimuth_deg, light.elevation_deg)
    text = f"{digit:2}{name:<5} {share_text(light.power_ev):<4} {far:>6} {where}".rstrip()
    shaper = harmless(light.shaper, 30)
    if not shaper or len(text) + 1 + len(shaper) <= width:
        return [f"{text} {shaper}".rstrip()]
    return [text, f"{'':8}{shaper}"]


def passive_text(item: PassiveItem, digit: str = "") -> str:
    """`3 reflector white card  210 × 297 mm  410 mm  120° left · 20° up`."""
    far = mm_text(item.distance_mm) if item.distance_mm is not None else ""
    where = angles_text(item.azimuth_deg, item.elevation_deg)
    size = size_words(item.width_mm, item.height_mm)
    turned = turned_words(item.turned_deg, item.turned_to) if item.turned_deg else ""
    name = f"{harmless(kind_word(item), 20)} {harmless(item.name, 24)}"
    return f"{digit:2}{'  '.join(part for part in (name, far, where, size, turned) if part)}"


def findings_panel(model: BenchModel, width: int, now_s: float) -> list[Content]:
    """Findings of the rules now, findings of the checks on the frame shown, and last the mere notes in one line.

    A finding that stands under the large line is left out. now_s as `Clock.monotonic_s`.
    """
    told = headline(model, now_s)
    said = " ".join(sentences(model, now_s))
    notes = [finding for finding in model.rules if finding.level is Level.NOTE]
    frame = model.frame
    lines: list[Content] = []
    for finding in model.rules:
        lines += _beyond(finding, model, told, said, width) if finding not in notes else []
    checks = sorted(frame.checks_now if frame else (), key=lambda found: list(Level).index(found.level))
    of_frame = [line for finding in checks for line in _beyond(finding, model, told, said, width)]
    if frame and of_frame:
        lines += [Content.styled(f"on frame {frame.number}", QUIET), *of_frame]
    if notes:
        words = [note_words(finding, measurable=model.reference_id is not None) for finding in notes]
        lines += [Content.styled(line, QUIET) for line in hanging_lines(f"· {' · '.join(words)}", width)]
    none = "no others" if checks or model.rules else "none"
    return [heading("FINDINGS"), *(lines or [Content.styled(none, QUIET)])]


def _beyond(finding: Finding, model: BenchModel, told: Headline, said: str, width: int) -> list[Content]:
    """The lines of a finding, as far as the sentences under the large line don't say the same."""
    frame = model.frame
    if finding == told.about and finding.id == CheckId.FOCUS:
        sharpest_at = frame.focus.sharpest_at if frame and frame.focus else None
        return _finding_lines(finding, f"Sharper {place_text(sharpest_at)}.", width) if sharpest_at else []
    lines = [] if finding.text in said else _finding_lines(finding, harmless(finding.text, 400), width)
    remedy = finding.remedy
    if remedy is None or remedy.text.casefold() in said.casefold():
        return lines
    key = cap_of(Where.BENCH, "remedy") if finding is first_mendable(model.rules) else ""
    return [*lines, *_remedy_lines(f"{key} {remedy_words(finding, live=model.live.on)}".strip(), width)]


def note_words(finding: Finding, *, measurable: bool = True) -> str:
    """`ambient not measured [r]`: a mere note of a rule in a few words; others in full.

    measurable  the key that measures the ambient light works now, and is named
    """
    if finding.id == RuleId.AMBIENT and finding.value is None:
        return f"ambient not measured {cap_of(Where.BENCH, 'ambient') if measurable else ''}".rstrip()
    return harmless(finding.text, 400)


def finding_lines(finding: Finding, width: int) -> list[Content]:
    """A finding's sign and sentence, wrapped, and its remedy."""
    lines = _finding_lines(finding, harmless(finding.text, 400), width)
    return [*lines, *_remedy_lines(finding.remedy.text, width)] if finding.remedy else lines


def _finding_lines(finding: Finding, text: str, width: int) -> list[Content]:
    style = LEVEL_STYLES[finding.level]
    return [
        Content.styled(f"{LEVEL_SIGNS[finding.level] if i == 0 else ' '} {part}", style)
        for i, part in enumerate(wrap(text, max(8, width - 2)))
    ]


def _remedy_lines(text: str, width: int) -> list[Content]:
    words = harmless(text, 400)
    parts = wrap(f"{words[:1].lower()}{words[1:]}", max(8, width - 4))
    return [Content(f"  {'→' if i == 0 else ' '} {part}") for i, part in enumerate(parts)]


def ledger_strip(model: BenchModel, width: int) -> Content:
    """`LEDGER  43 sharp hero | 44 soft | 45 missed ◂`: as many of the newest as fit, the chosen one always."""
    frames, chosen = model.released, model.frame
    if not frames:
        return Content.assemble(("LEDGER  ", HEADING), ("no frame yet", QUIET))
    at = frames.index(chosen) if chosen in frames else len(frames) - 1
    room, last = width - 8, len(frames) - 1
    first = last
    while at < last and _strip_length(frames[at : last + 1]) > room:
        last -= 1
    first = last
    while first > 0 and _strip_length(frames[first - 1 : last + 1]) <= room:
        first -= 1
    parts: list[Content] = []
    for frame in frames[first : last + 1]:
        style = CHOSEN if frame is chosen else VERDICT_STYLES.get(frame.focus_verdict or FocusVerdict.UNJUDGED, "")
        parts.append(Content.styled(_strip_text(frame) + (" ◂" if frame is chosen else ""), style))
    return Content.assemble(("LEDGER  ", HEADING), Content(" | ").join(parts))


LEDGER_CELLS = len("   12 ?   01.1   ") + len(" ◂")
"""What a line of the list has besides the frame's words, its mark and who released it."""


def ledger_list(model: BenchModel, width: int, height: int) -> list[Content]:
    """The newest frames, one a line, the chosen one marked; words that find no room are cut."""
    frames, chosen = model.released, model.frame
    count = "no frame yet" if not frames else "1 frame" if len(frames) == 1 else f"{len(frames)} frames"
    lines = [heading("LEDGER", count)]
    at = frames.index(chosen) if chosen in frames else len(frames) - 1
    room = max(1, height - 1)
    first = max(0, min(len(frames) - room, at - room // 2))
    listed = frames[first : first + room]
    ends = {
        frame.frame_id: f"{frame.mark or '':<10}{'on the camera' if frame.released_by == 'body' else ''}".rstrip()
        for frame in listed
    }
    room = width - LEDGER_CELLS - max(map(len, ends.values()), default=0)
    wide = min(max((len(frame_words(frame)) for frame in listed), default=0), max(room, 1))
    for frame in reversed(listed):
        style = CHOSEN if frame is chosen else ""
        sign = sign_of(frame.focus_verdict, is_reference=frame.is_reference)
        words = cut(frame_words(frame), wide)
        text = f"{frame.number:>5} {sign} {words:<{wide}}  {frame.setup:<7}{ends[frame.frame_id]}"
        lines.append(Content.styled(text.rstrip() + (" ◂" if frame is chosen else ""), style))
    return lines


AT_THE_END = ("help", "leave")


def key_line(keys: Sequence[Key], words: dict[str, str], width: int, height: int) -> Content:
    """The keys with their words now, the most needed first, in as many lines as there is room for.

    words  act → a word better than the table's, e.g. the remedy's own
    Help and leaving stand at the right end of the last line, on every screen.
    """
    said = {key: harmless(words.get(key.act, key.word), 40) for key in keys}
    last = [key for act in AT_THE_END for key in keys if key.act == act]
    end = "  ".join(f"{key.cap} {said[key]}" for key in last)
    lines: list[list[Content]] = [[]]
    used = 0
    for key in keys:
        length = len(key.cap) + 1 + len(said[key])
        room = width - (len(end) + 2 if end and len(lines) == height else 0)
        if key in last:
            continue
        if lines[-1] and used + 2 + length > room:
            if len(lines) == height:
                break
            lines.append([])
            used = 0
        used += length + (2 if lines[-1] else 0)
        lines[-1].append(Content.assemble((key.cap, "bold $primary"), " ", said[key]))
    painted = [Content("  ").join(line) for line in lines]
    if last:
        painted += [Content("")] * (height - len(painted))
        gap = " " * max(2, width - painted[-1].cell_length - len(end))
        shown_last = [Content.assemble((key.cap, "bold $primary"), " ", said[key]) for key in last]
        painted[-1] = Content.assemble(painted[-1], gap, Content("  ").join(shown_last))
    return stack(painted[:height])


def _setting_value(model: BenchModel, name: str) -> float | None:
    value = model.reading.value(name) if model.description else None
    if value is None and model.revision:
        value = getattr(model.revision.settings, name)
    return float(value) if isinstance(value, int | float) else None


def _strip_text(frame: BenchFrame) -> str:
    return " ".join(part for part in (str(frame.number), frame_words(frame), frame.mark or "") if part)


def _strip_length(frames: Sequence[BenchFrame]) -> int:
    return sum(len(_strip_text(frame)) + 3 for frame in frames) + 2


def sentence_rows(sentences: Sequence[str], width: int) -> int:
    """How many rows the sentences take, each beginning a line."""
    return sum(len(wrap(harmless(text, 600), max(8, width))) for text in sentences)


def sentences_text(sentences: Sequence[str], width: int, height: int, keep: str = "") -> Content:
    """Sentences wrapped into width and height; each begins a line if all fit so, else they run on and are cut.

    keep  the end of a sentence that stands whatever else must be cut: a remedy with its key
    """
    width = max(8, width)
    lines = [line for text in sentences for line in wrap(harmless(text, 600), width)]
    if len(lines) > height:
        lines = wrap(harmless("  ".join(sentences), 1800), width)
    if len(lines) > height:
        end = harmless(f"… {keep}" if keep else "…", 400)
        words = harmless("  ".join(text.removesuffix(keep) for text in sentences), 1800).split()
        while words and len(lines := wrap(" ".join([*words, end]), width)) > height:
            words.pop()
    return stack([Content(line) for line in lines[:height]])
