"""Measures of how the source reads, counted from its syntax trees: `python -m tests.support.measures`.

Each measure has its definition here, and prints the places that miss it with `--missing`.

*Docstrings with units*: share of the public functions and methods that take or give a quantity, whose docstring
names every unit involved. A function is public when no part of its path, class or name begins with an underscore
and no other function holds it; commands of click are left out, because the help of their options is their text.
A quantity is a number whose name ends with a unit (`distance_mm`, a parameter or the function itself for its
result), or a float or an array without. The docstring must name the unit of each named quantity, in words, as a
sign or by a full name (`mm`, `millimetres`, `distance_mm`); for floats without a unit in their name some unit or
scale (`stops`, `ratio`, `from 0 to 1`, `unit`); for arrays a shape, `(height, width)` or by the word.

*Error texts with value*: share of the texts that stand in a `raise`, as its first argument, which hold a value
(an f-string with a field, or a formatted text), or get one handed beside the text to put there. A raise that passes
a text on is not counted, nor is a single word.

*Sentences with nouns*: share of the docstrings' sentences (parts between full stops, colons and semicolons, of five
words or more, tables of arguments left out) in which fewer than a quarter of the words stand for something else (`it`,
`what`, `one`, `none`). A sentence that names its things needs no second reading.

*Bare ValueErrors*: how many `raise ValueError`. *Participles*: functions, private ones too, whose whole name is one
participle (`_taken`); properties are left out, for they read as adjectives. *Median module*: lines of the modules,
without `__init__`. *Tests by name*: share of the modules for which `test_<module>.py` stands in the same folder of
`tests`, or among the references; migrations and `__main__` are left out, and so are those in
`TESTED_ELSEWHERE`. *Test code*: lines of tests for each line of the product, blank lines left out on both sides.
"""

from __future__ import annotations

import argparse
import ast
import re
import statistics
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parents[2]
PACKAGES = ("session", "storage", "tui", "mock_camera")

STANDING_IN = re.compile(
    r"it|its|that|this|these|those|what|which|who|whom|whose|one|ones|such|they|them|their|there|here|so|other|others|"
    r"both|each|any|some|none"
)
RIDDLE_SHARE, FEWEST_WORDS = 0.25, 5

Function = ast.FunctionDef | ast.AsyncFunctionDef

SHAPES = "shapes only, without a line that could fail: the type checker holds both sides to them"
VALUES = "values without conduct of their own: whoever makes and reads them is tested with them"
NUMBERS = "numbers only: what they limit is tried where it is limited"
TESTED_ELSEWHERE = {
    "mock_camera/body/picture_source.py": SHAPES,
    "session/checks/judge/examined.py": VALUES,
    "session/frame/step_said.py": VALUES,
    "session/shoot/events.py": VALUES,
    "storage/schema/station_models.py": VALUES,
    "tui/follow/page/page_limits.py": NUMBERS,
    "tui/screen/app_port.py": SHAPES,
    "tui/screen/layout.py": NUMBERS,
    "tui/screen/shoot_port.py": SHAPES,
    "tui/words/headline.py": VALUES,
}
"""Modules without a test of their name, and why: borders that say nothing but a form, and values without conduct."""

# How a docstring may name the unit that a name ends with; `_mm` at the end of a longer name counts too.
UNITS = {
    "mm": r"mm|millimetres?",
    "um": r"µm|um|micrometres?",
    "nm": r"nm|nanometres?",
    "m": r"m|metres?",
    "s": r"s|(?i:seconds?)",
    "ms": r"ms|milliseconds?",
    "min": r"min|minutes?",
    "ev": r"ev|EV|(?i:stops?)",
    "px": r"px|(?i:pixels?)",
    "deg": r"°|deg|degrees?",
    "rad": r"rad|radians?",
    "hz": r"Hz|hz|hertz",
    "k": r"K|k|kelvins?",
    "v": r"V|v|volts?",
    "uf": r"µF|uf|microfarads?",
    "lux": r"lx|lux",
    "percent": r"%|percent|per cent",
    "bytes": r"[kMG]?B|(?i:bytes?)",
    "grains": r"grains?",
}
SCALES = (
    r"(?i:units?|ratios?|shares?|factors?|times|magnifications?|f-numbers?|f/\d|ISO|1:\d|from \S+ to \S+"
    r"|between \S+ and|dioptres?|waves|codes?|luma|levels?|mired|counts?|f_number|iso|normed)"
)
SHAPE = re.compile(r"\([\w.+*/ -]+,(?: ?[\w.+*/ -]+)*(?:, ?[\w.+*/ -]+)*\)|\bshaped?\b|\w ?× ?\w")

# Words that end as a participle does, but are none.
NO_PARTICIPLES = {"need", "feed", "speed", "seed", "bed", "red", "shed", "embed", "proceed", "exceed", "led"}
IRREGULAR = re.compile(
    r"taken|told|said|seen|kept|held|sent|made|found|left|built|given|drawn|written|known|gone|done|lost|"
    r"begun|shown|sold|thrown|worn|borne|chosen|frozen|spoken|driven|risen|hidden|fed|met|won|spun|hung|"
    r"stuck|struck|bound|wound|laid|paid|heard|meant|felt|dealt|bent|lent|spent|thought|brought|caught|"
    r"taught|bought|sought|stood|understood|overrun|undone|forgotten|gotten|grown|blown|flown|broken|woken|"
    r"shaken|eaten|fallen|beaten|bitten|swung|rung|sung|sunk|lit|slid"
)


@dataclass
class Share:
    """How many of a kind were counted, and where the measure is missed."""

    counted: int = 0
    missing: list[str] = field(default_factory=list)

    @property
    def percent(self) -> float:
        return 100 * (1 - len(self.missing) / self.counted) if self.counted else 100.0

    def count(self, kept: bool, place: str) -> None:
        self.counted += 1
        if not kept:
            self.missing.append(place)


def modules() -> Iterator[tuple[Path, ast.Module]]:
    """Every module of the product, with its path from the root and its tree."""
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*.py")):
            yield path.relative_to(ROOT), ast.parse(path.read_text(encoding="utf-8"))


def functions(body: list[ast.stmt]) -> Iterator[tuple[Function, str]]:
    """The functions and methods of a module with their names, `Class.method`; those inside functions are left out."""
    for node in body:
        if isinstance(node, Function):
            yield node, node.name
        elif isinstance(node, ast.ClassDef):
            for inner, name in functions(node.body):
                yield inner, f"{node.name}.{name}"


def docstrings_with_units() -> Share:
    share = Share()
    aliases = {package: array_aliases(package) for package in PACKAGES}
    for path, tree in modules():
        hidden = any(part.startswith("_") for part in path.with_suffix("").parts if not part.startswith("__"))
        for function, name in functions(tree.body):
            if hidden or any(part.startswith("_") for part in name.split(".")) or is_command(function):
                continue
            wanted = patterns_wanted(function, aliases[path.parts[0]])
            if wanted:
                text = ast.get_docstring(function) or inherited_docstring(tree, name)
                lacking = [what for what, pattern in wanted.items() if not pattern.search(text)]
                share.count(not lacking, f"{path}:{function.lineno}: {name} lacks {', '.join(lacking)}")
    return share


def inherited_docstring(tree: ast.Module, name: str) -> str:
    """The docstring of the same method in a base class of its module, which Python's help shows too; "" without one."""
    classes = {node.name: node for node in tree.body if isinstance(node, ast.ClassDef)}
    holder, _, method = name.rpartition(".")
    for base in classes[holder].bases if holder in classes else ():
        for node in classes[ast.unparse(base)].body if ast.unparse(base) in classes else ():
            if isinstance(node, Function) and node.name == method:
                return ast.get_docstring(node) or ""
    return ""


def patterns_wanted(function: Function, aliases: set[str]) -> dict[str, re.Pattern[str]]:
    """What a function's docstring must name, by unit, `scale` or `shape`, with the pattern that finds it."""
    every = (*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs)
    named = [(each.arg, each.annotation) for each in every] + [(function.name, function.returns)]
    wanted: dict[str, re.Pattern[str]] = {}
    for name, annotation in named:
        words = set(re.findall(r"\w+", ast.unparse(annotation))) if annotation else set()
        is_array = bool(words & {"NDArray", "ndarray", *aliases})
        if not is_array and not words & {"float", "int"}:
            continue
        unit = name.rpartition("_")[2] if "_" in name else ""
        if is_array:
            wanted["shape"] = SHAPE
        if unit in UNITS:
            wanted[unit] = word_pattern(UNITS[unit])
        elif "float" in words:
            wanted["scale"] = word_pattern("|".join((*UNITS.values(), SCALES)))
    return wanted


def word_pattern(words: str) -> re.Pattern[str]:
    """Finds one of the words by itself or at the end of a longer name, and no possessive s."""
    return re.compile(rf"(?<![^\W_\d])(?<!['’])(?:{words})(?!\w)")


def array_aliases(package: str) -> set[str]:
    """Names that a package gives to array types, such as `Floats = NDArray[np.float64]`."""
    found = set()
    for path, tree in modules():
        for node in tree.body if path.parts[0] == package else ():
            value = node.value if isinstance(node, ast.Assign | ast.AnnAssign) else None
            if isinstance(node, ast.Assign | ast.AnnAssign) and value and ast.unparse(value).startswith("NDArray["):
                targets = node.targets if isinstance(node, ast.Assign) else [node.target]
                found |= {each.id for each in targets if isinstance(each, ast.Name) and each.id[0].isupper()}
    return found


def is_command(function: Function) -> bool:
    return any(re.search(r"\bcommand\(|click\.", ast.unparse(each)) for each in function.decorator_list)


def error_texts_with_value() -> Share:
    share = Share()
    for path, tree in modules():
        for node in ast.walk(tree):
            if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call) and node.exc.args:
                carries = carries_value(node.exc.args[0])
                if carries is False:
                    carries = any(not isinstance(beside, ast.Constant) for beside in node.exc.args[1:])
                if carries is not None:
                    share.count(carries, f"{path}:{node.lineno}: {ast.unparse(node.exc)[:120]}")
    return share


def carries_value(text: ast.expr) -> bool | None:
    """Whether a text holds a value; None where no text stands."""
    if isinstance(text, ast.JoinedStr):
        return any(isinstance(part, ast.FormattedValue) for part in text.values)
    if isinstance(text, ast.Constant):
        return False if isinstance(text.value, str) and " " in text.value else None
    if isinstance(text, ast.IfExp):
        either = carries_value(text.body), carries_value(text.orelse)
        return None if None in either else all(either)
    if isinstance(text, ast.BinOp):
        either = carries_value(text.left), carries_value(text.right)
        return None if either == (None, None) else True if None in either else any(either)
    return None


def sentences_with_nouns() -> Share:
    share = Share()
    for path, tree in modules():
        for node in ast.walk(tree):
            if isinstance(node, ast.Module | ast.ClassDef | Function):
                for sentence in sentences(ast.get_docstring(node) or ""):
                    share.count(not is_riddle(sentence), f"{path}:{getattr(node, 'lineno', 1)}: {sentence}")
    return share


def sentences(docstring: str) -> list[str]:
    """The sentences of a docstring that are long enough to be judged, without its table of arguments."""
    prose = " ".join(line for line in docstring.splitlines() if "  " not in line.strip())
    return [part for part in re.split(r"(?<=[.;:])\s+", prose) if len(words_of(part)) >= FEWEST_WORDS]


def is_riddle(sentence: str) -> bool:
    words = words_of(sentence)
    return sum(STANDING_IN.fullmatch(word) is not None for word in words) >= RIDDLE_SHARE * len(words)


def words_of(sentence: str) -> list[str]:
    return re.findall(r"[a-z']+", sentence.lower())


def bare_value_errors() -> list[str]:
    return [
        f"{path}:{node.lineno}"
        for path, tree in modules()
        for node in ast.walk(tree)
        if isinstance(node, ast.Raise) and node.exc and ast.unparse(node.exc).split("(")[0] == "ValueError"
    ]


def participles() -> list[str]:
    return [
        f"{path}:{node.lineno}: {node.name}"
        for path, tree in modules()
        for node in ast.walk(tree)
        if isinstance(node, Function)
        and is_participle(node.name.strip("_"))
        and not any("property" in ast.unparse(each) for each in node.decorator_list)
    ]


def is_participle(word: str) -> bool:
    return IRREGULAR.fullmatch(word) is not None or (
        word.endswith("ed") and "_" not in word and word not in NO_PARTICIPLES
    )


def median_module_lines() -> float:
    return statistics.median(
        len((ROOT / path).read_text(encoding="utf-8").splitlines())
        for path, _tree in modules()
        if path.name != "__init__.py"
    )


def modules_with_test() -> Share:
    share = Share()
    for path, _tree in modules():
        own = not path.name.startswith("__") and "migrations" not in path.parts
        if own and path.as_posix() not in TESTED_ELSEWHERE:
            name = f"test_{path.name}"
            places = (ROOT / "tests" / path.parent / name, ROOT / "tests" / "references" / name)
            share.count(any(place.exists() for place in places), f"{path} has no {name}")
    return share


def test_code_per_code() -> float:
    return _lines_with_text("tests") / sum(_lines_with_text(package) for package in PACKAGES)


def _lines_with_text(folder: str) -> int:
    return sum(
        bool(line.strip())
        for path in (ROOT / folder).rglob("*.py")
        for line in path.read_text(encoding="utf-8").splitlines()
    )


def main() -> None:
    arguments = argparse.ArgumentParser(description="Print the measures of how the source reads.")
    arguments.add_argument("--missing", action="store_true", help="print each place that misses a measure")
    missing = arguments.parse_args().missing
    units, texts, bare, named = docstrings_with_units(), error_texts_with_value(), bare_value_errors(), participles()
    told, by_name = sentences_with_nouns(), modules_with_test()
    for title, share in (
        ("docstrings with units", units),
        ("error texts with value", texts),
        ("sentences with nouns", told),
        ("tests by name", by_name),
    ):
        print(f"{title:24} {share.percent:5.1f} % of {share.counted}")
    print(f"{'bare ValueErrors':24} {len(bare)}")
    print(f"{'participles as functions':24} {len(named)}")
    print(f"{'median module':24} {median_module_lines():g} lines")
    print(f"{'test code per code':24} {test_code_per_code():.2f}")
    if missing:
        print(*units.missing, *texts.missing, *told.missing, *by_name.missing, *bare, *named, sep="\n")


if __name__ == "__main__":
    main()
