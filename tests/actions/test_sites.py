"""What is known of a studio's outlets: which rules and words stand, and what was poured."""

import os
import tomllib
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from coop.actions.see_drain import pack_kept
from coop.actions.sites import Site, packs_of, see_site, site_area
from coop.rules.packs.documents import document_of
from coop.rules.packs.evaluation import replay
from coop.rules.packs.words import HAZARDOUS_ON_HAND, Outcome
from tests.support.opened import Opened, furnished, mixed, quantity
from tests.support.wastes import RULES, decision, permit, publish

WHOLE = {
    "name": "Ropewalk",
    "letter": "R",
    "drain": "sewer",
    "emergency": "112",
    "poison": "0555 0100",
}


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A studio on a sewer, with an alum bath at a pH that its letter takes."""
    made = furnished(tmp_path)
    made.made["bath"] = mixed(made)
    made.later(minutes=5)
    read_ph(made, "3.3")
    made.later(minutes=5)
    made.say(
        "disposal.treated",
        studio=made.made["studio"],
        bath=made.made["bath"],
        step="base_in",
        base="crystals",
        weight=quantity(255, "g"),
    )
    made.later(hours=1)
    return made


def read_ph(house: Opened, ph: str) -> None:
    house.say(
        "reading.taken", bath=house.made["bath"], instrument="ph_strip", ph=ph, step="0.5"
    )


def published(house: Opened, edition: int, **more: Any) -> str:
    """Publish an edition of the ropewalk's letter, changed by what is said of its pack."""
    entry = {name: more.pop(name) for name in ("rules", "supersedes", "in_use") if name in more}
    data = tomllib.loads((RULES / "ropewalk-sewer.toml").read_text(), parse_float=Decimal)
    data |= {
        "area": list(site_area(house.state("studio", house.made["studio"]))),
        "edition": edition,
        "valid_from": house.moment.date(),
        **more,
    }
    kept = pack_kept(document_of(data), salt=os.urandom(16))
    with house.store.writing() as desk:
        desk.journal.keep(kept)
    house.later(minutes=1)
    return house.say(
        "rules.published",
        studio=house.made["studio"],
        pack=data["id"],
        pack_edition=str(edition),
        document=kept.name,
        checked_on=str(data["checked_on"]),
        review_on=str(data["review_on"]),
        **entry,
    )


def described(house: Opened, **changes: Any) -> None:
    """Describe the studio anew, a day later."""
    house.later(days=1)
    studio = house.state("studio", house.made["studio"])
    said = WHOLE | {"drain": studio.drain, "country": studio.country} | changes
    said = {name: one for name, one in said.items() if one}
    house.say("studio.described", studio=studio.id, supersedes=studio.edition, **said)


def site_of(house: Opened) -> Site:
    with house.desk() as desk:
        studio = desk.journal.state("studio", house.made["studio"])  # type: ignore[arg-type]  # an id
        assert studio is not None
        return see_site(desk.journal, studio, now=house.moment, demo=True)


def outcome(house: Opened, **asked: Any) -> Outcome:
    read_ph(house, "7.0")
    return decision(house, bath=house.made["bath"], **asked).outcome


# ---- rules


def test_rules_put_out_of_use_do_not_come_back_before_the_next_edition_holds(house: Opened):
    """An edition valid in thirty days brings no edition back that was put out of use."""
    permit(house)
    first = published(house, 1)
    assert outcome(house) is Outcome.AFTER_STEPS

    out = published(house, 1, rules=first, supersedes=first, in_use="no")
    soon = house.moment.date() + timedelta(days=30)
    published(house, 2, rules=first, supersedes=out, valid_from=soon)

    assert [one.edition for one in site_of(house).packs] == [2]
    assert outcome(house) is Outcome.ASK_FIRST


def test_a_studio_that_changes_its_country_is_told_so(house: Opened):
    """Its letter still makes things stricter, and opens nothing; so does its permission."""
    described(house, country="us")
    permit(house, asked_on=str(house.moment.date()))
    publish(house, "ropewalk-sewer")
    house.later(days=1)
    assert outcome(house) is Outcome.AFTER_STEPS
    before = decision(house, bath=house.made["bath"])

    described(house, country="de")
    told = decision(house, bath=house.made["bath"])
    assert outcome(house) is Outcome.ASK_FIRST
    moved = {one.rule for one in told.spoken if one.why == "other-country"}
    assert moved == {"local-rule", "permission"}
    read_ph(house, "3.3")
    house.later(minutes=1)
    assert decision(house, bath=house.made["bath"]).outcome is Outcome.NOT_YET

    with house.desk() as desk:
        studio = house.state("studio", house.made["studio"])
        packs, _ = packs_of(desk.journal, studio, demo=True)
    assert replay(before, {one.digest: one for one in packs}) == before


def test_a_letter_and_an_answer_of_the_new_country_open_the_drain_again(house: Opened):
    described(house, country="us")
    first = published(house, 1)
    described(house, country="de")
    published(house, 2, rules=first, supersedes=first)
    permit(house, asked_on=str(house.moment.date() + timedelta(days=1)))
    house.later(days=2)

    assert outcome(house) is Outcome.AFTER_STEPS


# ---- permissions


def test_an_answer_about_a_sewer_is_none_about_the_septic_tank_of_later(house: Opened):
    """Nobody wrote where it would go: it is the drain of the day on which was asked."""
    permit(house, asked_on=str(house.moment.date()))
    described(house, drain="septic")

    (asked,) = site_of(house).permissions
    assert asked.outlet == "sewer"


def test_an_answer_of_before_the_ledger_is_about_a_drain_that_never_changed(house: Opened):
    permit(house)
    assert [one.outlet for one in site_of(house).permissions] == ["sewer"]

    described(house, drain="septic")
    assert [one.outlet for one in site_of(house).permissions] == [""], "which one, nobody knows"


def test_an_outlet_that_was_written_down_stays(house: Opened):
    permit(house, outlet="hauled")
    described(house, drain="septic")

    assert [one.outlet for one in site_of(house).permissions] == ["hauled"]


# ---- sums


def wrong_drain(house: Opened, waste: str) -> None:
    """Something went down the sewer, and nobody knows how much."""
    house.later(minutes=1)
    house.say(
        "mishap.noted",
        studio=house.made["studio"],
        what="wrong_drain",
        waste=waste,
        outlet="sewer",
        done=["called"],
    )


def test_a_jug_poured_away_unmeasured_leaves_the_day_unknown(house: Opened):
    """Of spent alum solution at most 20 L a day: how much the jug held, nobody knows."""
    permit(house)
    publish(house, "ropewalk-sewer")
    assert outcome(house, volume_ml=1_000.0) is Outcome.AFTER_STEPS

    wrong_drain(house, "alum_bath")
    told = decision(house, bath=house.made["bath"], volume_ml=1_000.0)

    (tally,) = site_of(house).tallies
    assert tally.volume_ml is None
    assert told.outcome is Outcome.ASK_FIRST
    assert "amount-missing" in {one.why for one in told.spoken}


def test_what_went_on_one_day_is_one_sum_and_what_nobody_measured_another(house: Opened):
    """A decision is kept with its sums: a line for each pouring of a year is too long."""
    for litres in (2, 3):
        house.later(minutes=1)
        house.say(
            "disposal.done",
            studio=house.made["studio"],
            waste="size",
            outlet="sewer",
            outcome="after_steps",
            litres=quantity(litres, "l"),
        )
    wrong_drain(house, "size")

    assert {one.volume_ml for one in site_of(house).tallies} == {5_000, None}


def test_what_was_poured_is_known_as_far_back_as_the_longest_span(house: Opened):
    """A sum over 200 days counts what went 100 days ago."""
    rule = {
        "id": "half-a-year",
        "kind": "TOTAL",
        "outlets": ["sewer"],
        "quantity": "volume",
        "holds_if": "at_most",
        "high": 20,
        "unit": "l",
        "sum_of": "poured",
        "span": "rolling_days",
        "span_days": 200,
        "cite": {"document": "letter (invented)", "section": "9", "evidence": "invented"},
    }
    permit(house)
    publish(house, "ropewalk-sewer", "", "amina", rule)
    house.say(
        "disposal.done",
        studio=house.made["studio"],
        waste="size",
        outlet="sewer",
        litres=quantity(19, "l"),
        outcome="after_steps",
    )
    house.later(days=100)
    told = decision(house, waste="size", volume_ml=2_000.0)

    (found,) = (one for one in told.spoken if one.rule == "half-a-year")
    assert found.verdict == "fails"
    assert found.total == 21_000


def test_hazardous_waste_in_a_jar_is_on_hand_since_its_first_drop(house: Opened):
    can = house.say(
        "waste.started",
        studio=house.made["studio"],
        name="can",
        sort="can",
        holds=quantity(20, "l"),
        wastes=["floc"],
    )
    house.say(
        "waste.added",
        studio=house.made["studio"],
        jar=can,
        waste="floc",
        weight=quantity(3, "kg"),
        metal_pigments="yes",
        hazardous="yes",
    )
    (on_hand,) = (one for one in site_of(house).tallies if one.what == HAZARDOUS_ON_HAND)

    assert on_hand.mass_g == 3_000
    assert on_hand.on == date(2025, 9, 17)
