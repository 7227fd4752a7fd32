"""Runs the migrations with the writer's own engine, so that a failed one leaves nothing."""

import os

from alembic import context

from coop.store.engines import writer_engine
from coop.store.tables import metadata


def run() -> None:
    url = context.config.attributes.get("url") or os.environ["COOP_DATABASE"]
    engine = writer_engine(url)
    try:
        with engine.connect() as connection:
            context.configure(
                connection=connection,
                target_metadata=metadata,
                transaction_per_migration=True,
                render_as_batch=True,
            )
            with context.begin_transaction():
                context.run_migrations()
    finally:
        engine.dispose()


run()
