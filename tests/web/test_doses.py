"""Doses said back: every code has words, and a card that contradicts itself is caught."""

import ast
import re
from datetime import UTC, datetime
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest

from coop.actions.read_dose import meant
from coop.ledger.states import HouseState
from coop.rules.cautions import CAUTIONS
from coop.units import fault, notes
from coop.units.fault import NotUnderstood
from coop.units.kinds import QUESTIONS
from coop.units.notes import Note
from coop.units.quantity import Quantity
from coop.units.table import UNITS
from coop.web import cautions, doses
from coop.web.doses import read_typed
from coop.web.i18n import LANGUAGES, Words, read_catalogues
from tests.support.files import ROOT

CATALOGUES = read_catalogues()
CARD = "6 tbsp (1/4 cup) per gallon"


def words(lang: str = "en") -> Words:
    return Words(lang, ZoneInfo("Europe/Berlin"), CATALOGUES[lang])


def house() -> HouseState:
    return HouseState(
        edition="e",  # type: ignore[arg-type]  # any id will do
        set_at=datetime(2025, 9, 1, tzinfo=UTC),
        target_g_per_l=40.0,
        target_salt="aluminium_sulfate_14",
        look_again_fraction=0.75,
        do_not_use_fraction=0.625,
        strip_print_days=28,
        laying_depth_mm=15,
        gallon="us",
        cup="us",
        spoon="us",
    )


def read(typed: str, pick: str = "") -> doses.DoseReader:
    return read_typed(words(), typed, meant(house()), pick=pick)


def test_every_code_of_the_readers_has_words() -> None:
    """A code without words would end in an error page just when somebody needs it."""
    assert set(doses.FAULTS) == set(fault.ENGLISH)
    assert set(doses.NOTES) == set(notes.NOTES)
    assert set(doses.ASKS) == set(QUESTIONS)
    assert set(doses.UNIT_NAMES) == set(UNITS)
    assert set(doses.OTHER_KINDS) == {
        (question, kind) for question, kinds in QUESTIONS.items() for kind in kinds
    }


def test_every_contradiction_that_is_found_has_words() -> None:
    """Their codes stand in no table of the readers, so the source is searched."""
    source = (ROOT / "coop" / "units" / "statements.py").read_text()
    found = set(re.findall(r'"(\w+-disagree)"', source))

    assert len(found) >= 2
    assert set(doses.CONTRADICTIONS) == found


def test_every_caution_of_every_act_has_a_sentence() -> None:
    """A caution that is only a code protects nobody."""
    assert set(cautions.TEXTS) >= {code for codes in CAUTIONS.values() for code in codes}
    assert all(cautions.cautions(words(), act) for act in CAUTIONS)


def test_the_safety_card_names_what_to_do_for_an_eye() -> None:
    """The stricter of two classifications: eyes first, whatever the act."""
    said = " ".join(cautions.cautions(words(), "mix"))

    assert "tap water at once, lids open, at least 15 minutes, then a doctor" in said
    assert "45 °C at most; only plastic jugs" in said
    assert "Never bleach together with alum, vinegar or ammonia." in said


@pytest.mark.parametrize("lang", LANGUAGES)
def test_every_fault_and_note_can_be_said_in(lang: str) -> None:
    """A missing value in one translation must not show at the tub."""
    for code in fault.ENGLISH:
        error = NotUnderstood(code, "8 T", (0, 3), ("us_tbsp", "level", "1000"))
        assert doses.fault_text(words(lang), error)
    for code in notes.NOTES:
        assert doses.note_text(words(lang), Note(code, fields_of(code)), meant(house()))


def fields_of(code: str) -> tuple[tuple[str, Fraction | str], ...]:
    question, _, taken = code.partition("-read-as-")
    if question in QUESTIONS and taken:
        kinds = [kind for kind in QUESTIONS[question] if kind != taken]
        return tuple((kind, Fraction(-1, 5)) for kind in kinds)
    return (
        ("heaped_times", Fraction(3, 2)),
        ("times", Fraction(3, 2)),
        ("give_or_take", Fraction(1, 4)),
        ("unit", "us_tbsp"),
        ("g_per_spoon", Fraction(111, 10)),
        ("over_g_per_l", Fraction(12)),
    )


def test_a_dose_is_said_with_its_kinds_its_volume_and_its_grams() -> None:
    """
    6 US tablespoons in a US gallon are 23.4 mL/L (256 tablespoons to the gallon: NIST Handbook
    44, appendix C, from memory); 11 to 20 g a tablespoon, middle 14.8 (published range).
    """
    (said,) = read("6 tbsp per gallon").live()["understood"]

    assert said == "6 US tablespoons to 1 US gallon: 23.4 mL/L, about 23 g/L (17 to 32)"


def test_a_weighed_dose_has_no_doubt() -> None:
    """Nothing is in doubt but what was never weighed."""
    assert read("30 g/L").live()["understood"] == ("30 g to 1 L: 30 g/L",)


def test_a_card_that_says_two_things_is_stopped_with_both() -> None:
    """A quarter of a cup is 4 tablespoons, not 6: 15.6 against 23.4 mL/L, a third apart."""
    found = read(CARD)
    (said,) = found.live()["contradictions"]

    assert "23.4 mL/L" in said
    assert "15.6 mL/L" in said
    assert "a third apart" in said
    assert found.open
    assert len(found.choices) == 2


def test_a_picked_reading_settles_a_card() -> None:
    """A person knows which line of the card holds."""
    second, _ = read(CARD).choices[1]

    found = read(CARD, pick=second)

    assert not found.open
    assert found.statement is not None
    assert found.statement.amount.unit == "us_cup"


def test_a_reading_picked_for_one_card_does_not_settle_another() -> None:
    """Else a pick left in the address would settle what was typed later."""
    second, _ = read(CARD).choices[1]

    assert read("8 tbsp (1/3 cup) per gallon", pick=second).open


def test_an_ounce_is_asked_and_each_answer_can_be_picked() -> None:
    """Four ounces of weight and four fluid ounces are not the same alum."""
    found = read("4 oz per gallon")

    assert found.live()["contradictions"] == ["An ounce of weight, or a fluid ounce?"]
    assert [text for _, text in found.choices] == [
        "4 oz (weight) to 1 US gallon: 30 g/L",
        "4 US fluid ounces to 1 US gallon: 31.3 mL/L, about 31 g/L (23 to 42)",
    ]
    assert not read("4 oz per gallon", pick=found.choices[0][0]).open


@pytest.mark.parametrize(("lang", "typed"), [("tr", "litreye 30 g"), ("en", "litreye 30 g")])
def test_a_card_in_either_tongue_is_read_on_every_page(lang: str, typed: str) -> None:
    """A Turkish card is typed on an English page, and an English one on a Turkish page."""
    found = [
        read_typed(words(lang), one, meant(house())).statement for one in (typed, "30 g per L")
    ]

    assert [one and one.g_per_l.middle for one in found] == [30, 30]


def test_a_fault_is_told_of_the_pages_own_tongue() -> None:
    """Else nobody on a Turkish page would learn which Turkish word is not known."""
    told = [read_typed(words(lang), "litreye 1 kasik", meant(house())) for lang in ("tr", "en")]

    assert "kasik" in told[0].fault
    assert "litreye" in told[1].fault


def test_three_doses_that_are_mistaken_for_one_another_stand_together() -> None:
    """1 teaspoon a cup is a third of 1 tablespoon a cup, and both are called "one spoon"."""
    found = read("1 tbsp per cup").live()["look_alikes"]

    assert len(found) == 4
    assert "as written" in found[3]


def test_the_kind_of_gallon_is_said_and_what_another_would_be() -> None:
    """Imperial gallon 4.54609 L against 3.785411784 L: 16.7 % weaker."""
    said = " ".join(read("30 g per gallon").live()["notes"])

    assert "Gallon read as US, the house's kind. Imperial would be 17 % weaker." in said


@pytest.mark.parametrize(
    "typed", ["alum", "6 tbsp", "1/3 cup of water", "6 tbsp per", "2 pinches/L"]
)
def test_what_is_not_understood_says_what_would_be_right(typed: str) -> None:
    """An answer without the way on is no answer."""
    found = read(typed)

    assert found.fault.endswith((".", "?"))
    assert found.open
    assert found.said is None


@pytest.mark.parametrize(
    ("n", "unit", "said"),
    [
        (Fraction(65, 2), "us_tbsp", "32 1/2 US tablespoons"),
        (Fraction(1, 4), "us_cup", "1/4 US cup"),
        (Fraction(25, 2), "l", "12.5 L"),
        (Fraction("1.125"), "kg", "1.1250 kg"),
        (Fraction(1), "us_gallon", "1 US gallon"),
    ],
)
def test_amounts_are_said_as_people_write_them(n: Fraction, unit: str, said: str) -> None:
    """Spoons in fractions, litres in decimals; three decimals would look like thousands."""
    assert doses.quantity_text(words(), Quantity("", n, unit)) == said


def test_nothing_typed_says_nothing() -> None:
    found = read("   ")

    assert not found.open
    assert not any(found.live().values())


def test_no_text_of_the_module_is_an_f_string_in_the_catalogue() -> None:
    """Such a text is never collected, and never translated."""
    tree = ast.parse((ROOT / "coop" / "web" / "doses.py").read_text())
    calls = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "gettext"
    ]

    assert len(calls) > 10
    assert not any(isinstance(call.args[0], ast.JoinedStr) for call in calls)
