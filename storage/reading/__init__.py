"""What is read from the log: records, search, figures, lines."""
