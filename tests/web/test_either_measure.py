"""Forms, papers and sums of a member of US measures: the same amounts, to the last digit."""

import re
from html import unescape
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.ledger.states import HouseState, LotState, OrderState
from coop.ledger.table import HOUSE
from coop.science.defaults import DEFAULTS
from coop.web import amounts
from coop.web.defaults_text import US_UNITS, value_text
from coop.web.i18n import Words, read_catalogues
from tests.support.forms import Typed, form_of, send
from tests.support.opened import Opened, mixed, quantity
from tests.web.test_measures import choose

OZ_G = 28.349523125
ENGLISH = read_catalogues()["en"]
US = Words("en", ZoneInfo("UTC"), ENGLISH, us=True)
METRIC = Words("en", ZoneInfo("UTC"), ENGLISH)


def boxes(page: str, *names: str) -> list[str]:
    """Return what stands in boxes of the page's form."""
    form = form_of(page)
    return [form.fields[name][0] for name in names]


def limits(house: Opened) -> HouseState:
    state: HouseState = house.state("house", HOUSE)
    return state


# ---- a form that is opened and saved


@pytest.mark.parametrize("strength", ["40", "37.5", "33.3", "41.234567", "5"])
@pytest.mark.parametrize("depth", ["15", "1", "127"])
def test_limits_saved_unchanged_by_a_us_member_stay_as_they_were(
    house: Opened, strength: str, depth: str
) -> None:
    """Nobody meant to change 40 g/L to 39.9 by looking at it."""
    client = house.client("amina")
    house.later(days=1)
    send(client, "/house/limits", {"target_g_per_l": strength, "laying_depth_mm": depth})
    before = limits(house)
    choose(house, "amina", shown="us")
    house.later(days=1)

    assert send(client, "/house/limits").status_code == 303

    after = limits(house)
    assert after.target_g_per_l == before.target_g_per_l == float(strength)
    assert after.laying_depth_mm == before.laying_depth_mm == int(depth)
    assert after.set_at > before.set_at, "an edition of its own"


def test_a_us_member_sets_limits_in_ounces_and_inches(house: Opened) -> None:
    """5.34 oz to the US gallon is 39.99 g/L; 0.6 inches are 15.24 mm, and count as 15."""
    choose(house, "amina", shown="us")
    house.later(days=1)
    typed: Typed = {"target_g_per_l": "5.34", "laying_depth_mm": "0.6"}

    assert send(house.client("amina"), "/house/limits", typed).status_code == 303

    assert limits(house).target_g_per_l == pytest.approx(5.34 * OZ_G / 3.785411784)
    assert limits(house).laying_depth_mm == 15


def test_a_metric_member_may_say_limits_in_us_measures(house: Opened) -> None:
    """Input in either is always taken, and a gallon is the one of the house."""
    house.later(days=1)
    typed: Typed = {"target_g_per_l": "5.34 oz/gal", "laying_depth_mm": "1/2 in"}

    assert send(house.client("amina"), "/house/limits", typed).status_code == 303

    assert limits(house).target_g_per_l == pytest.approx(5.34 * OZ_G / 3.785411784)
    assert limits(house).laying_depth_mm == 13, "12.7"


def test_parts_of_a_millimetre_are_refused_where_millimetres_are_typed(house: Opened) -> None:
    """What is typed in the unit that is kept is never rounded in silence."""
    answer = send(house.client("amina"), "/house/limits", {"laying_depth_mm": "12.5"})

    assert answer.status_code == 422
    assert 'value="12.5"' in answer.text


@pytest.mark.parametrize(("shown", "most"), [("us", "7.87 in"), ("metric", "200 mm")])
def test_a_depth_past_every_tray_is_refused_in_ones_own_measures(
    house: Opened, shown: str, most: str
) -> None:
    """201 mm in the one, 20 inches in the other."""
    choose(house, "amina", shown=shown)
    typed: Typed = {"laying_depth_mm": "20" if shown == "us" else "201"}

    answer = send(house.client("amina"), "/house/limits", typed)

    assert answer.status_code == 422
    assert f"More than 0 and at most {most}, please." in answer.text


def test_a_paper_saved_unchanged_by_a_us_member_stays_as_it_was(house: Opened) -> None:
    there = f"/house/papers/{house.made['paper']}"
    client = house.client("amina")
    send(client, there, {"floor_g_per_l": "36.7", "floor_salt": "aluminium_sulfate_14"})
    before = house.state("paper", house.made["paper"])
    choose(house, "amina", shown="us")
    house.later(days=1)

    assert send(client, there).status_code == 303

    after = house.state("paper", house.made["paper"])
    assert after.floor_g_per_l == before.floor_g_per_l == 36.7
    assert (after.length_mm, after.width_mm) == (before.length_mm, before.width_mm)


# ---- lists of units


def units_in(page: str) -> list[list[str]]:
    """Return the codes of each list of units, in their order."""
    lists = re.findall(r'<select[^>]*name="[^"]*unit"[^>]*>(.*?)</select>', page, re.S)
    return [re.findall(r'value="([^"]*)"', one) for one in lists]


PAGES = (
    "/shelf/receive/alum",
    "/shelf/receive/powder",
    "/house/papers/new",
    "/jars/new",
    "/mishaps/new",
    "/sessions/new",
)


@pytest.mark.parametrize("there", PAGES)
def test_every_list_of_units_offers_both_and_ones_own_first(house: Opened, there: str) -> None:
    us = {"oz", "lb", "us_gallon", "us_fl_oz", "inch"}
    client = house.client("amina")
    metric = units_in(client.get(there).text)
    choose(house, "amina", shown="us")
    own = units_in(client.get(there).text)

    assert metric
    for before, after in zip(metric, own, strict=True):
        assert before[0] not in us
        assert after[0] in us
        assert sorted(before) == sorted(after)
        assert us.isdisjoint(before) is False
        if "us_gallon" in before:
            assert "imp_gallon" in before


def test_a_tub_received_in_pounds_is_kept_as_typed(house: Opened) -> None:
    """The list proposes pounds for a bag of alum; what is kept is exact."""
    choose(house, "amina", shown="us")
    client = house.client("amina")
    page = client.get("/shelf/receive/alum").text
    assert boxes(page, "weight.unit") == ["lb"]

    typed: Typed = {"salt": "potash_alum", "name": "A-9", "weight.typed": "5"}
    assert send(client, "/shelf/receive/alum", typed).status_code == 303

    with house.desk() as desk:
        lots: tuple[LotState, ...] = desk.journal.listed("lot")
    assert next(one.pack for one in lots if one.name == "A-9") == 2_267_961_850


# ---- sums that add up


def test_where_a_lot_went_adds_up_in_ounces(house: Opened) -> None:
    """Each line is rounded as printed, and the lines come to what is left as printed."""
    lot = house.made["alum"]
    for number in range(3):
        salt = [{"lot": lot, "amount": quantity(33 + number, "g")}]
        bath = mixed(house, name=f"R-B{number}", salt=salt, water=quantity(2, "l"))
        house.say("bath.finished", bath=bath, reason="too_weak")
    choose(house, shown="us")

    page = unescape(house.client("kahu").get(f"/lots/{lot}/gone").text)

    sums = _numbers(re.findall(r'class="number">([^<]*) lb<', page))
    ways = _numbers(re.findall(r"<b>([^<]*) lb</b>", page))
    came_in, *gone, left = sums
    assert came_in + sum(gone) == pytest.approx(left)
    assert len(ways) == 4
    assert sum(ways) == pytest.approx(left)


def _numbers(said: list[str]) -> list[float]:
    return [float(one.replace("\u2212", "-")) for one in said]


@given(st.floats(1, 500_000), st.booleans())
def test_what_may_still_go_is_never_said_to_be_more(volume_ml: float, us: bool) -> None:
    """Rounded to the nearest, a limit of a day would be passed by what the jug shows."""
    said = amounts.volume_down(US if us else METRIC, volume_ml)
    number, unit = said.split(" ", 1)
    one = {"L": 1000, "US gal": 3785.411784, "US qt": 946.352946, "US fl oz": 29.5735295625}
    assert float(number) * one[unit] <= volume_ml * (1 + 1e-9)


# ---- orders


@pytest.mark.parametrize(
    ("pack", "pack_g", "typed", "unit"),
    [
        (quantity(5, "lb"), 80 * OZ_G, "5", "lb"),
        (quantity(8, "oz"), 8 * OZ_G, "0.5", "lb"),
        (quantity(454, "g"), 454, "454", "g"),
    ],
)
def test_a_pack_is_proposed_in_ones_own_unit_where_that_is_exact(
    house: Opened, pack: dict[str, Any], pack_g: float, typed: str, unit: str
) -> None:
    """A pack of 454 g is not one pound; ordered as it is proposed, it stays what it was."""
    house.say("supply.described", what="methylcellulose", floor=pack, pack=pack)
    choose(house, shown="us")
    there = "/orders/place?supply=powder:methylcellulose"
    client = house.client("kahu")

    assert boxes(client.get(there).text, "pack.typed", "pack.unit") == [typed, unit]

    answer = send(client, there, {"packs": "1"})
    order: OrderState = house.state("order", str(answer.location).rsplit("/", 1)[1])
    assert order.pack == round(pack_g * 1_000_000)


# ---- neutralising


def test_the_walk_of_a_us_member_is_the_same_walk(house: Opened) -> None:
    """A hundredth of an ounce is less than a step of the walk: no crumb is asked for after."""
    salt = [{"lot": house.made["alum"], "amount": quantity(232, "g")}]
    bath = mixed(house, name="R-A3", water=quantity("5.8", "l"), salt=salt)
    house.say("bath.finished", bath=bath, reason="too_weak")
    choose(house, shown="us")
    client = house.client("kahu")
    there = f"/baths/{bath}/neutralise?soda=crystals&also=no&strip=none"

    page = client.get(there).text
    assert boxes(page, "litres.typed", "litres.unit") == ["9.8", "us_fl_oz"]
    assert send(client, there).status_code == 303
    house.later(minutes=5)
    page = client.get(there).text
    assert "8.99 oz of soda crystals" in page
    assert boxes(page, "weight.typed", "weight.unit") == ["8.99", "oz"]
    assert send(client, there).status_code == 303
    house.later(minutes=31)
    reading: Typed = {"ph": "5.5", "instrument": "ph_strip"}
    assert send(client, f"{there}&read=yes", reading).status_code == 303
    assert boxes(client.get(there).text, "weight.typed") == ["0.75"], "21 g + 0.1 g"

    treated = house.state("bath", bath).treated
    assert treated[1].weight_g == pytest.approx(8.99 * OZ_G)


def test_a_bucket_is_read_in_gallons_where_gallons_are_shown(house: Opened) -> None:
    """A bucket read ten times too large foams over: its unit stands beside the box."""
    salt = [{"lot": house.made["alum"], "amount": quantity(232, "g")}]
    bath = mixed(house, name="R-A3", water=quantity("5.8", "l"), salt=salt)
    there = f"/baths/{bath}/neutralise?soda=crystals&bucket="
    metric = house.client("kahu").get(f"{there}6").text
    named = house.client("kahu").get(f"{there}2 US gal").text
    choose(house, shown="us")
    bare = house.client("kahu").get(f"{there}2").text
    wrong = house.client("kahu").get(f"{there}9999").text

    assert "3 goes of 1.93 L" in metric
    assert "3 goes of 1.93 L" in named
    assert "3 goes of 2.04 US qt" in bare
    assert '<span class="unit">US gal</span>' in bare
    assert "What the bucket holds, " in wrong


# ---- papers for others, and Help


def test_the_log_of_wastes_is_metric_whoever_prints_it(house: Opened) -> None:
    """It is handed over: its figures are those of the CSV, its sums as well."""
    bath = mixed(house)
    house.say("bath.finished", bath=bath, reason="too_weak")
    house.say(
        "mishap.noted",
        studio=house.made["studio"],
        what="spill",
        bath=bath,
        litres=quantity(2, "l"),
    )
    choose(house, shown="us")

    page = house.client("kahu").get(f"/waste/{house.made['studio']}/log").text

    assert "2.0 L" in page
    assert "US gal" not in page


@pytest.mark.parametrize("name", [one for one in DEFAULTS if DEFAULTS[one].unit in US_UNITS])
def test_a_default_in_us_measures_is_the_same_figure(name: str) -> None:
    """Said with fewer digits it may be off by half of the last, and by no more."""
    row = DEFAULTS[name]
    scale = US_UNITS[row.unit]
    said = re.search(r"-?[0-9.]+", value_text(US, row))
    assert said
    places = len(said[0].partition(".")[2])
    zero = 0 if row.low == -row.value else scale.zero
    exact = row.value / scale.one + zero
    assert float(said[0]) == pytest.approx(exact, abs=0.5000001 * 10**-places)


def test_help_says_the_house_strength_in_ones_own_measures(house: Opened) -> None:
    choose(house, shown="us")
    page = unescape(house.client("kahu").get("/help").text)

    assert "This house mixes to 5.3 oz wt/US gal of" in page
    assert "look again under 4.0 oz wt/US gal, do not use under" in page
    assert "577 g on hand" in page, "sums with a pencil stay in grams"


def test_papers_and_tap_water_are_said_in_us_measures_beside_the_metric(house: Opened) -> None:
    """
    100 g/m2 are 67.6 lb of text and 37.0 of cover (trade tables of basis weights); 171.2 mg/L
    are ten grains to the gallon, of 64.79891 mg (NIST Handbook 44, appendix C, from memory).
    """
    assert amounts.paper_weight(US, 100) == "100 g/m² (68 lb text, 37 lb cover)"
    assert amounts.paper_weight(METRIC, 117.5) == "117.5 g/m²"
    assert amounts.hardness(US, 171.18) == "171 mg/L calcium carbonate (10.0 grains/US gal)"
    assert amounts.hardness(METRIC, 40) == "40 mg/L calcium carbonate"

    choose(house, shown="us")
    page = house.client("kahu").get("/house").text
    assert re.search(r"g/m² \(\d+ lb text, \d+ lb cover\)", page)
