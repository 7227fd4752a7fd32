"""What a journal says of stock: what is held, came since, was drawn, and is listed in homes."""

import secrets
from collections.abc import Iterator
from typing import Any

import psycopg
import pytest
from psycopg import sql

from coop.ids import Subject
from coop.ledger.accounts import UG_PER_G
from coop.ledger.ports import Drawn
from coop.store.desk import start_ledger
from coop.store.migrate import upgrade
from tests.support.ledgers import Book, SqlBook, take_in
from tests.support.sayings import (
    GUM,
    LEDGER,
    LOT,
    NODE,
    PAPER,
    PAPER_LOT,
    SIZE,
    STUDIO,
    an_id,
    corrected,
    described,
    instead,
    mixed,
    on,
    q,
    say,
    sized,
    through,
    with_size,
)
from tests.support.stock import BARN, PART, adjusted, cut, moved, small_paper

GUM_UG = 1_240 * UG_PER_G
BOOKED = Subject(an_id(90))
CARRAGEENAN, ALUM = "powder:carrageenan", "salt:aluminium_sulfate_14"
SHEETS = f"paper:{PAPER}"
MIXED, WEEK_AFTER = on(17, 18), on(24, 18)
SHELF = [
    *described(),
    *with_size(),
    mixed(at=MIXED),
    sized(at=MIXED),
    sized(an_id(80), at=WEEK_AFTER, grams=240, session=BOOKED),
    through(an_id(81), 20, at=WEEK_AFTER),
    moved(PART, GUM, at=on(20), amount=q(300, "g")),
    adjusted(an_id(82), GUM, at=on(25), amount=q(15, "g"), cause="not_written_down"),
    adjusted(an_id(83), GUM, at=on(25), amount=q(10, "g"), cause="lost"),
]


def lot(subject: str) -> str:
    return f"lot:{subject}"


@pytest.fixture(params=[True, False], ids=["folded", "stale"])
def stocked(request: pytest.FixtureRequest, book: Book) -> Book:
    """Give a shelf that was folded as it came in, and one that waits to be folded."""
    take_in(book, SHELF, fold=request.param)
    return book


def test_all_accounts_of_a_sort_that_hold_something_are_given(stocked: Book) -> None:
    """This is how the lots on hand are found, whatever the language of the server."""
    with stocked.reading() as journal:
        assert journal.holding("lot") == {
            (lot(LOT), ALUM): 4_520 * UG_PER_G,
            (lot(GUM), CARRAGEENAN): GUM_UG - (45 + 240 + 300 + 15 + 10) * UG_PER_G,
            (lot(PART), CARRAGEENAN): 300 * UG_PER_G,
            (lot(PAPER_LOT), SHEETS): 4 * 960 - 40,
        }
        assert set(journal.holding("gap")) == {("gap:lost", CARRAGEENAN)}
        assert journal.holding("nothing of this sort") == {}


def test_an_empty_lot_is_not_on_hand(stocked: Book) -> None:
    take_in(stocked, [moved(an_id(84), PART, at=on(26), amount=q(300, "g"), into=GUM)])

    with stocked.reading() as journal:
        assert (lot(PART), CARRAGEENAN) not in journal.holding("lot")


def test_a_lot_that_gave_more_than_came_in_is_still_held_under_nothing(stocked: Book) -> None:
    """The gap is asked about; hiding it would lose it."""
    take_in(stocked, [adjusted(an_id(84), PART, at=on(26), amount=q(301, "g"))])

    with stocked.reading() as journal:
        assert journal.holding("lot")[lot(PART), CARRAGEENAN] == -UG_PER_G


def test_what_came_and_went_after_a_moment_is_told_for_each_account(stocked: Book) -> None:
    """A count on the 19th expects what is left now less all of this."""
    asked = {lot(GUM): on(19), lot(PART): on(19), lot(LOT): on(19), lot(PAPER_LOT): on(19)}
    with stocked.reading() as journal:
        assert journal.since(asked) == {
            (lot(GUM), CARRAGEENAN): -(240 + 300 + 15 + 10) * UG_PER_G,
            (lot(PART), CARRAGEENAN): 300 * UG_PER_G,
            (lot(PAPER_LOT), SHEETS): -40,
        }
        assert journal.since({}) == {}


def test_what_happened_at_the_very_moment_is_not_after_it(stocked: Book) -> None:
    with stocked.reading() as journal:
        assert journal.since({lot(LOT): MIXED}) == {}
        assert journal.since({lot(LOT): on(17, 17)}) == {(lot(LOT), ALUM): -480 * UG_PER_G}


def test_hundreds_of_accounts_may_be_asked_at_once(stocked: Book) -> None:
    """A shelf of five thousand lots has hundreds that were counted."""
    asked = {lot(an_id(5000 + n)): on(1) for n in range(700)}

    with stocked.reading() as journal:
        found = journal.since(asked | {lot(PART): on(1)})
    assert found == {(lot(PART), CARRAGEENAN): 300 * UG_PER_G}


def drawn(week: str, grams: int, session: str = "") -> Drawn:
    return Drawn(
        substance=CARRAGEENAN, week=week, session=session, amount=grams * UG_PER_G
    )  # fmt: skip


def test_use_is_told_by_week_and_session(stocked: Book) -> None:
    """Carried to the barn or lost is not used; what nobody had written down is."""
    with stocked.reading() as journal:
        assert journal.drawn([CARRAGEENAN], week="2025-W30") == (
            drawn("2025-W38", 45), drawn("2025-W39", 15), drawn("2025-W39", 240, BOOKED),
        )  # fmt: skip
        assert journal.drawn([CARRAGEENAN], week="2025-W39") == (
            drawn("2025-W39", 15), drawn("2025-W39", 240, BOOKED),
        )  # fmt: skip
        assert journal.drawn([CARRAGEENAN], week="2025-W40") == ()
        assert journal.drawn([], week="2025-W30") == ()


def test_what_a_class_used_by_a_count_stands_apart(stocked: Book) -> None:
    """Each class is booked; reckoned into the weeks as well it would count twice."""
    take_in(stocked, [adjusted(an_id(84), GUM, at=on(10), amount=q(24, "g"), cause="class")])

    with stocked.reading() as journal:
        assert journal.drawn([CARRAGEENAN], week="2025-W30")[0] == (
            drawn("2025-W37", 24, "class")
        )
        assert journal.first_drawn([CARRAGEENAN]) == {CARRAGEENAN: "2025-W38"}


def test_sheets_that_were_cut_are_used_and_what_they_were_cut_to_is_not(
    stocked: Book,
) -> None:
    """Of the small paper nothing was drawn yet."""
    take_in(stocked, [small_paper(), cut(an_id(84), PAPER_LOT, at=on(26))])

    with stocked.reading() as journal:
        found = journal.drawn([SHEETS, "paper:" + small_paper().id], week="2025-W30")
    assert [(one.substance, one.amount) for one in found] == [(SHEETS, 40 + 100)]


def test_the_first_week_of_use_leaves_booked_sessions_out(stocked: Book) -> None:
    take_in(stocked, [sized(an_id(84), at=on(10), session=BOOKED)])

    with stocked.reading() as journal:
        assert journal.first_drawn([CARRAGEENAN, ALUM, SHEETS, "powder:gall"]) == {
            CARRAGEENAN: "2025-W38", ALUM: "2025-W38", SHEETS: "2025-W39",
        }  # fmt: skip
        assert journal.first_drawn([]) == {}


def test_what_was_put_right_is_drawn_and_held_anew(stocked: Book) -> None:
    """A mix that stands with 145 g and not 45 counts so everywhere at once."""
    size = sized(at=MIXED)
    powder = [{"powder": "carrageenan", "lot": GUM, "amount": q(145, "g")}]
    mend = corrected(
        an_id(95), size, "replace", at=on(28), content=instead(size, powder=powder)
    )
    take_in(stocked, [mend], at=on(30, 21))

    with stocked.reading() as journal:
        assert journal.drawn([CARRAGEENAN], week="2025-W38")[0] == drawn("2025-W38", 145)
        assert journal.holding("lot")[lot(GUM), CARRAGEENAN] == 530 * UG_PER_G


def test_sessions_are_listed_by_the_months_they_start_in(book: Book) -> None:
    """Booked for October and put off to November: it is listed where it starts now."""
    class_of: dict[str, Any] = {
        "studio": STUDIO, "name": "class", "head_count": "9", "under_16": "no",
    }  # fmt: skip
    entries = [
        say("session.planned", an_id(80), starts="2025-10-04T10:00:00+02:00", **class_of),
        say("session.planned", an_id(81), starts="2025-11-01T10:00:00+01:00", **class_of),
        say("session.planned", an_id(82), session=an_id(80), supersedes=an_id(80),
            starts="2025-11-08T10:00:00+01:00", called_off="yes", **class_of),
    ]  # fmt: skip
    take_in(book, entries)

    with book.reading() as journal:
        october, november = Subject("2025-10"), Subject("2025-11")
        assert journal.listed_in("session", [october]) == ()
        both = journal.listed_in("session", [october, november])
        assert [one.id for one in both] == [an_id(80), an_id(81)]
        assert [one.id for one in journal.listed("session")] == [an_id(81)]
        assert journal.listed_in("session", []) == ()


def test_the_states_of_several_are_given_and_who_has_none_is_left_out(stocked: Book) -> None:
    with stocked.reading() as journal:
        found = journal.states("lot", [GUM, PART, Subject(an_id(99)), SIZE])

        assert found == {GUM: journal.state("lot", GUM), PART: journal.state("lot", PART)}
        assert found[PART].studio == BARN


@pytest.fixture
def in_english(pg_server: str) -> Iterator[SqlBook]:
    """Give a ledger on a server that puts words in order as a dictionary does."""
    name = sql.Identifier(f"coop_{secrets.token_hex(6)}")
    address = f"{pg_server}/{name.as_string().strip(chr(34))}"
    make = "CREATE DATABASE {} TEMPLATE template0 LOCALE_PROVIDER icu ICU_LOCALE 'en'"
    with psycopg.connect(f"{pg_server}/postgres", autocommit=True) as server:
        server.execute(sql.SQL(make).format(name))
        try:
            upgrade(address)
            store = start_ledger(address, ledger=LEDGER, node=NODE)
            yield SqlBook(store)
            store.close()
        finally:
            server.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(name))


@pytest.mark.postgresql
def test_a_server_with_a_dictionarys_order_finds_the_same_lots(in_english: SqlBook) -> None:
    """There 'lot:' comes after 'lot;': a range of names between the two would hold nothing."""
    take_in(in_english, SHELF)

    with in_english.reading() as journal:
        held: dict[Any, int] = journal.holding("lot")
        assert {account for account, _ in held} == {
            lot(one) for one in (LOT, GUM, PART, PAPER_LOT)
        }
        assert len(journal.drawn([CARRAGEENAN], week="2025-W30")) == 3
        assert set(journal.first_drawn([CARRAGEENAN, ALUM])) == {CARRAGEENAN, ALUM}
        assert journal.since({lot(LOT): on(1, 10)}) == {(lot(LOT), ALUM): -480 * UG_PER_G}
