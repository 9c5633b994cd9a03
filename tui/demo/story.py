"""The demo's invented day at the table: scenes with what the hands do, what to press, and what should be caught.

The same scenes are played by a script (`stillset demo --headless`) and by a newcomer at the bench, where each
shows a one-line hint until it is over. Job, pieces, client and kit are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from session.frame.finding import CheckId, FocusVerdict, RuleId
from session.frame.states import FrameState, ReleasedBy
from session.set.setup import PlacedLight, Region
from session.shoot.acts import GoTo, Revise, Touched
from session.shoot.events import (
    CameraFound,
    Event,
    FrameJudged,
    FrameMoved,
    PlaceChanged,
    ReferenceChanged,
    SettingsChanged,
)
from tui.demo.simulated import DemoCamera
from tui.headless.headless_shoot import FRAME_WITHIN_S, Headless, verdict_line

JOB, CLIENT = "Demo: invented movements and type", "Invented Client & Daughters"
PIECES = (("barrel 6 of 24", "three-quarter", "bridge"), ("sort tray 2", "flat", "type"))
TOO_SHORT_S, IN_SYNC_S = 1 / 500, 1 / 200
BLUR_LIMIT_PX, LENS, MAGNIFICATION = 1.0, "Longmere 100 close-up", 1.0
MISS_MM = 2.0
"""How far the demo's focus ring is turned away. At 1:1 and f/11 (f/22 at the sensor) 2 mm give a blur disc of
2 mm / 22 = 0.09 mm, a radius of 2.9 of the simulated body's pixels of 0.0156 mm: almost three limits."""


@dataclass(frozen=True)
class SceneOutcome:
    """The outcome of a scene: `caught` is None for scenes in which nothing goes wrong."""

    id: str
    did: str
    said: str
    caught: bool | None
    frame_ids: tuple[str, ...] = ()


@dataclass(frozen=True)
class Scene:
    """One scene.

    hint   what to press at the bench, one line
    hands  what the invented hands do first: camera control lines
    play   the script's part
    over   whether an event ends it at the bench
    """

    id: str
    did: str
    hint: str
    play: Callable[[Headless, DemoCamera, Scene], SceneOutcome]
    over: Callable[[Event], bool]
    hands: tuple[tuple[str, dict[str, object]], ...] = ()


def perform(camera: DemoCamera, scene: Scene) -> None:
    """Let the hands do what the scene begins with."""
    for do, values in scene.hands:
        camera.hand(do, **values)


# --- the script's parts -----------------------------------------------------------------------------


def _good_frames(count: int) -> Callable[[Headless, DemoCamera, Scene], SceneOutcome]:
    def play(shoot: Headless, camera: DemoCamera, scene: Scene) -> SceneOutcome:
        lines, ids = [], []
        for _ in range(count):
            judged = _frame(shoot)
            lines.append(verdict_line(judged) if judged else "no frame")
            ids.append(judged.frame_id if judged else "")
        return SceneOutcome(scene.id, scene.did, "; ".join(lines), None, tuple(ids))

    return play


def _first_frame(shoot: Headless, camera: DemoCamera, scene: Scene) -> SceneOutcome:
    judged = _frame(shoot)
    if judged is None:
        return SceneOutcome(scene.id, scene.did, "no frame", False)
    shoot.accept(judged.frame_id)
    return SceneOutcome(scene.id, scene.did, f"Frame {judged.number} is the reference now.", None, (judged.frame_id,))


def _too_short(shoot: Headless, camera: DemoCamera, scene: Scene) -> SceneOutcome:
    moved = shoot.release()
    sync = next((f for f in shoot.findings() if f.id == RuleId.SYNC), None)
    if sync is not None:
        shoot.apply(sync)
    return SceneOutcome(scene.id, scene.did, moved.text, moved.state is FrameState.REFUSED and sync is not None)


def _miss_focus(shoot: Headless, camera: DemoCamera, scene: Scene) -> SceneOutcome:
    judged = _frame(shoot)
    camera.hand("turn_focus", mm=-MISS_MM)
    shoot.open_shoot.post(Touched())
    caught = judged is not None and judged.focus.verdict is FocusVerdict.MISSED
    return _judged_outcome(scene, judged, caught)


def _dark(shoot: Headless, camera: DemoCamera, scene: Scene) -> SceneOutcome:
    judged = _frame(shoot)
    camera.hand("light", name="key", fires=True)
    caught = judged is not None and any(f.id == CheckId.FLASH for f in judged.findings)
    return _judged_outcome(scene, judged, caught)


def _dial(shoot: Headless, camera: DemoCamera, scene: Scene) -> SceneOutcome:
    shoot.wait(SettingsChanged, 0, FRAME_WITHIN_S, lambda e: e.reading.value("f_number") == 8.0)
    moved = shoot.release()
    shoot.restore()
    return SceneOutcome(scene.id, scene.did, moved.text, moved.state is FrameState.REFUSED)


def _cut(shoot: Headless, camera: DemoCamera, scene: Scene) -> SceneOutcome:
    mark = shoot.tape.mark()
    moved = shoot.release()
    back = shoot.wait(CameraFound, mark, FRAME_WITHIN_S)
    whole = back is not None and shoot.wait_for_log(moved.frame_id)
    caught = whole and moved.state is FrameState.MISSING
    return SceneOutcome(scene.id, scene.did, " ".join(shoot.sentences(mark)), caught, (moved.frame_id,))


def _on_body(shoot: Headless, camera: DemoCamera, scene: Scene) -> SceneOutcome:
    mark = shoot.tape.mark()
    camera.hand("release")
    moved = shoot.wait(FrameMoved, mark, FRAME_WITHIN_S, lambda e: e.released_by is ReleasedBy.BODY)
    caught = moved is not None and shoot.wait_for_log(moved.frame_id)
    return SceneOutcome(
        scene.id, scene.did, moved.text if moved else "no frame", caught, (moved.frame_id,) if moved else ()
    )


def _next_piece(shoot: Headless, camera: DemoCamera, scene: Scene) -> SceneOutcome:
    piece, view, _ = PIECES[1]
    shoot.open_shoot.post(GoTo(piece, view))
    shoot.open_shoot.post(Revise({"region": region_of(camera)}))
    return SceneOutcome(scene.id, scene.did, f"{piece}, {view}", None)


def _frame(shoot: Headless) -> FrameJudged | None:
    moved = shoot.release()
    if moved.state not in (FrameState.SAVED, FrameState.LOGGED):
        return None
    judged = shoot.wait_for_judgement(moved.frame_id)
    return judged if judged and shoot.wait_for_log(moved.frame_id) else None


def _judged_outcome(scene: Scene, judged: FrameJudged | None, caught: bool) -> SceneOutcome:
    said = verdict_line(judged) if judged else "no frame"
    return SceneOutcome(scene.id, scene.did, said, caught, (judged.frame_id,) if judged else ())


def region_of(camera: DemoCamera) -> Region:
    """Where the lettering of the piece on the simulated table is, as the photographer would frame it by eye."""
    state = camera.hand("state")
    table = state["table"]
    assert isinstance(table, dict)
    left, top, width, height = table["region"]
    across, down = table["pixels"]
    return Region(left / across, top / down, width / across, height / down)


def key_light() -> PlacedLight:
    """The demo's one light as it stands at the beginning."""
    return PlacedLight("key", -2.0, 600.0, 45.0, 45.0)


# --- what ends a scene at the bench ------------------------------------------------------------------


def _in_log(event: Event) -> bool:
    return isinstance(event, FrameMoved) and event.state is FrameState.LOGGED


def _is_refused(event: Event) -> bool:
    return isinstance(event, FrameMoved) and event.state is FrameState.REFUSED


def _in_sync(event: Event) -> bool:
    told = event.reading.value("exposure_s") if isinstance(event, SettingsChanged) else None
    return isinstance(told, int | float) and told >= IN_SYNC_S * 0.95


def _as_set(event: Event) -> bool:
    return isinstance(event, SettingsChanged) and event.reading.value("f_number") == 11.0


SCENES: tuple[Scene, ...] = (
    Scene(
        "too short a time",
        "exposure time 1/500 s with a flash, on a body that syncs at 1/200 s",
        "Press {release}: 1/500 s is too short for the flash. Then {remedy} sets 1/200 s.",
        _too_short,
        _in_sync,
    ),
    Scene(
        "first frame",
        "a first frame, taken as the reference",
        "Press {release} for a frame, then {reference} to take it as the reference.",
        _first_frame,
        lambda event: isinstance(event, ReferenceChanged) and event.frame_id is not None,
    ),
    Scene("good frames", "two frames as they should be", "Press {release} again.", _good_frames(2), _in_log),
    Scene(
        "focus miss",
        f"the focus ring knocked by {MISS_MM} mm",
        "Somebody knocked the focus ring. Press {release} and see.",
        _miss_focus,
        _in_log,
        (("turn_focus", {"mm": MISS_MM}),),
    ),
    Scene("turned back", "focus turned back", "It is turned back. Press {release}.", _good_frames(1), _in_log),
    Scene(
        "no flash",
        "the flash does not fire",
        "The trigger fell asleep. Press {release} and see.",
        _dark,
        _in_log,
        (("light", {"name": "key", "fires": False}),),
    ),
    Scene("flash again", "the trigger is awake again", "It is awake again. Press {release}.", _good_frames(1), _in_log),
    Scene(
        "a dial turned",
        "the aperture dial turned to f/8 between frames",
        "Somebody turned the aperture dial. Press {release}, then {remedy} to restore.",
        _dial,
        _as_set,
        (("turn_dial", {"setting": "f_number", "value": 8}),),
    ),
    Scene("as set", "the set-up's settings again", "Press {release}.", _good_frames(1), _in_log),
    Scene(
        "cable cut",
        "the cable pulled in the middle of a transfer",
        "The cable will be pulled in the transfer. Press {release} and see.",
        _cut,
        _in_log,
        (("fault", {"name": "cable_cut", "after_bytes": 60_000, "times": 1, "reconnect_after_s": 1.0}),),
    ),
    Scene(
        "on the camera",
        "a frame released on the camera",
        "A frame is released on the camera; it appears by itself.",
        _on_body,
        _in_log,
    ),
    Scene(
        "next piece",
        "the second piece on the table",
        "A tray of type lies on the table now. Press {place}, choose it, and y: begin from what stands.",
        _next_piece,
        lambda event: isinstance(event, PlaceChanged),
        (("piece", {"name": PIECES[1][2]}),),
    ),
    Scene(
        "its first frame",
        "the first frame of the second piece",
        "Press {release}, then {reference}.",
        _first_frame,
        lambda event: isinstance(event, ReferenceChanged) and event.frame_id is not None,
    ),
    Scene("the rest", "three frames of the second piece", "Press {release} as you like.", _good_frames(3), _in_log),
)
