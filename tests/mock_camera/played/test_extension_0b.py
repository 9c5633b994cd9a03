"""A body of extension 0x0B: its scales in eighths of a stop and its records of formats, there and back."""

import struct
from collections.abc import Iterator
from pathlib import Path

import pytest

from mock_camera.played.extension_0b import (
    ADDED,
    APERTURE,
    CHANGED,
    CHANGES,
    PRESS,
    SET_PROPERTY,
    STATUS,
    code_of_aperture,
    code_of_exposure,
    code_of_format,
    code_of_iso,
    code_of_records,
    eighths,
    exposure_s,
    f_number,
    format_records,
    iso,
    stops,
)
from mock_camera.ptp.codes import Operation, Response
from tests.support.bare_responder import BareResponder

HALF, FULL = 1, 2


@pytest.mark.parametrize("thirds", range(-9, 60))
def test_a_third_of_a_stop_in_eighths_comes_back(thirds: int) -> None:
    assert stops(eighths(thirds / 3)) == pytest.approx(thirds / 3)


@pytest.mark.parametrize("words", ["1.4", "2.8", "5.6", "8", "11", "16", "22"])
def test_an_aperture_in_words_is_its_number(words: str) -> None:
    code = code_of_aperture(words)
    # nominal values are rounded: 5.6 stands for 5.657, 22 for 22.6
    assert code is not None and f_number(code) == pytest.approx(float(words), rel=0.03)


@pytest.mark.parametrize(("words", "seconds_s"), [("1/200", 1 / 200), ("1/60", 1 / 60), ("0.5", 0.5), ("30", 30.0)])
def test_a_time_in_words_is_its_number(words: str, seconds_s: float) -> None:
    code = code_of_exposure(words)
    assert code is not None and exposure_s(code) == pytest.approx(seconds_s, rel=0.07)


def test_words_that_are_no_quantity_have_a_code_of_none_or_no_value() -> None:
    bulb, auto = code_of_exposure("bulb"), code_of_iso("Auto")
    assert bulb is not None and auto is not None
    assert exposure_s(bulb) is None and iso(auto) is None
    assert code_of_aperture("implicit auto") is None and code_of_iso("") is None
    assert iso(code_of_iso("400") or 0) == pytest.approx(400)


@pytest.mark.parametrize("words", ["L", "cL", "S1", "RAW", "RAW + L", "cRAW + S2", "Large Fine JPEG"])
def test_a_format_comes_back_from_its_records(words: str) -> None:
    code = code_of_format(words)
    assert code is not None
    records = format_records(code)
    assert struct.unpack_from("<I", records)[0] == 1 + ("+" in words) == (len(records) - 4) // 16
    assert code_of_records(records) == code


@pytest.fixture
def played(tmp_path: Path) -> Iterator[BareResponder]:
    desk = BareResponder(tmp_path, played="extension_0b")
    desk.ask(Operation.OpenSession, 1)
    yield desk
    desk.close()


def changes(played: BareResponder) -> list[tuple[int, bytes]]:
    """The records that the host is told: kind and content."""
    data, found, at = played.ask(CHANGES).data, [], 0
    assert data is not None
    while (size := struct.unpack_from("<I", data, at)[0]) > 0 and at + 8 < len(data):
        found.append((struct.unpack_from("<I", data, at + 4)[0], data[at + 8 : at + size]))
        at += size
    return found


def test_the_host_is_told_of_everything_first_and_of_changes_later(played: BareResponder) -> None:
    first = {struct.unpack_from("<I", content)[0] for kind, content in changes(played) if kind == CHANGED}
    assert APERTURE in first
    assert changes(played) == []
    assert played.extension is not None
    played.extension.properties.put(APERTURE, 72)
    assert (CHANGED, struct.pack("<II", APERTURE, 72)) in changes(played)


def test_the_host_sets_by_a_record_and_the_body_takes_it(played: BareResponder) -> None:
    answer = played.ask(SET_PROPERTY, data=struct.pack("<III", 12, APERTURE, 72))
    assert answer.code is Response.OK and played.body.setting("f_number") == pytest.approx(16.0)


def test_only_a_full_press_releases_and_its_file_comes_among_the_changes(played: BareResponder) -> None:
    changes(played)
    played.release(lambda: played.ask(PRESS, HALF))
    assert changes(played) == []
    played.release(lambda: played.ask(PRESS, FULL))
    kinds = [kind for kind, _ in changes(played)]
    assert ADDED in kinds and kinds.count(STATUS) == 2
