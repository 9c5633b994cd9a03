"""What is done about frames left in the middle: tables of cases, and the rules that hold whatever was left."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from examples import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from session.cameras.protocol import CardObject, Fired, SavedFile
from session.frame import FrameState, ReleasedBy, Unsettled
from session.reconcile import (
    AdoptFile,
    BodyFrame,
    Complete,
    FetchObjects,
    Missing,
    NotFired,
    Step,
    Unsure,
    plan,
    with_copies,
)

FOLDER = "/store_00010001/DCIM/100STILL"
NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)
S = FrameState


def on_card(number: int, ending: str = "JPG", size: int | None = None) -> CardObject:
    """Sizes differ from number to number, as those of JPEGs do."""
    return CardObject(FOLDER, f"STIL{number:04d}.{ending}", size or 1000 * number + len(ending))


def on_disk(number: int, ending: str = "JPG", of: int | None = None) -> SavedFile:
    """A file of frame `number` that is a copy of the card's file `of`."""
    copied = on_card(of or number, ending)
    name = f"{number:04d}-front-01.1.{ending}"
    return SavedFile(f"/p/{name}", "jpeg", copied.bytes, "0" * 64, CardObject("", name, copied.bytes))


def left(number: int, state: FrameState, **more: object) -> Unsettled:
    fired = Fired.UNKNOWN if state in (S.RELEASING, S.UNCERTAIN) else Fired.YES
    frame = Unsettled(
        frame_id=f"frame {number}",
        number=number,
        state=state,
        camera_serial="INVENTED",
        folder="/p",
        stem=f"{number:04d}-front-01.1",
        asked_at=NOON + timedelta(seconds=number),
        fired=fired,
        released_by=ReleasedBy.TOOL,
    )
    return replace(frame, **more)  # type: ignore[arg-type]


def planned(
    frames: list[Unsettled],
    card: list[CardObject] | None = None,
    disk: dict[str, list[SavedFile]] | None = None,
    known: list[CardObject] | None = None,
    strange_card: bool = False,
) -> tuple[Step, ...]:
    return plan(frames, disk or {}, card or [], frozenset(known or []), strange_card)


def test_nothing_left_and_nothing_new_is_nothing_to_do() -> None:
    assert planned([], [on_card(1)], known=[on_card(1)]) == ()


@pytest.mark.parametrize("state", [S.ASKED, S.HELD_OFF])
def test_frame_that_was_never_released_did_not_fire(state: FrameState) -> None:
    steps = planned([left(1, state)], [on_card(1)])
    assert steps == (
        NotFired("frame 1", "Frame 1 did not fire: stillset ended before the release."),
        BodyFrame((on_card(1),)),
    )


@pytest.mark.parametrize("state", [S.RELEASING, S.UNCERTAIN])
def test_frame_that_may_have_fired_and_left_nothing_did_not(state: FrameState) -> None:
    (step,) = planned([left(1, state)], [on_card(900)], known=[on_card(900)])
    assert isinstance(step, NotFired) and "neither disk nor card" in step.text


@pytest.mark.parametrize("state", [S.RELEASING, S.UNCERTAIN, S.RECEIVING, S.MISSING])
def test_frame_of_which_nothing_is_known_takes_the_earliest_release_whole(state: FrameState) -> None:
    card = [on_card(8), on_card(7, "DNG"), on_card(7), on_card(900)]
    steps = planned([left(1, state)], card, known=[on_card(900)])
    assert steps == (FetchObjects("frame 1", (on_card(7, "DNG"), on_card(7))), BodyFrame((on_card(8),)))


def test_frames_take_releases_in_the_order_of_their_numbers_one_each() -> None:
    frames = [left(2, S.MISSING), left(3, S.UNCERTAIN)]
    card = [on_card(11), on_card(11, "DNG"), on_card(10), on_card(12), on_card(13, "DNG"), on_card(13)]
    assert planned(frames, card) == (
        FetchObjects("frame 2", (on_card(10),)),
        FetchObjects("frame 3", (on_card(11), on_card(11, "DNG"))),
        BodyFrame((on_card(12),)),
        BodyFrame((on_card(13, "DNG"), on_card(13))),
    )


def test_frame_takes_what_was_announced_for_it_though_another_is_earlier() -> None:
    frames = [left(1, S.UNCERTAIN), left(2, S.MISSING, expected=(on_card(10),))]
    assert planned(frames, [on_card(10), on_card(11)]) == (
        FetchObjects("frame 1", (on_card(11),)),
        FetchObjects("frame 2", (on_card(10),)),
    )


def test_announced_jpeg_brings_its_raw_along() -> None:
    frame = left(2, S.MISSING, expected=(on_card(10),))
    assert planned([frame], [on_card(10, "DNG"), on_card(10)]) == (
        FetchObjects("frame 2", (on_card(10), on_card(10, "DNG"))),
    )


def test_raw_of_a_saved_jpeg_is_fetched_for_the_same_frame() -> None:
    frame = left(2, S.RECEIVING, saved=("0002-front-01.1.JPG",), saved_objects=(on_card(10),), expected_files=2)
    card = [on_card(9), on_card(10), on_card(10, "DNG")]
    assert planned([frame], card, known=[on_card(9), on_card(10)]) == (FetchObjects("frame 2", (on_card(10, "DNG"),)),)


@pytest.mark.parametrize("state", [S.RELEASING, S.UNCERTAIN])
def test_frame_that_may_be_among_files_of_others_is_neither_said_not_to_have_fired_nor_given_any(
    state: FrameState,
) -> None:
    card = [on_card(7), on_card(8), on_card(8, "DNG")]
    (step,) = planned([left(1, state)], card, strange_card=True)
    among = "it may be among the 2 releases on its card, STIL0007.JPG to STIL0008.JPG; look through them."
    assert step == Unsure("frame 1", f"Frame 1 may have fired. The camera was used elsewhere since: {among}")
    assert planned([left(1, S.UNCERTAIN, sought=True)], card, known=card) == (), "it stays so"


def test_frame_that_fired_and_may_be_among_files_of_others_names_them() -> None:
    (step,) = planned([left(1, S.RECEIVING)], [on_card(7)], strange_card=True)
    assert isinstance(step, Missing) and "may be among the 1 releases on its card, STIL0007.JPG;" in step.text


def test_raw_of_the_size_of_another_logs_raw_brings_nothing_of_that_release_along() -> None:
    """Uncompressed raws are all of one size; the card that the frame was on isn't in the camera any more."""
    file = replace(on_disk(1, "DNG"), bytes=50_000_000)
    card = [on_card(7, "DNG", 50_000_000), on_card(7)]
    frame = left(1, S.RECEIVING, expected_files=2)
    adopted, missing = planned([frame], card, {"frame 1": [file]}, strange_card=True)
    assert adopted == AdoptFile("frame 1", file)
    assert isinstance(missing, Missing) and "the rest may be among the 1 releases on its card" in missing.text


def test_jpegs_size_tells_its_release_also_on_a_card_that_others_used() -> None:
    frame = left(1, S.RECEIVING, expected_files=2)
    card = [on_card(6), on_card(7, "DNG"), on_card(7), on_card(8)]
    steps = planned([frame], card, {"frame 1": [on_disk(1, of=7)]}, strange_card=True)
    assert steps == (
        AdoptFile("frame 1", replace(on_disk(1, of=7), card=on_card(7))),
        FetchObjects("frame 1", (on_card(7, "DNG"),)),
    )


def test_file_on_the_disk_is_adopted_and_settles_its_object() -> None:
    steps = planned([left(1, S.RELEASING)], [on_card(1)], {"frame 1": [on_disk(1)]})
    assert steps == (AdoptFile("frame 1", replace(on_disk(1), card=on_card(1))), Complete("frame 1"))


def test_file_on_the_disk_is_known_by_its_size_not_by_the_order() -> None:
    disk = {"frame 1": [on_disk(1, of=8)]}
    steps = planned([left(1, S.RELEASING)], [on_card(7), on_card(8), on_card(8, "DNG")], disk)
    assert steps == (
        AdoptFile("frame 1", replace(on_disk(1, of=8), card=on_card(8))),
        FetchObjects("frame 1", (on_card(8, "DNG"),)),
        BodyFrame((on_card(7),)),
    )


def test_raws_of_one_size_are_told_apart_by_their_jpegs() -> None:
    card = [on_card(7), on_card(7, "DNG", 50_000), on_card(8), on_card(8, "DNG", 50_000)]
    raw = replace(on_disk(1, "DNG"), bytes=50_000, kind="raw")
    steps = planned([left(1, S.RELEASING)], card, {"frame 1": [raw, on_disk(1, of=8)]})
    assert steps == (
        AdoptFile("frame 1", replace(raw, card=card[3])),
        AdoptFile("frame 1", replace(on_disk(1, of=8), card=card[2])),
        Complete("frame 1"),
        BodyFrame((card[0], card[1])),
    )


def test_file_that_may_be_a_copy_of_either_release_is_fetched_again() -> None:
    """A wrong guess would settle a release that nobody has; the file of the same content isn't saved twice."""
    card = [on_card(8, "DNG", 50_000), on_card(7, "DNG", 50_000)]
    raw = replace(on_disk(1, "DNG"), bytes=50_000, kind="raw")
    steps = planned([left(1, S.RELEASING)], card, {"frame 1": [raw]})
    assert steps == (FetchObjects("frame 1", (card[1],)), BodyFrame((card[0],)))


def test_raw_on_the_disk_goes_with_the_jpeg_that_the_log_has() -> None:
    card = [on_card(7), on_card(7, "DNG", 50_000), on_card(8), on_card(8, "DNG", 50_000)]
    raw = replace(on_disk(1, "DNG"), bytes=50_000, kind="raw")
    frame = left(1, S.RECEIVING, saved=("0001-front-01.1.JPG",), saved_objects=(card[2],))
    steps = planned([frame], card, {"frame 1": [on_disk(1, of=8), raw]}, known=[card[2]])
    assert steps == (
        AdoptFile("frame 1", replace(raw, card=card[3])),
        Complete("frame 1"),
        BodyFrame((card[0], card[1])),
    )


def test_file_on_the_disk_whose_card_is_gone_is_adopted_all_the_same() -> None:
    steps = planned([left(1, S.MISSING, expected=(on_card(1),))], [], {"frame 1": [on_disk(1)]})
    assert steps == (AdoptFile("frame 1", replace(on_disk(1), card=on_card(1))), Complete("frame 1"))
    assert planned([left(1, S.RELEASING)], [], {"frame 1": [on_disk(1)]}) == (
        AdoptFile("frame 1", on_disk(1)),
        Complete("frame 1"),
    )


def test_file_that_the_log_has_is_not_adopted_again() -> None:
    frame = left(1, S.RECEIVING, saved=("0001-front-01.1.JPG",), saved_objects=(on_card(1),))
    assert planned([frame], [on_card(1)], {"frame 1": [on_disk(1)]}, known=[on_card(1)]) == (Complete("frame 1"),)


def test_saved_frame_is_complete() -> None:
    assert planned([left(1, S.SAVED)], [on_card(9)], known=[on_card(9)]) == (Complete("frame 1"),)


@pytest.mark.parametrize("state", [S.RECEIVING, S.MISSING])
def test_frame_that_fired_and_is_nowhere_is_missing_in_words(state: FrameState) -> None:
    (step,) = planned([left(4, state)])
    assert step == Missing(
        "frame 4",
        "Frame 4 fired, is not saved. Neither disk nor card has a file of it; look for another card.",
    )


def test_announced_file_that_is_nowhere_is_named() -> None:
    frame = left(4, S.MISSING, expected=(on_card(4, "DNG"),), saved=("0004-front-01.1.JPG",))
    (step,) = planned([frame])
    assert isinstance(step, Missing)
    assert step.text.startswith("Frame 4 fired, is not saved whole.") and f"{FOLDER}/STIL0004.DNG" in step.text


def test_raw_that_should_be_there_and_is_not_is_told() -> None:
    frame = left(4, S.RECEIVING, saved=("0004-front-01.1.JPG",), saved_objects=(on_card(4),), expected_files=2)
    (step,) = planned([frame], [on_card(4)], known=[on_card(4)])
    assert isinstance(step, Missing) and "1 of 2 files are saved" in step.text


def test_frame_sought_in_vain_is_not_told_again_and_takes_nobodys_release() -> None:
    frame = left(4, S.MISSING, sought=True)
    assert planned([frame]) == ()
    assert planned([frame], [on_card(50)]) == (BodyFrame((on_card(50),)),)


def test_frame_sought_in_vain_still_takes_its_own_from_the_card_that_has_it() -> None:
    frame = left(4, S.MISSING, sought=True, expected=(on_card(4),))
    assert planned([frame]) == ()
    assert planned([frame], [on_card(4)]) == (FetchObjects("frame 4", (on_card(4),)),)


def test_card_of_a_camera_never_seen_is_nobodys() -> None:
    assert planned([], [on_card(1), on_card(2)], strange_card=True) == ()


def test_release_nobody_asked_for_is_the_bodys() -> None:
    card = [on_card(1), on_card(2), on_card(2, "DNG")]
    assert planned([], card, known=[on_card(1)]) == (BodyFrame((on_card(2), on_card(2, "DNG"))),)


def test_card_read_in_another_time_zone_brings_nothing_new() -> None:
    home = [replace(on_card(n), modified_at=1000.0 * n) for n in range(1, 4)]
    away = [replace(card_object, modified_at=(card_object.modified_at or 0) + 9 * 3600) for card_object in home]
    assert planned([], away, known=home) == ()


# --- whatever was left ----------------------------------------------------------------------------


@st.composite
def wrecks(draw: st.DrawFn) -> tuple[list[Unsettled], dict[str, list[SavedFile]], list[CardObject], list[CardObject]]:
    """A shoot that was cut off: frames at any step, files on card and disk, releases on the body in between."""
    frames, disk, card, known = [], {}, [], []
    file_number = draw(st.integers(1, 5000))
    for number in range(1, draw(st.integers(1, 6)) + 1):
        kinds = draw(st.sampled_from([("JPG",), ("JPG", "DNG")]))
        step = draw(
            st.sampled_from(["asked", "dark", "fired", "announced", "half", "on disk", "saved", "logged", "body"])
        )
        if step in ("asked", "dark"):
            frames.append(
                left(number, S.HELD_OFF if step == "asked" else draw(st.sampled_from([S.RELEASING, S.UNCERTAIN])))
            )
            continue
        objects = tuple(on_card(file_number, kind) for kind in kinds)
        copies = [on_disk(number, kind, file_number) for kind in kinds]
        file_number += 1
        lost = draw(st.integers(0, 9)) == 0
        card += [] if lost else objects
        one = {"frame": left(number, draw(st.sampled_from([S.RELEASING, S.RECEIVING, S.MISSING]))), "saved": 0}
        if step == "announced":
            frames.append(left(number, S.MISSING, expected=objects))
        elif step == "half":
            name = copies[0].path.rpartition("/")[2]
            known.append(objects[0])
            frames.append(
                left(number, S.RECEIVING, saved=(name,), saved_objects=objects[:1], expected_files=len(kinds))
            )
        elif step == "on disk":
            disk[f"frame {number}"] = copies[: draw(st.integers(1, len(copies)))]
            frames.append(one["frame"])
        elif step == "fired":
            frames.append(one["frame"])
        elif step in ("saved", "logged"):
            known += objects
            if step == "saved":
                names = tuple(copy.path.rpartition("/")[2] for copy in copies)
                frames.append(left(number, S.SAVED, saved=names, saved_objects=objects))
    return frames, disk, card, known


def given_out(steps: tuple[Step, ...]) -> list[CardObject]:
    out: list[CardObject] = []
    for step in steps:
        match step:
            case FetchObjects(_, objects) | BodyFrame(objects):
                out += objects
            case AdoptFile(_, file) if file.card.folder:
                out.append(file.card)
    return out


@settings(max_examples=examples(170), deadline=None)
@given(wreck=wrecks())
def test_every_file_on_the_card_is_taken_exactly_once(
    wreck: tuple[list[Unsettled], dict[str, list[SavedFile]], list[CardObject], list[CardObject]],
) -> None:
    frames, disk, card, known = wreck
    taken = given_out(planned(frames, card, disk, known))
    new = [card_object for card_object in card if card_object not in known]
    assert [card_object for card_object in taken if card_object in card] == [
        card_object for card_object in taken if card_object in new
    ]
    assert sorted(o.name for o in taken if o in card) == sorted(o.name for o in new)
    assert len(set(taken)) == len(taken)


@settings(max_examples=examples(170), deadline=None)
@given(wreck=wrecks())
def test_every_frame_comes_to_exactly_one_end_and_every_file_on_disk_to_its_frame(
    wreck: tuple[list[Unsettled], dict[str, list[SavedFile]], list[CardObject], list[CardObject]],
) -> None:
    frames, disk, card, known = wreck
    steps = planned(frames, card, disk, known)
    ends = [step.frame_id for step in steps if isinstance(step, FetchObjects | Complete | NotFired | Missing)]
    assert sorted(ends) == sorted(frame.frame_id for frame in frames)
    adopted = {(step.frame_id, step.file.path) for step in steps if isinstance(step, AdoptFile)}
    assert adopted == {(key, file.path) for key, files in disk.items() for file in files}
    for step in steps:
        if isinstance(step, NotFired):
            assert step.frame_id not in disk


@settings(max_examples=examples(100), deadline=None)
@given(wreck=wrecks())
def test_after_the_plan_is_carried_out_nothing_is_left_to_do(
    wreck: tuple[list[Unsettled], dict[str, list[SavedFile]], list[CardObject], list[CardObject]],
) -> None:
    frames, disk, card, known = wreck
    steps = planned(frames, card, disk, known)
    still = {frame.frame_id: frame for frame in frames}
    for step in steps:
        match step:
            case Complete(frame_id) | NotFired(frame_id, _) | FetchObjects(frame_id, _):
                del still[frame_id]
            case Missing(frame_id, _):
                saved = tuple(file.path.rpartition("/")[2] for file in disk.get(frame_id, ()))
                frame = still[frame_id]
                still[frame_id] = replace(frame, state=S.MISSING, sought=True, saved=(*frame.saved, *saved))
            case _:
                pass
    assert planned(list(still.values()), card, disk, [*known, *given_out(steps)]) == ()


def test_file_whose_second_copy_is_there_is_adopted_with_it_and_one_without_is_fetched_again() -> None:
    jpeg, raw = (
        replace(on_disk(1), card=on_card(1)),
        replace(on_disk(1, "DNG"), card=on_card(1, "DNG"), sha256="1" * 64),
    )
    copy = replace(on_disk(1), path="/second/0001.JPG")
    steps = (AdoptFile("frame 1", jpeg), AdoptFile("frame 1", raw), Complete("frame 1"))
    assert with_copies(steps, {"frame 1": [copy]}) == (
        AdoptFile("frame 1", replace(jpeg, copy_path="/second/0001.JPG")),
        FetchObjects("frame 1", (on_card(1, "DNG"),)),
    )
    both = (AdoptFile("frame 1", jpeg), FetchObjects("frame 1", (on_card(1, "DNG"),)))
    assert with_copies(both, {}) == (FetchObjects("frame 1", (on_card(1), on_card(1, "DNG"))),)


def test_file_without_a_second_copy_that_no_card_has_is_adopted_as_it_is() -> None:
    steps = (AdoptFile("frame 1", on_disk(1)), Complete("frame 1"), BodyFrame((on_card(9),)))
    assert with_copies(steps, {}) == steps


def test_frame_that_is_late_gets_no_step_until_it_is_whole_and_what_it_has_is_kept_for_it() -> None:
    frame = left(1, S.UNCERTAIN, expected_files=2)
    late = frozenset({"frame 1"})
    assert plan([frame], {}, [], frozenset(), False, late) == ()
    assert plan([frame], {}, [on_card(1)], frozenset(), False, late) == ()
    whole = [on_card(1), on_card(1, "DNG")]
    assert plan([frame], {}, whole, frozenset(), False, late) == (FetchObjects("frame 1", tuple(whole)),)
