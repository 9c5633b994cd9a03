"""Every arrangement and every stop of a kit tried anew, without the planner's code: ray matrices and sampled pupils.

Ratio, room and light come from `traced_builds`, blur from `pupil_fft`; the documented order is applied to them by its
words. So a winner can be compared with all candidates.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import chain, combinations
from typing import Any

from scipy.optimize import brentq

from session.plan.wish import Wish
from session.set.kit import Body, Kit, Lens
from tests.support.pupil_fft import blur_in_table, geometric_in_table
from tests.support.traced_builds import TracedBuild, kit_lens, trace

STOPS = (2.8, 3.2, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10, 11, 13, 14, 16, 18, 20, 22, 25, 29, 32)
WAVELENGTH_MM = 0.55e-3

HAIR = 0.005
"""Depth that no candidate is given, so that none wins by the sampling of its pupil: blur errs by 0.05 %."""

Candidate = tuple[tuple[float, ...], str]


def candidates(kit: Kit, wish: Wish) -> Iterator[Candidate]:
    """(rank, words) of each body, lens, added part and stop."""
    stacks = list(chain.from_iterable(combinations(kit.tube, count) for count in range(4)))
    for body in kit.body:
        for lens in kit.lens:
            for stack in stacks:
                yield from _of(kit, wish, body, lens, tubes=stack)
                for ring in kit.reversing_ring:
                    yield from _of(kit, wish, body, lens, tubes=stack, ring=ring)
            for added in kit.supplementary:
                yield from _of(kit, wish, body, lens, dioptres=added.dioptres, parts=1)
            for converter in kit.converter:
                yield from _of(
                    kit, wish, body, lens, factor=converter.factor, parts=1, by_hand=not converter.electronic_aperture
                )


def _of(
    kit: Kit,
    wish: Wish,
    body: Body,
    lens: Lens,
    tubes: Any = (),
    ring: Any = None,
    dioptres: float = 0.0,
    factor: float = 1.0,
    parts: int = 0,
    by_hand: bool = False,
) -> Iterator[Candidate]:
    extension = sum(tube.extension_mm for tube in tubes) + (ring.extension_mm if ring else 0)
    by_hand = by_hand or bool(ring) or not lens.electronic_aperture
    by_hand = by_hand or any(not tube.electronic_aperture for tube in tubes)
    parts += len(tubes) + bool(ring)
    closest = lens.closest_magnification

    def focused(own: float) -> TracedBuild:
        return trace(
            *kit_lens(lens, body, own),
            own,
            extension_mm=extension,
            dioptres=dioptres,
            factor=factor,
            flange_mm=body.flange_distance_mm or 0.0,
            turned=bool(ring),
        )

    sides = (body.sensor_width_mm, body.sensor_height_mm)
    wanted = max(wish.fill * min(w / wish.piece_width_mm, h / wish.piece_height_mm) for w, h in (sides, sides[::-1]))
    low, high = focused(0).ratio, focused(0 if ring else closest).ratio
    if wanted <= low:
        own = 0.0
    elif wanted >= high:
        own = closest
    else:
        own = brentq(lambda own: focused(own).ratio - wanted, 0, closest, xtol=1e-14)
    diagonal = math.hypot(wish.piece_width_mm, wish.piece_height_mm)
    needed = max(
        wish.clear_in_front_mm,
        ((lens.front_diameter_mm or 0.0) + diagonal) / 2 / math.tan(math.radians(wish.light_angle_deg)),
    )
    usable = [
        stop
        for stop in STOPS
        if min(2 * lens.widest_f_number, lens.smallest_f_number) * 0.97 <= stop <= lens.smallest_f_number * 1.03
    ]

    def tried(own: float) -> list[Candidate]:
        found, there = [], focused(own)
        for stop in usable if there.ratio >= 0.01 else ():
            effective = stop * there.light_factor
            rank = _rank(kit, wish, body, there.ratio, wanted, there.room_mm, needed, effective, by_hand, parts)
            if rank:
                names = [tube.name for tube in tubes]
                found.append((rank, f"{body.name}, {lens.name}, {names}, {ring}, {dioptres}, {factor}, f/{stop}"))
        return found

    found = tried(own)
    yield from found
    target = needed + wish.relief_mm
    least_ev = min((rank[0] for rank, _ in found), default=0.0)
    within = [rank for rank, _ in found if rank[0] <= least_ev + 0.1]  # equal in what fails: the later points decide
    lacks_room = bool(within) and min(within, key=lambda rank: rank[1:])[5] > 0.01  # by more than rounding
    if lacks_room and not ring and focused(own).room_mm < target <= focused(1e-12).room_mm:
        yield from tried(brentq(lambda own: focused(own).room_mm - target, 1e-12, own, xtol=1e-14))


def _rank(
    kit: Kit,
    wish: Wish,
    body: Body,
    ratio: float,
    wanted: float,
    room: float,
    needed: float,
    effective: float,
    by_hand: bool,
    parts: int,
) -> tuple[float, ...] | None:
    seen = effective / ratio  # of the lens, by the piece: the cone from a point is as wide as 1/seen
    unit_mm = WAVELENGTH_MM * seen
    depth = 2 * seen * unit_mm * geometric_in_table(wish.blur_circle_mm / unit_mm) * (1 - HAIR)
    if depth <= 0:
        depth = 4 * WAVELENGTH_MM * seen**2  # a quarter wave at both ends
    need = wish.depth_mm
    frames = 1 if need <= depth else math.ceil((need - depth) / (depth * (1 - wish.overlap)) - 1e-9) + 1
    if frames > 10_000:
        return None
    slice_mm = need / (1 + (frames - 1) * (1 - wish.overlap))
    blur = unit_mm * blur_in_table(slice_mm / 2 / seen / unit_mm)
    in_front = wish.relief_mm if frames > 1 else max(wish.relief_mm - need / 2, wish.relief_mm / 2)
    spare = {
        "framing": math.log2(wanted / ratio),
        "room": math.log2(max((room - in_front) / needed, 2**-10)),
        "blur": math.log2(wish.blur_circle_mm / blur),
        "light": _light_ev(kit, wish, effective),
    }
    if wish.delivered_pixels:
        pixels = wish.piece_width_mm / wish.fill * ratio * body.pixels_across / body.sensor_width_mm
        spare["pixels"] = math.log2(pixels / wish.delivered_pixels)
    else:
        spare["filling"] = math.log2(ratio / wanted)
    if wish.most_frames:
        spare["frames"] = math.log2(wish.most_frames / frames)
    short = sum(min(-one, 10) for one in spare.values() if one < -0.01)
    return (
        short,
        0,
        frames,
        by_hand,
        parts,
        -round(min(spare["room"], 1), 2),
        -round(min(spare.get("pixels", 0), 1), 2),
        round(math.log2(blur), 1),
        -round(spare["room"], 2),
        blur,
    )


def _light_ev(kit: Kit, wish: Wish, effective: float) -> float:
    """Stops to spare: full guide number over distance and effective f-number, at the nearest place of a bare flash.

    A piece that faces the camera gets less of a light from aside, by the cosine of its angle (Lambert).
    """
    named = [light for name in wish.lights if (light := kit.light_for(name)) is not None]
    lights = named or list(kit.light)
    shared = math.log2(sum(2.0**light.level_ev for light in lights)) if wish.lights else 0.0
    spare = [
        2 * math.log2((light.guide_number_m or 0.0) * math.sqrt(wish.iso / 100) / (light.nearest_mm / 1000) / effective)
        - (light.level_ev - shared if wish.lights else 0.0)
        for light in lights
    ]
    aside = math.log2(math.cos(math.radians(wish.light_angle_deg)))
    return (min(spare) if wish.lights else max(spare)) + aside
