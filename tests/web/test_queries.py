"""What pages ask of the database: little, always the same, and by an index."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import Engine, event

from coop.store import feeds, visits
from coop.store.tokens import new_token
from coop.store.visits import Point
from tests.support.forms import send
from tests.support.opened import Opened, furnished, mixed, quantity, sized
from tests.support.wastes import publish

FEW, MANY = 6, 150
ENTRIES_APART = 300
BIG = ("entry", "seal", "touch", "fold", "fold_input", "move", "finding", "attachment")
PAGES = (
    "/", "/baths/{bath}", "/shelf", "/shelf/lots", "/lots/{alum}", "/lots/{parcel}",
    "/lots/{parcel}/gone", "/lots/{parcel}/count", "/shelf/count", "/stacks", "/baths",
    "/baths/{bath}/sheets", "/baths/{bath}/card", "/baths/{size}/card",
    "/baths/{bath}/mend", "/baths/{bath}/test", "/mix", "/mix/{tub}", "/house", "/people",
    "/me", "/me/calendar", "/help", "/news?after=1", "/devices", "/rescue",
    "/jugs", "/jugs/{jug}", "/kept", "/follow", "/follow?bath={bath}",
    "/follow?lot={alum}", "/liquids/{size}",
    "/liquids/{size}/test", "/baths/{bath}/keep", "/baths/{size}/care", "/orders",
    "/orders/place?supply=salt:aluminium_sulfate_14", "/orders.csv", "/supplies",
    "/supplies/salt:aluminium_sulfate_14", "/suppliers", "/shelf/receive/powder",
    "/needs", "/needs/put-off?need=permission&about={studio}", "/sessions",
    "/sessions/{session}", "/studios/{studio}/permission", "/studios/{studio}/rules",
    "/studios/{studio}/rules/letter", "/waste/{studio}/log", "/mishaps/new", "/safety",
    "/safety/lime", "/waste/{studio}/mishaps",
    "/baths/{bath}/neutralise", "/baths/{bath}/neutralise?soda=crystals&also=sulfide_pigment",
    "/drain/bath/{bath}", "/drain/bath/{size}?outlet=jar",
    "/drain/other?studio={studio}&waste=rinse_water", "/waste/{studio}",
    "/waste/{studio}/end-of-day", "/waste/{studio}/carry", "/jars/new", "/jars/{jar}",
    "/jars/{jar}/add", "/jars/{jar}/add?waste=alum_bath", "/jars/{jar}/collect",
    "/jars/{jar}/label", "/jars/{jar}/handovers/{handover}",
    "/tags?jug={jug}&bath={bath}&bath={size}&vessel={tub}",
    "/drain/jar/{jar}", "/jars/{jar}/neutralise", "/studios/{studio}/rules/{rules}",
    "/studios/{studio}/rules/file", "/waste/{studio}/log.csv",
)  # fmt: skip
STATEMENTS_MAX = 30
STATEMENTS_OF_SHEETS_MAX = 80
STATEMENTS_OF_CALENDAR_MAX = 40
Asked = list[tuple[str, Any]]


@contextmanager
def asked(house: Opened) -> Iterator[Asked]:
    """Collect every statement with its values, of readers and the writer alike."""
    found: Asked = []

    def note(_connection: Any, _cursor: Any, statement: str, values: Any, *_more: Any) -> None:
        if not statement.startswith(("BEGIN", "PRAGMA")):
            found.append((statement, values))

    engines: tuple[Engine, ...] = (house.store.engines.reader, house.store.engines.writer)
    for engine in engines:
        event.listen(engine, "before_cursor_execute", note)
    try:
        yield found
    finally:
        for engine in engines:
            event.remove(engine, "before_cursor_execute", note)


def grown(folder: Path, rounds: int) -> Opened:
    """
    Return a ledger with two open baths, a size, and so many rounds of use.

    Each round is sheets and a reading of the first bath, and some of both on the size; every
    tenth, a bath of another tub is mixed, used, and finished, so that what is over grows too.
    """
    house = furnished(folder)
    house.join("Ines L.", "member")
    made = house.made
    made["bath"] = mixed(house)
    made["tub two"] = _tub(house, "2")
    mixed(house, name="R-A2", vessel=made["tub two"])
    made["tub three"] = _tub(house, "3")
    made["size"] = sized(house)
    sack = house.say("lot.received", studio=made["studio"], what="alum", name="AS-25",
                     salt="aluminium_sulfate_14", weight=quantity(25, "kg"))  # fmt: skip
    salt = [{"lot": sack, "amount": quantity(480, "g")}]
    made["session"] = house.say(
        "session.planned",
        studio=made["studio"],
        name="Saturday class",
        starts="2025-09-27T10:00+02:00",
        head_count="12",
        under_16="no",
        needs=[{"what": "alum", "salt": "aluminium_sulfate_14", "amount": quantity(1, "kg")}],
    )
    made["jug"] = house.say("jug.found", studio=made["studio"], where="shelf",
                            look="not_looked")  # fmt: skip
    _keep_waste(house, rounds)
    _leave_old(house, max(1, rounds // 10))
    for n in range(rounds):
        house.later(minutes=5)
        _lay(house, _use(house, made["bath"], "kahu" if n % 3 else "oluwaseun"), n)
        if n % 10 == 0:
            over = mixed(house, name=f"R-B{n}", vessel=made["tub three"], salt=salt)
            _use(house, over, "kahu")
            house.say("bath.finished", bath=over, reason="used_up")
    return house


def _keep_waste(house: Opened, rounds: int) -> None:
    """Put so many wastes into a drum, and have some of it collected."""
    studio = house.made["studio"]
    house.made["jar"] = jar = house.say(
        "waste.started", studio=studio, name="drum", sort="drum", holds=quantity(900, "l"),
        wastes=["rinse_water", "alum_bath"],
    )  # fmt: skip
    for n in range(rounds):
        house.later(minutes=1)
        house.say("waste.added", ("kahu", "oluwaseun", "amina")[n % 3], studio=studio, jar=jar,
                  waste="rinse_water", litres=quantity(2, "l"))  # fmt: skip
    house.made["handover"] = house.say("waste.collected", studio=studio, jar=jar, by="truck",
                                       litres=quantity(4, "l"))  # fmt: skip


def _leave_old(house: Opened, count: int) -> None:
    """Leave so many old baths of each kind, pour some away, and find jugs."""
    studio, jar = house.made["studio"], house.made["jar"]
    house.made["rules"] = publish(house, "ropewalk-sewer")
    sack = house.say("lot.received", studio=studio, what="alum", name="AS-30",
                     salt="aluminium_sulfate_14", weight=quantity(25, "kg"))  # fmt: skip
    for n in range(count):
        house.later(minutes=5)
        tub = _tub(house, str(100 + n))
        old = mixed(house, name=f"R-O{n}", vessel=tub,
                    salt=[{"lot": sack, "amount": quantity(480, "g")}])  # fmt: skip
        house.say("bath.finished", bath=old, reason="too_weak")
        house.say("reading.taken", bath=old, instrument="ph_strip", ph="3.5", step="0.5")
        house.say("disposal.done", studio=studio, bath=old, waste="alum_bath", outlet="sewer",
                  litres=quantity(1, "l"))  # fmt: skip
        house.say("waste.added", studio=studio, jar=jar, bath=old, waste="alum_bath",
                  litres=quantity(1, "l"))  # fmt: skip
        house.say("reading.taken", jar=jar, instrument="ph_strip", ph="6.5", step="0.5")
        house.say("disposal.done", studio=studio, jar=jar, waste="rinse_water",
                  outlet="sewer", litres=quantity(1, "l"))  # fmt: skip
        gone = house.say("jug.found", studio=studio, where=f"bench {n}", look="clear")
        house.say("disposal.done", studio=studio, jug=gone, waste="not_known",
                  outlet="sewer", litres=quantity(1, "l"))  # fmt: skip


def _tub(house: Opened, place: str) -> str:
    return house.say(
        "vessel.described",
        studio=house.made["studio"],
        name=f"tub {place}",
        brim=quantity(16, "l"),
        lidded="yes",
        place=place,
    )


def _use(house: Opened, bath: str, who: str) -> str:
    """Put a sheet through and print a strip; return the stack."""
    stack = house.say("sheets.through", who, bath=bath, sheet_count="1",
                      sheet_format="quarter", method="dip", lot=house.made["parcel"],
                      reason="test_sheets")  # fmt: skip
    house.say("reading.taken", who, bath=bath, instrument="strip_print", outcome="sharp")
    return stack


def _lay(house: Opened, stack: str, number: int) -> None:
    """Lay every third stack on the size; before that a test, each time another."""
    size, who = house.made["size"], ("kahu", "oluwaseun", "amina")[number % 3]
    if number % 3 == 0:
        house.say("sheets.through", who, size=size, stack=stack, sheet_count="1",
                  sheet_format="quarter", reason="test_sheets")  # fmt: skip
    elif number % 3 == 1:
        house.say("reading.taken", who, bath=size, instrument="drop_test", outcome="round")
    else:
        house.say("reading.taken", who, bath=size, instrument="funnel", funnel="brass",
                  seconds="20")  # fmt: skip


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Opened:
    return grown(Path(tmp_path_factory.mktemp("small")), FEW)


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Opened:
    return grown(Path(tmp_path_factory.mktemp("large")), MANY)


def visit(house: Opened, client: FlaskClient, page: str) -> Asked:
    """Return what one visit asks of the database."""
    there = page.format(**house.made)
    with asked(house) as found:
        answer = client.get(there)
    assert answer.status_code == 200, there
    return found


@pytest.mark.parametrize("page", PAGES)
def test_a_page_asks_no_more_of_a_long_ledger_than_of_a_short_one(
    small: Opened, large: Opened, page: str
) -> None:
    """A question for each entry would make every year slower than the last."""
    counts = [len(visit(house, house.client("amina"), page)) for house in (small, large)]

    assert counts[0] == counts[1]
    assert counts[1] <= STATEMENTS_MAX


@pytest.mark.parametrize("role", ["member", "safety_officer", "treasurer", "teacher"])
def test_the_room_asks_as_little_for_everybody(small: Opened, large: Opened, role: str) -> None:
    """Each role is told of something else; none has its questions asked twice."""
    counts = []
    for house in (small, large):
        first = f"{role.replace('_', '')}one"
        if first not in house.members:
            house.join(f"{first.title()} M.", "member", role)
        counts.append(len(visit(house, house.client(first), "/")))

    assert counts[0] == counts[1]
    assert counts[1] <= STATEMENTS_MAX


def test_jugs_that_are_gone_are_not_read_to_fill_a_jar(large: Opened) -> None:
    """There are more of them every year."""
    found = visit(large, large.client("kahu"), "/jars/{jar}/add")
    listing = [one for one, values in found if "jug" in values and "fold.sort" in one]

    assert listing
    assert all("fold.live = " in one for one in listing)


def test_the_two_ledgers_are_far_apart(small: Opened, large: Opened) -> None:
    """Or the same count would prove nothing."""
    heads = []
    for house in (small, large):
        with house.desk() as desk:
            heads.append(desk.journal.head()[0])

    assert heads[1] - heads[0] > ENTRIES_APART


def test_sheets_through_asks_no_more_of_a_long_ledger(small: Opened, large: Opened) -> None:
    """One entry more at the end of a bath's history is added to what is known."""
    counts = []
    for house in (small, large):
        client = house.client("kahu")
        there = f"/baths/{house.made['bath']}/sheets"
        house.later(hours=1)
        with asked(house) as found:
            answer = send(client, there, {"sheet_count": "1"})
        assert answer.status_code == 303, answer.text
        counts.append(len(found))

    assert counts[0] == counts[1]
    assert counts[1] <= STATEMENTS_OF_SHEETS_MAX


def test_a_calendar_asks_no_more_of_a_long_ledger(small: Opened, large: Opened) -> None:
    """Programs ask by themselves, day and night."""
    counts = []
    for house in (small, large):
        token, who = new_token(), house.members["amina"]
        with house.store.writing() as desk:
            feeds.make(
                desk.connection, token=token, member=who.member, lang="en", now=house.moment
            )
        client, there = house.app().test_client(), f"/calendar/{token}.ics"
        assert client.get(there).status_code == 200
        counts.append(len(visit(house, client, there)))

    assert counts[0] == counts[1]
    assert counts[1] <= STATEMENTS_OF_CALENDAR_MAX


@pytest.mark.parametrize("lot", ["alum", "parcel"])
def test_a_lot_that_went_far_shows_where_it_went_last(large: Opened, lot: str) -> None:
    """A parcel of five thousand sheets goes out in hundreds of stacks."""
    page = large.client("amina").get(f"/lots/{large.made[lot]}").text

    assert ("older ways" in page) is (lot == "parcel")


def scans(house: Opened, found: Asked) -> set[str]:
    """Return what SQLite would read from end to end, of the tables that grow."""
    walked = set()
    with house.store.engines.reader.connect() as connection:
        for statement, values in found:
            if statement.lstrip().upper().startswith(("SELECT", "UPDATE", "DELETE")):
                many = values if isinstance(values, list) else [values]
                plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", many[0])
                walked |= {f"{row[3]}: {statement}" for row in plan if _is_scan(row[3])}
    return walked


def _is_scan(step: str) -> bool:
    """A scan by the index of what is stale is none: that index holds only what is stale."""
    table = re.match(r"SCAN (\w+)", step)
    return bool(table and table[1] in BIG and "ix_fold_stale" not in step)


@pytest.mark.parametrize("page", PAGES)
def test_no_page_reads_a_growing_table_from_end_to_end(large: Opened, page: str) -> None:
    """By SQLite's own plan of each statement that the page sends."""
    found = visit(large, large.client("oluwaseun"), page)

    assert found
    assert scans(large, found) == set()


def test_what_came_in_since_a_visit_is_found_by_an_index(large: Opened) -> None:
    """A month away is hundreds of entries at the end of tens of thousands."""
    member = large.members["ines"].member
    with large.store.writing() as desk:
        visits.note(desk.connection, member, Point(at=large.moment, seq=ENTRIES_APART // 2))
    large.later(days=30)
    client = large.client("ines")
    found = visit(large, client, "/")

    assert "Since you were last here" in client.get("/").text
    assert any("seal.seq >" in statement for statement, _ in found)
    assert scans(large, found) == set()


def test_only_what_is_odd_is_read_whole_for_a_coordinator(large: Opened) -> None:
    """Few things are odd; what nobody has judged is picked out of them after reading."""
    for page in ("/", "/sort-it-out"):
        found = scans(large, visit(large, large.client("amina"), page))

        assert {one.split()[1] for one in found} <= {"finding"}, page


def test_writing_sheets_reads_no_growing_table_from_end_to_end(large: Opened) -> None:
    client = large.client("kahu")
    there = f"/baths/{large.made['bath']}/sheets"
    large.later(hours=1)
    with asked(large) as found:
        send(client, there, {"sheet_count": "1"})

    assert any(statement.startswith("INSERT INTO entry") for statement, _ in found)
    assert scans(large, found) == set()


def test_a_scan_would_be_found(large: Opened) -> None:
    """A plan that is never bad proves nothing."""
    with asked(large) as found, large.store.reading() as desk:
        desk.connection.exec_driver_sql("SELECT count(*) FROM entry WHERE bytes = ?", (b"",))
        desk.connection.exec_driver_sql("SELECT * FROM fold WHERE subject = ?", ("x",))

    assert len(scans(large, found)) == 1
