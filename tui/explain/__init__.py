"""The screen that explains a frame's verdict."""
