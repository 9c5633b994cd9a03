"""The light mix at the bench: other powers by keys, and the picture that they would give, before anything is fired."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

from textual.content import Content

from session.frame.ports import LogError
from session.match.light_mix import LightMix, SoloMix
from session.match.mix_to_match import MatchedMix, mix_to_match
from session.match.solo_picture import SoloPicture, read_solo_picture
from session.match.solo_series import SeriesStep, pictures_of_series
from session.picture.preview import UnreadablePicture
from session.set.setup import PlacedLight, Revision
from session.shoot.acts import Revise
from session.units.numbers import ev_text, power_text, share_text
from tui.bench.mix_set_mode import AS_IT_WOULD_BE, MixSetMode
from tui.bench.mode import BenchPort, Draft
from tui.screen.background import Then
from tui.screen.panels import CHOSEN, cut, heading
from tui.screen.small_picture import SmallPicture
from tui.words import adjust
from tui.words.harmless import harmless
from tui.words.headline import Headline, Tone
from tui.words.keys import Where, hint
from tui.words.solo_words import matched_text, mix_text, over_key_words, ratio_line

READING = Headline("MIX", "The solos are being read.", Tone.BUSY)


class MixMode(Draft):
    """The lights of a series of solos with the powers that are wanted."""

    where = Where.MIX

    def __init__(self, bench: BenchPort, revision: Revision, steps: Sequence[SeriesStep], *, fits: bool) -> None:
        """
        steps  a whole series, shot with the light of the revision
        fits   whether the solos add up to all together, so that their mix can be trusted
        """
        super().__init__(bench)
        self._fits = fits
        self._before = revision
        self._lights = list(revision.lights)
        self._at = 0
        self._mix: SoloMix | None = None
        self._mixed: LightMix | None = None
        self._picture: SmallPicture | None = None
        self._trouble = ""
        self._matched: MatchedMix | None = None
        self._why_unmatched = "There is no reference to match."
        bench.app.in_background(partial(self._work, steps), "mix")

    def _work(self, steps: Sequence[SeriesStep]) -> Then:
        """Read the pictures of the series, in the background."""
        try:
            _, solos, ambient = pictures_of_series(steps)
        except ValueError as error:
            return partial(self._show_trouble, f"There is no mix: the picture {error}.")
        return partial(self._take, SoloMix(solos, ambient, self._before.region), *self._match(solos, ambient))

    def _match(self, solos: Mapping[str, SoloPicture], ambient: SoloPicture) -> tuple[MatchedMix | None, str]:
        """The powers that come nearest the reference, or the reason why there are none, in a sentence."""
        try:
            path = self._bench.reference_path()
            reference = read_solo_picture(path) if path else None
        except LogError as error:
            return None, str(error)
        except UnreadablePicture as error:
            return None, f"The reference can't be matched: it {error}."
        if reference is None:
            return None, self._why_unmatched
        return mix_to_match(reference, solos, ambient), "Too little of the reference can be compared: parts are burnt."

    def _show_trouble(self, text: str) -> None:
        self._trouble = text
        self._bench.repaint()

    def _take(self, mix: SoloMix, matched: MatchedMix | None, why_unmatched: str) -> None:
        self._mix = mix
        self._matched, self._why_unmatched = matched, why_unmatched
        self._show_mix()

    def _changes_ev(self) -> dict[str, float]:
        pairs = zip(self._lights, self._before.lights, strict=True)
        return {light.name: light.power_ev - before.power_ev for light, before in pairs}

    def _show_mix(self) -> None:
        if self._mix is not None:
            self._mixed = self._mix.at(self._changes_ev())
            height, width = self._mix.ambient.light.shape
            times = self._mix.ambient.px_per_pixel
            self._picture = SmallPicture(self._mixed.pixels, round(width * times), round(height * times))
        self._bench.repaint()

    # --- what is shown ----------------------------------------------------------------------------

    def headline(self) -> Headline:
        """The lighting ratio as the large line, and what else the mix comes to."""
        if self._trouble:
            return Headline("NO MIX", self._trouble, Tone.CAUTION)
        if self._mixed is None:
            return READING
        doubt = "" if self._fits else "The solos don't add up, so this may be wrong. "
        text = f"{doubt}{mix_text(self._mixed)} Nothing is fired. {hint(Where.MIX, 'keep', 'set these powers')}"
        return Headline(ratio_line(self._mixed), text, Tone.GO if self._fits else Tone.CAUTION)

    def panel(self, width: int, height: int) -> list[Content]:
        """The lights with their powers now and as wanted."""
        lines = [heading("MIX", "as it would be")]
        for n, (light, before) in enumerate(zip(self._lights, self._before.lights, strict=True)):
            by_ev = light.power_ev - before.power_ev
            wanted = f" → {share_text(light.power_ev)}  {ev_text(by_ev)}" if by_ev else ""
            text = f"{n + 1} {harmless(light.name, 20)}  {share_text(before.power_ev)}{wanted}"
            lines.append(Content.styled(cut(text, width), CHOSEN if n == self._at else ""))
        if self._mixed and self._mixed.ratio:
            lines += [Content(cut(harmless(line, 80), width)) for line in over_key_words(self._mixed.ratio)]
        return lines

    def picture(self) -> SmallPicture | None:
        """The mix as a picture, made when the powers change: paints come more often."""
        return self._picture

    def caption(self) -> str:
        return AS_IT_WOULD_BE

    # --- keys -------------------------------------------------------------------------------------

    def act_choose_light(self, key: str) -> None:
        if key in ("up", "down"):
            self._at = (self._at + (1 if key == "down" else -1)) % len(self._lights)
        elif int(key) <= len(self._lights):
            self._at = int(key) - 1
        self._bench.repaint()

    def act_power(self, key: str) -> None:
        light: PlacedLight = self._lights[self._at]
        self._lights[self._at] = adjust.stepped_power(light, -1 if key == "minus" else 1, self._bench.kit)
        self._show_mix()

    def act_match(self, key: str) -> None:
        """The powers that come nearest the reference, to a tenth of a stop, within what the lights can do."""
        matched = self._matched
        if matched is None:
            self._bench.say(READING.sentence if self._mix is None else self._why_unmatched)
            return
        kit = self._bench.kit
        pairs = zip(self._lights, self._before.lights, strict=True)
        wanted_ev = {light.name: before.power_ev + matched.changes_ev[light.name] for light, before in pairs}
        self._lights = [adjust.changed_power(light, wanted_ev[light.name], kit) for light in self._lights]
        short = {light.name: wanted_ev[light.name] - light.power_ev for light in self._lights}
        self._bench.say(matched_text(matched, short))
        self._show_mix()

    def act_keep(self, key: str) -> None:
        changed = [light for light, before in zip(self._lights, self._before.lights, strict=True) if light != before]
        powers = [f"{light.name} {power_text(light.power_ev)}" for light in changed]
        if changed:
            self._bench.post(Revise({"lights": tuple(self._lights)}))
        if changed and self._mix is not None and self._picture is not None:
            kept = (self._mix, self._changes_ev(), self._picture, powers)
            self._bench.begin(MixSetMode(self._bench, *kept, fits=self._fits))
            return
        if changed:
            self._bench.say(f"Set on the flashes: {', '.join(powers)}.")
        self._bench.begin(None)
