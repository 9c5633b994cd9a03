"""The planner's result as lines of text: the ranked list, the first plan in full, what fails, what to mind."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from session.plan.kit_search import Ranked, reason
from session.plan.nearest_wish import NearestWish
from session.plan.powers import LightPlan
from session.plan.ranked_plan import Plan
from session.plan.reflection import reflection_texts
from session.plan.report import cautions, lack_text, remarks, room_text
from session.plan.wish import Wish
from session.units.numbers import ev_text, f_text, mm_text, power_text, ratio_text, stop_text, time_text

LABEL_WIDTH = 17
LEFT_OUT_SHOWN = 3


def reasons(plans: Sequence[Plan]) -> list[tuple[Plan, str]]:
    """Each plan with the first thing in which it stands before the next; "" for the last, and for equals."""
    return [(plan, reason(plan, plans[n + 1]) if n + 1 < len(plans) else "") for n, plan in enumerate(plans)]


def view_lines(
    found: Ranked, wish: Wish, nearest: NearestWish | None, first: int, *, invented: bool, width: int
) -> Iterator[tuple[str, int]]:
    """The whole text: each line, and how far it is indented where it must be wrapped.

    nearest  to the wish, where nothing meets the whole of it
    width  columns of the terminal, 0 where there is none; an arrangement's name has a line of its own below its row
           where the row would be wider
    """
    yield _wish_line(wish), 2
    order = "nearest first: nothing meets the whole wish" if nearest else "best first"
    yield f"{len(found.plans)} arrangements{' of the invented demo kit' if invented else ''}, {order}", 2
    if nearest and nearest.text:
        yield nearest.text, 2
    yield "", 0
    told: dict[tuple[str, ...], int] = {}
    wide = max(len(_name(plan)) for plan in found.plans[:first])
    narrow = 0 < width < max(len(_row(0, plan, wide)) for plan in found.plans[:first])
    for place, (plan, why) in enumerate(reasons(found.plans)[:first], 1):
        yield _row(place, plan, 0 if narrow else wide), 6
        if narrow:
            yield f"      {_name(plan)}", 8
        failing = tuple(lack_text(one) for one in plan.failing)
        as_told = told.setdefault(failing, place)
        for text in failing if as_told == place else (f"fails as {as_told} does",) if failing else ():
            yield f"      {text}", 8
        if why and place < min(first, len(found.plans)):
            yield f"      before the next for {why}", 8
    yield "", 0
    yield f"The first in full: {_name(found.plans[0])}", 2
    yield from ((f"  {label:<{LABEL_WIDTH}} {text}", LABEL_WIDTH + 3) for label, text in plan_details(found.plans[0]))
    for criterion in found.plans[0].unknown:
        yield f"  ? {criterion.text}", 4
    for remark in remarks(found.plans[0]):
        yield f"  · {remark}", 4
    for out in found.left_out[:LEFT_OUT_SHOWN]:
        yield f"Left out: {out.build.body.name}, {out.build.label}: {out.why}", 2
    if len(found.left_out) > LEFT_OUT_SHOWN:
        yield f"… and {len(found.left_out) - LEFT_OUT_SHOWN} more.", 2
    yield "", 0
    yield from ((f"! {caution}", 2) for caution in cautions(found.plans[0]))


def _wish_line(wish: Wish) -> str:
    parts = [f"{mm_text(wish.piece_width_mm)} × {mm_text(wish.piece_height_mm)}, {mm_text(wish.relief_mm)} deep"]
    parts.append(f"{mm_text(wish.depth_mm)} sharp to a blur radius of {wish.blur_radius_mm:.3g} mm")
    if wish.delivered_pixels is not None:
        parts.append(f"{wish.delivered_pixels:.0f} px across")
    return ", ".join(parts)


def _name(plan: Plan) -> str:
    return f"{plan.build.body.name}, {plan.build.label}"


def _row(place: int, plan: Plan, wide: int) -> str:
    """A plan in one line, its name in `wide` columns; 0: without the name."""
    name = f"{_name(plan):<{wide}}  " if wide else ""
    state = "fails" if not plan.holds else "?" if plan.unknown else "ok"
    frames = plan.stop.series.frames
    room = "room unknown" if plan.clearance_mm is None else f"{mm_text(plan.clearance_mm)} free"
    return (
        f"{place:>3} {state:<5} {name}{ratio_text(plan.mounting.magnification):>6}  "
        f"{f_text(plan.stop.f_number):>5}  {frames:>2} {'frame ' if frames == 1 else 'frames'}  {room}"
    )


def plan_details(plan: Plan) -> Iterator[tuple[str, str]]:
    """(label, text) for everything that is to be put up and set."""
    stop, ratio = plan.stop, plan.mounting.magnification
    width_mm, height_mm = plan.field_mm
    turned = ", camera upright" if plan.turned else ""
    yield "ratio", f"{ratio_text(ratio)}, field {mm_text(width_mm)} × {mm_text(height_mm)}{turned}"
    yield "before the lens", _room_text(plan)
    yield "aperture", f"{stop_text(stop.f_number, stop.effective_f_number)}, {_loss_text(plan)}"
    yield (
        "sharp",
        f"{stop.depth_mm:.2f} mm a frame; blur radius {stop.blur_radius_mm:.3g} mm at its ends, diffraction too",
    )
    yield "focus steps", _steps_text(plan)
    yield "pixels", f"{plan.pixels_on_piece:.0f} on the piece, {plan.delivered_pixels:.0f} across the delivered picture"
    for light in plan.lights:
        yield f"light {light.name}", _light_text(light)
    for light in plan.alternatives:
        yield "or instead", f"{light.name} alone, {power_text(light.power_ev)} at {mm_text(light.distance_mm)}"
    if plan.reflection is not None:
        key = next(iter(plan.lights), None)
        yield from (
            (("the piece" if n == 0 else ""), text) for n, text in enumerate(reflection_texts(plan.reflection, key))
        )
    time = plan.time
    yield (
        "exposure time",
        f"{time_text(time.exposure_s)}, {_spare(time.sync_margin_ev)}",
    )
    yield "hold-off", f"{plan.hold_off_s:.1f} s after a touch; all frames take {plan.series_s:.0f} s"
    if plan.plate is not None:
        yield from _plate_lines(plan)


def _spare(margin_ev: float) -> str:
    """How far an exposure time is from what would cut off the flash."""
    if round(margin_ev, 1) == 0:
        return "the shortest that is safe with flash"
    return (
        f"{abs(margin_ev):.1f} EV {'longer' if margin_ev > 0 else 'shorter'} than the shortest that is safe with flash"
    )


def _room_text(plan: Plan) -> str:
    needed = f"{mm_text(plan.room_needed_mm)} needed"
    room_mm, track_mm = plan.mounting.working_distance_mm, plan.mounting.track_mm
    if room_mm is None:
        return f"not known, {needed}"
    track = "" if track_mm is None else f"; piece to sensor {mm_text(track_mm)}"
    return f"{room_text(room_mm, plan.clearance_mm)}, {needed}{track}"


def _loss_text(plan: Plan) -> str:
    return f"{plan.exposure_increase_ev:.1f} EV lost close up"


def _steps_text(plan: Plan) -> str:
    series, how = plan.stop.series, "moving the camera" if plan.focus_by_moving else "the ring or moving the camera"
    if series.frames == 1:
        return f"one frame covers {mm_text(plan.wish.depth_mm)}"
    return f"{series.frames} frames {series.step_mm:.2f} mm apart, by {how}"


def _light_text(light: LightPlan) -> str:
    shaper = f" with {light.shaper}" if light.shaper else ""
    short = f", {light.short_ev:.1f} EV too weak" if light.short_ev else ""
    where = f"{power_text(light.power_ev)} at {mm_text(light.distance_mm)}{shaper}{short}"
    if light.behind:
        where += f", {light.from_axis_deg:.0f}° from the axis: behind, it lights the edge only"
    elif light.from_axis_deg:
        where += f", {light.from_axis_deg:.0f}° from the axis"
    if light.beside_key_ev:
        where += f", {ev_text(light.beside_key_ev)} beside the key"
    return f"{where}, recycles in {light.recycling_time_s:.1f} s"


def _plate_lines(plan: Plan) -> Iterator[tuple[str, str]]:
    plate = plan.plate
    assert plate is not None
    yield (
        f"plate {plate.name}",
        f"{plate.angle_deg:g}°, centre {mm_text(plate.distance_mm)} before the piece, at least "
        f"{mm_text(plate.length_needed_mm)} × {mm_text(plate.width_needed_mm)}",
    )
    yield "", f"costs {plate.loss_ev:.1f} EV ({plate.mirror_loss_ev:.1f} on a mirror-like piece)"
    yield (
        "",
        f"shifts {plate.shift_mm:.2f} mm, doubles by {plate.double_image_mm:.2f} mm, astigmatism "
        f"{plate.astigmatism_mm:.2f} mm",
    )
    yield (
        "",
        f"aim the light {mm_text(plate.aim_sideways_mm)} beside the axis and {mm_text(plate.aim_along_axis_mm)} before "
        "the piece, a black trap opposite",
    )
