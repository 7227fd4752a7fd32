"""Stacks that are rows of one tally card: one line of a list, as nobody laid them apart."""

from collections.abc import Iterable
from datetime import tzinfo

from coop.actions.see_stacks import StackLook
from coop.ledger.part_of_day import MINUTE
from coop.web import words as say
from coop.web.page import words

Rows = tuple[StackLook, ...]


def together(looks: Iterable[StackLook], zone: tzinfo) -> tuple[Rows, ...]:
    """Return stacks as they are listed: each by itself, rows of one card with the first."""
    groups: dict[tuple[object, ...], list[StackLook]] = {}
    for look in looks:
        groups.setdefault(_key(look, zone), []).append(look)
    return tuple(tuple(one) for one in groups.values())


def _key(look: StackLook, zone: tzinfo) -> tuple[object, ...]:
    """Return what rows of one card have alike, of which nothing was done to any yet."""
    one = look.state
    if one.precision == MINUTE or _is_begun(look):
        return (one.id,)
    day = one.at.astimezone(zone).date()
    sheets = one.sheet_format, one.method, one.lot, one.paper, look.side
    answer = look.answer.word, look.answer.next_acts, look.stale
    return one.bath, one.by, day, one.precision, *sheets, one.state, one.place, *answer


def _is_begun(look: StackLook) -> bool:
    one = look.state
    done = one.laid_count, one.binned_count, one.printed, one.again, one.dried, one.flattened
    return any(done)


def told(rows: Rows) -> str:
    """Say several rows as one: '31 half sheets, 4 rows of a card'."""
    count = sum(look.state.sheet_count for look in rows)
    return words().ngettext(
        "%(sheets)s, %(num)d row of a card",
        "%(sheets)s, %(num)d rows of a card",
        len(rows),
        sheets=say.sheets(words(), count, rows[0].state.sheet_format),
    )
