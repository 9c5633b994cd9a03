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
from session.set.things import Body
from session.units.numbers import SETTING_SLACK_EV, f_text, mm_text, ratio_text, shorter_setting, time_text

ALIKE = 0.01
"""Sides, ratios and pixel counts that differ by less count as alike. Chosen: a framing by hand is no finer."""


def other_body_words(revision: Revision, before: Body, now: Body) -> tuple[str, ...]:
    """Clauses on what another body changes; () where it is as good as the one of before.

    before, now  as the kit has them
    """
    return tuple(_changes(revision, before, now)) if before != now else ()


def arrangement_on(lens: Arrangement, before: Body, now: Body) -> Arrangement:
    """The lens at the ratio at which another body's sensor takes in the same field."""
    return replace(lens, magnification=lens.magnification * now.sensor_width_mm / before.sensor_width_mm)


def _changes(revision: Revision, before: Body, now: Body) -> Iterator[str]:
    if before.mount and now.mount and before.mount != now.mount:
        yield f"the lens's mount {before.mount} doesn't fit the body's {now.mount}"
    times = now.sensor_width_mm / before.sensor_width_mm
    if abs(times - 1) > ALIKE:
        yield from _size(revision, times)
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


def _size(revision: Revision, times: float) -> Iterator[str]:
    """For a sensor `times` as wide."""
    lens, f_number = revision.arrangement, revision.settings.f_number
    wider = replace(lens, magnification=lens.magnification * times)
    yield f"{ratio_text(wider.magnification)} instead of {ratio_text(lens.magnification)} for the same field"
    try:
        then, now = lens_in_use(lens, f_number or 1.0), lens_in_use(wider, f_number or 1.0)
    except ValueError:  # an arrangement that can't be; the rules tell it before the release
        return
    if f_number is not None:
        wanted = f_number * times * then.effective_f_number / now.effective_f_number
        light_ev = 2 * math.log2(times)
        if abs(math.log2(wanted / f_number)) * 2 > SETTING_SLACK_EV:
            yield f"{f_text(wanted)} instead of {f_text(f_number)} for the same depth of field"
        yield f"{abs(light_ev):.1f} EV {'more' if light_ev > 0 else 'less'} light for it"
    nearer_mm = then.entrance_pupil_distance_mm - now.entrance_pupil_distance_mm
    if math.isfinite(nearer_mm) and abs(nearer_mm) > ALIKE * then.entrance_pupil_distance_mm:
        same = then.entrance_pupil_distance_mm / now.entrance_pupil_distance_mm * lens.focal_length_mm
        way = "nearer" if nearer_mm > 0 else "farther"
        yield (
            f"with this lens the camera stands {mm_text(abs(nearer_mm))} {way}, so the perspective can't be the same; "
            f"a lens of {same:.0f} mm would keep it"
        )
