"""How a piece reflects: everywhere alike, in a wide lobe, or as a mirror."""

from __future__ import annotations

from typing import Literal, get_args

Surface = Literal["matt", "satin", "mirror"]

SURFACES: tuple[Surface, ...] = get_args(Surface)
