"""Alembic's door: the migrations run on the connection, and in the transaction, that the store hands over."""

from __future__ import annotations

from alembic import context

from worker.store.models import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    transactional_ddl=True,
    render_as_batch=True,
)
context.run_migrations()
