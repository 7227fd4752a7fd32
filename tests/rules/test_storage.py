"""How supplies are stored, what stands apart, and how long they keep."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.ledger import kinds
from coop.rules.storage import APART, STORAGE, keeps_days, kept_apart, storage_of
from coop.science.defaults import (
    COMMON_PRACTICE,
    COMPUTED,
    DEFAULTS,
    FROM_MEMORY,
    MARKS,
    PUBLISHED,
)

BASES = {"soda", "lime", "softener", "ammonia"}
WHATS = sorted(STORAGE)
DOCUMENTS = ("Chemical Safety Card 1191", "40 CFR 264", "1272/2008", "BP and USP")


def test_every_supply_of_the_ledger_has_its_place():
    """What can be received can be put away."""
    assert set(STORAGE) == set(kinds.SUPPLIES)
    assert all(storage_of(what) for what in kinds.SUPPLIES)


@pytest.mark.parametrize("what", WHATS)
def test_every_rule_says_where_it_is_from(what):
    """Common practice is said to be that; what is published names it; nothing stands twice."""
    rules = STORAGE[what]

    assert len({rule.code for rule in rules}) == len(rules)
    for rule in rules:
        assert rule.mark in MARKS
        assert rule.source
        published = any(name in rule.source for name in DOCUMENTS)
        assert published == (rule.mark == PUBLISHED)


def test_alum_is_stored_as_the_international_card_says():
    """
    Dry, apart from bases, where nothing runs into a drain, not in metal.

    Source: ILO/WHO International Chemical Safety Card 1191, aluminium sulfate, 2010.
    """
    by_the_card = {rule.code for rule in STORAGE["alum"] if "Card 1191" in rule.source}

    assert by_the_card == {
        "dry_closed", "plastic_not_metal", "away_from_bases", "no_drain_nearby"
    }  # fmt: skip


@pytest.mark.parametrize(
    ("what", "codes"),
    [
        ("carrageenan", {"dry_closed", "cool"}),
        ("gall", {"cool_dark"}),
        ("colour", {"no_frost"}),
        ("paper", {"flat_dry_air"}),
        ("ammonia", {"vented", "cool", "never_with_bleach", "children_away"}),
        ("soda", {"dry_closed", "form_on_jar", "children_away"}),
        ("borax", {"dry_closed", "children_away", "not_when_pregnant"}),
    ],
)
def test_a_supply_is_stored_as_studios_do(what, codes):
    """Common practice, no source."""
    assert codes <= set(storage_of(what))


@pytest.mark.parametrize(
    "what", ["alum", "soda", "lime", "softener", "borax", "ammonia", "bleach"]
)
def test_what_hurts_stands_out_of_reach_of_children_and_names_its_own_sheet(what):
    """A class goes in and out of the room."""
    assert {"children_away", "its_sheet_first"} <= set(storage_of(what))


def test_alum_stands_apart_from_every_base():
    """It is an acid once damp; its card says apart from bases."""
    assert all([one.second for one in kept_apart(["alum", base])] == [base] for base in BASES)
    assert all("away_from_acids" in storage_of(base) for base in BASES)
    assert "away_from_bases" in storage_of("alum")


@pytest.mark.parametrize(
    ("what", "why"), [("alum", "chlorine_gas"), ("ammonia", "chloramine_gas")]
)
def test_bleach_never_stands_beside_an_acid_or_ammonia(what, why):
    """With an acid chlorine, with ammonia chloramines: a training sheet, at second hand."""
    assert [one.why for one in kept_apart(["bleach", what])] == [why]
    assert "never_with_bleach" in storage_of(what)
    assert "bleach_alone" in storage_of("bleach")


def test_soda_and_alum_foam_by_their_moles():
    """
    2 KAl(SO4)2.12H2O + 3 Na2CO3 -> 3 CO2: 1 g of potash alum gives 0.076 L at 20 C.

    Computed: 474.39 g/mol, 24.06 L/mol of gas at 20 C and one atmosphere.
    """
    gas_l = 3 / 2 / 474.39 * 24.06
    soda = next(one for one in APART if one.second == "soda")

    assert soda.mark == COMPUTED
    assert soda.source.startswith(f"{gas_l:.3f} L of gas from 1 g")


def test_soda_lime_and_gums_may_stand_together():
    """A warning that is always there is read by nobody."""
    others = [what for what in WHATS if what not in {"alum", "bleach", "ammonia"}]

    assert kept_apart(others) == ()
    assert kept_apart([]) == ()


@given(st.sets(st.sampled_from(WHATS)), st.sets(st.sampled_from(WHATS)))
def test_what_stands_apart_is_known_pair_by_pair(some, more):
    """More on the shelf takes no warning away, and none comes from a third thing."""
    pairs = {one for two in combinations(some, 2) for one in kept_apart(two)}

    assert set(kept_apart(some)) == pairs
    assert set(kept_apart(some)) <= set(kept_apart(some | more))


def test_what_hurts_most_is_told_first():
    assert [one.why for one in kept_apart(["soda", "alum", "ammonia", "bleach"])] == [
        "chloramine_gas", "chlorine_gas", "acid_with_base", "acid_with_soda"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("what", "sealed_days", "opened_days"),
    [
        ("carrageenan", 4 * 365, 365),
        ("gall", 3 * 365, 365),
        ("colour", 3 * 365, 365),
        ("ammonia", 365, 365),
        ("strips", None, 2 * 365),
        ("alum", None, None),
        ("paper", None, None),
        ("borax", None, None),
    ],
)
def test_a_supply_keeps_as_long_as_studios_say(what, sealed_days, opened_days):
    """Common practice, no source: four years sealed for carrageenan, two for opened strips."""
    assert keeps_days(what, opened=False) == sealed_days
    assert keeps_days(what, opened=True) == opened_days


@pytest.mark.parametrize("what", WHATS)
def test_nothing_keeps_longer_opened_than_sealed(what):
    sealed, opened = keeps_days(what, opened=False), keeps_days(what, opened=True)

    assert sealed is None or (opened is not None and opened <= sealed)


def test_how_long_supplies_keep_is_marked_as_practice():
    """None of it is measured; a house puts its own figure."""
    names = [f"{what}_{how}_days" for what in WHATS for how in ("sealed", "opened")]
    marks = {DEFAULTS[name].mark for name in (*names, "ammonia_days") if name in DEFAULTS}

    assert marks == {COMMON_PRACTICE}
    assert FROM_MEMORY not in marks


@pytest.mark.parametrize(
    "ask",
    [storage_of, lambda what: kept_apart([what]), lambda what: keeps_days(what, opened=True)],
)
def test_what_is_no_supply_is_a_slip_of_the_caller(ask):
    with pytest.raises((KeyError, AssertionError), match="sand"):
        ask("sand")
