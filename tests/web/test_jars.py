"""Waste jars and drums: what goes in, what must never come together, labels, handovers."""

import re
from html import unescape
from typing import Any

import pytest
from flask.testing import FlaskClient

from coop.ledger.states import JarState
from tests.support.forms import Typed, form_of, send
from tests.support.opened import Opened, mixed, quantity, sized
from tests.support.wastes import publish

NOBODY = "01995867-7800-7fa5-bf87-fda4d3a8ddf7"
DRUM: Typed = {
    "name": "rinse drum",
    "sort": "drum",
    "holds.typed": "60",
    "wastes": ["rinse_water"],
    "place": "in the yard",
}


def plain(html: str) -> str:
    """Return the words of a page's main part."""
    inner = html.split("<main", 1)[1].split("</main>")[0]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", inner)).split())


def set_up(house: Opened, who: str = "kahu", **changes: str | list[str]) -> str:
    """Set a drum up on its page; return its id."""
    answer = send(house.client(who), "/jars/new", DRUM | changes)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["Location"]).rsplit("/", 1)[1]


def page_of(house: Opened, jar: str, who: str = "kahu", there: str = "") -> str:
    answer = house.client(who).get(f"/jars/{jar}{there}")
    assert answer.status_code == 200, answer.text
    return plain(answer.text)


def put(house: Opened, jar: str, what: str, said: Typed | None = None) -> Any:
    """Put something in, as Kahu, a minute later; return the answer."""
    house.later(minutes=1)
    return send(house.client("kahu"), f"/jars/{jar}/add?{what}", said)


def rinsed(house: Opened, jar: str, **said: str) -> Any:
    """Put the rinse water of so many sheets in, a minute later; return the answer."""
    house.later(minutes=1)
    typed: Typed = {"metal_pigments": "not_known", **said}
    return send(house.client("kahu"), f"/jars/{jar}/add", typed, f"/jars/{jar}/rinse")


def state_of(house: Opened, jar: str) -> JarState:
    found: JarState = house.state("jar", jar)
    return found


def old(house: Opened, bath: str) -> str:
    """Finish a bath, so that it must still go."""
    house.say("bath.finished", bath=bath, reason="too_weak")
    return bath


# ---- one is set up


def test_a_new_jar_says_what_goes_in_and_how_much_it_holds(house: Opened) -> None:
    jar = set_up(house, collect_by="2025-12-01", tags=["irritant"])
    page = page_of(house, jar)

    assert "0.0 of 60.0 L drum for rinse water" in page
    assert "Ropewalk, in the yard" in page
    assert "Collected by 2025-12-01" in page
    assert "Hazard words irritant" in page
    assert "Nothing: it is empty." in page


def test_an_empty_jar_is_due_on_no_day(house: Opened) -> None:
    """There is nothing in it that anybody could hand over."""
    jar = set_up(house, collect_by="2025-09-20", full_by="2025-09-20")
    empty = page_of(house, jar)
    rinsed(house, jar, sheet_count="4")

    assert "Due 2025-09-20" not in empty
    assert "Its day is near" not in empty
    assert "It is full, or soon will be." not in empty
    assert "Due 2025-09-20, 3 days left." in page_of(house, jar)


def test_a_jar_is_not_collected_before_it_is_full(house: Opened) -> None:
    dates: Typed = {"full_by": "2025-12-20", "collect_by": "2025-12-10"}
    answer = send(house.client("kahu"), "/jars/new", {**DRUM, **dates})

    assert answer.status_code == 422
    assert "It is full by 2025-12-20: that day or a later one." in plain(answer.text)
    assert set_up(house, full_by="2025-12-20", collect_by="2025-12-20")


def test_without_a_pack_nothing_more_is_asked_of_a_jar(house: Opened) -> None:
    """Clocks, categories and areas come from rules in force, never from us."""
    form = house.client("kahu").get("/jars/new").text
    page = page_of(house, set_up(house))

    assert 'name="area"' not in form
    assert "What the rules here ask of it" not in page


def test_where_a_jar_stands_is_asked_where_a_rule_goes_by_it(house: Opened) -> None:
    """40 CFR 262.15 and 262.16 tell satellite from central accumulation (recalled)."""
    described(house, country="us")
    publish(house, "us-federal-waste")
    jar = set_up(house, area="satellite")

    assert state_of(house, jar).area == "satellite"
    assert "where the waste is made" in page_of(house, jar)


def described(house: Opened, **changes: str) -> None:
    """Describe the studio anew."""
    said: dict[str, Any] = {
        "name": "Ropewalk",
        "letter": "R",
        "drain": "sewer",
        "instruments": ["strip_print"],
        "emergency": "112",
        "poison": "0555 0100",
    }
    house.say(
        "studio.described",
        studio=house.made["studio"],
        supersedes=house.state("studio", house.made["studio"]).edition,
        **(said | changes),
    )


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"name": ""}, "This is needed."),
        ({"name": "x" * 41}, "Shorter, please."),
        ({"holds.typed": "much"}, "A number, please"),
        ({"sort": "sink"}, "Choose one of these."),
        ({"collect_by": "soon"}, "day"),
    ],
)
def test_what_is_not_understood_is_asked_again_and_kept(
    house: Opened, wrong: Typed, told: str
) -> None:
    answer = send(house.client("kahu"), "/jars/new", DRUM | wrong)

    assert answer.status_code == 422
    assert told in plain(answer.text)
    kept = form_of(answer.text, "").fields
    assert kept["place"] == ["in the yard"]


def test_a_jar_for_nothing_is_no_jar(house: Opened) -> None:
    said: Typed = {name: value for name, value in DRUM.items() if name != "wastes"}

    assert send(house.client("kahu"), "/jars/new", said).status_code == 422


# ---- what goes in


def test_thirty_six_rinsed_sheets_are_fifty_four_litres_in_two_taps(house: Opened) -> None:
    """A litre and a half a sheet: common practice, no source."""
    jar = set_up(house)
    client = house.client("kahu")
    page = client.get(f"/jars/{jar}/add").text
    assert "36 sheets at 1.5 L: 54.0 L</button>" in page

    answer = tapped(client, jar, "36")
    after = client.get(answer.headers["Location"]).text

    assert state_of(house, jar).volume_ml == 54_000
    assert "36 sheets at 1.5 L: 54.0 L" in plain(after)
    assert "54.0 of 60.0 L" in plain(after)
    assert "Undo</button>" in after


def tapped(client: FlaskClient, jar: str, count: str) -> Any:
    """Press one of the buttons of rinsed sheets."""
    form = form_of(client.get(f"/jars/{jar}/add").text, f"/jars/{jar}/rinse")
    data = {name: said[0] for name, said in form.fields.items()}
    said = {"rinsed": count, "metal_pigments": "no"}
    return client.post(f"/jars/{jar}/rinse", data=data | said)


def test_any_other_number_of_sheets_is_typed(house: Opened) -> None:
    jar = set_up(house)

    assert rinsed(house, jar, sheet_count="7").status_code == 303
    assert state_of(house, jar).volume_ml == 10_500


@pytest.mark.parametrize("count", ["41", "", "many", "0", "2.5"])
def test_rinsed_sheets_that_do_not_fit_or_are_no_number_are_not_written(
    house: Opened, count: str
) -> None:
    """41 sheets are 61.5 L; the drum holds 60."""
    jar = set_up(house)
    answer = rinsed(house, jar, sheet_count=count)

    assert answer.status_code == 422
    assert state_of(house, jar).volume_ml == 0


def test_only_as_many_sheets_as_fit_have_a_button(house: Opened) -> None:
    jar = set_up(house)
    tapped(house.client("kahu"), jar, "24")
    page = page_of(house, jar, there="/add")

    assert "12 sheets at 1.5 L: 18.0 L" in page
    assert "18 sheets at 1.5 L" not in page


def test_what_was_said_of_metal_colours_last_stands_chosen(house: Opened) -> None:
    jar = set_up(house)
    rinsed(house, jar, sheet_count="2", metal_pigments="no")
    page = house.client("kahu").get(f"/jars/{jar}/add").text

    assert form_of(page, f"/jars/{jar}/rinse").fields["metal_pigments"] == ["no"]


@pytest.mark.parametrize("before", [(), ("not_known",)])
def test_metal_colours_are_asked_with_the_tap(house: Opened, before: tuple[str, ...]) -> None:
    """What nobody said closes a drain later, when nobody can say it any more."""
    jar = set_up(house)
    for said in before:
        rinsed(house, jar, sheet_count="2", metal_pigments=said)
    page = house.client("kahu").get(f"/jars/{jar}/add").text
    assert "a drain can be closed to all that is in here" in page
    assert "metal_pigments" not in form_of(page, f"/jars/{jar}/rinse").fields

    answer = rinsed(house, jar, sheet_count="4", metal_pigments="")
    assert answer.status_code == 422
    assert "This is needed." in plain(answer.text)
    assert state_of(house, jar).volume_ml == 3_000 * len(before)


def test_an_old_bath_goes_in_with_all_that_is_left(house: Opened) -> None:
    bath = old(house, mixed(house))
    jar = set_up(house, name="alum can", wastes=["alum_bath"])
    ways = house.client("kahu").get(f"/jars/{jar}/add").text
    assert f"/jars/{jar}/add?bath={bath}" in ways

    assert put(house, jar, f"bath={bath}").status_code == 303
    (part,) = state_of(house, jar).parts
    page = house.client("kahu").get(f"/jars/{jar}").text
    assert part.substances == ("alum",)
    assert abs(part.volume_ml - 12_000) < 300
    assert f'href="/baths/{bath}">Alum R-A1</a>' in page
    assert house.state("bath", bath).gone_at is not None


def test_a_bath_goes_only_into_a_jar_that_is_for_it(house: Opened) -> None:
    bath = old(house, sized(house))
    answer = house.client("kahu").get(f"/jars/{set_up(house)}/add?bath={bath}")

    assert answer.status_code == 422
    assert "That does not go into this jar." in answer.text


def test_jars_poured_together_keep_the_oldest_day_and_what_is_in_them(house: Opened) -> None:
    """A clock runs from the first drop, in whichever vessel it was."""
    first = set_up(house, name="can 1", wastes=["colour_rinse"])
    second = set_up(house, name="can 2", wastes=["colour_rinse"])
    put(house, first, "waste=colour_rinse", {"litres.typed": "4", "substances": ["other"]})
    began = house.moment.date()
    house.later(days=9)
    put(house, second, "waste=colour_rinse", {"litres.typed": "3"})
    assert put(house, second, f"from_jar={first}").status_code == 303

    state = state_of(house, second)
    assert (state.volume_ml, state.first_on) == (7_000, began)
    assert set(state.parts[-1].substances) == {"other", "colour"}
    assert state_of(house, first).volume_ml == 0


def test_what_is_poured_over_from_another_jar_stays_what_it_is(house: Opened) -> None:
    """Thin water on top makes no rinse water of an alum bath; metals that came in are in it."""
    both = ["alum_bath", "rinse_water"]
    first = set_up(house, name="drum 1", wastes=both)
    second = set_up(house, name="drum 2", wastes=both)
    put(house, first, "waste=alum_bath", {"litres.typed": "9", "metal_pigments": "yes"})
    put(house, first, "waste=rinse_water", {"litres.typed": "2", "metal_pigments": "no"})
    put(house, second, f"from_jar={first}", {"metal_pigments": "no"})

    state = state_of(house, second)
    assert "alum_bath" in state.wastes_in
    assert state.metal_pigments == "yes"


def test_a_jug_goes_in_once_somebody_vouched_for_it(house: Opened) -> None:
    jug = house.say("jug.found", studio=house.made["studio"], where="shelf", look="thick",
                    litres=quantity(3, "l"))  # fmt: skip
    jar = set_up(house, wastes=["size"])
    assert f"jug={jug}" not in house.client("kahu").get(f"/jars/{jar}/add").text
    assert house.client("kahu").get(f"/jars/{jar}/add?jug={jug}").status_code == 422

    house.say("jar.vouched", "kahu", jug=jug, waste="size", metal_pigments="no",
              litres=quantity(3, "l"))  # fmt: skip
    assert put(house, jar, f"jug={jug}").status_code == 303
    assert state_of(house, jar).volume_ml == 3_000
    assert house.state("jug", jug).gone_at is not None


def test_a_leftover_lot_goes_in_by_its_weight(house: Opened) -> None:
    jar = set_up(house, wastes=["leftover"])
    lot = house.made["alum"]
    answer = put(house, jar, f"lot={lot}", {"weight.typed": "200", "weight.unit": "g"})

    assert answer.status_code == 303
    (part,) = state_of(house, jar).parts
    assert (part.weight_g, part.substances) == (200, ("alum",))


def test_what_goes_in_without_an_amount_is_asked(house: Opened) -> None:
    answer = put(house, set_up(house, wastes=["size"]), "waste=size")

    assert answer.status_code == 422


def test_more_than_the_jar_holds_is_not_written(house: Opened) -> None:
    jar = set_up(house, wastes=["size"])
    answer = put(house, jar, "waste=size", {"litres.typed": "61"})

    assert answer.status_code == 422
    assert "It does not fit: 60.0 L are free in it." in plain(answer.text)
    assert form_of(answer.text, "").fields["litres.typed"] == ["61"]


def test_a_form_sent_twice_puts_in_once(house: Opened) -> None:
    jar = set_up(house, wastes=["size"])
    client = house.client("kahu")
    form = form_of(client.get(f"/jars/{jar}/add?waste=size").text, "")
    data = form.fields | {"litres.typed": ["5"]}
    first = client.post(f"/jars/{jar}/add?waste=size", data=data)
    again = client.post(f"/jars/{jar}/add?waste=size", data=data)

    assert (first.status_code, again.status_code) == (303, 303)
    assert state_of(house, jar).volume_ml == 5_000


def test_a_jar_leads_to_all_that_may_be_done_with_it(house: Opened) -> None:
    """An empty one has no way out, one without alum nothing to neutralise."""
    bath = old(house, mixed(house))
    jar = set_up(house, wastes=["alum_bath"])
    client = house.client("kahu")
    ways = [f"/drain/jar/{jar}", f"/jars/{jar}/neutralise", f"/jars/{jar}/collect",
            f"/waste/{house.made['studio']}/carry"]  # fmt: skip
    empty = client.get(f"/jars/{jar}").text
    put(house, jar, f"bath={bath}")
    filled = client.get(f"/jars/{jar}").text

    assert [way for way in ways if f'href="{way}"' in empty] == []
    assert [way for way in ways if f'href="{way}"' not in filled] == []
    assert f'href="/jars/{jar}/label"' in empty


def test_a_reading_stands_until_something_more_goes_in(house: Opened) -> None:
    jar = set_up(house)
    rinsed(house, jar, sheet_count="4")
    house.later(minutes=1)
    house.say("reading.taken", "kahu", jar=jar, instrument="ph_strip", ph="6.5", step="0.5")
    read = page_of(house, jar)
    rinsed(house, jar, sheet_count="4")

    assert "What was read of it pH strip, pH 6.5, in steps of 0.5: today" in read
    assert "What was read of it" not in page_of(house, jar)


# ---- what must never come together


@pytest.mark.parametrize(
    ("first", "then", "told"),
    [
        (["alum"], ["bleach"], "Never bleach with alum, vinegar or another acid"),
        (["bleach"], ["ammonia"], "Never bleach with ammonia"),
        (["sulfide_pigment"], ["vinegar"], "Never alum or an acid on ultramarine"),
        (["ammonium_alum"], ["soda"], "Never soda or lime with ammonium alum"),
    ],
)
def test_what_must_never_come_together_is_stopped_before_it_is_written(
    house: Opened, first: list[str], then: list[str], told: str
) -> None:
    """Common practice, no source; 40 CFR 265 appendix V for acids and sulfides."""
    jar = set_up(house, wastes=["colour_rinse"])
    said: Typed = {"litres.typed": "2", "substances": first}
    assert put(house, jar, "waste=colour_rinse", said).status_code == 303
    answer = put(house, jar, "waste=colour_rinse", said | {"substances": then})

    assert answer.status_code == 422
    assert "Stop: do not put this in." in plain(answer.text)
    assert f'href="/mishaps/new?studio={house.made["studio"]}"' in answer.text
    assert told in plain(answer.text)
    assert len(state_of(house, jar).parts) == 1
    assert form_of(answer.text, "").fields["substances"] == then


def test_acid_and_carbonate_wait_for_a_word_about_the_lid(house: Opened) -> None:
    """The gas bursts a closed vessel; in an open one it only foams: common practice."""
    jar = set_up(house, wastes=["colour_rinse"])
    said: Typed = {"litres.typed": "2", "substances": ["vinegar"]}
    put(house, jar, "waste=colour_rinse", said)
    chalk: Typed = said | {"substances": ["chalk"]}
    unsaid = put(house, jar, "waste=colour_rinse", chalk)
    closed = put(house, jar, "waste=colour_rinse", chalk | {"closed": "yes"})
    opened = put(house, jar, "waste=colour_rinse", chalk | {"closed": "no"})

    assert "say whether the lid is closed" in plain(unsaid.text)
    assert "in a closed vessel: the gas bursts it" in plain(closed.text)
    assert [unsaid.status_code, closed.status_code, opened.status_code] == [422, 422, 303]


def test_what_came_together_all_the_same_stands_before_all_else(house: Opened) -> None:
    """An entry may come in later than another: the jar itself must say it then."""
    jar = set_up(house, wastes=["colour_rinse"])
    for inside in ("bleach", "alum"):
        house.say("waste.added", studio=house.made["studio"], jar=jar, waste="colour_rinse",
                  litres=quantity(2, "l"), substances=[inside])  # fmt: skip
    page = page_of(house, jar)

    stop = page.index("Stop: what must never come together is in it.")
    assert stop < page.index("Put something in")
    assert "What must never come together is in it." in page


# ---- what rules ask


def test_a_rule_in_force_says_whether_what_goes_in_is_hazardous(house: Opened) -> None:
    """By 40 CFR 261.22 what is of pH 2 or less is; of what nobody measured nobody knows."""
    described(house, country="us", premises_are="business")
    publish(house, "us-federal-waste")
    jar = set_up(house, wastes=["colour_rinse"], area="satellite", tags=["corrosive"])
    put(house, jar, "waste=colour_rinse", {"litres.typed": "2"})

    assert [one.hazardous for one in state_of(house, jar).parts] == ["not_known"]
    assert "What the rules here ask of it" in page_of(house, jar)


# ---- the label


def test_a_label_shows_what_is_in_it_and_whom_to_call(house: Opened) -> None:
    bath = old(house, mixed(house))
    jar = set_up(house, name="alum can", wastes=["alum_bath"], collect_by="2025-12-01")
    put(house, jar, f"bath={bath}")
    html = house.client("kahu").get(f"/jars/{jar}/label").text
    page = plain(html)

    assert "unprinted" not in html
    assert "alum can alum bath, alum, but not ammonium alum" in page
    assert "Danger" in page
    assert "Can damage eyes for good (H318)" in page
    assert "ghs-corrosive" in html
    assert "In it since 2025-09-17" in page
    assert "Due 2025-12-01" in page
    assert "Emergency: 112. Poison centre: 0555 0100. Ropewalk" in page
    assert "Your local authority decides." in page
    assert "Hazardous waste" not in page


@pytest.mark.parametrize("gone", [{"emergency": "ask"}, {"poison": "ask"}])
def test_without_its_studios_numbers_a_label_does_not_print(
    house: Opened, gone: dict[str, str]
) -> None:
    """A label that nobody can call from is worse than a blank one: it looks complete."""
    jar = set_up(house)
    described(house, **gone)
    html = house.client("kahu").get(f"/jars/{jar}/label").text

    assert 'class="sheet stack label unprinted"' in html
    assert "“ask”, has no number to dial." in plain(html)
    assert f'href="/house/studios/{house.made["studio"]}"' in html
    assert "Print this page" not in html


def test_the_words_that_a_rule_asks_for_stand_on_the_label(house: Opened) -> None:
    """29 CFR 1910.1200(f)(6): name and hazard, on premises that are no household."""
    described(house, country="us", premises_are="business")
    publish(house, "us-federal-waste")
    jar = set_up(house, wastes=["colour_rinse"], area="central", tags=["corrosive"])
    put(house, jar, "waste=colour_rinse", {"litres.typed": "2"})
    page = page_of(house, jar, there="/label")

    assert "Asked of this label:" in page
    assert "corrosive" in page


def test_the_jars_of_a_studio_stand_where_waste_is_got_rid_of(house: Opened) -> None:
    """An empty jar waits for nothing, but whoever has something to put in must find it."""
    there = f"/waste/{house.made['studio']}"
    client = house.client("kahu")
    assert "None stands here yet." in client.get(there).text

    jar = set_up(house, collect_by="2025-12-01")
    page = client.get(there).text
    assert f'href="/jars/{jar}"><b>rinse drum</b>' in page
    assert "drum for rinse water, in the yard A new waste jar" in plain(page)
    rinsed(house, jar, sheet_count="4")
    page = client.get(there).text
    assert "drum for rinse water, in the yard Due 2025-12-01, 75 days left." in plain(page)
    assert f'href="/jars/new?studio={house.made["studio"]}"' in page


# ---- collected


def test_what_was_collected_is_a_record_to_sign(house: Opened) -> None:
    jar = set_up(house)
    rinsed(house, jar, sheet_count="36", metal_pigments="no")
    house.later(days=2)
    said: Typed = {"by": "the yard truck", "to": "the works", "reference": "Q 17"}
    answer = send(house.client("kahu"), f"/jars/{jar}/collect", said)
    assert answer.status_code == 303
    record = plain(house.client("amina").get(answer.headers["Location"]).text)

    assert "Handed over by Kahu R." in record
    assert re.search(r"2025-09-17 \d\d:\d\d ?, Kahu R\.", record), "what is signed says the day"
    assert "Taken by the yard truck" in record
    assert "Goes to the works" in record
    assert "Their number Q 17" in record
    assert "How much 54.0 L" in record
    assert "rinse water, 54.0 L" in record
    assert "In it since 2025-09-17" in record
    assert "The jar stayed" in record
    assert state_of(house, jar).volume_ml == 0
    assert "Handover record, 2025-09-19" in page_of(house, jar)


def test_what_was_weighed_is_told_in_kilograms_and_full_by_hand(house: Opened) -> None:
    """Grams say nothing of how full a bucket is: whoever looks into it says so."""
    jar = set_up(house, name="floc bucket", sort="bucket", wastes=["floc"],
                 **{"holds.typed": "20"})  # fmt: skip
    floc: Typed = {"weight.typed": "3110", "closed": "no", "metal_pigments": "no"}
    put(house, jar, "waste=floc", floc)
    assert "3.11 kg in 20.0 L bucket for" in page_of(house, jar)
    put(house, jar, "waste=floc", {**floc, "weight.typed": "240", "full": "yes"})
    page = page_of(house, jar)
    assert "3.35 kg in 20.0 L, full" in page
    assert "240 g" in page
    assert "It is full, or soon will be." in page

    house.later(minutes=1)
    answer = send(house.client("kahu"), f"/jars/{jar}/collect", {"by": "truck"})
    record = plain(house.client("kahu").get(answer.headers["Location"]).text)
    assert "Weighed 3.35 kg" in record
    assert "How much" not in record, "no litres of it were ever measured"


def test_what_has_litres_and_a_weight_tells_both(house: Opened) -> None:
    jar = set_up(house, wastes=["paste"])
    both: Typed = {"closed": "no", "metal_pigments": "no"}
    put(house, jar, "waste=paste", {**both, "litres.typed": "5"})
    put(house, jar, "waste=paste", {**both, "weight.typed": "1500"})

    assert "5.0 of 60.0 L, 1.50 kg weighed" in page_of(house, jar)


def test_a_jar_that_went_too_is_over_but_its_record_stays(house: Opened) -> None:
    jar = set_up(house)
    rinsed(house, jar, sheet_count="4")
    house.later(minutes=1)
    send(house.client("kahu"), f"/jars/{jar}/collect", {"by": "truck", "jar_gone": "yes"})
    html = house.client("kahu").get(f"/jars/{jar}").text

    assert "It was taken away." in plain(html)
    assert f'href="/jars/{jar}/add"' not in html
    assert "Handover record" in html
    for there in ("add", "collect"):
        assert house.client("kahu").get(f"/jars/{jar}/{there}").status_code == 303


def test_who_took_it_is_asked(house: Opened) -> None:
    answer = send(house.client("kahu"), f"/jars/{set_up(house)}/collect", {"by": ""})

    assert answer.status_code == 422
    assert "This is needed." in answer.text


def test_what_is_not_known_is_not_found(house: Opened) -> None:
    client = house.client("kahu")
    jar = set_up(house, wastes=["size"])

    for there in ("", "/add", "/collect", "/label"):
        assert client.get(f"/jars/{NOBODY}{there}").status_code == 404
    assert client.get(f"/jars/{jar}/handovers/{jar}").status_code == 404
    assert client.get(f"/jars/{jar}/handovers/{NOBODY}").status_code == 404
    assert client.get(f"/jars/new?studio={NOBODY}").status_code == 404


def test_every_page_that_can_hurt_says_how_to_keep_safe(house: Opened) -> None:
    jar = set_up(house)

    for there in ("/jars/new", f"/jars/{jar}", f"/jars/{jar}/add", f"/jars/{jar}/collect"):
        page = plain(house.client("kahu").get(there).text)
        assert "Never bleach together with alum, vinegar or ammonia." in page
        assert "Emergency: 112. Poison centre: 0555 0100." in page
