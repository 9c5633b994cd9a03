"""The demo: an invented job on a simulated camera."""
