"""Sheets through: two taps for the same as last time, three otherwise."""

import re
from typing import Any

from coop.actions.see_baths import see_bath
from coop.ids import EntryId
from coop.ledger.baths import BathState
from coop.rules.baths import FAR_OVER_SHEETS, FAR_OVER_TIMES, BathLook, far_over_left
from tests.support.forms import form_of
from tests.support.opened import Opened, mixed, post, quantity, token
from tests.support.tray import with_size


def fields(house: Opened, **changes: Any) -> dict[str, Any]:
    usual = {
        "sheet_count": "60",
        "sheet_format": "half",
        "method": "dip",
        "lot": house.made["parcel"],
    }
    return usual | changes


def bath_of(house: Opened, bath: str) -> BathState:
    state: BathState = house.state("bath", bath)
    return state


def test_sheets_are_written_and_said_back_with_an_undo(house: Opened):
    """A wet finger taps beside; what was just written can be taken out again."""
    bath = mixed(house)
    client = house.client("kahu")
    answer = post(client, f"/baths/{bath}/sheets", **fields(house))

    assert answer.status_code == 303
    assert bath_of(house, bath).half_count == 60
    page = client.get(answer.location).text
    assert "Written: 60 half sheets through." in page
    undo = re.search(r'role="status".*?action="(/entries/[^"]+/undo)"', page, re.DOTALL)
    assert undo
    client.post(undo[1], data={"csrf_token": token(page)})
    assert bath_of(house, bath).half_count == 0


def test_the_same_as_last_time_is_one_button(house: Opened):
    """Two taps: the card's button, and this one; it needs no script."""
    bath = mixed(house)
    client = house.client("kahu")
    post(client, f"/baths/{bath}/sheets", **fields(house, sheet_count="37", method="sponge"))
    house.later(hours=1)
    page = client.get(f"/baths/{bath}/sheets").text
    again = page.split('class="form again"')[1].split("</form>")[0]
    assert "37 half sheets, sponge, P-31" in again

    hidden = dict(re.findall(r'name="([^"]+)"[^>]*value="([^"]*)"', again))
    answer = client.post(f"/baths/{bath}/sheets", data=hidden)
    assert answer.status_code == 303
    assert bath_of(house, bath).half_count == 74


def test_a_members_own_last_comes_before_the_baths_last(house: Opened):
    bath = mixed(house)
    post(house.client("kahu"), f"/baths/{bath}/sheets", **fields(house, sheet_count="12"))
    house.later(minutes=5)
    post(house.client("amina"), f"/baths/{bath}/sheets", **fields(house, sheet_count="33"))

    assert "12 half sheets, dip" in house.client("kahu").get(f"/baths/{bath}/sheets").text
    assert "33 half sheets, dip" in house.client("oluwaseun").get(f"/baths/{bath}/sheets").text


def test_the_pad_holds_the_members_last_three_counts(house: Opened):
    bath = mixed(house)
    client = house.client("kahu")
    for count in ("7", "12", "12", "23", "41"):
        house.later(minutes=5)
        post(client, f"/baths/{bath}/sheets", **fields(house, sheet_count=count))
    page = client.get(f"/baths/{bath}/sheets").text
    pad = [int(count) for count in re.findall(r'data-fill="(\d+)"', page)]

    assert pad == [5, 10, 12, 20, 23, 30, 40, 41, 50, 60]


def test_a_second_post_of_the_same_page_writes_once(house: Opened):
    """The answer was lost and the button tapped again."""
    bath = mixed(house)
    client = house.client("kahu")
    page = client.get(f"/baths/{bath}/sheets").text
    entry = re.search(r'name="entry_id"[^>]*value="([^"]+)"', page)
    assert entry
    data = fields(house, csrf_token=token(page), entry_id=entry[1])

    assert client.post(f"/baths/{bath}/sheets", data=data).status_code == 303
    assert client.post(f"/baths/{bath}/sheets", data=data).status_code == 303
    assert bath_of(house, bath).half_count == 60
    clash = client.post(f"/baths/{bath}/sheets", data=data | {"sheet_count": "40"})
    assert clash.status_code == 422
    assert "Something else was written from this page already." in clash.text


def test_a_count_far_over_what_is_left_is_asked_about_once(house: Opened):
    """A wet finger makes 700 of 70, and what a bath has had is what it is judged by."""
    bath = mixed(house)
    client = house.client("kahu")
    there = f"/baths/{bath}/sheets"

    asked = post(client, there, **fields(house, sheet_count="700"))

    assert asked.status_code == 422
    assert re.search(r"about \d+ half sheets are left in this bath: did 700 go", asked.text)
    assert "Write it all the same" in asked.text
    assert bath_of(house, bath).half_count == 0
    meant = form_of(asked.text, "")
    assert client.post(there, data=meant.fields).status_code == 303
    assert client.post(there, data=meant.fields | {"warned": ""}).status_code == 303
    assert bath_of(house, bath).half_count == 700


def test_a_count_a_little_over_what_is_left_is_not_asked_about(house: Opened):
    """What is left is reckoned, and a sponge takes less than a dip."""
    bath = mixed(house)
    client = house.client("kahu")
    assert (
        post(client, f"/baths/{bath}/sheets", **fields(house, sheet_count="260")).status_code
        == 303
    )
    assert bath_of(house, bath).half_count == 260


def test_only_a_count_far_over_what_is_left_is_far_over(house: Opened):
    """A slip makes ten times as many; where little is left, a whole go may well be right."""
    bath = mixed(house)
    half = {"sheet_format": "half", "method": "dip"}
    look = look_of(house, bath)
    left = far_over_left(look, 2000, **half)
    assert left is not None
    assert left > FAR_OVER_SHEETS
    assert far_over_left(look, FAR_OVER_TIMES * left, **half) is None
    assert far_over_left(look, FAR_OVER_TIMES * left + 1, **half) == left

    post(house.client("kahu"), f"/baths/{bath}/sheets", **fields(house, sheet_count=str(left)))
    look = look_of(house, bath)
    rest = far_over_left(look, 2000, **half)
    assert rest is not None
    assert rest < FAR_OVER_SHEETS
    assert far_over_left(look, rest + FAR_OVER_SHEETS, **half) is None
    assert far_over_left(look, rest + FAR_OVER_SHEETS + 1, **half) == rest


def test_of_a_bath_that_is_finished_nothing_is_asked(house: Opened):
    """Its card is copied when the tub is empty: what is left says nothing of what went in."""
    bath = mixed(house)
    house.say("bath.finished", bath=bath, reason="used_up")
    half = {"sheet_format": "half", "method": "dip"}

    assert far_over_left(look_of(house, bath), 2000, **half) is None


def look_of(house: Opened, bath: str) -> BathLook:
    with house.desk() as desk:
        return see_bath(desk.journal, bath_of(house, bath), now=house.moment)


def test_a_members_own_paper_draws_nothing_from_the_shelf(house: Opened):
    bath = mixed(house)
    answer = post(
        house.client("kahu"),
        f"/baths/{bath}/sheets",
        **fields(house, lot="own", paper=house.made["paper"]),
    )

    assert answer.status_code == 303
    last = bath_of(house, bath).through[-1]
    assert last.lot is None
    assert last.paper == house.made["paper"]


def test_a_lot_of_the_house_says_the_paper_itself(house: Opened):
    """A kind of one's own paper left chosen in the fold must not go with a lot."""
    bath = mixed(house)
    answer = post(
        house.client("kahu"),
        f"/baths/{bath}/sheets",
        **fields(house, paper=house.made["paper"]),
    )

    assert answer.status_code == 303
    assert bath_of(house, bath).through[-1].lot == house.made["parcel"]


def test_a_sponge_dish_is_measured_out_and_back(house: Opened):
    """0.5 L out and 0.2 L back took 0.3 L, whatever the sheets were."""
    bath = mixed(house)
    answer = post(
        house.client("kahu"),
        f"/baths/{bath}/sheets",
        **fields(
            house,
            method="sponge",
            open_hours="0,5",
            **{
                "took_out.typed": "0,5",
                "took_out.unit": "l",
                "put_back.typed": "0.2",
                "put_back.unit": "l",
            },
        ),
    )

    assert answer.status_code == 303
    estimate = bath_of(house, bath).estimate
    assert abs(estimate.plain.volume_ml - 11_700) < 1
    assert abs(estimate.belief.volume_ml - (12_000 - 295)) < 1


def test_more_put_back_than_taken_out_is_said_beside_the_field(house: Opened):
    bath = mixed(house)
    answer = post(
        house.client("kahu"),
        f"/baths/{bath}/sheets",
        **fields(
            house,
            **{
                "took_out.typed": "0.2",
                "took_out.unit": "l",
                "put_back.typed": "0.5",
                "put_back.unit": "l",
            },
        ),
    )

    assert answer.status_code == 422
    assert "More put back than was taken out." in answer.text
    assert 'value="0.5"' in answer.text
    assert "<details open>" in answer.text


def test_a_bath_not_to_be_used_asks_for_a_reason_and_writes_all_the_same(house: Opened):
    """What a person did is written down; only why is asked."""
    bath = mixed(house)
    house.say("bath.stopped", "oluwaseun", bath=bath, reason="washed_off")
    house.later(minutes=1)
    client = house.client("kahu")
    page = client.get(f"/baths/{bath}/sheets").text
    assert "Not to be used:" in page
    assert "Why use it anyway?" in page
    assert 'class="form again"' not in page

    refused = post(client, f"/baths/{bath}/sheets", **fields(house))
    assert refused.status_code == 422
    assert "Tap a reason." in refused.text
    assert bath_of(house, bath).half_count == 0

    written = post(client, f"/baths/{bath}/sheets", **fields(house, reason="only_a_few"))
    assert written.status_code == 303
    assert bath_of(house, bath).stopped_sheet_count == 60


def test_a_bath_to_be_looked_at_again_warns_and_asks_nothing(house: Opened):
    bath = mixed(house)
    house.later(days=30)
    client = house.client("kahu")
    page = client.get(f"/baths/{bath}/sheets").text

    assert "A strip print is due" in page
    assert "Why use it anyway?" not in page
    assert post(client, f"/baths/{bath}/sheets", **fields(house)).status_code == 303


def test_a_slip_keeps_what_was_typed(house: Opened):
    bath = mixed(house)
    answer = post(
        house.client("kahu"),
        f"/baths/{bath}/sheets",
        **fields(house, sheet_count="sixty", note="for the class"),
    )

    assert answer.status_code == 422
    assert "A number, please" in answer.text
    assert 'value="sixty"' in answer.text
    assert "for the class" in answer.text
    assert bath_of(house, bath).half_count == 0


def test_too_many_sheets_and_no_format_are_said(house: Opened):
    bath = mixed(house)
    client = house.client("kahu")
    many = post(client, f"/baths/{bath}/sheets", **fields(house, sheet_count="2001"))
    none = post(client, f"/baths/{bath}/sheets", **fields(house, sheet_format="letter"))

    assert "From 1 to 2000, please." in many.text
    assert "Choose one of these." in none.text
    assert many.status_code == none.status_code == 422


def test_an_hour_ago_can_be_said(house: Opened):
    bath = mixed(house)
    house.later(hours=5)
    answer = post(
        house.client("kahu"),
        f"/baths/{bath}/sheets",
        **fields(house, happened_at="2025-09-17T19:30"),
    )

    assert answer.status_code == 303
    at = bath_of(house, bath).through[-1].at
    assert at.isoformat() == "2025-09-17T19:30:00+02:00"


def test_lots_with_nothing_left_are_not_offered(house: Opened):
    """Only the one used last stays, since the shelf may be wrong."""
    spent = house.say(
        "lot.received",
        studio=house.made["studio"],
        what="paper",
        name="P-7",
        paper=house.made["paper"],
        sheet_count="1",
    )
    bath = mixed(house)
    assert "P-7" in house.client("kahu").get(f"/baths/{bath}/sheets").text

    client = house.client("amina")
    post(client, f"/baths/{bath}/sheets", **fields(house, sheet_count="2", lot=spent))
    assert "P-7" in client.get(f"/baths/{bath}/sheets").text
    house.later(minutes=1)
    post(client, f"/baths/{bath}/sheets", **fields(house, sheet_count="2"))
    assert "P-7" not in client.get(f"/baths/{bath}/sheets").text


def barn(house: Opened) -> dict[str, str]:
    """Describe another studio with a tub: what a bath there is mixed with."""
    studio = house.say(
        "studio.described",
        name="Orchard Barn",
        letter="B",
        drain="septic",
        instruments=["dipstick"],
        emergency="112",
        poison="0555 0100",
    )
    tub = house.say(
        "vessel.described",
        studio=studio,
        name="low tub",
        brim=quantity(16, "l"),
        lidded="yes",
        place="1",
    )
    return {"studio": studio, "vessel": tub}


def test_paper_of_another_studio_is_offered_by_its_name(house: Opened):
    """Paper is carried to a bath; the studio's own comes first all the same."""
    there = barn(house)
    bath = mixed(house, **there)
    client = house.client("kahu")
    without = chips(client.get(f"/baths/{bath}/sheets").text)
    house.say(
        "lot.received",
        studio=there["studio"],
        what="paper",
        name="P-40",
        paper=house.made["paper"],
        sheet_count="100",
    )

    assert without == ["P-31 (Ropewalk)", "my own paper"]
    own_first = ["P-40", "P-31 (Ropewalk)", "my own paper"]
    assert chips(client.get(f"/baths/{bath}/sheets").text) == own_first


def test_the_same_as_last_time_keeps_a_lot_of_another_studio(house: Opened):
    """What was taken is drawn from where it stands, and so is the next."""
    bath = mixed(house, **barn(house))
    client = house.client("kahu")
    assert post(client, f"/baths/{bath}/sheets", **fields(house)).status_code == 303
    house.later(hours=1)

    page = client.get(f"/baths/{bath}/sheets").text

    again = page.split('class="form again"')[1].split("</form>")[0]
    assert f'name="lot" value="{house.made["parcel"]}"' in again
    assert bath_of(house, bath).through[-1].lot == house.made["parcel"]


def chips(page: str) -> list[str]:
    """Return the words on the buttons for the paper."""
    return re.findall(r'name="lot"[^>]*>\s*<span>([^<]+)</span>', page)


def test_the_page_reminds_of_the_back_mark_and_of_whom_to_call(house: Opened):
    page = house.client("kahu").get(f"/baths/{mixed(house)}/sheets").text

    assert "Back mark first" in page
    assert "no air under the sheet" in page
    assert "0555 0100" in page
    assert "data-awake" in page


def test_unknown_bath_wrong_method_signed_out_and_turkish(house: Opened):
    bath = mixed(house)
    client = house.client("kahu")
    nobody = bath[:-4] + "0000"

    assert client.get(f"/baths/{nobody}/sheets").status_code == 404
    assert client.delete(f"/baths/{bath}/sheets").status_code in (400, 405)
    assert house.client().get(f"/baths/{bath}/sheets").status_code == 302
    client.set_cookie("coop-lang", "tr")
    assert client.get(f"/baths/{bath}/sheets").status_code == 200


def test_the_side_rule_is_the_studios_unless_this_stack_has_another(house: Opened):
    """What is marked tonight is laid by others tomorrow, whatever the rule is by then."""
    bath = mixed(house)
    client = house.client("kahu")
    page = client.get(f"/baths/{bath}/sheets").text
    assert "The mark goes on the bare side: alum the other one." in page
    assert "Side: the mark is on the bare side" in page

    usual = post(client, f"/baths/{bath}/sheets", **fields(house, side="mark_on_bare_side"))
    other = post(client, f"/baths/{bath}/sheets", **fields(house, side="both_sides"))
    sides = [
        house.state("stack", one.location.partition("=")[2]).side for one in (usual, other)
    ]
    assert sides == ["mark_on_bare_side", "both_sides"]
    wrong = post(client, f"/baths/{bath}/sheets", **fields(house, side="inside"))
    assert (wrong.status_code, "Choose one of these." in wrong.text) == (422, True)


def test_the_same_as_last_time_is_marked_by_the_studios_rule(house: Opened):
    bath = mixed(house)
    client = house.client("kahu")
    post(client, f"/baths/{bath}/sheets", **fields(house, side="both_sides"))
    again = client.get(f"/baths/{bath}/sheets").text.split('class="form again"')[1]

    assert 'name="side" value="mark_on_bare_side"' in again.split("</form>")[0]


def test_sheets_go_straight_onto_a_size_in_one_entry(house: Opened):
    """Alumed and laid at once: both baths have less, and nothing is left of the stack."""
    size = with_size(house)
    bath = mixed(house)
    client = house.client("kahu")
    page = client.get(f"/baths/{bath}/sheets").text
    assert "onto R-S1 (good)" in page
    assert re.search(r'<input checked[^>]*name="size"[^>]*value="">', page)

    before = house.state("bath", size)
    answer = post(client, f"/baths/{bath}/sheets", **fields(house, size=size, damp="yes"))
    assert answer.status_code == 303, answer.text
    assert "Written: 60 half sheets through, and laid." in client.get(answer.location).text
    stack = house.state("stack", answer.location.partition("=")[2])
    assert (stack.left_count, stack.laid_count) == (0, 60)
    after = house.state("bath", size)
    assert after.laid[-1].damp
    assert after.volume_ml < before.volume_ml
    assert bath_of(house, bath).half_count == 60


def test_sheets_not_laid_yet_are_said_to_be_nothing_of_the_kind(house: Opened):
    """The hidden word for damp goes with a size alone."""
    with_size(house)
    bath = mixed(house)
    answer = post(
        house.client("kahu"), f"/baths/{bath}/sheets", **fields(house, size="", damp="yes")
    )

    assert answer.status_code == 303
    with house.desk() as desk:
        (sealed,) = desk.journal.by_id(EntryId(answer.location.partition("=")[2]))
    assert b"damp" not in sealed.entry.data


def test_only_sizes_that_may_be_used_are_offered(house: Opened):
    """Stopped, or kept for somebody else: whoever lays there all the same says it there."""
    size = with_size(house)
    bath = mixed(house)
    amina = house.members["amina"].member
    house.say("bath.kept_for", bath=size, member=amina)
    there = f"/baths/{bath}/sheets"
    assert "onto R-S1" not in house.client("kahu").get(there).text
    assert "onto R-S1" in house.client("amina").get(there).text

    house.say("bath.stopped", bath=size, reason="smells_sour")
    assert "onto R-S1" not in house.client("amina").get(there).text


def test_a_size_stopped_meanwhile_asks_for_a_reason(house: Opened):
    """Between the page and the tap somebody smelled it."""
    size = with_size(house)
    bath = mixed(house)
    client = house.client("kahu")
    page = client.get(f"/baths/{bath}/sheets").text
    house.say("bath.stopped", bath=size, reason="smells_sour")
    said = fields(house, size=size, damp="yes", csrf_token=token(page), entry_id=house.new_id())
    refused = client.post(f"/baths/{bath}/sheets", data=said)

    assert refused.status_code == 422
    assert "Tap a reason." in refused.text
    assert "Why use it anyway?" in refused.text


def test_a_bath_kept_for_somebody_asks_others_for_a_reason(house: Opened):
    bath = mixed(house)
    house.say("bath.kept_for", bath=bath, session="Saturday class")
    client = house.client("kahu")
    page = client.get(f"/baths/{bath}/sheets").text
    assert "Kept for Saturday class." in page
    assert "Why use it anyway?" in page

    assert post(client, f"/baths/{bath}/sheets", **fields(house)).status_code == 422
    answer = post(client, f"/baths/{bath}/sheets", **fields(house, reason="only_a_few"))
    assert answer.status_code == 303
