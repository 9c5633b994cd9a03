"""All checks on one frame. Whatever is wrong with a picture becomes a finding, never an exception."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from session.checks.band import band_verdict as band
from session.checks.band.shadow import Band
from session.checks.drift import drift_verdict as drift
from session.checks.focus import focus_verdict as focus
from session.checks.focus import tilt
from session.checks.focus.miss_side import MissSide
from session.checks.judge.examined import Examined
from session.checks.light import (
    ambient,
    brightness,
    colour,
    evenness,
    flash_fired,
    grey_patch,
    missing_light,
    new_piece,
)
from session.checks.light.cells import cells_of_plain
from session.checks.material import file, settings
from session.checks.material.check_limits import CLIPPED_SURFACE_SHARE
from session.checks.material.checked_picture import Material, Pair, gather, pair
from session.checks.standard import standard_verdict
from session.frame.finding import SPOILT, CheckId, Finding, FocusJudgement, FocusVerdict, Level
from session.frame.ports import Agreement, Assignment, Judgement
from session.picture.preview import UnreadablePicture
from session.set.setup import Region
from session.units.refusals import ImpossibleNumbersError

FROM_PREVIEW = "The reference's file isn't there: compared with its stored preview, which shows no fine detail."
PREVIEW_DOES_NOT_FIT = (
    "The reference's file isn't there, and its stored preview is of another scale or shape; nothing was compared."
)

ONE_PLANE = "one plane of a focus series, whose map tells what is sharp"

Gather = Callable[[str, int | None, float | None], Material]
"""Opens a picture by its path, the sensor's pixels across and the blur limit, px; may remember it."""


def judge(assignment: Assignment, gather_reference: Gather = gather, gather_frame: Gather = gather) -> Judgement:
    """Run all checks on the frame of an assignment; `Examined` where its picture could be read.

    gather_reference, gather_frame  how the pictures are opened; a process that judges many frames keeps them
    """
    try:
        frame = gather_frame(assignment.path, assignment.pixels_across, assignment.revision.blur_limit_px)
    except UnreadablePicture as error:
        return _judge_unread(assignment, file.unreadable(assignment.path, str(error)), f"the picture {error}")
    if assignment.region_px:
        try:
            region = _region_of(assignment.region_px, frame)
        except ValueError as error:
            sentence = f"{str(error)[:1].upper()}{str(error)[1:]}."
            return _judge_unread(assignment, Finding(CheckId.REGION, Level.CAUTION, sentence), str(error))
        assignment = replace(assignment, revision=replace(assignment.revision, region=region))
    found = file.whole(assignment.path, frame.source, assignment.expected_bytes)
    found += settings.as_asked(frame.exif, assignment.asked)
    if assignment.solo:
        judged = FocusJudgement(FocusVerdict.UNJUDGED, reason=f"it was to be lit by {assignment.solo} alone")
        return Judgement(assignment.frame_id, found, judged)
    both, why = _pair_with_reference(assignment, frame, gather_reference)
    if both and both.reference.source.is_stored_preview:
        level, text = (Level.NOTE, FROM_PREVIEW) if both.same_size else (Level.CAUTION, PREVIEW_DOES_NOT_FIT)
        found += (Finding(CheckId.REFERENCE, level, text),)
    if assignment.ambient:
        return _ambient(assignment, frame, both, found)
    region = assignment.revision.region
    now = brightness.measure(frame, region, both)
    shadow = band.find(frame, both, frame.exif.exposure_s or _asked_exposure_s(assignment), assignment.wholly_open_s)
    found += band.findings(shadow)
    moved, even, tint = None, None, None
    if shadow is None:
        moved = drift.measure(both, region) if both and not assignment.in_series else None
        expected = _new_piece_light(assignment, frame, gather_reference)
        light = expected if _tells_flash(expected) else _light(assignment, frame, both, now) + expected
        found += light
        if not any(finding.id in (CheckId.FLASH, CheckId.LIGHT) for finding in light):
            even, tint = _evenness(frame, both), _colour(assignment, both)
            found += evenness.findings(even) + colour.findings(tint)
    found += drift.findings(moved, assignment.revision, _mm_per_px(assignment), building=assignment.building)
    try:
        judged, tilted, side = _focus(assignment, frame, both, now, shadow, why)
    except UnreadablePicture as error:
        found += (file.unreadable(assignment.path, str(error)),)
        judged, tilted, side = FocusJudgement(FocusVerdict.UNJUDGED, reason=f"the picture {error}"), None, None
    found += focus.findings(judged, assignment.revision.blur_limit_px, side)
    found += tilt.findings(tilted, assignment.revision.blur_limit_px)
    if assignment.agreement and not assignment.in_series and not any(finding.id in SPOILT for finding in found):
        found += _standard(assignment, assignment.agreement, frame, judged, gather_reference)
    spoilt = any(finding.id in SPOILT for finding in found)
    grey_ev = None if spoilt else grey_patch.measure(frame, assignment.revision.grey_patch)
    return Examined(assignment.frame_id, found, judged, None, grey_ev, now, shadow, moved, even, tint, tilted)


def _standard(
    assignment: Assignment, agreement: Agreement, frame: Material, judged: FocusJudgement, gather_reference: Gather
) -> tuple[Finding, ...]:
    """Findings against the client's standard; an accepted frame that can't be opened counts as none."""
    revision, example = assignment.revision, None
    if agreement.example is not None and agreement.standard.from_piece_to_piece:
        try:
            example = gather_reference(agreement.example.path, assignment.pixels_across, revision.blur_limit_px)
        except UnreadablePicture:
            example = None
    return standard_verdict.findings(agreement.standard, frame, example, revision, judged)


def without_verdict(assignment: Assignment, reason: str) -> Judgement:
    """The judgement of a frame that could not be looked at; `reason` is a clause without a full stop."""
    finding = Finding(CheckId.FOCUS, Level.NOTE, f"Not judged: {reason}.")
    return Judgement(assignment.frame_id, (finding,), FocusJudgement(FocusVerdict.UNJUDGED, reason=reason))


def _judge_unread(assignment: Assignment, finding: Finding, reason: str) -> Judgement:
    return Judgement(assignment.frame_id, (finding,), FocusJudgement(FocusVerdict.UNJUDGED, reason=reason))


def _region_of(region_px: tuple[int, int, int, int], frame: Material) -> Region:
    """Left, top, width and height in pixels as fractions. Raises ValueError with a clause when it isn't inside."""
    left, top, width, height = region_px
    across, along = frame.source.full_width_px, frame.source.full_height_px
    try:
        return Region(left / across, top / along, width / across, height / along)
    except ValueError:
        text = f"the region {left},{top},{width},{height} doesn't lie in the picture of {across} × {along} pixels"
        raise ImpossibleNumbersError(text) from None


def _ambient(assignment: Assignment, frame: Material, both: Pair | None, found: tuple[Finding, ...]) -> Judgement:
    """An ambient frame: the ambient light and whether the file is whole, for nothing else is to be seen on it."""
    room = (
        ambient.measure(frame, both.reference)
        if both
        else ambient.MeasuredAmbient(None, reason="there is no reference")
    )
    reason = "released with the lights off"
    focus_judgement = FocusJudgement(FocusVerdict.UNJUDGED, reason=reason)
    return Judgement(assignment.frame_id, found + ambient.findings(room), focus_judgement, room.ev)


def _mm_per_px(assignment: Assignment) -> float | None:
    """Millimetres on the piece for a full-size pixel, None where the body isn't known."""
    if not assignment.sensor_width_mm or not assignment.pixels_across:
        return None
    return assignment.sensor_width_mm / assignment.pixels_across / assignment.revision.arrangement.magnification


def _pair_with_reference(assignment: Assignment, frame: Material, gather_reference: Gather) -> tuple[Pair | None, str]:
    """The frame and its reference as a pair; else None and the reason."""
    if not assignment.reference_path:
        return None, assignment.why_alone or focus.NO_REFERENCE
    try:
        limit_px = assignment.revision.blur_limit_px
        reference = gather_reference(assignment.reference_path, assignment.pixels_across, limit_px)
    except UnreadablePicture as error:
        return None, f"the reference {error}"
    return pair(frame, reference), ""


def _light(assignment: Assignment, frame: Material, both: Pair | None, now: brightness.Exposure) -> tuple[Finding, ...]:
    """Findings on flash, missing light, exposure and clipping.

    A missing light that explains the exposure takes the place of the exposure's finding.
    """
    flashes: tuple[Finding, ...] = ()
    lights = len(assignment.revision.lights)
    if assignment.flash_used:
        flashes = (
            flash_fired.against_reference(now, frame, both.reference, lights) if both else flash_fired.alone(frame)
        )
    gone = missing_light.findings(_absent_light(assignment, frame, both))
    flashes = gone or flashes
    burnt_out = max(now.region_surface_share, now.whole_surface_share) > CLIPPED_SURFACE_SHARE
    before = brightness.measure(both.reference, assignment.revision.region) if both and burnt_out else None
    bright = brightness.findings(now, before)
    return flashes + tuple(finding for finding in bright if not (flashes and finding.id == CheckId.EXPOSURE))


def _new_piece_light(assignment: Assignment, frame: Material, gather_reference: Gather) -> tuple[Finding, ...]:
    """Findings on a new piece's light against the piece before; () when the reference can't be opened."""
    revision = assignment.revision
    if not assignment.expected_path or assignment.reference_path:
        return ()
    try:
        before = gather_reference(assignment.expected_path, assignment.pixels_across, revision.blur_limit_px)
    except UnreadablePicture:  # said when it was the reference; this piece doesn't depend on it
        return ()
    return new_piece.findings(frame, before, revision, flash_used=assignment.flash_used)


def _tells_flash(found: tuple[Finding, ...]) -> bool:
    return any(finding.id == CheckId.FLASH for finding in found)


def _evenness(frame: Material, both: Pair | None) -> evenness.Evenness | None:
    """The evenness against the reference where both show the same; else that of a plain picture."""
    return evenness.against_reference(both) if both and _alike(both) else evenness.alone(frame)


def _colour(assignment: Assignment, both: Pair | None) -> colour.Colour | None:
    """The colour against the reference where both show the same; else only that of a grey patch."""
    if both is None:
        return None
    revision = assignment.revision
    found = colour.measure(both, revision.region, revision.grey_patch)
    if found is None or _alike(both):
        return found
    return replace(found, shadows_ev=None) if found.on_patch else None


def _alike(both: Pair) -> bool:
    """Whether both show the same, or nothing but an even surface: light can be compared place by place."""
    if not both.same_size:
        return False
    return both.shift.found or all(cells_of_plain(one) is not None for one in (both.frame, both.reference))


def _absent_light(assignment: Assignment, frame: Material, both: Pair | None) -> missing_light.MissingLight | None:
    mm_per_px = _mm_per_px(assignment)
    if both is None or not both.shift.found or mm_per_px is None:
        return None
    mm = mm_per_px * frame.px_per_pixel
    field_mm = (frame.source.full_width_px * mm, frame.source.full_height_px * mm)
    return missing_light.name_missing_light(both, assignment.revision, assignment.guide_numbers_m, field_mm)


def _focus(
    assignment: Assignment,
    frame: Material,
    both: Pair | None,
    now: brightness.Exposure,
    shadow: Band | None,
    why: str,
) -> tuple[FocusJudgement, tilt.Tilt | None, MissSide | None]:
    """The judgement of the region, the tilt of a piece that stands otherwise than before, and the side of a miss."""
    revision, width_mm = assignment.revision, assignment.sensor_width_mm
    if assignment.in_series:
        return FocusJudgement(FocusVerdict.UNJUDGED, reason=ONE_PLANE), None, None
    if both is None:
        return FocusJudgement(FocusVerdict.UNJUDGED, reason=why), None, None
    if shadow and band.covers(shadow, revision.region):
        return FocusJudgement(FocusVerdict.UNJUDGED, reason="the dark band lies over the region"), None, None
    found = focus.judge(both, revision, now, f_number=frame.exif.f_number, sensor_width_mm=width_mm)
    leaning = tilt.measure(both, found.tiles, revision, f_number=frame.exif.f_number, sensor_width_mm=width_mm)
    return found.focus, leaning, found.side


def _asked_exposure_s(assignment: Assignment) -> float | None:
    asked = assignment.asked.get("exposure_s")
    return float(asked) if isinstance(asked, int | float) else None
