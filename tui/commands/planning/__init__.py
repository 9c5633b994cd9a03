"""The questions of `stillset plan`, a command for each, imported only when asked."""
