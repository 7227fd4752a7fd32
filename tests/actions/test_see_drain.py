"""What the ledger tells the rules of a drain, and what they answer."""

import os
from pathlib import Path
from typing import Any

import pytest

from coop.actions.see_drain import decided, kept
from coop.actions.sites import packs_of
from coop.rules.packs.evaluation import replay
from coop.rules.packs.words import Outcome
from tests.support.opened import Opened, furnished, mixed, quantity
from tests.support.wastes import decision, permit, publish


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A studio on a sewer, with a letter of its sewer board and a tub of alum."""
    made = furnished(tmp_path)
    made.made["bath"] = mixed(made)
    return made


def read_ph(house: Opened, ph: str, step: str = "0.5") -> None:
    house.later(minutes=5)
    house.say("reading.taken", bath=house.made["bath"], instrument="ph_strip", ph=ph, step=step)


def test_without_a_letter_a_sewer_is_asked_about_first(house: Opened) -> None:
    assert decision(house, bath=house.made["bath"]).outcome is Outcome.ASK_FIRST


def test_an_old_bath_is_measured_then_treated_then_may_go(house: Opened) -> None:
    """The drain that said not yet at pH 3.3; next morning a strip of half steps read 7.0."""
    publish(house, "ropewalk-sewer")
    permit(house)
    bath = house.made["bath"]

    assert decision(house, bath=bath).outcome is Outcome.MEASURE_FIRST

    read_ph(house, "3.3")
    not_yet = decision(house, bath=bath)
    assert not_yet.outcome is Outcome.NOT_YET

    house.later(minutes=10)
    house.say(
        "disposal.treated",
        studio=house.made["studio"],
        bath=bath,
        step="base_in",
        base="crystals",
        weight=quantity(255, "g"),
    )
    assert decision(house, bath=bath).outcome is Outcome.MEASURE_FIRST, "soda went in since"
    house.later(hours=12)
    read_ph(house, "7.0")
    may_go = decision(house, bath=bath)
    assert may_go.outcome is Outcome.AFTER_STEPS
    assert "soda" in (may_go.facts.contents or ())

    attachment = kept(not_yet, salt=os.urandom(16))
    with house.store.writing() as desk:
        desk.journal.keep(attachment)
        again = decided(desk.journal, attachment.name)
    assert again == not_yet


def test_what_was_poured_today_counts_towards_the_day(house: Opened) -> None:
    """Of spent alum solution at most 20 L a day."""
    publish(house, "ropewalk-sewer")
    permit(house)
    bath = house.made["bath"]
    house.say(
        "disposal.treated",
        studio=house.made["studio"],
        bath=bath,
        step="base_in",
        base="crystals",
        weight=quantity(255, "g"),
    )
    read_ph(house, "7.0")
    assert decision(house, bath=bath).outcome is Outcome.AFTER_STEPS

    house.say(
        "disposal.done",
        studio=house.made["studio"],
        waste="alum_bath",
        outlet="sewer",
        litres=quantity(12, "l"),
    )
    assert decision(house, bath=bath).outcome is Outcome.NOT_YET, "tomorrow"


def test_an_invented_letter_counts_in_a_demo_alone(house: Opened) -> None:
    """Elsewhere it is a document that cannot be read: somebody has to be asked."""
    publish(house, "ropewalk-sewer")
    permit(house)
    read_ph(house, "7.0")

    told = decision(house, demo=False, bath=house.made["bath"])

    assert told.outcome is Outcome.ASK_FIRST
    assert "document-missing" in {one.why for one in told.spoken}


def test_a_decision_replays_from_its_frozen_facts(house: Opened) -> None:
    publish(house, "ropewalk-sewer")
    permit(house)
    read_ph(house, "3.3")
    made = decision(house, bath=house.made["bath"])
    with house.desk() as desk:
        studio = desk.journal.state("studio", house.made["studio"])  # type: ignore[arg-type]
        packs, _ = packs_of(desk.journal, studio, demo=True)

    assert replay(made, {one.digest: one for one in packs}) == made


def test_two_documents_of_one_edition_are_asked_about(house: Opened) -> None:
    """Somebody put the number of an edition wrong; nobody knows which of the two holds."""
    publish(house, "ropewalk-sewer")
    house.later(days=1)
    publish(house, "ropewalk-sewer")
    permit(house)
    read_ph(house, "7.0")

    told = decision(house, bath=house.made["bath"])

    assert told.outcome is Outcome.ASK_FIRST
    assert "document-missing" in {one.why for one in told.spoken}


def drum(house: Opened, **more: Any) -> str:
    """A drum with ten litres of alum bath in it, and thin rinse water after that."""
    wastes = ["alum_bath", "rinse_water"]
    made = house.say(
        "waste.started",
        studio=house.made["studio"],
        name="drum",
        sort="drum",
        holds=quantity(60, "l"),
        wastes=wastes,
        **more,
    )
    for waste, litres in zip(wastes, (10, 1.5), strict=True):
        house.later(minutes=5)
        house.say(
            "waste.added",
            studio=house.made["studio"],
            jar=made,
            waste=waste,
            litres=quantity(litres, "l"),
            metal_pigments="yes" if more else "no",
            hazardous="not_known",
        )
    return made


def test_a_jar_is_judged_by_the_strictest_of_all_that_is_in_it(house: Opened) -> None:
    """Thin water on top makes no rinse water of ten litres of an alum bath."""
    publish(house, "ropewalk-sewer")
    permit(house)
    told = decision(house, jar=drum(house))

    assert told.outcome is Outcome.MEASURE_FIRST
    assert (told.facts.waste, told.facts.mixed_with) == ("alum_bath", ("rinse_water",))


def test_an_answer_of_just_now_takes_back_nothing_that_was_written_down(house: Opened) -> None:
    """Metals that came in are in it, and a drum that is flammable stays so."""
    can = drum(house, tags=["flammable"])
    told = decision(house, jar=can, metal_pigments="no", tags=("toxic",))
    stated = dict(told.facts.stated)

    assert stated["metal_pigments"] == ("yes",)
    assert stated["tags"] == ("flammable", "toxic")
