"""What holds for every test: hypothesis doesn't judge how fast the machine is."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile("stillset", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("stillset")
