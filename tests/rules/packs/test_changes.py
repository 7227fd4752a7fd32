"""What a new edition would change, told before it holds; what was decided stays as it was."""

import copy
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.rules.packs.changes import changes, differing, silenced
from coop.rules.packs.decisions import freeze
from coop.rules.packs.facts import Facts
from coop.rules.packs.schema import Pack
from coop.rules.packs.words import Outcome
from tests.rules.packs.at_hand import (
    BARN,
    DISTRICT_A,
    FLOOR,
    NOW,
    ROPEWALK,
    TODAY,
    bath,
    decided,
    pack,
    ph,
    strip,
)
from tests.rules.packs.test_never_better import ANY_PACKS, FACTS, ONE_MORE

PH = 'id = "ph"\nkind = "LIMIT"\noutlets = ["sewer"]\nquantity = "ph"\nunit = "ph"\n'
WIDE = pack(f'{PH}holds_if = "within"\nlow = 6.0\nhigh = 9.5', id="town")
NARROW = pack(f'{PH}holds_if = "within"\nlow = 7.0\nhigh = 9.5', id="town", edition=2)
HERE = {"near": bath(ph("6.5")), "well": bath(ph("8"))}


def told(named: dict[str, Facts], before: list[Pack], after: list[Pack]):
    return changes(named, before=before, after=after, day=TODAY, now=NOW, demo=True)


def test_only_what_would_be_decided_otherwise_is_told_with_what_newly_speaks():
    (one,) = told(HERE, [FLOOR, WIDE], [FLOOR, WIDE, NARROW])

    assert (one.name, one.before, one.after) == (
        "near",
        Outcome.NOTHING_FORBIDS,
        Outcome.NOT_YET,
    )
    assert [(said.pack, said.rule, said.low) for said in one.newly] == [("town", "ph", 7)]
    assert [(said.pack, said.rule, said.low) for said in one.silent] == [("town", "ph", 6)]


def test_a_first_pack_takes_away_that_there_was_none():
    """What fell silent explains an answer that got better."""
    (one,) = told({"near": HERE["near"]}, [], [WIDE])

    assert (one.before, one.after) == (Outcome.ASK_FIRST, Outcome.NOTHING_FORBIDS)
    assert {said.why for said in one.silent} == {"no-local-pack"}


def test_a_pack_that_speaks_of_one_waste_silences_another():
    """Each local pack has to speak: a permit for alum alone takes away the answer of size."""
    alone = pack(f'{PH}wastes = ["alum_bath"]\nholds_if = "within"\nlow = 6.0\nhigh = 9.5')
    sites = [replace(HERE["well"], waste=one) for one in ("alum_bath", "size")]

    def lost(after: list[Pack]):
        found = silenced(sites, before=[WIDE], after=after, day=TODAY, now=NOW, demo=True)
        return [(one.waste, one.outlet, one.rules) for one in found]

    assert lost([WIDE, alone]) == [("size", "sewer", (("town", "ph"),))]
    assert lost([WIDE, NARROW]) == []
    assert [waste for waste, _, _ in lost([FLOOR])] == ["alum_bath", "size"]


def test_a_rule_only_cited_and_worded_anew_does_not_newly_speak():
    """A new letter with the old figures is no news; its one new ban is."""
    again = replace(WIDE, edition=2, digest="0" * 64, rules=tuple(
        replace(one, says="worded anew", cite=replace(one.cite, section="9"))
        for one in WIDE.rules
    ))  # fmt: skip
    ban = pack('id = "no"\nkind = "BAN"\noutlets = ["sewer"]', id="other")

    assert told(HERE, [WIDE], [again]) == ()
    assert [[said.rule for said in one.newly] for one in told(HERE, [WIDE], [again, ban])] == [
        ["no"],
        ["no"],
    ]


def test_what_gets_strictest_comes_first():
    named = {"a-bath": bath(ph("6.5")), "b-jar": bath(ph("8"), waste="paste")}
    ban = pack('id = "no"\nkind = "BAN"\noutlets = ["sewer"]\nwastes = ["paste"]', id="other")

    assert [one.name for one in told(named, [WIDE], [WIDE, NARROW, ban])] == ["b-jar", "a-bath"]


@given(ANY_PACKS, FACTS, st.randoms())
def test_the_same_packs_in_any_order_change_nothing(packs, facts, chance):
    other = list(packs)
    chance.shuffle(other)

    assert told({"it": facts}, packs, other) == ()


@given(ANY_PACKS, ONE_MORE, FACTS)
def test_a_change_is_told_exactly_where_the_outcome_differs(packs, more, facts):
    before, after = decided(facts, *packs), decided(facts, *packs, more)
    found = told({"it": facts}, packs, [*packs, more])

    assert [(one.before, one.after) for one in found] == (
        [(before.outcome, after.outcome)] if before.outcome is not after.outcome else []
    )
    for one in found:
        assert one.newly or one.silent


YEAR_ON = TODAY + timedelta(days=400)


def test_an_old_decision_that_a_later_edition_would_make_otherwise_is_told_and_kept():
    """The report lists it; what was frozen is not touched, whatever holds today."""
    frozen = {name: freeze(decided(one, FLOOR, WIDE)) for name, one in HERE.items()}
    kept = copy.deepcopy(frozen)
    later = replace(NARROW, valid_from=TODAY + timedelta(days=300))
    (one,) = differing(frozen, [FLOOR, WIDE, later], today=YEAR_ON)

    assert (one.name, one.after) == ("near", Outcome.NOT_YET)
    assert frozen == kept
    assert differing(frozen, [FLOOR, WIDE, later], today=TODAY) == ()


def test_readings_do_not_grow_old_in_an_old_decision():
    """A strip of a year ago was fresh when it was decided by."""
    frozen = {"it": freeze(decided(bath(strip("7")), WIDE))}

    assert differing(frozen, [WIDE], today=YEAR_ON) == ()


def test_a_pack_that_no_longer_holds_leaves_its_decisions_to_ask_first():
    frozen = {"it": freeze(decided(HERE["well"], DISTRICT_A))}
    ended = replace(DISTRICT_A, valid_until=date(2026, 12, 31))
    (one,) = differing(frozen, [ended, BARN, ROPEWALK], today=YEAR_ON)

    assert one.after is Outcome.ASK_FIRST


@given(ANY_PACKS, FACTS)
def test_the_packs_of_then_differ_in_nothing(packs, facts):
    assert differing({"it": freeze(decided(facts, *packs))}, packs, today=YEAR_ON) == ()


def test_what_is_no_decision_is_refused():
    with pytest.raises(ValueError, match="outcome"):
        differing({"it": {"outcome": "whatever"}}, [], today=TODAY)


def test_a_letter_published_anew_in_another_country_changes_no_decision_of_before():
    """Nothing was wrong with them; what was asked about after the move stays asked about."""
    facts = bath(ph("7"), area=("us", "studio-one"))
    moved = replace(facts, area=("de", "studio-one"))
    limit = 'id = "ph"\nkind = "LIMIT"\noutlets = ["sewer"]\nquantity = "ph"\n'
    limit += 'holds_if = "at_least"\nlow = 6\nunit = "ph"'
    old = replace(pack(limit), area=facts.area)
    new = replace(pack(limit, edition=2), area=moved.area)
    before, after = decided(facts, old), decided(moved, old)

    assert (before.outcome, after.outcome) == ("nothing_forbids", "ask_first")
    assert differing({"a": freeze(before)}, [old, new], today=TODAY) == ()
    assert differing({"a": freeze(after)}, [old], today=TODAY) == ()
