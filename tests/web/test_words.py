"""Words: every refusal has its sentence, and the sentence gets what it speaks of."""

import ast
import re
from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from coop.ledger.canon import ENTRY_BYTES_MAX, NotCanonical, canonical
from coop.ledger.schema import LIMITS, Refused, Slip, quantity
from coop.web import words as say
from coop.web.defaults_text import KIND_ACTS
from coop.web.i18n import LANGUAGES, Words, read_catalogues
from tests.support.files import ROOT, python_files

TEMPLATES = ROOT / "coop/web/templates"
CATALOGUES = read_catalogues()
PLACEHOLDER = re.compile(r"%\((\w+)\)s")
RAISED = {"Refused": "code", "Slip": "", "NotCanonical": "", "_refused": ""}
MACHINERY = re.compile(r"\b(?:entry|entries|server|outbox|sync)\b", re.IGNORECASE)
TABLES = {ROOT / "coop/ledger/schema.py", ROOT / "coop/web/words.py"}


def words(lang: str = "en") -> Words:
    return Words(lang, ZoneInfo("UTC"), CATALOGUES[lang])


def raised_codes(source: str) -> set[str]:
    """Return every code that a refusal is made with, where it stands as a text."""
    found = set()
    for call in ast.walk(ast.parse(source)):
        name = getattr(getattr(call, "func", None), "id", "")
        if isinstance(call, ast.Call) and name in RAISED:
            named = [one.value for one in call.keywords if one.arg == "code"]
            place = 0 if name == "NotCanonical" else 1
            for value in named or call.args[place : place + 1]:
                if isinstance(value, ast.Constant):
                    found.add(str(value.value))
    return found


@pytest.mark.parametrize("code", LIMITS)
def test_a_sentence_speaks_of_just_the_limits_of_its_code(code: str) -> None:
    """A limit that is not handed over would show as "%(brim_l)s"."""
    assert sorted(set(PLACEHOLDER.findall(say.REFUSALS[code]))) == sorted(LIMITS[code])


@pytest.mark.parametrize(
    "path",
    sorted(
        path
        for pattern in ("help*", "history", "jar*", "jug*", "waste*", "mishap*", "me")
        for path in TEMPLATES.glob(f"{pattern}.html")
    ),
    ids=lambda path: path.name,
)
def test_a_page_of_members_says_no_word_of_the_machinery(path: Path) -> None:
    """They wrote something down, and the studio has it; how that is kept is no matter here."""
    said = re.findall(r'gettext\("([^"]*)"|_\("([^"]*)"', path.read_text())
    told = " ".join(text for pair in said for text in pair)

    assert MACHINERY.findall(told) == []


def test_no_sentence_is_left_over() -> None:
    assert set(say.REFUSALS) == set(LIMITS)


def test_every_refusal_in_the_code_has_a_code_of_the_table() -> None:
    """A code outside the table would be found only when somebody types the wrong thing."""
    found = {code for path in python_files("coop") for code in raised_codes(path.read_text())}

    assert len(found) > 30
    assert found <= set(LIMITS)


def test_every_code_of_the_table_is_used() -> None:
    """What nothing refuses with needs no sentence."""
    modules = [path.read_text() for path in python_files("coop") if path not in TABLES]
    schema = raised_codes((ROOT / "coop/ledger/schema.py").read_text())

    assert [
        code
        for code in LIMITS
        if code not in schema and not any(f'"{code}"' in text for text in modules)
    ] == []


@pytest.mark.parametrize("lang", LANGUAGES)
@pytest.mark.parametrize("code", LIMITS)
def test_a_refusal_shows_no_placeholder(code: str, lang: str) -> None:
    refused = Refused(field="x", code=code, limits=tuple((name, "1") for name in LIMITS[code]))

    assert "%(" not in say.refusal(words(lang), refused)


def test_a_refusal_cannot_be_made_without_its_limits() -> None:
    with pytest.raises(AssertionError):
        Refused(field="laying", code="over-the-brim")
    with pytest.raises(KeyError):
        Refused(field="laying", code="anything else")


@pytest.mark.parametrize(
    ("unit", "said"),
    [
        ("kg", "More than 0 and at most 100 kg, please."),
        ("g", "More than 0.001 and at most 100000 g, please."),
        ("lb", "More than 0 and at most 220.462 lb, please."),
        ("apoth_oz", "More than 0 and at most 100 kg, please."),
    ],
)
def test_limits_are_said_in_the_unit_that_was_typed(unit: str, said: str) -> None:
    """The pound is 453.59237 g: international yard and pound agreement of 1959."""
    read = quantity("mass", low=Fraction(1, 1000), high=100_000)
    with pytest.raises(Slip) as slip:
        read({"typed": "0", "n": "0", "unit": unit}, "weight")

    assert say.refusal(words(), slip.value.refused) == said


def test_limits_have_the_mark_of_the_language() -> None:
    limits = (("brim_l", "12.5"),)
    refused = Refused(field="laying", code="not-under-the-brim", limits=limits)

    assert "(12.5 L)" in say.refusal(words(), refused)
    assert "12,5 L" in say.refusal(words("tr"), refused)


def test_a_record_that_is_too_long_is_told_without_a_figure() -> None:
    """It is no text that is too long: what a person typed has its limits field by field."""
    with pytest.raises(NotCanonical) as fault:
        canonical({"name": "x" * ENTRY_BYTES_MAX})
    refused = Refused(field="name", code=fault.value.code)

    assert say.refusal(words(), refused) == "This is too much for one line."


@pytest.mark.parametrize("told", [say.REFUSALS, say.WAITS, say.KINDS, KIND_ACTS])
def test_members_are_told_in_the_trades_words(told: Mapping[str, str]) -> None:
    """An entry is a line to whoever writes it, and a device is a phone or tablet."""
    ours = re.compile(r"\b(entry|entries|device|draft|outbox|sync)s?\b", re.IGNORECASE)

    assert [text for text in told.values() if ours.search(text)] == []


def test_what_a_member_may_do_begins_with_a_capital() -> None:
    """They are the rows of one table in Help."""
    assert [text for text in KIND_ACTS.values() if not text[0].isupper()] == []


def test_the_title_of_every_page_is_in_the_trades_words() -> None:
    titles = [
        title
        for file in sorted(TEMPLATES.glob("*.html"))
        for title in re.findall(r'page_title = _\("([^"]+)"', file.read_text(encoding="utf-8"))
    ]

    assert len(titles) > 20
    assert [one for one in titles if re.search(r"\b(entry|device|draft)\b", one.lower())] == []


@pytest.mark.parametrize(
    ("count", "told"),
    [
        (1, "1 full sheet"),
        (0, "0 full sheets"),
        (0.5, "0.5 full sheets"),
        (0.75, "0.75 full sheets"),
        (2, "2 full sheets"),
    ],
)
def test_one_sheet_is_not_said_as_several(count: float, told: str) -> None:
    """Unicode CLDR, plural rules of English: one only for 1 without decimals."""
    assert say.full_sheets(words(), count) == told
