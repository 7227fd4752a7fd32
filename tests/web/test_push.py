"""What a device pushes: each draft answered for itself, nobody else let in."""

import json
from dataclasses import replace
from datetime import timedelta

import pytest

from coop.actions import push_drafts
from coop.actions.write import Draft, write
from coop.ids import MemberId, Subject
from coop.store import devices
from coop.store.waiting import SqlShelf
from coop.sync.limits import OUTBOX_BYTES_MAX
from tests.support.enrolled import enrolled, over, post_push
from tests.support.opened import furnished, mixed


@pytest.fixture
def house(tmp_path):
    return furnished(tmp_path)


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


def test_what_was_kept_arrives_once_and_counts(house):
    """The answer may be lost a hundred times: it is one entry."""
    phone, client = enrolled(house)
    bath = mixed(house)
    house.later(hours=1)
    first = sheets(phone, house, bath)
    house.later(hours=20)
    message = phone.message(now=house.moment)

    one, two = post_push(client, message).get_json(), post_push(client, message).get_json()

    assert [a["outcome"] for a in one["answers"]] == ["sealed"]
    assert [a["outcome"] for a in two["answers"]] == ["already"]
    assert one["answers"][0]["seal"] == two["answers"][0]["seal"]
    state = house.state("bath", bath)
    assert state.half_count == 20
    assert state.through[-1].entry == first
    assert state.hands.by == house.members["kahu"].member


def test_a_bad_draft_spoils_no_other(house):
    phone, client = enrolled(house)
    bath = mixed(house)
    good = [sheets(phone, house, bath, "5")]
    bad = sheets(phone, house, bath, "nine")
    good.append(sheets(phone, house, bath, "7"))

    assert phone.push(over(client), now=house.moment)

    assert [phone.state(one) for one in good] == ["studio", "studio"]
    assert phone.state(bad) == "refused"
    assert phone.records[bad].code == "not-a-whole-number"
    assert house.state("bath", bath).half_count == 12


def test_a_refusal_is_said_in_words_with_its_field(house):
    phone, client = enrolled(house)
    sheets(phone, house, mixed(house), "2001")

    (told,) = post_push(client, phone.message(now=house.moment)).get_json()["answers"]

    assert (told["code"], told["field"]) == ("out-of-range", "sheet_count")
    assert told["text"] == "From 1 to 2000, please."


def test_an_unknown_bath_is_no_refusal(house):
    """Its own phone may still be away."""
    phone, client = enrolled(house)
    tub_mixed_elsewhere = house.new_id()
    written = sheets(phone, house, tub_mixed_elsewhere)

    assert phone.push(over(client), now=house.moment)

    assert phone.state(written) == "studio"
    assert house.state("bath", tub_mixed_elsewhere) is None


WAITS = [
    ("bath.cleared", {"reason": "mended"}, "kahu", "needs-a-page"),
    ("sheets.through", {"sheet_count": "3"}, "oluwaseun", "not-on-this-device"),
]


@pytest.mark.parametrize(("kind", "body", "author", "code"), WAITS)
def test_what_needs_a_person_waits_and_is_kept(house, kind, body, author, code):
    phone, client = enrolled(house)
    more = {"sheet_format": "half", "method": "dip"} if kind == "sheets.through" else {}
    written = phone.write(
        kind,
        now=house.moment,
        author=house.members[author].member,
        bath=mixed(house),
        **body,
        **more,
    )

    assert phone.push(over(client), now=house.moment)

    assert phone.state(written) == "needs"
    with house.desk() as desk:
        (held,) = SqlShelf(desk.connection).waiting()
    assert (held.refused.code, held.device_seq) == (code, 1)
    assert held.text == phone.records[written].text


def test_who_left_while_away_loses_nothing(house):
    """Their sheets wait for a coordinator; they do not vanish."""
    phone, client = enrolled(house)
    written = sheets(phone, house, mixed(house))
    house.later(minutes=5)
    house.say("member.left", member=house.members["kahu"].member)

    assert phone.push(over(client), now=house.moment)

    assert phone.state(written) == "needs"
    assert phone.records[written].code == "has-left"


def test_the_clock_of_a_device_is_measured_not_believed(house):
    """A phone set ten years ahead writes into today."""
    phone, client = enrolled(house)
    bath = mixed(house)
    house.later(hours=1)
    phone.ahead = timedelta(days=3650)
    sheets(phone, house, bath)
    wrote_at = house.moment
    house.later(hours=2)

    assert phone.push(over(client), now=house.moment)

    assert house.state("bath", bath).through[-1].at == wrote_at
    with house.desk() as desk:
        found = devices.all_of(desk.connection).get(Subject(phone.id))
    assert found is not None
    assert found.offset_ms == timedelta(days=3650) / timedelta(milliseconds=1)


@pytest.mark.parametrize("ahead", [timedelta(), timedelta(days=3)])
def test_the_clock_of_who_brings_a_line_says_nothing_of_who_wrote_it(house, ahead):
    """A coordinator's phone a day ahead brings a saved file: it was written when it was."""
    other, their = enrolled(house)
    phone, client = enrolled(house, "amina")
    bath = mixed(house)
    other.ahead = ahead
    other.push(over(their), now=house.moment)
    house.later(hours=30)
    sheets(other, house, bath)
    wrote_at = house.moment
    house.later(hours=2)
    phone.ahead = timedelta(days=1)
    own = sheets(phone, house, bath)
    message = phone.message(now=house.moment)
    message["drafts"] = [*(one.text for one in other.in_state("waiting")), *message["drafts"]]

    post_push(client, message)

    through = house.state("bath", bath).through
    assert [one.at for one in through] == [wrote_at, house.moment]
    assert through[-1].entry == own


def test_what_came_late_and_changed_the_word_is_remembered(house):
    """Somebody relied on 'good' in the meantime."""
    phone, client = enrolled(house)
    bath = mixed(house)
    house.later(hours=1)
    phone.write("bath.stopped", now=house.moment, bath=bath, reason="washed_off")
    house.later(days=1)

    assert phone.push(over(client), now=house.moment)

    with house.desk() as desk:
        (late,) = desk.journal.late(since=house.moment - timedelta(days=1))
    assert (late.bath, late.before, late.after) == (bath, "good", "do-not-use")


def test_what_came_late_and_changed_nothing_is_not_listed(house):
    phone, client = enrolled(house)
    sheets(phone, house, mixed(house), "1")
    house.later(hours=3)

    assert phone.push(over(client), now=house.moment)

    with house.desk() as desk:
        assert desk.journal.late(since=house.moment - timedelta(days=1)) == ()


def test_a_server_set_back_is_filled_again(house):
    """The phone heard of more than this server has: it offers what it keeps, once."""
    phone, client = enrolled(house)
    bath = mixed(house)
    written = sheets(phone, house, bath)
    phone.push(over(client), now=house.moment)
    lost = sheets(phone, house, bath)
    phone.records[lost] = replace(
        phone.records[lost],
        state="studio",
        digest="ab" * 32,
        seal=(phone.heard.copy().popitem()[0], 99),
        acked_at=house.moment,
    )
    phone.heard = {node: 99 for node in phone.heard}

    phone.push(over(client), now=house.moment)
    assert phone.behind
    phone.push(over(client), now=house.moment)
    assert (phone.state(written), phone.state(lost)) == ("studio", "waiting")
    phone.push(over(client), now=house.moment)

    assert phone.state(lost) == "studio"
    assert not phone.behind


def test_what_was_given_up_stays_readable_and_accounts_for_its_count(house):
    phone, client = enrolled(house)
    bad = sheets(phone, house, mixed(house), "2001")
    phone.push(over(client), now=house.moment)
    message = phone.message(now=house.moment)
    message["given_up"] = [phone.records[bad].text]

    answer = post_push(client, message).get_json()

    assert [one["outcome"] for one in answer["settled"]] == ["given-up"]
    with house.desk() as desk:
        (held,) = SqlShelf(desk.connection).held(bad)
        assert held.outcome == "given_up"
        assert devices.waiting(desk.connection) == {Subject(phone.id): {1}}


def given_up(phone, house, *texts):
    return phone.message(now=house.moment) | {"drafts": [], "given_up": list(texts)}


def test_what_is_given_up_elsewhere_accounts_for_its_own_phones_count(house):
    """A saved file is taken in on another phone, and there its bad line is given up."""
    other, _ = enrolled(house, "oluwaseun")
    phone, client = enrolled(house)
    bath = mixed(house)
    read, unread = sheets(other, house, bath), sheets(other, house, bath, "2001")

    post_push(client, given_up(phone, house, *(one.text for one in other.in_state("waiting"))))

    with house.desk() as desk:
        held = SqlShelf(desk.connection).held_any([read, unread])
        assert devices.waiting(desk.connection) == {Subject(other.id): {1, 2}}
    assert {one.device for one in held} == {other.id}
    assert {one.sender for one in held} == {phone.id}


def test_a_text_that_is_given_up_takes_no_more_room_than_any_other(house):
    """Nobody can fill the disk with it; its count is accounted for all the same."""
    phone, client = enrolled(house)
    entry = {"id": house.new_id(), "device": phone.id, "device_seq": 4, "body": "é" * 50_000}
    text = json.dumps({"v": 1, "entry": entry}, ensure_ascii=False)

    (told,) = post_push(client, given_up(phone, house, text)).get_json()["settled"]

    assert (told["id"], told["outcome"]) == (entry["id"], "given-up")
    with house.desk() as desk:
        (held,) = SqlShelf(desk.connection).held(entry["id"])
    assert held.device_seq == 4
    assert len(held.text.encode()) in (OUTBOX_BYTES_MAX, OUTBOX_BYTES_MAX - 1)


def test_one_sender_leaves_so_much_for_a_person_and_no_more(house, monkeypatch):
    """What is over it stays on the phone, which says so; what is here already is no more."""
    monkeypatch.setattr(push_drafts, "HELD_MAX", 3)
    phone, client = enrolled(house)
    bath = mixed(house)
    cleared = [
        phone.write("bath.cleared", now=house.moment, bath=bath, reason="mended")
        for _ in range(2)
    ]
    message = phone.message(now=house.moment)

    post_push(client, given_up(phone, house, "1", "2"))
    for _ in range(2):
        one, two = post_push(client, message).get_json()["answers"]
        assert (one["id"], one["outcome"]) == (cleared[0], "waiting")
        assert (two["outcome"], two["code"]) == ("refused", "shelf-full")
        assert "sort that out first" in two["text"]

    (told,) = post_push(client, given_up(phone, house, "3")).get_json()["settled"]
    assert (told["outcome"], told["code"]) == ("refused", "shelf-full")


def test_a_form_that_arrived_after_all_leaves_no_gap(house):
    """The page's own post got through and its answer did not: the copy is pushed as well."""
    phone, client = enrolled(house)
    bath = mixed(house)
    written = sheets(phone, house, bath)
    entry = json.loads(phone.records[written].text)["entry"]
    with house.store.writing() as desk:
        said = Draft(id=entry["id"], kind=entry["kind"], body=entry["body"])
        write(desk.journal, house.members["kahu"], said, now=house.moment)

    assert phone.push(over(client), now=house.moment)

    assert phone.state(written) == "studio"
    assert house.state("bath", bath).half_count == 20
    with house.desk() as desk:
        assert devices.waiting(desk.connection) == {Subject(phone.id): frozenset({1})}
    page = house.client("amina").get("/sort-it-out").text
    assert "Missing counts" not in page


CLOSED = [
    ({"Sec-Fetch-Site": "cross-site"}, 403),
    ({"Sec-Fetch-Site": "same-site"}, 403),
    ({"Sec-Fetch-Site": "none"}, 403),
]


@pytest.mark.parametrize(("headers", "status"), CLOSED)
def test_another_site_is_kept_out(house, headers, status):
    phone, client = enrolled(house)

    answer = post_push(client, phone.message(now=house.moment), **headers)

    assert answer.status_code == status


def test_an_old_browser_is_judged_by_its_origin(house):
    phone, client = enrolled(house)
    message = json.dumps(phone.message(now=house.moment))

    def status(**headers):
        return client.post(
            "/device/push", data=message, content_type="application/json", headers=headers
        ).status_code

    assert status(Origin="http://localhost") == 200
    assert status(Origin="http://elsewhere.example") == 403
    assert status() == 403


def test_a_stranger_and_a_revoked_device_are_told_so_in_problem_json(house):
    phone, client = enrolled(house)
    message = phone.message(now=house.moment)
    stranger = house.app().test_client()
    assert post_push(client, message).status_code == 200
    house.say("device.revoked", "amina", device=phone.id, reason="lost")

    for answer in (post_push(client, message), post_push(stranger, message)):
        assert answer.status_code == 401
        assert answer.mimetype == "application/problem+json"


def test_what_is_no_push_is_answered_with_its_field(house):
    phone, client = enrolled(house)
    message = phone.message(now=house.moment)

    answer = post_push(client, message | {"last_seq": "many"})

    assert answer.status_code == 422
    assert answer.get_json()["field"] == "last_seq"
    assert post_push(client, "x" * (1024 * 1024)).status_code == 413
    plain = client.post(
        "/device/push", data={"v": 1}, headers={"Sec-Fetch-Site": "same-origin"}
    )
    assert plain.status_code == 415


def test_a_session_opens_no_push(house):
    """A page of a member's cannot be made to push in the device's name."""
    phone, _ = enrolled(house)

    answer = post_push(house.client("kahu"), phone.message(now=house.moment))

    assert answer.status_code == 401


def test_a_thousand_after_a_month_arrive_in_order(house):
    phone, client = enrolled(house)
    bath = mixed(house)
    house.later(minutes=1)
    for _ in range(1000):
        sheets(phone, house, bath, "1")
        house.later(minutes=40)

    pushes = 0
    while phone.in_state("waiting"):
        assert phone.push(over(client), now=house.moment)
        pushes += 1

    assert pushes == 5
    assert house.state("bath", bath).half_count == 1000
    with house.desk() as desk:
        assert devices.arrived(desk.connection, [Subject(phone.id)]) == {phone.id: 1000}


def test_the_seal_names_the_device_it_was_taken_from(house):
    phone, client = enrolled(house)
    written = sheets(phone, house, mixed(house))
    phone.push(over(client), now=house.moment)

    with house.desk() as desk:
        (found,) = desk.journal.by_id(written)
    assert found.first.admitted_by == MemberId(phone.id)


def test_what_the_studio_took_is_not_held_by_the_phone_any_more(house):
    """A phone that is put away after its push would else seem to hold for ever what came."""
    phone, client = enrolled(house)
    bath = mixed(house)
    sheets(phone, house, bath)
    sheets(phone, house, bath, "nine")
    phone.write("bath.cleared", now=house.moment, bath=bath, reason="mended")

    assert phone.push(over(client), now=house.moment)

    with house.desk() as desk:
        found = devices.all_of(desk.connection).get(Subject(phone.id))
    assert found is not None
    assert (found.last_seq, found.unsent) == (3, (2,))


def brought(house, by, *, shared=False):
    """Let somebody's phone bring what Kahu's phone keeps; return what it is answered."""
    other, _ = enrolled(house)
    phone, client = enrolled(house, by, shared=shared, name="bearer")
    if shared:
        oluwaseun = house.members["oluwaseun"].member
        house.say("device.member_added", "oluwaseun", device=phone.id, member=oluwaseun)
    bath = mixed(house)
    sheets(other, house, bath)
    message = phone.message(now=house.moment)
    message["drafts"] = [one.text for one in other.in_state("waiting")]
    (told,) = post_push(client, message).get_json()["answers"]
    return told, house.state("bath", bath).half_count


def test_what_somebody_elses_phone_brings_waits(house):
    """Any name can be put into a file: it would count in Kahu's name, and nobody would know."""
    told, half_count = brought(house, "oluwaseun")

    assert (told["outcome"], told["code"]) == ("waiting", "handed-in")
    assert half_count == 0


def test_a_coordinators_phone_brings_what_others_wrote(house):
    """They would let it in anyway."""
    told, half_count = brought(house, "amina")

    assert (told["outcome"], half_count) == ("sealed", 20)


def test_a_tablet_that_a_coordinator_shares_is_no_coordinators_phone(house):
    told, _ = brought(house, "amina", shared=True)

    assert (told["outcome"], told["code"]) == ("waiting", "handed-in")
