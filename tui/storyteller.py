"""Runs the demo's story beside the bench: scene by scene, hands that act, and one line that says what to press."""

from __future__ import annotations

import queue
import threading
from dataclasses import replace

from session.events import Event, PlaceChanged, RevisionChanged
from session.setup import PlacedLight
from tui.build import Table
from tui.keys import KEYS, Where
from tui.simulated import SimulatedCamera
from tui.story import MISS_MM, PIECES, SCENES, perform, region_of
from tui.troubles import Failed

END_HINT = "That was the story; go on as you like, [Q] leaves. Everything in this job is invented."

HINT_KEYS = {"release": "release", "remedy": "remedy", "reference": "reference", "place": "place"}
"""Name in a scene's hint → act in the table of keys."""


class Storyteller:
    """Hears the controller's events and moves the simulated camera's hands, in a thread of its own."""

    def __init__(self, table: Table, camera: SimulatedCamera) -> None:
        self._table = table
        self._camera = camera
        self._scene = 0
        self._heard: queue.SimpleQueue[Event | None] = queue.SimpleQueue()
        self._lights: tuple[PlacedLight, ...] = ()
        caps = {key.act: key.cap for key in KEYS if key.where is Where.BENCH}
        self._keys = {name: f"[{caps[act]}]" for name, act in HINT_KEYS.items()}

    def hear(self, event: Event) -> None:
        """In the controller's thread: only kept for the story's own."""
        self._heard.put(event)

    def hint(self) -> str:
        """The line above the keys."""
        if self._scene >= len(SCENES):
            return END_HINT
        return SCENES[self._scene].hint.format(**self._keys)

    def start(self) -> None:
        """Begin the first scene."""
        threading.Thread(target=self._run, name="story", daemon=True).start()

    def _run(self) -> None:
        try:
            perform(self._camera, SCENES[0])
            while (event := self._heard.get()) is not None:
                self._follow(event)
        except (Failed, OSError):
            self._scene = len(SCENES)  # the simulated camera has gone, and the story with it

    def _follow(self, event: Event) -> None:
        if isinstance(event, RevisionChanged):
            self._set_lights(event.revision.lights)
        if isinstance(event, PlaceChanged) and event.place.piece == PIECES[1][0]:
            region = region_of(self._camera)
            self._table.call(lambda shoot: shoot.revise(replace(shoot.bench.revision, region=region)))
        if self._scene < len(SCENES) and SCENES[self._scene].over(event):
            self._after(SCENES[self._scene].id)
            self._scene += 1
            if self._scene < len(SCENES):
                self._begin()

    def _begin(self) -> None:
        scene = SCENES[self._scene]
        perform(self._camera, scene)
        if scene.id == "on the camera":
            self._camera.hand("release")
        if scene.id == "next piece":
            self._table.call(lambda shoot: self._table.open_place(*PIECES[1][:2]))

    def _after(self, scene_id: str) -> None:
        """What the hands put right by themselves."""
        if scene_id == "focus miss":
            self._camera.hand("turn_focus", mm=-MISS_MM)
            self._table.call(lambda shoot: shoot.touched())
        if scene_id == "no flash":
            self._camera.hand("light", name="key", fires=True)

    def _set_lights(self, lights: tuple[PlacedLight, ...]) -> None:
        """An invented assistant sets the lights as the set-up says."""
        for light in lights:
            if light not in self._lights:
                where = {"distance_mm": light.distance_mm, "azimuth_deg": light.azimuth_deg}
                where |= {"elevation_deg": light.elevation_deg, "power_ev": light.power_ev}
                self._camera.hand("light", name=light.name, **{k: v for k, v in where.items() if v is not None})
        for old in self._lights:
            if not any(light.name == old.name for light in lights):
                self._camera.hand("remove_light", name=old.name)
        self._lights = lights
