"""Which extension plays a summary, and what a file that is none says."""

from pathlib import Path

import pytest

from mock_camera.played.bodies import PLAYED, body_of
from mock_camera.played.extension import Extension
from mock_camera.ptp.summary import SummaryError
from tests.support.bare_body import bare_body
from tests.support.bare_responder import BODIES


@pytest.mark.parametrize("name", sorted(path.stem for path in BODIES.glob("extension_*.txt")))
def test_a_body_is_played_by_the_extension_that_its_summary_names(tmp_path: Path, name: str) -> None:
    played = body_of(BODIES / f"{name}.txt")(bare_body(tmp_path))
    assert type(played) is PLAYED[int(name.split("_")[1], 16)]


@pytest.mark.parametrize(
    "text", ["Vendor Extension ID: 0x77 (1.0)\n", "F(0x5007):(readwrite) (type=0x4) value: (560)\n"]
)
def test_an_extension_that_nobody_knows_or_none_is_played_by_the_standard_alone(tmp_path: Path, text: str) -> None:
    path = tmp_path / "body.txt"
    path.write_text(text)
    assert type(body_of(path)(bare_body(tmp_path / "card"))) is Extension


def test_a_file_that_is_missing_or_no_summary_is_refused_with_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(SummaryError, match=r"none\.txt can't be read: No such file"):
        body_of(tmp_path / "none.txt")
    (tmp_path / "letter.txt").write_bytes(b"\xff\xfe a letter")
    with pytest.raises(SummaryError, match=r"is no summary of a camera"):
        body_of(tmp_path / "letter.txt")
