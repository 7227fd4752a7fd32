"""Help: every figure, rule and kind of entry in plain words, taken from the code."""

import html
import re
from functools import partial
from math import comb
from zoneinfo import ZoneInfo

import pytest

from coop.ledger.kinds import LimitsSet
from coop.ledger.table import ANYONE, KINDS
from coop.rules.gaps import Gap, within_noise
from coop.rules.limits import Limits
from coop.rules.packs.words import Outcome
from coop.rules.reasons import REASONS
from coop.science.defaults import (
    COMMON_PRACTICE,
    DEFAULTS,
    MARKS,
    OUR_OWN,
    PUBLISHED,
    Default,
)
from coop.web.defaults_text import (
    CHANGES,
    GROUPS,
    KIND_ACTS,
    PLAIN,
    RULES,
    UNITS,
    UNSOURCED,
    figure,
    range_of,
    value_text,
    values,
    who_may,
)
from coop.web.drain_words import HEADINGS
from coop.web.i18n import LANGUAGES, Words, read_catalogues
from coop.web.pages.help import SECTIONS
from coop.web.pages.limits import DEFAULTED
from tests.support.files import ROOT
from tests.support.opened import Opened

CATALOGUES = read_catalogues()
ENGLISH = Words("en", ZoneInfo("UTC"), CATALOGUES["en"])


def help_of(house: Opened, first: str = "kahu", **headers: str) -> str:
    """Return the page with its entities read, without the spaces that layout makes."""
    answer = house.client(first).get("/help", headers=headers)
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", re.sub(r">\s+<", "><", html.unescape(answer.text)))


def test_a_member_reads_how_the_numbers_are_made(house: Opened) -> None:
    page = help_of(house)

    assert "<h1>Help</h1>" in page
    assert "nine baths in ten like this one lie between 26 and 36" in page


def test_nobody_reads_it_without_signing_in(house: Opened) -> None:
    answer = house.client().get("/help")

    assert answer.status_code == 302
    assert answer.headers["Location"].startswith("/sign-in")


def test_every_role_may_read_it(house: Opened) -> None:
    """Whoever may be at the tray may know how a figure came about."""
    for first in ("amina", "oluwaseun", "kahu"):
        assert house.client(first).get("/help").status_code == 200


def test_help_is_only_read(house: Opened) -> None:
    assert house.client("kahu").post("/help").status_code in {400, 405}


def test_a_field_it_does_not_know_changes_nothing(house: Opened) -> None:
    assert house.client("kahu").get("/help?about=nothing").status_code == 200


def test_there_is_no_page_under_it(house: Opened) -> None:
    assert house.client("kahu").get("/help/nothing").status_code == 404


@pytest.mark.parametrize("lang", LANGUAGES)
def test_it_is_said_in_every_language(house: Opened, lang: str) -> None:
    """Placeholders of a language that do not fit would fail here."""
    page = help_of(house, **{"Accept-Language": lang})

    assert f'<html lang="{lang}"' in page
    assert 'id="figures"' in page


def test_help_opens_before_anything_is_described(bare: Opened) -> None:
    """The coordinator reads it first of all."""
    page = help_of(bare, "amina")

    assert "Nobody has said yet how strong this house mixes." in page
    assert "Emergency numbers stand here once a studio is described." in page


def test_every_link_of_the_contents_leads_somewhere(house: Opened) -> None:
    """Other pages link to the same anchors."""
    page = help_of(house)
    wanted = [anchor for anchor, _ in SECTIONS]
    ids = re.findall(r'\bid="([^"]+)"', page)

    assert {"spoons", "strip-print", "hydrometer", "figures"}.issubset(wanted)
    assert (
        re.findall(r'<a href="#([\w-]+)">', page.split('class="contents"')[1])[: len(wanted)]
        == wanted
    )
    assert [one for one in ids if one in wanted] == wanted
    assert len(ids) == len(set(ids))


def test_every_default_is_said_in_plain_words() -> None:
    """A figure without words is one nobody can ask about."""
    assert PLAIN.keys() == DEFAULTS.keys()
    assert len({plain.label for plain in PLAIN.values()}) == len(PLAIN)


def test_every_default_stands_in_one_group() -> None:
    named = [name for group in GROUPS for name in group.names]

    assert sorted(named) == sorted(DEFAULTS)


@pytest.mark.parametrize("row", DEFAULTS.values(), ids=DEFAULTS)
def test_a_plain_source_loses_no_figure_and_no_author(row: Default) -> None:
    """The words are for people; what can be looked up must still be there."""
    facts = set(re.findall(r"\d+(?:\.\d+)?|\b[A-Z][A-Za-z]{2,}\b", row.source))
    facts -= {"SG", "standard", "deviation"}
    told = value_text(ENGLISH, row) + range_of(ENGLISH, row)
    told += PLAIN[row.name].label + PLAIN[row.name].source

    assert {fact for fact in facts if fact not in told} == set()


@pytest.mark.parametrize("row", DEFAULTS.values(), ids=DEFAULTS)
def test_every_default_has_a_unit_in_words_and_a_way_to_change_it(row: Default) -> None:
    plain = PLAIN[row.name]

    assert (row.unit == "1") == bool(plain.bare)
    assert (plain.bare or row.unit) in UNITS
    assert plain.change in CHANGES
    assert row.mark in MARKS


def test_no_words_are_kept_for_units_and_ways_that_are_gone() -> None:
    used = {plain.bare or DEFAULTS[name].unit for name, plain in PLAIN.items()}

    assert used == UNITS.keys()
    assert {plain.change for plain in PLAIN.values()} == CHANGES.keys()


def test_what_no_source_stands_behind_is_said_to_be_changeable(house: Opened) -> None:
    """A choice of our own must not pass for a fact of the trade."""
    page = help_of(house)
    ours = [row for row in DEFAULTS.values() if row.mark in {OUR_OWN, COMMON_PRACTICE}]
    marked = re.findall(r'<span class="mark unsourced">([^<]+)</span>(<span>Changeable)?', page)

    assert {OUR_OWN, COMMON_PRACTICE} <= UNSOURCED
    assert PUBLISHED not in UNSOURCED
    assert len(ours) > 30
    assert len(marked) == sum(row.mark in UNSOURCED for row in DEFAULTS.values())
    assert all(change for _, change in marked)


def test_every_default_stands_on_the_page_with_its_figure(house: Opened) -> None:
    page = help_of(house)

    for name in DEFAULTS:
        said = figure(ENGLISH, name, Limits())
        assert f'<dt>{said.label}</dt><dd class="figure"><b>{said.text}</b>' in page


@pytest.mark.parametrize(
    ("name", "text", "range_text"),
    [
        ("pickup_dip_ml_per_m2", "140 mL per m²", "110 to 180"),
        ("alum_g_per_us_tbsp", "14.8 g", "11 to 20"),
        ("do_not_use_fraction", "60 %", "30 to 95"),
        ("level_mm", "± 2 mm", ""),
        ("gravity_sg", "± 0.001", ""),
        ("lidded_doubt_fraction_per_week", "0.5 % a week", "0 to 2"),
        ("strip_print_days", "28 days", "7 to 60"),
        ("chalk_mol_per_mol_potash_alum", "1.5 mol of chalk per mol of potash alum", ""),
    ],
)
def test_a_figure_is_said_with_its_unit_and_range(
    name: str, text: str, range_text: str
) -> None:
    said = figure(ENGLISH, name, Limits())

    assert (said.text, said.range_text) == (text, range_text)


def test_what_a_house_can_set_is_what_its_limits_hold() -> None:
    """Help must not send a coordinator to a page that does not ask for it."""
    fields = LimitsSet.__dataclass_fields__
    settable = {name for name in DEFAULTS if name in fields}

    assert {name for name, plain in PLAIN.items() if plain.change == "house"} == settable
    assert settable == {"target_g_per_l", *DEFAULTED}


def test_the_house_s_own_lines_stand_beside_the_defaults(house: Opened) -> None:
    """The house of the tests: 40 g/L, look again under 75 %, do not use under 62.5 %."""
    page = help_of(house)

    assert "This house mixes to 40 g/L of aluminium sulfate" in page
    assert "look again under 30 g/L, do not use under 25 g/L" in page
    assert "Its strength is under 62.5 % of the target." in page
    assert "<b>60 %</b>" in page
    assert "This house: 62.5 %" in page
    assert "This house: 75 %" not in page


def test_every_rule_is_said_in_the_order_of_the_rules(house: Opened) -> None:
    """The order decides the word."""
    page = help_of(house).split('id="use"')[1].split('id="strength"')[0]
    said = values(ENGLISH, Limits(do_not_use_fraction=0.625))
    places = [page.index(ENGLISH.gettext(RULES[code], **said)) for code in REASONS]

    assert list(RULES) == list(REASONS)
    assert places == sorted(places)
    assert len(set(places)) == len(REASONS)


def test_rules_stand_under_the_word_they_lead_to(house: Opened) -> None:
    page = help_of(house).split('id="use"')[1].split('id="strength"')[0]
    words = re.findall(r'class="word ([\w-]+)"', page)

    assert words == ["finished", "resting", "do-not-use", "look-again", "good"]


def test_every_kind_of_entry_says_who_may_write_it(house: Opened) -> None:
    page = help_of(house)

    assert KIND_ACTS.keys() == KINDS.keys()
    for code, kind in KINDS.items():
        star = " *" if kind.signed_in_only else ""
        row = f'<th scope="row">{KIND_ACTS[code]}</th><td>{who_may(ENGLISH, kind)}{star}</td>'
        assert row in page
    assert who_may(ENGLISH, KINDS["sheets.through"]) == "every member"
    assert who_may(ENGLISH, KINDS["limits.set"]) == "coordinator"
    assert KINDS["sheets.through"].who == ANYONE


def test_gravity_is_read_as_the_curves_say(house: Opened) -> None:
    """
    0.001 is 2.0 g/L of potash alum and 1.76 of aluminium sulfate 14-hydrate.

    Computed by the model of Laliberte and Cooper 2004, J. Chem. Eng. Data 49:1141.
    """
    page = help_of(house)
    told = dict(
        re.findall(r'<th scope="row">([^<]+)</th><td class="number">([\d.]+) g/L', page)
    )

    sulfate = float(told["aluminium sulfate, 14-hydrate (papermaker's alum)"])
    assert sulfate == pytest.approx(1.76, abs=0.005)
    assert float(told["potash alum (pickling alum)"]) == pytest.approx(2.0, abs=0.05)
    assert "ammonium alum" not in told


def test_eight_tablespoons_to_a_gallon_are_a_wide_range(house: Opened) -> None:
    """8 x 14.8 g in 3.785 L are 31 g/L; at 11 and 20 g a spoon 23 and 42 (by hand)."""
    page = help_of(house)

    assert "“8 tablespoons to a gallon” is about 31 g/L" in page
    assert "anything from 23 to 42" in page


def test_the_example_is_what_a_pencil_finds(house: Opened) -> None:
    """
    Sixty sheets of 0.175 m2 at 140 mL a m2 are 1.47 L; 3 L of water more make 480 g in 12 L,
    less what the sheets took, about 31 g/L. 2 mm a day from 0.4 m2 are 0.8 L (by hand).
    """
    page = help_of(house)

    assert "take 24.5 mL each, 1.5 L together" in page
    assert "3.0 L more in the bath above and it is about 31 g/L" in page
    assert "A tub of 740 by 540 mm loses 0.80 L in a day and a night." in page


def test_other_salts_and_waters_are_reckoned_as_a_pencil_does(house: Opened) -> None:
    """
    100 g x 3.365 / 2.108 mmol; 76 of 125 g/L at 10 C (Perry's 7.58 g in 100 g of water);
    1.0 mmol of aluminium is 0.474 g/L; 2 g of crystals over 0.9048 g for a gram of alum;
    58, 40 and 12 C by mass (all by hand).
    """
    told = chapter(help_of(house), "salts")

    assert "100 g of aluminium sulfate, 14-hydrate (papermaker's alum) and 160 g" in told
    assert "make a bath 37 % weaker" in told
    assert "76 g/L stay in the water at 10 °C and 49 g/L lie at the bottom" in told
    assert "62.5 g/L stay clear down to 4 °C" in told
    assert "150 mg/L, as chalk, 0.5 g/L of potash alum, 1.6 % of a bath of 30 g/L" in told
    assert (
        "Soda in the water is worse: 2 g/L of soda crystals (10-hydrate) destroy 2.2 g/L"
        in told
    )
    assert "first 3.9 L at 12 °C, into it 6.1 L at 58 °C" in told


def test_what_dissolving_takes_of_the_warmth_is_not_rounded_to_its_double(
    house: Opened,
) -> None:
    """
    Half a degree for 30 g/L: the heat of solution of potash alum and the heat capacity of
    water (handbook figures, from memory) make 0.46 to 0.64.
    """
    assert "Dissolving potash alum takes some of the warmth, 30 g/L about 0.5 °C." in chapter(
        help_of(house), "salts"
    )


def chapter(page: str, anchor: str) -> str:
    return page.split(f'id="{anchor}"')[1].split("</section>")[0]


def test_the_chapters_of_size_stacks_and_faults_name_every_figure_they_use(
    house: Opened,
) -> None:
    """A sum whose figures stand elsewhere cannot be followed with a pencil."""
    page = help_of(house)
    anchors = ("size", "keeps", "drop-test", "run-out", "stacks", "faults", "jugs")
    told = "".join(chapter(page, anchor) for anchor in anchors)
    groups = {"size", "other-baths", "stacks", "counts", "jugs"}
    names = [
        name
        for group in GROUPS
        if group.anchor.removeprefix("figures-") in groups
        for name in group.names
    ]

    assert len(names) > 30
    for name in names:
        row = DEFAULTS[name]
        assert value_text(ENGLISH, row) in told or range_of(ENGLISH, row) in told, name


def test_the_order_list_is_reckoned_as_a_pencil_does(house: Opened) -> None:
    """
    577 - 130 x 11 / 7 - 240 = 133; 150 + 4 x 130 - 133 = 537, two packs of 454; over the
    floor 133 + 908 - 150 = 891 are 6.9 weeks; 0.9^3 x 0.325 x 240 = 57 (by hand).
    """
    told = chapter(help_of(house), "orders").replace("\N{MINUS SIGN}", "-")

    assert "577 g - 204 g - 240 g = 133 g on 2025-10-12, under the floor of 150 g" in told
    assert "150 g + 520 g - 133 g = 537 g, that is 2 packs of 454 g" in told
    assert "enough for about 7 weeks" in told
    assert "(134.5 + 134.5 + 170.0 + 139.0 + 85.0) ÷ 5 = 132.6, so 130 g" in told
    assert "0.25, then 0.325, after the others 0.237; times 240 g are 57 g a week" in told
    assert "What was spoiled or sold is use as well" in told


def test_counting_noise_is_told_as_it_is_judged(house: Opened) -> None:
    """2 % of 577 are 11.5: 566 is noise, 565 is not, by the rule itself."""
    told = chapter(help_of(house), "counting")
    seen = partial(Gap, measure="weight", expected=577, doubt=0)

    assert "Of 577 g that is 11.5 g: from 566 g on it is closed by itself" in told
    assert "2 reams of 480 taken for 500 are 40 sheets short" in told
    assert (within_noise(seen(seen=566)), within_noise(seen(seen=565))) == (True, False)


def test_the_chapters_of_the_shelf_name_every_figure_they_use(house: Opened) -> None:
    """A sum whose figures stand elsewhere cannot be followed with a pencil."""
    page = help_of(house)
    told = "".join(
        chapter(page, anchor) for anchor in ("orders", "counting", "good-until", "class")
    )
    groups = {"figures-stock", "figures-sessions", "figures-shelf"}
    names = [name for group in GROUPS if group.anchor in groups for name in group.names]

    assert len(names) > 20
    for name in names:
        row = DEFAULTS[name]
        assert value_text(ENGLISH, row) in told, name


def test_what_a_class_takes_is_told_with_the_usual_figures(house: Opened) -> None:
    """12 x 12.5 = 150 quarters of 38 full sheets; 12 x 4 L = 48 L at 5 g/L = 240 g."""
    told = chapter(help_of(house), "class")

    assert "are 150 quarter sheets, cut from 38 full ones" in told
    assert "48.0 L, with 240 g of carrageenan; and 12 pairs of gloves" in told


def test_a_size_is_reckoned_as_a_pencil_does(house: Opened) -> None:
    """
    17 L at 5 g/L are 85 g; 9 L of 6 g/L hold 54 g, which at 5 g/L are 10.8 L; 9 L of 4 g/L
    and 3 L of 8 g/L hold 60 g in 12 L (by hand).
    """
    told = chapter(help_of(house), "size")

    assert "17.0 L at 5 g/L are 85 g." in told
    assert "9.0 L of 6 g/L become 5 g/L with 1.8 L of water" in told
    assert "9.0 L of 4 g/L become 5 g/L with 3.0 L of 8 g/L" in told
    assert (
        "about 146 more sheets of 0.175 m², at least 64" in told
    )  # 9000 / (0.175 x 350 | 800)


def test_warm_days_are_reckoned_as_a_pencil_does(house: Opened) -> None:
    """(24 + 0.2 x 48) / 24 = 1.4; at 4 °C 2.5^-1.6 = 0.23, (14/30)^2 = 0.22 (by hand)."""
    told = chapter(help_of(house), "keeps")

    assert "3 days old, 2 of them chilled, is like 1.4 warm days" in told
    assert "0.23 where ten degrees make it 2.5" in told
    assert "0.22 by the square-root law" in told


def test_a_standard_cup_is_read_by_its_formula(house: Opened) -> None:
    """ISO 2431, cup 4 mm: 1.37 x 50 - 200 / 50 = 64.5 mm2/s."""
    told = chapter(help_of(house), "run-out")

    assert "ISO cup 4 mm: " in told
    assert "1.37 t − 200 ÷ t, so 50 s are 64.5 mm²/s" in told  # noqa: RUF001  # a minus sign


def test_seven_of_forty_are_told_with_their_chance_and_range(house: Opened) -> None:
    """
    40 of 334 sheets drawn, 27 of them washed off: Fisher's tail, summed here from binomials.
    Wilson's interval of 7 of 40 at z 1.645 (by hand): (0.175 + 0.0338 -+ 1.645 x 0.0635)
    / 1.0677 = 9.8 and 29.3 %.
    """
    so_many = sum(comb(27, n) * comb(334 - 27, 40 - n) for n in range(7, 28))
    one_in = round(comb(334, 40) / so_many)
    told = chapter(help_of(house), "faults")

    assert one_in == 34
    assert f"about 3 is usual, and so many come by chance one time in {one_in}" in told
    assert "7 of 40 are between 10 and 29 %" in told


def test_every_caution_is_said_with_its_figure(house: Opened) -> None:
    """A caution with a hole in it is none."""
    page = help_of(house)

    assert "Hand-hot tap water, 45 °C at most; only plastic jugs." in page
    assert "%(" not in page


def test_the_usual_cautions_and_the_numbers_to_call_stand_on_it(house: Opened) -> None:
    page = help_of(house)

    assert "In the eye: tap water at once, lids open, at least 15 minutes" in page
    assert "Ropewalk: Emergency: 112. Poison centre: 0555 0100." in page


def test_the_spans_are_those_the_ledger_keeps_to(house: Opened) -> None:
    page = help_of(house)

    assert "taken back in one tap for 10 minutes and corrected for 14 days" in page
    assert "It ends after 30 days, or 14 without a visit" in page


def test_help_says_what_each_state_of_a_line_promises(house: Opened) -> None:
    """The words are those of the phone's own page, each with what it is worth."""
    page = help_of(house).split('id="no-signal"')[1].split("</section>")[0]
    phone = (ROOT / "coop/web/templates/offline.html").read_text(encoding="utf-8")

    terms = re.findall(r"<dt>([^<]+)</dt>", page)
    assert terms[:4] == [
        "waiting on this phone",
        "the studio has it",
        "kept in two places",
        "needs a person",
    ]
    assert [one for one in terms[1:] if f'_("{one}")' not in phone] == []
    for said in ("against mistakes, not against thieves", "read the tag on the tub", "lost"):
        assert said in page


def test_the_page_that_sets_a_phone_up_leads_there(house: Opened) -> None:
    assert 'href="/help#no-signal"' in house.client("kahu").get("/device/enrol").text


def test_what_is_kept_of_a_phone_is_told(house: Opened) -> None:
    """It stands where all else stands that is kept about a member."""
    page = help_of(house).split('id="kept"')[1].split("</section>")[0]

    assert "which browser, how many lines wait on them" in page


def test_the_answers_of_a_drain_stand_from_mild_to_strict(house: Opened) -> None:
    """Whoever reads only the heading of an answer finds here what stands above it."""
    told = chapter(help_of(house), "waste")
    places = [
        told.index(f"<li>{ENGLISH.gettext(HEADINGS[one]).partition(':')[0]}") for one in Outcome
    ]

    assert places == sorted(places)
    assert "Your local authority decides." in told
    assert re.search(r"\b(allowed|legal|safe|compliant)\b", told) is None


def test_wastes_are_reckoned_as_a_pencil_does(house: Opened) -> None:
    """30 mL x 50 mg/mL = 1500 mg, in 12 L 125 mg/L; 5 g/L x 0.94 = 4.7 g/L (by hand)."""
    told = chapter(help_of(house), "waste")

    assert "in 12 L, are no more than 125 mg/L" in told
    assert "5 g/L of carrageenan are 4.7 g of oxygen for a litre" in told


def test_an_old_alum_bath_is_neutralised_as_a_pencil_does(house: Opened) -> None:
    """
    Potash alum, 474.39 g/mol: three of baking soda (84.007) are 0.531 g for a gram, one and a
    half of soda (105.99) 0.335, of its crystals (286.14) 0.905, of lime (74.093) 0.234.

    Atomic masses of IUPAC. 232 g x 0.8488 = 197 g; 3 x 5.8 L = 17.4, so 18 L; 4/5 of 95 % are
    150 g; 232 / 594.4 x 6 = 2.34 mol of gas at 24.06 L are 56 L; 61 g are 5 % of 1.2 kg;
    232 / 594.4 x 3 x 96.06 / 5.8 = 19.4 g/L of sulfate (by hand).
    """
    told = chapter(help_of(house), "neutralising")
    row = re.search(r'<th scope="row">potash alum[^<]*</th>(.*?)</tr>', told, re.DOTALL)

    assert row
    assert set(re.findall(r">([\d.]+)<", row[1])) >= {"0.531", "0.335", "0.905", "0.234"}
    assert '<th scope="row">ammonium alum' not in told
    assert "232 g of aluminium sulfate in 5.8 L want 197 g of baking soda" in told
    assert "so 18 L, for it foams" in told
    assert "what is in the bucket, 150 g, a spoon at a time" in told
    assert "about 56 L of carbon dioxide" in told
    assert "About 1.2 kg of floc" in told
    assert "19.4 g/L stay in it" in told


def test_the_chapters_of_wastes_name_every_figure_they_use(house: Opened) -> None:
    """A sum whose figures stand elsewhere cannot be followed with a pencil."""
    page = help_of(house)
    told = "".join(chapter(page, one) for one in ("waste", "neutralising", "waste-jars"))
    groups = {"figures-neutralising", "figures-waste"}
    names = [name for group in GROUPS if group.anchor in groups for name in group.names]

    assert len(names) > 12
    for name in names:
        assert value_text(ENGLISH, DEFAULTS[name]) in told, name


def test_each_answer_about_records_says_what_it_keeps_and_why(house: Opened) -> None:
    """29 CFR 1910.1020 has thirty years for employees; nobody is given them in silence."""
    told = chapter(help_of(house), "waste-jars")
    answers = dict(re.findall(r"<p><b>([^<]+)</b>(.*?)(?=<p><b>|$)", told, re.DOTALL))

    assert list(answers) == [
        "somebody is employed here",
        "members only",
        "nobody has answered yet",
    ]
    assert "30 years at least (29 CFR 1910.1020" in answers["somebody is employed here"]
    assert "30 years" not in answers["members only"]
    assert "all of them" in answers["nobody has answered yet"]
