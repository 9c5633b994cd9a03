"""What a job came to: each number against a few frames that were counted by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from session.frame.finding import FocusJudgement, FocusVerdict
from session.frame.ports import Place
from session.frame.states import FrameEvent
from session.set.setup import PlacedLight
from storage.reading.log_reader import LogReader
from storage.reading.stats import LightStats, OverrulingStats, PieceStats, SetupStats
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, SYNC, intent, revision, whole_frame


def write(log: SqlLog, place: Place) -> None:
    """Set-up 7: frames 1 missed, 2 sharp (later judged), 4 on another piece; set-up 8: 3 not fired."""
    seven = log.save_revision(place, revision(7, 1))
    again = log.save_revision(place, replace(revision(7, 2), lights=(PlacedLight("rim"),)))
    eight = log.save_revision(place, revision(8, 1))
    wheel = log.open_place("Movement", "Wheel", "top")
    minute = timedelta(minutes=1)
    whole_frame(log, place, 1, seven, asked_at=NOON, overrulings={"sync": "wanted"})
    sharp = whole_frame(log, place, 2, again, asked_at=NOON + 4 * minute, overrulings={"sync": "wanted", "charge": "x"})
    log.frame_judged(sharp, [SYNC], FocusJudgement(FocusVerdict.SHARP, 0.4))
    refused = intent(3, eight, asked_at=NOON + 5 * minute)
    log.begin_frame(refused, place)
    log.move_frame(refused.frame_id, FrameEvent.DID_NOT_FIRE)
    whole_frame(log, wheel, 4, seven, asked_at=NOON + 12 * minute)
    whole_frame(log, wheel, 5, seven, asked_at=NOON + 60 * minute)  # after a break of 48 minutes


def test_each_number_is_what_was_counted_by_hand(log: SqlLog, reader: LogReader, place: Place) -> None:
    write(log, place)
    told = reader.stats("movement")
    assert told.setups == (
        SetupStats("Movement", 7, 4, 1, 0, 3, 0, 0, 0, 0, 0),
        SetupStats("Movement", 8, 1, 0, 0, 0, 0, 1, 0, 0, 0),
    )
    assert told.pieces == (PieceStats("Movement", "Bridge", 3, 300.0), PieceStats("Movement", "Wheel", 2, 420.0))
    assert told.overrulings == (OverrulingStats("sync", 2), OverrulingStats("charge", 1))
    assert told.lights == (LightStats("fill", 3), LightStats("key", 3), LightStats("rim", 1))
    assert reader.stats() == told


def test_a_reference_is_counted_apart_from_those_that_are_compared_with_it(
    log: SqlLog, reader: LogReader, place: Place
) -> None:
    write(log, place)
    first = reader.frame_numbered("movement", 1)
    assert first and first.focus_verdict is FocusVerdict.MISSED
    log.set_reference(place, 7, first.frame_id)
    assert reader.stats("movement").setups[0] == SetupStats("Movement", 7, 4, 1, 0, 2, 0, 0, 0, 0, 1)


def test_time_and_job_narrow_what_is_counted(log: SqlLog, reader: LogReader, place: Place) -> None:
    write(log, place)
    assert reader.stats("no such job").setups == ()
    told = reader.stats(since=NOON + timedelta(minutes=4), until=NOON + timedelta(minutes=12))
    assert [(piece.piece, piece.frames, piece.time_s) for piece in told.pieces] == [("Bridge", 2, 60.0)]
    assert told.lights == (LightStats("rim", 1),)


def test_a_frame_with_the_lights_off_pops_no_light_and_counts_among_no_verdicts(
    log: SqlLog, reader: LogReader, place: Place
) -> None:
    write(log, place)
    before = reader.stats()
    whole_frame(log, place, 6, log.save_revision(place, revision(7, 3)), asked_at=NOON, ambient=True)
    after = reader.stats()
    assert after.lights == before.lights
    assert after.setups[0] == replace(before.setups[0], frames=5, ambient=1)
    (frame,) = [frame for frame in reader.frames() if frame.ambient]
    assert frame.number == 6


def test_the_kinds_of_frames_add_up_to_all_frames_of_set_ups_and_of_pieces(
    log: SqlLog, reader: LogReader, place: Place
) -> None:
    write(log, place)
    whole_frame(log, place, 6, log.save_revision(place, revision(7, 3)), asked_at=NOON, ambient=True)
    unsure = whole_frame(log, place, 7, log.save_revision(place, revision(7, 4)), asked_at=NOON)
    log.frame_judged(unsure, [], FocusJudgement(FocusVerdict.UNJUDGED))
    told = reader.stats()
    for at in told.setups:
        kinds = at.sharp + at.soft + at.missed + at.unjudged + at.not_checked + at.ambient + at.solo
        assert kinds + at.references == at.frames
    everything = len(list(reader.frames()))
    assert sum(at.frames for at in told.setups) == sum(piece.frames for piece in told.pieces) == everything == 7


def test_a_solo_pops_its_own_light_and_counts_among_no_verdicts(log: SqlLog, reader: LogReader, place: Place) -> None:
    write(log, place)
    before = reader.stats()
    whole_frame(log, place, 6, log.save_revision(place, revision(7, 3)), asked_at=NOON, solo="key")
    after = reader.stats()
    assert after.setups[0] == replace(before.setups[0], frames=5, solo=1)
    pops = {light.light: light.pops for light in before.lights}
    assert {light.light: light.pops for light in after.lights} == pops | {"key": pops["key"] + 1}
