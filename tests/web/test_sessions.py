"""Booked sessions: planning one, what it takes, what it will find, and calling it off."""

import re
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from coop.ledger.kinds import NEEDS_MAX
from coop.ledger.states import SessionState
from tests.support.forms import Typed, form_of, send, send_again
from tests.support.opened import HOUSE, Opened, furnished, mixed, opened, quantity, sized

NOBODY = "01995867-7800-7fa5-bf87-fda4d3a8ddf7"
MOSS = "powder:carrageenan"
ALUM = "salt:aluminium_sulfate_14"
SATURDAY: Typed = {
    "name": "Saturday class",
    "day": "2025-09-27",
    "from_time": "10:00",
    "to_time": "16:00",
    "head_count": "12",
    "under_16": "no",
}


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A studio with alum, paper, 200 g of carrageenan and described gloves; ines teaches."""
    house = furnished(tmp_path)
    house.join("Ines L.", "member", "teacher")
    house.made["moss"] = house.say(
        "lot.received",
        studio=house.made["studio"],
        what="carrageenan",
        name="K-3",
        carrageenan="lambda",
        weight=quantity(200, "g"),
    )
    house.made["gloves"] = house.say(
        "supply.described", what="gloves", name="nitrile gloves", measure="pieces"
    )
    return house


def plan(house: Opened, who: str = "ines", **said: str) -> Any:
    typed = SATURDAY | {name.replace("__", "."): one for name, one in said.items()}
    return send(house.client(who), "/sessions/new", typed)


def planned(house: Opened, **said: str) -> str:
    """Plan a session on its page. Return its id."""
    answer = plan(house, **said)
    assert answer.status_code == 303, answer.text
    return str(answer.location).rsplit("/", 1)[1]


def state_of(house: Opened, session: str) -> SessionState:
    state: SessionState = house.state("session", session)
    return state


def page_of(house: Opened, there: str, who: str = "kahu") -> str:
    """Return the words of a page."""
    answer = house.client(who).get(there)
    assert answer.status_code == 200, answer.text
    body = str(answer.text).split("<main", 1)[1].split("</main>")[0]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def line(place: int, supply: str, much: str, unit: str) -> dict[str, str]:
    return {
        f"needs.{place}.supply": supply,
        f"needs.{place}.amount.typed": much,
        f"needs.{place}.amount.unit": unit,
    }


def test_a_session_is_planned_with_its_day_hours_and_people(house: Opened) -> None:
    """The hours are the studio's own; the page leads on to what it takes."""
    state = state_of(house, planned(house, **line(0, MOSS, "0,24", "kg")))

    assert (state.name, state.head_count, state.under_16) == ("Saturday class", 12, False)
    assert state.starts_at.isoformat() == "2025-09-27T10:00:00+02:00"
    assert state.ends_at is not None
    assert state.ends_at.isoformat() == "2025-09-27T16:00:00+02:00"
    assert [(one.supply, one.amount) for one in state.needs] == [(MOSS, 240_000_000)]


def test_what_twelve_people_take_is_proposed_and_nothing_written(house: Opened) -> None:
    """48 L of size at 5 g/L, 150 quarter sheets, a pair of gloves each: the usual figures."""
    client = house.client("ines")
    answer = send(client, "/sessions/new", SATURDAY | {"propose": "1"})
    fields = {name: said[0] for name, said in form_of(answer.text).fields.items()}
    lines = {
        fields[f"needs.{n}.supply"]: (
            fields[f"needs.{n}.amount.typed"],
            fields[f"needs.{n}.amount.unit"],
        )
        for n in range(4)
    }

    assert answer.status_code == 200
    assert lines == {
        f"paper:{house.made['paper']}": ("38", "sheets"),
        ALUM: ("42", "g"),
        MOSS: ("240", "g"),
        f"supply:{house.made['gloves']}": ("24", "pieces"),
    }
    assert page_of(house, "/sessions").count("Saturday class") == 0
    written = send_again(client, "/sessions/new", answer.text)
    assert written.status_code == 303, written.text
    assert len(state_of(house, str(written.location).rsplit("/", 1)[1]).needs) == 4


def test_a_larger_class_is_proposed_more_and_other_lines_stay(house: Opened) -> None:
    """Proposing again changes the proposed lines, and leaves what was added by hand."""
    client = house.client("ines")
    first = send(client, "/sessions/new", SATURDAY | {"propose": "1", "head_count": "6"})
    typed: Typed = {
        **line(4, ALUM, "100", "g"),
        "needs.1.supply": "",
        "needs.1.amount.typed": "",
        "head_count": "12",
        "propose": "1",
    }
    again = send_again(client, "/sessions/new", first.text, typed)
    fields = {name: said[0] for name, said in form_of(again.text).fields.items()}

    assert fields["needs.2.amount.typed"] == "240"
    assert (fields["needs.4.supply"], fields["needs.4.amount.typed"]) == (ALUM, "42")
    assert fields["needs.1.supply"] == ""


def proposed(house: Opened, **said: str) -> tuple[dict[str, str], str]:
    """Ask what twelve people take. Return how much by supply, and the page."""
    typed: Typed = {**SATURDAY, "propose": "1", **said}
    answer = send(house.client("ines"), "/sessions/new", typed)
    assert answer.status_code == 200, answer.text
    fields = {name: one[0] for name, one in form_of(answer.text).fields.items()}
    lines = {
        fields[f"needs.{place}.supply"]: fields[f"needs.{place}.amount.typed"]
        for place in range(4)
    }
    return {supply: much for supply, much in lines.items() if supply}, str(answer.text)


def test_another_salt_is_proposed_by_its_aluminium(house: Opened) -> None:
    """
    The house mixes 40 g/L of potash alum and has aluminium sulfate alone: 42 g of the one are
    26.2 g of the other, which carries 1.60 times the aluminium (atomic masses, as in
    `coop.science.alum`).
    """
    house.say("limits.set", **(HOUSE | {"target_salt": "potash_alum"}),
              supersedes=house.state("house", "house").edition)  # fmt: skip
    lines, _ = proposed(house)

    assert lines[ALUM] == "27"


def test_of_several_papers_none_is_guessed(house: Opened) -> None:
    """Which paper a class lays only its teacher knows; chosen, it is proposed."""
    thin = house.say(
        "paper.described",
        name="Thin",
        length=quantity(700, "mm"),
        width=quantity(500, "mm"),
        weight_g_per_m2="60",
        chalk="not_known",
    )
    house.say("supply.described", what="paper", paper=thin, floor_count="10")
    lines, page = proposed(house)
    assert not [one for one in lines if one.startswith("paper:")]
    assert "There is more than one paper: choose which, and it is proposed." in page
    assert "Paper they lay" in page

    chosen, page = proposed(house, laid=f"paper:{thin}")
    assert chosen[f"paper:{thin}"] == "38"
    assert "There is more than one paper" not in page


def test_one_paper_is_not_asked_for(house: Opened) -> None:
    assert "Paper they lay" not in proposed(house)[1]


def test_what_the_house_does_not_have_is_said_and_not_proposed(tmp_path: Path) -> None:
    bare = furnished(tmp_path)
    answer = send(bare.client("amina"), "/sessions/new", SATURDAY | {"propose": "1"})

    assert "The house has no gloves among its supplies, so none was proposed." in answer.text
    assert "The house has no carrageenan among its supplies" in answer.text


@pytest.mark.parametrize("heads", ["", "0", "201", "some"])
def test_a_proposal_wants_a_head_count(house: Opened, heads: str) -> None:
    answer = send(house.client("ines"), "/sessions/new",
                  SATURDAY | {"propose": "1", "head_count": heads})  # fmt: skip

    assert answer.status_code == 422
    assert "A whole number from 1 to 200, please." in answer.text
    assert 'value="Saturday class"' in answer.text


@pytest.mark.parametrize(
    ("said", "field", "told"),
    [
        ({"name": ""}, "name", "This is needed."),
        ({"day": "27 Sept"}, "day", "A day"),
        ({"from_time": "ten"}, "from_time", "time"),
        ({"to_time": "09:00"}, "to_time", ""),
        ({"head_count": "0"}, "head_count", "From 1 to 200, please."),
        ({"under_16": ""}, "under_16", "This is needed."),
        (line(1, MOSS, "", "g"), "needs.1.amount.typed", "This is needed."),
        (line(1, "", "240", "g"), "needs.1.supply", ""),
        (line(1, MOSS, "12", "pieces"), "needs.1.amount.typed", ""),
        (line(1, MOSS, "much", "g"), "needs.1.amount.typed", "A number, please"),
        (line(1, MOSS, "some", "pieces"), "needs.1.amount.typed", "A number, please"),
        (line(1, f"paper:{NOBODY}", "5", "sheets"), "needs.1.supply", ""),
        (line(1, "nonsense", "5", "g"), "needs.1.supply", ""),
    ],
)
def test_a_slip_is_said_beside_its_field_and_the_rest_stays(
    house: Opened, said: dict[str, str], field: str, told: str
) -> None:
    """An empty line above it does not shift the sentence to another line."""
    answer = plan(house, **said)
    summary = answer.text.split('class="mistakes"')[1].split("</section>")[0]

    assert answer.status_code == 422
    assert re.search(rf'href="#{field}(-0)?">', summary), summary
    assert told in summary
    assert 'value="10:00"' in answer.text or "from_time" in said
    assert page_of(house, "/sessions").count("Saturday") == 0


def test_more_lines_than_there_are_is_no_session(house: Opened) -> None:
    """The page has twelve lines; a thirteenth is not a field of the form."""
    page = house.client("ines").get("/sessions/new").text

    assert f"needs.{NEEDS_MAX - 1}.supply" in page
    assert f"needs.{NEEDS_MAX}.supply" not in page


def test_the_page_of_a_session_says_what_it_will_find(house: Opened) -> None:
    """200 g on hand of 240, gloves that never came, and by when they must be ordered."""
    gloves = f"supply:{house.made['gloves']}"
    lines = line(0, MOSS, "240", "g") | line(1, gloves, "24", "pieces")
    session = planned(house, day="2025-10-04", **lines, **line(2, ALUM, "42", "g"))
    page = page_of(house, f"/sessions/{session}")

    assert "Saturday 2025-10-04 10:00 to 16:00" in page
    assert "carrageenan : 240 g 200 g on hand. short by 40 g Order it by 24 Sep." in page
    assert "nitrile gloves : 24 pieces 0 pieces on hand. short by 24 pieces" in page
    assert "aluminium sulfate : 42 g enough 5000 g on hand." in page


def test_kappa_is_not_found_by_a_session(house: Opened) -> None:
    """It sets to a jelly: 200 g of lambda are what the class finds."""
    house.say(
        "lot.received",
        studio=house.made["studio"],
        what="carrageenan",
        name="K-8",
        carrageenan="kappa",
        weight=quantity(908, "g"),
    )
    session = planned(house, **line(0, MOSS, "240", "g"))
    page = page_of(house, f"/sessions/{session}")

    assert "200 g on hand." in page
    assert "Kappa and iota, which set to a jelly, are not counted: 908 g." in page
    assert "short by 40 g" in page


def test_what_cannot_come_in_time_is_said(house: Opened) -> None:
    """Nobody has written how long it takes: ten days, common practice; there are eight."""
    session = planned(house, day="2025-09-25", **line(0, MOSS, "240", "g"))

    assert "Ordered today it comes too late: it takes 10 days to arrive." in page_of(
        house, f"/sessions/{session}"
    )


def test_what_is_on_the_way_in_time_is_counted_and_said(house: Opened) -> None:
    house.say("order.placed", what="carrageenan", packs="1", pack=quantity(454, "g"),
              expected="2025-09-26")  # fmt: skip
    session = planned(house, **line(0, MOSS, "240", "g"))

    assert "carrageenan : 240 g enough 200 g on hand. 454 g on the way." in page_of(
        house, f"/sessions/{session}"
    )


def test_what_stands_in_the_other_studio_is_said(house: Opened) -> None:
    """It is enough, but somebody has to carry it over."""
    barn = house.say("studio.described", name="Barn", letter="B", drain="septic",
                     emergency="112", poison="0555 0100")  # fmt: skip
    session = planned(house, studio=barn, **line(0, MOSS, "100", "g"))

    assert "enough 200 g on hand, 0 g of it in this studio." in page_of(
        house, f"/sessions/{session}"
    )


def test_what_was_drawn_for_it_is_told_on_its_page(house: Opened) -> None:
    """Size made for it, and sheets alumed for it that nobody had put into the plan."""
    session = planned(house, **line(0, MOSS, "240", "g"))
    powder = [{"powder": "carrageenan", "lot": house.made["moss"], "amount": quantity(90, "g")}]
    sized(house, session=session, powder=powder, water=quantity(18, "l"))
    house.say("sheets.through", "kahu", bath=mixed(house), sheet_count="60",
              sheet_format="half", method="dip", lot=house.made["parcel"],
              session=session)  # fmt: skip
    page = page_of(house, f"/sessions/{session}")

    assert "carrageenan : 240 g 90 g drawn for it already. 110 g on hand. short by 40 g" in page
    assert "Drawn for it besides 30 full sheets of P-31" in page


def test_under_16_the_cautions_stand_on_the_form_and_on_the_page(house: Opened) -> None:
    """Alum the day before, by an adult; nothing that burns; local rules first."""
    session = planned(house, under_16="yes")
    grown = planned(house)

    for there in (f"/sessions/{session}", f"/sessions/{session}/change"):
        page = page_of(house, there, "ines")
        assert "an adult alums the sheets, the day before" in page
        assert "No ammonia, lime, borax, metal colours or irons" in page
        assert "Alum and soda are not in the room." in page
        assert "Your local authority" in page
    assert "an adult alums" not in page_of(house, f"/sessions/{grown}")


def test_a_changed_head_count_makes_a_new_edition(house: Opened) -> None:
    """The form shows the plan as it was typed."""
    session = planned(house, **line(0, MOSS, "0,24", "kg"))
    client = house.client("ines")
    there = f"/sessions/{session}/change"
    fields = form_of(client.get(there).text).fields
    answer = send(client, there, {"head_count": "9", "needs.0.amount.typed": "0,18"})
    state = state_of(house, session)

    assert fields["needs.0.amount.typed"] == ["0,24"]
    assert fields["from_time"] == ["10:00"]
    assert (answer.status_code, answer.location) == (303, f"/sessions/{session}")
    assert (state.head_count, state.edition_count) == (9, 2)
    assert state.needs[0].amount == 180_000_000


def test_two_people_do_not_plan_over_each_other(house: Opened) -> None:
    """Who opened the page before the other one wrote is told, and keeps what was typed."""
    session = planned(house)
    there = f"/sessions/{session}/change"
    client = house.client("amina")
    page = client.get(there).text
    send(house.client("ines"), there, {"head_count": "9"})
    answer = send_again(client, there, page, {"head_count": "20"})

    assert answer.status_code == 422
    assert state_of(house, session).head_count == 9
    assert 'value="20"' in answer.text


def test_a_session_is_called_off_and_held_after_all(house: Opened) -> None:
    """Called off, nothing is kept back for it; it stays where it can be found."""
    session = planned(house, **line(0, MOSS, "240", "g"))
    there, off = f"/sessions/{session}", f"/sessions/{session}/call-off"
    client = house.client("ines")
    send(client, there, action=off)
    assert state_of(house, session).called_off
    assert state_of(house, session).needs[0].amount == 240_000_000
    page = page_of(house, there)
    assert "It is called off: nothing is kept back for it." in page
    assert "short" not in page
    assert "called off" in page_of(house, "/sessions?month=2025-09")
    send(client, there, action=off)
    assert not state_of(house, session).called_off


def test_sessions_ahead_come_by_day_and_past_ones_by_month(house: Opened) -> None:
    later = planned(house, name="Later", day="2025-11-01")
    sooner = planned(house, name="Sooner", **line(0, MOSS, "240", "g"))
    past = planned(house, name="Evening of combs", day="2025-08-20")
    client = house.client("kahu")
    now, august = client.get("/sessions").text, client.get("/sessions?month=2025-08").text
    ahead = now.split('id="ahead"')[1].split("</section>")[0]

    assert ahead.index(sooner) < ahead.index(later)
    assert "Short: carrageenan, 40 g of 240 g." in ahead
    assert past not in now
    assert past in august.split('id="past"')[1]
    assert 'href="/sessions?month=2025-07"' in august


@pytest.mark.parametrize("month", ["", "last", "2025-13", "0000-00", "0001-01", "9999-12"])
def test_a_month_that_is_none_is_this_one(house: Opened, month: str) -> None:
    assert "Over or called off, 2025-09" in page_of(house, f"/sessions?month={month}")


@pytest.mark.parametrize("month", ["1970-01", "9998-12"])
def test_the_first_and_the_last_month_of_all_break_nothing(house: Opened, month: str) -> None:
    assert "None in this month." in page_of(house, f"/sessions?month={month}")


def test_a_session_that_is_over_says_what_it_took(house: Opened) -> None:
    session = planned(house, **line(0, MOSS, "240", "g"))
    house.later(days=11)
    page = page_of(house, f"/sessions/{session}")

    assert "What it took carrageenan : 240 g" in page
    assert "short" not in page
    assert "on hand" not in page


def test_a_bath_and_sheets_can_be_for_a_session_that_is_near(house: Opened) -> None:
    """Without one near, nobody is asked."""
    bath = mixed(house)
    assert "For a booked session?" not in page_of(house, f"/baths/{bath}/sheets")
    session = planned(house)
    far = planned(house, name="Far ahead", day="2025-12-01")
    form = house.client("kahu").get(f"/baths/{bath}/sheets").text
    assert session in form
    assert far not in form

    answer = send(house.client("kahu"), f"/baths/{bath}/sheets",
                  {"sheet_count": "60", "session": session})  # fmt: skip
    assert answer.status_code == 303, answer.text
    assert "30 full sheets of P-31" in page_of(house, f"/sessions/{session}")
    assert "Saturday class" in house.client("kahu").get(f"/baths/{bath}/keep").text


def test_a_bath_mixed_for_a_session_counts_as_drawn_for_it(house: Opened) -> None:
    """The alum that went into it is not called for again."""
    session = planned(house, **line(0, ALUM, "480", "g"))
    there = f"/mix/{house.made['tub']}?recipe=none"
    typed: Typed = {
        "session": session,
        "water.typed": "12",
        "salt.0.lot": house.made["alum"],
        "salt.0.amount.typed": "300",
    }
    answer = send(house.client("kahu"), there, typed)

    assert answer.status_code == 303, answer.text
    assert "480 g enough 300 g drawn for it already. 4700 g on hand." in page_of(
        house, f"/sessions/{session}"
    )


def test_a_size_made_for_a_session_is_asked_for_the_same_way(house: Opened) -> None:
    tray = house.say("vessel.described", studio=house.made["studio"], name="tray",
                     brim=quantity(9, "l"), lidded="yes", place="2")  # fmt: skip
    said = "powder=carrageenan&recipe=typed&dose=5+g/L&much=6"
    there = f"/make?what=size&vessel={tray}&{said}"
    assert "For a booked session?" not in house.client("kahu").get(there).text
    session = planned(house)

    assert session in house.client("kahu").get(there).text


def test_who_may_plan_and_who_may_look(house: Opened) -> None:
    """Everybody sees what is booked; a teacher or a coordinator plans."""
    session = planned(house)
    for who, may in (("kahu", 403), ("oluwaseun", 403), ("amina", 200), ("ines", 200)):
        client = house.client(who)
        assert client.get("/sessions").status_code == 200
        assert client.get(f"/sessions/{session}").status_code == 200
        assert client.get("/sessions/new").status_code == may
        assert client.get(f"/sessions/{session}/change").status_code == may
    assert "Call it off" not in page_of(house, f"/sessions/{session}", "kahu")
    assert house.client().get("/sessions").status_code == 302


@pytest.mark.parametrize("there", ["", "/change"])
def test_a_session_nobody_planned_is_not_found(house: Opened, there: str) -> None:
    assert house.client("ines").get(f"/sessions/{NOBODY}{there}").status_code == 404


def test_a_house_without_a_studio_is_told_so(tmp_path: Path) -> None:
    page = opened(tmp_path).client("amina").get("/sessions/new").text
    assert "No studio is described yet." in page


def test_the_room_leads_to_the_sessions(house: Opened) -> None:
    assert 'href="/sessions"' in house.client("kahu").get("/").text
