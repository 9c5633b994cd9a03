"""What a body's own settings say when no picture comes, nor live view: heat, battery, mirror, timers.

Of live view that is refused, extension 0x0A names its conditions, and 0x11 its heat. Of 0x0B and 0x0E the library reads
nothing that names a reason: what 0x0B lists (`evfmode`, `output`) the library sets itself, and 0x0E's condition of live
view (0xD175) is listed by no published body. No setting that libgphoto2 2.5.34 reads tells of an open cover or of
sleep: for those a person is asked to look.
"""

from __future__ import annotations

from collections.abc import Mapping

from session.cameras.widgets import Widget

MODES, MIRROR, MIRROR_IS_UP = ("capturemode", "drivemode"), "mirrorlock", "mirrorupstatus"
CONDITIONS = "liveviewprohibit"
OVERHEATED, LEVELS_OF_HEAT = "d251", ("0", "1", "2")
"""Property 0xD251 of extension 0x11, which libgphoto2 shows under its number: the body's heat. Its name and its three
levels stand in the library's ptp.h and published summaries; other extensions use the number otherwise. That 1 warns and
2 stops follows from their order: value from memory."""
LIVE_HINT_WIDGETS = (CONDITIONS, MIRROR_IS_UP, OVERHEATED)
HINT_WIDGETS = (*MODES, MIRROR, *LIVE_HINT_WIDGETS)
SWITCHES_ITSELF_OFF = "autopoweroff"
"""Seconds without a touch, after which a body sleeps; 0: never."""
ON = frozenset({"on", "1"})
LOOK = "Look whether it sleeps, its cover is open, or it shows a sign of heat."
LOOK_FOR_LIVE_VIEW = "Look whether its display is off or its mirror is up."

CONDITION_WORDS: dict[str, str] = {
    "temperature too high": "It is too hot: switch it off until it has cooled.",
    "battery exhausted": "Its battery is empty.",
    "mirror-up operation": "Its mirror is up.",
    "no card or card protected": "Its card is not in, or is locked.",
    "card protected": "Its card is locked.",
    "card error": "Its card has a fault.",
    "card unformatted": "Its card is not formatted.",
    "minimum aperture warning": "Its lens's aperture ring is not at the smallest opening.",
    "lens is retracting": "Its lens is drawn in.",
    "fully pressed button": "Its release button is held down.",
    "processing of shooting operation": "It is still busy with a picture.",
    "bulb warning": "It is set to bulb.",
}
"""What libgphoto2 says of the conditions of a body (config.c of 2.5.34, the widget's table) → the words here."""


HEAT_WORDS = {"1": ["It is getting hot: let it rest."], "2": [CONDITION_WORDS["temperature too high"]]}


def hints(widgets: Mapping[str, Widget]) -> str:
    """Sentences on what may hold the shutter, or live view; "" where the settings say nothing of the kind."""
    said = []
    for mode in (widgets[name].text for name in MODES if name in widgets):
        words = mode.casefold()
        if "timer" in words:
            said.append(f"Its self-timer is on ({mode}).")
        if "mirror" in words:
            said.append(f"Mirror lock-up is on ({mode}): one release only lifts the mirror.")
        if "remote" in words:
            said.append(f"It waits for a remote control ({mode}).")
    if MIRROR in widgets and widgets[MIRROR].text.casefold() in ON:
        said.append("Mirror lock-up is on: one release only lifts the mirror.")
    if MIRROR_IS_UP in widgets and widgets[MIRROR_IS_UP].text.casefold() in ON:
        said.append(CONDITION_WORDS["mirror-up operation"])
    heat = widgets.get(OVERHEATED)
    if heat is not None and heat.choices == LEVELS_OF_HEAT:
        said += HEAT_WORDS.get(heat.text, [])
    told = widgets[CONDITIONS].text.casefold() if CONDITIONS in widgets else ""
    for condition in told.partition(":")[2].split(","):
        said += [words for name, words in CONDITION_WORDS.items() if condition.strip().endswith(name)][:1]
    return " ".join(dict.fromkeys(said))


def sleeps_after(widgets: Mapping[str, Widget]) -> str:
    """A sentence on when the body switches itself off; "" where it doesn't, or doesn't tell."""
    text = widgets[SWITCHES_ITSELF_OFF].text if SWITCHES_ITSELF_OFF in widgets else ""
    if not text.isdecimal() or not int(text):
        return ""
    return f"By its own setting it switches itself off after {text} s untouched: wake it, or set that longer."
