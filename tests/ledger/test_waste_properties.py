"""Whatever is poured, joined, jarred, fetched or spilled: every litre has a place."""

from collections import Counter
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coop.ids import Subject
from coop.ledger.accounts import (
    MADE,
    SUPPLIER,
    TAP,
    UL_PER_ML,
    WATER,
    Move,
    account,
    balances,
    cause,
)
from coop.ledger.baths import BathState
from coop.ledger.digest import differences
from coop.ledger.entries import Entry
from coop.ledger.ways_out import LITTLE_ML
from tests.support.histories import BATHS, JARS, JUGS, OF_ALUM, SIZES, emptied, jarred, parted
from tests.support.memory import MemoryJournal
from tests.support.sayings import (
    PAPER_LOT,
    STUDIO,
    VESSEL,
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
from tests.support.stock import shelf

SLACK_UL = 20
"""Each row is rounded to a whole microlitre."""
QUICK = settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
SORTS = ("bath", "jar", "disposal", "lot", "stack")
START = (
    *described(),
    *with_size(),
    *(mixed(bath, at=on(10)) for bath in OF_ALUM),
    *(sized(size, at=on(10)) for size in SIZES),
    *(
        say("waste.started", jar, at=on(2), studio=STUDIO, name="W", sort="jar",
            holds=q(40, "l"), wastes=["size", "alum_bath"])
        for jar in JARS
    ),
    *(
        say("jug.found", jug, at=on(2), studio=STUDIO, where="shelf", litres=q(2, "l"),
            look="thick")
        for jug in JUGS
    ),
)  # fmt: skip


@st.composite
def ways(draw: st.DrawFn) -> list[Entry]:
    """Draw what is done with baths and jars of which no bath's level was read, then mended."""
    said = [draw(deeds(an_id(100 + n))) for n in range(draw(st.integers(1, 14)))]
    struck = draw(st.lists(st.sampled_from(said), max_size=2, unique=True))
    mended = [corrected(an_id(200 + n), one, "void", at=on(28)) for n, one in enumerate(struck)]
    return [*START, *said, *mended]


@st.composite
def deeds(draw: st.DrawFn, id: str) -> Entry:
    at = on(draw(st.integers(11, 27)), draw(st.integers(8, 20)))
    bath = draw(st.sampled_from(BATHS))
    kind = draw(st.sampled_from((parted, parted, jarred, emptied, used, handed)))
    found: Entry = draw(kind(id, at, bath))
    return found


@st.composite
def used(draw: st.DrawFn, id: str, at: Any, bath: str) -> Entry:
    """Draw a bath that is thinned, stands open, or has sheets through it or on it."""
    sheets = draw(st.integers(1, 40))
    if draw(st.booleans()):
        return topped_up(id, at=at, bath=bath, water=q(draw(st.integers(1, 5)), "l"))
    if draw(st.booleans()):
        return say("bath.cared", id, at=at, bath=bath, care="uncovered")
    if bath in SIZES:
        return laid(id, sheets, at=at, size=bath, stack=an_id(99))
    return through(id, sheets, at=at, bath=bath, lot=PAPER_LOT)


@st.composite
def handed(draw: st.DrawFn, id: str, at: Any, bath: str) -> Entry:
    """Draw a bath joined with one of its own kind, or poured apart."""
    kin = [one for one in (OF_ALUM if bath in OF_ALUM else SIZES) if one != bath]
    litres = q(draw(st.integers(1, 5)), "l")
    if draw(st.booleans()):
        part = {"vessel": VESSEL, "name": "R-A9", "litres": litres}
        return say("bath.split", id, at=at, bath=bath, parts=[part])
    amount: dict[str, Any] = {"litres": litres} if draw(st.booleans()) else {}
    return say("bath.joined", id, at=at, bath=bath, giver=draw(st.sampled_from(kin)), **amount)


def moves_of(journal: MemoryJournal) -> list[Move]:
    return [
        move
        for sort in SORTS
        for one in journal.listed(sort, live=False)
        for move in journal.folded(sort, one.id).moves
    ]


def overdrawn(journal: MemoryJournal) -> set[str]:
    """Return the accounts of jars that are told to have given more than they had."""
    return {
        account("jar", Subject(id))
        for id in JARS
        for one in journal.folded("jar", Subject(id)).findings
        if one.code == "more-than-stood-there"
    }


@QUICK
@given(ways())
def test_all_sums_come_to_nothing_and_nothing_gives_what_it_has_not(
    entries: list[Entry],
) -> None:
    """Only what is outside gives without end: taps, suppliers, what nobody wrote down."""
    journal = shelf(entries)
    moves = moves_of(journal)
    held = balances(moves)
    sums: dict[str, int] = {}
    for (_, substance), amount in held.items():
        sums[substance] = sums.get(substance, 0) + amount
    assert set(sums.values()) <= {0}

    doubt = Counter[tuple[str, str]]()
    for one in moves:
        doubt[one.from_account, one.substance] += one.doubt + SLACK_UL
    below = {key[0] for key, amount in held.items() if amount < -doubt[key]}
    assert below <= {TAP, MADE, SUPPLIER} | overdrawn(journal)


@QUICK
@given(ways())
def test_every_litre_of_a_bath_is_in_sheets_in_air_or_went_somewhere(
    entries: list[Entry],
) -> None:
    """What came in by rows is what is left, what sheets and air took, and rows out."""
    journal = shelf(entries)
    held = balances(moves_of(journal))
    for state in journal.listed("bath", live=False):
        here_ml = held.get((account("bath", state.id), WATER), 0) / UL_PER_ML
        if isinstance(state, BathState):
            lost = state.estimate.water_ml
            left_ml = state.estimate.belief.volume_ml + lost.off_with_sheets + lost.to_air
            assert abs(here_ml - left_ml - lost.unexplained) < 1.5, state.id
        else:
            assert here_ml >= state.volume_ml - 0.1


@QUICK
@given(ways())
def test_what_a_jar_holds_is_what_its_rows_left_in_it(entries: list[Entry]) -> None:
    """Each time it is emptied at most what clings to it stays behind."""
    journal = shelf(entries)
    held = balances(moves_of(journal))
    for id in JARS:
        name = account("jar", Subject(id))
        volume_ml = journal.state("jar", Subject(id)).volume_ml
        here_ml = held.get((name, WATER), 0) / UL_PER_ML
        clings_ml = LITTLE_ML * len(entries)
        assert here_ml <= volume_ml + clings_ml
        assert here_ml >= volume_ml - clings_ml or name in overdrawn(journal)


@QUICK
@given(st.data())
def test_the_order_in_which_it_is_heard_changes_nothing(data: st.DataObject) -> None:
    entries = data.draw(ways())
    plain, other = shelf(entries), shelf(data.draw(st.permutations(entries)))

    for sort in ("bath", "jar", "disposal", "jug"):
        for one in plain.listed(sort, live=False):
            mine, its = plain.folded(sort, one.id), other.folded(sort, one.id)
            assert differences(mine.state, its.state) == [], (sort, one.id)
            assert (mine.moves, mine.findings) == (its.moves, its.findings)
            assert (mine.home, mine.live) == (its.home, its.live)


@QUICK
@given(ways())
def test_litres_that_are_lost_are_lost_only_where_somebody_looked(
    entries: list[Entry],
) -> None:
    journal = shelf(entries)
    lost = [one for one in moves_of(journal) if one.to_account == cause("lost")]
    levels = {one.id for one in entries if one.kind == "reading.taken"}

    assert {one.entry for one in lost} <= levels
