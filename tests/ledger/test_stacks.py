"""Sheets go from the lot to a stack and out of it once, whoever wrote what in which order."""

from collections import Counter
from dataclasses import dataclass
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from coop.ids import Subject
from coop.ledger import accounts
from coop.ledger.accounts import BINNED, GOOD, QUARTERS, SPOILED, account, balances
from coop.ledger.digest import differences
from coop.ledger.entries import Entry
from coop.ledger.kinds import DRYINGS, FAULTS, FORMATS, OUTCOMES, STACK_STATES
from coop.ledger.ports import Admission
from coop.ledger.states import StackState
from tests.support.memory import MemoryJournal
from tests.support.sayings import (
    AMINA,
    BATH,
    KAHU,
    LEDGER,
    NODE,
    PAPER,
    PAPER_LOT,
    SIZE,
    an_id,
    corrected,
    described,
    laid,
    mixed,
    on,
    say,
    sized,
    through,
    with_size,
)

TAKEN = Admission(at=on(29), by=AMINA)
QUICK = settings(max_examples=80)
STACKS = (Subject(an_id(50)), Subject(an_id(51)))
OVER = {"sorted-over-the-count", "laid-over-the-count"}
PARCEL = account("lot", Subject(PAPER_LOT))


def journal(entries: list[Entry]) -> MemoryJournal:
    made = MemoryJournal(ledger=LEDGER, node=NODE)
    made.append([*described(), *with_size(), mixed(), sized(), *entries], TAKEN)
    return made


@dataclass(frozen=True)
class Told:
    """What was said of two stacks, and which entries a correction took out."""

    entries: tuple[Entry, ...]
    struck: frozenset[str]

    def said(self, stack: str, kind: str) -> list[Any]:
        """Return what counts of a kind that was said of a stack; its making is not among it."""
        return [
            one.content
            for one in self.entries
            if one.kind == kind and one.id not in self.struck and _stack(one) == stack
        ]

    @property
    def alumed(self) -> dict[str, Any]:
        """Return what made each stack, where it counts."""
        return {
            one.id: one.content
            for one in self.entries
            if Subject(one.id) in STACKS and one.id not in self.struck
        }


def _stack(entry: Entry) -> str | None:
    return getattr(entry.content, "stack", None)


@st.composite
def tales(draw: st.DrawFn) -> Told:
    """Draw two stacks and what people say of them: too much of it, now and then."""
    formats = {stack: draw(st.sampled_from(FORMATS)) for stack in STACKS}
    at_once: dict[str, Any] = {"size": SIZE}
    entries = [
        through(
            stack, draw(st.integers(1, 40)), at=on(18, n), sheet_format=formats[stack],
            **(at_once if draw(st.booleans()) else {}),
        )
        for n, stack in enumerate(STACKS)
    ]  # fmt: skip
    for n in range(draw(st.integers(0, 9))):
        stack = draw(st.sampled_from(STACKS))
        how = draw(st.sampled_from(sorted(_SAID)))
        entries.append(_SAID[how](draw, an_id(100 + n), stack, formats[stack]))
    struck = draw(st.sets(st.sampled_from([one.id for one in entries]), max_size=2))
    entries += [
        corrected(an_id(300 + n), one, "void", at=on(28, n)) for n, one in enumerate(struck)
    ]
    return Told(tuple(entries), frozenset(struck))


counts = st.integers(1, 30)
days = st.integers(19, 26)


def _lay(draw: st.DrawFn, id: str, stack: str, sheet_format: str) -> Entry:
    return laid(
        id, draw(counts), at=on(draw(days)), stack=stack, sheet_format=sheet_format,
        lot=PAPER_LOT, by=draw(st.sampled_from((AMINA, KAHU))),
    )  # fmt: skip


def _sort(draw: st.DrawFn, id: str, stack: str, sheet_format: str) -> Entry:
    spoiled = draw(st.dictionaries(st.sampled_from(FAULTS), counts, max_size=2))
    parts: dict[str, Any] = {word: str(count) for word, count in spoiled.items()}
    return say("sheets.sorted", id, at=on(draw(days)), stack=stack, good=str(draw(counts)),
               **parts)  # fmt: skip


def _bin(draw: st.DrawFn, id: str, stack: str, sheet_format: str) -> Entry:
    return say("stack.binned", id, at=on(draw(days)), stack=stack, reason="stale",
               sheet_count=str(draw(counts)))  # fmt: skip


def _dry(draw: st.DrawFn, id: str, stack: str, sheet_format: str) -> Entry:
    how = draw(st.sampled_from(DRYINGS))
    return say("stack.dried", id, at=on(draw(days)), stack=stack, how=how)


def _test(draw: st.DrawFn, id: str, stack: str, sheet_format: str) -> Entry:
    outcome = draw(st.sampled_from(OUTCOMES))
    return say("stack.tested", id, at=on(draw(days)), stack=stack, outcome=outcome)


def _put(draw: st.DrawFn, id: str, stack: str, sheet_format: str) -> Entry:
    state = draw(st.sampled_from(STACK_STATES))
    return say("stack.put_away", id, at=on(draw(days)), stack=stack, state=state)


_SAID: Any = {
    "laid": _lay,
    "sorted": _sort,
    "binned": _bin,
    "dried": _dry,
    "put": _put,
    "tested": _test,
}


def spoiled_of(content: Any) -> int:
    return sum(getattr(content, word) for word in FAULTS)


def moved(book: MemoryJournal) -> dict[tuple[str, str], int]:
    """Return what every account holds after all that was said."""
    subjects = [("lot", PAPER_LOT), ("bath", BATH), ("bath", SIZE)]
    subjects += [("stack", stack) for stack in STACKS]
    return balances(
        move for sort, subject in subjects for move in book.folded(sort, Subject(subject)).moves
    )


@QUICK
@given(tales())
def test_sheets_go_from_lot_to_stack_to_good_or_spoiled_exactly_once(told: Told) -> None:
    """What left the lot is in a stack, good, spoiled or thrown away; nothing is lost."""
    held = Counter(moved(journal(list(told.entries))))
    paper = accounts.paper(Subject(PAPER))
    ended: Counter[str] = Counter()
    for stack, made in told.alumed.items():
        quarters = QUARTERS[made.sheet_format]
        out = {
            GOOD: sum(one.good for one in told.said(stack, "sheets.sorted")),
            SPOILED: sum(spoiled_of(one) for one in told.said(stack, "sheets.sorted")),
            BINNED: sum(one.sheet_count for one in told.said(stack, "stack.binned")),
        }
        left = made.sheet_count - sum(out.values())
        assert held[account("stack", Subject(stack)), paper] == left * quarters
        ended.update({end: count * quarters for end, count in out.items()})

    assert {end: held[end, paper] for end in (GOOD, SPOILED, BINNED)} == {
        end: ended[end] for end in (GOOD, SPOILED, BINNED)
    }


@QUICK
@given(tales())
def test_paper_is_drawn_once_however_often_its_sheets_are_laid(told: Told) -> None:
    """Laid sheets name their lot for its area; it gave them when they were alumed."""
    held = moved(journal(list(told.entries)))
    drawn = sum(made.sheet_count * QUARTERS[made.sheet_format] for made in told.alumed.values())

    assert held[PARCEL, accounts.paper(Subject(PAPER))] == 960 * QUARTERS["full"] - drawn


@QUICK
@given(tales())
def test_a_count_is_never_passed_without_a_finding(told: Told) -> None:
    """Nor is anything found where all adds up."""
    book = journal(list(told.entries))
    for stack, made in told.alumed.items():
        folded = book.folded("stack", Subject(stack))
        sorted_count = sum(
            one.good + spoiled_of(one) for one in told.said(stack, "sheets.sorted")
        )
        onto = [one.sheet_count for one in told.said(stack, "sheets.through")]
        laid_count = sum(onto) + (made.sheet_count if made.size else 0)
        binned = sum(one.sheet_count for one in told.said(stack, "stack.binned"))
        passed = max(sorted_count, laid_count) + binned > made.sheet_count

        assert bool({one.code for one in folded.findings} & OVER) == passed
        assert folded.state.left_count == max(
            0, made.sheet_count - max(sorted_count, laid_count) - binned
        )


@QUICK
@given(tales(), st.randoms(use_true_random=False))
def test_the_order_of_arrival_changes_nothing(told: Told, shuffled: Any) -> None:
    """A phone brings the laying before the tablet brings the aluming."""
    other = list(told.entries)
    shuffled.shuffle(other)
    first, second = journal(list(told.entries)), journal(other)
    for sort, subject in [("stack", one) for one in STACKS] + [("bath", SIZE), ("bath", BATH)]:
        one, two = (book.folded(sort, Subject(subject)) for book in (first, second))
        assert differences(one.state, two.state) == []
        assert (one.moves, one.findings) == (two.moves, two.findings)


@QUICK
@given(
    count=st.integers(1, 60),
    sheet_format=st.sampled_from(FORMATS),
    damp=st.sampled_from(("yes", "no")),
    after=st.integers(0, 20),
)
def test_both_at_once_is_the_same_as_two_steps(
    count: int, sheet_format: str, damp: str, after: int
) -> None:
    """Through alum and onto the size in one entry, or in two: the ledger knows the same."""
    stack, at = STACKS[0], on(18, 9)
    how: dict[str, Any] = {"sheet_format": sheet_format, "lot": PAPER_LOT}
    once = through(stack, count, at=at, size=SIZE, damp=damp, **how)
    twice = [
        through(stack, count, at=at, **how),
        laid(an_id(60), count, at=at, stack=stack, damp=damp, **how),
    ]
    more = [say("sheets.sorted", an_id(90), at=on(19), stack=stack, good=str(after + 1))]
    one, two = journal([once, *more]), journal([*twice, *more])

    for name in ("volume_ml", "powder_g", "laid_m2", "damp_m2"):
        assert getattr(one.state("bath", SIZE), name) == getattr(two.state("bath", SIZE), name)
    assert one.state("bath", BATH).estimate == two.state("bath", BATH).estimate
    assert moved(one) == moved(two)
    states: list[StackState] = [book.state("stack", stack) for book in (one, two)]
    for name in ("sheet_count", "laid_count", "left_count", "good", "bath", "lot"):
        assert getattr(states[0], name) == getattr(states[1], name)
    assert [part.size for part in states[0].parts] == [part.size for part in states[1].parts]


def test_what_is_alumed_once_more_is_the_same_sheets_and_begins_anew() -> None:
    """Liquid goes with it from the second bath; the lot gives no sheet twice."""
    stack, other = STACKS[0], Subject(an_id(70))
    before = [
        mixed(other, at=on(17), name="R-A2"),
        through(stack, 40, at=on(18)),
        laid(an_id(60), 10, at=on(19), stack=stack),
        say("stack.put_away", an_id(61), at=on(19, 1), stack=stack, state="bagged"),
        say("stack.tested", an_id(62), at=on(20), stack=stack, outcome="failed"),
    ]
    again = through(an_id(63), 30, at=on(21), bath=other, stack=stack)
    one, two = journal(before), journal([*before, again])
    first, then = (book.state("stack", stack) for book in (one, two))

    assert (first.alum, first.alumed_at, first.state) == (BATH, on(18), "bagged")
    assert (then.alum, then.alumed_at, then.state) == (other, on(21), "open")
    assert (then.bath, then.at, then.printed) == (BATH, on(18), None)
    assert (then.sheet_count, then.left_count) == (first.sheet_count, first.left_count)
    assert two.state("stack", Subject(an_id(63))) is None
    assert two.folded("bath", other).state.half_count == 30
    assert two.state("bath", other).again == (stack,)
    assert moved(one) == moved(two)


def test_a_part_that_is_alumed_once_more_leaves_a_stack_as_old_as_it_was() -> None:
    """The rest of it is, and nobody can tell them apart."""
    stack = STACKS[0]
    part = through(an_id(63), 30, at=on(21), stack=stack)
    found = journal([through(stack, 40, at=on(18)), part]).state("stack", stack)

    assert (found.again, found.alumed_at) == (None, on(18))


def test_more_thrown_away_than_was_left_after_sorting_is_found() -> None:
    """All were sorted, none was written as laid; then five are thrown away that cannot be."""
    stack = STACKS[0]
    book = journal(
        [
            through(stack, 10, at=on(18)),
            say("sheets.sorted", an_id(90), at=on(19), stack=stack, good="10"),
            say("stack.binned", an_id(91), at=on(20), stack=stack, sheet_count="5",
                reason="stale"),
        ]
    )  # fmt: skip
    found = book.folded("stack", stack).findings

    assert [(one.code, one.entry) for one in found] == [("laid-over-the-count", an_id(91))]
