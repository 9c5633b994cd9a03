"""All checks on one frame. Whatever is wrong with a picture becomes a finding, never an exception."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from session.checks import band, exposure, file, flash, focus, settings
from session.checks.examined import Examined, Moved
from session.checks.limits import CLIPPED_SURFACE_SHARE
from session.checks.material import Material, Pair, gather, pair
from session.checks.shadow import Band
from session.finding import Finding, FocusJudgement, FocusVerdict, Level
from session.ports import Assignment, Judgement
from session.preview import UnreadablePicture
from session.setup import Region

Gather = Callable[[str, int | None], Material]
"""Opens a picture by its path and the sensor's pixels across; may remember it."""


def judge(assignment: Assignment, gather_reference: Gather = gather) -> Judgement:
    """Run all checks on the frame of an assignment; `Examined` where its picture could be read.

    gather_reference  how the reference is opened; a process that judges many frames hands in one that remembers
    """
    try:
        frame = gather(assignment.path, assignment.pixels_across)
    except UnreadablePicture as error:
        return _not_examined(assignment, file.unreadable(assignment.path, str(error)), f"the picture {error}")
    if assignment.region_px:
        try:
            region = _region_of(assignment.region_px, frame)
        except ValueError as error:
            sentence = f"{str(error)[:1].upper()}{str(error)[1:]}."
            return _not_examined(assignment, Finding("region", Level.CAUTION, sentence), str(error))
        assignment = replace(assignment, revision=replace(assignment.revision, region=region))
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
    return Examined(assignment.frame_id, found, judged, now, shadow, _moved(both))


def unjudged(assignment: Assignment, reason: str) -> Judgement:
    """The judgement of a frame that could not be looked at; `reason` is a clause without a full stop."""
    finding = Finding("focus", Level.NOTE, f"Not judged: {reason}.")
    return Judgement(assignment.frame_id, (finding,), FocusJudgement(FocusVerdict.UNJUDGED, reason=reason))


def _not_examined(assignment: Assignment, finding: Finding, reason: str) -> Judgement:
    return Judgement(assignment.frame_id, (finding,), FocusJudgement(FocusVerdict.UNJUDGED, reason=reason))


def _region_of(region_px: tuple[int, int, int, int], frame: Material) -> Region:
    """Left, top, width and height in pixels as fractions. Raises ValueError with a clause when it isn't inside."""
    left, top, width, height = region_px
    across, along = frame.source.full_width_px, frame.source.full_height_px
    try:
        return Region(left / across, top / along, width / across, height / along)
    except ValueError:
        text = f"the region {left},{top},{width},{height} doesn't lie in the picture of {across} × {along} pixels"
        raise ValueError(text) from None


def _moved(both: Pair | None) -> Moved | None:
    if both is None or not both.same_size or not both.shift.found:
        return None
    scale = both.reference.small_scale
    return Moved(both.shift.right_px / scale, both.shift.down_px / scale)


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
