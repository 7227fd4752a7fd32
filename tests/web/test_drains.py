"""What a page says of a decision about a drain: every code has its words, none is too bold."""

import re
from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from coop.rules.packs import amounts, stops, whys
from coop.rules.packs import words as codes
from coop.rules.packs.decisions import Decision, freeze, thaw
from coop.rules.packs.facts import Added, Facts, Start, Tally
from coop.rules.packs.words import Outcome, Verdict
from coop.web import drain_words as texts
from coop.web.drains import DrainSaid, RuleLine, limit, told
from coop.web.i18n import LANGUAGES, Words, extracted, read_catalogues
from tests.rules.packs.at_hand import (
    BARN,
    DISTRICT_A,
    FLOOR,
    NOW,
    ROPEWALK,
    TODAY,
    WASTE,
    bath,
    decided,
    look,
    metal,
    pack,
    permission,
    ph,
    read,
    reckoned,
    stating,
    strip,
    without,
)

CATALOGUES = read_catalogues()
PACKS = (FLOOR, WASTE, DISTRICT_A, ROPEWALK, BARN)
ROPES = ("us", "ropewalk")
CLOSED = {
    "outlet": codes.OUTLETS,
    "waste": codes.WASTES,
    "substance": codes.SUBSTANCES,
    "step": codes.STEPS,
    "duty": codes.DUTIES,
    "shown": codes.SHOWN,
    "record": codes.RECORDS,
    "evidence": codes.EVIDENCES,
    "tier": codes.TIERS,
    "quantity": tuple(amounts.MEASURES),
    "analyte": codes.ANALYTES,
    "basis": codes.BASES,
    "look": codes.LOOKS,
    "device": codes.DEVICES,
    "fact": (*codes.FACTS, "contents", "closed"),
}
BOLD = re.compile(
    r"\b(?:dis)?allow\w*|\b(?:il)?legal\w*|\b(?:un)?safe(?:ly)?\b|\b(?:non-?)?complian\w*",
    re.IGNORECASE,
)
OURS = re.compile(
    r"\b(?:entry|entries|draft|seal|sync|queue|server|outbox|device)s?\b", re.IGNORECASE
)


def words(lang: str = "en") -> Words:
    return Words(lang, ZoneInfo("UTC"), CATALOGUES[lang])


def say(decision: Decision, lang: str = "en") -> DrainSaid:
    return told(words(lang), decision)


def rope_bath(*readings: Any, **more: Any) -> Decision:
    return decided(bath(*readings, area=ROPES, **more), ROPEWALK)


def lines_of(decision: Decision, rule: str) -> list[RuleLine]:
    spoken = zip(decision.spoken, say(decision).rules, strict=True)
    return [line for one, line in spoken if one.rule == rule]


def line_of(decision: Decision, rule: str) -> RuleLine:
    (line,) = lines_of(decision, rule)
    return line


def own_texts() -> list[str]:
    """Return every English text of the two modules, one and many apart."""
    found: list[str] = []
    for message in extracted():
        places = {place for place, _ in message.locations}
        if places & {"web/drains.py", "web/drain_words.py"}:
            found += [message.id] if isinstance(message.id, str) else list(message.id)
    return found


def every_decision() -> list[Decision]:
    """Return decisions of every waste at every outlet, with little known and with much."""
    much = bath(strip("3.5"), metal("copper", "2"), look("lumps", "yes"), starts=STARTS)
    little = replace(much, readings=(), stated=(), permissions=(), starts=(), volume_ml=None)
    return [
        decided(replace(facts, waste=waste, outlet=outlet, area=area), *PACKS)
        for facts in (much, little, stating(much, jar_area="central", metal_pigments="yes"))
        for waste in codes.WASTES
        for outlet in codes.OUTLETS
        for area in (ROPES, ("us", "demo-district-a"), ("us", "orchard-barn"))
    ]


STARTS = tuple(Start(event=one, on=TODAY - timedelta(days=100)) for one in codes.STARTS)


def test_no_text_says_more_than_the_ledger_can_know() -> None:
    """Only an authority can say that something is allowed, and no ledger that it is safe."""
    found = own_texts()

    assert len(found) > 200
    assert [text for text in found if BOLD.search(text)] == []
    assert [text for text in found if OURS.search(text)] == []


@pytest.mark.parametrize("bold", ["You are allowed", "not legal", "It is safe", "compliant."])
def test_a_bold_word_is_found(bold: str) -> None:
    assert BOLD.search(bold)
    assert not BOLD.search("the supplier's own safety sheet")


def test_each_closed_set_has_its_words_in_its_order() -> None:
    """A code on a page would help nobody; a form offers them as the rules name them."""
    assert {group: tuple(table) for group, table in texts.CHOICES.items()} == CLOSED


def test_each_table_holds_the_codes_of_the_rules_and_no_others() -> None:
    units = {unit for one in amounts.MEASURES.values() for unit in one.units}
    answers = {fact: tuple(table) for fact, table in texts.ANSWERS.items()}

    assert set(texts.WHYS) == whys.WHYS - {""}
    assert tuple(texts.HEADINGS) == tuple(texts.NEXT) == tuple(Outcome)
    assert set(texts.VERDICTS) == set(texts.CLASS_VERDICTS) == set(Verdict)
    assert set(texts.STOPS) == {one.rule for one in stops.STOPS} | {"stop-not-known"}
    assert tuple(texts.LIMITS) == codes.HOLDS_IF
    assert tuple(texts.LOOK_TESTS) == codes.LOOKS
    assert tuple(texts.MEASURE_WITH) == codes.DEVICES
    assert set(texts.WHOM) == codes.ASKED_OUTLETS
    assert set(texts.UNITS) == units
    assert answers == codes.FACTS


def test_the_classes_of_the_shipped_rules_have_their_words() -> None:
    """A waste code stands as it is; all else a person has to understand."""
    pairs = {pair for one in PACKS for rule in one.rules for pair in rule.sets}

    assert {fact for fact, _ in pairs} == set(texts.CLASSES)
    assert {value for fact, value in pairs if fact != "waste_code"} < set(texts.CLASS_VALUES)


def test_what_holds_everywhere_names_its_source_in_the_members_language() -> None:
    """The rules name these in English: what they name is what the catalogue is asked for."""
    together = bath(contents=codes.SUBSTANCES, closed="yes")
    unsaid = bath(adding=("soda",))
    decisions = (*every_decision(), decided(together), decided(unsaid))
    asked = [one for decision in decisions for one in decision.spoken]
    documents = {one.document for one in asked if not one.pack and one.rule != "permission"}

    assert documents - set(texts.SOURCES) == {"40 CFR 265 appendix V"}
    assert set(texts.SOURCES) <= documents


@pytest.mark.parametrize("lang", LANGUAGES)
def test_every_rule_that_spoke_is_told_in_sentences(lang: str) -> None:
    """No code, no placeholder and no empty line, whatever is known and whatever is not."""
    odd = re.compile(r"%|None|[a-z]_[a-z]|Fraction")
    decisions = every_decision()
    lines = [line for one in decisions for line in say(one, lang).rules]

    assert {one.outcome for one in decisions} >= set(Outcome) - {Outcome.AFTER_STEPS}
    assert [one for one in lines if not one.sentence.endswith(".")] == []
    assert [one for one in lines if odd.search(" ".join((one.sentence, *one.readings)))] == []


def test_every_decision_ends_with_who_decides() -> None:
    assert {say(one).closing for one in every_decision()} == {"Your local authority decides."}


@pytest.mark.parametrize(
    ("facts", "heading"),
    [
        (bath(ph("7.5")), "Nothing you recorded forbids it"),
        (bath(ph("7.5"), area=ROPES), "Nothing forbids it, after these steps"),
        (
            bath(ph("7.5"), area=ROPES, permissions=()),
            "Ask first: Ropewalk sewer board (invented)",
        ),
        (bath(ph("7.5"), area=("us", "x")), "Ask first: the authority of the sewer"),
        (bath(area=ROPES), "Measure first"),
        (bath(strip("3.5"), area=ROPES), "Not yet"),
        (bath(ph("7.5"), area=ROPES, waste="not_known"), "Keep in the waste jar"),
        (bath(ph("7.5"), area=ROPES, outlet="storm"), "Not down here"),
    ],
)
def test_each_outcome_is_said_in_its_own_words(facts: Facts, heading: str) -> None:
    """They are the only words that stand over a drain, on every page."""
    assert say(decided(facts, ROPEWALK, district())).heading == heading


def district() -> Any:
    """Return a pack of demo district A that wants a pH and nothing else."""
    one = pack(
        'id = "ph"\nkind = "LIMIT"\noutlets = ["sewer"]\nquantity = "ph"\n'
        'holds_if = "at_least"\nlow = 6\nunit = "ph"'
    )
    return replace(one, area=("us", "demo-district-a"))


def test_a_bath_that_is_too_sour_says_its_figure_and_the_limit() -> None:
    """The manner of the trade: what was read, what is needed."""
    page = say(rope_bath(ph("3.3")))

    assert page.why == "pH 3.3, needs 6.0 to 10.0."
    assert page.next == "Treat it, then measure again."
    assert page.steps == ("Strain it through cloth.", "Keep the solids out of the drain.")


def test_figures_have_the_mark_of_the_language() -> None:
    """Unicode CLDR: the decimal mark of Turkish is a comma."""
    decision = rope_bath(ph("3.3"))
    (rule,) = (one for one in decision.spoken if one.rule == "alum-ph")

    assert limit(words("en"), rule) == "6.0 to 10.0"
    assert re.findall(r"\d+,\d", limit(words("tr"), rule)) == ["6,0", "10,0"]
    assert "3,3" in say(decision, "tr").why


def test_a_line_names_reading_source_evidence_and_pack() -> None:
    line = line_of(rope_bath(strip("3.5")), "alum-ph")

    assert line == RuleLine(
        verdict="fails",
        word="does not hold",
        sentence="pH 3.5, needs 6.0 to 10.0.",
        readings=("3.5, pH strip, one step is 0.5, 2026-11-27 09:45",),
        says="spent alum solution, strained, between pH 6.0 and pH 10.0",
        source="letter (invented) 1",
        evidence="invented, to try things out",
        pack="Ropewalk: what the invented sewer board wrote",
        advice=False,
    )


def test_what_is_missing_is_asked_for_with_what_reads_it() -> None:
    """Whoever stands at the tub has to know what to fetch."""
    facts = without(bath(area=ROPES), "yes_no", "lumps")
    page = say(decided(facts, ROPEWALK, FLOOR))
    acidity, lumps = page.measure

    assert page.why == "pH: needs 6.0 to 10.0. Nobody measured it."
    assert acidity.what == "pH"
    assert acidity.devices == ("a pH strip in half steps", "a pH meter checked today")
    assert lumps.what == "Does a screen with 13 mm holes hold lumps back?"
    assert "13 mm" in lumps.test


def test_what_somebody_has_to_say_is_a_question_with_answers() -> None:
    """Whether a rule applies may hang on it."""
    decision = decided(replace(bath(ph("7")), stated=()), FLOOR)
    asked = {one.fact: one for one in say(decision).questions}
    unsaid = {one.fact: one for one in say(decided(bath(adding=("soda",)))).questions}

    assert asked["premises"].question == "Is it waste of a household or of a business?"
    assert [code for code, _ in asked["premises"].answers] == ["household", "business"]
    assert [code for code, _ in unsaid["contents"].answers] == list(codes.SUBSTANCES)


@pytest.mark.parametrize(
    ("facts", "why"),
    [
        (
            bath(strip("6.0"), area=ROPES),
            "pH 6.0, needs 6.0 to 10.0. The reading does not clear the limit by one step of "
            "its scale. On this scale it has to read 6.5 to 9.5.",
        ),
        (
            bath(ph("7.2", ago_h=30), area=ROPES),
            "pH 7.2, needs 6.0 to 10.0. The reading is too old, or something was put in since.",
        ),
        (
            bath(ph("7.2", device="meter", step=Fraction(1, 10)), area=ROPES),
            "pH 7.2, needs 6.0 to 10.0. Nobody checked the meter, so its reading does not "
            "count.",
        ),
        (
            bath(ph("7.2"), area=ROPES, volume_ml=Fraction(20_500)),
            "Together 20.5 L, needs at most 20 L.",
        ),
        (
            bath(look("runs", "no"), area=ROPES, waste="size"),
            "Does it run? Found no, needs yes.",
        ),
        (
            bath(ph("7.2"), area=ROPES, permissions=(permission("no"),)),
            "They were asked, and said no.",
        ),
        (
            bath(area=("us", "orchard-barn"), outlet="septic"),
            "It is not taken here. It is written: nothing from marbling goes into the septic "
            "tank: no alum, no size, no rinse water.",
        ),
    ],
)
def test_the_deciding_rule_is_told_first(facts: Facts, why: str) -> None:
    """One sentence with its number, not the list of all that holds as well."""
    assert say(decided(facts, ROPEWALK, BARN)).why == why


def test_water_is_no_way_around_a_limit() -> None:
    """What was thinned to pass is stopped and explained, and can still be treated."""
    water = (Added(what="water", at=NOW - timedelta(hours=1)),)
    page = say(rope_bath(ph("3.3", ago_h=3), added=water))

    assert page.heading == "Not down here"
    assert page.why == (
        "pH 3.3, needs 6.0 to 10.0. Water does not put it right: the reading before the water "
        "went in counts."
    )
    assert page.next == "Treat it, then measure again."


def test_a_stop_stands_before_all_else() -> None:
    """Common practice, no source: bleach and any acid give chlorine."""
    page = say(rope_bath(strip("3.5"), contents=("alum",), adding=("bleach",)))
    never = (
        "Never bleach with alum, vinegar or another acid: it gives off chlorine, a "
        "poisonous gas."
    )

    assert page.stops == (never,)
    assert page.why == never
    assert page.next.startswith("Stop: do not put these together.")
    assert page.next in page.duties


@pytest.mark.parametrize(
    ("reading", "sentence"),
    [
        (
            reckoned("aluminium", "0", "2275"),
            "Aluminium reckoned at no more than 2275 mg/L, needs at most 50 mg/L. By what was "
            "put in, it can be on either side of the limit.",
        ),
        (
            reckoned("aluminium", "2000", "2274.95"),
            "Aluminium reckoned at 2000 to 2275 mg/L, needs at most 50 mg/L.",
        ),
        (
            replace(metal("aluminium", "60"), how="not_detected", low=Fraction(0)),
            "Aluminium not found (under 60 mg/L), needs at most 50 mg/L. Nothing was found, "
            "but the method does not see that fine.",
        ),
        (metal("aluminium", "12.5"), "Aluminium 12.5 mg/L, needs at most 50 mg/L."),
        (
            replace(metal("aluminium", "12500"), unit="ug_per_l"),
            "Aluminium 12500 µg/L, needs at most 50 mg/L.",
        ),
    ],
)
def test_a_figure_is_told_as_it_was_come_by(reading: Any, sentence: str) -> None:
    """A figure of the recipe, or none that was found, is no reading."""
    decision = decided(bath(ph("7"), reading), DISTRICT_A)

    assert line_of(decision, "aluminium").sentence == sentence


def test_a_sum_without_an_end_is_shown_in_few_decimals() -> None:
    """NIST Handbook 44, appendix C: a US gallon is 3.785412 L (from memory); 7 L: 1.8492."""
    rule = (
        'id = "a-day"\nkind = "TOTAL"\noutlets = ["sewer"]\nquantity = "volume"\n'
        'holds_if = "at_most"\nhigh = 1.5\nunit = "us_gallon"\nsum_of = "poured"\nspan = "day"'
    )
    decision = decided(bath(ph("7"), volume_ml=Fraction(7000)), pack(rule))

    assert line_of(decision, "a-day").sentence == (
        "Together 1.85 US gallons, needs at most 1.5 US gallons."
    )


def test_ammonia_says_as_what_it_is_counted() -> None:
    rule = (
        'id = "ammonia"\nkind = "LIMIT"\noutlets = ["sewer"]\nquantity = "mass_per_volume"\n'
        'of = "ammonia"\nbasis = "as_n"\nholds_if = "under"\nhigh = 30\nunit = "mg_per_l"'
    )
    page = say(decided(bath(), pack(rule)))

    assert page.why == (
        "Ammonia (counted as nitrogen): needs under 30 mg/L. Nobody measured it."
    )
    assert page.measure[0].devices == ("a laboratory",)


def test_a_jar_tells_its_class_and_its_days() -> None:
    """40 CFR 261.22: pH 1 is a corrosive waste, and the day of its jar is watched."""
    jar = bath(ph("1"), outlet="jar", waste="colour_rinse", starts=STARTS)
    page = say(decided(stating(jar, jar_area="central"), WASTE))
    clocks = [one for one in page.rules if "due 20" in one.sentence]

    assert "Waste code: D002" in page.classes
    assert "Hazardous waste by this rule: yes" in page.classes
    assert clocks
    assert all(one.sentence.startswith("Started 2026-08-19, due ") for one in clocks)
    assert page.recalled
    assert all(one.startswith(f"{WASTE.title}, 40 CFR") for one in page.recalled)


def test_a_label_says_what_is_still_to_be_written_on_it() -> None:
    rule = 'id = "l"\nkind = "LABEL"\noutlets = ["jar"]\nshows = ["name", "started_on"]'
    jar = bath(outlet="jar", shown=("name",))
    full = replace(jar, shown=("name", "started_on"))

    assert line_of(decided(jar, pack(rule)), "l").sentence == (
        "Still to write on its label: day it was started."
    )
    assert say(decided(jar, pack(rule))).duties == (
        "Label it.",
        "Write on it the day it was started.",
    )
    assert line_of(decided(full, pack(rule)), "l").sentence == (
        "Its label shows all that is asked."
    )


def test_a_class_is_told_as_what_it_is_and_not_as_a_limit_that_holds() -> None:
    line = line_of(decided(bath(ph("3.4")), WASTE), "corrosive")

    assert line.word == "it is not"
    assert line.sentence == "pH 3.4; this class means outside 2.0 to 12.5."


def test_a_class_of_a_pack_of_ones_own_is_told_as_it_is_written() -> None:
    rule = 'id = "b"\nkind = "CLASSIFY"\noutlets = ["sewer"]\nsets = { group_of_waste = "B 2" }'

    assert say(decided(bath(), pack(rule))).classes == ("group of waste: B 2",)


def test_a_day_that_is_near_is_said_to_be_soon() -> None:
    rule = (
        'id = "c"\nkind = "CLOCK"\noutlets = ["jar"]\nstarts = "first_drop"\ndays = 30\n'
        "warn_days = 5"
    )
    jar = bath(outlet="jar", starts=(Start(event="first_drop", on=TODAY - timedelta(27)),))
    late = replace(jar, starts=(Start(event="first_drop", on=TODAY - timedelta(31)),))

    assert line_of(decided(jar, pack(rule)), "c").sentence == (
        "Started 2026-10-31, due 2026-11-30. That is soon."
    )
    assert line_of(decided(late, pack(rule)), "c").sentence == (
        "Started 2026-10-27, due 2026-11-26. Its day has passed."
    )


def test_what_holds_at_the_works_is_told_as_advice() -> None:
    hot = bath(ph("7"), read("temperature", "45", "celsius"))
    line = next(one for one in lines_of(decided(hot, FLOOR), "plant-heat") if one.advice)

    assert line.sentence == (
        "Temperature 45 °C, needs at most 40 °C. At this drain it is only advice."
    )


def test_a_pack_nobody_checked_for_long_is_told_of() -> None:
    old = decided(bath(ph("7"), area=ROPES), ROPEWALK, day=ROPEWALK.review_on)

    assert [one.review_due for one in say(old).packs] == [True]
    assert [one.review_due for one in say(rope_bath(ph("7"))).packs] == [False]


def test_what_hangs_on_an_answer_is_answered_before_anybody_is_asked() -> None:
    """The authority cannot know whether a lid goes on the bucket."""
    page = say(rope_bath(ph("7"), contents=("alum",), adding=("soda",)))

    assert page.next == "Answer what is asked here, then look again."
    assert [one.fact for one in page.questions] == ["closed"]
    assert page.why.endswith("Nobody said whether its vessel stays open.")


def test_a_pack_that_is_silent_is_not_told_as_recalled() -> None:
    """There is no figure that somebody could go and read."""
    page = say(decided(bath(area=ROPES, waste="floc"), ROPEWALK))

    assert page.recalled == ()
    assert page.heading == "Ask first: Ropewalk sewer board (invented)"


def test_the_conditions_of_a_permission_are_shown_as_written() -> None:
    """A percent sign in them is theirs and no placeholder."""
    asked = permission("with_conditions", conditions="before noon, at most 5 % of a day's flow")
    page = say(rope_bath(ph("7"), permissions=(asked,)))

    assert page.heading == "Nothing forbids it, after these steps"
    assert page.conditions == "before noon, at most 5 % of a day's flow"
    assert page.why == "pH 7.0, needs 6.0 to 10.0."


def test_a_thawed_decision_reads_as_it_did() -> None:
    """It is shown long after: no word of it hangs on the day on which it is read."""
    decision = decided(bath(strip("3.5"), area=ROPES), ROPEWALK, FLOOR, WASTE)

    assert say(thaw(freeze(decision))) == say(decision)


def test_forms_are_offered_codes_with_their_words() -> None:
    volumes = texts.units(words(), amounts.MEASURES[amounts.VOLUME].units)

    assert ("us_gallon", "US gallons") in volumes
    assert texts.units(words(), amounts.MEASURES[amounts.PH].units) == [("ph", "pH")]
    assert texts.choices(words(), "outlet")[0] == ("sewer", "town sewer")
    assert texts.answers(words(), "metal_pigments") == [("yes", "yes"), ("no", "no")]


def test_what_nobody_knows_is_left_where_it_is() -> None:
    """It goes into no jar that others fill, at the drain's page or at the jar's."""
    for outlet in ("sewer", "jar"):
        page = say(decided(bath(waste="not_known", outlet=outlet), FLOOR))

        assert page.outcome == "keep_in_jar"
        assert page.next == (
            "Leave it closed where it is, put a tag on it, pour it into nothing else, and ask "
            "who left it."
        )


def test_what_may_still_fizz_is_closed_up_nowhere() -> None:
    """Acid and a carbonate give carbon dioxide: common practice, no source."""
    rule = 'id = "no"\nkind = "BAN"\noutlets = ["sewer"]\nif_fails = "keep_in_jar"'
    quiet, fizzing = (
        say(decided(bath(ph("7"), contents=inside), pack(rule)))
        for inside in (("alum",), ("alum", "soda"))
    )

    assert quiet.next == "Put it into the waste jar, and label the jar."
    assert fizzing.next.startswith(
        "Acid and a carbonate are in it: leave it in its open vessel"
    )
    assert not any("closed" in texts.NEXT[one] for one in Outcome)


def test_rules_that_are_not_here_are_told_and_stand_in_no_list_of_sources() -> None:
    """Nobody has their title: they are named by nothing but that they are missing."""
    page = say(decided(bath(ph("7"), area=ROPES, rules_missing=("gone",)), ROPEWALK))

    assert "Some of this studio's rules are not here yet" in " ".join(
        one.sentence for one in page.rules
    )
    assert page.recalled == ()


LIMIT_PH = 'id = "ph"\nkind = "LIMIT"\noutlets = ["sewer"]\nquantity = "ph"\nunit = "ph"\n'


@pytest.mark.parametrize(
    ("test", "read", "step", "said"),
    [
        ("holds_if = 'at_least'\nlow = 6.0", "6.0", "0.5", "has to read at least 6.5."),
        ("holds_if = 'at_most'\nhigh = 8.0", "8.0", "0.2", "has to read at most 7.8."),
        ("holds_if = 'within'\nlow = 6.5\nhigh = 7.5", "6.5", "0.5", "has to read 7.0."),
        ("holds_if = 'within'\nlow = 6.5\nhigh = 7.5", "7.0", "1", "use a finer one."),
    ],
)
def test_a_scale_is_told_what_it_has_to_show(
    test: str, read: str, step: str, said: str
) -> None:
    """A limit is cleared by one step: nobody at a tub does that sum."""
    rule = LIMIT_PH + test + '\nif_fails = "not_yet"'
    page = say(decided(bath(ph(read, step=Fraction(step))), pack(rule, tier="house")))

    assert said in " ".join(one.sentence for one in page.rules)


def day_limit(span: str = "day") -> str:
    return (
        'id = "litres"\nkind = "TOTAL"\noutlets = ["sewer"]\nquantity = "volume"\n'
        f'unit = "l"\nsum_of = "poured"\nspan = "{span}"\nholds_if = "at_most"\n'
        'high = 10\nif_fails = "not_yet"'
    )


def poured(litres: str) -> Tally:
    return Tally(
        what="poured", waste="size", outlet="sewer", on=TODAY, volume_ml=1000 * Fraction(litres)
    )


@pytest.mark.parametrize(
    ("before", "span", "said"),
    [
        (
            (),
            "day",
            "Of it 10.0 L may still go by its litres on 2026-11-27, the rest the day after; "
            "or carry it.",
        ),
        (
            ("3.05",),
            "calendar_month",
            "Of it 6.9 L may still go by its litres on 2026-11-27, the rest in the next month; "
            "or carry it.",
        ),
        (("11",), "day", "Nothing more on 2026-11-27: pour it the day after, or carry it."),
    ],
)
def test_what_is_too_much_for_a_day_goes_in_parts(
    before: tuple[str, ...], span: str, said: str
) -> None:
    """10 L at most, of 10.53: no soda makes it less. What may still go is a plain sum."""
    facts = bath(ph("7"), volume_ml=Fraction(10_530), tallies=tuple(map(poured, before)))
    page = say(decided(facts, pack(day_limit(span))))

    assert page.outcome == "not_yet"
    assert page.next == said


def test_a_sour_bath_that_is_too_much_as_well_is_treated_first() -> None:
    sour = LIMIT_PH + "holds_if = 'at_least'\nlow = 6.0" + '\nif_fails = "not_yet"'
    facts = bath(strip("3.5"), volume_ml=Fraction(10_530))

    assert say(decided(facts, pack(day_limit(), sour))).next == "Treat it, then measure again."


def test_what_was_reckoned_has_the_digits_that_anybody_measures() -> None:
    """Unless it would stand on the limit by that: 20.04 L are more than 20 L."""
    plain = bath(ph("7"), area=ROPES, volume_ml=Fraction("11356.235"))
    near = replace(plain, volume_ml=Fraction(20_040))
    (much,) = (one.sentence for one in lines_of(decided(plain, ROPEWALK), "alum-a-day"))
    (over,) = (one.sentence for one in lines_of(decided(near, ROPEWALK), "alum-a-day"))

    assert much.startswith("Together 11.4 L, needs")
    assert over.startswith("Together 20.04 L, needs")


def test_where_only_a_look_is_wanting_it_is_looked_at_before_anybody_is_asked() -> None:
    """The answer stays "ask first": whoever cannot say it has to ask."""
    rinse = bath(area=ROPES, waste="rinse_water", contents=("colour",))
    page = say(decided(without(rinse, "yes_no", "lumps"), ROPEWALK))

    assert page.outcome == "ask_first"
    assert page.next == (
        "Look first; if it cannot be said, ask: Ropewalk sewer board (invented)."
    )


def test_a_rule_that_may_count_says_on_which_answer_it_hangs() -> None:
    stated = (("premises", ("business",)), ("tags", ()))
    facts = bath(area=ROPES, waste="rinse_water", contents=("colour",), stated=stated)
    told_of = " ".join(one.sentence for one in say(decided(facts, ROPEWALK, FLOOR)).rules)

    assert "hangs on an answer: “Are metal pigments in it?”." in told_of


def test_a_reading_that_cannot_be_passes_nothing_and_says_why() -> None:
    """Alum of 5 % reads 3.0 to 3.5 (British Pharmacopoeia); 7.2 was read of something else."""
    page = say(decided(bath(replace(ph("7.2"), doubted=True), area=ROPES), ROPEWALK))

    assert page.outcome == "measure_first"
    assert "Alum without soda reads 3 to 4" in page.why
    assert [one.what for one in page.measure] == ["pH"]
    sour = say(decided(bath(replace(ph("5"), doubted=True), area=ROPES), ROPEWALK))
    assert sour.outcome == "not_yet"
