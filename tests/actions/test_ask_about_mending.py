"""A correction is asked what the first writing was asked: it is no way around."""

from datetime import timedelta
from typing import Any

import pytest

from coop.actions.write import Outcome, Written
from coop.ids import Subject
from coop.ledger.accounts import account
from coop.ledger.schema import Refused
from tests.support.opened import Opened, furnished, mixed, quantity


@pytest.fixture
def house(tmp_path: Any) -> Opened:
    return furnished(tmp_path)


def member(house: Opened, first: str) -> str:
    return house.members[first].member


def put(house: Opened, who: str, entry: str, author: str = "", **body: Any) -> Outcome:
    """Put another body in place of an entry, as who corrects it says."""
    content = {
        "author": author or member(house, who),
        "happened_at": house.moment.isoformat(),
        "body": body,
    }
    return correct(house, who, entry, "replace", content=content)


def correct(house: Opened, who: str, entry: str, outcome: str, **more: Any) -> Outcome:
    house.later(minutes=1)
    said = {"target": entry, "outcome": outcome, "reason": "typing_slip"} | more
    return house.try_say("entry.corrected", who, **said)


def sheets_left(house: Opened) -> float:
    with house.desk() as desk:
        held = desk.journal.held([account("lot", Subject(house.made["parcel"]))])
    return sum(amount for amount in held.values()) / 4


def noise(house: Opened) -> tuple[str, dict[str, Any]]:
    """Let a member write off two sheets by which a count of the parcel differs."""
    lot = house.made["parcel"]
    house.later(hours=1)
    counted = house.say("lot.counted", "kahu", lot=lot, loose="998")
    body: dict[str, Any] = {
        "lot": lot,
        "way": "out",
        "cause": "counting_noise",
        "counted": counted,
    }
    house.later(minutes=1)
    return house.say("lot.adjusted", "kahu", count="2", **body), body


def test_a_member_does_not_make_a_loss_of_the_noise_they_wrote_off(house: Opened):
    """Losses are looked at by a coordinator; mending a slip must not pass them by."""
    adjusted, body = noise(house)

    more = put(house, "kahu", adjusted, **body, count="500")
    lost = put(house, "kahu", adjusted, **(body | {"cause": "lost"}), count="500")

    assert more == lost == Refused(field="content.body.count", code="not-allowed")
    assert sheets_left(house) == 998
    assert isinstance(
        put(
            house,
            "amina",
            adjusted,
            member(house, "kahu"),
            **(body | {"cause": "lost"}),
            count="3",
        ),
        Written,
    )
    assert sheets_left(house) == 997


def test_noise_taken_out_and_written_anew_is_not_brought_back_besides(house: Opened):
    """Twice written off it would be a gap again, and no count says so."""
    adjusted, body = noise(house)
    assert isinstance(correct(house, "kahu", adjusted, "void"), Written)
    assert isinstance(correct(house, "kahu", adjusted, "restore"), Written)
    assert isinstance(correct(house, "kahu", adjusted, "void"), Written)
    house.say("lot.adjusted", "kahu", count="2", **body)

    outcome = correct(house, "kahu", adjusted, "restore")

    assert isinstance(outcome, Refused)
    assert outcome.code == "not-in-noise"
    assert sheets_left(house) == 998


def test_a_supply_keeps_the_measure_of_its_lots_when_it_is_mended(house: Opened):
    """What was received by weight cannot be so many pieces."""
    body: Any = {"what": "soda", "name": "washing soda", "measure": "weight"}
    supply = house.say("supply.described", **body)
    house.say(
        "lot.received",
        studio=house.made["studio"],
        what="supply",
        supply=supply,
        weight=quantity(500, "g"),
        name="soda",
    )

    outcome = put(house, "amina", supply, **(body | {"measure": "pieces"}))

    assert outcome == Refused(field="content.body.measure", code="not-of-this-measure")
    assert isinstance(put(house, "amina", supply, **(body | {"name": "soda ash"})), Written)


def test_nothing_is_put_off_for_a_year_by_mending_the_day(house: Opened):
    """31 days at once, said again or not at all."""
    said: Any = {"need": "order", "about": "powder:carrageenan", "reason": "not_needed"}
    until = (house.moment + timedelta(days=7)).date()
    put_off = house.say("need.put_off", **said, until=until.isoformat())
    late = (house.moment + timedelta(days=365)).date()

    outcome = put(house, "amina", put_off, **said, until=late.isoformat())

    assert outcome == Refused(field="content.body.until", code="not-a-choice")


def test_a_reason_is_mended_where_what_was_done_closed_the_order(house: Opened):
    """A cancelled order is finished by that very entry; its reason may still be wrong."""
    order = house.say("order.placed", what="carrageenan", packs="1", pack=quantity(454, "g"))
    cancelled = house.say("order.cancelled", order=order, reason="other")

    outcome = put(house, "amina", cancelled, order=order, reason="too_late")

    assert isinstance(outcome, Written), outcome


def test_a_bath_is_mixed_neither_of_paper_nor_over_the_brim(house: Opened):
    bath = mixed(house)
    body: Any = {
        "name": "R-A1",
        "studio": house.made["studio"],
        "vessel": house.made["tub"],
        "water": quantity(12, "l"),
        "salt": [{"lot": house.made["alum"], "amount": quantity(480, "g")}],
    }
    of_paper = [{"lot": house.made["parcel"], "amount": quantity(480, "g")}]

    wrong = put(house, "amina", bath, **(body | {"salt": of_paper}))
    over = put(house, "amina", bath, **(body | {"water": quantity(40, "l")}))

    assert isinstance(wrong, Refused)
    assert (wrong.field, wrong.code) == ("content.body.salt.0.lot", "not-a-choice")
    assert isinstance(over, Refused)
    assert (over.field, over.code) == ("content.body.water", "over-the-brim")


def test_nobody_but_a_coordinator_puts_another_name_to_an_entry(house: Opened):
    """An entry is its author's word; who tells that it was another's must be heard for it."""
    body: Any = {"bath": mixed(house), "care": "strained"}
    entry = house.say("bath.cared", "kahu", **body)
    amina = member(house, "amina")

    assert put(house, "kahu", entry, amina, **body) == Refused(
        field="content.author", code="not-allowed"
    )
    assert put(house, "amina", entry, house.new_id(), **body) == Refused(
        field="content.author", code="not-allowed"
    )
    assert isinstance(put(house, "amina", entry, amina, **body), Written)
    assert isinstance(put(house, "kahu", entry, amina, **body), Written)


def test_what_is_put_in_place_has_happened(house: Opened):
    body: Any = {"bath": mixed(house), "care": "strained"}
    entry = house.say("bath.cared", "kahu", **body)
    soon = (house.moment + timedelta(hours=1)).isoformat()
    content = {"author": member(house, "kahu"), "happened_at": soon, "body": body}

    outcome = correct(house, "kahu", entry, "replace", content=content)

    assert outcome == Refused(field="content.happened_at", code="in-the-future")


def test_nobody_counts_with_themselves(house: Opened):
    """Two people see more than one; the gap's page says that two have counted."""
    said: Any = {"lot": house.made["parcel"], "loose": "998"}
    alone = Refused(field="counted_with", code="the-same-person")

    assert (
        house.try_say("lot.counted", "kahu", **said, counted_with=member(house, "kahu"))
        == alone
    )
    counted = house.say("lot.counted", "kahu", **said, counted_with=member(house, "amina"))
    outcome = put(house, "kahu", counted, **said, counted_with=member(house, "kahu"))

    assert outcome == Refused(field="content.body.counted_with", code="the-same-person")
