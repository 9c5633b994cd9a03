"""The table as physics: lights, shutter curtains, shading, hands, and the picture that comes of it."""
