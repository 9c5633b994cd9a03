"""Texts that try to be more than text: a list, and as many mixtures of its parts as a test asks for."""

from __future__ import annotations

import random

NASTY = [
    "../../../../etc/passwd",
    "/etc/passwd",
    "..\\..\\windows\\system32",
    "C:con",
    "nul.txt",
    "~root/.ssh/authorized_keys",
    "a\0b",
    "\x1b[2J\x1b[999;999H",
    "\x1b]0;owned\x07",
    "\x1b]52;c;cm0gLXJm\x07",
    "\x1bP+q544e\x1b\\",
    "\x9b31m\x90payload\x9c",
    "\x08\x08\x7f\r\n\t\x0b\x0c",
    "[bold red]markup[/] [/mnt/x] [link=file:///]x[/link] [@click=app.quit]x[/]",
    "\N{RIGHT-TO-LEFT OVERRIDE}gnp.exe\N{LEFT-TO-RIGHT ISOLATE}",
    "\N{ZERO WIDTH SPACE}\N{ZERO WIDTH NO-BREAK SPACE}\N{TAG LATIN CAPITAL LETTER A}",
    "\N{LINE SEPARATOR}\N{PARAGRAPH SEPARATOR}\N{NEXT LINE}",
    "e" + "\N{COMBINING ACUTE ACCENT}" * 300,
    "\ud800\udfff\udcff",
    "\\ud800 \\u0000 \\\\ \\",
    '=HYPERLINK("http://invented.invalid")',
    "+1+cmd|' /C calc'!A0",
    "@SUM(1+1)*cmd",
    "-2+3",
    "'; DROP TABLE frame; --",
    '" OR 1=1 --',
    'NEAR("a" "b", 5) AND NOT c* ^ {text}: -col:',
    '"unfinished',
    '* ** "*" ()',
    "$(reboot) `reboot` ; rm -rf * | tee & %s%n %(x)s {0} {braces}",
    "-rf --log=/etc/shadow",
    "<script>alert(1)</script>&amp;<!--",
    "字" * 300,
    "x" * 4096,
    "\N{FULLWIDTH SOLIDUS}\N{FRACTION SLASH}\N{ONE DOT LEADER}\N{ONE DOT LEADER}",
    "\uffff\ufdd0\U0010ffff",
    "NaN Infinity null true",
    " \t ",
    "",
]


def mixtures(count: int, seed: int) -> list[str]:
    """The list itself, then mixtures of two or three cut parts of it, always the same ones."""
    chance = random.Random(seed)
    made = list(NASTY)
    while len(made) < count:
        parts = [text[: chance.randrange(1, 40)] for text in chance.choices(NASTY, k=chance.choice((2, 3)))]
        made.append(chance.choice(["", " ", "/", "\n", "\x1b"]).join(parts))
    return made[:count]
