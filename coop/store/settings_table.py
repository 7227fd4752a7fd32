"""Named values of this server: in the backup, never in the ledger."""

from sqlalchemy import Connection, delete, select, update

from coop.ids import LedgerId, NodeId
from coop.ledger.table import TOUCH_VERSION
from coop.store.tables import setting

LEDGER_ID = "ledger.id"
NODE_ID = "node.id"
BACKED_UP = "backup.last"  # JSON of `coop.store.backups.Copy`: what counts as second place
TOUCHES = "touches.version"  # of which release the touches are that are kept
COPIED = "backup.copied"  # the same of the last sound copy, whether it counts or not


def read(connection: Connection, key: str) -> str | None:
    """Return a value, or None when it was never written."""
    return connection.scalar(select(setting.c.value).where(setting.c.key == key))


def write(connection: Connection, key: str, value: str) -> None:
    """Write a value in place of the one before."""
    changed = connection.execute(
        update(setting).where(setting.c.key == key).values(value=value)
    )
    if changed.rowcount == 0:
        connection.execute(setting.insert().values(key=key, value=value))


def remove(connection: Connection, key: str) -> None:
    """Forget a value."""
    connection.execute(delete(setting).where(setting.c.key == key))


def ledger_id(connection: Connection) -> LedgerId | None:
    """Say which ledger this database holds; None before one was opened."""
    value = read(connection, LEDGER_ID)
    return None if value is None else LedgerId(value)


def has_new_touches(connection: Connection) -> bool:
    """
    Say whether it is kept what each entry touches by this release.

    A database in which no ledger was opened yet holds no entries to touch anything.
    """
    kept = read(connection, TOUCHES)
    return kept == TOUCH_VERSION or (kept is None and ledger_id(connection) is None)


def node_id(connection: Connection) -> NodeId | None:
    """Say as which node this server seals; a restored server is given a new one."""
    value = read(connection, NODE_ID)
    return None if value is None else NodeId(value)
