"""A kit whose key light takes ten minutes to charge, so that a release can be caught waiting."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

KEY_CHARGES, NEVER = "recycling_time_s = 2.0\n", "recycling_time_s = 600.0\n"


def slow_kit(folder: Path) -> Path:
    """The demo's kit with that light, as a file in the folder."""
    text = resources.files("session").joinpath("demo_kit.toml").read_text(encoding="utf-8")
    assert text.count(KEY_CHARGES) == 1
    path = folder / "kit.toml"
    path.write_text(text.replace(KEY_CHARGES, NEVER), encoding="utf-8")
    return path
