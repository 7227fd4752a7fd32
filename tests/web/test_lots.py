"""A lot's page, every way it went, and what is done with it."""

import html
import re
from typing import Any

import pytest

from coop.ledger.schema import Refused
from tests.support.forms import Typed, form_of, send, send_again
from tests.support.opened import Opened, mixed, quantity

MINUS = "\u2212"


@pytest.fixture
def barn(house: Opened) -> str:
    """A second studio."""
    return house.say(
        "studio.described",
        name="Barn",
        letter="B",
        drain="septic",
        emergency="112",
        poison="0555 0100",
    )


@pytest.fixture
def tub(house: Opened) -> str:
    """600 g of carrageenan."""
    return house.say(
        "lot.received",
        studio=house.made["studio"],
        what="carrageenan",
        name="K-3",
        carrageenan="lambda",
        weight=quantity(600, "g"),
    )


@pytest.fixture
def money(house: Opened) -> str:
    """The first name of a treasurer."""
    house.join("Ines L.", "member", "treasurer")
    return "ines"


def left(house: Opened, lot: str) -> int:
    with house.desk() as desk:
        held = desk.journal.held([f"lot:{lot}"])
    return sum(held.values())


def out_of(house: Opened, lot: str) -> Any:
    """Return the lot that was moved or cut out of another."""
    with house.desk() as desk:
        (found,) = (
            one for one in desk.journal.listed("lot") if lot in (one.part_of, one.cut_from)
        )
    return found


def size_of(house: Opened, lot: str, grams: float, name: str = "R-S1") -> str:
    return house.say(
        "bath.mixed",
        name=name,
        what="size",
        studio=house.made["studio"],
        vessel=house.made["tub"],
        water=quantity(16, "l"),
        powder=[{"powder": "carrageenan", "lot": lot, "amount": quantity(grams, "g")}],
    )


def test_a_lot_says_what_it_is_and_how_it_is_stored(house: Opened, tub: str):
    page = house.client("kahu").get(f"/lots/{tub}").text

    assert "600 of 600 g left" in page
    assert "carrageenan, lambda" in page
    assert "good until 2029-09-16 as long as it is sealed" in page
    assert "How it is stored" in page
    assert "received K-3: 600 g" in page


def test_what_went_by_each_way_is_summed_and_adds_up(house: Opened, tub: str, barn: str):
    """600 = 87 into a size + 100 to the Barn + 13 spoiled + 400 left, as a pencil has it."""
    size_of(house, tub, 87)
    house.say("lot.moved", lot=tub, studio=barn, amount=quantity(100, "g"))
    house.say("lot.adjusted", lot=tub, way="out", amount=quantity(13, "g"), cause="spoiled")
    page = house.client("kahu").get(f"/lots/{tub}/gone").text

    ways = ("from the supplier", "into R-S1", "to another lot of it", "put right: spoiled")
    for text in ways:
        assert text in page
    for amount in (f"{MINUS}87 g", f"{MINUS}100 g", f"{MINUS}13 g", "400 g"):
        assert amount in page


AMOUNTS = re.compile(rf">({MINUS}?[\d.]+) g<")


@pytest.mark.parametrize("drawn", [(87.35, 12.25, 0.15), (87.04, 12.04, 0.04), (150, 0.05)])
def test_the_lines_add_up_as_they_are_printed(
    house: Opened, tub: str, barn: str, drawn: tuple[float, ...]
):
    """Who adds them up with a pencil finds what came in, whatever was rounded."""
    for grams in drawn:
        house.say("lot.moved", lot=tub, studio=barn, amount=quantity(grams, "g"))
    house.say("lot.adjusted", lot=tub, way="out", amount=quantity(13.37, "g"), cause="spoiled")
    page = house.client("kahu").get(f"/lots/{tub}/gone").text
    table, lines = page.split('id="went"')[1].split("</table>")[:2]
    came, *gone, rest = (float(one.replace(MINUS, "-")) for one in AMOUNTS.findall(table))
    first, *ways = (float(one.replace(MINUS, "-")) for one in AMOUNTS.findall(lines))

    assert (came, first) == (600, 600)
    assert came + sum(gone) == pytest.approx(rest, abs=1e-9)
    assert sum(ways) == pytest.approx(sum(gone), abs=1e-9)
    assert len({len(one.partition(".")[2]) for one in AMOUNTS.findall(table + lines)}) == 1


def test_a_lot_below_zero_has_the_same_minus_as_its_lines(house: Opened, tub: str):
    size_of(house, tub, 700)
    page = house.client("kahu").get(f"/lots/{tub}/gone").text

    assert page.count(f"{MINUS}700 g") == 2
    assert f"{MINUS}100 g" in page
    assert ">-" not in page


def test_what_was_put_to_a_lot_counts_to_what_came_in(house: Opened, tub: str, barn: str):
    """Never 700 of 600 g: what was put to it came in too."""
    other = another(house, barn, "K-4", weight=quantity(300, "g"))
    house.say("lot.moved", lot=other, studio=house.made["studio"], into=tub,
              amount=quantity(100, "g"))  # fmt: skip
    house.say("lot.adjusted", lot=tub, way="in", amount=quantity(20, "g"), cause="other")
    part = house.say("lot.moved", lot=tub, studio=barn, amount=quantity(50, "g"))
    client = house.client("kahu")

    assert "670 of 720 g left" in client.get(f"/lots/{tub}").text
    assert "200 of 300 g left" in client.get(f"/lots/{other}").text
    assert "50 of 50 g left" in client.get(f"/lots/{part}").text


def test_a_part_of_a_lot_is_told_from_it_by_where_it_stands(house: Opened, tub: str, barn: str):
    """It has its name: “to K-3” on the page of K-3 tells nobody anything."""
    part = house.say("lot.moved", lot=tub, studio=barn, amount=quantity(50, "g"))
    client = house.client("kahu")

    assert "to another lot of it, Barn" in client.get(f"/lots/{tub}").text
    assert "out of another lot of it, Ropewalk" in client.get(f"/lots/{part}").text


def test_older_ways_stand_in_one_line_that_still_adds_up(house: Opened):
    """A parcel goes out in many stacks: its own page shows the newest, nothing is left out."""
    bath = mixed(house)
    for _ in range(15):
        house.later(minutes=5)
        house.say(
            "sheets.through",
            bath=bath,
            sheet_count="2",
            sheet_format="full",
            method="dip",
            lot=house.made["parcel"],
            reason="test_sheets",
        )
    client = house.client("kahu")
    short = client.get(f"/lots/{house.made['parcel']}").text
    full = client.get(f"/lots/{house.made['parcel']}/gone").text

    assert "by 3 older ways" in short
    assert f"<b>{MINUS}6 full sheets</b>" in short
    assert short.count("alumed in R-A1, stack of Amina K.") == 12
    assert full.count("alumed in R-A1, stack of Amina K.") == 15
    assert "older way" not in full
    assert f"{MINUS}30 full sheets" in short
    assert f"{MINUS}30 full sheets" in full


def test_an_unsettled_count_is_said_where_it_went(house: Opened, tub: str):
    """No blank, not even the one nobody has explained yet."""
    house.say("lot.counted", lot=tub, weight=quantity(500, "g"))
    client = house.client("kahu")

    assert f'href="/lots/{tub}/gap"' in client.get(f"/lots/{tub}").text
    for there in (f"/lots/{tub}", f"/lots/{tub}/gone", "/shelf"):
        page = client.get(there).text
        assert "100 g less than written, and nobody has said why" in page
        assert re.search(rf'href="/lots/{tub}/gap">Counted [^<]*nobody has said why', page)


def test_more_written_out_than_came_in_is_said(house: Opened, tub: str):
    """The mix stands; the shelf shows that something is amiss."""
    size_of(house, tub, 700)
    client = house.client("kahu")

    assert "100 g more was written out than came in" in client.get("/shelf").text
    assert "More was written out than came in." in client.get(f"/lots/{tub}").text


def test_a_tub_is_opened_with_its_tare(house: Opened, tub: str):
    """From then on its year counts: common practice, no source."""
    client = house.client("kahu")
    answer = send(client, f"/lots/{tub}/open", {"tare.typed": "85"})
    page = client.get(f"/lots/{tub}").text

    assert answer.status_code == 303
    assert "opened, good until 2026-09-17" in page
    assert "85.0 g" in page
    assert "opened K-3: its empty tub weighs 85 g" in page
    assert f"/lots/{tub}/open" not in page


def test_a_tub_is_opened_without_a_tare(house: Opened, tub: str):
    assert send(house.client("kahu"), f"/lots/{tub}/open", {}).status_code == 303
    assert house.state("lot", tub).opened_at is not None
    assert house.state("lot", tub).tare_g is None


def test_a_tare_that_is_no_number_stays_in_its_box(house: Opened, tub: str):
    answer = send(house.client("kahu"), f"/lots/{tub}/open", {"tare.typed": "light"})

    assert answer.status_code == 422
    assert "A number, please" in answer.text
    assert 'value="light"' in answer.text


def test_all_of_a_lot_goes_to_the_other_studio(house: Opened, tub: str, barn: str):
    """It stays the lot it is: nothing is written out of it."""
    answer = send(house.client("kahu"), f"/lots/{tub}/move", {"how": "all", "to": barn})

    assert answer.status_code == 303
    assert house.state("lot", tub).studio == barn
    assert left(house, tub) == 600_000_000


def test_a_part_of_a_lot_becomes_a_lot_there(house: Opened, tub: str, barn: str):
    there = f"/lots/{tub}/move"
    answer = send(
        house.client("kahu"), there, {"how": "part", "amount.typed": "150", "to": barn}
    )
    part = out_of(house, tub)
    page = house.client("kahu").get(f"/lots/{part.id}").text

    assert answer.status_code == 303
    assert (part.studio, part.part_of) == (barn, tub)
    assert (left(house, tub), left(house, part.id)) == (450_000_000, 150_000_000)
    assert f'<a href="/lots/{tub}">Part of K-3</a>' in page
    assert "out of another lot of it, Ropewalk" in page


def test_all_of_a_lot_is_put_to_one_there(house: Opened, tub: str, barn: str):
    """Two half tubs become one: the studio is that of the other lot."""
    other = house.say(
        "lot.received",
        studio=barn,
        what="carrageenan",
        name="K-4",
        carrageenan="lambda",
        weight=quantity(100, "g"),
    )
    size_of(house, tub, 87.3)
    answer = send(house.client("kahu"), f"/lots/{tub}/move", {"how": "all", "to": other})

    assert answer.status_code == 303
    assert left(house, tub) == 0
    assert left(house, other) == 612_700_000


def another(house: Opened, studio: str, name: str, **said: Any) -> str:
    """Another tub of carrageenan, lambda unless another thing is said."""
    usual: dict[str, Any] = {"what": "carrageenan", "carrageenan": "lambda"}
    body = usual | {"weight": quantity(100, "g")} | said
    return house.say("lot.received", studio=studio, name=name, **body)


def test_only_what_is_the_same_and_good_is_offered_to_be_put_together(
    house: Opened, tub: str, barn: str
):
    """Kappa sets to a jelly, and what is past its day spoils what is not."""
    good = another(house, barn, "K-good")
    another(house, barn, "K-kappa", carrageenan="kappa")
    another(house, barn, "K-old", best_before="2025-01-31")
    another(house, barn, "K-unsaid", carrageenan="not_known")
    page = house.client("kahu").get(f"/lots/{tub}/move").text

    assert f'value="{good}"' in page
    assert "Barn, put together with K-good" in page
    for name in ("K-kappa", "K-old", "K-unsaid"):
        assert name not in page


def test_nothing_is_offered_for_what_is_past_its_day_itself(house: Opened, barn: str):
    another(house, barn, "K-good")
    old = another(house, house.made["studio"], "K-old", best_before="2025-01-31")

    assert "K-good" not in house.client("kahu").get(f"/lots/{old}/move").text


@pytest.mark.parametrize(
    ("said", "code"),
    [
        ({"carrageenan": "kappa"}, "not-the-same-make"),
        ({"best_before": "2025-01-31"}, "past-its-day"),
    ],
)
def test_what_must_not_meet_is_refused_however_it_is_sent(
    house: Opened, tub: str, barn: str, said: dict[str, str], code: str
):
    """A page that was open since morning offers what is not to be had any more."""
    other = another(house, barn, "K-9", **said)
    refused = house.try_say(
        "lot.moved", lot=tub, studio=barn, into=other, amount=quantity(10, "g")
    )

    assert isinstance(refused, Refused)
    assert (refused.field, refused.code) == ("into", code)


def test_a_lot_stands_where_it_is_said_to_stand(house: Opened, tub: str, barn: str):
    """To the Barn, together with a tub of the Ropewalk: nobody can say both."""
    here = another(house, house.made["studio"], "K-here")
    refused = house.try_say(
        "lot.moved", lot=tub, studio=barn, into=here, amount=quantity(10, "g")
    )

    assert isinstance(refused, Refused)
    assert (refused.field, refused.code) == ("into", "not-in-that-studio")


def test_a_number_with_all_of_it_is_asked_about(house: Opened, tub: str, barn: str):
    """Without script nothing picks “a part” while one types: five were meant, not 600."""
    client, there = house.client("kahu"), f"/lots/{tub}/move"
    answer = send(client, there, {"amount.typed": "5", "to": barn})

    assert answer.status_code == 422
    assert "All of it, or 5?" in answer.text
    assert house.state("lot", tub).studio == house.made["studio"]


def test_a_place_must_be_chosen(house: Opened, tub: str, barn: str):
    another(house, barn, "K-good")
    answer = send(house.client("kahu"), f"/lots/{tub}/move", {"how": "all"})

    assert answer.status_code == 422
    assert "Choose one of these." in answer.text


def test_moving_more_than_there_is_is_asked_about_and_said(house: Opened, tub: str, barn: str):
    client, there = house.client("kahu"), f"/lots/{tub}/move"
    typed: Typed = {"how": "part", "amount.typed": "700", "to": barn}
    asked = send(client, there, typed)

    assert "700 g is more than there is: by the ledger 600 g." in asked.text
    assert left(house, tub) == 600_000_000
    send_again(client, there, asked.text, {"amount.typed": "70"})
    assert left(house, tub) == 530_000_000
    assert "Moved: 70 g, to Barn." in client.get("/shelf").text


def test_what_is_moved_is_read_back_with_its_number(house: Opened, tub: str, barn: str):
    page = html.unescape(house.client("kahu").get(f"/lots/{tub}/move").text)

    assert 'data-read-back="K-3: all of it, 600 g, to {to}"' in page
    assert 'data-read-back="K-3: {amount.typed} {amount.unit} of 600 g, to {to}"' in page
    assert 'data-selects="how-1"' in page
    assert 'id="how-1"' in page


def test_half_sheets_can_be_moved(house: Opened, barn: str):
    parcel = house.made["parcel"]
    send(
        house.client("kahu"),
        f"/lots/{parcel}/move",
        {"how": "part", "count": "20.5", "to": barn},
    )

    assert left(house, parcel) == (1000 - 20.5) * 4


def test_a_part_needs_an_amount(house: Opened, tub: str, barn: str):
    """Sent without one it would move all of it."""
    answer = send(house.client("kahu"), f"/lots/{tub}/move", {"how": "part", "to": barn})

    assert answer.status_code == 422
    assert house.state("lot", tub).studio == house.made["studio"]


def test_with_one_studio_there_is_nowhere_to_move_to(house: Opened, tub: str):
    assert "There is no other studio" in house.client("kahu").get(f"/lots/{tub}/move").text


def test_a_coordinator_puts_a_lot_right_with_a_cause(house: Opened, tub: str):
    client = house.client("amina")
    there = f"/lots/{tub}/adjust"
    silent = send(client, there, {"way": "out", "amount.typed": "20"})
    answer = send(client, there, {"way": "out", "amount.typed": "20", "cause": "lost"})
    page = client.get(f"/lots/{tub}").text

    assert silent.status_code == 422
    assert answer.status_code == 303
    assert left(house, tub) == 580_000_000
    assert "put right: nobody knows" in page
    assert "K-3 put right: 20 g less (nobody knows)" in page


def test_putting_out_more_than_there_is_is_asked_about_first(house: Opened, tub: str):
    """9,999 g of a tub of 600: a slip, unless somebody says it twice."""
    client, there = house.client("amina"), f"/lots/{tub}/adjust"
    typed: Typed = {"way": "out", "amount.typed": "9999", "cause": "lost"}
    asked = send(client, there, typed)

    assert asked.status_code == 422
    assert "9999 g is more than there is: by the ledger 600 g." in asked.text
    assert form_of(asked.text).fields["amount.typed"] == ["9999"]
    assert left(house, tub) == 600_000_000

    other = send_again(client, there, asked.text, {"amount.typed": "8888"})
    assert "8888 g is more than there is" in other.text
    assert send_again(client, there, other.text).status_code == 303
    assert left(house, tub) == (600 - 8888) * 1_000_000


def test_a_member_may_not_put_a_lot_right(house: Opened, tub: str):
    client = house.client("kahu")

    assert client.get(f"/lots/{tub}/adjust").status_code == 403
    assert f"/lots/{tub}/adjust" not in client.get(f"/lots/{tub}").text


def test_only_who_keeps_the_money_sees_and_writes_a_price(house: Opened, tub: str, money: str):
    answer = send(house.client(money), f"/lots/{tub}/price", {"price": "31,50"})
    shown = {name: house.client(name).get(f"/lots/{tub}").text for name in (money, "kahu")}

    assert answer.status_code == 303
    assert "31.50" in shown[money]
    assert "31.50" in house.client("amina").get(f"/lots/{tub}").text
    assert "31.50" not in shown["kahu"]
    assert "wrote the price of K-3" in shown["kahu"]
    assert house.client("kahu").get(f"/lots/{tub}/price").status_code == 403


@pytest.mark.parametrize("typed", ["31.7855", "12,345.678"])
def test_a_price_is_never_rounded_in_silence(
    house: Opened, tub: str, money: str, typed: str
) -> None:
    """Not of a lot, not of an order, and not when it is put right."""
    client = house.client(money)
    entry = house.say("lot.priced", money, lot=tub, price="31.78")
    mended = form_of(client.get(f"/entries/{entry}/correct").text).fields
    answers = [
        send(client, f"/lots/{tub}/price", {"price": typed}),
        send(client, "/orders/place?supply=powder:carrageenan", {"packs": "1", "price": typed}),
        client.post(
            f"/entries/{entry}/correct",
            data=mended | {"content.body.price": [typed], "reason": ["typing_slip"]},
        ),
    ]

    assert [one.status_code for one in answers] == [422, 422, 422]
    told = ["At most two decimals, please: 31.78." in one.text for one in answers]
    assert told == [True, True, True]
    assert str(house.state("lot", tub).price) == "31.78"


@pytest.fixture
def halves(house: Opened) -> str:
    """P-31 is 700 by 500 mm; these are 350 by 480 mm: two out of each, 4 % offcut."""
    return house.say(
        "paper.described",
        name="P-31 small",
        length=quantity(350, "mm"),
        width=quantity(480, "mm"),
        weight_g_per_m2="100",
        chalk="not_known",
    )


def test_parent_sheets_are_cut_as_many_times_as_they_give(house: Opened, halves: str):
    """700 x 500 - 2 x 350 x 480 = 14,000 mm2, 4 % of the parent."""
    client = house.client("kahu")
    there = f"/lots/{house.made['parcel']}/cut"
    page = client.get(there).text
    answer = send(
        client,
        there,
        {"paper": f"{halves} turned", "sheet_count": "50", "name": "P-31 s"},
    )
    made = out_of(house, house.made["parcel"])

    assert "long side across the parent&#39;s: 2 out of each, offcut 0.014 m² (4 %)" in page
    assert "long side along the parent&#39;s: 1 out of each" in page
    assert answer.status_code == 303
    assert (made.cut_from, made.paper, made.received) == (house.made["parcel"], halves, 400)
    assert made.offcut_m2 == pytest.approx(0.7)
    assert left(house, house.made["parcel"]) == 950 * 4
    gone = client.get(f"/lots/{house.made['parcel']}/gone").text
    assert "cut to P-31 s, 0.70 m² of it offcut" in gone
    assert "cut from" in client.get(f"/lots/{made.id}").text


def test_sheets_that_tore_are_typed_and_asked_about_once(house: Opened, halves: str):
    """97 of 100: parents that were not cut would be written out of the parcel too."""
    client, there = house.client("kahu"), f"/lots/{house.made['parcel']}/cut"
    typed: Typed = {"paper": f"{halves} turned", "sheet_count": "50", "name": "P-31 s"}
    asked = send(client, there, {**typed, "made_count": "97"})

    assert asked.status_code == 422
    assert "97 came out; 50 parent sheets give 100. Is that right?" in asked.text
    assert left(house, house.made["parcel"]) == 1_000 * 4

    assert send_again(client, there, asked.text).status_code == 303
    assert out_of(house, house.made["parcel"]).received == 97 * 4


def test_the_grain_of_cut_sheets_is_theirs_and_not_their_parents_(house: Opened, halves: str):
    """Two out of a parent lie across it: grain long becomes grain short."""
    parcel = house.say(
        "lot.received",
        studio=house.made["studio"],
        what="paper",
        name="P-31 long",
        paper=house.made["paper"],
        sheet_count="100",
        grain="long",
    )
    client, there = house.client("kahu"), f"/lots/{parcel}/cut"
    page = client.get(there).text
    send(client, there, {"paper": f"{halves} turned", "sheet_count": "50", "name": "P-31 s"})

    assert "1 out of each, offcut 0.182 m² (52 %), grain along the long side" in page
    assert "2 out of each, offcut 0.014 m² (4 %), grain along the short side" in page
    assert out_of(house, parcel).grain == "short"
    assert "grain along the short side" in client.get(f"/lots/{out_of(house, parcel).id}").text


def test_more_parents_than_there_are_is_asked_about(house: Opened, halves: str):
    client, there = house.client("kahu"), f"/lots/{house.made['parcel']}/cut"
    typed: Typed = {"paper": f"{halves} turned", "sheet_count": "5000", "name": "P-31 s"}
    asked = send(client, there, typed)

    assert asked.status_code == 422
    assert "5000 full sheets is more than there is" in asked.text
    assert send_again(client, there, asked.text).status_code == 303


def test_a_count_of_parents_that_is_no_number_is_said(house: Opened, halves: str):
    answer = send(
        house.client("kahu"),
        f"/lots/{house.made['parcel']}/cut",
        {"paper": halves, "sheet_count": "some", "name": "P-31 s"},
    )

    assert answer.status_code == 422
    assert "A number, please" in answer.text
    assert 'value="some"' in answer.text


def test_only_paper_is_cut_and_only_to_what_comes_out_of_it(house: Opened, tub: str):
    client = house.client("kahu")

    assert client.get(f"/lots/{tub}/cut").status_code == 404
    assert "Describe the cut sheets" in client.get(f"/lots/{house.made['parcel']}/cut").text


@pytest.mark.parametrize("page", ["", "/gone", "/open", "/move", "/adjust", "/cut", "/spoons"])
def test_an_unknown_lot_is_not_found(house: Opened, page: str):
    assert house.client("amina").get(f"/lots/{house.made['tub']}x{page}").status_code == 404


def test_what_is_said_of_a_lot_is_mended_in_place(house: Opened, tub: str, barn: str):
    """A slip of the pen in a move: 150 g were 105."""
    entry = house.say("lot.moved", "kahu", lot=tub, studio=barn, amount=quantity(150, "g"))
    client = house.client("kahu")
    answer = send(
        client,
        f"/entries/{entry}/correct",
        {"content.body.amount.typed": "105", "reason": "typing_slip", "outcome": "replace"},
    )

    assert answer.status_code == 303, answer.text
    assert left(house, tub) == 495_000_000
    assert "Corrected by Kahu R." in client.get(f"/lots/{tub}").text


def test_a_used_up_lot_is_found_among_all(house: Opened, tub: str):
    """The shelf shows what is there; what is gone can still be looked up."""
    size_of(house, tub, 600)
    client = house.client("kahu")

    assert "K-3" not in client.get("/shelf").text
    assert "K-3" in client.get("/shelf/lots").text
    assert "K-3" in client.get(f"/shelf/lots?studio={house.made['studio']}").text
    assert "No lot here." in client.get("/shelf/lots?page=9").text


def test_all_lots_are_paged(house: Opened):
    for n in range(55):
        house.later(minutes=1)
        house.say(
            "lot.received",
            studio=house.made["studio"],
            what="starch",
            name=f"W-{n}",
            weight=quantity(100, "g"),
        )
    client = house.client("kahu")
    first, then = (client.get(f"/shelf/lots?page={n}").text for n in (1, 2))

    assert first.count('class="left-bar"') == 50
    assert then.count('class="left-bar"') == 7
    assert "W-54" in first
    assert "AS-24" in then
    assert "On to the next page" in first
    assert "Back one page" in then


def test_what_must_not_stand_together_is_said(house: Opened, barn: str):
    """ILO/WHO card 1191: alum apart from bases; in the other studio soda may stand."""
    supply = house.say("supply.described", what="soda", name="washing soda", measure="weight")
    soda: dict[str, Any] = {
        "what": "supply", "supply": supply, "name": "N-1", "soda": "crystals",
        "weight": quantity(1, "kg"),
    }  # fmt: skip
    client = house.client("kahu")
    house.say("lot.received", studio=barn, **soda)
    apart = client.get("/shelf").text
    house.say("lot.received", studio=house.made["studio"], **soda)

    assert "Keep apart" not in apart
    assert "Alum stands apart from soda" in client.get("/shelf").text
    assert "washing soda" in apart


def test_the_shelf_says_how_long_a_supply_lasts(house: Opened, tub: str):
    """60 g in this first week of use; 540 g left are nine weeks of that."""
    size_of(house, tub, 60)

    assert "about 9 weeks at 60 g a week" in house.client("kahu").get("/shelf").text


def test_a_long_group_has_a_page_of_its_own(house: Opened):
    for n in range(14):
        house.later(minutes=1)
        house.say(
            "lot.received",
            studio=house.made["studio"],
            what="starch",
            name=f"W-{n}",
            weight=quantity(100, "g"),
        )
    client = house.client("kahu")
    page = client.get("/shelf").text
    more = html.unescape(page).split("2 more, newer ones")[0].rpartition('href="')[2]

    assert "W-13" not in page
    assert "W-13" in client.get(more.split('"')[0]).text
    assert client.get("/shelf/lots?of=feathers").status_code == 404


def test_a_usable_lot_is_taken_before_an_older_one_past_its_day(house: Opened):
    """Oldest usable first; what is past its day is offered last, with the reason."""
    lots = {}
    for name, best_before in (("K-1", "2025-09-01"), ("K-2", "2027-01-01")):
        house.later(minutes=1)
        lots[name] = house.say(
            "lot.received",
            studio=house.made["studio"],
            what="carrageenan",
            name=name,
            carrageenan="lambda",
            weight=quantity(100, "g"),
            best_before=best_before,
        )
    asked = (
        "/make?what=size&powder=carrageenan&recipe=typed&measure=l&dose=10+g/L&much=15"
        f"&vessel={house.made['tub']}"
    )
    page = html.unescape(house.client("kahu").get(asked).text)

    assert page.index("K-2, 100 g left") < page.index("K-1, 100 g left")
    assert "K-1, 100 g left, lambda: it thickens, past its label's day, 2025-09-01" in page
    assert "Weigh 150 g: 100 g of K-2, 50 g of K-1" in page
    assert "K-1 is past its label's day, 2025-09-01: it is taken only because" in page


def test_the_news_name_the_lot_that_was_moved(house: Opened, tub: str, barn: str):
    """'Moved it' would say nothing where many lots are told of."""
    with house.desk() as desk:
        after = desk.journal.head()[0]
    house.say("lot.moved", lot=tub, studio=barn)
    news = house.client("kahu").get(f"/news?after={after}").get_json()

    assert news["lines"] == ["moved K-3 to Barn, AK, just now"]


@pytest.mark.parametrize(("ten_g", "each"), [("5", "0.5 g"), ("11", "1.1 g"), ("900", "90 g")])
def test_spoons_that_weigh_what_no_powder_does_are_asked_about(
    house: Opened, ten_g: str, each: str
):
    """One spoon written down as ten would make every bath of the lot ten times too weak."""
    lot = house.made["alum"]
    client, there = house.client("kahu"), f"/lots/{lot}/spoons"
    typed: Typed = {"spoon": "us_tbsp", "weight.typed": ten_g}
    asked = send(client, there, typed)

    assert asked.status_code == 422
    assert f"A level US tablespoon of it would weigh {each}; 11 to 20 g is usual." in asked.text
    assert "Ten of them, or one?" in asked.text
    assert house.state("lot", lot).spoon is None

    meant = send_again(client, there, asked.text, {})
    assert meant.status_code == 303
    assert house.state("lot", lot).spoon is not None


def test_ten_spoons_within_reach_are_not_asked_about(house: Opened):
    """A light alum of 10.7 g and a fine one of 19.9 are in print (trade.md 1.2)."""
    lot = house.made["alum"]
    there = f"/lots/{lot}/spoons"
    for ten_g in ("107", "199"):
        typed: Typed = {"spoon": "us_tbsp", "weight.typed": ten_g}
        assert send(house.client("kahu"), there, typed).status_code == 303
