"""The checks' measurements on a frame, each number against its limit, with small plots of letters. No screen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from textwrap import wrap

import numpy as np
from numpy.typing import NDArray
from textual.content import Content

from session.checks.focus.map import place_text
from session.checks.material.check_limits import origin_of
from session.frame.finding import CheckId, Finding, FocusJudgement, FocusVerdict, Level
from session.picture.linear_light import luminance
from session.units.numbers import mm_text, percent_text
from storage.reading.views import FrameRecord
from tui.screen.ledger_text import row_verdict
from tui.screen.panels import QUIET, STRONG, VERDICT_STYLES, finding_lines, heading, stack
from tui.words.frame_word import px_text
from tui.words.harmless import harmless
from tui.words.wording import NOT_MEASURED

DARKEST_EV = -8
"""Left end of the histogram, EV under white: there one code of sRGB is a ninth of a stop. Worked out: code 13."""

LABEL_COLUMNS, NUMBER_COLUMNS = 10, 16
ROOM_ABOVE = 1.25
"""The scale of a bar reaches this far beyond the larger of value and limit."""

LEVELS = " ▁▂▃▄▅▆▇█"
FULL, EMPTY, LIMIT_SIGN = "█", "·", "┃"

Shares = NDArray[np.float64]


def explanation(
    record: FrameRecord, reference: FrameRecord | None, spreads: Sequence[tuple[str, Shares]], width: int
) -> Content:
    """The whole explanation of a frame's judgement, as one text.

    reference  the frame's reference now; None without a reference
    spreads    (name, shares of the picture by EV) as `light_spread` gives them, for frame and reference
    """
    against = "no reference"
    if reference is not None:
        same = reference.frame_id == record.frame_id
        against = "is the reference" if same else f"compared with frame {reference.number}"
    title = f"FRAME {record.number} · {row_verdict(record)} · set-up {record.setup} · {against}"
    lines = [Content.styled(title, STRONG), *_focus_lines(record, width)]
    for finding in record.findings:
        if finding.id != CheckId.FOCUS:
            lines += [Content(""), heading(harmless(finding.id, 30).upper()), *finding_lines(finding, width)]
            lines += _against_limit(finding, width)
    if spreads:
        lines += [Content(""), *_spread_lines(spreads, width)]
    return stack(lines)


def _focus_lines(record: FrameRecord, width: int) -> list[Content]:
    focus = record.focus
    lines = [Content(""), heading("FOCUS")]
    if focus is None:
        return [*lines, Content("No check has looked at this frame.")]
    limit_px = next(
        (f.limit for f in record.findings if f.id == CheckId.FOCUS and f.limit), record.revision.blur_limit_px
    )
    if focus.blur_px is None and record.is_reference:
        lines.append(Content("It is the reference itself: other frames are compared with it."))
    elif focus.blur_px is None:
        lines += [Content(part) for part in wrap(f"Not judged: {harmless(focus.reason) or NOT_MEASURED}.", width)]
    else:
        number = px_text(focus.blur_px) + (f" ± {focus.blur_px_sd:.1f}" if focus.blur_px_sd is not None else "")
        lines.append(
            _bar_line("radius", max(0.0, focus.blur_px), limit_px, number, width, VERDICT_STYLES[focus.verdict])
        )
        lines += _quiet(_measured_text(focus), width)
    limit = Finding("focus", Level.NOTE, "", limit=limit_px)
    return [*lines, *_quiet(f"{LIMIT_SIGN} {px_text(limit_px)}: {origin_of(limit)}.", width)]


def _measured_text(focus: FocusJudgement) -> str:
    """`Blurrier than the reference by a disc of 7.3 px radius, measured at 0.5 of full size: about 0.3 mm off.`"""
    blur_px = focus.blur_px or 0.0
    word = "Sharper" if blur_px < 0 else "Blurrier"
    at = f", measured at {scale_text(focus.scale)}" if focus.scale is not None else ""
    off = focus.verdict in (FocusVerdict.SOFT, FocusVerdict.MISSED) and focus.defocus_mm is not None
    far = f": about {mm_text(focus.defocus_mm)} off on the piece" if off and focus.defocus_mm is not None else ""
    place = f" Sharper {place_text(focus.sharpest_at)}." if focus.sharpest_at else ""
    return f"{word} than the reference by a disc of {px_text(abs(blur_px))} radius{at}{far}.{place}"


def scale_text(scale: float) -> str:
    """A scale as a share of full size: `full size`, `0.5 of full size`."""
    return "full size" if scale == 1 else f"{scale:.3g} of full size"


def _against_limit(finding: Finding, width: int) -> list[Content]:
    """A bar where there is a number and a limit, and where the limit comes from."""
    lines, origin = [], origin_of(finding)
    said = ""
    if finding.value is not None and finding.limit is not None:
        label, amount = DRIFT_BARS.get(finding.unit, USUAL_BAR) if finding.id == CheckId.DRIFT else USUAL_BAR
        value, limit = amount(finding.value, finding.unit), amount(finding.limit, finding.unit)
        style = "" if finding.level is Level.NOTE else "$warning"
        lines.append(_bar_line(label, abs(finding.value), abs(finding.limit), value, width, style))
        said = f"{LIMIT_SIGN} {limit}{': ' if origin else ''}"
    return [*lines, *(_quiet(f"{said}{origin}.", width) if said or origin else [])]


def _amount(number: float, unit: str) -> str:
    """`−1.2 EV`, `12 %`, `7.3 px`."""
    if unit.startswith("share"):
        return f"{'−' if number < 0 else ''}{percent_text(abs(number))}"
    return f"{number:.3g} {harmless(unit, 20)}".strip().replace("-", "−")


def _turn_text(degrees: float, unit: str) -> str:
    return f"{abs(degrees):.1f}°"


def _resize_text(share: float, unit: str) -> str:
    return f"{abs(share) * 100:.1f} %"


Amount = Callable[[float, str], str]
USUAL_BAR: tuple[str, Amount] = ("measured", _amount)
DRIFT_BARS: dict[str, tuple[str, Amount]] = {
    "px": ("in all", _amount),
    "°": ("turned", _turn_text),
    "share of the size": ("size", _resize_text),
}
"""Unit of what moved farthest beyond its limit → name of its bar, and how its number is written: as in the sentence."""


def _bar_line(label: str, value: float, limit: float, number: str, width: int, style: str) -> Content:
    columns = max(8, width - LABEL_COLUMNS - NUMBER_COLUMNS)
    return Content.assemble(f"{label:<{LABEL_COLUMNS}}", (bar(value, limit, columns), style), f" {number}")


def bar(value: float, limit: float, columns: int) -> str:
    """`██████┃███····`: a value ≥ 0 against its limit > 0 in the same unit, on one scale from 0."""
    end = ROOM_ABOVE * max(value, limit, 1e-12)
    filled = min(columns, round(columns * value / end))
    cells = [FULL] * filled + [EMPTY] * (columns - filled)
    cells[min(columns - 1, int(columns * limit / end))] = LIMIT_SIGN
    return "".join(cells)


def light_spread(pixels: NDArray[np.uint8], steps: int) -> Shares:
    """Shares 0…1 of a picture's pixels in `steps` equal steps from `DARKEST_EV` to white; darker ones in none.

    pixels  (height, width, 3) sRGB codes; light is linear luminance
    """
    light = luminance(pixels)
    ev = np.minimum(np.log2(light[light > 2.0**DARKEST_EV]), 0.0)
    counts, _ = np.histogram(ev, bins=steps, range=(DARKEST_EV, 0.0))
    shares: Shares = counts / max(1, light.size)
    return shares


def _spread_lines(spreads: Sequence[tuple[str, Shares]], width: int) -> list[Content]:
    fitting = [(name, _fit_columns(shares, max(8, width - LABEL_COLUMNS - 1))) for name, shares in spreads]
    most = max(float(shares.max()) for _, shares in fitting)
    darker = ", ".join(f"{name} {percent_text(max(0.0, 1 - float(shares.sum())))}" for name, shares in spreads)
    lines = [
        heading("LIGHT", "share of the picture by EV under white"),
        *(
            Content(f"{name:<{LABEL_COLUMNS}}" + "".join(_level(share / max(most, 1e-12)) for share in shares))
            for name, shares in fitting
        ),
    ]
    used = len(fitting[0][1])
    axis = [" "] * (used + 6)
    for ev in range(DARKEST_EV, 1, 2):
        text = "white" if ev == 0 else f"−{-ev}"
        at = round(used * (ev - DARKEST_EV) / -DARKEST_EV) - (len(text) if ev == 0 else 0)
        axis[at : at + len(text)] = text
    lines.append(Content.styled(" " * LABEL_COLUMNS + "".join(axis).rstrip(), QUIET))
    return [*lines, *_quiet(f"darker still: {darker}", LABEL_COLUMNS + used)]


def _fit_columns(shares: Shares, columns: int) -> Shares:
    """Each step as several columns where there is room, or neighbouring steps added up where there is too little."""
    if len(shares) <= columns:
        return np.repeat(shares, columns // len(shares))
    every = -(-len(shares) // columns)
    return np.add.reduceat(shares, np.arange(0, len(shares), every))


def _level(height: float) -> str:
    """A letter as high as the number, 0…1; anything above nothing shows."""
    return LEVELS[0] if height <= 0 else LEVELS[max(1, min(8, round(8 * height)))]


def _quiet(text: str, width: int) -> list[Content]:
    return [Content.styled(part, QUIET) for part in wrap(text, max(20, width))]
