"""Records are kept as long as somebody chose, knowing why, and never less."""

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.rules.packs import words
from coop.rules.packs.facts import Tally
from coop.rules.retention import CHOICES, KEPT, earliest_purge
from tests.rules.packs.at_hand import TODAY, WASTE, bath, decided, pack, ph, said, stating

WRITTEN = date(2026, 11, 28)
LONG = pack(
    'id = "long"\nkind = "KEEP"\noutlets = ["sewer"]\nkeep_years = 10\nrecords = ["readings"]'
)
LONG_SAID = said(decided(bath(ph("7")), LONG), "long")


def purged(choice: str, *records: str, **more: Any) -> date | None:
    asked: dict[str, Any] = {"written_on": WRITTEN, "records": records} | more
    return earliest_purge(choice, **asked)


@pytest.mark.parametrize(
    ("choice", "record", "on"),
    [
        ("employees", "exposure", date(2056, 11, 28)),
        ("employees", "readings", date(2029, 11, 28)),
        ("members_only", "decisions", date(2029, 11, 28)),
        ("members_only", "handovers", date(2029, 11, 28)),
        ("members_only", "exposure", date(2029, 11, 28)),
        ("ask", "readings", None),
        ("ask", "exposure", None),
    ],
)
def test_each_choice_keeps_as_long_as_its_reasons_say(choice, record, on):
    """
    Thirty years 29 CFR 1910.1020(d)(1)(ii), three years 40 CFR 403.12(o).

    262.40(a) for handovers is recalled. Nobody answered: nothing is purged.
    """
    assert purged(choice, record) == on


def test_only_who_has_employees_is_given_thirty_years_and_is_told_why():
    """Never in silence: the number stands beside where it is written."""
    thirty = {choice for choice, kept in KEPT.items() for one in kept if one.years == 30}

    assert thirty == {"employees"}
    for kept in KEPT.values():
        for one in kept:
            assert one.document
            assert one.evidence in words.EVIDENCES
    assert [
        (one.document, one.section) for one in KEPT["employees"] if "exposure" in one.records
    ] == [("29 CFR", "1910.1020(d)(1)(ii)")]


def test_every_record_has_a_term_in_every_choice_that_was_made():
    assert set(KEPT) == set(CHOICES)
    for choice in set(CHOICES) - {"ask"}:
        records = [record for one in KEPT[choice] for record in one.records]
        assert sorted(records) == sorted(words.RECORDS)


def test_an_entry_that_is_several_records_is_kept_for_the_longest():
    assert purged("employees", "readings", "exposure") == date(2056, 11, 28)


def test_what_is_in_a_dispute_or_demanded_is_not_purged():
    """40 CFR 403.12(o): longer in litigation or when asked for."""
    assert purged("members_only", "readings", demanded=True) is None


def test_a_packs_own_rule_makes_it_longer_for_its_records_alone():
    assert purged("members_only", "readings", said=[LONG_SAID]) == date(2036, 11, 28)
    assert purged("members_only", "decisions", said=[LONG_SAID]) == date(2029, 11, 28)


def test_a_packs_shorter_rule_makes_nothing_shorter():
    short = replace(LONG_SAID, keep_years=1)

    assert purged("members_only", "readings", said=[short]) == date(2029, 11, 28)


def test_what_the_rules_of_waste_say_goes_in_as_they_said_it():
    """40 CFR 262.11(f), recalled, three years: what else a pack says is no matter."""
    jar = stating(bath(ph("1"), waste="colour_rinse", outlet="jar"), jar_area="central")
    made = Tally(
        what="hazardous_made", waste="colour_rinse", on=TODAY, mass_g=Fraction(200_000)
    )
    spoken = decided(replace(jar, tallies=(made,)), WASTE).spoken

    assert "keep-determinations" in {one.rule for one in spoken}
    assert purged("members_only", "waste_determinations", said=spoken) == date(2029, 11, 28)


def test_of_a_leap_day_the_day_after_counts():
    leap = date(2028, 2, 29)

    assert purged("members_only", "readings", written_on=leap) == date(2031, 3, 1)
    four = replace(LONG_SAID, keep_years=4)
    assert purged("members_only", "readings", written_on=leap, said=[four]) == date(2032, 2, 29)


@pytest.mark.parametrize("records", [(), ("gossip",)])
def test_a_record_is_of_a_kind_that_is_known(records):
    with pytest.raises(AssertionError):
        purged("employees", *records)


@given(
    st.sampled_from(["employees", "members_only"]),
    st.sets(st.sampled_from(words.RECORDS), min_size=1),
    st.dates(date(2000, 1, 1), date(2100, 1, 1)),
    st.lists(st.integers(1, 100).map(lambda years: replace(LONG_SAID, keep_years=years))),
)
def test_nothing_is_purged_earlier_than_chosen_whatever_packs_say(choice, records, on, rules):
    plain = earliest_purge(choice, written_on=on, records=records)
    with_rules = earliest_purge(choice, written_on=on, records=records, said=rules)

    assert plain is not None
    assert with_rules is not None
    assert plain <= with_rules
    assert plain - on >= timedelta(days=3 * 365)
