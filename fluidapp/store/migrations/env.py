"""Run by Alembic with the connection that `fluidapp.store.engine` hands over; the transaction is the caller's."""

from alembic import context

from fluidapp.store.schema import metadata


def run() -> None:
    """All migrations that are missing, in the caller's transaction."""
    context.configure(connection=context.config.attributes["connection"], target_metadata=metadata, render_as_batch=True)
    with context.begin_transaction():
        context.run_migrations()


if __name__ == "env_py":  # Alembic loads this file under that name; a plain import does nothing
    run()
