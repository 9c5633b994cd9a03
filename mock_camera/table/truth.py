"""The true geometry of a picture: where the region lies, how far out of focus, at which magnification."""

from __future__ import annotations

import math

from mock_camera.scene.grid import frame_grid
from mock_camera.scene.optics import Focus
from mock_camera.table.tabletop import Tabletop


def geometry(bench: Tabletop, focus: Focus, pixels: tuple[int, int]) -> dict[str, object]:
    """Truth of a picture of this size at this focus; the keys are described in world.py."""
    blur_mm = focus.blur_circle_mm(bench.away_mm)
    return {
        "blur_px": blur_mm / bench.pitch_mm / 2,
        "blur_circle_mm": blur_mm,
        "airy_px": focus.airy_radius_mm / bench.pitch_mm,
        "defocus_mm": bench.focus_mm - bench.away_mm,
        "focus_mm": bench.focus_mm,
        "focal_length_mm": bench.arrangement.focal_length_mm,
        "orientation": bench.orientation,
        "pixel_pitch_mm": bench.pitch_mm,
        "effective_f_number": focus.effective_f_number,
        "magnification": bench.pose(focus.scale).magnification(bench.piece.region_height_mm),
        "turn_deg": bench.placement.turn_deg - bench.camera.turn_deg,
        **_region(bench, focus, pixels),
    }


def table(bench: Tabletop, pixels: tuple[int, int]) -> dict[str, object]:
    """Everything else on the bench, as JSON-like values."""
    return {
        "piece": bench.piece.name,
        "pixels": list(pixels),
        "sensor_mm": [bench.pitch_mm * n for n in pixels],
        "pupil_magnification": bench.arrangement.pupil_magnification,
        "widest_f_number": bench.arrangement.widest_f_number,
        "region_height_mm": bench.piece.region_height_mm,
        "relief_mm": bench.piece.relief_mm,
        "glass": vars(bench.glass).copy() if bench.glass else None,
        "tilt_deg": bench.lean.tilt_deg,
        "raised_deg": bench.lean.raised_deg,
        "focus_stops_mm": list(bench.focus_stops_mm()),
        "step_mm": bench.drive.step_mm,
        "backlash_steps": bench.drive.backlash_steps,
        "ambient_lux": bench.room.lux,
        "curtain_travel_s": bench.shutter.curtain_travel_s,
        "trigger_delay_s": bench.shutter.trigger_delay_s,
        "hand_reach": bench.hand_reach,
        "lights": {
            light.name: {name: value for name, value in vars(light).items() if name != "name"}
            for light in bench.lights.values()
        },
    }


def _region(bench: Tabletop, focus: Focus, pixels: tuple[int, int]) -> dict[str, object]:
    """Where the region lies in the picture, and how far from where it lay as the set started."""
    pose = bench.pose(focus.scale)
    left, top, width, height = bench.piece.region_mm
    level = bench.piece.region_height_mm
    grid = frame_grid(*pixels, bench.pitch_mm)
    corners = [grid.pixel(*pose.to_sensor(left + i * width, top + j * height, level)) for i in (0, 1) for j in (0, 1)]
    xs = [x + 0.5 - grid.margin_x for x, _ in corners]
    ys = [y + 0.5 - grid.margin_y for _, y in corners]
    x0, y0 = max(0, math.floor(min(xs))), max(0, math.floor(min(ys)))
    x1, y1 = min(pixels[0], math.ceil(max(xs))), min(pixels[1], math.ceil(max(ys)))
    start = bench.arrangement.magnification / bench.pitch_mm
    middle = (left + width / 2) * start, (top + height / 2) * start
    shift = [sum(v) / 4 - n / 2 - m for v, n, m in zip((xs, ys), pixels, middle, strict=True)]
    return {"region": [x0, y0, max(0, x1 - x0), max(0, y1 - y0)], "shift_px": [round(v, 4) for v in shift]}
