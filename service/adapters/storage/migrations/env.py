"""Runs migrations on the engine handed over by ``service.adapters.storage.migrate``."""

from alembic import context
from sqlalchemy import Engine

from service.adapters.storage.tables import metadata

engine: Engine = context.config.attributes["engine"]

# The lock taken by BEGIN IMMEDIATE makes two processes that start at once migrate in turn.
with engine.begin() as connection:
    context.configure(
        connection=connection,
        target_metadata=metadata,
        render_as_batch=True,
        transactional_ddl=True,
    )
    context.run_migrations()
