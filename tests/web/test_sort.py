"""Sort it out: whatever is listed goes away by a person's decision, and nothing is deleted."""

import hashlib
import json
import re
from dataclasses import replace
from typing import Any

import pytest

from coop.actions.write import Draft, Who, Written, write
from coop.ids import EntryId
from coop.store.waiting import SqlShelf
from tests.support.browser import assert_accessible, screenshot
from tests.support.enrolled import enrolled, over, post_push
from tests.support.forms import Typed, forms_of, send
from tests.support.opened import PASSWORD, Opened, mixed, quantity, token
from tests.support.queries import counted
from tests.support.server import sign_in

HERE = "/sort-it-out"
NOTHING = "Nothing waits for anybody."


def sheets(phone, house, bath, count="20", **more):
    return phone.write(
        "sheets.through",
        now=house.moment,
        bath=bath,
        sheet_count=count,
        sheet_format="half",
        method="dip",
        **more,
    )


def see(house: Opened, who: str = "amina") -> str:
    answer = house.client(who).get(HERE)
    assert answer.status_code == 200, answer.text
    return answer.text


def add_note(phone, written: str, text: str) -> None:
    """Let what a phone keeps carry a free note, named as phones name it."""
    one = phone.records[written]
    record = json.loads(one.text)
    salt = bytes(range(16))
    record["entry"]["body"]["note"] = hashlib.sha256(salt + text.encode()).hexdigest()
    record["note"] = {"salt": salt.hex(), "text": text}
    phone.records[written] = replace(one, text=json.dumps(record, ensure_ascii=False))


def away(house: Opened, note: str = ""):
    """Return a phone whose member was taken off it while it wrote, and what it wrote."""
    phone, client = enrolled(house)
    bath = mixed(house)
    house.later(hours=1)
    written = sheets(phone, house, bath)
    if note:
        add_note(phone, written, note)
    house.later(minutes=5)
    kahu = house.members["kahu"].member
    house.say("device.member_removed", "kahu", device=phone.id, member=kahu)
    house.later(hours=2)
    assert phone.push(over(client), now=house.moment)
    assert phone.state(written) == "needs"
    return phone, client, written, bath


def draft_url(page: str) -> str:
    found = re.search(rf'href="({HERE}/drafts/[^"]+)"', page)
    assert found, page
    return found[1]


def judged(house: Opened, reason: str, who: str = "amina"):
    """Tap the first button that judges with this reason."""
    client = house.client(who)
    page = client.get(HERE).text
    form = next(one for one in forms_of(page) if one.fields.get("reason") == [reason])
    return client.post(form.action, data=form.fields)


# --- needs a person ---------------------------------------------------------------------


def test_nothing_to_sort_out_is_said(house: Opened):
    assert NOTHING in see(house)
    assert NOTHING in see(house, "kahu")
    assert "sorted out" not in house.client("amina").get("/").text


def test_a_draft_is_told_in_plain_words_with_why_it_waits(house: Opened):
    away(house)
    page = see(house)

    assert "R-A1: 20 half sheets through, dip, own paper" in page
    assert "Kahu R. · pocket · written today 19:00" in page
    assert "Whoever wrote it does not write on that phone or tablet." in page
    assert "1 thing waits to be sorted out" in house.client("amina").get("/").text
    assert "sorted out" not in house.client("kahu").get("/").text


def test_it_goes_in_word_for_word_and_counts(house: Opened):
    """Under the name and the time of who wrote it; the phone hears of it when it asks."""
    phone, client, written, bath = away(house)
    url = draft_url(see(house))

    answer = send(house.client("amina"), url, {"outcome": "sealed"}, action=url)

    assert answer.status_code == 303
    assert house.state("bath", bath).through[-1].entry == written
    with house.desk() as desk:
        (found,) = desk.journal.by_id(EntryId(written))
    assert found.entry.author == house.members["kahu"].member
    assert found.first.admitted_by == house.members["amina"].member
    phone.push(over(client), now=house.moment)
    assert phone.state(written) == "studio"
    assert NOTHING in see(house)


def test_it_is_left_out_with_a_reason_and_stays_readable(house: Opened):
    phone, client, written, bath = away(house)
    url = draft_url(see(house))

    answer = send(
        house.client("amina"),
        url,
        {"outcome": "left_out", "reason": "written_twice", "note": "see line 4"},
        action=url,
    )

    assert answer.status_code == 303
    assert house.state("bath", bath).half_count == 0
    page = house.client("kahu").get(url).text
    assert "20 half sheets through" in page
    assert "Amina K. left it out, today 21:05: written twice. see line 4" in page
    phone.push(over(client), now=house.moment)
    assert (phone.state(written), phone.records[written].code) == ("refused", "left-out")
    assert NOTHING in see(house)


@pytest.mark.parametrize("outcome", ["sealed", "left_out"])
def test_a_note_that_is_erased_is_readable_nowhere(house: Opened, outcome: str):
    """Erasing must reach the shelf as well: until then the note is still on its page there."""
    phone, client, written, _ = away(house, note="Kahu's sister helped")
    url = draft_url(see(house))
    said: Typed = {"outcome": outcome, "reason": "written_twice"}
    assert send(house.client("amina"), url, said, action=url).status_code == 303
    assert "Kahu&#39;s sister helped" in house.client("amina").get(url).text

    name = json.loads(phone.records[written].text)["entry"]["body"]["note"]
    house.say("attachment.erased", attachment=name, reason="asked_by_the_person")
    with house.store.writing() as desk:
        desk.journal.erase(name)
        (held,) = SqlShelf(desk.connection).held(written)
    assert "sister" not in held.text
    phone.push(over(client), now=house.moment)
    page = house.client("amina").get(url).text
    assert "20 half sheets through" in page
    assert "sister" not in page


@pytest.mark.parametrize("count", ["20", "2001"])
def test_what_was_given_up_is_shown_with_who_gave_it_up(house: Opened, count: str):
    """The studio keeps its text for a person to read, also where it made no line."""
    phone, client = enrolled(house)
    written = sheets(phone, house, mixed(house), count)
    text = phone.records[written].text
    post_push(client, phone.message(now=house.moment) | {"drafts": [], "given_up": [text]})
    with house.desk() as desk:
        (held,) = SqlShelf(desk.connection).held(written)

    answer = house.client("amina").get(f"{HERE}/drafts/{held.id}/{held.digest}")

    assert answer.status_code == 200
    assert answer.text.count("Whoever wrote it gave it up.") == 1
    assert "pocket" in answer.text
    assert ("20 half sheets through" if count == "20" else "2001") in answer.text
    assert "It goes in as it is" not in answer.text


@pytest.mark.parametrize("count", ["20", "2001"])
def test_the_note_of_what_was_given_up_can_be_erased_too(house: Opened, count: str):
    phone, client = enrolled(house)
    written = sheets(phone, house, mixed(house), count)
    add_note(phone, written, "Kahu's sister helped")
    text = phone.records[written].text
    post_push(client, phone.message(now=house.moment) | {"drafts": [], "given_up": [text]})
    with house.desk() as desk:
        (held,) = SqlShelf(desk.connection).held(written)
    assert "sister" not in held.text
    url = f"{HERE}/drafts/{held.id}/{held.digest}"
    assert "Kahu&#39;s sister helped" in house.client("amina").get(url).text

    with house.store.writing() as desk:
        desk.journal.erase(json.loads(text)["entry"]["body"]["note"])

    answer = house.client("amina").get(url)
    assert answer.status_code == 200
    assert "sister" not in answer.text


def test_leaving_out_wants_a_reason_and_keeps_what_was_typed(house: Opened):
    away(house)
    url = draft_url(see(house))

    answer = send(
        house.client("amina"), url, {"outcome": "left_out", "note": "see line 4"}, action=url
    )

    assert answer.status_code == 422
    assert "see line 4" in answer.text
    assert "thing to put right" in answer.text


def test_what_another_coordinator_settled_meanwhile_is_said(house: Opened):
    """Two look at the same list; the second decides nothing twice."""
    house.join("Noor T.", "member", "coordinator")
    _, _, written, bath = away(house)
    url = draft_url(see(house))
    first, second = house.client("amina"), house.client("noor")
    page = second.get(url).text
    send(first, url, {"outcome": "sealed"}, action=url)

    fields = next(one.fields for one in forms_of(page) if one.action == url)
    answer = second.post(url, data=fields | {"outcome": "left_out", "reason": "mistake"},
                         follow_redirects=True)  # fmt: skip

    assert "Amina K. let it in, today 21:05: right as it is." in answer.text
    assert house.state("bath", bath).through[-1].entry == written


def test_what_goes_in_by_another_way_waits_no_more(house: Opened):
    """Its writer was put on the phone again, which sends it once more: it counts, so it must
    not be left out after all."""
    phone, client, written, bath = away(house)
    url = draft_url(see(house))
    amina = house.client("amina")
    page = amina.get(url).text
    kahu = house.members["kahu"].member
    house.say("device.member_added", "kahu", device=phone.id, member=kahu)
    message = phone.message(now=house.moment) | {"drafts": [phone.records[written].text]}
    (told,) = post_push(client, message).get_json()["answers"]
    assert told["outcome"] == "sealed"
    assert NOTHING in see(house)

    fields = next(one.fields for one in forms_of(page) if one.action == url)
    answer = amina.post(url, data=fields | {"outcome": "left_out", "reason": "mistake"},
                        follow_redirects=True)  # fmt: skip

    assert "It went in by another way, and counts." in answer.text
    assert "It went in by another way, and counts." in amina.get(url).text
    assert house.state("bath", bath).half_count == 20


@pytest.mark.parametrize("outcome", ["sealed", "left_out"])
def test_what_a_page_wrote_meanwhile_is_not_left_out(house: Opened, outcome: str):
    """The form went out by hand as well: nobody decides on what counts."""
    _, _, written, bath = away(house)
    body = {"bath": bath, "sheet_count": "20", "sheet_format": "half", "method": "dip"}
    with house.store.writing() as desk:
        kahu = Who(member=house.members["kahu"].member, roles=frozenset({"member"}))
        said = Draft(id=EntryId(written), kind="sheets.through", body=body)
        assert isinstance(write(desk.journal, kahu, said, now=house.moment), Written)
    url = draft_url(see(house))

    answer = send(
        house.client("amina"), url, {"outcome": outcome, "reason": "mistake"}, action=url
    )

    assert answer.status_code == 303
    assert "It went in by another way, and counts." in house.client("amina").get(url).text
    assert "Needs a person" not in see(house)
    assert house.state("bath", bath).half_count == 20


def test_what_needs_a_page_of_its_own_cannot_go_in(house: Opened):
    phone, client = enrolled(house)
    phone.write("bath.cleared", now=house.moment, bath=mixed(house), reason="mended")
    phone.push(over(client), now=house.moment)
    url = draft_url(see(house))

    page = house.client("amina").get(url).text

    assert "R-A1: allowed again: it was mended" in page
    assert "This is done on a page, signed in." in page
    assert "It goes in as it is" not in page
    answer = send(house.client("amina"), url, {"outcome": "sealed"}, action=url)
    assert answer.status_code == 422


def test_a_member_reads_it_all_and_decides_nothing(house: Opened):
    away(house)
    url = draft_url(see(house, "kahu"))
    client = house.client("kahu")

    assert "It goes in as it is" not in client.get(url).text
    said = {"csrf_token": token(client.get("/me").text), "outcome": "sealed"}
    assert client.post(url, data=said).status_code == 403
    assert client.post(f"{HERE}/judge", data=said).status_code == 403


def test_a_correction_that_waits_says_what_it_takes_out(house: Opened):
    phone, client = enrolled(house)
    bath = mixed(house)
    other = house.say("bath.cared", "oluwaseun", bath=bath, care="strained")
    phone.write("entry.corrected", now=house.moment, target=other, outcome="void",
                reason="wrong_bath")  # fmt: skip
    phone.push(over(client), now=house.moment)

    assert "R-A1: takes out: strained" in see(house)


def test_an_unknown_draft_is_no_page(house: Opened):
    unknown = f"{HERE}/drafts/{house.new_id()}/{'0' * 64}"

    assert house.client("amina").get(unknown).status_code == 404


# --- missing counts ---------------------------------------------------------------------


def test_missing_counts_are_listed_until_somebody_says_what_became_of_them(house: Opened):
    """Numbers 1 and 3 are gone with the phone's store; 5 goes later and is listed anew."""
    phone, client = enrolled(house)
    bath = mixed(house)
    for count in range(1, 5):
        written = sheets(phone, house, bath)
        if count % 2:
            del phone.records[written]
    phone.push(over(client), now=house.moment)
    page = see(house)
    assert "2 lines never arrived: numbers 1, 3" in page
    assert "last heard today 18:00" in page

    link = re.search(rf'href="({HERE}/judge\?[^"]+)"', page)
    assert link
    there = link[1].replace("&amp;", "&")
    answer = send(house.client("amina"), there, {"reason": "seen"}, action=f"{HERE}/judge")

    assert answer.status_code == 303
    assert NOTHING in see(house)
    assert "never arrived" not in house.client("amina").get(f"/devices/{phone.id}").text
    del phone.records[sheets(phone, house, bath)]
    phone.push(over(client), now=house.moment)
    assert "1 line never arrived: number 5" in see(house)


def test_what_was_given_up_for_lost_may_still_arrive(house: Opened):
    """The phone turned up again; nothing is said to be missing or twice."""
    phone, client = enrolled(house)
    bath = mixed(house)
    lost = sheets(phone, house, bath)
    sheets(phone, house, bath)
    kept = phone.records.pop(lost)
    phone.push(over(client), now=house.moment)
    house.say("finding.judged", subject=phone.id, code="gap:1", entry=phone.id, reason="seen")
    assert NOTHING in see(house)

    phone.records[lost] = kept
    phone.push(over(client), now=house.moment)

    assert house.state("bath", bath).half_count == 40
    assert NOTHING in see(house)


def test_more_missing_runs_than_one_judgement_names_are_judged_in_turns(house: Opened):
    """A code is at most 40 characters long."""
    phone, client = enrolled(house)
    bath = mixed(house)
    for count in range(60):
        written = sheets(phone, house, bath)
        if count % 2:
            del phone.records[written]
    phone.push(over(client), now=house.moment)

    turns = 0
    while NOTHING not in (page := see(house)):
        link = re.search(rf'href="({HERE}/judge\?[^"]+)"', page)
        assert link
        there = link[1].replace("&amp;", "&")
        send(house.client("amina"), there, {"reason": "other"}, action=f"{HERE}/judge")
        turns += 1

    assert turns == 3


# --- late, twins, odd -------------------------------------------------------------------


def test_what_came_late_and_changed_an_answer_is_seen_by_one_tap(house: Opened):
    phone, client = enrolled(house)
    bath = mixed(house)
    house.later(hours=1)
    phone.write("bath.stopped", now=house.moment, bath=bath, reason="washed_off")
    house.later(days=1)
    phone.push(over(client), now=house.moment)
    page = see(house)
    assert "Came late and changed an answer" in page
    assert "“good” into “do not use”" in page

    assert judged(house, "seen").status_code == 303

    assert NOTHING in see(house)


def test_a_stop_taken_out_days_late_is_seen(house: Opened):
    """Three days the bath was said not to be used, by somebody who had changed their mind."""
    phone, client = enrolled(house)
    bath = mixed(house)
    house.later(minutes=5)
    stop = phone.write("bath.stopped", now=house.moment, bath=bath, reason="looks_wrong")
    phone.push(over(client), now=house.moment)
    house.later(minutes=1)
    phone.write("entry.corrected", now=house.moment, target=stop, outcome="void",
                reason="undone")  # fmt: skip
    house.later(days=3)
    phone.push(over(client), now=house.moment)
    page = see(house)
    assert "“do not use” into “good”" in page
    link = re.search(rf'href="(/entries/{stop}/correct)"', page)
    assert link
    assert house.client("amina").get(link[1]).status_code == 200

    assert judged(house, "seen").status_code == 303

    assert NOTHING in see(house)


def test_likely_twins_stand_side_by_side_and_may_both_be_right(house: Opened):
    phone, client = enrolled(house)
    bath = mixed(house)
    house.later(minutes=5)
    house.say("sheets.through", "amina", bath=bath, sheet_count="20", sheet_format="half",
              method="dip")  # fmt: skip
    house.later(minutes=5)
    sheets(phone, house, bath)
    phone.push(over(client), now=house.moment)
    page = see(house)
    assert "Written twice?" in page
    assert page.count("R-A1: 20 half sheets through, dip, own paper") == 2
    assert page.index("Amina K. · today 18:05") < page.index("Kahu R. · today 18:10 · pocket")

    assert judged(house, "both_right").status_code == 303

    assert NOTHING in see(house)
    assert house.state("bath", bath).half_count == 40


def test_a_twin_that_is_taken_out_is_listed_no_more(house: Opened):
    bath = mixed(house)
    house.later(minutes=5)
    said: Any = {"bath": bath, "sheet_count": "20", "sheet_format": "half", "method": "dip"}
    house.say("sheets.through", "amina", **said)
    house.later(minutes=1)
    twin = house.say("sheets.through", "kahu", **said)
    assert f"/entries/{twin}/correct" in see(house)

    house.say("entry.corrected", target=twin, outcome="void", reason="written_twice")

    assert NOTHING in see(house)


def test_what_is_odd_in_other_ways_is_listed_with_its_bath(house: Opened):
    bath = mixed(house)
    house.later(minutes=20)
    entry = house.say("bath.topped_up", bath=bath, water=quantity(1, "l"), reason="level_only")
    house.say(
        "entry.corrected",
        target=entry,
        outcome="replace",
        reason="wrong_time",
        content={
            "author": house.members["amina"].member,
            "happened_at": "2025-09-10T10:00:00+00:00",
            "body": {"bath": bath, "water": quantity(1, "l"), "reason": "level_only"},
        },
    )
    assert "<b>R-A1</b>: This is said to have happened before the bath was mixed." in see(house)

    judged(house, "seen")

    assert NOTHING in see(house)


def test_what_was_judged_meanwhile_is_not_judged_twice(house: Opened):
    bath = mixed(house)
    house.later(minutes=5)
    said: Any = {"bath": bath, "sheet_count": "20", "sheet_format": "half", "method": "dip"}
    house.say("sheets.through", "amina", **said)
    house.later(minutes=1)
    twin = house.say("sheets.through", "kahu", **said)
    client = house.client("amina")
    form = next(f for f in forms_of(client.get(HERE).text) if f.fields.get("code"))
    house.say("finding.judged", subject=bath, code="likely-twin", entry=twin, reason="seen")

    answer = client.post(form.action, data=form.fields, follow_redirects=True)

    assert "That is settled already." in answer.text


@pytest.mark.parametrize("there", [f"{HERE}/judge", f"{HERE}/judge?subject=a&code=b&entry=c"])
def test_nothing_is_judged_that_is_not_listed(house: Opened, there):
    answer = house.client("amina").get(there, follow_redirects=True)

    assert "That is settled already." in answer.text


# --- how it came -------------------------------------------------------------------------


def shown(house: Opened, bath: str, entry: str) -> tuple[str, str]:
    """Return what a bath's history and the entry's own page say of who wrote an entry."""
    client = house.client("amina")
    page = client.get(f"/baths/{bath}").text.split('id="history"')[1]
    page = re.sub(r'<span class="at">([^<]*)</span>', r"\1", page)
    line = re.search(r'<span class="soft">([^<]*Kahu R\.[^<]*)</span>', page)
    own = re.search(r'<p class="soft">(Kahu R\.[^<]*)</p>',
                    client.get(f"/entries/{entry}/correct").text)  # fmt: skip
    assert line
    assert own, page
    return line[1], own[1]


def test_a_history_says_which_phone_a_line_came_from(house: Opened):
    """Whose name stands there is the phone's word; nobody signed in for it."""
    phone, client = enrolled(house)
    bath = mixed(house)
    written = sheets(phone, house, bath)
    phone.push(over(client), now=house.moment)

    for text in shown(house, bath, written):
        assert text.endswith("from “pocket”")


def test_a_history_says_who_let_a_line_in(house: Opened):
    _, _, written, bath = away(house)
    url = draft_url(see(house))
    send(house.client("amina"), url, {"outcome": "sealed"}, action=url)

    for text in shown(house, bath, written):
        assert "from “pocket”, let in by Amina K." in text


def test_a_history_says_which_phone_brought_a_line_of_another(house: Opened):
    other, _ = enrolled(house)
    _, client = enrolled(house, "amina", name="her tablet")
    bath = mixed(house)
    written = sheets(other, house, bath)
    message = other.message(now=house.moment)
    post_push(client, message)

    for text in shown(house, bath, written):
        assert text.endswith("from “pocket”, brought by “her tablet”")


def test_what_is_written_on_a_page_came_by_no_phone(house: Opened):
    bath = mixed(house)
    written = house.say("sheets.through", "kahu", bath=bath, sheet_count="20",
                        sheet_format="half", method="dip")  # fmt: skip

    for text in shown(house, bath, written):
        assert "from" not in text


# --- what cannot be ---------------------------------------------------------------------


def tub(house: Opened, name: str = "small tub") -> str:
    """Describe one more tub."""
    return house.say("vessel.described", studio=house.made["studio"], name=name, lidded="yes",
                     brim=quantity(80, "l"), place="2")  # fmt: skip


def one_more(house: Opened, **changes: Any) -> str:
    """Mix a second bath an hour after the first, in a tub and of a name of its own."""
    mixed(
        house,
    )
    house.later(hours=1)
    return mixed(house, **({"name": "R-A2", "vessel": tub(house)} | changes))


def in_one_tub(house: Opened) -> str:
    """Only a phone without signal is not told that the tub is in use."""
    mixed(house)
    phone, client = enrolled(house)
    house.later(hours=1)
    mix = phone.write(
        "bath.mixed",
        now=house.moment,
        name="R-A2",
        studio=house.made["studio"],
        vessel=house.made["tub"],
        water=quantity(12, "l"),
        salt=[{"lot": house.made["alum"], "amount": quantity(480, "g")}],
    )
    assert phone.push(over(client), now=house.moment)
    assert phone.state(mix) == "studio"
    return mix


def of_one_name(house: Opened) -> str:
    return one_more(house, name="R-A1")


def too_strong(house: Opened) -> str:
    """Let a point slip: 480 g became 4800, of a lot that holds it."""
    salt = house.say("lot.received", studio=house.made["studio"], what="alum", name="AS-25",
                     salt="aluminium_sulfate_14", weight=quantity(25, "kg"))  # fmt: skip
    return mixed(house, name="R-A2", vessel=tub(house),
                 salt=[{"lot": salt, "amount": quantity(4800, "g")}])  # fmt: skip


def more_than_came_in(house: Opened) -> str:
    """Take 1800 g more than the 5000 g that came in, for a bath of its usual strength."""
    amount = {"lot": house.made["alum"], "amount": quantity(6800, "g")}
    return mixed(house, name="R-A2", vessel=tub(house), water=quantity(60, "l"), salt=[amount])


CANNOT_BE = {
    in_one_tub: "<b>R-A2</b>: Another bath that is not finished stands in the same tub.",
    of_one_name: "<b>R-A1</b>: Another bath that is not finished has the same name.",
    too_strong: "<b>R-A2</b>: This is stronger than a bath can be: look at what went in.",
    more_than_came_in: "<b>AS-24</b>: More was taken out of this lot than came in.",
}


def test_baths_apart_are_nothing_to_sort_out(house: Opened):
    one_more(house)

    assert NOTHING in see(house)


@pytest.mark.parametrize("bring_about", CANNOT_BE)
def test_what_cannot_be_is_listed_until_somebody_has_seen_it(house: Opened, bring_about):
    """A phone in the cellar could look nothing up: its mix is taken, and a person told."""
    bring_about(house)
    assert see(house).count(CANNOT_BE[bring_about]) == 1
    assert "1 thing waits to be sorted out" in house.client("amina").get("/").text
    link = re.search(rf'href="({HERE}/judge\?[^"]+)"', see(house))
    assert link
    there = link[1].replace("&amp;", "&")
    assert CANNOT_BE[bring_about] in house.client("amina").get(there).text

    assert judged(house, "seen").status_code == 303

    assert NOTHING in see(house)
    assert "sorted out" not in house.client("amina").get("/").text


@pytest.mark.parametrize("bring_about", CANNOT_BE)
def test_what_cannot_be_goes_with_the_mix_that_brought_it_about(house: Opened, bring_about):
    mix = bring_about(house)

    house.say("entry.corrected", target=mix, outcome="void", reason="wrong_bath")

    assert NOTHING in see(house)


def test_two_baths_of_one_name_are_told_apart(house: Opened):
    later = of_one_name(house)
    page = see(house)

    assert page.index("R-A1, mixed 2025-09-17 18:00 by AK") < page.index("17 19:00 by AK")
    link = re.search(rf'href="(/entries/{later}/correct)"[^>]*>Give it another name<', page)
    assert link
    assert house.client("amina").get(link[1]).status_code == 200


def test_a_tub_that_holds_two_leads_to_finishing_the_earlier_one(house: Opened):
    """As a rule the old bath was poured away, and nobody wrote it."""
    in_one_tub(house)
    link = re.search(r'href="(/baths/[^"]+/finish)"[^>]*>Finish the earlier one<', see(house))
    assert link

    answer = send(house.client("amina"), link[1], {"reason": "used_up"})

    assert answer.status_code == 303
    assert NOTHING in see(house)


def test_a_lot_of_less_than_nothing_leads_to_where_it_went(house: Opened):
    more_than_came_in(house)
    link = re.search(r'href="(/lots/[^"]+)"[^>]*>Where it went<', see(house))
    assert link

    assert "into R-A2" in house.client("amina").get(link[1]).text


def test_what_cannot_be_costs_no_more_questions_when_there_is_more_of_it(house: Opened):
    amina = house.client("amina")
    in_one_tub(house)
    more_than_came_in(house)

    def asked(there: str) -> int:
        with counted(house.store) as found:
            assert amina.get(there).status_code == 200
        return len(found)

    before = asked(HERE), asked("/")
    for _ in range(4):
        more_than_came_in(house)
        too_strong(house)

    assert (asked(HERE), asked("/")) == before


# --- cost and looks ---------------------------------------------------------------------


def test_many_cost_no_more_questions_than_few(house: Opened):
    """Of the same members and baths; each sort is cut at what a page can show."""
    bath = mixed(house)
    amina = house.client("amina")
    kahu = house.members["kahu"].member

    def add(count: int) -> None:
        for _ in range(count):
            phone, client = enrolled(house)
            del phone.records[sheets(phone, house, bath, "7")]
            sheets(phone, house, bath, "9")
            phone.push(over(client), now=house.moment)
            house.later(minutes=1)
            sheets(phone, house, bath, "11")
            house.say("device.member_removed", "kahu", device=phone.id, member=kahu)
            phone.push(over(client), now=house.moment)
            house.later(minutes=1)

    def asked(there: str) -> int:
        with counted(house.store) as found:
            assert amina.get(there).status_code == 200
        return len(found)

    add(2)
    before = asked(HERE), asked("/")
    add(28)

    assert (asked(HERE), asked("/")) == before
    assert max(before) <= 36
    page = amina.get(HERE).text
    assert page.count("and 10 more") == 2
    assert page.count("Written twice?") == 1


def everything(house: Opened) -> None:
    """Bring about one of each sort."""
    phone, client, _, bath = away(house)
    del phone.records[sheets(phone, house, bath)]
    phone.push(over(client), now=house.moment)
    house.say(
        "device.member_added", "kahu", device=phone.id, member=house.members["kahu"].member
    )
    house.later(minutes=1)
    phone.write("bath.stopped", now=house.moment, bath=bath, reason="washed_off")
    house.later(days=1)
    phone.push(over(client), now=house.moment)
    said: Any = {"bath": bath, "sheet_count": "20", "sheet_format": "half", "method": "dip",
            "reason": "test_sheets"}  # fmt: skip
    house.say("sheets.through", "oluwaseun", **said)
    house.later(minutes=4)
    house.say("sheets.through", "kahu", **said)
    house.later(minutes=1)
    house.say("bath.finished", bath=bath, reason="used_up")
    with house.desk() as desk:
        assert SqlShelf(desk.connection).waiting_count() == 1


@pytest.mark.browser
@pytest.mark.parametrize(("shape", "scheme"), [("phone", "dark"), ("desk", "light")])
def test_the_screens_are_for_everybody(house: Opened, pages, live, shape, scheme):
    everything(house)
    tablet, its = enrolled(house, "amina", shared=True, name="tablet by the sink")
    post_push(its, tablet.message(now=house.moment))
    page = getattr(pages, shape)(live(house.app()), color_scheme=scheme)
    sign_in(page, "amina", PASSWORD)
    page.goto(HERE)
    screens = {"sort": HERE, "room": "/"}
    screens["draft"] = str(page.get_by_role("link", name="Decide").first.get_attribute("href"))
    screens["judge"] = str(page.get_by_role("link", name="Decide").last.get_attribute("href"))

    for name, there in screens.items():
        page.goto(there)
        page.evaluate("document.querySelectorAll('details').forEach((one) => one.open = true)")
        screenshot(page, f"{name}-{shape}")
        assert_accessible(page)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
