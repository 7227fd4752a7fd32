"""Opening the ledger: the first two entries, once."""

import os
from pathlib import Path

import pytest

from coop.actions.open_ledger import open_ledger
from coop.actions.people import join, roster
from coop.actions.write import Outcome, Written, card
from coop.ids import LedgerId, MemberId, NodeId
from coop.ledger.schema import Refused
from coop.ledger.table import LEDGER
from coop.people.faces import Faces
from coop.store import migrate
from coop.store.desk import start_ledger
from tests.support.opened import START, Opened, opened


@pytest.fixture
def empty(tmp_path: Path) -> Opened:
    """A database with its ids and no entry."""
    url = f"sqlite:///{tmp_path / 'coop.db'}"
    migrate.upgrade(url)
    made = Opened(store=None, folder=tmp_path)  # type: ignore[arg-type]  # set in the next line
    made.store = start_ledger(url, ledger=LedgerId(made.new_id()), node=NodeId(made.new_id()))
    return made


def open_it(house: Opened, zone: str = "Europe/Berlin", name: str = "Test studio") -> Outcome:
    with house.store.writing() as desk:
        return open_ledger(
            desk.journal,
            entry_ids=(house.new_id(), house.new_id()),
            member=MemberId(house.new_id()),
            name=name,
            zone=zone,
            card=card(name="Amina K.", initials="AK", salt=os.urandom(16)),
            now=START,
        )


def test_opening_makes_the_ledger_and_its_first_coordinator(empty: Opened) -> None:
    """Two entries, no more: everything else is set up by pages."""
    outcome = open_it(empty)

    assert isinstance(outcome, Written)
    with empty.desk() as desk:
        ledger = desk.journal.state("ledger", LEDGER)
        (first,) = roster(desk.journal).members
        face = Faces(desk.journal).of(first.id)
        entries, _ = desk.journal.head()
    assert (ledger.name, ledger.zone, ledger.coordinator) == (
        "Test studio",
        "Europe/Berlin",
        first.id,
    )
    assert first.roles == ("member", "coordinator")
    assert (face.name, face.initials) == ("Amina K.", "AK")
    assert entries == 2


def test_an_open_ledger_is_not_opened_again(empty: Opened) -> None:
    """A second opener would be a coordinator nobody invited."""
    open_it(empty)

    assert open_it(empty) == Refused(field="name", code="opened-already")


@pytest.mark.parametrize("zone", ["Europe/Atlantis", "../../etc/passwd", "europe/berlin", ""])
def test_a_zone_that_the_database_of_zones_does_not_know_is_refused(
    empty: Opened, zone: str
) -> None:
    """Every time on every page is told in it; names as in the IANA time zone database."""
    assert open_it(empty, zone=zone) == Refused(field="zone", code="not-a-choice")
    with empty.desk() as desk:
        assert desk.journal.head()[0] == 0


def test_a_name_that_is_too_long_is_refused_before_anything_is_written(empty: Opened) -> None:
    outcome = open_it(empty, name="x" * 61)

    assert isinstance(outcome, Refused)
    assert (outcome.field, outcome.code) == ("name", "too-long")
    with empty.desk() as desk:
        assert desk.journal.head()[0] == 0


def join_it(house: Opened, member: MemberId) -> Outcome:
    with house.store.writing() as desk:
        return join(
            desk.journal,
            member,
            entry_id=house.new_id(),
            card=card(name="Ines L.", initials="IL", salt=os.urandom(16)),
            now=house.moment,
        )


def test_an_invited_member_joins_once(tmp_path: Path) -> None:
    """Joining again would swap the card of somebody who is in."""
    house = opened(tmp_path)
    invited = MemberId(house.say("member.invited", "amina", roles=["member"]))

    assert isinstance(join_it(house, invited), Written)
    assert join_it(house, invited) == Refused(field="member", code="not-known")


def test_who_was_never_invited_or_was_taken_back_does_not_join(tmp_path: Path) -> None:
    house = opened(tmp_path)
    invited = MemberId(house.say("member.invited", "amina", roles=["member"]))
    house.later(minutes=1)
    house.say("member.left", "amina", member=invited)

    assert isinstance(join_it(house, invited), Refused)
    assert isinstance(join_it(house, MemberId(house.new_id())), Refused)


def test_the_roster_tells_who_is_in_who_is_awaited_and_who_has_left(tmp_path: Path) -> None:
    house = opened(tmp_path)
    house.later(minutes=1)
    house.join("Ines L.", "member")
    house.say("member.invited", "amina", roles=["teacher"])
    house.say("member.left", "amina", member=house.members["kahu"].member)
    with house.desk() as desk:
        found = roster(desk.journal)
        names = [Faces(desk.journal).of(one.id).name for one in found.members]

    assert names[-1] == "Ines L."
    assert set(names) == {"Amina K.", "Oluwaseun A.", "Ines L."}
    assert [one.roles for one in found.invited] == [("teacher",)]
    assert [one.id for one in found.left] == [house.members["kahu"].member]
