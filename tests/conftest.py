"""What holds for every test: hypothesis doesn't judge how fast the machine is, NumPy keeps to one core as it does
in the program, and a database server is begun once."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

from session.system.process import ONE_THREAD

os.environ |= ONE_THREAD  # before a test imports NumPy, which reads it then

from tests.support.archive_fixtures import server, stations

__all__ = ["server", "stations"]

settings.register_profile("stillset", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("stillset")
