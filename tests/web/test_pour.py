"""Pour apart, together, carry: seen before it is poured, and linked from both baths after."""

import re
from typing import Any

import pytest

from tests.support.opened import Opened, mixed, post, quantity, sized


@pytest.fixture
def bath(house: Opened) -> str:
    """12 L at 40 g/L in the big tub; the small one, of 6 L, holds nothing."""
    house.made["small"] = tub(house, "small tub", 6)
    made = mixed(house)
    house.later(minutes=5)
    return made


def tub(house: Opened, name: str, brim_l: int, studio: str = "") -> str:
    return house.say(
        "vessel.described",
        studio=studio or house.made["studio"],
        name=name,
        brim=quantity(brim_l, "l"),
        lidded="yes",
        place="2",
    )


def pottery(house: Opened) -> str:
    """Describe a second studio with a tub; return the tub."""
    studio = house.say(
        "studio.described",
        name="Pottery",
        letter="P",
        drain="sewer",
        instruments=["strip_print"],
        emergency="112",
        poison="0555 0100",
    )
    return tub(house, "tub by the kiln", 20, studio)


def part(vessel: str, litres: object, *, n: int = 0, name: str = "R-A2") -> dict[str, str]:
    row = f"parts.{n}"
    return {
        f"{row}.vessel": vessel,
        f"{row}.name": name,
        f"{row}.litres.typed": str(litres),
        f"{row}.litres.unit": "l",
    }


def strength(house: Opened, bath: str) -> float:
    return float(house.state("bath", bath).estimate.belief.strength_g_per_l)


def volume_ml(house: Opened, bath: str) -> float:
    return float(house.state("bath", bath).estimate.belief.volume_ml)


def written(answer: Any) -> str:
    """Return the entry that a page wrote."""
    assert answer.status_code == 303, answer.text
    return str(answer.headers["Location"].rpartition("written=")[2])


def ahead(house: Opened, there: str, typed: dict[str, str]) -> dict[str, Any]:
    """Return what a page says of what is typed, before it is written."""
    answer = house.client("kahu").get(f"{there}/ahead", query_string=typed)
    assert answer.status_code == 200, answer.text
    told: dict[str, Any] = answer.get_json()
    return told


def error_of(page: str, field: str) -> str:
    found = re.search(rf'id="{re.escape(field)}-error"[^>]*>(.*?)</p>', page, re.S)
    return found[1] if found else ""


# Apart.


def test_a_bath_is_poured_into_another_tub(house: Opened, bath: str) -> None:
    """4 of 12 L: the rest keeps its strength, and so has the part; 4 L hold 3.93 of water."""
    client = house.client("kahu")

    made = written(post(client, f"/baths/{bath}/pour", **part(house.made["small"], 4)))

    assert volume_ml(house, made) == pytest.approx(3_932, abs=1)
    assert volume_ml(house, made) + volume_ml(house, bath) == pytest.approx(12_000)
    assert strength(house, made) == pytest.approx(40)
    assert house.state("bath", made).vessel == house.made["small"]


def test_only_vessels_that_hold_nothing_are_offered_of_every_studio(
    house: Opened, bath: str
) -> None:
    kiln = pottery(house)
    page = house.client("kahu").get(f"/baths/{bath}/pour").text

    assert f'value="{house.made["small"]}"' in page
    assert f'value="{kiln}"' in page
    assert f'value="{house.made["tub"]}"' not in page
    assert "tub by the kiln (Pottery), holds 20.0 L" in page


def test_the_next_names_are_proposed(house: Opened, bath: str) -> None:
    """R-A1 is there: the parts are R-A2, R-A3 and on; another studio has its own letter."""
    pottery(house)
    page = house.client("kahu").get(f"/baths/{bath}/pour").text

    assert re.findall(r'name="parts\.\d\.name"[^>]*value="([^"]+)"', page) == [
        "R-A2", "R-A3", "R-A4", "R-A5",
    ]  # fmt: skip
    assert "In Pottery the next one is P-A1." in page


def test_a_size_is_named_as_a_size(house: Opened) -> None:
    size = sized(house)
    page = house.client("kahu").get(f"/baths/{size}/pour").text

    assert 'value="R-S2"' in page


def test_four_parts_go_at_once_and_rows_left_empty_are_left_out(
    house: Opened, bath: str
) -> None:
    """The second row is empty, the third is not: it is the second part."""
    other = tub(house, "third tub", 6)
    rows = part(house.made["small"], 4) | part(other, 3, n=2, name="R-A3")

    made = written(post(house.client("kahu"), f"/baths/{bath}/pour", **rows))

    assert volume_ml(house, f"{made}:2") == pytest.approx(2_949, abs=1)
    assert house.state("bath", f"{made}:2").name == "R-A3"


def test_the_second_part_has_every_page_of_a_bath(house: Opened, bath: str) -> None:
    """Its id ends in ':2'; nothing may take that for a wrong address."""
    other = tub(house, "third tub", 6)
    rows = part(house.made["small"], 4) | part(other, 3, n=1, name="R-A3")
    client = house.client("kahu")
    second = written(post(client, f"/baths/{bath}/pour", **rows)) + ":2"
    house.later(minutes=5)

    for there in ("", "/sheets", "/test", "/mend", "/pour", "/together", "/carry", "/stop",
                  "/finish", "/keep"):  # fmt: skip
        assert client.get(f"/baths/{second}{there}").status_code == 200, there
    fields = {"sheet_count": "4", "sheet_format": "half", "method": "dip",
              "lot": house.made["parcel"]}  # fmt: skip
    assert post(client, f"/baths/{second}/sheets", **fields).status_code == 303
    assert house.state("bath", second).half_count == 4
    assert "R-A3" in client.get("/").text


def test_before_and_after_are_said_while_it_is_typed(house: Opened, bath: str) -> None:
    said = ahead(house, f"/baths/{bath}/pour", part(house.made["small"], 4))

    assert said["figure"] == "Now 12.0 L, then 8.1 L; as strong as before"
    assert said["lines"] == ["R-A2 in small tub: 4.0 L"]
    assert said["warnings"] == []


@pytest.mark.parametrize(
    ("litres", "warning"),
    [(7, "small tub: that is 1.0 L over the brim. It does not fit."),
     (13, "That is 0.79 L more than there is.")],
)  # fmt: skip
def test_what_does_not_fit_is_said_while_it_is_typed(
    house: Opened, bath: str, litres: int, warning: str
) -> None:
    said = ahead(house, f"/baths/{bath}/pour", part(house.made["small"], litres))

    assert warning in said["warnings"]


def test_half_a_row_asks_nothing_yet(house: Opened, bath: str) -> None:
    for typed in ("", "much"):
        said = ahead(house, f"/baths/{bath}/pour", part(house.made["small"], typed))
        assert said["figure"] == ""


@pytest.mark.parametrize(
    ("rows", "field", "text"),
    [
        ({"litres": 7}, "parts.0.litres.typed", "brim"),
        ({"litres": "much"}, "parts.0.litres.typed", "A number, please"),
        ({"litres": ""}, "parts.0.litres.typed", "This is needed"),
        ({"litres": 4, "vessel": ""}, "parts.0.vessel", "This is needed"),
        ({"litres": 4, "vessel": "tub"}, "parts.0.vessel", "R-A1"),
        ({"litres": 4, "name": "x" * 21}, "parts.0.name", "20"),
        ({"litres": "", "vessel": ""}, "parts.0.vessel", "This is needed"),
    ],
)
def test_a_bad_row_says_what_would_be_right_and_keeps_what_was_typed(
    house: Opened, bath: str, rows: dict[str, Any], field: str, text: str
) -> None:
    typed = {"vessel": "small", "name": "R-A2"} | rows
    vessel = house.made.get(typed["vessel"], "")
    fields = part(vessel, typed["litres"], name=typed["name"])
    answer = post(house.client("kahu"), f"/baths/{bath}/pour", **fields)

    assert answer.status_code == 422
    assert text in error_of(answer.text, field)
    assert f'value="{typed["name"]}"' in answer.text
    assert volume_ml(house, bath) == 12_000


def test_a_refusal_stands_beside_its_row_though_the_one_before_is_empty(
    house: Opened, bath: str
) -> None:
    answer = post(
        house.client("kahu"), f"/baths/{bath}/pour", **part(house.made["small"], 7, n=2)
    )

    assert "brim" in error_of(answer.text, "parts.2.litres.typed")


def test_one_vessel_does_not_take_two_parts(house: Opened, bath: str) -> None:
    rows = part(house.made["small"], 2) | part(house.made["small"], 2, n=1, name="R-A3")
    answer = post(house.client("kahu"), f"/baths/{bath}/pour", **rows)

    assert answer.status_code == 422
    assert error_of(answer.text, "parts.1.vessel")


def test_where_every_vessel_holds_a_bath_it_says_so(house: Opened) -> None:
    bath = mixed(house)
    page = house.client("kahu").get(f"/baths/{bath}/pour").text

    assert "Every vessel holds a bath: none is free." in page
    assert "Write it" not in page


def test_a_finished_bath_is_not_poured(house: Opened, bath: str) -> None:
    house.say("bath.finished", bath=bath, reason="used_up")
    client = house.client("kahu")

    for there in ("pour", "together", "carry"):
        assert "This bath is finished." in client.get(f"/baths/{bath}/{there}").text


# Together.


@pytest.fixture
def weak(house: Opened, bath: str) -> str:
    """4 L at 20 g/L in the small tub: under the line of 25."""
    salt = [{"lot": house.made["alum"], "amount": quantity(80, "g")}]
    made = mixed(house, name="R-A2", vessel=house.made["small"], water=quantity(4, "l"),
                 salt=salt)  # fmt: skip
    house.later(minutes=5)
    return made


def pour_in(giver: str, litres: object = "", **more: str) -> dict[str, str]:
    return {"giver": giver, "litres.typed": str(litres), "litres.unit": "l"} | more


def test_two_baths_come_together_by_their_salt(house: Opened, bath: str, weak: str) -> None:
    """By hand: 480 and 40 g in 14 L are 37.1 g/L."""
    fields = pour_in(weak, 2, warned=weak)
    answer = post(house.client("kahu"), f"/baths/{bath}/together", **fields)

    assert answer.status_code == 303
    assert strength(house, bath) == pytest.approx(520 / 14, rel=1e-3)
    assert house.state("bath", weak).finished_at is None


def test_all_of_a_bath_finishes_it(house: Opened, bath: str, weak: str) -> None:
    """By hand: 560 g in 16 L are 35 g/L."""
    answer = post(house.client("kahu"), f"/baths/{bath}/together", **pour_in(weak, warned=weak))

    assert answer.status_code == 303
    assert strength(house, bath) == pytest.approx(35, rel=1e-3)
    assert house.state("bath", weak).finish_reason == "poured_together"


def test_the_mixture_is_said_while_it_is_typed(house: Opened, bath: str, weak: str) -> None:
    said = ahead(house, f"/baths/{bath}/together", pour_in(weak, 2))

    assert said["figure"].startswith("Now about 40 g/L")
    assert "then about 37 g/L" in said["figure"]
    assert said["lines"] == ["R-A1: now 12.0 L, then 14.0 L", "R-A2: 2.0 L are left"]


def test_a_weak_giver_is_said_before_anything_is_written(
    house: Opened, bath: str, weak: str
) -> None:
    """Read once, sent again, then it is written."""
    client = house.client("kahu")

    first = post(client, f"/baths/{bath}/together", **pour_in(weak, 2))
    assert first.status_code == 422
    assert "R-A2: " in first.text
    assert f'name="warned" type="hidden" value="{weak}"' in first.text
    assert volume_ml(house, bath) == 12_000

    again = post(client, f"/baths/{bath}/together", **pour_in(weak, 2, warned=weak))
    assert again.status_code == 303


def test_a_stopped_giver_is_said_and_stops_what_it_goes_into(
    house: Opened, bath: str, weak: str
) -> None:
    house.say("bath.stopped", "oluwaseun", bath=weak, reason="looks_wrong")
    house.later(minutes=5)
    client = house.client("kahu")
    page = post(client, f"/baths/{bath}/together", **pour_in(weak, 2)).text

    assert "R-A2 is stopped. What it goes into is stopped by it." in page
    post(client, f"/baths/{bath}/together", **pour_in(weak, 2, warned=weak))
    assert house.state("bath", bath).stop is not None


def test_a_line_that_the_mixture_would_be_under_is_named(
    house: Opened, bath: str, weak: str
) -> None:
    """By hand: 4 L of 20 and 2 L of 40 g/L are 26.7 g/L; the house looks again under 30."""
    said = ahead(house, f"/baths/{weak}/together", pour_in(bath, 2))

    assert (
        "This would bring it to about 27 g/L only, to be looked at again under 30."
        in (said["warnings"])
    )


@pytest.mark.parametrize(
    ("litres", "field", "text"),
    [("5", "litres.typed", "more"), ("x", "litres.typed", "A number, please"),
     ("-1", "litres.typed", "")],
)  # fmt: skip
def test_bad_litres_stay_to_be_put_right(
    house: Opened, bath: str, weak: str, litres: str, field: str, text: str
) -> None:
    fields = pour_in(weak, litres, warned=weak)
    answer = post(house.client("kahu"), f"/baths/{bath}/together", **fields)

    assert answer.status_code == 422
    assert error_of(answer.text, field)
    assert f'value="{litres}"' in answer.text
    assert volume_ml(house, bath) == 12_000


def test_no_giver_is_asked_for(house: Opened, bath: str, weak: str) -> None:
    answer = post(house.client("kahu"), f"/baths/{bath}/together", **pour_in(""))

    assert answer.status_code == 422
    assert "giver" in answer.text


def test_another_salt_or_kind_is_not_offered(house: Opened, bath: str) -> None:
    """Potash alum into aluminium sulfate is no bath anybody can judge."""
    lot = house.say("lot.received", studio=house.made["studio"], what="alum", name="AP-3",
                    salt="potash_alum", weight=quantity(2, "kg"))  # fmt: skip
    mixed(house, name="R-A9", vessel=house.made["small"], water=quantity(4, "l"),
          salt=[{"lot": lot, "amount": quantity(80, "g")}])  # fmt: skip
    sized(house)
    page = house.client("kahu").get(f"/baths/{bath}/together").text

    assert "There is no other bath of its kind." in page


def test_two_sizes_come_together_as_old_as_the_older(house: Opened) -> None:
    old = sized(house)
    house.later(days=2)
    tray = tub(house, "second tray", 30)
    young = sized(house, name="R-S2", vessel=tray, water=quantity(4, "l"))
    said = ahead(house, f"/baths/{young}/together", pour_in(old, 4))

    assert "It counts as made on 2025-09-17, as the older of the two." in said["lines"]
    assert said["figure"] == "Now 15.0 g/L of powder, then 10.0 g/L"
    fields = pour_in(old, 4, warned=said["warned"])
    answer = post(house.client("kahu"), f"/baths/{young}/together", **fields)
    assert answer.headers["Location"].startswith(f"/liquids/{young}?written=")
    assert house.state("bath", young).mixed_at == house.state("bath", old).mixed_at


# Carry.


def test_a_bath_is_carried_to_another_studio(house: Opened, bath: str) -> None:
    kiln = pottery(house)
    answer = post(house.client("kahu"), f"/baths/{bath}/carry", vessel=kiln)
    state = house.state("bath", bath)

    assert answer.status_code == 303
    assert (state.vessel, state.estimate.belief.volume_ml) == (kiln, 12_000)
    assert house.state("studio", state.studio).name == "Pottery"


def test_a_vessel_too_small_or_none_is_refused(house: Opened, bath: str) -> None:
    client = house.client("kahu")
    for vessel in (house.made["small"], house.made["tub"], ""):
        answer = post(client, f"/baths/{bath}/carry", vessel=vessel)
        assert answer.status_code == 422
        assert 'class="error" id="vessel-error"' in answer.text or error_of(
            answer.text, "vessel"
        )
    assert house.state("bath", bath).vessel == house.made["tub"]


# What the baths' pages say of it.


def test_both_baths_say_where_it_came_from_and_went(house: Opened, bath: str) -> None:
    client = house.client("kahu")
    made = written(post(client, f"/baths/{bath}/pour", **part(house.made["small"], 4)))
    giver, taker = (client.get(f"/baths/{one}").text for one in (bath, made))

    assert f'poured off into <a href="/baths/{made}">R-A2</a>, 4 L' in giver
    assert f'poured off from <a href="/baths/{bath}">R-A1</a>, 4 L' in taker
    assert "poured off from R-A1: 4 L → R-A2" in taker
    house.later(minutes=5)
    back = post(client, f"/baths/{bath}/together", **pour_in(made))
    assert back.status_code == 303
    assert f'poured in from <a href="/baths/{made}">R-A2</a>, all of it' in (
        client.get(f"/baths/{bath}").text
    )
    assert f'poured into <a href="/baths/{bath}">R-A1</a>, all of it' in (
        client.get(f"/baths/{made}").text
    )


def test_pouring_is_one_tap_from_a_bath_of_any_kind(house: Opened, bath: str) -> None:
    size = sized(house)
    client = house.client("kahu")

    assert f'href="/baths/{bath}/pour"' in client.get(f"/baths/{bath}").text
    assert f'href="/baths/{size}/pour"' in client.get(f"/liquids/{size}").text


def test_mending_points_at_another_bath_where_there_is_one(house: Opened, bath: str) -> None:
    """A stronger one is the quickest remedy; a lonely bath has no such line."""
    client, link = house.client("kahu"), f'href="/baths/{bath}/together"'

    assert link not in client.get(f"/baths/{bath}/mend").text
    mixed(house, name="R-A2", vessel=house.made["small"], water=quantity(4, "l"))
    assert link in client.get(f"/baths/{bath}/mend").text


def test_a_pour_can_be_undone(house: Opened, bath: str) -> None:
    client = house.client("kahu")
    made = written(post(client, f"/baths/{bath}/pour", **part(house.made["small"], 4)))
    post(client, f"/baths/{bath}?written={made}", f"/entries/{made}/undo")

    assert house.state("bath", made) is None
    assert volume_ml(house, bath) == 12_000


def test_the_usual_cautions_stand_on_it(house: Opened, bath: str) -> None:
    """Liquid in a hurry: eyes, jugs, floors."""
    page = house.client("kahu").get(f"/baths/{bath}/pour").text

    for text in ("Gloves and goggles", "Plastic jugs only", "Wet floors are slippery",
                 "Your local authority", "Emergency: 112"):  # fmt: skip
        assert text in page


@pytest.mark.parametrize("there", ["pour", "together", "carry"])
def test_an_unknown_bath_and_a_stranger_are_turned_away(
    house: Opened, bath: str, there: str
) -> None:
    unknown = "0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7b"

    assert house.client("kahu").get(f"/baths/{unknown}/{there}").status_code == 404
    assert house.client().get(f"/baths/{bath}/{there}").status_code == 302
    assert house.client("kahu").put(f"/baths/{bath}/{there}").status_code == 405


def test_a_vessel_that_held_another_kind_last_is_said_so(house: Opened, bath: str) -> None:
    """Alum in a tray that held size leaves jelly; said, and not refused: trays get washed."""
    size = sized(house, vessel=house.made["small"], water=quantity(2, "l"))
    house.say("bath.finished", bath=size, reason="used_up")
    client = house.client("kahu")
    told = "small tub, held size last: wash it out first"

    for there in ("pour", "carry"):
        assert told in client.get(f"/baths/{bath}/{there}").text
    assert "held size last" in client.get(f"/mix/{house.made['small']}").text
    assert told in client.get("/make?what=paste").text
    assert "held size last" not in client.get("/make?what=size").text
