"""Devices as the server keeps them: secrets, what they last said, which counts are here."""

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import Connection

from coop.ids import MemberId, Subject
from coop.ledger.entries import read_entry
from coop.ledger.ports import Admission
from coop.ledger.schema import Refused
from coop.store import devices
from coop.store.engines import Engines
from coop.store.journal import SqlJournal
from coop.store.waiting import SqlShelf
from coop.sync.message import Push
from coop.sync.ports import LEFT_OUT, SEALED, Held
from tests.support.sayings import AMINA, LEDGER, NODE, an_id, corrected, mixed, on, through

NOW = datetime(2025, 9, 20, 18, 0, tzinfo=UTC)
PHONE, TABLET = Subject(an_id(70)), Subject(an_id(71))
SAID = Push(
    now=NOW,
    release="0.1.0",
    last_seq=12,
    unsent=(11, 12),
    heard={},
    kept_count=3,
    kept=(),
    asked=(),
    offline=True,
    stored=False,
    drafts=(),
    given_up=(),
)


def enrol(connection: Connection, device: Subject = PHONE, token: str = "secret") -> None:
    devices.enrol(connection, device_id=device, token=token, agent="a" * 99, now=NOW)


def hear(connection: Connection, push: Push = SAID) -> None:
    devices.heard(connection, PHONE, push, unsent=(12,), offset_ms=5, now=NOW)


def typed_on(device, count, entry):
    return read_entry(json.loads(entry.data) | {"device": device, "device_seq": count})


def test_a_device_is_known_by_its_secret_and_by_no_other(settings_engines: Engines):
    with settings_engines.writing() as connection:
        enrol(connection)

        found = devices.by_token(connection, "secret")
        assert found is not None
        assert (found.id, len(found.agent)) == (PHONE, devices.AGENT_CHARACTERS_MAX)
        assert devices.by_token(connection, "another") is None
        assert found == devices.all_of(connection).get(PHONE)


def test_a_device_set_up_again_keeps_what_was_heard_of_it(settings_engines: Engines):
    """A form sent twice must not make its last count zero, or its gaps would be forgotten."""
    with settings_engines.writing() as connection:
        enrol(connection)
        hear(connection)
        before = devices.all_of(connection).get(PHONE)
        enrol(connection, token="newer")

        assert devices.all_of(connection).get(PHONE) == before
        assert devices.by_token(connection, "newer") == before
        assert devices.by_token(connection, "secret") is None


def test_a_device_that_is_ended_is_let_in_no_more_and_not_forgotten(settings_engines: Engines):
    """What it still held when it was lost must not drop out of sight."""
    with settings_engines.writing() as connection:
        enrol(connection)
        hear(connection)
        devices.set_pin(
            connection,
            device_id=PHONE,
            member=AMINA,
            digits="4711",
            salt=b"s" * devices.PIN_SALT_BYTES,
            now=NOW,
        )
        devices.end(connection, PHONE)

        assert devices.by_token(connection, "secret") is None
        assert devices.by_token(connection, f"{devices.ENDED} {PHONE}") is None
        assert devices.pins(connection, PHONE) == {}
        assert devices.all_of(connection)[PHONE].unsent == (12,)


def test_many_may_be_ended(settings_engines: Engines):
    with settings_engines.writing() as connection:
        for device, token in ((PHONE, "one"), (TABLET, "two")):
            enrol(connection, device, token)
            devices.end(connection, device)

        assert set(devices.all_of(connection)) == {PHONE, TABLET}


def test_what_a_device_says_of_itself_is_kept_and_its_last_count_never_goes_back(
    settings_engines: Engines,
):
    with settings_engines.writing() as connection:
        enrol(connection)
        hear(connection)
        hear(connection, replace(SAID, last_seq=4, stored=True))

        found = devices.all_of(connection).get(PHONE)
    assert found is not None
    assert (found.last_seq, found.unsent, found.kept_count) == (12, (12,), 3)
    assert (found.offline, found.stored, found.offset_ms) == (True, True, 5)
    assert found.heard_at == NOW


def test_counts_are_told_by_device_however_often_they_came(engines: Engines):
    """A correction made elsewhere is a count of its own device alone."""
    slip = typed_on(PHONE, 7, through(an_id(50), 200, at=on(18)))
    again = typed_on(PHONE, 7, through(an_id(51), 5, at=on(18)))
    later = typed_on(PHONE, 2**53 - 1, through(an_id(52), 5, at=on(18)))
    mend = typed_on(TABLET, 1, corrected(an_id(60), slip, "void", at=on(19)))
    with engines.writing() as connection:
        journal = SqlJournal(connection, ledger=LEDGER, node=NODE)
        journal.append([mixed(), slip, again, later, mend], Admission(at=NOW, by=AMINA))

        counts = devices.counts(connection, [PHONE, TABLET, Subject(an_id(72))])
        assert counts == {PHONE: {7: 2, 2**53 - 1: 1}, TABLET: {1: 1}, an_id(72): {}}
        assert devices.arrived(connection, [PHONE, TABLET]) == {PHONE: 3, TABLET: 1}


@pytest.mark.parametrize("outcome", ["waiting", SEALED, LEFT_OUT])
def test_what_is_not_sealed_is_counted_as_here(settings_engines: Engines, outcome: str):
    """Sealed, it is among what arrived; left out or waiting, its text is here."""
    held = Held(
        id=an_id(80),
        digest="ab" * 32,
        sender=PHONE,
        device=PHONE,
        device_seq=3,
        text="{}",
        refused=Refused(field="author", code="has-left"),
        received_at=NOW - timedelta(days=1),
        offset_ms=0,
    )
    with settings_engines.writing() as connection:
        shelf = SqlShelf(connection)
        shelf.hold(held)
        shelf.hold(replace(held, id=an_id(81), device_seq=None))
        shelf.settle(held, outcome)

        wanted = {} if outcome == SEALED else {PHONE: {3}}
        assert devices.waiting(connection) == wanted
        assert shelf.waiting_count() == (2 if outcome == "waiting" else 1)


def test_digits_are_kept_as_a_check_and_can_be_taken_back(settings_engines: Engines):
    with settings_engines.writing() as connection:
        for salt in (b"1" * 16, b"2" * 16):
            devices.set_pin(
                connection, device_id=PHONE, member=AMINA, digits="4711", salt=salt, now=NOW
            )
        (pin,) = devices.pins(connection, PHONE).values()
        assert pin.salt == b"2" * 16
        assert b"4711" not in pin.hash

        devices.unset_pin(connection, device_id=PHONE, member=MemberId(AMINA))
        assert devices.pins(connection, PHONE) == {}
