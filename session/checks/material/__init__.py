"""The material of every check: the picture with its reference, the limits, the settings."""
