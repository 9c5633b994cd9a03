"""Every way in which the kit can put a lens on a body, and which ratios each of them reaches.

Where a number of the kit is missing (flange distance, where the lens looks out from) what depends on it is None
and never guessed. The focal length of a lens that focuses inside is taken as falling evenly with the ratio, from
the marked one to what its track leaves at the closest focus. A close-up lens is taken as thin and on the front rim;
where the kit doesn't tell how far that is from the principal plane, as touching it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from session.optics.arrangement import magnification_with_extension, reversed_magnification
from session.optics.closeup import entrance_pupil_distance_mm, focal_length_in_use_mm
from session.set.kit import Body, Converter, ExtensionTube, Kit, Lens, ReversingRing, SupplementaryLens
from session.set.lens_in_use import pupil_in_use
from session.set.setup import Arrangement

MOST_TUBES = 3
"""Rings in one stack; more sag and wobble. Common practice, no source."""


@dataclass(frozen=True)
class Build:
    """The parts between the sensor and the piece."""

    body: Body
    lens: Lens
    tubes: tuple[ExtensionTube, ...] = ()
    supplementary: SupplementaryLens | None = None
    converter: Converter | None = None
    ring: ReversingRing | None = None

    @property
    def label(self) -> str:
        """`Longmere 100, 12 + 36 mm tubes`."""
        added = [tube.name for tube in self.tubes]
        added += [part.name for part in (self.supplementary, self.converter) if part is not None]
        words = [f"{self.lens.name} reversed" if self.ring else self.lens.name, " + ".join(added)]
        return ", ".join(word for word in words if word)

    @property
    def parts(self) -> int:
        """How many things are added to body and lens."""
        return len(self.tubes) + sum(part is not None for part in (self.supplementary, self.converter, self.ring))

    @property
    def extension_mm(self) -> float:
        """Extension of tubes and reversing ring together, mm."""
        return math.fsum(tube.extension_mm for tube in self.tubes) + (self.ring.extension_mm if self.ring else 0.0)

    @property
    def aperture_by_hand(self) -> bool:
        """The camera can't set the aperture: reversed, behind a plain tube, or a lens with a ring."""
        passes_on = all(tube.electronic_aperture for tube in self.tubes)
        passes_on = passes_on and (self.converter is None or self.converter.electronic_aperture)
        return self.ring is not None or not self.lens.electronic_aperture or not passes_on

    def focal_length_mm(self, own_ratio: float) -> float:
        """Left in use when the lens by itself is focused to that ratio, mm. Raises ValueError."""
        lens = self.lens
        if lens.track_mm is None or lens.closest_magnification == 0 or own_ratio == 0:
            return lens.focal_length_mm
        closest = focal_length_in_use_mm(lens.track_mm, lens.closest_magnification, lens.principal_gap_mm)
        return lens.focal_length_mm + (closest - lens.focal_length_mm) * own_ratio / lens.closest_magnification

    @property
    def pupil_magnification(self) -> float:
        """Exit over entrance pupil as light and depth count it: from what the lens lets through close up, where known.

        Raises ValueError.
        """
        return self.lens.pupil_magnification if self.ring else pupil_in_use(self.lens)

    def unknown_light_ev(self, own_ratio: float) -> float:
        """EV by which the lens may let through more than counted, as nobody measured what focusing inside costs.

        2·log2(f/f'), the marked length by that in use: the pupil may stay as wide as it is, or shrink with the length.
        """
        if self.lens.closest_effective_f_number is not None:
            return 0.0
        return 2 * abs(math.log2(self.lens.focal_length_mm / self.focal_length_mm(own_ratio)))

    def front_to_pupil_mm(self) -> float | None:
        """Front rim to entrance pupil, into the lens, mm; from what the kit tells, the surest figure first."""
        lens = self.lens
        if lens.front_to_pupil_mm is not None:
            return lens.front_to_pupil_mm
        if lens.closest_working_distance_mm is not None and lens.closest_magnification > 0:
            focal_mm = self.focal_length_mm(lens.closest_magnification)
            pupil_mm = entrance_pupil_distance_mm(focal_mm, lens.closest_magnification, lens.pupil_magnification)
            return pupil_mm - lens.closest_working_distance_mm
        if lens.length_mm and self.body.flange_distance_mm is not None:
            plane_mm = (
                self.body.flange_distance_mm + lens.length_mm - lens.focal_length_mm - lens.principal_gap_mm
            )  # front rim to front principal plane, the rear one a focal length before the sensor
            return plane_mm - lens.focal_length_mm * (1 - 1 / lens.pupil_magnification)
        return None

    def front_to_plane_mm(self, focal_length_mm: float) -> float | None:
        """Front rim to front principal plane, into the lens, mm, at a focal length in mm."""
        pupil_mm = self.front_to_pupil_mm()
        return None if pupil_mm is None else pupil_mm + focal_length_mm * (1 - 1 / self.lens.pupil_magnification)

    def gap_mm(self, focal_length_mm: float) -> float:
        """Close-up lens to the front principal plane, mm, at a focal length in mm; 0 without one, or when not known."""
        return self.front_to_plane_mm(focal_length_mm) or 0.0 if self.supplementary else 0.0

    def ratio(self, own_ratio: float) -> float | None:
        """Ratio of the picture when the lens by itself is focused to own_ratio; None when the kit tells too little.

        0 for a lens too long to be reversed on so little.
        """
        focal_mm = self.focal_length_mm(own_ratio)
        if self.ring:
            plane_mm, flange_mm = self.front_to_plane_mm(focal_mm), self.body.flange_distance_mm
            if plane_mm is None or flange_mm is None:
                return None
            image_mm = flange_mm + self.extension_mm + plane_mm
            return reversed_magnification(focal_mm, image_mm) if image_mm > focal_mm else 0.0
        ratio = magnification_with_extension(focal_mm, own_ratio, self.extension_mm)
        if self.supplementary:
            virtual_mm = focal_mm - self.gap_mm(focal_mm)
            ratio += (focal_mm + ratio * virtual_mm) * self.supplementary.dioptres / 1000
        return ratio * (self.converter.factor if self.converter else 1.0)

    def own_ratio_for(self, ratio: float) -> float:
        """The ratio to which the lens by itself must be focused; the nearest end of its range if out of reach."""
        low, high = 0.0, 0.0 if self.ring else self.lens.closest_magnification
        at_low, at_high = self.ratio(low) or 0.0, self.ratio(high) or 0.0
        if ratio <= at_low or at_high <= at_low:
            return low
        if ratio >= at_high:
            return high
        for _ in range(50):
            own = low + (high - low) * (ratio - at_low) / (at_high - at_low)
            at_own = self.ratio(own) or 0.0
            if abs(at_own - ratio) <= 1e-9 * ratio:
                break
            low, at_low, high, at_high = (own, at_own, high, at_high) if at_own < ratio else (low, at_low, own, at_own)
        return own


def builds(kit: Kit, body_name: str = "", lens_name: str = "") -> Iterator[Build]:
    """Every build that the kit allows, the plainest first for each body and lens."""
    for body in kit.body:
        for lens in kit.lens:
            if body_name in ("", body.name) and lens_name in ("", lens.name) and _fits(body, lens):
                yield from _builds_of(kit, body, lens)


def build_like(kit: Kit, body_name: str, arrangement: Arrangement) -> Build | None:
    """The plainest build from the kit's parts that gives this arrangement; None where the kit lacks the parts.

    body_name  "" takes the kit's first body that fits
    """
    for build in builds(kit, body_name, arrangement.lens):
        dioptres = build.supplementary.dioptres if build.supplementary else 0.0
        factor = build.converter.factor if build.converter else 1.0
        numbers = ((build.extension_mm, arrangement.extension_mm), (dioptres, arrangement.dioptres))
        same = all(math.isclose(*pair, abs_tol=1e-6) for pair in (*numbers, (factor, arrangement.converter)))
        if same and (build.ring is not None) == arrangement.reversed:
            return build
    return None


def _builds_of(kit: Kit, body: Body, lens: Lens) -> Iterator[Build]:
    stacks = _stacks(tuple(tube for tube in kit.tube if _fits(body, tube)))
    yield Build(body, lens)
    for stack in stacks:
        yield Build(body, lens, tubes=stack)
    for added in kit.supplementary:
        if _threads_on(added.thread_mm, lens.thread_mm):
            yield Build(body, lens, supplementary=added)
    for converter in kit.converter:
        if _fits(body, converter):
            yield Build(body, lens, converter=converter)
    for ring in kit.reversing_ring:
        if _fits(body, ring) and ring.thread_mm in (None, lens.thread_mm):
            yield Build(body, lens, ring=ring)
            for stack in stacks:
                yield Build(body, lens, ring=ring, tubes=stack)


def _stacks(tubes: tuple[ExtensionTube, ...]) -> tuple[tuple[ExtensionTube, ...], ...]:
    """Stacks of up to MOST_TUBES; of equally long ones that pass the aperture on alike, the one of fewest tubes."""
    found: dict[tuple[float, bool], tuple[ExtensionTube, ...]] = {}
    for count in range(1, MOST_TUBES + 1):
        for stack in combinations(tubes, count):
            length_mm = round(math.fsum(tube.extension_mm for tube in stack), 6)
            found.setdefault((length_mm, all(tube.electronic_aperture for tube in stack)), stack)
    return tuple(found.values())


def _fits(body: Body, part: Lens | ExtensionTube | Converter | ReversingRing) -> bool:
    return not body.mount or not part.mount or body.mount == part.mount


def _threads_on(added_mm: float | None, lens_mm: float | None) -> bool:
    return added_mm is None or lens_mm is None or added_mm >= lens_mm
