"""`stillset kit`: fields in words, a check that helps, and a file to begin with."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from session.set.kit import Kit, KitError, demo_kit, parse_kit, read_kit
from session.set.kit_fields import WORDS, kit_fields
from tests.support.stillset_program import StillsetHome
from tui.commands.command_line import stillset

BODY = """[[body]]
name = "b"
sensor_width_mm = 36
sensor_height_mm = 24
pixels_across = 6000
pixels_down = 4000
"""


def run(*words: str) -> Result:
    return CliRunner().invoke(stillset, ["kit", *words])


def test_every_field_of_every_table_is_told_in_words_and_no_word_is_left_over() -> None:
    found = kit_fields(Kit)
    assert {field.name for field in found} == set(WORDS)
    assert {field.table for field in found} == set(Kit.model_fields) - {"invented"} | {""}
    assert all(field.words for field in found)


def test_the_fields_of_one_table_are_listed_with_those_that_are_needed_marked() -> None:
    told = run("fields", "body").output
    assert "[[body]]" in told and "[[lens]]" not in told
    assert "* sync_time_s" in told and "  stabiliser" in told
    lines = [json.loads(line) for line in run("fields", "--json").output.splitlines()]
    assert {line["table"] for line in lines} >= {"body", "lens", "light", "support"}
    assert run("fields", "bodies").exit_code == 2


def test_a_slip_is_answered_with_the_nearest_name_and_its_meaning() -> None:
    with pytest.raises(KitError) as slip:
        parse_kit(BODY + "sync_tme_s = 0.005\n", "kit.toml")
    assert "sync_tme_s: there is no field of this name; did you mean sync_time_s (shortest exposure" in str(slip.value)
    assert "sync_time_s: this field is needed; shortest exposure time" in str(slip.value)
    with pytest.raises(KitError, match="did you mean light"):
        parse_kit("[[ligth]]\nname = 'key'\n", "kit.toml")


def test_a_new_file_is_right_and_is_never_written_over_another(tmp_path: Path) -> None:
    home = StillsetHome(tmp_path)
    assert home.here("kit", "new", "kit.toml").code == 0
    assert read_kit(tmp_path / "kit.toml") == demo_kit()
    checked = home.here("kit", "check", "kit.toml")
    assert checked.code == 0 and f"{len(demo_kit().light)} × light" in checked.out
    assert "It says `invented = true`" in checked.out
    (tmp_path / "kit.toml").write_text(BODY)
    assert home.here("kit", "new", "kit.toml").code == 1
    assert (tmp_path / "kit.toml").read_text() == BODY
    wrong = home.here("kit", "check", "kit.toml")
    assert wrong.code == 2 and "sync_time_s" in wrong.err
