"""Runs the demo's story beside the bench: scene by scene, hands that act, and a hint with the next key."""

from __future__ import annotations

import queue
import threading

from session.set.setup import PlacedLight
from session.shoot.acts import Revise, Touched
from session.shoot.events import CameraFound, Event, PlaceChanged, RevisionChanged
from tui.demo.simulated import DemoCamera
from tui.demo.story import MISS_MM, PIECES, SCENES, perform, region_of
from tui.screen.app_port import Story
from tui.shell.build import OpenShoot
from tui.shell.troubles import CommandFailed
from tui.words.keys import KEYS, Where, cap_of

BEGINNING_HINT = "The simulated camera is switched on; the story begins when it answers."
END_HINT = "That was the story; go on as you like, [Q] leaves. Everything in this job is invented."

HINT_KEYS = {"release": "release", "remedy": "remedy", "reference": "reference", "place": "place"}
"""Name in a scene's hint → act in the table of keys."""


class _GoOn:
    """The person wants the next scene."""


class Storyteller(Story):
    """Hears the controller's events and moves the simulated camera's hands, in a thread of its own.

    After a scene the story waits for a key, so that the outcome can be read; only then the hands put things right.
    """

    def __init__(self, open_shoot: OpenShoot, camera: DemoCamera) -> None:
        self._open_shoot = open_shoot
        self._camera = camera
        self._scene, self._waits = 0, False
        self._camera_answered = False
        self._heard: queue.SimpleQueue[Event | _GoOn] = queue.SimpleQueue()
        self._lights: tuple[PlacedLight, ...] = ()
        caps = {key.act: key.cap for key in KEYS if key.where is Where.BENCH}
        self._keys = {name: f"[{caps[act]}]" for name, act in HINT_KEYS.items()}

    def hear(self, event: Event) -> None:
        """Keep an event for the story's own thread; called in the controller's."""
        self._camera_answered = self._camera_answered or isinstance(event, CameraFound)
        self._heard.put(event)

    @property
    def waits(self) -> bool:
        return self._waits

    def go_on(self) -> None:
        """Tell the story's thread to go on; called in the screen's."""
        self._heard.put(_GoOn())

    def hint(self) -> str:
        """The line above the keys; it asks for a release only once there is a camera to release."""
        if not self._camera_answered:
            return BEGINNING_HINT
        if self._scene >= len(SCENES):
            return END_HINT
        if self._waits:
            return f"{cap_of(Where.BENCH, 'next_scene')} goes on. That was: {SCENES[self._scene].did}."
        return SCENES[self._scene].hint.format(**self._keys)

    def start(self) -> None:
        """Begin the first scene."""
        threading.Thread(target=self._run, name="story", daemon=True).start()

    def _run(self) -> None:
        try:
            perform(self._camera, SCENES[0])
            while True:
                heard = self._heard.get()
                self._next_scene() if isinstance(heard, _GoOn) else self._follow(heard)
        except (CommandFailed, OSError):
            self._scene, self._waits = len(SCENES), False  # the simulated camera has gone, and the story with it

    def _follow(self, event: Event) -> None:
        if isinstance(event, RevisionChanged):
            self._set_lights(event.revision.lights)
        if isinstance(event, PlaceChanged) and event.place.piece == PIECES[1][0]:
            region = region_of(self._camera)
            self._open_shoot.post(Revise({"region": region}))
        if self._scene < len(SCENES) and not self._waits and SCENES[self._scene].over(event):
            if self._scene == len(SCENES) - 1:
                self._scene += 1
            else:
                self._waits = True

    def _next_scene(self) -> None:
        if not self._waits:
            return
        self._after(SCENES[self._scene].id)
        self._scene, self._waits = self._scene + 1, False
        scene = SCENES[self._scene]
        perform(self._camera, scene)
        if scene.id == "on the camera":
            self._camera.hand("release")
        if scene.id == "next piece":
            self._open_shoot.open_place(*PIECES[1][:2])

    def _after(self, scene_id: str) -> None:
        """Put right by the hands what the scene needs put right."""
        if scene_id == "focus miss":
            self._camera.hand("turn_focus", mm=-MISS_MM)
            self._open_shoot.post(Touched())
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
