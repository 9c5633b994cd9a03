"""Everything that the rules look at, as one value. Times are `Clock.monotonic_s`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from session.frame.camera_messages import Reading, Value
from session.frame.moves import Moves
from session.set.kit import Body, Kit, Light
from session.set.setup import Revision


@dataclass(frozen=True)
class Pop:
    """The last time a flash fired, and at what power."""

    at_s: float
    power_ev: float


@dataclass(frozen=True)
class Situation:
    """The set-up, the kit, what the camera says, and what happened last.

    touched_s        when camera, focus, light or table was touched last; None: not since the start
    asked_s          when the release that is judged was asked for; None: nobody asks yet
    ambient          the release is one with the lights off: no flash fires
    solo             the release is one with this light alone; "": with all
    moves            how the live picture moves, None without one
    pops             by light, the last time it fired
    frame_bytes      what a frame takes on card and disk, by the mean of the last ones, else a guess
    free_card_bytes, free_disk_bytes   None when not known
    """

    revision: Revision
    kit: Kit
    reading: Reading = field(default_factory=Reading)
    camera_serial: str = ""
    camera_model: str = ""
    now_s: float = 0.0
    touched_s: float | None = None
    asked_s: float | None = None
    ambient: bool = False
    solo: str = ""
    moves: Moves | None = None
    pops: Mapping[str, Pop] = field(default_factory=dict)
    frame_bytes: int = 60_000_000
    free_card_bytes: int | None = None
    free_disk_bytes: int | None = None

    @property
    def body(self) -> Body | None:
        return self.kit.body_for(self.revision.body, self.camera_serial, self.camera_model)

    @property
    def trigger_delay_s(self) -> float:
        """Delay of the trigger in the revision, s; 0 where the kit has none."""
        trigger = self.kit.trigger_for(self.revision.trigger)
        return trigger.delay_s if trigger else 0.0

    @property
    def wholly_open_s(self) -> float | None:
        """Exposure time, s, from which on the shutter is wholly open at the flash; None when the body is unknown.

        The maker's sync time, or curtain travel plus the trigger's delay where that is longer.
        """
        body = self.body
        if body is None:
            return None
        return max(body.sync_time_s, (body.curtain_travel_s or body.sync_time_s) + self.trigger_delay_s)

    @property
    def flashes(self) -> dict[str, Light]:
        """The flashes that will fire, by name; a light that the kit doesn't know is taken for a flash."""
        if self.ambient:
            return {}
        lit = [placed.name for placed in self.revision.lights if self.solo in ("", placed.name)]
        known = {name: self.kit.light_for(name) for name in lit}
        lights = {name: light or Light(name=name) for name, light in known.items()}
        return {name: light for name, light in lights.items() if light.kind == "flash"}

    @property
    def exposure_s(self) -> float:
        """Exposure time, s, as the camera says, else as the set-up asks."""
        told = self.reading.value("exposure_s")
        return float(told) if isinstance(told, int | float) else self.revision.settings.exposure_s

    def can_set(self, name: str, value: Value) -> bool:
        """Whether the camera would take this value for this setting."""
        setting = self.reading.settings.get(name)
        if setting is None or setting.read_only:
            return False
        return not setting.allowed or value in setting.allowed
