"""Supplies, suppliers, orders, booked sessions, what was put off, and permissions."""

from datetime import date, datetime
from decimal import Decimal
from itertools import permutations
from typing import Any

import pytest

from coop.ids import Subject
from coop.ledger.accounts import UG_PER_G, UL_PER_ML
from coop.ledger.entries import Entry
from coop.ledger.folding import NOTHING
from coop.ledger.states import OrderState, SessionState, SupplyState
from coop.ledger.supplies import ARRIVALS_KEPT
from coop.ledger.table import needed
from tests.support.memory import MemoryJournal
from tests.support.sayings import (
    AMINA,
    KAHU,
    PAPER,
    STUDIO,
    an_id,
    corrected,
    instead,
    on,
    q,
    say,
)
from tests.support.stock import (
    BLACK,
    CUT,
    GLOVES,
    SMALL_PAPER,
    TUB,
    cut,
    received,
    shelf,
)

CARRAGEENAN = Subject("powder:carrageenan")
FIRST, BOOKED_AT = on(1), on(12)
ORDER, CLASS = Subject(an_id(80)), Subject(an_id(90))


def supply(id: str = an_id(70), *, at: datetime = FIRST, **body: Any) -> Entry:
    return say("supply.described", id, at=at, **({"what": "carrageenan"} | body))


def order(id: str = ORDER, *, at: datetime = FIRST, **body: Any) -> Entry:
    """Return that 2 x 454 g of carrageenan were ordered, unless something else is said."""
    usual = {"what": "carrageenan", "packs": "2", "pack": q(454, "g")}
    return say("order.placed", id, at=at, **(usual | body))


def arrived(id: str, *, at: datetime, order: str = ORDER, packs: int = 1) -> Entry:
    return received(id, at=at, order=order, pack_count=str(packs), weight=q(454, "g"))


def state_of(journal: MemoryJournal, subject: str = CARRAGEENAN) -> SupplyState:
    found: SupplyState = journal.state("supply", Subject(subject))
    return found


def order_of(journal: MemoryJournal, subject: str = ORDER) -> OrderState:
    found: OrderState = journal.state("order", Subject(subject))
    return found


def test_a_powder_is_a_supply_as_soon_as_a_lot_of_it_came() -> None:
    """Nobody has to describe what the trade knows; nothing is made up about it either."""
    found = state_of(shelf([received()]))

    assert (found.id, found.what, found.measure) == (CARRAGEENAN, "carrageenan", "weight")
    assert (found.edition, found.floor, found.pack, found.name) == (None, None, None, "")
    assert found.ordered


@pytest.mark.parametrize(
    ("body", "subject", "measure"),
    [
        ({"what": "alum", "salt": "potash_alum"}, "salt:potash_alum", "weight"),
        ({"what": "paper", "paper": PAPER}, f"paper:{PAPER}", "sheets"),
        ({"what": "gall"}, "powder:gall", "weight"),
    ],
)
def test_what_was_ordered_is_a_supply_before_any_came(
    body: dict[str, Any], subject: str, measure: str
) -> None:
    placed = say("order.placed", ORDER, at=on(1), packs="1", **body)
    found = state_of(shelf([placed]), subject)

    assert (found.measure, found.salt, found.paper) == (
        measure, body.get("salt"), body.get("paper"),
    )  # fmt: skip


def test_a_lot_of_something_nobody_described_tells_how_it_is_measured() -> None:
    """The description may still be on its way from another phone."""
    lots: dict[str, dict[str, Any]] = {
        "pieces": {"piece_count": "50"},
        "volume": {"volume": q(500, "ml")},
        "weight": {"weight": q(1, "kg")},
    }
    for measure, body in lots.items():
        lot: dict[str, Any] = {"what": "supply", "supply": GLOVES, **body}
        found = state_of(shelf([received(**lot)]), f"supply:{GLOVES}")
        assert (found.measure, found.what) == (measure, "other")


def test_a_supply_is_what_its_edition_says() -> None:
    body: dict[str, Any] = {
        "floor": q(150, "g"), "pack": q(454, "g"), "days_to_arrive": "8", "review_days": "3",
        "sealed_days": "730", "opened_days": "365", "count_days": "60", "sold_by": an_id(71),
    }  # fmt: skip
    found = state_of(shelf([supply(**body)]))

    assert (found.floor, found.pack) == (150 * UG_PER_G, 454 * UG_PER_G)
    assert (found.days_to_arrive, found.review_days, found.count_days) == (8, 3, 60)
    assert (found.sealed_days, found.opened_days, found.sold_by) == (730, 365, an_id(71))
    assert str(found.edition) == an_id(70)


@pytest.mark.parametrize(
    ("body", "subject", "measure", "floor", "pack"),
    [
        ({"what": "paper", "paper": PAPER, "floor_count": "100", "pack_count": "480"},
         f"paper:{PAPER}", "sheets", 400, 1_920),
        ({"what": "gloves", "name": "Gloves", "measure": "pieces", "floor_count": "0"},
         f"supply:{an_id(70)}", "pieces", 0, None),
        ({"what": "colour", "name": "Black", "measure": "volume", "floor": q(100, "ml")},
         f"supply:{an_id(70)}", "volume", 100 * UL_PER_ML, None),
        ({"what": "soda", "name": "Soda", "measure": "weight", "floor": q(1, "kg")},
         f"supply:{an_id(70)}", "weight", 1_000 * UG_PER_G, None),
    ],
)  # fmt: skip
def test_floors_and_packs_are_in_the_unit_of_the_rows(
    body: dict[str, Any], subject: str, measure: str, floor: int, pack: int | None
) -> None:
    found = state_of(shelf([supply(**body)]), subject)

    assert (found.measure, found.floor, found.pack) == (measure, floor, pack)


def test_a_later_edition_stands_in_the_place_of_the_one_it_has_seen() -> None:
    first = supply(what="colour", name="Blak", measure="volume")
    second = supply(an_id(71), at=on(2), supply=an_id(70), supersedes=an_id(70),
                    what="colour", name="Black", measure="volume", ordered="no")  # fmt: skip
    journal = shelf([second, first])
    found = state_of(journal, f"supply:{an_id(70)}")

    assert (found.name, found.ordered) == ("Black", False)
    assert [one.name for one in journal.listed("supply")] == ["Black"]
    assert journal.folded("supply", found.id).findings == ()


def test_two_editions_that_have_not_seen_one_another_are_a_finding() -> None:
    """Two coordinators, two phones: the later one counts until somebody looks."""
    editions = [
        supply(at=on(1)),
        supply(an_id(71), at=on(2), supersedes=an_id(70), floor=q(150, "g")),
        supply(an_id(72), at=on(3), supersedes=an_id(70), floor=q(200, "g")),
    ]
    journal = shelf(editions)

    assert state_of(journal).floor == 200 * UG_PER_G
    assert len(journal.folded("supply", CARRAGEENAN).findings) == 1


def test_days_to_arrive_are_learned_from_the_first_lot_of_each_order() -> None:
    """The rest of an order may come weeks later: that is another delay."""
    entries = [
        order(at=on(1)), arrived(an_id(81), at=on(9)), arrived(an_id(82), at=on(28)),
        order(an_id(83), at=on(10)), arrived(an_id(84), at=on(16), order=an_id(83)),
        received(an_id(85), at=on(17)),
        order(an_id(86), at=on(18)),
    ]  # fmt: skip
    for some in (entries, entries[::-1]):
        assert state_of(shelf(some)).arrival_days == (8, 6)


def test_the_last_orders_teach_it() -> None:
    entries = []
    for n in range(ARRIVALS_KEPT + 2):
        entries += [
            order(an_id(100 + n), at=on(1 + n)),
            arrived(an_id(200 + n), at=on(10 + 2 * n), order=an_id(100 + n)),
        ]

    assert state_of(shelf(entries)).arrival_days == (11, 12, 13, 14, 15)


def test_a_lot_written_before_its_order_teaches_nothing() -> None:
    """Its time was mistyped: nothing arrives before it was ordered."""
    entries = [order(at=on(9)), arrived(an_id(81), at=on(1))]

    assert state_of(shelf(entries)).arrival_days == ()


def test_a_supplier_is_what_its_last_edition_says() -> None:
    """The ream of 480 is pinned to whoever sells it."""
    first = say("supplier.described", an_id(71), at=on(1), name="C", ream_sheets="500")
    second = say("supplier.described", an_id(72), at=on(19), supplier=an_id(71),
                 supersedes=an_id(71), name="C", ream_sheets="480", days_to_arrive="12",
                 order_by="by letter")  # fmt: skip
    closed = say("supplier.described", an_id(73), at=on(20), supplier=an_id(71),
                 supersedes=an_id(72), name="C", in_use="no")  # fmt: skip
    found = shelf([second, first]).state("supplier", Subject(an_id(71)))
    gone = shelf([first, second, closed])

    assert (found.ream_sheets, found.days_to_arrive) == (480, 12)
    assert (found.order_by, found.in_use) == ("by letter", True)
    assert gone.listed("supplier") == ()
    assert not gone.state("supplier", Subject(an_id(71))).in_use


def test_an_order_waits_for_all_of_its_packs() -> None:
    placed = order(expected="2025-09-09", price="63.557", sold_by=an_id(71))
    journal = shelf([placed])
    found = order_of(journal)

    assert (found.supply, found.packs, found.pack) == (CARRAGEENAN, 2, 454 * UG_PER_G)
    assert (found.expected, found.price) == (date(2025, 9, 9), Decimal("63.56"))
    assert (found.placed_at, found.placed_by, found.sold_by) == (on(1), AMINA, an_id(71))
    assert (found.arrived_packs, found.open_packs, found.lots) == (0, 2, ())
    assert journal.listed("order", home=CARRAGEENAN) == (found,)


def test_an_order_comes_in_parts() -> None:
    """Open while a pack is missing; done with the last, and it may be one too many."""
    lots = [arrived(an_id(81 + n), at=on(9 + n)) for n in range(3)]
    stages = [shelf([order(), *lots[:n]]) for n in range(4)]

    assert [order_of(one).open_packs for one in stages] == [2, 1, 0, 0]
    assert [len(one.listed("order")) for one in stages] == [1, 1, 0, 0]
    last = order_of(stages[3])
    assert (last.arrived_packs, last.arrived) == (3, 3 * 454 * UG_PER_G)
    assert last.first_arrived_at == on(9)
    assert last.lots == (an_id(81), an_id(82), an_id(83))


def test_what_has_not_come_of_a_cancelled_order_will_not() -> None:
    """What came of it before or after stays with it."""
    entries = [
        order(),
        arrived(an_id(81), at=on(9)),
        say("order.cancelled", an_id(82), at=on(20), order=ORDER, reason="not_to_be_had"),
        arrived(an_id(83), at=on(25)),
    ]
    for some in permutations(entries):
        found = order_of(shelf(some))
        assert (found.cancelled_at, found.cancel_reason) == (on(20), "not_to_be_had")
        assert (found.arrived_packs, found.open_packs) == (2, 0)


def test_lots_and_a_cancellation_without_their_order_are_no_order() -> None:
    entries = [
        arrived(an_id(81), at=on(9)),
        say("order.cancelled", an_id(82), at=on(20), order=ORDER, reason="too_late"),
    ]
    journal = shelf(entries)

    assert journal.folded("order", ORDER) == NOTHING
    assert order_of(shelf([*entries, order()])).arrived_packs == 1


def test_an_order_whose_pack_nobody_said_has_none() -> None:
    placed = say("order.placed", ORDER, at=on(1), what="supply", supply=BLACK, packs="3")

    assert (order_of(shelf([placed])).pack, order_of(shelf([placed])).packs) == (None, 3)


@pytest.mark.parametrize(
    ("outcome", "changes", "open_packs"),
    [("void", None, None), ("replace", {"packs": "4"}, 3), ("replace", {"packs": "1"}, 0)],
)
def test_an_order_that_was_corrected_waits_for_what_stands_now(
    outcome: str, changes: dict[str, Any] | None, open_packs: int | None
) -> None:
    placed = order()
    content = instead(placed, **changes) if changes else None
    mend = corrected(an_id(95), placed, outcome, at=on(28), content=content)
    found = shelf([placed, arrived(an_id(81), at=on(9)), mend]).state("order", ORDER)

    assert (found and found.open_packs) == open_packs


def test_a_lot_that_was_put_to_another_order_leaves_the_first() -> None:
    lot = arrived(an_id(81), at=on(9))
    content = instead(lot, order=an_id(83))
    journal = shelf([
        order(), order(an_id(83), at=on(2)), lot,
        corrected(an_id(95), lot, "replace", at=on(28), content=content),
    ])  # fmt: skip

    assert order_of(journal).lots == ()
    assert order_of(journal, an_id(83)).lots == (Subject(lot.id),)


def test_a_struck_out_lot_has_not_arrived() -> None:
    lot = arrived(an_id(81), at=on(9))
    journal = shelf([order(), lot, corrected(an_id(95), lot, "void", at=on(28))])

    assert (order_of(journal).lots, order_of(journal).open_packs) == ((), 2)
    assert state_of(journal).arrival_days == ()


def session(id: str = CLASS, *, at: datetime = BOOKED_AT, by: str = KAHU, **body: Any) -> Entry:
    """Return a class of nine on the fourth of October."""
    usual = {
        "studio": STUDIO, "name": "Saturday class", "starts": "2025-10-04T10:00:00+02:00",
        "head_count": "9", "under_16": "no",
        "needs": [
            {"what": "carrageenan", "amount": q(180, "g")},
            {"what": "paper", "paper": PAPER, "count": "28.25"},
            {"what": "supply", "supply": GLOVES, "count": "18"},
            {"what": "alum", "salt": "potash_alum", "amount": q(42, "g")},
        ],
    }  # fmt: skip
    return say("session.planned", id, at=at, by=by, **(usual | body))


def class_of(journal: MemoryJournal) -> SessionState:
    found: SessionState = journal.state("session", CLASS)
    return found


def test_a_session_says_what_it_takes_in_the_unit_of_the_rows() -> None:
    found = class_of(shelf([session()]))

    assert {one.supply: one.amount for one in found.needs} == {
        "powder:carrageenan": 180 * UG_PER_G,
        f"paper:{PAPER}": 113,
        f"supply:{GLOVES}": 18,
        "salt:potash_alum": 42 * UG_PER_G,
    }
    assert (found.head_count, found.under_16, found.planned_by) == (9, False, KAHU)
    assert (found.edition_count, found.ends_at, found.called_off) == (1, None, False)


def test_a_class_that_grew_is_another_edition_of_the_same() -> None:
    grown = session(an_id(91), at=on(20), by=AMINA, session=CLASS, supersedes=CLASS,
                    head_count="12", needs=[{"what": "carrageenan", "amount": q(240, "g")}],
                    ends="2025-10-04T16:00:00+02:00")  # fmt: skip
    for some in ([session(), grown], [grown, session()]):
        journal = shelf(some)
        found = class_of(journal)
        assert (found.id, str(found.edition), found.edition_count) == (CLASS, an_id(91), 2)
        assert (found.head_count, found.planned_by) == (12, AMINA)
        assert [one.amount for one in found.needs] == [240 * UG_PER_G]
        assert found.ends_at is not None
        assert journal.folded("session", CLASS).home == "2025-10"


def test_a_session_called_off_is_not_live_and_keeps_its_month() -> None:
    """A calendar that has it must hear that it is off."""
    off = session(an_id(91), at=on(20), session=CLASS, supersedes=CLASS, called_off="yes")
    journal = shelf([session(), off])

    assert class_of(journal).called_off
    assert journal.listed("session") == ()
    assert journal.listed_in("session", [Subject("2025-10")]) == (class_of(journal),)


def test_the_month_of_a_session_is_that_of_its_own_clock() -> None:
    """Half past midnight on the first, by the studio's clock, is still September in UTC."""
    night = session(starts="2025-10-01T00:30:00+02:00")

    assert shelf([night]).folded("session", CLASS).home == "2025-10"


def test_a_session_struck_out_is_nothing() -> None:
    booked = session()
    journal = shelf([booked, corrected(an_id(95), booked, "void", at=on(28))])

    assert journal.folded("session", CLASS) == NOTHING


def put_off(id: str, *, at: datetime, until: str, reason: str, by: str = AMINA) -> Entry:
    return say("need.put_off", id, at=at, by=by, need="order", about=CARRAGEENAN, until=until,
               reason=reason)  # fmt: skip


def test_the_last_word_on_what_was_put_off_counts() -> None:
    said = [
        put_off(an_id(80), at=on(10), until="2025-09-20", reason="no_money"),
        put_off(an_id(81), at=on(12), until="2025-09-15", reason="asked_somebody", by=KAHU),
    ]
    subject = needed("order", CARRAGEENAN)
    found = shelf(said[::-1]).state("put_off", subject)

    assert (found.until, found.reason) == (date(2025, 9, 15), "asked_somebody")
    assert (found.by, found.at, found.need, found.about) == (
        KAHU, on(12), "order", CARRAGEENAN,
    )  # fmt: skip
    struck = corrected(an_id(95), said[1], "void", at=on(28))
    assert shelf([*said, struck]).state("put_off", subject).until == date(2025, 9, 20)
    both = [struck, corrected(an_id(96), said[0], "void", at=on(28))]
    assert shelf([*said, *both]).state("put_off", subject) is None


def permission(id: str = an_id(80), *, at: datetime = FIRST, **body: Any) -> Entry:
    usual = {
        "studio": STUDIO, "about": "all_of_it", "asked": "the sewer works",
        "asked_on": "2025-08-18", "answer": "with_conditions",
        "conditions": "strained, pH 6 to 10", "review_on": "2026-08-18",
    }  # fmt: skip
    return say("permission.recorded", id, at=at, **(usual | body))


def test_a_permission_stands_under_its_studio_as_it_was_recorded() -> None:
    """A later answer is another record; the earlier one was true when it was given."""
    later = permission(an_id(81), at=on(20), answer="no", asked_on="2025-09-19")
    journal = shelf([permission(), later])
    first, second = journal.listed("permission", home=STUDIO)

    assert (first.answer, first.conditions) == ("with_conditions", "strained, pH 6 to 10")
    assert (first.asked_on, first.review_on) == (date(2025, 8, 18), date(2026, 8, 18))
    assert (first.recorded_at, first.recorded_by) == (on(1), AMINA)
    assert (second.answer, second.asked_on) == ("no", date(2025, 9, 19))


def test_a_permission_struck_out_is_nothing() -> None:
    given = permission()
    journal = shelf([given, corrected(an_id(95), given, "void", at=on(28))])

    assert journal.folded("permission", Subject(an_id(80))) == NOTHING
    assert journal.listed("permission", live=False) == ()


def test_what_came_in_other_packs_is_taken_off_what_is_still_to_come() -> None:
    """Four bags of 250 g were ordered and a kilogram came in one: nothing is on the way."""
    placed = order(packs="4", pack=q(250, "g"))
    came = say("lot.received", an_id(90), at=on(9), studio=STUDIO, what="carrageenan",
               name="CG", weight=q(1, "kg"), order=ORDER)  # fmt: skip
    part = say("lot.received", an_id(90), at=on(9), studio=STUDIO, what="carrageenan",
               name="CG", weight=q(300, "g"), order=ORDER)  # fmt: skip

    whole, half = order_of(shelf([placed, came])), order_of(shelf([placed, part]))
    assert (whole.open_packs, whole.open_amount) == (0, 0)
    assert (half.open_packs, half.open_amount) == (3, 700 * UG_PER_G)


def test_an_order_that_came_the_same_day_took_no_days_whoever_wrote_in_which_zone() -> None:
    """One clock said 09:00+12:00 and the other 21:30 UTC of the day before."""
    morning = datetime.fromisoformat("2025-10-01T09:00+12:00")
    came = datetime.fromisoformat("2025-09-30T21:30+00:00")

    state = state_of(shelf([order(at=morning), arrived(an_id(90), at=came)]))

    assert state.arrival_days == (0,)


def test_cut_paper_is_a_supply_though_nobody_received_any() -> None:
    parents = received(what="paper", paper=PAPER, sheet_count="500")
    journal = shelf([parents, cut(CUT, TUB)])

    state = journal.state("supply", Subject(f"paper:{SMALL_PAPER}"))
    assert (state.what, state.paper, state.measure) == ("paper", SMALL_PAPER, "sheets")


def test_what_nobody_described_is_something_else() -> None:
    """Its description may have been taken back while a box of it stands there."""
    box = received(what="supply", supply=GLOVES, piece_count="50")

    assert shelf([box]).state("supply", Subject(f"supply:{GLOVES}")).what == "other"
