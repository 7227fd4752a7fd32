"""Baths as people live with them: late phones, corrections, and the week of a weak bath."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.ids import Subject
from coop.ledger.ports import Admission
from coop.science.alum import water_fraction
from coop.science.defaults import Z_90
from tests.support.memory import MemoryJournal
from tests.support.sayings import (
    AMINA,
    BATH,
    KAHU,
    LEDGER,
    LOT,
    NODE,
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


def journal(*taken):
    """Return a journal from (moment of taking in, entries) pairs, after what is described."""
    made = MemoryJournal(ledger=LEDGER, node=NODE)
    for at, *entries in ((on(1), *described()), *taken):
        made.append(entries, Admission(at=at, by=AMINA))
    return made


def bath(*entries):
    """Return the bath after these entries, taken in late."""
    return journal((on(29), *entries)).folded("bath", BATH)


def stop(n, *, at):
    return say("bath.stopped", an_id(n), at=at, bath=BATH, reason="looks_wrong")


def codes(folded):
    return [one.code for one in folded.findings]


# The week of R-A2, as the story of the demo tells it: a card that says only '8 tablespoons to
# a gallon', a fine powder of 11.1 g a spoon, a top-up with water alone, written offline.
MIX = spooned(at=on(17, 18))
THURSDAY = through(an_id(50), 40, at=on(18, 10), by=KAHU)
WATER = topped_up(an_id(51), at=on(18, 17), water=q(3, "l"))
SATURDAY = through(an_id(52), 46, at=on(20, 10))
STOP = say("bath.stopped", an_id(53), at=on(21, 11), bath=BATH, reason="strip_print_failed")
WEIGHED = say("lot.spoon_weighed", an_id(54), at=on(21, 12), lot=LOT, spoon_count="10",
              spoon="us_tbsp", weight=q(111, "g"))  # fmt: skip
AT_NINE = on(20, 9)


def weak_bath():
    """Kahu's phone was off line: his top-up came in on Saturday evening."""
    return journal(
        (on(17, 18, 5), MIX),
        (on(18, 10, 5), THURSDAY),
        (on(20, 11), SATURDAY),
        (on(20, 20), WATER),
        (on(21, 11, 5), STOP),
        (on(21, 12, 5), WEIGHED),
    )


def middle(folded):
    return folded.state.estimate.belief.strength_g_per_l


def plain(folded):
    return round(folded.state.estimate.plain.strength_g_per_l, 1)


def test_bare_spoons_say_31_with_a_wide_doubt() -> None:
    """24 level spoons to 11.36 L of 11 to 20 g each, middle 14.8: 31 (23 to 42) g/L."""
    belief = weak_bath().view(known=on(17, 19)).state("bath", BATH).estimate.belief
    half = belief.cc**0.5 * Z_90

    assert round(belief.strength_g_per_l) == 31
    assert round(belief.strength_g_per_l * 2.718281828**-half) == 23
    assert round(belief.strength_g_per_l * 2.718281828**half) == 42


def test_on_saturday_at_nine_it_said_31_for_the_water_was_not_known_of() -> None:
    """What did it say when Dariusz looked?"""
    then = weak_bath().view(known=AT_NINE).see("bath", BATH, at=AT_NINE)

    assert round(middle(then)) == 31
    assert then.state.water_only_count == 0
    assert then.state.how == "spooned"


def test_with_the_late_water_it_said_24() -> None:
    then = weak_bath().view(known=on(20, 21)).see("bath", BATH, at=AT_NINE)

    assert round(middle(then)) == 24
    assert then.state.water_only_count == 1


def test_by_what_is_known_now_the_bath_on_saturday_at_nine_had_18() -> None:
    """Ten spoons weighed on Sunday mend Saturday: 23.5, then 18.2 g/L by the plain sum."""
    now = weak_bath().view()

    assert plain(now.see("bath", BATH, at=on(18, 12))) == 23.5
    assert plain(now.see("bath", BATH, at=AT_NINE)) == 18.2
    assert middle(now.see("bath", BATH, at=on(18, 12))) == pytest.approx(23.5, abs=0.3)
    assert middle(now.see("bath", BATH, at=AT_NINE)) == pytest.approx(18.2, abs=0.3)
    assert now.see("bath", BATH, at=AT_NINE).state.how == "spoon-weighed"


def test_the_litres_of_the_weak_bath_are_those_of_the_story() -> None:
    """10.38, 13.38 and 12.25 L, by 140 mL/m2 on sheets of 0.175 m2."""
    now = weak_bath().view()
    at = {day: now.see("bath", BATH, at=day).state for day in (on(18, 12), AT_NINE, on(20, 12))}
    litres = [round(one.estimate.plain.volume_ml / 1000, 2) for one in at.values()]

    assert litres == [10.38, 13.38, 12.25]


def test_what_was_believed_before_stays_to_be_seen() -> None:
    """Nobody can say afterwards that it had been known."""
    ledger = weak_bath()
    before = ledger.view(known=AT_NINE).see("bath", BATH, at=AT_NINE)
    ledger.append([through(an_id(60), 1, at=on(22))], Admission(at=on(22), by=AMINA))

    assert ledger.view(known=AT_NINE).see("bath", BATH, at=AT_NINE) == before


def test_a_late_entry_is_folded_where_it_happened_not_where_it_arrived() -> None:
    """Water before sheets is not sheets before water."""
    late = bath(MIX, THURSDAY, SATURDAY, WATER)
    timely = bath(MIX, THURSDAY, WATER, SATURDAY)

    assert late == timely
    assert [one.entry for one in late.state.through] == [THURSDAY.id, SATURDAY.id]


@given(st.permutations([MIX, THURSDAY, WATER, SATURDAY, STOP, WEIGHED]))
def test_the_order_in_which_phones_send_changes_nothing(entries) -> None:
    whole = journal((on(29), *entries))

    assert whole.state("bath", BATH).half_count == 86
    assert whole.folded("bath", BATH) == bath(MIX, THURSDAY, WATER, SATURDAY, STOP, WEIGHED)


def test_a_top_up_does_not_reset_the_sheet_count() -> None:
    """Members top up in the middle of a day."""
    assert bath(MIX, THURSDAY, WATER).state.half_count == 40


def test_what_came_before_the_mix_counts_just_after_it_and_is_said() -> None:
    """The clock on one of the two phones is wrong; which, a person knows."""
    early = through(an_id(50), 40, at=on(16))
    folded = bath(MIX, early)

    assert folded.state.half_count == 40
    assert folded.state.at == MIX.happened_at
    assert [(one.code, one.entry) for one in folded.findings] == [("before-the-mix", early.id)]


def test_sheets_after_the_finish_are_counted_and_said() -> None:
    """The tub was written off while a phone was still away."""
    end = say("bath.finished", an_id(53), at=on(19), bath=BATH, reason="used_up")
    folded = bath(MIX, end, SATURDAY)

    assert (folded.state.half_count, folded.live) == (46, False)
    assert codes(folded) == ["after-the-finish"]


def test_sheets_through_a_stopped_bath_are_counted_and_said() -> None:
    folded = bath(MIX, stop(53, at=on(19)), SATURDAY)

    assert folded.state.stopped_sheet_count == 46
    assert codes(folded) == ["used-while-stopped"]


def test_a_cleared_bath_may_be_used_again() -> None:
    clear = say("bath.cleared", an_id(54), at=on(19, 12), bath=BATH, reason="mended")
    folded = bath(MIX, stop(53, at=on(19)), clear, SATURDAY)

    assert folded.state.stop is None
    assert codes(folded) == []


def test_the_first_stop_stands_until_somebody_clears_it() -> None:
    folded = bath(MIX, stop(53, at=on(19)), stop(54, at=on(20)))

    assert folded.state.stop.entry == an_id(53)


def test_more_than_the_tub_holds_is_said_not_refused() -> None:
    assert codes(bath(mixed(), topped_up(an_id(50), at=on(18), water=q(9, "l")))) == [
        "over-the-brim"
    ]


def test_a_dipstick_in_a_tub_nobody_measured_is_kept_and_said() -> None:
    rod = say("reading.taken", an_id(50), at=on(18), bath=BATH, instrument="dipstick",
              depth=q(20, "mm"))  # fmt: skip
    round_tub = say("vessel.described", an_id(40), at=on(2), vessel=VESSEL, supersedes=VESSEL,
                    studio=an_id(10), name="tub", brim=q(16, "l"), lidded="yes",
                    place="1")  # fmt: skip

    assert codes(bath(round_tub, mixed(), rod)) == ["floor-not-known"]


def test_a_reading_far_off_waits_and_is_said() -> None:
    rod = say("reading.taken", an_id(50), at=on(18), bath=BATH, instrument="dipstick",
              depth=q(60, "mm"))  # fmt: skip
    folded = bath(mixed(), rod)

    assert codes(folded) == ["reading-disagrees"]
    assert [one.entry for one in folded.state.kept] == [rod.id]
    assert round(folded.state.estimate.belief.volume_ml) == 12_000


def test_a_level_is_of_liquid_and_tells_of_the_water_put_in() -> None:
    """480 g in 12 L of water are 12.2 L of bath, 30.6 mm in this tub: nothing is wrong."""
    area_m2 = 0.74 * 0.54
    rod = say("reading.taken", an_id(50), at=on(17, 19), bath=BATH, instrument="dipstick",
              depth=q(round(12.21 / area_m2, 2), "mm"))  # fmt: skip
    volume_ml = bath(mixed(), rod).state.estimate.belief.volume_ml

    assert volume_ml == pytest.approx(12_000, abs=2)


def test_salt_of_a_lot_nobody_wrote_down_is_said() -> None:
    odd = topped_up(an_id(50), at=on(18), salt=[{"lot": an_id(99), "amount": q(9, "g")}])

    assert codes(bath(mixed(), odd)) == ["lot-not-known"]


def test_salt_of_another_kind_is_reckoned_by_its_aluminium_and_said() -> None:
    """Aluminium sulfate carries 1.60 times the aluminium of potash alum by weight."""
    potash = say("lot.received", an_id(30), at=on(2), studio=an_id(10), what="alum", name="P",
                 salt="potash_alum", weight=q(1, "kg"))  # fmt: skip
    more = topped_up(an_id(50), at=on(18), salt=[{"lot": potash.id, "amount": q(160, "g")}])
    folded = bath(potash, mixed(), more)

    assert codes(folded) == ["other-salt"]
    assert folded.state.estimate.salt_g.came_in - 480 == pytest.approx(100, abs=0.5)


def test_sheets_moved_to_another_time_are_folded_at_that_time() -> None:
    """'That was before the water went in.'"""
    late = through(an_id(50), 40, at=on(19))
    mend = corrected(an_id(60), late, "replace", at=on(22), content=instead(late, at=on(18)))
    water = topped_up(an_id(51), at=on(18, 12), water=q(3, "l"))
    mended = bath(MIX, late, water, mend)
    told_right = bath(MIX, through(an_id(50), 40, at=on(18)), water)

    assert mended.state.estimate == told_right.state.estimate


def test_every_sheet_moves_once_from_its_parcel_to_its_stack_to_how_it_came_out() -> None:
    sort = say("sheets.sorted", an_id(55), at=on(20, 18), stack=SATURDAY.id, good="15",
               washed_off="31")  # fmt: skip
    ledger = journal((on(29), MIX, SATURDAY, sort))
    stack = ledger.folded("stack", Subject(SATURDAY.id))

    assert stack.state.sorted_count == 46
    assert not stack.live
    assert ledger.held([f"stack:{SATURDAY.id}"]) == {}
    assert ledger.held(["good", "spoiled"]) == {
        ("good", paper()): 30,
        ("spoiled", paper()): 62,
    }


def paper():
    return f"paper:{an_id(12)}"


def test_more_sorted_than_went_through_is_said() -> None:
    sort = say("sheets.sorted", an_id(55), at=on(20, 18), stack=SATURDAY.id, good="47")
    ledger = journal((on(29), MIX, SATURDAY, sort))

    assert codes(ledger.folded("stack", Subject(SATURDAY.id))) == ["sorted-over-the-count"]


def test_a_members_own_paper_draws_nothing_from_the_shelf() -> None:
    own = say("sheets.through", an_id(50), at=on(18), bath=BATH, sheet_count="4",
              sheet_format="full", method="sponge")  # fmt: skip
    (move,) = [one for one in bath(MIX, own).moves if one.entry == own.id]

    assert (move.from_account, move.amount) == ("own-paper", 16)


def test_measured_liquid_takes_the_place_of_the_usual_pick_up() -> None:
    """'Took out 4 L, put back 2.9 L': as said by hand, as the water in it in the estimate."""
    sheets = through(an_id(50), 40, at=on(18), took_out=q(4, "l"), put_back=q("2.9", "l"))
    estimate = bath(mixed(), sheets).state.estimate
    part = water_fraction(strength_g_per_l=40, salt="aluminium_sulfate_14")

    assert estimate.plain.volume_ml == pytest.approx(12_000 - 1_100)
    assert estimate.water_ml.off_with_sheets == pytest.approx(1_100 * part, rel=1e-4)
