"""A rectangle of the picture is moved and sized by keys or mouse: the region that must be sharp, or a grey patch."""

from __future__ import annotations

from textual.content import Content

from session.set.setup import Region
from session.shoot.acts import JudgeAnew, Revise
from session.units.numbers import percent_text
from tui.bench.mode import BenchPort, Draft
from tui.screen.panels import QUIET, heading
from tui.words.adjust import half_of, moved_region, sized_region
from tui.words.keys import Where

WHOLE = Region(0.0, 0.0, 1.0, 1.0)

HALVES = tuple(
    Content.assemble((digits, "bold"), (f"  {words}", QUIET))
    for digits, words in (
        ("7 8 9", "half of it, where"),
        ("4 5 6", "the digit stands;"),
        ("1 2 3", "0 the whole;"),
        ("mouse", "draw it"),
    )
)

_DIRECTIONS = {"left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1)}


class RegionMode(Draft):
    """The rectangle that must be sharp, moved and sized over the picture."""

    where = Where.REGION

    def __init__(self, bench: BenchPort, region: Region) -> None:
        super().__init__(bench)
        self._region = region
        self._untouched = True

    def panel(self, width: int, height: int) -> list[Content]:
        return [heading("REGION"), Content("What must be sharp."), *self._measures(), *HALVES]

    def _measures(self) -> list[Content]:
        found = self._region
        size = f"{percent_text(found.width)} × {percent_text(found.height)} of the picture"
        middle = f"middle at {percent_text(found.left + found.width / 2)}, {percent_text(found.top + found.height / 2)}"
        return [Content(size), Content.styled(middle, QUIET)]

    def region(self) -> Region | None:
        return self._region

    def drag(self, region: Region) -> None:
        self._set(region)

    def act_half(self, key: str) -> None:
        """Half of the picture at first, then half of that."""
        whole = self._untouched or key == "0"
        self._set(WHOLE if key == "0" else half_of(WHOLE if whole else self._region, int(key)))

    def act_move(self, key: str) -> None:
        self._set(moved_region(self._region, *_DIRECTIONS[key]))

    def act_size(self, key: str) -> None:
        steps = -1 if key == "minus" else 1
        self._set(sized_region(self._region, steps, steps))

    def act_shape(self, key: str) -> None:
        self._set(sized_region(self._region, *_DIRECTIONS[key.removeprefix("shift+")]))

    def act_keep(self, key: str) -> None:
        self._revise({"region": self._region})

    def _revise(self, changes: dict[str, object]) -> None:
        """Keep the change, and have the frame on show judged by it."""
        self._bench.post(Revise(changes))
        frame = self._bench.model.frame
        file = frame.picture if frame else None
        if frame and file and frame.focus:
            self._bench.post(JudgeAnew(frame.frame_id, frame.number, file))
        self._bench.begin(None)

    def _set(self, region: Region) -> None:
        self._region, self._untouched = region, False
        self._bench.repaint()


class PatchMode(RegionMode):
    """Where a grey card lies in the picture, for the colour check."""

    where = Where.PATCH

    def panel(self, width: int, height: int) -> list[Content]:
        words = "Something grey that stays in the picture, best a card; the colour check looks there."
        return [heading("GREY PATCH"), Content(words), *self._measures(), *HALVES]

    def act_keep(self, key: str) -> None:
        self._take(self._region)

    def act_strike(self, key: str) -> None:
        self._take(None)

    def _take(self, patch: Region | None) -> None:
        self._revise({"grey_patch": patch})
