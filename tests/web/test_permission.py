"""What was said about a studio's drain: recorded, asked again, put right."""

import re
from html import unescape
from typing import Any

import pytest

from tests.support.forms import Typed, form_of, send
from tests.support.opened import Opened
from tests.support.wastes import permit

NOBODY = "01995867-7800-7fa5-bf87-fda4d3a8ddf7"
ASKED: Typed = {
    "about": "alum_bath",
    "asked": "Town water office",
    "asked_on": "2025-09-10",
    "reference": "WO 12/3",
    "answer": "with_conditions",
    "conditions": "10 L a day, cold, pH between 6.5 and 9",
    "review_on": "2026-09-10",
}


def there(house: Opened, page: str = "") -> str:
    return f"/studios/{house.made['studio']}/permission{page}"


def recorded(house: Opened, who: str = "oluwaseun", **said: str) -> Any:
    return send(house.client(who), there(house, "/new"), {**ASKED, **said})


def page_of(house: Opened, who: str = "kahu", page: str = "") -> str:
    answer = house.client(who).get(page or there(house))
    assert answer.status_code == 200, answer.text
    body = str(answer.text).split("<main", 1)[1].split("</main>")[0]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def test_who_was_asked_and_what_they_said_stands_for_everybody(house: Opened):
    """The ledger gives no permission: it keeps what whoever runs the drain said."""
    answer = recorded(house)
    page = page_of(house)

    assert (answer.status_code, answer.location) == (303, there(house))
    assert "alum baths: yes, with conditions" in page
    assert "Asked Town water office, 2025-09-10" in page
    assert "Letter or number WO 12/3" in page
    assert "Conditions 10 L a day, cold, pH between 6.5 and 9" in page
    assert "Oluwaseun A." in page
    assert "To be asked again on 2026-09-10." in page
    assert "it gives no permission, and their word stands above any figure" in page
    assert "Your local authority" in page


def test_an_answer_is_about_the_studio_s_own_drain_or_another_way_out(house: Opened):
    """A sewer that takes size says nothing about the yard's gully."""
    form = form_of(house.client("oluwaseun").get(there(house, "/new")).text).fields
    assert form["outlet"] == ["sewer"]
    recorded(house, outlet="hauled", answer="yes", asked_on="2025-09-01")
    recorded(house)
    page = page_of(house)

    assert page.index("Where it would go town sewer") < page.index("Where it would go tank")


def test_an_old_answer_stays_with_the_drain_of_its_day(house: Opened):
    """Recorded without a way out, it was about the sewer; the tank came later."""
    studio = house.made["studio"]
    permit(house, asked_on=str(house.moment.date()))
    house.later(days=1)
    send(house.client("amina"), f"/house/studios/{studio}", {"drain": "septic"})

    assert "Where it would go town sewer" in page_of(house)


def test_where_nobody_knows_which_drain_was_meant_it_is_said(house: Opened):
    permit(house, asked_on="2025-08-18")
    house.later(days=1)
    send(house.client("amina"), f"/house/studios/{house.made['studio']}", {"drain": "septic"})

    assert "Nobody wrote it down, and the drain was changed: ask again." in page_of(house)


def test_where_it_would_go_must_be_said_where_the_drain_is_not_known(house: Opened):
    """An answer about no drain in particular would count for any."""
    studio = house.made["studio"]
    send(house.client("amina"), f"/house/studios/{studio}", {"drain": "not_known"})
    answer = send(house.client("oluwaseun"), there(house, "/new"), ASKED)

    assert answer.status_code == 422
    assert "Where would it go?: This is needed." in answer.text


def test_the_newest_answer_stands_first_and_old_ones_stay(house: Opened):
    recorded(house, answer="no", conditions="", asked_on="2024-05-01")
    recorded(house)
    page = page_of(house)

    assert page.index("yes, with conditions") < page.index("alum baths: no")


def test_it_is_said_when_the_day_to_ask_again_has_come(house: Opened):
    recorded(house, review_on="2025-09-18")
    assert "To be asked again on 2025-09-18." in page_of(house)
    house.later(days=1)

    assert "To be asked again since 2025-09-18." in page_of(house)
    assert "Drain, Ropewalk" in page_of(house, "oluwaseun", "/needs")


@pytest.mark.parametrize("day", ["2024-09-10", "2025-09-17"])
def test_a_day_to_ask_again_that_has_come_already_is_asked_about(house: Opened, day: str):
    """A year mistyped would ask at once; an old letter may well say so."""
    client = house.client("oluwaseun")
    first = send(client, there(house, "/new"), {**ASKED, "review_on": day})
    assert first.status_code == 422
    assert "Ask again on: That day has come already" in first.text
    assert f'value="{day}"' in first.text
    assert "Nobody has written down yet whom you asked." in page_of(house)

    again = {**ASKED, "review_on": day, "over_seen": day}
    assert send(client, there(house, "/new"), again).status_code == 303
    assert f"To be asked again since {day}." in page_of(house)


def test_another_day_that_has_come_is_asked_about_anew(house: Opened):
    client = house.client("oluwaseun")
    said = {**ASKED, "review_on": "2025-09-16", "over_seen": "2024-09-16"}

    assert send(client, there(house, "/new"), said).status_code == 422


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"about": ""}, "about"),
        ({"asked": ""}, "asked"),
        ({"asked": "x" * 61}, "asked"),
        ({"asked_on": "last spring"}, "asked_on"),
        ({"answer": "perhaps"}, "answer"),
        ({"conditions": ""}, "conditions"),
        ({"review_on": "soon"}, "review_on"),
    ],
)
def test_a_slip_is_said_beside_its_field_and_the_rest_stays(
    house: Opened, said: dict[str, str], field: str
):
    """An answer with conditions but without a word of them would be worse than none."""
    answer = recorded(house, **said)
    summary = answer.text.split('class="mistakes"')[1].split("</section>")[0]

    assert answer.status_code == 422
    assert re.search(rf'href="#{field}(-0)?">', summary), summary
    assert 'value="WO 12/3"' in answer.text
    assert "Nobody has written down yet whom you asked." in page_of(house)


def test_a_slip_is_put_right_and_leads_back_to_the_drain(house: Opened):
    recorded(house)
    client = house.client("amina")
    entry = re.findall(r"/entries/([^/]+)/correct", client.get(there(house)).text)[0]
    mended: Typed = {"content.body.conditions": "5 L a day", "reason": "typing_slip"}
    answer = send(client, f"/entries/{entry}/correct", mended)

    assert (answer.status_code, answer.location) == (303, there(house))
    assert "Conditions 5 L a day" in page_of(house)
    told = "asked Town water office about alum baths, town sewer, at Ropewalk: yes, with"
    assert told in page_of(house, "amina", f"/entries/{entry}/correct")


def test_the_wrong_way_out_is_put_right(house: Opened):
    """Else an answer about the truck would count for the sewer until it is asked again."""
    recorded(house)
    client = house.client("amina")
    entry = re.findall(r"/entries/([^/]+)/correct", client.get(there(house)).text)[0]
    mended: Typed = {"content.body.outlet": "hauled", "reason": "typing_slip"}
    answer = send(client, f"/entries/{entry}/correct", mended)

    assert answer.status_code == 303
    assert "Where it would go tank truck" in page_of(house)


def test_members_read_it_and_officers_write_it(house: Opened):
    for who, may in (("kahu", 403), ("oluwaseun", 200), ("amina", 200)):
        client = house.client(who)
        assert client.get(there(house)).status_code == 200
        assert client.get(there(house, "/new")).status_code == may
    assert "Write down an answer" not in page_of(house)
    assert house.client().get(there(house)).status_code == 302


def test_a_studio_nobody_knows_is_not_found(house: Opened):
    for page in ("", "/new"):
        path = f"/studios/{NOBODY}/permission{page}"
        assert house.client("amina").get(path).status_code == 404


def test_the_house_leads_to_what_its_drains_may_take(house: Opened):
    assert f'href="{there(house)}"' in house.client("kahu").get("/house").text
