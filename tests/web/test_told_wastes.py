"""What is said of wastes: a sentence each, in a bath's history too, and put right on a page."""

from typing import Any
from zoneinfo import ZoneInfo

import pytest

from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.entries import read_content
from coop.ledger.table import KINDS
from coop.web import words as say
from coop.web.i18n import Words, read_catalogues
from coop.web.told_wastes import TELLERS, drain_reading
from tests.support.opened import Opened, mixed, quantity, sized
from tests.web.test_correct import send

ENGLISH = Words("en", ZoneInfo("UTC"), read_catalogues()["en"])
BATH, JAR, OTHER_JAR, JUG, LOT, STUDIO, BARN = (
    f"0199000a-5500-7000-8000-00000000000{n}" for n in range(7)
)
FILE = "a" * 64


class Shelf:
    """Names as a ledger with these things in it would give them."""

    names = {  # noqa: RUF012  # nothing changes it
        ("bath", BATH): "R-A3", ("jar", JAR): "Alum jar", ("jar", OTHER_JAR): "Blue drum",
        ("lot", LOT): "W-2", ("studio", STUDIO): "Ropewalk", ("studio", BARN): "Barn",
    }  # fmt: skip

    def of(self, sort: str, subject: Subject | None) -> str:
        return self.names[sort, str(subject)]


SENTENCES: list[tuple[str, dict[str, Any], str]] = [
    (
        "rules.published",
        {"studio": STUDIO, "pack": "weir-letter", "pack_edition": "2", "document": FILE,
         "checked_on": "2025-08-18", "review_on": "2026-08-18"},
        "published rules of the drain at Ropewalk: weir-letter, edition 2",
    ),
    (
        "rules.published",
        {"studio": STUDIO, "pack": "weir-letter", "pack_edition": "2", "document": FILE,
         "checked_on": "2025-08-18", "review_on": "2026-08-18", "in_use": "no"},
        "put rules of the drain at Ropewalk out of use: weir-letter, edition 2",
    ),
    (
        "jar.vouched",
        {"jug": JUG, "waste": "size", "litres": quantity(3, "l"), "metal_pigments": "no"},
        "vouched for what is in a jug: old size, 3 L",
    ),
    (
        "disposal.judged",
        {"studio": STUDIO, "waste": "alum_bath", "outlet": "sewer", "bath": BATH,
         "litres": quantity("5.8", "l"), "outcome": "not_yet", "decision": FILE},
        "may it go? alum bath, 5.8 L, town sewer: not yet",
    ),
    (
        "disposal.treated",
        {"studio": STUDIO, "bath": BATH, "step": "kept_back", "litres": quantity("0.2", "l")},
        "a cup kept back, 0.2 L",
    ),
    (
        "disposal.treated",
        {"studio": STUDIO, "bath": BATH, "step": "base_in", "base": "monohydrate",
         "weight": quantity(40, "g"), "lot": LOT},
        "base put in, soda monohydrate, 40 g, W-2",
    ),
    (
        "disposal.done",
        {"studio": STUDIO, "waste": "alum_bath", "outlet": "sewer", "bath": BATH,
         "steps": ["strain_through_cloth", "settle_overnight"]},
        "got rid of alum bath, all of it: town sewer, strained through cloth, "
        "settled overnight",
    ),
    (
        "disposal.done",
        {"studio": STUDIO, "waste": "rinse_water", "outlet": "not_known", "sheet_count": "36",
         "reason": "already_done"},
        "got rid of rinse water, 36 sheets: nobody knows where, anyway: already done",
    ),
    (
        "disposal.done",
        {"studio": STUDIO, "waste": "leftover", "outlet": "bin", "lot": LOT,
         "weight": quantity(120, "g")},
        "got rid of leftover from the shelf (W-2), 120 g: household rubbish",
    ),
    (
        "waste.started",
        {"studio": STUDIO, "name": "Alum jar", "sort": "jar", "holds": quantity(10, "l"),
         "wastes": ["alum_bath", "floc"]},
        "set up Alum jar, jar of 10 L: alum bath, floc and solids",
    ),
    (
        "waste.added",
        {"studio": STUDIO, "jar": JAR, "waste": "alum_bath", "bath": BATH, "full": "yes"},
        "into Alum jar: alum bath, all of it, it is full",
    ),
    (
        "waste.added",
        {"studio": STUDIO, "jar": JAR, "waste": "floc", "from_jar": OTHER_JAR,
         "litres": quantity(2, "l")},
        "out of Blue drum into Alum jar: floc and solids, 2 L",
    ),
    (
        "waste.collected",
        {"studio": STUDIO, "jar": JAR, "by": "Weir Haulage", "reference": "W-118",
         "jar_gone": "yes"},
        "Alum jar collected by Weir Haulage: all of it, W-118, with its vessel",
    ),
    (
        "waste.carried",
        {"bath": BATH, "from_studio": BARN, "studio": STUDIO, "carried_in": "two cans"},
        "R-A3 carried from Barn to Ropewalk in two cans",
    ),
    (
        "waste.carried",
        {"jar": JAR, "from_studio": BARN, "studio": STUDIO},
        "Alum jar carried from Barn to Ropewalk",
    ),
    (
        "mishap.noted",
        {"studio": STUDIO, "what": "wrong_drain", "waste": "size", "outlet": "septic",
         "litres": quantity(8, "l"), "done": ["closed_off"], "called": "the safety officer"},
        "mishap: down the wrong drain, old size, 8 L, septic tank, closed off, "
        "called the safety officer",
    ),
    (
        "mishap.noted",
        {"studio": STUDIO, "what": "closed_and_gassing"},
        "mishap: gave off gas in a closed vessel",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "body", "told"), SENTENCES)
def test_a_line_of_the_log_says_what_how_much_and_where(
    kind: str, body: dict[str, Any], told: str
):
    """Whoever reads the month's log was not there."""
    said = read_content(KINDS[kind], body, "body")

    assert TELLERS[type(said)](ENGLISH, Shelf(), said) == told


def test_every_line_of_a_log_is_tried_above():
    assert {
        type(read_content(KINDS[kind], body, "body")) for kind, body, _ in SENTENCES
    } == set(TELLERS)


@pytest.mark.parametrize(
    ("body", "told"),
    [
        ({"instrument": "ph_strip", "ph": "6.5", "step": "0.5"}, "pH 6.5, in steps of 0.5"),
        (
            {"instrument": "ph_meter", "ph": "6.42", "step": "0.01", "off_at_check": "-0.05",
             "temperature": quantity(18, "celsius")},
            "pH 6.42, in steps of 0.01, -0.05 off at its check, 18 °C",
        ),
        ({"instrument": "screen", "lumps": "no", "runs": "yes"}, "no lumps, it runs"),
        ({"instrument": "screen", "runs": "no"}, "it does not run"),
        ({"instrument": "laboratory", "of": "copper", "mg_per_l": "0.4"}, "Copper 0.4 mg/L"),
        (
            {"instrument": "laboratory", "of": "zinc", "mg_per_l": "0.1",
             "not_detected": "yes"},
            "Zinc not detected, under 0.1 mg/L",
        ),
    ],
)  # fmt: skip
def test_a_reading_for_a_drain_says_how_finely_it_was_read(body: dict[str, Any], told: str):
    """6.5 off a strip in half steps is not 6.5 off a meter; not detected is under a figure."""
    said = read_content(KINDS["reading.taken"], {"jar": JAR, **body}, "body")
    assert isinstance(said, kinds.ReadingTaken)

    assert drain_reading(ENGLISH, said) == told


GROUPS = {
    "rinse_way": kinds.RINSE_WAYS,
    "premises": kinds.PREMISES,
    "drain": kinds.DRAINS,
    "waste": kinds.WASTES,
    "outlet": kinds.OUTLETS,
    "gone_to": (*kinds.OUTLETS, "not_known"),
    "outcome_of_drain": kinds.OUTCOMES_OF_DRAIN,
    "substance": kinds.SUBSTANCES,
    "hazard_tag": kinds.HAZARD_TAGS,
    "analyte": kinds.ANALYTES,
    "metal": kinds.METALS,
    "neutraliser": kinds.NEUTRALISERS,
    "treatment": kinds.TREATMENTS,
    "drain_step": kinds.DRAIN_STEPS,
    "anyway_reason": kinds.ANYWAY_REASONS,
    "jar_sort": kinds.JAR_SORTS,
    "jar_area": kinds.JAR_AREAS,
    "mishap": kinds.MISHAPS,
    "done_about_it": kinds.DONE_ABOUT_IT,
    "retention": kinds.RETENTIONS,
    "yes_no_not_known": kinds.YES_NO_NOT_KNOWN,
}


@pytest.mark.parametrize("group", GROUPS)
def test_every_answer_about_wastes_has_its_words(group: str):
    assert tuple(say.CHOICES[group]) == GROUPS[group]


def test_every_instrument_and_every_end_of_a_bath_has_its_words():
    assert set(say.CHOICES["instrument"]) == {*kinds.READ_WITH, *kinds.INSTRUMENTS}
    assert set(say.CHOICES["finish_reason"]) == set(kinds.FINISH_REASONS)


def test_nobody_finishes_a_bath_by_saying_that_it_went(house: Opened):
    """Poured, neutralised, got rid of: the line that says what was done to it says it."""
    bath = mixed(house)
    page = house.client("kahu").get(f"/baths/{bath}/finish").text

    assert 'value="tinted"' in page
    for done in ("poured_together", "neutralised", "got_rid_of"):
        assert f'value="{done}"' not in page


BASE_IN = {"step": "base_in", "base": "anhydrous", "weight": quantity(40, "g")}
CUP_BACK = {"step": "cup_back"}
STEPS: tuple[dict[str, Any], ...] = (BASE_IN, CUP_BACK)


@pytest.mark.parametrize(
    ("make", "reading", "told"),
    [
        (mixed, {"instrument": "ph_strip", "ph": "3.5", "step": "0.5"},
         "pH strip: pH 3.5, in steps of 0.5"),
        (sized, {"instrument": "screen", "lumps": "no", "runs": "yes"},
         "screen with 13 mm holes: no lumps, it runs"),
    ],
)  # fmt: skip
def test_a_baths_history_goes_on_until_it_is_gone(
    house: Opened, make: Any, reading: dict[str, Any], told: str
):
    """What left the bath is found where people look for it: on the bath's own page."""
    bath = make(house)
    here = {"studio": house.made["studio"], "bath": bath}
    said: list[tuple[str, dict[str, Any]]] = [
        ("bath.finished", {"bath": bath, "reason": "past_its_time"}),
        ("reading.taken", {"bath": bath, **reading}),
        ("mishap.noted", {**here, "what": "spill", "litres": quantity(1, "l")}),
        ("disposal.done", {**here, "waste": "not_known", "outlet": "sewer"}),
    ]
    for kind, body in said:
        house.later(minutes=1)
        house.say(kind, "kahu", **body)
    page = house.client("kahu").get(f"/baths/{bath}", follow_redirects=True).text

    assert told in page
    assert "mishap: spilled, 1 L" in page
    assert "got rid of nobody knows what it is, all of it: town sewer" in page


def test_each_step_of_neutralising_stands_in_a_baths_history(house: Opened):
    bath = mixed(house)
    here: dict[str, Any] = {"studio": house.made["studio"], "bath": bath}
    for step in STEPS:
        house.later(minutes=1)
        house.say("disposal.treated", "kahu", **here, **step)
    page = house.client("kahu").get(f"/baths/{bath}").text

    assert "base put in, anhydrous soda, 40 g" in page
    assert "the cup poured back" in page


def in_a_jar(house: Opened) -> tuple[str, dict[str, Any]]:
    """Set up a jar with 6 L of old size in it; return its id, and what is said of it."""
    jar = house.say("waste.started", "kahu", studio=house.made["studio"], name="Size drum",
                    sort="drum", holds=quantity(20, "l"), wastes=["size"])  # fmt: skip
    here: dict[str, Any] = {"studio": house.made["studio"], "jar": jar}
    house.later(minutes=1)
    house.say("waste.added", "kahu", **here, waste="size", litres=quantity(6, "l"))
    house.later(minutes=1)
    return jar, here


OF_A_JAR: dict[str, dict[str, Any]] = {
    "waste.added": {"waste": "size", "sheet_count": "12"},
    "waste.collected": {"by": "Weir Haulage", "litres": quantity(2, "l")},
    "disposal.treated": {"step": "base_in", "base": "lime", "weight": quantity(9, "g")},
    "disposal.done": {"waste": "size", "outlet": "sewer", "litres": quantity(1, "l")},
    "mishap.noted": {"what": "spill", "litres": quantity(1, "l"), "done": ["soaked_up"]},
}


@pytest.mark.parametrize("kind", OF_A_JAR)
def test_what_is_said_of_a_jar_is_sent_back_as_it_stands(house: Opened, kind: str):
    """A correction that changes nothing must change nothing in the jar."""
    jar, here = in_a_jar(house)
    entry = house.say(kind, "kahu", **here, **OF_A_JAR[kind])
    before = house.state("jar", jar)

    answer = send(house.client("kahu"), entry)
    assert (answer.status_code, answer.location) == (303, f"/jars/{jar}")
    assert house.state("jar", jar) == before


@pytest.mark.parametrize(
    ("body", "field", "is_now"),
    [
        ({"instrument": "ph_strip", "ph": "6.5", "step": "0.5"}, "ph", "7.5"),
        ({"instrument": "ph_meter", "ph": "6.5", "step": "0.01", "off_at_check": "-0.1"},
         "off_at_check", "-0.2"),
        ({"instrument": "screen", "lumps": "no", "runs": "yes"}, "lumps", "yes"),
        ({"instrument": "laboratory", "of": "zinc", "mg_per_l": "0.4"}, "mg_per_l", "4"),
    ],
)  # fmt: skip
def test_a_reading_of_a_jar_is_put_right(
    house: Opened, body: dict[str, Any], field: str, is_now: str
):
    jar, _ = in_a_jar(house)
    entry = house.say("reading.taken", "kahu", jar=jar, **body)
    changes = {f"content__body__{field}": is_now}

    assert send(house.client("kahu"), entry, **changes).status_code == 303
    assert getattr(house.state("jar", jar).readings[-1], field) == is_now


def test_a_whole_jar_that_was_poured_away_was_only_a_part_of_it(house: Opened):
    jar, here = in_a_jar(house)
    entry = house.say("disposal.done", "kahu", **here, waste="size", outlet="sewer")
    assert house.state("jar", jar).volume_ml == 0
    typed = {"content__body__litres__typed": "4"}

    assert send(house.client("kahu"), entry, **typed).status_code == 303
    assert house.state("jar", jar).volume_ml == pytest.approx(2000)


def test_what_was_in_neither_bath_nor_jar_leads_back_to_the_log(house: Opened):
    studio = house.made["studio"]
    entry = house.say("disposal.done", "kahu", studio=studio, waste="rinse_water",
                      outlet="sewer", sheet_count="36", reason="already_done")  # fmt: skip
    answer = send(house.client("kahu"), entry, content__body__sheet_count="30")

    assert (answer.status_code, answer.location) == (303, f"/waste/{studio}/log")


def test_a_jar_is_named_anew_and_one_taken_out_leads_to_what_must_go(house: Opened):
    jar = house.say("waste.started", "kahu", studio=house.made["studio"], name="Size drum",
                    sort="drum", holds=quantity(20, "l"), wastes=["size"])  # fmt: skip
    client = house.client("kahu")
    answer = send(client, jar, content__body__name="Old size")
    assert answer.location == f"/jars/{jar}"
    assert house.state("jar", jar).name == "Old size"

    assert send(client, jar, "void").location == "/waste"


def test_rules_that_were_published_get_another_edition(house: Opened):
    """What was decided by an edition names it: it is never altered."""
    entry = house.say(
        "rules.published", studio=house.made["studio"], pack="weir-letter", pack_edition="1",
        document=FILE, checked_on="2025-08-18", review_on="2026-08-18",
    )  # fmt: skip
    page = house.client("amina").get(f"/entries/{entry}/correct").text

    assert "This kind of entry is not corrected here: write a new one." in page
