"""A site's month: its sums, its category where a pack asks, and what a late entry changes."""

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.rules.months import Standing, Sum, follows, last_day, standing, totals
from coop.rules.packs.facts import Facts, Start, Tally
from tests.rules.packs.at_hand import (
    FLOOR,
    NOW,
    ROPEWALK,
    TODAY,
    WASTE,
    bath,
    pack,
    ph,
    stating,
)

SITE = replace(
    stating(bath(ph("1"), waste="colour_rinse", outlet="jar"), jar_area="central"),
    starts=(Start(event="first_drop", on=date(2026, 10, 5)),),
)
NOVEMBER, OCTOBER = date(2026, 11, 1), date(2026, 10, 1)


def made(kg: str | None, on: date = TODAY, what: str = "hazardous_made") -> Tally:
    mass = None if kg is None else Fraction(kg) * 1000
    return Tally(what=what, waste="colour_rinse", on=on, mass_g=mass)


def poured(litres: int | None, on: date, waste: str = "size", outlet: str = "sewer") -> Tally:
    volume = None if litres is None else Fraction(litres) * 1000
    return Tally(what="poured", waste=waste, outlet=outlet, on=on, volume_ml=volume)


def told(*late: Tally, before: tuple[Tally, ...] = (), packs=(FLOOR, WASTE), site=SITE):
    here = replace(site, tallies=before)
    return follows(packs, here, late, today=TODAY, now=NOW, demo=True)


def stands(tallies, *, packs=(FLOOR, WASTE), month: date = NOVEMBER) -> Standing:
    here = replace(SITE, tallies=tuple(tallies))
    return standing(packs, here, month=month, today=TODAY, now=NOW, demo=True)


def test_sums_are_kept_apart_by_outlet_waste_and_kind():
    """Acute and other hazardous waste are counted apart, and so is what only lies there."""
    month = totals(
        [
            poured(9, date(2026, 11, 2)),
            poured(8, date(2026, 11, 30)),
            poured(None, date(2026, 11, 3)),
            poured(5, date(2026, 11, 3), outlet="septic"),
            poured(7, date(2026, 12, 1)),
            made("2", date(2026, 11, 1)),
            made("0.5", what="acute_made"),
            made("3", date(2026, 9, 1), what="hazardous_on_hand"),
        ],
        date(2026, 11, 15),
    )

    assert [(one.outlet, one.waste, one.sum.volume_ml) for one in month.poured] == [
        ("septic", "size", Fraction(5_000)),
        ("sewer", "size", Fraction(17_000)),
    ]
    assert month.poured[1].sum.no_volume == 1
    assert [one.mass_g for one in (month.hazardous_made, month.acute_made, month.on_hand)] == [
        2_000,
        500,
        3_000,
    ]


def test_nothing_written_is_nothing_summed():
    month = totals([], NOVEMBER)

    assert (month.poured, month.hazardous_made) == ((), Sum())


@pytest.mark.parametrize(
    ("day", "last"),
    [((2026, 11, 1), 30), ((2026, 12, 31), 31), ((2028, 2, 29), 29), ((2100, 2, 1), 28)],
)
def test_a_month_ends_as_in_the_calendar(day, last):
    """2100 is no leap year: the Gregorian rule."""
    assert last_day(date(*day)).day == last


def test_a_late_entry_changes_the_month_its_category_and_what_follows():
    """40 CFR 262.13 and 262.16, recalled: over 100 kg the month is of the small category."""
    (one,) = told(made("41", date(2026, 10, 20)), before=(made("60", date(2026, 10, 2)),))

    assert one.month == OCTOBER
    assert one.total_before.hazardous_made.mass_g == 60_000
    assert one.total_after.hazardous_made.mass_g == 101_000
    assert one.before.categories == (("category", "very_small"),)
    assert one.after.categories == (("category", "small"),)
    assert {"central-small", "label-central"} <= {said.rule for said in one.newly}
    assert {"label", "date_it", "start_clock"} <= set(one.duties)


def test_without_a_pack_that_asks_there_are_totals_alone():
    (one,) = told(made("500"), packs=())

    assert one.total_after.hazardous_made.mass_g == 500_000
    assert (one.before, one.after) == (Standing(categories=(), said=()),) * 2
    assert (one.newly, one.duties) == ((), ())


def test_a_little_more_in_the_same_category_asks_for_nothing_new():
    (one,) = told(made("1"), before=(made("2"),))

    assert (one.newly, one.duties) == ((), ())
    assert one.after.categories == one.before.categories


def test_a_weight_nobody_took_leaves_no_category_that_could_be_too_mild():
    """It may be anything more, so the smallest category is no longer sure."""
    (one,) = told(made(None), before=(made("2"),))

    assert one.total_after.hazardous_made == Sum(mass_g=Fraction(2_000), no_volume=2, no_mass=1)
    assert one.before.categories == (("category", "very_small"),)
    assert one.after.categories == ()


def test_each_month_that_a_late_entry_belongs_to_is_told_the_oldest_first():
    found = told(made("101", date(2026, 11, 2)), made("1", date(2026, 9, 2)))

    assert [one.month for one in found] == [date(2026, 9, 1), NOVEMBER]
    assert [one.after.categories[0][1] for one in found] == ["very_small", "small"]


def test_what_lies_there_since_long_counts_this_month_too():
    """40 CFR 262.14(a)(4): from 1,000 kg on hand more follows, whenever it was made."""
    found = told(made("1000", date(2026, 9, 2), what="hazardous_on_hand"))

    assert [one.month for one in found] == [date(2026, 9, 1), NOVEMBER]
    assert "very-small-on-hand" in {said.rule for said in found[-1].newly}
    assert "start_clock" in found[-1].duties


def test_a_month_of_a_drain_goes_by_what_was_poured_there():
    """A late pouring makes the limit fail, though nothing more is poured."""
    limit = pack(
        'id = "a-month"\nkind = "TOTAL"\noutlets = ["sewer"]\nwastes = ["size"]\n'
        'quantity = "volume"\nholds_if = "at_most"\nhigh = 60\nunit = "l"\n'
        'sum_of = "poured"\nspan = "calendar_month"\nduties = ["notify"]'
    )
    first = poured(40, date(2026, 11, 2))
    (just,) = told(poured(20, TODAY), before=(first,), packs=(limit,))
    (over,) = told(poured(21, TODAY), before=(first,), packs=(limit,))

    assert just.newly == ()
    assert [(one.rule, one.verdict, one.total) for one in over.newly] == [
        ("a-month", "fails", 61_000)
    ]
    assert over.duties == ("notify",)


MONTH_DAYS = st.dates(date(2026, 9, 1), TODAY)
TALLIES = st.lists(
    st.builds(
        made,
        st.sampled_from([None, "0.4", "1.2", "40", "99", "600"]),
        MONTH_DAYS,
        st.sampled_from(["hazardous_made", "acute_made", "hazardous_on_hand"]),
    )
    | st.builds(poured, st.sampled_from([None, 9, 50]), MONTH_DAYS),
    max_size=6,
)


@given(TALLIES, TALLIES, st.randoms())
def test_an_entry_written_late_is_as_one_written_in_time(before, late, chance):
    """Neither the sums nor what follows know in which order they were written."""
    in_time = [*before, *late]
    chance.shuffle(in_time)

    for one in told(*late, before=tuple(before), packs=(FLOOR, WASTE, ROPEWALK)):
        assert one.total_after == totals(in_time, one.month)
        assert one.after == stands(in_time, packs=(ROPEWALK, WASTE, FLOOR), month=one.month)


@given(TALLIES, st.sampled_from([FLOOR, WASTE, ROPEWALK]))
def test_another_pack_takes_no_duty_and_no_clock_away(tallies, more):
    base = stands(tallies, packs=(WASTE,))
    wide = stands(tallies, packs=(WASTE, more))

    assert set(base.duties) <= set(wide.duties)
    assert set(base.said) <= set(wide.said)


@given(TALLIES, TALLIES)
def test_the_months_of_two_halves_sum_to_the_whole(one, other):
    whole = totals([*one, *other], NOVEMBER)
    halves = [totals(half, NOVEMBER) for half in (one, other)]

    for name in ("hazardous_made", "acute_made", "on_hand"):
        parts = [getattr(half, name) for half in halves]
        assert getattr(whole, name).mass_g == sum(part.mass_g for part in parts)
        assert getattr(whole, name).no_mass == sum(part.no_mass for part in parts)


def test_a_month_that_lasts_is_told_as_of_today():
    """What falls due later this month is not told as overdue."""
    due_soon = replace(SITE, starts=(Start(event="first_drop", on=date(2026, 6, 2)),))
    site: Facts = replace(due_soon, tallies=(made("200"),))
    said = standing([WASTE], site, month=TODAY, today=TODAY, now=NOW, demo=True).said

    (clock,) = [one for one in said if one.rule == "central-small"]
    assert (clock.due_on, clock.verdict) == (date(2026, 11, 29), "holds")
