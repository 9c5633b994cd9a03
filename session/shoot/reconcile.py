"""The plan for frames that a crash, a cut cable or an empty battery left in the middle, as values.

The plan comes from the frames in the log, the files on the disk and the objects on the card. A frame takes first the
files that are surely its own: files on the disk under the frame's name, objects announced for the frame, and their
siblings; also a frame that is long at rest takes late files under its name. A frame without any known file takes the
earliest release on the card that is nobody's and that is numbered between those of the frames before and after it.
Where several frames may have a release, no frame gets it, and a person decides. All other releases were made on the
camera. Nothing is
ever taken twice, and nothing that was on the card before us is taken at all. Times of day decide nothing, neither the
computer's nor the camera's: clocks are wrong, and jump.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import PurePath

from session.frame.camera_messages import CardObject, Fired, SavedFile
from session.frame.card import base_name, copies, follows, releases, same, without
from session.frame.states import FrameEvent, FrameState, LoggedFrame
from session.units.file_kinds import is_jpeg_name

MAY_HAVE_FIRED = frozenset({FrameState.RELEASING, FrameState.UNCERTAIN})


@dataclass(frozen=True)
class AdoptFile:
    """A whole file on the disk is this frame's; the log lacks its row."""

    frame_id: str
    file: SavedFile


@dataclass(frozen=True)
class FetchObjects:
    """The card has these of the frame, and the disk doesn't. The frame is complete once they are fetched."""

    frame_id: str
    objects: tuple[CardObject, ...]


@dataclass(frozen=True)
class Complete:
    """Nothing of the frame is wanting; comes after its adoptions."""

    frame_id: str


@dataclass(frozen=True)
class NotFired:
    """By all that is known the shutter did not go."""

    frame_id: str
    text: str


@dataclass(frozen=True)
class Missing:
    """The frame fired, and some of its files are nowhere; the text names the files."""

    frame_id: str
    text: str


@dataclass(frozen=True)
class Unsure:
    """The frame may have fired, and its files may be others on the card, which the text names. A person decides."""

    frame_id: str
    text: str


@dataclass(frozen=True)
class BodyFrame:
    """A release that was made on the camera, not asked for by this program.

    during   the frame that was being taken when it was announced, "" when none was
    """

    objects: tuple[CardObject, ...]
    during: str = ""


@dataclass(frozen=True)
class JoinFrame:
    """The objects came late, for the frame that has a file of the same base name."""

    held: LoggedFrame
    objects: tuple[CardObject, ...]


@dataclass(frozen=True)
class Copied:
    """The objects on a second card are the same as the frame's files: the objects are noted, and not fetched."""

    frame_id: str
    objects: tuple[CardObject, ...]


@dataclass(frozen=True)
class Undecided:
    """A release that may belong to any of the named frames; a person decides, or a later file does."""

    objects: tuple[CardObject, ...]
    frame_ids: tuple[str, ...]
    text: str


Step = AdoptFile | FetchObjects | Complete | NotFired | Missing | Unsure | BodyFrame | JoinFrame | Undecided | Copied


def moves(step: Step, state: FrameState) -> tuple[FrameEvent, ...]:
    """The events that carry out the step on a frame in the given state; () when the frame's state stays."""
    match step:
        case FetchObjects():
            return (FrameEvent.FOUND,)
        case Complete():
            return () if state is FrameState.SAVED else (FrameEvent.FOUND, FrameEvent.ALL_SAVED)
        case NotFired():
            return (FrameEvent.NOT_FOUND,)
        case Missing():
            return (FrameEvent.NOT_WHOLE,)
        case Unsure():
            return (FrameEvent.UNSURE,)
    return ()


@dataclass(frozen=True)
class Around:
    """The known facts around the frames in the middle.

    held      frames that have saved files of the base names that are nobody's
    between   frame_id → a file of the frame before it and of the frame after it, None where there is none
    in_vain   frames that were waited for in vain in this run: their files may come all the same
    begun     frames that were begun since the camera was connected: they are not among what was on its card then
    during    base name → the frame that was being taken when its files were announced
    """

    held: Sequence[LoggedFrame] = ()
    between: Mapping[str, tuple[CardObject | None, CardObject | None]] = field(default_factory=dict)
    in_vain: Collection[str] = ()
    begun: Collection[str] = ()
    during: Mapping[tuple[str, str], str] = field(default_factory=dict)


NOTHING_AROUND = Around()


@dataclass
class _Findings:
    """The files and objects given to a frame so far.

    copied         on a second card, the same as files that it has
    may_be_among   what is let alone on a card that others used, and of which some may be this frame's
    """

    frame: LoggedFrame
    adopted: list[SavedFile] = field(default_factory=list)
    fetched: list[CardObject] = field(default_factory=list)
    lost: list[CardObject] = field(default_factory=list)
    copied: Sequence[CardObject] = ()
    may_be_among: tuple[CardObject, ...] = ()

    @property
    def is_empty(self) -> bool:
        frame = self.frame
        return not (self.adopted or self.fetched or frame.expected or frame.saved or frame.saved_objects)

    @property
    def is_whole(self) -> bool:
        """True with as many files as the format makes, or with any file where the format is unknown."""
        there = len(self.frame.saved) + len(self.adopted) + len(self.fetched)
        return self.frame.state is FrameState.SAVED or there >= max(self.frame.expected_files, 1)


def plan(
    unsettled: Sequence[LoggedFrame],
    on_disk: Mapping[str, Sequence[SavedFile]],
    card: Sequence[CardObject],
    known: frozenset[CardObject],
    strange_card: bool,
    late: Collection[str] = (),
    let_alone: Sequence[CardObject] = (),
    around: Around = NOTHING_AROUND,
) -> tuple[Step, ...]:
    """The steps that put the log right, in the order of their doing.

    unsettled   frames of this camera that are in the middle, in the order in which they were begun
    on_disk     frame_id → whole files on the disk under the frame's name, see `disk.files_of`
    card        all that is on the card now
    known       objects of this camera that are settled
    strange_card   nothing was ever noted of this card, or others used it since: then what is on it and wasn't
                   announced, or told by its name or a JPEG's size, is let alone; raws may all be of one size
    late        frames whose files the camera may still be writing: for one that isn't whole there is no step yet,
                and what the card has of it is kept for it
    let_alone   what was let alone on a strange card when this camera was connected
    around      what is known around them
    """
    free = list(without(card, known))
    unknown = frozenset(free)
    settled = [card_object for card_object in card if card_object not in unknown]
    found = [_Findings(frame) for frame in unsettled]
    moving = [one for one in found if one.frame.state is not FrameState.SAVED]
    for one in moving:
        _take_announced(one, free)
    for one in moving:
        telling = [card_object for card_object in free if not strange_card or is_jpeg_name(card_object.name)]
        taken = set(telling)
        _take_from_disk(one, on_disk.get(one.frame.frame_id, ()), telling)
        taken.difference_update(telling)
        _take_out(free, [card_object for card_object in free if card_object in taken])
        _take_siblings(one, free)
    alone = (*let_alone, *(free if strange_card else ()))
    for one in moving:
        elsewhere = one.frame.sought or one.is_whole or _own_bases(one) or one.frame.frame_id in around.begun
        one.may_be_among = () if elsewhere else alone
    if strange_card:
        free.clear()
    joined = _take_for_held(around.held, free, card)
    undecided = _take_by_order(moving, free, settled, late, around)
    mixed, by_body = _releases_on_body(moving, free, around.during)
    steps = [step for one in found if one.is_whole or one.frame.frame_id not in late for step in _steps(one)]
    copied = [Copied(one.frame.frame_id, tuple(one.copied)) for one in moving if one.copied]
    return (*steps, *copied, *joined, *undecided, *mixed, *by_body)


def _take_for_held(held: Sequence[LoggedFrame], free: list[CardObject], card: Sequence[CardObject]) -> list[Step]:
    """Late siblings of files that are saved. The saved one must be on this card still: numbers begin again."""
    steps: list[Step] = []
    for one in held:
        there = {base_name(mine) for mine in one.saved_objects if any(same(mine, found) for found in card)}
        own = _take_out(free, [card_object for card_object in free if base_name(card_object) in there])
        twice = copies(own, one.saved_objects)
        late = tuple(card_object for card_object in own if card_object not in twice)
        steps += [Copied(one.frame_id, twice)] if twice else []
        steps += [JoinFrame(one, late)] if late else []
    return steps


def _take_by_order(
    moving: Sequence[_Findings],
    free: list[CardObject],
    settled: Sequence[CardObject],
    late: Collection[str],
    around: Around,
) -> list[Undecided]:
    """Give releases that are nobody's to frames of which nothing is known, by the order of their numbers.

    settled   what else is on the card: before the first frame that has a file, all of it was there earlier
    """
    gaps: dict[tuple[CardObject | None, CardObject | None], list[_Findings]] = {}
    for one in moving:
        if one.is_empty:
            gaps.setdefault(around.between.get(one.frame.frame_id, (None, None)), []).append(one)
    undecided = []
    for (before, after), lacking in gaps.items():
        came = _numbered_between(free, before, after)
        waiting = [one for one in lacking if not one.frame.sought]
        open_ = [one for one in lacking if not one.frame.sought or one.frame.frame_id in around.in_vain]
        here = bool(open_)
        if not open_:
            earlier = before if before or after else _newest(settled)
            came = _that_may_still_come(free, earlier, after)
            open_ = [one for one in lacking if came and one.frame.fired is Fired.YES]
        sure = here and after is None and len(open_) == 1
        if len(open_) == len(waiting) or sure or (len(open_) == len(came) and (here or after)):
            for one, release in zip(open_, came, strict=False):
                one.fetched += _take_out(free, release)
        elif came and open_:
            keys = tuple(one.frame.frame_id for one in open_)
            for release in came:
                _take_out(free, release)
                if not any(key in late for key in keys):
                    undecided.append(Undecided(release, keys, _may_be_of(release, [one.frame for one in open_])))
    return undecided


def _numbered_between(
    free: Sequence[CardObject], before: CardObject | None, after: CardObject | None
) -> list[tuple[CardObject, ...]]:
    """The releases that are numbered after the one and before the other, earliest first."""
    bounds = [bound for bound in (before, after) if bound is not None]
    order = [release for release in releases([*bounds, *free])]
    place = {base_name(release[0]): number for number, release in enumerate(order)}
    first = place[base_name(before)] if before else -1
    last = place[base_name(after)] if after else len(order)
    return [release for release in releases(free) if first < place[base_name(release[0])] < last]


def _that_may_still_come(
    free: Sequence[CardObject], before: CardObject | None, after: CardObject | None
) -> list[tuple[CardObject, ...]]:
    """The releases that frames may have which an earlier run sought in vain: by the numbers around the frames alone.

    All between two neighbours; with one neighbour only the number next to it; on a card without any the first.
    """
    came = _numbered_between(free, before, after)
    if before and after:
        return came
    if after:
        return [release for release in came[-1:] if follows(after, release[0])]
    return [release for release in came[:1] if before is None or follows(release[0], before)]


def _newest(objects: Sequence[CardObject]) -> CardObject | None:
    return releases(objects)[-1][0] if objects else None


def _may_be_of(release: Sequence[CardObject], frames: Sequence[LoggedFrame]) -> str:
    *others, last = (str(frame.number) for frame in frames)
    whose = f"{', '.join(others)} or {last}" if others else last
    return (
        f"{release[0].name} came late, and may be of frame {whose}; settle it after the shoot: `stillset log settle`."
    )


def _releases_on_body(
    moving: Sequence[_Findings], free: Sequence[CardObject], during: Mapping[tuple[str, str], str]
) -> tuple[list[Undecided], list[BodyFrame]]:
    """The steps for the rest of the card: releases on the camera, but for a second name while a frame lacks files."""
    lacking = {one.frame.frame_id: one.frame for one in moving if not one.is_whole}
    mixed, by_body = [], []
    for release in releases(free):
        frame_id = during.get(base_name(release[0]), "")
        frame = lacking.get(frame_id)
        if frame is None:
            by_body.append(BodyFrame(release, frame_id))
        else:
            mixed.append(Undecided(release, (frame_id,), _may_be_of(release, [frame])))
    return mixed, by_body


def with_copies(steps: Sequence[Step], copies: Mapping[str, Sequence[SavedFile]]) -> tuple[Step, ...]:
    """The steps, changed for a shoot whose files must lie in a second place too.

    copies   frame_id → whole files in its second place
    A file on the disk whose copy is there is adopted with it. A file without a copy is fetched again, so that both are
    made; the file on the disk is then found to be the same. When the card has it no more, it is adopted without.
    """
    wanting: dict[str, tuple[CardObject, ...]] = {}
    done: list[Step] = []
    for step in steps:
        if not isinstance(step, AdoptFile):
            done.append(step)
            continue
        twin = next((copy for copy in copies.get(step.frame_id, ()) if copy.sha256 == step.file.sha256), None)
        if twin is not None:
            done.append(AdoptFile(step.frame_id, replace(step.file, copy_path=twin.path)))
        elif step.file.card.folder:
            wanting[step.frame_id] = (*wanting.get(step.frame_id, ()), step.file.card)
        else:
            done.append(step)
    told: list[Step] = []
    for step in done:
        frame_id = "" if isinstance(step, BodyFrame | JoinFrame | Undecided | Copied) else step.frame_id
        if isinstance(step, FetchObjects):
            told.append(FetchObjects(frame_id, (*wanting.pop(frame_id, ()), *step.objects)))
        elif frame_id in wanting and isinstance(step, Complete | Missing):
            told.append(FetchObjects(frame_id, wanting.pop(frame_id)))
        else:
            told.append(step)
    return (*told, *(FetchObjects(frame_id, objects) for frame_id, objects in wanting.items()))


def _take_announced(one: _Findings, free: list[CardObject]) -> None:
    for expected in one.frame.expected:
        there = [card_object for card_object in free if same(card_object, expected)]
        if there:
            one.fetched += _take_out(free, there[:1])
        else:
            one.lost.append(expected)


def _take_from_disk(one: _Findings, files: Sequence[SavedFile], free: list[CardObject]) -> None:
    """Give the frame the files that the log has no row for, and settle each file's card object."""
    for file in files:
        if PurePath(file.path).name not in one.frame.saved:
            match = _take_copied(file, one.fetched) or _take_copied(file, one.lost)
            one.adopted.append(replace(file, card=match or file.card))
    unplaced = [file for file in one.adopted if not file.card.folder]
    alike = _most_alike(unplaced, free, _own_bases(one))
    if len(alike) > 1:  # all of one size: fetched again, what is on the disk already is found to be the same
        one.adopted = [file for file in one.adopted if file.card.folder]
        one.fetched += _take_out(free, alike[0])
        return
    for file in unplaced if alike else ():
        match = next(
            (card_object for card_object in alike[0] if card_object in free and _copy_of(file, card_object)), None
        )
        if match is not None:
            free.remove(match)
            one.adopted[one.adopted.index(file)] = replace(file, card=match)


def _most_alike(
    files: Sequence[SavedFile], free: list[CardObject], own: set[tuple[str, str]]
) -> list[tuple[CardObject, ...]]:
    """The releases that fit most of the files, earliest first; [] when no release fits.

    Raws may all be of one size, so the whole release must fit; one that has files of the frame already goes first.
    """
    likeness = {}
    for release in releases(free):
        fitting = sum(any(_copy_of(file, card_object) for card_object in release) for file in files)
        if fitting:
            likeness[release] = (base_name(release[0]) in own, fitting)
    most = max(likeness.values(), default=None)
    return [release for release, fitting in likeness.items() if fitting == most]


def _take_copied(file: SavedFile, pool: list[CardObject]) -> CardObject | None:
    """The file's own card object, removed from the pool."""
    match = next((card_object for card_object in pool if _copy_of(file, card_object)), None)
    if match is not None:
        pool.remove(match)
    return match


def _take_siblings(one: _Findings, free: list[CardObject]) -> None:
    """Raw and JPEG of one release share their base name."""
    bases = _own_bases(one)
    own = _take_out(free, [card_object for card_object in free if base_name(card_object) in bases])
    one.copied = copies(own, [*one.frame.saved_objects, *(file.card for file in one.adopted)])
    one.fetched += [card_object for card_object in own if card_object not in one.copied]


def _own_bases(one: _Findings) -> set[tuple[str, str]]:
    own = [*one.frame.saved_objects, *one.frame.expected, *(file.card for file in one.adopted if file.card.folder)]
    return {base_name(card_object) for card_object in own}


def _take_out(free: list[CardObject], objects: Sequence[CardObject]) -> Sequence[CardObject]:
    for card_object in objects:
        free.remove(card_object)
    return objects


def _copy_of(file: SavedFile, card_object: CardObject) -> bool:
    """True for the same size and kind by the ending. A namesake of another release looks the same."""
    ending = PurePath(card_object.name).suffix.casefold()
    return file.bytes == card_object.bytes and PurePath(file.path).suffix.casefold() == ending


def _steps(one: _Findings) -> list[Step]:
    frame, key = one.frame, one.frame.frame_id
    if frame.state is FrameState.SAVED:
        return [Complete(key)]
    adoptions = [AdoptFile(key, file) for file in one.adopted]
    if one.fetched:
        return [*adoptions, FetchObjects(key, tuple(one.fetched))]
    return [*adoptions, *_verdict(one)]


def _verdict(one: _Findings) -> list[Step]:
    """The step for a frame that the card has nothing for."""
    frame, key = one.frame, one.frame.frame_id
    if one.is_empty and frame.state in MAY_HAVE_FIRED and frame.fired is not Fired.YES:
        if frame.sought:
            return []
        if one.may_be_among:
            return [Unsure(key, f"Frame {frame.number} may have fired: {_wanting(one)}")]
        text = f"Frame {frame.number} did not fire, by all that is known: neither disk nor card has a file of it."
        return [NotFired(key, text)]
    wanting = _wanting(one)
    if not wanting:
        return [Complete(key)]
    if frame.sought and not one.adopted:
        return []
    whole = " whole" if frame.saved or one.adopted else ""
    return [Missing(key, f"Frame {frame.number} fired, not saved{whole}: {wanting}")]


def _wanting(one: _Findings) -> str:
    """The files that are nowhere, as words behind a colon; "" when no file is."""
    if one.lost:
        names = ", ".join(f"{card_object.folder}/{card_object.name}" for card_object in one.lost)
        return f"neither disk nor card has {names}; look for another card."
    there = len(one.frame.saved) + len(one.adopted)
    if one.may_be_among:
        on_card = releases(one.may_be_among)
        names = " to ".join(dict.fromkeys(release[0].name for release in (on_card[0], on_card[-1])))
        return (
            f"the camera was used elsewhere since, and {'it' if there == 0 else 'the rest'} may be among the"
            f" {len(on_card)} releases on its card, {names}; look through them."
        )
    if there == 0:
        return "neither disk nor card has a file of it; look for another card."
    if there < one.frame.expected_files:
        return f"{there} of {one.frame.expected_files} files are saved, the card has no more; look for another card."
    return ""
