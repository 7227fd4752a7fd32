"""Who may do what: each role times each kind, one's own and others'."""

from datetime import timedelta

import pytest

from coop.ledger.table import KINDS
from coop.people.may import ACTS, ROLE_CODES, Stopper, may, may_clear, may_correct

ALL = frozenset(ROLE_CODES)
MINUTES_9, MINUTES_11 = timedelta(minutes=9), timedelta(minutes=11)
DAYS_13, DAYS_15 = timedelta(days=13), timedelta(days=15)

# As a co-operative would say it, told apart from the table in the code.
ANY_MEMBER = {
    "lot.received", "lot.spoon_weighed", "bath.mixed", "bath.topped_up", "bath.cared",
    "bath.stopped", "bath.cleared", "bath.finished", "reading.taken", "instrument.checked",
    "sheets.through", "sheets.sorted", "entry.corrected", "device.enrolled",
    "device.member_added", "device.member_removed", "device.revoked",
    "bath.split", "bath.joined", "bath.carried", "bath.kept_for",
    "stack.dried", "stack.flattened", "stack.put_away", "stack.binned", "stack.warning_seen",
    "stack.tested", "jug.found", "jug.known", "lot.opened", "lot.counted", "lot.moved",
    "lot.adjusted", "lot.cut", "order.placed", "order.cancelled", "need.put_off",
    "jar.vouched", "disposal.judged", "disposal.treated", "disposal.done", "waste.started",
    "waste.added", "waste.collected", "waste.carried", "mishap.noted",
}  # fmt: skip
COORDINATOR = {
    "studio.described", "vessel.described", "paper.described", "recipe.published", "limits.set",
    "member.invited", "member.role_set", "member.left", "finding.judged", "attachment.erased",
    "draft.settled", "pickup.learned", "supply.described", "supplier.described",
}  # fmt: skip
OF_ROLES = {
    "lot.priced": {"treasurer"},
    "session.planned": {"coordinator", "teacher"},
    "permission.recorded": {"coordinator", "safety_officer"},
    "rules.published": {"coordinator", "safety_officer"},
}
NO_ROLE = {"ledger.opened", "member.joined"}
FROM_A_SIGNED_IN_PAGE = {
    "ledger.opened", "limits.set", "member.invited", "member.joined", "member.role_set",
    "member.left", "bath.cleared", "finding.judged", "attachment.erased", "device.enrolled",
    "device.member_added", "device.member_removed", "device.revoked", "draft.settled",
    "pickup.learned", "lot.adjusted", "lot.priced", "need.put_off", "rules.published",
    "disposal.judged",
}  # fmt: skip
OWN_OR_COORDINATOR = (
    "entry.corrected", "device.member_added", "device.member_removed", "device.revoked",
)  # fmt: skip


def test_every_kind_has_its_place() -> None:
    assert set(KINDS) == ANY_MEMBER | COORDINATOR | NO_ROLE | set(OF_ROLES)


@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("role", ROLE_CODES)
def test_a_role_may_write_what_is_its_own_to_write(role: str, kind: str) -> None:
    allowed = kind in ANY_MEMBER or (kind in COORDINATOR and role == "coordinator")
    allowed = allowed or role in OF_ROLES.get(kind, ())

    assert may(frozenset({role}), kind) is allowed


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_somebody_without_a_role_may_write_nothing(kind: str) -> None:
    """Who has left, who was only invited, who is not signed in."""
    assert not may(frozenset(), kind)


@pytest.mark.parametrize("kind", OWN_OR_COORDINATOR)
@pytest.mark.parametrize("role", ROLE_CODES)
def test_what_is_of_others_is_for_a_coordinator(role: str, kind: str) -> None:
    """Their entries, their phones, their place on a tablet."""
    assert may(frozenset({role}), kind, own=False) is (role == "coordinator")


def test_a_role_beside_another_takes_nothing_away() -> None:
    for kind in KINDS:
        for role in ROLE_CODES:
            if may(frozenset({role}), kind):
                assert may(ALL, kind)


def test_opening_and_joining_have_doors_of_their_own() -> None:
    assert may(frozenset({"opening"}), "ledger.opened")
    assert may(frozenset({"invited"}), "member.joined")
    assert not may(frozenset({"invited"}), "bath.mixed")


def test_what_needs_a_person_is_never_taken_from_a_queue() -> None:
    """A device left on a shelf must not clear a bath or change a role."""
    assert {
        code for code, kind in KINDS.items() if kind.signed_in_only
    } == FROM_A_SIGNED_IN_PAGE


@pytest.mark.parametrize("role", ROLE_CODES)
def test_everybody_reads_and_a_coordinator_keeps_the_house(role: str) -> None:
    roles = frozenset({role})

    assert may(roles, "read")
    assert may(roles, "end-own-session")
    for act in ("end-any-session", "invite", "set-up"):
        assert may(roles, act) is (role == "coordinator")
    assert may(roles, "see-prices") is (role in ("coordinator", "treasurer"))


def test_nobody_signed_in_does_nothing_at_all() -> None:
    assert not any(may(frozenset(), act) for act in ACTS)


@pytest.mark.parametrize(
    ("own", "age", "undo", "allowed"),
    [
        (True, MINUTES_9, True, True),
        (True, MINUTES_11, True, False),
        (True, DAYS_13, False, True),
        (True, DAYS_15, False, False),
        (False, MINUTES_9, True, False),
        (False, MINUTES_9, False, False),
    ],
)
def test_ones_own_is_undone_for_ten_minutes_and_mended_for_a_fortnight(
    own: bool, age: timedelta, undo: bool, allowed: bool
) -> None:
    member = frozenset({"member"})

    assert may_correct(member, "sheets.through", own=own, age=age, undo=undo) is allowed


@pytest.mark.parametrize("own", [True, False])
@pytest.mark.parametrize("undo", [True, False])
def test_a_coordinator_mends_later_and_for_others(own: bool, undo: bool) -> None:
    roles = frozenset({"member", "coordinator"})

    assert may_correct(roles, "sheets.through", own=own, age=DAYS_15, undo=undo)


def test_the_opening_of_the_ledger_cannot_be_corrected() -> None:
    assert not may_correct(ALL, "ledger.opened", own=True, age=MINUTES_9, undo=True)


def test_who_may_not_write_a_kind_may_not_mend_it() -> None:
    """A coordinator who stepped down leaves the recipes as they are."""
    member = frozenset({"member"})

    assert not may_correct(member, "recipe.published", own=True, age=MINUTES_9, undo=True)
    assert not may_correct(frozenset(), "sheets.through", own=True, age=MINUTES_9, undo=True)


def stopper(*, own: bool = False, officer: bool = False, age: timedelta = DAYS_13) -> Stopper:
    return Stopper(own=own, by_safety_officer=officer, age=age)


@pytest.mark.parametrize(
    ("roles", "stopped", "allowed"),
    [
        ({"member"}, stopper(), True),
        ({"member"}, stopper(own=True, age=MINUTES_9), True),
        ({"member"}, stopper(own=True, age=MINUTES_11), False),
        ({"member", "coordinator"}, stopper(own=True), True),
        ({"member"}, stopper(officer=True), False),
        ({"member", "teacher"}, stopper(officer=True), False),
        ({"safety_officer"}, stopper(officer=True), True),
        ({"coordinator"}, stopper(officer=True), True),
        (set(), stopper(), False),
    ],
)
def test_a_stopped_bath_needs_a_second_pair_of_eyes(roles, stopped, allowed) -> None:
    """Whoever stopped it had a reason; whoever opens it again must be somebody else."""
    assert may_clear(frozenset(roles), stopped) is allowed


@pytest.mark.parametrize("officer", [True, False])
def test_a_safety_officer_takes_back_a_mis_tap(officer: bool) -> None:
    mis_tap = stopper(own=True, officer=officer, age=MINUTES_9)

    assert may_clear(frozenset({"safety_officer"}), mis_tap)
