"""A studio with rules of its drain: an invented letter, and who agreed to it."""

import os
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

from coop.actions.drain_facts import Asked
from coop.actions.see_drain import ask_drain, pack_kept
from coop.actions.sites import see_site, site_area
from coop.rules.packs.decisions import Decision
from coop.rules.packs.documents import document_of
from tests.support.opened import Opened

RULES = Path(__file__).parents[2] / "fixtures" / "rules"


def publish(
    house: Opened, file: str, studio: str = "", who: str = "amina", *also: dict[str, Any]
) -> str:
    """Publish a shipped pack, and other rules, as those of a studio; return the entry's id."""
    studio = studio or house.made["studio"]
    data: dict[str, Any] = tomllib.loads(
        (RULES / f"{file}.toml").read_text(), parse_float=Decimal
    )
    if data["tier"] != "floor":
        data["area"] = list(site_area(house.state("studio", studio)))
    data["rules"] += also
    data["valid_from"] = min(data["valid_from"], house.moment.date())
    kept = pack_kept(document_of(data), salt=os.urandom(16))
    with house.store.writing() as desk:
        desk.journal.keep(kept)
    return house.say(
        "rules.published",
        who,
        studio=studio,
        pack=data["id"],
        pack_edition=str(data["edition"]),
        document=kept.name,
        checked_on=str(data["checked_on"]),
        review_on=str(data["review_on"]),
    )


def permit(house: Opened, studio: str = "", answer: str = "yes", **more: Any) -> str:
    """Record that the authority agreed to all of it."""
    return house.say(
        "permission.recorded",
        studio=studio or house.made["studio"],
        about="all_of_it",
        asked="the town's drains office",
        answer=answer,
        **{"asked_on": "2025-08-18", **more},
    )


def decision(house: Opened, *, demo: bool = True, **asked: Any) -> Decision:
    """Ask about something in the studio, at its sewer unless another outlet is said."""
    asked.setdefault("studio", house.made["studio"])
    asked.setdefault("outlet", "sewer")
    with house.desk() as desk:
        studio = desk.journal.state("studio", asked["studio"])
        assert studio is not None
        site = see_site(desk.journal, studio, now=house.moment, demo=demo)
        return ask_drain(desk.journal, site, Asked(**asked))
