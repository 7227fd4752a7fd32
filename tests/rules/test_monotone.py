"""Whatever speaks for a bath or a liquid never gives a worse word, all else the same."""

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.rules.limits import Limits
from coop.rules.liquids import (
    LIQUIDS,
    Drop,
    DropTest,
    Keeps,
    KeptFor,
    LiquidFacts,
    Look,
    Looked,
    RunOut,
    Smell,
    Smelled,
    Warmth,
    answer_liquid,
)
from coop.rules.use import (
    ACTS,
    Disagreement,
    HowKnown,
    Known,
    Outcome,
    Stop,
    StripPrint,
    UseFacts,
    answer,
)
from tests.rules.at_hand import HOUSE, NOW, POTASH, SULFATE, bath, other, size

LATEST = NOW + timedelta(days=10)


def near(line: float) -> st.SearchStrategy[float]:
    """Figures from 0 to twice a line, often on the line itself."""
    return st.sampled_from([line, line * 0.999, line * 1.001]) | st.floats(0, 2 * line)


def moments(days: int = 60) -> st.SearchStrategy[datetime]:
    """Half hours up to so many days back, often the 28th."""
    return st.integers(0, days * 48).map(
        lambda halves: NOW - halves * timedelta(minutes=30)
    ) | (st.sampled_from([NOW, NOW - timedelta(days=28)]))


PRINTS = st.lists(
    st.builds(StripPrint, st.sampled_from(Outcome), moments()), max_size=3
).map(tuple)  # fmt: skip
OFF = st.builds(
    Disagreement,
    instrument=st.just("dipstick"),
    at=moments(),
    off_sigma=st.floats(3, 9),
    read=st.just(9.0),
    low=st.just(8.5),
    high=st.just(9.5),
    reckoned=st.floats(10, 12),
)
ORDER = [Outcome.FAILED, Outcome.SOFT, Outcome.SHARP]


@dataclass(frozen=True)
class Argument:
    """What an argument may be, and how much a value of it speaks for the bath."""

    values: st.SearchStrategy[Any]
    speaks_for: Callable[[Any], Any]


def none_is(best: bool) -> Callable[[datetime | None], tuple[bool, datetime]]:
    return lambda moment: ((moment is None) is best, moment or NOW)


FACTS = {
    "strength_g_per_l": Argument(near(30.0), float),
    "strength_low_g_per_l": Argument(near(25.0), float),
    "volume_l": Argument(near(6.0), float),
    "laying_l": Argument(st.none() | near(6.0), lambda litres: -(litres or 0.0)),
    "mixed_at": Argument(moments(), lambda moment: moment),
    "passed_strip_print_at": Argument(st.none() | moments(), none_is(best=False)),
    "finished_at": Argument(st.none() | st.just(NOW), lambda moment: moment is None),
    "rest_until": Argument(
        st.none() | moments(2) | st.just(LATEST),
        lambda moment: (moment is None, (NOW - moment) if moment else timedelta(0)),
    ),
    "stop": Argument(
        st.none() | st.builds(Stop, st.just("ros"), moments(), st.just("other")),
        lambda stop: stop is None,
    ),
    "disagreements": Argument(st.lists(OFF, max_size=3).map(tuple), lambda found: -len(found)),
    "water_only_count": Argument(st.integers(0, 4), lambda count: -count),
    "sheets_while_stopped_count": Argument(st.integers(0, 3), lambda count: -count),
}
LIMITS = {
    "target_g_per_l": Argument(near(40.0).filter(bool), lambda strength: -strength),
    "look_again_fraction": Argument(st.floats(0.5, 1), lambda part: -part),
    "do_not_use_fraction": Argument(st.floats(0.1, 0.5), lambda part: -part),
    "strip_print_days": Argument(st.integers(1, 60), int),
    "water_only_top_ups_count": Argument(st.integers(1, 4), int),
}
SILENT_FACTS = {
    "how_known": st.builds(HowKnown, st.sampled_from(Known), moments()),
    "only_spooned": st.booleans(),
    "gravity_readable": st.booleans(),
}
OF_LIQUIDS_AND_STACKS = {
    field.name
    for field in fields(Limits)
    if field.name.startswith(
        ("size_", "gall_water_", "rinse_", "paste_", "softener_", "stack_")
    )
}
SILENT_LIMITS = {
    "edition": st.text(max_size=3),
    "weak_chance": st.floats(0.01, 0.5),
    "laying_depth_mm": st.integers(1, 200),
    **dict.fromkeys(OF_LIQUIDS_AND_STACKS, st.integers(1, 60)),
}
TRIED_APART = {"strip_prints", "recipe_target", "for_paper", "salt", "target_salt"}


BEGIN = bath()
MORE = {
    "strip_prints": PRINTS,
    "recipe_target": st.just((23.0, POTASH)),
    "for_paper": st.booleans(),
    "salt": st.just(POTASH),
}
FACT_VALUES = {name: argument.values for name, argument in FACTS.items()} | MORE
LIMIT_VALUES = {name: argument.values for name, argument in LIMITS.items()}


@st.composite
def cases(draw: st.DrawFn) -> tuple[UseFacts, Limits]:
    """Return the bath at hand under the house's limits with up to two things changed."""
    names = st.sampled_from([*FACT_VALUES, *LIMIT_VALUES])
    changed = sorted(draw(st.sets(names, max_size=2)))
    facts: dict[str, Any] = {
        name: draw(FACT_VALUES[name]) for name in changed if name in FACT_VALUES
    }
    limits = {name: draw(LIMIT_VALUES[name]) for name in changed if name in LIMIT_VALUES}
    middle = facts.get("strength_g_per_l", 40.0)
    facts["strength_low_g_per_l"] = min(facts.get("strength_low_g_per_l", 40.0), middle)
    return replace(BEGIN, **facts), replace(HOUSE, **limits)


def rank(facts: UseFacts, limits: Limits) -> int:
    return answer(facts, limits, NOW).word.rank


def test_no_argument_is_forgotten():
    """A new fact or limit must say which way it speaks."""
    assert {field.name for field in fields(UseFacts)} | {
        field.name for field in fields(Limits)
    } == (
        FACTS.keys() | LIMITS.keys() | SILENT_FACTS.keys() | SILENT_LIMITS.keys() | TRIED_APART
    )


@pytest.mark.parametrize("name", FACTS)
@given(case=cases(), data=st.data())
def test_what_speaks_for_a_bath_never_gives_a_worse_word(name, case, data):
    """Stronger, deeper, newer, less against it: good stays good."""
    facts, limits = case
    values = data.draw(st.lists(FACTS[name].values, min_size=2, max_size=2))
    worse, better = sorted(values, key=FACTS[name].speaks_for)
    if name == "strength_low_g_per_l":
        facts = replace(facts, strength_g_per_l=max(facts.strength_g_per_l or 0.0, better))
    if name == "strength_g_per_l":
        facts = replace(facts, strength_g_per_l=better, strength_low_g_per_l=worse)

    good, bad = replace(facts, **{name: better}), replace(facts, **{name: worse})

    assert rank(good, limits) <= rank(bad, limits)


@pytest.mark.parametrize("name", LIMITS)
@given(case=cases(), data=st.data())
def test_a_milder_limit_never_gives_a_worse_word(name, case, data):
    """Drawing a line lower cannot forbid a bath."""
    facts, limits = case
    values = data.draw(st.lists(LIMITS[name].values, min_size=2, max_size=2))
    worse, better = sorted(values, key=LIMITS[name].speaks_for)

    milder, stricter = replace(limits, **{name: better}), replace(limits, **{name: worse})

    assert rank(facts, milder) <= rank(facts, stricter)


@given(case=cases(), prints=PRINTS.filter(bool), outcome=st.sampled_from(Outcome))
def test_a_better_strip_print_never_gives_a_worse_word(case, prints, outcome):
    """The same print, seen sharper."""
    facts, limits = case
    other = replace(prints[0], outcome=outcome)
    worse, better = sorted((prints[0], other), key=lambda done: ORDER.index(done.outcome))

    good = replace(facts, strip_prints=(better, *prints[1:]))
    bad = replace(facts, strip_prints=(worse, *prints[1:]))

    assert rank(good, limits) <= rank(bad, limits)


@given(case=cases(), when=moments())
def test_one_more_sharp_strip_print_never_gives_a_worse_word(case, when):
    """Testing is never punished."""
    facts, limits = case
    more = replace(facts, strip_prints=(*facts.strip_prints, StripPrint(Outcome.SHARP, when)))

    assert rank(more, limits) <= rank(facts, limits)


@given(case=cases(), strengths=st.lists(near(23.0).filter(bool), min_size=2, max_size=2))
def test_a_weaker_recipe_never_gives_a_worse_word(case, strengths):
    """The same bath, judged by a card that asks for less."""
    facts, limits = case
    low, high = sorted(strengths)

    mild = replace(facts, recipe_target=(low, POTASH))
    strict = replace(facts, recipe_target=(high, POTASH))

    assert rank(mild, limits) <= rank(strict, limits)


@given(case=cases())
def test_a_bath_that_is_for_something_else_than_paper_is_never_judged_worse(case):
    """What paper wants is no measure of it."""
    facts, limits = case

    other, paper = (replace(facts, for_paper=one) for one in (False, True))

    assert rank(other, limits) <= rank(paper, limits)


@given(case=cases())
def test_the_same_grams_of_the_richer_salt_never_give_a_worse_word(case):
    """Gram for gram the 14-hydrate carries more aluminium than potash alum."""
    facts, limits = case

    rich, poor = replace(facts, salt=SULFATE), replace(facts, salt=POTASH)

    assert rank(rich, limits) <= rank(poor, limits)


@given(case=cases())
def test_a_house_target_in_the_poorer_salt_never_gives_a_worse_word(case):
    """The same number asked for of the poorer salt asks for less aluminium."""
    facts, limits = case

    assert rank(facts, replace(limits, target_salt=POTASH)) <= rank(facts, limits)


@given(
    case=cases(),
    facts_changed=st.fixed_dictionaries(SILENT_FACTS),
    limits_changed=st.fixed_dictionaries(SILENT_LIMITS),
)
def test_how_we_know_never_changes_the_word(case, facts_changed, limits_changed):
    """The word and how we know it stand side by side and are never mixed."""
    facts, limits = case

    other = replace(facts, **facts_changed), replace(limits, **limits_changed)

    assert rank(*other) == rank(*case)


@given(case=cases())
def test_the_word_is_the_worst_that_any_reason_leads_to(case):
    """Reasons stand in the order of the rules, acts in theirs, and notes never decide."""
    facts, limits = case
    got = answer(facts, limits, NOW)
    words = [reason.word for reason in got.reasons if reason.word is not None]

    assert got.reasons == tuple(sorted(got.reasons))
    assert got.word.rank == max((word.rank for word in words), default=0)
    assert list(got.next_acts) == sorted(got.next_acts, key=ACTS.index)


DROPS = {Drop.CLOUDY_THREAD: 0, Drop.RAGGED: 1, Drop.BLOB: 1, Drop.ROUND: 2}
LOOKS = {look: 1 for look in Look} | {Look.FINE: 2, Look.MOULD: 0}
SMELLS = {Smell.NONE: 2, Smell.SEA: 2, Smell.SHARP: 1, Smell.SOUR: 0, Smell.ROTTEN: 0}
OFF_MM = st.sampled_from([10.0, 10.1, 25.0, 25.1, 30.0, 30.1]) | st.floats(0, 49)
SPREADS = st.sampled_from([None, 24.9, 25.0, 40.0, 60.0, 80.0, 80.1]) | st.floats(1, 150)


def drops(*outcomes: Drop) -> st.SearchStrategy[DropTest]:
    return st.builds(
        DropTest, st.sampled_from(outcomes or Drop), SPREADS, st.just(NOW), near(5.0)
    )


LOOKED = st.builds(Looked, st.sampled_from(Look), st.just(NOW))
SMELLED = st.builds(Smelled, st.sampled_from(Smell), st.just(NOW))
LIQUID_FACTS = {
    "age_days": Argument(near(14.0), lambda days: -days),
    "warm_days": Argument(near(5.0), lambda days: -days),
    "volume_l": Argument(near(3.0), float),
    "laying_l": Argument(st.none() | near(3.0), lambda litres: -(litres or 0.0)),
    "finished_at": FACTS["finished_at"],
    "rest_until": FACTS["rest_until"],
    "stop": FACTS["stop"],
    "look": Argument(LOOKED, lambda seen: LOOKS[seen.outcome]),
    "smell": Argument(SMELLED, lambda smelt: SMELLS[smelt.outcome]),
}
LIQUID_LIMITS = {name: Argument(near(7.0).filter(bool), float) for name in
    ("size_look_again_warm_days", "size_do_not_use_warm_days", "size_cap_days",
    "gall_water_days", "rinse_days", "paste_days", "softener_days")}  # fmt: skip
SILENT_OF_LIQUIDS = {
    "mixed_at": moments(),
    "chilled_days": near(2.0),
    "chilled": st.booleans(),
    "kept_for": st.none() | st.just(KeptFor(member="m")),
}
SILENT_OF_SIZE = {
    "run_out": st.none() | st.builds(RunOut, near(20.0), st.just("Funnel 2"), st.just(18.0),
        st.just(24.0), st.just(NOW)),
    "alum_carried_g": st.none() | st.just((0.0, 1.2)),
}  # fmt: skip
LIQUIDS_TRIED_APART = {"kind", "drop", "recipe", "warmth"}


@st.composite
def liquids(draw: st.DrawFn, kinds: tuple[str, ...] = LIQUIDS) -> LiquidFacts:
    """Return a liquid of any kind with up to three things changed, a size often tested."""
    kind = draw(st.sampled_from(kinds))
    names = [name for name in LIQUID_FACTS if kind == "size" or name != "laying_l"]
    changed = sorted(draw(st.sets(st.sampled_from(names), max_size=3)))
    facts: dict[str, Any] = {name: draw(LIQUID_FACTS[name].values) for name in changed}
    if kind != "size":
        return other(kind, **facts)
    return size(**facts, drop=draw(st.none() | drops()))


def liquid_rank(facts: LiquidFacts, limits: Limits = HOUSE) -> int:
    return answer_liquid(facts, limits, NOW).word.rank


def test_no_argument_of_a_liquid_is_forgotten():
    """A new fact must say which way it speaks."""
    assert {field.name for field in fields(LiquidFacts)} == (
        LIQUID_FACTS.keys()
        | SILENT_OF_LIQUIDS.keys()
        | SILENT_OF_SIZE.keys()
        | LIQUIDS_TRIED_APART
    )
    assert LIQUID_LIMITS.keys() == {
        name for name in OF_LIQUIDS_AND_STACKS if not name.startswith("stack_")
    }


@pytest.mark.parametrize("name", LIQUID_FACTS)
@given(data=st.data())
def test_what_speaks_for_a_liquid_never_gives_a_worse_word(name, data):
    """Younger, cooler, deeper, a better look or smell, no stop."""
    facts = data.draw(liquids(("size",) if name == "laying_l" else LIQUIDS))
    values = data.draw(st.lists(LIQUID_FACTS[name].values, min_size=2, max_size=2))
    worse, better = sorted(values, key=LIQUID_FACTS[name].speaks_for)

    good, bad = replace(facts, **{name: better}), replace(facts, **{name: worse})

    assert liquid_rank(good) <= liquid_rank(bad)


@pytest.mark.parametrize("name", LIQUID_LIMITS)
@given(facts=liquids(), data=st.data())
def test_a_milder_limit_never_gives_a_liquid_a_worse_word(name, facts, data):
    """Letting a size stand a day longer cannot forbid it."""
    values = data.draw(st.lists(LIQUID_LIMITS[name].values, min_size=2, max_size=2))
    strict, mild = sorted(values)

    milder, stricter = replace(HOUSE, **{name: mild}), replace(HOUSE, **{name: strict})

    assert liquid_rank(facts, milder) <= liquid_rank(facts, stricter)


@given(facts=liquids(("size",)), line=st.sampled_from([one.name for one in fields(Keeps)]),
       days=st.tuples(near(7.0), near(7.0)))  # fmt: skip
def test_a_recipe_that_keeps_longer_never_gives_a_worse_word(facts, line, days):
    strict, mild = sorted(days)

    milder = replace(facts, recipe=Keeps(**{line: mild}))
    stricter = replace(facts, recipe=Keeps(**{line: strict}))

    assert liquid_rank(milder) <= liquid_rank(stricter)


@given(facts=liquids(("size",)), drop=drops(), outcome=st.sampled_from(Drop))
def test_a_better_drop_never_gives_a_worse_word(facts, drop, outcome):
    """The same spread at the same hour, seen rounder."""
    tests = (drop, replace(drop, outcome=outcome))
    worse, better = sorted(tests, key=lambda done: DROPS[done.outcome])

    assert liquid_rank(replace(facts, drop=better)) <= liquid_rank(replace(facts, drop=worse))


@given(
    facts=liquids(("size",)), drop=drops(), off=st.tuples(OFF_MM, OFF_MM), wide=st.booleans()
)
def test_a_spread_nearer_to_50_mm_never_gives_a_worse_word(facts, drop, off, wide):
    """The good ones lie from 40 to 60, those to be looked at from 25 to 80."""
    near_mm, far_mm = (50 + one if wide else 50 - one for one in sorted(off))

    good = replace(facts, drop=replace(drop, spread_mm=near_mm))
    bad = replace(facts, drop=replace(drop, spread_mm=far_mm))

    assert liquid_rank(good) <= liquid_rank(bad)


@given(facts=liquids(("size",)), off=st.tuples(st.floats(0, 50), st.floats(0, 50)),
       hot=st.booleans())  # fmt: skip
def test_a_size_nearer_to_the_room_never_gets_a_worse_word(facts, off, hot):
    """Sheets are laid on it from 14 to 27 degrees."""
    near_c, far_c = (20 + one if hot else 20 - one for one in sorted(off))

    good, bad = (replace(facts, warmth=Warmth(one, NOW)) for one in (near_c, far_c))

    assert liquid_rank(good) <= liquid_rank(bad)


@given(facts=liquids(("size",)), drop=drops(), then=st.tuples(near(5.0), near(5.0)))
def test_a_drop_test_of_a_later_day_never_gives_a_worse_word(facts, drop, then):
    earlier, later = (replace(drop, warm_days_then=days) for days in sorted(then))

    assert liquid_rank(replace(facts, drop=later)) <= liquid_rank(replace(facts, drop=earlier))


@given(facts=liquids(("size",)), drop=drops(Drop.ROUND))
def test_a_good_drop_test_never_gives_a_worse_word_than_none(facts, drop):
    """Testing is never punished."""
    good = replace(facts, drop=replace(drop, spread_mm=None))

    assert liquid_rank(good) <= liquid_rank(replace(facts, drop=None))


@given(facts=liquids(), data=st.data())
def test_what_is_only_told_never_changes_the_word(facts, data):
    """Kept for somebody, a run-out time, alum carried in: notes."""
    silent = SILENT_OF_LIQUIDS | (SILENT_OF_SIZE if facts.kind == "size" else {})
    changed = data.draw(st.fixed_dictionaries(silent))

    assert liquid_rank(replace(facts, **changed)) == liquid_rank(facts)


@given(facts=liquids())
def test_the_word_of_a_liquid_is_the_worst_that_any_reason_leads_to(facts):
    """Reasons stand in the order of the rules, acts in theirs, and notes never decide."""
    got = answer_liquid(facts, HOUSE, NOW)
    words = [reason.word for reason in got.reasons if reason.word is not None]

    assert got.reasons == tuple(sorted(got.reasons))
    assert got.word.rank == max((word.rank for word in words), default=0)
    assert list(got.next_acts) == sorted(got.next_acts, key=ACTS.index)
