"""How a piece reflects: everywhere alike, in a wide lobe, or as a mirror; and how much a grey card does."""

from __future__ import annotations

from typing import Literal, get_args

Surface = Literal["matt", "satin", "mirror"]

MID_GREY = 0.18
"""Reflectance of a grey card, of white's, and the linear light of one that is rightly exposed: sRGB code 118, by which
ISO 12232 defines a camera's standard output sensitivity (values from memory)."""

SURFACES: tuple[Surface, ...] = get_args(Surface)
