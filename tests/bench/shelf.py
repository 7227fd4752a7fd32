"""
How long the shelf and the order list take in a co-operative that has been at it for ten years.

300 supplies, an order and a delivery for each every seven months: 5,100 lots, of which 200 are
open, 520 booked sessions. A page reads what is there now, so ten years should not be felt.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from coop.ledger.entries import Entry
from tests.bench.pages import EMPTY_MOST, HEAD, Row, let_in, looked_at, say
from tests.bench.studio import Studio, filled
from tests.support.sayings import SUMMER, q

SUPPLIES = 300
LOTS_EACH = 17
OPEN = 200
EVERY = timedelta(days=214)
START = datetime(2015, 9, 7, 9, 0, tzinfo=SUMMER)
END = datetime(2025, 9, 1, 9, 0, tzinfo=SUMMER)
WEEK = timedelta(days=7)
LOOKED_AT = (
    ("amina", "/shelf", "the shelf"),
    ("amina", "/orders", "the order list"),
    ("amina", "/orders?show=all", "the order list, all of it"),
    ("amina", "/supplies", "all supplies"),
    ("amina", "/sessions", "booked sessions"),
    ("amina", "/", "In the room, coordinator"),
    ("kahu", "/", "In the room, member"),
)


def measure(folder: Path) -> None:
    """Fill such a ledger and print how long its pages take beside an empty one."""
    studio = Studio(7, now=START)
    entries = list(history(studio))
    studio.now = END
    grown = filled(folder / "shelf.db", studio, iter(entries), len(entries))
    house = let_in(folder, grown)
    say(HEAD)
    for row in _rows(house, grown.count):
        say(row)
    grown.store.close()


def _rows(house, count: int) -> Iterator[Row]:
    for first, there, what in LOOKED_AT:
        row = looked_at(house, first, there, what, count)
        yield replace(row, promise=f"at most {EMPTY_MOST:.0f} x")


def history(studio: Studio) -> Iterator[Entry]:
    """Give ten years of deliveries, uses and booked sessions."""
    place = studio.say("studio.described", name="Ropewalk", letter="R", drain="sewer",
                       emergency="112", poison="115")  # fmt: skip
    yield place
    supplies = [
        studio.say("supply.described", what="colour", name=f"Colour {n}", measure="weight",
                   floor=q(200, "g"), pack=q(500, "g"), days_to_arrive="8", review_days="3")
        for n in range(SUPPLIES)
    ]  # fmt: skip
    yield from supplies
    for turn in range(LOTS_EACH):
        studio.now = START + turn * EVERY
        for n, supply in enumerate(supplies):
            still_open = turn == LOTS_EACH - 1 and n < OPEN
            yield from bought_and_used(studio, place.id, supply.id, still_open=still_open)
    studio.now = START
    while studio.now < END + 4 * WEEK:
        yield session(studio, place.id, supplies[:3])
        studio.now += WEEK


def bought_and_used(
    studio: Studio, place: str, supply: str, *, still_open: bool
) -> Iterator[Entry]:
    """Give an order, its arrival, and uses that empty the lot but for what is open."""
    began = studio.now
    of = {"what": "supply", "supply": supply}
    order = studio.say("order.placed", packs="1", pack=q(500, "g"), **of)
    studio.now = began + timedelta(days=8)
    lot = studio.say("lot.received", studio=place, name="L", weight=q(500, "g"),
                     order=order.id, **of)  # fmt: skip
    yield from (order, lot)
    for part in range(3 if still_open else 4):
        studio.now = began + timedelta(days=20 + 40 * part)
        yield studio.say("lot.adjusted", lot=lot.id, way="out", amount=q(125, "g"),
                         cause="used")  # fmt: skip
    studio.now = began


def session(studio: Studio, place: str, supplies: list[Entry]) -> Entry:
    """Give a Saturday class."""
    starts = studio.now + timedelta(days=5)
    needs = [
        {"what": "supply", "supply": supply.id, "amount": q(40, "g")} for supply in supplies
    ]
    return studio.say("session.planned", studio=place, name="Saturday class",
                      starts=starts.isoformat(), head_count="12", under_16="no",
                      needs=needs)  # fmt: skip
