"""How far this database's chains reach, and how far a second place reaches."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """
    A place that holds what is here as far as its vector reaches.

    Attributes:
        file: Where it lies; None for a place that is no file of this machine.
        byte_count: How long the file was then.
        gone: Whether it was not there, or no longer as it was, when last looked for.
    """

    at: datetime
    vector: Mapping[NodeId, int]
    name: str
    file: Path | None = None
    byte_count: int = 0
    gone: bool = False

    @property
    def is_there(self) -> bool:
        """Say whether the file is where it was, and as long as it was."""
        try:
            return self.file is None or self.file.stat().st_size == self.byte_count
        except OSError:
            return False  # a stick that was taken out, a folder that nobody may open now


def two_places(connection: Connection) -> dict[NodeId, int]:
    """
    Return, for each node, up to which seq a second place holds its seals as well.

    Whether that place is still there is not asked here: `look_for_place` does.
    """
    place = second_place(connection)
    return {} if place is None or place.gone else dict(place.vector)


def second_place(connection: Connection) -> Copy | None:
    """Return the copy that counts as the second place, None before there was one."""
    return _read(connection, settings_table.BACKED_UP)


def last_copy(connection: Connection) -> Copy | None:
    """Return the last sound copy, whether or not it counts as the second place."""
    copied = _read(connection, settings_table.COPIED)
    return copied or second_place(connection)


def count_as_place(
    connection: Connection,
    *,
    name: str,
    reach: Mapping[NodeId, int],
    now: datetime,
    file: Path | None = None,
) -> None:
    """Let what was looked through and found clean count as the second place."""
    place = _copy(name, reach, now, file)
    _write(connection, settings_table.BACKED_UP, place)


def note_copy(
    connection: Connection, *, reach: Mapping[NodeId, int], now: datetime, file: Path
) -> None:
    """Write down that a sound copy was made."""
    _write(connection, settings_table.COPIED, _copy(file.name, reach, now, file))


def forget_place(connection: Connection) -> None:
    """Let nothing count as the second place."""
    settings_table.remove(connection, settings_table.BACKED_UP)


def look_for_place(connection: Connection) -> Copy | None:
    """
    Look whether the second place is there, and count it only if it is.

    Done when a server starts and at each backup: no page waits for a disk.

    Returns:
        The place that is missed; None where there is nothing to miss.
    """
    place = second_place(connection)
    if place is None:
        return None
    gone = not place.is_there
    if gone != place.gone:
        place = replace(place, gone=gone)
        _write(connection, settings_table.BACKED_UP, place)
    return place if gone else None


def _copy(name: str, reach: Mapping[NodeId, int], now: datetime, file: Path | None) -> Copy:
    if file is None:
        return Copy(at=now, vector=reach, name=name)
    byte_count = file.stat().st_size
    return Copy(at=now, vector=reach, name=name, file=file.resolve(), byte_count=byte_count)


def _read(connection: Connection, key: str) -> Copy | None:
    kept = settings_table.read(connection, key)
    if kept is None:
        return None
    mark = json.loads(kept)
    return Copy(
        at=datetime.fromisoformat(mark["at"]),
        vector=mark["vector"],
        name=mark["name"],
        file=Path(mark["file"]) if mark.get("file") else None,
        byte_count=mark.get("byte_count", 0),
        gone=mark.get("gone", False),
    )


def _write(connection: Connection, key: str, copy: Copy) -> None:
    mark = {
        "at": copy.at.isoformat(),
        "vector": dict(copy.vector),
        "name": copy.name,
        "file": str(copy.file or ""),
        "byte_count": copy.byte_count,
        "gone": copy.gone,
    }
    settings_table.write(connection, key, json.dumps(mark))
