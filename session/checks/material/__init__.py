"""What every check looks at: the picture with its reference, the limits, the settings."""
