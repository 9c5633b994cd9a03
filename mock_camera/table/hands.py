"""The acts of hands at the table: a function for each name of `World.do`, and the values that it takes.

Every one takes `now_s` (the clock of `World`, the time last seen when left out) and returns what is now
true as a dict. Names and values (all optional unless said):

    touch         strength_um=20, frequency_hz=10, damping_ratio=0.03, direction_deg=75
    light         name (needed), power_ev, distance_mm, azimuth_deg, elevation_deg, guide_number_m,
                  recycling_time_s, duration_t01_s, shaper, red, blue (colour, relative to green), fires, on,
                  over_glass (down the optical axis, thrown back by the glass): changes a light or puts up a new one
    remove_light  name (needed)
    turn_focus    mm (+ = away from the camera) or to_mm (from the region's plane)
    glass         thickness_mm (0 takes it out), tilt_deg=45, refractive_index=1.52, leans=across (or down): a sheet
                  before the lens, which is focused and squared up anew through it
    piece         name (needed): bridge, type, label, card or mirror, in its place, region in focus as before
    lean          tilt_deg (0 to 15), raised_deg (0 its right side, 90 its lower one; what stands on it stays upright,
                  lettering follows by its corners)
    shift_piece   right_mm, down_mm, turn_deg (clockwise); added to where it lies
    move_camera   right_mm, down_mm, turn_deg, away_mm (back from the piece, focus ring untouched); added
    ambient       ev (against the flash exposure at exposure_s, 1/200 s) or lux; red, blue (colour,
                  relative to green); flicker_hz, flicker_depth
    modelling     ev, against a lamp of about 150 W
    arrangement   magnification, focal_length_mm, pupil_magnification, widest_f_number: set up afresh
                  with the region in focus; rim_mm, rim_before_mm: the front of the lens as a mirror shows it
    body          curtain_travel_s, trigger_delay_s, flicker_hz, flicker_depth, orientation (Exif, 1 to 8),
                  sharpening (unsharp mask, 0 to 5), denoising (px): the camera's own processing
    backlash      steps of the focus drive that are lost when it turns round
    step_mm       mm: what a step of the focus drive moves the plane of focus
    charge        name, or all lights: full at once
    hand          reach=0.3 (share of the frame, 0 takes it out), side=right: a hand in the picture, out of focus
    detune        strength=1, seed=1: set down by hand again: everything a little off
    look          f_number: nothing but the truth at `now_s`, vibration included
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import fields, replace

import numpy as np

from mock_camera.scene.glass import LEANS, GlassSheet
from mock_camera.scene.grid import Lean, Placement
from mock_camera.scene.pieces import PIECES
from mock_camera.table.hand import SIDES
from mock_camera.table.lights import SHAPER_SIZE_MM, Charge, FlashHead
from mock_camera.table.shake import Touch, displacement_mm
from mock_camera.table.tabletop import SYNC_TIME_S, FocusDrive, Tabletop
from mock_camera.table.values import RefusedValueError, Values

SPENT_UM = 0.005  # a vibration smaller than this is forgotten
LIGHT_RANGES = {
    "power_ev": (-12.0, 0.0),
    "distance_mm": (50.0, 20_000.0),
    "azimuth_deg": (-360.0, 720.0),
    "elevation_deg": (-30.0, 90.0),
    "guide_number_m": (0.1, 1000.0),
    "recycling_time_s": (0.01, 120.0),
    "duration_t01_s": (1e-5, 0.1),
    "red": (0.0, 10.0),
    "blue": (0.0, 10.0),
}


def _touch(bench: Tabletop, v: Values) -> dict[str, object]:
    touch = Touch(
        v.number("now_s"),
        v.number("strength_um", 20.0, 0.0, 100_000.0),
        v.number("frequency_hz", 10.0, 0.1, 1000.0),
        v.number("damping_ratio", 0.03, 0.0001, 0.99),
        v.number("direction_deg", 75.0),
    )
    bench.touches = [t for t in bench.touches if t.left_mm(touch.at_s) * 1000 > SPENT_UM]
    bench.touches.append(touch)
    return vars(touch).copy()


def _light(bench: Tabletop, v: Values) -> dict[str, object]:
    name = v.text("name")
    known = name in bench.lights
    light = bench.lights.get(name, FlashHead(name))
    changes: dict[str, object] = {}
    for field_name, (least, most) in LIGHT_RANGES.items():
        if v.has(field_name):
            changes[field_name] = v.number(field_name, None, least, most)
    for field_name in ("fires", "on", "over_glass"):
        if v.has(field_name):
            changes[field_name] = v.yes(field_name)
    if v.has("shaper"):
        changes["shaper"] = v.one_of("shaper", tuple(SHAPER_SIZE_MM))
    now_s = v.number("now_s")
    held = bench.charge(light, now_s)
    bench.lights[name] = replace(light, **changes)  # type: ignore[arg-type]
    if name in bench.charges or (known and bench.lights[name].power_ev > light.power_ev):
        bench.charges[name] = Charge(held, now_s)  # more power has to be charged first
    return {f.name: getattr(bench.lights[name], f.name) for f in fields(FlashHead)}


def _remove_light(bench: Tabletop, v: Values) -> dict[str, object]:
    name = v.one_of("name", tuple(bench.lights))
    del bench.lights[name]
    bench.charges.pop(name, None)
    return {"lights": list(bench.lights)}


def _turn_focus(bench: Tabletop, v: Values) -> dict[str, object]:
    wanted = v.number("to_mm") if v.has("to_mm") else bench.focus_mm + v.number("mm")
    reached = bench.turn_focus_to(wanted)
    return {"focus_mm": bench.focus_mm, "at_stop": not reached}


def _piece(bench: Tabletop, v: Values) -> dict[str, object]:
    bench.piece = PIECES[v.one_of("name", tuple(PIECES))]
    return {"piece": bench.piece.name, "relief_mm": bench.piece.relief_mm}


def _glass(bench: Tabletop, v: Values) -> dict[str, object]:
    now = bench.glass or GlassSheet(0.0)
    sheet = GlassSheet(
        v.number("thickness_mm", now.thickness_mm, 0.0, 20.0),
        v.number("tilt_deg", now.tilt_deg, 0.0, 80.0),
        v.number("refractive_index", now.refractive_index, 1.0, 3.0),
        v.one_of("leans", LEANS) if v.has("leans") else now.leans,
    )
    bench.glass = sheet if sheet.thickness_mm else None
    return vars(sheet).copy()


def _move(place: Placement, v: Values) -> Placement:
    return Placement(
        place.right_mm + v.number("right_mm", 0.0, -200.0, 200.0),
        place.down_mm + v.number("down_mm", 0.0, -200.0, 200.0),
        place.turn_deg + v.number("turn_deg", 0.0, -360.0, 360.0),
    )


def _shift_piece(bench: Tabletop, v: Values) -> dict[str, object]:
    bench.placement = _move(bench.placement, v)
    return vars(bench.placement).copy()


def _lean(bench: Tabletop, v: Values) -> dict[str, object]:
    now = bench.lean
    bench.lean = Lean(v.number("tilt_deg", now.tilt_deg, 0.0, 15.0), v.number("raised_deg", now.raised_deg))
    return vars(bench.lean).copy()


def _move_camera(bench: Tabletop, v: Values) -> dict[str, object]:
    bench.camera = _move(bench.camera, v)
    reach = bench.arrangement.pupil_distance_mm / 2
    bench.away_mm = min(max(bench.away_mm + v.number("away_mm", 0.0), -reach), reach)
    return {**vars(bench.camera), "away_mm": bench.away_mm}


def _ambient(bench: Tabletop, v: Values) -> dict[str, object]:
    if v.has("ev"):
        exposure_s = v.number("exposure_s", SYNC_TIME_S, 1e-5, 3600.0)
        bench.room = replace(bench.room, lux=bench.room_for(v.number("ev", None, -40.0, 20.0), exposure_s))
    elif v.has("lux"):
        bench.room = replace(bench.room, lux=v.number("lux", None, 0.0, 1e6))
    red, green, blue = bench.room.tint
    bench.room = replace(bench.room, tint=(v.number("red", red, 0.0, 10.0), green, v.number("blue", blue, 0.0, 10.0)))
    return _flicker(bench, v)


def _flicker(bench: Tabletop, v: Values) -> dict[str, object]:
    bench.room = replace(
        bench.room,
        flicker_hz=v.number("flicker_hz", bench.room.flicker_hz, 0.0, 1000.0),
        flicker_depth=v.number("flicker_depth", bench.room.flicker_depth, 0.0, 1.0),
    )
    return {"lux": bench.room.lux, "flicker_hz": bench.room.flicker_hz, "flicker_depth": bench.room.flicker_depth}


def _modelling(bench: Tabletop, v: Values) -> dict[str, object]:
    bench.modelling_ev = v.number("ev", 0.0, -20.0, 10.0)
    return {"modelling_ev": bench.modelling_ev}


def _arrangement(bench: Tabletop, v: Values) -> dict[str, object]:
    now = bench.arrangement
    bench.arrangement = replace(
        now,
        magnification=v.number("magnification", now.magnification, 0.02, 20.0),
        focal_length_mm=v.number("focal_length_mm", now.focal_length_mm, 5.0, 1000.0),
        pupil_magnification=v.number("pupil_magnification", now.pupil_magnification, 0.2, 5.0),
        widest_f_number=v.number("widest_f_number", now.widest_f_number, 0.7, 32.0),
        rim_mm=v.number("rim_mm", now.rim_mm, 0.0, 500.0),
        rim_before_mm=v.number("rim_before_mm", now.rim_before_mm, 1.0, 5000.0),
    )
    bench.focus_mm, bench.away_mm = 0.0, 0.0
    return vars(bench.arrangement).copy()


def _body(bench: Tabletop, v: Values) -> dict[str, object]:
    bench.shutter = replace(
        bench.shutter,
        curtain_travel_s=v.number("curtain_travel_s", bench.shutter.curtain_travel_s, 0.0, 1.0),
        trigger_delay_s=v.number("trigger_delay_s", bench.shutter.trigger_delay_s, 0.0, 1.0),
    )
    bench.orientation = round(v.number("orientation", bench.orientation, 1, 8))
    bench.sharpening = v.number("sharpening", bench.sharpening, 0.0, 5.0)
    bench.denoising = v.number("denoising", bench.denoising, 0.0, 10.0)
    processing = {"sharpening": bench.sharpening, "denoising": bench.denoising}
    return {**vars(bench.shutter), "orientation": bench.orientation, **processing, **_flicker(bench, v)}


def _backlash(bench: Tabletop, v: Values) -> dict[str, object]:
    steps = round(v.number("steps", None, 0, 10_000))
    bench.drive = FocusDrive(bench.drive.step_mm, steps, min(bench.drive.slack_steps, steps))
    return {"backlash_steps": steps}


def _step_mm(bench: Tabletop, v: Values) -> dict[str, object]:
    bench.drive = replace(bench.drive, step_mm=v.number("mm", None, 1e-5, 10.0))
    return {"step_mm": bench.drive.step_mm}


def _charge(bench: Tabletop, v: Values) -> dict[str, object]:
    names = [v.one_of("name", tuple(bench.lights))] if v.has("name") else list(bench.lights)
    for name in names:
        bench.charges.pop(name, None)
    return {"full": names}


def _hand(bench: Tabletop, v: Values) -> dict[str, object]:
    bench.hand_reach = v.number("reach", 0.3, 0.0, 1.0)
    bench.hand_side = v.one_of("side", SIDES) if v.has("side") else bench.hand_side
    return {"hand_reach": bench.hand_reach, "hand_side": bench.hand_side}


def _detune(bench: Tabletop, v: Values) -> dict[str, object]:
    """Deviations are uniform: 1 mm, 2 degrees, 0.3 mm of focus, 5 % of distances, 5 degrees, 0.3 EV at strength 1."""
    strength = v.number("strength", 1.0, 0.0, 10.0)
    chance = np.random.default_rng(round(v.number("seed", 1, 0, 2**31)))

    def off(most: float) -> float:
        return float(chance.uniform(-most, most)) * strength

    place = bench.placement
    bench.placement = Placement(place.right_mm + off(1), place.down_mm + off(1), place.turn_deg + off(2))
    bench.turn_focus_to(bench.focus_mm + off(0.3))
    for name, light in list(bench.lights.items()):
        bench.lights[name] = replace(
            light,
            distance_mm=light.distance_mm * math.exp(off(0.05)),
            azimuth_deg=light.azimuth_deg + off(5),
            elevation_deg=min(90.0, light.elevation_deg + off(5)),
            power_ev=min(0.0, light.power_ev + off(0.3)),
        )
    return {
        "placement": vars(bench.placement).copy(),
        "focus_mm": bench.focus_mm,
        "lights": {name: vars(light).copy() for name, light in bench.lights.items()},
    }


def _look(bench: Tabletop, v: Values) -> dict[str, object]:
    now_s = v.number("now_s")
    focus = bench.focus(v.number("f_number", bench.arrangement.widest_f_number, 0.5, 256.0))
    right, down = displacement_mm(bench.touches, np.array([now_s]))
    left_mm = sum(touch.left_mm(now_s) for touch in bench.touches)
    return {
        "now_s": now_s,
        "shake_shift_px": [float(right[0]) / bench.pitch_mm, float(down[0]) / bench.pitch_mm],
        "shake_left_px": left_mm / bench.pitch_mm,
        "defocus_mm": bench.focus_mm - bench.away_mm,
        "blur_px": focus.blur_circle_mm(bench.away_mm) / bench.pitch_mm / 2,
        "charge": {light.name: bench.charge(light, now_s) for light in bench.lights.values()},
    }


_KNOWN: dict[str, tuple[Callable[[Tabletop, Values], dict[str, object]], str]] = {
    "touch": (_touch, "strength_um frequency_hz damping_ratio direction_deg"),
    "light": (_light, "name fires on over_glass shaper " + " ".join(LIGHT_RANGES)),
    "remove_light": (_remove_light, "name"),
    "turn_focus": (_turn_focus, "mm to_mm"),
    "piece": (_piece, "name"),
    "glass": (_glass, "thickness_mm tilt_deg refractive_index leans"),
    "shift_piece": (_shift_piece, "right_mm down_mm turn_deg"),
    "lean": (_lean, "tilt_deg raised_deg"),
    "move_camera": (_move_camera, "right_mm down_mm turn_deg away_mm"),
    "ambient": (_ambient, "ev exposure_s lux red blue flicker_hz flicker_depth"),
    "modelling": (_modelling, "ev"),
    "arrangement": (
        _arrangement,
        "magnification focal_length_mm pupil_magnification widest_f_number rim_mm rim_before_mm",
    ),
    "body": (
        _body,
        "curtain_travel_s trigger_delay_s flicker_hz flicker_depth orientation sharpening denoising",
    ),
    "backlash": (_backlash, "steps"),
    "step_mm": (_step_mm, "mm"),
    "charge": (_charge, "name"),
    "hand": (_hand, "reach side"),
    "detune": (_detune, "strength seed"),
    "look": (_look, "f_number"),
}


def do(bench: Tabletop, name: str, values: dict[str, object]) -> dict[str, object]:
    """Carries out one of the names above. Raises ValueError with a plain sentence for what isn't known."""
    if name not in _KNOWN:
        raise RefusedValueError(f"Nothing is called {name!r}: there are {', '.join(sorted(_KNOWN))}.")
    act, known = _KNOWN[name]
    return act(bench, Values(name, values, (*known.split(), "now_s")))
