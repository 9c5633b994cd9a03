"""The schema that is handed over with the tables."""

from __future__ import annotations

from typing import Any

from storage.handover.table_schema import tables_schema

UNITS = ("_s", "_mm", "_px", "_ev", "_deg", "_percent", "_de2000", "_px_sd")
PURE = {"f_number", "magnification", "pupil_magnification", "dioptres", "converter", "scale", "value", "limit"}
"""Ratios, and a finding's numbers, whose unit stands beside them in `unit`."""


def test_every_number_wears_its_unit() -> None:
    def walk(schema: dict[str, Any]) -> None:
        for name, one in schema.get("properties", {}).items():
            kinds = one.get("anyOf", [one])
            if any(kind.get("type") == "number" for kind in kinds):
                assert name.endswith(UNITS) or name in PURE or schema["required"] == REGION, name
            for kind in kinds:
                walk(kind)
                walk(kind.get("items", {}))

    for line in tables_schema()["$defs"].values():
        walk(line)


REGION = ["height", "left", "top", "width"]
"""A region's sides are shares of the picture, as its docstring says."""
