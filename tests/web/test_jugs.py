"""A jug nobody knows: close it, ask, and let a person say what it is."""

import re
from typing import Any

import pytest

from coop.ledger.states import JugState
from tests.support.forms import Typed, form_of, send
from tests.support.opened import Opened, mixed, quantity, sized

NOBODY = "01995867-7800-7fa5-bf87-fda4d3a8ddf7"
FOUND: Typed = {"where": "second shelf", "litres.typed": "9", "look": "thick"}


def size(house: Opened) -> str:
    """Make R-S7, 9 L at 5.0 g/L, as Kahu. Return its id."""
    powder = [{"powder": "carrageenan", "amount": quantity(45, "g")}]
    return sized(house, who="kahu", name="R-S7", water=quantity(9, "l"), powder=powder)


def found(house: Opened, who: str = "amina", **changes: str | list[str]) -> str:
    """Report a jug on its page. Return its id."""
    answer = send(house.client(who), "/jugs", FOUND | changes)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["Location"]).rsplit("/", 1)[1]


def say_it_is(house: Opened, who: str, jug: str, bath: str, asked: str = "") -> Any:
    """Press a button of a jug's page and, where it asks once more, the one that says yes."""
    client = house.client(who)
    page = form_of(client.get(f"/jugs/{jug}?bath={asked or bath}").text, f"/jugs/{jug}/vouch")
    data = {name: said[0] for name, said in page.fields.items()}
    to = "vouch" if bath else "known"
    return client.post(f"/jugs/{jug}/{to}", data=data | {"bath": bath})


def vouched(house: Opened, who: str, jug: str, **said: str | list[str]) -> Any:
    """Vouch for a waste that is no bath of the ledger."""
    there = f"/jugs/{jug}"
    typed: Typed = {"metal_pigments": "no", **said}
    return send(house.client(who), there, typed, f"{there}/vouch")


def test_what_to_do_now_stands_before_all_else(house: Opened):
    """Whoever stands before the jug reads one line, not a form."""
    page = house.client("kahu").get("/jugs").text.split("<main")[1]

    first = page.index("Close it, and hang the unknown tag on it.")
    assert (
        first < page.index("Do not sniff, taste, mix or pour it.") < page.index("<form method")
    )
    assert "Emergency: 112. Poison centre: 0555 0100." in page
    assert "No sniffing and no tasting" in page


def test_hands_and_eyes_are_kept_safe_from_what_nobody_knows(house: Opened):
    """Solid alum and soda hurt eyes for good; nobody knows that it is neither."""
    client = house.client("kahu")
    for there in ("/jugs", f"/jugs/{found(house)}"):
        page = client.get(there).text
        assert "Gloves and goggles on before you touch it" in page
        assert "In the eye: tap water at once, lids open, at least 15 minutes" in page


def test_what_a_jug_is_is_asked_once_more(house: Opened):
    """One slip of a finger would hang a wrong tag, so no likeness is the page's main button."""
    bath = size(house)
    house.later(days=7)
    jug = found(house)
    client = house.client("kahu")
    first = client.get(f"/jugs/{jug}").text
    again = client.get(f"/jugs/{jug}?bath={bath}").text
    strangers = house.client("amina").get(f"/jugs/{jug}?bath={bath}").text

    assert f'name="bath" value="{bath}"' not in first
    assert 'class="button main"' not in first
    assert "I made it: it is Size R-S7. Are you sure?" in again
    assert "Yes, it is Size R-S7</button>" in again
    assert "Are you sure?" not in strangers


def test_the_room_and_the_page_lead_to_one_another(house: Opened):
    client = house.client("kahu")

    assert 'href="/jugs">A jug nobody knows</a>' in client.get("/").text
    assert 'href="/"' in client.get("/jugs").text


def test_the_room_says_how_many_stand_closed_until_somebody_knows(house: Opened):
    """A jug that is forgotten again is poured out one day by somebody who guesses."""
    bath = size(house)
    house.later(days=7)
    jug = found(house)
    found(house, where="under the sink")

    assert "A jug nobody knows: 2 stand closed" in house.client("kahu").get("/").text
    say_it_is(house, "kahu", jug, bath)
    assert "A jug nobody knows: one stands closed" in house.client("kahu").get("/").text


def test_the_jug_of_week_seven_names_whom_to_ask(house: Opened):
    """Incident D (reference, trade.md 9.3): R-S7, 9 L, thick, 7 days old, no tag."""
    size(house)
    house.later(days=7)
    page = house.client("amina").get(f"/jugs/{found(house)}").text

    ask = page.split("Ask these people")[1]
    assert "<b>Kahu R.</b>" in ask
    assert "Size R-S7" in ask
    assert "right litres, right place, looks like it, 7 days old: made by Kahu R." in ask
    assert "this may be" not in page
    assert "It is Size R-S7" not in page


def test_its_maker_says_what_it_is_with_one_button(house: Opened):
    bath = size(house)
    house.later(days=7)
    jug = found(house)
    page = house.client("kahu").get(f"/jugs/{jug}").text

    assert f'href="/jugs/{jug}?bath={bath}">I made it: it is Size R-S7</a>' in page
    assert say_it_is(house, "kahu", jug, bath).status_code == 303
    state: JugState = house.state("jug", jug)
    assert (state.bath, state.made_it, state.known_by) == (
        bath,
        True,
        house.members["kahu"].member,
    )
    after = house.client("amina").get(f"/jugs/{jug}").text
    assert "<h1>It is Size R-S7</h1>" in after
    assert re.search(r"Kahu R\. said today \d\d:\d\d: I made it, it is Size R-S7\.", after)
    assert "Hang its own tag on it" in after


def test_who_had_it_last_may_say_it_too_but_did_not_make_it(house: Opened):
    bath = size(house)
    house.later(days=1)
    house.say("bath.cared", "oluwaseun", bath=bath, care="covered")
    jug = found(house)

    assert (
        "I had it last: it is Size R-S7" in house.client("oluwaseun").get(f"/jugs/{jug}").text
    )
    assert say_it_is(house, "oluwaseun", jug, bath).status_code == 303
    assert house.state("jug", jug).made_it is False


def test_nobody_says_it_of_what_others_made(house: Opened):
    """A likeness in a list is a guess; a guess must not become a tag."""
    bath = size(house)
    house.later(days=7)
    jug = found(house)
    answer = say_it_is(house, "amina", jug, bath)

    assert answer.status_code == 422
    assert "Only who made it or had it last can say so." in answer.text
    assert house.state("jug", jug).bath is None


def test_only_who_answers_for_safety_says_that_nobody_knows(house: Opened):
    bath = size(house)
    house.later(days=7)
    jug = found(house)

    assert (
        "Nobody knows what is in it</button>"
        not in house.client("kahu").get(f"/jugs/{jug}").text
    )
    assert say_it_is(house, "kahu", jug, "", asked=bath).status_code == 422
    assert say_it_is(house, "oluwaseun", jug, "").status_code == 303
    page = house.client("kahu").get(f"/jugs/{jug}").text
    assert re.search(r"Oluwaseun A\. said today \d\d:\d\d: nobody knows what is in it\.", page)
    assert "Do not sniff, taste, mix or pour it." in page


def test_a_jug_after_which_everybody_was_asked_stands_apart(house: Opened):
    """It asks nobody any more, but it is still not to be poured out."""
    jug = found(house)
    say_it_is(house, "oluwaseun", jug, "")
    page = house.client("kahu").get("/jugs").text

    assert "Nobody knows these yet" not in page
    assert "Ropewalk, second shelf" in page.split("Everybody was asked, nobody knew")[1]
    assert "stands closed" not in house.client("kahu").get("/").text


def test_a_maker_who_remembers_late_has_the_last_word(house: Opened):
    """The mark "nobody knows" is no end: the jug still stands there, closed."""
    bath = size(house)
    house.later(days=7)
    jug = found(house)
    say_it_is(house, "oluwaseun", jug, "")
    house.later(hours=1)
    say_it_is(house, "kahu", jug, bath)

    assert house.state("jug", jug).bath == bath


def test_ones_own_bath_can_be_said_even_if_it_is_not_like_the_jug(house: Opened):
    """Whoever found it may have misjudged the litres."""
    bath = size(house)
    jug = found(house, **{"litres.typed": "15"})
    page = house.client("kahu").get(f"/jugs/{jug}").text

    assert "the litres or the look are not like it" in page
    assert say_it_is(house, "kahu", jug, bath).status_code == 303


def test_a_bath_that_looks_otherwise_is_nobody_to_ask(house: Opened):
    mixed(house)
    page = house.client("oluwaseun").get(f"/jugs/{found(house, 'oluwaseun')}").text

    assert "R-A1" not in page
    assert "Nobody else made anything here lately that it is like." in page


def test_litres_that_nobody_can_see_are_left_out(house: Opened):
    size(house)
    jug = found(house, **{"litres.typed": "", "look": "not_looked"})
    page = house.client("amina").get(f"/jugs/{jug}").text

    assert house.state("jug", jug).volume_ml is None
    assert "litres not known, right place, 0 days old: made by Kahu R." in page


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"where": ""}, "This is needed."),
        ({"where": "x" * 41}, "At most 40 characters, please."),
        ({"litres.typed": "many"}, "A number, please"),
        ({"litres.typed": "2000"}, "please."),
        ({"look": "green"}, "Choose one of these."),
        ({"happened_at": "2099-01-01T10:00"}, "This has not happened yet."),
    ],
)
def test_what_is_not_understood_is_asked_again_and_kept(house: Opened, wrong: Typed, told: str):
    answer = send(house.client("kahu"), "/jugs", FOUND | wrong)

    assert answer.status_code == 422
    assert told in answer.text
    kept = form_of(answer.text, "").fields
    for name, value in wrong.items():
        if name != "look":
            assert kept[name] == [value]


def test_jugs_nobody_knows_stand_above_those_somebody_knew(house: Opened):
    bath = size(house)
    house.later(days=7)
    jug = found(house)
    say_it_is(house, "kahu", jug, bath)
    house.later(hours=1)
    found(house, where="under the sink")
    page = house.client("amina").get("/jugs").text
    unknown, known = page.split("Somebody knew these")

    assert "Ropewalk, under the sink" in unknown
    assert "Ropewalk, second shelf" in known
    assert "I made it, it is Size R-S7." in known


def test_what_was_seen_is_kept_with_the_note(house: Opened):
    jug = found(house, note="smells through the lid <b>")
    page = house.client("kahu").get(f"/jugs/{jug}").text

    assert "about 9.0 L, thick; found today 18:00 by Amina K." in page
    assert "smells through the lid &lt;b&gt;" in page


def test_who_is_not_signed_in_is_asked_to(house: Opened):
    jug = found(house)

    for there in ("/jugs", f"/jugs/{jug}"):
        assert house.client().get(there).status_code == 302


def test_a_jug_that_does_not_exist_is_not_found(house: Opened):
    client = house.client("kahu")

    assert client.get(f"/jugs/{NOBODY}").status_code == 404
    assert client.get("/jugs/second-shelf").status_code == 404
    assert client.get(f"/jugs/{found(house)}/known").status_code == 405


def test_before_a_studio_is_described_the_page_says_what_to_do_all_the_same(bare: Opened):
    page = bare.client("kahu").get("/jugs").text

    assert "Close it, and hang the unknown tag on it." in page
    assert "No studio is described yet." in page


def test_a_form_sent_twice_writes_one_jug(house: Opened):
    client = house.client("kahu")
    page = form_of(client.get("/jugs").text, "")
    data = {name: said[0] for name, said in page.fields.items()} | FOUND
    first = client.post("/jugs", data=data)
    again = client.post("/jugs", data=data)

    assert first.headers["Location"] == again.headers["Location"]


# ---- vouched for


def test_a_jug_that_is_no_bath_is_vouched_for_by_whoever_filled_it(house: Opened):
    """Mine, I forgot the tag: from then on it is a waste, with a way out."""
    jug = found(house, look="coloured")
    said: Typed = {
        "waste": "colour_rinse",
        "litres.typed": "4",
        "substances": ["colour", "ammonia"],
    }
    answer = vouched(house, "kahu", jug, **said)
    page = house.client("amina").get(f"/jugs/{jug}").text

    assert answer.status_code == 303, answer.text
    state: JugState = house.state("jug", jug)
    assert (state.waste, state.volume_ml, state.metal_pigments) == ("colour_rinse", 4_000, "no")
    assert state.substances == ("colour", "ammonia")
    assert "<h1>It is colour and cup rinse</h1>" in page
    assert re.search(r"Kahu R\. said today \d\d:\d\d: mine, colour and cup rinse\.", page)
    assert "4.0 L, colour, ammonia" in page
    assert f'href="/drain/jug/{jug}"' in page


def test_before_somebody_vouched_a_jug_has_no_way_out(house: Opened):
    jug = found(house)
    page = house.client("kahu").get(f"/jugs/{jug}").text

    assert "/drain/" not in page
    assert "Until somebody vouches for it, keep it: no drain takes it." in page


def test_a_bath_that_is_vouched_for_leads_to_its_own_way_out(house: Opened):
    bath = size(house)
    house.later(days=7)
    jug = found(house)
    say_it_is(house, "kahu", jug, bath)
    page = house.client("kahu").get(f"/jugs/{jug}").text

    assert house.state("jug", jug).waste == "size"
    assert f'href="/liquids/{bath}"' in page
    assert f'href="/drain/bath/{bath}"' in page


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"waste": ""}, "This is needed."),
        ({"waste": "not_known"}, "Choose one of these."),
        ({"litres.typed": ""}, "This is needed."),
        ({"litres.typed": "much"}, "A number, please"),
        ({"metal_pigments": "perhaps"}, "Choose one of these."),
    ],
)
def test_what_is_vouched_for_must_say_what_and_how_much(house: Opened, wrong: Typed, told: str):
    jug = found(house)
    said: Typed = {"waste": "size", "litres.typed": "4"}
    answer = vouched(house, "kahu", jug, **(said | wrong))

    assert answer.status_code == 422
    assert told in answer.text
    assert house.state("jug", jug).waste == ""


def test_the_list_tells_jugs_that_were_vouched_for_from_those_nobody_knows(house: Opened):
    jug = found(house)
    vouched(house, "kahu", jug, waste="size", **{"litres.typed": "4"})
    page = house.client("kahu").get("/jugs").text

    assert "Nobody knows these yet" not in page
    assert "Everybody was asked, nobody knew" not in page
    assert "mine, old size" in page.split("Somebody knew these")[1]


def test_whoever_erred_vouches_anew(house: Opened):
    jug = found(house)
    vouched(house, "kahu", jug, waste="size", **{"litres.typed": "4"})
    house.later(minutes=5)
    vouched(house, "kahu", jug, waste="gall_water", **{"litres.typed": "4"})

    assert house.state("jug", jug).waste == "gall_water"


# ---- its tag


def test_the_unknown_tag_says_what_not_to_do_and_whom_to_call(house: Opened):
    html = house.client("kahu").get(f"/tags?jug={found(house)}").text

    assert "Closed: do not sniff, taste, mix or pour." in html
    assert "Ropewalk, second shelf" in html
    assert "Emergency: 112. Poison centre: 0555\xa00100." in html
    assert 'aria-label="Sheet 1 of 1"' in html
    assert "found 2025-09-17 18:00 by Amina K." in html, "a tag hangs there for weeks"


def test_the_tag_of_a_jug_that_somebody_knows_says_what_it_is(house: Opened):
    jug = found(house)
    vouched(house, "kahu", jug, waste="colour_rinse", **{"litres.typed": "3"})
    html = house.client("kahu").get(f"/tags?jug={jug}").text

    assert "Unknown" not in html
    assert 'aria-label="Colour and cup rinse"' in html
    assert "3.0 L (3.17 US qt)" in html, "a tag hangs before members of either measure"
    assert "Said what it is: 2025-09-17, Kahu R." in html
    assert "before the ledger was asked" in html


def test_no_sentence_ends_in_two_full_stops(house: Opened):
    """A member's card can end in an initial."""
    assert ".." not in house.client("kahu").get(f"/jugs/{found(house)}").text.split("<main")[1]


def without_numbers(house: Opened, **gone: Any) -> None:
    """Say of the studio that nobody knows a number yet."""
    said: dict[str, Any] = {"emergency": "112", "poison": "0555 0100"} | gone
    house.say(
        "studio.described",
        studio=house.made["studio"],
        supersedes=house.state("studio", house.made["studio"]).edition,
        name="Ropewalk",
        letter="R",
        drain="sewer",
        instruments=["strip_print"],
        **said,
    )


@pytest.mark.parametrize("gone", [{"emergency": "ask"}, {"poison": "ask"}])
def test_without_numbers_to_call_only_the_unknown_tag_prints(
    house: Opened, gone: dict[str, str]
):
    """Whoever splashes what somebody vouched for must find whom to call; a jug that nobody
    knows is safer closed and marked than not.
    """
    jug, nobodys = found(house), found(house, where="under the sink")
    vouched(house, "kahu", jug, waste="colour_rinse", **{"litres.typed": "3"})
    without_numbers(house, **gone)
    html = house.client("kahu").get(f"/tags?jug={jug}").text
    unknown = house.client("kahu").get(f"/tags?jug={nobodys}").text

    assert "This does not print" in html
    assert "Print this page" not in html
    assert 'class="print-sheets"' not in html
    assert "This does not print" not in unknown
    assert "Closed: do not sniff, taste, mix or pour." in unknown
    assert "Poison centre:" not in unknown.split('class="print-sheets"')[1]
