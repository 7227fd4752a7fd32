"""How long records are kept, and why, as this co-operative chose."""

from dataclasses import dataclass

from coop.ledger.states import HouseState
from coop.ledger.table import HOUSE
from coop.rules import retention
from coop.web import words as say
from coop.web.drain_words import choice
from coop.web.i18n import N_
from coop.web.page import desk, words

OUR_OWN = (N_("a choice of this ledger, no source: as long as the rest"),)
"""What stands in no document, as `retention.KEPT` names it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordsSaid:
    """The choice, what is kept how long by it and why, and that nothing is removed."""

    choice: str
    kept: tuple[str, ...]
    nothing_goes: str


def records_said() -> RecordsSaid:
    """Say for whom records are kept and how long; until somebody chose, all of it."""
    house: HouseState | None = desk().journal.state("house", HOUSE)
    return records_of((house.records_kept if house else "") or retention.ASK)


def records_of(chosen: str) -> RecordsSaid:
    """Say what one of the choices keeps how long, and why."""
    return RecordsSaid(
        choice=say.choice(words(), "retention", chosen),
        kept=tuple(_kept(one) for one in retention.KEPT[chosen]),
        nothing_goes=_nothing_goes(chosen),
    )


def _kept(one: retention.Kept) -> str:
    return words().ngettext(
        "%(what)s: %(num)d year at least (%(source)s; %(evidence)s)",
        "%(what)s: %(num)d years at least (%(source)s; %(evidence)s)",
        one.years,
        what=", ".join(choice(words(), "record", each) for each in one.records),
        source=f"{_document(one.document)} {one.section}".strip(),
        evidence=choice(words(), "evidence", one.evidence),
    )


def _document(document: str) -> str:
    """Return a document's name; what stands in none, in this language."""
    return words().gettext(document) if document in OUR_OWN else document


def _nothing_goes(chosen: str) -> str:
    if chosen == retention.ASK:
        return words().gettext(
            "Nobody has answered yet for whom records are kept, so all of them are kept. A "
            "coordinator answers it in the house limits."
        )
    return words().gettext(
        "Nothing is removed earlier. Nothing is removed later either, for now: this ledger "
        "removes no records by itself."
    )
