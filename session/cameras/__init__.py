"""Cameras: `remote_camera` is what the controller holds, `camera_process` the process that owns libgphoto2."""
