"""A set-up of the mock camera with its frames as files and as the checks' material; its truth is known."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mock_camera.body.encode import encode_jpeg
from mock_camera.table.world import Shot, World
from session.checks.material.checked_picture import Material, Pair, gather, pair
from session.frame.ports import Assignment
from session.set.setup import Arrangement, PlacedLight, Region, Revision, Settings

SIZE = (1536, 1024)
SENSOR_MM = (24.0, 16.0)
MM_PER_PX = SENSOR_MM[0] / SIZE[0]
"""On the piece, at 1:1."""


@dataclass
class MockSet:
    """Frames are numbered; each is shot long after the last, with full charge."""

    folder: Path
    world: World
    region: Region
    shots: int = 0
    truth: dict[str, object] = field(default_factory=dict)
    mosaic: NDArray[np.uint16] = field(default_factory=lambda: np.zeros((0, 0), np.uint16))

    def path(self, *, exposure_s: float = 1 / 200, iso: int = 100) -> Path:
        """Release once; `truth` is what was truly there, `mosaic` the sensor's own values."""
        self.shots += 1
        shot = Shot(exposure_s, 11.0, iso, datetime(2026, 11, 2, 9, tzinfo=UTC), self.shots)
        picture = self.world.expose(shot, 100.0 * self.shots)
        path = self.folder / f"frame-{self.shots}.jpg"
        path.write_bytes(encode_jpeg(picture, shot))
        self.truth, self.mosaic = picture.truth, picture.mosaic
        return path

    def frame(self, *, iso: int = 100) -> Material:
        return gather(str(self.path(iso=iso)), SIZE[0])

    def against(self, reference: Material) -> Pair:
        """A frame as the set is now, against the reference."""
        return pair(self.frame(), reference)

    def light(self, name: str = "key", **values: object) -> None:
        self.world.do("light", name=name, **values)

    def put_up(self, *lights: PlacedLight) -> None:
        """Lights of guide number 32, as they are recorded."""
        for one in lights:
            self.light(
                one.name,
                power_ev=one.power_ev,
                distance_mm=one.distance_mm,
                azimuth_deg=one.azimuth_deg,
                elevation_deg=one.elevation_deg,
            )

    def assignment(self, path: Path, reference: Path | None, **changes: object) -> Assignment:
        revision = Revision(region=self.region, arrangement=Arrangement(magnification=1.0))
        made: dict[str, object] = {
            "frame_id": "f",
            "path": str(path),
            "kind": "jpeg",
            "revision": revision,
            "asked": Settings().by_name(),
            "flash_used": True,
            "reference_path": str(reference) if reference else None,
            "sensor_width_mm": SENSOR_MM[0],
            "pixels_across": SIZE[0],
        }
        return Assignment(**(made | changes))  # type: ignore[arg-type]


def mock_set(folder: Path, seed: int, piece: str = "bridge") -> MockSet:
    """A fresh set: key light at 45°/45°, 600 mm, −2 EV, room six stops under."""
    world = World(seed=seed, pixels=SIZE, piece=piece)
    told: Any = world.state()["region"]
    x, y, width, height = told
    region = Region(x / SIZE[0], y / SIZE[1], width / SIZE[0], height / SIZE[1])
    return MockSet(folder, world, region)
