"""The table before the camera: the kit and its things, a set-up and its revisions, lens and lights in use."""
