"""What must still go from a studio: nothing that came out of a tub is left out."""

from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from coop.actions.see_waste import (
    StudioWaste,
    Waiting,
    bath_tonight,
    rinse_sheet_count,
    rinse_tonight,
    see_evening,
    see_waste,
    takers,
    to_carry,
)
from coop.actions.sites import see_site
from coop.rules.packs.words import Outcome
from tests.support.opened import Opened, furnished, mixed, quantity, sized
from tests.support.queries import counted
from tests.support.wastes import permit, publish

STATEMENTS_MAX = 22


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A studio on a sewer, with a letter of its sewer board that somebody agreed to."""
    made = furnished(tmp_path)
    publish(made, "ropewalk-sewer")
    permit(made)
    return made


def see(house: Opened, studio: str = "") -> StudioWaste:
    with house.desk() as desk:
        state = desk.journal.state("studio", studio or house.made["studio"])  # type: ignore[arg-type]  # an id
        return see_waste(desk.journal, state, now=house.moment, demo=True)


def waits(house: Opened, sort: str, studio: str = "") -> list[Waiting]:
    return [one for one in see(house, studio).waiting if one.sort == sort]


def old_bath(house: Opened, name: str) -> str:
    bath = mixed(house, name=name)
    house.later(hours=1)
    house.say("bath.finished", bath=bath, reason="too_weak")
    return bath


def laid(house: Opened, count: int = 20) -> tuple[str, str]:
    """Lay so many sheets on a size; return the size and the stack."""
    bath, size = mixed(house), sized(house)
    stack = house.say("sheets.through", bath=bath, sheet_count=str(count),
                      sheet_format="half", method="dip", lot=house.made["parcel"])  # fmt: skip
    house.later(hours=20)
    house.say("sheets.through", size=size, stack=stack, sheet_count=str(count),
              sheet_format="half")  # fmt: skip
    return size, stack


def jar(house: Opened, studio: str = "", **changes: Any) -> str:
    body: dict[str, Any] = {
        "studio": studio or house.made["studio"],
        "name": "drum",
        "sort": "drum",
        "holds": quantity(60, "l"),
        "wastes": ["rinse_water"],
    }
    return house.say("waste.started", **(body | changes))


def rinsed(house: Opened) -> int:
    with house.desk() as desk:
        state = desk.journal.state("studio", house.made["studio"])  # type: ignore[arg-type]  # an id
        site = see_site(desk.journal, state, now=house.moment, demo=True)
        return rinse_sheet_count(desk.journal, site)


def test_an_old_bath_waits_until_somebody_says_where_it_went(house: Opened) -> None:
    bath = old_bath(house, "R-A1")
    (one,) = waits(house, "bath")
    assert (one.id, one.waste, one.vessel) == (bath, "alum_bath", "big tub")
    assert one.outcome is Outcome.MEASURE_FIRST
    assert one.volume_ml == pytest.approx(12_000, rel=0.02)

    house.say("disposal.done", studio=house.made["studio"], waste="alum_bath",
              outlet="not_known", bath=bath)  # fmt: skip
    assert waits(house, "bath") == []


def test_the_oldest_comes_first(house: Opened) -> None:
    first = old_bath(house, "R-A1")
    house.later(days=2)
    drum = jar(house)
    house.say("waste.added", studio=house.made["studio"], jar=drum, waste="rinse_water",
              litres=quantity(5, "l"))  # fmt: skip
    house.later(days=2)
    last = old_bath(house, "R-A2")

    assert [one.id for one in see(house).waiting] == [first, drum, last]


def test_what_is_used_up_or_in_use_does_not_wait(house: Opened) -> None:
    mixed(house)
    done = sized(house)
    house.say("bath.finished", bath=done, reason="used_up")
    jar(house)

    assert see(house).waiting == ()


def test_a_jug_that_nobody_knows_stays_in_a_jar(house: Opened) -> None:
    """Incident C: it is on the list, closed, and no drain is asked to take it."""
    jug = house.say("jug.found", studio=house.made["studio"], where="shelf",
                    litres=quantity(2, "l"), look="clear")  # fmt: skip
    (one,) = waits(house, "jug")
    assert (one.id, one.waste) == (jug, "not_known")
    assert one.outcome.rank >= Outcome.KEEP_IN_JAR.rank


def test_a_studio_without_a_drain_pours_nothing(house: Opened) -> None:
    barn = house.say("studio.described", name="Barn", letter="B", drain="none",
                     emergency="112", poison="0555 0100")  # fmt: skip
    drum = jar(house, barn)
    house.say("waste.added", studio=barn, jar=drum, waste="rinse_water",
              litres=quantity(5, "l"))  # fmt: skip
    (one,) = waits(house, "jar", barn)

    assert (one.outcome, one.decision) == (Outcome.NOT_DOWN_HERE, None)


# ---- rinse water


def test_every_sheet_laid_today_is_rinse_water(house: Opened) -> None:
    """A litre and a half for each; what somebody said of it is taken off."""
    laid(house, 20)
    (one,) = waits(house, "rinse")
    assert (one.sheet_count, one.volume_ml) == (20, 30_000)

    house.say("disposal.done", studio=house.made["studio"], waste="rinse_water",
              outlet="sewer", sheet_count="12")  # fmt: skip
    assert rinsed(house) == 8
    house.say("disposal.done", studio=house.made["studio"], waste="rinse_water",
              outlet="sewer", litres=quantity("12", "l"))  # fmt: skip
    assert rinsed(house) == 0
    assert waits(house, "rinse") == []


def rinse(house: Opened, litres: int) -> str:
    """Fill a tub to rinse in."""
    tub = house.say("vessel.described", studio=house.made["studio"], name="rinse tub",
                    brim=quantity(20, "l"), lidded="no", place="8")  # fmt: skip
    return house.say("bath.mixed", studio=house.made["studio"], what="rinse", vessel=tub,
                     name="R-W1", water=quantity(litres, "l"))  # fmt: skip


def test_a_rinse_that_left_today_is_the_water_of_todays_sheets(house: Opened) -> None:
    """Or its water would go twice: once down the drain, once on the list."""
    bath = rinse(house, 15)
    laid(house, 12)
    assert rinsed(house) == 12

    house.say("disposal.done", studio=house.made["studio"], waste="rinse_water",
              outlet="sewer", bath=bath)  # fmt: skip

    assert rinsed(house) == 2, "10 sheets of 1.5 L left with it"


def test_a_rinse_of_yesterday_is_not_the_water_of_todays_sheets(house: Opened) -> None:
    bath = rinse(house, 15)
    house.say("bath.finished", bath=bath, reason="too_weak")
    laid(house, 12)

    house.say("disposal.done", studio=house.made["studio"], waste="rinse_water",
              outlet="sewer", bath=bath)  # fmt: skip

    assert rinsed(house) == 12


def test_what_went_after_midnight_counts_for_the_new_day(house: Opened) -> None:
    """By the studio's clock: 22:20 in UTC is 00:20 of the next day there."""
    house.moment = datetime(2025, 9, 17, 3, 0, tzinfo=UTC)
    laid(house, 20)  # laid 20 hours later
    house.moment = datetime(2025, 9, 17, 22, 20, tzinfo=UTC)
    house.say("disposal.done", studio=house.made["studio"], waste="rinse_water",
              outlet="sewer", sheet_count="12", at=house.moment)  # fmt: skip

    berlin = timezone(timedelta(hours=2))
    with house.desk() as desk:
        state = desk.journal.state("studio", house.made["studio"])  # type: ignore[arg-type]  # an id
        now = datetime(2025, 9, 17, 23, 30, tzinfo=UTC).astimezone(berlin)
        site = see_site(desk.journal, state, now=now, demo=True)
        assert rinse_sheet_count(desk.journal, site) == 8


def test_a_jar_that_was_taken_away_and_filled_by_a_late_line_is_listed(house: Opened) -> None:
    """It stands nowhere else: somebody has to say which of the two lines is wrong."""
    drum = jar(house)
    house.say("waste.added", studio=house.made["studio"], jar=drum, waste="rinse_water",
              litres=quantity(10, "l"))  # fmt: skip
    fetched_at = house.later(hours=1)
    house.later(hours=1)
    house.say("waste.added", studio=house.made["studio"], jar=drum, waste="rinse_water",
              litres=quantity(12, "l"))  # fmt: skip
    house.say("waste.collected", studio=house.made["studio"], jar=drum, by="truck",
              jar_gone="yes", at=fetched_at)  # fmt: skip

    (one,) = waits(house, "jar")
    assert (one.id, one.volume_ml, one.taken_away) == (drum, 12_000, True)
    assert to_carry(see(house)) == (), "it is not here"


def test_sheets_sorted_without_having_been_laid_were_rinsed_too(house: Opened) -> None:
    """Some write down only how they came out; the stack is off the list by then."""
    bath = mixed(house)
    stack = house.say("sheets.through", bath=bath, sheet_count="20", sheet_format="half",
                      method="dip", lot=house.made["parcel"])  # fmt: skip
    house.later(hours=20)
    house.say("sheets.sorted", stack=stack, good="17", patch="3")

    assert rinsed(house) == 20


def test_sheets_laid_yesterday_and_sorted_today_are_yesterdays_water(house: Opened) -> None:
    _, stack = laid(house, 20)
    house.later(days=1)
    assert rinsed(house) == 0
    house.say("sheets.sorted", stack=stack, good="20")
    assert rinsed(house) == 0


# ---- floc


def test_floc_waits_until_it_went_somewhere(house: Opened) -> None:
    """It is weighed by itself, so the bath is gone before it."""
    bath = old_bath(house, "R-A1")
    house.say("disposal.treated", studio=house.made["studio"], bath=bath, step="strained",
              weight=quantity(400, "g"))  # fmt: skip
    (one,) = waits(house, "floc")
    assert (one.id, one.name, one.weight_g) == (bath, "R-A1", 400)

    house.later(hours=1)
    house.say("disposal.done", studio=house.made["studio"], waste="floc", outlet="bin",
              bath=bath, weight=quantity(400, "g"))  # fmt: skip
    assert waits(house, "floc") == []


def test_floc_of_which_nobody_said_whence_is_the_oldest(house: Opened) -> None:
    """It is put into the bin by weight, and not always by the name of its bath."""
    for name in ("R-A1", "R-A2"):
        bath = old_bath(house, name)
        house.say("disposal.treated", studio=house.made["studio"], bath=bath,
                  step="strained", weight=quantity(400, "g"))  # fmt: skip
    house.later(hours=1)
    house.say("disposal.done", studio=house.made["studio"], waste="floc", outlet="bin",
              weight=quantity(400, "g"))  # fmt: skip

    assert [one.name for one in waits(house, "floc")] == ["R-A2"]


# ---- the end of the day


def test_a_size_that_is_finished_goes_by_rule(house: Opened) -> None:
    size, _ = laid(house, 20)
    with house.desk() as desk:
        state = desk.journal.state("studio", house.made["studio"])  # type: ignore[arg-type]  # an id
        site = see_site(desk.journal, state, now=house.moment, demo=True)
        found = {one.waste: one for one in see_evening(desk.journal, site)}

    assert set(found) == {"size", "rinse_water"}
    assert found["size"].bath is not None
    assert found["size"].bath.id == size
    assert found["size"].goes
    assert found["size"].outcome is Outcome.AFTER_STEPS
    assert found["size"].steps == ("strain_through_cloth", "thin_until_it_runs")
    assert found["rinse_water"].goes
    assert found["rinse_water"].steps == ("strain_through_cloth",)


def test_nothing_goes_in_one_tap_where_nobody_was_asked(tmp_path: Path) -> None:
    house = furnished(tmp_path)
    publish(house, "ropewalk-sewer")
    size = sized(house)
    with house.desk() as desk:
        state = desk.journal.state("studio", house.made["studio"])  # type: ignore[arg-type]  # an id
        site = see_site(desk.journal, state, now=house.moment, demo=True)
        bath = desk.journal.state("bath", size)  # type: ignore[arg-type]  # an id
        one = bath_tonight(desk.journal, site, bath)

    assert one.outcome is Outcome.ASK_FIRST
    assert not one.goes


def test_rinse_water_goes_into_the_drum_where_that_is_the_custom(house: Opened) -> None:
    """Into the one with the most room."""
    barn = house.say("studio.described", name="Barn", letter="B", drain="septic",
                     rinse_way="jar", emergency="112", poison="0555 0100")  # fmt: skip
    jar(house, barn, name="small", holds=quantity(20, "l"))
    drum = jar(house, barn)
    with house.desk() as desk:
        state = desk.journal.state("studio", barn)  # type: ignore[arg-type]  # an id
        site = see_site(desk.journal, state, now=house.moment, demo=True)
        one = rinse_tonight(desk.journal, site, 10)
        assert rinse_tonight(desk.journal, site, 41).jar is None, "60 L hold 40 sheets"

    assert one.jar is not None
    assert one.jar.id == drum
    assert not one.goes


# ---- carried elsewhere


def test_all_of_a_septic_studio_is_carried_to_a_sewer_with_rules(house: Opened) -> None:
    barn = house.say("studio.described", name="Barn", letter="B", drain="septic",
                     emergency="112", poison="0555 0100")  # fmt: skip
    house.say("studio.described", name="Annex", letter="X", drain="sewer",
              emergency="112", poison="0555 0100")  # fmt: skip
    drum = jar(house, barn)
    house.say("waste.added", studio=barn, jar=drum, waste="rinse_water",
              litres=quantity(5, "l"))  # fmt: skip
    seen = see(house, barn)

    (one,) = to_carry(seen)
    assert one.id == drum
    assert one.by == date(2025, 9, 17) + timedelta(days=7), "old rinse water smells"
    with house.desk() as desk:
        assert [each.name for each in takers(desk.journal, seen.studio)] == ["Ropewalk"]


def test_what_may_still_be_treated_is_not_carried_from_a_sewer(house: Opened) -> None:
    bath = old_bath(house, "R-A1")
    house.say("reading.taken", bath=bath, instrument="ph_strip", ph="3.5", step="0.5")

    seen = see(house)
    assert [one.outcome for one in seen.waiting] == [Outcome.NOT_YET]
    assert to_carry(seen) == ()


def test_a_long_list_asks_no_more_than_a_short_one(house: Opened) -> None:
    """The rules, the baths and the tubs around them are each read once."""
    tub = house.made["tub"]
    counts = []
    for n in range(3):
        house.made["tub"] = house.say("vessel.described", studio=house.made["studio"],
                                      name=f"tub {n}", brim=quantity(16, "l"), lidded="yes",
                                      place=str(10 + n))  # fmt: skip
        old_bath(house, f"R-A{n}")
        with counted(house.store) as asked:
            assert len(waits(house, "bath")) == n + 1
        counts.append(len(asked))
    house.made["tub"] = tub

    assert counts[0] <= STATEMENTS_MAX
    assert counts[2] == counts[1] == counts[0]
