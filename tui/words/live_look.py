"""The look of the live picture: the part shown, the overlay, the comparison with a reference, moving or held still."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from session.set.setup import Region

WHOLE = 0
LARGEST = 8
"""Times that the region is enlarged at most, by doubling. Chosen: a region of 200 live px is then 25 px wide."""


class Overlay(StrEnum):
    """The lines laid over the picture. The crops are those that orders ask for most (common practice, no source)."""

    REGION = "region"
    THIRDS = "thirds"
    SQUARE = "crop 1:1"
    UPRIGHT = "crop 4:5"
    WIDE = "crop 16:9"
    NONE = "no lines"


RATIOS = {Overlay.SQUARE: 1.0, Overlay.UPRIGHT: 4 / 5, Overlay.WIDE: 16 / 9}
"""Width over height of the crops."""


class Hold(StrEnum):
    """How the live picture is shown with the reference."""

    ALONE = "live alone"
    BLENDED = "reference blended"
    DIFFERENCE = "difference shown"


@dataclass
class LiveLook:
    """The look of the live picture, as the keys have chosen it.

    times   WHOLE, or the region enlarged so many times: 1 is the region itself, 2 its middle half each way
    paused  the picture stands still, and no new one is asked for
    """

    times: int = WHOLE
    overlay: Overlay = Overlay.REGION
    hold: Hold = Hold.ALONE
    paused: bool = False

    def enlarge(self) -> None:
        """Go from the whole picture to the region, and on to its middle."""
        self.times = 1 if self.times == WHOLE else min(LARGEST, self.times * 2)

    def reduce(self) -> None:
        """Go back towards the whole picture, a step of `enlarge`."""
        self.times //= 2

    def next_overlay(self) -> None:
        self.overlay = _after(self.overlay)

    def next_hold(self) -> None:
        self.hold = _after(self.hold)

    def part(self, region: Region, picture_px: tuple[int, int], view_px: tuple[int, int]) -> Region | None:
        """The part of the picture that is shown, None for all of it; as much beside the region as there is room for.

        picture_px, view_px  (width, height) of the live picture, and of the place where it is shown
        """
        if self.times == WHOLE:
            return None
        width, height = region.width / self.times, region.height / self.times
        across, along = region.left + region.width / 2, region.top + region.height / 2
        view_ratio = view_px[0] / max(1, view_px[1]) * picture_px[1] / picture_px[0]
        width, height = min(1.0, max(width, height * view_ratio)), min(1.0, max(height, width / view_ratio))
        left, top = (min(max(middle - size / 2, 0.0), 1 - size) for middle, size in ((across, width), (along, height)))
        return Region(left, top, width, height)

    def words(self) -> str:
        """`LIVE VIEW · region ×2 · thirds`, for the line above the picture."""
        enlarged = {WHOLE: "", 1: "region"}.get(self.times, f"region ×{self.times}")
        laid_over = self.overlay if self.times == WHOLE and self.overlay is not Overlay.REGION else ""
        held = self.hold if self.hold is not Hold.ALONE else ""
        parts = ["LIVE VIEW", "paused" if self.paused else "", enlarged, laid_over, held]
        return " · ".join(part for part in parts if part)


def crop_of(overlay: Overlay, width_px: int, height_px: int) -> Region | None:
    """The largest crop of the overlay's ratio in the middle of a picture of that size, px; None for other overlays."""
    ratio = RATIOS.get(overlay)
    if ratio is None:
        return None
    across = ratio * height_px / width_px
    width, height = min(1.0, across), min(1.0, 1 / across)
    return Region((1 - width) / 2, (1 - height) / 2, width, height)


ChoiceT = TypeVar("ChoiceT", Overlay, Hold)


def _after(member: ChoiceT) -> ChoiceT:
    members = list(type(member))
    return members[(members.index(member) + 1) % len(members)]
