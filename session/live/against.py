"""Corrections for the hands, in words, until the live view lies as the reference: shift, turn, scale.

The reference was lit by flash and stopped down, live view shows modelling lamps at full aperture: pictures of another
light are matched by `checks.motion`, which takes a good part of a second. From there on frames are followed by
`live_follower`, which takes milliseconds.

The shift is that of the region's middle. The picture can't show whether camera or piece moved: a shift and a distance
are put right by the camera, which stands on rails and columns, a turn by the piece. Clockwise, right, left, up and down
are as the picture shows them.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass, replace

import numpy as np
from PIL import Image

from session.live.decode import Codes, LiveGrey
from session.live.live_follower import Follower
from session.picture.displacement import Motion, motion_between
from session.picture.linear_light import LINEAR
from session.picture.registration import shift_between
from session.set.setup import Arrangement, Region
from session.units.numbers import mm_text
from session.units.refusals import UnlikeShapesError

MATCHED_AT_PX = 340
"""Least long side of the pictures that are matched: a third of a live picture of 1024 px. Chosen: 0.01 mm on the
simulated pieces."""

MATCHES_LIVE_PX, MATCHES_DEG, MATCHES_SCALE = 1.0, 0.1, 0.002
"""Within these nothing is left to correct: a live px is the least that an eye sees in live view, and the others move
the rim of a picture of 1024 px by about as much."""


SMALL_SHARE = 0.2


@dataclass(frozen=True)
class Scales:
    """The sizes of pixels on the piece. None where the set-up or the kit doesn't tell.

    mm_per_live_px    on the piece
    sensor_px_per_px  sensor px for a live px
    front_focus_mm    front focal point of the lens to the plane of focus, f/m
    """

    mm_per_live_px: float | None
    sensor_px_per_px: float
    front_focus_mm: float | None


@dataclass(frozen=True)
class Correction:
    """The moves of camera and piece by which the picture will lie as the reference.

    right_px, down_px  where the region's middle lies too far, sensor px
    camera_right_mm, camera_down_mm  how far the camera is to go, in the picture's directions; None without a scale
    camera_back_mm     how far the camera is to go back from the piece, and focus again; None without a scale
    piece_turn_deg     how far the piece is to be turned, + clockwise
    scale              size of the picture against the reference's
    matches            nothing is left to correct
    text               the same in words
    """

    right_px: float
    down_px: float
    camera_right_mm: float | None
    camera_down_mm: float | None
    camera_back_mm: float | None
    piece_turn_deg: float
    scale: float
    matches: bool
    text: str


class Against:
    """Holds live pictures against a reference."""

    def __init__(self, reference: Codes, region: Region, scales: Scales) -> None:
        """reference  (height, width) grey of the whole frame, upright, at any size"""
        self._reference = reference
        self._region, self._scales = region, scales
        self._key: tuple[Follower, Motion] | None = None
        self._last = Motion()

    def match(self, picture: LiveGrey) -> Correction | None:
        """The correction, matched anew in any light: slow. None when picture and reference are too unlike."""
        found = _match(as_live(self._reference, picture.shape), picture.codes)
        if found is None:
            self._key = None
            return None
        self._key, self._last = (Follower(picture), found), Motion()
        return self._correction_of(found, picture)

    def follow(self, picture: LiveGrey) -> Correction | None:
        """The correction, followed from the last match: fast. None when only `match` can tell."""
        if self._key is None or self._key[0].shape != picture.shape:
            return None
        follower, at_key = self._key
        since = follower.motion(picture, self._last)
        if since is None:
            self._key = None
            return None
        self._last = since
        return self._correction_of(since.after(at_key), picture)

    def _correction_of(self, motion: Motion, picture: LiveGrey) -> Correction:
        return correction(motion, picture.shape, self._region, self._scales)


def correction(motion: Motion, shape: tuple[int, int], region: Region, scales: Scales) -> Correction:
    """The correction of a motion of the reference's content, live px, in a live picture of that (height, width)."""
    height, width = shape
    there = np.array([[(region.left + region.width / 2) * width, (region.top + region.height / 2) * height]])
    right, down = (float(v) for v in (motion.move(there, np.array([width / 2, height / 2])) - there)[0])
    mm = scales.mm_per_live_px
    back_mm = scales.front_focus_mm * (motion.scale - 1) / motion.scale if scales.front_focus_mm else None
    matches = (
        math.hypot(right, down) <= MATCHES_LIVE_PX
        and abs(motion.turn_deg) <= MATCHES_DEG
        and abs(motion.scale - 1) <= MATCHES_SCALE
    )
    found = Correction(
        right_px=right * scales.sensor_px_per_px,
        down_px=down * scales.sensor_px_per_px,
        camera_right_mm=right * mm if mm else None,  # the picture's content goes the other way than the camera
        camera_down_mm=down * mm if mm else None,
        camera_back_mm=back_mm,
        piece_turn_deg=-motion.turn_deg,
        scale=motion.scale,
        matches=matches,
        text="Lies as the reference.",
    )
    if matches:
        return found
    shift = _shift_words(found) if math.hypot(right, down) > MATCHES_LIVE_PX else []
    words = _words(shift, found)
    return replace(found, text=words[:1].upper() + words[1:] + ".")


def scales_for(
    arrangement: Arrangement, sensor_width_mm: float | None, pixels_across: int | None, live_width_px: int
) -> Scales:
    """The scales of a live picture that the camera hasn't enlarged.

    sensor_width_mm  None: not known
    live_width_px    the live picture's width, px
    """
    m = arrangement.magnification
    known = sensor_width_mm is not None and m > 0
    return Scales(
        mm_per_live_px=sensor_width_mm / live_width_px / m if known and sensor_width_mm else None,
        sensor_px_per_px=pixels_across / live_width_px if pixels_across else 1.0,
        front_focus_mm=arrangement.focal_length_mm / m if m > 0 else None,
    )


def as_live(reference: Codes, shape: tuple[int, int]) -> Codes:
    """The reference as a live picture of that (height, width) would show it, cut alike at two sides if need be."""
    height, width = shape
    full = Image.fromarray(reference)
    scale = min(full.width / width, full.height / height)
    across, down = width * scale, height * scale
    left, top = (full.width - across) / 2, (full.height - down) / 2
    box = (left, top, left + across, top + down)
    return np.asarray(full.resize((width, height), Image.Resampling.BOX, box=box))


def blend(reference: Codes, live: Codes, share: float = 0.5) -> Codes:
    """Reference and live picture laid over each other, `share` of the reference; of equal shape, as by `as_live`.

    Raises ValueError.
    """
    return np.asarray(Image.blend(Image.fromarray(live), Image.fromarray(reference), share))


def difference(reference: Codes, live: Codes) -> Codes:
    """Where two pictures of one shape differ: mid grey where they agree, lighter where the live picture is.

    The difference of their mean brightness is taken out first.
    Raises ValueError when the shapes differ.
    """
    if reference.shape != live.shape:
        raise UnlikeShapesError(reference.shape, live.shape)
    ours, theirs = reference.astype(np.float32), live.astype(np.float32)
    ours *= theirs.mean() / max(float(ours.mean()), 1.0)
    return np.clip(128 + (theirs - ours) / 2, 0, 255).astype(np.uint8)


def grey_of(jpeg: bytes) -> Codes:
    """A whole JPEG as grey codes, (height, width), at about the size of a live picture.

    Raises OSError when unreadable.
    """
    with Image.open(io.BytesIO(jpeg), formats=("JPEG",)) as image:
        image.draft("L", (2 * MATCHED_AT_PX, 2 * MATCHED_AT_PX))
        return np.asarray(image.convert("L"))


def _match(reference: Codes, live: Codes) -> Motion | None:
    height, width = live.shape
    times = max(1, max(height, width) // MATCHED_AT_PX)
    size = width // times, height // times
    ours, theirs = (
        LINEAR[np.asarray(Image.fromarray(codes).resize(size, Image.Resampling.BOX))] for codes in (reference, live)
    )
    found = motion_between(ours, theirs, shift_between(ours, theirs))
    return found[0].times(width / size[0]) if found else None


def _words(shift: list[str], found: Correction) -> str:
    camera = list(shift)
    if abs(found.scale - 1) > MATCHES_SCALE:
        far = f"{mm_text(abs(found.camera_back_mm))} " if found.camera_back_mm is not None else ""
        camera.append(f"{far}{'nearer' if found.scale < 1 else 'back'} and focus again")
    words = [f"camera {', '.join(camera)}"] if camera else []
    if abs(found.piece_turn_deg) > MATCHES_DEG:
        way = "clockwise" if found.piece_turn_deg > 0 else "anticlockwise"
        words.append(f"piece {abs(found.piece_turn_deg):.1f}° {way}")
    return ", ".join(words)


def _shift_words(found: Correction) -> list[str]:
    """`0.4 mm to the left`, and up or down; px without a scale. A direction far smaller than the other is left out."""
    least_px = SMALL_SHARE * math.hypot(found.right_px, found.down_px)
    ways = (
        (found.right_px, found.camera_right_mm, ("to the right", "to the left")),
        (found.down_px, found.camera_down_mm, ("down", "up")),
    )
    return [
        f"{mm_text(abs(mm)) if mm is not None else f'{abs(px):.0f} px'} {names[px < 0]}"
        for px, mm, names in ways
        if abs(px) >= least_px
    ]
