"""Planning and reckoning against sums that can be done by hand."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.actions.mend import look_ahead, remedies
from coop.actions.mix import Asked, Water, measures_of, next_name, plan_bath, water_for
from coop.actions.on_hand import OnHand, alum_on_hand, share, share_out, to_mend_with
from coop.actions.read_dose import bulk_of, choices_of, meant, settle, understand
from coop.actions.reckon import depth_ml, sheets_ml, spoons_for
from coop.actions.see_baths import see_bath
from coop.ids import Subject
from coop.ledger.states import HouseState, LotState, VesselState
from coop.units.kinds import Kinds
from coop.units.quantity import Quantity
from tests.support.opened import START, Opened, furnished, mixed, quantity

CARD = "6 tbsp (1/4 cup) per gallon"


@pytest.fixture
def house(tmp_path: Any) -> Opened:
    return furnished(tmp_path)


def limits(house: Opened) -> HouseState:
    found: HouseState = house.state("house", "house")
    return found


def kinds(house: Opened) -> Kinds | None:
    return meant(limits(house)).kinds


def lots(house: Opened) -> tuple[OnHand, ...]:
    with house.desk() as desk:
        return alum_on_hand(
            desk.journal, Subject(house.made["studio"]), today=house.moment.date()
        )


def tub(house: Opened) -> VesselState:
    found: VesselState = house.state("vessel", house.made["tub"])
    return found


def asked(house: Opened, typed: str, *, by: str = "", litres: int = 12, pick: int = 0) -> Asked:
    reading = understand(typed, kinds(house))
    choices = choices_of(reading)
    statement = settle(reading, choices[pick].key if choices else "")
    assert statement is not None
    return Asked(
        statement=statement,
        recipe=None,
        water=Water(volume_ml=litres * 1000, laying_ml=6000, brim_ml=16_000),
        lots=lots(house),
        house=limits(house),
        by=by,
    )


def test_a_tub_of_540_by_740_mm_holds_six_litres_at_15_mm() -> None:
    """0.54 m x 0.74 m x 15 mm = 5.994 L."""
    assert depth_ml(depth_mm=15, area_m2=0.54 * 0.74) == pytest.approx(5994)


def test_sheets_ask_for_what_they_take_and_what_must_stand() -> None:
    """60 half sheets of 0.175 m2 at 140 mL/m2 take 1.47 L; 6 L stand at the last one."""
    found = sheets_ml(sheet_count=60, sheet_area_m2=0.175, laying_ml=6000)

    assert found.middle == pytest.approx(6000 + 60 * 0.175 * 140)
    assert found.low < found.middle < found.high


def test_a_contradictory_card_has_no_statement_until_one_is_picked(house: Opened) -> None:
    """15.6 against 23.4 mL/L: nobody may mix by it unseen."""
    reading = understand(CARD, kinds(house))

    assert settle(reading, "") is None
    assert [
        float(one.statement.ml_per_l.middle)
        for one in choices_of(reading)
        if one.statement.ml_per_l
    ] == [
        pytest.approx(23.4375),
        pytest.approx(15.625),
    ]


def test_the_reading_that_is_picked_decides_the_grams(house: Opened) -> None:
    """23.46 g/L or 15.64 g/L (14.8 g a tablespoon): 282 or 188 g in 12 L."""
    first = plan_bath(asked(house, CARD, pick=0))
    second = plan_bath(asked(house, CARD, pick=1))

    assert first.salt_g == pytest.approx(281.5, abs=0.5)
    assert second.salt_g == pytest.approx(187.7, abs=0.5)


def test_forty_grams_a_litre_in_twelve_litres_is_480_g(house: Opened) -> None:
    """The house's own strength, weighed."""
    plan = plan_bath(asked(house, "40 g/L"))

    assert plan.salt_g == pytest.approx(480)
    assert not plan.asks


def test_a_card_unlike_the_house_is_asked_once(house: Opened) -> None:
    """23 g/L is over 20 % off the house's 40."""
    assert plan_bath(asked(house, "6 tbsp per gallon")).asks
    assert not plan_bath(asked(house, "6 tbsp per gallon", by="card")).asks


def test_mixing_by_the_house_takes_the_houses_strength(house: Opened) -> None:
    """The answer to "by which do you mix?" decides the grams, not only the judging."""
    plan = plan_bath(asked(house, "6 tbsp per gallon", by="house"))

    assert plan.salt_g == pytest.approx(480)
    assert not plan.asks


def test_near_solubility_is_warned_of(house: Opened) -> None:
    """About 114 g/L of potash alum dissolve at 20 C (`coop.science.alum` names the table)."""
    house.say(
        "lot.received",
        studio=house.made["studio"],
        what="alum",
        name="AP-3",
        salt="potash_alum",
        weight=quantity(5, "kg"),
    )
    potash = tuple(one for one in lots(house) if one.lot.name == "AP-3")

    def plan(dose: str) -> Any:
        found = asked(house, dose, by="card")
        return plan_bath(
            Asked(
                statement=found.statement,
                recipe=None,
                water=found.water,
                lots=potash,
                house=found.house,
                by="card",
            )
        )

    assert plan("75 g/L").store.near_solubility
    assert not plan("40 g/L").store.near_solubility


def test_a_lots_own_spoon_counts_its_spoons(house: Opened) -> None:
    """480 g at 14.8 g a spoon are 32.4 spoons."""
    weigh(house, 148)
    (one,) = lots(house)

    found = share(480, one.lot, limits(house))

    assert found.spoons.middle == pytest.approx(32.43, abs=0.01)
    assert found.spoon_g == pytest.approx(14.8)


def test_a_spoon_nobody_weighed_gives_the_whole_range(house: Opened) -> None:
    """11 to 20 g a tablespoon: 480 g are 24 to 44 spoons."""
    (one,) = lots(house)

    found = share(480, one.lot, limits(house))

    assert found.spoons.low == pytest.approx(24)
    assert found.spoons.high == pytest.approx(480 / 11, abs=0.01)
    assert found.spoon_g is None


def test_a_light_powder_shows_what_the_cards_spoons_would_give(house: Opened) -> None:
    """
    A card of 8 tablespoons to a gallon means 31 g/L; of a powder of 11.1 g a spoon they give
    8 x 11.1 / 3.785 = 23.5 g/L: the weak bath of the house's story.
    """
    weigh(house, 111)

    plan = plan_bath(asked(house, "8 tbsp per gallon", by="card"))

    assert plan.card_g_per_l.middle == pytest.approx(31.3, abs=0.1)
    assert plan.by_own_spoons_g_per_l == pytest.approx(8 * 11.1 / 3.785411784, abs=0.05)


def weigh(house: Opened, ten_g: int) -> None:
    house.say(
        "lot.spoon_weighed",
        lot=house.made["alum"],
        spoon_count="10",
        spoon="us_tbsp",
        weight=quantity(ten_g, "g"),
    )


def test_the_oldest_lot_is_taken_first_and_the_next_for_the_rest(house: Opened) -> None:
    """A tub opened in spring goes before the one of autumn."""
    house.later(days=30)
    house.say(
        "lot.received",
        studio=house.made["studio"],
        what="alum",
        name="AS-25",
        salt="aluminium_sulfate_14",
        weight=quantity(5, "kg"),
    )
    mixed(house, water=quantity(12, "l"), salt=[part(house, 4800)])

    shares, missing_g = share_out(480, lots(house), limits(house))

    assert [(one.lot.name, round(one.salt_g)) for one in shares] == [
        ("AS-24", 200),
        ("AS-25", 280),
    ]
    assert missing_g == pytest.approx(0)


def part(house: Opened, grams: int) -> dict[str, Any]:
    return {"lot": house.made["alum"], "amount": quantity(grams, "g")}


def later_lot(house: Opened, name: str, *, kilograms: int = 5, ten_g: int = 0) -> str:
    """Receive alum a day later; with `ten_g`, ten level spoons of it are weighed."""
    house.later(days=1)
    found = house.say(
        "lot.received",
        studio=house.made["studio"],
        what="alum",
        name=name,
        salt="aluminium_sulfate_14",
        weight=quantity(kilograms, "kg"),
    )
    if ten_g:
        house.say(
            "lot.spoon_weighed",
            lot=found,
            spoon_count="10",
            spoon="us_tbsp",
            weight=quantity(ten_g, "g"),
        )
    return found


def test_a_bath_is_mended_from_its_own_lot_while_there_is_enough(house: Opened) -> None:
    """Else from a lot whose spoon was weighed, else from the oldest."""
    weighed = later_lot(house, "AS-25", ten_g=148)
    own = later_lot(house, "AS-26", kilograms=1)

    def first(*own_lots: str, grams: float) -> str:
        mine = frozenset(Subject(one) for one in own_lots)
        return to_mend_with(lots(house), own=mine, salt_g=grams)[0].lot.name

    assert first(own, grams=200) == "AS-26"
    assert first(own, grams=2000) == "AS-25"
    assert first(weighed, own, grams=200) == "AS-25"
    assert first(own, grams=9000) == "AS-24"


def test_of_lots_that_came_together_the_weighed_one_is_taken(house: Opened) -> None:
    """Spoons of it can be counted; ones nobody weighed are 11 to 20 g."""
    at = house.later(days=1)
    one, other = (
        house.say(
            "lot.received",
            at=at,
            studio=house.made["studio"],
            what="alum",
            name=name,
            salt="aluminium_sulfate_14",
            weight=quantity(5, "kg"),
        )
        for name in ("AS-25", "AS-26")
    )
    house.say(
        "lot.spoon_weighed",
        lot=other,
        spoon_count="10",
        spoon="us_tbsp",
        weight=quantity(148, "g"),
    )

    assert [found.lot.id for found in lots(house)[1:]] == [other, one]


def test_a_lot_used_up_by_the_ledger_is_listed_last(house: Opened) -> None:
    """A count may be off, so the tub stays to be chosen."""
    mixed(house, salt=[part(house, 6000)])
    house.later(days=1)
    house.say(
        "lot.received",
        studio=house.made["studio"],
        what="alum",
        name="AS-25",
        salt="aluminium_sulfate_14",
        weight=quantity(5, "kg"),
    )

    assert [one.lot.name for one in lots(house)] == ["AS-25", "AS-24"]
    assert lots(house)[1].left_g == pytest.approx(-1000)


@given(salt_g=st.floats(1, 5000), left=st.lists(st.floats(-10, 3000), max_size=4))
def test_shares_and_what_is_missing_add_up(salt_g: float, left: list[float]) -> None:
    """Nothing gets lost between the tubs."""
    shelf = tuple(OnHand(lot=lot(), left_g=one) for one in left)

    shares, missing_g = share_out(salt_g, shelf, None)

    assert sum(one.salt_g for one in shares) + missing_g == pytest.approx(salt_g)
    assert all(one.salt_g > 0 for one in shares)


def lot() -> LotState:
    return LotState(
        id=Subject("l"),
        studio=Subject("s"),
        what="alum",
        name="AS",
        salt="potash_alum",
        paper=None,
        supplier="",
        received_at=START,
        received_by="m",  # type: ignore[arg-type]  # any id will do
        substance=Subject("salt:potash_alum"),
        measure="weight",
        pack_count=1,
        pack=0,
        received=0,
    )


@given(salt_g=st.floats(0.1, 10_000))
def test_spoons_of_a_range_lie_round_their_middle(salt_g: float) -> None:
    found = spoons_for(salt_g, spoon="us_tbsp", bulk=bulk_of(None))

    assert found.low < found.middle < found.high


def test_water_can_be_said_in_litres_by_depth_and_by_sheets(house: Opened) -> None:
    """Three ways to say one thing: 12 L, 30 mm, or so many sheets."""
    vessel, house_limits = tub(house), limits(house)

    by_depth = water_for(Fraction(30), "mm", vessel, house_limits)
    by_sheets = water_for(Fraction(60), "half_sheets", vessel, house_limits)
    by_litres = water_for(Fraction(17), "l", vessel, house_limits)

    assert measures_of(vessel, house_limits) == ("l", "mm", "half_sheets", "us_gallon")
    assert by_depth is not None
    assert by_depth.volume_ml == pytest.approx(11_988)
    assert by_sheets is not None
    assert by_sheets.volume_ml == pytest.approx(7500)
    assert by_litres is not None
    assert by_litres.over_the_brim
    assert water_for(Fraction(1), "g", vessel, house_limits) is None


def test_the_next_name_is_one_more_than_any_tub_last_held(house: Opened) -> None:
    """Two baths called R-A1 would be told apart by nobody."""
    with house.desk() as desk:
        studio = desk.journal.state("studio", Subject(house.made["studio"]))
        assert next_name(desk.journal, studio) == "R-A1"
    mixed(house, name="R-A41")
    with house.desk() as desk:
        assert next_name(desk.journal, studio) == "R-A42"


def test_looking_ahead_is_what_the_ledger_then_says(house: Opened) -> None:
    """The page must not promise another bath than the one that is written."""
    bath = mixed(house)
    with house.desk() as desk:
        state = desk.journal.state("bath", Subject(bath))
        look = see_bath(desk.journal, state, now=house.clock())
        ahead = look_ahead(look, Quantity("4", Fraction(4), "l"), (), {})
    house.say("bath.topped_up", bath=bath, water=quantity(4, "l"), reason="level_only")
    with house.desk() as desk:
        after = see_bath(
            desk.journal, desk.journal.state("bath", Subject(bath)), now=house.clock()
        )

    assert ahead.water_only
    assert ahead.change.after.middle_g_per_l == pytest.approx(30.0, abs=0.05)
    assert ahead.change.after.middle_g_per_l == pytest.approx(after.strength.middle_g_per_l)


def test_a_weak_bath_is_offered_the_salt_that_brings_it_back(house: Opened) -> None:
    """12 L at 30 g/L want 120 g for 40 g/L (mass balance)."""
    bath = mixed(house, salt=[part(house, 360)])
    with house.desk() as desk:
        look = see_bath(
            desk.journal, desk.journal.state("bath", Subject(bath)), now=house.clock()
        )
    (only,) = remedies(look, lots(house), limits(house), goal_ml=12_000)

    assert only.salt_g == pytest.approx(120, abs=0.5)
    assert only.water_ml == pytest.approx(0, abs=1)
    assert only.strength_g_per_l == pytest.approx(40)
