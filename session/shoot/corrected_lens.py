"""The kit corrected by a grey card: the light that a lens that focuses inside lets through at its focus.

The first frame of a grey card (the set-up's grey patch) tells the effective f-number there, since the light that falls
on the card is known by the kit. It is offered with its number, and kept only when it is asked for: with the set-up and
in the kit file. Undo and redo of that act take both along.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from session.frame.ports import Judgement, LogError
from session.plan.lens_answers import lens_answer
from session.set.kit import KitError, Lens
from session.set.lens_in_use import lens_in_use
from session.set.lights_in_use import flash_exposure_ev
from session.set.setup import Revision
from session.shoot.arranging import Arranging
from session.shoot.events import GreyCardRead, GreyOffer, KitChanged, Said, Turn
from session.shoot.flight import Flight
from session.shoot.state import ShootState
from session.units.numbers import f_text

MOST_EV = 1.5
"""Beyond this the cause isn't the lens: focusing inside costs or spares a stop at most. Common practice, no source."""


ALIKE_EV = 0.05
"""Two frames that differ by less tell the same: half the tenth of a stop within which studio flash repeats. Chosen."""


@dataclass(frozen=True)
class _Kept:
    """The lens that an act kept, with its effective f-number (closest, wide open) in the kit before and since."""

    lens: str
    before: float | None
    since: float


class CorrectedLens:
    """Reads the lens from a judged frame, and keeps what was read with set-up and kit."""

    def __init__(self, state: ShootState, arranging: Arranging) -> None:
        self._state = state
        self._arranging = arranging
        self.offer: GreyOffer | None = None
        self._kept: dict[str, _Kept] = {}
        """The log's key of the act → what was kept by it."""
        self._told_of_view: set[str] = set()
        """Lenses of which it was said that the card tells nothing before the camera's angle is known."""

    def on_judged(self, flight: Flight, judgement: Judgement) -> None:
        """Offer what the frame's grey card tells of the lens, unless the kit knows it, or too little is known."""
        offer, before = self._read(flight.revision, judgement.grey_ev), self.offer
        if offer is None or (before is not None and abs(offer.change_ev - before.change_ev) < ALIKE_EV):
            return
        self._offer(offer)
        self._state.emit(Said(_words(offer)))

    def keep(self) -> bool:
        """Keep what is offered; says what was kept, and why not where it could not be."""
        state, offer = self._state, self.offer
        if offer is None:
            state.emit(Said("No grey card was read: mark where it lies, and release with it."))
            return False
        lens = state.kit.lens_for(offer.lens)
        if state.keep_f_number is None or lens is None:
            state.emit(Said("The demo's kit can't be changed; start with --kit and a file of your own."))
            return False
        old, before = state.revision, lens.closest_effective_f_number
        if old.arrangement.lens != offer.lens:
            state.emit(Said(f"The set-up has another lens than {offer.lens} now; release with the card once more."))
            return False
        if not self._write(offer.lens, offer.closest_effective_f_number):
            return False
        arrangement = replace(old.arrangement, pupil_magnification=offer.pupil_magnification)
        if not self._arranging.revise(replace(old, arrangement=arrangement), act="grey card"):
            self._write(offer.lens, before)
            return False
        now = offer.closest_effective_f_number
        self._note_act(_Kept(offer.lens, before, now))
        self._offer(None)
        state.emit(Said(f"Kept with set-up and kit: {offer.lens} is {f_text(now)} at its closest, wide open."))
        return True

    def on_arranged(self) -> None:
        """Another arrangement is in force: what was offered for another lens is offered no more."""
        if self.offer is not None and self._state.revision.arrangement.lens != self.offer.lens:
            self._offer(None)

    def on_turned(self, turn: Turn, act_id: str) -> None:
        """The act of this key was undone or redone: where it was ours, the kit's number goes along."""
        kept = self._kept.get(act_id)
        if kept is not None and self._state.kit.lens_for(kept.lens) is not None:
            self._write(kept.lens, kept.before if turn is Turn.UNDO else kept.since)

    def _note_act(self, kept: _Kept) -> None:
        try:
            act = self._state.log.next_undo(self._state.place)
        except LogError:  # then undo brings back the set-up alone
            return
        if act is not None:
            self._kept[act.act_id] = kept

    def _read(self, revision: Revision, grey_ev: float | None) -> GreyOffer | None:
        arrangement, f_number = revision.arrangement, revision.settings.f_number
        lens = self._state.kit.lens_for(arrangement.lens)
        added = arrangement.reversed or arrangement.extension_mm or arrangement.dioptres or arrangement.converter != 1
        if grey_ev is None or f_number is None or lens is None or added or not _is_unknown(lens):
            return None
        try:
            if revision.view_down_deg is None:
                self._say_view_unknown(lens.name, revision)
                return None
            expected_ev = flash_exposure_ev(revision, self._state.kit)
            if expected_ev is None or abs(grey_ev - expected_ev) > MOST_EV:
                return None
            told = lens_answer(
                lens.widest_f_number,
                lens.closest_magnification,
                arrangement.magnification,
                arrangement.pupil_magnification,
                grey_ev - expected_ev,
            )
            counted = lens_in_use(arrangement, f_number).effective_f_number
        except ValueError:  # numbers that can't be; the rules tell them before the release
            return None
        change_ev = grey_ev - expected_ev
        return GreyOffer(
            lens=lens.name,
            change_ev=change_ev,
            f_number=f_number,
            effective_f_number=counted * 2 ** (-change_ev / 2),
            counted_f_number=counted,
            pupil_magnification=float(f"{told['pupil_magnification']:.4g}"),
            closest_effective_f_number=float(f"{told['closest_effective_f_number']:.3g}"),
        )

    def _say_view_unknown(self, lens: str, revision: Revision) -> None:
        """Say, once for each lens, that only the camera's angle is lacking. Raises ValueError."""
        known = flash_exposure_ev(replace(revision, view_down_deg=90.0), self._state.kit) is not None
        if known and lens not in self._told_of_view:
            self._told_of_view.add(lens)
            told = "before the set-up says how far the camera looks down (90: straight down)"
            self._state.emit(Said(f"The grey card tells nothing of {lens} {told}."))

    def _offer(self, offer: GreyOffer | None) -> None:
        self.offer = offer
        self._state.emit(GreyCardRead(offer))

    def _write(self, lens: str, closest_effective_f_number: float | None) -> bool:
        """Put it into the kit file; says why not where that fails."""
        state = self._state
        if state.keep_f_number is None:
            return False
        try:
            state.kit = state.keep_f_number(lens, closest_effective_f_number)
        except KitError as error:
            state.emit(Said(str(error)))
            return False
        now = "not known" if closest_effective_f_number is None else f_text(closest_effective_f_number)
        state.record("kit", f"lens {lens}: effective f-number at its closest, wide open: {now}")
        state.emit(KitChanged(state.kit))
        return True


def _is_unknown(lens: Lens) -> bool:
    """Whether the lens focuses inside and nobody measured what that costs."""
    inside = lens.track_mm is not None and lens.closest_magnification > 0
    return inside and lens.closest_effective_f_number is None


def _words(offer: GreyOffer) -> str:
    here, counted = f_text(offer.effective_f_number), f_text(offer.counted_f_number)
    if math.isclose(offer.change_ev, 0, abs_tol=ALIKE_EV):
        return f"The grey card is as bright as the kit says: {offer.lens} is {here} here."
    word = "brighter" if offer.change_ev > 0 else "darker"
    return (
        f"The grey card is {abs(offer.change_ev):.2f} EV {word} than the kit says: {offer.lens} is {here} here, "
        f"not {counted}."
    )
