"""A ledger that is open, with members and one studio, driven through the real application."""

import os
import re
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient

from coop.actions.write import Draft, Outcome, Who, Written, card, write
from coop.app import create_app
from coop.ids import EntryId, LedgerId, MemberId, NodeId, uuid7
from coop.settings import from_environment
from coop.store import members, migrate
from coop.store.desk import Desk, Store, open_store, start_ledger
from coop.store.members import Passwords

START = datetime(2025, 9, 17, 16, 0, tzinfo=UTC)  # a Wednesday, 18:00 in the studio
PASSWORD = "a long enough sentence"
FILE = "coop.db"
QUICK = Passwords(time_cost=1, memory_kib=8)


def quantity(n: object, unit: str, **more: str) -> dict[str, str]:
    """Return a quantity as it stands on the wire."""
    return {"typed": str(n), "n": str(n), "unit": unit, **more}


@dataclass
class Opened:
    """The ledger, its clock, its members by first name, and what was described so far."""

    store: Store
    folder: Path
    moment: datetime = START
    members: dict[str, Who] = field(default_factory=dict)
    made: dict[str, str] = field(default_factory=dict)
    _app: Flask | None = None

    def clock(self) -> datetime:
        return self.moment

    def later(self, **by: float) -> datetime:
        """Move the clock on."""
        self.moment += timedelta(**by)
        return self.moment

    def new_id(self) -> EntryId:
        return EntryId(uuid7(now_ms=int(self.moment.timestamp() * 1000), random=os.urandom(10)))

    @contextmanager
    def desk(self) -> Iterator[Desk]:
        with self.store.reading() as desk:
            yield desk

    def state(self, sort: str, subject: str) -> Any:
        with self.desk() as desk:
            return desk.journal.state(sort, subject)  # type: ignore[arg-type]  # an id

    def say(
        self, kind: str, who: str = "amina", at: datetime | None = None, **body: Any
    ) -> str:
        """Write an entry as a member; it must be taken. Return its id."""
        outcome = self.try_say(kind, who, at, **body)
        assert isinstance(outcome, Written), outcome
        return outcome.sealed.entry.id

    def try_say(
        self, kind: str, who: str = "amina", at: datetime | None = None, **body: Any
    ) -> Outcome:
        said = Draft(
            id=self.new_id(),
            kind=kind,
            body=body,
            happened_at=at,
            typed=at.isoformat() if at else "",
        )
        with self.store.writing() as desk:
            return write(desk.journal, self.members[who], said, now=self.moment)

    def join(self, name: str, *roles: str) -> None:
        """Let a member in: card, sign-in name (the first name), password."""
        first = name.split()[0].lower()
        member = MemberId(self.new_id())
        opening = Who(member=member, roles=frozenset({"opening", "invited", *roles}))
        if self.members:
            member = MemberId(self.say("member.invited", "amina", roles=list(roles)))
            opening = Who(member=member, roles=frozenset({"invited"}))
        self.members[first] = opening
        initials = "".join(part[0] for part in name.split())
        attachment = card(name=name, initials=initials, salt=os.urandom(16))
        with self.store.writing() as desk:
            desk.journal.keep(attachment)
            secret = members.MemberSecret(
                member=member,
                sign_in_name=first,
                mail=None,
                password_hash=QUICK.hash(PASSWORD),
                changed_at=self.moment,
            )
            assert members.add(desk.connection, secret)
        if len(self.members) == 1:
            self.say(
                "ledger.opened",
                first,
                name="Test studio",
                zone="Europe/Berlin",
                coordinator=member,
            )
        self.say("member.joined", first, member=member, card=attachment.name)
        self.members[first] = Who(member=member, roles=frozenset(roles))

    def app(self) -> Flask:
        """Return the application on this ledger, made once."""
        if self._app is None:
            self._app = self._made_app()
        return self._app

    def forget_app(self) -> None:
        """Let the next application be a new one, on the store as it is then."""
        self._app = None

    def _made_app(self) -> Flask:
        settings = from_environment({"COOP_DATA": str(self.folder)})
        app = create_app(settings, clock=self.clock, store=self.store, passwords=QUICK)
        app.testing = True
        return app

    def client(self, first: str = "") -> FlaskClient:
        """Return a browser without script; signed in when a first name is given."""
        client = self.app().test_client()
        if first:
            answer = post(client, "/sign-in", "/sign-in", sign_in_name=first, password=PASSWORD)
            assert answer.status_code == 302, answer.text
        return client


def opened(folder: Path) -> Opened:
    """Open a ledger: amina (coordinator), oluwaseun (safety officer), kahu (member)."""
    return _opened_once().at(folder)


def furnished(folder: Path) -> Opened:
    """
    Open a ledger with one studio: a tub of 16 L (floor 540 x 740 mm), alum, paper, limits.

    made: studio, tub, paper, alum (lot AS-24, not weighed), parcel (lot of paper).
    """
    return _furnished_once().at(folder)


@dataclass(frozen=True)
class Kept:
    """A ledger's file in memory: making one anew takes a hundred times as long."""

    file: bytes
    moment: datetime
    members: dict[str, Who]
    made: dict[str, str]

    @classmethod
    def of(cls, house: Opened) -> "Kept":
        """Close a ledger and keep it; its folder may go."""
        house.store.close()
        file = (house.folder / FILE).read_bytes()
        return cls(file=file, moment=house.moment, members=house.members, made=house.made)

    def at(self, folder: Path) -> Opened:
        """Open a copy of it in a folder."""
        (folder / FILE).write_bytes(self.file)
        return Opened(
            store=open_store(f"sqlite:///{folder / FILE}"),
            folder=folder,
            moment=self.moment,
            members=dict(self.members),
            made=dict(self.made),
        )


@cache
def _opened_once() -> Kept:
    with tempfile.TemporaryDirectory(prefix="coop-opened-") as folder:
        house = _started(Path(folder))
        house.join("Amina K.", "member", "coordinator")
        house.join("Oluwaseun A.", "member", "safety_officer")
        house.join("Kahu R.", "member")
        return Kept.of(house)


@cache
def _furnished_once() -> Kept:
    with tempfile.TemporaryDirectory(prefix="coop-furnished-") as folder:
        house = _opened_once().at(Path(folder))
        _describe(house)
        _receive(house)
        house.say("limits.set", **HOUSE)
        return Kept.of(house)


def _started(folder: Path) -> Opened:
    url = f"sqlite:///{folder / FILE}"
    migrate.upgrade(url)
    return Opened(
        store=start_ledger(url, ledger=LedgerId(_uuid()), node=NodeId(_uuid())),
        folder=folder,
    )


HOUSE: dict[str, Any] = {
    "target_g_per_l": "40",
    "target_salt": "aluminium_sulfate_14",
    "look_again_fraction": "0.75",
    "do_not_use_fraction": "0.625",
    "strip_print_days": "28",
    "laying_depth_mm": "15",
    "records_kept": "members_only",
    "gallon": "us",
    "cup": "us",
    "spoon": "us",
}
DRAWER = ["strip_print", "dipstick", "tape_line", "hydrometer", "thermometer"]


def _describe(house: Opened) -> None:
    made = house.made
    made["studio"] = house.say(
        "studio.described",
        name="Ropewalk",
        letter="R",
        drain="sewer",
        instruments=DRAWER,
        emergency="112",
        poison="0555 0100",
    )
    made["tub"] = house.say(
        "vessel.described",
        studio=made["studio"],
        name="big tub",
        inside_length=quantity(740, "mm"),
        inside_width=quantity(540, "mm"),
        brim=quantity(16, "l"),
        lidded="yes",
        place="1",
    )
    made["paper"] = house.say(
        "paper.described",
        name="P-31",
        length=quantity(700, "mm"),
        width=quantity(500, "mm"),
        weight_g_per_m2="100",
        chalk="not_known",
    )


def _receive(house: Opened) -> None:
    made = house.made
    made["alum"] = house.say(
        "lot.received",
        studio=made["studio"],
        what="alum",
        name="AS-24",
        salt="aluminium_sulfate_14",
        weight=quantity(5, "kg"),
    )
    made["parcel"] = house.say(
        "lot.received",
        studio=made["studio"],
        what="paper",
        name="P-31",
        paper=made["paper"],
        sheet_count="1000",
    )


def mixed(house: Opened, **changes: Any) -> str:
    """Mix a bath: 480 g weighed in 12 L, unless told otherwise. Return its id."""
    body: dict[str, Any] = {
        "name": "R-A1",
        "studio": house.made["studio"],
        "vessel": house.made["tub"],
        "water": quantity(12, "l"),
        "salt": [{"lot": house.made["alum"], "amount": quantity(480, "g")}],
    }
    return house.say("bath.mixed", **(body | changes))


def sized(house: Opened, **changes: Any) -> str:
    """
    Make a bath that is not alum: a size of 60 g weighed in 12 L, unless told otherwise.

    It stands in made["tray"], lidded: brim 20 L, laying 8 L. Return its id.
    """
    if "tray" not in house.made:
        house.made["tray"] = house.say(
            "vessel.described",
            studio=house.made["studio"],
            name="tray",
            inside_length=quantity(800, "mm"),
            inside_width=quantity(600, "mm"),
            brim=quantity(20, "l"),
            laying=quantity(8, "l"),
            lidded="yes",
            place="2",
        )
    body: dict[str, Any] = {
        "name": "R-S1",
        "what": "size",
        "studio": house.made["studio"],
        "vessel": house.made["tray"],
        "water": quantity(12, "l"),
        "powder": [{"powder": "carrageenan", "amount": quantity(60, "g")}],
    }
    return house.say("bath.mixed", **(body | changes))


def token(page: str) -> str:
    """Return the form token of a page."""
    found = re.search(r'name="csrf_token"[^>]*value="([^"]+)"', page)
    assert found, page
    return found[1]


def post(client: FlaskClient, there: str, to: str = "", **fields: Any) -> Any:
    """Open a page, fill in its form's hidden fields and these, and send it."""
    page = client.get(there).text
    hidden = dict(re.findall(r'<input[^>]*name="(entry_id)"[^>]*value="([^"]*)"', page))
    return client.post(to or there, data={"csrf_token": token(page), **hidden, **fields})


def _uuid() -> str:
    return uuid7(now_ms=int(START.timestamp() * 1000), random=os.urandom(10))
