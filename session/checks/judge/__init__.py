"""The judge: runs all checks on a frame, in a process of its own."""
