"""How far this database's chains reach, and how far a second place reaches."""

import json
from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import Connection, text

from coop.ids import NodeId
from coop.store import settings_table

# One step of the index (node, seq) for each node, then one for the end of its chain: a
# million seals cost no more than ten.
_VECTOR = text(
    """
    WITH RECURSIVE known(node) AS (
        SELECT min(node) FROM seal
        UNION ALL
        SELECT (SELECT min(node) FROM seal WHERE seal.node > known.node)
        FROM known WHERE known.node IS NOT NULL
    )
    SELECT node, (SELECT max(seq) FROM seal WHERE seal.node = known.node)
    FROM known WHERE node IS NOT NULL
    """
)


def vector(connection: Connection) -> dict[NodeId, int]:
    """
    Return, for each node, up to which seq its seals are here without a gap.

    That is the last seq there is: `SqlJournal.append` leaves no gap and the guards let no
    seal go. A gap that a fault of the disk made is not looked for here but by
    `coop.store.verify`, and a backup with one is not counted.
    """
    return {NodeId(node): seq for node, seq in connection.execute(_VECTOR)}


def two_places(connection: Connection) -> dict[NodeId, int]:
    """Return, for each node, up to which seq a second place holds its seals as well."""
    kept = settings_table.read(connection, settings_table.BACKED_UP)
    return {} if kept is None else dict(json.loads(kept)["vector"])


def count_as_place(
    connection: Connection, *, name: str, reach: Mapping[NodeId, int], now: datetime
) -> None:
    """Let a file that was looked through and found clean count as the second place."""
    mark = {"at": now.isoformat(), "vector": dict(reach), "name": name}
    settings_table.write(connection, settings_table.BACKED_UP, json.dumps(mark))
