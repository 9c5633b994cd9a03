"""Checks of light: exposure, evenness, flash, ambient, colour, a missing light."""
