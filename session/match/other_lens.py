"""Another lens in a set built again: what has to change for the same picture, and what can't be the same.

The same picture of the same sensor has the same ratio, and with it the same working f-number, so that depth of
field, diffraction and light are unchanged. The entrance pupil decides the perspective. Sources:
`session.optics.closeup`, `session.optics.arrangement`; what a lens is in use, `session.plan.arrangements`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from session.match.other_body import ALIKE, marked_f_number, stop_lacking
from session.plan.arrangements import Build
from session.set.kit import Lens
from session.set.lens_in_use import lens_in_use
from session.set.setup import Arrangement, Revision
from session.units.numbers import f_text, mm_text, ratio_text


def on_lens(revision: Revision, build: Build, times: float) -> Revision:
    """The set-up with another lens for the same picture: its arrangement, and the f-number marked on it.

    times  how many times as wide the sensor is as that of then
    The distance by tape is from the front of the lens, so nobody has measured that of another lens yet.
    """
    arrangement, lens = arrangement_with(build, revision.arrangement.magnification * times), build.lens
    wanted = _f_number_as_then(revision, arrangement, times)
    f_number = None
    if wanted is not None and not build.aperture_by_hand:
        f_number = marked_f_number(
            wanted, lens.widest_f_number, lens.smallest_f_number, like=revision.settings.f_number
        )
    settings = replace(revision.settings, f_number=f_number)
    return replace(revision, arrangement=arrangement, settings=settings, working_distance_mm=None)


def _f_number_as_then(revision: Revision, now: Arrangement, times: float) -> float | None:
    """The f-number on the lens of now that works as that of then did; None where it is set by hand."""
    f_number = revision.settings.f_number
    if f_number is None:
        return None
    then_used, now_used = lens_in_use(revision.arrangement, f_number), lens_in_use(now, f_number)
    return f_number * then_used.effective_f_number * times / now_used.effective_f_number


def _front_mm(build: Build, now: Arrangement) -> float | None:
    """From the front of the lens to the piece, mm; None where the kit doesn't tell where it looks out from."""
    to_pupil_mm = build.front_to_pupil_mm()
    return None if to_pupil_mm is None else lens_in_use(now, 1.0).entrance_pupil_distance_mm - to_pupil_mm


def arrangement_with(build: Build, magnification: float) -> Arrangement:
    """The lens as it comes to a ratio, on tubes of (m − m_closest)·f mm where it doesn't by itself."""
    own = build.own_ratio_for(magnification)
    focal_mm, lens = build.focal_length_mm(own), build.lens
    short = magnification - (build.ratio(own) or 0.0)
    extension_mm = short * focal_mm if lens.closest_magnification and short > ALIKE * magnification else 0.0
    return Arrangement(lens.name, focal_mm, magnification, build.pupil_magnification, extension_mm=extension_mm)


def other_lens_words(revision: Revision, build: Build, times: float) -> Iterator[str]:
    """Clauses on what another lens changes; `times` as in `on_lens`."""
    old, wanted = revision.arrangement, revision.arrangement.magnification * times
    lens = build.lens
    now = arrangement_with(build, wanted)
    f_number, wanted_f_number = revision.settings.f_number, _f_number_as_then(revision, now, times)
    marked = f_number or 1.0
    then_used, now_used = lens_in_use(old, marked), lens_in_use(now, marked)
    yield f"{lens.name} at {ratio_text(wanted)} shows the same field"
    if now.extension_mm:
        by_itself, tubes = ratio_text(lens.closest_magnification), mm_text(now.extension_mm)
        yield f"it comes to {by_itself} by itself: {tubes} of tubes for it"
    if f_number is not None and wanted_f_number is not None:
        yield from _stop_words(lens, f_number, wanted_f_number)
        if build.aperture_by_hand:
            yield "its aperture is set by hand"
    nearer_mm = then_used.entrance_pupil_distance_mm - now_used.entrance_pupil_distance_mm
    if abs(nearer_mm) <= ALIKE * then_used.entrance_pupil_distance_mm:
        yield "the perspective is as before"
    else:
        way = "nearer" if nearer_mm > 0 else "farther"
        yield (
            f"its entrance pupil stands {mm_text(abs(nearer_mm))} {way} for it, so that the perspective, and what lies "
            "behind the piece, can't be the same"
        )
    front_mm = _front_mm(build, now)
    if front_mm is not None:
        yield f"{mm_text(front_mm)} from its front to the piece" if front_mm > 0 else "it would touch the piece"


def _stop_words(lens: Lens, f_number: float, wanted: float) -> Iterator[str]:
    """On the marked f-number that works as that of then did."""
    lacking = stop_lacking(lens, wanted)
    if lacking is not None:
        only, off_ev = lacking
        yield f"it {only}: depth and light {abs(off_ev):.1f} EV off can't be the same"
        return
    marked = marked_f_number(wanted, lens.widest_f_number, lens.smallest_f_number, like=f_number)
    if marked != f_number:
        yield f"{f_text(marked)} instead of {f_text(f_number)}: as much depth of field, diffraction and light as then"
