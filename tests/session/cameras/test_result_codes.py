"""Every result code of the real libgphoto2 has a meaning of ours."""

from __future__ import annotations

import gphoto2 as gp
import pytest

from session.cameras.result_codes import LINK_CODES, MEANINGS, CameraError, meaning
from session.frame.camera_messages import Fault, Fired

NAMED = {getattr(gp, name) for name in dir(gp) if name.startswith("GP_ERROR")}
DESCRIBED = {code for code in range(-1, -1000, -1) if gp.gp_result_as_string(code) != "Unknown error"}
"""Codes below -999 are the camera drivers' own range, which libgphoto2 gives no names (its result.h)."""


def test_every_code_that_the_bindings_name_has_a_meaning() -> None:
    assert len(NAMED) > 30
    assert NAMED - set(MEANINGS) == set()


def test_every_code_that_the_library_describes_has_a_meaning() -> None:
    assert len(DESCRIBED) > 30
    assert DESCRIBED - set(MEANINGS) == set()


def test_no_meaning_is_given_to_a_code_that_the_library_does_not_know() -> None:
    assert set(MEANINGS) == NAMED | DESCRIBED
    assert set(MEANINGS) > LINK_CODES


@pytest.mark.parametrize("code", sorted(MEANINGS))
def test_a_meaning_is_one_sentence_without_code_names(code: int) -> None:
    text = meaning(code).text
    assert text.endswith(".")
    assert len(text) <= 90
    assert "GP_" not in text
    assert "error code" not in text


@pytest.mark.parametrize(
    ("code", "fault"),
    [
        (gp.GP_ERROR_TIMEOUT, Fault.NO_ANSWER),
        (gp.GP_ERROR_IO_USB_CLAIM, Fault.IN_USE),
        (gp.GP_ERROR_NO_SPACE, Fault.CARD_FULL),
        (gp.GP_ERROR_CAMERA_BUSY, Fault.BUSY),
        (gp.GP_ERROR_NOT_SUPPORTED, Fault.NOT_OFFERED),
        (gp.GP_ERROR_FILE_NOT_FOUND, Fault.NOT_FOUND),
        (gp.GP_ERROR_CORRUPTED_DATA, Fault.BAD_FILE),
        (gp.GP_ERROR_IO, Fault.LOST),
    ],
)
def test_the_fault_is_the_one_that_the_librarys_name_tells(code: int, fault: Fault) -> None:
    assert CameraError.of_code(code).fault == fault


def test_a_code_that_nobody_knows_is_told_by_its_number() -> None:
    error = CameraError.of_code(-1234)
    assert (error.fault, error.code) == (Fault.BROKEN, -1234)
    assert "-1234" in error.text


def test_what_becomes_known_is_added_and_the_rest_is_kept() -> None:
    error = CameraError.of_code(gp.GP_ERROR_IO).but(fired=Fired.YES, connected=False)
    assert (error.fault, error.code, error.fired, error.connected) == (Fault.LOST, -7, Fired.YES, False)
