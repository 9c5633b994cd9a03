"""`stillset series run` at the shell: what it refuses before a camera is looked for."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from tui.commands.command_line import stillset


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--frames", "7", "--depth-needed-mm", "1.4"), "7 frames or 1.4 mm: give one of them"),
        (("--by", "crane"), "'crane' is not one of 'drive', 'rail', 'ring'"),
        (("--frames", "0"), "0 is not in the range"),
        (("--steps-per-mm", "-3"), "-3"),
    ],
)
def test_options_that_cannot_be_meant_are_refused_at_once(options: tuple[str, ...], words: str) -> None:
    done = CliRunner().invoke(stillset, ["series", "run", *options])
    assert done.exit_code == 2 and words in done.output
