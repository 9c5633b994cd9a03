"""The shoot without a screen, for scripts."""
