"""Another body behind the same set-up: what has to change for the same picture, and what can't be the same.

The same picture shows the same field with the same depth, its blur counted in shares of the picture. On a sensor k
times as wide the ratio grows k times, and so does the effective f-number (depth goes with circle · N / m², the circle
with k); diffraction is then the same share of the picture too. Sources: `session.optics.closeup`,
`session.optics.depth`."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from session.set.lens_in_use import lens_in_use
from session.set.setup import Arrangement, Revision
from session.set.things import Body, Lens
from session.units.marked_values import MARKED_F_NUMBERS, exposure_at_least_s, f_numbers_between
from session.units.numbers import (
    f_text,
    mm_text,
    ratio_text,
    same_setting,
    shorter_setting,
    time_text,
)

ALIKE = 0.01
"""Sides, ratios and pixel counts that differ by less count as alike. Chosen: a framing by hand is no finer."""


def other_body_words(revision: Revision, before: Body, now: Body, lens: Lens | None = None) -> tuple[str, ...]:
    """Clauses on what another body changes; () where it is as good as the one of before.

    before, now  as the kit has them
    lens         of the set-up; None where the kit doesn't know it, nor how far it opens and closes
    """
    return tuple(_changes(revision, before, now, lens)) if before != now else ()


def on_body(revision: Revision, before: Body, now: Body, lens: Lens | None = None) -> Revision:
    """The set-up on another body for the same picture: ratio, f-number and, where its sync time asks, exposure time.

    before, now, lens  as in `other_body_words`
    An arrangement that can't be stays as it is; the rules tell it before the release.
    """
    arrangement, settings = arrangement_on(revision.arrangement, before, now), revision.settings
    try:
        wanted = _f_number_on(revision, arrangement, now.sensor_width_mm / before.sensor_width_mm)
    except ValueError:
        return revision
    if wanted is not None:
        settings = replace(settings, f_number=_marked_on(lens, wanted, settings.f_number))
    if shorter_setting(settings.exposure_s, now.sync_time_s):
        settings = replace(settings, exposure_s=exposure_at_least_s(now.sync_time_s))
    return replace(revision, arrangement=arrangement, settings=settings, body=now.name)


def marked_f_number(
    wanted: float,
    widest: float = MARKED_F_NUMBERS[0],
    smallest: float = MARKED_F_NUMBERS[-1],
    like: float | None = None,
) -> float:
    """The marked f-number nearest to the one wanted, of those that the lens has.

    like  a setting of then, which stays where it is the same one
    """
    if like is not None and same_setting(wanted, like, ev_per_doubling=2.0):
        return like
    offered = f_numbers_between(widest, smallest) or (min(max(wanted, widest), smallest),)
    return min(offered, key=lambda one: abs(math.log2(one / wanted)))


def _marked_on(lens: Lens | None, wanted: float, like: float | None) -> float:
    """The marked f-number nearest to the one wanted, of those of the lens where the kit knows it."""
    if lens is None:
        return marked_f_number(wanted, like=like)
    return marked_f_number(wanted, lens.widest_f_number, lens.smallest_f_number, like)


def stop_lacking(lens: Lens | None, wanted: float) -> tuple[str, float] | None:
    """`closes down to f/22 only`, and by how much the f-number wanted is beyond that, EV, + smaller; None within it."""
    if lens is not None and wanted > lens.smallest_f_number * (1 + ALIKE):
        limit, word = lens.smallest_f_number, "closes down"
    elif lens is not None and wanted < lens.widest_f_number * (1 - ALIKE):
        limit, word = lens.widest_f_number, "opens"
    else:
        return None
    return f"{word} to {f_text(limit)} only", 2 * math.log2(wanted / limit)


def _f_number_on(revision: Revision, now: Arrangement, times: float) -> float | None:
    """The f-number with the depth of then on a sensor that many times as wide; None where it is set by hand.

    Raises ValueError for an arrangement that can't be.
    """
    f_number = revision.settings.f_number
    then_used, now_used = lens_in_use(revision.arrangement, f_number or 1.0), lens_in_use(now, f_number or 1.0)
    return f_number and f_number * times * then_used.effective_f_number / now_used.effective_f_number


def arrangement_on(lens: Arrangement, before: Body, now: Body) -> Arrangement:
    """The lens at the ratio at which another body's sensor takes in the same field."""
    return replace(lens, magnification=lens.magnification * now.sensor_width_mm / before.sensor_width_mm)


def _changes(revision: Revision, before: Body, now: Body, of_then: Lens | None) -> Iterator[str]:
    if before.mount and now.mount and before.mount != now.mount:
        yield f"the lens's mount {before.mount} doesn't fit the body's {now.mount}"
    times = now.sensor_width_mm / before.sensor_width_mm
    if abs(times - 1) > ALIKE:
        yield from _size(revision, times, of_then)
    shapes = [one.sensor_width_mm / one.sensor_height_mm for one in (before, now)]
    if abs(shapes[0] / shapes[1] - 1) > ALIKE:
        yield "the sensor's sides are in another ratio: crop to the old one, for the field can't be the same all round"
    if shorter_setting(revision.settings.exposure_s, now.sync_time_s):
        longer_ev = math.log2(now.sync_time_s / revision.settings.exposure_s)
        yield (
            f"{time_text(now.sync_time_s)} instead of {time_text(revision.settings.exposure_s)}, its sync time: "
            f"{longer_ev:.1f} EV more ambient"
        )
    pixels = now.pixels_across / before.pixels_across
    if abs(pixels - 1) > ALIKE:
        yield f"a pixel of then is {pixels:.2g} pixels now, also in the blur limit"


def _size(revision: Revision, times: float, of_then: Lens | None) -> Iterator[str]:
    """For a sensor `times` as wide."""
    lens, f_number = revision.arrangement, revision.settings.f_number
    wider = replace(lens, magnification=lens.magnification * times)
    yield f"{ratio_text(wider.magnification)} instead of {ratio_text(lens.magnification)} for the same field"
    try:
        then, now = lens_in_use(lens, f_number or 1.0), lens_in_use(wider, f_number or 1.0)
    except ValueError:  # an arrangement that can't be; the rules tell it before the release
        return
    wanted = _f_number_on(revision, wider, times)
    if f_number is not None and wanted is not None:
        light_ev, lacking = 2 * math.log2(times), stop_lacking(of_then, wanted)
        marked = _marked_on(of_then, wanted, f_number)
        if lacking is not None:
            only, off_ev = lacking
            yield f"the lens {only}: depth {abs(off_ev):.1f} EV off can't be the same"
            light_ev -= off_ev
        elif marked != f_number:
            yield f"{f_text(marked)} instead of {f_text(f_number)} for the same depth of field"
        yield f"{abs(light_ev):.1f} EV {'more' if light_ev > 0 else 'less'} light for it"
    nearer_mm = then.entrance_pupil_distance_mm - now.entrance_pupil_distance_mm
    if math.isfinite(nearer_mm) and abs(nearer_mm) > ALIKE * then.entrance_pupil_distance_mm:
        same = then.entrance_pupil_distance_mm / now.entrance_pupil_distance_mm * lens.focal_length_mm
        way = "nearer" if nearer_mm > 0 else "farther"
        yield (
            f"with this lens the camera stands {mm_text(abs(nearer_mm))} {way}, so the perspective can't be the same; "
            f"a lens of {same:.0f} mm would keep it"
        )
