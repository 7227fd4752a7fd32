"""Counting what is asked of the database."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import event

from coop.store.desk import Store


@contextmanager
def counted(store: Store) -> Iterator[list[str]]:
    """Collect every statement that reading pages send."""
    asked: list[str] = []

    def note(connection: Any, cursor: Any, statement: str, *rest: Any) -> None:
        asked.append(statement)

    event.listen(store.engines.reader, "before_cursor_execute", note)
    try:
        yield asked
    finally:
        event.remove(store.engines.reader, "before_cursor_execute", note)
