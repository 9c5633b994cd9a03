"""A mistake in the screen ends it with one sentence and the file that the traceback stands in."""

from __future__ import annotations

from pathlib import Path

import pytest

from tui.app.run import exit_as
from tui.screen.background import BackgroundApp


class Mistaken(BackgroundApp):
    """A screen with a mistake in it."""

    def on_mount(self) -> None:
        raise RuntimeError("a mistake")


def test_a_mistake_that_ends_the_screen_is_told_with_the_file_that_it_stands_in(
    capsys: pytest.CaptureFixture[str],
) -> None:
    app = Mistaken()
    app.run(headless=True)
    with pytest.raises(SystemExit) as end:
        exit_as(app, Path("errors.txt"))
    said = capsys.readouterr().err.splitlines()[-1]
    assert end.value.code == 1
    assert "errors.txt" in said and "Ended by the system" not in said
