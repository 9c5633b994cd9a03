"""What holds for every test: hypothesis doesn't judge how fast the machine is, and NumPy keeps to one core as it does
in the program."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

from session.system.process import ONE_THREAD

os.environ |= ONE_THREAD  # before a test imports NumPy, which reads it then

settings.register_profile("stillset", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("stillset")
