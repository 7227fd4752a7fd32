"""Words: two languages, one catalogue each, nothing shared between requests."""

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime
from decimal import ROUND_HALF_UP, localcontext
from zoneinfo import ZoneInfo

import pytest
from babel.messages.catalog import Message
from babel.numbers import format_decimal
from flask import Flask, g, render_template_string
from hypothesis import given
from hypothesis import strategies as st

from coop.web.i18n import (
    CATALOGUES,
    LANGUAGE_COOKIE,
    LANGUAGES,
    Words,
    extracted,
    install_words,
    main,
    read_catalogue,
    read_catalogues,
)
from tests.support.files import ROOT

ZONE = ZoneInfo("Europe/Istanbul")
CATALOGUE = read_catalogues()
PLACEHOLDER = re.compile(r"%\((\w+)\)[sd]|\{(\w+)\}")


def words(lang: str) -> Words:
    return Words(lang, ZONE, CATALOGUE[lang])


@pytest.fixture
def app() -> Flask:
    app = Flask("coop.web", static_folder=None)
    install_words(app, ZONE)

    @app.get("/")
    def lang() -> str:
        return str(g.words.lang)

    return app


def key(message: Message) -> tuple[object, str | None]:
    return message.id, message.context


def messages(lang: str) -> Iterator[Message]:
    return (message for message in read_catalogue(CATALOGUES / f"{lang}.po") if message.id)


def texts(one_or_more: object) -> list[str]:
    if isinstance(one_or_more, (tuple, list)):
        return [str(text) for text in one_or_more]
    return [str(one_or_more)]


@pytest.mark.parametrize("lang", LANGUAGES)
def test_the_catalogue_holds_what_the_code_says_and_nothing_else(lang: str) -> None:
    """After `python -m coop.web.i18n extract` it does."""
    code = {key(message) for message in extracted() if message.id}

    assert len(code) > 30
    assert {key(message) for message in messages(lang)} == code


def test_turkish_is_complete() -> None:
    """A page half in English helps nobody."""
    missing = [
        message.id for message in messages("tr") if message.fuzzy or "" in texts(message.string)
    ]

    assert missing == []


def test_translations_keep_every_placeholder() -> None:
    """A lost placeholder is a lost number; a new one is an error on the page."""
    translated = [message for message in messages("tr") if all(texts(message.string))]
    wrong = []
    for message in translated:
        wanted = {name for text in texts(message.id) for name in PLACEHOLDER.findall(text)}
        said = {name for text in texts(message.string) for name in PLACEHOLDER.findall(text)}
        if wanted != said:
            wrong.append(message.id)

    assert len(translated) > 30
    assert wrong == []


def test_only_extract_is_a_command(capsys: pytest.CaptureFixture[str]) -> None:
    """Catalogues are compiled in memory; there is nothing else to run."""
    assert main(["compile"]) == 2
    assert "extract" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("cookie", "accept", "lang"),
    [
        (None, None, "en"),
        (None, "tr-TR,tr;q=0.9,en;q=0.8", "tr"),
        (None, "de,fr;q=0.9", "en"),
        (None, "en-GB,tr;q=0.5", "en"),
        (None, "tr;q=0", "en"),
        ("tr", "en", "tr"),
        ("en", "tr", "en"),
        ("xx", "tr", "tr"),
        ("../tr", None, "en"),
    ],
)
def test_the_members_choice_comes_before_the_browsers(
    app: Flask, cookie: str | None, accept: str | None, lang: str
) -> None:
    """RFC 9110, 12.5.4 Accept-Language: weights order, zero refuses."""
    client = app.test_client()
    if cookie:
        client.set_cookie(LANGUAGE_COOKIE, cookie)
    headers = {"Accept-Language": accept} if accept else {}

    assert client.get("/", headers=headers).text == lang


def test_the_words_of_the_trade_in_turkish() -> None:
    """The five answers to "may I use it?" stand on every card."""
    said = [
        words("tr").pgettext("may I use it?", text)
        for text in ("good", "look again", "do not use", "resting", "finished")
    ]

    assert said == ["iyi", "yeniden bak", "kullanma", "dinleniyor", "bitti"]


@pytest.mark.parametrize(
    ("lang", "count", "says"),
    [
        ("en", 1, "One thing to put right"),
        ("en", 3, "3 things to put right"),
        ("tr", 1, "Düzeltilecek bir şey var"),
        ("tr", 3, "Düzeltilecek 3 şey var"),
    ],
)
def test_one_thing_and_several(lang: str, count: int, says: str) -> None:
    """Plural forms come from the catalogue."""
    said = words(lang).ngettext(
        "One thing to put right", "%(num)d things to put right", num=count
    )

    assert said == says


def test_a_number_has_the_mark_of_its_language_and_no_grouping() -> None:
    """Unicode CLDR: decimal point in English, comma in Turkish."""
    assert words("en").number(1234.5, 1) == "1234.5"
    assert words("tr").number(1234.5, 1) == "1234,5"
    assert words("en").number(-0.04, 1) == "0.0"
    assert words("en").number(2.0) == "2"
    assert words("en").number(31.25, 1) == "31.3", "half a last digit goes up, as on paper"


@given(st.floats(-1e6, 1e6), st.integers(0, 6))
def test_a_number_keeps_its_decimals(value: float, digits: int) -> None:
    """What is shown is what was measured, to the digit asked for."""
    said = words("en").number(value, digits)

    assert float(said) == pytest.approx(value, abs=0.51 * 10**-digits)
    assert len(said.partition(".")[2]) == digits


@given(st.floats(-1e9, 1e9), st.integers(0, 6), st.sampled_from(LANGUAGES))
def test_a_number_is_written_as_babel_writes_it(value: float, digits: int, lang: str) -> None:
    """Babel reads a pattern for each number, too slow for a chart's thousand."""
    pattern = "0." + "0" * digits if digits else "0"
    with localcontext(rounding=ROUND_HALF_UP):
        theirs = format_decimal(value, format=pattern, locale=lang)

    assert words(lang).number(value, digits).lstrip("-") == theirs.lstrip("-")


def test_a_name_that_ends_in_a_full_stop_ends_the_sentence() -> None:
    """A card says a first name and an initial: Kahu R."""
    english = words("en")

    assert english.gettext("Kept for %(who)s.", who="Kahu R.") == "Kept for Kahu R."
    assert english.gettext("Kept for %(who)s.", who="Saturday") == "Kept for Saturday."


def test_days_are_iso_and_times_are_the_studios() -> None:
    """ISO 8601; Istanbul keeps UTC+3 all the year (from memory)."""
    late = datetime(2025, 9, 26, 22, 30, tzinfo=UTC)

    assert words("tr").moment(late) == "2025-09-27 01:30"
    assert words("tr").day(date(2025, 9, 26)) == "2025-09-26"
    assert words("en").weekday(late) == "Saturday"
    assert words("tr").weekday(late) == "Cumartesi"


def test_a_time_without_a_zone_is_a_mistake() -> None:
    """Nobody could say which evening it was."""
    with pytest.raises(AssertionError, match="zone"):
        words("en").time(datetime(2025, 9, 26, 22, 30))  # noqa: DTZ001 -- the mistake looked for


def test_templates_speak_the_language_of_the_request(app: Flask) -> None:
    """And escape what members typed."""
    with app.test_request_context("/", headers={"Cookie": f"{LANGUAGE_COOKIE}=tr"}):
        app.preprocess_request()
        page = render_template_string(
            "{{ _('Shelf') }} {{ 1.5|number(1) }} {{ typed|translated }}",
            typed="<b>50% rag & mould</b>",
        )

    assert page == "Raf 1,5 &lt;b&gt;50% rag &amp; mould&lt;/b&gt;"


def test_what_looks_words_up_keeps_its_name() -> None:
    """Under another name the catalogue does not see what is said, and it stays English."""
    alias = re.compile(
        r"(\w+)(?:, \w+)* = .*words(?:\(\))?\.(n?p?gettext)(?:,|$)", re.MULTILINE
    )
    found = [
        (file.name, line.strip())
        for file in sorted((ROOT / "coop" / "web").rglob("*.py"))
        for line in file.read_text(encoding="utf-8").splitlines()
        for seen in [alias.search(line)]
        if seen and seen[2] not in line.partition("=")[0].replace(",", " ").split()
    ]

    assert not found
