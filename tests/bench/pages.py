"""
How long pages take inside the server, and sheets through until committed and folded.

Each page is asked in turn with an empty page of the same layout behind the same guards, so
that a busy machine slows both. Times are of the application alone, without the network.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from flask import Flask, render_template
from flask.testing import FlaskClient
from werkzeug.wrappers import Response

from coop.store import sessions
from coop.store.engines import count_queries
from coop.store.tokens import new_token
from coop.web.page import needs, shell
from tests.bench.figures import at, timed
from tests.bench.studio import CROWD, LONG, Grown, crowded
from tests.bench.writing import _bath_of
from tests.support.forms import form_of
from tests.support.opened import Opened

ROUNDS = 100
POSTS = 60
SIZES = {50: 8, 500: 20}  # entries of a bath: most milliseconds at p95, besides one commit
EMPTY_MOST = 4.0
LONG_MOST = 1.5
EMPTY = "/empty"
EMPTY_TEMPLATE = '{% extends "layout.html" %}{% set page_title = "Empty" %}'
LOOKED_AT = (
    ("kahu", "/", "In the room, member"),
    ("amina", "/", "In the room, coordinator"),
    ("kahu", "/baths/{bath}", "a bath"),
    ("kahu", "/baths/{bath}/sheets", "sheets through, the form"),
    ("kahu", "/shelf", "the shelf"),
    ("kahu", "/baths", "all baths"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of the table; times in milliseconds."""

    what: str
    count: int
    times: list[float]
    statements: int = 0
    empty: float = 0.0
    promise: str = ""

    @property
    def median(self) -> float:
        return at(0.5, self.times)

    def __str__(self) -> str:
        ratio = f"{self.median / self.empty:.1f} x" if self.empty else ""
        return (
            f"{self.what:<32}{self.count:>9,}{self.median:>9.1f}{at(0.95, self.times):>9.1f}"
            f"{self.statements or '':>6}{ratio:>9}  {self.promise}"
        )


HEAD = f"{'pages':<32}{'entries':>9}{'p50 ms':>9}{'p95 ms':>9}{'SQL':>6}{'to empty':>9}"


def measure(*ledgers: tuple[Opened, Grown]) -> None:
    """Measure ledgers of several sizes, and print a table."""
    say(HEAD)
    medians: dict[str, list[float]] = {}
    for house, grown in ledgers:
        for row in (*pages(house, grown), *posts(house, grown)):
            say(row)
            medians.setdefault(row.what, []).append(row.median)
    for what, found in medians.items():
        if len(found) > 1:
            say(f"{what:<32}{'longest to shortest':>33}{found[-1] / found[0]:>9.2f} x"
                 f"  under {LONG_MOST} x")  # fmt: skip
    for row in busy(ledgers[0][0].folder):
        say(row)


def say(line: object) -> None:
    """Print a line at once."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def let_in(folder: Path, grown: Grown) -> Opened:
    """Open the ledger to two members, and give the house its limits."""
    house = Opened(store=grown.store, folder=folder, moment=grown.studio.now)
    house.join("Amina K.", "member", "coordinator")
    house.join("Kahu R.", "member")
    house.say(
        "limits.set",
        target_g_per_l="40",
        target_salt="aluminium_sulfate_14",
        look_again_fraction="0.75",
        do_not_use_fraction="0.625",
        strip_print_days="28",
        laying_depth_mm="15",
        gallon="us",
        cup="us",
        spoon="us",
    )
    house.later(hours=1)
    add_empty(house.app())
    return house


def add_empty(app: Flask) -> None:
    """Add a page that has a layout and nothing in it."""
    template = app.jinja_env.from_string(EMPTY_TEMPLATE)

    @needs("read")
    def empty() -> Response:
        return Response(render_template(template, shell=shell()), mimetype="text/html")

    app.add_url_rule(EMPTY, "empty", empty)


def pages(house: Opened, grown: Grown) -> Iterator[Row]:
    """Time pages for a member and for a coordinator."""
    with house.desk() as desk:
        bath = max(desk.journal.listed("bath"), key=lambda one: one.full_count).id
    for first, there, what in LOOKED_AT:
        row = looked_at(house, first, there.format(bath=bath), what, grown.count)
        yield replace(row, promise=f"at most {EMPTY_MOST:.0f} x")


def looked_at(house: Opened, first: str, there: str, what: str, count: int) -> Row:
    """Time one page beside the empty one, and count its statements."""
    client = browser(house, first)
    times, empty = in_turn(client, there)
    with count_queries(house.store.engines.reader) as asked:
        client.get(there)
    return Row(
        what=what,
        count=count,
        times=times,
        statements=asked.count,
        empty=at(0.5, empty),
    )


def busy(folder: Path) -> Iterator[Row]:
    """Time a room of forty baths, and the pages of an alum bath and of a size much used."""
    grown = crowded(folder)
    house = let_in(folder, grown)
    with house.desk() as desk:
        alum, size = (
            max(
                (one for one in desk.journal.listed("bath") if one.what == what),
                key=lambda one: len(desk.journal.touching(one.id)),
            ).id
            for what in ("alum", "size")
        )
    for there, what in (
        ("/", f"In the room, {CROWD} open baths"),
        (f"/baths/{alum}", f"a bath of {LONG} entries"),
        (f"/liquids/{size}", f"a size of {LONG} entries"),
    ):
        yield looked_at(house, "kahu", there, what, grown.count)
    grown.store.close()


def browser(house: Opened, first: str) -> FlaskClient:
    """Return a browser of a member, signed in."""
    client = house.app().test_client()
    token = new_token()
    with house.store.writing() as desk:
        sessions.create(
            desk.connection,
            token=token,
            member=house.members[first].member,
            agent="",
            now=house.moment,
        )
    client.set_cookie("coop-session", token)
    return client


def in_turn(client: FlaskClient, there: str) -> tuple[list[float], list[float]]:
    """Return the times of a page and of the empty one, asked in turn."""
    for warm in (there, EMPTY):
        assert client.get(warm).status_code == 200, warm
    found: dict[str, list[float]] = {there: [], EMPTY: []}
    for _ in range(ROUNDS):
        for one, times in found.items():
            with timed() as clock:
                client.get(one)
            times.append(clock.ms)
    return found[there], found[EMPTY]


def posts(house: Opened, grown: Grown) -> Iterator[Row]:
    """Time sheets through, from the request to durable and folded, and a commit by itself."""
    yield Row(what="one commit", count=grown.count, times=commits(house))
    for size, most_ms in SIZES.items():
        bath = _bath_of(grown, size).id
        house.moment = grown.studio.now
        house.later(hours=1)
        client = browser(house, "kahu")
        sent = [send(house, client, bath) for _ in range(POSTS)]
        yield Row(
            what=f"sheets through, a bath of {size}",
            count=grown.count,
            times=[ms for ms, _ in sent],
            statements=sent[-1][1],
            promise=f"p95 under {most_ms} ms and one commit",
        )
    grown.studio.now = house.moment


def commits(house: Opened) -> list[float]:
    """Time the smallest unit of work: one row of one table, durable."""
    found = []
    for _ in range(POSTS):
        with timed() as clock, house.store.writing() as desk:
            desk.connection.exec_driver_sql("UPDATE setting SET value = value")
        found.append(clock.ms)
    return found


def send(house: Opened, client: FlaskClient, bath: str) -> tuple[float, int]:
    """Fill in the form anew and send it: milliseconds and statements of the sending alone."""
    there = f"/baths/{bath}/sheets"
    house.later(seconds=30)
    form = form_of(client.get(there).text)
    said: dict[str, Any] = {**form.fields, "sheet_count": "1", "sheet_format": "quarter"}
    if "reason" in form.names:
        said["reason"] = "test_sheets"
    engines = house.store.engines
    with (
        count_queries(engines.reader) as read,
        count_queries(engines.writer) as wrote,
        timed() as clock,
    ):
        answer = client.post(there, data=said)
    assert answer.status_code == 303, answer.text
    return clock.ms, read.count + wrote.count
