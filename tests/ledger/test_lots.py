"""Lots: received in packs, opened, counted, moved, put right, priced and cut."""

from datetime import date
from decimal import Decimal
from itertools import permutations
from typing import Any

import pytest

from coop.ids import Subject
from coop.ledger.accounts import CUT as CUT_UP
from coop.ledger.accounts import UG_PER_G, UL_PER_ML, balances
from coop.ledger.folding import NOTHING
from coop.ledger.lots import COUNTS_KEPT
from coop.ledger.measure import bare_spoon
from tests.support.sayings import (
    AMINA,
    GUM,
    KAHU,
    LONG_AGO,
    LOT,
    PAPER,
    PAPER_LOT,
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
from tests.support.stock import (
    BARN,
    BLACK,
    BOTTLE,
    BOXES,
    COUNT,
    CUT,
    GLOVES,
    LATER,
    PART,
    PUT_RIGHT,
    SMALL_PAPER,
    TUB,
    adjusted,
    counted,
    cut,
    fold_of,
    left,
    lot_of,
    moved,
    received,
    shelf,
    small_paper,
)

KILO_UG = 1000 * UG_PER_G


@pytest.mark.parametrize(
    ("body", "measure", "pack", "whole", "substance"),
    [
        ({"weight": q(454, "g"), "what": "carrageenan", "pack_count": "2"},
         "weight", 454 * UG_PER_G, 908 * UG_PER_G, "powder:carrageenan"),
        ({"weight": q(1, "lb"), "what": "alum", "salt": "potash_alum"},
         "weight", 453_592_370, 453_592_370, "salt:potash_alum"),
        ({"sheet_count": "500", "what": "paper", "paper": PAPER, "pack_count": "2"},
         "sheets", 2_000, 4_000, f"paper:{PAPER}"),
        ({"piece_count": "50", "what": "supply", "supply": GLOVES, "pack_count": "4"},
         "pieces", 50, 200, f"supply:{GLOVES}"),
        ({"volume": q(500, "ml"), "what": "supply", "supply": BLACK},
         "volume", 500 * UL_PER_ML, 500 * UL_PER_ML, f"supply:{BLACK}"),
        ({"weight": q(1, "kg"), "what": "supply", "supply": BLACK, "soda": "crystals"},
         "weight", KILO_UG, KILO_UG, f"supply:{BLACK}"),
    ],
)  # fmt: skip
def test_a_lot_is_so_many_packs_of_what_one_holds(
    body: dict[str, Any], measure: str, pack: int, whole: int, substance: str
) -> None:
    """A pound is 453.59237 g exactly (international yard and pound agreement of 1959)."""
    journal = shelf([received(**body)])
    lot = lot_of(journal, TUB)

    assert (lot.measure, lot.pack, lot.received) == (measure, pack, whole)
    assert (lot.substance, left(journal, TUB)) == (substance, whole)


def test_gall_bought_by_volume_is_kept_by_weight() -> None:
    """Baths take gall by weight: a bottle without one is reckoned by the usual spoon."""
    journal = shelf([received(what="gall", volume=q(500, "ml"))])
    lot = lot_of(journal, TUB)

    assert lot.measure == "weight"
    assert lot.received == round(500 * bare_spoon("gall")[0] * UG_PER_G)
    assert left(journal, TUB) == lot.received


def test_a_lot_keeps_what_its_label_says() -> None:
    lot = lot_of(
        shelf([
            received(
                what="supply", supply=BLACK, weight=q(1, "kg"), soda="crystals",
                tare=q(212, "g"), best_before="2026-05-01", opened_days="90",
                sold_by=an_id(90), supplier="on the market",
            )
        ]),
        TUB,
    )  # fmt: skip

    assert (lot.soda, lot.tare_g, lot.best_before) == ("crystals", 212.0, date(2026, 5, 1))
    assert (lot.opened_days, lot.sold_by, lot.supplier) == (90, an_id(90), "on the market")


def test_a_lot_is_opened_once_and_its_tub_weighed_when_somebody_does() -> None:
    """The day it was first opened is what its age is told from."""
    opened = [
        say("lot.opened", an_id(80), at=on(10), lot=TUB),
        say("lot.opened", an_id(81), at=on(12), lot=TUB, tare=q(60, "g")),
        say("lot.opened", an_id(82), at=on(14), lot=TUB),
    ]
    lot = lot_of(shelf([received(), *opened]), TUB)

    assert lot.opened_at == on(10)
    assert lot.tare_g == 60


@pytest.mark.parametrize(
    ("seen", "grams", "doubt_g"),
    [
        ({"packs": "1"}, 454, 0),
        ({"packs": "1", "weight": q(149, "g")}, 454 + 149 - 62, 0),
        ({"weight": q(149, "g"), "tare": q(49, "g")}, 100, 0),
        ({"weight": q(40, "g")}, 0, 0),
        ({"level": "2"}, 227, 56.75),
        ({"packs": "1", "level": "4"}, 908, 56.75),
        ({"level": "0"}, 0, 56.75),
        ({"empty": "yes"}, 0, 0),
    ],
)
def test_what_is_seen_of_a_powder_is_told_in_grams(
    seen: dict[str, Any], grams: float, doubt_g: float
) -> None:
    """By unopened packs and the scale less the tub, or by a level good to half a quarter."""
    tub = received(what="carrageenan", weight=q(454, "g"), pack_count="2", tare=q(62, "g"))
    journal = shelf([tub, counted(COUNT, TUB, **seen)])
    (count,) = lot_of(journal, TUB).counts

    assert (count.seen, count.doubt) == (grams * UG_PER_G, doubt_g * UG_PER_G)
    assert left(journal, TUB) == 908 * UG_PER_G


def test_paper_pieces_and_bottles_are_counted_in_their_own_measure() -> None:
    """A half sheet is a half; a count sets nothing, it only says what was seen."""
    journal = shelf([
        received(PAPER_LOT, what="paper", paper=PAPER, sheet_count="500", pack_count="2"),
        received(BOXES, what="supply", supply=GLOVES, piece_count="50", pack_count="4"),
        received(BOTTLE, what="supply", supply=BLACK, volume=q(500, "ml")),
        counted(an_id(80), PAPER_LOT, loose="491.5", counted_with=KAHU),
        counted(an_id(81), BOXES, packs="1", loose="8"),
        counted(an_id(82), BOTTLE, volume=q(125, "ml")),
    ])  # fmt: skip
    paper, boxes, bottle = (lot_of(journal, one).counts[0] for one in (
        PAPER_LOT, BOXES, BOTTLE,
    ))  # fmt: skip

    assert (paper.seen, paper.by, paper.counted_with) == (1_966, AMINA, Subject(KAHU))
    assert (boxes.seen, boxes.packs) == (58, 1)
    assert bottle.seen == 125 * UL_PER_ML
    assert left(journal, PAPER_LOT) == 4_000


def test_who_counts_with_themselves_counts_alone() -> None:
    """A phone may say so; two people have not looked."""
    lot = lot_of(
        shelf([*described(), counted(an_id(80), PAPER_LOT, loose="490", counted_with=AMINA)]),
        PAPER_LOT,
    )

    (count,) = lot.counts
    assert (count.by, count.counted_with) == (AMINA, None)


def test_only_the_last_counts_are_kept_with_a_lot() -> None:
    """An old count is still an entry of its history."""
    counts = [counted(an_id(80 + n), TUB, at=on(10 + n), level="2") for n in range(9)]
    lot = lot_of(shelf([received(), *counts]), TUB)

    assert [one.entry for one in lot.counts] == [one.id for one in counts[-COUNTS_KEPT:]]


def test_a_whole_lot_that_was_moved_stands_in_the_other_studio() -> None:
    journal = shelf([received(), moved(an_id(80), TUB)])

    assert lot_of(journal, TUB).studio == fold_of(journal, TUB).home == BARN
    assert journal.state("lot", Subject(an_id(80))) is None
    assert left(journal, TUB) == KILO_UG


def test_a_part_that_was_moved_is_a_lot_of_its_own() -> None:
    """Of the same kind, age and tub; its price and counts stay with the lot it came from."""
    journal = shelf([
        received(best_before="2026-05-01", carrageenan="lambda"),
        say("lot.priced", an_id(80), at=on(10), lot=TUB, price="70"),
        counted(COUNT, TUB, at=on(11), level="4"),
        moved(PART, TUB, amount=q(300, "g")),
    ])  # fmt: skip
    part = lot_of(journal, PART)

    assert (part.part_of, part.studio, part.name) == (TUB, BARN, "CG-1")
    assert (part.pack, part.pack_count, part.received) == (300 * UG_PER_G, 1, 300 * UG_PER_G)
    assert (part.best_before, part.carrageenan) == (date(2026, 5, 1), "lambda")
    assert (part.price, part.counts, part.received_at) == (None, (), LONG_AGO)
    assert lot_of(journal, TUB).studio == STUDIO
    assert (left(journal, TUB), left(journal, PART)) == (700 * UG_PER_G, 300 * UG_PER_G)


def test_a_spooned_part_is_reckoned_by_the_lots_own_spoon() -> None:
    """Ten level tablespoons of 11.1 g each (a US tablespoon: 1/256 of 231 cubic inches)."""
    journal = shelf([
        received(),
        say("lot.spoon_weighed", an_id(80), at=on(10), lot=TUB, spoon_count="10",
            spoon="us_tbsp", weight=q(111, "g")),
        moved(PART, TUB, amount=q(4, "us_tbsp", heap="level")),
    ])  # fmt: skip

    assert left(journal, PART) == pytest.approx(44.4 * UG_PER_G, abs=1)
    assert left(journal, TUB) + left(journal, PART) == KILO_UG


def test_a_part_put_to_a_lot_that_is_there_makes_no_new_one() -> None:
    journal = shelf([
        received(),
        received(an_id(80), studio=BARN),
        moved(PART, TUB, amount=q(300, "g"), into=an_id(80)),
    ])  # fmt: skip

    assert journal.state("lot", PART) is None
    assert left(journal, an_id(80)) == 1_300 * UG_PER_G
    assert left(journal, TUB) == 700 * UG_PER_G


def test_parts_of_parts_add_up_to_what_came_in() -> None:
    """From the market to the Ropewalk, to the barn, and a little of it back."""
    parts = [
        moved(an_id(80), TUB, amount=q(600, "g"), at=on(10)),
        moved(an_id(81), an_id(80), amount=q(250, "g"), at=on(11), studio=STUDIO),
        moved(an_id(82), an_id(81), amount=q(50, "g"), at=on(12)),
    ]
    journal = shelf([*reversed(parts), received()])

    held = [left(journal, one) // UG_PER_G for one in (TUB, an_id(80), an_id(81), an_id(82))]
    assert held == [400, 350, 200, 50]
    assert lot_of(journal, an_id(82)).part_of == an_id(81)
    assert lot_of(journal, an_id(82)).received_at == LONG_AGO


@pytest.mark.parametrize("order", list(permutations(range(3))))
def test_lots_that_are_said_to_be_parts_of_one_another_are_nothing(
    order: tuple[int, ...],
) -> None:
    """Nobody means it; another server may send it, and no page may fall over it."""
    one, other, third = an_id(80), an_id(81), an_id(82)
    said = [
        moved(one, other, amount=q(1, "g")),
        moved(other, one, amount=q(1, "g")),
        moved(third, one, amount=q(1, "g")),
    ]
    journal = shelf([said[n] for n in order])

    asked = [(one, other, third)[n] for n in order]
    assert [fold_of(journal, name) for name in asked] == [NOTHING] * 3
    assert journal.listed("lot", live=False) == ()


def test_a_lot_that_is_said_to_be_a_part_of_itself_is_nothing() -> None:
    journal = shelf([moved(PART, PART, amount=q(1, "g"))])

    assert fold_of(journal, PART) == NOTHING


def test_a_part_of_a_lot_that_never_came_is_nothing_until_it_comes() -> None:
    """A phone may hand in the carrying before the receiving."""
    part = moved(PART, TUB, amount=q(300, "g"))
    journal = shelf([part])
    before = journal.state("lot", PART)
    journal = shelf([part, received()])

    assert before is None
    assert left(journal, PART) == 300 * UG_PER_G


@pytest.mark.parametrize(
    ("way", "cause", "account", "grams"),
    [
        ("out", "used", "used:used", 900),
        ("out", "lost", "gap:lost", 900),
        ("in", "counting_noise", "gap:counting_noise", 1_100),
    ],
)
def test_what_is_put_right_goes_where_its_cause_says(
    way: str, cause: str, account: str, grams: int
) -> None:
    """What was used is use, and the order list reckons with it; what was lost is not."""
    entry = adjusted(PUT_RIGHT, TUB, way=way, cause=cause, amount=q(100, "g"))
    journal = shelf([received(), entry])
    (row,) = journal.moves(account)

    assert left(journal, TUB) == grams * UG_PER_G
    assert (row.entry, row.amount, row.at) == (entry.id, 100 * UG_PER_G, LATER)


def test_what_puts_a_count_right_belongs_to_the_moment_of_the_count() -> None:
    """Judged on Sunday, lost by Friday: later counts must not see the gap again."""
    entry = adjusted(PUT_RIGHT, TUB, at=on(20), amount=q(500, "g"), counted=COUNT)
    journal = shelf([received(), counted(COUNT, TUB, at=on(12), level="2"), entry])
    (row,) = journal.moves("gap:lost")
    (count,) = lot_of(journal, TUB).counts

    assert (row.at, row.week) == (on(12), "2025-W37")
    assert count.put_right == entry.id
    assert left(journal, TUB) == count.seen


def test_a_count_that_nobody_knows_is_put_right_at_the_moment_of_the_entry() -> None:
    entry = adjusted(PUT_RIGHT, TUB, at=on(20), amount=q(500, "g"), counted=an_id(99))
    (row,) = shelf([received(), entry]).moves("gap:lost")

    assert row.at == on(20)


def test_the_last_price_counts_in_whole_cents() -> None:
    prices = [
        say("lot.priced", an_id(80), at=on(10), lot=TUB, price="70"),
        say("lot.priced", an_id(81), at=on(12), lot=TUB, price="63.557"),
    ]
    lot = lot_of(shelf([received(), *prices]), TUB)

    assert lot.price == Decimal("63.56")
    assert str(lot.price) == "63.56"


def cut_up(*entries: Any) -> Any:
    return shelf([*described(), small_paper(), *entries])


def test_sheets_cut_from_parents_are_a_lot_and_the_rest_is_offcut() -> None:
    """25 of 0.35 m2 give 90 of 0.0875 m2: 0.875 m2 are left over."""
    journal = cut_up(cut(CUT, PAPER_LOT, made_count="90"))
    lot = lot_of(journal, CUT)

    assert (lot.cut_from, lot.paper, lot.name) == (PAPER_LOT, SMALL_PAPER, "cut")
    assert lot.substance == f"paper:{SMALL_PAPER}"
    assert lot.offcut_m2 == pytest.approx(0.875)
    assert (left(journal, PAPER_LOT), left(journal, CUT)) == (4 * 935, 4 * 90)
    assert fold_of(journal, CUT).findings == ()
    assert balances(journal.moves(CUT_UP)) == {
        (f"lot:{PAPER_LOT}", f"paper:{PAPER}"): -100,
        (CUT_UP, f"paper:{PAPER}"): 100,
        (CUT_UP, f"paper:{SMALL_PAPER}"): -360,
        (f"lot:{CUT}", f"paper:{SMALL_PAPER}"): 360,
    }


@pytest.mark.parametrize(
    ("grain", "turned", "then"),
    [
        ("long", {}, "long"),
        ("long", {"turned": "no"}, "long"),
        ("long", {"turned": "yes"}, "short"),
        ("short", {"turned": "yes"}, "long"),
        ("not_known", {"turned": "yes"}, "not_known"),
    ],
)
def test_sheets_cut_across_their_parents_have_the_other_grain(
    grain: str, turned: dict[str, Any], then: str
) -> None:
    """Fibres along a parent's long side run across sheets that lay across it: geometry."""
    parents = an_id(91)
    parcel = received(parents, what="paper", paper=PAPER, sheet_count="500", grain=grain)
    journal = cut_up(parcel, cut(CUT, parents, **turned))

    assert lot_of(journal, CUT).grain == then


@pytest.mark.parametrize(("made", "odd"), [(100, ()), (101, ("cut-over-the-sheet",))])
def test_more_sheets_than_the_parents_hold_are_a_finding(
    made: int, odd: tuple[str, ...]
) -> None:
    """It is written all the same: somebody has miscounted, and somebody should look."""
    journal = cut_up(cut(CUT, PAPER_LOT, made_count=str(made)))

    assert tuple(one.code for one in fold_of(journal, CUT).findings) == odd
    assert left(journal, CUT) == 4 * made


def test_offcut_of_a_paper_nobody_described_is_not_known() -> None:
    journal = shelf([*described(), cut(CUT, PAPER_LOT)])

    assert lot_of(journal, CUT).offcut_m2 is None
    assert fold_of(journal, CUT).findings == ()


@pytest.mark.parametrize("giver", [LOT, an_id(99)])
def test_nothing_is_cut_from_what_is_no_paper(giver: str) -> None:
    journal = cut_up(cut(CUT, giver))

    assert fold_of(journal, CUT) == NOTHING
    assert left(journal, LOT) == 5_000 * UG_PER_G


def test_what_a_bath_and_a_stack_draw_for_a_session_is_written_with_it() -> None:
    """Booked use is told apart from the use of ordinary weeks."""
    booked = an_id(90)
    journal = shelf([
        *described(), *with_size(), mixed(session=booked), sized(session=booked),
        through(an_id(80), 20, at=on(18), session=booked),
        through(an_id(81), 20, at=on(18, 12)),
    ])  # fmt: skip

    drawn = {
        one.substance.partition(":")[0]: one.session
        for lot in (LOT, GUM)
        for one in journal.moves(f"lot:{lot}")
        if one.from_account == f"lot:{lot}"
    }
    sheets = {str(one.entry): one.session for one in journal.moves(f"lot:{PAPER_LOT}")}
    assert drawn == {"salt": booked, "powder": booked}
    assert (sheets[an_id(80)], sheets[an_id(81)]) == (booked, "")


MENDED = (
    received(),
    say("lot.opened", an_id(80), at=on(10), lot=TUB),
    counted(COUNT, TUB, at=on(12), level="2"),
    moved(PART, TUB, amount=q(300, "g")),
    adjusted(PUT_RIGHT, TUB, amount=q(100, "g"), counted=COUNT),
    say("lot.priced", an_id(81), at=on(21), lot=TUB, price="70"),
)


@pytest.mark.parametrize("struck", MENDED[1:], ids=lambda one: one.kind)
def test_what_was_struck_out_is_as_if_it_had_not_been_said(struck: Any) -> None:
    journal = shelf([*MENDED, corrected(an_id(95), struck, "void", at=on(28))])
    without = shelf([one for one in MENDED if one is not struck])

    for lot in (TUB, PART):
        assert journal.state("lot", lot) == without.state("lot", lot)
        assert left(journal, lot) == left(without, lot)


def test_a_lot_struck_out_takes_its_parts_with_it() -> None:
    """What never came was never carried; nothing of it is on hand."""
    journal = shelf([*MENDED, corrected(an_id(95), MENDED[0], "void", at=on(28))])

    assert journal.listed("lot", live=False) == ()
    assert journal.holding("lot") == {}


@pytest.mark.parametrize(
    ("entry", "changes", "held_g"),
    [
        (MENDED[0], {"weight": q(2, "kg")}, (1_600, 300)),
        (MENDED[0], {"weight": q(500, "g"), "pack_count": "3"}, (1_100, 300)),
        (MENDED[3], {"amount": q(200, "g")}, (700, 200)),
        (MENDED[4], {"way": "in"}, (800, 300)),
        (MENDED[4], {"amount": q(40, "g")}, (660, 300)),
    ],
)
def test_what_was_put_in_the_place_of_an_entry_counts_everywhere(
    entry: Any, changes: dict[str, Any], held_g: tuple[int, int]
) -> None:
    content = instead(entry, **changes)
    mend = corrected(an_id(95), entry, "replace", at=on(28), content=content)
    journal = shelf([*MENDED, mend])

    assert (left(journal, TUB), left(journal, PART)) == tuple(g * UG_PER_G for g in held_g)


def test_a_ream_put_right_to_480_mends_the_lot_and_its_count() -> None:
    """Two reams typed as 500: 1,000 were believed, 960 came."""
    ream = received(what="paper", paper=PAPER, sheet_count="500", pack_count="2")
    content = instead(ream, sheet_count="480")
    journal = shelf([
        ream,
        counted(COUNT, TUB, packs="1", loose="11.5"),
        corrected(an_id(95), ream, "replace", at=on(28), content=content),
    ])  # fmt: skip
    (count,) = lot_of(journal, TUB).counts

    assert left(journal, TUB) == 4 * 960
    assert count.seen == 4 * 491.5


def test_a_chain_of_carryings_is_never_too_long() -> None:
    """Back and forth between two studios for years, and the page still opens."""
    long = 400
    parts = [received(), *(
        moved(an_id(1000 + n), an_id(999 + n) if n else TUB, amount=q(500 - n, "g"),
              studio=(BARN, STUDIO)[n % 2])
        for n in range(long)
    )]  # fmt: skip
    journal = shelf(parts)
    last = lot_of(journal, an_id(1000 + long - 1))

    assert last.received_at == LONG_AGO
    assert left(journal, last.id) == 101 * UG_PER_G


@pytest.mark.parametrize("tail", [0, 40])
@pytest.mark.parametrize("reverse", [False, True])
def test_a_long_circle_of_parts_is_nothing_whoever_is_asked_first(
    tail: int, reverse: bool
) -> None:
    """Each a part of the next and the last of the first, with a queue that hangs on it."""
    ring = [Subject(an_id(1000 + n)) for n in range(60)]
    queue = [Subject(an_id(2000 + n)) for n in range(tail)]
    givers = [*ring[1:], ring[0], *([ring[0], *queue[:-1]] if queue else [])]
    parts = zip(ring + queue, givers, strict=True)
    journal = shelf([moved(one, giver, amount=q(1, "g")) for one, giver in parts])
    view = journal.view()

    asked = sorted(ring + queue, reverse=reverse)
    assert {view.folded("lot", one) for one in asked} == {NOTHING}


def test_a_sealed_part_is_not_opened_by_what_became_of_the_rest() -> None:
    """The pack that was carried to the barn is still closed when ours is opened later."""
    journal = shelf([
        received(),
        moved(PART, TUB, at=on(10), amount=q(300, "g")),
        say("lot.opened", an_id(80), at=on(12), lot=TUB, tare=q(60, "g")),
    ])  # fmt: skip

    assert lot_of(journal, TUB).opened_at == on(12)
    assert lot_of(journal, PART).opened_at is None


def test_a_part_of_an_open_tub_is_as_old_as_the_tub() -> None:
    journal = shelf([
        received(),
        say("lot.opened", an_id(80), at=on(9), lot=TUB),
        moved(PART, TUB, at=on(10), amount=q(300, "g")),
    ])  # fmt: skip

    assert lot_of(journal, PART).opened_at == on(9)


def test_a_spoon_weighed_later_mends_what_was_moved_and_put_right_before() -> None:
    """Or the part would hold more than was taken for it, by what the spoon was off."""
    spoon = say("lot.spoon_weighed", an_id(95), at=on(20), lot=TUB, spoon_count="10",
                spoon="us_tbsp", weight=q(110, "g"))  # fmt: skip
    part = moved(PART, TUB, amount=q(30, "us_tbsp", heap="level"), at=on(12))
    journal = shelf([received(), part, spoon])

    whole, given = lot_of(journal, TUB), lot_of(journal, PART)
    (row,) = [one for one in fold_of(journal, TUB).moves if str(one.entry) == PART]
    assert row.amount == given.received == pytest.approx(330 * UG_PER_G, rel=1e-6)
    assert whole.spoon == given.spoon


def test_gall_by_volume_is_weighed_by_the_spoon_that_somebody_weighed_of_it() -> None:
    came = received(what="gall", volume=q(500, "ml"))
    spoon = say("lot.spoon_weighed", an_id(95), at=on(20), lot=TUB, spoon_count="1",
                spoon="metric_cup", weight=q(200, "g"))  # fmt: skip

    assert lot_of(shelf([came, spoon]), TUB).received == pytest.approx(400 * UG_PER_G)


def test_a_part_of_nothing_is_no_lot() -> None:
    """A quarter of a piece is none; nothing may stand on a shelf with a pack of nothing."""
    boxes = received(what="supply", supply=GLOVES, piece_count="50")
    journal = shelf([boxes, moved(PART, TUB, count="0.25")])

    assert fold_of(journal, PART) == NOTHING
    assert left(journal, TUB) == 50


def test_what_put_a_count_right_is_odd_once_the_count_was_taken_back() -> None:
    """What was put right still counts; without the count nobody would see why."""
    count = counted(COUNT, TUB, weight=q(900, "g"), at=on(15))
    right = adjusted(PUT_RIGHT, TUB, amount=q(100, "g"), counted=COUNT, at=on(16))
    whole = shelf([received(), count, right])
    struck = shelf([received(), count, right, corrected(an_id(96), COUNT, "void", at=on(17))])

    assert fold_of(whole, TUB).findings == ()
    assert [one.code for one in fold_of(struck, TUB).findings] == ["put-right-without-count"]
