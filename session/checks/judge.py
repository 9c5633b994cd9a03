"""All checks on one frame. Whatever is wrong with a picture becomes a finding, never an exception."""

from __future__ import annotations

from collections.abc import Callable

from session.checks import band, exposure, file, flash, focus, settings
from session.checks.limits import CLIPPED_SURFACE_SHARE
from session.checks.material import Material, Pair, gather, pair
from session.checks.shadow import Band
from session.finding import Finding, FocusJudgement, FocusVerdict, Level
from session.ports import Assignment, Judgement
from session.preview import UnreadablePicture

Gather = Callable[[str, int | None], Material]
"""Opens a picture by its path and the sensor's pixels across; may remember it."""


def judge(assignment: Assignment, gather_reference: Gather = gather) -> Judgement:
    """Run all checks on the frame of an assignment.

    gather_reference  how the reference is opened; a process that judges many frames hands in one that remembers
    """
    try:
        frame = gather(assignment.path, assignment.pixels_across)
    except UnreadablePicture as error:
        return _without_picture(assignment, (file.unreadable(assignment.path, str(error)),), str(error))
    found = file.whole(assignment.path, frame.source, assignment.expected_bytes)
    found += settings.as_asked(frame.exif, assignment.asked)
    both, why = _held_against(assignment, frame, gather_reference)
    region = assignment.revision.region
    now = exposure.measure(frame, region, both)
    shadow = band.find(frame, both, frame.exif.exposure_s or _asked_exposure_s(assignment))
    found += band.findings(shadow)
    if shadow is None:
        found += _light(assignment, frame, both, now)
    try:
        judged = _focus(assignment, frame, both, now, shadow, why)
    except UnreadablePicture as error:
        found += (file.unreadable(assignment.path, str(error)),)
        judged = FocusJudgement(FocusVerdict.UNJUDGED, reason=f"the picture {error}")
    found += focus.findings(judged, assignment.revision.blur_limit_px)
    return Judgement(assignment.frame_id, found, judged)


def unjudged(assignment: Assignment, reason: str) -> Judgement:
    """The judgement of a frame that could not be looked at; `reason` is a clause without a full stop."""
    finding = Finding("focus", Level.NOTE, f"Not judged: {reason}.")
    return Judgement(assignment.frame_id, (finding,), FocusJudgement(FocusVerdict.UNJUDGED, reason=reason))


def _without_picture(assignment: Assignment, found: tuple[Finding, ...], clause: str) -> Judgement:
    reason = f"the picture {clause}"
    return Judgement(assignment.frame_id, found, FocusJudgement(FocusVerdict.UNJUDGED, reason=reason))


def _held_against(assignment: Assignment, frame: Material, gather_reference: Gather) -> tuple[Pair | None, str]:
    """The frame and its reference, or None and why there is none."""
    if not assignment.reference_path:
        return None, focus.FIRST_FRAME
    try:
        reference = gather_reference(assignment.reference_path, assignment.pixels_across)
    except UnreadablePicture as error:
        return None, f"the reference {error}"
    return pair(frame, reference), ""


def _light(assignment: Assignment, frame: Material, both: Pair | None, now: exposure.Exposure) -> tuple[Finding, ...]:
    """Flash, exposure and clipping: what the flash explains isn't told twice."""
    flashes: tuple[Finding, ...] = ()
    if assignment.flash_used:
        flashes = flash.against_reference(now, frame, both.reference) if both else flash.alone(frame)
    burnt_out = max(now.region_surface_share, now.whole_surface_share) > CLIPPED_SURFACE_SHARE
    before = exposure.measure(both.reference, assignment.revision.region) if both and burnt_out else None
    bright = exposure.findings(now, before)
    return flashes + tuple(finding for finding in bright if not (flashes and finding.id == "exposure"))


def _focus(
    assignment: Assignment,
    frame: Material,
    both: Pair | None,
    now: exposure.Exposure,
    shadow: Band | None,
    why: str,
) -> FocusJudgement:
    revision = assignment.revision
    if both is None:
        return FocusJudgement(FocusVerdict.UNJUDGED, reason=why)
    if shadow and band.covers(shadow, revision.region):
        return FocusJudgement(FocusVerdict.UNJUDGED, reason="the dark band lies over the region")
    return focus.judge(both, revision, now, f_number=frame.exif.f_number, sensor_width_mm=assignment.sensor_width_mm)


def _asked_exposure_s(assignment: Assignment) -> float | None:
    asked = assignment.asked.get("exposure_s")
    return float(asked) if isinstance(asked, int | float) else None
