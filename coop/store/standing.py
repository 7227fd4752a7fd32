"""How a database stands to this release, asked before anything is opened or changed."""

from collections.abc import Iterator
from contextlib import contextmanager
from enum import StrEnum

from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy.exc import ArgumentError, DBAPIError

from coop.store import migrate, settings_table
from coop.store.engines import UnfitDatabase, open_engines


class Standing(StrEnum):
    """Whether a database can be served by this release."""

    EMPTY = "empty"
    OLDER = "older"
    NEWEST = "newest"
    NEWER = "newer"


def standing(url: str) -> Standing:
    """
    Say how a database stands; makes no file.

    Raises:
        UnfitDatabase: The address cannot be used, or what is there is no database.
    """
    with fit():
        now = migrate.current(url)
        if now is None:
            return Standing.EMPTY
        if now == migrate.newest(url):
            return Standing.NEWEST if _has_new_touches(url) else Standing.OLDER
        return Standing.OLDER if _is_known(url, now) else Standing.NEWER


def _has_new_touches(url: str) -> bool:
    """Say whether an upgrade has come to its end; the schema's step is only its beginning."""
    engines = open_engines(url)
    try:
        with engines.reading() as connection:
            return settings_table.has_new_touches(connection)
    finally:
        engines.close()


def _is_known(url: str, step: str) -> bool:
    """Say whether this release has the step; a later release's it has not."""
    try:
        ScriptDirectory.from_config(migrate.configuration(url)).get_revision(step)
    except CommandError:
        return False
    return True


@contextmanager
def fit() -> Iterator[None]:
    """
    Tell in one line what keeps a database from being used.

    Raises:
        UnfitDatabase: In place of the library's errors; never with the address in it, which
            may hold a password.
    """
    try:
        yield
    except DBAPIError as fault:
        raise UnfitDatabase(f"database: {_first_line(fault.orig)}") from fault
    except ModuleNotFoundError as fault:
        raise UnfitDatabase(f"database: {fault.name} is missing; install it") from fault
    except ArgumentError as fault:
        raise UnfitDatabase(
            "database: that is no address; use sqlite:///file or postgresql://user@host/name"
        ) from fault


def _first_line(fault: object) -> str:
    return str(fault).strip().partition("\n")[0] or type(fault).__name__
