"""Reasons, next acts, how known, what is odd: every code of the core has its sentence."""

import re
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from coop.rules import impossible, stacks
from coop.rules.liquids import Look
from coop.rules.reasons import REASONS, SOURCES, Reason, Word
from coop.rules.stacks import Kept
from coop.rules.use import ACTS, HowKnown, Known
from coop.web import reasons
from coop.web.i18n import LANGUAGES, Words, read_catalogues
from coop.web.reasons import Telling
from tests.support.files import python_files

NOW = datetime(2025, 9, 20, 9, 0, tzinfo=UTC)
YESTERDAY = NOW - timedelta(days=1)
SAMPLES: dict[str, Any] = {
    "stopped_by": "m",
    "stop_reason": "washed_off",
    "instrument": "hydrometer",
    "since": "mixed",
    "paper": "P-31",
    "c_g_per_l": 18.2,
    "line_g_per_l": 25.0,
    "low_g_per_l": 22.4,
    "floor_g_per_l": 30.0,
    "volume_l": 5.2,
    "laying_l": 6.0,
    "chance": 0.2,
    "off_sigma": 4.2,
    "read": 23.0,
    "read_low": 21.0,
    "read_high": 25.0,
    "reckoned": 40.0,
    "line_sigma": 3.0,
    "warm_days": 4.2,
    "line_days": 4.0,
    "age_days": 6.26,
    "chilled_days": 2.5,
    "spread_mm": 32.0,
    "low_mm": 40.0,
    "high_mm": 60.0,
    "look": "skin",
    "kept": "open",
    "use_by": YESTERDAY,
    "funnel": "Funnel 2",
    "member": "m",
    "session": "",
}
CATALOGUES = read_catalogues()


def telling(lang: str = "en") -> Telling:
    words = Words(lang, ZoneInfo("UTC"), CATALOGUES[lang])
    return Telling(words=words, now=NOW, name_of=lambda one: "Oluwaseun A.")


def sample(code: str, **changes: Any) -> Reason:
    numbers = {}
    for name in REASONS[code].names:
        usual = YESTERDAY if name.endswith(("_at", "until")) else 2
        numbers[name] = changes.get(name, SAMPLES.get(name, usual))
    return Reason.of(code, **numbers)


@pytest.mark.parametrize("lang", LANGUAGES)
@pytest.mark.parametrize("code", REASONS)
def test_every_reason_is_a_sentence(code: str, lang: str):
    """A code on a page would help nobody."""
    told = reasons.reason(telling(lang), sample(code))

    assert told.endswith(".")
    assert not re.search(r"%|_|None", told)
    assert told[0] == told[0].upper()


def test_a_stop_that_was_poured_in_names_the_bath_it_came_from():
    """Nobody stopped this one, and until today it was good."""
    here = reasons.reason(telling(), sample("stopped", poured_from="", poured_in_at=""))
    came = sample("stopped", poured_from="B-A3", poured_in_at=NOW - timedelta(minutes=5))

    assert here == "Stopped by Oluwaseun A., yesterday 09:00: sheets washed off."
    assert reasons.reason(telling(), came) == (
        "Not to be used since B-A3 was poured in, today 08:55. "
        "Oluwaseun A. stopped B-A3, yesterday 09:00: sheets washed off."
    )


@pytest.mark.parametrize("lang", LANGUAGES)
def test_every_table_holds_the_codes_of_the_core_and_no_others(lang: str):
    words = telling(lang).words

    assert tuple(reasons.ACTS) == ACTS
    assert set(reasons.SOURCES) == SOURCES
    assert {reasons.act(words, code, "b")[0] for code in ACTS}.isdisjoint(ACTS)
    assert all(reasons.source(words, sample(code)) for code in REASONS)
    assert len({reasons.word(words, word) for word in Word}) == len(Word)


@pytest.mark.parametrize("lang", LANGUAGES)
def test_every_finding_of_the_ledger_has_its_sentence(lang: str):
    """The codes are read out of the code, as they stand nowhere in one table."""
    raised = re.compile(r'(?:Finding\(\s*code=|GravityRefused\(\s*)"([a-z-]+)"')
    found = {code for path in python_files("coop") for code in raised.findall(path.read_text())}

    assert len(found) > 10
    assert found == set(reasons.FINDINGS)
    assert set(reasons.IMPOSSIBLE) == set(reasons.MENDS) == impossible.CODES
    codes = found | impossible.CODES
    assert all(reasons.finding(telling(lang).words, code).endswith(".") for code in codes)


@pytest.mark.parametrize("lang", LANGUAGES)
@pytest.mark.parametrize("kind", Known)
def test_how_it_is_known_is_said_beside_the_word(kind: Known, lang: str):
    told = reasons.how_known(telling(lang), HowKnown(kind, YESTERDAY))

    assert "09:00" in told
    assert "%" not in told


def test_a_weak_bath_says_why_and_by_how_much():
    """The manner of speaking of the trade: the cause, the figure, the line."""
    told = reasons.reason(telling(), sample("under-do-not-use-line"))

    assert told == (
        "Two water-only top-ups since the last test: about 18 g/L, not to be used under 25."
    )


def test_a_bath_weak_without_water_only_top_ups_says_only_the_figure():
    told = reasons.reason(telling(), sample("under-do-not-use-line", water_only_count=0))

    assert told == "About 18 g/L, not to be used under 25."


def test_one_and_many_are_told_apart():
    one = reasons.reason(telling(), sample("used-while-stopped", sheet_count=1))
    many = reasons.reason(telling(), sample("used-while-stopped", sheet_count=40))

    assert one == "One sheet went through while it was stopped."
    assert many == "40 sheets went through while it was stopped."


def test_a_strip_print_due_since_the_last_sharp_one_says_so():
    told = reasons.reason(telling(), sample("strip-print-due", since="strip-print"))

    assert "last sharp one" in told


@pytest.mark.parametrize(
    ("code", "changes", "sentence"),
    [
        (
            "size-warm-days",
            {},
            "4.2 warm days of 4; it is 6.3 days old, 2.5 of them chilled.",
        ),
        (
            "drop-cloudy-thread",
            {},
            "Drop test yesterday 09:00: cloudy thread, the size is sour.",
        ),
        (
            "drop-spread-off",
            {"spread_mm": 32.5},
            "Drop test yesterday 09:00: the drop spread to 32.5 mm, good is 40 to 60.",
        ),
        ("past-its-days", {"line_days": 14}, "6.3 days old: look again from 14 days on."),
        (
            "stack-past-use-by",
            {"kept": "bagged", "age_days": 15.0, "line_days": 14},
            "Alumed 15.0 days ago: in a closed bag it keeps 14.",
        ),
        ("none-left", {"sheet_count": 1}, "Its one sheet is used or thrown away."),
        ("none-left", {"sheet_count": 60}, "All its 60 sheets are used or thrown away."),
        ("kept-for", {}, "Kept for Oluwaseun A. until yesterday 09:00."),
        (
            "kept-for",
            {"member": "", "session": "Saturday class", "kept_until": ""},
            "Kept for Saturday class.",
        ),
    ],
)
def test_liquids_and_stacks_are_told_with_their_figures(
    code: str, changes: dict[str, Any], sentence: str
):
    """The figure and the line it is held against, in the trade's words."""
    assert reasons.reason(telling(), sample(code, **changes)) == sentence


@pytest.mark.parametrize("look", [one for one in Look if one not in (Look.FINE, Look.MOULD)])
def test_every_odd_look_has_its_sentence(look: Look):
    """Each of them says what was seen."""
    told = reasons.reason(telling(), sample("looks-odd", look=look.value))

    assert told.endswith(", yesterday 09:00.")
    assert set(reasons.LOOKS) == set(Look) - {Look.FINE, Look.MOULD}


def test_every_way_of_keeping_a_stack_has_its_sentence():
    assert set(reasons.STACK_DAYS) == set(Kept)


def test_every_next_act_of_a_stack_has_its_text_and_page():
    assert tuple(reasons.STACK_ACTS) == stacks.ACTS
    for code in stacks.ACTS:
        text, url = reasons.stack_act(telling().words, code, stack="s1")
        assert text != code
        assert url.startswith("/stacks/s1")


def test_what_another_reason_implies_stands_under_the_same_or_a_worse_word():
    """Hiding a reason must never hide the worse of two."""
    assert set(reasons.IMPLIED) <= set(REASONS)
    for code, implied in reasons.IMPLIED.items():
        for other in implied:
            assert sample(code) < sample(other)


def test_every_next_act_leads_to_a_page_of_its_bath_or_of_the_house():
    urls = {reasons.act(telling().words, code, "b1")[1] for code in ACTS}

    here, elsewhere = ("/baths/b1", "/drain/bath/b1"), ("/shelf", "/house")
    assert all(url.startswith(here) or url in elsewhere for url in urls)
