"""The check for a band that the shutter left dark."""
