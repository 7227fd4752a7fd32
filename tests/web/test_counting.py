"""Counting: said back before it is written, noise in one tap, a cause for all else."""

from typing import Any

import pytest

from tests.support.forms import forms_of, send
from tests.support.opened import Opened, mixed, quantity


def reams(house: Opened, studio: str = "", **changes: Any) -> str:
    """Two reams of paper, written as 500 sheets each."""
    body: dict[str, Any] = {
        "studio": studio or house.made["studio"],
        "what": "paper",
        "name": "P-80",
        "paper": house.made["paper"],
        "sheet_count": "500",
        "pack_count": "2",
    }
    return house.say("lot.received", **(body | changes))


def tub(house: Opened, **changes: Any) -> str:
    """A tub of carrageenan, 600 g."""
    body: dict[str, Any] = {
        "studio": house.made["studio"],
        "what": "carrageenan",
        "name": "K-3",
        "weight": quantity(600, "g"),
        "tare": quantity(85, "g"),
    }
    return house.say("lot.received", **(body | changes))


def through(house: Opened, bath: str, lot: str, sheets: int, who: str = "amina") -> str:
    """Full sheets of a lot through a bath."""
    return house.say(
        "sheets.through",
        who,
        bath=bath,
        sheet_count=str(sheets),
        sheet_format="full",
        method="dip",
        lot=lot,
    )


def count(house: Opened, lot: str, who: str = "amina", **typed: str) -> Any:
    """Type what is seen, have it said back, write it."""
    client, there = house.client(who), f"/lots/{lot}/count"
    back = send(client, there, {**typed})
    assert back.status_code == 200, back.text
    assert "Is it not right?" in back.text, back.text
    form = next(one for one in forms_of(back.text) if "warned" in one.names)
    return client.post(there, data=form.fields)


def counted(house: Opened, lot: str) -> Any:
    return house.state("lot", lot).counts[-1]


def left(house: Opened, lot: str) -> int:
    with house.desk() as desk:
        return sum(desk.journal.held([f"lot:{lot}"]).values())


# --- the count --------------------------------------------------------------------------


def test_what_is_typed_is_said_back_before_it_is_written(house: Opened) -> None:
    """A slip is seen while it can still be put right."""
    lot = reams(house)
    through(house, mixed(house), lot, 468)

    back = send(house.client("kahu"), f"/lots/{lot}/count", {"packs": "0", "loose": "491.5"})

    assert back.status_code == 200
    assert "Expected 532 full sheets, seen 491.5: 40.5 fewer." in back.text
    assert "You count alone." in back.text
    assert house.state("lot", lot).counts == ()


def test_noise_is_written_off_with_the_count_in_one_tap(house: Opened) -> None:
    """Nobody explains three sheets of a thousand."""
    lot = reams(house)

    client = house.client("kahu")
    back = send(client, f"/lots/{lot}/count", {"packs": "1", "loose": "497"})
    assert "Counting errs by up to 20 full sheets (2 %)." in back.text
    assert "The rest is written off with it." in back.text
    form = next(one for one in forms_of(back.text) if "warned" in one.names)
    answer = client.post(f"/lots/{lot}/count", data=form.fields)

    assert answer.status_code == 303
    assert answer.headers["Location"] == f"/lots/{lot}"
    told = "Counted, and the rest written off. Expected 1000 full sheets, seen 997: 3 fewer."
    assert told in client.get("/shelf").text
    assert left(house, lot) == 997 * 4
    assert counted(house, lot).put_right is not None


def test_a_count_as_expected_writes_nothing_off(house: Opened) -> None:
    lot = reams(house)
    count(house, lot, packs="1", loose="500")

    assert counted(house, lot).put_right is None
    assert left(house, lot) == 1000 * 4


def test_half_a_sheet_counts_a_half_and_quarters_are_kept(house: Opened) -> None:
    lot = reams(house)
    count(house, lot, packs="1", loose="499.75")

    assert counted(house, lot).seen == 3_999


def test_the_tub_is_taken_off_what_the_scale_shows(house: Opened) -> None:
    """Its tare is proposed from the lot, and may be changed."""
    lot = tub(house)
    page = house.client("amina").get(f"/lots/{lot}/count")
    form = next(one for one in forms_of(page.text) if "tare.typed" in one.names)
    assert form.fields["tare.typed"] == ["85"]

    count(house, lot, **{"weight.typed": "683", "tare.typed": "85"})
    assert counted(house, lot).seen == 598_000_000
    house.later(minutes=5)
    count(house, lot, **{"weight.typed": "683", "tare.typed": "90"})
    assert counted(house, lot).seen == 593_000_000


def test_gall_is_poured_or_read_by_eye(house: Opened) -> None:
    """Half a bottle by eye may be an eighth of it off; that much is no gap."""
    lot = tub(house, what="gall", name="G-1", weight=quantity(500, "g"))

    count(house, lot, level="2")

    seen = counted(house, lot)
    assert seen.seen == pytest.approx(250_000_000)
    assert seen.doubt == pytest.approx(62_500_000)


def test_who_counted_too_is_written_and_shown(house: Opened) -> None:
    lot = reams(house)
    kahu = house.members["kahu"].member

    count(house, lot, packs="1", loose="400", counted_with=kahu)

    assert counted(house, lot).counted_with == kahu
    client = house.client("amina")
    assert "Amina K. and Kahu R." in client.get(f"/lots/{lot}/gap").text
    page = client.get(f"/lots/{lot}").text
    assert "900 full sheets, counted 2025-09-17, Amina K. and Kahu R." in page
    assert "400 loose, together with Kahu R." in page


def test_empty_is_said_with_one_tick_and_with_nothing_else(house: Opened) -> None:
    lot = tub(house)
    there = f"/lots/{lot}/count"

    both = send(house.client("amina"), there, {"empty": "y", "weight.typed": "90"})
    assert both.status_code == 422
    assert house.state("lot", lot).counts == ()

    count(house, lot, empty="y")
    assert counted(house, lot).seen == 0


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({}, "Count at least one sheet."),
        ({"packs": "some"}, "A number, please"),
        ({"packs": "1.5"}, "whole number"),
        ({"loose": "-3"}, "A number, please"),
        ({"loose": "900000"}, "From 0 to"),
        ({"packs": "1", "happened_at": "yesterday"}, "time"),
    ],
)
def test_a_slip_is_named_and_what_was_typed_stays(
    house: Opened, typed: dict[str, str], told: str
) -> None:
    lot = reams(house)
    answer = send(house.client("amina"), f"/lots/{lot}/count", dict(typed))

    assert answer.status_code == 422
    assert told in answer.text
    for name, value in typed.items():
        form = next(one for one in forms_of(answer.text) if name in one.names)
        assert form.fields[name] == [value]
    assert house.state("lot", lot).counts == ()


def test_less_than_the_tub_is_a_slip(house: Opened) -> None:
    lot = tub(house)
    answer = send(
        house.client("amina"),
        f"/lots/{lot}/count",
        {"weight.typed": "80", "tare.typed": "85"},
    )

    assert answer.status_code == 422


def test_what_is_changed_after_it_was_said_back_is_said_back_again(house: Opened) -> None:
    lot = reams(house)
    client, there = house.client("amina"), f"/lots/{lot}/count"
    back = send(client, there, {"packs": "1", "loose": "500"})
    form = next(one for one in forms_of(back.text) if "warned" in one.names)

    again = client.post(there, data={**form.fields, "loose": "50"})

    assert ": 450 fewer." in again.text
    assert house.state("lot", lot).counts == ()


def test_sent_twice_it_is_written_once(house: Opened) -> None:
    lot = reams(house)
    client, there = house.client("amina"), f"/lots/{lot}/count"
    back = send(client, there, {"packs": "1", "loose": "497"})
    form = next(one for one in forms_of(back.text) if "warned" in one.names)
    client.post(there, data=form.fields)

    answer = client.post(there, data=form.fields)

    assert answer.status_code == 303
    assert len(house.state("lot", lot).counts) == 1
    assert left(house, lot) == 997 * 4


def test_a_count_of_an_earlier_time_is_set_against_that_time(house: Opened) -> None:
    """What went out since is no part of the gap."""
    lot = reams(house)
    bath = mixed(house)
    house.later(hours=5)
    through(house, bath, lot, 60)
    house.later(hours=1)

    count(house, lot, packs="1", loose="500", happened_at="2025-09-17T19:00")

    assert counted(house, lot).put_right is None
    assert left(house, lot) == 940 * 4


def test_a_count_of_before_the_last_one_is_only_written_down(house: Opened) -> None:
    """Whoever counted last has the word; the older figure stays to be read."""
    lot = reams(house)
    house.later(hours=5)
    count(house, lot, packs="1", loose="500")

    early = {"packs": "1", "loose": "100", "happened_at": "2025-09-17T19:00"}
    back = send(house.client("amina"), f"/lots/{lot}/count", dict(early))
    assert "It was counted again later: this is only written down." in back.text
    answer = count(house, lot, **early)

    assert answer.headers["Location"] == f"/lots/{lot}"
    assert [one.seen for one in house.state("lot", lot).counts] == [600 * 4, 1_000 * 4]
    assert left(house, lot) == 1_000 * 4


def test_it_is_said_back_while_it_is_typed_and_then_written_in_one_tap(house: Opened) -> None:
    """Where the script runs, the page shows the gap before the button is pressed."""
    lot = tub(house)
    client, there = house.client("kahu"), f"/lots/{lot}/count"
    typed = {"weight.typed": "583", "weight.unit": "g", "tare.typed": "85", "tare.unit": "g"}

    said: Any = client.get(f"{there}/ahead", query_string=typed).json
    assert said["figure"] == "Expected 600 g, seen 498 g: 102 g less."
    assert said["rest"] == (
        "Counting errs by up to 12 g (2 %). That is more: you are asked for the cause."
    )
    form = next(one for one in forms_of(client.get(there).text) if "warned" in one.names)
    answer = client.post(there, data={**form.fields, **typed, "warned": said["warned"]})

    assert answer.headers["Location"] == f"/lots/{lot}/gap"
    assert counted(house, lot).seen == 498_000_000


@pytest.mark.parametrize(
    "typed",
    [
        {},
        {"tare.typed": "85", "tare.unit": "g"},
        {"weight.typed": "some", "weight.unit": "g"},
        {"weight.typed": "80", "weight.unit": "g", "tare.typed": "85", "tare.unit": "g"},
        {"packs": "x", "weight.typed": "400", "weight.unit": "g"},
        {"weight.typed": "400", "weight.unit": "g", "happened_at": "yesterday"},
    ],
)
def test_nothing_is_said_back_while_it_is_half_typed(
    house: Opened, typed: dict[str, str]
) -> None:
    """A figure of a half typed number would be read as the answer."""
    said = house.client("kahu").get(f"/lots/{tub(house)}/count/ahead", query_string=typed)

    assert said.json == {"figure": "", "doubt": "", "rest": "", "warned": ""}


def test_an_unknown_lot_is_not_found_and_strangers_sign_in(house: Opened) -> None:
    unknown = "0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7b"
    for page in ("count", "gap"):
        there = f"/lots/{unknown}/{page}"
        assert house.client("amina").get(there).status_code == 404
        assert house.client().get(there).headers["Location"].startswith("/sign-in")
    assert house.client("amina").get(f"/lots/{unknown}/gap/moved").status_code == 405


# --- the gap ----------------------------------------------------------------------------


def test_beyond_noise_the_cause_is_asked_and_the_pack_size_offered(house: Opened) -> None:
    """Two reams of 480 that were written as 500: the first thing to look at."""
    lot = reams(house)
    through(house, mixed(house), lot, 468)

    answer = count(house, lot, packs="0", loose="492")
    assert answer.headers["Location"] == f"/lots/{lot}/gap"
    page = house.client("amina").get(answer.headers["Location"]).text

    assert "Expected 532 full sheets, seen 492: 40 fewer." in page
    assert "Does a pack hold 480 full sheets, not 500 full sheets?" in page
    assert "Over 2 packs: 40 full sheets." in page
    assert "Yes, a pack holds 480 full sheets" in page
    assert "Or say what became of it" in page
    assert left(house, lot) == 532 * 4


def test_the_pack_size_is_put_right_in_one_tap(house: Opened) -> None:
    """480 and not 500: nothing was missing, and nothing is typed again."""
    lot = reams(house)
    through(house, mixed(house), lot, 468)
    count(house, lot, packs="0", loose="492")
    client, there = house.client("amina"), f"/lots/{lot}/gap"

    answer = send(client, there, action=f"{there}/pack")

    assert answer.status_code == 303
    page = client.get(there).text
    assert "Put right: a pack holds 480 full sheets, not 500 full sheets." in page
    assert "Nothing is left to be asked about it." in page
    assert (house.state("lot", lot).pack, left(house, lot)) == (480 * 4, 492 * 4)
    assert "the pack holds another number" in client.get(f"/lots/{lot}").text


def test_a_pound_that_was_written_as_half_a_kilogram_is_put_right(house: Opened) -> None:
    """453.59 g are a pound: the international yard and pound agreement of 1959."""
    lot = tub(house, weight=quantity(500, "g"), pack_count="2")
    count(house, lot, **{"weight.typed": "992", "tare.typed": "85"})
    there = f"/lots/{lot}/gap"

    send(house.client("amina"), there, action=f"{there}/pack")

    assert house.state("lot", lot).pack == 453_592_370


def test_a_pack_size_nothing_speaks_for_is_not_written(house: Opened) -> None:
    """Another page may have settled it meanwhile."""
    lot = reams(house)
    count(house, lot, packs="0", loose="960")
    client, there = house.client("amina"), f"/lots/{lot}/gap"
    fields = next(
        one for one in forms_of(client.get(there).text) if "likely" in one.names
    ).fields

    answer = client.post(f"{there}/pack", data={**fields, "likely": "400"})

    assert answer.status_code == 303
    assert "That is settled already." in client.get(there).text
    assert house.state("lot", lot).pack == 500 * 4


def test_who_may_not_correct_the_receiving_is_not_offered_one_tap(house: Opened) -> None:
    lot = reams(house)
    count(house, lot, packs="0", loose="960")
    kahu, there = house.client("kahu"), f"/lots/{lot}/gap"
    amina = next(
        one for one in forms_of(house.client("amina").get(there).text) if "likely" in one.names
    )
    page = kahu.get(there).text
    token = forms_of(page)[0].fields["csrf_token"]

    assert "Look at what was received" in page
    forced = kahu.post(f"{there}/pack", data={**amina.fields, "csrf_token": token})
    assert forced.status_code == 403
    assert house.state("lot", lot).pack == 500 * 4


def test_a_gap_nothing_speaks_for_is_asked_about_straight(house: Opened) -> None:
    lot = reams(house)
    count(house, lot, packs="1", loose="400")
    page = house.client("amina").get(f"/lots/{lot}/gap").text

    assert "Say what became of it" in page
    assert "Or say what became of it" not in page


def test_an_unopened_ream_cannot_be_short(house: Opened) -> None:
    """It was counted as what was written of it: only the opened one may hold 480."""
    lot = reams(house)
    count(house, lot, packs="1", loose="478")

    page = house.client("amina").get(f"/lots/{lot}/gap").text

    assert "Over 1 pack: 20 full sheets." in page


def barn(house: Opened) -> str:
    return house.say(
        "studio.described",
        name="Barn",
        letter="B",
        drain="septic",
        instruments=["dipstick"],
        emergency="112",
        poison="0555 0100",
    )


def test_short_here_and_over_there_is_offered_as_a_move(house: Opened) -> None:
    """One tap moves it as of the earlier count, and both gaps close."""
    here, there = reams(house), reams(house, barn(house), name="P-80 Barn")
    count(house, there, packs="1", loose="541")
    house.later(days=2)
    count(house, here, packs="1", loose="460")

    page = house.client("kahu").get(f"/lots/{here}/gap").text
    assert "In Barn 41 full sheets too many were counted on 2025-09-17: moved?" in page
    answer = send(house.client("kahu"), f"/lots/{here}/gap", action=f"/lots/{here}/gap/moved")

    assert answer.status_code == 303
    assert (left(house, here), left(house, there)) == (960 * 4, 1_040 * 4)
    page = house.client("kahu").get(f"/lots/{here}/gap").text
    assert "Nothing is left to be asked about it." in page
    again = house.client("kahu").get(f"/lots/{there}/gap").text
    assert "Expected 1040 full sheets, seen 1041: 1 more." in again


def test_over_here_and_short_there_moves_the_other_way(house: Opened) -> None:
    here, there = reams(house), reams(house, barn(house), name="P-80 Barn")
    count(house, there, packs="1", loose="460")
    count(house, here, packs="1", loose="540")

    page = house.client("kahu").get(f"/lots/{here}/gap").text
    assert "In Barn 40 full sheets too few were counted on 2025-09-17: moved?" in page
    send(house.client("kahu"), f"/lots/{here}/gap", action=f"/lots/{here}/gap/moved")

    assert (left(house, here), left(house, there)) == (1_040 * 4, 960 * 4)


def test_a_move_that_nothing_speaks_for_is_not_written(house: Opened) -> None:
    """Another page may have settled it meanwhile."""
    here, there = reams(house), reams(house, barn(house), name="P-80 Barn")
    count(house, here, packs="1", loose="460")
    client = house.client("kahu")
    page = client.get(f"/lots/{here}/gap").text
    fields = forms_of(page)[0].fields

    answer = client.post(f"/lots/{here}/gap/moved", data={**fields, "other": there})

    assert answer.status_code == 303
    assert left(house, there) == 1_000 * 4


def test_more_than_was_written_may_be_a_draw_written_twice(house: Opened) -> None:
    """Amina and Kahu wrote the same sixty; the count shows it."""
    lot, bath = reams(house), mixed(house)
    through(house, bath, lot, 60)
    house.later(minutes=3)
    through(house, bath, lot, 60, "kahu")
    house.later(hours=1)

    count(house, lot, packs="1", loose="440")
    page = house.client("amina").get(f"/lots/{lot}/gap").text

    assert "Expected 880 full sheets, seen 940: 60 more." in page
    assert "Written twice?" in page
    assert "60 full sheets through" in page
    assert "/sort-it-out#twins" in page


def test_a_coordinator_says_the_cause_and_sees_before_and_after(house: Opened) -> None:
    lot = reams(house)
    count(house, lot, packs="1", loose="400")
    client = house.client("amina")

    answer = send(client, f"/lots/{lot}/gap", {"cause": "class"})

    assert answer.headers["Location"] == f"/lots/{lot}"
    page = client.get("/shelf").text
    assert "1000 full sheets before, 900 full sheets now" in page
    again = client.get(f"/lots/{lot}/gap").text
    assert "Expected 1000 full sheets, seen 900: 100 fewer." in again
    assert "P-80 put right: 100 less (a class used it), 2025-09-17, Amina K." in again
    assert left(house, lot) == 900 * 4
    with house.desk() as desk:
        (row,) = [
            one for one in desk.journal.moves(f"lot:{lot}") if one.to_account == "used:class"
        ]
    assert row.at == counted(house, lot).at


def test_a_part_of_a_gap_has_a_cause_of_its_own(house: Opened) -> None:
    """Sixty went to a class; what became of the other forty is asked on."""
    lot = reams(house)
    count(house, lot, packs="1", loose="400")
    client = house.client("amina")

    answer = send(client, f"/lots/{lot}/gap", {"cause": "class", "count": "60"})
    assert answer.headers["Location"] == f"/lots/{lot}/gap"
    assert ": 40 fewer." in client.get(f"/lots/{lot}/gap").text

    send(client, f"/lots/{lot}/gap", {"cause": "lost"})
    assert left(house, lot) == 900 * 4


def test_no_more_is_explained_than_is_missing(house: Opened) -> None:
    lot = reams(house)
    count(house, lot, packs="1", loose="400")

    answer = send(house.client("amina"), f"/lots/{lot}/gap", {"cause": "class", "count": "101"})

    assert answer.status_code == 422
    assert "At most 100 full sheets: that is the gap." in answer.text
    assert left(house, lot) == 1_000 * 4


def test_a_gap_without_a_cause_is_not_put_right(house: Opened) -> None:
    lot = reams(house)
    count(house, lot, packs="1", loose="400")

    answer = send(house.client("amina"), f"/lots/{lot}/gap", {"count": "10"})

    assert answer.status_code == 422
    assert left(house, lot) == 1_000 * 4


def test_what_is_over_has_other_causes(house: Opened) -> None:
    """Nothing that is there was sold or spoiled."""
    lot = reams(house)
    count(house, lot, packs="2", loose="100")
    page = house.client("amina").get(f"/lots/{lot}/gap").text

    assert "came in, and not written down" in page
    assert "spoiled" not in page

    send(house.client("amina"), f"/lots/{lot}/gap", {"cause": "not_written_down"})
    assert left(house, lot) == 1_100 * 4


def test_a_member_leaves_the_cause_to_a_coordinator(house: Opened) -> None:
    lot = reams(house)
    count(house, lot, "kahu", packs="1", loose="400")
    client = house.client("kahu")

    page = client.get(f"/lots/{lot}/gap").text
    assert "a coordinator decides" in page
    assert "Put it right" not in page

    amina = house.client("amina")
    fields = forms_of(amina.get(f"/lots/{lot}/gap").text)[-2].fields
    forced = {**fields, "cause": "class", "csrf_token": forms_of(page)[0].fields["csrf_token"]}
    assert client.post(f"/lots/{lot}/gap", data=forced).status_code == 422
    assert left(house, lot) == 1_000 * 4


def test_more_of_a_lot_that_is_used_up_is_told_to_a_coordinator(house: Opened) -> None:
    """It stands on no shelf by what was written; nobody is told that it is listed."""
    lot = tub(house)
    house.say("lot.adjusted", lot=lot, way="out", amount=quantity(600, "g"), cause="spoiled")
    house.later(hours=1)
    count(house, lot, "kahu", **{"weight.typed": "285"})

    page = house.client("kahu").get(f"/lots/{lot}/gap").text
    assert "Expected 0 g, seen 200 g: 200 g over." in page
    assert "Tell one" in page

    answer = send(house.client("amina"), f"/lots/{lot}/gap", {"cause": "other"})
    assert answer.status_code == 303
    assert left(house, lot) == 200_000_000


def test_noise_that_was_left_open_is_written_off_by_anybody(house: Opened) -> None:
    """A phone that counted without a signal wrote the count alone."""
    lot = reams(house)
    house.say("lot.counted", "kahu", lot=lot, packs="1", loose="497")

    answer = send(house.client("kahu"), f"/lots/{lot}/gap")

    assert answer.status_code == 303
    assert left(house, lot) == 997 * 4


def test_without_a_count_there_is_no_gap_to_ask_about(house: Opened) -> None:
    lot = reams(house)
    answer = house.client("amina").get(f"/lots/{lot}/gap")

    assert answer.headers["Location"] == f"/lots/{lot}/count"


# --- Sort it out ------------------------------------------------------------------------


def test_an_open_gap_waits_under_sort_it_out_with_what_may_lie_behind_it(house: Opened) -> None:
    """Whoever counted has gone home; a coordinator finds it with its figures."""
    lot = reams(house)
    kahu = house.members["kahu"].member
    count(house, lot, packs="0", loose="960", counted_with=kahu)
    client = house.client("amina")

    page = client.get("/sort-it-out").text

    assert "Expected 1000 full sheets, seen 960: 40 fewer." in page
    assert "Ropewalk, counted 2025-09-17, Amina K. and Kahu R." in page
    assert "Over 2 packs: 40 full sheets." in page
    assert "1 thing waits to be sorted out" in client.get("/").text
    member = house.client("kahu").get("/sort-it-out").text
    assert "Look at it" in member
    assert "Seen, it stays" not in member


def test_noise_does_not_wait_for_anybody(house: Opened) -> None:
    count(house, reams(house), packs="1", loose="490")

    assert "Nothing waits for anybody." in house.client("amina").get("/sort-it-out").text


def test_a_coordinator_lets_a_gap_stand_as_it_is(house: Opened) -> None:
    """Nothing is overwritten: the count and what was written both stay."""
    lot = reams(house)
    count(house, lot, packs="1", loose="400")
    client = house.client("amina")
    page = client.get("/sort-it-out").text
    form = next(one for one in forms_of(page) if one.fields.get("code") == ["count-gap"])

    assert client.post(form.action, data=form.fields).status_code == 303

    assert "Nothing waits for anybody." in client.get("/sort-it-out").text
    assert "Nothing is left to be asked about it." in client.get(f"/lots/{lot}/gap").text
    assert left(house, lot) == 1_000 * 4
    assert len(house.state("lot", lot).counts) == 1


def test_more_is_said_when_a_gap_is_judged(house: Opened) -> None:
    lot = reams(house)
    count(house, lot, packs="1", loose="400")
    client = house.client("amina")
    page = client.get(f"/lots/{lot}/gap").text
    there = page.split('href="/sort-it-out/judge?')[1].split('"')[0].replace("&amp;", "&")

    judge = client.get(f"/sort-it-out/judge?{there}")
    assert ": 100 fewer." in judge.text
    answer = send(
        client,
        f"/sort-it-out/judge?{there}",
        {"reason": "other", "note": "lent to the school"},
        action="/sort-it-out/judge",
    )

    assert answer.status_code == 303, answer.text
    assert "Nothing waits for anybody." in client.get("/sort-it-out").text


def test_what_comes_late_and_tells_of_before_the_count_opens_it_again(house: Opened) -> None:
    """A phone came back: sixty sheets that were never missing."""
    lot, bath = reams(house), mixed(house)
    house.later(days=1)
    count(house, lot, packs="1", loose="440")
    client = house.client("amina")
    send(client, f"/lots/{lot}/gap", {"cause": "lost"})
    assert "Nothing waits for anybody." in client.get("/sort-it-out").text

    house.say(
        "sheets.through",
        "kahu",
        house.moment.replace(hour=10),
        bath=bath,
        sheet_count="60",
        sheet_format="full",
        method="dip",
        lot=lot,
    )

    assert ": 60 more." in client.get("/sort-it-out").text


# --- put right --------------------------------------------------------------------------


def test_a_slip_in_a_count_is_put_right_where_it_stands(house: Opened) -> None:
    """490 typed for 409: the count is mended, and its gap with it."""
    lot = reams(house)
    count(house, lot, packs="1", loose="409")
    written = counted(house, lot).entry
    client = house.client("amina")

    page = client.get(f"/entries/{written}/correct").text
    assert "counted: 1 unopened pack, 409 loose" in page
    form = next(one for one in forms_of(page) if "content.body.loose" in one.names)
    fields = {**form.fields, "content.body.loose": "490", "reason": "typing_slip"}
    answer = client.post(f"/entries/{written}/correct", data={**fields, "outcome": "replace"})

    assert answer.status_code == 303, answer.text
    assert counted(house, lot).seen == 990 * 4
    assert "Nothing waits for anybody." in client.get("/sort-it-out").text


def test_the_pack_size_put_right_closes_the_gap_by_itself(house: Opened) -> None:
    """Nothing is written off where nothing was missing."""
    lot = reams(house)
    through(house, mixed(house), lot, 468)
    count(house, lot, packs="0", loose="492")
    client = house.client("amina")

    page = client.get(f"/entries/{lot}/correct").text
    form = next(one for one in forms_of(page) if "content.body.sheet_count" in one.names)
    fields = {**form.fields, "content.body.sheet_count": "480", "reason": "other"}
    answer = client.post(f"/entries/{lot}/correct", data={**fields, "outcome": "replace"})

    assert answer.status_code == 303, answer.text
    assert left(house, lot) == 492 * 4
    assert "Nothing is left to be asked about it." in client.get(f"/lots/{lot}/gap").text
