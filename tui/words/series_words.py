"""Sentences on a focus series: the plan, the plane that comes next, the outcome of the frames."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from session.checks.focus.map import place_text
from session.frame.series_plane import Approach, MovedBy, SeriesPlane, SeriesToRun
from session.frame.shot_plane import ShotPlane, missing_planes, newest_by_plane, newest_outcome, same_plane
from session.series.coverage_map import FEWEST_FRAMES, Gap
from session.series.live_way import LiveWay
from session.series.series_check import MOVED_PX
from session.series.series_look import MovedSeries, SeriesLook
from session.set.kit import LensDrive
from session.shoot.events import RoomTold, SeriesChanged, SeriesPhase
from session.units.numbers import percent_text, place_mm_text, play_text, ratio_text, steps_text
from storage.reading.views import FrameRow
from tui.words.headline import Headline, Tone
from tui.words.keys import Where, hint
from tui.words.live_words import far_text
from tui.words.order_words import count_words

SHOT, NEXT, TO_COME = "█", "▒", "░"
"""A plane in the drawing: shot, being shot, to come."""

OF_WHAT_CAN_BE_TOLD = "of what can be told"
_SHARE = re.compile(rf"([0-9.]{{1,5}} % {OF_WHAT_CAN_BE_TOLD}) is sharp ")
"""The share in an outcome as `outcome_text` words it; another station may have written any text there."""

NOWHERE = "Nowhere is enough fine detail to tell what is sharp."

MOVED_BACK_SDS = 2.0
"""The set is back in place within so many standard deviations of the live picture's shift. Chosen."""

LIVE_TELLS_THE_WAY = f"{hint(Where.SERIES, 'live', 'live view')} tells how far it has gone."
BACK_BY_LIVE = f"{hint(Where.SERIES, 'live', 'live view')} tells the way back."
CANT_TELL_BACK = "The live picture doesn't tell where the set lies beside the frame from before it moved."
CANT_TELL_THE_WAY = "The live picture doesn't tell how far it has gone."

WAYS = {
    MovedBy.DRIVE: "by the camera's drive",
    MovedBy.RAIL: "by hand on the rail",
    MovedBy.RING: "by hand on the focus ring",
}


def plan_words(series: SeriesToRun, where_from: str = "") -> list[str]:
    """The plan in three short lines, and a fourth on where the steps a mm come from."""
    first, last = ("near", "far") if series.approach is Approach.NEAR else ("far", "near")
    apart = f" {series.step_mm:.2f} mm apart" if series.frames > 1 else ""
    steps = f", {steps_text(series.steps_per_mm)} steps a mm" if series.steps_per_mm else ""
    return [
        f"{frames_text(series.frames)}{apart}, each sharp over {series.depth_mm:.2f} mm",
        f"{WAYS[series.moved_by]}{steps}",
        *([where_from] if where_from else []),
        f"from the {first} end to the {last} end",
    ]


def drive_words(drive: LensDrive, today: date, *, kept: bool) -> str:
    """`measured 2 days ago at 1:1, ± 5 %, play 31 steps`, with the key that keeps it in the kit, unless `kept`."""
    when = "measured"
    if drive.measured_on is not None:
        days = (today - drive.measured_on).days
        when = "measured today" if days == 0 else f"measured {count_words(days, 'day')} ago"
        if days < 0:  # typed, or the clock was set
            when = f"measured on {drive.measured_on.day} {drive.measured_on:%B}"
    sd = drive.steps_per_mm_sd
    sure = f", ± {percent_text(sd / drive.steps_per_mm)}" if sd else ""
    keep = "" if kept else f". {hint(Where.SERIES, 'keep_drive', 'keeps it with the kit')}"
    return f"{when} at {ratio_text(drive.magnification)}{sure}, {play_text(drive.play_steps)}{keep}"


def frames_text(frames: int) -> str:
    """`7 frames`, `1 frame`."""
    return f"{frames} {'frame' if frames == 1 else 'frames'}"


def repeat_words(plan: SeriesPlane, numbers: Sequence[int]) -> str:
    """`frames 41 to 47: 7 planes 0.88 mm apart, from the near end to the far end, by hand on the rail`."""
    first, last = ("near", "far") if plan.approach is Approach.NEAR else ("far", "near")
    frames = f"frames {min(numbers)} to {max(numbers)}" if len(numbers) > 1 else f"frame {numbers[0]}"
    apart = f" {plan.step_mm:.2f} mm apart" if plan.frames > 1 else ""
    planes = count_words(plan.frames, "plane")
    return f"{frames}: {planes}{apart}, from the {first} end to the {last} end, {WAYS[plan.moved_by]}"


def planes_line(series: SeriesToRun, best: Sequence[ShotPlane], next_mm: float | None, width: int) -> list[str]:
    """The planes on a line from near to far, and the mm of both ends under it, in at most `width` characters."""
    places = sorted({*series.planes_mm, *(shot.plane.plane_mm for shot in best)})
    if len(places) > width:
        return []
    gap = max(0, min(3, (width - len(places)) // max(1, len(places) - 1)))
    signs = []
    for mm in places:
        here = series.plane(mm)
        shot = any(same_plane(here, one.plane.plane_mm) for one in best)
        is_next = next_mm is not None and same_plane(here, next_mm)
        signs.append(NEXT if is_next else SHOT if shot else TO_COME)
    line = (" " * gap).join(signs)
    near, far = place_mm_text(places[0]), place_mm_text(places[-1])
    under = near if len(places) == 1 else near + far.rjust(max(len(line) - len(near), len(far) + 1))
    return [line, under]


def room_words(room: RoomTold | None, frames: int) -> str:
    """`room for 412 frames on the card, 9000 on the disk`; says first when it is too little for the series."""
    if room is None:
        return ""
    known = {where: fit for where, fit in (("card", room.card_frames), ("disk", room.disk_frames)) if fit is not None}
    parts = [f"{fit} on the {where}" for where, fit in known.items()]
    least = min(known.values(), default=frames)
    short = f"Too little room for {frames_text(frames)}: " if least < frames else ""
    return f"{short}room for {', '.join(parts)}" if parts else ""


def headline(told: SeriesChanged, hand: LiveWay | str = "") -> Headline | None:
    """The large line of a series under way; None while the frame or the series' outcome has that line.

    hand  the way that the hand has gone since the last plane, or the words on why it isn't told
    """
    series, name = told.series, "" if told.plane_mm is None else told.series.plane(told.plane_mm).name
    if told.phase is SeriesPhase.MOVING:
        text = f"The drive goes to {name}. Touch nothing. {hint(Where.SERIES, 'pause')}"
        return Headline(name.upper(), text, Tone.BUSY)
    if told.phase is SeriesPhase.BY_HAND:
        if isinstance(hand, str):
            return _by_hand(series, told.move_mm, name, hand)
        return _on_the_way(series, told.move_mm or 0.0, name, hand)
    if told.phase is SeriesPhase.PAUSED and told.left:
        text = f"{told.text} {frames_text(told.left)} to go. {hint(Where.SERIES, 'go_on')}"
        return Headline("PAUSED", text.strip(), Tone.CAUTION)
    return None


def _on_the_way(series: SeriesToRun, move_mm: float, name: str, hand: LiveWay) -> Headline:
    """`BACK 0.14 mm`: what is left by the live picture, or that the plane is reached."""
    release = hint(Where.SERIES, "release")
    gone = abs(hand.moved_mm) if hand.moved_mm * move_mm >= 0 else -abs(hand.moved_mm)
    so_far = f"{gone:.2f} of {abs(move_mm):.2f} mm, ± {hand.sd_mm:.2f}".replace("-", "−")
    if hand.is_there(move_mm):
        return Headline("THERE", f"{so_far}: at {name}, take the hands off. {release}", Tone.GO)
    left_mm = move_mm - hand.moved_mm
    way = _way_word(series, left_mm)
    return Headline(f"{way} {abs(left_mm):.2f} mm", f"{so_far}: {way.lower()} {abs(left_mm):.2f}.", Tone.CAUTION)


def _way_word(series: SeriesToRun, move_mm: float) -> str:
    if series.moved_by is MovedBy.RAIL:
        return "FORWARD" if move_mm > 0 else "BACK"
    return "FARTHER" if move_mm > 0 else "NEARER"


def _by_hand(series: SeriesToRun, move_mm: float | None, name: str, why_not: str) -> Headline:
    large, sentence = hand_words(series, move_mm, name)
    return Headline(large, f"{sentence} {hint(Where.SERIES, 'release')} {why_not}".strip(), Tone.GO)


def hand_words(series: SeriesToRun, move_mm: float | None, name: str) -> tuple[str, str]:
    """The way of a hand to a plane of this name, in large letters and as a sentence; `move_mm` as of SeriesChanged."""
    if not move_mm:
        end = "NEAR END" if series.approach is Approach.NEAR else "FAR END"
        point = "nearest" if series.approach is Approach.NEAR else "farthest"
        where = f"Focus on the {point} place that must be sharp" if move_mm is None else f"At {name}"
        return end if move_mm is None else name.upper(), f"{where}, take the hands off."
    way, by = _way_word(series, move_mm), f"{abs(move_mm):.2f} mm"
    act = "Move the camera" if series.moved_by is MovedBy.RAIL else "Turn the ring"
    return f"{way} {by}", f"{act} {way.lower()} by {by}, to {name}, take the hands off."


def moved_headline(moved: MovedSeries) -> Headline:
    """The set moved for good: what may be done, nothing is lost."""
    back = f"{hint(Where.SERIES, 'put_back', 'shows the way back')}"
    stays = f"{hint(Where.SERIES, 'as_it_stands', 'shoots')} the {frames_text(len(moved.before))} of before again"
    return Headline("SET MOVED", f"{moved_words(moved)} {back}, or {stays} as the set stands now.", Tone.STOP)


def moved_words(moved: MovedSeries) -> str:
    """`Since frame 4 all lies 3.0 px right, 0.2 mm; nothing is lost.`"""
    lies = _lies_words(moved.right_px, moved.down_px, moved.mm_per_px)
    first = min(moved.since, key=lambda shot: shot.number)
    return f"Since frame {first.number} all lies {lies}; nothing is lost."


def is_back(moved: MovedSeries, found: LiveWay | None) -> bool:
    """Whether the set lies where it lay before it moved, as near as the live picture tells."""
    if found is None:
        return False
    off = found.without(*moved.usual_px_per_mm)
    return math.hypot(off.right_px, off.down_px) <= max(MOVED_PX, MOVED_BACK_SDS * off.shift_sd_px)


def back_headline(moved: MovedSeries, found: LiveWay | str | None) -> Headline:
    """The way back to where the set was before it moved, by the live picture; or the words on why it isn't told."""
    stays = hint(Where.SERIES, "as_it_stands", "shoots it as it stands")
    if isinstance(found, str):
        return Headline("SET MOVED", f"{found} {stays}.", Tone.CAUTION)
    if found is None:
        return Headline("SET MOVED", "The live picture is compared with the frame from before it moved.", Tone.BUSY)
    is_there, found = is_back(moved, found), found.without(*moved.usual_px_per_mm)
    lies = f"{_lies_words(found.right_px, found.down_px, moved.mm_per_px)}, ± {found.shift_sd_px:.1f} px"
    if is_there:
        go = f"{hint(Where.SERIES, 'go_on', 'shoots')} the {frames_text(len(moved.since))} of since then again"
        if MOVED_BACK_SDS * found.shift_sd_px > MOVED_PX:
            coarse = f"It lies {lies}: the live picture is too coarse to tell whether frames would match"
            return Headline("NEARLY IN PLACE", f"{coarse}. {go}, {stays}.", Tone.CAUTION)
        return Headline("IN PLACE", f"It lies {lies}, as near as the live picture tells. {go}.", Tone.GO)
    sideways = abs(found.right_px) >= abs(found.down_px)
    large = f"{abs(found.right_px):.1f} px {'RIGHT' if found.right_px > 0 else 'LEFT'}"
    if not sideways:
        large = f"{abs(found.down_px):.1f} px {'LOW' if found.down_px > 0 else 'HIGH'}"
    return Headline(large, f"It lies {lies}: move the camera that way, or the piece the other.", Tone.CAUTION)


def _lies_words(right_px: float, down_px: float, mm_per_px: float) -> str:
    across = far_text(right_px, right_px * mm_per_px, "right", "left")
    return f"{across}, {far_text(down_px, down_px * mm_per_px, 'low', 'high')}"


def outcome_headline(look: SeriesLook) -> Headline:
    """What a series that is shot came to, as the large line and a sentence."""
    go = hint(Where.SERIES, "go_on", "shoots")
    if look.trouble:
        return Headline("COVERED ?", f"The series can't be told: {look.trouble}.", Tone.CAUTION)
    if look.faults:
        shot = next(one for one in look.best if one.frame_id in look.faults)
        text = f"Frame {shot.number}, {shot.plane.name}, {look.faults[shot.frame_id]}. {go} it again."
        return Headline("FRAME DIFFERS", text, Tone.STOP)
    if look.missing_mm:
        them = "it" if len(look.missing_mm) == 1 else "them"
        return Headline("NOT WHOLE", f"{frames_text(len(look.missing_mm))} to go. {go} {them}.", Tone.CAUTION)
    if not look.is_measured:
        return Headline("SERIES ?", "The frames are being looked at.", Tone.BUSY)
    if len(look.best) < FEWEST_FRAMES:
        return Headline("ONE FRAME", "Its own checks tell whether it is sharp.", Tone.GO)
    return _map_headline(look, go)


def _map_headline(look: SeriesLook, go: str) -> Headline:
    if look.gaps:
        largest, others = look.largest_gap, len(look.gaps) - 1
        more = f" And {others} more {'gap' if others == 1 else 'gaps'}." if others else ""
        text = f"{gap_words(largest, look)}{more} {go} {frames_text(len(look.more_mm))}."
        return Headline(f"GAP {largest.far_mm - largest.near_mm:.1f} mm", text, Tone.STOP)
    if look.found is None or not look.found.judged:
        return Headline("COVERED ?", NOWHERE, Tone.CAUTION)
    return Headline("COVERED", f"{outcome_text(look)} Look at the preview closely too.", Tone.GOOD)


def gap_words(gap: Gap, look: SeriesLook) -> str:
    """`2 % was never sharp, most of it top left: 1 frame more between planes 3 and 4.`"""
    if gap.after < 0:
        where = f"in front of {look.best[0].plane.name}"
    elif gap.after >= len(look.best) - 1:
        where = f"beyond {look.best[-1].plane.name}"
    else:
        where = f"between {look.best[gap.after].plane.name} and {look.best[gap.after + 1].plane.name}"
    more = f"{frames_text(gap.frames)} more"
    return f"{percent_text(gap.share)} was never sharp, most of it {place_text(gap.middle)}: {more} {where}."


def outcome_text(look: SeriesLook) -> str:
    """The outcome in one sentence for the log, ledger and papers; "" while it can't be told."""
    if look.found is None:
        return ""
    if not look.found.judged:
        return NOWHERE
    covered = percent_text(look.found.covered_share)
    told = f"{covered} {OF_WHAT_CAN_BE_TOLD} is sharp in {frames_text(len(look.best))}"
    unknown = f"; {percent_text(look.found.unknown_share)} of the picture has too little detail to tell"
    gaps = "".join(f" {gap_words(gap, look)}" for gap in look.gaps)
    return f"{told}{unknown}.{gaps}"


def shot_words(shot: ShotPlane, fault: str) -> str:
    """`plane 3 of 7: frame 44`, and a fault of the frame."""
    return f"{shot.plane.name}: frame {shot.number}{f' {fault}' if fault else ''}"


def unfinished_words(shots: Sequence[ShotPlane]) -> str:
    """`Focus series of 7: plane 4 of 7 is next, 4 to go.`; "" for a series whose planes all have a good frame."""
    plan = shots[0].plane if shots else None
    lacking = missing_planes(plan.planes_mm, shots) if plan else ()
    if plan is None or not lacking:
        return ""
    return _to_go_words(plan.frames, replace(plan, plane_mm=lacking[0]).name, len(lacking))


def left_words(told: SeriesChanged | None) -> str:
    """The same for a series that was begun in this run and isn't done; "" without one."""
    if told is None or told.phase is SeriesPhase.DONE or not told.left or told.plane_mm is None:
        return ""
    return _to_go_words(told.series.frames, told.series.plane(told.plane_mm).name, told.left)


def _to_go_words(frames: int, name: str, left: int) -> str:
    return f"Focus series of {frames}: {name} is next, {left} to go; {hint(Where.BENCH, 'series', 'goes on')} with it."


def series_row_words(rows: Sequence[FrameRow], outcomes: Mapping[str, str]) -> str:
    """`series of 7, sharp: 99 % of what can be told`, `series 3 of 7`: a whole series as one row of the ledger.

    rows      of one series
    outcomes  frame's key → what the series came to, as it was kept in the log
    """
    shots = [row.shot_plane for row in rows if row.shot_plane]
    words = shot_series_words(shots)
    if missing_planes(shots[0].plane.planes_mm, shots):
        return words
    share = _SHARE.match(newest_outcome(shots, outcomes))
    return words + (f", sharp: {share[1]}" if share else "")


def shot_series_words(shots: Sequence[ShotPlane]) -> str:
    """`series of 7`, `series 3 of 7` where planes of the plan lack a good frame; of all frames of one series."""
    plan = shots[0].plane
    lacking = missing_planes(plan.planes_mm, shots)
    if lacking:
        return f"series {plan.frames - len(lacking)} of {plan.frames}"
    return f"series of {len(newest_by_plane(shots))}"


def narrowed_series_words(rows: Sequence[FrameRow]) -> str:
    """`2 frames of a series of 7 planes`. A narrowed list doesn't tell what the series lacks."""
    series = rows[0].series
    assert series is not None
    return f"{frames_text(len(rows))} of a series of {count_words(series.frames, 'plane')}"
