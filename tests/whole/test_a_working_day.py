"""A whole working day by keys in a real terminal: own kit, plan, three views on three pieces, mishaps, leaving in the
middle of a transfer, starting again, looking back, and building the first set-up again. Camera: libgphoto2 over the
network to the simulated one.

Asserted are the word on the large line at each step, what planner and bench say of the focus steps, and, read out of
the log at the end, the set-up in use at each frame, its blur limit and depth, and that no revision is without a frame.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from session.units.typed import typed_number
from storage.reading.log_reader import LogReader
from tests.support.mock_process import MockCamera
from tests.support.stillset_program import StillsetHome
from tests.support.terminal_program import in_terminal
from tests.support.terminal_screen import TerminalScreen

JOB = "Invented rings"
SENSOR_MM, PIXELS = 24.0, 1536
"""Across, of the simulated body."""

DOWN = "\x1b[B"
BLUR_MM, DEPTH_MM = 0.015, 2.4
WISHES = f"t20\r{DOWN}t14\r{DOWN}t{DEPTH_MM}\r{DOWN}{DOWN}t{BLUR_MM}\r{DOWN}t1000\r"
"""Width, height, depth, blur radius on the piece, and pixels delivered, line by line at the planner."""

KNOCKED_MM = 4.0
"""How far the focus ring is knocked: beyond any depth of field of these set-ups."""

BUMPED_MM = 0.8


class Day:
    """The photographer's hands: at the keyboard, at the table and at the cable."""

    def __init__(self, folder: Path, mock: MockCamera, columns: int, rows: int) -> None:
        self.home = StillsetHome(folder)
        self.mock = mock
        self.columns, self.rows = columns, rows
        self.words: list[str] = []
        self.power_ev = 0.0

    @contextmanager
    def bench(self, *arguments: str) -> Iterator[TerminalScreen]:
        """A command that opens the bench; it must end by itself."""
        with in_terminal(self.home, *arguments, columns=self.columns, rows=self.rows) as terminal:
            self.seen = TerminalScreen(terminal, self.columns, self.rows)
            yield self.seen
            assert terminal.ended() == 0, terminal.text[-2000:]

    def press(self, keys: str) -> None:
        self.seen.terminal.press(keys)

    def large(self, word: str) -> None:
        self.seen.until_large(word)

    def frame(self, word: str, said: str = "") -> None:
        """Release; the frame's word, whose `{}` are the numbers that the sentence says."""
        number = len(self.words) + 1
        self.press(" ")
        found = self.seen.until_said(rf"Frame {number} saved\b.*{said}")
        whole = word.format(*found.groups())
        self.large(whole)
        self.words.append(whole)

    def sharp(self) -> None:
        self.frame("SHARP {} / {}", r"blur radius ([\d.]+) px, limit ([\d.]+) px")

    def reference(self) -> None:
        self.press("c")
        self.large("REFERENCE")

    def go(self, piece: str, view: str, setup: str, answer: str = "") -> None:
        """Name the place; a view that is new is answered with a key."""
        self.press(f"pn{piece}\r{view}\r")
        if answer:
            self.seen.until_text("NEW VIEW")
            self.press(answer)
        self.seen.until_text(f"{piece} · {view} · set-up {setup}")

    def aperture(self, f_number: str) -> None:
        self.press(f"e{DOWN}t{f_number}\r\r")
        self.seen.until_text(f"f/{f_number} (")

    def put_up(self, piece: str, magnification: float, less_ev: float = 0.0) -> None:
        self.mock.hands("piece", name=piece)
        self.mock.hands("light", name="key", power_ev=self.power_ev - less_ev)
        self.mock.hands("arrangement", magnification=magnification)


def own_kit(day: Day) -> None:
    """The kit that is written to begin with, down to what this photographer owns."""
    ended = day.home.here("kit", "new", "kit.toml")
    assert ended.code == 0, ended
    path = day.home.folder / "kit.toml"
    text = path.read_text().replace("invented = true", "invented = false")
    tables = re.split(r"^(?=\[\[)", text, flags=re.MULTILINE)
    others = ("Wendle 36", "Innerleigh", "Plainfield", "Broadfen", '"rim"', '"fill"', "[[tube]]", "[[supplementary]]")
    spare = ("[[converter]]", "[[reversing_ring]]", "[[shaper]]")
    kept = [table for table in tables if not any(word in table for word in (*others, *spare))]
    kit = "".join(kept).replace('shaper = "tube"\n', "").replace("guide_number_m = 36.0", "guide_number_m = 32.0")
    path.write_text(re.sub(r"frequency_hz = [\d.]+", "frequency_hz = 60.0", kit).replace("hold_off_s = 2.0", ""))
    checked = day.home.here("kit", "check", "kit.toml")
    assert checked.code == 0 and "1 × body, 1 × lens, 1 × light" in checked.out, checked
    day.home.environment["STILLSET_KIT"] = str(path)


def planned(day: Day) -> tuple[int, float]:
    """Plan by keys and take it; the steps that the planner counts, and the magnification that it says."""
    day.press("m")
    day.seen.until_text("PLAN ")
    day.press(WISHES)
    day.press("t")
    day.seen.until_text("delivered, now 1000 px")  # so all that the wishes changed has been painted
    text = day.seen.text
    assert "Everything asked for holds." in text, text
    steps = re.search(r"\b(\d+) frames [\d.]+ mm apart", text)
    ratio = re.search(r"\b1 ✓ +((?:1:([\d.]+))|(?:([\d.]+):1)) ", text)
    power = re.search(r"\bkey +(1/\d+(?: [−+][\d.]+)?)", text)
    assert steps and ratio and power, text
    magnification = 1 / float(ratio[2]) if ratio[2] else float(ratio[3])
    day.press("\x1b")
    day.seen.until_text("enter take it")
    day.press("\r")
    day.seen.until_said(f"{steps[1]} frames cover it")
    day.mock.hands("arrangement", magnification=magnification)
    day.power_ev = typed_number("power_ev", power[1])
    day.mock.hands("light", name="key", power_ev=day.power_ev, distance_mm=620.0)
    return int(steps[1]), magnification


def first_view(day: Day) -> None:
    """Plan, region, reference, and each of the mishaps."""
    day.press("g05\r")
    day.frame("FOCUS ?")
    day.reference()
    day.press("et1/500\r\r")
    day.large("NO SYNC")
    day.press(" ")
    day.seen.until_said("did not fire. 1/500 s is shorter than the 1/200 s sync time")
    day.large("NOT FIRED")
    day.press("f")
    day.large("READY")

    day.mock.hands("turn_focus", mm=KNOCKED_MM)
    day.frame("MISSED {} mm", r", ([\d.]+) mm off\. Refocus in live view \[v\]")
    day.mock.hands("turn_focus", mm=-KNOCKED_MM)
    day.press("t")
    day.large("READY")
    day.sharp()
    day.mock.hands("move_camera", right_mm=BUMPED_MM)
    day.frame("CAMERA MOVED")
    day.mock.hands("move_camera", right_mm=-BUMPED_MM)
    day.mock.hands("light", name="key", fires=False)
    day.frame("NO FLASH")
    day.mock.hands("light", name="key", fires=True)
    day.mock.fault("cable_cut", when="transfer", after_bytes=20_000, reconnect_after_s=1.0)
    day.press(" ")
    day.large("NO CAMERA")
    found = day.seen.until_said(r"Frame 6 saved\b.*blur radius ([\d.]+) px, limit ([\d.]+) px")
    day.large("SHARP {} / {}".format(*found.groups()))
    day.words.append("SHARP")


def looked_back(day: Day) -> None:
    """List, contact sheet, marks with undo and redo, and two frames beside each other."""
    day.press("l")
    day.seen.until_text("LEDGER  ")
    day.press("\t")
    day.seen.until_text("tab list")
    day.press("h")
    day.seen.until_text("hero")
    day.press("z")
    day.seen.until_text("Undone: ")
    day.press("Z")
    day.seen.until_text("Redone: ")
    day.press("\t")
    day.seen.until_text("tab pictures")
    day.press(f"b{DOWN}b")
    day.seen.until_text("set-up               ")
    day.press("\x1b")
    day.seen.until_text("LEDGER  ")
    day.press("l")
    day.seen.until_text("space release")


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=["80x24", "120x40"])
@pytest.mark.timeout(300)
def test_a_working_day_by_keys(tmp_path: Path, size: tuple[int, int]) -> None:
    card = tmp_path / "card"
    with MockCamera(
        "--pixels", f"{PIXELS}x1024", "--seed", "7", "--format", "raw+jpeg", "--card-folder", str(card)
    ) as mock:
        day = Day(tmp_path, mock, *size)
        own_kit(day)
        camera = ("--camera", mock.address)
        light = ("--light", "key,power_ev=1/4,distance_mm=600")
        with day.bench("shoot", *camera, "--job", JOB, "--piece", "ring 1", "--view", "front", *light):
            day.large("READY")
            steps, magnification = planned(day)
            first_view(day)
            day.go("ring 1", "hallmark", "02.1", "y")
            day.aperture("8")
            day.press("1---\r")  # the key, a stop less
            day.put_up("type", 0.5, less_ev=1.0)
            day.frame("FOCUS ?")
            day.reference()
            day.go("ring 2", "front", "01.1")
            day.put_up("bridge", magnification)
            day.frame("FOCUS ?")
            day.reference()
            day.go("brooch", "back", "03.1", "y")
            day.put_up("card", 0.5)
            day.aperture("16")
            mock.slow_raws()
            day.press(" ")
            day.seen.until_text("MB, about")
            day.press("Qy")
            day.seen.until_text("y again leaves it")
            day.press("y")
        assert (
            "Frame 9 fired, not saved: it is on the card, and is fetched at the next start." in day.seen.terminal.text
        )
        day.words.append("FOCUS ?")
        mock.quick_wire()

        with day.bench("shoot", *camera):
            day.seen.until_text("brooch · back · set-up 03.1")
            day.large("FOCUS ?")
            day.seen.until_said("Frame 9 saved")
            day.reference()
            day.sharp()
            day.go("ring 1", "front", "01.1")
            day.put_up("bridge", magnification)
            day.sharp()
            looked_back(day)
            day.press("Q")

        with day.bench("reshoot", "01.1", *camera):
            day.seen.until_text("Step 1 of 8: check list")
            day.press("\r")
            day.seen.until_text("Step 3 of 8: lens")
            mock.hands("move_camera", right_mm=BUMPED_MM)
            day.press("\x1b")
            day.seen.until_text("M match")
            day.large("READY")
            day.frame("CAMERA {} mm LEFT", r"Move the camera ([\d.]+) mm left")
            mock.hands("move_camera", right_mm=-BUMPED_MM)
            day.sharp()
            day.press("Q")
        releases = mock.hands("state")["releases"]

    with closing(LogReader.open(day.home.log)) as reader:
        frames = list(reader.records())
        written = {one.label for number in (1, 2, 3, 4) for one in reader.revisions(JOB, number)}
    in_use = [(one.number, one.piece, one.view, one.setup) for one in frames]
    first, hallmark, brooch = ("ring 1", "front", "01.1"), ("ring 1", "hallmark", "02.1"), ("brooch", "back", "03.1")
    places = [*[first] * 6, hallmark, ("ring 2", "front", "01.1"), brooch, brooch, first, first, first]
    assert in_use == [(number, *place) for number, place in enumerate(places, 1)]
    assert written == {"01.1", "02.1", "03.1"}, "no revision without a frame"
    assert {one.state for one in frames} == {"logged"}
    assert len(frames) == len(day.words) == releases
    assert steps > 1
    for one in frames:
        revision = one.revision
        assert revision.depth_needed_mm == DEPTH_MM
        assert revision.blur_limit_px == pytest.approx(BLUR_MM * magnification * PIXELS / SENSOR_MM, rel=0.01)
