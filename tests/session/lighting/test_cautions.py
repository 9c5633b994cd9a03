"""The cautions of the trade: each hazard has one sentence, and who decides stands last, always."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.lighting.cautions import CAUTIONS, LAST_WORD, cautions_for
from session.units.refusals import UnreadableTextError

quick = settings(max_examples=30)
hazards = st.lists(st.sampled_from(sorted(CAUTIONS)), max_size=8)


@quick
@given(hazards)
def test_every_hazard_named_is_told_once_in_the_tables_order_and_the_last_word_is_the_makers(named: list[str]) -> None:
    told = cautions_for(*named)
    assert told[-1] == LAST_WORD and told.count(LAST_WORD) == 1
    assert list(told[:-1]) == [text for hazard, text in CAUTIONS.items() if hazard in named]


def test_the_last_word_defers_to_manual_code_and_licensed_practice() -> None:
    assert all(word in LAST_WORD for word in ("manual", "electrical code", "licensed practice"))


@pytest.mark.parametrize(
    ("hazard", "words"),
    [
        ("capacitor", ("stay charged", "never open")),
        ("trigger voltage", ("sync contact", "measure")),
        ("heat", ("burn", "never unattended")),
        ("mains", ("Earthed", "no water")),
        ("stands", ("weight stands", "Tape cables")),
        ("glass", ("edges", "gloves")),
        ("eyes", ("face",)),
        ("photosensitivity", ("three flashes a second",)),
    ],
)
def test_the_usual_hazards_are_named_with_what_to_do(hazard: str, words: tuple[str, ...]) -> None:
    """Common practice, no source; three flashes a second is WCAG 2.3.1."""
    (text, _) = cautions_for(hazard)
    assert all(word in text for word in words)


def test_every_caution_is_one_line_that_ends_as_a_sentence() -> None:
    for text in CAUTIONS.values():
        assert text.endswith(".") and "\n" not in text and 20 < len(text) < 160


@pytest.mark.parametrize("hazard", ["", "Mains", "laser", "eyes "])
def test_an_unknown_hazard_is_refused_and_the_known_ones_are_named(hazard: str) -> None:
    with pytest.raises(UnreadableTextError) as refused:
        cautions_for("mains", hazard)
    assert str(refused.value).startswith(f"{hazard!r} is no known hazard: one of capacitor, ")


def test_the_table_cant_be_changed_by_whoever_reads_it() -> None:
    with pytest.raises(TypeError):
        CAUTIONS["mains"] = "it is fine"  # type: ignore[index]
