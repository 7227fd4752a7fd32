"""One digest over what a ledger comes to, by which two copies of it are compared."""

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import fields, is_dataclass
from typing import Any

from coop.ids import Digest
from coop.ledger.accounts import Move
from coop.ledger.entries import Sealed
from coop.ledger.force import resolve

REL_TOLERANCE = 1e-9


def state_digest(sealed: Iterable[Sealed], moves: Iterable[Move]) -> Digest:
    """
    Return a digest over entries in force and the exact, whole-number facts.

    Estimates are left out: they are floats, compared by `alike`.

    Args:
        sealed: Every entry of the ledger, in any order.
        moves: Every row of every fold, in any order.
    """
    lines = [
        f"{one.id} {one.original.entry.digest} {one.correction or '-'} {one.at.timestamp()!r}"
        for one in resolve(sealed).in_force
    ]
    lines += [
        f"{one.entry} {one.substance} {one.from_account} {one.to_account} {one.amount}"
        f" {one.doubt} {one.week}"
        for one in moves
    ]
    return Digest(hashlib.sha256("\n".join(sorted(lines)).encode()).hexdigest())


def alike(one: Any, other: Any) -> bool:
    """Say whether two fold states are the same, floats to 1 part in 10^9."""
    return not differences(one, other)


def differences(one: Any, other: Any, where: str = "") -> list[str]:
    """Return the places in which two fold states differ."""
    if isinstance(one, float) or isinstance(other, float):
        if not isinstance(one, int | float) or not isinstance(other, int | float):
            return [where]
        return [] if _near(one, other) else [where]
    if type(one) is not type(other):
        return [where]
    if is_dataclass(one):
        return _all(one, other, [field.name for field in fields(one)], getattr, where)
    if isinstance(one, tuple):
        if len(one) != len(other):
            return [where]
        return _all(one, other, range(len(one)), tuple.__getitem__, where)
    return [] if one == other else [where]


def _all(
    one: Any, other: Any, keys: Iterable[Any], at: Callable[[Any, Any], Any], where: str
) -> list[str]:
    dot = f"{where}." if where else ""
    return [
        place
        for key in keys
        for place in differences(at(one, key), at(other, key), f"{dot}{key}")
    ]


def _near(one: float, other: float) -> bool:
    return one == other or abs(one - other) <= REL_TOLERANCE * max(abs(one), abs(other), 1.0)
