"""`stillset job` from the shell: an order read, typed, shown, and how far it is."""

from __future__ import annotations

import json
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from storage.writing.log import SqlLog
from tests.support.fresh_log import fresh_log
from tests.support.log_samples import SetClock, revision, whole_frame
from tui.commands.command_line import stillset

TABLE = """job,client,due,piece,article_number,piece_width_mm,surface,view,width_px
spring line,Invented & Sons,2026-12-05,ring 1,A-101,21,polished,front|top,2400
,,,ring 2,A-102,,matt,front,
"""


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "log.sqlite"
    fresh_log(path, SetClock()).close()
    monkeypatch.setenv("STILLSET_LOG", str(path))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "order.csv").write_text(TABLE)
    return path


def job(*words: str) -> Result:
    return CliRunner().invoke(stillset, ["job", *words], catch_exceptions=False)


def test_an_order_is_read_shown_and_counted(log: Path) -> None:
    assert job("read", "order.csv").output == "Job spring line: 2 pieces, 3 views; 3 views new.\n"
    assert job("show").output.splitlines() == [
        "Job spring line: 2 pieces, 3 views",
        "  client   Invented & Sons",
        "  due      2026-12-05",
        "  delivery 2400 × ? px",
        "   1  ring 1 (A-101), 21 mm, polished",
        "      front, top",
        "   2  ring 2 (A-102), matt",
        "      front",
    ]
    writer = SqlLog.open(log)
    place = writer.open_place("spring line", "ring 1", "front")
    key = writer.save_revision(place, revision())
    for number in (1, 2):
        writer.mark(whole_frame(writer, place, number, key), "hero")
    whole_frame(writer, writer.open_place("spring line", "ring 2", "front"), 3, key)
    writer.close()
    told = job("status").output
    assert told.splitlines()[0] == "Job spring line, due 2026-12-05: 1 of 3 views done, 2 views to go."
    assert "heroes 1, 2: one of them is wanted" in told
    assert "1 frame; none of them good yet" in told
    missing = job("status", "--missing")
    assert (missing.exit_code, missing.output) == (1, "To go: ring 1: top; ring 2: front.\n")
    (first, *_) = [json.loads(line) for line in job("status", "--json").output.splitlines()]
    assert first["state"] == "done" and first["heroes"] == [1, 2]


def test_a_file_with_faults_is_refused_whole(log: Path) -> None:
    Path("order.csv").write_text(TABLE + ",,,ring 3,A-101,21,,=1+1,\n,,,ring 4,A-104,big,,front,\n")
    refused = job("read", "order.csv")
    assert refused.exit_code == 2
    assert "Row 4, column view: '=1+1' begins like a formula" in refused.output
    assert "Row 5, column piece_width_mm: piece_width_mm is a number in mm, not 'big'." in refused.output
    assert refused.output.endswith("Nothing was read from order.csv.\n")
    assert "No job in this log has an order" in job("show").output


def test_an_order_is_typed_and_added_to(log: Path) -> None:
    assert job("new", "x", "--wanted", "type: top", "--width-mm", "100", "--ppi", "300").exit_code == 0
    assert job("new", "x", "--wanted", "type: top, side", "--due", "2026-12-24", "--width-px", "900").exit_code == 0
    assert job("new", "x", "--client", "Invented & Sons").exit_code == 0
    found = json.loads(job("show", "--json").output)
    assert [(piece["name"], piece["views"]) for piece in found["pieces"]] == [("type", ["top", "side"])]
    assert (found["client"], found["due_on"]) == ("Invented & Sons", "2026-12-24")
    assert (found["delivery"]["width_px"], found["delivery"]["width_mm"]) == (900, None)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("new", "x"), "an order wants a piece"),
        (("new", "x", "--wanted", "no views"), "'no views' is not like"),
        (("new", "x", "--wanted", "a: b", "--due", "5.12."), "'5.12.' is no date"),
        (("new", "x", "--wanted", "a: b", "--file-format", "webp"), "'webp' is no kind of file"),
        (("new", "x", "--wanted", "a: b", "--width-mm", "10"), "needs its pixels per inch"),
        (("status", "--job", "nowhere"), "Job 'nowhere' has no order in this log"),
    ],
)
def test_what_can_not_be_meant_is_told_in_a_sentence(log: Path, words: tuple[str, ...], sentence: str) -> None:
    refused = job(*words)
    assert refused.exit_code != 0 and sentence in refused.output


def test_a_standard_is_kept_for_views_shown_and_changed(log: Path) -> None:
    job("read", "order.csv")
    told = job("standard", "catalogue-white", "--background-ev", "2", "--shadow-side", "left", "--view", "FRONT")
    assert told.output == "Standard catalogue-white: shadow side left, background +2 EV: 2 views.\n"
    assert job("standard", "catalogue-white", "--size-tolerance-percent", "4").output.endswith(" 4 %: 2 views.\n")
    lines = job("show").output.splitlines()
    assert "      front (catalogue-white), top" in lines and lines[-1].startswith("Standard catalogue-white: ")
    assert job("standard", "x", "--view", "back").exit_code == 2
    assert job("standard", "x", "--shadow-side", "front").exit_code != 0
    assert job("standard", "a|b").exit_code == 0


def test_a_value_of_a_standard_is_left_open_again(log: Path) -> None:
    job("read", "order.csv")
    job("standard", "a", "--background-ev", "2", "--shadow-side", "left", "--margin-percent", "12")
    told = job("standard", "a", "--clear", "background-ev", "--clear", "shadow-side", "--margin-percent", "10")
    assert told.exit_code == 0
    last = job("show").output.splitlines()[-1]
    assert "margin" in last and "10 %" in last and "background" not in last and "shadow" not in last
    assert job("standard", "a", "--clear", "name").exit_code == 2


def test_a_later_standard_on_the_first_view_leaves_the_order_open_to_typing(log: Path) -> None:
    job("new", "spring line", "--wanted", "ring 4: front, side")
    assert job("standard", "a", "--background-ev", "2", "--view", "side").exit_code == 0
    assert job("standard", "b", "--background-ev", "1", "--view", "front").output.endswith(": 1 view.\n")
    assert job("new", "spring line", "--wanted", "ring 5: front").output.endswith("; 1 view new.\n")
    assert job("standard", "a", "--margin-percent", "12").exit_code == 0
    refused = job("new", "spring line", "--wanted", "ring 6: front|top")
    assert refused.exit_code == 2 and "a name holds no |" in refused.output and "front|top" in refused.output


def test_while_a_bench_holds_the_log_it_is_said_what_to_do(log: Path) -> None:
    with closing(SqlLog.open(log)):
        for words in (("read", "order.csv"), ("new", "spring line", "--wanted", "ring 9: front")):
            told = job(*words)
            assert told.exit_code == 1
            assert "has this log open" in told.output and "Type the order there (`O`" in told.output
