"""How strong the tests are: the source changed in one small place at a time, and the changes that no test notices.

    .venv/bin/pip install -e '.[mutants]'
    .venv/bin/python -m tests.support.mutants rules --sample 100

Works on a copy of the source, by the library cosmic-ray; a seed draws the sample, so that it is the same again. Prints
each survivor with its place and its change, and how many were noticed. Survivors that change nothing anybody can see
(equivalent ones) stand in `EQUIVALENT`, with the reason, and don't count.
"""

from __future__ import annotations

import argparse
import json
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]

OPTICS = ("tests/session/optics", "tests/references", "tests/session/plan")
LIGHTING = ("tests/session/lighting", "tests/references", "tests/session/plan")
LIGHT_CHECKS, FOCUS_CHECKS = "tests/session/checks/light", "tests/session/checks/focus"
PLAN = "tests/session/plan"
SHOOT, WRITING = "tests/session/shoot", "tests/storage/writing"

TARGETS: dict[str, dict[str, tuple[str, ...]]] = {
    "optics": {"session/optics": OPTICS},
    "lighting": {"session/lighting": LIGHTING},
    "vibration": {
        "session/optics/swing_fit.py": ("tests/references/test_swing_fit.py",),
        "session/optics/ring_down.py": ("tests/references/test_ring_down.py",),
        "session/optics/vibration.py": ("tests/references/test_vibration.py", f"{PLAN}/test_waits.py"),
    },
    "plan": {
        "session/plan/powers.py": (f"{PLAN}/test_powers.py", f"{PLAN}/test_report.py"),
        "session/plan/room.py": (f"{PLAN}/test_room.py",),
        "session/plan/reflection.py": (f"{PLAN}/test_reflection.py",),
        "session/plan/stops.py": (f"{PLAN}/test_stops.py", f"{PLAN}/test_plate_blur.py"),
        "session/plan/mounting.py": (f"{PLAN}/test_mounting.py", f"{PLAN}/test_arrangements.py"),
        "session/plan/best_stop.py": (f"{PLAN}/test_kit_search.py", f"{PLAN}/test_ranked_plan.py"),
        "session/plan/ranked_plan.py": (f"{PLAN}/test_ranked_plan.py",),
        "session/plan/ranking.py": (f"{PLAN}/test_ranking.py",),
        "session/plan/criteria.py": (f"{PLAN}/test_criteria.py",),
        "session/plan/arrangements.py": (f"{PLAN}/test_arrangements.py",),
        "session/plan/wish.py": (f"{PLAN}/test_wish.py",),
        "session/plan/waits.py": (f"{PLAN}/test_waits.py",),
        "session/plan/planned_revision.py": (f"{PLAN}/test_planned_revision.py",),
    },
    "stillness": {
        "session/rules/stillness_rules.py": ("tests/session/rules",),
        "session/rules/situation.py": ("tests/session/rules",),
    },
    "rules": {"session/rules": ("tests/session/rules",)},
    "checks": {
        "session/checks/focus/focus_verdict.py": (f"{FOCUS_CHECKS}/test_focus_verdict.py",),
        "session/checks/focus/tilt.py": (f"{FOCUS_CHECKS}/test_tilt.py",),
        "session/checks/light/brightness.py": (f"{LIGHT_CHECKS}/test_brightness.py",),
        "session/checks/light/evenness.py": (f"{LIGHT_CHECKS}/test_evenness.py",),
        "session/checks/light/flash_fired.py": (f"{LIGHT_CHECKS}/test_flash_fired.py",),
        "session/checks/light/new_piece.py": (f"{LIGHT_CHECKS}/test_new_piece.py",),
    },
    "releasing": {
        "session/shoot/releasing.py": (
            f"{SHOOT}/test_releasing.py",
            f"{SHOOT}/test_late_files.py",
            f"{SHOOT}/test_shoot_log.py",
            f"{SHOOT}/test_recovery.py",
        )
    },
    "frames": {
        "storage/writing/frames.py": (
            f"{WRITING}/test_frames.py",
            f"{WRITING}/test_log_contract.py",
            f"{WRITING}/test_recovery.py",
            f"{WRITING}/test_settling.py",
        )
    },
    "undo": {"storage/writing/undo.py": (f"{WRITING}/test_undo.py", f"{WRITING}/test_log_contract.py")},
}
"""Group → each module or folder that is changed, and its direct tests, which are to notice."""

COPIED = ("session", "storage", "tui", "mock_camera", "tests", "stillset.py", "pyproject.toml", "docs", "README.md")

TIMEOUT_S = 120.0
"""A change that makes a loop endless is noticed by this."""

IDLE_OPERATORS = (
    "core/RemoveDecorator",
    "core/ReplaceBinaryOperator_BitOr",
    "core/ReplaceComparisonOperator_Is_Eq",
    "core/ReplaceComparisonOperator_IsNot_NotEq",
)
"""What can't be noticed, or only by the type checker: decorators of dataclasses, unions in annotations, and `==` for
`is` with words of an enumeration and None, of which there is one each."""

UNSEEN = ("@dataclass(frozen=False)", "@dataclass(frozen=False, eq=False)")
"""Values that nothing changes: the type checker holds them to it."""

BY_NAME = {"*,": "/,"}
"""Arguments that are given by name alone or by place alone: callers in the program give them by name, as types ask."""

EQUIVALENT: dict[str, str] = {
    "return next((f for f in self._flights.values() if f.state <= FrameState.HELD_OFF), None)": (
        "no frame under way has a state whose word sorts before `held off`"
    ),
    "if flight.state <= FrameState.HELD_OFF:": "likewise",
    "fired = flight.state <= FrameState.RECEIVING": (
        "only frames that are releasing or coming in get here, and `releasing` sorts behind `receiving`"
    ),
    "if flight.state >= FrameState.RELEASING and message.fired is Fired.YES:": (
        "a frame that is whole was dealt with above, and no other state of a frame under way sorts behind"
    ),
    "if flight.state is FrameState.RELEASING and message.fired <= Fired.NO:": "no word sorts before `no`",
    "if flight.state is FrameState.RELEASING and message.fired >= Fired.YES:": "no word sorts behind `yes`",
    "if flight.state <= FrameState.RECEIVING and len(flight.files) < flight.expected_files:": (
        "a frame that is held has no files, and was told of as missing above"
    ),
    "if rule is not None or until_s > now_s:": "a rule asks for no wait that is over",
    "if rule is not None and until_s >= now_s:": "a rule asks for no wait that is over",
    "if rule is not None and until_s != now_s:": "a rule asks for no wait that is over",
    "if rule is not None and until_s is not now_s:": "a rule asks for no wait that is over",
    "low, above, below = 0.0, transfer(0.0) + 0.5, transfer(high) - 0.5": (
        "the first step of a search that ends at the same place"
    ),
    "high = 0.41 if defocus_waves < 0.2 else min(0.41, 1.2 * DISC_MTF50 / (8 + defocus_waves))": (
        "a wider bracket of the one place where the transfer passes a half"
    ),
    "if abs(value) < 1e-13 or high - low < 1e-13 / high:": "the first condition ends the search",
    "if number <= now:": "at the stop in use, and at all smaller ones, diffraction leaves nothing sharp either",
    "if number != now:": "likewise",
    "if number is not now:": "likewise",
    "if covers.steps.frames <= 1 and not covers.by_plate:": "a series has a frame or more",
    "if here and there and there.steps.frames != here.steps.frames:": "a wider opening never takes fewer frames",
    "fitting = [number for number in offered if number < at_most]": "no marked stop is the limit to the last digit",
    "if covers.steps.frames != 1:": "a series has a frame or more",
    'series = "" if frames <= 1 else f": {frames} frames, {mm_text(covers.steps.step_mm)} apart"': "likewise",
    "moving = arrangement.reversed or arrangement.extension_mm != 0": "no tube is shorter than nothing",
    "if lens is None or circle_mm is None and body is None:": "a circle is known just where a body is",
    "sums = (sum(some) for count in range(1, len(lengths) + 2) for some in combinations(lengths, count))": (
        "nothing is chosen of fewer than are asked for"
    ),
    "if not 0 < change_ev < most_ev + 1e-9:": "no reading lies a billionth of a stop beside the limit",
    "if act.kind >= event_rows.REVISION:": "no kind of act sorts behind `revision`",
    "if flight.state is not FrameState.SAVED or flight.judging >= Judging.WITH_THE_JUDGE:": (
        "no word of how far the checks are sorts behind `with the judge`"
    ),
    "one_of_each = len({PurePath(name).suffix for name in names}) >= len(names)": (
        "there are never more endings than names"
    ),
    "one_of_each = len({PurePath(name).suffix for name in names}) is len(names)": (
        "small whole numbers are one object each in CPython"
    ),
    "one_of_each = one_of_each and len({file.card.folder for file in flight.files}) <= 1": (
        "a frame without files was told of as missing above"
    ),
    "if not flight.expected_files or one_of_each or len(names) is max(flight.expected_files, state.let_pass):": (
        "small whole numbers are one object each in CPython, and fewer files than that are one of each"
    ),
    "def against_reference(now: Exposure, frame: Material, reference: Material, "
    "lights: int = 0) -> tuple[Finding, ...]:": "a set of no light and of one are told alike",
    "if flash_used and now.whole_ev is not None and now.whole_ev < -NO_FLASH_EV:": (
        "no median of a picture is the limit to the last digit"
    ),
    "relit = exposure.region_scatter_ev is not None and exposure.region_scatter_ev >= RELIT_EV": "likewise",
    'return {name: light for name, light in lights.items() if light.kind <= "flash"}': (
        "no other kind of light sorts before `flash`"
    ),
    'return {name: light for name, light in lights.items() if light.kind is "flash"}': (
        "a kind that was validated is the constant itself"
    ),
    'flashes = (light for light in kit.light if light.kind is "flash" and light.guide_number_m is not None)': (
        "likewise"
    ),
    'if not any(one.short_ev for one in best.criteria if one.name >= "room"):': (
        "no other name of a criterion sorts behind `room`"
    ),
    "return _focus_build(build, low) if (build.ratio(low) or 0.0) > LEAST_RATIO else None": (
        "no ratio that was found by halving is the limit to the last digit"
    ),
    "while reached != len(by_total) and ranks[by_total[reached]][0] <= most_ev:": "it grows by one and stops there",
    "least_s = support.hold_off_s or -1.0": "no wait is less than nothing",
    "max(known) if known and len(known) is len(durations) else revision.settings.exposure_s,": (
        "small whole numbers are one object each in CPython"
    ),
    'passive = tuple(item for item in base.passive if item.kind is not "plate")': (
        "words of the program are one object each in CPython"
    ),
    "settled, cost = cost - noise.cost <= SETTLED, noise.cost": "no step is the limit to the last digit",
    "if self.depth_needed_mm is not None and self.depth_needed_mm > self.relief_mm != 0:": "no relief is below nothing",
    "enough = [way for way in ways if way[0] >= needed_mm and way[1] > across_mm]": (
        "a plate that is just as large is the best way round all the same"
    ),
    "if better[0] < worse[0] - TOLERANCE_EV or (better[1:] >= worse[1:] and better[0] != worse[0]):": (
        "what precedes without a better later point fails by less"
    ),
    "damped *= 11": "the same search by other steps",
    "ANOTHER_PIECE = Shift(1.0, 0.0, 0.0)": "a shift that wasn't found isn't used",
    "ANOTHER_PIECE = Shift(0.0, 1.0, 0.0)": "likewise",
    "ANOTHER_PIECE = Shift(-1.0, 0.0, 0.0)": "likewise",
    "ANOTHER_PIECE = Shift(0.0, -1.0, 0.0)": "likewise",
    '(abs(even.across_ev), "right" if even.across_ev <= 0 else "left"),': "light that falls off to no side isn't told",
    '(abs(even.down_ev), "bottom" if even.down_ev <= 0 else "top"),': "likewise",
    'word = "darker" if now.whole_ev <= 0 else "brighter"': "told only of a frame a stop off",
    "enough = [way for way in ways if way[0] > needed_mm and way[1] >= across_mm]": (
        "a plate that is just as large is the best way round all the same"
    ),
    "if shown.dark_radius_mm is not None or shown.lit_from_radius_mm is not None:": "both are known, or none",
    "return self.rank[0] < TOLERANCE_EV": "no sum of what fails is the limit to the last digit",
    'word = "darker" if now.whole_ev < -1 else "brighter"': "likewise",
    "if now.whole_ev is not None and abs(now.whole_ev) >= NEW_PIECE_EV:": (
        "no median of a picture is the limit to the last digit"
    ),
    'word = "darker" if ev <= 0 else "brighter"': "told only of a frame that is off by more than the limit",
    "trust = weight * np.where(off <= reach, (1 - (off / reach) ** 2) ** 2, 0.0)": "the weight ends there at nothing",
    "if abs(growth) <= SIDE_SD * sd or apart > SIDE_SD * math.hypot(sd, rise[1]):": (
        "no growth that was fitted is the limit to the last digit"
    ),
    "if abs(growth) < SIDE_SD * sd or apart >= SIDE_SD * math.hypot(sd, rise[1]):": "likewise",
    "frame = both.frame.light[max(0, down) : height + min(0, down), max(0, right) : width + min( 1, right)]": (
        "a cut that goes beyond the edge ends at the edge"
    ),
    "BISECTIONS = 29": "no distance is told to a billionth",
    "across = SIDES[round(tilt.line_deg / 45) - 8], SIDES[(round(tilt.line_deg / 45) + 4) % 8]": (
        "counted from the end of eight sides, the same side"
    ),
    "places = (tiles.centres[counted] - (width // 2, height / 2)) * to_mm": (
        "half a pixel of an odd width moves the middle, which is left free in the fit"
    ),
    "waited_s = situation.now_s - situation.asked_s if situation.asked_s is not None else 1.0": (
        "a wait that nobody asked for is only compared with the longest one, which is longer than a second"
    ),
}
"""A changed line → why nobody can notice the change."""


@dataclass(frozen=True)
class Mutant:
    """One change of the source.

    place     `session/rules/lens_rules.py:42`
    survived  no test noticed it
    """

    place: str
    operator: str
    survived: bool
    diff: str


def mutants_of(target: str, sample: int, seed: int) -> Iterator[Mutant]:
    """Every change of a target, or as many as the sample holds, tried one after another."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for name in COPIED:
            source = ROOT / name
            if source.is_dir():
                shutil.copytree(source, copy / name, ignore=shutil.ignore_patterns("__pycache__", ".hypothesis"))
            elif source.exists():
                shutil.copy(source, copy / name)
        for number, (module, tests) in enumerate(TARGETS[target].items()):
            yield from _tried(copy, module, tests, sample, seed, f"session-{number}.sqlite")


def _tried(copy: Path, module: str, tests: Sequence[str], sample: int, seed: int, session: str) -> Iterator[Mutant]:
    command = f"{sys.executable} -m pytest -x -q -p no:cacheprovider {' '.join(tests)}"
    (copy / "mutants.toml").write_text(
        f'[cosmic-ray]\nmodule-path = "{module}"\ntimeout = {TIMEOUT_S}\nexcluded-modules = []\n'
        f'test-command = "{command}"\n[cosmic-ray.distributor]\nname = "local"\n'
    )
    _cosmic_ray(copy, "init", "mutants.toml", session)
    _keep_sample(copy / session, sample, seed)
    _cosmic_ray(copy, "exec", "mutants.toml", session)
    for line in _cosmic_ray(copy, "dump", session).splitlines():
        item, result = json.loads(line)
        if result is None:
            continue
        (mutation,) = item["mutations"]
        place = f"{mutation['module_path']}:{mutation['start_pos'][0]}"
        yield Mutant(place, mutation["operator_name"], result["test_outcome"] == "survived", result["diff"] or "")


def _keep_sample(session: Path, sample: int, seed: int) -> None:
    """Strike what can't be noticed and, of the rest, all but a sample; 0 keeps all."""
    with closing(sqlite3.connect(session)) as connection, connection:
        order = "module_path, operator_name, occurrence"
        query = f"SELECT job_id, operator_name FROM mutation_specs ORDER BY {order}"
        rows = connection.execute(query).fetchall()
        able = [job for job, name in rows if not name.startswith(IDLE_OPERATORS)]
        random.Random(seed).shuffle(able)
        kept = set(able[:sample] if sample else able)
        struck = [(job,) for job, _ in rows if job not in kept]
        connection.executemany("DELETE FROM mutation_specs WHERE job_id = ?", struck)
        connection.executemany("DELETE FROM work_items WHERE job_id = ?", struck)


def changes_nothing(diff: str) -> bool:
    """Whether nobody can notice the change of this diff."""
    lines = [line for line in diff.splitlines() if line[:1] in "+-" and line[:3] not in ("+++", "---")]
    known = {_without_blanks(line) for line in (*EQUIVALENT, *UNSEEN)}
    if any(_without_blanks(line[1:]) in known for line in lines):
        return True
    before, after = ([line[1:] for line in lines if line[0] == sign] for sign in "-+")
    return any([line.replace(*pair) for line in before] == after != before for pair in BY_NAME.items())


def _without_blanks(line: str) -> str:
    """A line of a change as it is compared: a changed number stands with a blank before it, or without."""
    return "".join(line.split())


def _cosmic_ray(folder: Path, *words: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "cosmic_ray.cli", *words], cwd=folder, capture_output=True, text=True, check=True
    )
    return done.stdout


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("target", choices=[*TARGETS])
    parser.add_argument("--sample", type=int, default=0, help="of each module; all by default")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    tried = [one for one in mutants_of(asked.target, asked.sample, asked.seed) if not changes_nothing(one.diff)]
    survivors = [one for one in tried if one.survived]
    for one in survivors:
        changes = [line for line in one.diff.splitlines() if line[:1] in "+-" and line[:3] not in ("+++", "---")]
        print(f"{one.place} {one.operator}", *(f"    {line}" for line in changes), sep="\n")
    if tried:
        share = 100 * (1 - len(survivors) / len(tried))
        print(f"{len(tried) - len(survivors)} of {len(tried)} changes of {asked.target} were noticed, {share:.0f} %")


if __name__ == "__main__":
    main()
