"""`coop read`: what a dose means, for people and for programs."""

import pytest

from coop.cli.common import FAILED, FINE, MISUSE, UNSETTLED
from coop.rules.cautions import CAUTIONS
from tests.cli.said import here

KEYS = {
    "typed", "usable", "g_per_l", "statements", "contradiction", "asks", "alternatives",
    "notes", "look_alikes", "asides", "spans", "cautions",
}  # fmt: skip
US = ("--kinds", "us,us,us")
Capture = pytest.CaptureFixture[str]


def test_a_dose_by_weight_is_settled_by_itself(capsys: Capture) -> None:
    said = here(capsys, "read", "30 g/L", "--json")

    assert said.code == FINE
    assert set(said.json) == KEYS
    assert said.json["g_per_l"] == {"low": 30.0, "middle": 30.0, "high": 30.0}


def test_spoons_to_a_gallon_are_exact_as_volumes(capsys: Capture) -> None:
    """256 tablespoons make a US gallon (NIST Handbook 44, appendix C, from memory)."""
    said = here(capsys, "read", "8 tbsp per gallon", *US, "--json")

    (statement,) = said.json["statements"]
    assert statement["ml_per_l"]["middle"] == pytest.approx(1000 * 8 / 256)
    assert statement["amount"]["ml"] == pytest.approx(8 * 3785.411784 / 256)
    assert statement["how"] == "spooned"


def test_unsaid_kinds_are_asked_and_never_chosen(capsys: Capture) -> None:
    """A gallon may be US or imperial, a spoon one of four: eight readings."""
    said = here(capsys, "read", "8 tbsp per gallon", "--json")

    assert said.code == UNSETTLED
    assert said.json["usable"] is False
    assert [one["question"] for one in said.json["asks"]] == ["gallon", "spoon"]
    assert len(said.json["alternatives"]) == 8


def test_a_card_that_says_two_things_is_not_used(capsys: Capture) -> None:
    """6 tablespoons are 3/8 cup, not 1/4: 23.4 against 15.6 mL/L."""
    said = here(capsys, "read", "6 tablespoons (1/4 cup) per gallon", *US)

    assert said.code == UNSETTLED
    assert said.out.splitlines()[-1] == "these are 33 % apart: pick one"

    told = here(capsys, "read", "6 tablespoons (1/4 cup) per gallon", *US, "--json").json
    found = [round(one["ml_per_l"]["middle"], 1) for one in told["statements"]]
    assert found == [23.4, 15.6]
    assert round(told["contradiction"]["apart_fraction"], 2) == 0.33


def test_a_contradiction_in_any_kinds_is_said_once(capsys: Capture) -> None:
    """
    8 tablespoons are half a US cup and never a third of any; of 24 sets
    of kinds no line would say so.
    """
    said = here(capsys, "read", "8 tbsp (1/3 cup) per gallon")

    assert said.code == UNSETTLED
    assert said.out.splitlines() == [
        "8 tbsp per gallon: 26.0 to 42.3 g/L, by its kinds",
        "1/3 cup per gallon: 17.4 to 25.0 g/L, by its kinds",
        "these are 20 to 51 % apart in any kinds: pick one",
        "which gallon: us, imp?",
        "which cup: us, metric, imp?",
        "which spoon: us, metric, imp, au?",
    ]


def test_kinds_in_which_a_card_is_at_one_with_itself_are_told_from_the_others(
    capsys: Capture,
) -> None:
    """Half a US cup is eight US tablespoons; by imperial ones it is 17 % less."""
    lines = here(capsys, "read", "8 tbsp (1/2 cup) per gallon").out.splitlines()

    assert lines[0].endswith("(gallon us, cup us, spoon us)")
    assert lines[2].endswith("(gallon us, cup us, spoon imp): 17 % apart")


@pytest.mark.parametrize(
    ("typed", "line"),
    [
        ("60-70 g per 10 L", "60 to 70 g to 10 L: 6.5 g/L (6.0 to 7.0), weighed"),
        ("60 g per 10 L", "60 g to 10 L: 6.0 g/L"),
        ("60 g per 3-4 L", "60 g to 3 to 4 L: 17.1 g/L (15.0 to 20.0), weighed"),
        ("1/4 lb per 2½ gallons", "1/4 lb to 2 1/2 US gallons: 12.0 g/L"),
    ],
)
def test_a_line_says_what_was_typed_with_its_range(
    typed: str, line: str, capsys: Capture
) -> None:
    """65 g in 10 L is 6.5 g/L; a quarter of 453.59237 g in 9.4635 L is 12.0, by hand."""
    assert here(capsys, "read", typed, *US).out.splitlines() == [line]


def test_what_is_not_understood_says_which_word(capsys: Capture) -> None:
    said = here(capsys, "read", "8 tbsp per bucket")

    assert said.code == FAILED
    assert said.out.startswith('not understood: "bucket":')

    told = here(capsys, "read", "8 tbsp per bucket", "--json")
    assert told.code == FAILED
    assert told.json["typed"] == "8 tbsp per bucket"
    assert told.json["not_understood"]["code"] == "no-fixed-size"


def test_a_dose_comes_with_the_cautions_of_mixing(capsys: Capture) -> None:
    """Codes for programs, sentences for whoever reads their output."""
    told = here(capsys, "read", "30 g/L", "--json").json["cautions"]

    assert tuple(one["code"] for one in told) == CAUTIONS["mix"]
    assert any(one["text"].startswith("Powder: dust mask on") for one in told)


@pytest.mark.parametrize("wrong", ["us", "us,us,us,us", "us,us,moon", ""])
def test_kinds_that_are_none_are_misuse(wrong: str, capsys: Capture) -> None:
    said = here(capsys, "read", "30 g/L", "--kinds", wrong)

    assert said.code == MISUSE
    assert "gallon: us, imp" in said.err


@pytest.mark.parametrize(
    ("sort", "typed", "line"),
    [
        ("cloth", "15 % owg", "150 g of powder to 1 kg of dry cloth, whatever the litres"),
        ("gravity", "2.9 Be", "SG 1.0204, that is 2.9 °Bé or 4.1 °Tw"),
        ("temperature", "68 F", "20.0 °C, that is 68.0 °F"),
        ("sheets", "1 ream of 480", "480 sheets"),
        ("soda", "soda ash", "anhydrous"),
        ("day", "2025-10-04", "2025-10-04"),
        ("dose", "60 g per 10 L", "60 g to 10 L: 6.0 g/L"),
    ],
)
def test_other_measures_are_read_too(sort: str, typed: str, line: str, capsys: Capture) -> None:
    """SG = 145 / (145 - Be), 200 degrees Twaddell (from memory), 9/5 F to a degree C."""
    said = here(capsys, "read", typed, "--as", sort)

    assert said.code == FINE
    assert said.out.splitlines() == [line]
    assert here(capsys, "read", typed, "--as", sort, "--json").json["typed"] == typed


@pytest.mark.parametrize(
    ("sort", "typed", "said"),
    [
        ("cloth", "3 %", "percent is read as"),
        ("gravity", "2.9", "2.9 °Bé or 2.9 °Tw"),
        ("temperature", "20 F", "that is -6.7 °C; is 20 °C meant?"),
        ("sheets", "1 ream", "480 or 500 or 516"),
        ("soda", "washing soda", "anhydrous or monohydrate or crystals"),
        ("day", "04/10/2025", "2025-10-04 or 2025-04-10"),
    ],
)
def test_what_can_mean_two_things_says_both(
    sort: str, typed: str, said: str, capsys: Capture
) -> None:
    told = here(capsys, "read", typed, "--as", sort)

    assert told.code == FAILED
    assert said in told.out


def test_a_text_may_be_in_turkish(capsys: Capture) -> None:
    """15 mL is a metric tablespoon: eight in 3.785 L are 31.7 mL/L."""
    said = here(capsys, "read", "galona 8 corba kasigi", "--lang", "tr", *US, "--json")

    assert said.code == FINE
    assert said.json["statements"][0]["ml_per_l"]["middle"] == pytest.approx(31.70, abs=0.005)
    assert here(capsys, "read", "galona 8 corba kasigi", *US).code == FAILED
