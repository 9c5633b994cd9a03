"""How near plan and picture must come, and a table of how near they came."""

from __future__ import annotations

RATIO_SHARE = 0.005
DEPTH_SHARE = 0.10
BLUR_SHARE = 0.10
EXPOSURE_EV = 0.1
DARK_SHARE = 0.02  # of the frame's height
WITHOUT_FLASH = 0.02  # of a row's light: below it no flash was there; the mean of a dark row is 0 ± 0.001 of it

_worst: dict[str, tuple[float, float, str]] = {}


def held(quantity: str, error: float, limit: float, words: str) -> None:
    """Notes the error of an arrangement for the table and holds it to the limit."""
    if abs(error) >= abs(_worst.get(quantity, (0.0, limit, ""))[0]):
        _worst[quantity] = error, limit, words
    assert abs(error) <= limit, f"{quantity} of {words} is off by {error:.4f}, {limit} is allowed"


def worst_of_each() -> str:
    """The table so far, a line for each quantity."""
    lines = [f"{'quantity':40} {'worst':>9} {'limit':>7}  in"]
    lines += [f"{name:40} {error:+9.4f} {limit:7.3f}  {words}" for name, (error, limit, words) in _worst.items()]
    return "\n".join(lines)
