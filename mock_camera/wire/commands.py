"""The acts of a person on the camera itself, each under a name with named values.

    turn_dial     setting, value     a setting by its name and physical value: f_number 8, file_format raw+jpeg
    release                          press the button on the camera
    state                            settings, connection, card, which release made which file, faults to come, and the
                                     table's own state
    truth         object             what is true of the picture STIL0001
    fault         name, times=1, after=0, and the fault's own options: script a mishap (faults.py)
    clear_faults
    format_card                      empty the card; numbers go on
    battery       percent
    set_property  code, value        of a played body: a property by its number, listed or not
    switch_off, switch_on            drop the host and refuse others, or take them again
    wire          bytes_per_s, from_bytes=0   pace of the cable, 0 = as fast as it goes, for data of that size and more
    pass_time     seconds            let camera time pass; a stepped clock jumps

Every other name is for the hands on the table before the camera, `World.do`, which is told the time.
"""

from collections.abc import Callable
from dataclasses import dataclass

from mock_camera.body.camera_body import CameraBody
from mock_camera.body.capture import Capture
from mock_camera.body.viewfinder import Viewfinder
from mock_camera.ptp.codes import EventCode, Response
from mock_camera.wire.wire_server import Wire

Answer = dict[str, object]


class RefusedCommandError(ValueError):
    """A command that can't be carried out; the text is a sentence."""


@dataclass(frozen=True)
class Hands:
    """Runs commands on one camera."""

    body: CameraBody
    capture: Capture
    viewfinder: Viewfinder
    wire: Wire
    put_property: Callable[[int, int | str], None] | None = None

    def do(self, name: str, values: Answer) -> Answer:
        """Carry out the command and return its answer. Raises ValueError with a sentence."""
        if name in COMMANDS:
            try:
                return COMMANDS[name](self, **values)
            except TypeError as error:
                raise RefusedCommandError(f"{name} doesn't take these values: {error}.") from None
        self.viewfinder.forget()
        with self.body.table_lock:
            return self.body.source.do(name, **{"now_s": self.body.clock.now_s(), **values})


def turn_dial(hands: Hands, *, setting: str, value: float | str) -> Answer:
    """Turn the body's dial of a setting to a value, in the unit of the setting's name.

    Raises ValueError without a dial.
    """
    if not hands.body.property_of(setting).writable:
        raise RefusedCommandError(f"No dial turns {setting}.")
    hands.body.change(setting, value)
    return {setting: hands.body.setting(setting)}


def release(hands: Hands) -> Answer:
    """Press the button on the camera. The answer comes at once; the exposure runs on."""
    response = hands.capture.release()
    if response != Response.OK:
        raise RefusedCommandError(f"The body didn't release: {response.name}.")
    return {"releases": hands.capture.releases}


def state(hands: Hands) -> Answer:
    body, card = hands.body, hands.body.card
    return {
        "settings": body.settings(),
        "connected": hands.wire.is_connected(),
        "switched_on": hands.wire.plugged_in,
        "shutter_open": hands.capture.is_open(),
        "frames_pending": hands.capture.pending(),
        "releases": hands.capture.releases,
        "made_by": dict(hands.capture.made_by),
        "live_view": body.live_view,
        "objects_told": body.objects_told,
        "card": {
            "capacity_bytes": card.capacity_bytes,
            "free_bytes": card.free_bytes(),
            "files": [str(item.path.relative_to(card.folder)) for item in card if item.path.is_file()],
        },
        "faults": body.faults.state(),
        "table": body.source.state(),
    }


def truth(hands: Hands, *, object: str) -> Answer:
    """The true values of a picture; `object` is the file's name without suffix."""
    if object not in hands.capture.truths:
        raise RefusedCommandError(f"No picture {object!r} was taken since this camera was started.")
    return dict(hands.capture.truths[object])


def fault(hands: Hands, *, name: str, times: int = 1, after: int = 0, **options: object) -> Answer:
    hands.body.faults.add(name, times=times, after=after, **options)
    return {}


def clear_faults(hands: Hands) -> Answer:
    hands.body.faults.clear()
    return {}


def format_card(hands: Hands) -> Answer:
    gone = hands.body.card.format()
    for handle in gone:
        hands.body.cable.send_event(EventCode.ObjectRemoved, handle)
    return {"removed": len(gone)}


def battery(hands: Hands, *, percent: float) -> Answer:
    """Set the battery's level in per cent."""
    hands.body.set_battery(percent)
    return {"percent": hands.body.setting("battery_percent")}


def set_property(hands: Hands, *, code: int, value: int | str) -> Answer:
    """Change a property of a played body, also to a value that it doesn't list."""
    if hands.put_property is None:
        raise RefusedCommandError(f"This camera plays no body, so that property {code:#06x} can't be set.")
    hands.put_property(code, value)
    return {}


def switch_off(hands: Hands) -> Answer:
    hands.wire.plug(False)
    return {}


def switch_on(hands: Hands) -> Answer:
    hands.wire.plug(True)
    return {}


def wire(hands: Hands, *, bytes_per_s: float, from_bytes: int = 0) -> Answer:
    """Set the wire's speed, bytes per second (s), for data of so many bytes and more."""
    hands.wire.from_bytes = from_bytes
    hands.wire.bytes_per_s = bytes_per_s
    return {}


def pass_time(hands: Hands, *, seconds: float) -> Answer:
    """Let so many seconds of camera time pass; a stepped clock jumps."""
    hands.body.clock.advance(seconds)
    return {"now_s": hands.body.clock.now_s()}


COMMANDS: dict[str, Callable[..., Answer]] = {
    command.__name__: command
    for command in (
        turn_dial,
        release,
        state,
        truth,
        fault,
        clear_faults,
        format_card,
        battery,
        set_property,
        switch_off,
        switch_on,
        wire,
        pass_time,
    )
}
