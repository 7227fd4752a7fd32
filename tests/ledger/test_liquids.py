"""Baths that are not alum: litres, powder, age, what was tested, and who may not be stopped."""

import json
from datetime import datetime, timedelta
from fractions import Fraction
from math import log
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coop.ids import MemberId, Subject
from coop.ledger import kinds
from coop.ledger.accounts import UG_PER_G, UL_PER_ML, account, balances, powder, salt
from coop.ledger.digest import differences
from coop.ledger.entries import Entry
from coop.ledger.liquids import LAID_KEPT, LiquidState, liquid_steps
from coop.ledger.ports import Admission
from coop.rules.liquid_looks import LiquidAround, LiquidLook, liquid_turns_at, look_at_liquid
from coop.science.defaults import default, value
from coop.science.estimate import kalman_updated
from coop.store.verify import verify
from coop.units.number import wire as number_text
from tests.support.ledgers import sqlite_book, take_in
from tests.support.memory import MemoryJournal
from tests.support.sayings import (
    AMINA,
    GUM,
    KAHU,
    LEDGER,
    LOT,
    NODE,
    PAPER_LOT,
    SIZE,
    STACK,
    STUDIO,
    TRAY,
    VESSEL,
    WEDNESDAY,
    an_id,
    corrected,
    described,
    laid,
    mixed,
    on,
    q,
    say,
    sized,
    through,
    topped_up,
    with_size,
)

QUICK = settings(max_examples=60)
TAKEN = Admission(at=on(29), by=AMINA)
PLACE = (*described(), *with_size())
ALUMED = (mixed(), through(STACK, 60, at=on(18)))
HALF_M2 = 0.175


def journal(*entries: Entry) -> MemoryJournal:
    made = MemoryJournal(ledger=LEDGER, node=NODE)
    made.append([*PLACE, *entries], TAKEN)
    return made


def folded(*entries: Entry):
    return journal(*entries).folded("bath", SIZE)


def size(*entries: Entry) -> LiquidState:
    """Return the size after its making and these entries."""
    state: LiquidState = folded(sized(), *entries).state
    return state


def codes(*entries: Entry) -> list[str]:
    return [one.code for one in folded(sized(), *entries).findings]


def look(state: LiquidState, at: datetime, made: MemoryJournal | None = None) -> LiquidLook:
    """Return a size at a moment, in its tray."""
    vessel = (made or journal()).state("vessel", state.vessel)
    return look_at_liquid(state, LiquidAround(vessel=vessel), at=at)


def said(n: int, kind: str, at: datetime, **body: Any) -> Entry:
    return say(kind, an_id(n), at=at, bath=SIZE, **body)


def cared(n: int, care: str, at: datetime) -> Entry:
    return said(n, "bath.cared", at, care=care)


def read(n: int, at: datetime, **body: Any) -> Entry:
    return said(n, "reading.taken", at, **body)


def drop(n: int, at: datetime, outcome: str = "round", mm: int = 50) -> Entry:
    return read(n, at, instrument="drop_test", outcome=outcome, spread_mm=str(mm))


def run_out(n: int, at: datetime, seconds: int = 24, **more: Any) -> Entry:
    return read(n, at, instrument="funnel", funnel="brass", seconds=str(seconds), **more)


def thinned(n: int, at: datetime, litres: object = 1) -> Entry:
    return topped_up(an_id(n), at=at, bath=SIZE, water=q(litres, "l"))


def thickened(n: int, at: datetime, grams: object = 5) -> Entry:
    part = {"powder": "carrageenan", "lot": GUM, "amount": q(grams, "g")}
    return say("bath.topped_up", an_id(n), at=at, bath=SIZE, powder=[part])


def test_a_size_is_what_went_into_it() -> None:
    """9 L and 45 g are 5 g/L; the lot says which carrageenan it is."""
    made = size()

    assert (made.what, made.of, made.carrageenan) == ("size", "carrageenan", "lambda")
    assert (made.volume_ml, made.powder_g, made.dose_g_per_l) == (9000, 45, 5)
    assert (made.how, made.open, made.mixed_by) == ("weighed", False, AMINA)


@pytest.mark.parametrize(
    ("powders", "hours"),
    [
        ("carrageenan", "size_rest_carrageenan_h"),
        ("methylcellulose", "size_rest_methylcellulose_h"),
        ("tragacanth", "size_rest_tragacanth_h"),
        ("gum", "size_rest_other_h"),
    ],
)
def test_a_size_rests_by_what_it_is_made_of(powders: str, hours: str) -> None:
    part = {"powder": powders, "amount": q(45, "g")}
    made = folded(sized(powder=[part])).state

    assert made.rest_until == WEDNESDAY + timedelta(hours=value(hours))


def test_a_recipe_says_how_long_its_size_rests_and_may_change_its_mind() -> None:
    """The size stands by the recipe's edition in force: it is an input of the fold."""
    recipe = an_id(60)
    body: Any = {
        "name": "Slow size", "dose": "5 g/L", "amount": q(5, "g"), "per": q(1, "l"),
        "what": "size", "powder": "carrageenan",
    }  # fmt: skip
    first = say("recipe.published", recipe, at=on(2), rest_hours="24", **body)
    second = say("recipe.published", an_id(61), at=on(3), recipe=recipe, supersedes=recipe,
                 rest_hours="36", **body)  # fmt: skip
    made = sized(recipe=recipe)

    assert folded(first, made).state.rest_until == WEDNESDAY + timedelta(hours=24)
    assert folded(first, second, made).state.rest_until == WEDNESDAY + timedelta(hours=36)
    view = journal(first, made).view()
    view.folded("bath", SIZE)
    assert Subject(recipe) in view.inputs_of("bath", SIZE)


@pytest.mark.parametrize("what", ["gall_water", "rinse", "paste", "softener"])
def test_a_bath_of_water_alone_rests_not_and_has_no_dose(what: str) -> None:
    plain = say("bath.mixed", SIZE, at=WEDNESDAY, name="R-W1", what=what, studio=STUDIO,
                vessel=TRAY, water=q(9, "l"))  # fmt: skip
    made = folded(plain).state

    assert (made.what, made.of, made.rest_until, made.dose_g_per_l) == (what, "", None, None)
    assert look(made, on(18)).answer.word.value == "good"


@pytest.mark.parametrize(
    ("amount", "guessed", "grams", "how"),
    [
        (q(45, "g"), "no", 45, "weighed"),
        (q(45, "g"), "yes", 45, "guessed"),
        (q(9, "us_tbsp", heap="level"), "no", None, "spooned"),
        (q(9, "us_tbsp", heap="heaped"), "no", None, "spooned"),
        (q(9, "us_tbsp", heap="rounded"), "no", None, "spooned"),
        (q(9, "us_tbsp", heap="scant"), "no", None, "spooned"),
    ],
)
def test_grams_are_known_as_well_as_they_were_measured(amount, guessed, grams, how) -> None:
    """A bare spoon is what the published range says of this powder, and a heap is more."""
    part = {"powder": "carrageenan", "lot": GUM, "amount": amount}
    made = folded(sized(powder=[part], guessed=guessed)).state
    heap = {"heaped": 1.5, "rounded": 1.25, "scant": 0.9}.get(amount.get("heap"), 1)

    wanted = grams or 9 * value("carrageenan_g_per_us_tbsp") * heap
    assert made.powder_g == pytest.approx(wanted)
    assert made.how == how


def test_a_weighed_spoon_of_the_lot_is_better_than_any_range() -> None:
    spoon = say("lot.spoon_weighed", an_id(50), at=on(20), lot=GUM, spoon_count="10",
                spoon="us_tbsp", weight=q(93, "g"))  # fmt: skip
    part = {"powder": "carrageenan", "lot": GUM, "amount": q(5, "us_tbsp", heap="level")}
    made = folded(sized(powder=[part]), spoon).state

    assert made.powder_g == pytest.approx(46.5)
    assert made.how == "spoon-weighed"


def test_thinning_and_thickening_are_plain_sums() -> None:
    """9 L of 45 g, a litre of water, 5 g more: 50 g in 10 L."""
    thin = size(thinned(50, on(18)))
    both = size(thinned(50, on(18)), thickened(51, on(18, 10)))

    assert (thin.volume_ml, thin.powder_g, thin.dose_g_per_l) == (10_000, 45, 4.5)
    assert (both.volume_ml, both.powder_g, both.dose_g_per_l) == (10_000, 50, 5)


def test_what_tests_showed_before_holds_no_longer_once_it_is_thinned() -> None:
    """A ragged drop is mended by thinning; whether it helped shows the next drop alone."""
    tests = (drop(50, on(18), "ragged"), run_out(51, on(18)))
    smell = read(54, on(18), instrument="smell", outcome="sour", tag_read="yes")

    assert len(size(*tests).drops) == len(size(*tests).run_outs) == 1
    for mend in (thinned(52, on(18, 10)), thickened(52, on(18, 10))):
        after = size(*tests, mend)
        assert (after.drops, after.run_outs) == ((), ())
    assert size(smell, thinned(52, on(18, 10))).smelled is not None
    assert len(size(*tests, thinned(52, on(18, 10)), drop(53, on(18, 11))).drops) == 1


def test_a_drop_remembers_how_old_the_size_was() -> None:
    """It outranks the calendar for so many warm days from there."""
    chilled = cared(50, "chilled", on(18, 18))
    test = size(chilled, drop(51, on(19, 18), "ragged", 34)).drops[-1]

    assert (test.outcome, test.spread_mm, test.by) == ("ragged", 34, AMINA)
    assert (test.room_h, test.chilled_h) == (24, 24)


def test_a_run_out_keeps_its_water_and_its_warmth() -> None:
    read_off = run_out(50, on(18), 24, water_seconds="12.5", temperature=q(20, "celsius"))
    kept = size(read_off).run_outs[-1]

    assert (kept.funnel, kept.seconds, kept.water_seconds, kept.temperature_c) == (
        "brass", 24, 12.5, 20,
    )  # fmt: skip


def test_a_chilled_day_counts_a_fifth_of_a_warm_one() -> None:
    """Wednesday 18:00: a day at room, two in the cold, a day at room: like 2.4 warm days."""
    kept = size(cared(50, "chilled", on(18, 18)), cared(51, "brought_to_room", on(20, 18)))
    seen = look(kept, on(21, 18))

    assert value("chilled_fraction") == 0.2
    assert seen.warm_days == pytest.approx(2.4)
    assert (seen.age_days, seen.chilled_days) == (4, 2)
    assert (seen.state.room_h, seen.state.chilled_h) == (48, 48)


def test_no_size_is_chilled_twice() -> None:
    """Who writes the same care again changes nothing."""
    once = size(cared(50, "chilled", on(18, 18)))
    twice = size(cared(50, "chilled", on(18, 18)), cared(51, "chilled", on(19, 18)))

    assert look(twice, on(21)).warm_days == look(once, on(21)).warm_days


def test_a_size_forgotten_for_years_is_still_looked_at() -> None:
    """Nobody may lose the room's page to a jar behind the sink."""
    seen = look(size(), WEDNESDAY.replace(year=2035))

    assert seen.answer.word.value == "do-not-use"
    assert {one.code for one in seen.answer.reasons} >= {"size-past-cap"}


def test_size_leaves_with_each_sheet_and_takes_its_powder_along() -> None:
    """20 half sheets are 3.5 m2: 1.225 L at 350 mL/m2, and the strength stays as it was."""
    state = size(*ALUMED, laid(an_id(50), 20, at=on(19)))
    each = default("size_with_sheet_ml_per_m2").value

    assert each == 350
    assert state.volume_ml == pytest.approx(9000 - 20 * HALF_M2 * each)
    assert state.dose_g_per_l == pytest.approx(5)
    assert state.laid_m2 == pytest.approx(3.5)
    assert [(one.stack, one.sheet_count) for one in state.laid] == [(STACK, 20)]


def test_the_area_laid_is_that_of_the_stacks_paper() -> None:
    """The entry names the stack alone; its paper is twice as large as the usual one."""
    large = say("paper.described", an_id(60), at=on(2), name="P-40", length=q(1000, "mm"),
                width=q(700, "mm"), chalk="not_known")  # fmt: skip
    lot = say("lot.received", an_id(61), at=on(2), studio=STUDIO, what="paper", name="P-40",
              paper=large.id, sheet_count="100")  # fmt: skip
    alumed = through(STACK, 20, at=on(18), lot=lot.id)
    state = size(large, lot, mixed(), alumed, laid(an_id(50), 20, at=on(19)))

    assert state.laid_m2 == pytest.approx(7)


def test_sheets_laid_at_once_make_their_stack_and_leave_both_baths() -> None:
    both = through(STACK, 20, at=on(18), size=SIZE)
    made = journal(sized(), mixed(), both)
    state = made.state("bath", SIZE)

    assert state.laid_m2 == pytest.approx(3.5)
    assert [one.stack for one in state.laid] == [STACK]
    assert made.state("stack", STACK).laid_count == 20


def test_damp_sheets_carry_alum_in() -> None:
    """Their area is kept apart: the rules tell from it how much alum that may be."""
    state = size(
        mixed(), through(STACK, 100, at=on(18)), laid(an_id(50), 60, at=on(19)),
        laid(an_id(51), 40, at=on(19, 10), damp="yes"),
    )  # fmt: skip

    assert state.laid_m2 == pytest.approx(17.5)
    assert state.damp_m2 == pytest.approx(7)
    assert [one.damp for one in state.laid] == [False, True]


def test_only_so_many_lots_of_sheets_are_remembered_one_by_one() -> None:
    """A size that is used for a year does not grow without end."""
    many = [
        laid(an_id(500 + n), 1, at=on(19) + timedelta(minutes=n), sheet_format="quarter")
        for n in range(LAID_KEPT + 5)
    ]
    state = size(mixed(), through(STACK, 60, at=on(18), sheet_format="quarter"), *many)

    assert len(state.laid) == LAID_KEPT
    assert state.laid_m2 == pytest.approx((LAID_KEPT + 5) * HALF_M2 / 2)


def test_sheets_laid_in_another_format_than_their_stacks_count_in_its_own() -> None:
    """A draft may say full of a stack of halves: said as odd, and no area made up."""
    wrong = laid(an_id(50), 20, at=on(19), sheet_format="full")
    made = journal(sized(), *ALUMED, wrong)
    state, stack = made.state("bath", SIZE), made.folded("stack", Subject(STACK))

    assert state.laid_m2 == pytest.approx(20 * HALF_M2)
    assert [one.sheet_format for one in state.laid] == ["half"]
    assert stack.state.laid_count == 20
    assert [(one.code, one.entry) for one in stack.findings] == [("other-format", wrong.id)]


def test_more_sheets_than_there_is_size_leave_what_clings() -> None:
    """What leaves with a sheet is a guess: a level read later knows how strong it still is."""
    used_up = (mixed(), through(STACK, 400, at=on(18)), laid(an_id(50), 400, at=on(19)))
    level = read(51, on(19, 10), instrument="tape_line", litres=q(4, "l"))
    empty, there = size(*used_up), size(*used_up, level)

    assert 0 < empty.volume_ml < 2
    assert there.volume_ml == pytest.approx(4000, rel=0.05)
    assert empty.dose_g_per_l == pytest.approx(5)
    assert there.dose_g_per_l == pytest.approx(5)


def test_a_level_moves_the_litres_as_far_as_it_can_be_trusted() -> None:
    """A line is good to 2 % of its litres where the floor is not known, here 7.0 +- 0.14 L."""
    before = size(*ALUMED, laid(an_id(50), 20, at=on(19)))
    after = size(
        *ALUMED, laid(an_id(50), 20, at=on(19)),
        read(51, on(19, 10), instrument="tape_line", litres=q(7, "l")),
    )  # fmt: skip
    wanted = kalman_updated(
        mean=before.volume_ml, variance=before.volume_sd_ml**2, reading=7000,
        reading_variance=(7000 * 0.02 / 1.645) ** 2,
    )  # fmt: skip

    assert after.volume_ml == pytest.approx(wanted.mean, rel=1e-3)
    assert after.volume_sd_ml == pytest.approx(wanted.variance**0.5, rel=1e-3)
    assert after.volume_sd_ml < before.volume_sd_ml
    assert after.dose_g_per_l == pytest.approx(5)


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ({"instrument": "dipstick", "depth": q(30, "mm")}, "floor-not-known"),
        ({"instrument": "strip_print", "outcome": "soft"}, "says-nothing-here"),
        (
            {"instrument": "hydrometer", "gravity": "1.01", "temperature": q(20, "celsius")},
            "says-nothing-here",
        ),
    ],
)
def test_a_reading_that_says_nothing_here_is_named(body: dict[str, Any], code: str) -> None:
    """It is kept, it moves nothing, and somebody is told why."""
    entry = read(50, on(18), **body)

    assert codes(entry) == [code]
    assert size(entry).volume_ml == 9000


def test_what_people_felt_saw_and_smelled_is_the_newest_of_each() -> None:
    state = size(
        read(50, on(18), instrument="thermometer", temperature=q(18, "celsius")),
        read(51, on(18, 10), instrument="look", outcome="skin"),
        read(52, on(18, 11), instrument="look", outcome="fine"),
        read(53, on(18, 12), instrument="smell", outcome="sea", tag_read="yes"),
    )
    assert state.looked is not None
    assert state.smelled is not None

    assert state.temperature_c == 18
    assert (state.looked.outcome, state.smelled.outcome) == ("fine", "sea")


def test_a_size_is_stopped_once_and_allowed_again() -> None:
    first = said(50, "bath.stopped", on(18), reason="smells_sour")
    second = say("bath.stopped", an_id(51), at=on(18, 10), by=KAHU, bath=SIZE, reason="other")
    again = said(52, "bath.cleared", on(19), reason="drop_test_good")
    stopped = size(first, second).stop
    assert stopped is not None

    assert (stopped.entry, stopped.reason) == (first.id, "smells_sour")
    assert size(first, second, again).stop is None
    assert codes(*ALUMED, first, laid(an_id(53), 5, at=on(19))) == ["used-while-stopped"]


def test_a_size_is_kept_for_somebody_until_it_is_over_or_free_again() -> None:
    until = on(20, 18)
    kept = said(50, "bath.kept_for", on(18), session="Saturday class", until=until.isoformat())
    free = said(51, "bath.kept_for", on(19))
    state = size(kept)
    assert state.kept_for is not None

    assert (state.kept_for.session, state.kept_for.by) == ("Saturday class", AMINA)
    assert "kept-for" in {one.code for one in look(state, on(20)).answer.reasons}
    assert "kept-for" not in {one.code for one in look(state, until).answer.reasons}
    assert size(kept, free).kept_for is None


def test_a_size_kept_for_a_member_names_them() -> None:
    state = size(said(50, "bath.kept_for", on(18), member=KAHU))

    assert state.kept_for is not None
    assert state.kept_for.member == MemberId(KAHU)


def test_a_finished_size_gets_no_older_and_no_drier() -> None:
    """Its litres stay to be got rid of; what is written after is told as odd."""
    end = said(50, "bath.finished", on(19), reason="past_its_time")
    made = folded(sized(), end)

    assert (made.live, made.state.finish_reason) == (False, "past_its_time")
    assert look(made.state, on(28)).state.volume_ml == 9000
    assert look(made.state, on(28)).answer.word.value == "finished"
    assert codes(end, cared(51, "covered", on(20))) == ["after-the-finish"]


def test_what_came_before_the_making_is_told_and_counted() -> None:
    early = thinned(50, on(16))
    made = folded(sized(), early)

    assert made.state.volume_ml == 10_000
    assert [one.code for one in made.findings] == ["before-the-mix"]


def test_an_open_tray_dries_up_and_a_lid_stops_it() -> None:
    """Two millimetres a day over 0.4 m2 are 0.8 L; the powder stays behind."""
    tray = say("vessel.described", an_id(60), at=on(2), studio=STUDIO, name="open tray",
               inside_length=q(740, "mm"), inside_width=q(540, "mm"), brim=q(20, "l"),
               lidded="no", place="3")  # fmt: skip
    made = journal(tray, sized(vessel=tray.id))
    state = made.state("bath", SIZE)
    covered = journal(tray, sized(vessel=tray.id), cared(50, "covered", WEDNESDAY))
    day = WEDNESDAY + timedelta(days=1)
    lost_ml = value("evaporation_mm_per_day") * 0.74 * 0.54 * 1000

    assert look(state, day, made).state.volume_ml == pytest.approx(9000 - lost_ml, rel=1e-3)
    assert look(state, day, made).state.powder_g == 45
    assert look(covered.state("bath", SIZE), day, covered).state.volume_ml == 9000


def test_more_than_the_tray_holds_is_told() -> None:
    assert codes(thinned(50, on(18), 2)) == []
    assert codes(thinned(50, on(18), "2.1")) == ["over-the-brim"]


def test_sheets_are_not_alumed_in_a_size_nor_is_alum_poured_into_one() -> None:
    """Done is done: both are kept, told as odd, and the alum has left its tub."""
    wrong = through(an_id(50), 20, at=on(18), bath=SIZE)
    part = [{"lot": LOT, "amount": q(100, "g")}]
    poured = say("bath.topped_up", an_id(51), at=on(18), bath=SIZE, salt=part)
    held = journal(sized(), poured).held([account("bath", SIZE)])
    ends = account("lot", PAPER_LOT), account("stack", Subject(wrong.id))
    paper = journal(sized(), wrong).held(ends)

    assert codes(wrong) == ["not-alum"]
    assert sorted(paper.values()) == [40, 3800]
    assert codes(poured) == ["alum-in-no-alum"]
    assert held[account("bath", SIZE), salt("aluminium_sulfate_14")] == 100 * UG_PER_G


def test_powder_moves_from_its_lot_and_water_from_the_tap() -> None:
    """45 g and 5 g more leave the lot; a powder of nobody's lot leaves no lot."""
    own = {"powder": "carrageenan", "amount": q(3, "g")}
    more = say("bath.topped_up", an_id(51), at=on(19), bath=SIZE, powder=[own])
    made = journal(sized(), thinned(49, on(18)), thickened(50, on(18)), more)
    held = made.held([account("bath", SIZE), account("lot", GUM)])

    assert held[account("lot", GUM), powder("carrageenan")] == (1240 - 50) * UG_PER_G
    assert held[account("bath", SIZE), powder("carrageenan")] == 50 * UG_PER_G
    assert held[account("bath", SIZE), "water"] == 10_000 * UL_PER_ML
    assert made.state("bath", SIZE).powder_g == 53


@pytest.mark.parametrize(
    ("amount", "guessed", "fraction"),
    [
        (q(45, "g"), "no", value("weighed_fraction")),
        (q(45, "g"), "yes", value("guess_fraction")),
        (q(9, "us_tbsp", heap="level"), "no", None),
    ],
)
def test_a_row_of_powder_is_as_doubtful_as_the_powder_was_measured(
    amount, guessed, fraction
) -> None:
    """A bare spoon's range is wide: its row is no better known than the bath's dose."""
    part = {"powder": "carrageenan", "lot": GUM, "amount": amount}
    (row,) = [
        one
        for one in folded(sized(powder=[part], guessed=guessed)).moves
        if one.substance == powder("carrageenan")
    ]
    spoon = default("carrageenan_g_per_us_tbsp")
    wanted = fraction or (log(spoon.high) - log(spoon.low)) / 2

    assert row.doubt / row.amount == pytest.approx(wanted, rel=1e-3)


def test_what_left_a_lot_is_what_the_lot_is_of() -> None:
    """Alum that was taken for carrageenan is missing in the tub of alum."""
    part = {"powder": "carrageenan", "lot": LOT, "amount": q(45, "g")}
    held = journal(sized(powder=[part])).held([account("lot", LOT)])

    assert held == {(account("lot", LOT), salt("aluminium_sulfate_14")): 4955 * UG_PER_G}


def test_powder_added_to_water_alone_goes_with_what_is_poured_off() -> None:
    gall = {"powder": "gall", "amount": q(40, "g")}
    part = {"vessel": VESSEL, "name": "R-G2", "litres": q("4.5", "l")}
    plain = say("bath.mixed", SIZE, at=WEDNESDAY, name="R-G1", what="gall_water",
                studio=STUDIO, vessel=TRAY, water=q(9, "l"))  # fmt: skip
    made = journal(
        plain,
        said(50, "bath.topped_up", on(18), powder=[gall]),
        said(51, "bath.split", on(19), parts=[part]),
    )

    assert made.state("bath", SIZE).of == "gall"
    assert made.held([account("bath", Subject(an_id(51)))])[
        account("bath", Subject(an_id(51))), powder("gall")
    ] == pytest.approx(20 * UG_PER_G)


def test_what_was_poured_off_before_the_making_is_no_younger_than_nothing() -> None:
    """A clock that was wrong must not make an age below nought, which no page can show."""
    part = {"vessel": VESSEL, "name": "R-S2", "litres": q(3, "l")}
    early = WEDNESDAY - timedelta(hours=1)
    poured = said(50, "bath.split", early, parts=[part])
    over = say("bath.finished", an_id(51), at=early, bath=poured.id, reason="used_up")
    made = journal(sized(), poured, over)

    found = look(made.state("bath", Subject(poured.id)), on(20), made)

    assert (found.age_days, found.answer.word.value) == (0, "finished")


def test_a_correction_of_the_lot_changes_what_left_it() -> None:
    first = sized()
    void = corrected(an_id(60), first, "void", at=on(19))
    made = journal(first, void)

    assert made.state("bath", SIZE) is None
    assert made.held([account("lot", GUM)]) == {
        (account("lot", GUM), powder("carrageenan")): 1240 * UG_PER_G
    }


def test_two_readings_of_one_funnel_are_no_twins_unless_they_say_the_same() -> None:
    """Two pairs of eyes on one size are two readings."""

    def twins(*pair: Entry) -> list[str]:
        return [one.code for one in folded(sized(), *pair).findings]

    one, same, other = run_out(50, on(18), 24), run_out(51, on(18), 24), run_out(51, on(18), 26)
    by_kahu = [say(e.kind, e.id, at=on(18), by=KAHU, **body(e)) for e in (same, other)]

    assert twins(one, by_kahu[0]) == ["likely-twin"]
    assert twins(one, by_kahu[1]) == []


def body(entry: Entry) -> dict[str, Any]:
    """Return what an entry says, as it stands on the wire."""
    found: dict[str, Any] = json.loads(entry.data)["body"]
    return found


@pytest.mark.parametrize(
    ("first", "then", "found"),
    [
        ({"powder": [{"powder": "carrageenan", "amount": q(5, "g")}]},
         {"powder": [{"powder": "carrageenan", "amount": q(5, "g")}]}, ["likely-twin"]),
        ({"powder": [{"powder": "carrageenan", "amount": q(5, "g")}]},
         {"powder": [{"powder": "carrageenan", "amount": q(9, "g")}]}, []),
        ({"water": q(1, "l"), "reason": "level_only"},
         {"water": q(1000, "ml"), "reason": "level_only"}, ["likely-twin"]),
    ],
)  # fmt: skip
def test_powder_counts_when_a_pour_is_held_against_another(first, then, found) -> None:
    pair = [
        say("bath.topped_up", an_id(50 + n), at=on(18, 9, n), by=who, bath=SIZE, **what)
        for n, (who, what) in enumerate(((AMINA, first), (KAHU, then)))
    ]
    assert codes(*pair) == found


def test_two_stacks_laid_by_two_people_are_no_twins() -> None:
    other = an_id(40)
    alumed = (mixed(), through(STACK, 20, at=on(18)), through(other, 20, at=on(18, 12)))
    pair = (
        laid(an_id(50), 20, at=on(19)),
        laid(an_id(51), 20, at=on(19, 9, 5), stack=other, by=KAHU),
    )

    assert codes(*alumed, *pair) == []


def test_sheets_out_of_two_alum_baths_on_one_size_are_no_twins() -> None:
    """Two people share a size, each with a tub of their own."""
    other = an_id(20)
    pair = (
        through(an_id(50), 20, at=on(19), size=SIZE),
        through(an_id(51), 20, at=on(19, 9, 5), bath=other, size=SIZE, by=KAHU),
    )

    assert codes(mixed(), mixed(other), *pair) == []


def test_a_look_that_two_people_took_is_no_twin() -> None:
    one = read(50, on(18), instrument="look", outcome="fine")
    two = say("reading.taken", an_id(51), at=on(18, 9, 5), by=KAHU, bath=SIZE,
              instrument="look", outcome="fine")  # fmt: skip

    assert codes(one, two) == []


def test_its_history_shows_it_after_each_entry() -> None:
    made = journal(sized(), thinned(50, on(18)), thickened(51, on(19)))
    view = made.view()
    steps = tuple(liquid_steps(SIZE, view.resolved(SIZE).in_force, view))

    assert [one.entry.kind for one in steps] == ["bath.mixed", *["bath.topped_up"] * 2]
    assert [one.state.dose_g_per_l for one in steps] == [5, 4.5, 5]


# ---- whatever is said


def amounts(low: Fraction | int, high: int) -> st.SearchStrategy[str]:
    """Draw numbers at and near both ends of what a reader takes, and between."""
    least = Fraction(low)
    near = st.integers(1, 1_000).map(lambda n: least + Fraction(n, 10**6))
    some = st.integers(int(least) + 1, high).map(Fraction)
    return st.one_of(near, some, st.just(Fraction(high))).map(number_text)


litres = amounts(kinds.VOLUME_MIN_ML, kinds.VOLUME_MAX_ML).map(lambda n: q(n, "ml"))
grams = amounts(kinds.MASS_MIN_G, kinds.MASS_MAX_G).map(lambda n: q(n, "g"))
spoons = st.builds(
    lambda n, heap: q(n, "ml", heap=heap),
    amounts(kinds.SPOON_MIN_ML, kinds.VOLUME_MAX_ML),
    st.sampled_from(("level", "heaped")),
)
depths = amounts(kinds.LENGTH_MIN_MM, kinds.LENGTH_MAX_MM).map(lambda n: q(n, "mm"))
parts = st.builds(
    lambda powder, lot, amount: (
        {"powder": powder, "amount": amount} | ({"lot": lot} if lot else {})
    ),
    st.sampled_from(kinds.POWDERS),
    st.sampled_from((GUM, LOT, an_id(999), None)),
    st.one_of(grams, spoons),
)
OUTCOMES = [(tool, one) for tool, all_of in kinds.OUTCOMES_OF.items() for one in all_of]
readings = st.one_of(
    st.sampled_from(OUTCOMES).map(
        lambda one: {"instrument": one[0], "outcome": one[1], "tag_read": "yes"}
    ),
    depths.map(lambda depth: {"instrument": "dipstick", "depth": depth}),
    litres.map(lambda level: {"instrument": "tape_line", "litres": level}),
    amounts(1, kinds.RUN_OUT_MAX_S).map(
        lambda s: {"instrument": "funnel", "funnel": "brass", "seconds": s}
    ),
    amounts(-5, 60).map(
        lambda c: {"instrument": "thermometer", "temperature": q(c, "celsius")}
    ),
)
MARKS: tuple[tuple[str, dict[str, Any]], ...] = (
    *(("bath.cared", {"care": care}) for care in kinds.CARES),
    ("bath.kept_for", {"session": "class"}),
    ("bath.stopped", {"reason": "other"}),
    ("bath.cleared", {"reason": "other"}),
    ("bath.finished", {"reason": "other"}),
    ("bath.carried", {"vessel": VESSEL}),
    ("bath.carried", {"vessel": an_id(999)}),
)
marks = st.sampled_from(MARKS)
moments = st.integers(0, 40 * 24).map(lambda hours: on(10) + timedelta(hours=hours))


@st.composite
def spoken(draw: st.DrawFn, n: int) -> Entry:
    """Draw one thing that may be said of a size, wise or not."""
    id, at, by = an_id(100 + n), draw(moments), draw(st.sampled_from((AMINA, KAHU)))
    match draw(st.sampled_from(("pour", "lay", "read", "mark", "split", "join"))):
        case "pour":
            powder = {"powder": draw(st.lists(parts, min_size=1, max_size=3))}
            poured: dict[str, Any] = draw(st.sampled_from(({}, powder)))
            if not poured or draw(st.booleans()):
                poured = poured | {"water": draw(litres)}
            return say("bath.topped_up", id, at=at, by=by, bath=SIZE, reason="other", **poured)
        case "lay":
            count = draw(st.integers(1, kinds.SHEETS_MAX))
            stack = draw(st.sampled_from((STACK, an_id(999))))
            return laid(
                id,
                count,
                at=at,
                by=by,
                stack=stack,
                sheet_format=draw(st.sampled_from(kinds.FORMATS)),
                damp=draw(st.sampled_from(kinds.YES_NO)),
            )
        case "read":
            return say("reading.taken", id, at=at, by=by, bath=SIZE, **draw(readings))
        case "mark":
            kind, what = draw(marks)
            return say(kind, id, at=at, by=by, bath=SIZE, **what)
        case "split":
            part = {"vessel": VESSEL, "name": "R-S9", "litres": draw(litres)}
            return say("bath.split", id, at=at, by=by, bath=SIZE, parts=[part])
        case _:
            giver, taker = draw(st.permutations((SIZE, Subject(an_id(41)))))
            return say("bath.joined", id, at=at, by=by, bath=taker, giver=giver,
                       litres=draw(litres))  # fmt: skip


@st.composite
def stories(draw: st.DrawFn) -> list[Entry]:
    """Draw two sizes at the ends of what may be said, and what became of them."""
    tray = say("vessel.described", TRAY, at=on(3), vessel=TRAY, supersedes=TRAY, studio=STUDIO,
               name="tray", inside_length=draw(depths), inside_width=draw(depths),
               brim=q(1000, "l"), lidded=draw(st.sampled_from(kinds.YES_NO)),
               place="2") if draw(st.booleans()) else None  # fmt: skip
    other = sized(an_id(41), water=draw(litres), at=on(15))
    made = sized(water=draw(litres), powder=draw(st.lists(parts, min_size=1, max_size=3)))
    said = [draw(spoken(n)) for n in range(draw(st.integers(1, 8)))]
    mend = [corrected(an_id(300), draw(st.sampled_from(said)), "void", at=on(28))]
    tail = mend if draw(st.booleans()) else []
    return [*([tray] if tray else []), *ALUMED, other, made, *said, *tail]


@given(stories())
def test_nothing_that_may_be_said_stops_the_fold_or_the_page_of_a_size(
    entries: list[Entry],
) -> None:
    """Litres and grams are numbers and not below zero; rows are whole and balance."""
    book = journal(*entries)
    made = book.folded("bath", SIZE)
    state: LiquidState = made.state
    numbers = (state.volume_ml, state.volume_sd_ml, state.powder_g, state.laid_m2,
               state.damp_m2, state.room_h, state.chilled_h)  # fmt: skip

    assert all(0 <= number < float("inf") for number in numbers)
    assert all(0 < move.amount < 2**63 and move.doubt >= 0 for move in made.moves)
    assert sum(balances(made.moves).values()) == 0
    for at in (on(10), state.at, on(29) + timedelta(days=60)):
        seen = look(state, at, book)
        assert 0 <= seen.state.volume_ml < float("inf")
    liquid_turns_at(state, LiquidAround(vessel=book.state("vessel", state.vessel)), now=on(29))


@QUICK
@given(stories(), st.randoms(use_true_random=False))
def test_the_order_in_which_entries_arrive_changes_nothing(
    entries: list[Entry], chance
) -> None:
    """A phone may come back days later."""
    shuffled = list(entries)
    chance.shuffle(shuffled)
    one, other = journal(*entries), journal(*shuffled)

    for subject in (SIZE, Subject(an_id(41))):
        assert differences(one.state("bath", subject), other.state("bath", subject)) == []
        assert one.folded("bath", subject).moves == other.folded("bath", subject).moves


RECIPE, LARGE, LARGE_LOT = an_id(60), an_id(62), an_id(63)
SLOW: Any = {
    "name": "Slow size", "dose": "5 g/L", "amount": q(5, "g"), "per": q(1, "l"),
    "what": "size", "powder": "carrageenan",
}  # fmt: skip
KEPT = [
    say("recipe.published", RECIPE, at=on(2), rest_hours="24", **SLOW),
    say("recipe.published", an_id(61), at=on(3), recipe=RECIPE, supersedes=RECIPE,
        rest_hours="36", **SLOW),
    say("paper.described", LARGE, at=on(2), name="P-40", length=q(1000, "mm"),
        width=q(700, "mm"), chalk="not_known"),
    say("lot.received", LARGE_LOT, at=on(2), studio=STUDIO, what="paper", name="P-40",
        paper=LARGE, sheet_count="100"),
    mixed(),
    through(STACK, 40, at=on(18), lot=LARGE_LOT),
    sized(recipe=RECIPE),
    laid(an_id(50), 20, at=on(19)),
    thickened(51, on(19, 10)),
    say("lot.spoon_weighed", an_id(52), at=on(20), lot=GUM, spoon_count="10", spoon="us_tbsp",
        weight=q(93, "g")),
]  # fmt: skip


@settings(max_examples=12)
@given(st.permutations(KEPT))
def test_a_kept_size_is_the_whole_fold_whatever_it_hangs_on_came_last(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory, entries: list[Entry]
) -> None:
    """A recipe's new edition, a stack, its lot, its paper: each makes the size anew."""
    whole = journal(*KEPT).folded("bath", SIZE)
    with sqlite_book(sqlite_template, tmp_path_factory.mktemp("kept")) as book:
        take_in(book, PLACE)
        for entry in entries:
            take_in(book, [entry])
        with book.store.reading() as desk:
            kept = desk.journal.folded("bath", SIZE)
            found = verify(desk.connection, LEDGER)

    assert differences(kept.state, whole.state) == []
    assert (kept.moves, kept.findings) == (whole.moves, whole.findings)
    assert kept.state.laid_m2 == pytest.approx(7)
    assert kept.state.rest_until == WEDNESDAY + timedelta(hours=36)
    assert found.problems == ()
