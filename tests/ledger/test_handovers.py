"""Baths poured apart, poured together, carried: what one gives, the other has."""

from fractions import Fraction
from math import exp, sqrt
from time import perf_counter
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coop.ids import EntryId, Subject
from coop.ledger.digest import alike, differences
from coop.ledger.ports import Admission
from coop.ledger.table import part_of
from coop.science.alum import water_fraction
from coop.science.defaults import Z_90
from coop.store.verify import verify
from tests.support.ledgers import SqlBook, sqlite_book, take_in
from tests.support.memory import MemoryJournal
from tests.support.sayings import (
    AMINA,
    BATH,
    LEDGER,
    LOT,
    NODE,
    PAPER,
    PAPER_LOT,
    STUDIO,
    VESSEL,
    an_id,
    corrected,
    described,
    instead,
    mixed,
    on,
    q,
    say,
    spooned,
    through,
    topped_up,
)

TAKEN = Admission(at=on(29), by=AMINA)
OTHER, THIRD = an_id(20), an_id(21)
SPLIT = an_id(50)
TUBS = tuple(Subject(an_id(n)) for n in range(60, 65))
POTTERY = Subject(an_id(70))
POTASH = an_id(30)
SULFATE = "aluminium_sulfate_14"
CHAIN = 300


def tub(id: str, *, studio: str = STUDIO, lidded: str = "yes", brim: object = 16):
    return say("vessel.described", id, at=on(2), studio=studio, name=f"tub {id[-2:]}",
               inside_length=q(740, "mm"), inside_width=q(540, "mm"), brim=q(brim, "l"),
               lidded=lidded, place="1")  # fmt: skip


def place():
    """Return two studios, with tubs for what is poured off."""
    other = say("studio.described", POTTERY, at=on(2), name="Pottery", letter="P",
                drain="sewer", emergency="112", poison="115")  # fmt: skip
    return [*described(), other, *map(tub, TUBS[:4]), tub(TUBS[4], studio=POTTERY)]


def journal(*entries) -> MemoryJournal:
    made = MemoryJournal(ledger=LEDGER, node=NODE)
    made.append([*place(), *entries], TAKEN)
    return made


def split(*litres, id: str = SPLIT, bath: str = BATH, at=None, tubs=TUBS):
    parts = [
        {"vessel": tubs[n], "name": f"R-A{4 + n}", "litres": q(one, "l")}
        for n, one in enumerate(litres)
    ]
    return say("bath.split", id, at=at or on(18), bath=bath, parts=parts)


def join(bath: str, giver: str, litres: object = None, *, id: str = an_id(51), at=None):
    body: dict[str, Any] = {} if litres is None else {"litres": q(litres, "l")}
    return say("bath.joined", id, at=at or on(18), bath=bath, giver=giver, **body)


def belief(ledger: MemoryJournal, bath: str):
    return ledger.state("bath", Subject(bath)).estimate.belief


def sd(ledger: MemoryJournal, bath: str) -> float:
    return sqrt(belief(ledger, bath).cc)


def rows(ledger: MemoryJournal, entry: str):
    """Return (substance, from, to, amount) of what an entry moved, by whichever bath."""
    found = [
        (one.substance, one.from_account, one.to_account, one.amount)
        for one in ledger._moves()
        if one.entry == entry
    ]
    return sorted(found)


def codes(folded):
    return [one.code for one in folded.findings]


def water_ml(litres: float, g_per_l: float) -> float:
    """Return the water put in that stands in measured litres of a bath [mL]."""
    return 1000 * litres * water_fraction(strength_g_per_l=g_per_l, salt=SULFATE)


def test_a_part_is_as_strong_as_the_bath_it_was_poured_from_and_known_as_well() -> None:
    """Whoever poured it off had weighed nothing: a bare spoon is as wide in the part."""
    ledger = journal(spooned(), split(4))

    assert belief(ledger, SPLIT).strength_g_per_l == pytest.approx(
        belief(ledger, BATH).strength_g_per_l
    )
    assert sd(ledger, SPLIT) == pytest.approx(sd(ledger, BATH))
    assert sd(ledger, SPLIT) * Z_90 > 0.25
    assert ledger.state("bath", Subject(SPLIT)).how == "spooned"
    part = belief(ledger, SPLIT)
    assert part.volume_ml == pytest.approx(water_ml(4, part.strength_g_per_l))


def test_litres_that_are_poured_are_litres_of_the_bath_not_of_water() -> None:
    """
    A litre of a bath of 52.63 g to the kilogram of water holds 51.19 g of potash alum.

    Source of the check: 51.19 g/L, Laliberte and Cooper's density of potash alum at 20 C. A
    litre counted as water put in would take 52.5 g; by hand the counts stay as they were said.
    """
    lot = say("lot.received", POTASH, at=on(3), studio=STUDIO, what="alum", name="AP-30",
              salt="potash_alum", supplier="S", weight=q(5, "kg"))  # fmt: skip
    mix = mixed(water=q(10, "l"), salt=[{"lot": POTASH, "amount": q("525", "g")}])
    ledger = journal(lot, mix, split(1), join(BATH, SPLIT, at=on(19)))
    salt_ug, water_ul = (amount for *_, amount in rows(ledger, SPLIT))
    plain = ledger.state("bath", BATH).estimate.plain

    assert salt_ug / 1e6 == pytest.approx(51.19, abs=0.1)
    assert water_ul / 1e3 == pytest.approx(975, abs=1)
    assert journal(lot, mix, split(1)).state(
        "bath", BATH
    ).estimate.plain.volume_ml == pytest.approx(9_000)
    assert plain.strength_g_per_l == pytest.approx(52.5)


def test_a_part_begins_its_own_counts_and_keeps_the_age_of_the_liquid() -> None:
    """Nothing went through the new tub yet; the liquid is as old as it is."""
    ledger = journal(mixed(), through(an_id(52), 40, at=on(17, 20)), split(4))
    part = ledger.state("bath", Subject(SPLIT))

    assert (part.half_count, part.through) == (0, ())
    assert part.mixed_at == ledger.state("bath", BATH).mixed_at
    assert (part.name, part.vessel, part.studio) == ("R-A4", TUBS[0], STUDIO)
    assert part.hands.entry == SPLIT


def test_what_is_poured_off_is_posted_once_to_the_microgram() -> None:
    """4 L and 2.5 L, with 40 g to the litre of water, in one row each with both its ends."""
    ledger = journal(mixed(), split(4, "2.5"))
    ends = [(f"bath:{BATH}", f"bath:{SPLIT}"), (f"bath:{BATH}", f"bath:{SPLIT}:2")]
    salt = f"salt:{SULFATE}"
    four, more = water_ml(4, 40), water_ml(2.5, 40)

    assert rows(ledger, SPLIT) == [
        (salt, *ends[0], round(four * 40_000)),
        (salt, *ends[1], round(more * 40_000)),
        ("water", *ends[0], round(four * 1_000)),
        ("water", *ends[1], round(more * 1_000)),
    ]
    held = ledger.held([f"bath:{one}" for one in (BATH, SPLIT, f"{SPLIT}:2")])
    assert sum(n for (_, what), n in held.items() if what == salt) == 480_000_000
    assert sum(n for (_, what), n in held.items() if what == "water") == 12_000_000


@settings(max_examples=60)
@given(st.lists(st.integers(1_000, 12_000), min_size=1, max_size=4))
def test_what_the_giver_lost_the_parts_have(ml: list[int]) -> None:
    """Also when more is said than there was; a part of nothing holds what clings, 1 mL."""
    ledger = journal(mixed(), split(*(f"{one / 1000:g}" for one in ml)))
    giver = ledger.state("bath", BATH).estimate
    ids = [part_of(EntryId(SPLIT), place) for place in range(len(ml))]
    parts = [ledger.state("bath", one).estimate for one in ids]
    posted = {
        what: sum(amount for substance, *_, amount in rows(ledger, SPLIT) if substance == what)
        for what in ("water", "salt:aluminium_sulfate_14")
    }

    assert sum(one.water_ml.came_in for one in parts) - giver.water_ml.poured_out <= 3.001
    assert posted["water"] == pytest.approx(giver.water_ml.poured_out * 1e3, abs=4)
    assert posted["salt:aluminium_sulfate_14"] == pytest.approx(
        giver.salt_g.poured_out * 1e6, abs=4
    )
    assert giver.belief.volume_ml >= 0.999


def test_a_second_part_takes_only_what_the_first_left() -> None:
    """12 L do not make 8 and 8: the slip is told when it is written, not folded into more."""
    ledger = journal(mixed(), split(8, 8))

    assert belief(ledger, SPLIT).volume_ml == pytest.approx(water_ml(8, 40))
    rest_ml = 12_000 - water_ml(8, 40)
    assert belief(ledger, f"{SPLIT}:2").volume_ml == pytest.approx(rest_ml, abs=50)
    assert codes(ledger.folded("bath", BATH)) == ["more-than-stood-there"]


@pytest.mark.parametrize("what", ["alum", "size"])
def test_more_poured_off_than_can_have_stood_there_is_said_of_the_giver(what: str) -> None:
    """Within the doubt of what was measured nobody is asked: 12.1 of 12 L is no slip."""
    pair = (
        [mixed(), mixed(OTHER, vessel=TUBS[3], water=q(1, "l"), grams=40)]
        if what == "alum"
        else [size(water=12), size(OTHER, water=1, tubid=TUBS[3])]
    )
    for litres, odd in ((4, []), ("12.1", []), (14, ["more-than-stood-there"])):
        given = journal(*pair, join(OTHER, BATH, litres, at=on(19)))
        assert codes(given.folded("bath", BATH)) == odd
        assert codes(journal(*pair, split(litres)).folded("bath", BATH)) == odd


@pytest.mark.parametrize("taker", [BATH, OTHER])
def test_a_bath_poured_into_one_of_another_kind_is_said(taker: str) -> None:
    """The giver has less, and no row tells where it is: so the finding must."""
    giver = OTHER if taker == BATH else BATH
    ledger = journal(mixed(), size(OTHER, tubid=TUBS[0]), join(taker, giver, 2))

    (found,) = ledger.folded("bath", Subject(taker)).findings
    assert (found.code, found.entry, found.detail) == (
        "giver-of-another-kind", an_id(51), giver)  # fmt: skip
    assert rows(ledger, an_id(51)) == []


def test_a_bath_poured_into_one_that_nobody_wrote_down_is_said_until_it_is() -> None:
    """Its mixing may still be on somebody's phone."""
    said = mixed(), join(OTHER, BATH, 2)
    ledger = journal(*said)

    assert ledger.state("bath", Subject(OTHER)) is None
    assert codes(ledger.folded("bath", Subject(OTHER))) == ["taker-not-known"]
    ledger.append([mixed(OTHER, vessel=TUBS[0], at=on(17, 20))], TAKEN)
    assert codes(ledger.folded("bath", Subject(OTHER))) == []


def test_a_tub_that_was_emptied_has_nothing_to_pour_off() -> None:
    """The fold stands: what is in the part is what clings."""
    ledger = journal(mixed(), split(13), split(4, id=an_id(55), at=on(19), tubs=TUBS[1:]))

    assert belief(ledger, an_id(55)).volume_ml == pytest.approx(1, abs=0.01)


def test_equal_baths_poured_together_stay_as_strong() -> None:
    ledger = journal(mixed(water=q(6, "l"), grams=240), mixed(OTHER, water=q(4, "l"),
                     grams=160, name="R-A3", vessel=TUBS[0]), join(BATH, OTHER))  # fmt: skip

    assert belief(ledger, BATH).strength_g_per_l == pytest.approx(40, rel=1e-4)
    assert belief(ledger, BATH).volume_ml == pytest.approx(10_000, abs=2)


def test_unequal_baths_poured_together_come_between_by_their_salt() -> None:
    """By hand: 6 L of 40 g/L and 3 of 10 L of 20 g/L make 300 g in 9 L, 33.3 g/L, as water."""
    ledger = journal(
        mixed(water=q(6, "l"), grams=240, at=on(18)),
        mixed(OTHER, water=q(10, "l"), grams=200, at=on(18), name="R-A3", vessel=TUBS[0]),
        join(BATH, OTHER, 3),
    )

    plain, three = ledger.state("bath", BATH).estimate.plain, water_ml(3, 20)
    assert (plain.volume_ml, plain.strength_g_per_l) == pytest.approx((9_000, 300 / 9))
    whole_ml, whole_g = 6_000 + three, 240 + three / 50
    assert belief(ledger, BATH).volume_ml == pytest.approx(whole_ml)
    assert belief(ledger, BATH).strength_g_per_l == pytest.approx(1000 * whole_g / whole_ml)
    assert belief(ledger, OTHER).strength_g_per_l == pytest.approx(20, rel=1e-6)
    assert belief(ledger, OTHER).volume_ml == pytest.approx(10_000 - three)
    assert rows(ledger, an_id(51)) == [
        (f"salt:{SULFATE}", f"bath:{OTHER}", f"bath:{BATH}", round(three * 20_000)),
        ("water", f"bath:{OTHER}", f"bath:{BATH}", round(three * 1_000)),
    ]


def test_a_bath_that_gave_all_is_finished_and_one_that_gave_some_is_not() -> None:
    pair = (mixed(water=q(6, "l")), mixed(OTHER, water=q(4, "l"), vessel=TUBS[0]))
    whole = journal(*pair, join(BATH, OTHER)).folded("bath", Subject(OTHER))
    some = journal(*pair, join(BATH, OTHER, 1)).folded("bath", Subject(OTHER))

    assert (whole.live, whole.state.finish_reason) == (False, "poured_together")
    assert some.live


def test_one_spoon_that_is_wrong_is_as_wrong_in_both() -> None:
    """Poured apart and together again, nobody has learned what a spoon holds."""
    alone = journal(spooned())
    again = journal(spooned(), split(4), join(BATH, SPLIT, id=an_id(52), at=on(18, 12)))

    assert sd(again, BATH) == pytest.approx(sd(alone, BATH), rel=0.02)


def test_errors_of_their_own_do_average_out() -> None:
    """Two guesses of two people are not both too high."""
    guess: dict[str, Any] = {"guessed": "yes", "water": q(6, "l")}
    alone = journal(mixed(**guess))
    both = journal(mixed(**guess), mixed(OTHER, vessel=TUBS[0], **guess), join(BATH, OTHER))

    assert sd(both, BATH) == pytest.approx(sd(alone, BATH) / 2**0.5, rel=0.03)


def test_a_mixture_was_not_read_unless_both_its_parts_were() -> None:
    """What nobody weighed a spoon of was poured into what a hydrometer had shown."""

    def read(id: str, bath: str):
        return say("reading.taken", id, at=on(17, 20), bath=bath, instrument="hydrometer",
                   gravity="1.021", temperature=q(20, "celsius"))  # fmt: skip

    baths = mixed(at=on(17), water=q(6, "l"), grams=240), spooned(OTHER, at=on(17))
    one, both = read(an_id(52), BATH), read(an_id(53), OTHER)

    assert journal(*baths, one).state("bath", BATH).gravity_at is not None
    assert journal(*baths, one, join(BATH, OTHER)).state("bath", BATH).gravity_at is None
    mixture = journal(*baths, one, both, join(BATH, OTHER)).state("bath", BATH)
    assert mixture.gravity_at == on(17, 20)


def test_another_salt_goes_in_by_its_aluminium_and_is_said() -> None:
    """Potash alum has 1/1.596 of the aluminium of the sulfate: 160 g count as 100."""
    lot = say("lot.received", POTASH, at=on(2), studio=STUDIO, what="alum", name="PA-1",
              salt="potash_alum", weight=q(2, "kg"))  # fmt: skip
    giver = mixed(OTHER, water=q(4, "l"), vessel=TUBS[0],
                  salt=[{"lot": POTASH, "amount": q(160, "g")}])  # fmt: skip
    ledger = journal(lot, mixed(water=q(6, "l"), grams=240), giver, join(BATH, OTHER))
    # Molar masses by IUPAC atomic weights, from memory: KAl(SO4)2.12H2O 474.4 with one
    # aluminium, Al2(SO4)3.14H2O 594.4 with two.
    as_sulfate_g = 160 * (594.4 / 2) / 474.4

    assert codes(ledger.folded("bath", BATH)) == ["other-salt"]
    assert belief(ledger, BATH).salt_g == pytest.approx(240 + as_sulfate_g, rel=1e-3)
    assert [row[0] for row in rows(ledger, an_id(51))] == ["salt:potash_alum", "water"]


def test_a_stop_goes_on_with_the_liquid() -> None:
    """Who poured a stopped bath apart has two stopped baths; a clean one it goes into, too."""
    stop = say("bath.stopped", an_id(56), at=on(17, 20), bath=BATH, reason="looks_wrong")
    ledger = journal(
        mixed(water=q(6, "l")),
        mixed(OTHER, vessel=TUBS[3], water=q(4, "l")),
        stop,
        split(2),
        join(OTHER, BATH, 1, at=on(19)),
    )
    stops = [ledger.state("bath", Subject(one)).stop.entry for one in (BATH, SPLIT, OTHER)]

    assert stops == [stop.id] * 3


def test_a_stop_that_was_poured_in_says_so_and_when() -> None:
    """Nobody stopped this bath, and it was good until then; the first giver keeps its name."""
    stop = say("bath.stopped", an_id(56), at=on(17, 20), bath=BATH, reason="looks_wrong")
    ledger = journal(
        mixed(water=q(6, "l")),
        mixed(OTHER, name="R-A8", vessel=TUBS[3], water=q(4, "l")),
        mixed(THIRD, name="R-A9", vessel=TUBS[2], water=q(4, "l")),
        stop,
        join(OTHER, BATH, 1, at=on(19)),
        join(THIRD, OTHER, 1, id=an_id(78), at=on(20)),
    )
    first, other, last = (
        ledger.state("bath", Subject(one)).stop for one in (BATH, OTHER, THIRD)
    )

    assert (first.poured_from, first.poured_in_at) == ("", None)
    assert (other.poured_from, other.poured_in_at, other.at) == ("R-A2", on(19), on(17, 20))
    assert (last.poured_from, last.poured_in_at) == ("R-A2", on(20))


def test_a_stop_that_came_after_stays_with_the_giver() -> None:
    stop = say("bath.stopped", an_id(56), at=on(19), bath=BATH, reason="looks_wrong")

    assert journal(mixed(), split(2), stop).state("bath", Subject(SPLIT)).stop is None


def strip(n: int, bath: str, outcome: str, at):
    return say("reading.taken", an_id(n), at=at, bath=bath, instrument="strip_print",
               outcome=outcome)  # fmt: skip


@pytest.mark.parametrize(
    ("grams", "failed_of", "holds"),
    [(240, OTHER, True), (480, OTHER, True), (60, OTHER, False),
     (480, BATH, False), (60, BATH, True)],
)  # fmt: skip
def test_a_print_that_failed_holds_on_unless_the_mixture_is_stronger(
    grams: int, failed_of: str, holds: bool
) -> None:
    """What failed at 40 g/L fails no less with weaker liquid poured in; stronger may do."""
    ledger = journal(
        mixed(water=q(6, "l"), grams=240, at=on(17)),
        mixed(OTHER, vessel=TUBS[3], water=q(6, "l"), grams=grams, at=on(17)),
        strip(57, failed_of, "failed", on(17, 20)),
        join(BATH, OTHER, 3),
    )
    bad = [one.outcome for one in ledger.state("bath", BATH).prints]

    assert bad == (["failed"] if holds else [])


def test_a_sharp_print_of_one_shows_nothing_of_the_mixture() -> None:
    """It stands since the older of the two was mixed: 28 days run from there."""
    ledger = journal(
        mixed(water=q(6, "l"), at=on(10)),
        mixed(OTHER, vessel=TUBS[3], water=q(6, "l"), at=on(3)),
        strip(57, BATH, "sharp", on(17, 20)),
        join(BATH, OTHER, 3),
    )
    state = ledger.state("bath", BATH)

    assert (state.mixed_at, state.passed_at, state.prints) == (on(3), None, ())


def test_a_mixture_of_two_proven_baths_is_proven_since_the_older_print() -> None:
    ledger = journal(
        mixed(water=q(6, "l"), at=on(10)),
        mixed(OTHER, vessel=TUBS[3], water=q(6, "l"), at=on(3)),
        strip(57, BATH, "sharp", on(17, 20)),
        strip(58, OTHER, "sharp", on(16)),
        join(BATH, OTHER, 3),
    )

    assert ledger.state("bath", BATH).passed_at == on(16)


def test_a_carried_bath_is_the_same_bath_in_another_tub_of_another_studio() -> None:
    carry = say("bath.carried", an_id(58), at=on(18), bath=BATH, vessel=TUBS[4])
    ledger = journal(mixed(), through(an_id(52), 40, at=on(17, 20)), carry)
    folded = ledger.folded("bath", BATH)

    assert (folded.state.vessel, folded.state.studio) == (TUBS[4], POTTERY)
    assert (folded.home, folded.state.half_count) == (POTTERY, 40)
    assert ledger.state("vessel", TUBS[4]).last_bath == BATH
    assert folded.state.estimate.belief == belief(ledger, BATH)
    assert [one.id for one in ledger.listed("bath", home=POTTERY)] == [BATH]


def test_a_bath_carried_into_an_open_tub_stands_open() -> None:
    carry = say("bath.carried", an_id(58), at=on(18), bath=BATH, vessel=an_id(66))
    ledger = journal(tub(an_id(66), lidded="no"), mixed(), carry)

    assert ledger.state("bath", BATH).open


def test_baths_that_give_to_one_another_fold_without_a_circle() -> None:
    """By hand: 6 L of 40 and 6 L of 20 g/L, 2 L there, then 4 of the 8 L of 25 back."""
    ledger = journal(
        mixed(water=q(6, "l"), grams=240),
        mixed(OTHER, vessel=TUBS[3], water=q(6, "l"), grams=120),
        join(OTHER, BATH, 2, id=an_id(51)),
        join(BATH, OTHER, 4, id=an_id(52), at=on(19)),
    )

    there, back = (ledger.state("bath", Subject(one)).estimate.plain for one in (OTHER, BATH))
    assert there.strength_g_per_l == pytest.approx(25, rel=0.001)
    assert back.strength_g_per_l == pytest.approx(260 / 8, rel=0.001)
    assert back.volume_ml == pytest.approx(8_000)
    assert belief(ledger, BATH).strength_g_per_l == pytest.approx(260 / 8, rel=0.003)


def in_turn(count: int):
    """Return two baths that give one another a litre in turn, an hour apart."""
    said = [mixed(water=q(6, "l"), grams=240, at=on(3)),
            mixed(OTHER, vessel=TUBS[3], water=q(6, "l"), grams=120, at=on(3))]  # fmt: skip
    for n in range(count):
        taker, giver = (BATH, OTHER) if n % 2 else (OTHER, BATH)
        at = on(4 + n // 24, n % 24)
        said.append(join(taker, giver, 1, id=an_id(1_000 + n), at=at))
    return said


def down_the_line(count: int):
    """Return a bath poured into the next, and that into the next, an hour apart."""
    said, giver = [mixed(at=on(3))], str(BATH)
    for n in range(count):
        part = an_id(1_000 + n)
        at = on(4 + n // 24, n % 24)
        said.append(split("6", id=part, bath=giver, at=at, tubs=(TUBS[n % 4],)))
        said.append(topped_up(an_id(2_000 + n), at=at.replace(minute=30), bath=part,
                              water=q("6", "l")))  # fmt: skip
        giver = part
    return said


@pytest.mark.parametrize("said", [in_turn, down_the_line])
def test_a_chain_of_300_handovers_folds(said) -> None:
    """No chain is too long for the stack, nor takes more than a moment."""
    entries = said(CHAIN)
    last = entries[-1].content.bath
    ledger = journal(*entries)
    start = perf_counter()
    state = ledger.state("bath", last)

    assert state is not None
    assert perf_counter() - start < 3


def test_300_litres_given_in_turn_make_both_baths_alike() -> None:
    """By hand: 360 g in 12 L are 30 g/L; so are both in the end."""
    ledger = journal(*in_turn(CHAIN))

    assert belief(ledger, BATH).strength_g_per_l == pytest.approx(30, rel=1e-4)
    assert belief(ledger, OTHER).strength_g_per_l == pytest.approx(30, rel=1e-4)


STORY = [
    mixed(at=on(10)),
    mixed(OTHER, vessel=TUBS[3], water=q(6, "l"), grams=120, at=on(11)),
    split(4, "1.5", at=on(12)),
    through(an_id(52), 30, at=on(13), bath=SPLIT),
    join(OTHER, SPLIT, 1, id=an_id(53), at=on(14)),
    topped_up(an_id(54), at=on(15), bath=OTHER, water=q(1, "l")),
    join(BATH, OTHER, id=an_id(55), at=on(16)),
    say("bath.carried", an_id(56), at=on(17), bath=f"{SPLIT}:2", vessel=TUBS[4]),
    say("bath.stopped", an_id(57), at=on(13), bath=BATH, reason="other"),
]
EVERY = (BATH, Subject(OTHER), Subject(SPLIT), Subject(f"{SPLIT}:2"))


def folds(ledger):
    return [ledger.folded("bath", one) for one in EVERY]


@settings(max_examples=40)
@given(st.permutations(STORY))
def test_the_order_of_arrival_changes_nothing(entries) -> None:
    """Phones send when they can: the giver's mixing may come last of all."""
    assert folds(journal(*entries)) == folds(journal(*STORY))


def test_a_correction_of_the_givers_mix_moves_whom_it_gave_to() -> None:
    """'I weighed 240, not 480 g': half as much in the tub, the part and the third bath."""
    wrong = mixed(at=on(10))
    part, taker = split(4, at=on(12)), join(OTHER, SPLIT, 1, at=on(13))
    third = mixed(OTHER, vessel=TUBS[3], water=q(1, "l"), grams=20, at=on(11))
    right = instead(wrong, salt=[{"lot": LOT, "amount": q(240, "g")}])
    mend = corrected(an_id(59), wrong, "replace", at=on(20), content=right)
    before, after = journal(wrong, part, taker, third), journal(wrong, part, taker, third, mend)

    assert belief(before, SPLIT).strength_g_per_l == pytest.approx(40)
    assert belief(before, OTHER).strength_g_per_l == pytest.approx(30, abs=0.1)
    assert belief(after, SPLIT).strength_g_per_l == pytest.approx(20)
    assert belief(after, OTHER).strength_g_per_l == pytest.approx(20)


def test_a_correction_may_make_two_parts_of_one_or_one_of_two() -> None:
    """'It was one jug.'"""
    said = split(4, "1.5")
    content = instead(said)
    content["body"]["parts"] = content["body"]["parts"][:1]
    mend = corrected(an_id(59), said, "replace", at=on(20), content=content)
    ledger = journal(mixed(), said, mend)

    assert ledger.state("bath", Subject(f"{SPLIT}:2")) is None
    for one, poured_l in ((ledger, 4), (journal(mixed(), said), 5.5)):
        left_ml = 12_000 - water_ml(poured_l, 40)
        assert belief(one, BATH).volume_ml == pytest.approx(left_ml, abs=20)


def test_a_split_taken_back_leaves_one_bath() -> None:
    said = split(4)
    mend = corrected(an_id(59), said, "void", at=on(20))
    ledger = journal(mixed(), said, mend, through(an_id(52), 3, at=on(19), bath=SPLIT))

    assert ledger.state("bath", Subject(SPLIT)) is None
    assert belief(ledger, BATH).volume_ml == pytest.approx(12_000, abs=20)
    assert rows(ledger, SPLIT) == []


def test_a_part_of_a_bath_that_nobody_wrote_down_is_said_not_made_up() -> None:
    ledger = journal(split(4))

    assert ledger.state("bath", Subject(SPLIT)) is None
    assert codes(ledger.folded("bath", Subject(SPLIT))) == ["giver-not-known"]


@pytest.mark.parametrize("bath", [OTHER, SPLIT])
def test_paper_through_a_bath_that_nobody_wrote_down_is_drawn_once(
    sqlite: SqlBook, bath: str
) -> None:
    """The stack is there to be laid and sorted; its sheets are no longer in the parcel."""
    sheets = through(an_id(52), 40, at=on(18), bath=bath)
    lost = split(4, bath=an_id(98), at=on(17, 20))
    drawn = [("paper:" + PAPER, f"lot:{PAPER_LOT}", f"stack:{sheets.id}", 80)]
    ledger = journal(lost, sheets)
    take_in(sqlite, [*place(), lost, sheets])

    assert ledger.state("bath", Subject(bath)) is None
    assert rows(ledger, sheets.id) == drawn
    with sqlite.store.engines.reading() as connection:
        assert verify(connection, LEDGER).clean
    with sqlite.reading() as kept:
        assert kept.held([f"stack:{sheets.id}"]) == {
            (f"stack:{sheets.id}", "paper:" + PAPER): 80
        }
    ledger.append([mixed(OTHER, vessel=TUBS[3], at=on(17, 20))], TAKEN)
    assert rows(ledger, sheets.id) == drawn


def test_what_was_poured_before_the_mixing_is_poured_just_after_it() -> None:
    """One of two clocks is wrong: the part has what the giver says it gave."""
    ledger = journal(mixed(at=on(17)), split(4, at=on(16)))

    assert codes(ledger.folded("bath", BATH)) == ["before-the-mix"]
    assert belief(ledger, SPLIT).strength_g_per_l == pytest.approx(40)
    assert len(rows(ledger, SPLIT)) == 2


# Baths that are not alum.


def size(
    id: str = BATH, *, at=None, grams: object = 60, tubid: str = VESSEL, water: object = 10
):
    return say("bath.mixed", id, at=at or on(17), what="size", name="R-S1", studio=STUDIO,
               vessel=tubid, water=q(water, "l"),
               powder=[{"powder": "carrageenan", "amount": q(grams, "g")}])  # fmt: skip


def read(n: int, bath: str, instrument: str, outcome: str, *, at):
    return say("reading.taken", an_id(n), at=at, bath=bath, instrument=instrument,
               outcome=outcome, tag_read="yes")  # fmt: skip


def test_a_size_poured_apart_is_as_thick_and_as_old_in_both() -> None:
    """10 L of 60 g: 4 L of it are 24 g."""
    ledger = journal(size(), split(4, 8, at=on(19)))
    giver, part, rest = (ledger.state("bath", Subject(one))
                         for one in (BATH, SPLIT, f"{SPLIT}:2"))  # fmt: skip

    assert (part.volume_ml, part.powder_g) == (4_000, pytest.approx(24))
    assert (rest.volume_ml, rest.powder_g) == (6_000, pytest.approx(36))
    assert (giver.volume_ml, giver.powder_g) == (0, pytest.approx(0))
    assert (part.what, part.of, part.mixed_at, part.room_h) == (
        "size", "carrageenan", giver.mixed_at, giver.room_h)  # fmt: skip
    assert [row[3] for row in rows(ledger, SPLIT) if row[0] == "water"] == [
        4_000_000,
        6_000_000,
    ]


def test_a_mixture_is_as_old_as_the_older_and_rests_as_long_as_the_younger() -> None:
    """Fresh size does not make old size young."""
    ledger = journal(
        size(at=on(17)), size(OTHER, at=on(14), tubid=TUBS[3], water=4), join(BATH, OTHER, 2)
    )
    state = ledger.state("bath", BATH)
    young = journal(size(at=on(17))).state("bath", BATH)

    assert state.mixed_at == on(14)
    assert state.room_h == pytest.approx(96)
    assert state.rest_until == young.rest_until
    assert state.volume_ml == 12_000
    assert state.powder_g == pytest.approx(60 + 30)


@pytest.mark.parametrize(
    ("mine", "others", "left"),
    [("none", "rotten", "rotten"), ("sour", "none", "sour"), ("none", "none", "none"),
     (None, "sour", "sour"), (None, "none", None), ("none", None, None)],
)  # fmt: skip
def test_what_smells_goes_on_smelling(mine, others, left) -> None:
    """One rotten litre spoils the tray; a nose over one of two says nothing of both."""
    said = [size(at=on(14)), size(OTHER, at=on(14), tubid=TUBS[3])]
    if mine:
        said.append(read(52, BATH, "smell", mine, at=on(15)))
    if others:
        said.append(read(53, OTHER, "smell", others, at=on(15)))
    smelled = journal(*said, join(BATH, OTHER, 2)).state("bath", BATH).smelled

    assert (smelled.outcome if smelled else None) == left


def test_alum_that_damp_sheets_left_goes_with_the_litres() -> None:
    """Half of the size has half of what was carried in."""
    laid = say("sheets.through", an_id(52), at=on(18), size=BATH, sheet_count="20",
               sheet_format="full", method="dip", damp="yes", stack=an_id(54))  # fmt: skip
    dipped = through(an_id(54), 20, at=on(17, 20), bath=OTHER, sheet_format="full")
    alum = mixed(OTHER, vessel=TUBS[3], at=on(17))
    ledger = journal(alum, size(), dipped, laid, split("3.8", at=on(19)))
    giver, part = (ledger.state("bath", Subject(one)) for one in (BATH, SPLIT))
    share = part.volume_ml / (part.volume_ml + giver.volume_ml)

    assert part.damp_m2 == pytest.approx(share * 20 * 0.35)
    assert part.damp_m2 + giver.damp_m2 == pytest.approx(20 * 0.35)


def test_liquids_of_two_kinds_poured_together_are_said() -> None:
    rinse = say("bath.mixed", OTHER, at=on(17), what="rinse", name="R-R1", studio=STUDIO,
                vessel=TUBS[3], water=q(10, "l"))  # fmt: skip
    ledger = journal(size(), rinse, join(BATH, OTHER, 1))

    assert codes(ledger.folded("bath", BATH)) == ["other-liquid"]


def test_a_chilled_size_carried_off_stands_in_the_room_until_somebody_says_not() -> None:
    """Counted as cold while it stands warm, it would seem a fifth of its age."""
    cold = say("bath.cared", an_id(52), at=on(17, 20), bath=BATH, care="chilled")
    carry = say("bath.carried", an_id(53), at=on(19), bath=BATH, vessel=TUBS[4])
    ledger = journal(size(), cold, split(2), carry)

    assert not ledger.state("bath", Subject(SPLIT)).chilled
    assert not ledger.state("bath", BATH).chilled
    assert ledger.state("bath", BATH).studio == POTTERY
    assert ledger.folded("bath", BATH).home == POTTERY


# In a database: entry by entry and all at once come to the same, and to what is in memory.


def test_taken_up_at_its_end_a_fold_is_what_it_is_folded_whole(sqlite: SqlBook) -> None:
    """Each entry comes alone and in turn, as it does in a studio."""
    for entry in [*place(), *sorted(STORY, key=lambda one: one.happened_at)]:
        take_in(sqlite, [entry])
    whole = journal(*STORY)
    with sqlite.reading() as kept:
        for one in EVERY:
            there, here = kept.folded("bath", one), whole.folded("bath", one)
            assert alike(there.state, here.state), differences(there.state, here.state)
            assert there.moves == here.moves
            assert there.findings == here.findings


@settings(max_examples=12)
@given(st.permutations(STORY))
def test_what_is_kept_is_what_brute_force_adds_up_to(
    sqlite_template, tmp_path_factory, entries
):
    """In any order of arrival: every row, every balance, every fold rebuilt from nothing."""
    folder = tmp_path_factory.mktemp("handovers")
    with sqlite_book(sqlite_template, folder) as book:
        take_in(book, place())
        for entry in entries:
            take_in(book, [entry])
        with book.store.reading() as desk:
            found = verify(desk.connection, LEDGER)
            held = desk.journal.held([f"bath:{one}" for one in EVERY])

    assert found.problems == ()
    assert held == journal(*STORY).held([f"bath:{one}" for one in EVERY])


def test_a_strength_of_nothing_is_never_given() -> None:
    """Handed on a hundred times a thinned bath still is one."""
    ledger = journal(*down_the_line(40))
    last = belief(ledger, an_id(1_039))

    assert last.strength_g_per_l == pytest.approx(40 / 2**40, rel=0.05)
    assert last.volume_ml == pytest.approx(float(Fraction(12_000)), rel=0.01)
    assert exp(last.ln_c) > 0
