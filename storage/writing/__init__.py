"""What is written to the log."""
