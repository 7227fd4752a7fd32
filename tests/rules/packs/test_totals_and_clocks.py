"""Sums per site and month, what a late entry does to them, clocks, labels, what to keep."""

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import pytest

from coop.rules.packs.facts import Start, Tally
from tests.rules.packs.at_hand import TODAY, WASTE, bath, decided, pack, ph, said, stating

JAR = stating(bath(ph("1"), waste="colour_rinse", outlet="jar"), jar_area="central")


def made(kg: str, on: date = TODAY, what: str = "hazardous_made") -> Tally:
    return Tally(what=what, waste="colour_rinse", on=on, mass_g=Fraction(kg) * 1000)


@pytest.mark.parametrize(
    ("kg", "category"),
    [
        ("0", "very_small"),
        ("100", "very_small"),
        ("100.001", "small"),
        ("999.999", "small"),
        ("1000", "large"),
    ],
)
def test_a_site_is_of_the_category_of_its_month(kg, category):
    """40 CFR 262.13, recalled: up to 100 kg, under 1,000 kg, from 1,000 kg."""
    told = decided(replace(JAR, tallies=(made(kg),)), WASTE)

    assert [value for fact, value in told.classes if fact == "category"] == [category]


def test_a_kilogram_of_the_acute_kind_is_enough_for_the_largest():
    """40 CFR 262.14, recalled: over 1 kg of acute waste; the two are summed apart."""
    just = replace(JAR, tallies=(made("1", what="acute_made"),))
    over = replace(JAR, tallies=(made("1.001", what="acute_made"),))

    assert ("category", "large") not in decided(just, WASTE).classes
    assert ("category", "large") in decided(over, WASTE).classes


def test_a_late_entry_changes_the_month_and_what_follows_from_it():
    """
    Sums go by the day of making, so what is written down later still counts there.

    40 CFR 262.16(b), recalled: the smaller category has no clock, the next one 180 days.
    """
    first_drop = Start(event="first_drop", on=TODAY - timedelta(days=20))
    jar = replace(JAR, starts=(first_drop,), tallies=(made("60", date(2026, 11, 2)),))
    before = decided(jar, WASTE)
    late = replace(jar, tallies=(*jar.tallies, made("41", date(2026, 11, 3))))
    after = decided(late, WASTE)

    assert ("category", "very_small") in before.classes
    assert "central-small" not in {one.rule for one in before.spoken}
    assert ("category", "small") in after.classes
    assert said(after, "central-small").due_on == date(2027, 5, 6)
    assert "start_clock" in after.duties
    other_month = replace(jar, tallies=(*jar.tallies, made("41", date(2026, 10, 31))))
    assert ("category", "very_small") in decided(other_month, WASTE).classes


@pytest.mark.parametrize(
    ("known_kg", "category", "verdict"),
    [
        ("50", "very-small-quantity", "unknown"),
        ("500", "small-quantity", "unknown"),
        ("500", "very-small-quantity", "fails"),
        ("1000", "large-quantity", "holds"),
    ],
)
def test_a_weight_nobody_took_leaves_the_month_open_upwards(known_kg, category, verdict):
    """It may be anything more, and never less."""
    blank = Tally(what="hazardous_made", waste="paste", on=TODAY)
    told = decided(replace(JAR, tallies=(made(known_kg), blank)), WASTE)

    assert said(told, category).verdict == verdict


@pytest.mark.parametrize(("days", "verdict"), [(179, "holds"), (180, "holds"), (181, "fails")])
def test_a_clock_runs_from_the_oldest_first_drop(days, verdict):
    """What is put together keeps its oldest date: 40 CFR 262.16(b), recalled, 180 days."""
    starts = (
        Start(event="first_drop", on=TODAY - timedelta(days=days)),
        Start(event="first_drop", on=TODAY),
    )
    told = decided(replace(JAR, starts=starts, tallies=(made("200"),)), WASTE)

    assert said(told, "central-small").verdict == verdict


def test_a_clock_without_its_first_day_asks_for_it():
    told = decided(replace(JAR, tallies=(made("200"),)), WASTE)

    assert said(told, "central-small").why == "no-start-date"
    assert said(told, "central-small").outcome == "ask_first"
    assert "date_it" in told.duties


@pytest.mark.parametrize(("days", "verdict"), [(3, "holds"), (4, "fails")])
def test_three_days_past_55_gallons_are_days_of_the_calendar(days, verdict):
    """40 CFR 262.15(a)(6), read in an abstract of the agency: not working days."""
    passed = Start(event="over_55_us_gallons", on=TODAY - timedelta(days=days))
    told = decided(stating(replace(JAR, starts=(passed,)), jar_area="satellite"), WASTE)

    assert said(told, "satellite-over-55-us-gallons").verdict == verdict
    assert said(told, "satellite-over-55-us-gallons").due_on == passed.on + timedelta(days=3)


def test_a_clock_that_counts_its_first_day_is_due_a_day_earlier():
    rule = (
        'id = "clock"\nkind = "CLOCK"\noutlets = ["jar"]\nstarts = "first_drop"\ndays = 90\n'
        "first_day_counts = true\nwarn_days = 10"
    )
    started = Start(event="first_drop", on=date(2026, 9, 1))
    found = said(decided(replace(JAR, starts=(started,)), pack(rule)), "clock")

    assert found.due_on == date(2026, 11, 29)
    assert found.warn_on == date(2026, 11, 19)


def test_on_hand_goes_over_a_ton_with_conditions():
    """40 CFR 262.14(a)(4), read in a state text: at 1,000 kg and not only over it."""
    jar = replace(JAR, tallies=(made("999.999", what="hazardous_on_hand"),))
    full = replace(JAR, tallies=(made("1000", what="hazardous_on_hand"),))

    assert said(decided(jar, WASTE), "very-small-on-hand").verdict == "holds"
    assert said(decided(full, WASTE), "very-small-on-hand").verdict == "fails"


@pytest.mark.parametrize(
    ("kg", "outcome", "duties"), [("15", "holds", set()), ("15.001", "fails", {"notify"})]
)
def test_hazardous_waste_down_a_sewer_is_told_to_the_works(kg, outcome, duties):
    """40 CFR 403.12(p), read in a state text: over 15 kg in a calendar month."""
    poured = bath(ph("1"), tallies=(made(kg),))
    told = decided(poured, WASTE)

    assert said(told, "notice-of-hazardous-waste-poured").verdict == outcome
    assert set(told.duties) >= duties


def test_rolling_days_end_with_today():
    rule = (
        'id = "month"\nkind = "TOTAL"\noutlets = ["sewer"]\nquantity = "volume"\n'
        'holds_if = "under"\nhigh = 30\nunit = "l"\nsum_of = "poured"\n'
        'span = "rolling_days"\nspan_days = 30'
    )

    def total_ml(days_ago):
        poured = Tally(
            what="poured",
            waste="size",
            outlet="sewer",
            on=TODAY - timedelta(days=days_ago),
            volume_ml=Fraction(10_000),
        )
        return said(decided(bath(tallies=(poured,)), pack(rule)), "month").total

    assert [total_ml(days) for days in (0, 29, 30)] == [22_000, 22_000, 12_000]


def test_readings_of_a_sewer_user_are_kept_three_years():
    """40 CFR 403.12(o), read in city texts."""
    found = said(decided(bath(ph("7")), WASTE), "keep-readings")

    assert (found.keep_years, found.records) == (3, ("readings", "decisions"))
    assert found.duties == ("keep_record",)


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"counted": ("poured",)}, "not-counted"),
        ({"counted_since": TODAY.replace(day=2)}, "not-counted"),
        ({"counted_since": TODAY.replace(day=1)}, ""),
    ],
)
def test_a_sum_that_nobody_counted_is_not_known(more, why):
    """Nothing is found where nobody looked; a month is known if all of its days are."""
    told = decided(replace(JAR, **more), WASTE)

    assert said(told, "very-small-quantity").why == why
    assert (("category", "very_small") in told.classes) is (why == "")


def test_what_is_over_is_over_whatever_nobody_counted():
    told = decided(replace(JAR, tallies=(made("1000"),), counted=()), WASTE)

    assert ("category", "large") in told.classes
