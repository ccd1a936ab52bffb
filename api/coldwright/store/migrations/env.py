"""Run by alembic inside a transaction that `coldwright.store.migrate` has opened."""

from alembic import context

from coldwright.store.schema import metadata

context.configure(connection=context.config.attributes["connection"], target_metadata=metadata, transactional_ddl=False)
context.run_migrations()
