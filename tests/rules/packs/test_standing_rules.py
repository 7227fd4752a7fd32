"""Which rules and which words of an authority stand: after a lapse, a move, a later answer."""

from dataclasses import replace
from datetime import date

import pytest

from coop.rules.packs.evaluation import replay
from tests.rules.packs.at_hand import (
    DISTRICT_A,
    TODAY,
    bath,
    decided,
    pack,
    permission,
    ph,
    said,
)

PH = 'id = "ph"\nkind = "LIMIT"\noutlets = ["sewer"]\nquantity = "ph"\nholds_if = "at_least"\n'
PH += 'low = 6\nunit = "ph"'
FIRST = pack(PH, tier="site_permit", evidence="read")
SECOND = pack(PH, tier="site_permit", evidence="read", edition=2)
HERE = ("us", "studio-one")
OWN = replace(FIRST, area=HERE)
GOOD = bath(ph("7"))


def test_a_lapsed_permit_does_not_bring_back_the_one_before():
    """A newer edition ends the older one for good, also where it has ended itself."""
    lapsed = replace(SECOND, valid_until=TODAY)
    told = decided(GOOD, FIRST, lapsed)

    assert decided(GOOD, FIRST).outcome == "nothing_forbids"
    assert told.outcome == "ask_first"
    assert said(told, "local-rule").why == "no-local-pack"


def test_until_its_first_day_a_newer_edition_ends_nothing():
    later = replace(SECOND, valid_from=date(TODAY.year + 1, 1, 1))

    assert [one.edition for one in decided(GOOD, FIRST, later).packs] == [1]


def test_rules_of_a_studio_that_moved_to_another_country_are_asked_about():
    """They still count where they are strict, and open nothing; both is told."""
    moved = replace(GOOD, area=("de", "studio-one"))
    told = decided(moved, OWN)
    sour = decided(replace(bath(ph("3")), area=("de", "studio-one")), OWN)

    assert decided(replace(GOOD, area=HERE), OWN).outcome == "nothing_forbids"
    assert told.outcome == "ask_first"
    assert said(told, "local-rule").why == "other-country"
    assert sour.outcome == "not_yet"
    assert replay(told, {OWN.digest: OWN}) == told
    bare = replace(OWN, area=HERE[-1:])
    assert said(decided(moved, bare), "local-rule").why == "other-country"


def test_rules_of_another_studio_or_district_stay_silent():
    elsewhere = replace(GOOD, area=("us", "studio-two"))
    district = replace(GOOD, area=("de", "demo-district-a"))

    assert decided(elsewhere, OWN).packs == ()
    assert decided(district, DISTRICT_A).packs == ()


def test_a_yes_given_in_another_country_is_asked_for_again():
    """A no goes on standing wherever the studio is said to lie."""
    yes, no = (
        decided(replace(GOOD, permissions=(permission(answer, elsewhere=True),)), FIRST)
        for answer in ("yes", "no")
    )

    assert (yes.outcome, said(yes, "permission").why) == ("ask_first", "other-country")
    assert (no.outcome, said(no, "permission").why) == ("not_down_here", "they-said-no")


@pytest.mark.parametrize(
    ("own", "general", "outcome"),
    [
        ("no", "yes", "not_down_here"),
        ("with_conditions", "yes", "after_steps"),
        ("yes", "no", "not_down_here"),
        ("yes", "yes", "nothing_forbids"),
    ],
)
def test_a_word_on_the_waste_itself_stands_until_it_is_asked_about_again(own, general, outcome):
    """A later word on all of it can only be stricter: our own choice, no source."""
    asked = (
        permission(own, about="alum_bath", asked_on=date(2026, 8, 18)),
        permission(general, asked_on=date(2026, 8, 19)),
    )
    again = permission("yes", about="alum_bath", asked_on=date(2026, 8, 20))

    assert decided(replace(GOOD, permissions=asked), FIRST).outcome == outcome
    answered = replace(GOOD, permissions=(*asked, again))
    assert decided(answered, FIRST).outcome == "nothing_forbids"


def test_rules_that_cannot_be_read_are_no_source_that_nobody_read():
    """They are told of as missing; there is no source of theirs to be named."""
    told = decided(replace(GOOD, rules_missing=("gone",)), FIRST)

    assert said(told, "local-rule").why == "document-missing"
    assert "gone" not in {one.pack for one in told.recalled}
