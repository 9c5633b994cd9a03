"""The questions of `stillset plan`, one command each; imported only when asked."""
