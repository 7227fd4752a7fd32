"""The walk of neutralising: the same figures as the command, what comes next, and the stops."""

import re
from decimal import Decimal
from typing import Any

import pytest

from coop.app import create_app
from coop.ledger.entries import draft, read_entry
from coop.ledger.ports import Admission
from coop.ledger.states import JarState
from coop.science.alum import SALTS
from coop.science.neutralising import BASES
from coop.settings import from_environment
from tests.cli.said import here as at_the_prompt
from tests.support.forms import Typed, form_of, send
from tests.support.opened import QUICK, Opened, mixed, quantity
from tests.support.wastes import publish

NO_FORM = 'name="entry_id"'
READY = "?soda=crystals&also=no&strip=none"


@pytest.fixture
def house(house: Opened) -> Opened:
    """R-A3: 5.80 L with 232 g of aluminium sulfate 14-hydrate, to be got rid of."""
    salt = [{"lot": house.made["alum"], "amount": quantity(232, "g")}]
    house.made["old"] = mixed(house, name="R-A3", water=quantity("5.8", "l"), salt=salt)
    house.say("bath.finished", bath=house.made["old"], reason="too_weak")
    return house


def there(house: Opened, query: str = READY) -> str:
    return f"/baths/{house.made['old']}/neutralise{query}"


def page_of(house: Opened, query: str = READY, who: str = "kahu") -> str:
    answer = house.client(who).get(there(house, query))
    assert answer.status_code == 200, answer.text
    text: str = answer.text
    return text


def done(house: Opened, who: str = "kahu", query: str = READY, **typed: str) -> Any:
    """Write down what the open step asks, with what is typed instead."""
    said: Typed = {name.replace("__", "."): text for name, text in typed.items()}
    answer = send(house.client(who), there(house, query), said)
    assert answer.status_code == 303, answer.text
    return answer


def read(house: Opened, ph: str, who: str = "kahu", **typed: str) -> None:
    done(house, who, f"{READY}&read=yes", ph=ph, **typed)


def here(text: str) -> str:
    """Return the step that is open, in plain words."""
    found = re.search(r'<details class="sheet step"[^>]*id="here">(.*?)</details>', text, re.S)
    assert found
    return " ".join(re.sub(r"<[^>]+>", " ", found[1]).split())


def weighed(house: Opened) -> list[float]:
    return [one.weight_g for one in house.state("bath", house.made["old"]).treated]


def test_the_plan_of_the_old_bath_stands_on_the_page(house: Opened) -> None:
    """335 g of soda crystals, about 28 L of gas, a bucket of 18 L."""
    text = page_of(house)

    assert "5.8 L, 232 g of" in text
    assert "335 g of soda crystals" in text
    assert "about 28 L of carbon dioxide" in text
    assert "5.8 L take one of 18 L, or several goes in a smaller one." in text
    assert "Which soda is in the jar?" in text
    assert "Your local authority decides." in text


def test_in_a_demo_the_invented_letter_is_the_window(house: Opened) -> None:
    """pH 6.0 to 10.0 of Ropewalk; the sulfate that stays is said where a rule limits it."""
    sulfate = {
        "id": "sulfate", "kind": "LIMIT", "outlets": ["sewer"], "wastes": ["alum_bath"],
        "quantity": "mass_per_volume", "of": "sulfate", "holds_if": "at_most",
        "high": Decimal(1000), "unit": "mg_per_l", "says": "sulfate at most 1000 mg/L",
        "cite": {"document": "letter (invented)", "section": "4", "evidence": "invented"},
    }  # fmt: skip
    assert "Sulfate" not in page_of(house)
    publish(house, "ropewalk-sewer", "", "amina", sulfate)
    settings = from_environment({"COOP_DATA": str(house.folder), "COOP_DEMO": "yes"})
    house._app = create_app(settings, clock=house.clock, store=house.store, passwords=QUICK)
    house._app.testing = True
    text = page_of(house)

    assert "between pH 6.0 and pH 10.0: Ropewalk" in text
    assert re.search(
        r"up to \d{5} mg/L stays in it: neutralising does not take sulfate out", text
    )


def test_a_smaller_bucket_takes_three_goes(house: Opened) -> None:
    assert "3 goes of 1.93 L" in page_of(house, "?soda=crystals&bucket=6")


@pytest.mark.parametrize("base", BASES)
def test_the_page_weighs_what_the_command_weighs(
    house: Opened, base: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sum in two places would soon be two sums."""
    asked = ["--salt", "aluminium_sulfate_14", "--base", base, "--litres", "5.8 L"]
    told = at_the_prompt(capsys, "reckon", "soda", *asked, "--alum", "232 g", "--json").json
    text = page_of(house, f"?soda={base}&also=no&strip=none")

    assert f"{told['dose_g']['middle']:.0f} g of" in text
    assert f"Weigh {told['each_go']['first_g']:g} g of" in text
    assert f"{told['bucket_l']:g} L, or several goes" in text
    done(house, query=f"?soda={base}&also=no&strip=none")
    house.later(minutes=1)
    done(house, query=f"?soda={base}&also=no&strip=none")
    assert weighed(house) == [0.0, told["each_go"]["first_g"]]


def test_two_people_share_one_bucket_to_the_end(house: Opened) -> None:
    """255, 21, then the cup with its 17 g; a strip of half steps; read again in the morning."""
    publish(house, "ropewalk-sewer")
    text = page_of(house)
    assert "between pH 6.5 and pH 7.5: common practice" in text, "an invented letter"
    assert here(text).startswith("4 Keep back a cup")

    done(house)
    assert here(page_of(house)).startswith("5 The first part")
    house.later(minutes=5)
    done(house, "amina")
    assert here(page_of(house)).startswith("6 Stir, then read")
    house.later(minutes=31)
    read(house, "5.5")
    text = page_of(house)
    said = "It reads pH 5.5. In steps of 0.5 it must read pH 7.0. Now 21 g of soda crystals"
    assert said in here(text), "6.5 to 7.5, and clear of both by a step"
    assert "base put in, 255 g, soda crystals (10-hydrate): Amina K., today 18:05" in text

    done(house)
    house.later(minutes=40)
    read(house, "7.0", "amina")
    assert "the cup, 0.29 L, and after it its own 17 g" in here(page_of(house))
    done(house)
    house.later(minutes=40)
    read(house, "7.0")
    assert here(page_of(house)).startswith("9 Overnight")
    house.later(hours=10)
    read(house, "7.0")
    assert "Strain the floc off" in here(page_of(house))
    done(house)
    assert f'href="/drain/bath/{house.made["old"]}"' in page_of(house)

    assert weighed(house) == [0.0, 255.0, 21.0, 17.0, 0.0]
    state = house.state("bath", house.made["old"])
    assert [one.step for one in state.treated] == [
        "kept_back", "base_in", "base_in", "cup_back", "strained",
    ]  # fmt: skip
    assert state.finish_reason in ("too_weak", "neutralised")


def test_soda_that_went_in_without_a_cup_counts_all_the_same(house: Opened) -> None:
    """Somebody began without the walk: the first part must not go in twice."""
    house.later(minutes=1)
    house.say(
        "disposal.treated", studio=house.made["studio"], bath=house.made["old"],
        step="base_in", base="crystals", weight=quantity(300, "g"),
    )  # fmt: skip
    assert here(page_of(house)).startswith("6 Stir, then read")
    house.later(minutes=40)
    read(house, "4.5")

    assert "Now 18 g of soda crystals" in here(page_of(house)), "to 318 g, then the last 17 g"


def test_what_two_people_write_at_once_is_asked_about(house: Opened) -> None:
    """Both had the page open when the soda went in: it went in once."""
    done(house)
    house.later(minutes=1)
    client = house.client("kahu")
    opened = client.get(there(house)).text
    done(house, "amina")
    first = client.post(there(house), data=form_of(opened).fields)

    assert first.status_code == 422
    assert "Meanwhile somebody wrote: base put in, 255 g" in first.text
    assert weighed(house) == [0.0, 255.0]
    house.later(minutes=1)
    again = form_of(first.text)
    assert client.post(there(house), data=again.fields).status_code == 303
    assert weighed(house) == [0.0, 255.0, 255.0], "what a person did is taken"
    house.later(minutes=40)
    read(house, "9")
    assert "Never vinegar." in here(page_of(house))


def test_a_low_reading_with_gas_in_it_says_nothing(house: Opened) -> None:
    """Ten minutes after the soda it fizzes still: more soda then would be too much."""
    done(house)
    house.later(minutes=1)
    done(house)
    house.later(minutes=10)
    read(house, "5.0")
    text = here(page_of(house))

    assert text.startswith("6 Stir, then read")
    assert "pH 5.0 was read too early: it does not count yet. Read it again from" in text
    house.later(minutes=21)
    read(house, "5.0")
    assert "too early" not in here(page_of(house))


def test_all_of_it_in_and_still_low_is_asked_about(house: Opened) -> None:
    """What is wrong then is no matter of a spoon more."""
    done(house)
    for _ in range(4):
        house.later(minutes=1)
        done(house)
        house.later(minutes=40)
        read(house, "4.5")
    text = here(page_of(house))

    assert weighed(house) == [0.0, 255.0, 21.0, 21.0, 21.0]
    assert "the grams, the alum or the jar is not what we think. Ask. Put no more in." in text
    assert "<form" not in text


def test_in_the_window_by_less_than_a_step_is_not_too_low(house: Opened) -> None:
    """6.5 of a strip of half steps may be 6.3: a finer scale tells, and no soda more."""
    done(house)
    for _ in range(4):
        house.later(minutes=1)
        done(house)
        house.later(minutes=40)
        read(house, "6.5")
    text = here(page_of(house))

    assert weighed(house) == [0.0, 255.0, 21.0, 21.0, 21.0]
    assert "still too low" not in text
    assert "It reads pH 6.5: that is in, but by less than one step of the scale." in text
    assert "Cover it overnight and read it again, or read it with a finer scale." in text
    house.later(minutes=1)
    read(house, "6.7", step="0.1")
    assert "It reads pH 6.7: it is in. Now the cup" in here(page_of(house))


def test_its_ph_is_asked_before_anything_goes_in(house: Opened) -> None:
    """The log wants a reading from before: no cup is kept back and no soda weighed yet."""
    asks = "?soda=crystals&also=no"
    text = page_of(house, asks)
    assert here(text).startswith("3 Read it before anything goes in")
    assert "Alum reads about pH 3 to 4." in here(text)
    assert "No strip or meter here" in text
    done(house, query=asks, ph="3.5")

    text = page_of(house, asks)
    assert here(text).startswith("4 Keep back a cup")
    assert re.search(r"Read it before anything goes in</span><span class=.step-done", text)
    done(house, query=asks)
    assert [one.ph for one in house.state("bath", house.made["old"]).drain_readings] == ["3.5"]


def test_a_bath_that_reads_neutral_before_is_read_again(house: Opened) -> None:
    """Alum without soda is sour: either the strip is wrong, or it is no alum."""
    asks = "?soda=crystals&also=no"
    done(house, query=asks, ph="7.2", step="0.1")
    said = "It reads pH 7.2 and nothing was put in: alum without soda reads 3 to 4."
    assert said in here(page_of(house, asks))
    assert "Read it again</a>" in page_of(house, asks)
    house.later(minutes=1)
    done(house, query=f"{asks}&read=yes", ph="3.5")

    assert "nothing was put in" not in page_of(house, asks)


def test_from_everywhere_a_way_leads_back_to_the_bucket(house: Opened) -> None:
    """The soda is in and the page is shut: that it goes into a jar is not what to do next."""
    old, studio = house.made["old"], house.made["studio"]
    pages = (f"/baths/{old}", f"/waste/{studio}", f"/drain/bath/{old}", "/")
    back = f'href="/baths/{old}/neutralise"'
    client = house.client("kahu")
    for page in pages:
        assert "o on neutralising" not in client.get(page).text, page
    for _ in range(2):
        done(house)
        house.later(minutes=1)
        for page in pages:
            text = client.get(page).text
            assert back in text, page
            assert "o on neutralising" in text, page
    answer = client.get(f"/drain/bath/{old}").text
    assert answer.index(back) < answer.index("Something went wrong")
    strained(house)
    for page in pages:
        assert "o on neutralising" not in client.get(page).text, f"{page}: it is over"


def test_a_jar_in_the_walk_leads_back_too(house: Opened) -> None:
    at = jar_of(house, metal_pigments="no")
    client = house.client("kahu")
    assert send(client, at + READY).status_code == 303
    jar = at.split("/")[2]

    for page in (f"/jars/{jar}", f"/waste/{house.made['studio']}", f"/drain/jar/{jar}", "/"):
        text = client.get(page).text
        assert f'href="{at}"' in text, page
        assert "o on neutralising" in text, page


def test_after_it_is_strained_the_floc_is_asked_for(house: Opened) -> None:
    """It goes into its bucket or, dry, into the bin; nowhere is it forgotten in the cloth."""
    studio = house.made["studio"]
    bucket = house.say(
        "waste.started", studio=studio, name="F-1", sort="bucket",
        holds=quantity(10, "l"), wastes=["floc"],
    )  # fmt: skip
    pages = (f"/drain/bath/{house.made['old']}", there(house))
    into = f"/jars/{bucket}/add?waste=floc"
    client = house.client("kahu")
    for _ in range(2):
        done(house)
        house.later(minutes=1)
    strained(house)
    for page in pages:
        text = client.get(page).text
        assert "Where does the floc go?" in text, page
        assert f'href="{into}"' in text, page
        assert f"/drain/other?studio={studio}&amp;waste=floc&amp;outlet=bin" in text, page
    house.later(minutes=1)
    assert send(client, into, {"weight.typed": "180", "closed": "no"}).status_code == 303

    for page in pages:
        assert "Where does the floc go?" not in client.get(page).text, page


def strained(house: Opened) -> None:
    """Do what is left of the walk once the first part is in, to where the floc is off."""
    house.later(minutes=40)
    read(house, "7.0")
    done(house)
    house.later(minutes=40)
    read(house, "7.0")
    house.later(hours=10)
    read(house, "7.0")
    done(house)


def test_who_has_no_strip_goes_on_without(house: Opened) -> None:
    address = page_of(house, "?soda=crystals&also=no")
    link = re.search(r'href="([^"]*strip=none[^"]*)"', address)
    assert link

    text = house.client("kahu").get(link[1].replace("&amp;", "&").split("#")[0]).text
    assert here(text).startswith("4 Keep back a cup")


def test_only_what_is_over_is_marked_as_done(house: Opened) -> None:
    """A step that is open is not done yet, whatever was read of the bath last week."""
    done(house, query="?soda=crystals&also=no", ph="3.5")
    done(house)
    house.later(minutes=1)
    done(house)
    assert marked(page_of(house)) == [3, 4, 5]
    house.later(minutes=40)
    read(house, "5.5")
    assert marked(page_of(house)) == [3, 4, 5, 6]
    done(house)
    assert marked(page_of(house)) == [3, 4, 5], "it is to be read again, and more may go in"


def marked(text: str) -> list[int]:
    steps = re.findall(r"<summary><span class=.step-number.>(.*?)</summary>", text, re.S)
    return [int(one.split("<")[0]) for one in steps if "step-done" in one]


def test_the_first_question_stands_before_the_cautions_are_unfolded(house: Opened) -> None:
    """Twelve lines of care came first, two screens of a phone; the number to call stays."""
    care = re.search(r'<details class="sheet care">(.*?)</summary>', page_of(house), re.S)

    assert care
    assert "112" in care[1]


def test_over_the_window_the_cup_goes_back_and_never_vinegar(house: Opened) -> None:
    done(house)
    house.later(minutes=1)
    done(house)
    house.later(minutes=40)
    read(house, "9")
    text = page_of(house)

    assert "pour back some of the cup, about 0.10 L" in here(text)
    assert "Never vinegar." in here(text)
    done(house)
    last = house.state("bath", house.made["old"]).treated[-1]
    assert (last.step, last.base, last.weight_g) == ("cup_back", "", 0.0)
    assert last.volume_ml == pytest.approx(97, abs=1)


def test_a_scale_too_coarse_for_the_window_is_said(house: Opened) -> None:
    """A strip of whole steps cannot tell 6.5 from 7.5."""
    done(house)
    house.later(minutes=1)
    done(house)
    house.later(minutes=40)
    read(house, "7", step="1")

    assert "read it with a finer one" in here(page_of(house))


def test_ammonium_alum_is_never_neutralised(house: Opened) -> None:
    """A base sets ammonia free from its salts: common practice, no source."""
    lot = house.say(
        "lot.received", studio=house.made["studio"], what="alum", name="AA-1",
        salt="ammonium_alum", weight=quantity(2, "kg"),
    )  # fmt: skip
    house.made["old"] = mixed(
        house,
        name="R-A9",
        water=quantity(4, "l"),
        salt=[{"lot": lot, "amount": quantity(90, "g")}],
    )
    text = page_of(house)

    assert "never soda or lime with it" in text
    assert NO_FORM not in text.split("<main")[1]


@pytest.mark.parametrize(
    ("also", "said"),
    [("sulfide_pigment", "hydrogen sulfide"), ("metal", "ask a safety officer"),
     ("not_known", "ask a safety officer")],
)  # fmt: skip
def test_what_else_is_in_it_stops_the_walk(house: Opened, also: str, said: str) -> None:
    text = page_of(house, f"?soda=crystals&also={also}")
    main_part = text.split("<main")[1]

    assert said in main_part
    assert NO_FORM not in main_part


def test_nothing_is_written_before_it_was_asked_what_else_is_in_it(house: Opened) -> None:
    client = house.client("kahu")
    form = form_of(client.get(there(house)).text)
    answer = client.post(there(house, "?soda=crystals"), data=form.fields)

    assert answer.status_code == 422
    assert weighed(house) == []


def test_a_bucket_that_is_no_number_is_asked_again(house: Opened) -> None:
    text = page_of(house, "?soda=crystals&bucket=big")

    assert "What the bucket holds, 0.5 L to 5000 L, please: 18 L." in text
    assert 'value="big"' in text


def test_the_soda_of_the_shelf_is_offered_and_leaves_its_lot(house: Opened) -> None:
    """What goes in is written off, so the shelf stays right."""
    supply = house.say("supply.described", what="soda", name="washing soda", measure="weight")
    lot = house.say(
        "lot.received", studio=house.made["studio"], what="supply", supply=supply,
        name="SO-3", soda="crystals", weight=quantity(1, "kg"),
    )  # fmt: skip
    text = page_of(house, "")
    assert "the tub on the shelf, SO-3: soda crystals (10-hydrate)" in text
    assert "another tub: soda crystals (10-hydrate)" in text
    done(house, query=f"?soda={lot}&also=no&strip=none")
    house.later(minutes=1)
    done(house, query=f"?soda={lot}&also=no&strip=none")

    with house.desk() as desk:
        assert 745_000_000 in desk.journal.holding("lot").values()


def test_a_jar_of_two_alums_is_reckoned_as_one(house: Opened) -> None:
    """Potash alum takes less soda a gram, 0.905 g: 335.1 g and 90.4 g are 425 g of crystals."""
    lot = house.say(
        "lot.received", studio=house.made["studio"], what="alum", name="PA-1",
        salt="potash_alum", weight=quantity(2, "kg"),
    )  # fmt: skip
    salt = [{"lot": lot, "amount": quantity(100, "g")}]
    other = mixed(house, name="R-A8", water=quantity(4, "l"), salt=salt)
    jar = house.say(
        "waste.started", studio=house.made["studio"], name="W-1", sort="drum",
        holds=quantity(20, "l"), wastes=["alum_bath"],
    )  # fmt: skip
    for bath in (house.made["old"], other):
        house.later(minutes=1)
        house.say(
            "waste.added", studio=house.made["studio"], jar=jar, waste="alum_bath", bath=bath
        )
    state: JarState = house.state("jar", jar)
    assert [salt for salt, _ in state.salts] == ["aluminium_sulfate_14", "potash_alum"]
    client = house.client("kahu")
    at = f"/jars/{jar}/neutralise{READY}"
    assert "425 g of soda crystals" in client.get(at).text

    assert send(client, at).status_code == 303
    house.later(minutes=1)
    assert send(client, at).status_code == 303
    treated = house.state("jar", jar).treated
    assert [one.weight_g for one in treated] == [0.0, pytest.approx(0.76 * 425.6, abs=1)]


def jar_of(house: Opened, *, name: str = "W-2", **said: Any) -> str:
    """Put the old bath into a jar with what is said of it; return where it is neutralised."""
    jar = house.say(
        "waste.started", studio=house.made["studio"], name=name, sort="drum",
        holds=quantity(40, "l"), wastes=["alum_bath", "colour_rinse", "not_known"],
    )  # fmt: skip
    house.later(minutes=1)
    body = {"waste": "alum_bath", "bath": house.made["old"]} | said
    house.say("waste.added", studio=house.made["studio"], jar=jar, **body)
    house.later(minutes=1)
    return f"/jars/{jar}/neutralise"


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"metal_pigments": "yes"}, "a metal colour is in it"),
        ({"substances": ["sulfide_pigment"]}, "hydrogen sulfide"),
        ({"substances": ["bleach"]}, "Never bleach with alum"),
        ({"substances": ["ammonium_alum"]}, "never soda or lime with it"),
    ],
)
def test_no_answer_overrules_what_is_written_down_of_a_jar(
    house: Opened, said: dict[str, Any], told: str
) -> None:
    """Neither of them in it, somebody taps; who put it in had written otherwise."""
    at = jar_of(house, **said)
    client = house.client("kahu")
    for query in ("", "?soda=crystals", READY):
        main_part = client.get(at + query).text.split("<main")[1]
        assert told in main_part, query
        assert NO_FORM not in main_part, query
    house.made["old"] = mixed(house, name="R-A4", vessel=tub(house))
    plain = form_of(client.get(jar_of(house, name="W-3") + READY).text)
    assert client.post(at + READY, data=plain.fields).status_code == 422
    assert house.state("jar", at.split("/")[2]).treated == ()


def test_what_goes_in_during_the_walk_stops_it(house: Opened) -> None:
    """A cup was kept back; then somebody tipped in a tub with a metal colour."""
    at = jar_of(house, metal_pigments="no")
    assert send(house.client("kahu"), at + READY).status_code == 303
    house.later(minutes=1)
    house.say(
        "waste.added", studio=house.made["studio"], jar=at.split("/")[2],
        waste="colour_rinse", litres=quantity(2, "l"), metal_pigments="yes",
    )  # fmt: skip
    main_part = house.client("kahu").get(at + READY).text.split("<main")[1]

    assert "a metal colour is in it" in main_part
    assert NO_FORM not in main_part


def test_what_nobody_knows_in_a_jar_stops_the_walk(house: Opened) -> None:
    at = jar_of(house)
    house.say(
        "waste.added", studio=house.made["studio"], jar=at.split("/")[2],
        waste="not_known", litres=quantity(1, "l"),
    )  # fmt: skip
    main_part = house.client("kahu").get(at + READY).text.split("<main")[1]

    assert "of which nobody knows what it is" in main_part
    assert NO_FORM not in main_part


def test_alum_by_its_litres_alone_has_no_dose(house: Opened) -> None:
    """How much soda five litres of somebody's bath take, nobody knows."""
    at = jar_of(house)
    client = house.client("kahu")
    assert "335 g of soda crystals" in client.get(at + READY).text
    house.say(
        "waste.added", studio=house.made["studio"], jar=at.split("/")[2],
        waste="alum_bath", litres=quantity(5, "l"),
    )  # fmt: skip
    main_part = client.get(at + READY).text.split("<main")[1]

    assert "The grams of alum in it are not known" in main_part
    assert "g of soda" not in main_part
    assert NO_FORM not in main_part


def test_ammonium_alum_that_was_poured_in_is_not_forgotten(house: Opened) -> None:
    """A tub of it went into the old bath: reckoned as another salt, it gases all the same."""
    poured_in(house, "ammonium_alum")
    main_part = page_of(house).split("<main")[1]

    assert "never soda or lime with it" in main_part
    assert NO_FORM not in main_part


def test_two_alums_in_one_bath_have_no_dose(house: Opened) -> None:
    """They take unlike weights of soda, and the bath is reckoned as of one."""
    poured_in(house, "potash_alum")

    assert "The grams of alum in it are not known" in page_of(house)


def poured_in(house: Opened, other_salt: str) -> None:
    """Pour a tub of another salt into the old bath, as a phone may hand it in."""
    lot = house.say(
        "lot.received", studio=house.made["studio"], what="alum", name="XA-1",
        salt=other_salt, weight=quantity(2, "kg"),
    )  # fmt: skip
    salt = [{"lot": lot, "amount": quantity(90, "g")}]
    giver = mixed(house, name="R-A9", water=quantity(4, "l"), salt=salt)
    house.made["old"] = mixed(house, name="R-B2", vessel=tub(house), water=quantity(4, "l"))
    house.later(minutes=1)
    came_in(house, "bath.joined", bath=house.made["old"], giver=giver)


def came_in(house: Opened, kind: str, **body: Any) -> None:
    """Write what a phone handed in: nobody was asked about it."""
    entry = read_entry(
        draft(
            ledger=house.store.ledger,
            id=house.new_id(),
            kind=kind,
            body=body,
            author=house.members["amina"].member,
            happened_at=house.moment,
            written_at=house.moment,
        )
    )
    with house.store.writing() as desk:
        by = Admission(at=house.moment, by=house.members["amina"].member)
        desk.journal.append([entry], by)


def tub(house: Opened) -> str:
    return house.say(
        "vessel.described", studio=house.made["studio"], name="deep tub",
        brim=quantity(40, "l"), lidded="yes", place="3",
        inside_length=quantity(740, "mm"), inside_width=quantity(540, "mm"),
    )  # fmt: skip


def test_what_is_typed_wrong_stays_and_is_explained(house: Opened) -> None:
    done(house)
    house.later(minutes=1)
    answer = send(house.client("kahu"), there(house), {"weight.typed": "a handful"})

    assert answer.status_code == 422
    assert 'value="a handful"' in answer.text
    assert weighed(house) == [0.0]


def test_every_salt_but_ammonium_alum_has_a_walk() -> None:
    """A new salt in the tables must be thought of here too."""
    assert set(SALTS) - {"ammonium_alum"} >= {"potash_alum", "aluminium_sulfate_14"}
