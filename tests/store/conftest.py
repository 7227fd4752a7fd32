"""Databases for the store's tests: the same questions to both kinds."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from coop.store.engines import Engines, open_engines
from coop.store.migrate import upgrade

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
