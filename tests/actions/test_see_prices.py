"""What a lot cost: its own price, or its share of the lot that it came out of."""

from decimal import Decimal
from pathlib import Path

import pytest

from coop.actions.see_prices import Cost, cost_of
from tests.support.opened import Opened, furnished, quantity


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A parcel of 1,000 sheets; the treasurer is there."""
    made = furnished(tmp_path)
    made.join("Teodor V.", "member", "treasurer")
    made.made["barn"] = made.say(
        "studio.described",
        name="Barn",
        letter="B",
        drain="septic",
        instruments=["dipstick"],
        emergency="112",
        poison="0555 0100",
    )
    return made


def priced(house: Opened, lot: str, price: str) -> None:
    house.say("lot.priced", "teodor", lot=lot, price=price)


def cost(house: Opened, lot: str) -> Cost | None:
    with house.desk() as desk:
        return cost_of(desk.journal, house.state("lot", lot))


@pytest.fixture
def small(house: Opened) -> str:
    """A hundred sheets of the parcel, cut in two."""
    paper = house.say(
        "paper.described",
        name="P-31 small",
        length=quantity(500, "mm"),
        width=quantity(350, "mm"),
        chalk="none",
    )
    return house.say(
        "lot.cut",
        lot=house.made["parcel"],
        sheet_count="100",
        paper=paper,
        made_count="200",
        name="P-31 c",
    )


def test_a_lot_without_a_price_and_its_parts_have_none(house: Opened, small: str) -> None:
    assert cost(house, house.made["parcel"]) is None
    assert cost(house, small) is None


def test_cut_sheets_cost_what_their_parents_did(house: Opened, small: str) -> None:
    """The price may be written after the cut: the bill comes later than the knife."""
    parcel = house.made["parcel"]
    priced(house, parcel, "70")

    found = cost(house, small)

    assert found is not None
    assert found.price == Decimal("7.00")
    assert found.shared_of is not None
    assert found.shared_of.id == parcel
    assert cost(house, parcel) == Cost(price=Decimal(70), shared_of=None)


def test_a_part_of_cut_sheets_costs_its_share_of_the_share(house: Opened, small: str) -> None:
    priced(house, house.made["parcel"], "70")
    part = house.say("lot.moved", lot=small, studio=house.made["barn"], count="50")

    found = cost(house, part)

    assert found is not None
    assert found.price == Decimal("1.75")


def test_a_price_of_its_own_goes_before_a_share(house: Opened, small: str) -> None:
    """The mill sold the cut sheets dearer, and somebody wrote it."""
    priced(house, house.made["parcel"], "70")
    priced(house, small, "9.20")

    assert cost(house, small) == Cost(price=Decimal("9.20"), shared_of=None)


def test_the_page_says_whose_share_it_is_and_who_writes_prices(
    house: Opened, small: str
) -> None:
    """The coordinator sees prices and writes none: a link would only refuse."""
    before = house.client("amina").get(f"/lots/{small}").text
    priced(house, house.made["parcel"], "70")
    after = house.client("amina").get(f"/lots/{small}").text

    assert "not written yet: the treasurer writes it" in before
    assert f"/lots/{small}/price" not in before
    assert "7.00, its share of P-31" in after
    assert "its share of" not in house.client("kahu").get(f"/lots/{small}").text
