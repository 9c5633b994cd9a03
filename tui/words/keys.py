"""The table of keys. A row holds the screen, the key, the act, when the key is shown, and how much it matters.

Screens look a pressed key up here; the key line, the help screen and the table of docs/keys.md are made from it.
DEVELOPERS.md shows how a key is added.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from session.frame.states import Mark


class Where(StrEnum):
    """A screen, or what the bench is doing for a moment."""

    BENCH = "bench"
    LIGHT = "a light is chosen"
    ITEM = "a reflector, flag or glass is chosen"
    REGION = "the region is moved"
    SETTINGS = "settings are changed"
    PLACES = "pieces and views"
    NEW_VIEW = "a view is new"
    PATCH = "the grey patch is marked"
    AMBIENT = "ambient is measured"
    SOLOS = "solos are shot"
    MIX = "light is mixed"
    MIX_SET = "powers of a mix are set"
    SERIES = "a focus series is shot"
    MATCH = "match"
    INSTEAD = "a substitute is chosen"
    TYPING = "something is typed"
    LEDGER = "ledger"
    REGION_CLOSE = "a region pixel for pixel"
    COMPARE = "frames compared"
    EXPLAIN = "a frame explained"
    PLANNER = "planner"
    HANDOVER = "hand-over"
    FOLLOW = "follower"
    HELP = "help"
    LEAVING = "leaving is asked"


@dataclass(frozen=True)
class Facts:
    """The facts that decide which keys make sense now."""

    held: bool = False
    stopped: bool = False
    remedy: bool = False
    drifted: bool = False
    frame: bool = False
    frames: bool = False
    jobs: bool = False
    picture: bool = False
    things: bool = False
    live_offered: bool = False
    live: bool = False
    reference: bool = False
    support: bool = False
    grey_offer: bool = False
    drive_measured: bool = False
    focus_drive: bool = False
    writable: bool = True
    undoable: bool = False
    beside: bool = False
    lights: bool = False
    filtered: bool = False
    from_bench: bool = False
    sheet: bool = False
    planned: bool = False
    nearest: bool = False
    scene_over: bool = False
    to_go: bool = False
    view_done: bool = False
    order_done: bool = False
    reshoot: bool = False
    confirmable: bool = False
    skippable: bool = False
    exchangeable: bool = False
    set_pictures: bool = False
    series_on: bool = False
    series_begun: bool = False
    series_by_hand: bool = False
    series_lacks: bool = False
    series_moved: bool = False
    writing: bool = False
    series_here: bool = False
    series_then: bool = False


@dataclass(frozen=True)
class Condition:
    """When a key is shown, and how docs/keys.md says so."""

    words: str
    holds: Callable[[Facts], bool]


ALWAYS: Final = Condition("always", lambda facts: True)
NOT_HELD: Final = Condition("no release waits", lambda facts: not facts.held)
HELD: Final = Condition("a release waits", lambda facts: facts.held)
STOPPED: Final = Condition("a rule says stop", lambda facts: facts.stopped)
REMEDY: Final = Condition("a finding has a remedy", lambda facts: facts.remedy)
DRIFTED: Final = Condition("the camera isn't set as the set-up says", lambda facts: facts.drifted)
FRAME: Final = Condition("there is a frame", lambda facts: facts.frame)
NO_FRAME: Final = Condition("no frame is here yet", lambda facts: not facts.frame)
FRAMES: Final = Condition("the job has another frame", lambda facts: facts.frames)
JOBS: Final = Condition("the log has another job", lambda facts: facts.jobs)
SERIES_THEN: Final = Condition("the reference's view was a focus series", lambda facts: facts.series_then)
FRESH: Final = Condition(
    "no frame is here, and nothing is ordered", lambda f: not (f.frame or f.to_go or f.view_done or f.order_done)
)
NOT_FRESH: Final = Condition("a frame is here, or something is ordered", lambda facts: not FRESH.holds(facts))
REFERENCE: Final = Condition("the set-up has a reference", lambda facts: facts.reference)
SEEN: Final = Condition("there is a picture, or live view is on", lambda facts: facts.picture or facts.live)
PICTURED: Final = Condition("there is a picture", lambda facts: facts.picture)
MARKABLE: Final = Condition("there is a frame, and the log is ours", lambda f: f.frame and f.writable)
THINGS: Final = Condition("kit or set-up has something to choose", lambda facts: facts.things)
LIGHTS: Final = Condition("the set has two lights or more", lambda facts: facts.lights)
FEW_LIGHTS: Final = Condition("the set has one light, or none", lambda facts: not facts.lights)
LIVE: Final = Condition("the camera offers live view", lambda facts: facts.live_offered and not facts.live)
NO_LIVE: Final = Condition("there is no live view", lambda facts: not facts.live_offered and not facts.live)
LIVE_ON: Final = Condition("live view is on", lambda facts: facts.live)
HOLDABLE: Final = Condition("live view is on, and there is a reference", lambda facts: facts.live and facts.reference)
SUPPORT: Final = Condition("a swing of the support was measured", lambda facts: facts.support)
GREY_OFFER: Final = Condition("a grey card told of the lens", lambda facts: facts.grey_offer)
NO_DRIVE: Final = Condition("the camera can't drive the focus", lambda facts: not facts.focus_drive)
SWEEP: Final = Condition("live view is on, and the camera can drive the focus", lambda f: f.live and f.focus_drive)
UNSEEN_DRIVE: Final = Condition(
    "live view is off, and the camera can drive the focus", lambda f: f.focus_drive and not f.live
)
LAID: Final = Condition("there is a frame, and no other lies beside", lambda facts: facts.frame and not facts.beside)
BESIDE: Final = Condition("another frame lies beside", lambda facts: facts.beside)
WRITABLE: Final = Condition("the log is ours", lambda facts: facts.writable)
UNDOABLE: Final = Condition("there is something to undo", lambda facts: facts.undoable)
NOTHING_DONE: Final = Condition("there is nothing to undo", lambda facts: not facts.undoable)
HAS_UNDO: Final = Condition("the log is ours, and there is something to undo", lambda f: f.writable and f.undoable)
HAS_NO_UNDO: Final = Condition("the log is ours, and there is nothing to undo", lambda f: f.writable and not f.undoable)
FILTERED: Final = Condition("the list is narrowed", lambda facts: facts.filtered)
PLANNED: Final = Condition("there is a plan, and a set-up to take it", lambda facts: facts.planned)
NEAREST: Final = Condition("nothing meets the whole wish, and a nearer one can be met", lambda facts: facts.nearest)
SHEET: Final = Condition("the contact sheet is shown", lambda facts: facts.sheet)
LIST: Final = Condition("the list is shown", lambda facts: not facts.sheet)
LISTED: Final = Condition("the list shows several frames", lambda facts: facts.frames and not facts.sheet)
PICTURES: Final = Condition("the contact sheet shows several pictures", lambda facts: facts.frames and facts.sheet)
SCENE_OVER: Final = Condition("a scene of the demo is over", lambda facts: facts.scene_over)
TO_GO: Final = Condition("another view of the order is to go", lambda facts: facts.to_go and not facts.view_done)
VIEW_DONE: Final = Condition(
    "this view of the order is done, and another is to go", lambda facts: facts.to_go and facts.view_done
)
CONFIRMABLE: Final = Condition("your word can settle the step, or was said", lambda facts: facts.confirmable)
NOT_CONFIRMABLE: Final = Condition("it was measured, or no step is left", lambda facts: not facts.confirmable)
SKIPPABLE: Final = Condition("a step is left", lambda facts: facts.skippable)
EXCHANGEABLE: Final = Condition("its thing can have a substitute", lambda facts: facts.exchangeable)
NOT_EXCHANGEABLE: Final = Condition("nothing can take its place", lambda facts: not facts.exchangeable)
SET_PICTURES: Final = Condition("pictures of the set are attached", lambda facts: facts.set_pictures)
LISTED_SET_PICTURES: Final = Condition(
    "the list is shown, and pictures of the set are attached", lambda facts: facts.set_pictures and not facts.sheet
)
SERIES_ON: Final = Condition("the series is under way", lambda facts: facts.series_on)
SERIES_RESTS: Final = Condition("the series isn't under way", lambda facts: not facts.series_on)
SERIES_PLAN: Final = Condition("no frame of the series is shot", lambda f: not f.series_on and not f.series_begun)
SERIES_HERE: Final = Condition("the frame is of a focus series", lambda facts: facts.series_here)
SERIES_FOCUS: Final = Condition(
    "live view is on, the camera can drive the focus, and the series isn't under way",
    lambda f: f.live and f.focus_drive and not f.series_on,
)
SERIES_DRIVE: Final = Condition(
    "the camera can drive the focus, and the series isn't under way", lambda f: f.focus_drive and not f.series_on
)
DRIVE_MEASURED: Final = Condition("the focus drive was measured", lambda f: f.drive_measured)
SERIES_MOVED: Final = Condition(
    "the set moved while the series was shot, and it isn't under way", lambda f: f.series_moved and not f.series_on
)
SERIES_BY_HAND: Final = Condition("a hand goes to the next plane", lambda facts: facts.series_by_hand)
SERIES_LACKS: Final = Condition(
    "something of the series is still to be shot, and it isn't under way", lambda f: f.series_lacks and not f.series_on
)
SERIES_BEGUN: Final = Condition(
    "frames of the series are shot, and it isn't under way", lambda f: f.series_begun and not f.series_on
)
ORDER_DONE: Final = Condition("all views of the order are done", lambda facts: facts.order_done)
ORDER_OPEN: Final = Condition("views of the order are to go, or there is none", lambda facts: not facts.order_done)
RESHOOT: Final = Condition("an old set-up is built again", lambda facts: facts.reshoot)
WRITING: Final = Condition("a hand-over is being written", lambda facts: facts.writing)
NOT_WRITING: Final = Condition("no hand-over is being written", lambda facts: not facts.writing)
FROM_BENCH: Final = Condition("the bench is behind it", lambda facts: facts.from_bench)


@dataclass(frozen=True)
class Key:
    """A row of the table of keys.

    names  the keys as Textual names them; `cap` how they are written for people
    act    the method `act_…` that it calls
    word   one or two words for the key line; `says` a whole sentence for help and docs/keys.md
    rank   1 is shown first in the key line; 0 stands in help only
    """

    where: Where
    names: tuple[str, ...]
    cap: str
    act: str
    word: str
    says: str
    rank: int = 0
    when: Condition = ALWAYS


B, L, T, R, S, P, V, Y, A, G, E, C, X, W, M, H = (
    Where.BENCH,
    Where.LIGHT,
    Where.ITEM,
    Where.REGION,
    Where.SETTINGS,
    Where.PLACES,
    Where.NEW_VIEW,
    Where.PATCH,
    Where.AMBIENT,
    Where.LEDGER,
    Where.REGION_CLOSE,
    Where.COMPARE,
    Where.EXPLAIN,
    Where.PLANNER,
    Where.MATCH,
    Where.HANDOVER,
)
MARKS: Final = {mark[0]: mark for mark in Mark}
"""The marks by the letters that they begin with."""

_DIGITS = tuple("123456789")
_ARROWS = ("left", "right", "up", "down")
_DRIVE_KEYS = ("slash", "R", "comma", "full_stop", "less_than_sign", "greater_than_sign")
_PLUS, _MINUS = ("plus", "equals_sign"), ("minus",)
_SHIFTED = tuple(f"shift+{arrow}" for arrow in _ARROWS)


def _help(where: Where, rank: int = 20) -> Key:
    """The help key of a screen or list."""
    return Key(where, ("question_mark", "f1"), "?", "help", "help", "All keys, and the usual cautions.", rank)


def _leave(where: Where) -> Key:
    """The key that leaves the program from what the bench does for a while."""
    return Key(where, ("Q",), "Q", "leave", "leave", "Leave; asks while a frame is under way.", 21)


KEYS: Final[tuple[Key, ...]] = (
    # --- bench ------------------------------------------------------------------------------------
    Key(B, ("space",), "space", "release", "release", "Release, as soon as rules and waits allow.", 2, NOT_HELD),
    Key(B, ("escape",), "esc", "call_off", "cancel", "Cancel the release that waits.", 1, HELD),
    Key(
        B,
        ("f",),
        "f",
        "remedy",
        "remedy",
        "Settle the first finding: the camera is set, or your word is kept.",
        1,
        REMEDY,
    ),
    Key(B, ("o",), "o", "overrule", "overrule", "Release against a stop; asks for the reason.", 3, STOPPED),
    Key(B, ("w",), "w", "keep", "keep", "Keep what the camera says now, as the set-up's next revision.", 2, DRIFTED),
    Key(B, ("t",), "t", "touched", "touched", "A hand was on it: the hold-off starts anew.", 6),
    Key(B, _DIGITS, "1–9", "light", "light", "Choose a light, reflector, flag or glass, to change it.", 5, THINGS),
    Key(B, ("0",), "0", "new_item", "", "Put up a reflector, flag or glass: what it is, its name and size."),
    Key(B, ("e",), "e", "settings", "settings", "Change exposure time, aperture, ISO, hold-off, limits and more.", 8),
    Key(B, ("n",), "n", "note", "note", "Write a note to the frame shown.", 7, FRAME),
    Key(B, tuple(MARKS), "h s a k", "mark", "mark", "Hero, select, alternate, kill; again: no mark.", 9, FRAME),
    Key(B, ("z",), "z", "undo", "undo", "Undo what was done last; what sets the camera is named first.", 12, UNDOABLE),
    Key(B, ("z",), "z", "undo", "", "Says that there is nothing to undo.", when=NOTHING_DONE),
    Key(B, ("Z",), "Z", "redo", "", "Redo what was undone last; what sets the camera is named first."),
    Key(
        B,
        ("c",),
        "c",
        "reference",
        "reference",
        "Make it the set-up's reference; again, and once more: none.",
        13,
        FRAME,
    ),
    Key(B, ("n", *MARKS, "c", "i"), "n h s a k c i", "no_frame", "", "Says that no frame is here yet.", when=NO_FRAME),
    Key(B, ("left", "right"), "← →", "choose", "frame", "Show an earlier or a later frame.", 14, FRAMES),
    Key(B, ("i",), "i", "explain", "explain", "What was measured, against which limit, and both regions.", 20, FRAME),
    Key(B, ("g",), "g", "region", "region", "Move or resize the region that must be sharp.", 15),
    Key(B, ("v",), "v", "live", "live", "Switch live view on.", 16, LIVE),
    Key(B, ("v",), "v", "live", "live off", "Switch live view off.", 5, LIVE_ON),
    Key(B, ("v",), "v", "no_live", "", "Says that there is no live view.", when=NO_LIVE),
    Key(B, (*_PLUS, *_MINUS), "+ −", "enlarge", "enlarge", "Enlarge the region, then its middle; or less.", 3, LIVE_ON),
    Key(B, ("B",), "B", "forget_best", "new best", "Forget the best focus seen; undo brings it back.", 5, LIVE_ON),
    Key(B, ("slash",), "/", "sweep", "sweep", "Drive to the best focus in the region; any key stops it.", 5, SWEEP),
    Key(B, ("R",), "R", "range", "range", "How far the sweep looks: over 60, 200 or 600 steps of the drive.", 6, SWEEP),
    Key(B, ("comma", "full_stop"), ", .", "nudge", "focus", "Drive the focus a small step.", 4, SWEEP),
    Key(B, ("less_than_sign", "greater_than_sign"), "< >", "push", "", "Drive the focus a large step.", when=SWEEP),
    Key(B, _DRIVE_KEYS, "/ R , . < >", "unseen_drive", "", "Says that live view comes first.", when=UNSEEN_DRIVE),
    Key(B, _DRIVE_KEYS, "/ R , . < >", "no_drive", "", "Says that there is no focus drive.", when=NO_DRIVE),
    Key(B, ("b",), "b", "hold", "blend", "Blend with the reference, or show where it differs.", 6, HOLDABLE),
    Key(B, ("number_sign",), "#", "lines", "lines", "Region's frame, thirds, crops, or no lines.", 6, LIVE_ON),
    Key(
        B, ("enter",), "enter", "still", "still", "The region at full resolution, in terminals with graphics.", 24, SEEN
    ),
    Key(B, ("V",), "V", "viewer", "viewer", "Open the frame's picture in the desktop's own viewer.", 25, FRAME),
    Key(B, ("q",), "q", "support", "support", "Measure the support from the touch that was seen last.", 22, LIVE_ON),
    Key(B, ("K",), "K", "keep_support", "keep support", "Keep the measured support in the kit file.", 4, SUPPORT),
    Key(B, ("j",), "j", "pause", "pause", "Hold the live picture still, or let it go on.", 6, LIVE_ON),
    Key(B, ("r",), "r", "ambient", "ambient", "Measure the ambient light, the lights being off.", 22, REFERENCE),
    Key(B, ("S",), "S", "solos", "solos", "Shoot each light alone, ambient alone, and all together.", 22, LIGHTS),
    Key(B, ("S",), "S", "few_lights", "", "Says that solos begin with two lights.", when=FEW_LIGHTS),
    Key(B, ("F",), "F", "series", "series", "Shoot a focus series: planned, by drive or hand, checked.", 22),
    Key(B, ("G",), "G", "grey_patch", "grey patch", "Mark where the grey card lies, for the colour check.", 23, FRAME),
    Key(B, ("E",), "E", "keep_grey", "keep f-number", "Keep what the grey card told of the lens.", 4, GREY_OFFER),
    Key(B, ("M",), "M", "match", "match", "What is left to do until the set is as before, step by step.", 4, RESHOOT),
    Key(B, ("p",), "p", "place", "piece", "Choose another piece or view, or name a new one.", 18),
    Key(B, ("N",), "N", "next_view", "next view", "Go on to the next view of the order that is to go.", 4, VIEW_DONE),
    Key(B, ("N",), "N", "next_view", "next view", "Go on to the next view of the order that is to go.", 18, TO_GO),
    Key(B, ("O",), "O", "order", "order", "Type pieces and views of the order, or read its CSV file.", 17, FRESH),
    Key(B, ("O",), "O", "order", "", "Type pieces and views of the order, or read its CSV file.", when=NOT_FRESH),
    Key(B, ("H",), "H", "handover", "hand over", "Hand the job over, once it was looked at.", 4, ORDER_DONE),
    Key(B, ("H",), "H", "handover", "", "Hand the job over: first what would be written is shown.", when=ORDER_OPEN),
    Key(B, ("u",), "u", "new_setup", "", "Begin a new set-up from this arrangement."),
    Key(B, ("m",), "m", "planner", "plan", "What to put up: the planner.", 17),
    Key(B, ("l",), "l", "ledger", "ledger", "Look back over the job's frames.", 19),
    Key(B, ("y",), "y", "bell", "", "Bell on a miss: on or off."),
    Key(B, ("Y",), "Y", "tone", "tone", "A tone that rises with the focus: on or off.", 23, LIVE_ON),
    Key(B, ("d",), "d", "theme", "", "Dim, high-contrast or light screen."),
    _help(B, 6),
    Key(B, ("Q",), "Q", "leave", "leave", "Leave; asks while a frame is under way, or views are to go.", 21),
    Key(B, ("tab",), "tab", "next_scene", "next scene", "Go on with the demo's story.", 1, SCENE_OVER),
    # --- a light ----------------------------------------------------------------------------------
    Key(L, (*_PLUS, *_MINUS), "+ −", "power", "power", "A third of a stop more or less power.", 1),
    Key(L, ("comma", "full_stop"), ", .", "distance", "distance", "10 mm nearer to or farther from the piece.", 2),
    Key(L, _ARROWS, "←→↑↓", "move", "move", "5° to the left or right, or up and down.", 3),
    Key(L, ("p",), "p", "type_power", "", "Type the power."),
    Key(
        L, ("d",), "d", "type_distance", "type mm", "Type the distance, or the place by tape, like 620 540 300 left.", 7
    ),
    Key(L, ("m",), "m", "type_angles", "type °", "Type side and height, like 60 left/35 up.", 8),
    Key(L, ("s",), "s", "shaper", "shaper", "The next shaper of the kit, or none.", 6),
    Key(L, ("w",), "w", "type_size", "", "Type width and height of what shines, like 600 x 900."),
    Key(L, ("n",), "n", "type_note", "", "A note to this light."),
    Key(L, _DIGITS, "1–9", "light", "", "Choose another light, or a reflector, flag or glass."),
    Key(L, ("delete", "backspace"), "del", "strike", "strike", "Take the light out of the set.", 9),
    Key(L, ("space",), "space", "release", "release", "Keep the change and release.", 10),
    Key(L, ("enter",), "enter", "keep", "keep", "Keep the change.", 4),
    Key(L, ("escape",), "esc", "cancel", "cancel", "Leave the light as it was.", 5),
    _help(L),
    # --- a reflector, flag or glass ----------------------------------------------------------------
    Key(T, ("comma", "full_stop"), ", .", "distance", "distance", "10 mm nearer to or farther from the piece.", 1),
    Key(T, _ARROWS, "←→↑↓", "move", "move", "5° to the left or right, or up and down.", 2),
    Key(T, ("s",), "s", "type_size", "type size", "Type width and height, like 210 x 297.", 3),
    Key(
        T, ("d",), "d", "type_distance", "type mm", "Type the distance, or the place by tape, like 620 540 300 left.", 7
    ),
    Key(T, ("m",), "m", "type_angles", "type °", "Type side and height, like 60 left/35 up.", 8),
    Key(T, ("t",), "t", "type_turn", "turn", "Type how its face is turned from the piece, like 45 left.", 6),
    Key(T, ("n",), "n", "type_note", "", "Type a note to the thing."),
    Key(T, _DIGITS, "1–9", "light", "", "Choose another thing or a light."),
    Key(T, ("delete", "backspace"), "del", "strike", "strike", "Take the thing out of the set.", 9),
    Key(T, ("space",), "space", "release", "release", "Keep the change and release.", 10),
    Key(T, ("enter",), "enter", "keep", "keep", "Keep the change.", 4),
    Key(T, ("escape",), "esc", "cancel", "cancel", "Leave it as it was.", 5),
    _help(T),
    # --- region, settings, places, ambient light -----------------------------------------------------
    Key(R, (*_DIGITS, "0"), "1–9 0", "half", "half", "Half of it, where the digit stands on a number pad; 0: all.", 1),
    Key(R, _ARROWS, "←→↑↓", "move", "move", "Move the region by a fiftieth of the picture.", 1),
    Key(R, (*_PLUS, *_MINUS), "+ −", "size", "size", "Larger or smaller.", 2),
    Key(R, _SHIFTED, "shift ←→↑↓", "shape", "shape", "Narrower, wider, lower or higher.", 3),
    Key(R, ("enter",), "enter", "keep", "keep", "Keep the region; the frame shown is judged anew.", 4),
    Key(R, ("escape",), "esc", "cancel", "cancel", "Leave the region as it was.", 5),
    _help(R),
    Key(S, ("up", "down"), "↑ ↓", "line", "line", "Another setting.", 1),
    Key(S, ("left", "right"), "← →", "change", "change", "The next lower or higher value on offer.", 2),
    Key(S, ("t",), "t", "type", "type", "Type the value.", 3),
    Key(S, ("enter",), "enter", "keep", "keep", "Keep; the camera is set.", 4),
    Key(S, ("escape",), "esc", "cancel", "cancel", "Leave everything as it was.", 5),
    _help(S),
    Key(P, ("up", "down"), "↑ ↓", "line", "line", "Another piece or view.", 1),
    Key(P, ("enter",), "enter", "go", "go", "Go there: frames from now on belong to it.", 2),
    Key(P, ("n",), "n", "name", "new", "Name a new piece or view.", 3),
    Key(P, ("escape",), "esc", "cancel", "cancel", "Stay where you are.", 4),
    _help(P),
    Key(V, ("y",), "y", "from_present", "from what stands", "Begin from what stands now, as a set-up of its own.", 1),
    Key(V, ("n",), "n", "from_camera", "from the camera", "Begin with nothing but what the camera is set to.", 2),
    Key(V, ("escape",), "esc", "cancel", "cancel", "Stay where you are.", 3),
    _help(V),
    Key(Y, (*_DIGITS, "0"), "1–9 0", "half", "half", "Half of it, where the digit stands on a number pad; 0: all.", 1),
    Key(Y, _ARROWS, "←→↑↓", "move", "move", "Move the patch by a fiftieth of the picture.", 1),
    Key(Y, (*_PLUS, *_MINUS), "+ −", "size", "size", "Larger or smaller.", 2),
    Key(Y, _SHIFTED, "shift ←→↑↓", "shape", "shape", "Narrower, wider, lower or higher.", 3),
    Key(Y, ("enter",), "enter", "keep", "keep", "Keep the patch; the frame shown is judged anew.", 4),
    Key(Y, ("escape",), "esc", "cancel", "cancel", "Leave the patch as it was.", 5),
    Key(Y, ("delete", "backspace"), "del", "strike", "none", "No grey patch: the colour of the region is checked.", 6),
    _help(Y),
    Key(A, ("enter",), "enter", "lights_off", "lights are off", "All lights of the set are off: release.", 1),
    Key(A, ("escape",), "esc", "cancel", "cancel", "Measure nothing.", 2),
    _help(A),
    Key(Where.SOLOS, ("space",), "space", "release", "release", "The lights are as the line says: release.", 1),
    Key(Where.SOLOS, ("f",), "f", "remedy", "remedy", "Settle the first finding, as at the bench.", 1, REMEDY),
    Key(Where.SOLOS, ("o",), "o", "overrule", "overrule", "Release against a stop; asks for the reason.", 2, STOPPED),
    Key(Where.SOLOS, ("up", "down"), "↑ ↓", "line", "step", "Another frame of the series, to shoot it again.", 2),
    Key(Where.SOLOS, ("m",), "m", "mix", "mix", "The picture for other powers, before anything is fired.", 2),
    Key(Where.SOLOS, ("escape",), "esc", "call_off", "cancel", "Cancel the release that waits.", 1, HELD),
    Key(
        Where.SOLOS,
        ("escape",),
        "esc",
        "back",
        "back",
        "Back to the bench; the series goes on where it was.",
        3,
        NOT_HELD,
    ),
    _help(Where.SOLOS),
    _leave(Where.SOLOS),
    Key(Where.MIX, (*_DIGITS, "up", "down"), "1–9 ↑ ↓", "choose_light", "light", "Choose a light.", 2),
    Key(Where.MIX, (*_PLUS, *_MINUS), "+ −", "power", "power", "A third of a stop more or less, shown at once.", 1),
    Key(Where.MIX, ("r",), "r", "match", "as reference", "The powers that come nearest the reference's light.", 2),
    Key(Where.MIX, ("enter",), "enter", "keep", "set", "Keep the powers; set them on the flashes, and release.", 3),
    Key(Where.MIX, ("escape",), "esc", "cancel", "cancel", "Leave the powers as they were.", 4),
    _help(Where.MIX),
    _leave(Where.MIX),
    Key(Where.MIX_SET, ("space",), "space", "release", "release", "Release; the frame is compared with the mix.", 1),
    Key(Where.MIX_SET, ("f",), "f", "remedy", "remedy", "Settle the first finding, as at the bench.", 1, REMEDY),
    Key(Where.MIX_SET, ("o",), "o", "overrule", "overrule", "Release against a stop; asks for the reason.", 2, STOPPED),
    Key(Where.MIX_SET, ("escape",), "esc", "call_off", "cancel", "Cancel the release that waits.", 1, HELD),
    Key(Where.MIX_SET, ("escape",), "esc", "back", "back", "Back to the bench; the powers stay.", 3, NOT_HELD),
    _help(Where.MIX_SET),
    _leave(Where.MIX_SET),
    Key(Where.SERIES, ("enter",), "enter", "go_on", "begin", "Begin the series at this end.", 1, SERIES_PLAN),
    Key(
        Where.SERIES,
        ("enter",),
        "enter",
        "go_on",
        "go on",
        "Shoot what is missing: planes, frames that differ, gaps.",
        1,
        SERIES_LACKS,
    ),
    Key(
        Where.SERIES,
        ("space",),
        "space",
        "release",
        "release",
        "By hand: the plane is reached, release.",
        1,
        SERIES_BY_HAND,
    ),
    Key(
        Where.SERIES,
        ("h",),
        "h",
        "put_back",
        "way back",
        "Show by live view how to put the set back to where it was before it moved.",
        1,
        SERIES_MOVED,
    ),
    Key(
        Where.SERIES,
        ("b",),
        "b",
        "as_it_stands",
        "as it stands",
        "Shoot the planes from before the move again, as the set stands now.",
        1,
        SERIES_MOVED,
    ),
    Key(Where.SERIES, ("escape",), "esc", "pause", "pause", "Release no further frame of the series.", 2, SERIES_ON),
    Key(Where.SERIES, ("f",), "f", "remedy", "remedy", "Settle the first finding, as at the bench.", 1, REMEDY),
    Key(Where.SERIES, ("o",), "o", "overrule", "overrule", "Go on against a stop; asks for the reason.", 2, STOPPED),
    Key(
        Where.SERIES,
        ("t",),
        "t",
        "type_span",
        "depth, frames",
        "Type what must be sharp, like 1.4 mm, or how many, like 7 frames.",
        3,
        SERIES_PLAN,
    ),
    Key(
        Where.SERIES,
        ("n", "m"),
        "n m",
        "end",
        "near, far end",
        "The drive stands at the near end, or the far end.",
        3,
        SERIES_RESTS,
    ),
    Key(
        Where.SERIES,
        ("p",),
        "p",
        "type_pace",
        "steps a mm",
        "Type how many steps of the drive move the focus by 1 mm.",
        4,
        SERIES_PLAN,
    ),
    Key(
        Where.SERIES,
        ("P",),
        "P",
        "measure_drive",
        "measure drive",
        "Measure by a sweep in live view what a step of the drive is worth, and its play.",
        3,
        SERIES_DRIVE,
    ),
    Key(
        Where.SERIES,
        ("K",),
        "K",
        "keep_drive",
        "keep drive",
        "Keep what was measured of the drive in the kit file.",
        3,
        DRIVE_MEASURED,
    ),
    Key(Where.SERIES, ("d",), "d", "moved_by", "drive, hand", "By the drive, the rail or the ring.", 4, SERIES_PLAN),
    Key(Where.SERIES, ("r",), "r", "side", "from far", "From the near end to the far end, or back.", 5, SERIES_PLAN),
    Key(Where.SERIES, ("u",), "u", "anew", "new series", "Plan a new series; the frames stay.", 4, SERIES_BEGUN),
    Key(Where.SERIES, ("v",), "v", "live", "live", "Switch live view on.", 5, LIVE),
    Key(Where.SERIES, ("v",), "v", "live", "live off", "Switch live view off.", 6, LIVE_ON),
    Key(
        Where.SERIES, ("comma", "full_stop"), ", .", "nudge", "focus", "Drive the focus a small step.", 5, SERIES_FOCUS
    ),
    Key(
        Where.SERIES,
        ("less_than_sign", "greater_than_sign"),
        "< >",
        "push",
        "",
        "Drive the focus a large step.",
        when=SERIES_FOCUS,
    ),
    Key(
        Where.SERIES,
        ("escape",),
        "esc",
        "back",
        "back",
        "Back to the bench; the series goes on where it was.",
        6,
        SERIES_RESTS,
    ),
    _help(Where.SERIES),
    _leave(Where.SERIES),
    # --- match ------------------------------------------------------------------------------------
    Key(
        M,
        ("space",),
        "space",
        "release",
        "release",
        "Release, at a light's step that light alone; measure.",
        2,
        NOT_HELD,
    ),
    Key(M, ("escape",), "esc", "call_off", "cancel", "Cancel the release that waits.", 1, HELD),
    Key(M, ("f",), "f", "remedy", "remedy", "Settle the first finding, as at the bench.", 1, REMEDY),
    Key(M, ("o",), "o", "overrule", "overrule", "Release against a stop; asks for the reason.", 3, STOPPED),
    Key(
        M,
        ("enter",),
        "enter",
        "confirm",
        "done",
        "Say that the step is done; again: that it isn't.",
        3,
        CONFIRMABLE,
    ),
    Key(M, ("enter",), "enter", "confirm", "", "Says why no word is needed, or none helps.", when=NOT_CONFIRMABLE),
    Key(M, ("n",), "n", "skip", "skip", "Skip the step; asks for the reason, which is logged.", 4, SKIPPABLE),
    Key(M, ("up", "down"), "↑ ↓", "line", "step", "Another step, in any order.", 5),
    Key(
        M,
        ("x",),
        "x",
        "instead",
        "substitute",
        "Another lens or flash of the kit, or no shaper; the values for another body.",
        5,
        EXCHANGEABLE,
    ),
    Key(M, ("x",), "x", "no_instead", "", "Says which steps can have a substitute.", when=NOT_EXCHANGEABLE),
    Key(M, ("v",), "v", "live", "live", "Live view beside the reference.", 6, LIVE),
    Key(M, ("v",), "v", "live", "live off", "Switch live view off.", 6, LIVE_ON),
    Key(M, ("v",), "v", "no_live", "", "Says that there is no live view: frames tell the same, slower.", when=NO_LIVE),
    Key(M, ("b",), "b", "hold", "blend", "Blend with the reference, or show where it differs.", 6, HOLDABLE),
    Key(M, ("left", "right"), "← →", "picture", "picture", "Reference, or a picture of the set.", 6, SET_PICTURES),
    Key(M, ("S",), "S", "solos", "solos", "Shoot each light alone, ambient alone, all together; mix them.", 9, LIGHTS),
    Key(M, ("F",), "F", "series", "series", "Shoot the focus series of the reference's view again.", 5, SERIES_THEN),
    Key(M, _PLUS, "+", "still", "", "The picture beside as fine as it is, in terminals with graphics."),
    Key(M, ("V",), "V", "viewer", "", "Open the picture beside in the desktop's own viewer."),
    Key(M, ("t",), "t", "touched", "", "A hand was on it: the hold-off starts anew."),
    _leave(M),
    Key(M, ("z",), "z", "undo", "undo", "Undo what was done last, as at the bench.", 8, UNDOABLE),
    Key(M, ("z",), "z", "undo", "", "Says that there is nothing to undo.", when=NOTHING_DONE),
    Key(M, ("Z",), "Z", "redo", "", "Redo what was undone last."),
    Key(M, ("escape",), "esc", "back", "bench", "To the bench; the reshoot goes on where it was.", 7, NOT_HELD),
    _help(M),
    Key(Where.INSTEAD, ("up", "down"), "↑ ↓", "line", "other", "What else the kit has, and what it changes.", 1),
    Key(Where.INSTEAD, ("enter",), "enter", "keep", "take it", "It stands in the place; the steps follow.", 2),
    Key(Where.INSTEAD, ("escape",), "esc", "cancel", "cancel", "Leave all as it was.", 3),
    _help(Where.INSTEAD),
    Key(Where.TYPING, ("escape",), "esc", "cancel", "cancel", "Leave without keeping what was typed.", 2),
    # --- ledger -----------------------------------------------------------------------------------
    Key(G, ("up", "down"), "↑ ↓", "line", "frame", "The frame above or below.", 1, LISTED),
    Key(
        G,
        ("up", "down"),
        "↑ ↓",
        "line",
        "row",
        "The row of pictures above or below; at the ends the first and the last picture.",
        2,
        PICTURES,
    ),
    Key(G, ("left", "right"), "← →", "along", "frame", "The picture before or after.", 1, PICTURES),
    Key(
        G,
        ("left", "right"),
        "← →",
        "picture",
        "set",
        "The frame's picture, or a picture of its set.",
        10,
        LISTED_SET_PICTURES,
    ),
    Key(G, ("tab",), "tab", "sheet", "pictures", "A contact sheet of the pictures.", 4, LIST),
    Key(G, ("tab",), "tab", "sheet", "list", "The list again.", 4, SHEET),
    Key(
        G,
        (*_PLUS, *_MINUS),
        "+ −",
        "open_series",
        "series",
        "List the frames of a focus series one by one; or as one.",
        4,
        SERIES_HERE,
    ),
    Key(G, ("pageup", "pagedown", "home", "end"), "page", "page", "", "A page up or down; home and end."),
    Key(G, ("slash",), "/", "find", "find", "Narrow the list by words: piece, light, shaper, note.", 5),
    Key(G, ("v",), "v", "verdict", "verdict", "Only sharp, soft, missed, focus ?, with a flaw; then all.", 6),
    Key(G, ("m",), "m", "marked", "marked", "Only heroes, selects, alternates, kills; then all.", 7),
    Key(G, ("j",), "j", "job", "job", "The next job in the log.", 9, JOBS),
    Key(G, ("escape",), "esc", "all", "all", "All frames of the job again.", 2, FILTERED),
    Key(G, tuple(MARKS), "h s a k", "mark", "mark", "Hero, select, alternate, kill; again: no mark.", 10, MARKABLE),
    Key(G, ("n",), "n", "note", "note", "Write a note to the frame.", 8, MARKABLE),
    Key(G, ("z",), "z", "undo", "undo", "Undo what was done last in this job.", 12, HAS_UNDO),
    Key(G, ("z",), "z", "undo", "", "Says that there is nothing to undo.", when=HAS_NO_UNDO),
    Key(G, ("Z",), "Z", "redo", "", "Redo what was undone last in this job.", when=WRITABLE),
    Key(G, ("b",), "b", "lay", "beside", "Lay this frame beside, to compare others with it; again: none.", 3, LAID),
    Key(G, ("b",), "b", "compare", "compare", "What differs from the frames beside.", 1, BESIDE),
    Key(G, ("B",), "B", "lay", "", "Lay this frame beside too, up to three; again: take it away.", when=BESIDE),
    Key(G, ("enter",), "enter", "region", "region 1:1", "The frame's region, pixel for pixel.", 3, FRAME),
    Key(G, ("i",), "i", "explain", "explain", "What was measured, against which limit, and both regions.", 11, FRAME),
    Key(G, ("V",), "V", "viewer", "viewer", "Open the frame's picture in the desktop's own viewer.", 13, FRAME),
    Key(G, ("H",), "H", "handover", "hand over", "Hand the job over: first what would be written is shown.", 9, FRAME),
    Key(G, ("l",), "l", "bench", "bench", "Back to the bench.", 4, FROM_BENCH),
    Key(G, ("d",), "d", "theme", "", "Dim, high-contrast or light screen."),
    _help(G, 6),
    Key(G, ("Q",), "Q", "leave", "leave", "Leave; asks while a frame is under way.", 21),
    Key(E, ("escape",), "esc", "back", "back", "Back to the list.", 1),
    Key(E, _ARROWS, "←→↑↓", "move", "move", "Another part of the region.", 2, PICTURED),
    Key(E, ("comma", "full_stop"), ", .", "along", "frame", "The same place in the frame before or after.", 3, FRAMES),
    Key(E, tuple(MARKS), "h s a k", "mark", "mark", "Hero, select, alternate, kill; again: no mark.", 4, MARKABLE),
    Key(E, (*_PLUS, *_MINUS), "+ −", "size", "enlarge", "More or less of the region.", 5, PICTURED),
    Key(E, ("enter",), "enter", "still", "still", "The region itself, in terminals with graphics.", 7, PICTURED),
    Key(E, ("V",), "V", "viewer", "viewer", "The region, pixel for pixel, in the desktop's own viewer.", 6, PICTURED),
    _help(E),
    Key(C, ("escape", "b"), "esc", "back", "back", "Back to the list.", 1),
    Key(C, ("left", "right"), "← →", "choose", "choose", "Another of the frames, for its mark.", 2, PICTURED),
    Key(C, tuple(MARKS), "h s a k", "mark", "mark", "Hero, select, alternate, kill: the chosen frame.", 2, MARKABLE),
    Key(
        C,
        ("enter",),
        "enter",
        "pixels",
        "1:1",
        "The regions' middle pixel for pixel, or all of it.",
        2,
        PICTURED,
    ),
    Key(
        C,
        (*_PLUS, *_MINUS),
        "+ −",
        "size",
        "enlarge",
        "Enlarge the middle of both regions, or less again.",
        2,
        PICTURED,
    ),
    Key(C, ("V",), "V", "viewer", "viewer", "The regions, pixel for pixel, in the desktop's own viewer.", 3, PICTURED),
    _help(C),
    Key(X, ("escape", "i"), "esc", "back", "back", "Back to where you were.", 1),
    Key(
        X,
        ("enter",),
        "enter",
        "pixels",
        "1:1",
        "The regions' middle pixel for pixel, or all of it.",
        2,
        PICTURED,
    ),
    Key(
        X,
        (*_PLUS, *_MINUS),
        "+ −",
        "size",
        "enlarge",
        "Enlarge the middle of both regions, or less again.",
        2,
        PICTURED,
    ),
    Key(X, ("V",), "V", "viewer", "viewer", "Both regions, pixel for pixel, in the desktop's own viewer.", 3, PICTURED),
    _help(X),
    # --- planner ----------------------------------------------------------------------------------
    Key(W, ("up", "down"), "↑ ↓", "line", "wish", "Another line of what is wanted.", 1),
    Key(W, ("left", "right"), "← →", "change", "change", "The next lower or higher value; the ranking follows.", 2),
    Key(W, ("t",), "t", "type", "type", "Type the value; nothing typed: not asked.", 3),
    Key(W, ("comma", "full_stop"), ", .", "plan", "plan", "The arrangement before or after in the ranking.", 4),
    Key(W, ("f",), "f", "give_up", "nearest wish", "Wish for the nearest that the kit can do.", 1, NEAREST),
    Key(W, ("enter",), "enter", "hand_over", "take it", "Take the plan into the set-up.", 5, PLANNED),
    Key(W, ("u",), "u", "new_setup", "new set-up", "Begin a new set-up with the plan.", 6, PLANNED),
    Key(W, ("escape", "m"), "esc", "bench", "back", "Back to the bench.", 7),
    _help(W),
    # --- hand-over --------------------------------------------------------------------------------
    Key(H, ("enter",), "enter", "write", "write", "Write it; one that was stopped goes on.", 1, NOT_WRITING),
    Key(H, ("escape",), "esc", "stop", "stop", "Stop; what is there is right, and enter goes on.", 1, WRITING),
    Key(H, ("up", "down"), "↑ ↓", "line", "line", "Another line of what is wanted.", 4, NOT_WRITING),
    Key(
        H,
        ("left", "right"),
        "← →",
        "change",
        "change",
        "Another mark; delivered pictures, PDF, ZIP: yes or no.",
        5,
        NOT_WRITING,
    ),
    Key(H, ("t",), "t", "type", "type folder", "Type the folder, or how files are called.", 3, NOT_WRITING),
    Key(H, ("pageup", "pagedown", "home", "end"), "page", "page", "read on", "More of what would be written.", 6),
    Key(H, ("escape",), "esc", "back", "back", "Back to where you were; what was handed over stays.", 2, NOT_WRITING),
    Key(H, ("b",), "b", "back", "back", "Back to where you were; the hand-over goes on.", 2, WRITING),
    _help(H),
    Key(Where.FOLLOW, ("d",), "d", "theme", "brightness", "Dim, high-contrast or light screen.", 1),
    Key(Where.FOLLOW, ("Q",), "Q", "leave", "leave", "Leave; the shoot goes on.", 2),
    _help(Where.FOLLOW),
    # --- the small ones ---------------------------------------------------------------------------
    Key(Where.HELP, ("escape", "question_mark", "f1"), "esc", "back", "back", "Back to where you were.", 1),
    Key(Where.LEAVING, ("y",), "y", "yes", "leave", "Leave now; what was saved is in the log.", 2),
    Key(Where.LEAVING, ("escape",), "esc", "back", "stay", "Stay.", 1),
)


def find(where: Where, name: str, facts: Facts) -> Key | None:
    """The key's row that holds now, None when the key means nothing here."""
    return next((key for key in KEYS if key.where is where and name in key.names and key.when.holds(facts)), None)


def rows_to_show(where: Where, facts: Facts) -> list[Key]:
    """The rows for the key line, the most needed first."""
    rows = [key for key in KEYS if key.where is where and key.rank and key.when.holds(facts)]
    return sorted(rows, key=lambda key: key.rank)


def hint(where: Where, act: str, words: str = "") -> str:
    """`[f] set 1/200 s`: a key and what it would do, for a sentence."""
    key = next(key for key in KEYS if key.where is where and key.act == act)
    return f"[{key.cap}] {words or key.word}"


def bare_cap(where: Where, act: str) -> str:
    """`v`: the key of an act."""
    return next(key for key in KEYS if key.where is where and key.act == act).cap


def cap_of(where: Where, act: str) -> str:
    """`[v]`: the key of an act, for a sentence."""
    return f"[{bare_cap(where, act)}]"


def keys_table() -> str:
    """All keys as a Markdown table, for docs/keys.md; a test holds the two together."""
    rows = ["| where | key | does | shown when |", "| --- | --- | --- | --- |"]
    rows += [f"| {key.where} | `{key.cap}` | {key.says} | {key.when.words} |" for key in KEYS]
    return "\n".join(rows) + "\n"
