"""The panel beside the picture: lights and findings; in live view the instruments; in full the newest frames too."""

from __future__ import annotations

import math
from collections.abc import Iterable
from textwrap import wrap

from textual.content import Content

from session.frame.moves import Moves
from session.rules.stillness_rules import still_limit_px
from session.set.setup import Confirmation, Revision
from tui.screen import panels
from tui.screen.panels import cut, heading
from tui.words.live_model import REMEMBERED_S, LiveModel
from tui.words.live_words import contrast_text
from tui.words.model import BenchModel

LEDGER_ROWS = 4
"""What lights and findings leave to the ledger beside them, however many they are."""

STEPS = "▁▂▃▄▅▆▇█"

LEAST_SPAN = math.log(1.25)
"""From bottom to top a trend line spans at least a quarter more contrast, so that unsteadiness alone looks flat, and
flat at the best stands at the top. Chosen: unsteadiness of a dim set is some hundredths."""


def side_text(model: BenchModel, correction: str | None, now_s: float, width: int, height: int) -> Content:
    """At 80 columns, at `now_s` seconds: lights or instruments, and under them the findings."""
    live = live_panel(model.live, model.revision, correction, width) if model.live.on else []
    first = live or panels.as_many(panels.lights_panel(model.revision, width), max(2, height // 2))
    return panels.stack(panels.as_many([*first, *panels.findings_panel(model, width, now_s)], height))


def wide_side_text(model: BenchModel, correction: str | None, now_s: float, width: int, height: int) -> Content:
    """In a wide terminal, at `now_s` seconds: instruments, lights, findings and the newest frames, each in full."""
    live = live_panel(model.live, model.revision, correction, width) if model.live.on else []
    lights = panels.lights_panel(model.revision, width)
    lights = [*live, Content(""), *lights] if live else lights
    findings = panels.findings_panel(model, width, now_s)
    top = panels.as_many([*lights, Content(""), *findings, Content("")], height - LEDGER_ROWS)
    return panels.stack([*top, *panels.ledger_list(model, width, height - len(top))])


def live_panel(live: LiveModel, revision: Revision | None, correction: str | None, width: int) -> list[Content]:
    """Some lines of at most `width` cells. correction: None while nothing is compared with the reference."""
    focus = live.focus
    best = f"best {contrast_text(focus.best_contrast)}" if focus and focus.best_contrast else "not measured yet"
    kept = f", kept {contrast_text(live.kept.contrast)}" if live.kept else ""
    lines = [heading("FOCUS", f"{best}{kept}")]
    lines.append(Content.styled(trend_line(live.trend, width, focus.best_contrast if focus else None), "$primary"))
    lines += [heading("STILLNESS", "released by it" if _by_stillness(revision) else "")]
    lines += [Content(cut(text, width)) for text in still_texts(live.seen_moves, revision)]
    if correction is not None:
        lines.append(heading("REFERENCE"))
        lines += [Content(text) for text in wrap(correction or "is being matched …", max(8, width))]
    return lines


def trend_line(trend: Iterable[tuple[float, float]], width: int, best_contrast: float | None = None) -> str:
    """The last REMEMBERED_S in `width` cells, newest at the right; a cell is the mean of its time, " " without one.

    trend          (time, fine contrast in percent), oldest first
    best_contrast  the best so far stands at the top, also when it was longer ago than the line goes back
    """
    cell_s = REMEMBERED_S / max(1, width)
    means: dict[int, tuple[float, int]] = {}
    for at_s, contrast in trend:
        cell = math.floor(at_s / cell_s)
        total, count = means.get(cell, (0.0, 0))
        means[cell] = (total + math.log(contrast), count + 1)
    if not means or width < 1:
        return ""
    logs = {cell: total / count for cell, (total, count) in means.items()}
    high, last = max(logs.values()), max(logs)
    if best_contrast is not None:
        high = max(high, math.log(best_contrast))
    low = min(high - LEAST_SPAN, *logs.values())
    cells = range(last - width + 1, last + 1)
    return "".join(STEPS[_step((logs[c] - low) / (high - low))] if c in logs else " " for c in cells)


def still_texts(moves: Moves | None, revision: Revision | None) -> list[str]:
    """How far the picture moves, and since when it doesn't."""
    if moves is None or revision is None:
        return ["not seen"]
    limit = f"limit ±{still_limit_px(revision):.1f} px at the sensor"
    if moves.moving_px is None:
        return [f"being watched, {limit}"]
    since = ""
    if moves.still_since_s is not None:
        since = f", still for {moves.seen_s - moves.still_since_s:.0f} s"
    return [f"moves ±{moves.moving_px:.1f} px{since}", limit]


def _step(share: float) -> int:
    return min(len(STEPS) - 1, int(share * len(STEPS)))


def _by_stillness(revision: Revision | None) -> bool:
    return revision is not None and Confirmation.BY_STILLNESS in revision.confirmed
