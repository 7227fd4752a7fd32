"""What holds for any packs and facts: nothing slips through, nothing is lost when frozen."""

import json
from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from functools import cache

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from coop.rules.packs.decisions import freeze, thaw
from coop.rules.packs.evaluation import evaluate, replay
from coop.rules.packs.facts import Added, Facts, Tally
from coop.rules.packs.schema import Pack
from coop.rules.packs.words import ASKED_OUTLETS, OUTLETS, Outcome
from tests.rules.packs.at_hand import (
    FLOOR,
    NOW,
    TODAY,
    WASTE,
    bath,
    look,
    metal,
    pack,
    permission,
    ph,
    read,
    reckoned,
    strip,
)

ASK = Outcome.ASK_FIRST.rank
SEWER = 'outlets = ["sewer", "septic", "bin"]\n'
METAL_WHEN = 'when = { fact = "metal_pigments", op = "is", value = "yes" }\n'
MG = 'quantity = "mass_per_volume"\nholds_if = "at_most"\nunit = "mg_per_l"\n'
RULES = {
    "ph": f'kind = "LIMIT"\n{SEWER}quantity = "ph"\nunit = "ph"\n'
    'holds_if = "within"\nlow = 6.0\nhigh = 9.5',
    "ph-if-acid": f'kind = "LIMIT"\n{SEWER}quantity = "ph"\nunit = "ph"\n'
    'holds_if = "at_least"\nlow = 6.5\n'
    'needed_when = { fact = "acid_put_in", op = "is", value = "yes" }',
    "ph-narrow": f'kind = "LIMIT"\n{SEWER}quantity = "ph"\nunit = "ph"\n'
    'holds_if = "within"\nlow = 7.0\nhigh = 8.0\nif_fails = "keep_in_jar"',
    "copper": f'kind = "LIMIT"\n{SEWER}{MG}of = "copper"\nhigh = 1\nbounds_count = true',
    "copper-of-metal": f'kind = "LIMIT"\n{SEWER}{METAL_WHEN}{MG}of = "copper"\nhigh = 0.1',
    "lumps": f'kind = "LIMIT"\n{SEWER}quantity = "yes_no"\nof = "lumps"\nholds_if = "is"\n'
    'value = "no"\nsteps = ["strain_through_cloth"]',
    "metal": f'kind = "BAN"\n{SEWER}{METAL_WHEN}',
    "day": f'kind = "TOTAL"\n{SEWER}quantity = "volume"\nholds_if = "at_most"\nhigh = 20\n'
    'unit = "l"\nsum_of = "poured"\nspan = "day"',
    "size-only": f'kind = "BAN"\n{SEWER}wastes = ["size"]',
    "warm-plant": f'kind = "LIMIT"\n{SEWER}quantity = "temperature"\nunit = "celsius"\n'
    'holds_if = "at_most"\nhigh = 40\npoint = "plant_inlet"',
}  # fmt: skip
HEADS = [
    ("floor", "recalled"),
    ("region", "read"),
    ("district", "read"),
    ("district", "recalled"),
    ("district", "invented"),
    ("site_permit", "read"),
    ("site_permit", "invented"),
    ("house", "invented"),
]


@cache
def made(id: str, head: tuple[str, str], names: tuple[str, ...]) -> Pack:
    tier, evidence = head
    rules = [f'id = "{name}"\n{RULES[name]}' for name in names]
    return pack(*rules, id=id, tier=tier, evidence=evidence)


NAMES = st.lists(st.sampled_from(sorted(RULES)), min_size=1, max_size=4, unique=True)
SOME_HEAD = st.sampled_from(HEADS)
SOME_PACKS = st.lists(st.tuples(SOME_HEAD, NAMES.map(tuple)), max_size=4).map(
    lambda some: [made(f"pack-{n}", *one) for n, one in enumerate(some)]
)
ANY_PACKS = st.tuples(SOME_PACKS, st.sampled_from([(), (FLOOR,), (FLOOR, WASTE)])).map(
    lambda two: [*two[0], *two[1]]
)
ONE_MORE = st.tuples(SOME_HEAD, NAMES.map(tuple)).map(lambda one: made("one-more", *one))
LOCAL = st.tuples(st.sampled_from([one for one in HEADS if one[0] in ("district", "site_permit")
                                   and one[1] != "recalled"]), NAMES.map(tuple)).map(
    lambda one: made("local", *one))  # fmt: skip

FIGURES = st.sampled_from(["3.4", "5.99", "6", "6.5", "7", "7.5", "9.5", "9.6", "12.5"])
AGES_H = st.sampled_from([0.25, 3, 25, 3000])
READINGS = st.one_of(
    st.builds(ph, FIGURES, ago_h=AGES_H),
    st.builds(strip, FIGURES, ago_h=AGES_H),
    st.builds(ph, FIGURES, device=st.just("meter"), step=st.just(Fraction(1, 100))),
    st.builds(metal, st.just("copper"), st.sampled_from(["0", "0.1", "1", "1.1", "30"])),
    st.builds(reckoned, st.just("copper"), st.just("0"), st.sampled_from(["0", "0.9", "3"])),
    st.builds(look, st.just("lumps"), st.sampled_from(["yes", "no"]), ago_h=AGES_H),
    st.builds(read, st.just("temperature"), st.sampled_from(["20", "45"]), st.just("celsius")),
)
STATED = st.fixed_dictionaries(
    {},
    optional={
        "premises": st.sampled_from([("household",), ("business",)]),
        "metal_pigments": st.sampled_from([("yes",), ("no",)]),
        "acid_put_in": st.sampled_from([("yes",), ("no",)]),
        "tags": st.sampled_from([(), ("flammable",), ("gives_gas",)]),
    },
).map(lambda said: tuple(said.items()))
ADDED = st.builds(
    Added,
    what=st.sampled_from(["water", "soda", "colour"]),
    at=st.sampled_from([0.5, 2, 30]).map(lambda hours: NOW - timedelta(hours=hours)),
)
POURED = st.builds(
    Tally,
    what=st.just("poured"),
    waste=st.just("alum_bath"),
    outlet=st.just("sewer"),
    on=st.sampled_from([TODAY, TODAY - timedelta(days=1)]),
    volume_ml=st.sampled_from([None, Fraction(5_000), Fraction(9_000)]),
)
FACTS = st.builds(
    Facts,
    waste=st.sampled_from(["alum_bath", "size", "rinse_water", "not_known"]),
    outlet=st.sampled_from(OUTLETS),
    area=st.just(("us", "somewhere")),
    volume_ml=st.sampled_from([None, Fraction(12_000), Fraction(21_000)]),
    stated=STATED,
    readings=st.lists(READINGS, max_size=5).map(tuple),
    added=st.lists(ADDED, max_size=2).map(tuple),
    contents=st.sampled_from([None, (), ("alum",), ("alum", "sulfide_pigment")]),
    adding=st.sampled_from([(), ("soda",), ("bleach",), ("water",)]),
    closed=st.sampled_from(["", "yes", "no"]),
    shown=st.sampled_from([(), ("name", "hazard")]),
    permissions=st.lists(
        st.builds(permission, st.sampled_from(["yes", "with_conditions", "no"])), max_size=2
    ).map(tuple),
    tallies=st.lists(POURED, max_size=2).map(tuple),
)
GOOD = bath(ph("7"), area=("us", "somewhere"), volume_ml=Fraction(5_000))


def told(packs, facts, demo=True):
    return evaluate(packs, facts, day=TODAY, now=NOW, demo=demo)


@given(LOCAL, ANY_PACKS, ONE_MORE, FACTS | st.just(GOOD))
def test_another_pack_never_makes_it_better_where_there_is_a_local_one(
    local, others, more, facts
):
    """Only the site's own rule opens a drain; all the rest can only close it."""
    before = told([local, *others], facts)
    after = told([local, *others, more], facts)

    assert after.outcome.rank >= before.outcome.rank


FAILING = st.sampled_from(
    [
        ("ph", ph("3.4", ago_h=0)),
        ("ph", strip("12.5", ago_h=0)),
        ("copper", metal("copper", "30", ago_h=0)),
        ("lumps", look("lumps", "yes", ago_h=0)),
    ]
)


@given(FAILING, AGES_H | st.just(0), SOME_HEAD, ANY_PACKS, FACTS | st.just(GOOD))
def test_a_failing_reading_never_makes_it_better(failing, ago_h, head, others, facts):
    """Old or new, beside whatever was read or reckoned of it that had not failed."""
    rule, new = failing
    reading = replace(new, read_at=NOW - timedelta(hours=ago_h))
    packs = [made("has-the-limit", head, (rule,)), *others]
    before = told(packs, replace(facts, outlet="sewer", added=(), adding=()))
    same = (reading.quantity, reading.of)
    had = [one for one in before.spoken if (one.quantity, one.of) == same]
    assume(not [one for one in had if one.verdict == "fails" and one.kind == "LIMIT"])
    after = told(packs, replace(before.facts, readings=(*facts.readings, reading)))

    assert after.outcome.rank >= before.outcome.rank
    if not ago_h:
        assert after.outcome.rank >= Outcome.NOT_YET.rank


@given(ANY_PACKS, FACTS | st.just(GOOD), st.booleans())
def test_what_is_not_known_never_passes(packs, facts, demo):
    for one in told(packs, facts, demo).spoken:
        if one.verdict == "unknown" and one.kind != "CLASSIFY" and not one.advice:
            assert ASK <= one.outcome.rank <= Outcome.MEASURE_FIRST.rank
            assert told(packs, facts, demo).outcome.rank >= one.outcome.rank


@given(ANY_PACKS, st.sampled_from(["ph", "yes_no", "temperature"]), st.booleans())
def test_a_reading_that_a_rule_needs_is_never_done_without(packs, quantity, demo):
    """Whatever else there is, taking the reading away leaves nothing to pour by."""
    needed = [
        rule
        for one in packs
        for rule in one.rules
        if rule.kind == "LIMIT" and rule.quantity == quantity and not rule.wastes
        and rule.point != "plant_inlet" and rule.when.op == "all" and "sewer" in rule.outlets
        and rule.needed_when.op == "all"
    ]  # fmt: skip
    assume(needed)
    left = [one for one in GOOD.readings if one.quantity != quantity]

    assert told(packs, replace(GOOD, readings=tuple(left)), demo).outcome.rank >= ASK


@given(ANY_PACKS, FACTS | st.just(GOOD), st.booleans())
def test_no_drain_is_open_without_a_rule_that_was_read_and_a_yes(packs, facts, demo):
    decision = told(packs, facts, demo)
    local = [
        one
        for one in packs
        if one.tier in ("district", "site_permit")
        and (one.evidence == "read" or (demo and one.evidence == "invented"))
    ]
    if decision.outcome.rank < ASK and facts.outlet in ASKED_OUTLETS:
        assert local
        assert facts.permissions
        assert "no" not in {one.answer for one in facts.permissions}


@given(ANY_PACKS, FACTS | st.just(GOOD), st.randoms())
def test_the_order_of_packs_and_of_their_rules_never_matters(packs, facts, chance):
    shuffled = [
        replace(one, rules=tuple(chance.sample(one.rules, len(one.rules)))) for one in packs
    ]
    chance.shuffle(shuffled)

    assert told(shuffled, facts) == told(packs, facts)


def leaves(value):
    match value:
        case dict():
            for one in value.values():
                yield from leaves(one)
        case list():
            for one in value:
                yield from leaves(one)
        case _:
            yield value


@given(ANY_PACKS, FACTS | st.just(GOOD), st.booleans())
def test_a_decision_is_told_again_from_its_frozen_facts(packs, facts, demo):
    """As text alone, through JSON and back; a later edition beside its packs alters nothing."""
    decision = told(packs, facts, demo)
    frozen = json.loads(json.dumps(freeze(decision)))
    again = thaw(frozen)
    shelf = {one.digest: one for one in packs}
    later = replace(FLOOR, edition=2, digest="0" * 64, rules=())

    assert {type(one) for one in leaves(frozen)} == {str}
    assert again == decision
    assert replay(again, shelf | {later.digest: later}) == decision
    assert freeze(replay(again, shelf)) == frozen


def test_a_decision_is_not_told_again_without_its_packs_or_by_another_evaluation():
    decision = told([FLOOR], GOOD)

    with pytest.raises(ValueError, match="us-federal-floor"):
        replay(decision, {})
    with pytest.raises(ValueError, match="evaluation 7"):
        replay(replace(decision, evaluator=7), {FLOOR.digest: FLOOR})
    with pytest.raises(ValueError, match="outcome"):
        thaw({"outcome": "whatever"})
