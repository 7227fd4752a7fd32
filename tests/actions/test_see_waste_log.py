"""A studio's log of wastes: what moved, what was read of it, and what came in late."""

from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from coop.actions.late_waste import Changed, standing_of, what_changed
from coop.actions.see_needs import needs
from coop.actions.see_waste_log import LogLine, WasteLog, month_said, see_log
from coop.actions.sites import see_site
from coop.rules.months import Standing
from tests.support.opened import Opened, furnished, mixed, quantity
from tests.support.wastes import decision, permit, publish

BERLIN = ZoneInfo("Europe/Berlin")
SEPTEMBER, OCTOBER = date(2025, 9, 1), date(2025, 10, 1)


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    return furnished(tmp_path)


def seen(house: Opened, month: date) -> tuple[WasteLog, tuple[Changed, ...], Standing]:
    """Return a month's log with what late entries changed, and what the rules say of it."""
    with house.desk() as desk:
        studio = desk.journal.state("studio", house.made["studio"])  # type: ignore[arg-type]
        site = see_site(desk.journal, studio, now=house.moment.astimezone(BERLIN), demo=True)
        log = see_log(desk.journal, site, month)
        changed = what_changed(desk.journal, site, log)
        return log, changed, standing_of(desk.journal, site, log)


def lines(house: Opened, month: date = SEPTEMBER) -> tuple[LogLine, ...]:
    return seen(house, month)[0].lines


def pour(
    house: Opened, litres: object, waste: str = "alum_bath", at: datetime | None = None
) -> str:
    return house.say(
        "disposal.done",
        at=at,
        studio=house.made["studio"],
        waste=waste,
        outlet="sewer",
        litres=quantity(litres, "l"),
    )


def jar(house: Opened, **more: Any) -> str:
    said = {"name": "J-1", "sort": "jar", "wastes": ["colour_rinse"], **more}
    return house.say(
        "waste.started", studio=house.made["studio"], holds=quantity(200, "l"), **said
    )


def toxic(house: Opened, into: str, kg: int, at: datetime | None = None) -> str:
    return house.say(
        "waste.added",
        at=at,
        studio=house.made["studio"],
        jar=into,
        waste="colour_rinse",
        weight=quantity(kg, "kg"),
        hazardous="yes",
    )


def test_all_that_was_left_of_a_bath_is_told_in_litres_of_the_accounts(house: Opened) -> None:
    """Nobody typed a figure: what stood in the tub is what went, alum and all."""
    bath = mixed(house)
    house.later(hours=1)
    house.say(
        "disposal.done",
        studio=house.made["studio"],
        waste="alum_bath",
        outlet="sewer",
        bath=bath,
    )

    (line,) = lines(house)

    assert line.said.amount_ml is None
    assert line.volume_ml == pytest.approx(12_200, rel=0.01), "12 L of water, 480 g of alum"
    assert line.weight_g is None, "the alum in it was not weighed"


def test_a_neutralised_bath_is_told_with_its_ph_before_and_after(house: Opened) -> None:
    bath = mixed(house)
    studio = house.made["studio"]
    for ph, then in (("3.3", "soda"), ("7.0", "")):
        house.later(minutes=30)
        house.say("reading.taken", bath=bath, instrument="ph_strip", ph=ph, step="0.5")
        house.later(minutes=30)
        if then:
            for grams in (200, 55):
                house.later(minutes=1)
                house.say("disposal.treated", studio=studio, bath=bath, step="base_in",
                          base="crystals", weight=quantity(grams, "g"))  # fmt: skip
    house.later(minutes=1)
    house.say("disposal.done", studio=studio, waste="alum_bath", outlet="sewer", bath=bath,
              steps=["strain_through_cloth"])  # fmt: skip

    *treated, gone = lines(house)

    assert [one.said.weight_g for one in treated] == [200, 55]
    assert gone.before
    assert gone.after
    assert (gone.before.ph, gone.after.ph, gone.after.step) == ("3.3", "7", "0.5")
    assert gone.bases == (("crystals", 255.0),)
    assert gone.said.steps == ("strain_through_cloth",)


def test_eight_litres_of_a_bath_are_eight_litres_in_the_log_and_for_the_drain(
    house: Opened,
) -> None:
    """The accounts hold water and alum apart; a letter's litres are those of a jug."""
    bath = mixed(house)
    house.later(hours=1)
    house.say("disposal.done", studio=house.made["studio"], waste="alum_bath",
              outlet="sewer", bath=bath, litres=quantity(8, "l"))  # fmt: skip

    (line,) = lines(house)
    (tally,) = decision(house, waste="alum_bath").facts.tallies

    assert line.volume_ml == 8_000
    assert tally.volume_ml == Fraction(8_000)


def test_a_spill_counts_and_a_mishap_down_a_drain_counts_there(house: Opened) -> None:
    studio = house.made["studio"]
    drains: tuple[dict[str, Any], ...] = ({}, {"outlet": "sewer"})
    for outlet in drains:
        house.later(minutes=5)
        house.say("mishap.noted", "kahu", studio=studio, what="spill", waste="alum_bath",
                  litres=quantity(3, "l"), **outlet)  # fmt: skip

    log, _, _ = seen(house, SEPTEMBER)

    assert log.spilled_ml == 3_000
    assert [(one.outlet, one.waste, one.sum.volume_ml) for one in log.totals.poured] == [
        ("sewer", "alum_bath", Fraction(3_000))
    ]


def test_what_is_carried_stands_in_both_logs_and_is_poured_in_neither(house: Opened) -> None:
    barn = house.say("studio.described", name="Barn", letter="B", drain="septic",
                     instruments=["scale"], emergency="112", poison="0555 0100")  # fmt: skip
    bath = mixed(house)
    house.later(minutes=5)
    house.say("waste.carried", bath=bath, from_studio=house.made["studio"], studio=barn,
              carried_in="blue can")  # fmt: skip

    (out,) = lines(house)
    house.made["studio"] = barn
    there, _, _ = seen(house, SEPTEMBER)

    assert (out.came_in, out.said.to) == (False, "blue can")
    assert [one.came_in for one in there.lines] == [True]
    assert there.lines[0].volume_ml == pytest.approx(12_000, rel=0.03)
    assert there.totals.poured == ()


def test_a_handover_is_told_with_who_took_it_and_its_paper(house: Opened) -> None:
    studio, can = house.made["studio"], jar(house)
    house.say("waste.added", studio=studio, jar=can, waste="colour_rinse",
              litres=quantity(18, "l"))  # fmt: skip
    house.later(days=3)
    house.say("waste.collected", studio=studio, jar=can, by="Tern Haulage (invented)",
              to="the works at Saltmarsh", reference="W-17")  # fmt: skip

    log, _, _ = seen(house, SEPTEMBER)

    assert log.collected_ml == 18_000
    assert log.lines[-1].volume_ml == 18_000
    assert (log.lines[-1].said.who, log.lines[-1].said.reference) == (
        "Tern Haulage (invented)",
        "W-17",
    )
    assert log.totals.poured == (), "what was fetched went down no drain"


def test_a_cup_has_its_litres_when_it_is_kept_back_and_when_it_is_poured_back(
    house: Opened,
) -> None:
    """It never left, so no account counts it: what was kept back is what goes back."""
    bath, studio = mixed(house), house.made["studio"]
    steps: tuple[tuple[str, dict[str, Any]], ...] = (
        ("kept_back", {"litres": quantity("0.25", "l")}),
        ("cup_back", {}),
    )
    for step, more in steps:
        house.later(minutes=5)
        house.say("disposal.treated", studio=studio, bath=bath, step=step, **more)

    log, _, _ = seen(house, SEPTEMBER)

    assert [one.volume_ml for one in log.lines] == [250, 250]
    assert log.totals.poured == ()


def test_what_was_weighed_and_fetched_stands_in_the_total_of_the_month(house: Opened) -> None:
    """Floc is solid: nobody measures its litres, and yet it went."""
    studio, bucket = house.made["studio"], jar(house, wastes=["floc"])
    for grams in (1500, 610):
        house.later(minutes=5)
        house.say("waste.added", studio=studio, jar=bucket, waste="floc",
                  weight=quantity(grams, "g"))  # fmt: skip
    house.later(days=1)
    house.say("waste.collected", studio=studio, jar=bucket, by="Tern (invented)")

    log, _, _ = seen(house, SEPTEMBER)

    assert (log.collected_g, log.collected_ml) == (2110, 0)
    assert log.lines[-1].weight_g == 2110


def test_an_empty_drum_that_goes_home_is_no_line_and_a_bucket_of_solids_is(
    house: Opened,
) -> None:
    """A log of wastes tells of waste; what a bucket holds is told as it was weighed."""
    barn = house.say("studio.described", name="Barn", letter="B", drain="septic",
                     instruments=["scale"], emergency="112", poison="0555 0100")  # fmt: skip
    empty, bucket = jar(house), jar(house, name="J-2", wastes=["floc"])
    house.say("waste.added", studio=house.made["studio"], jar=bucket, waste="floc",
              weight=quantity(800, "g"))  # fmt: skip
    house.later(minutes=5)
    for one in (empty, bucket):
        house.say("waste.carried", jar=one, from_studio=house.made["studio"], studio=barn,
                  carried_in="itself")  # fmt: skip

    _, carried = lines(house)

    assert (carried.said.jar, carried.weight_g) == (bucket, 800)


def test_an_entry_of_the_same_day_is_not_late(house: Opened) -> None:
    pour(house, 2, at=house.moment - timedelta(hours=3))

    log, changed, _ = seen(house, SEPTEMBER)

    assert [one.late_on for one in log.lines] == [None]
    assert changed == ()


def test_a_late_pour_takes_its_day_over_the_line_of_the_letter(house: Opened) -> None:
    """Of spent alum solution at most 20 L a day, the invented letter says."""
    publish(house, "ropewalk-sewer")
    permit(house)
    then = house.moment
    pour(house, 12)
    house.later(days=2)
    pour(house, 9, at=then)

    log, (day,), _ = seen(house, SEPTEMBER)

    assert [one.late_on for one in log.lines] == [None, date(2025, 9, 19)]
    assert day.day == date(2025, 9, 17)
    before, after = day.follows.total_before, day.follows.total_after
    assert (before.poured[0].sum.volume_ml, after.poured[0].sum.volume_ml) == (
        Fraction(12_000),
        Fraction(21_000),
    )
    assert [(one.rule, str(one.verdict)) for one in day.follows.newly] == [
        ("alum-a-day", "fails")
    ]


def test_a_late_entry_of_last_month_raises_its_category_and_names_duties(
    house: Opened,
) -> None:
    """40 CFR 262.13 and 262.16, recalled: over 100 kg a month is of the small category."""
    in_the_states(house)
    can = jar(house, area="central")
    house.say("reading.taken", jar=can, instrument="ph_strip", ph="1.0", step="0.5")
    toxic(house, can, 60)
    then = house.moment
    house.moment = datetime(2025, 10, 6, 8, 0, tzinfo=UTC)
    assert seen(house, SEPTEMBER)[1] == ()
    toxic(house, can, 41, at=then + timedelta(hours=1))
    house.say("reading.taken", jar=can, instrument="ph_strip", ph="1.0", step="0.5")

    _, changed, standing = seen(house, SEPTEMBER)

    month = changed[0]
    assert month.day is None
    assert month.follows.total_before.hazardous_made.mass_g == 60_000
    assert month.follows.total_after.hazardous_made.mass_g == 101_000
    assert ("category", "very_small") in month.follows.before.categories
    assert ("category", "small") in month.follows.after.categories
    assert {"label", "date_it", "start_clock"} <= set(month.follows.duties)
    assert standing == month.follows.after


def in_the_states(house: Opened) -> None:
    house.say("studio.described", studio=house.made["studio"],
              supersedes=house.state("studio", house.made["studio"]).edition,
              name="Ropewalk", letter="R", drain="sewer", instruments=["scale"],
              emergency="112", poison="0555 0100", country="us")  # fmt: skip
    publish(house, "us-federal-waste")


def test_what_a_month_was_known_to_be_is_kept_when_a_litre_is_put_right(
    house: Opened,
) -> None:
    """A correction of an old line is late as well: 2 L were 20 L all along."""
    line = pour(house, 2)
    house.moment = datetime(2025, 10, 6, 8, 0, tzinfo=UTC)
    with house.desk() as desk:
        (first,) = desk.journal.by_id(line)  # type: ignore[arg-type]  # an id
    house.say("entry.corrected", target=line, outcome="replace", reason="typing_slip",
              content={"author": first.entry.author,
                       "happened_at": first.entry.happened_at.isoformat(),
                       "body": {"studio": house.made["studio"], "waste": "alum_bath",
                                "outlet": "sewer", "litres": quantity(20, "l")}})  # fmt: skip

    log, (month, day), _ = seen(house, SEPTEMBER)

    assert log.lines[0].put_right
    assert log.lines[0].late_on == date(2025, 10, 6)
    for one in (month, day):
        assert one.follows.total_before.poured[0].sum.volume_ml == 2_000
        assert one.follows.total_after.poured[0].sum.volume_ml == 20_000


def test_a_month_is_written_with_its_year() -> None:
    today = date(2025, 10, 6)

    assert month_said("2025-09", today) == SEPTEMBER
    assert month_said("", today) == OCTOBER
    assert [month_said(one, today) for one in ("2025-11", "1999-01", "9", "2025-13")] == [
        None
    ] * 4


def test_a_changed_total_of_last_month_is_told_to_those_who_answer_for_wastes(
    house: Opened,
) -> None:
    """Coordinator and safety officer; until it is put off, or the next month is over."""
    then = house.moment
    pour(house, 12)
    house.moment = datetime(2025, 10, 6, 8, 0, tzinfo=UTC)
    assert told_late(house, "amina") == []
    pour(house, 9, at=then)

    assert told_late(house, "amina") == told_late(house, "oluwaseun")
    (about,) = told_late(house, "amina")
    assert about == house.made["studio"]
    assert told_late(house, "kahu") == []

    house.say("need.put_off", need="waste-late", about=about, until="2025-10-31",
              reason="asked_somebody")  # fmt: skip
    assert told_late(house, "amina") == []


def told_late(house: Opened, first: str) -> list[str]:
    who = house.members[first]
    with house.desk() as desk:
        found = needs(desk.journal, who.member, who.roles, now=house.moment)
    return [one.about for one in found if one.code == "waste-late"]
