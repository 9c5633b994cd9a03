"""Run by Alembic for each upgrade: uses the connection that it is handed, in the transaction that is open."""

from __future__ import annotations

from alembic import context

context.configure(connection=context.config.attributes["connection"])
context.run_migrations()
