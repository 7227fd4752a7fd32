"""The letter that a pack was copied from, so that its next edition starts from the last."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any, Final

from coop.rules.packs import amounts, words
from coop.rules.packs.letter import (
    A_DAY,
    A_MONTH,
    ANALYTE,
    BAN,
    BAN_WITH_METALS,
    NEEDS,
    NO_LUMPS,
    PH,
    TEMPERATURE,
    Letter,
    Line,
    data_of,
    faults,
)

_OF_LIMIT: Final[Mapping[str, str]] = {
    amounts.PH: PH,
    amounts.TEMPERATURE: TEMPERATURE,
    amounts.MASS_PER_VOLUME: ANALYTE,
    amounts.YES_NO: NO_LUMPS,
}
_OF_SPAN: Final[Mapping[str, str]] = {words.DAY: A_DAY, words.CALENDAR_MONTH: A_MONTH}


def letter_in(data: Mapping[str, Any]) -> Letter | None:
    """
    Return the letter of a pack that `coop.rules.packs.letter.data_of` made, else None.

    Args:
        data: A pack's keys, without faults. A pack is taken for a letter's only where the
            letter says all that the pack says: nothing is lost on the way there and back.
    """
    letter = Letter(
        authority=data["authority"],
        title=data["title"],
        letter_on=data["valid_from"],
        checked_on=data["checked_on"],
        review_on=data["review_on"],
        area=tuple(data["area"]),
        tier=data["tier"],
        evidence=data["evidence"],
        reference=_reference(data),
        lines=tuple(map(_line, data["rules"])),
    )
    if faults(letter):
        return None
    again = data_of(letter, pack_id=data["id"], edition=data["edition"])
    return letter if again == data else None


def _reference(data: Mapping[str, Any]) -> str:
    """Return the authority's own reference, which ends every citation of a letter's pack."""
    letter_on: date = data["valid_from"]
    before = f"{data['authority']}, {letter_on.isoformat()}, "
    cited: str = data["rules"][0]["cite"]["document"] if data["rules"] else ""
    return cited.removeprefix(before) if cited.startswith(before) else ""


def _line(rule: Mapping[str, Any]) -> Line:
    says = _says(rule)
    return Line(
        says=says,
        outlets=tuple(rule["outlets"]),
        wastes=tuple(rule.get("wastes", ())),
        section=rule["cite"]["section"],
        text=rule.get("says", ""),
        low=_figure(rule, "low"),
        high=_figure(rule, "high"),
        unit=rule.get("unit", ""),
        of=rule.get("of", "") if says == ANALYTE else "",
        basis=rule.get("basis", ""),
        bounds_count=rule.get("bounds_count", False),
        steps=tuple(rule.get("steps", ())),
    )


def _figure(rule: Mapping[str, Any], end: str) -> Decimal | None:
    return Decimal(rule[end]) if end in rule else None


def _says(rule: Mapping[str, Any]) -> str:
    """Return what a line said; steps to be done and no lumps differ by the rule's name."""
    if rule["kind"] == words.BAN:
        return BAN_WITH_METALS if "when" in rule else BAN
    if rule["kind"] == words.TOTAL:
        return _OF_SPAN.get(rule["span"], "")
    if NEEDS in rule["id"].split("-"):
        return NEEDS
    return _OF_LIMIT.get(rule.get("quantity", ""), "")
