"""Databases for the store's tests: the same questions to both kinds."""

from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest
from sqlalchemy import delete

from coop.store.engines import Engines, open_engines
from coop.store.migrate import upgrade
from coop.store.tables import SETTINGS

BOTH = ["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)]


@pytest.fixture
def sqlite_url(tmp_path: Path) -> str:
    return f"sqlite:///{tmp_path / 'coop.db'}"


@pytest.fixture(params=BOTH)
def empty_url(request: pytest.FixtureRequest) -> str:
    """Return the address of a database without tables."""
    name = "sqlite_url" if request.param == "sqlite" else "pg_database"
    return str(request.getfixturevalue(name))


@pytest.fixture
def url(empty_url: str) -> str:
    """Return the address of a database of the newest form."""
    upgrade(empty_url)
    return empty_url


@pytest.fixture
def engines(url: str) -> Iterator[Engines]:
    opened = open_engines(url)
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def pg_settings(pg_server: str) -> Iterator[Engines]:
    """Yield one PostgreSQL database for all tests that write settings only."""
    with psycopg.connect(f"{pg_server}/postgres", autocommit=True) as server:
        server.execute("DROP DATABASE IF EXISTS coop_settings WITH (FORCE)")
        server.execute("CREATE DATABASE coop_settings")
        upgrade(f"{pg_server}/coop_settings")
        opened = open_engines(f"{pg_server}/coop_settings")
        yield opened
        opened.close()
        server.execute("DROP DATABASE coop_settings WITH (FORCE)")


@pytest.fixture(params=BOTH)
def settings_engines(request: pytest.FixtureRequest, sqlite_url: str) -> Iterator[Engines]:
    """Yield a database with empty settings; making a new one each time takes too long."""
    if request.param == "postgresql":
        opened: Engines = request.getfixturevalue("pg_settings")
        with opened.writing() as connection:
            for table in SETTINGS:
                connection.execute(delete(table))
        yield opened
        return
    upgrade(sqlite_url)
    opened = open_engines(sqlite_url)
    yield opened
    opened.close()
