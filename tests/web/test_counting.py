"""Counting: said back before it is written, noise in one tap, a cause for all else."""

from pathlib import Path
from typing import Any

import pytest

from coop.web.page import PUBLIC
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
        "carrageenan": "lambda",
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
    back = send(client, there, typed)
    assert back.status_code == 200, back.text
    assert "Write the count" in back.text, back.text
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
    assert (
        "expected 532 full sheets, seen 491.50 full sheets: 40.50 full sheets fewer"
        in back.text
    )
    assert "You count alone." in back.text
    assert house.state("lot", lot).counts == ()


def test_noise_is_written_off_with_the_count_in_one_tap(house: Opened) -> None:
    """Nobody explains three sheets of a thousand."""
    lot = reams(house)

    answer = count(house, lot, "kahu", packs="1", loose="497")

    assert answer.status_code == 303
    assert answer.headers["Location"] == f"/lots/{lot}"
    assert left(house, lot) == 997 * 4
    assert counted(house, lot).put_right is not None


def test_a_count_as_expected_writes_nothing_off(house: Opened) -> None:
    lot = reams(house)
    count(house, lot, packs="1", loose="500")

    assert counted(house, lot).put_right is None
    assert left(house, lot) == 1000 * 4
