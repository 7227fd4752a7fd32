"""How jars are seen: what may go in, what rules make of it, what is stopped, what went."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from coop.actions.drain_facts import Asked
from coop.actions.see_jars import (
    asks_area,
    coming,
    handovers,
    hazardous_by,
    jar_entries,
    never_together,
    offered,
    see_handover,
    see_jar,
    see_jars,
    substances_of_lot,
)
from coop.actions.sites import Site, see_site
from coop.ids import Subject
from coop.ledger.ports import Journal
from coop.rules.packs.decisions import Decision, RuleSaid
from coop.rules.packs.facts import Facts
from coop.rules.packs.words import CLASSIFY, Outcome, Verdict
from tests.support.opened import Opened, furnished, mixed, quantity
from tests.support.wastes import publish


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    return furnished(tmp_path)


def jar(house: Opened, **changes: Any) -> Subject:
    body: dict[str, Any] = {
        "studio": house.made["studio"],
        "name": "can",
        "sort": "can",
        "holds": quantity(20, "l"),
        "wastes": ["colour_rinse"],
    }
    return Subject(house.say("waste.started", **(body | changes)))


def added(house: Opened, to: str, **more: Any) -> str:
    body: dict[str, Any] = {
        "studio": house.made["studio"],
        "jar": to,
        "waste": "colour_rinse",
        "litres": quantity(4, "l"),
    }
    return house.say("waste.added", **(body | more))


@contextmanager
def at_the_site(house: Opened) -> Iterator[tuple[Journal, Site]]:
    with house.desk() as desk:
        studio = desk.journal.state("studio", Subject(house.made["studio"]))
        yield desk.journal, see_site(desk.journal, studio, now=house.moment, demo=True)


def american(house: Opened) -> None:
    """Put the studio into a country that has a waste pack here, as a business."""
    house.say(
        "studio.described",
        studio=house.made["studio"],
        supersedes=house.state("studio", house.made["studio"]).edition,
        name="Ropewalk",
        letter="R",
        drain="sewer",
        instruments=["strip_print"],
        emergency="112",
        poison="0555 0100",
        country="us",
        premises_are="business",
    )
    publish(house, "us-federal-waste")


def test_the_jars_of_a_studio_stand_by_their_names(house: Opened) -> None:
    for name in ("rinse drum", "Alum can"):
        jar(house, name=name)
    gone = jar(house, name="gone")
    house.say("waste.collected", studio=house.made["studio"], jar=gone, by="truck",
              jar_gone="yes")  # fmt: skip

    with at_the_site(house) as (journal, site):
        assert [one.state.name for one in see_jars(journal, site)] == ["Alum can", "rinse drum"]


def test_a_jar_needs_what_its_days_and_its_filling_say(house: Opened) -> None:
    """16 of 20 litres is full soon: a choice of this ledger."""
    can = jar(house, collect_by="2025-09-30")
    added(house, can, litres=quantity(16, "l"))

    with at_the_site(house) as (journal, site):
        seen = see_jar(journal, site, journal.state("jar", can))
    assert seen.look.needs == ("jar-due-soon", "jar-full-soon")
    assert (seen.look.days_left, seen.look.missing) == (13, ())


def test_an_area_is_asked_where_a_rule_in_force_goes_by_it(house: Opened) -> None:
    with at_the_site(house) as (_, site):
        assert not asks_area(site)
    american(house)
    with at_the_site(house) as (_, site):
        assert asks_area(site)


def test_only_what_a_jar_is_for_is_offered(house: Opened) -> None:
    bath = mixed(house)
    house.say("bath.finished", bath=bath, reason="too_weak")
    for_alum, for_paste = jar(house, wastes=["alum_bath"]), jar(house, wastes=["paste"])

    with at_the_site(house) as (journal, _):
        first = offered(journal, journal.state("jar", for_alum))
        other = offered(journal, journal.state("jar", for_paste))
    assert [one.id for one in first.baths] == [bath]
    assert (other.baths, other.lots, other.jars) == ((), (), ())


def test_a_leftover_of_alum_is_alum(house: Opened) -> None:
    with house.desk() as desk:
        lot = desk.journal.state("lot", Subject(house.made["alum"]))

    assert substances_of_lot(lot, None) == ("alum",)


def test_no_rule_in_force_means_that_nobody_knows_whether_it_is_hazardous(
    house: Opened,
) -> None:
    asked = Asked(studio=Subject(house.made["studio"]), outlet="jar", waste="colour_rinse")

    with at_the_site(house) as (journal, site):
        found = coming(journal, site, asked)
    assert (found.hazardous, found.acute, found.substances) == ("not_known", False, ("colour",))


@pytest.mark.parametrize(
    ("verdicts", "told"),
    [
        ((), "not_known"),
        ((Verdict.FAILS,), "no"),
        ((Verdict.FAILS, Verdict.UNKNOWN), "not_known"),
        ((Verdict.FAILS, Verdict.HOLDS, Verdict.UNKNOWN), "yes"),
    ],
)
def test_hazardous_is_yes_if_one_rule_holds_and_no_only_if_all_fail(
    house: Opened, verdicts: tuple[Verdict, ...], told: str
) -> None:
    spoken = tuple(
        RuleSaid(
            rule=f"r{n}",
            kind=CLASSIFY,
            verdict=verdict,
            outcome=Outcome.NOTHING_FORBIDS,
            sets=(("hazardous", "yes"),),
        )
        for n, verdict in enumerate(verdicts)
    )
    decision = Decision(
        outcome=Outcome.NOTHING_FORBIDS,
        facts=Facts(waste="colour_rinse", outlet="jar", area=("us",)),
        day=house.moment.date(),
        now=house.moment,
        spoken=spoken,
    )

    assert hazardous_by(decision) == told


def test_what_is_in_the_jar_and_what_comes_are_looked_at_together(house: Opened) -> None:
    """Bleach and an acid give chlorine: common practice, no source."""
    can = jar(house)
    added(house, can, substances=["bleach"])

    with at_the_site(house) as (journal, site):
        state = journal.state("jar", can)
        (stop,) = never_together(journal, site, state, ("vinegar",), closed="no")
        assert never_together(journal, site, state, ("soda",), closed="no") == ()
    assert (stop.rule, stop.verdict) == ("stop-chlorine-gas", Verdict.FAILS)


def test_a_handover_tells_what_was_in_it_just_before(house: Opened) -> None:
    """What goes in later is no part of what was taken."""
    can = jar(house)
    added(house, can, litres=quantity(7, "l"))
    house.later(hours=1)
    taken = house.say("waste.collected", studio=house.made["studio"], jar=can, by="truck")
    house.later(hours=1)
    later = added(house, can)

    with at_the_site(house) as (journal, _):
        state = journal.state("jar", can)
        found = see_handover(journal, state, taken)
        assert see_handover(journal, state, later) is None
        assert see_handover(journal, state, can) is None
        assert list(handovers(jar_entries(journal, state.id))) == [taken]
    assert found is not None
    assert (found.before.volume_ml, found.all_of_it, found.jar_gone) == (7_000, True, False)
    assert state.volume_ml == 4_000


def test_the_category_goes_by_what_the_studio_made_this_month(house: Opened) -> None:
    """40 CFR 262.13, recalled: over 1000 kg in a month is a large quantity, in any jar."""
    american(house)
    drum = jar(house, name="floc drum", sort="drum", wastes=["floc"])
    other = jar(house)
    with at_the_site(house) as (journal, site):
        few = see_jar(journal, site, journal.state("jar", other)).look.months

    for _ in range(11):
        house.say("waste.added", studio=house.made["studio"], jar=drum, waste="floc",
                  weight=quantity(100, "kg"), hazardous="yes")  # fmt: skip
        house.later(minutes=1)

    with at_the_site(house) as (journal, site):
        much = see_jar(journal, site, journal.state("jar", other)).look.months
    assert [pair for _, pairs in few for pair in pairs] == [("category", "very_small")]
    assert [pair for _, pairs in much for pair in pairs] == [("category", "large")]
