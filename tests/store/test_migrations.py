"""Every step of the schema: nothing left to do, nothing half done, the journal guarded."""

from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import insert, inspect, text
from sqlalchemy.exc import DBAPIError

from coop.store import migrate, tables
from coop.store.engines import open_engines, writer_engine
from coop.store.paths import packaged

STEPS = [
    step.revision
    for step in reversed(
        list(ScriptDirectory.from_config(migrate.configuration("sqlite:///x")).walk_revisions())
    )
]
ROWS: dict[str, dict[str, Any]] = {
    "entry": {"digest": "d", "id": "i", "bytes": b"x"},
    "seal": {"digest": "d", "entry": "i", "node": "n", "seq": 2**40, "bytes": b"x"},
    "attachment": {"name": "n", "content_type": "text/plain", "reach": "personal"},
}
BROKEN_STEP = """
import sqlalchemy as sa
from alembic import op
revision = "9999"
down_revision = "{head}"
branch_labels = None
depends_on = None
def upgrade():
    op.create_table("half", sa.Column("n", sa.Integer()))
    op.add_column("setting", sa.Column("half", sa.Text()))
    op.execute("INSERT INTO setting (key, value) VALUES ('half', 'done')")
    raise RuntimeError("power went")
"""


def guards(url):
    engine = writer_engine(url)
    with engine.begin() as connection:
        missing = migrate.guards_present(connection)
    engine.dispose()
    return missing


def written(url):
    """Return engines on a database whose journal holds one row of each sort."""
    engines = open_engines(url)
    with engines.writing() as connection:
        for table in tables.JOURNAL:
            connection.execute(insert(table).values(ROWS[table.name]))
    return engines


def test_the_newest_step_leaves_nothing_to_migrate(url):
    """A column added to the tables and to no migration is found here."""
    engine = writer_engine(url)
    with engine.begin() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        left = compare_metadata(context, tables.metadata)
    engine.dispose()

    assert left == []


def test_a_new_database_needs_an_upgrade_and_then_no_more(empty_url):
    assert migrate.current(empty_url) is None

    migrate.upgrade(empty_url)

    assert migrate.current(empty_url) == STEPS[-1]
    assert migrate.newest(empty_url) == STEPS[-1]


def test_asking_where_a_database_stands_makes_no_file(tmp_path):
    file = tmp_path / "coop.db"

    assert migrate.current(f"sqlite:///{file}") is None
    assert not file.exists()


def test_the_journal_is_guarded_after_every_step(empty_url):
    """Altering a table by copy drops its triggers without a word."""
    for step in STEPS:
        migrate.upgrade(empty_url, step)

        assert guards(empty_url) == [], step


def test_every_table_is_strict_on_sqlite(sqlite_url):
    """A STRICT table refuses what its column is not made for."""
    migrate.upgrade(sqlite_url)
    engine = writer_engine(sqlite_url)
    with engine.begin() as connection:
        rows = connection.execute(
            text("SELECT name, strict FROM pragma_table_list WHERE schema = 'main'")
        )
        strict = {row.name: row.strict for row in rows}
    engine.dispose()

    ours = {table.name for table in tables.metadata.sorted_tables}
    assert {name for name, on in strict.items() if on} == ours


def test_each_table_is_journal_cache_setting_or_attachment_bytes():
    """What may be thrown away is said once, and for every table."""
    told = [*tables.JOURNAL, *tables.CACHES, *tables.SETTINGS, tables.attachment_bytes]

    assert sorted(table.name for table in told) == sorted(tables.metadata.tables)


@pytest.mark.parametrize("table", [table.name for table in tables.JOURNAL])
@pytest.mark.parametrize("act", ["UPDATE", "DELETE"])
def test_the_journal_refuses_to_be_changed(url, table, act):
    """The message names the table and says what to do instead."""
    engines = written(url)
    column = next(iter(ROWS[table]))
    sql = (
        f"DELETE FROM {table}" if act == "DELETE" else f"UPDATE {table} SET {column} = 'other'"
    )

    with (
        pytest.raises(DBAPIError, match=f"{table} refuses {act}; write a correction"),
        engines.writing() as connection,
    ):
        connection.execute(text(sql))

    with engines.reading() as connection:
        rows = connection.execute(tables.metadata.tables[table].select()).all()
        assert [row._asdict() for row in rows] == [ROWS[table]]
    engines.close()


def test_a_replacing_insert_is_refused_too(sqlite_url):
    """SQLite deletes the old row for it, and tells DELETE triggers only when asked to."""
    migrate.upgrade(sqlite_url)
    engines = written(sqlite_url)

    with pytest.raises(DBAPIError, match="never changed"), engines.writing() as connection:
        connection.execute(text("INSERT OR REPLACE INTO entry VALUES ('d', 'other', x'00')"))
    engines.close()


@pytest.mark.postgresql
def test_emptying_the_journal_is_refused_on_postgresql(pg_database):
    migrate.upgrade(pg_database)
    engines = written(pg_database)

    with (
        pytest.raises(DBAPIError, match="seal refuses TRUNCATE"),
        engines.writing() as connection,
    ):
        connection.execute(text("TRUNCATE seal"))
    engines.close()


def test_a_dropped_guard_is_named(url):
    engine = writer_engine(url)
    on = " ON seal" if engine.dialect.name == "postgresql" else ""
    with engine.begin() as connection:
        connection.execute(text(f"DROP TRIGGER guard_seal_update{on}"))
    engine.dispose()

    assert guards(url) == ["guard_seal_update"]


def test_a_guard_that_no_longer_raises_is_named(sqlite_url):
    """A trigger of the right name that lets everything through is no guard."""
    migrate.upgrade(sqlite_url)
    engine = writer_engine(sqlite_url)
    with engine.begin() as connection:
        connection.execute(text("DROP TRIGGER guard_entry_delete"))
        connection.execute(
            text("CREATE TRIGGER guard_entry_delete BEFORE DELETE ON entry BEGIN SELECT 1; END")
        )
    engine.dispose()

    assert guards(sqlite_url) == ["guard_entry_delete"]


@pytest.mark.postgresql
def test_a_guard_that_is_switched_off_is_named(pg_database):
    migrate.upgrade(pg_database)
    engine = writer_engine(pg_database)
    with engine.begin() as connection:
        connection.execute(text("ALTER TABLE entry DISABLE TRIGGER guard_entry_delete"))
    engine.dispose()

    assert guards(pg_database) == ["guard_entry_delete"]


def test_a_failed_step_leaves_nothing_behind(url, tmp_path, monkeypatch):
    """An upgrade that stops half way can simply be tried again."""
    folder = copy_of_the_steps(tmp_path / "steps")
    step = BROKEN_STEP.format(head=STEPS[-1])
    (folder / "versions" / "9999_broken.py").write_text(step)
    monkeypatch.setattr(migrate, "packaged", lambda _name: folder)

    with pytest.raises(RuntimeError, match="power went"):
        migrate.upgrade(url)

    assert migrate.current(url) == STEPS[-1]
    engines = open_engines(url)
    with engines.reading() as connection:
        found = inspect(connection)
        assert not found.has_table("half")
        assert [column["name"] for column in found.get_columns("setting")] == ["key", "value"]
        assert connection.execute(tables.setting.select()).all() == []
    engines.close()


def copy_of_the_steps(folder: Path) -> Path:
    """Copy the migrations, without what Python keeps beside them."""
    original = packaged("migrations")
    (folder / "versions").mkdir(parents=True)
    for file in [*original.glob("*.*"), *original.glob("versions/*.py")]:
        (folder / file.relative_to(original)).write_bytes(file.read_bytes())
    return folder


def test_the_first_step_does_not_go_back_over_what_people_wrote(url):
    written(url).close()

    with pytest.raises(RuntimeError, match="entry holds what people wrote"):
        migrate.downgrade(url, "base")

    assert migrate.current(url) == STEPS[0]
    assert guards(url) == []


def test_caches_do_not_go_back_over_kept_attachments(url):
    engines = written(url)
    with engines.writing() as connection:
        kept = {"name": "n", "salt": b"s", "bytes": b"x"}
        connection.execute(insert(tables.attachment_bytes).values(kept))
    engines.close()

    with pytest.raises(RuntimeError, match="attachment_bytes holds what people wrote"):
        migrate.downgrade(url, "0001")

    assert migrate.current(url) == "0002"


def test_an_empty_database_goes_all_the_way_back(url):
    migrate.downgrade(url, "base")
    engine = writer_engine(url)
    with engine.begin() as connection:
        assert inspect(connection).get_table_names() == ["alembic_version"]
    engine.dispose()

    migrate.upgrade(url)
    assert guards(url) == []


def test_a_folder_with_a_percent_sign_in_its_name_can_hold_the_database(tmp_path):
    """The configuration's reader takes a single percent sign for its own."""
    folder = tmp_path / "100% alum"
    folder.mkdir()
    address = f"sqlite:///{folder / 'coop.db'}"

    migrate.upgrade(address)

    assert migrate.current(address) == migrate.newest(address)
