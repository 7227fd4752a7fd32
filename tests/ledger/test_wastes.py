"""What is got rid of: baths on their way out, waste jars, the log, the rules of a drain."""

from datetime import UTC, date, datetime, timedelta
from itertools import permutations
from typing import Any

import pytest

from coop.ids import Subject
from coop.ledger.accounts import (
    MADE,
    SUPPLIER,
    TAP,
    UG_PER_G,
    UL_PER_ML,
    WATER,
    account,
    balances,
    cause,
    collected,
    drain,
    spill,
    waste,
)
from coop.ledger.digest import differences
from coop.ledger.entries import Entry
from coop.ledger.folding import Folded
from coop.ledger.ports import Admission
from coop.ledger.states import JarState, JugState, PutIn
from coop.ledger.wastes import log_home
from coop.ledger.ways_out import LITTLE_ML, to_go
from tests.support.memory import MemoryJournal
from tests.support.sayings import (
    AMINA,
    BATH,
    KAHU,
    LOT,
    PAPER_LOT,
    SIZE,
    STUDIO,
    VESSEL,
    an_id,
    corrected,
    described,
    fetched,
    instead,
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
from tests.support.stock import BARN, BOTTLE, lot_of, shelf

TAKEN = Admission(at=on(29), by=AMINA)
JAR, DRUM, JUG, SODA, GALL, WASHING, INK, FAR = (Subject(an_id(n)) for n in range(80, 88))
SEWER = drain(STUDIO, "sewer", "alum_bath")
EARLIER, THURSDAY, FRIDAY, SATURDAY, NEXT_WEEK = (on(day) for day in (10, 18, 19, 20, 25))
LITRE = 1_000 * UL_PER_ML
CLINGS_ML = 1
PLACE = (
    *described(),
    *with_size(),
    say("supply.described", WASHING, at=on(2), what="soda", name="washing soda",
        measure="weight"),
    say("lot.received", SODA, at=on(2), studio=STUDIO, what="supply", name="WS-1",
        supply=WASHING,
        soda="crystals", weight=q(1, "kg")),
    say("lot.received", GALL, at=on(2), studio=STUDIO, what="gall", name="OG-1",
        weight=q(500, "g")),
    say("supply.described", INK, at=on(2), what="colour", name="carbon black",
        measure="volume"),
    say("lot.received", BOTTLE, at=on(2), studio=STUDIO, what="supply", name="CB-1", supply=INK,
        volume=q(500, "ml")),
    say("vessel.described", FAR, at=on(2), studio=BARN, name="barn tub",
        inside_length=q(740, "mm"), inside_width=q(540, "mm"), brim=q(16, "l"),
        lidded="yes", place="1"),
)  # fmt: skip


def journal(*entries: Entry) -> MemoryJournal:
    return shelf([*PLACE, mixed(), sized(), *entries])


def bath(*entries: Entry, of: Subject = BATH) -> Folded:
    return journal(*entries).folded("bath", of)


def codes(*entries: Entry, of: Subject = BATH) -> list[str]:
    return [one.code for one in bath(*entries, of=of).findings]


def done(n: int, *, at: Any = SATURDAY, **body: Any) -> Entry:
    """Return that the alum bath went down the sewer, all of it unless litres are said."""
    usual = {"studio": STUDIO, "waste": "alum_bath", "outlet": "sewer"}
    if not {"jar", "jug", "lot", "sheet_count"} & set(body) and "bath" not in body:
        usual["bath"] = BATH
    body = {name: one for name, one in body.items() if one is not None}
    return say("disposal.done", an_id(n), at=at, **(usual | body))


def treated(n: int, *, at: Any = FRIDAY, **body: Any) -> Entry:
    """Return crystals of washing soda put into the alum bath."""
    usual: dict[str, Any] = {"studio": STUDIO, "step": "base_in"}
    if body.get("step", "base_in") == "base_in":
        usual |= {"base": "crystals", "weight": q(120, "g"), "lot": SODA}
    if "jar" not in body:
        usual["bath"] = BATH
    return say("disposal.treated", an_id(n), at=at, **(usual | body))


def mishap(n: int, *, at: Any = SATURDAY, **body: Any) -> Entry:
    return say("mishap.noted", an_id(n), at=at, **({"studio": STUDIO, "what": "spill"} | body))


def started(id: str = JAR, *, litres: object = 20, **body: Any) -> Entry:
    usual = {"studio": STUDIO, "name": "W-1", "sort": "jar", "wastes": ["alum_bath"]}
    return say("waste.started", id, at=on(3), holds=q(litres, "l"), **(usual | body))


def added(n: int, *, at: Any = SATURDAY, **body: Any) -> Entry:
    """Return colour rinse put into the jar, so many litres."""
    usual = {"studio": STUDIO, "jar": JAR, "waste": "colour_rinse"}
    return say("waste.added", an_id(n), at=at, **(usual | body))


def taken(n: int, *, at: Any = NEXT_WEEK, **body: Any) -> Entry:
    return fetched(an_id(n), at=at, **({"jar": JAR} | body))


def read(n: int, *, at: Any = SATURDAY, **body: Any) -> Entry:
    if "jar" not in body and "bath" not in body:
        body["bath"] = BATH
    return say("reading.taken", an_id(n), at=at, **body)


def strip(n: int, *, at: Any = SATURDAY, **body: Any) -> Entry:
    return read(n, at=at, instrument="ph_strip", ph="6.5", step="0.5", **body)


def jar(*entries: Entry, id: Subject = JAR) -> JarState:
    state: JarState = journal(started(), *entries).state("jar", id)
    return state


def jar_codes(*entries: Entry) -> list[str]:
    return [one.code for one in journal(started(), *entries).folded("jar", JAR).findings]


def held(made: MemoryJournal, name: str, substance: str = WATER) -> int:
    return made.held([name]).get((name, substance), 0)


# ---- a bath on its way out


def test_all_that_goes_into_a_bath_is_remembered_with_its_time() -> None:
    """A reading before it stands no longer: water, more salt, soda, the cup that was kept."""
    made = bath(
        say("bath.topped_up", an_id(100), at=on(18), bath=BATH, water=q(1, "l"),
            reason="too_strong"),
        say("bath.topped_up", an_id(101), at=on(19), bath=BATH,
            salt=[{"lot": LOT, "amount": q(100, "g")}]),
        treated(102, at=on(20)),
        treated(103, at=on(21), step="cup_back", base="crystals", weight=q(7, "g"), lot=SODA),
        treated(104, at=on(22), step="cup_back"),
    ).state  # fmt: skip

    assert [(one.what, one.at) for one in made.put_in] == [
        ("water", on(18)), ("alum", on(19)), ("soda", on(20)), ("alum", on(21)),
        ("soda", on(21)), ("alum", on(22)),
    ]  # fmt: skip


def test_a_bath_never_forgets_a_salt_that_went_in() -> None:
    """Ammonium alum gives off ammonia with soda, however little of it there is."""
    lot = an_id(110)
    ammonium = say("lot.received", lot, at=on(2), studio=STUDIO, what="alum", name="AA-1",
                   salt="ammonium_alum", weight=q(1, "kg"))  # fmt: skip
    other = mixed(an_id(111), salt=[{"lot": lot, "amount": q(400, "g")}])
    joined = say("bath.joined", an_id(112), at=on(21), bath=BATH, giver=an_id(111),
                 litres=q(1, "l"))  # fmt: skip
    both = bath(ammonium, other, joined).state

    assert both.salt != "ammonium_alum"
    assert "ammonium_alum" in both.salts_in


def test_a_reading_that_failed_is_not_pushed_out_by_others() -> None:
    """Of each thing that is read the last ones are kept: pH beside forty temperatures."""
    warm = [
        read(200 + n, at=on(21, n // 2, 30 * (n % 2)), bath=BATH, instrument="thermometer",
             temperature=q(20, "celsius"))
        for n in range(40)
    ]  # fmt: skip
    found = bath(strip(100, at=on(20), bath=BATH), *warm).state.drain_readings

    assert [one.ph for one in found if one.ph] == ["6.5"]
    assert len(found) == 13


def test_a_jar_forgets_nothing_that_went_in_before_it_is_empty() -> None:
    """A hundred rinses later it still holds what the first brought along."""
    first = added(100, at=on(4), litres=q("0.1", "l"), metal_pigments="yes",
                  substances=["bleach"], hazardous="yes", acute="yes")  # fmt: skip
    rinses = [
        added(200 + n, at=on(5, n // 60, n % 60), litres=q("0.1", "l"), waste="rinse_water",
              metal_pigments="no", hazardous="no")
        for n in range(110)
    ]  # fmt: skip
    full = jar(first, *rinses)
    empty = jar(first, *rinses, done(400, at=on(21), jar=JAR, waste="rinse_water"))

    assert (full.metal_pigments, full.hazardous, full.acute) == ("yes", "yes", True)
    assert full.substances_in == ("bleach",)
    assert set(full.wastes_in) == {"colour_rinse", "rinse_water"}
    assert (empty.metal_pigments, empty.substances_in, empty.wastes_in) == ("", (), ())


@pytest.mark.parametrize(
    ("body", "known"),
    [
        ({"bath": BATH, "waste": "alum_bath"}, True),
        ({"waste": "alum_bath", "litres": q(2, "l")}, False),
        ({"waste": "leftover", "litres": q(2, "l"), "substances": ["ammonium_alum"]}, False),
        ({"waste": "rinse_water", "litres": q(2, "l")}, True),
    ],
)
def test_a_jar_says_whether_the_grams_of_alum_in_it_are_known(body: Any, known: bool) -> None:
    """Without them there is no dose to neutralise it with."""
    assert jar(added(100, **body)).salts_known is known


def test_a_jar_poured_over_brings_all_that_was_in_it() -> None:
    """The mildest of its wastes does not stand for the others."""
    mixed_up = jar(
        started(DRUM),
        added(100, jar=DRUM, waste="alum_bath", litres=q(2, "l")),
        added(101, at=on(21), waste="rinse_water", wastes=["alum_bath", "rinse_water"],
              from_jar=DRUM, litres=q(2, "l")),
    )  # fmt: skip

    assert set(mixed_up.wastes_in) == {"alum_bath", "rinse_water"}
    assert mixed_up.salts_known is False


def test_the_log_goes_by_the_day_of_the_ledger_s_clock() -> None:
    """Twenty past midnight in the studio, by a phone whose clock says twenty past ten."""
    opened = say("ledger.opened", an_id(120), at=on(1), name="Test", zone="Europe/Berlin",
                 coordinator=AMINA)  # fmt: skip
    night = datetime(2025, 9, 20, 22, 20, tzinfo=UTC)
    made = journal(opened, started(), added(100, at=night, litres=q(1, "l")))

    assert made.state("disposal", Subject(an_id(100))).on == date(2025, 9, 21)
    assert made.state("jar", JAR).first_on == date(2025, 9, 21)


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_a_bath_poured_away_is_gone_and_its_litres_stand_at_the_drain(id: Subject) -> None:
    """Without litres it is all that is left; nobody has to guess how much that was."""
    made = journal(done(100, bath=id))
    state = made.state("bath", id)

    assert (state.finished_at, state.finish_reason, state.gone_at) == (
        on(20),
        "got_rid_of",
        on(20),
    )
    assert made.folded("bath", id).home == STUDIO
    assert not made.folded("bath", id).live
    litres = {BATH: 12, SIZE: 9}[id]
    assert held(made, SEWER) == pytest.approx(litres * LITRE, abs=CLINGS_ML * UL_PER_ML)
    assert held(made, account("bath", id)) == litres * LITRE - held(made, SEWER)


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_a_part_poured_away_leaves_the_bath_in_use(id: Subject) -> None:
    before = bath(of=id).state
    made = journal(done(100, at=before.at, bath=id, litres=q(2, "l")))
    state = made.state("bath", id)

    assert (state.finished_at, state.gone_at) == (None, None)
    assert volume_ml(state) == pytest.approx(volume_ml(before) - 2000, rel=0.02)
    assert held(made, SEWER) == pytest.approx(2 * LITRE, rel=0.02)
    assert made.folded("bath", id).live


def volume_ml(state: Any) -> float:
    return float(
        state.estimate.belief.volume_ml if hasattr(state, "estimate") else state.volume_ml
    )


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_the_last_part_leaves_nothing_that_must_still_go(id: Subject) -> None:
    """What clings to the tub is no bath: under a small cup it counts as empty."""
    litres = {BATH: "12.2", SIZE: "9"}[id]
    state = bath(done(100, at=on(17, 18), bath=id, litres=q(litres, "l")), of=id).state

    assert volume_ml(state) < LITTLE_ML
    assert state.gone_at == on(17, 18)


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_more_than_stood_there_is_told(id: Subject) -> None:
    assert codes(done(100, bath=id, litres=q(20, "l")), of=id) == ["more-than-stood-there"]


def test_a_finished_bath_stands_among_those_that_must_go_until_it_went() -> None:
    """A bath that was used up left nothing; one that is too old still stands there."""
    old = say("bath.finished", an_id(100), at=on(19), bath=BATH, reason="past_its_time")
    used = say("bath.finished", an_id(100), at=on(19), bath=BATH, reason="used_up")

    assert bath(old).home == to_go(STUDIO)
    assert bath(used).home == STUDIO
    made = journal(old, done(101))
    assert made.folded("bath", BATH).home == STUDIO
    assert made.state("bath", BATH).finish_reason == "past_its_time"
    assert made.folded("bath", BATH).findings == ()


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_a_base_goes_out_of_its_lot_and_the_bath_out_of_use(id: Subject) -> None:
    """The tub of soda is reckoned like any other: it runs out some day."""
    made = journal(treated(100, bath=id))
    state = made.state("bath", id)

    assert (state.finish_reason, state.finished_at) == ("neutralised", on(19))
    assert made.folded("bath", id).home == to_go(STUDIO)
    soda = lot_of(made, SODA).substance
    assert held(made, account("lot", SODA), soda) == 880 * UG_PER_G
    assert held(made, account("bath", id), soda) == 120 * UG_PER_G
    (step,) = state.treated
    assert (step.step, step.base, step.weight_g) == ("base_in", "crystals", 120)


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_the_whole_walk_is_remembered_and_nothing_of_it_is_odd(id: Subject) -> None:
    """Cup back, base in twice alike, a strained reading overnight: no twin, no late entry."""
    steps = (
        treated(100, at=on(19, 10), bath=id, step="kept_back", litres=q("0.6", "l")),
        treated(101, at=on(19, 11), bath=id),
        strip(102, at=on(19, 12), bath=id),
        treated(103, at=on(19, 12, 10), bath=id),
        treated(104, at=on(19, 12, 20), bath=id),
        treated(105, at=on(19, 13), bath=id, step="cup_back", litres=q("0.3", "l")),
        read(106, at=on(19, 14), bath=id, instrument="thermometer",
             temperature=q(21, "celsius")),
        say("bath.cared", an_id(107), at=on(19, 15), bath=id, care="strained"),
        treated(108, at=on(19, 15), bath=id, step="strained"),
        strip(109, at=on(20), bath=id),
        done(110, at=on(20, 10), bath=id),
    )  # fmt: skip
    made = journal(*steps)
    state = made.state("bath", id)

    assert made.folded("bath", id).findings == ()
    assert [one.step for one in state.treated] == [
        "kept_back", "base_in", "base_in", "base_in", "cup_back", "strained",
    ]  # fmt: skip
    assert [one.instrument for one in state.drain_readings] == [
        "ph_strip", "thermometer", "ph_strip",
    ]  # fmt: skip
    assert (state.drain_readings[0].ph, state.drain_readings[0].step) == ("6.5", "0.5")
    assert held(made, account("lot", SODA), lot_of(made, SODA).substance) == 640 * UG_PER_G
    assert (state.finish_reason, state.gone_at) == ("neutralised", on(20, 10))


def test_two_hands_that_put_in_equal_parts_of_base_are_no_twins() -> None:
    """A third, wait, a third: the walk itself asks for equal parts."""
    two = (treated(100, at=on(19, 10)), treated(101, at=on(19, 10, 15)))
    mine = say("disposal.treated", an_id(102), at=on(19, 10, 20), by=KAHU, studio=STUDIO,
               bath=BATH, step="base_in", base="crystals", weight=q(120, "g"),
               lot=SODA)  # fmt: skip

    assert codes(*two, mine) == []


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_a_base_out_of_a_lot_that_is_not_weighed_takes_nothing(id: Subject) -> None:
    """Sheets are no grams: a slip in the lot must not empty the shelf."""
    made = journal(treated(100, bath=id, lot=PAPER_LOT))
    paper = lot_of(made, PAPER_LOT)

    assert held(made, account("lot", PAPER_LOT), paper.substance) == 960 * 4


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_an_old_bath_carried_to_the_barn_must_go_there(id: Subject) -> None:
    """A studio whose drain takes nothing: what stood in its list stands in the other's."""
    over = treated(100, bath=id)
    carried = say("waste.carried", an_id(101), at=on(20), bath=id, from_studio=STUDIO,
                  studio=BARN, carried_in="three 5 L cans")  # fmt: skip
    made = journal(over, carried)
    folded = made.folded("bath", id)

    assert (folded.home, folded.findings) == (to_go(BARN), ())
    line = made.state("disposal", Subject(an_id(101)))
    assert (line.studio, line.to_studio, line.to) == (STUDIO, BARN, "three 5 L cans")
    assert made.state("bath", id).gone_at is None


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_a_mishap_takes_what_is_said_of_it_and_nothing_when_nobody_knows(id: Subject) -> None:
    """Noting it is easy: nobody has to know how much it was."""
    before = volume_ml(bath(of=id).state)
    unsaid = mishap(100, at=on(17, 18), bath=id)
    spilled = mishap(101, at=on(17, 18), bath=id, litres=q(1, "l"))
    wrong = mishap(102, at=on(17, 18), bath=id, litres=q(1, "l"), what="wrong_drain",
                   waste="size", outlet="storm")  # fmt: skip

    assert volume_ml(bath(unsaid, of=id).state) == before
    made = journal(unsaid, spilled, wrong)
    assert held(made, spill(STUDIO)) == pytest.approx(LITRE, rel=0.02)
    assert held(made, drain(STUDIO, "storm", "size")) == pytest.approx(LITRE, rel=0.02)
    assert made.state("bath", id).gone_at is None


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_floc_that_was_weighed_leaves_its_bath_standing(id: Subject) -> None:
    """Forty grams strained off into the bin are not the whole bath."""
    before = volume_ml(bath(of=id).state)
    weighed = done(100, at=on(17, 18), bath=id, waste="floc", outlet="bin", weight=q(40, "g"))
    made = journal(weighed)

    assert volume_ml(made.state("bath", id)) == before
    assert made.state("bath", id).gone_at is None
    assert held(made, drain(STUDIO, "bin", "floc"), waste("floc")) == 40 * UG_PER_G
    assert held(made, MADE, waste("floc")) == -40 * UG_PER_G


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_only_what_cannot_be_after_the_end_is_odd(id: Subject) -> None:
    """Sheets through a bath that was neutralised are odd; once it is gone, anything is."""
    over, gone = treated(100, bath=id), done(101, bath=id)
    sheets = (
        through(an_id(102), 3, at=on(19, 12))
        if id == BATH
        else laid(an_id(102), 3, at=on(19, 12))
    )

    assert "after-the-finish" in codes(over, sheets, of=id)
    assert codes(over, gone, strip(103, at=on(21), bath=id), of=id) == ["after-the-finish"]
    assert codes(over, gone, done(104, at=on(21), bath=id), of=id) == ["after-the-finish"]


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_a_bath_struck_from_the_log_is_back_among_those_that_must_go(id: Subject) -> None:
    """Wrong bath ticked on the phone: it still stands there."""
    over, gone = treated(100, bath=id), done(101, bath=id)
    struck = corrected(an_id(102), gone, "void", at=on(21))
    made = journal(over, gone, struck)

    assert made.state("bath", id).gone_at is None
    assert made.folded("bath", id).home == to_go(STUDIO)
    assert held(made, SEWER) == 0
    assert made.listed_in("disposal", (log_home(STUDIO, date(2025, 9, 1)),)) == (
        made.state("disposal", Subject(an_id(100))),
    )


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_litres_put_right_put_the_rows_right(id: Subject) -> None:
    gone = done(100, bath=id, litres=q(5, "l"))
    body = instead(gone, litres=q(2, "l"), outlet="septic")
    made = journal(gone, corrected(an_id(101), gone, "replace", at=on(21), content=body))

    assert held(made, SEWER) == 0
    assert held(made, drain(STUDIO, "septic", "alum_bath")) == pytest.approx(
        2 * LITRE, rel=0.02
    )
    line = made.state("disposal", Subject(an_id(100)))
    assert (line.amount_ml, line.outlet) == (2000, "septic")


def test_one_bath_ticked_for_another_is_put_right_in_both() -> None:
    gone = done(100, bath=BATH)
    body = instead(gone, bath=SIZE, waste="size")
    made = journal(gone, corrected(an_id(101), gone, "replace", at=on(21), content=body))

    assert made.state("bath", BATH).gone_at is None
    assert made.state("bath", SIZE).gone_at == on(20)
    assert made.state("disposal", Subject(an_id(100))).bath == SIZE


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_what_stood_open_comes_into_the_jar_as_it_then_was(id: Subject) -> None:
    """A tub that dried up for three days gives less than it held when it was mixed."""
    open_ = say("bath.cared", an_id(100), at=on(17, 19), bath=id, care="uncovered")
    made = journal(started(), open_, added(101, bath=id, waste="alum_bath"))
    jar_state = made.state("jar", JAR)

    assert jar_state.volume_ml * UL_PER_ML == pytest.approx(
        held(made, account("jar", JAR)), abs=2
    )
    assert made.state("bath", id).gone_at == on(20)


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_another_bath_poured_in_is_told_beside_what_was_read_before(id: Subject) -> None:
    """The reading stands until something is added, and what failed once is not forgotten."""
    again = mixed(an_id(100)) if id == BATH else sized(an_id(100))
    joined = say("bath.joined", an_id(101), at=on(21), bath=id, giver=an_id(100),
                 litres=q(1, "l"))  # fmt: skip

    after = bath(again, strip(102, bath=id), joined, of=id).state

    assert [one.ph for one in after.drain_readings] == ["6.5"]
    assert after.put_in == (PutIn("water", on(21)),)


@pytest.mark.parametrize("id", [BATH, SIZE])
def test_a_part_poured_off_is_not_gone_with_the_rest(id: Subject) -> None:
    part = {"vessel": VESSEL, "name": "R-A9", "litres": q(3, "l")}
    split = say("bath.split", an_id(100), at=on(21), bath=id, parts=[part])
    made = journal(done(101, bath=id), split)
    (took,) = [one for one in made.listed("bath", live=False) if one.name == "R-A9"]

    assert took.gone_at is None


def test_water_is_remembered_when_it_went_in() -> None:
    """Adding water to pass a reading is dilution, so a page must see when it was."""
    for id in (BATH, SIZE):
        poured = topped_up(an_id(100), at=on(18), bath=id, water=q(1, "l"))
        assert bath(poured, of=id).state.put_in == (PutIn("water", on(18)),)


@pytest.mark.parametrize("late", [False, True])
def test_a_bath_nobody_wrote_down_is_told_of_and_its_litres_count(late: bool) -> None:
    """The month's litres at a drain are what went down, whoever forgot the mixing."""
    nobody = Subject(an_id(50))
    said = [
        done(100, bath=nobody, litres=q(4, "l")),
        added(101, bath=nobody, litres=q(3, "l")),
        mishap(102, bath=nobody, litres=q(1, "l")),
        mishap(103, bath=nobody),
        done(104, bath=nobody, waste="floc", weight=q(40, "g")),
        treated(105, bath=nobody),
    ]
    if late:
        said.append(mixed(nobody))
    made = journal(started(), *said)
    folded = made.folded("bath", nobody)

    known_by = 0 if late else 3
    assert [one.code for one in folded.findings].count("giver-not-known") == known_by
    assert held(made, SEWER) == pytest.approx(4 * LITRE, rel=0.02)
    assert held(made, account("jar", JAR)) == pytest.approx(3 * LITRE, rel=0.02)
    assert held(made, spill(STUDIO)) == pytest.approx(LITRE, rel=0.02)
    assert made.state("jar", JAR).volume_ml == pytest.approx(3000, rel=0.02)
    soda = lot_of(made, SODA)
    assert held(made, account("lot", SODA), soda.substance) == 880 * UG_PER_G


# ---- jars


def test_a_jar_holds_what_went_in_and_knows_whose_it_was() -> None:
    made = journal(
        started(tags=["irritant"], area="central", place="by the sink",
                full_by="2025-10-01", collect_by="2025-11-01"),
        added(100, at=on(10), litres=q(2, "l"), substances=["colour"], hazardous="no"),
        added(101, at=on(20), bath=BATH, waste="alum_bath"),
    )  # fmt: skip
    state = made.state("jar", JAR)

    assert (state.studio, state.name, state.holds_ml) == (STUDIO, "W-1", 20_000)
    assert (state.full_by, state.collect_by) == (date(2025, 10, 1), date(2025, 11, 1))
    assert [(one.waste, one.bath) for one in state.parts] == [
        ("colour_rinse", None),
        ("alum_bath", BATH),
    ]
    assert (state.first_on, state.full_on) == (date(2025, 9, 10), None)
    ((salt, grams),) = state.salts
    assert salt == "aluminium_sulfate_14"
    assert grams == pytest.approx(480, rel=0.01)
    assert held(made, account("jar", JAR)) == pytest.approx(state.volume_ml * UL_PER_ML, abs=2)
    assert made.listed("jar", home=STUDIO) == (state,)


def test_a_jar_poured_away_in_parts_and_wholly_begins_anew() -> None:
    """The day the first drop went in is asked of what is in it now, not of the jar."""
    first = (
        added(100, at=on(10), litres=q(6, "l")),
        done(101, at=on(12), jar=JAR, litres=q(2, "l")),
    )
    half = jar(*first)
    assert (half.volume_ml, half.first_on) == (4000, date(2025, 9, 10))

    made = journal(started(), *first, done(102, at=on(13), jar=JAR))
    gone = made.state("jar", JAR)
    assert (gone.volume_ml, gone.first_on, gone.parts) == (0, None, ())
    assert gone.emptied_at == on(13)
    assert gone.ended_at is None
    assert held(made, SEWER) == 6 * LITRE
    assert held(made, account("jar", JAR)) == 0

    again = jar(*first, done(102, at=on(13), jar=JAR), added(103, at=on(14), litres=q(1, "l")))
    assert (again.volume_ml, again.first_on, again.emptied_at) == (
        1000,
        date(2025, 9, 14),
        None,
    )


def test_a_jar_over_its_brim_is_told_and_is_full() -> None:
    over = added(100, litres=q(25, "l"))

    assert jar_codes(over) == ["over-the-brim"]
    assert jar(over).full_on == date(2025, 9, 20)
    assert jar(added(100, litres=q(3, "l"), full="yes")).full_on == date(2025, 9, 20)


def test_more_out_of_a_jar_than_stood_there_is_told() -> None:
    little = added(100, litres=q(3, "l"))

    assert jar_codes(little, done(101, at=on(21), jar=JAR, litres=q(5, "l"))) == [
        "more-than-stood-there"
    ]
    assert jar_codes(little, done(101, at=on(21), jar=JAR, litres=q(3, "l"))) == []


def test_grams_out_of_a_jar_leave_the_rest_in_it() -> None:
    """Half of the floc went into the bin; the jar is not empty for that."""
    made = journal(
        started(wastes=["floc"]),
        added(100, waste="floc", weight=q(400, "g")),
        done(101, at=on(21), jar=JAR, waste="floc", outlet="bin", weight=q(150, "g")),
    )
    state = made.state("jar", JAR)

    assert (state.weight_g, state.first_on) == (250, date(2025, 9, 20))
    assert held(made, drain(STUDIO, "bin", "floc"), waste("floc")) == 150 * UG_PER_G
    more = done(102, at=on(22), jar=JAR, waste="floc", weight=q(300, "g"))
    assert jar_codes(added(100, waste="floc", weight=q(200, "g")), more) == [
        "more-than-stood-there"
    ]
    rest = done(102, at=on(22), jar=JAR, waste="floc", outlet="bin", weight=q(250, "g"))
    made.append([rest], TAKEN)
    assert made.state("jar", JAR).emptied_at == on(22)


def test_what_was_weighed_into_a_jar_leaves_it_by_its_own_name() -> None:
    """Floc and an old powder in one jar: neither is taken for the other, nor for its waste."""
    floc = added(100, waste="floc", weight=q(400, "g"))
    powder = added(101, waste="leftover", lot=LOT, weight=q(100, "g"))
    half = done(102, at=on(21), jar=JAR, waste="floc", outlet="bin", weight=q(250, "g"))
    made = journal(started(), floc, powder, half, taken(103))
    salt = lot_of(made, LOT).substance
    to_bin, to_yard = drain(STUDIO, "bin", "floc"), collected(STUDIO)

    assert (held(made, to_bin, waste("floc")), held(made, to_bin, salt)) == (
        200 * UG_PER_G,
        50 * UG_PER_G,
    )
    assert (held(made, to_yard, waste("floc")), held(made, to_yard, salt)) == (
        200 * UG_PER_G,
        50 * UG_PER_G,
    )
    assert made.held([account("jar", JAR)]) == {}


def test_a_jar_fetched_with_what_is_in_it_is_off_the_shelf() -> None:
    """What was reckoned to be in it is at the collector's, whatever his note says."""
    made = journal(
        started(),
        added(100, litres=q(6, "l")),
        taken(101, litres=q(5, "l"), jar_gone="yes"),
    )
    state = made.state("jar", JAR)

    assert (state.volume_ml, state.ended_at) == (0, on(25))
    assert held(made, collected(STUDIO)) == 6 * LITRE
    assert made.listed("jar", home=STUDIO) == ()
    line = made.state("disposal", Subject(an_id(101)))
    assert (line.who, line.amount_ml) == ("the county's truck", 5000)
    late = added(102, at=on(26), litres=q(1, "l"))
    assert jar_codes(added(100, litres=q(6, "l")), taken(101, jar_gone="yes"), late) == [
        "after-the-finish"
    ]


def test_a_drum_emptied_by_a_truck_stays() -> None:
    made = journal(started(), added(100, litres=q(6, "l")), taken(101, litres=q(4, "l")))

    assert made.state("jar", JAR).volume_ml == 2000
    assert made.state("jar", JAR).ended_at is None
    assert held(made, collected(STUDIO)) == 4 * LITRE


def test_a_jar_out_of_another_is_as_old_as_the_oldest_in_it() -> None:
    """Pouring jars together must not make old waste young."""
    moved = added(101, at=on(20), jar=DRUM, from_jar=JAR, litres=q(2, "l"), since="2025-09-10")
    made = journal(
        started(), started(DRUM, litres=100), added(100, at=on(10), litres=q(6, "l")),
        added(102, at=on(15), jar=DRUM, litres=q(1, "l")), moved,
    )  # fmt: skip

    assert made.state("jar", DRUM).first_on == date(2025, 9, 10)
    assert made.state("jar", DRUM).volume_ml == 3000
    assert made.state("jar", JAR).volume_ml == 4000
    assert held(made, account("jar", DRUM)) == 3 * LITRE
    assert held(made, account("jar", JAR)) == 4 * LITRE
    assert held(made, TAP) == held(journal(started()), TAP) - 7 * LITRE


def test_a_jar_carried_stands_in_the_other_studio() -> None:
    carried = say("waste.carried", an_id(101), at=on(21), jar=JAR, from_studio=STUDIO,
                  studio=BARN)  # fmt: skip
    made = journal(started(), added(100, litres=q(6, "l")), carried, taken(102, studio=BARN))

    assert made.listed("jar", home=STUDIO) == ()
    assert [one.id for one in made.listed("jar", home=BARN)] == [JAR]
    assert held(made, collected(BARN)) == 6 * LITRE


def test_a_mishap_with_a_jar_takes_only_what_is_said() -> None:
    six = added(100, litres=q(6, "l"))

    assert jar(six, mishap(101, at=on(21), jar=JAR)).volume_ml == 6000
    made = journal(started(), six, mishap(101, at=on(21), jar=JAR, litres=q(2, "l")))
    assert made.state("jar", JAR).volume_ml == 4000
    assert held(made, spill(STUDIO)) == 2 * LITRE


def test_a_jar_is_neutralised_out_of_a_lot_like_a_bath() -> None:
    made = journal(started(), added(100, litres=q(6, "l")), treated(101, at=on(21), jar=JAR))

    assert [one.base for one in made.state("jar", JAR).treated] == ["crystals"]
    soda = lot_of(made, SODA)
    assert held(made, account("lot", SODA), soda.substance) == 880 * UG_PER_G


def test_a_jar_is_told_of_what_went_in_beside_what_was_read_before() -> None:
    """pH of what was in it says nothing of what is in it now, but that it failed is kept."""
    six, ph = added(100, litres=q(6, "l")), strip(101, at=on(21), jar=JAR)

    assert [one.ph for one in jar(six, ph).readings] == ["6.5"]
    more = jar(six, ph, added(102, at=on(22), litres=q(1, "l")))
    assert ([one.ph for one in more.readings], more.put_in[-1]) == (
        ["6.5"], PutIn("water", on(22)),
    )  # fmt: skip
    assert jar(six, ph, done(102, at=on(22), jar=JAR, litres=q(1, "l"))).readings != ()
    looked = read(102, at=on(22), jar=JAR, instrument="look", outcome="tinted")
    assert jar(six, looked).readings == ()
    assert jar_codes(six, looked) == ["says-nothing-here"]
    both = strip(102, at=on(22), jar=JAR, litres=q(2, "l"))
    assert (jar(six, both).volume_ml, len(jar(six, both).readings)) == (6000, 1)


@pytest.mark.parametrize(("litres", "other"), [(9, MADE), (4, cause("lost"))])
def test_litres_seen_in_a_jar_stand_for_what_was_reckoned(litres: int, other: str) -> None:
    """What nobody wrote down came from nowhere, what is missing is lost: both are rows."""
    level = read(101, at=on(21), jar=JAR, instrument="tape_line", litres=q(litres, "l"))
    made = journal(started(), added(100, litres=q(6, "l")), level)

    assert made.state("jar", JAR).volume_ml == litres * 1000
    assert held(made, account("jar", JAR)) == litres * LITRE
    assert abs(held(made, other)) == abs(litres - 6) * LITRE


def test_a_jar_nobody_set_up_is_told_of() -> None:
    """Everything said of it stays to be sorted out: the jar's start may come later."""
    said = (
        added(100, litres=q(6, "l")),
        done(101, at=on(21), jar=JAR, litres=q(1, "l")),
        taken(102),
        added(103, at=on(21), jar=DRUM, from_jar=JAR, litres=q(1, "l")),
        strip(104, jar=JAR),
    )
    folded = journal(started(DRUM), *said).folded("jar", JAR)

    assert folded.state is None
    assert [(one.code, one.entry) for one in folded.findings] == [
        ("taker-not-known", an_id(100)),
        ("giver-not-known", an_id(101)),
        ("giver-not-known", an_id(103)),
        ("giver-not-known", an_id(102)),
    ]
    assert journal(started(DRUM), started(), *said).folded("jar", JAR).findings == ()


def test_what_went_into_another_jar_than_was_said_is_put_right_in_both() -> None:
    """Two drums stand side by side; the wrong one was tapped."""
    said = added(100, at=on(10), litres=q(6, "l"))
    body = instead(said, jar=DRUM)
    made = journal(
        started(),
        started(DRUM),
        said,
        corrected(an_id(101), said, "replace", at=on(21), content=body),
    )

    assert (made.state("jar", JAR).volume_ml, made.state("jar", JAR).first_on) == (0, None)
    assert made.state("jar", DRUM).first_on == date(2025, 9, 10)
    assert held(made, account("jar", DRUM)) == 6 * LITRE


def test_a_jar_whose_start_was_struck_leaves_nothing_untold() -> None:
    start = started()
    made = journal(
        start, added(100, litres=q(6, "l")), corrected(an_id(101), start, "void", at=on(21))
    )

    assert made.state("jar", JAR) is None
    assert [one.code for one in made.folded("jar", JAR).findings] == ["taker-not-known"]


def test_a_late_word_makes_a_jar_as_old_as_it_is_and_moves_what_follows() -> None:
    """A phone off for a fortnight: what it says lies before the pouring, so less is left."""
    before = [added(100, at=on(15), litres=q(2, "l")), done(101, at=on(22), jar=JAR)]
    made = journal(started(), *before)
    assert held(made, SEWER) == 2 * LITRE

    made.append([added(102, at=on(8), litres=q(3, "l"))], TAKEN)
    assert held(made, SEWER) == 5 * LITRE
    made.append([added(103, at=on(24), litres=q(1, "l"))], TAKEN)
    assert made.state("jar", JAR).first_on == date(2025, 9, 24)
    assert held(made, SEWER) == 5 * LITRE


# ---- jugs, lots, rinse water


FOUND = say("jug.found", JUG, at=on(5), studio=STUDIO, where="under the stairs",
            litres=q(4, "l"), look="thick")  # fmt: skip


def vouched(n: int, *, at: Any = THURSDAY, **body: Any) -> Entry:
    usual = {"jug": JUG, "waste": "size", "metal_pigments": "no", "litres": q(4, "l")}
    return say("jar.vouched", an_id(n), at=at, **(usual | body))


@pytest.mark.parametrize("of", [{}, {"bath": SIZE}])
def test_a_jug_vouched_for_waits_until_it_went(of: dict[str, str]) -> None:
    """Closed and tagged until a person vouches; then it is waste like any other."""
    before = journal(FOUND)
    assert before.state("jug", JUG).waste == ""

    made = journal(FOUND, vouched(100, **of))
    state: JugState = made.state("jug", JUG)
    assert (state.waste, state.volume_ml, state.known_at) == ("size", 4000, on(18))
    assert made.listed("jug", home=STUDIO) == (state,)
    assert made.state("disposal", Subject(an_id(100))).studio == STUDIO

    gone = journal(FOUND, vouched(100, **of), done(101, jug=JUG, waste="size"))
    assert gone.state("jug", JUG).gone_at == on(20)
    assert gone.listed("jug", home=STUDIO) == ()
    assert held(gone, drain(STUDIO, "sewer", "size")) == 4 * LITRE


def test_a_jug_that_somebody_vouched_for_by_mistake_is_unknown_again() -> None:
    said = vouched(100)
    made = journal(FOUND, said, corrected(an_id(101), said, "void", at=on(19)))

    assert made.state("jug", JUG).waste == ""
    assert made.state("jug", JUG).known_at is None
    assert made.state("disposal", Subject(an_id(100))) is None


def test_a_jug_goes_into_a_jar_with_all_its_litres() -> None:
    made = journal(started(), FOUND, vouched(100), added(101, jug=JUG, waste="size"))

    assert made.state("jar", JAR).volume_ml == 4000
    assert held(made, account("jar", JAR)) == 4 * LITRE
    assert made.state("jug", JUG).gone_at == on(20)


@pytest.mark.parametrize(
    ("lot", "amount", "left"),
    [
        (LOT, {"weight": q(200, "g")}, (5000 - 480 - 200) * UG_PER_G),
        (GALL, {"weight": q(200, "g")}, 300 * UG_PER_G),
        (BOTTLE, {"litres": q(100, "ml")}, 400 * UL_PER_ML),
        (BOTTLE, {"weight": q(100, "g")}, 500 * UL_PER_ML),
        (SODA, {"litres": q(1, "l")}, 1000 * UG_PER_G),
        (PAPER_LOT, {"weight": q(500, "g")}, 960 * 4),
    ],
)
def test_what_is_left_of_a_lot_goes_out_of_it_in_its_own_measure(
    lot: Subject, amount: dict[str, Any], left: int
) -> None:
    """Grams of a powder, litres of a colour; never grams of sheets."""
    for out in (done(100, lot=lot, waste="leftover", outlet="bin", **amount),
                added(100, lot=lot, waste="leftover", **amount)):  # fmt: skip
        made = journal(started(), out)
        assert held(made, account("lot", lot), lot_of(made, lot).substance) == left


@pytest.mark.parametrize(
    ("lot", "amount", "name", "held_there"),
    [
        (BOTTLE, {"litres": q(100, "ml")}, WATER, 100 * UL_PER_ML),
        (PAPER_LOT, {"weight": q(500, "g")}, waste("leftover"), 500 * UG_PER_G),
        (GALL, {"weight": q(200, "g")}, "powder:gall", 200 * UG_PER_G),
    ],
)
def test_a_leftover_comes_out_of_its_jar_as_it_went_in(
    lot: Subject, amount: dict[str, Any], name: str, held_there: int
) -> None:
    """Litres of a colour are litres of waste: the drum's sum is of one measure."""
    out = added(100, lot=lot, waste="leftover", **amount)

    assert journal(started(), out).held([account("jar", JAR)]) == {
        (account("jar", JAR), name): held_there
    }
    gone = journal(started(), out, taken(101))
    assert gone.held([account("jar", JAR), collected(STUDIO)]) == {
        (collected(STUDIO), name): held_there
    }


def test_the_rinse_water_of_36_sheets_is_54_litres() -> None:
    """A litre and a half a sheet: common practice, no source."""
    rinse = done(100, waste="rinse_water", sheet_count="36")
    made = journal(
        started(litres=100), rinse, added(101, waste="rinse_water", sheet_count="36")
    )

    assert held(made, drain(STUDIO, "sewer", "rinse_water")) == 54 * LITRE
    assert made.state("jar", JAR).volume_ml == 54_000
    assert made.state("disposal", Subject(an_id(100))).sheet_count == 36


def test_a_spill_of_nothing_known_has_its_litres_too() -> None:
    made = journal(mishap(100, litres=q(2, "l")), mishap(101))

    assert held(made, spill(STUDIO)) == 2 * LITRE
    homes = (log_home(STUDIO, date(2025, 9, 1)),)
    assert [one.what for one in made.listed_in("disposal", homes)] == ["spill", "spill"]


# ---- the log


def test_a_month_of_the_log_holds_what_happened_in_it_by_the_clock_there() -> None:
    """The last evening of a month belongs to it, whatever the hour in Greenwich."""
    next_ = on(1, 0, 1)
    late = next_ - timedelta(minutes=2)
    made = journal(
        done(100, at=late, bath=None, litres=q(1, "l"), waste="rinse_water"),
        done(101, at=next_, bath=None, litres=q(1, "l"), waste="rinse_water"),
    )
    august, september = log_home(STUDIO, late.date()), log_home(STUDIO, next_.date())

    assert (august, september) == (f"{STUDIO}:2025-08", f"{STUDIO}:2025-09")
    assert [one.id for one in made.listed_in("disposal", [august])] == [an_id(100)]
    assert [one.id for one in made.listed_in("disposal", [september])] == [an_id(101)]


def test_what_the_rules_said_stands_in_the_log_and_moves_nothing() -> None:
    judged = say("disposal.judged", an_id(100), at=on(19), studio=STUDIO, bath=BATH,
                 waste="alum_bath", outlet="sewer", outcome="not_yet",
                 decision="ab" * 32)  # fmt: skip
    made = journal(judged)

    line = made.state("disposal", Subject(an_id(100)))
    assert (line.outcome, line.decision, line.bath) == ("not_yet", "ab" * 32, BATH)
    assert made.folded("disposal", Subject(an_id(100))).moves == ()
    assert made.state("bath", BATH).finished_at is None
    assert made.folded("bath", BATH).findings == ()


# ---- rules of the drain


def published(n: int, edition: int, *, at: Any = EARLIER, **body: Any) -> Entry:
    usual = {
        "studio": STUDIO, "pack": "town-letter", "pack_edition": str(edition),
        "document": f"{n:064x}", "checked_on": "2025-08-18", "review_on": "2026-08-18",
    }  # fmt: skip
    return say("rules.published", an_id(n), at=at, **(usual | body))


def test_editions_of_a_rule_stand_beside_one_another() -> None:
    """A decision of June is read again by the rules of June."""
    first = published(100, 1)
    second = published(101, 2, at=on(12), rules=an_id(100), supersedes=an_id(100))
    made = journal(second, first)
    state = made.state("rules", Subject(an_id(100)))

    assert [one.edition for one in state.editions] == [1, 2]
    assert state.last.entry == an_id(101)
    assert made.folded("rules", Subject(an_id(100))).findings == ()
    assert made.listed("rules", home=STUDIO) == (state,)
    ended = published(102, 3, at=on(13), rules=an_id(100), supersedes=an_id(101), in_use="no")
    assert journal(first, second, ended).listed("rules", home=STUDIO) == ()


def test_two_editions_that_replace_the_same_one_are_told() -> None:
    """Two coordinators copied the letter on two evenings without knowing of one another."""
    one = published(100, 1)
    mine = published(101, 2, at=on(12), rules=an_id(100), supersedes=an_id(100))
    other = published(102, 2, at=on(13), rules=an_id(100), supersedes=an_id(100))
    folded = journal(one, mine, other).folded("rules", Subject(an_id(100)))

    assert [odd.code for odd in folded.findings] == ["editions-disagree"]
    assert folded.state.last.entry == an_id(102)


def test_the_edition_in_force_is_the_last_though_it_is_said_to_be_older() -> None:
    one = published(100, 1, at=on(14))
    next_ = published(101, 2, at=on(12), rules=an_id(100), supersedes=an_id(100))

    assert journal(one, next_).state("rules", Subject(an_id(100))).last.edition == 2


# ---- in any order


def test_any_order_of_arrival_comes_to_the_same() -> None:
    """A phone that was off for a week hands in the start of the jar last."""
    entries = (
        started(),
        added(100, at=on(10), litres=q(6, "l")),
        added(101, at=on(20), bath=BATH, waste="alum_bath"),
        strip(102, at=on(21), jar=JAR),
        done(103, at=on(22), jar=JAR, litres=q(5, "l")),
    )
    plain = journal(*entries)
    for turn in permutations(entries):
        made = shelf([*turn, sized(), mixed(), *reversed(PLACE)])
        for sort, id in (("jar", JAR), ("bath", BATH), ("disposal", Subject(an_id(103)))):
            one, other = made.folded(sort, id), plain.folded(sort, id)
            assert differences(one.state, other.state) == []
            assert (one.moves, one.findings) == (other.moves, other.findings)


def test_nothing_moves_but_out_of_something_into_another() -> None:
    """Every litre and gram of a month adds up to nothing over all accounts."""
    made = journal(
        started(), FOUND, vouched(100), treated(101), added(102, bath=BATH, waste="alum_bath"),
        added(103, at=on(21), jug=JUG, waste="size"), mishap(104, at=on(22), jar=JAR,
        litres=q(1, "l")), taken(105), done(106, bath=SIZE, waste="size"),
    )  # fmt: skip
    sums = balances(made.moves(account("jar", JAR)))

    assert sum(amount for (_, substance), amount in sums.items() if substance == WATER) == 0
    below = {name.partition(":")[0] for (name, _), amount in sums.items() if amount < 0}
    assert below <= {TAP, SUPPLIER, MADE, "bath"}
