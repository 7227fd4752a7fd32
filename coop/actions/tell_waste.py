"""What a story says of drains: rules by their figures, and answers as the rules give them."""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

from coop.actions.drain_facts import Asked
from coop.actions.see_drain import ask_drain, kept, pack_kept
from coop.actions.sites import see_site, site_area
from coop.actions.write import SALT_BYTES
from coop.ids import Subject
from coop.ledger.ports import Journal
from coop.rules.packs.documents import document_of
from coop.units.quantity import Quantity

Random = Callable[[int], bytes]
FIGURES = "figures"
SEEN = "seen"
SOURCES = ("bath", "jar", "jug")


def with_rules(
    journal: Journal,
    body: Mapping[str, Any],
    figures: Mapping[str, Mapping[str, Any]],
    *,
    at: datetime,
    random: Random,
) -> dict[str, Any]:
    """
    Return what is said of rules, with their document in the place of the name of their figures.

    They are checked on the day they are told of, and to be looked at a year later.
    """
    said = dict(body)
    data = dict(figures[said.pop(FIGURES)])
    studio = journal.state("studio", Subject(said["studio"]))
    checked_on = at.date()
    data |= {
        "area": list(site_area(studio)),
        "valid_from": checked_on,
        "checked_on": checked_on,
        "review_on": checked_on.replace(year=checked_on.year + 1),
    }
    document = pack_kept(document_of(data), salt=random(SALT_BYTES))
    journal.keep(document)
    return said | {
        "pack": data["id"],
        "pack_edition": str(data["edition"]),
        "document": document.name,
        "checked_on": str(data["checked_on"]),
        "review_on": str(data["review_on"]),
    }


def with_answer(
    journal: Journal, body: Mapping[str, Any], *, at: datetime, random: Random
) -> dict[str, Any]:
    """Return what is said of a drain, with the answer of its rules for what was seen."""
    said = dict(body)
    seen: dict[str, Any] = said.pop(SEEN)
    studio = journal.state("studio", Subject(said["studio"]))
    named: dict[str, Any] = {name: Subject(said[name]) for name in SOURCES if name in said}
    litres = said.get("litres")
    asked = Asked(
        studio=studio.id,
        outlet=said["outlet"],
        waste=said["waste"],
        volume_ml=float(Quantity.from_wire(litres).base) if litres else None,
        tags=(),
        acid_put_in="no",
        **named,
        **seen,
    )
    decision = ask_drain(journal, see_site(journal, studio, now=at, demo=True), asked)
    attachment = kept(decision, salt=random(SALT_BYTES))
    journal.keep(attachment)
    return said | {"outcome": str(decision.outcome), "decision": attachment.name}
