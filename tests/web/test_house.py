"""The house: what is set up, what is still to do, studios, tubs, papers, limits."""

import re
from importlib.resources import files
from typing import Any

import pytest
from flask.testing import FlaskClient

from coop.actions.set_up import still_to_do
from coop.ledger.kinds import INSTRUMENTS
from coop.ledger.states import HouseState, PaperState, StudioState, VesselState
from coop.ledger.table import HOUSE
from coop.rules.baths import limits_of
from coop.science import paper as sheets
from coop.science.defaults import default
from coop.web.pages.limits import DEFAULTED
from coop.web.pages.papers import GRADES
from coop.web.zones import country_choices, country_of
from tests.support.forms import Typed, form_of, send, send_again
from tests.support.opened import Opened, quantity

STUDIO: Typed = {
    "name": "Millrace",
    "letter": "M",
    "drain": "septic",
    "emergency": "112",
    "poison": "0555 0100",
}
TUB: Typed = {"name": "small tub", "brim.typed": "6,5", "lidded": "no"}
PAPER: Typed = {
    "name": "P-40",
    "length.typed": "1000",
    "width.typed": "700",
    "chalk": "some",
}
SPOONED: dict[str, Any] = {
    "name": "the old card",
    "dose": "8 tbsp per gallon",
    "amount": quantity(8, "us_tbsp"),
    "per": quantity(1, "us_gallon"),
    "salt": "aluminium_sulfate_14",
}
PAGES = (
    "/house/studios/new",
    "/house/tubs/new",
    "/house/papers/new",
    "/house/recipes/new",
    "/house/limits",
)


def codes(house: Opened) -> list[str]:
    with house.desk() as desk:
        return [step.code for step in still_to_do(desk.journal)]


def newest(house: Opened, sort: str) -> Any:
    with house.desk() as desk:
        return max(desk.journal.listed(sort, live=False), key=lambda one: str(one.edition))


def of_name(house: Opened, sort: str, name: str) -> Any:
    with house.desk() as desk:
        return next(one for one in desk.journal.listed(sort, live=False) if one.name == name)


# --- what is set up, what is still to do -------------------------------------------------


def test_an_empty_house_says_what_to_do_in_a_sensible_order(bare: Opened) -> None:
    """From nothing to the first answer; members are there already."""
    assert codes(bare) == ["studio", "tub", "paper", "limits", "strength", "alum"]
    page = bare.client("amina").get("/house").text
    assert page.index("/house/studios/new") < page.index("/house/tubs/new")


def test_what_is_done_is_gone_from_the_list(house: Opened) -> None:
    assert codes(house) == []
    assert "Still to do" not in house.client("amina").get("/house").text


def test_spoons_are_asked_for_only_where_a_card_takes_them(house: Opened) -> None:
    """Who weighs need not weigh spoons."""
    weighed = SPOONED | {"dose": "30 g/L", "amount": quantity(30, "g"), "per": quantity(1, "l")}
    house.say("recipe.published", **weighed)
    assert codes(house) == []

    house.say("recipe.published", **SPOONED)
    assert codes(house) == ["spoons"]

    house.say(
        "lot.spoon_weighed",
        lot=house.made["alum"],
        spoon_count="10",
        spoon="us_tbsp",
        weight=quantity(130, "g"),
    )
    assert codes(house) == []


def test_a_second_studio_without_a_tub_is_asked_for_one_by_name(house: Opened) -> None:
    client = house.client("amina")
    send(client, "/house/studios/new", STUDIO)

    assert "Describe a tub in Millrace" in client.get("/house").text


def test_a_member_sees_the_house_and_no_button_to_change_it(bare: Opened) -> None:
    """What is still to do is the coordinators' business."""
    page = bare.client("kahu").get("/house").text

    assert "Still to do" not in page
    assert "/house/studios/new" not in page
    assert "House limits" in page


def test_the_house_shows_its_limits_with_the_grams_they_come_to(house: Opened) -> None:
    """75 % and 62.5 % of 40 g/L are 30 and 25 g/L."""
    page = house.client("kahu").get("/house").text

    assert "40 g/L aluminium sulfate" in page
    assert "30 g/L (75 %)" in page
    assert "25 g/L (62.5 %)" in page
    assert "set the edition of 2025-09-17." in page
    assert "US gallon, 3.785 L" in page


def test_without_limits_the_defaults_are_shown_and_said_to_be_the_ledgers_own(
    bare: Opened,
) -> None:
    page = bare.client("kahu").get("/house").text

    assert "these figures are the ledger" in page
    assert "60 % of the strength" in page


def test_the_house_is_for_members(house: Opened) -> None:
    assert house.client().get("/house").status_code == 302
    assert house.client("kahu").post("/house").status_code in (400, 405)


@pytest.mark.parametrize("there", PAGES)
def test_setting_up_is_for_coordinators(house: Opened, there: str) -> None:
    """Others are told whom to ask."""
    answer = house.client("kahu").get(there)

    assert answer.status_code == 403
    assert "Ask a coordinator" in answer.text


@pytest.mark.parametrize("sort", ["studios", "tubs", "papers", "recipes"])
def test_what_the_ledger_does_not_know_is_not_there(house: Opened, sort: str) -> None:
    answer = house.client("amina").get(f"/house/{sort}/{house.new_id()}")

    assert answer.status_code == 404


@pytest.mark.parametrize("there", ["/house", *PAGES])
def test_the_pages_speak_turkish(house: Opened, there: str) -> None:
    client = house.client("amina")
    client.set_cookie("coop-lang", "tr")

    assert client.get(there).status_code == 200


# --- studios --------------------------------------------------------------------------


def test_a_studio_is_described_as_it_was_said(house: Opened) -> None:
    said = STUDIO | {
        "premises": "Mill Lane 3, ground floor",
        "drain_note": "the landlord, in May",
        "hardness_mg_per_l": "180,5",
        "instruments": ["strip_print", "hydrometer"],
        "hydrometer_scale.typed": "60",
        "hydrometer_scale.unit": "fahrenheit",
    }
    answer = send(house.client("amina"), "/house/studios/new", said)

    assert (answer.status_code, answer.headers["Location"]) == (303, "/house")
    made: StudioState = of_name(house, "studio", "Millrace")
    assert (made.letter, made.drain, made.premises) == ("M", "septic", said["premises"])
    assert made.instruments == ("strip_print", "hydrometer")
    assert made.hardness_mg_per_l == 180.5
    assert made.hydrometer_scale_c == pytest.approx(15.56, abs=0.005)  # 60 F = 15 5/9 C
    assert (made.emergency, made.poison) == ("112", "0555 0100")


@pytest.mark.parametrize("field", ["emergency", "poison"])
def test_words_are_no_number_to_call(house: Opened, field: str) -> None:
    """They would stand on every tag and safety card, which then do not print."""
    answer = send(house.client("amina"), "/house/studios/new", STUDIO | {field: "on the wall"})
    told = send(house.client("amina"), "/house/studios/new", STUDIO | {field: "15 (night)"})

    assert answer.status_code == 422
    assert "A number to dial, please, with its digits; words may follow it." in answer.text
    assert 'value="on the wall"' in answer.text, "what was typed is kept"
    assert told.status_code == 303


def test_a_studio_says_which_side_has_the_mark_and_what_is_in_its_drawer(
    house: Opened,
) -> None:
    """Half the sheets that wash off were laid on the wrong side: the rule is the studio's."""
    said = STUDIO | {"side_rule": "mark_on_alumed_side", "instruments": ["funnel"]}
    answer = send(house.client("amina"), "/house/studios/new", said)
    page = house.client("kahu").get("/house").text

    assert answer.status_code == 303
    made: StudioState = of_name(house, "studio", "Millrace")
    assert (made.side_rule, made.instruments) == ("mark_on_alumed_side", ("funnel",))
    assert "run-out funnel" in page
    assert "the mark is on the alumed side" in page


def test_only_instruments_are_in_a_drawer(house: Opened) -> None:
    """A nose is none."""
    page = house.client("amina").get("/house/studios/new").text
    offered = re.findall(r'name="instruments"[^>]*value="([^"]+)"', page)

    assert offered == list(INSTRUMENTS)


def test_a_studio_says_where_its_rinse_water_goes_and_who_agreed(house: Opened) -> None:
    """Rinse water is the most of all; rules hold for a country, and for whose waste it is."""
    said = STUDIO | {
        "country": "US",
        "premises_are": "business",
        "rinse_way": "jar",
        "rinse_agreed": "Water office, in May",
    }
    answer = send(house.client("amina"), "/house/studios/new", said)
    page = house.client("kahu").get("/house").text

    assert answer.status_code == 303
    made: StudioState = of_name(house, "studio", "Millrace")
    assert (made.country, made.premises_are, made.rinse_way) == ("us", "business", "jar")
    assert "<dt>Rinse water goes to</dt><dd>waste jar, Water office, in May</dd>" in page
    assert "<dt>Its waste is</dt><dd>of a business, a studio or a club</dd>" in page
    assert "<dt>Where it is</dt><dd>United States</dd>" in page
    shown = form_of(house.client("amina").get(f"/house/studios/{made.id}").text).fields
    assert all(shown[name] == [value] for name, value in said.items())


def test_a_new_studio_is_offered_the_country_of_the_ledger_s_zone(house: Opened) -> None:
    """Europe/Berlin is in DE; whose waste it is nobody answers for them."""
    shown = form_of(house.client("amina").get("/house/studios/new").text).fields

    assert shown["country"] == ["DE"]
    assert shown["rinse_way"] == ["not_known"]
    assert "premises_are" not in shown


def test_a_country_that_there_is_not_is_refused(house: Opened) -> None:
    answer = send(house.client("amina"), "/house/studios/new", STUDIO | {"country": "XX"})

    assert answer.status_code == 422
    assert 'id="country-error"' in answer.text
    assert form_of(answer.text).fields["name"] == ["Millrace"]


@pytest.mark.parametrize("lang", ["en", "tr"])
def test_countries_are_those_of_iso_3166_that_people_live_in(lang: str) -> None:
    """
    ISO 3166-1 as the IANA time zone database carries it (iso3166.tab).

    Bouvet Island and Heard and McDonald Islands have no zone: nobody lives there.
    """
    table = files("tzdata").joinpath("zoneinfo", "iso3166.tab").read_text(encoding="utf-8")
    listed = {line.split("\t")[0] for line in table.splitlines() if not line.startswith("#")}
    offered = country_choices(lang)

    assert {code for code, _ in offered} == listed - {"BV", "HM"}
    assert dict(offered)["TR"] == {"en": "Türkiye", "tr": "Türkiye"}[lang]
    assert all(name for _, name in offered)
    assert (country_of("Europe/Istanbul"), country_of("UTC")) == ("TR", "")


@pytest.mark.parametrize("missing", ["name", "letter", "emergency", "poison"])
def test_what_a_studio_needs_is_asked_for_and_the_rest_is_kept(
    house: Opened, missing: str
) -> None:
    """Without the numbers to ring there is no safety card."""
    answer = send(house.client("amina"), "/house/studios/new", STUDIO | {missing: ""})

    assert answer.status_code == 422
    assert "This is needed." in answer.text
    kept = form_of(answer.text).fields
    assert all(kept[name] == [value] for name, value in STUDIO.items() if name != missing)


def test_changing_a_studio_shows_what_stands_and_makes_a_new_edition(house: Opened) -> None:
    """Nothing is typed again; what is unticked is gone."""
    client = house.client("amina")
    there = f"/house/studios/{house.made['studio']}"
    before: StudioState = house.state("studio", house.made["studio"])
    house.later(minutes=5)
    answer = send(client, there, {"drain": "not_known", "instruments": ["dipstick"]})

    assert answer.status_code == 303
    after: StudioState = house.state("studio", house.made["studio"])
    assert after.edition != before.edition
    assert (after.name, after.emergency, after.drain) == ("Ropewalk", "112", "not_known")
    assert after.instruments == ("dipstick",)


def test_two_who_change_the_same_studio_do_not_overwrite_one_another(house: Opened) -> None:
    """The second one is told, keeps what was typed, and decides with open eyes."""
    client = house.client("amina")
    there = f"/house/studios/{house.made['studio']}"
    page = client.get(there).text
    house.later(minutes=5)
    send(client, there, {"drain_note": "asked the town"})
    house.later(minutes=5)
    late = send_again(client, there, page, {"premises": "second floor"})

    assert late.status_code == 422
    assert "Somebody else changed this meanwhile." in late.text
    assert form_of(late.text).fields["premises"] == ["second floor"]
    state: StudioState = house.state("studio", house.made["studio"])
    assert (state.drain_note, state.premises) == ("asked the town", "")
    assert send_again(client, there, late.text).status_code == 303


def test_sending_a_form_twice_writes_one_edition(house: Opened) -> None:
    client = house.client("amina")
    there = f"/house/studios/{house.made['studio']}"
    page = client.get(there).text
    with house.desk() as desk:
        before = desk.journal.head()[0]
    for _ in range(2):
        assert send_again(client, there, page, {"premises": "yard"}).status_code == 303

    with house.desk() as desk:
        assert desk.journal.head()[0] == before + 1


# --- tubs ------------------------------------------------------------------------------


def test_a_tub_is_described_by_its_inside_in_inches(house: Opened) -> None:
    """30 x 20 inches are 762 x 508 mm: the inch is 25.4 mm (agreement of 1959)."""
    said = TUB | {
        "inside_length.typed": "30",
        "inside_width.typed": "20",
        "inside_unit": "inch",
    }
    answer = send(house.client("amina"), "/house/tubs/new", said)

    assert answer.status_code == 303
    made: VesselState = of_name(house, "vessel", "small tub")
    assert made.area_m2 == pytest.approx(0.762 * 0.508)
    assert made.brim_ml == 6500
    assert (made.lidded, made.in_use, made.place) == (False, True, 2)
    assert made.studio == house.made["studio"]


def test_a_tub_with_marks_on_its_side_needs_no_inside(house: Opened) -> None:
    """Its levels are read in litres; the select of a unit alone says nothing."""
    send(house.client("amina"), "/house/tubs/new", TUB | {"laying.typed": "2"})

    made: VesselState = of_name(house, "vessel", "small tub")
    assert (made.area_m2, made.laying_ml) == (None, 2000)


@pytest.mark.parametrize(
    ("wrong", "field", "told"),
    [
        ({"inside_length.typed": "740"}, "inside_width.typed", "This is needed."),
        ({"brim.typed": "a lot"}, "brim.typed", "A number, please"),
        ({"laying.typed": "9"}, "laying.typed", "less than the brim (6.5 L)"),
        ({"place": "first"}, "place", "A whole number from 1 to 999"),
        ({"brim.typed": "0"}, "brim.typed", "More than 0.001 and at most 1000 L"),
    ],
)
def test_a_slip_about_a_tub_is_told_beside_its_field(
    house: Opened, wrong: Typed, field: str, told: str
) -> None:
    answer = send(house.client("amina"), "/house/tubs/new", TUB | wrong)

    assert answer.status_code == 422
    assert told in answer.text
    assert f'id="{field}-error"' in answer.text
    assert form_of(answer.text).fields["name"] == ["small tub"]


def test_a_tub_goes_out_of_use_and_stays_in_the_list_as_such(house: Opened) -> None:
    client = house.client("amina")
    there = f"/house/tubs/{house.made['tub']}"
    shown = form_of(client.get(there).text).fields
    assert shown["inside_length.typed"] == ["740"]
    assert shown["inside_unit"] == ["mm"]
    house.later(minutes=5)
    send(client, there, {"in_use": "no"})

    tub: VesselState = house.state("vessel", house.made["tub"])
    assert not tub.in_use
    assert tub.area_m2 == pytest.approx(0.74 * 0.54)
    assert "out of use" in client.get("/house").text


def test_a_tub_wants_a_studio_first(bare: Opened) -> None:
    page = bare.client("amina").get("/house/tubs/new").text

    assert "describe that one first" in page


def live(client: FlaskClient, form: str, to: str, typed: Typed) -> Any:
    """Ask what a page asks while somebody types."""
    filled = form_of(client.get(form).text).fields
    answer = client.post(to, data=filled | typed)
    assert answer.status_code == 200, answer.text
    return answer.get_json()


def test_the_floor_is_said_while_it_is_typed(house: Opened) -> None:
    """740 x 540 mm are 0.3996 m2: 4.0 L a centimetre, 6.0 L at 15 mm."""
    client = house.client("amina")
    there = f"/house/tubs/{house.made['tub']}"
    said = live(client, there, "/house/tubs/floor", {})
    half = live(client, there, "/house/tubs/floor", {"inside_width.typed": ""})

    assert said["lines"] == [
        "Floor 0.40 m²: a centimetre deep is 4.0 L.",
        "15 mm to lay a sheet is 6.0 L.",
    ]
    assert half["lines"] == []


# --- papers ---------------------------------------------------------------------------


def test_a_paper_is_described_with_its_own_floor(house: Opened) -> None:
    said = PAPER | {
        "weight_g_per_m2": "125",
        "chalk_g_per_m2": "2.5",
        "floor_g_per_l": "33",
        "floor_salt": "potash_alum",
    }
    answer = send(house.client("amina"), "/house/papers/new", said)

    assert answer.status_code == 303
    made: PaperState = of_name(house, "paper", "P-40")
    assert (made.length_mm, made.width_mm, made.weight_g_per_m2) == (1000, 700, 125)
    assert (made.chalk, made.chalk_g_per_m2) == ("some", 2.5)
    assert (made.floor_g_per_l, made.floor_salt) == (33, "potash_alum")


@pytest.mark.parametrize(("grade", "weight"), [("text", 118.4), ("cover", 216.3)])
def test_a_us_basis_weight_becomes_grams(house: Opened, grade: str, weight: float) -> None:
    """80 lb: 118 g/m2 of text, 216 g/m2 of cover: tables of US basis weights."""
    client = house.client("amina")
    typed: Typed = {"basis_weight_lb": "80", "grade": grade}
    said = live(client, "/house/papers/new", "/house/papers/weight", typed)
    send(client, "/house/papers/new", PAPER | typed)

    made: PaperState = of_name(house, "paper", "P-40")
    assert made.weight_g_per_m2 == weight
    assert f"{weight} g/m²" in said["figure"]


def test_pounds_without_a_grade_say_nothing_about_a_paper(house: Opened) -> None:
    """80 lb of cover is nearly twice 80 lb of text."""
    answer = send(house.client("amina"), "/house/papers/new", PAPER | {"basis_weight_lb": "80"})

    assert answer.status_code == 422
    assert 'id="grade-error"' in answer.text


def test_pounds_beyond_any_paper_are_refused_with_what_would_be_right(house: Opened) -> None:
    wrong: Typed = {"basis_weight_lb": "5000", "grade": "text"}
    answer = send(house.client("amina"), "/house/papers/new", PAPER | wrong)

    assert answer.status_code == 422
    assert "From 1 to 500, please." in answer.text


def test_a_number_that_may_be_thousands_is_asked_about(house: Opened) -> None:
    """ "1,250" is one and a quarter here and a thousand there."""
    answer = send(
        house.client("amina"), "/house/papers/new", PAPER | {"weight_g_per_m2": "1,250"}
    )

    assert answer.status_code == 422
    assert "Thousands or decimals?" in answer.text
    assert form_of(answer.text).fields["weight_g_per_m2"] == ["1,250"]


def test_a_salt_without_a_strength_is_not_held_against_anybody(house: Opened) -> None:
    """A chip once tapped cannot be let go of again."""
    answer = send(
        house.client("amina"), "/house/papers/new", PAPER | {"floor_salt": "potash_alum"}
    )

    assert answer.status_code == 303


def test_every_grade_of_the_sums_has_its_words() -> None:
    """A new grade without words would be offered as its code."""
    assert set(GRADES) == set(sheets.GRADES)


# --- limits ---------------------------------------------------------------------------


def test_the_first_limits_offer_the_defaults_each_with_its_source(bare: Opened) -> None:
    client = bare.client("amina")
    page = client.get("/house/limits").text
    shown = form_of(page).fields

    assert shown["look_again_fraction"] == ["75"]
    assert shown["do_not_use_fraction"] == ["60"]
    assert shown["strip_print_days"] == ["28"]
    assert shown["target_g_per_l"] == [""]
    assert shown["size_look_again_warm_days"] == ["4"]
    assert shown["stack_damp_days"] == ["1"]
    for name in DEFAULTED:
        hint = re.search(rf'id="{name}-hint">([^<]+)<', page)
        assert hint
        assert default(name).mark in hint[1]
    assert (
        "Default 4 days, sensible 2 to 6 days; common practice, no source. "
        "Days at room warmth; instruction pages say 3 to 4, then mould."
    ) in page
    assert "gallon" not in shown


def test_limits_are_set_in_percent_and_kept_exactly(house: Opened) -> None:
    client = house.client("amina")
    house.later(days=1)
    answer = send(
        client,
        "/house/limits",
        {"do_not_use_fraction": "57,5", "strip_print_days": "21", "spoon": "metric"},
    )

    assert answer.status_code == 303
    state: HouseState = house.state("house", HOUSE)
    assert (state.look_again_fraction, state.do_not_use_fraction) == (0.75, 0.575)
    assert (state.strip_print_days, state.spoon, state.gallon) == (21, "metric", "us")


def test_every_edition_of_the_limits_stays_to_be_read(house: Opened) -> None:
    """Whoever wonders why a bath was good last week finds the line of last week."""
    client = house.client("amina")
    house.later(days=1)
    send(client, "/house/limits", {"target_g_per_l": "36"})
    page = house.client("kahu").get("/house").text

    assert "Amina K. set the edition of 2025-09-18." in page
    every = re.search(r"Every edition.*", page, re.DOTALL)
    assert every
    assert "2025-09-17 18:00" in every[0]
    assert "40 g/L aluminium sulfate" in every[0]


def test_an_edition_says_who_set_it_and_what_it_changed(house: Opened) -> None:
    """Nobody compares twenty figures by eye to find the one that was moved."""
    client = house.client("amina")
    house.later(days=1)
    answer = send(client, "/house/limits", {"size_cap_days": "8", "stack_open_days": ""})
    page = house.client("kahu").get("/house").text

    assert answer.status_code == 303
    assert "Amina K. set the edition of 2025-09-18." in page
    newest = re.search(r"Every edition.*?<p class=.soft.>([^<]*)</p>", page, re.DOTALL)
    assert newest
    assert newest[1] == "Size: never past: 8 days, before it was 10 days"


def test_how_long_things_keep_is_set_and_what_is_left_empty_goes_by_the_default(
    house: Opened,
) -> None:
    send(
        house.client("amina"),
        "/house/limits",
        {"size_look_again_warm_days": "3,5", "gall_water_days": "10", "paste_days": ""},
    )

    state: HouseState = house.state("house", HOUSE)
    limits = limits_of(state)
    assert (limits.size_look_again_warm_days, limits.gall_water_days) == (3.5, 10)
    assert (state.paste_days, limits.paste_days) == (None, 14)
    pages = [house.client("amina").get(there).text for there in ("/house", "/house/limits")]
    assert "10 days, not used at twice that" in pages[0]
    assert "Other baths, not used at twice that" in pages[1]


def test_first_limits_leave_open_how_long_records_are_kept(bare: Opened) -> None:
    """Nobody is given thirty years in silence: each choice says what it keeps, and why."""
    page = bare.client("amina").get("/house/limits").text

    assert form_of(page).fields["records_kept"] == ["ask"]
    told = page.split("How long are records kept?")[1].split("<h2>")[0]
    for said in ("30 years at least (29 CFR 1910.1020", "3 years at least (40 CFR 403.12(o)"):
        assert said in told
    assert "all of them, until somebody answers." in told


def test_how_long_records_are_kept_is_answered_and_stands_in_the_history(
    house: Opened,
) -> None:
    house.later(days=1)
    answer = send(house.client("amina"), "/house/limits", {"records_kept": "employees"})
    page = house.client("kahu").get("/house").text

    assert answer.status_code == 303
    assert house.state("house", HOUSE).records_kept == "employees"
    assert "For whom: somebody is employed here." in page
    newest = re.search(r"Every edition.*?<p class=.soft.>([^<]*)</p>", page, re.DOTALL)
    assert newest
    assert newest[1] == (
        "For whom records are kept: somebody is employed here, before it was members only"
    )


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"do_not_use_fraction": "80"}, "Must not be over the look-again line."),
        ({"look_again_fraction": "120"}, "From 10 to 100, please."),
        ({"strip_print_days": "0"}, "From 1 to 365, please."),
        ({"laying_depth_mm": "1.5"}, "A whole number from 1 to 200, please."),
        ({"target_g_per_l": "500"}, "From 0.1 to 200, please."),
        ({"size_do_not_use_warm_days": "3"}, "Must not be fewer days than for looking again."),
        ({"stack_damp_days": "0.5"}, "A whole number from 1 to 365, please."),
        ({"rinse_days": "366"}, "From 1 to 365, please."),
    ],
)
def test_limits_that_make_no_sense_are_refused_and_kept_on_the_page(
    house: Opened, wrong: Typed, told: str
) -> None:
    answer = send(house.client("amina"), "/house/limits", wrong)

    assert answer.status_code == 422
    assert told in answer.text
    kept = form_of(answer.text).fields
    assert all(kept[name] == [value] for name, value in wrong.items())


def test_a_house_may_have_no_strength_of_its_own(house: Opened) -> None:
    """Then only cards say one; the salt goes with it."""
    send(house.client("amina"), "/house/limits", {"target_g_per_l": ""})

    state: HouseState = house.state("house", HOUSE)
    assert (state.target_g_per_l, state.target_salt) == (None, None)


def test_the_lines_are_said_while_they_are_typed(house: Opened) -> None:
    client = house.client("amina")
    said = live(client, "/house/limits", "/house/limits/lines", {"target_g_per_l": "64"})
    none = live(client, "/house/limits", "/house/limits/lines", {"target_g_per_l": ""})

    assert said["lines"] == [
        "Under 48 g/L a bath is to be looked at again.",
        "Under 40 g/L it is not to be used.",
    ]
    assert none["lines"] == []
