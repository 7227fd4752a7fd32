"""Bring a database to the newest form, and say whether the journal's guards stand."""

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, text

from coop.store.engines import checked_address, sqlite_file, writer_engine
from coop.store.paths import packaged
from coop.store.tables import JOURNAL

_ACTS = {"sqlite": ("update", "delete"), "postgresql": ("update", "delete", "truncate")}
_GUARDS_SQL = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger' "
    "AND sql LIKE '%RAISE(ABORT%' AND sql NOT LIKE '% WHEN %'",
    "postgresql": "SELECT t.tgname FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid "
    "WHERE t.tgenabled IN ('O', 'A') AND p.proname = 'guard_journal' "
    "AND p.prosrc LIKE '%RAISE EXCEPTION%'",
}
_STRICT_SQL = "SELECT name FROM pragma_table_list WHERE schema = 'main' AND strict = 1"


def configuration(url: str) -> Config:
    """Make Alembic's configuration without an ini file; each `%` doubled for its reader."""
    config = Config()
    config.set_main_option("script_location", _doubled(str(packaged("migrations"))))
    config.set_main_option("sqlalchemy.url", _doubled(url))
    config.set_main_option("path_separator", "os")
    config.attributes["url"] = url
    return config


def _doubled(value: str) -> str:
    return value.replace("%", "%%")


def upgrade(url: str, revision: str = "head") -> None:
    """Run what is missing, each step kept or undone as a whole."""
    command.upgrade(configuration(url), revision)


def downgrade(url: str, revision: str) -> None:
    """Go back; refused when that would lose what people wrote."""
    command.downgrade(configuration(url), revision)


def current(url: str) -> str | None:
    """Say which step the database stands at; None for a new one. Makes no file."""
    file = sqlite_file(checked_address(url))
    if file is not None and not file.exists():
        return None
    engine = writer_engine(url)
    try:
        with engine.begin() as connection:
            return MigrationContext.configure(connection).get_current_revision()
    finally:
        engine.dispose()


def newest(url: str) -> str | None:
    """Say which step this release expects."""
    return ScriptDirectory.from_config(configuration(url)).get_current_head()


def guards_present(connection: Connection) -> list[str]:
    """
    List what is missing of the journal's guards, by name; empty when all stand.

    A guard is a trigger `guard_<table>_<act>` that raises; on SQLite the table itself must
    be STRICT too, told as `strict_<table>`.
    """
    dialect = connection.dialect.name
    found = set(connection.scalars(text(_GUARDS_SQL[dialect])))
    wanted = [f"guard_{table.name}_{act}" for table in JOURNAL for act in _ACTS[dialect]]
    if dialect == "sqlite":
        found |= {f"strict_{name}" for name in connection.scalars(text(_STRICT_SQL))}
        wanted += [f"strict_{table.name}" for table in JOURNAL]
    return [name for name in wanted if name not in found]
