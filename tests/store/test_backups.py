"""Copies that count as a second place, and databases brought back from them."""

import json
from typing import Any

import pytest
from sqlalchemy import Connection, insert

from coop.ids import NodeId
from coop.store import settings_table, tables
from coop.store.backups import two_places, vector
from coop.store.engines import Engines, open_engines
from coop.store.migrate import upgrade


def sealed(connection: Connection, node: str, count: int) -> None:
    """Write so many seals of a node; only their node and seq are read here."""
    connection.execute(
        insert(tables.seal),
        [
            {
                "digest": f"{node}-{seq}",
                "entry": f"e{seq}",
                "node": node,
                "seq": seq,
                "bytes": b"",
            }
            for seq in range(1, count + 1)
        ],
    )


def test_the_vector_names_every_node_and_the_end_of_its_chain(engines: Engines) -> None:
    with engines.writing() as connection:
        assert vector(connection) == {}
        for node, count in (("b", 3), ("a", 1), ("c", 200)):
            sealed(connection, node, count)

    with engines.reading() as connection:
        assert vector(connection) == {"a": 1, "b": 3, "c": 200}


def steps(connection: Connection) -> int:
    """Count what SQLite's machine does to find the vector, in steps of its own."""
    counted = 0

    def count() -> int:
        nonlocal counted
        counted += 1
        return 0

    machine: Any = connection.connection.dbapi_connection
    machine.set_progress_handler(count, 1)
    vector(connection)
    machine.set_progress_handler(None, 0)
    return counted


def test_the_vector_does_not_read_every_seal(sqlite_url: str) -> None:
    """Every answer to a phone holds it; a chain a hundred times as long costs no more."""
    upgrade(sqlite_url)
    engines = open_engines(sqlite_url)
    with engines.writing() as connection:
        sealed(connection, "a", 100)
        sealed(connection, "b", 1)
        short = steps(connection)
        sealed(connection, "c", 10_000)
        long = steps(connection)
        assert vector(connection) == {"a": 100, "b": 1, "c": 10_000}
    engines.close()

    assert short < 200
    assert long < short * 2


def test_nothing_is_in_two_places_before_a_backup(engines: Engines) -> None:
    with engines.writing() as connection:
        sealed(connection, "a", 3)
        assert two_places(connection) == {}

        mark = {"at": "2025-09-17T18:00:00+02:00", "vector": {"a": 2}, "name": "coop.db"}
        settings_table.write(connection, settings_table.BACKED_UP, json.dumps(mark))
        assert two_places(connection) == {NodeId("a"): 2}
