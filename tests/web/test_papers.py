"""A paper's page and a bath's: both limits of the chalk, and a pick-up that readings taught."""

from typing import Any

import pytest

from coop.ids import Subject
from coop.ledger.measure import pickup_of
from coop.science.bath import PICKUP_DIP_ML_PER_M2
from tests.support.forms import Typed, form_of, forms_of, send
from tests.support.opened import Opened, mixed, post, quantity

ML_PER_M2 = 131.0
AREA_M2 = 10.5  # 60 half sheets of 500 x 700 mm
FLOOR_M2 = 0.54 * 0.74


def described(house: Opened, name: str = "P-30", **more: str) -> str:
    body: dict[str, Any] = {
        "name": name,
        "length": quantity(700, "mm"),
        "width": quantity(500, "mm"),
        "weight_g_per_m2": "100",
        "chalk": "none",
    }
    return house.say("paper.described", **(body | more))


def dipped(house: Opened, bath: str, paper: str, count: int = 60, **more: str) -> None:
    body: dict[str, Any] = {
        "bath": bath, "sheet_count": str(count), "sheet_format": "half", "method": "dip",
        "paper": paper,
    }  # fmt: skip
    house.say("sheets.through", **(body | more))


def read(house: Opened, bath: str, litres: float) -> None:
    depth = quantity(f"{litres / FLOOR_M2:g}", "mm")
    house.say("reading.taken", bath=bath, instrument="dipstick", depth=depth)


def taught(house: Opened, paper: str, pairs: int, ml_per_m2: float = ML_PER_M2) -> str:
    """Read a tub before and after each dip; after five of them it is filled up again."""
    salt = [{"lot": house.made["alum"], "amount": quantity(600, "g")}]
    bath = mixed(house, water=quantity(15, "l"), salt=salt)
    litres, took = 15.0, ml_per_m2 * AREA_M2 / 1000
    for n in range(pairs):
        house.later(minutes=2)
        if n % 5 == 0:
            if n:
                fresh_l = 15 - litres
                salt = [
                    {"lot": house.made["alum"], "amount": quantity(f"{40 * fresh_l:g}", "g")}
                ]
                water = quantity(f"{fresh_l:g}", "l")
                house.say("bath.topped_up", bath=bath, water=water, salt=salt)
                litres = 15.0
                house.later(minutes=2)
            read(house, bath, litres)
        house.later(minutes=2)
        dipped(house, bath, paper)
        house.later(minutes=2)
        litres -= took
        read(house, bath, litres)
    return bath


def page_of(house: Opened, paper: str) -> str:
    return str(house.client("amina").get(f"/house/papers/{paper}").text)


# The floor.


def test_a_floor_is_of_the_houses_salt_unless_another_is_chosen(house: Opened) -> None:
    """Everybody has the same sack; who types 30 g/L means that alum."""
    client = house.client("amina")
    there = "/house/papers/new"
    said: Typed = {"name": "P-33", "length.typed": "700", "width.typed": "500", "chalk": "none",
                   "floor_g_per_l": "30"}  # fmt: skip

    assert form_of(client.get(there).text).fields["floor_salt"] == ["aluminium_sulfate_14"]
    assert send(client, there, said).status_code == 303


# Chalk.


def test_both_limits_of_a_chalky_paper_stand_on_the_baths_page(house: Opened) -> None:
    """ISO 9706's 0.4 mol/kg in 10.5 m2 of 100 g/m2: 21 g of chalk, 42 g of the sulfate."""
    described(house, "P-32", chalk="some")
    bath = mixed(house)
    page = house.client("kahu").get(f"/baths/{bath}").text

    assert (
        "60 half sheets of P-32 may take 0 to 42 g of alum by their chalk: 40 g/L now, 36 to "
        "40 after." in page
    )


def test_a_paper_without_chalk_has_no_such_line(house: Opened) -> None:
    described(house)
    bath = mixed(house)

    assert "by their chalk" not in house.client("kahu").get(f"/baths/{bath}").text


def ask(house: Opened, bath: str, **typed: str) -> list[str]:
    usual = {"sheet_count": "60", "sheet_format": "half", "method": "dip", "lot": "own"}
    answer = house.client("kahu").get(f"/baths/{bath}/sheets/chalk", query_string=usual | typed)
    assert answer.status_code == 200
    lines: list[str] = answer.get_json()["lines"]
    return lines


def test_sheets_say_both_limits_before_they_are_written(house: Opened) -> None:
    """Half as many take half as much."""
    paper = described(house, "P-32", chalk="some")
    bath = mixed(house)
    (line,) = ask(house, bath, sheet_count="30", paper=paper)

    assert line.startswith("30 half sheets of P-32 may take 0 to 21 g of alum")


def test_the_sheets_page_says_them_without_script_too(house: Opened) -> None:
    """As many sheets as last time; with a script, as many as are typed."""
    paper = described(house, "P-32", chalk="some")
    bath = mixed(house)
    house.later(minutes=5)
    dipped(house, bath, paper, 20)
    page = house.client("kahu").get(f"/baths/{bath}/sheets").text

    assert "20 half sheets of P-32 may take 0 to 14 g of alum by their chalk" in page
    assert f'data-live="/baths/{bath}/sheets/chalk"' in page


def test_without_chalk_the_sheets_page_asks_nothing(house: Opened) -> None:
    bath = mixed(house)
    page = house.client("kahu").get(f"/baths/{bath}/sheets").text

    assert "data-live" not in page


def test_chalk_of_the_lot_goes_before_chalk_of_the_paper(house: Opened) -> None:
    """One parcel of the same paper has 4 g/m2, another none at all."""
    paper = described(house, "P-32", chalk="some")
    bath = mixed(house)
    chalks: dict[str, dict[str, Any]] = {
        "P-32a": {"chalk": "some", "chalk_g_per_m2": "4"},
        "P-32b": {"chalk": "none"},
    }
    lots = {
        name: house.say("lot.received", studio=house.made["studio"], what="paper", name=name,
                        paper=paper, sheet_count="100", **chalk)
        for name, chalk in chalks.items()
    }  # fmt: skip

    (line,) = ask(house, bath, lot=lots["P-32a"])
    assert line.startswith("60 half sheets of P-32a may take 0 to 83 g of alum")
    assert ask(house, bath, lot=lots["P-32b"]) == []


@pytest.mark.parametrize(
    "typed",
    [{"method": "sponge"}, {"sheet_count": ""}, {"sheet_count": "many"}, {"sheet_count": "0"},
     {"sheet_count": "99999"}, {"sheet_format": "tiny"}, {"paper": "nobody"}],
)  # fmt: skip
def test_what_is_half_typed_or_stays_on_the_sheet_says_nothing(
    house: Opened, typed: dict[str, str]
) -> None:
    paper = described(house, "P-32", chalk="some")

    assert ask(house, mixed(house), **({"paper": paper} | typed)) == []


def test_the_papers_page_says_what_its_chalk_may_take(house: Opened) -> None:
    measured = described(house, "P-32", chalk="some", chalk_g_per_m2="3")
    guessed = described(house, "P-33", chalk="some")

    assert "hold about 32 g of chalk: it takes between nothing and 62 g of" in (
        page_of(house, measured)
    )
    assert "Nobody measured it" not in page_of(house, measured)
    assert "Nobody measured it" in page_of(house, guessed)
    assert "of chalk: it takes" not in page_of(house, described(house))


# Pick-up.


def test_too_few_pairs_say_how_many_are_wanted(house: Opened) -> None:
    paper = described(house)
    taught(house, paper, 3)
    page = page_of(house, paper)

    assert "3 of 30 pairs of readings yet: a dip counts as 140 mL/m²." in page
    assert "Take it over" not in page


def test_thirty_pairs_are_one_line_to_take_over_and_every_bath_counts_with_it(
    house: Opened,
) -> None:
    """The figure, since when and by whom; what one paper taught is not believed of another."""
    paper, other = described(house), described(house, "P-34")
    bath = taught(house, paper, 30)
    before = house.state("bath", bath).estimate.belief.volume_ml
    page = page_of(house, paper)

    assert "30 pairs of readings: a dip takes" in page
    assert "not 140." in page
    form = next(one for one in forms_of(page) if "shown" in one.fields)
    assert float(form.fields["shown"][0]) == pytest.approx(ML_PER_M2, rel=0.03)

    there = f"/house/papers/{paper}"
    fields = {name: values[0] for name, values in form.fields.items()}
    client = house.client("amina")
    answer = post(client, there, f"{there}/pickup", method="dip", shown=fields["shown"])
    assert answer.status_code == 303
    state = house.state("paper", paper)
    (taken,) = state.pickups
    assert (taken.method, taken.pair_count) == ("dip", 30)
    assert pickup_of(state, "dip").middle == float(fields["shown"])
    assert pickup_of(state, "sponge").middle == 80
    assert pickup_of(house.state("paper", other), "dip") == PICKUP_DIP_ML_PER_M2

    page = client.get(there).text
    assert f"By readings a dip takes {fields['shown']} mL/m²" in page
    assert "since 2025-09-17, taken over by Amina K." in page
    assert "Take it over" not in page
    assert house.state("bath", bath).estimate.belief.volume_ml != before


def test_only_a_coordinator_takes_it_over(house: Opened) -> None:
    paper = described(house)
    client = house.client("kahu")
    answer = post(client, "/me", f"/house/papers/{paper}/pickup", method="dip", shown="131")

    assert answer.status_code == 403
    assert house.state("paper", paper).pickups == ()


@pytest.mark.parametrize("typed", [{"shown": "999"}, {"method": "brush"}, {"method": "x"}])
def test_a_figure_that_is_not_what_the_readings_show_is_not_taken(
    house: Opened, typed: dict[str, str]
) -> None:
    """More readings came in meanwhile: the line is looked at again first."""
    paper = described(house)
    there = f"/house/papers/{paper}"
    client = house.client("amina")
    fields = {"method": "dip", "shown": "131"} | typed
    answer = post(client, there, f"{there}/pickup", **fields)

    assert answer.status_code == 303
    assert "The readings show something else by now." in client.get(there).text
    assert house.state("paper", paper).pickups == ()


def test_an_unknown_paper_is_not_found(house: Opened) -> None:
    unknown = "0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7b"
    client = house.client("amina")

    assert client.get(f"/house/papers/{unknown}").status_code == 404
    assert client.get(f"/house/papers/{unknown}/pickup").status_code == 405
    assert house.state("paper", Subject(unknown)) is None
