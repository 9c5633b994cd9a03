"""Keys about the next release: ask for a frame, call a frame off, follow a rule or overrule a rule, measure ambient."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from textual.content import Content

from session.shoot.acts import ApplyRemedy, AskRelease, CallOff, TakeCameraSettings, Touched
from session.units.refusals import UnreadableTextError
from tui.bench.mode import BenchPort, Draft
from tui.screen.panels import heading
from tui.words.keys import Where
from tui.words.wording import first_mendable


class ReleaseKeys:
    """The keys that ask the controller for a frame, or settle what stands in its way."""

    def __init__(self, bench: BenchPort) -> None:
        self._bench = bench

    def act_release(self, key: str) -> None:
        self._bench.model.release_asked()
        self._bench.post(AskRelease())
        self._bench.repaint()

    def act_call_off(self, key: str) -> None:
        self._bench.post(CallOff())
        self._bench.repaint()

    def act_touched(self, key: str) -> None:
        self._bench.model.begin_act()
        self._bench.post(Touched())
        self._bench.repaint()

    def act_remedy(self, key: str) -> None:
        finding = first_mendable(self._bench.model.rules)
        if finding:
            self._bench.model.begin_act()
            self._bench.post(ApplyRemedy(finding))

    def act_overrule(self, key: str) -> None:
        def release(overrulings: Mapping[str, str]) -> None:
            self._bench.model.release_asked()
            self._bench.post(AskRelease(overrulings))

        ask_overruling(self._bench, release)

    def act_keep(self, key: str) -> None:
        self._bench.model.begin_act()
        self._bench.post(TakeCameraSettings())

    def act_ambient(self, key: str) -> None:
        self._bench.begin(AmbientMode(self._bench))


def ask_overruling(bench: BenchPort, release: Callable[[Mapping[str, str]], None]) -> None:
    """Ask for the reason against the rules that say stop; `release` is given it by their ids."""
    ids = [finding.id for finding in bench.model.stops]

    def take(reason: str) -> None:
        if not reason:
            raise UnreadableTextError("overruling takes a reason; it is logged with the frame")
        release(dict.fromkeys(ids, reason))

    bench.ask(f"overrule {', '.join(ids)}, because", take)


class AmbientMode(Draft):
    """Waits until somebody says that the lights of the set are off."""

    where = Where.AMBIENT

    def panel(self, width: int, height: int) -> list[Content]:
        lines = (
            "Switch off the flashes and lamps of the set.",
            "Leave the room as it is when you release.",
            "One frame is released and measured against the reference.",
        )
        return [heading("AMBIENT"), *(Content(line) for line in lines)]

    def act_lights_off(self, key: str) -> None:
        self._bench.model.release_asked()
        self._bench.post(AskRelease(ambient=True))
        self._bench.begin(None)
