"""Strict reading of facts from a text in TOML, for who asks without a ledger."""

from datetime import datetime
from fractions import Fraction
from typing import Any, Final, NamedTuple

from coop.ledger.kinds import ANSWERS, PERMISSIONS
from coop.rules.packs import amounts, words
from coop.rules.packs.facts import Added, Facts, Permission, Reading, Start, Tally
from coop.rules.packs.measured import analyte_of, basis_of, fits, unit_of
from coop.rules.packs.tables import Source, Table

READINGS_MAX: Final = 200
ADDED_MAX: Final = 200
PERMISSIONS_MAX: Final = 50
TALLIES_MAX: Final = 2_000
STARTS_MAX: Final = 50

_SCALES: Final = frozenset(
    {words.STRIP, words.METER, words.THERMOMETER, words.SCALE, words.DIPSTICK}
)
_TOP = (
    "volume",
    "mass",
    "stated",
    "readings",
    "added",
    "contents",
    "adding",
    "closed",
    "shown",
    "permissions",
    "tallies",
    "counted",
    "starts",
)
_FIGURES_OF: Final = {
    words.AS_READ: ("n", "device"),
    words.NOT_DETECTED: ("under", "device"),
    words.RECKONED: ("high",),
}


class AskedFacts(NamedTuple):
    """Facts, and the moment for which they are asked, in the site's own time."""

    facts: Facts
    at: datetime


def read_facts(text: str, *, name: str) -> AskedFacts:
    """
    Return the facts of a text in TOML.

    Args:
        text: What the file holds, at most 64 KiB.
        name: What the file is called, for what is told of it.

    Raises:
        Refused: With file and line, and what would be right.
    """
    source = Source(name, text)
    top = Table(source, (), source.data(), what=name)
    top.only(("at", "waste", "outlet", "area"), _TOP)
    facts = Facts(
        waste=top.choice("waste", words.WASTES),
        outlet=top.choice("outlet", words.OUTLETS),
        area=top.names("area"),
        volume_ml=_amount(top, "volume", amounts.VOLUME),
        mass_g=_amount(top, "mass", amounts.MASS),
        stated=_stated(top),
        readings=tuple(map(_reading, top.tables("readings", READINGS_MAX))),
        added=tuple(map(_added, top.tables("added", ADDED_MAX))),
        contents=_contents(top),
        adding=top.choices("adding", words.SUBSTANCES),
        closed=top.choice("closed", (words.YES, words.NO)),
        shown=top.choices("shown", words.SHOWN),
        permissions=tuple(map(_permission, top.tables("permissions", PERMISSIONS_MAX))),
        tallies=tuple(map(_tally, top.tables("tallies", TALLIES_MAX))),
        counted=top.choices("counted", words.SUMS),
        starts=tuple(map(_start, top.tables("starts", STARTS_MAX))),
    )
    return AskedFacts(facts, top.moment("at"))


def _amount(table: Table, key: str, quantity: str) -> Fraction | None:
    if key not in table.data:
        return None
    said = table.table(key)
    said.only(("n", "unit"))
    return amounts.in_base(
        _figure(said, "n", quantity), quantity=quantity, unit=unit_of(said, quantity)
    )


def _figure(table: Table, key: str, quantity: str) -> Fraction:
    found = table.figure(key)
    assert found is not None, f"{key} is a key that is needed"
    fits(table, key, found, quantity=quantity, unit=unit_of(table, quantity))
    return found


def _stated(top: Table) -> tuple[tuple[str, tuple[str, ...]], ...]:
    if "stated" not in top.data:
        return ()
    table = top.table("stated")
    table.only((), tuple(words.FACTS))
    found = []
    for fact, answers in words.FACTS.items():
        if fact in table.data:
            many = isinstance(table.data[fact], list)
            said = table.choices(fact, answers) if many else (table.choice(fact, answers),)
            found.append((fact, said))
    return tuple(found)


def _reading(table: Table) -> Reading:
    quantity = table.choice("quantity", tuple(amounts.MEASURES))
    if quantity == amounts.YES_NO:
        table.only(("quantity", "of", "answer", "read_at"))
        return Reading(
            quantity=quantity,
            of=analyte_of(table, quantity),
            answer=table.choice("answer", (words.YES, words.NO)),
            device=words.EYE,
            read_at=table.moment("read_at"),
        )
    how = table.choice("how", words.HOW_KNOWN, default=words.AS_READ)
    needed = ("quantity", "unit", "read_at", *_FIGURES_OF[how])
    more = ("low",) if how == words.RECKONED else ("step", "off_at_check")
    table.only(needed, ("how", "of", "basis", *more))
    low, high = _ends(table, quantity, how)
    return Reading(
        quantity=quantity,
        of=analyte_of(table, quantity),
        how=how,
        low=low,
        high=high,
        unit=unit_of(table, quantity),
        basis=basis_of(table, quantity),
        read_at=table.moment("read_at"),
        **_device(table, quantity),
    )


def _ends(table: Table, quantity: str, how: str) -> tuple[Fraction, Fraction]:
    match how:
        case words.AS_READ:
            n = _figure(table, "n", quantity)
            return n, n
        case words.NOT_DETECTED:
            return Fraction(0), _figure(table, "under", quantity)
    low = _figure(table, "low", quantity) if "low" in table.data else Fraction(0)
    high = _figure(table, "high", quantity)
    if high < low:
        raise table.fault("backwards", "high", options=("low",))
    return low, high


def _device(table: Table, quantity: str) -> dict[str, Any]:
    """Return the device and its scale; one with a scale says its step."""
    if "device" not in table.data:
        return {}
    devices = (*amounts.MEASURES[quantity].devices, words.LABORATORY)
    device = table.choice("device", tuple(dict.fromkeys(devices)))
    step, off = table.figure("step"), table.figure("off_at_check")
    if device in _SCALES and "n" in table.data and (step is None or step <= 0):
        raise table.fault("needs", "device", options=("step, over 0: one of its scale",))
    if off is not None and device != words.METER:
        raise table.fault("does-not-go-with", "off_at_check", options=(f"a {device}",))
    return {"device": device, "step": step or Fraction(0), "off_at_check": off}


def _added(table: Table) -> Added:
    table.only(("what", "at"))
    return Added(what=table.choice("what", words.SUBSTANCES), at=table.moment("at"))


def _contents(top: Table) -> tuple[str, ...] | None:
    if "contents" not in top.data:
        return None
    found: tuple[str, ...] = top.choices("contents", words.SUBSTANCES)
    return found


def _permission(table: Table) -> Permission:
    table.only(("about", "asked", "asked_on", "answer", "outlet"), ("reference", "conditions"))
    asked_on = table.day("asked_on")
    assert asked_on is not None, "a key that is needed"
    return Permission(
        about=table.choice("about", PERMISSIONS),
        asked=table.text("asked"),
        asked_on=asked_on,
        answer=table.choice("answer", ANSWERS),
        outlet=table.choice("outlet", words.OUTLETS),
        reference=table.text("reference"),
        conditions=table.text("conditions"),
    )


def _tally(table: Table) -> Tally:
    table.only(("what", "waste", "on"), ("outlet", "volume", "mass"))
    on = table.day("on")
    assert on is not None, "a key that is needed"
    what = table.choice("what", words.SUMS)
    if what == words.POURED and "outlet" not in table.data:
        raise table.fault("needs", "what", options=("outlet", *words.OUTLETS))
    return Tally(
        what=what,
        waste=table.choice("waste", words.WASTES),
        on=on,
        outlet=table.choice("outlet", words.OUTLETS),
        volume_ml=_amount(table, "volume", amounts.VOLUME),
        mass_g=_amount(table, "mass", amounts.MASS),
    )


def _start(table: Table) -> Start:
    table.only(("event", "on"))
    on = table.day("on")
    assert on is not None, "a key that is needed"
    return Start(event=table.choice("event", words.STARTS), on=on)
