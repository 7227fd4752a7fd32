"""When members were here, and what a visit is."""

from datetime import UTC, datetime, timedelta

import pytest

from coop.ids import MemberId, NodeId
from coop.store import tables, visits
from coop.store.engines import Engines
from coop.store.restore import begin_anew
from coop.store.visits import NOTE_EVERY, VISIT_GAP, Point, Seen

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
ADA = MemberId("member-a")
BEN = MemberId("member-b")
NODE = NodeId("node")


@pytest.fixture
def engines(settings_engines: Engines) -> Engines:
    return settings_engines


def note(engines: Engines, at: datetime, seq: int, member: MemberId = ADA) -> None:
    with engines.writing() as connection:
        visits.note(connection, member, Point(at=at, seq=seq))


def seen(engines: Engines, member: MemberId = ADA) -> Seen:
    with engines.reading() as connection:
        return visits.look(connection, node=NODE, member=member)


def test_who_was_never_here_has_nothing_to_be_told(engines: Engines) -> None:
    """A newcomer does not want the whole history on the first page."""
    found = seen(engines)

    assert found == Seen(head=0)
    assert found.since(NOON) is None
    assert found.note_is_due(NOON)


def test_a_visit_goes_on_while_pages_come_within_hours(engines: Engines) -> None:
    note(engines, NOON, 10)
    note(engines, NOON + VISIT_GAP - timedelta(seconds=1), 20)
    later = NOON + 2 * VISIT_GAP - timedelta(seconds=2)

    assert seen(engines).since(later) is None


def test_the_first_page_after_hours_begins_a_visit(engines: Engines) -> None:
    """What came in since the end of the one before is new, during all of this one."""
    note(engines, NOON, 10)
    evening = NOON + VISIT_GAP
    assert seen(engines).since(evening) == Point(at=NOON, seq=10)

    note(engines, evening, 30)
    note(engines, evening + NOTE_EVERY, 31)
    found = seen(engines)
    assert found.last == Point(at=evening + NOTE_EVERY, seq=31)
    assert found.since(evening + NOTE_EVERY) == Point(at=NOON, seq=10)


def test_the_next_visit_forgets_the_one_before_the_last(engines: Engines) -> None:
    for day in range(3):
        note(engines, NOON + timedelta(days=day), 10 + day)

    assert seen(engines).since(NOON + timedelta(days=2)) == Point(
        at=NOON + timedelta(days=1), seq=11
    )


def test_a_page_is_noted_every_ten_minutes_at_most(engines: Engines) -> None:
    note(engines, NOON, 10)

    assert not seen(engines).note_is_due(NOON + NOTE_EVERY - timedelta(seconds=1))
    assert seen(engines).note_is_due(NOON + NOTE_EVERY)


def test_what_comes_late_puts_nothing_back(engines: Engines) -> None:
    """Two pages at once are noted in any order."""
    note(engines, NOON, 10)
    note(engines, NOON - timedelta(hours=9), 5)

    assert seen(engines).last == Point(at=NOON, seq=10)
    assert seen(engines).before is None


def test_each_member_has_visits_of_their_own(engines: Engines) -> None:
    note(engines, NOON, 10)
    note(engines, NOON + VISIT_GAP, 20)

    assert seen(engines, BEN) == Seen(head=0)


def test_how_far_the_chain_reaches_comes_with_it(engines: Engines) -> None:
    """Of this node's chain alone: another's numbers say nothing here."""
    ours, other = NodeId("a node with seals"), NodeId("another with more")
    rows = [
        {"digest": f"{node}{seq}", "entry": "e", "node": node, "seq": seq, "bytes": b""}
        for node, last in ((ours, 3), (other, 9))
        for seq in range(1, last + 1)
    ]
    with engines.writing() as connection:
        connection.execute(tables.seal.insert(), rows)

    with engines.reading() as connection:
        assert visits.look(connection, node=ours, member=ADA).head == 3


def test_brought_back_as_another_node_all_visits_begin_anew(engines: Engines) -> None:
    """The old node's numbers would hide what the new one seals."""
    note(engines, NOON, 10)
    with engines.writing() as connection:
        begin_anew(connection, NodeId("another"))

    assert seen(engines).last is None
