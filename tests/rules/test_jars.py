"""A waste jar: its three days, and the clocks and labels that come from packs alone."""

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.rules.jars import (
    MONTHS_MAX,
    NEEDS,
    JarFacts,
    JarLook,
    look,
)
from coop.rules.packs import words
from coop.rules.packs.facts import Facts, Start, Tally
from tests.rules.packs.at_hand import FLOOR, NOW, ROPEWALK, TODAY, WASTE, bath, pack, ph

AREA = ("us", "somewhere")
SITE = replace(
    bath(ph("1"), area=AREA), stated=(("premises", ("business",)), ("metal_pigments", ("no",)))
)
"""A site whose jars hold what is of pH 1: corrosive, 40 CFR 261.22(a)(1)."""
JAR = JarFacts(
    wastes=("colour_rinse",),
    contents=("acid",),
    tags=("corrosive",),
    volume_ml=Fraction(4_000),
    holds_ml=Fraction(20_000),
    started_on=TODAY - timedelta(days=30),
    first_drop_on=TODAY - timedelta(days=20),
    shown=("name", "hazard", "hazardous_waste", "started_on"),
    area="central",
)


def made(kg: str, on: date = TODAY) -> Tally:
    mass = Fraction(kg) * 1000
    return Tally(what="hazardous_made", waste="colour_rinse", on=on, mass_g=mass)


def seen(jar: JarFacts = JAR, *packs, site: Facts = SITE) -> JarLook:
    return look(packs, jar, site, today=TODAY, now=NOW, demo=True)


def clocks(found: JarLook) -> dict[str, date]:
    return {one.rule.rule: one.due_on for one in found.clocks}


def test_without_a_pack_a_jar_has_its_days_and_nothing_more():
    """No clock, category or word of a label is invented where nobody asks for one."""
    found = seen()

    assert (found.clocks, found.labels, found.months, found.asked) == ((), (), (), ())
    assert (found.due_on, found.days_left, found.duties, found.needs) == (None, None, (), ())


def test_the_day_it_is_collected_by_counts_without_a_pack_too():
    found = seen(replace(JAR, collect_by=TODAY + timedelta(days=14)))

    assert (found.days_left, found.warn_on, found.needs) == (14, TODAY, ("jar-due-soon",))
    later = seen(replace(JAR, collect_by=TODAY + timedelta(days=15)))
    assert (later.days_left, later.needs) == (15, ())


@pytest.mark.parametrize(
    ("more", "needs"),
    [
        ({"collect_by": TODAY}, ("jar-due-soon",)),
        ({"collect_by": TODAY - timedelta(days=1)}, ("jar-overdue",)),
        ({"volume_ml": Fraction(16_000)}, ("jar-full-soon",)),
        ({"volume_ml": Fraction(15_999)}, ()),
        ({"volume_ml": Fraction(16_000), "holds_ml": None}, ()),
        ({"full_on": TODAY}, ("jar-full-soon",)),
        ({"full_by": TODAY + timedelta(days=14)}, ("jar-full-soon",)),
        ({"full_by": TODAY + timedelta(days=15)}, ()),
        ({"first_drop_on": None}, ("jar-not-started",)),
        ({"shown": ()}, ("jar-no-label",)),
        ({"contents": ("bleach", "alum")}, ("jar-must-not-meet",)),
    ],
)
def test_what_a_jar_needs_a_person_for(more, needs):
    """Bleach and an acid salt give chlorine: common practice, no source."""
    assert seen(replace(JAR, **more)).needs == needs


def test_an_empty_jar_needs_no_label_and_no_start():
    empty = JarFacts(wastes=("paste",), started_on=TODAY, volume_ml=Fraction(0), contents=())

    assert seen(empty).needs == ()


@pytest.mark.parametrize("day", [TODAY - timedelta(days=9), TODAY])
def test_an_empty_jar_is_due_on_no_day(day: date):
    """What is handed over is what is in it."""
    empty = JarFacts(
        wastes=("paste",), started_on=TODAY, volume_ml=Fraction(0), contents=(),
        mass_g=Fraction(0), collect_by=day, full_by=day,
    )  # fmt: skip
    found = seen(empty)

    assert (found.due_on, found.days_left, found.needs) == (None, None, ())
    assert seen(replace(empty, volume_ml=Fraction(1))).due_on == day


def test_what_is_worst_stands_first():
    worst = replace(
        JAR,
        contents=("bleach", "vinegar"),
        collect_by=TODAY - timedelta(days=1),
        first_drop_on=None,
        shown=(),
        full_on=TODAY,
    )

    assert seen(worst).needs == tuple(one for one in NEEDS if one != "jar-due-soon")


def test_a_clock_runs_from_the_first_drop_under_the_months_category():
    """40 CFR 262.16(b), recalled: 180 days in a central area for the small category."""
    found = seen(JAR, FLOOR, WASTE, site=replace(SITE, tallies=(made("101"),)))

    assert clocks(found) == {"central-small": date(2027, 5, 6)}
    assert found.clocks[0].rule.started_on == JAR.first_drop_on
    assert (found.due_on, found.days_left) == (date(2027, 5, 6), 160)
    assert found.warn_on == date(2027, 5, 6) - timedelta(days=30)
    assert found.months == ((date(2026, 11, 1), (("category", "small"),)),)


@pytest.mark.parametrize(
    ("days_ago", "days_left", "need"),
    [
        (149, 31, None),
        (150, 30, "jar-due-soon"),
        (180, 0, "jar-due-soon"),
        (181, -1, "jar-overdue"),
    ],
)
def test_a_clock_warns_before_it_is_over(days_ago, days_left, need):
    jar = replace(JAR, first_drop_on=TODAY - timedelta(days=days_ago))
    found = seen(jar, WASTE, site=replace(SITE, tallies=(made("101"),)))

    assert found.days_left == days_left
    assert [one for one in found.needs if one in ("jar-due-soon", "jar-overdue")] == (
        [need] if need else []
    )


def test_a_clock_of_a_month_before_goes_on_when_the_category_drops():
    """Old stock stays under its old clock until shipped: Washington State, generator status."""
    jar = replace(JAR, first_drop_on=date(2026, 10, 5))
    site = replace(SITE, tallies=(made("200", date(2026, 10, 6)),))
    found = seen(jar, WASTE, site=site)

    assert found.months == (
        (date(2026, 10, 1), (("category", "small"),)),
        (date(2026, 11, 1), (("category", "very_small"),)),
    )
    assert clocks(found) == {"central-small": date(2027, 4, 3)}
    new = seen(replace(jar, first_drop_on=date(2026, 11, 2)), WASTE, site=site)
    assert clocks(new) == {}


def test_a_satellite_jar_has_a_clock_once_55_us_gallons_are_passed():
    """40 CFR 262.15(a)(6): three calendar days from then, no day limit before."""
    jar = replace(JAR, area="satellite")
    before = seen(jar, WASTE)
    after = seen(replace(jar, over_55_us_gallons_on=TODAY - timedelta(days=1)), WASTE)

    assert clocks(before) == {}
    assert {(one.rule, one.why) for one in before.waiting} == {
        ("satellite-over-55-us-gallons", "not-started"),
        ("very-small-over-1000-kg", "not-started"),
    }
    assert clocks(after) == {"satellite-over-55-us-gallons": TODAY + timedelta(days=2)}
    assert after.needs == ()


def test_the_site_as_a_whole_can_start_a_clock():
    """40 CFR 262.14(a)(4): 180 days from the day 1,000 kg are reached."""
    start = Start(event="over_1000_kg", on=TODAY - timedelta(days=10))
    found = seen(JAR, WASTE, site=replace(SITE, starts=(start,)))

    assert clocks(found) == {"very-small-over-1000-kg": TODAY + timedelta(days=170)}


def test_a_jar_full_can_start_a_clock():
    full = pack(
        'id = "full"\nkind = "CLOCK"\noutlets = ["jar"]\nstarts = "full"\ndays = 10\n'
        "first_day_counts = true\nwarn_days = 2"
    )
    found = seen(replace(JAR, full_on=TODAY), full)

    assert clocks(found) == {"full": TODAY + timedelta(days=9)}


def test_a_label_shows_what_every_rule_asks():
    """40 CFR 262.16(b)(6) and 29 CFR 1910.1200(f)(6): both, with the day it was started."""
    site = replace(SITE, tallies=(made("101"),))
    found = seen(replace(JAR, shown=("name",)), FLOOR, WASTE, site=site)

    assert {one.rule for one in found.labels} == {"label-central", "label-at-work"}
    assert found.asked == ("name", "hazard", "hazardous_waste", "started_on")
    assert found.missing == ("hazard", "hazardous_waste", "started_on")
    assert {"label", "date_it"} <= set(found.duties)
    assert "jar-no-label" in found.needs
    whole = seen(JAR, FLOOR, WASTE, site=site)
    assert (whole.asked, whole.missing) == (found.asked, ())
    assert "jar-no-label" not in whole.needs


def test_a_clock_that_asks_for_a_day_nobody_wrote_waits():
    site = replace(SITE, tallies=(made("101"),))
    found = seen(replace(JAR, first_drop_on=None), WASTE, site=site)

    assert [(one.rule, one.why) for one in found.waiting] == [
        ("central-small", "no-start-date")
    ]


def test_a_very_old_jar_is_looked_at_for_so_many_months_and_keeps_its_day():
    old = replace(JAR, started_on=date(2000, 1, 1), first_drop_on=date(2000, 1, 1))
    found = seen(old, WASTE, site=replace(SITE, tallies=(made("101"),)))

    assert len(found.months) == MONTHS_MAX
    assert clocks(found) == {"central-small": date(2000, 6, 29)}


def test_a_jar_of_several_wastes_gets_what_any_of_them_asks():
    rules = [
        f'id = "{waste.replace("_", "-")}"\nkind = "LABEL"\noutlets = ["jar"]\n'
        f'wastes = ["{waste}"]\nshows = ["{shown}"]'
        for waste, shown in (("size", "full_by"), ("paste", "studio"), ("floc", "contents"))
    ]
    found = seen(replace(JAR, wastes=("size", "paste")), pack(*rules))

    assert found.asked == ("full_by", "studio")


DAYS_AGO = st.none() | st.integers(0, 400).map(lambda days: TODAY - timedelta(days=days))
AHEAD = st.none() | st.integers(-20, 60).map(lambda days: TODAY + timedelta(days=days))
JARS = st.builds(
    JarFacts,
    wastes=st.lists(st.sampled_from(words.WASTES), min_size=1, max_size=2, unique=True).map(
        tuple
    ),
    contents=st.sampled_from([None, (), ("acid",), ("soda",)]),
    tags=st.sampled_from([None, (), ("corrosive",), ("flammable",)]),
    volume_ml=st.sampled_from([None, Fraction(0), Fraction(4_000), Fraction(19_000)]),
    mass_g=st.sampled_from([None, Fraction(4_000)]),
    holds_ml=st.sampled_from([None, Fraction(20_000)]),
    started_on=st.integers(0, 400).map(lambda days: TODAY - timedelta(days=days)),
    first_drop_on=DAYS_AGO,
    full_on=DAYS_AGO,
    over_55_us_gallons_on=DAYS_AGO,
    full_by=AHEAD,
    collect_by=AHEAD,
    shown=st.sampled_from([(), ("name",), ("name", "hazard"), words.SHOWN]),
    area=st.sampled_from(["", *words.FACTS["jar_area"]]),
)
SITES = st.lists(
    st.builds(made, st.sampled_from(["2", "101", "1001"]), st.dates(date(2026, 9, 1), TODAY)),
    max_size=3,
).map(lambda tallies: replace(SITE, tallies=tuple(tallies)))
ONE_DAY = pack(
    'id = "quick"\nkind = "CLOCK"\noutlets = ["jar"]\nstarts = "first_drop"\ndays = 30',
    'id = "told"\nkind = "LABEL"\noutlets = ["jar"]\nshows = ["studio"]',
    id="strict",
)
SOME = st.lists(st.sampled_from([FLOOR, WASTE, ROPEWALK, ONE_DAY]), max_size=3, unique=True)


@given(JARS, SITES, SOME, st.sampled_from([FLOOR, WASTE, ROPEWALK, ONE_DAY]))
def test_another_pack_never_gives_more_time_or_asks_for_less(jar, site, packs, more):
    before = seen(jar, *packs, site=site)
    after = seen(jar, *packs, more, site=site)

    assert (after.due_on or date.max) <= (before.due_on or date.max)
    assert set(before.asked) <= set(after.asked)
    assert set(before.duties) <= set(after.duties)
    assert set(before.needs) - {"jar-due-soon"} <= set(after.needs)


@given(JARS, SITES, SOME, st.randoms())
def test_the_order_of_packs_never_matters(jar, site, packs, chance):
    other = list(packs)
    chance.shuffle(other)

    assert seen(jar, *packs, site=site) == seen(jar, *other, site=site)
