"""What may stand in a kit file: every field with its meaning, and help that fits the slip."""

from __future__ import annotations

import pytest
from pydantic import BaseModel

from session.set.kit import Kit
from session.set.kit_fields import WORDS, advice, kit_fields, thing_of
from session.set.things import Body, Light


def test_every_field_of_every_table_has_its_meaning_and_no_meaning_is_left_over() -> None:
    told = kit_fields(Kit)
    assert all(field.words for field in told)
    assert {field.name for field in told} == set(WORDS)
    tables = {field.table for field in told}
    assert tables == {""} | {name for name in Kit.model_fields if thing_of(Kit, name)}


def test_what_is_needed_is_told_as_needed() -> None:
    needed = {(field.table, field.name) for field in kit_fields(Kit) if field.needed}
    assert {("body", "sync_time_s"), ("body", "sensor_width_mm"), ("lens", "focal_length_mm")} <= needed
    assert ("light", "guide_number_m") not in needed and ("", "invented") not in needed
    assert all((table, "name") in needed for table, _ in needed if table)


@pytest.mark.parametrize(
    ("table", "thing"), [("body", Body), ("light", Light), ("invented", None), ("lamp", None), ("", None)]
)
def test_a_table_is_known_by_the_class_of_its_things(table: str, thing: type[BaseModel] | None) -> None:
    assert thing_of(Kit, table) is thing


@pytest.mark.parametrize(
    ("place", "kind", "helps"),
    [
        (("body", 0, "sync_tim_s"), "extra_forbidden", f"did you mean sync_time_s ({WORDS['sync_time_s']})?"),
        (
            ("lens", 2, "focal_lenght_mm"),
            "extra_forbidden",
            f"did you mean focal_length_mm ({WORDS['focal_length_mm']})?",
        ),
        (("bdy",), "extra_forbidden", "did you mean body?"),
        (("body", 0, "favourite_colour"), "extra_forbidden", ""),
        (("body", 0, "sync_time_s"), "missing", WORDS["sync_time_s"]),
        (("light", 0, "kind"), "literal_error", WORDS["kind"]),
        (("lamp", 0, "name"), "missing", ""),
        (("invented",), "bool_parsing", ""),
    ],
    ids=["field", "letters turned", "table", "nothing near", "missing", "a word", "unknown table", "at the top"],
)
def test_help_is_the_nearest_name_or_the_fields_meaning(place: tuple[int | str, ...], kind: str, helps: str) -> None:
    assert advice(Kit, place, kind) == helps
