"""Who may do what: one table, asked by forms, the interface and drafts alike."""

from dataclasses import dataclass
from datetime import timedelta

from coop.ledger.table import KINDS

OWN_ELSE_COORDINATOR = frozenset(
    {"entry.corrected", "device.member_added", "device.member_removed", "device.revoked"}
)
UNDO_FOR = timedelta(minutes=10)
CORRECT_OWN_FOR = timedelta(days=14)

ROLE_CODES = ("member", "coordinator", "safety_officer", "treasurer", "teacher")

# What is not an entry: pages and settings. Everybody signed in reads everything else.
ACTS = {
    "read": frozenset(ROLE_CODES),
    "end-own-session": frozenset(ROLE_CODES),
    "end-any-session": frozenset({"coordinator"}),
    "keep-own-account": frozenset(ROLE_CODES),
    "see-people": frozenset(ROLE_CODES),
    "see-prices": frozenset({"coordinator", "treasurer"}),
    "invite": frozenset({"coordinator"}),
    "set-up": frozenset({"coordinator"}),
    "sort-out": frozenset({"coordinator"}),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Stopper:
    """Who stopped a bath, and when: what `bath.cleared` needs to know."""

    own: bool
    by_safety_officer: bool
    age: timedelta


def may(roles: frozenset[str], kind: str, *, own: bool = True) -> bool:
    """
    Say whether somebody with these roles may write this kind of entry.

    Args:
        roles: All roles of the person; nobody signed in has none.
        kind: A code of the kinds table, or one of `ACTS`.
        own: Whether it concerns only what is one's own.
    """
    if kind in ACTS:
        return bool(roles & ACTS[kind])
    who = KINDS[kind].who
    if not own and kind in OWN_ELSE_COORDINATOR:
        return "coordinator" in roles
    return bool(roles & who)


def may_correct(
    roles: frozenset[str], kind: str, *, own: bool, age: timedelta, undo: bool
) -> bool:
    """
    Say whether an entry of this kind and age may be corrected.

    One's own for 14 days (undone in one tap for ten minutes); later, and others', by a
    coordinator. Who may not write a kind may not mend it either.
    """
    if not may(roles, "entry.corrected") or kind == "ledger.opened":
        return False
    if "coordinator" in roles:
        return True
    if not own or not may(roles, kind):
        return False
    return age <= (UNDO_FOR if undo else CORRECT_OWN_FOR)


def may_clear(roles: frozenset[str], stopper: Stopper) -> bool:
    """
    Say whether a stopped bath may be allowed again.

    Anyone but the stopper; the stopper within ten minutes (a mis-tap) or as coordinator;
    a safety officer's stop only by a safety officer or a coordinator.
    """
    if not may(roles, "bath.cleared"):
        return False
    if stopper.own:
        return stopper.age <= UNDO_FOR or "coordinator" in roles
    if stopper.by_safety_officer:
        return bool(roles & {"safety_officer", "coordinator"})
    return True
