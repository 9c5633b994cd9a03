"""Cameras: the messages (`protocol`), the errors, and the process that owns libgphoto2."""
