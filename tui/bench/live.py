"""The bench while live view is on: newest picture always, never a backlog, and the keys that belong to it."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from threading import Lock

from session.frame.ports import LogError
from session.live.decode import LiveGrey
from session.picture.preview import UnreadablePicture
from session.set.setup import Region
from session.shoot.acts import (
    ForgetBest,
    KeepSupport,
    LivePictureUsed,
    MeasureSupport,
    SweepFocus,
    SwitchLiveView,
    TurnFocus,
)
from session.shoot.events import About, LivePicture
from tui.bench.live_reference import LiveReference, ReferenceFacts
from tui.bench.sound import Sound
from tui.bench.tone import SILENCE, Pitch
from tui.bench.view import BenchView
from tui.screen.background import Then
from tui.screen.shoot_port import Reader
from tui.screen.small_picture import SmallPicture, grey_picture, region_picture, small_live_picture, small_picture
from tui.words.live_look import Hold
from tui.words.live_words import range_text
from tui.words.model import NO_CAMERA

SMALL_STEP, LARGE_STEP = 1, 10
"""Steps of the camera's own focus drive at one press. Chosen."""

TONE_LASTS_S = 1.0
"""Without a new picture; the slowest stream brings one in this time. Chosen."""

USUAL_SHAPE = (2, 3)
"""Height and width of a live picture that the instruments have not seen: the proportions of most sensors."""

NO_LIVE_VIEW = "This camera offers no live view; everything else works."
NO_FOCUS_DRIVE = "This camera offers no focus drive; turn the ring by hand."


class BenchLive(BenchView):
    """Takes live frames one at a time: the next is asked for when the last has been painted."""

    def __init__(self) -> None:
        super().__init__()
        self._owed = False
        self._newest: LivePicture | None = None
        self._reference: LiveReference | None = None
        self._one_at_a_time = Lock()
        self.sound = Sound()
        self._pitch = Pitch()

    def on_unmount(self) -> None:
        self.sound.stop()

    # --- pictures ---------------------------------------------------------------------------------

    def live_heard(self, event: LivePicture) -> None:
        """A live frame came; it is made small beside the keys."""
        self._newest = event
        live = self.model.live
        if live.on and not live.look.paused:
            self.sound.play(self._pitch.tone(live.focus))
        if live.on:
            self.app.in_background(self._work(event, asks=True), "live")

    def on_screen_resume(self) -> None:
        """The live picture that came while another screen was shown is taken now."""
        self._ask_if_owed()

    def look_round(self) -> None:
        """A tone that no picture renews ends; so it does with live view, in a pause, and behind another screen."""
        super().look_round()
        live, now_s = self.model.live, self.app.clock.monotonic_s()
        if not live.on or live.look.paused or live.at_s is None or now_s - live.at_s > TONE_LASTS_S:
            self.sound.play(SILENCE)

    def _work(self, event: LivePicture, *, asks: bool) -> Callable[[], Then]:
        live, view, revision = self.model.live, self.picture_view, self.model.revision
        moving = self.mode is not None and self.mode.region() is not None  # the region is moved over the whole picture
        size_px = view.size.width, max(1, 2 * view.size.height)
        grey = event.reading.picture if event.reading else None
        shape = grey.shape if grey else USUAL_SHAPE
        part = live.look.part(revision.region, (shape[1], shape[0]), size_px) if revision and not moving else None
        held = self._held_reference() if live.look.hold is not Hold.ALONE and grey is not None else None
        if held is None or grey is None:
            whole = event.reading is None or grey is not None
            return partial(self._plain, event.jpeg if whole else b"", part, size_px, asks)
        return partial(self._held_against, held, grey, live.look.hold, part, asks)

    def _held_reference(self) -> ReferenceFacts | None:
        model = self.model
        if model.reference_id is None or model.revision is None:
            return None
        serial, name = (model.description.serial, model.description.model) if model.description else ("", "")
        body = self.kit.body_for(model.revision.body, serial, name)
        return ReferenceFacts(model.reference_id, model.revision.region, model.revision.arrangement, body)

    def _plain(self, jpeg: bytes, part: Region | None, size_px: tuple[int, int], asks: bool) -> Then:
        """In the background."""
        try:
            picture = small_live_picture(jpeg, part, size_px) if jpeg else None
        except UnreadablePicture:
            picture = None
        return partial(self._show_made, picture, None, asks)

    def _held_against(self, held: ReferenceFacts, grey: LiveGrey, hold: Hold, part: Region | None, asks: bool) -> Then:
        """In the background."""
        with self._one_at_a_time:
            reference = self._reference
            if reference is None or reference.held != held:
                try:
                    reference = self._reference = LiveReference(held, reference_picture(self.app.reader, held.frame_id))
                except (LogError, UnreadablePicture) as error:
                    return partial(self._show_made, grey_picture(grey.codes, part), f"The reference: {error}", asks)
            words = reference.words(grey, self.app.clock.monotonic_s())
            laid_over = reference.laid_over(grey, hold)
        return partial(self._show_made, grey_picture(laid_over, part), words, asks)

    def _show_made(self, picture: SmallPicture | None, correction: str | None, asks: bool) -> None:
        """Back in the screen's own thread. A frame that could not be shown leaves the one before."""
        live = self.model.live
        if not live.on:
            return
        self.live_picture = picture or self.live_picture
        self.correction = correction
        if self.app.screen is self:
            self.paint_live()
        if asks:
            self._owed = True
            self.call_after_refresh(self._ask_if_owed)

    def _ask_if_owed(self) -> None:
        if self._owed and not self.model.live.look.paused and self.app.screen is self:
            self._owed = False
            self.app.post(LivePictureUsed())

    def _show_anew(self) -> None:
        """The newest picture as the keys want it now; the next one would be late, or never come."""
        if self._newest is not None and self.model.live.on:
            self.app.in_background(self._work(self._newest, asks=False), "live again")
        self.repaint()

    # --- keys -------------------------------------------------------------------------------------

    def act_live(self, key: str) -> None:
        self.app.post(SwitchLiveView(not self.model.live.on))

    def act_no_live(self, key: str) -> None:
        self._say_lacking(NO_LIVE_VIEW)

    def act_enlarge(self, key: str) -> None:
        look = self.model.live.look
        look.reduce() if key == "minus" else look.enlarge()
        self._show_anew()

    def act_lines(self, key: str) -> None:
        self.model.live.look.next_overlay()
        self._show_anew()

    def act_hold(self, key: str) -> None:
        self.model.live.look.next_hold()
        self.correction = None
        self._show_anew()

    def act_pause(self, key: str) -> None:
        look = self.model.live.look
        look.paused = not look.paused
        self._ask_if_owed()
        self.repaint()

    def act_tone(self, key: str) -> None:
        self.app.in_background(self._end_tone if self.sound.is_on else self._begin_tone, "tone")

    def _begin_tone(self) -> Then:
        """In the background."""
        return partial(self.say, self.sound.start() or "The tone rises with the focus.")

    def _end_tone(self) -> Then:
        """In the background."""
        self.sound.stop()
        return partial(self.say, "The tone is off.")

    def act_forget_best(self, key: str) -> None:
        self.model.live.forget()
        self._pitch.forget()
        self.app.post(ForgetBest())
        self.repaint()

    def act_still(self, key: str) -> None:
        model, region = self.model, self.model.revision.region if self.model.revision else None
        file = model.frame.picture if model.frame else None
        if model.under_way:
            self.say("Not while a frame is under way: the still covers the whole screen.")
        elif region is None:
            return
        elif model.live.on and self._newest is not None:
            self.app.in_background(
                partial(self._still, partial(small_live_picture, self._newest.jpeg, region)), "still"
            )
        elif file is not None:
            self.app.in_background(partial(self._still, partial(region_picture, file.path, region)), "still")
        else:
            self.say("There is no picture yet.")

    def _still(self, read: Callable[[], SmallPicture]) -> Then:
        """In the background."""
        try:
            return partial(self.app.show_still, read())
        except UnreadablePicture as error:
            return partial(self.say, f"The file {error}.")

    def act_support(self, key: str) -> None:
        self.app.post(MeasureSupport())

    def act_keep_support(self, key: str) -> None:
        self.app.post(KeepSupport())

    def act_nudge(self, key: str) -> None:
        self._drive(-SMALL_STEP if key == "comma" else SMALL_STEP)

    def act_push(self, key: str) -> None:
        self._drive(-LARGE_STEP if key == "less_than_sign" else LARGE_STEP)

    def act_sweep(self, key: str) -> None:
        self.model.begin_act()
        self.model.live.look.paused = False  # it looks at every place
        self._ask_if_owed()
        self.app.post(SweepFocus(self.model.live.sweeps))

    def act_range(self, key: str) -> None:
        live = self.model.live
        live.next_range()
        self.say(range_text(live.sweeps))
        self.repaint()

    def act_no_drive(self, key: str) -> None:
        self._say_lacking(NO_FOCUS_DRIVE)

    def _say_lacking(self, sentence: str) -> None:
        """Say by `sentence` what the camera doesn't offer; before a camera has answered, that there is none."""
        if self.model.description is None:
            self.say(NO_CAMERA, About.NO_CAMERA)
        else:
            self.say(sentence)

    def _drive(self, steps: int) -> None:
        self.model.begin_act()
        self.app.post(TurnFocus(steps))


def reference_picture(reader: Reader | None, frame_id: str) -> SmallPicture:
    """The picture of an approved frame. Raises LogError or UnreadablePicture with a clause."""
    record = reader.frame(frame_id) if reader else None
    if record is None or record.picture is None:
        raise UnreadablePicture("has no picture")
    return small_picture(record.picture)
