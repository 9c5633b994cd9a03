"""Mishaps on request: a script of named faults, each counted down as it strikes.

Every fault takes `times` (how often it strikes, 0 = until cleared; 1 if left out) and `after` (how
many fitting occasions pass unharmed first). Further options of a fault stand in FAULTS with their defaults.
"""

import threading
from collections.abc import Mapping
from dataclasses import dataclass, field

Option = float | str


@dataclass(frozen=True)
class FaultKind:
    """A fault's effect in words for --help, and the fault's own options with their defaults."""

    does: str
    options: Mapping[str, Option] = field(default_factory=dict)


FAULTS = {
    "cable_cut": FaultKind(
        "both connections drop: when=transfer (after_bytes of a file), when=exposure (before any event), "
        "or when=NAME of an operation (before its answer); back after reconnect_after_s",
        {"when": "transfer", "after_bytes": 65536, "reconnect_after_s": 0.0},
    ),
    "stall": FaultKind(
        "no answer to operation for seconds, 0 = until the other side hangs up; "
        "GetObject is also the first part of a file that is asked for in parts",
        {"operation": "GetObject", "seconds": 0.0},
    ),
    "busy": FaultKind("operation is answered DeviceBusy", {"operation": "InitiateCapture"}),
    "no_file": FaultKind("the shutter goes and the flash fires, but no file is written"),
    "announced_twice": FaultKind(
        "ObjectAdded comes twice for each file of a release, the second time after_s later", {"after_s": 0.0}
    ),
    "late_file": FaultKind(
        "CaptureComplete comes at once, the files of the release are announced seconds later, and written only then "
        "unless on_card=1",
        {"seconds": 2.5, "on_card": 0},
    ),
    "not_announced": FaultKind(
        "no ObjectAdded for files of kind=jpeg, raw or all of a release, which are on the card", {"kind": "all"}
    ),
    "renamed": FaultKind("each file of a release after the first takes a number of its own"),
    "second_card": FaultKind(
        "a release is written to a second card too, and announced from there after_s later: holds=copy of each file, "
        "or another JPEG of the same name",
        {"holds": "copy", "after_s": 0.0},
    ),
    "busy_writing": FaultKind(
        "the files of a release take seconds to write, and every operation is answered DeviceBusy meanwhile",
        {"seconds": 20.0},
    ),
    "truncated_file": FaultKind(
        "only share of a file arrives: where=transfer (whole on the card) or where=card (written so)",
        {"share": 0.5, "where": "transfer"},
    ),
    "empty_file": FaultKind("a file of no bytes: where=transfer or where=card", {"where": "transfer"}),
    "card_full": FaultKind(
        "release is refused with StoreFull, or with when=writing the shutter goes and StoreFull follows",
        {"when": "release"},
    ),
    "battery_low": FaultKind("battery falls to percent and the release is refused", {"percent": 3}),
    "setting_refused": FaultKind(
        "setting isn't taken; silently=1 answers OK all the same", {"setting": "f_number", "silently": 0}
    ),
    "raw_late": FaultKind("the raw of a release is written and announced seconds after its JPEG", {"seconds": 0.7}),
    "no_card": FaultKind("no card is in, as far as the host may ask"),
    "target_ignored": FaultKind("of a played body: a release goes to the body's memory, whatever target is set"),
    "slow_listing": FaultKind("each GetObjectInfo takes seconds", {"seconds": 0.05}),
    "event_channel_lost": FaultKind("the event connection drops at a release; commands still work"),
    "live_view_black": FaultKind("a live picture is black"),
    "live_view_frozen": FaultKind("a live picture is the last one again"),
    "live_view_slow": FaultKind("a live picture takes seconds, and the camera is busy meanwhile", {"seconds": 1.0}),
    "live_view_resized": FaultKind("a live picture has width and height", {"width": 640.0, "height": 424.0}),
    "live_view_lost": FaultKind(
        "live view ends by itself, and is refused starts_refused times before it starts again",
        {"starts_refused": 1},
    ),
}


class RefusedFaultError(ValueError):
    """The name of the fault is unknown, or the fault takes no such option; the text is a sentence."""


@dataclass
class ScriptedFault:
    """One scripted fault. `left` occasions to strike, None = without end; `skip` to pass first."""

    name: str
    left: int | None
    skip: int
    options: dict[str, Option]

    def number(self, option: str) -> float:
        """The option's value, in the unit that its name ends with."""
        return float(self.options[option])

    def text(self, option: str) -> str:
        return str(self.options[option])


class FaultScript:
    """The faults still to come. Safe to call from any thread."""

    def __init__(self) -> None:
        self._faults: list[ScriptedFault] = []
        self._lock = threading.Lock()

    def add(self, name: str, *, times: int = 1, after: int = 0, **options: object) -> None:
        """Script one fault. Raises ValueError with a sentence for a name or option that isn't known."""
        if name not in FAULTS:
            raise RefusedFaultError(f"There is no fault {name!r}; there are {', '.join(FAULTS)}.")
        known = FAULTS[name].options
        given: dict[str, Option] = {}
        for option, value in options.items():
            if option not in known:
                raise RefusedFaultError(
                    f"Fault {name} has no option {option!r}; it has {', '.join(['times', 'after', *known])}."
                )
            given[option] = read_option(option, value, known[option])
        if times < 0 or after < 0:
            raise RefusedFaultError(f"times and after can't be negative, as in {times} and {after}.")
        with self._lock:
            self._faults.append(ScriptedFault(name, times or None, after, {**known, **given}))

    def add_text(self, text: str) -> None:
        """Script one fault written NAME[:option=value,...]. Raises ValueError as `add` does."""
        name, _, rest = text.partition(":")
        options: dict[str, object] = {}
        for pair in filter(None, rest.split(",")):
            option, equals, value = pair.partition("=")
            if not equals:
                raise RefusedFaultError(f"{pair!r} isn't written option=value.")
            options[option] = value
        try:
            times, after = int(str(options.pop("times", 1))), int(str(options.pop("after", 0)))
        except ValueError:
            raise RefusedFaultError(f"times and after are whole numbers, in {text!r}.") from None
        self.add(name, times=times, after=after, **options)

    def take(self, name: str, **match: str) -> ScriptedFault | None:
        """The fault `name` whose options equal `match`, if it strikes now; counts it down."""
        with self._lock:
            for fault in self._faults:
                if fault.name != name or any(fault.options[key] != value for key, value in match.items()):
                    continue
                if fault.skip:
                    fault.skip -= 1
                    continue
                if fault.left is not None:
                    fault.left -= 1
                    if not fault.left:
                        self._faults.remove(fault)
                return fault
        return None

    def clear(self) -> None:
        with self._lock:
            self._faults.clear()

    def state(self) -> list[dict[str, object]]:
        """The faults still to come, for the control port."""
        with self._lock:
            return [{"name": f.name, "times": f.left or 0, "after": f.skip, **f.options} for f in self._faults]


def read_option(option: str, value: object, default: Option) -> Option:
    """`value` as text or number like `default`. Raises ValueError with a sentence."""
    if isinstance(default, str):
        return str(value)
    try:
        return float(str(value))
    except ValueError:
        raise RefusedFaultError(f"{option} is a number, not {value!r}.") from None
