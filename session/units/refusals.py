"""Refusals that are about more than one number of the table of quantities: contradictions, texts, shapes.

All are ValueErrors, and their text is a sentence or a clause for the person. A single number that can't be meant is
refused by `session.units.quantities.RefusedNumberError`.
"""

from __future__ import annotations


class ImpossibleNumbersError(ValueError):
    """Numbers that are possible alone, but not together; or no numbers where some are needed."""


class UnreadableTextError(ValueError):
    """A typed text that can't be read as the thing asked for; the sentence shows how the thing is written."""


class UnlikeShapesError(ValueError):
    """Arrays that must have one shape, and have several."""

    def __init__(self, *shapes: object) -> None:
        super().__init__(f"shapes differ: {' and '.join(str(shape) for shape in shapes)}")
