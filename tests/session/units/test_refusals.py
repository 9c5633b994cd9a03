"""Refusals: each is a ValueError that a caller can tell from the others, and shows what it is about."""

from __future__ import annotations

import numpy as np
import pytest

from session.units.refusals import ImpossibleNumbersError, UnlikeShapesError, UnreadableTextError


@pytest.mark.parametrize("kind", [ImpossibleNumbersError, UnreadableTextError, UnlikeShapesError])
def test_every_refusal_is_a_value_error_and_none_is_another(kind: type[ValueError]) -> None:
    assert issubclass(kind, ValueError)
    others = {ImpossibleNumbersError, UnreadableTextError, UnlikeShapesError} - {kind}
    assert not any(issubclass(kind, other) for other in others)


def test_shapes_that_differ_are_both_told() -> None:
    one, other = np.zeros((4, 6)), np.zeros((4, 5, 3))
    assert str(UnlikeShapesError(one.shape, other.shape)) == "shapes differ: (4, 6) and (4, 5, 3)"
    assert str(UnlikeShapesError((1,), (2,), (3,))) == "shapes differ: (1,) and (2,) and (3,)"
