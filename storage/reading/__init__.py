"""Reading from the log: records, search, figures, lines."""
