"""Writing to the log."""
