"""What is done about frames left in the middle: tables of cases."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from session.frame.camera_messages import CardObject
from session.frame.states import FrameState, LoggedFrame
from session.shoot.reconcile import (
    AdoptFile,
    Around,
    BodyFrame,
    Complete,
    Copied,
    FetchObjects,
    JoinFrame,
    Missing,
    NotFired,
    Step,
    Undecided,
    Unsure,
    plan,
    with_copies,
)
from tests.support.left_frames import FOLDER, left, on_card, on_disk, planned

S = FrameState


def test_nothing_left_and_nothing_new_is_nothing_to_do() -> None:
    assert planned([], [on_card(1)], known=[on_card(1)]) == ()


@pytest.mark.parametrize("state", [S.RELEASING, S.UNCERTAIN])
def test_frame_that_may_have_fired_and_left_nothing_did_not(state: FrameState) -> None:
    (step,) = planned([left(1, state)], [on_card(900)], known=[on_card(900)])
    assert isinstance(step, NotFired) and "neither disk nor card" in step.text


@pytest.mark.parametrize("state", [S.RELEASING, S.UNCERTAIN, S.RECEIVING, S.MISSING])
class Counted(CardObject):
    """A file on the card that counts how often one is compared or looked up."""

    looks = 0

    def __eq__(self, other: object) -> bool:
        Counted.looks += 1
        return super().__eq__(other)

    def __hash__(self) -> int:
        Counted.looks += 1
        return super().__hash__()


@pytest.mark.parametrize("in_the_middle", [0, 1])
def test_files_of_a_strange_card_are_looked_at_a_few_times_each_however_many_there_are(in_the_middle: int) -> None:
    frames = [left(number, S.UNCERTAIN) for number in range(in_the_middle)]
    looks = []
    for count in (100, 400):
        card: list[CardObject] = [Counted(FOLDER, f"OTHR{number:04d}.JPG", 1000 + number) for number in range(count)]
        Counted.looks = 0
        planned(frames, card, strange_card=True)
        looks.append(Counted.looks / count)
    assert looks[1] == pytest.approx(looks[0], abs=1), "and so as often on a long card as on a short one"


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
    assert step == Unsure("frame 1", f"Frame 1 may have fired: the camera was used elsewhere since, and {among}")
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
        "Frame 4 fired, not saved: neither disk nor card has a file of it; look for another card.",
    )


def test_announced_file_that_is_nowhere_is_named() -> None:
    frame = left(4, S.MISSING, expected=(on_card(4, "DNG"),), saved=("0004-front-01.1.JPG",))
    (step,) = planned([frame])
    assert isinstance(step, Missing)
    assert step.text.startswith("Frame 4 fired, not saved whole:") and f"{FOLDER}/STIL0004.DNG" in step.text


def test_raw_that_should_be_there_and_is_not_is_told() -> None:
    frame = left(4, S.RECEIVING, saved=("0004-front-01.1.JPG",), saved_objects=(on_card(4),), expected_files=2)
    (step,) = planned([frame], [on_card(4)], known=[on_card(4)])
    assert isinstance(step, Missing) and "1 of 2 files are saved" in step.text


def test_frame_sought_in_vain_is_not_told_again_and_takes_nobodys_release() -> None:
    frame = left(4, S.MISSING, sought=True)
    assert planned([frame]) == ()
    assert planned([frame], [on_card(48), on_card(50)], known=[on_card(48)]) == (BodyFrame((on_card(50),)),)


def test_what_comes_for_the_first_frame_after_its_run_is_left_to_a_person_or_the_numbers() -> None:
    """Its picture was fetched at the next start as a release on the camera, a second frame beside the missing one."""
    frame = left(1, S.MISSING, sought=True)
    for there in ([], [on_card(6)]):
        (step, *others) = planned([frame], [*there, on_card(7), on_card(8)], known=there)
        assert isinstance(step, Undecided) and (step.objects, step.frame_ids) == ((on_card(7),), ("frame 1",))
        assert others == [BodyFrame((on_card(8),))]
    card = [on_card(2), on_card(6), on_card(7)]
    first, older = around([frame], card, [on_card(7)], between={"frame 1": (None, on_card(7))})
    assert (first, older) == (FetchObjects("frame 1", (on_card(6),)), BodyFrame((on_card(2),)))
    assert planned([left(1, S.UNCERTAIN, sought=True)], [on_card(7)]) == (BodyFrame((on_card(7),)),), (
        "may not have fired"
    )


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


def held(number: int, *objects: CardObject) -> LoggedFrame:
    return left(number, S.LOGGED, saved_objects=objects)


def around(frames: list[LoggedFrame], card: list[CardObject], known: list[CardObject], **what: Any) -> tuple[Step, ...]:
    return plan(frames, {}, card, frozenset(known), False, around=Around(**what))


def test_file_under_the_name_of_a_frame_that_is_at_rest_joins_it_while_the_card_has_the_other_file_too() -> None:
    jpeg, raw, frame = on_card(7), on_card(7, "DNG"), held(4, on_card(7))
    assert around([], [jpeg, raw], [jpeg], held=[frame]) == (JoinFrame(frame, (raw,)),)
    assert around([], [raw], [jpeg], held=[frame]) == (BodyFrame((raw,)),), "another card, whose numbers began again"
    again = replace(jpeg, bytes=1)
    assert around([], [again, raw], [jpeg], held=[frame]) == (BodyFrame((again, raw)),)


def test_frame_waited_for_in_vain_gets_the_release_numbered_between_its_neighbours() -> None:
    frame, there = left(2, S.MISSING, sought=True), [on_card(7), on_card(9)]
    between = {"frame 2": (on_card(7), on_card(9))}
    for in_vain in ((), ("frame 2",)):
        told = around([frame], [*there, on_card(8)], there, between=between, in_vain=in_vain)
        assert told == (FetchObjects("frame 2", (on_card(8),)),)
    assert around([frame], [*there, on_card(10)], there, between=between) == (BodyFrame((on_card(10),)),)


def test_next_number_after_a_frame_that_an_earlier_run_sought_in_vain_is_left_to_a_person() -> None:
    frame = left(2, S.MISSING, sought=True)
    between = {"frame 2": (on_card(7), None)}
    step, *others = around([frame], [on_card(7), on_card(8), on_card(9)], [on_card(7)], between=between)
    assert isinstance(step, Undecided) and (step.objects, step.frame_ids) == ((on_card(8),), ("frame 2",))
    assert others == [BodyFrame((on_card(9),))]
    assert around([frame], [on_card(7), on_card(9)], [on_card(7)], between=between) == (BodyFrame((on_card(9),)),)


def test_frame_gets_nothing_that_is_numbered_after_a_later_frame() -> None:
    frame = left(2, S.UNCERTAIN)
    not_fired, body = around([frame], [on_card(9), on_card(10)], [on_card(9)], between={"frame 2": (None, on_card(9))})
    assert isinstance(not_fired, NotFired) and body == BodyFrame((on_card(10),))


def test_second_name_that_comes_while_a_frame_lacks_a_file_is_neither_the_frames_nor_the_bodys() -> None:
    jpeg, raw = on_card(7), on_card(8, "DNG")
    frame = left(2, S.MISSING, saved=("0002-front-01.1.JPG",), saved_objects=(jpeg,), expected_files=2)
    during = {("100STILL", "STIL0008"): "frame 2"}
    _, step = around([frame], [jpeg, raw], [jpeg], during=during)
    assert isinstance(step, Undecided) and step.objects == (raw,)
    assert around([], [jpeg, raw], [jpeg], during=during) == (BodyFrame((raw,), "frame 2"),)


def test_copy_on_a_second_card_is_noted_and_never_fetched() -> None:
    jpeg = replace(on_card(7), modified_at=1000.0)
    copy = replace(jpeg, folder="/second/DCIM/100STILL")
    frame = held(4, jpeg)
    assert around([], [jpeg, copy], [jpeg], held=[frame]) == (Copied("frame 4", (copy,)),)
    raw = replace(on_card(7, "DNG"), modified_at=1000.0)
    half = left(2, S.MISSING, saved=("0002-front-01.1.JPG",), saved_objects=(jpeg,), expected_files=2)
    told = around([half], [jpeg, copy, raw], [jpeg])
    assert told == (FetchObjects("frame 2", (raw,)), Copied("frame 2", (copy,)))
    another = replace(copy, bytes=jpeg.bytes + 1)
    assert around([], [jpeg, another], [jpeg], held=[frame]) == (JoinFrame(frame, (another,)),)
