"""Tables and columns of the log."""
