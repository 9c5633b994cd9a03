"""The full-screen program, and the plain one that screen readers read."""
