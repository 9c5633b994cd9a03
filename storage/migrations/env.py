"""The script that Alembic runs for each upgrade, on the connection handed over and in its open transaction."""

from __future__ import annotations

from alembic import context

context.configure(connection=context.config.attributes["connection"])
context.run_migrations()
