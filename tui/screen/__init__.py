"""Widgets, and what all screens share."""
