"""`stillset keys`: every key of every screen, under its screen, in the table's own words."""

from __future__ import annotations

from tests.support.in_process import stillset
from tui.words.keys import KEYS


def test_each_key_stands_under_its_screen_with_what_it_does() -> None:
    found: dict[str, list[str]] = {}
    for line in stillset("keys").splitlines():
        if line and not line.startswith(" "):
            found[line] = rows = []
        elif line:
            rows.append(line.strip())
    assert sum(len(rows) for rows in found.values()) == len(KEYS)
    for key in KEYS:
        assert any(row.startswith(key.cap) and row.endswith(key.says) for row in found[key.where.value]), key
