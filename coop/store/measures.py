"""
In which measures a member is shown amounts, and what a bare gallon, cup and spoon mean to them.

It changes no entry: what was typed and what was understood stand in each.
"""

from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Connection, Row, delete, select

from coop.ids import MemberId
from coop.store.tables import member_measures

METRIC: Final = "metric"
US: Final = "us"
SHOWN: Final = (METRIC, US)


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """A member's choice; a kind that is None is the house's."""

    shown: str = METRIC
    gallon: str | None = None
    cup: str | None = None
    spoon: str | None = None


COLUMNS: Final = tuple(member_measures.c[name] for name in Measures.__dataclass_fields__)


def choose(connection: Connection, member: MemberId, chosen: Measures) -> None:
    """Keep a member's choice in place of the one before."""
    forget(connection, member)
    values = {name: getattr(chosen, name) for name in Measures.__dataclass_fields__}
    connection.execute(member_measures.insert().values(member=member, **values))


def chosen(connection: Connection, member: MemberId) -> Measures:
    """Return a member's choice; who chose nothing is shown what the house says, in metric."""
    where = member_measures.c.member == member
    return from_row(connection.execute(select(*COLUMNS).where(where)).first())


def from_row(row: Row[Any] | None) -> Measures:
    """Return the choice that a row's columns hold; of none, that of who chose nothing."""
    if row is None or row.shown is None:
        return Measures()
    return Measures(shown=row.shown, gallon=row.gallon, cup=row.cup, spoon=row.spoon)


def forget(connection: Connection, member: MemberId) -> None:
    """Forget what a member chose."""
    connection.execute(delete(member_measures).where(member_measures.c.member == member))
