"""The order list, placing an order, and what comes of it."""

import csv
import io
import re
from pathlib import Path
from typing import Any, get_args

import pytest

from coop.actions.see_orders import LeadBy
from coop.ledger.states import OrderState
from coop.web.ordering import LEAD_BY
from tests.support.forms import Typed, send
from tests.support.opened import Opened, furnished, quantity, sized, token

NOBODY = "01995867-7800-7fa5-bf87-fda4d3a8ddf7"
MOSS = "powder:carrageenan"
PLACE = f"/orders/place?supply={MOSS}"


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A studio with 577 g of carrageenan, a floor of 150 g, and a class of 12 on 4 October."""
    house = furnished(tmp_path)
    house.made["moss"] = house.say("lot.received", weight=quantity(577, "g"), **tub(house))
    house.made["supplier"] = house.say(
        "supplier.described", name="Supplier B", days_to_arrive="8"
    )
    house.say(
        "supply.described",
        what="carrageenan",
        floor=quantity(150, "g"),
        pack=quantity(454, "g"),
        review_days="3",
        sold_by=house.made["supplier"],
    )
    house.say(
        "session.planned",
        studio=house.made["studio"],
        name="Saturday class",
        starts="2025-10-04T10:00+02:00",
        head_count="12",
        under_16="no",
        needs=[{"what": "carrageenan", "amount": quantity(440, "g")}],
    )
    house.later(days=10)
    return house


def tub(house: Opened) -> dict[str, Any]:
    return {
        "studio": house.made["studio"],
        "what": "carrageenan",
        "name": "K-3",
        "carrageenan": "lambda",
    }


def page_of(house: Opened, there: str = "/orders", who: str = "kahu") -> str:
    answer = house.client(who).get(there)
    assert answer.status_code == 200, answer.text
    return str(answer.text)


def placed(house: Opened, who: str = "kahu", there: str = PLACE, **said: str) -> str:
    """Write an order on its page. Return its id."""
    typed: Typed = {name.replace("__", "."): one for name, one in said.items()}
    answer = send(house.client(who), there, typed)
    assert answer.status_code == 303, answer.text
    return str(answer.location).rsplit("/", 1)[1]


def state_of(house: Opened, order: str) -> OrderState:
    state: OrderState = house.state("order", order)
    return state


def test_what_is_due_today_stands_first_with_the_reason_in_one_line(house: Opened) -> None:
    """Whoever orders can do the sum again by hand: 577 - 440 = 137, under 150."""
    page = page_of(house)
    due, later = page.split('id="due"')[1].split('id="without-floor"')

    assert "Order today: 1 pack of 454 g" in due
    assert (
        "class of 12 on 4 Oct takes 440 g; 8 days to arrive, 3 to review; "
        "137 g left on 8 Oct, floor 150 g"
    ) in due
    assert "577 g on hand" in due
    assert "The days to arrive are those its supplier takes." in due
    assert "carrageenan" not in later


def test_what_nobody_set_a_floor_for_leads_to_setting_one(house: Opened) -> None:
    apart = page_of(house).split('id="without-floor"')[1]

    assert "Nobody has set a floor" in apart
    assert 'href="/supplies/salt:aluminium_sulfate_14">Set a floor' in apart


def test_the_filter_leaves_what_is_due(house: Opened) -> None:
    page = page_of(house, "/orders?show=due")

    assert "carrageenan" in page
    assert 'id="without-floor"' not in page
    assert 'href="/orders">Show all' in page


def test_an_empty_list_says_that_nothing_is_due(tmp_path: Path) -> None:
    page = page_of(furnished(tmp_path))

    assert "Nothing is to be ordered today." in page
    assert 'id="coming"' not in page


def test_a_plan_bounded_by_how_long_it_keeps_says_so(house: Opened) -> None:
    """Two kilos would stand until they are old: one tub, and the reason."""
    edition = house.state("supply", MOSS).edition
    house.say(
        "supply.described",
        what="carrageenan",
        supersedes=edition,
        floor=quantity(2, "kg"),
        pack=quantity(454, "g"),
        sealed_days="90",
    )
    page = page_of(house)

    assert "Order today: 1 pack of 454 g" in page
    assert "It keeps 90 days: more would not be used up by then." in page


def test_packs_of_another_size_are_told_by_amount(house: Opened) -> None:
    """Four packs of 250 g were ordered and one of 600 g came: 400 g are still to come."""
    order = house.say("order.placed", what="carrageenan", packs="4", pack=quantity(250, "g"))
    house.say("lot.received", weight=quantity(600, "g"), order=order, **tub(house))

    for there in ("/orders", f"/orders/{order}"):
        assert "600 g of 1000 g have come" in page_of(house, there)


def test_what_is_past_its_day_or_long_overdue_is_said_not_to_count(house: Opened) -> None:
    """300 g stand there past their label's day, and an order never came."""
    house.say("lot.received", weight=quantity(300, "g"), best_before="2025-09-20", **tub(house))
    house.say("order.placed", what="carrageenan", packs="1", pack=quantity(454, "g"),
              expected="2025-09-10")  # fmt: skip
    page = page_of(house)

    assert "577 g on hand" in page
    assert "Past its day and not counted: 300 g." in page
    assert "1 order is long overdue and does not count: ask, or cancel it." in page
    assert "expected 17 days ago: ask, or cancel it" in page


def test_many_classes_are_summed_after_the_third(house: Opened) -> None:
    for day in ("05", "06", "07", "08"):
        house.say(
            "session.planned",
            studio=house.made["studio"],
            name="Class",
            starts=f"2025-10-{day}T10:00+02:00",
            head_count="4",
            under_16="no",
            needs=[{"what": "carrageenan", "amount": quantity(100, "g")}],
        )

    page = page_of(house)
    assert "class of 4 on 6 Oct takes 100 g; 2 more bookings take 200 g" in page
    assert "263 g missing by 8 Oct, floor 150 g" in page


def test_the_proposed_order_is_one_tap(house: Opened) -> None:
    """Packs, what is in one, the supplier and the day stand in the form already."""
    order = state_of(house, placed(house))

    assert (order.packs, order.pack, order.sold_by) == (1, 454_000_000, house.made["supplier"])
    assert order.expected is not None
    assert order.expected.isoformat() == "2025-10-05"
    assert order.supply == MOSS


def test_what_is_ordered_is_on_the_way_and_due_no_more(house: Opened) -> None:
    order = placed(house)
    page = page_of(house)

    assert "Nothing is to be ordered today." in page
    coming = page.split('id="coming"')[1]
    assert f'href="/orders/{order}"' in coming
    assert "1 pack of 454 g" in coming
    assert "expected 2025-10-05" in coming
    assert "454 g on the way" in page


def test_an_order_is_placed_with_price_and_note(house: Opened) -> None:
    order = placed(
        house,
        "amina",
        packs="3",
        price="63.56",
        note="They write before noon.",
        expected="2025-10-09",
    )
    page = page_of(house, f"/orders/{order}", "amina")

    for told in ("3 packs of 454 g", "63.56", "2025-10-09", "Supplier B", "Amina K."):
        assert told in page
    assert "They write before noon." in page


@pytest.mark.parametrize("roles", [("member", "coordinator"), ("treasurer",)])
def test_what_an_order_costs_is_for_who_prices_a_lot(
    house: Opened, roles: tuple[str, ...]
) -> None:
    """As with a lot: what the co-operative pays is not everybody's to read."""
    order = placed(house, "amina", price="63.56")
    house.join("Teodor V.", *roles)
    pages = (f"/orders/{order}", "/orders", "/orders.csv", f"/entries/{order}/correct", "/")

    for page in pages:
        assert "63.56" not in page_of(house, page, "kahu"), page
    assert "63.56" in page_of(house, pages[0], "teodor")
    assert 'name="price"' in page_of(house, PLACE, "teodor")
    assert 'name="price"' not in page_of(house, PLACE, "kahu")


def test_a_price_from_somebody_else_is_not_taken(house: Opened) -> None:
    """Who does not see prices writes none either, and mends an order without losing one."""
    order = placed(house)
    assert state_of(house, order).price is None
    client = house.client("kahu")
    form = {"csrf_token": token(client.get(PLACE).text), "entry_id": house.new_id()}
    forged = client.post(PLACE, data=form | {"packs": "1", "price": "63.56"})
    assert state_of(house, str(forged.location).rsplit("/", 1)[1]).price is None

    page = client.get(f"/entries/{order}/correct").text

    assert 'name="content.body.packs"' in page
    assert 'name="content.body.price"' not in page
    assert 'name="content.body.price"' in page_of(house, f"/entries/{order}/correct", "amina")


@pytest.mark.parametrize(
    ("name", "typed", "told"),
    [
        ("packs", "many", "A number, please"),
        ("packs", "0", "From 1 to 1000, please."),
        ("packs", "", "This is needed."),
        ("pack.typed", "a tub", "A number, please"),
        ("expected", "Thursday", "A day, please"),
        ("price", "free", "A number, please"),
    ],
)
def test_a_slip_in_an_order_keeps_what_was_typed(
    house: Opened, name: str, typed: str, told: str
) -> None:
    answer = send(house.client("amina"), PLACE, {name: typed})

    assert answer.status_code == 422
    assert told in answer.text
    if typed:
        assert f'value="{typed}"' in answer.text


def test_a_supplier_that_is_not_there_is_no_choice(house: Opened) -> None:
    answer = send(house.client("kahu"), PLACE, {"sold_by": NOBODY})

    assert answer.status_code == 422


def test_paper_is_ordered_by_the_ream(house: Opened) -> None:
    paper = f"paper:{house.made['paper']}"
    house.say(
        "supply.described",
        what="paper",
        paper=house.made["paper"],
        floor_count="2000",
        pack_count="500",
    )
    page = page_of(house, f"/orders/place?supply={paper}")
    assert "pack.typed" not in page
    assert 'value="500"' in page

    order = state_of(house, placed(house, there=f"/orders/place?supply={paper}", packs="2"))
    assert (order.packs, order.pack, order.supply) == (2, 2_000, paper)


def test_what_has_a_name_of_its_own_is_ordered_by_it(house: Opened) -> None:
    """Gloves are no powder and no paper: the co-operative described them."""
    gloves = house.say(
        "supply.described", what="gloves", name="Gloves, pairs", measure="pieces",
        floor_count="30",
    )  # fmt: skip
    there = f"/orders/place?supply=supply:{gloves}"
    order = placed(house, there=there, pack_count="50")

    assert state_of(house, order).pack == 50
    assert "Order: Gloves, pairs" in page_of(house, f"/orders/{order}")


def test_gall_is_ordered_as_it_is_poured(house: Opened) -> None:
    """Nobody buys gall by the gram."""
    house.say(
        "lot.received",
        studio=house.made["studio"],
        what="gall",
        name="G-1",
        volume=quantity(250, "ml"),
    )
    page = page_of(house, "/orders/place?supply=powder:gall")

    assert 'value="250"' in page
    assert '<option selected value="ml">' in page


def test_a_supply_nobody_knows_cannot_be_ordered(house: Opened) -> None:
    """Whoever names none is led to the list to choose one."""
    client = house.client("kahu")

    assert client.get("/orders/place?supply=powder:gold").status_code == 404
    assert client.get("/orders/place").location == "/orders"


def test_an_order_arrives_in_part_with_its_lots(house: Opened) -> None:
    """One act, one entry: the lot that came names its order."""
    order = placed(house, packs="2")
    house.later(days=7)
    lot = house.say("lot.received", order=order, weight=quantity(454, "g"), **tub(house))
    page = page_of(house, f"/orders/{order}")

    assert "1 of 2 packs have come" in page
    assert f'href="/lots/{lot}"' in page
    assert f'href="/shelf/receive/carrageenan?order={order}"' in page

    house.say("lot.received", order=order, weight=quantity(454, "g"), **tub(house))
    done = page_of(house, f"/orders/{order}")
    assert "2 of 2 packs have come" in done
    assert "Receive what came" not in done
    assert f"/orders/{order}" not in page_of(house)


def test_a_late_order_is_said_to_be_late(house: Opened) -> None:
    order = placed(house, expected="2025-10-01")
    house.later(days=7)

    assert "expected 3 days ago" in page_of(house).split('id="coming"')[1]
    assert "expected 3 days ago" in page_of(house, f"/orders/{order}")


def test_the_rest_of_an_order_is_cancelled_with_a_reason(house: Opened) -> None:
    order = placed(house)
    there = f"/orders/{order}/cancel"
    assert "1 pack is still to come." in page_of(house, there)
    nothing = send(house.client("kahu"), there)
    assert (nothing.status_code, "This is needed." in nothing.text) == (422, True)
    wrong = send(house.client("kahu"), there, {"reason": "moon"})
    assert (wrong.status_code, "Choose one of these." in wrong.text) == (422, True)

    answer = send(house.client("kahu"), there, {"reason": "not_to_be_had"})
    assert answer.location == f"/orders/{order}"
    page = page_of(house, f"/orders/{order}")
    assert "2025-09-27: not to be had" in page
    assert "Receive what came" not in page
    assert "Order today" in page_of(house)


def test_an_order_that_is_over_cannot_be_cancelled_again(house: Opened) -> None:
    order = placed(house)
    there = f"/orders/{order}/cancel"
    send(house.client("kahu"), there, {"reason": "not_needed"})
    again = send(house.client("kahu"), there, {"reason": "not_needed"})

    assert again.status_code == 422


@pytest.mark.parametrize("page", ["", "/cancel"])
def test_an_order_nobody_knows_is_not_found(house: Opened, page: str) -> None:
    assert house.client("kahu").get(f"/orders/{NOBODY}{page}").status_code == 404


def test_the_table_has_the_figures_and_the_reason(house: Opened) -> None:
    answer = house.client("kahu").get("/orders.csv")
    rows = list(csv.DictReader(io.StringIO(answer.data.decode("utf-8-sig"))))
    (moss,) = [one for one in rows if one["supply"] == "carrageenan"]

    assert 'filename="orders-2025-09-27.csv"' in answer.headers["Content-Disposition"]
    assert (moss["order by"], moss["packs"], moss["to order"]) == ("2025-09-27", "1", "454.0")
    assert (moss["on hand"], moss["floor"], moss["unit"]) == ("577.0", "150.0", "g")
    assert moss["why"].startswith("class of 12 on 4 Oct takes 440 g; ")
    assert len(rows) == 3


def test_a_name_that_begins_like_a_formula_is_text_in_the_table(house: Opened) -> None:
    """A spreadsheet would run it."""
    house.say("supply.described", what="other", name="=1+1", measure="pieces")
    answer = house.client("kahu").get("/orders.csv")

    assert "\r\n'=1+1," in answer.data.decode("utf-8-sig")


def test_only_who_is_signed_in_sees_what_is_ordered(house: Opened) -> None:
    for there in ("/orders", "/orders.csv", PLACE):
        answer = house.client().get(there)
        assert answer.location.startswith("/sign-in")


def test_the_list_is_only_read_and_an_order_only_placed_by_a_form(house: Opened) -> None:
    client = house.client("kahu")

    assert client.post("/orders.csv").status_code == 405
    assert client.post(PLACE, data={"packs": "1"}).status_code in (400, 422)


def test_a_slip_in_an_order_is_put_right_in_its_place(house: Opened) -> None:
    """Three packs were meant; the day is kept."""
    order = placed(house, expected="2025-10-09")
    there = f"/entries/{order}/correct"
    assert f'href="{there}"' in page_of(house, f"/orders/{order}")
    page = page_of(house, there)
    assert "ordered 1 pack of 454 g: carrageenan" in page
    typed: Typed = {"content.body.packs": "3", "reason": "typing_slip"}
    answer = send(house.client("kahu"), there, typed)

    assert answer.location == f"/orders/{order}"
    state = state_of(house, order)
    assert state.packs == 3
    assert state.expected is not None
    assert state.expected.isoformat() == "2025-10-09"


def test_an_order_taken_out_leads_back_to_the_list(house: Opened) -> None:
    order = placed(house)
    answer = send(
        house.client("kahu"),
        f"/entries/{order}/correct",
        {"outcome": "void", "reason": "written_twice"},
    )

    assert answer.location == "/orders"
    assert house.client("kahu").get(f"/orders/{order}").status_code == 404


def test_a_rest_that_comes_after_all_is_waited_for_again(house: Opened) -> None:
    """Who cancelled by mistake takes that back; the order is as it was."""
    order = placed(house)
    send(house.client("kahu"), f"/orders/{order}/cancel", {"reason": "too_late"})
    page = page_of(house, f"/orders/{order}")
    (there,) = re.findall(r'href="([^"]*)">It will come after all', page)
    told = "the rest of what was ordered will not come: carrageenan (would come too late)"
    assert told in page_of(house, there)

    back = send(house.client("kahu"), there, {"outcome": "void", "reason": "other"})
    assert back.location == f"/orders/{order}"
    assert state_of(house, order).open_packs == 1


def used(house: Opened, grams: int, **more: Any) -> None:
    """Mix a size of so much, and finish it."""
    part = {"powder": "carrageenan", "lot": house.made["moss"], "amount": quantity(grams, "g")}
    size = sized(house, powder=[part], **more)
    house.say("bath.finished", bath=size, reason="used_up")


def test_who_says_how_long_it_takes_is_said_for_every_way() -> None:
    """A new way to know the days to arrive has a sentence, or this fails."""
    assert {"learned", *LEAD_BY} == set(get_args(LeadBy))


def test_days_to_arrive_that_were_learned_are_said_to_be(house: Opened) -> None:
    """Eight days are written: two parcels of two days are no promise, three are."""
    for told in (
        "8 days to arrive, 3 to review",
        "The days to arrive are the longest of what its 2 orders took and what is written",
        "The days to arrive are the middle of the last 3 orders.",
    ):
        order = placed(house)
        house.later(days=2)
        house.say("lot.received", order=order, weight=quantity(1, "g"), **tub(house))
        house.say("order.cancelled", order=order, reason="not_to_be_had")
        assert told in page_of(house, PLACE)

    assert "2 days to arrive, 3 to review" in page_of(house, PLACE)


def test_what_an_order_covers_is_said_in_weeks(house: Opened) -> None:
    """100 g were used in the first week: 37 g and a tub of 454 g less 150 are 3 weeks more."""
    used(house, 100)

    assert re.search(
        r"Order today: 2 packs of 454 g</b>: enough for about \d+ weeks over the floor",
        page_of(house),
    )


def test_a_crossing_that_rounding_would_hide_is_said(house: Opened) -> None:
    """'137 g left, floor 137 g' would be no reason to order."""
    edition = house.state("supply", MOSS).edition
    house.say(
        "supply.described",
        what="carrageenan",
        supersedes=edition,
        floor=quantity(137.04, "g"),
        days_to_arrive="8",
        review_days="3",
    )

    assert "just under 137 g left on 8 Oct, floor 137 g" in page_of(house)


def test_what_is_used_up_is_not_said_to_last_until_today(house: Opened) -> None:
    """Nothing is there: until when it is enough is no question."""
    used(house, 577)
    page = page_of(house)

    assert "0 g on hand. Used in the last four weeks" in page
    assert "it is enough until" not in page


def test_a_booking_without_a_floor_is_due_with_its_reason(house: Opened) -> None:
    """Whoever orders hears it on the list, and where a floor can be set."""
    house.say(
        "session.planned",
        studio=house.made["studio"],
        name="Large class",
        starts="2025-10-02T10:00+02:00",
        head_count="12",
        under_16="no",
        needs=[
            {
                "what": "alum",
                "salt": "aluminium_sulfate_14",
                "amount": quantity(6, "kg"),
            }
        ],
    )
    due = page_of(house).split('id="due"')[1].split('id="without-floor"')[0]

    assert "1000 g missing by" in due
    assert "nobody has set a floor" in due
    assert 'href="/supplies/salt:aluminium_sulfate_14">Set a floor' in due


def test_kappa_on_the_shelf_is_said_not_to_count(house: Opened) -> None:
    kappa = {"name": "K-8", "carrageenan": "kappa"}
    house.say("lot.received", **(tub(house) | kappa), weight=quantity(908, "g"))

    assert "Kappa and iota, which set to a jelly, are not counted: 908 g." in page_of(house)


def test_packs_of_whole_kilograms_are_said_so(house: Opened) -> None:
    """Nobody orders a pack of 5000 g."""
    house.say(
        "supply.described",
        what="alum",
        salt="aluminium_sulfate_14",
        floor=quantity(6, "kg"),
        pack=quantity(5, "kg"),
    )

    assert "Order today: 1 pack of 5 kg" in page_of(house)


def test_an_order_on_the_way_can_be_received_from_the_list(house: Opened) -> None:
    order = placed(house)
    coming = page_of(house).split('id="coming"')[1]

    assert f'href="/shelf/receive/carrageenan?order={order}">Receive what came' in coming
    assert "placed 2025-09-27, Kahu R." in coming


def test_the_list_says_that_what_is_replaced_counts_as_use(house: Opened) -> None:
    assert "what was spoiled or sold" in page_of(house)


def test_the_shelf_and_the_list_say_the_same_number_of_weeks(house: Opened) -> None:
    """Both reckon by use alone, with what can be used."""
    used(house, 100)
    kappa = {"name": "K-8", "carrageenan": "kappa"}
    house.say("lot.received", **(tub(house) | kappa), weight=quantity(908, "g"))
    lasts = "about 5 weeks at 100 g a week"

    assert f"477 g on hand: {lasts}." in page_of(house)
    assert f"477 g of it can be used: {lasts}" in page_of(house, "/shelf")


def test_gall_stands_in_the_table_as_it_is_poured(house: Opened) -> None:
    gall: dict[str, Any] = {"what": "gall", "name": "G-1", "volume": quantity(500, "ml")}
    house.say("lot.received", studio=house.made["studio"], **gall)
    answer = house.client("kahu").get("/orders.csv")
    rows = list(csv.DictReader(io.StringIO(answer.data.decode("utf-8-sig"))))
    (line,) = [one for one in rows if "gall" in one["supply"]]

    assert (line["on hand"], line["unit"]) == ("500.0", "mL")


def test_days_to_arrive_that_nobody_wrote_are_marked(house: Opened) -> None:
    house.say(
        "supply.described",
        what="alum",
        salt="aluminium_sulfate_14",
        floor=quantity(6, "kg"),
    )
    page = page_of(house, "/orders/place?supply=salt:aluminium_sulfate_14")

    assert "10 days to arrive" in page
    assert "common practice, no source" in page


def test_the_use_of_a_week_is_said_with_how_it_was_found(house: Opened) -> None:
    """Every week: the mean. Once in a while: fading use, with its name."""
    used(house, 100)
    assert "Reckoned with 100 g a week, the mean of 1 week." in page_of(house)

    house.later(weeks=3)
    page = page_of(house)
    assert "Used in the last four weeks 100 g, in eight 100 g." in page
    assert "It is used now and then: reckoned with" in page
    assert "by fading use" in page


def test_classes_are_said_apart(house: Opened) -> None:
    class_ = house.say(
        "session.planned",
        studio=house.made["studio"],
        name="Class",
        starts="2025-09-28T10:00+02:00",
        head_count="4",
        under_16="no",
    )
    used(house, 60, session=class_)

    assert "Classes besides: 60 g and 60 g." in page_of(house)


def test_more_drawn_than_came_in_asks_for_a_count(house: Opened) -> None:
    """Nothing is hidden: stock under nothing is a slip somewhere."""
    used(house, 600)

    assert "23 g more was drawn than had come in: count it." in page_of(house)


def test_packs_nobody_described_are_packs_all_the_same(house: Opened) -> None:
    """Somebody orders two tubs and does not know what is in one."""
    gloves = house.say("supply.described", what="masks", name="Masks", measure="pieces")
    placed(house, there=f"/orders/place?supply=supply:{gloves}", packs="2")
    coming = page_of(house).split('id="coming"')[1]

    assert re.search(r"Masks</b></a>: 2 packs\s*</p>", coming)


def test_what_came_is_received_from_the_page_of_its_order(house: Opened) -> None:
    order = placed(house)
    there = f"/shelf/receive/carrageenan?order={order}"
    assert f'href="{there}"' in page_of(house, f"/orders/{order}")

    client = house.client("kahu")
    form = client.get(there).location
    answer = send(client, form, {"name": "K-4", "carrageenan": "lambda"})
    assert answer.status_code == 303, answer.text
    assert "1 of 1 packs have come" in page_of(house, f"/orders/{order}")


def test_days_of_another_year_are_said_with_it(house: Opened) -> None:
    """'4 Jan' in a list of October would be taken for one that is over."""
    house.moment = house.moment.replace(month=12, day=28)
    house.say(
        "session.planned",
        studio=house.made["studio"],
        name="Class",
        starts="2026-01-03T10:00+01:00",
        head_count="4",
        under_16="no",
        needs=[{"what": "carrageenan", "amount": quantity(500, "g")}],
    )

    assert "class of 4 on 3 Jan 2026 takes 500 g" in page_of(house)
