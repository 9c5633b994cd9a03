"""The screen that compares a region of two frames."""
