"""What holds for folds of any kind: no entry stops them, and only what they read counts."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.digest import alike, differences
from coop.ledger.entries import Entry, read_entry
from coop.ledger.ports import Admission
from coop.ledger.table import KINDS
from coop.ledger.view import FOLDS, RESUMES, View, family_changes
from coop.units.number import wire as number_text
from tests.support.histories import histories
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
    described,
    mixed,
    on,
    q,
    say,
    sealed,
    through,
    topped_up,
    wire,
)

QUICK = settings(max_examples=60)
TAKEN = Admission(at=on(29), by=AMINA)


def journal(entries) -> MemoryJournal:
    made = MemoryJournal(ledger=LEDGER, node=NODE)
    made.append(entries, TAKEN)
    return made


def sizes(low: Fraction | int, high: int) -> st.SearchStrategy[Fraction]:
    """Draw amounts at and near both ends of what a reader takes, and between."""
    least = Fraction(low)
    near = st.integers(1, 1_000).map(lambda n: least + Fraction(n, 10**6))
    return st.one_of(
        near, st.integers(int(least) + 1, high).map(Fraction), st.just(Fraction(high))
    )


@st.composite
def extremes(draw: st.DrawFn) -> list[Entry]:
    """Draw a bath at the ends of what may be said: no one means it, somebody will type it."""
    ml = sizes(kinds.VOLUME_MIN_ML, kinds.VOLUME_MAX_ML)
    g = sizes(kinds.MASS_MIN_G, kinds.MASS_MAX_G)
    mm = sizes(kinds.LENGTH_MIN_MM, kinds.LENGTH_MAX_MM)
    spoons = sizes(kinds.SPOON_MIN_ML, kinds.VOLUME_MAX_ML)

    def amount(size: st.SearchStrategy[Fraction], unit: str) -> dict[str, str]:
        return q(number_text(draw(size)), unit)

    salt = draw(st.sampled_from(kinds.SALTS))
    tub = say("vessel.described", VESSEL, at=on(1), studio=STUDIO, name="tub",
              inside_length=amount(mm, "mm"), inside_width=amount(mm, "mm"),
              brim=amount(ml, "ml"), lidded=draw(st.sampled_from(kinds.YES_NO)),
              place="1")  # fmt: skip
    paper = say("paper.described", PAPER, at=on(1), name="P", length=amount(mm, "mm"),
                width=amount(mm, "mm"), weight_g_per_m2="1000", chalk="some",
                chalk_g_per_m2="50")  # fmt: skip
    lot = say("lot.received", LOT, at=on(1), studio=STUDIO, what="alum", name="A", salt=salt,
              weight=amount(g, "g"))  # fmt: skip
    heap = {"heap": draw(st.sampled_from(("level", "heaped")))}
    part = [{"lot": LOT, "amount": amount(spoons, "ml") | heap}]
    entries = [tub, paper, lot, mixed(water=amount(ml, "ml"), salt=part)]
    steps = st.sampled_from((_pour, _dip, _level, _gravity))
    for n in range(draw(st.integers(1, 6))):
        entries.append(draw(steps)(an_id(50 + n), on(18 + n), amount, ml, mm))
    return entries


def _pour(id, at, amount, ml, mm):
    return topped_up(id, at=at, water=amount(ml, "ml"))


def _dip(id, at, amount, ml, mm):
    return through(id, kinds.SHEETS_MAX, at=at, paper=PAPER, lot=PAPER_LOT)


def _level(id, at, amount, ml, mm):
    return say("reading.taken", id, at=at, bath=BATH, instrument="dipstick",
               depth=amount(mm, "mm"))  # fmt: skip


def _gravity(id, at, amount, ml, mm):
    return say("reading.taken", id, at=at, bath=BATH, instrument="hydrometer", gravity="1.3",
               temperature=q(60, "celsius"))  # fmt: skip


@given(extremes())
def test_nothing_that_may_be_said_stops_a_fold(entries: list[Entry]) -> None:
    """One odd entry must not take the bath's page away; rows stay whole numbers over zero."""
    folded = journal([*described()[:1], *entries]).folded("bath", BATH)
    belief = folded.state.estimate.belief

    numbers = (*belief[:9], *(to for _, *tos in belief.lasting for to in tos))
    assert all(value == value and abs(value) < float("inf") for value in numbers)
    assert all(move.amount > 0 and move.doubt >= 0 for move in folded.moves)
    assert all(move.amount < 2**63 for move in folded.moves)


@pytest.mark.parametrize("kind", list(KINDS))
def test_an_entry_alone_in_the_ledger_folds_into_all_it_touches(kind: str) -> None:
    """What it names has not arrived; no fold may ask for more than may be missing."""
    record = wire(kind) | {"ledger": LEDGER}
    entry = read_entry(record)
    view = journal([entry]).view()

    for sort, subject in entry.touches:
        if sort in FOLDS:
            view.folded(sort, subject)
    assert entry.touches


POWDER = [{"powder": "carrageenan", "lot": LOT, "amount": q(45, "g")}]


@pytest.mark.parametrize(
    ("kind", "left_out", "instead"),
    [
        ("bath.mixed", ("salt",), {"what": "size", "powder": POWDER}),
        ("bath.topped_up", ("water", "salt"), {"powder": POWDER}),
        ("bath.joined", ("litres",), {}),
        ("sheets.through", ("bath", "method"), {"size": BATH, "stack": an_id(50)}),
        ("sheets.through", (), {"size": an_id(51)}),
    ],
)
def test_the_other_ways_to_say_a_kind_fold_alone_too(
    kind: str, left_out: tuple[str, ...], instead: dict[str, object]
) -> None:
    """A size of which nothing is known yet, sheets laid on it, powder out of a lot to come."""
    record = wire(kind) | {"ledger": LEDGER}
    body = {key: one for key, one in record["body"].items() if key not in left_out}
    entry = read_entry(record | {"body": body | instead})
    view = journal([entry]).view()

    for sort, subject in entry.touches:
        if sort in FOLDS:
            view.folded(sort, subject)
    assert entry.touches


@QUICK
@given(histories())
def test_what_a_kind_only_names_keeps_its_state(entries: list[Entry]) -> None:
    """Else a lot would have to be folded again for every sheet that leaves it."""
    whole = journal(entries).view()
    for sort in FOLDS:
        naming = {kind.code for kind in KINDS.values() if sort in kind.names}
        left = [entry for entry in entries if entry.kind not in naming]
        without = journal(left).view()
        for subject in _subjects(entries, sort):
            assert whole.folded(sort, subject) == without.folded(sort, subject)


def _subjects(entries, sort):
    return {s for entry in entries for its_sort, s in entry.touches if its_sort == sort}


@QUICK
@given(histories())
def test_what_a_kind_keeps_to_itself_no_other_fold_reads(entries: list[Entry]) -> None:
    """A mix tells its tub which bath is last; the baths before it need not be folded again."""
    last = mixed(an_id(500), at=on(28, 23))
    before, after = journal(entries).view(), journal([*entries, last]).view()

    for subject in _subjects(entries, "bath"):
        assert before.folded("bath", subject) == after.folded("bath", subject)


def depth(id, mm, *, at) -> Entry:
    return say("reading.taken", id, at=at, bath=BATH, instrument="dipstick",
               depth=q(mm, "mm"))  # fmt: skip


@QUICK
@given(histories(), st.integers(0, 5))
def test_a_fold_taken_up_at_its_end_is_the_whole_fold(entries: list[Entry], n: int) -> None:
    """The quick way and the long way may not differ in a single figure."""
    bath = Subject(BATH)
    more = [
        through(an_id(500), 20, at=on(28, 22)),
        topped_up(an_id(500), at=on(28, 22), water=q(3, "l")),
        say("bath.finished", an_id(500), at=on(28, 22), bath=BATH, reason="used_up"),
        say("bath.cared", an_id(500), at=on(28, 22), bath=BATH, care="uncovered"),
        depth(an_id(500), 20, at=on(28, 22)),
        depth(an_id(500), 38, at=on(28, 22)),
    ][n]
    before = journal(entries)
    old = before.folded("bath", bath)
    view = View(before.touching, cached=lambda sort, s: old if s == bath else None)
    going_on = view.resumed("bath", bath, sealed(more, at=TAKEN.at))
    whole = journal([*entries, more]).folded("bath", bath)

    assert set(RESUMES) == {"bath"}
    if old.state is None:
        assert going_on is None
    elif going_on is not None:
        assert going_on.state == whole.state
        assert old.moves + going_on.moves == whole.moves
        assert old.findings + going_on.findings == whole.findings


def test_a_fold_is_not_taken_up_for_what_came_before_its_end() -> None:
    made = journal([*described(), mixed(), through(an_id(50), 20, at=on(20))])
    late = through(an_id(51), 20, at=on(19))
    kept = made.folded("bath", BATH)
    view = View(made.touching, cached=lambda sort, s: kept if s == BATH else None)

    assert view.resumed("bath", BATH, sealed(late, at=TAKEN.at)) is None


def test_a_reading_that_settles_another_takes_its_finding_away() -> None:
    """The finding is the older reading's, so the bath is folded anew."""
    far_off, again = depth(an_id(50), 60, at=on(20)), depth(an_id(51), 60, at=on(20, 12))
    made = journal([*described(), mixed(), far_off])
    kept = made.folded("bath", BATH)
    view = View(made.touching, cached=lambda sort, s: kept if s == BATH else None)
    whole = journal([*described(), mixed(), far_off, again]).folded("bath", BATH)

    assert [one.code for one in kept.findings] == ["reading-disagrees"]
    assert view.resumed("bath", BATH, sealed(again, at=TAKEN.at)) is None
    assert (whole.findings, whole.state.kept) == ((), ())


def test_a_void_reaches_all_that_its_target_reached() -> None:
    sheets = through(an_id(50), 20, at=on(20))
    void = say("entry.corrected", an_id(60), at=on(21), target=sheets.id, outcome="void",
               reason="typing_slip")  # fmt: skip

    assert set(family_changes([sheets, void])) == {("bath", BATH), ("stack", sheets.id)}


@pytest.mark.parametrize(
    ("one", "other", "places"),
    [
        (1.0, 1.0 + 1e-10, []),
        (1.0, 1.0 + 1e-8, [""]),
        (1e9, 1e9 + 0.5, []),
        (2, 2.0, []),
        (2, 3, [""]),
        ((1, 2), (1, 3), ["1"]),
        ((1,), (1, 2), [""]),
        (None, 1.0, [""]),
        ("a", "b", [""]),
    ],
)
def test_states_are_compared_figures_to_a_billionth_all_else_exactly(
    one, other, places
) -> None:
    assert differences(one, other) == places
    assert alike(one, other) is (places == [])


def test_a_difference_is_told_by_its_place() -> None:
    one = journal([*described(), mixed()]).state("bath", BATH)
    other = journal([*described(), mixed(grams=481)]).state("bath", BATH)

    assert "estimate.salt_g.0" in differences(one, other)
