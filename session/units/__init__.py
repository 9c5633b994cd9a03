"""Ranges of quantities, and numbers as they are written and read."""
