"""The mock camera's table at a reshoot: its truth, and hands that do what the tool says, in its words, a little wrong.

A camera turned to a side about its entrance pupil sees the piece lean, its axis on another place: so it is done here.

The mock camera's sensor is 24 mm wide. A body with a sensor `times` as wide, its lens of f mm at the ratio m and f/N,
is shown by the same optics made so much smaller: at m / times, the working f-number N_e / times, the entrance pupil as
far off. That takes times² as much light, which the lights are made to lack.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mock_camera.body.encode import encode_jpeg
from mock_camera.scene.optics import FocusedLens
from mock_camera.table.imaging import BLACK_LEVEL
from mock_camera.table.world import Shot, World
from session.match.match_steps import MatchStep
from session.match.set_measure import LitPictures
from session.set.setup import PlacedLight

SENSOR_MM, FOCAL_MM = 24.0, 100.0
LIGHT_VALUES = (
    *("power_ev", "distance_mm", "azimuth_deg", "elevation_deg", "guide_number_m", "shaper"),
    *("red", "blue", "fires", "on"),
)
ACROSS_PX = 1024
"""Displacements are counted as in a picture so wide."""

MOVE_MISS, MISS_MM, MISS_DEG, MISS_EV, MISS_MIRED = 0.1, 0.05, 0.05, 0.1, 1.0
"""A hand misses by up to this share of a move, and by up to so much more: geared head, rail, column."""

BY_EYE = 0.05
"""So near, as a share of the picture's width, a piece is brought to its place by eye. Guessed."""

MOST_UP_DEG = 89.0
"""A stand goes no higher over the piece."""

MM, DEG = r"([\d.]+) mm", r"([\d.]+)°"


@dataclass
class ReshootTable:
    """A set of the mock camera.

    looks_deg  how far the camera is turned to the right and downwards from square
    shown_mm   width of the piece in the picture as the set was first built
    f_number   of the shots, as the scaled lens has it
    times      how many times as wide the body's sensor is as the one of then
    red, blue  of the camera's white balance beside that of then
    """

    folder: Path
    world: World
    lens: FocusedLens
    size: tuple[int, int]
    lights: dict[str, PlacedLight]
    looks_deg: NDArray[np.float64] = field(default_factory=lambda: np.zeros(2))
    shown_mm: float = 0.0
    away_mm: float = 0.0
    shots: int = 0
    f_number: float = 11.0
    times: float = 1.0
    red: float = 1.0
    blue: float = 1.0
    mosaic: NDArray[np.uint16] = field(default_factory=lambda: np.zeros((0, 0), np.uint16))

    @property
    def field_mm(self) -> float:
        return SENSOR_MM / self.lens.magnification

    def shoot(self, *on: str) -> str:
        """The path of a frame with these lights on."""
        for name in self.lights:
            self.world.do("light", name=name, on=name in on)
        self.shots += 1
        shot = Shot(1 / 200, self.f_number, 100, datetime(2026, 11, 2, 9, tzinfo=UTC), self.shots)
        path = self.folder / f"frame-{self.shots}.jpg"
        picture = self.world.expose(shot, 100.0 * self.shots)
        path.write_bytes(encode_jpeg(picture, shot))
        self.mosaic = picture.mosaic
        return str(path)

    def ninths(self) -> NDArray[np.float64]:
        """(3, 3) mean of the sensor's own values over black by ninths, with all lights that work."""
        self.shoot(*self.lights)
        light = self.mosaic.astype(np.float64) - BLACK_LEVEL
        rows = [np.array_split(row, 3, axis=1) for row in np.array_split(light, 3, axis=0)]
        return np.array([[part.mean() for part in row] for row in rows])

    def pictures(self, *, solos: bool = True) -> LitPictures:
        """All together, and each light and ambient alone."""
        alone = {name: self.shoot(name) for name in self.lights} if solos else {}
        return LitPictures(self.shoot(*self.lights), alone, self.shoot() if solos else None)

    def tint_all(self, red: float, blue: float) -> None:
        """The white balance: red and blue of all light, ambient too, times so much."""
        state: Any = self.world.state()["lights"]
        for name in self.lights:
            self.world.do("light", name=name, red=state[name]["red"] * red, blue=state[name]["blue"] * blue)
        self.red, self.blue = self.red * red, self.blue * blue
        self.world.do("ambient", red=1.12 * self.red, blue=0.8 * self.blue)

    def grey(self) -> NDArray[np.float64]:
        """(3,) red, green and blue of the sensor's own values over black, with all lights that work."""
        self.shoot(*self.lights)
        light = self.mosaic.astype(np.float64) - BLACK_LEVEL
        return np.array([light[0::2, 0::2].mean(), light[0::2, 1::2].mean(), light[1::2, 1::2].mean()])

    def put_on_body(self, times: float, size: tuple[int, int], seed: int) -> None:
        """Another body, its sensor `times` as wide, in the place of the first; ratio and aperture are as they were."""
        old, self.times, self.size = self.world, times, size
        self.world = World(seed=seed, pixels=size, piece=old._bench.piece.name)
        self.world.do("remove_light", name="key")
        state: Any = old.state()["lights"]
        for name in self.lights:
            kept = {key: value for key, value in state[name].items() if key in LIGHT_VALUES}
            self.world.do("light", name=name, **kept | {"guide_number_m": kept["guide_number_m"] / times})
        self.world.do("ambient", ev=-6.0)
        self.set_lens(self.lens.magnification, self.f_number)

    def set_lens(self, magnification: float, f_number: float) -> None:
        """Set ratio and aperture, as they stand on this body's lens, the camera staying where it is."""
        place_mm = self.lens.pupil_distance_mm + self.away_mm
        scaled = magnification / self.times
        # the entrance pupil as far off, and the working f-number `times` smaller, as on the real lens
        focal_mm = FOCAL_MM * (1 / magnification + 1) / (1 / scaled + 1)
        self.f_number = f_number * (1 + magnification) / self.times / (1 + scaled)
        self.world.do("arrangement", magnification=scaled, focal_length_mm=focal_mm)
        self.lens, self.away_mm = FocusedLens(scaled, focal_mm), 0.0
        self.move(farther_mm=place_mm - self.lens.pupil_distance_mm)

    def move(self, right_mm: float = 0, down_mm: float = 0, farther_mm: float = 0, turn_deg: float = 0) -> None:
        """Move the camera along the picture's sides, or turn it clockwise about its axis."""
        told: Any = self.world.do("move_camera")
        angle = math.radians(told["turn_deg"])
        c, s = math.cos(angle), math.sin(angle)
        along, across = c * right_mm - s * down_mm, s * right_mm + c * down_mm
        self.world.do("move_camera", right_mm=along, down_mm=across, turn_deg=turn_deg, away_mm=farther_mm)
        self.away_mm += farther_mm

    def look(self, right_deg: float = 0, down_deg: float = 0) -> None:
        """Turn the camera about its entrance pupil."""
        self.looks_deg = self.looks_deg + np.array([right_deg, down_deg])
        raised = math.degrees(math.atan2(-self.looks_deg[1], -self.looks_deg[0]))
        self.world.do("lean", tilt_deg=float(np.hypot(*self.looks_deg)), raised_deg=raised)
        far_mm = self.lens.pupil_distance_mm + self.away_mm
        self.move(far_mm * math.tan(math.radians(right_deg)), far_mm * math.tan(math.radians(down_deg)))

    def refocus(self) -> None:
        """Focus on the region where the camera stands now, as eyes on the enlarged picture do."""
        self.world.do("turn_focus", to_mm=self.away_mm)

    def places_px(self) -> NDArray[np.float64]:
        """Where features all over the region's plane lie in the picture, (n, 2), px of ACROSS_PX."""
        bench = self.world._bench
        pose, level = bench.pose(bench.focus(11.0).scale), bench.piece.region_height_mm
        across = np.linspace(-0.45, 0.45, 7) * self.shown_mm
        down = np.linspace(-0.45, 0.45, 5) * self.shown_mm * self.size[1] / self.size[0]
        found = [pose.to_sensor(float(x), float(y), level) for x in across for y in down]
        return np.array(found) / SENSOR_MM * ACROSS_PX


def reshoot_table(
    folder: Path,
    seed: int,
    lights: tuple[PlacedLight, ...],
    *,
    piece: str = "bridge",
    magnification: float = 0.5,
    focal_length_mm: float = 100.0,
    size: tuple[int, int] = (768, 512),
) -> ReshootTable:
    """A set as it was first built, its lights together a third of a stop under a right exposure."""
    world = World(seed=seed, pixels=size, piece=piece)
    world.do("arrangement", magnification=magnification, focal_length_mm=focal_length_mm)
    world.do("remove_light", name="key")
    lens = FocusedLens(magnification, focal_length_mm)
    made = ReshootTable(folder, world, lens, size, {}, shown_mm=SENSOR_MM / magnification)
    for light in lights:
        put_up(made, light, share=1 / len(lights), magnification=magnification)
    world.do("ambient", ev=-6.0)
    return made


def put_up(made: ReshootTable, light: PlacedLight, *, share: float, magnification: float) -> None:
    """A light whose guide number gives that share of the exposure from where it stands (ISO 1230, ISO 2720)."""
    reach_m, facing = float(light.distance_mm or 0) / 1000, math.sin(math.radians(light.elevation_deg or 0))
    guide_m = 11 * (1 + magnification) * reach_m * math.sqrt(share / facing) * 2 ** (-0.15 - light.power_ev / 2)
    made.lights[light.name] = light
    made.world.do(
        "light",
        name=light.name,
        power_ev=light.power_ev,
        distance_mm=light.distance_mm,
        azimuth_deg=light.azimuth_deg,
        elevation_deg=light.elevation_deg,
        guide_number_m=guide_m,
    )


@dataclass
class Hands:
    """Hands that follow the words of the steps, each move missed by up to MOVE_MISS and a constant.

    reference_px  `places_px` of the table as the reference shows it
    """

    table: ReshootTable
    chance: np.random.Generator
    reference_px: NDArray[np.float64]

    def missed(self, wanted: float, by: float) -> float:
        return float(wanted * (1 + self.chance.uniform(-MOVE_MISS, MOVE_MISS)) + self.chance.uniform(-by, by))

    def follow_framing(self, words: str) -> bool:
        """Turn or move the camera as told; False where the words ask for neither."""
        ways = rf"{DEG} (clockwise|anticlockwise|to the \w+|up|down)"
        turns = {word: float(far) for far, word in re.findall(ways, words)}
        if turns:
            clockwise = turns.get("clockwise", 0.0) - turns.get("anticlockwise", 0.0)
            right = turns.get("to the right", 0.0) - turns.get("to the left", 0.0)
            down = turns.get("down", 0.0) - turns.get("up", 0.0)
            self.table.move(turn_deg=self.missed(clockwise, MISS_DEG) if clockwise else 0.0)
            if right or down:
                self.table.look(*(self.missed(deg, MISS_DEG) if deg else 0.0 for deg in (right, down)))
        if "by eye" in words:
            self.size_by_eye()
        moves = {word: float(far) for far, word in re.findall(rf"{MM} (right|left|up|down|nearer|farther)", words)}
        pairs = (("right", "left"), ("down", "up"), ("farther", "nearer"))
        wanted = [moves.get(one, 0.0) - moves.get(other, 0.0) for one, other in pairs]
        if any(wanted):
            self.table.move(*(self.missed(mm, MISS_MM) if mm else 0.0 for mm in wanted))
        if "in its place" in words or "to its place" in words:
            self.frame_by_eye()
            return True
        return bool(turns or any(wanted))

    def frame_by_eye(self) -> None:
        """Move the camera until the piece lies about where it lies in the reference, both pictures side by side."""
        off_mm = (self.table.places_px() - self.reference_px).mean(axis=0) / ACROSS_PX * self.table.field_mm
        right, down = off_mm + self.chance.uniform(-BY_EYE, BY_EYE, 2) * self.table.field_mm
        self.table.move(float(right), float(down))

    def size_by_eye(self) -> None:
        """Move the camera until the piece is about as large as in the reference."""
        sizes = [float(np.ptp(places[:, 0])) for places in (self.table.places_px(), self.reference_px)]
        wanted = 1 + self.chance.uniform(-BY_EYE, BY_EYE)
        far_mm = self.table.lens.focal_length_mm / self.table.lens.magnification + self.table.away_mm
        self.table.move(farther_mm=far_mm * (sizes[0] / sizes[1] * wanted - 1))
        self.table.refocus()

    def follow_camera(self, words: str) -> None:
        """Set ratio, aperture and light as told for another body; a ratio within 1 %, an aperture by thirds."""
        ratio = re.search(r"([\d.]+):([\d.]+) instead of", words)
        stop = re.search(r"f/([\d.]+) instead of", words)
        if ratio:
            wanted = float(ratio[1]) / float(ratio[2]) * (1 + self.chance.uniform(-0.01, 0.01))
            self.table.set_lens(wanted, float(stop[1]) if stop else 11.0)
        if light := re.search(r"([\d.]+) EV (more|less) light", words):
            told: Any = self.table.world.state()["lights"]
            for name in self.table.lights:
                wanted = self.missed(float(light[1]) * (1 if light[2] == "more" else -1), MISS_EV)
                self.table.world.do("light", name=name, power_ev=min(0.0, told[name]["power_ev"] + wanted))

    def follow_white_balance(self, words: str) -> None:
        """Set the white balance by so many mired, or a light's colour."""
        if told := re.search(r"white balance (\d+) mired (warmer|cooler)", words):
            mired = self.missed(float(told[1]) * (1 if told[2] == "warmer" else -1), MISS_MIRED)
            self.table.tint_all(*tinted(mired))

    def follow_together(self, words: str) -> None:
        """Set the white balance, and the lights that are told to be set together."""
        self.follow_white_balance(words)
        if "; then every ninth" in words:
            for name in self.table.lights:
                if told := re.search(rf"\b{name} [^;]*", words):
                    self.set_light(name, told[0])

    def follow_light(self, step: MatchStep) -> None:
        """Set a light as its step tells."""
        self.set_light(step.key.removeprefix("light "), step.to_do)

    def set_light(self, name: str, words: str) -> None:
        """Set a light's power, turn it around the piece or raise it, give it another gel, or switch it on, as told."""
        told: Any = self.table.world.state()["lights"]
        stands = told[name]
        if "switch it on" in words:
            self.table.world.do("light", name=name, fires=True)
        changes: dict[str, float] = {}
        for far, way in re.findall(rf"{DEG} (clockwise|anticlockwise|higher|lower)", words):
            what, sign = ("azimuth_deg", 1) if "clockwise" in way else ("elevation_deg", 1)
            sign = -sign if way in ("anticlockwise", "lower") else sign
            changes[what] = min(
                MOST_UP_DEG if what == "elevation_deg" else 720.0, stands[what] + self.missed(sign * float(far), 1.0)
            )
        for far, way in re.findall(r"([\d.]+) EV (more|less)", words):
            wanted = float(far) * (1 if way == "more" else -1)
            changes["power_ev"] = min(0.0, stands["power_ev"] + self.missed(wanted, MISS_EV))
        if moved := re.search(rf"(?<!or )\b{MM} (nearer|farther)", words):
            wanted = float(moved[1]) * (1 if moved[2] == "farther" else -1)
            changes["distance_mm"] = stands["distance_mm"] + self.missed(wanted, 1.0)
        if gel := re.search(r"(\d+) mired (warmer|cooler) than before", words):
            wanted = float(gel[1]) * (-1 if gel[2] == "warmer" else 1)
            red, blue = tinted(self.missed(wanted, MISS_MIRED))
            changes |= {"red": stands["red"] * red, "blue": stands["blue"] * blue}
        if changes:
            self.table.world.do("light", name=name, **changes)


def tinted(mired: float) -> tuple[float, float]:
    """Red and blue of a light that grew so many mired warmer, beside green.

    A black body's at 5500 K by Planck's law, the CIE 1931 observer and sRGB's primaries (colour-science 0.4.7): 18.2
    mired are 0.262 EV of red to blue, which is held for all.
    """
    half = 2 ** (mired * 0.262 / 18.2 / 2)
    return half, 1 / half
