"""Which lot is taken first: the oldest that is good, then what is past its day."""

from pathlib import Path
from typing import Any

from coop.actions.on_hand import OnHand, alum_on_hand, powder_on_hand, share_out, to_mend_with
from coop.ids import Subject
from tests.support.opened import Opened, furnished, quantity


def alum(house: Opened, name: str, best_before: str) -> None:
    more: dict[str, Any] = {"best_before": best_before} if best_before else {}
    house.later(minutes=1)
    house.say(
        "lot.received",
        studio=house.made["studio"],
        what="alum",
        name=name,
        salt="aluminium_sulfate_14",
        weight=quantity(1, "kg"),
        **more,
    )


def names(lots: tuple[OnHand, ...]) -> list[str]:
    return [one.lot.name for one in lots]


def of_alum(house: Opened) -> tuple[OnHand, ...]:
    with house.desk() as desk:
        studio = Subject(house.made["studio"])
        return alum_on_hand(desk.journal, studio, today=house.moment.date())


def test_the_oldest_usable_lot_comes_first_and_what_is_past_its_day_last(tmp_path: Path):
    """AS-24 came first and has no day; AS-25 is past its label's, AS-26 is not."""
    house = furnished(tmp_path)
    alum(house, "AS-25", "2025-09-16")
    alum(house, "AS-26", "2025-09-17")
    lots = of_alum(house)

    assert names(lots) == ["AS-24", "AS-26", "AS-25"]
    assert [one.past is not None for one in lots] == [False, False, True]


def test_what_is_past_its_day_is_shared_out_only_when_the_good_does_not_reach(tmp_path: Path):
    """5,500 g: all of AS-24's 5,000 and 500 of AS-26, nothing of AS-25."""
    house = furnished(tmp_path)
    alum(house, "AS-25", "2025-09-16")
    alum(house, "AS-26", "")
    few, many = (share_out(much, of_alum(house), None)[0] for much in (5_500, 6_200))

    assert [(one.lot.name, one.salt_g) for one in few] == [("AS-24", 5_000), ("AS-26", 500)]
    assert [one.lot.name for one in many if one.past] == ["AS-25"]


def test_a_bath_is_not_mended_from_its_own_lot_once_that_is_past_its_day(tmp_path: Path):
    """What is in the tub comes first only as long as it is good."""
    house = furnished(tmp_path)
    alum(house, "AS-25", "2025-09-16")
    lots = of_alum(house)
    own = frozenset({lots[-1].lot.id})

    assert names(to_mend_with(lots, own=own, salt_g=10))[0] == "AS-24"


def test_a_tub_opened_too_long_ago_comes_after_a_sealed_one(tmp_path: Path):
    """A year open for carrageenan: common practice, no source."""
    house = furnished(tmp_path)
    for name in ("K-1", "K-2"):
        house.later(minutes=1)
        lot = house.say(
            "lot.received",
            studio=house.made["studio"],
            what="carrageenan",
            name=name,
            carrageenan="lambda",
            weight=quantity(500, "g"),
        )
        if name == "K-1":
            house.say("lot.opened", lot=lot)
    house.later(days=366)
    with house.desk() as desk:
        studio = Subject(house.made["studio"])
        day = house.moment.date()
        lots = powder_on_hand(desk.journal, studio, "carrageenan", today=day)

    assert names(lots) == ["K-2", "K-1"]
