"""The figures of a letter become a pack that decides as one written by hand does."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.rules.packs import letter as letters
from coop.rules.packs import words
from coop.rules.packs.amounts import MEASURES
from coop.rules.packs.decisions import Decision
from coop.rules.packs.documents import document_of, pack_in
from coop.rules.packs.letter import Letter, Line, data_of, edition_of, faults
from coop.rules.packs.reading import pack_of
from coop.rules.packs.schema import Pack
from coop.rules.packs.words import Outcome
from tests.rules.packs.at_hand import BARN, ROPEWALK, bath, decided, metal, pack, ph, strip
from tests.rules.packs.test_never_better import FACTS

STRAINED = ("strain_through_cloth",)


def line(says: str, **more: object) -> Line:
    said = {"outlets": ("sewer",), "section": "1", "text": "as they wrote it (invented)"}
    return Line(says=says, **(said | more))  # type: ignore[arg-type] # of a test's own words


def letter(*lines: Line, **more: object) -> Letter:
    said = {
        "authority": "Ropewalk sewer board (invented)",
        "title": "What the invented sewer board wrote",
        "letter_on": date(2026, 1, 1),
        "checked_on": date(2026, 9, 1),
        "review_on": date(2027, 9, 1),
        "area": ("us", "ropewalk"),
        "tier": "district",
        "evidence": "invented",
        "lines": lines,
    }
    return Letter(**(said | more))  # type: ignore[arg-type] # of a test's own words


PH = line("ph", low=Decimal("6"), high=Decimal("10"), unit="ph")
ROPEWALK_SAID = letter(
    replace(PH, wastes=("alum_bath",), steps=("strain_through_cloth", "solids_stay_out")),
    line("a_day", wastes=("alum_bath",), high=Decimal(20), unit="l"),
    line(
        "needs",
        wastes=("size",),
        steps=("strain_through_cloth", "thin_until_it_runs"),
        section="2",
    ),
    line("a_day", wastes=("size",), high=Decimal(60), unit="l", section="2"),
    line("no_lumps", wastes=("rinse_water",), steps=STRAINED, section="3"),
    line("ban_with_metals", wastes=("rinse_water",), section="3"),
)
BARN_SAID = letter(
    line("ban", outlets=("septic",)),
    authority="Orchard Barn health office (invented)",
    area=("us", "orchard-barn"),
)


def pack_from(said: Letter, *, pack_id: str = "a-letter", edition: int = 1) -> Pack:
    data = data_of(said, pack_id=pack_id, edition=edition)
    return pack_of(data, name="a letter", demo=True)


def answer(decision: Decision) -> tuple[object, ...]:
    """Return what a decision says but for how rules are called and worded."""
    plain = [replace(one, rule="", document="", says="") for one in decision.spoken]
    return decision.outcome, decision.steps, decision.duties, sorted(plain, key=repr)


@pytest.mark.parametrize(("said", "shipped"), [(ROPEWALK_SAID, ROPEWALK), (BARN_SAID, BARN)])
@given(facts=FACTS)
def test_a_pack_copied_from_a_letter_decides_as_the_one_written_by_hand(said, shipped, facts):
    """Every demonstration pack can be said as a letter, line for line."""
    copied = pack_from(said, pack_id=shipped.id)
    here = replace(facts, area=shipped.area)

    assert copied.area == shipped.area
    assert answer(decided(here, copied)) == answer(decided(here, shipped))


def test_each_line_becomes_a_rule_with_the_letters_own_words_and_section():
    copied = pack_from(ROPEWALK_SAID)

    assert [one.id for one in copied.rules] == [
        "alum-bath-ph",
        "alum-bath-a-day",
        "size-needs",
        "size-a-day",
        "rinse-water-no-lumps",
        "rinse-water-ban-with-metals",
    ]
    assert {one.says for one in copied.rules} == {"as they wrote it (invented)"}
    assert [one.cite.section for one in copied.rules] == ["1", "1", "2", "2", "3", "3"]
    assert copied.rules[0].cite.document == "Ropewalk sewer board (invented), 2026-01-01"
    assert copied.valid_from == date(2026, 1, 1)


def test_two_lines_of_one_kind_get_names_apart():
    lines = (PH, replace(PH, outlets=("septic",)))

    assert [one.id for one in pack_from(letter(*lines)).rules] == ["ph", "ph-2"]


@pytest.mark.parametrize(
    ("said", "low", "high"),
    [({"low": "6", "high": None}, "6", None), ({"low": None, "high": "10"}, None, "10")],
)
def test_a_letter_may_set_one_end_of_a_ph_alone(said, low, high):
    ends: dict[str, Any] = {key: one and Decimal(one) for key, one in said.items()}
    (rule,) = pack_from(letter(replace(PH, **ends))).rules

    assert (rule.low, rule.high) == (low and Fraction(low), high and Fraction(high))
    assert rule.holds_if == ("at_least" if low else "at_most")


def test_a_figure_reckoned_from_the_recipe_counts_only_where_the_letter_says_so():
    """Whoever wrote the letter decides whether a laboratory is wanted."""
    copper = line("analyte", of="copper", high=Decimal(1), unit="mg_per_l")
    reckoned = bath(ph("7"), area=("us", "ropewalk"))
    strict, lenient = (
        decided(reckoned, pack_from(letter(replace(copper, bounds_count=one))))
        for one in (False, True)
    )

    assert strict.outcome is Outcome.MEASURE_FIRST
    assert lenient.outcome is Outcome.NOTHING_FORBIDS
    poor = bath(ph("7"), metal("copper", "1.1"), area=("us", "ropewalk"))
    assert decided(poor, pack_from(letter(copper))).outcome is Outcome.NOT_YET


def test_a_figure_stands_in_the_unit_of_the_letter():
    """Nobody has to turn gallons into litres by hand: 1 US gallon is 3.785411784 L (NIST)."""
    a_month = line("a_month", high=Decimal(10), unit="us_gallon")
    here = replace(bath(ph("7")), area=("us", "ropewalk"))
    under, over = (
        decided(replace(here, volume_ml=Fraction(ml)), pack_from(letter(a_month))).outcome
        for ml in (37_854, 37_855)
    )

    assert (under, over) == (Outcome.NOTHING_FORBIDS, Outcome.NOT_YET)


def test_what_needs_a_step_is_asked_by_the_look_that_shows_it():
    needs = {
        steps: pack_from(letter(line("needs", steps=steps))).rules[0]
        for steps in (STRAINED, ("settle_overnight",), ("thin_until_it_runs",))
    }

    assert [(one.of, one.value) for one in needs.values()] == [
        ("lumps", "no"),
        ("lumps", "no"),
        ("runs", "yes"),
    ]


@pytest.mark.parametrize(
    ("said", "field", "code"),
    [
        ({"authority": " "}, "authority", "empty"),
        ({"title": ""}, "title", "empty"),
        ({"title": "a\nb"}, "title", "empty"),
        ({"title": "x" * 121}, "title", "too-long"),
        ({"reference": "x" * 121}, "reference", "too-long"),
        ({"tier": "floor"}, "tier", "not-one-of"),
        ({"evidence": "recalled"}, "evidence", "not-one-of"),
        ({"area": ()}, "area", "empty"),
        ({"area": ("us", "Rope Walk")}, "area", "not-a-name"),
        ({"area": ("us",) * 7}, "area", "too-many"),
        ({"checked_on": date(2025, 12, 31)}, "checked_on", "upside-down"),
        ({"review_on": date(2026, 9, 1)}, "review_on", "upside-down"),
        ({"lines": ()}, "lines", "empty"),
    ],
)
def test_a_head_that_is_empty_or_upside_down_is_told_by_its_field(said, field, code):
    assert faults(replace(letter(PH), **said)) == {field: code}


TEMPERATURE = line("temperature", high=Decimal(40), unit="celsius")
COPPER = line("analyte", of="copper", high=Decimal(1), unit="mg_per_l")


@pytest.mark.parametrize(
    ("said", "field", "code"),
    [
        (replace(PH, says="flow"), "says", "not-one-of"),
        (replace(PH, section=""), "section", "empty"),
        (replace(PH, text="x" * 301), "text", "too-long"),
        (replace(PH, outlets=()), "outlets", "empty"),
        (replace(PH, outlets=("jar",)), "outlets", "not-one-of"),
        (replace(PH, wastes=("soup",)), "wastes", "not-one-of"),
        (replace(PH, wastes=("size", "size")), "wastes", "twice"),
        (replace(PH, low=None, high=None), "high", "empty"),
        (replace(PH, low=Decimal(10)), "high", "upside-down"),
        (replace(PH, high=Decimal("14.1")), "high", "out-of-range"),
        (replace(PH, high=Decimal("NaN")), "high", "out-of-range"),
        (replace(PH, high=Decimal("1E+999999")), "high", "out-of-range"),
        (replace(PH, low=Decimal("1E-999999")), "low", "decimals"),
        (replace(PH, low=Decimal("6.1234567")), "low", "decimals"),
        (replace(PH, unit="celsius"), "unit", "not-one-of"),
        (replace(PH, unit=""), "unit", "empty"),
        (replace(PH, of="copper"), "of", "not-asked"),
        (replace(PH, steps=("cool",)), "steps", "not-one-of"),
        (replace(TEMPERATURE, low=Decimal(5)), "low", "not-asked"),
        (replace(TEMPERATURE, high=Decimal(121)), "high", "out-of-range"),
        (replace(COPPER, of=""), "of", "empty"),
        (replace(COPPER, of="gold"), "of", "not-one-of"),
        (replace(COPPER, basis="as_n"), "basis", "not-asked"),
        (replace(COPPER, of="ammonia"), "basis", "empty"),
        (replace(COPPER, of="ammonia", basis="total"), "basis", "not-one-of"),
        (replace(COPPER, high=Decimal(-1)), "high", "out-of-range"),
        (line("needs"), "steps", "empty"),
        (line("ban", steps=STRAINED), "steps", "not-asked"),
        (line("ban", high=Decimal(1)), "high", "not-asked"),
        (line("no_lumps", unit="l"), "unit", "not-asked"),
    ],
)
def test_a_line_that_cannot_be_is_told_by_its_place_and_field(said, field, code):
    assert faults(letter(TEMPERATURE if said.says != "temperature" else PH, said)) == {
        f"lines-1-{field}": code
    }


def test_the_same_line_twice_and_too_many_of_them_are_told():
    assert faults(letter(PH, COPPER, PH)) == {"lines-2-says": "twice"}
    many = [line("ban", section=str(n)) for n in range(letters.LINES_MAX + 1)]
    assert faults(letter(*many[:-1])) == {}
    assert faults(letter(*many)) == {"lines": "too-many"}


def test_a_letter_that_has_faults_makes_no_pack():
    with pytest.raises(AssertionError, match="lines"):
        data_of(letter(), pack_id="a-letter", edition=1)


@pytest.mark.parametrize(("editions", "next_one"), [((), 1), ((1,), 2), ((3, 1), 4)])
def test_a_change_is_the_next_edition_of_the_same_pack(editions, next_one):
    packs = [pack_from(BARN_SAID, edition=one) for one in editions]
    other = pack('id = "x"\nkind = "BAN"\noutlets = ["sewer"]', id="another", edition=9)

    assert edition_of([*packs, other], "a-letter") == next_one


FIGURES = st.none() | st.decimals(-30, 2_000, places=2) | st.decimals(places=8)
ANY_LINE = st.builds(
    Line,
    says=st.sampled_from(letters.LINES),
    wastes=st.lists(st.sampled_from(words.WASTES), max_size=3).map(tuple),
    outlets=st.lists(st.sampled_from(words.OUTLETS), max_size=2).map(tuple),
    section=st.text(max_size=4) | st.just("4 (a)"),
    text=st.text(max_size=300) | st.just("as they wrote it"),
    low=FIGURES,
    high=FIGURES,
    unit=st.sampled_from(sorted({unit for one in MEASURES.values() for unit in one.units})),
    of=st.sampled_from(["", *words.ANALYTES]),
    basis=st.sampled_from(["", *words.BASES]),
    bounds_count=st.booleans(),
    steps=st.lists(st.sampled_from(words.STEPS), max_size=2).map(tuple),
)
PLAIN_LINES = (
    *ROPEWALK_SAID.lines,
    *BARN_SAID.lines,
    PH,
    TEMPERATURE,
    COPPER,
    line("needs", steps=STRAINED),
    line("a_month", high=Decimal("37.5"), unit="us_gallon"),
    line("analyte", of="ammonia", basis="as_n", high=Decimal("39.3"), unit="mg_per_l"),
)
FEW_LINES = st.lists(ANY_LINE, max_size=1) | st.lists(
    st.sampled_from(PLAIN_LINES), max_size=12, unique=True
)


@given(lines=FEW_LINES, text=st.text(max_size=125), checked_on=st.dates(), review_on=st.dates())
def test_a_letter_either_has_faults_or_makes_a_pack(lines, text, checked_on, review_on):
    """Nobody is told of a slip by the reader of files after the page found none."""
    said = letter(
        *lines, title=text, reference=text, checked_on=checked_on, review_on=review_on
    )
    if not faults(said):
        assert len(pack_from(said).rules) == len(lines)


@given(st.lists(st.sampled_from(PLAIN_LINES), min_size=1, max_size=12, unique=True))
def test_a_copied_pack_is_the_same_after_it_was_kept_with_the_ledger(lines):
    """Its figures stay exact, so its digest stays what decisions name."""
    said = letter(*lines)
    kept = document_of(data_of(said, pack_id="a-letter", edition=1))

    assert pack_in(kept, name="a letter", demo=True) == pack_from(said)


def test_a_strip_against_a_copied_ph_has_to_clear_it_by_a_step():
    copied = pack_from(ROPEWALK_SAID)
    told = [
        decided(bath(strip(n), area=("us", "ropewalk"), volume_ml=Fraction(9_000)), copied)
        for n in ("6", "6.5")
    ]

    assert [one.outcome for one in told] == [Outcome.MEASURE_FIRST, Outcome.AFTER_STEPS]
