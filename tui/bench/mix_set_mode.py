"""The powers of a mix are kept: the hands set them on the flashes, and the next frame is compared with the mix."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

from textual.content import Content

from session.frame.states import ENDED
from session.match.light_mix import SoloMix
from session.match.mix_check import check_mix
from session.match.solo_picture import read_solo_picture
from session.picture.preview import UnreadablePicture
from tui.bench.mode import BenchPort, Draft
from tui.screen.background import Then
from tui.screen.panels import cut, heading
from tui.screen.small_picture import SmallPicture
from tui.words.bench_frame import BenchFrame
from tui.words.harmless import harmless
from tui.words.headline import Headline, Tone
from tui.words.keys import Where
from tui.words.mix_check_words import mix_check_headline
from tui.words.model import AT_REST, Phase
from tui.words.solo_words import set_flashes_headline

AS_IT_WOULD_BE = "AS IT WOULD BE · not shot"


class MixSetMode(Draft):
    """Waits for the frame at the powers of a mix, and says whether it is as the mix foretold."""

    where = Where.MIX_SET

    def __init__(
        self,
        bench: BenchPort,
        mix: SoloMix,
        changes_ev: Mapping[str, float],
        picture: SmallPicture,
        powers: Sequence[str],
        *,
        fits: bool,
    ) -> None:
        """
        changes_ev  of the lights' powers against the solos
        picture     the mix as it was shown
        powers      to be set on the flashes, as `fill 1/32 (−5 EV)`
        fits        whether the solos of the mix add up to all together
        """
        super().__init__(bench)
        self._fits = fits
        self._mix, self._changes_ev, self._powers = mix, changes_ev, powers
        self._picture: SmallPicture | None = picture
        self._seen = {frame.frame_id for frame in bench.model.released}
        self._told: Headline | None = None
        self._comparing = ""

    def headline(self) -> Headline | None:
        """What to set, or what the frame came to; None while a frame is under way."""
        self._look()
        if self._bench.model.phase() not in AT_REST:
            return None
        if self._comparing:
            return Headline("COMPARING", "The frame is compared with the mix.", Tone.BUSY)
        return self._told or set_flashes_headline(self._powers)

    def panel(self, width: int, height: int) -> list[Content]:
        lines = [heading("MIX", "powers to set")]
        lines += [Content(cut(harmless(power, 60), width)) for power in self._powers]
        if self._told and self._bench.model.phase() is Phase.STOPPED:
            lines.append(Content(harmless(self._told.sentence, 300)))
        return lines

    def picture(self) -> SmallPicture | None:
        """The mix until the frame is here; then the frame is shown."""
        return self._picture

    def caption(self) -> str:
        return AS_IT_WOULD_BE

    def act_back(self, key: str) -> None:
        self._bench.begin(None)

    def _look(self) -> None:
        """Have the newest frame compared once it came to rest; one that did not fire is waited for again."""
        new = [
            (one, one.picture.path)
            for one in self._bench.model.released
            if one.frame_id not in self._seen and one.state in ENDED and one.picture is not None
        ]
        if new:
            self._seen |= {one.frame_id for one, _ in new}
            self._told, self._picture = None, None
            self._comparing = new[-1][0].frame_id
            self._bench.app.in_background(partial(self._work, *new[-1]), "frame of a mix")

    def _work(self, frame: BenchFrame, path: str) -> Then:
        """Read the frame and compare it, in the background."""
        try:
            shot = read_solo_picture(path)
            found = check_mix(shot, self._mix.solos, self._mix.ambient, self._changes_ev)
        except UnreadablePicture as error:
            return partial(self._show, frame, _untold(frame, str(error)))
        except ValueError as error:
            return partial(self._show, frame, _untold(frame, f"can't be compared: {error}"))
        return partial(self._show, frame, mix_check_headline(found, frame.number or 0, fits=self._fits))

    def _show(self, frame: BenchFrame, told: Headline) -> None:
        if frame.frame_id != self._comparing:  # a newer frame is compared
            return
        self._told, self._comparing = told, ""
        self._bench.repaint()


def _untold(frame: BenchFrame, why: str) -> Headline:
    return Headline("FORETOLD ?", f"Can't tell whether frame {frame.number} is as foretold: it {why}.", Tone.CAUTION)
