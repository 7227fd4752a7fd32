"""A ledger of an older release comes up to this one, as if it had been written by it."""

import hashlib
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import text

from coop.actions.see_orders import order_list
from coop.ledger.entries import read_entry
from coop.ledger.table import KINDS, TOUCH_VERSION
from coop.store import migrate
from coop.store.desk import Store, open_store, start_ledger
from coop.store.engines import open_engines
from coop.store.rebuild import bring_up
from coop.store.standing import Standing, standing
from coop.store.verify import verify
from tests.support.ledgers import SqlBook, take_in
from tests.support.sayings import (
    AMINA,
    LEDGER,
    LONG_AGO,
    NODE,
    an_id,
    described,
    mixed,
    on,
    q,
    say,
    wire,
)
from tests.support.stock import moved, received

BERLIN = ZoneInfo("Europe/Berlin")
BEFORE_STOCK = "0004"
AS_IT_LEFT_THEM = (
    "DELETE FROM touch WHERE subject LIKE 'powder:%' OR subject LIKE 'salt:%' "
    "OR subject LIKE 'paper:%'",
    "DELETE FROM fold WHERE sort = 'supply'",
    "DELETE FROM setting WHERE key = 'touches.version'",
)
"""What the release before supplies had not: a lot touched itself alone."""


def of_before(url: str) -> None:
    """Leave a ledger with lots as the release before the order list left it."""
    migrate.upgrade(url)
    store = start_ledger(url, ledger=LEDGER, node=NODE)
    carried = moved(an_id(72), an_id(71), at=on(12), amount=q(100, "g"))
    opened = say(
        "ledger.opened", an_id(30), at=LONG_AGO, name="Test", zone="UTC", coordinator=AMINA
    )
    take_in(
        SqlBook(store), [opened, *described(), received(an_id(71)), mixed(at=on(10)), carried]
    )
    store.close()
    migrate.downgrade(url, BEFORE_STOCK)
    engines = open_engines(url)
    with engines.writing() as connection:
        for statement in AS_IT_LEFT_THEM:
            connection.execute(text(statement))
    engines.close()


def lines(store: Store) -> dict[str, int]:
    """Return what the order list says is on hand of each supply."""
    with store.reading() as desk:
        every = order_list(desk.journal, now=on(20), zone=BERLIN).every
    return {str(one.supply.id): one.facts.on_hand for one in every}


def codes(store: Store) -> set[str]:
    with store.reading() as desk:
        return {one.code for one in verify(desk.connection, store.ledger).problems}


def test_lots_of_before_supplies_are_in_the_order_list_after_an_upgrade(empty_url: str) -> None:
    """Otherwise a lot would stand in no supply, and a page would order what is there."""
    of_before(empty_url)
    migrate.upgrade(empty_url)
    store = open_store(empty_url)

    bring_up(store)

    assert codes(store) == set()
    assert lines(store)["powder:carrageenan"] > 0
    assert bring_up(store) == 0
    store.close()


def test_an_upgrade_that_was_cut_off_is_not_served(empty_url: str) -> None:
    """The schema is new, what is touched is not yet: only an upgrade goes on from there."""
    of_before(empty_url)
    assert standing(empty_url) is Standing.OLDER

    migrate.upgrade(empty_url)

    assert standing(empty_url) is Standing.OLDER
    store = open_store(empty_url)
    bring_up(store)
    store.close()
    assert standing(empty_url) is Standing.NEWEST


TOUCHED = "115d3e532c2b0961067a1f2f27acbaa0aeb0ddfccb7f98d23967e224725122cb"
"""SHA-256 over what every shipped record touches, computed by this program."""


def test_what_an_entry_touches_changes_only_with_its_version() -> None:
    """
    Who changes it raises `TOUCH_VERSION`, and writes the digest found here.

    A ledger that is there already is then written anew by its next upgrade. A new kind changes
    the digest alone: no ledger holds an entry of it yet.
    """
    said: list[Any] = [read_entry(wire(kind)).touches for kind in sorted(KINDS)]

    found = hashlib.sha256(repr(said).encode()).hexdigest()

    assert (TOUCH_VERSION, found) == ("2", TOUCHED)
