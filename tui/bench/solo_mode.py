"""The series of solos at the bench: the large line says which lights to switch, one key releases each frame.

What the series has is read from the log, so it goes on where it was left, the next day too. When it is whole, the
light of the solos is added up in the background and compared with all lights together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from functools import partial

from textual.content import Content

from session.frame.ports import LogError
from session.frame.states import ENDED
from session.match.light_sum import BURNT_SHARE, LightSum
from session.match.solo_picture import read_solo_picture
from session.match.solo_series import SeriesFrame, SeriesStep, StepKind, steps_of_series, sum_of_series
from session.picture.preview import UnreadablePicture
from session.shoot.acts import AskRelease
from tui.bench.mix_mode import MixMode
from tui.bench.mode import BenchPort, Draft
from tui.bench.release_keys import ask_overruling
from tui.screen.background import Then
from tui.screen.ledger_text import HERE_SIGN
from tui.screen.panels import CHOSEN, QUIET, cut, heading
from tui.words.harmless import harmless
from tui.words.headline import Headline, Tone
from tui.words.keys import Where, hint
from tui.words.model import AT_REST, Phase
from tui.words.solo_words import burnt_headline, days_text, step_headline, step_words, sum_headline, sum_words


class SoloMode(Draft):
    """The steps with their frames, and the step that space releases."""

    where = Where.SOLOS

    def __init__(self, bench: BenchPort) -> None:
        super().__init__(bench)
        self._seen: object = None
        self._steps: Sequence[SeriesStep] = ()
        self._at: int | None = None
        self._sum: LightSum | None = None
        self._trouble = ""
        self._burnt_share: dict[str, float] = {}
        """Of each frame of the series, by its id."""

    def panel(self, width: int, height: int) -> list[Content]:
        self._look()
        lines = [heading("SOLOS", f"{sum(step.frame is not None for step in self._steps)} of {len(self._steps)}")]
        for n, step in enumerate(self._steps):
            style = CHOSEN if n == self._here else "" if step.frame else QUIET
            sign = HERE_SIGN if n == self._here else " "
            lines.append(Content.styled(cut(f"{sign}{harmless(step_words(step), 200)}", width), style))
        if self._here is not None and self._bench.model.phase() is Phase.STOPPED:
            head = self._step_headline(self._here)
            lines.append(Content(harmless(f"{head.large}: {head.sentence}", 300)))
        days = days_text(self._steps)
        if days:
            lines.append(Content(days))
        if self._sum:
            lines += [Content(harmless(line, 300)) for line in sum_words(self._sum)[self._is_told :]]
        return lines

    def headline(self) -> Headline | None:
        """What the hands do next, or what the series came to; None while a frame is under way."""
        if not self._steps or self._bench.model.phase() not in AT_REST:
            return None
        if self._trouble:
            return Headline("SUM ?", self._trouble, Tone.CAUTION)
        if self._at is None and self._sum:
            return sum_headline(self._sum)
        burnt = next((step for step in self._steps if self._is_burnt(step)), None)
        if self._at is None and burnt:
            return burnt_headline(burnt)
        if self._here is None:
            return Headline("ADDING UP", "The light of the solos is being added up.", Tone.BUSY)
        head = self._step_headline(self._here)
        return Headline(head.large, f"{head.sentence} {hint(Where.SOLOS, 'release')}", head.tone)

    def _step_headline(self, at: int) -> Headline:
        return step_headline(self._steps[at], [step.light for step in self._steps if step.light])

    @property
    def _here(self) -> int | None:
        """The step that space releases: the chosen one, else the first without a frame."""
        if self._at is not None:
            return self._at
        missing = (n for n, step in enumerate(self._steps) if step.frame is None or self._is_burnt(step))
        return next(missing, None)

    def _is_burnt(self, step: SeriesStep) -> bool:
        return step.frame is not None and self._burnt_share.get(step.frame.frame_id, 0.0) > BURNT_SHARE

    @property
    def _is_told(self) -> int:
        """How many of the sum's lines the large line's sentence has told already."""
        return 1 if self._at is None else 0

    # --- what the log has -------------------------------------------------------------------------

    def _look(self) -> None:
        """Have the series read anew when a frame came to rest, or the set-up was changed."""
        model, reader = self._bench.model, self._bench.app.reader
        frames = {frame.frame_id for frame in model.released if frame.state in ENDED}
        if reader is None or model.place is None or model.revision is None or self._seen == (frames, model.revision):
            return
        self._seen = (frames, model.revision)
        place, revision, known = model.place, model.revision, dict(self._burnt_share)

        def work() -> Then:
            try:
                steps = steps_of_series(revision, reader.series_frames(place, revision.setup_number))
            except LogError as error:
                return partial(self._bench.say, str(error))
            return partial(self._read, steps, _burnt_shares(steps, known))

        self._bench.app.in_background(work, "solos")

    def _read(self, steps: Sequence[SeriesStep], burnt_share: dict[str, float]) -> None:
        self._burnt_share = burnt_share
        if _frames_of(steps) != _frames_of(self._steps) or not self._steps:
            self._sum, self._trouble, self._at = None, "", None
            if all(step.frame for step in steps):
                self._bench.app.in_background(partial(self._add_up, steps), "sum of solos")
        self._steps = steps
        self._bench.repaint()

    def _add_up(self, steps: Sequence[SeriesStep]) -> Then:
        try:
            found, trouble = sum_of_series(steps), ""
        except ValueError as error:
            found, trouble = None, f"Can't tell whether the light adds up: the picture {error}."
        return partial(self._show_sum, steps, found, trouble)

    def _show_sum(self, steps: Sequence[SeriesStep], found: LightSum | None, trouble: str) -> None:
        if _frames_of(steps) == _frames_of(self._steps):
            self._sum, self._trouble = found, trouble
            self._bench.repaint()

    # --- keys -------------------------------------------------------------------------------------

    def act_release(self, key: str) -> None:
        self._release({})

    def act_overrule(self, key: str) -> None:
        ask_overruling(self._bench, self._release)

    def _release(self, overrulings: Mapping[str, str]) -> None:
        if self._here is None or self._bench.model.under_way:
            return
        step = self._steps[self._here]
        self._bench.model.release_asked()
        is_ambient = step.kind is StepKind.AMBIENT
        self._bench.post(AskRelease(overrulings, ambient=is_ambient, solo=step.light, in_series=True))
        self._bench.repaint()

    def act_line(self, key: str) -> None:
        if self._steps:
            here = self._here if self._here is not None else -1 if key == "down" else 0
            self._at = (here + (1 if key == "down" else -1)) % len(self._steps)
            self._trouble = ""
            self._bench.repaint()

    def act_mix(self, key: str) -> None:
        missing = [step.name for step in self._steps if step.frame is None]
        revision = self._bench.model.revision
        if missing or not self._steps or revision is None:
            self._bench.say(f"The mix wants the whole series; missing: {', '.join(missing)}.")
        else:
            fits = self._sum is not None and self._sum.fits
            self._bench.begin(MixMode(self._bench, revision, self._steps, fits=fits))

    def act_back(self, key: str) -> None:
        self._bench.begin(None)


def _burnt_shares(steps: Sequence[SeriesStep], known: Mapping[str, float]) -> dict[str, float]:
    """The burnt share of every readable picture of the series, by frames' keys; a known share isn't measured again."""
    found = dict(known)
    for step in steps:
        if step.frame and step.frame.path and step.frame.frame_id not in found:
            with suppress(UnreadablePicture):  # the sum says of which frame the picture can't be read
                found[step.frame.frame_id] = float(read_solo_picture(step.frame.path).burnt.mean())
    return found


def _frames_of(steps: Sequence[SeriesStep]) -> list[SeriesFrame | None]:
    return [step.frame for step in steps]
