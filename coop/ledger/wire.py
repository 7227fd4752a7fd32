"""From a form's fields to an entry's body: the same bytes from a page and from a script."""

from collections.abc import Iterable
from typing import Any

from coop.ledger.schema import Slip
from coop.units.fault import NotUnderstood
from coop.units.number import read_number, wire

NUMBER_LOW = -1000
SIGNED_UNITS = frozenset({"celsius", "fahrenheit"})


def nest(fields: Iterable[tuple[str, str]]) -> dict[str, Any]:
    """
    Return the body that a form's fields make.

    A dot in a name makes the nesting, whole numbers in it a list; empty fields are left
    out; a quantity gets its exact number `n` from what was `typed`.

    Raises:
        Slip: What was typed is no number.

    >>> nest([("bath", "b"), ("water.typed", "1,5"), ("water.unit", "l"), ("note", "")])
    {'bath': 'b', 'water': {'typed': '1,5', 'unit': 'l', 'n': '1.5'}}
    """
    tree: dict[str, Any] = {}
    for name, value in fields:
        if value.strip():
            *path, last = name.split(".")
            place = tree
            for part in path:
                place = place.setdefault(part, {})
            place[last] = value.strip()
    body = _settle(tree, "")
    return body if isinstance(body, dict) else {}


def _settle(tree: Any, where: str) -> Any:
    if not isinstance(tree, dict):
        return tree
    dot = f"{where}." if where else ""
    settled = {key: _settle(value, dot + key) for key, value in tree.items()}
    settled = {key: value for key, value in settled.items() if value not in ({}, [])}
    if settled and all(key.isdigit() for key in settled):
        return [settled[key] for key in sorted(settled, key=int)]
    if "unit" in settled and not set(settled) - {"unit", "heap"}:
        return {}  # a unit alone, from a select that was left as it stood
    if "typed" in settled and "unit" in settled and "n" not in settled:
        signed = settled["unit"] in SIGNED_UNITS
        try:
            settled["n"] = wire(read_number(settled["typed"], low=NUMBER_LOW if signed else 0))
        except NotUnderstood as fault:
            raise _slip(f"{dot}typed", fault) from None
    return settled


def _slip(where: str, fault: NotUnderstood) -> Slip:
    """Ask whether '1,250' is thousands or decimals; anything else is no number."""
    if fault.code == "thousands-or-decimals":
        return Slip(where, fault.code, written=" / ".join(fault.options))
    return Slip(where, "not-a-number")
