"""The screen that hands a job over."""
