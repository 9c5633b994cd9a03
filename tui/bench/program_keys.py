"""Keys that reach beyond the bench: other screens, help, bell, theme, the demo's next scene, the end."""

from __future__ import annotations

from tui.bench.mode import BenchPort


class ProgramKeys:
    """The keys that ask the program for something."""

    def __init__(self, bench: BenchPort) -> None:
        self._bench = bench

    def act_next_scene(self, key: str) -> None:
        self._bench.app.story.go_on()
        self._bench.model.begin_act()
        self._bench.repaint()

    def act_ledger(self, key: str) -> None:
        self._bench.app.show_ledger()

    def act_planner(self, key: str) -> None:
        self._bench.app.show_planner()

    def act_bell(self, key: str) -> None:
        self._bench.app.bell_on = not self._bench.app.bell_on
        self._bench.say(f"The bell on a miss is {'on' if self._bench.app.bell_on else 'off'}.")

    def act_theme(self, key: str) -> None:
        self._bench.app.other_theme()

    def act_leave(self, key: str) -> None:
        self._bench.app.leave()
