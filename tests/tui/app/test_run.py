"""A mistake in the screen ends it with one sentence and the file that the traceback stands in."""

from __future__ import annotations

from pathlib import Path

import pytest

from session.set.kit import Kit
from tui.app.run import exit_as, kit_or_none
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


def test_the_ledger_opens_without_a_kit_that_cannot_be_used_and_says_so(tmp_path: Path) -> None:
    broken = tmp_path / "kit.toml"
    broken.write_text("[[lens]\n")
    kit, told = kit_or_none(broken)
    assert kit == Kit() and told.startswith("The kit is left out: ") and "kit.toml" in told
    assert kit_or_none(None) == (Kit(), "")
    assert "kit.toml" in kit_or_none(tmp_path / "gone" / "kit.toml")[1]
