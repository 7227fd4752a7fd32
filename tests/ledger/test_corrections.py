"""Which entries are in force, when, and in what order; what corrections do to that."""

import itertools
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.ids import NodeId
from coop.ledger.entries import Sealed
from coop.ledger.force import resolve
from coop.ledger.kinds import SheetsThrough
from tests.support.sayings import (
    AMINA,
    KAHU,
    an_id,
    corrected,
    instead,
    mixed,
    on,
    say,
    seal,
    sealed,
    through,
)

SLIP = through(an_id(50), 200, at=on(18))
LATER = on(25)


def sheets(one):
    assert isinstance(one.content, SheetsThrough)
    return one.content.sheet_count


def sealing(entries):
    return [sealed(entry, at=LATER, seq=n) for n, entry in enumerate(entries, 1)]


def counts(*corrections):
    """Return the sheets that count once these corrections of `SLIP` are in."""
    resolved = resolve(sealing([SLIP, *corrections]))
    return [sheets(one) for one in resolved.in_force]


def codes(*corrections):
    return [one.code for one in resolve(sealing([SLIP, *corrections])).findings]


def void(n, **more):
    return corrected(an_id(n), SLIP, "void", at=on(19, n % 24), **more)


def to(count, n, **more):
    content = instead(SLIP, sheet_count=str(count))
    return corrected(an_id(n), SLIP, "replace", at=on(19, n % 24), content=content, **more)


def back(n, **more):
    return corrected(an_id(n), SLIP, "restore", at=on(19, n % 24), **more)


def test_what_nobody_corrected_counts_as_it_was_written() -> None:
    assert counts() == [200]


def test_a_void_takes_an_entry_out_and_says_so() -> None:
    """It is struck through on the page, not gone."""
    resolved = resolve(sealing([SLIP, void(1)]))

    assert resolved.in_force == ()
    assert [(one.original.entry, one.correction.entry) for one in resolved.struck] == [
        (SLIP, void(1))
    ]


def test_a_replacement_counts_in_the_entrys_place() -> None:
    """'Typed 200 for 20': same entry, same stack, other number."""
    (one,) = resolve(sealing([SLIP, to(20, 1)])).in_force

    assert (one.id, one.kind, sheets(one)) == (SLIP.id, "sheets.through", 20)
    assert one.correction == an_id(1)
    assert one.original.entry == SLIP


def test_a_replacement_may_change_the_person_and_the_time() -> None:
    content = instead(SLIP, at=on(16)) | {"author": KAHU}
    mend = corrected(an_id(1), SLIP, "replace", at=on(19), content=content)
    (one,) = resolve(sealing([SLIP, mend])).in_force

    assert (one.author, one.at) == (KAHU, on(16))


def test_the_undo_of_a_correction_brings_the_original_back() -> None:
    assert counts(to(20, 1), back(2, sees=(an_id(1),))) == [200]
    assert counts(void(1), back(2, sees=(an_id(1),))) == [200]


def test_the_undo_of_an_undo_takes_out_again() -> None:
    """A finger that slipped twice."""
    assert counts(void(1), back(2, sees=(an_id(1),)), void(3, sees=(an_id(2),))) == []


def test_a_correction_that_saw_the_others_stands_alone() -> None:
    seen = (an_id(1), an_id(2))

    assert counts(to(20, 1), to(30, 2), to(25, 3, sees=seen)) == [25]
    assert codes(to(20, 1), to(30, 2), to(25, 3, sees=seen)) == []


@pytest.mark.parametrize(
    ("mends", "expected"),
    [
        ((void(1), to(20, 2)), []),
        ((to(20, 1), back(2)), [20]),
        ((void(1), back(2)), []),
        ((to(20, 1), to(30, 2)), [30]),
    ],
    ids=["void before replace", "replace before restore", "void before restore", "later first"],
)
def test_of_several_that_saw_nothing_of_each_other_one_stands_and_it_is_said(
    mends, expected
) -> None:
    """Two phones mended the same slip: nobody is asked to be first, a person settles it."""
    for order in itertools.permutations(mends):
        assert counts(*order) == expected
        assert codes(*order) == ["corrections-disagree"]


def test_a_replace_seen_by_a_void_alone_leaves_no_doubt() -> None:
    assert codes(to(20, 1), void(2, sees=(an_id(1),))) == []


def test_corrections_that_each_claim_to_have_seen_the_other_still_leave_one() -> None:
    """No honest device writes it; a fold must not lose the entry over it."""
    assert counts(void(1, sees=(an_id(2),)), to(20, 2, sees=(an_id(1),))) == []


def test_a_correction_that_names_itself_as_seen_stands() -> None:
    assert counts(to(20, 1, sees=(an_id(1),))) == [20]


def test_a_correction_of_something_not_here_waits() -> None:
    """Its phone is still away."""
    resolved = resolve(sealing([void(1)]))

    assert resolved.in_force == ()
    assert resolved.findings == ()


def test_a_replacement_not_understood_leaves_the_original_and_is_said() -> None:
    """It may come from a page of a later version."""
    content = instead(SLIP, sheet_count="many")
    mend = corrected(an_id(1), SLIP, "replace", at=on(19), content=content)
    resolved = resolve(sealing([SLIP, mend]))

    assert [sheets(one) for one in resolved.in_force] == [200]
    (odd,) = resolved.findings
    assert (odd.code, odd.entry) == ("correction-not-understood", mend.id)
    assert odd.detail == "content.body.sheet_count"


mends = st.lists(
    st.tuples(
        st.sampled_from([void, back]) | st.integers(1, 60).map(lambda n: _to(n)),
        st.lists(st.integers(1, 6), max_size=3),
    ),
    max_size=6,
)


def _to(count):
    return lambda n, **more: to(count, n, **more)


@given(st.data(), mends)
def test_the_order_in_which_corrections_arrive_changes_nothing(data, drawn) -> None:
    entries = [SLIP, mixed(an_id(60))]
    entries += [
        make(n, sees=tuple(map(an_id, sees))) for n, (make, sees) in enumerate(drawn, 1)
    ]
    arrived = data.draw(st.permutations(sealing(entries)))

    assert resolve(arrived) == resolve(sealing(entries))


def test_a_clocks_time_is_mended_by_what_the_device_was_off() -> None:
    """A tablet three minutes fast."""
    fast = sealed(SLIP, at=LATER, offset_ms=180_000)

    assert resolve([fast]).in_force[0].at == on(18) - timedelta(minutes=3)


def test_a_said_time_stands_whatever_the_clock() -> None:
    """'Yesterday 18:30' was read off the wall, not off the phone."""
    entry = through(an_id(50), 20, at=on(17, 18, 30), typed="yesterday 18:30")
    fast = sealed(entry, at=LATER, offset_ms=180_000)

    assert resolve([fast]).in_force[0].at == on(17, 18, 30)


@pytest.mark.parametrize("typed", ["", "tomorrow"])
def test_nothing_happened_later_than_it_was_taken_in(typed: str) -> None:
    """A phone whose clock is ten years ahead."""
    entry = through(an_id(50), 20, at=on(18).replace(year=2035), typed=typed)

    assert resolve([sealed(entry, at=on(19))]).in_force[0].at == on(19)


def test_a_replacement_keeps_the_mended_time_when_nobody_changed_the_time() -> None:
    """Mending a count must not move the entry by the error of the tablet's clock."""
    fast = sealed(SLIP, at=LATER, offset_ms=180_000)
    (one,) = resolve([fast, sealed(to(20, 1), at=LATER, seq=2)]).in_force

    assert one.at == on(18) - timedelta(minutes=3)
    assert sheets(one) == 20


def test_the_earliest_of_several_seals_bounds_the_time() -> None:
    entry = through(an_id(50), 20, at=on(24))
    early = seal(entry, on(20), 9, "", 0, NodeId(an_id(98)))
    late = seal(entry, on(22), 3, "", 0, NodeId(an_id(99)))

    assert resolve([Sealed(entry=entry, seals=(early, late))]).in_force[0].at == on(20)


def test_what_happened_at_the_same_time_goes_by_when_it_was_written_then_by_id() -> None:
    """'On Tuesday', said for three things: noon for all of them."""
    noon = on(16, 12)
    third = through(an_id(51), 3, at=noon, written=on(18, 9), typed="Tuesday")
    first = through(an_id(52), 1, at=noon, written=on(17, 9), typed="Tuesday")
    second = through(an_id(50), 2, at=noon, written=on(18, 9), typed="Tuesday")
    resolved = resolve(sealing([third, first, second]))

    assert [sheets(one) for one in resolved.in_force] == [1, 2, 3]


def test_of_one_id_with_two_contents_the_first_sealed_is_in_force() -> None:
    """Evidence of a copied phone: both are kept, a person decides."""
    one, other = through(an_id(50), 20, at=on(18)), through(an_id(50), 30, at=on(18))
    pair = [sealed(other, at=on(19), seq=4), sealed(one, at=on(19), seq=3)]
    resolved = resolve(pair)

    assert [sheets(each) for each in resolved.in_force] == [20]
    assert [(each.code, each.entry) for each in resolved.findings] == [
        ("same-id-other-content", an_id(50))
    ]


def test_what_was_sealed_later_was_not_known() -> None:
    early, late = sealed(SLIP, at=on(18, 10)), sealed(void(1), at=on(20), seq=2)

    assert len(resolve([early, late], known=on(19)).in_force) == 1
    assert resolve([early, late], known=on(20)).in_force == ()
    assert resolve([early, late], known=on(18)).in_force == ()


def test_only_seals_known_then_count_then() -> None:
    """It came by another server first, of which this one heard only later."""
    entry = through(an_id(50), 20, at=on(24))
    early = seal(entry, on(20), 9, "", 0, NodeId(an_id(98)))
    late = seal(entry, on(22), 3, "", 0, NodeId(an_id(99)))
    both = Sealed(entry=entry, seals=(early, late))

    assert resolve([both], known=on(21)).in_force[0].at == on(20)


def test_who_wrote_it_is_not_who_took_it_in() -> None:
    entry = say("bath.cared", an_id(50), at=on(18), by=KAHU, bath=an_id(15), care="covered")
    (one,) = resolve([sealed(entry, at=on(19))]).in_force

    assert one.author == KAHU
    assert one.original.first.admitted_by == AMINA
