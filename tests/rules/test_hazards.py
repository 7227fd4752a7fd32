"""Hazards of substances and baths: as the sources say, and the stricter of two holds."""

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.ledger.kinds import BATHS, SALTS, SODAS, SUPPLIES
from coop.rules.hazards import (
    CARDS,
    COVERS,
    LABELS,
    Card,
    Cell,
    card_of,
    hazards,
    pictograms_of,
    signal_of,
)
from coop.rules.storage import STORAGE
from coop.science.defaults import COMMON_PRACTICE, FROM_MEMORY, PUBLISHED
from tests.science.handbook import rows

MARKS = {"read": PUBLISHED, "recalled": FROM_MEMORY}
LETTERS = {"G": "gloves", "E": "goggles", "D": "mask", "V": "air"}
NUMBERS = {"GHS05": "corrosive", "GHS07": "harmful", "GHS08": "lasting", "GHS09": "waters"}
RANK = {"": 0, "warning": 1, "danger": 2}
TABLE = rows("hazards")
CODES = st.sets(st.sampled_from(sorted(LABELS)), max_size=6)


def told(row: dict[str, str]) -> str:
    return f"{row['substance']}, {row['said_by'] or 'all'}"


def card_with(*classes: tuple[str, ...]) -> Card:
    """Return a card of which several sources say something."""
    none = Cell((), "trade", COMMON_PRACTICE)
    cells = tuple(Cell(codes, f"source {n}", PUBLISHED) for n, codes in enumerate(classes))
    return Card(code="x", what="x", classes=cells, gear=(), first_aid=none, spills=none)


def held(card: Card) -> set[str]:
    return {one.code for one in hazards(card)}


@pytest.mark.parametrize("row", TABLE, ids=told)
def test_what_a_source_says_of_a_substance_stands_on_its_card(row: dict[str, str]) -> None:
    """Source: fixtures/handbook/hazards.csv, with the mark of each row."""
    card = CARDS[row["substance"]]
    said = {(frozenset(cell.codes), cell.mark) for cell in card.classes}
    gear = {
        code for cell in card.gear if cell.mark == MARKS[row["mark"]] for code in cell.codes
    }
    all_gear = {code for cell in card.gear for code in cell.codes}

    assert (frozenset(row["codes"].split()), MARKS[row["mark"]]) in said
    assert {LETTERS[one] for one in row["gear"].split()} <= all_gear
    if len({one["mark"] for one in TABLE if one["substance"] == row["substance"]}) == 1:
        assert {LETTERS[one] for one in row["gear"].split()} <= gear


def test_every_other_class_on_a_card_is_marked_as_not_read() -> None:
    """What is not in the table was not read: it may not look as if it had been."""
    known = {(one["substance"], frozenset(one["codes"].split())) for one in TABLE}
    for card in CARDS.values():
        for cell in card.classes:
            if (card.code, frozenset(cell.codes)) not in known:
                assert cell.mark in {FROM_MEMORY, COMMON_PRACTICE}, (card.code, cell)


@pytest.mark.parametrize("row", rows("hazard_labels"), ids=lambda row: row["code"])
def test_a_hazard_code_has_the_pictogram_and_the_signal_word_of_the_standard(
    row: dict[str, str],
) -> None:
    """Source: fixtures/handbook/hazard_labels.csv (UN GHS)."""
    label = LABELS[row["code"]]

    assert label.pictogram == NUMBERS.get(row["pictogram"], "")
    assert label.signal == row["signal"]
    assert label.mark == MARKS[row["mark"]]


def test_the_table_of_labels_has_every_code() -> None:
    assert {one["code"] for one in rows("hazard_labels")} == set(LABELS)
    assert {
        code for card in CARDS.values() for cell in card.classes for code in cell.codes
    } <= (set(LABELS))


@given(CODES, CODES, CODES)
def test_the_stricter_class_wins_whoever_says_it(
    one: set[str], other: set[str], third: set[str]
) -> None:
    """A code is left out only where a stricter one of the same harm is there."""
    said = one | other | third
    for order in permutations([tuple(one), tuple(other), tuple(third)]):
        found = held(card_with(*order))

        assert found <= said
        for left_out in said - found:
            assert any(left_out in COVERS.get(code, ()) for code in found)
        assert not any(code in COVERS.get(above, ()) for code in found for above in found)


@given(CODES, CODES)
def test_another_source_never_makes_a_card_milder(one: set[str], other: set[str]) -> None:
    """Somebody who says less must not take a warning away."""
    alone = held(card_with(tuple(one)))
    both = held(card_with(tuple(one), tuple(other)))

    assert RANK[signal_of(both)] >= RANK[signal_of(alone)]
    for code in alone - both:
        assert any(code in COVERS.get(above, ()) for above in both)


def test_a_code_only_stands_above_codes_that_are_no_stronger() -> None:
    """Else the stricter of two would be the milder."""
    for above, milder in COVERS.items():
        for code in milder:
            assert RANK[LABELS[above].signal] >= RANK[LABELS[code].signal], (above, code)
            assert above not in COVERS.get(code, ())


@pytest.mark.parametrize("salt", SALTS)
def test_every_salt_of_alum_can_damage_eyes(salt: str) -> None:
    """The house holds the stricter class of aluminium sulfate for all of them."""
    codes = [one.code for one in hazards(CARDS[salt])]

    assert codes[0] == "H318"
    assert "H319" not in codes
    assert signal_of(codes) == "danger"
    assert "corrosive" in pictograms_of(codes)
    assert "goggles" in {code for cell in CARDS[salt].gear for code in cell.codes}


def test_the_milder_class_of_another_source_is_named_beside_the_stricter() -> None:
    said = {one.code: one.above for one in hazards(CARDS["aluminium_sulfate_14"])}

    assert said["H318"] == "H319"
    assert {one.code: one.above for one in hazards(CARDS["borax"])}["H360FD"] == "H361"


def test_one_source_that_gives_two_codes_does_not_disagree_with_itself() -> None:
    assert [one.above for one in hazards(card_with(("H318", "H319")))] == [""]


@pytest.mark.parametrize(
    ("codes", "shown"),
    [
        (["H318", "H315"], ("corrosive",)),
        (["H318", "H302"], ("corrosive", "harmful")),
        (["H290", "H319"], ("corrosive", "harmful")),
        (["H334", "H317"], ("lasting",)),
        (["H360FD", "H319"], ("lasting", "harmful")),
        ([], ()),
    ],
)
def test_of_two_pictograms_for_one_harm_only_the_stronger_is_shown(
    codes: list[str], shown: tuple[str, ...]
) -> None:
    """Regulation (EC) 1272/2008, article 26 (from memory)."""
    assert pictograms_of(codes) == shown


def test_there_is_a_card_for_each_salt_soda_and_bath() -> None:
    assert {*SALTS} <= set(CARDS)
    assert {f"soda_{form}" for form in SODAS} <= set(CARDS)
    assert {f"bath_{what}" for what in BATHS} <= set(CARDS)
    assert all(card.is_bath or card.what in STORAGE for card in CARDS.values())


@pytest.mark.parametrize("what", SUPPLIES)
def test_a_supply_in_hand_finds_its_card_or_none(what: str) -> None:
    """A pair of gloves has no card; a softener's is that of its soda."""
    code = card_of(what, salt="potash_alum", soda="crystals")
    without = {
        "paper",
        "colour",
        "water",
        "gloves",
        "masks",
        "strips",
        "filters",
        "tool",
        "other",
    }

    assert (code in CARDS) is (what not in without)
    assert card_of("softener", soda="bicarbonate") == "soda_bicarbonate"
    assert card_of("alum") == ""


def test_nothing_that_gives_off_gas_with_bleach_forgets_to_say_so() -> None:
    for code in (*SALTS, "ammonia", "bath_alum", "bleach"):
        assert "never-bleach" in CARDS[code].never.codes, code
    assert "ammonium-alum-with-a-base" in CARDS["ammonium_alum"].never.codes
    for form in SODAS:
        assert "ammonium-alum-with-a-base" in CARDS[f"soda_{form}"].never.codes


def test_only_what_can_foam_is_told_to_stand_open() -> None:
    """A caution where it does not belong is the one that is skipped where it does."""
    foams = {*SALTS, *(f"soda_{form}" for form in SODAS), "lime", "bath_alum", "bath_softener"}

    assert {code for code, card in CARDS.items() if "never-a-lid" in card.never.codes} == foams
