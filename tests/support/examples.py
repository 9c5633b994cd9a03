"""How many examples a property is tried with: few in every run, many when somebody asks for them.

`STILLSET_EXAMPLES=10 pytest …` tries ten times as many.
"""

from __future__ import annotations

import os

TIMES = int(os.environ.get("STILLSET_EXAMPLES", "1"))


def examples(quick: int) -> int:
    """`quick` of them, or as many times more as was asked for."""
    return quick * TIMES
