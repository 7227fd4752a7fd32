"""Sessions and invitations: random in the browser, hashed here, over when they are over."""

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import select

from coop.ids import EntryId, MemberId
from coop.store import invites, sessions, settings_table, tables
from coop.store.tokens import new_token

NOW = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
ADA = MemberId("member-a")
BEN = MemberId("member-b")


@pytest.fixture
def engines(settings_engines):
    return settings_engines


def start(engines, token, *, member=ADA, at=NOW, agent="Firefox, Linux"):
    with engines.writing() as connection:
        return sessions.create(connection, token=token, member=member, agent=agent, now=at)


def member_of(engines, token, *, at=NOW):
    with engines.reading() as connection:
        found = sessions.find(connection, token, at)
    return found and found.member


def test_a_token_is_256_random_bits():
    """43 characters of 6 bits hold 256; none is made twice."""
    made = {new_token() for _ in range(100)}

    assert len(made) == 100
    assert {len(token) for token in made} == {43}


def test_a_session_is_found_by_its_token_only(engines):
    start(engines, "one")

    assert member_of(engines, "one") == ADA
    assert member_of(engines, "another") is None


def test_the_token_itself_is_not_stored(engines):
    """Whoever reads the database or a backup cannot sign in with it."""
    made = start(engines, "one")
    with engines.reading() as connection:
        row = connection.execute(select(tables.session)).one()

    assert "one" not in row
    assert row.id_hash == made.id_hash
    assert member_of(engines, made.id_hash) is None


def test_a_session_ends_after_thirty_days_however_busy(engines):
    start(engines, "one")
    for day in range(1, 30):
        with engines.writing() as connection:
            found = sessions.find(connection, "one", NOW + timedelta(days=day))
            assert found
            sessions.touch(connection, found.id_hash, NOW + timedelta(days=day))

    assert member_of(engines, "one", at=NOW + timedelta(days=30, seconds=-1)) == ADA
    assert member_of(engines, "one", at=NOW + timedelta(days=30)) is None


def test_a_session_ends_after_fourteen_days_without_a_visit(engines):
    start(engines, "one")

    assert member_of(engines, "one", at=NOW + timedelta(days=14, seconds=-1)) == ADA
    assert member_of(engines, "one", at=NOW + timedelta(days=14)) is None


def test_last_seen_is_due_after_ten_minutes(engines):
    made = start(engines, "one")

    assert not sessions.touch_is_due(made, NOW + timedelta(minutes=10, seconds=-1))
    assert sessions.touch_is_due(made, NOW + timedelta(minutes=10))


def test_last_seen_never_goes_back(engines):
    """Two answers may be written in either order."""
    made = start(engines, "one")
    with engines.writing() as connection:
        sessions.touch(connection, made.id_hash, NOW + timedelta(hours=2))
        sessions.touch(connection, made.id_hash, NOW + timedelta(hours=1))
        found = sessions.find(connection, "one", NOW)

    assert found
    assert found.last_seen_at == NOW + timedelta(hours=2)


def test_a_member_ends_one_session_and_keeps_the_other(engines):
    """A lost phone is signed out from home."""
    phone = start(engines, "phone")
    start(engines, "home")
    with engines.writing() as connection:
        assert sessions.end(connection, phone.id_hash, member=ADA)

    assert member_of(engines, "phone") is None
    assert member_of(engines, "home") == ADA


def test_nobody_ends_the_session_of_another_member(engines):
    phone = start(engines, "phone")
    with engines.writing() as connection:
        assert not sessions.end(connection, phone.id_hash, member=BEN)

    assert member_of(engines, "phone") == ADA


def test_all_sessions_of_a_member_end_at_once(engines):
    """Leaving, or a new password, signs out everywhere; others stay."""
    for token, member in (("a1", ADA), ("a2", ADA), ("b1", BEN)):
        start(engines, token, member=member)
    with engines.writing() as connection:
        assert sessions.end_all(connection, ADA) == 2

    assert [member_of(engines, token) for token in ("a1", "a2", "b1")] == [None, None, BEN]


def test_all_but_this_one_can_be_ended(engines):
    start(engines, "old")
    here = start(engines, "here")
    with engines.writing() as connection:
        assert sessions.end_all(connection, ADA, but=here.id_hash) == 1

    assert (member_of(engines, "old"), member_of(engines, "here")) == (None, ADA)


def test_sessions_are_listed_last_seen_first_without_those_that_are_over(engines):
    start(engines, "gone", at=NOW - timedelta(days=20))
    start(engines, "early", at=NOW - timedelta(days=1), agent="x" * 500)
    start(engines, "late")
    with engines.reading() as connection:
        found = sessions.list_of(connection, ADA, NOW)

    assert [one.agent for one in found] == ["Firefox, Linux", "x" * 60]


def test_signing_in_sweeps_away_what_is_over(engines):
    """The table does not grow for ever."""
    start(engines, "gone", at=NOW - timedelta(days=40))
    start(engines, "idle", at=NOW - timedelta(days=15), member=BEN)
    start(engines, "here")
    with engines.reading() as connection:
        assert len(connection.execute(select(tables.session)).all()) == 1


def test_too_many_sessions_end_the_one_unseen_for_longest(engines):
    for n in range(sessions.PER_MEMBER_MAX + 1):
        start(engines, f"s{n}", at=NOW + timedelta(minutes=n))
    start(engines, "other", member=BEN)

    at = NOW + timedelta(hours=1)
    assert member_of(engines, "s0", at=at) is None
    assert member_of(engines, "s1", at=at) == ADA
    with engines.reading() as connection:
        assert len(sessions.list_of(connection, ADA, at)) == sessions.PER_MEMBER_MAX


def invite(engines, token, *, purpose: invites.Purpose = "member", at=NOW):
    with engines.writing() as connection:
        return invites.make(
            connection, token=token, purpose=purpose, now=at, entry=EntryId("e"), made_by=ADA
        )


def use(engines, token, *, at=NOW):
    with engines.writing() as connection:
        return invites.use(connection, token, at)


def test_an_invitation_lets_somebody_in_once(engines):
    made = invite(engines, "link")

    assert use(engines, "link") == made
    assert use(engines, "link") is None


def test_looking_at_an_invitation_does_not_use_it_up(engines):
    """Mail programs open links before people do."""
    made = invite(engines, "link")
    with engines.reading() as connection:
        assert invites.look(connection, "link", NOW) == made

    assert use(engines, "link") == made


def test_an_invitation_used_in_a_unit_that_fails_is_still_good(engines):
    """A slip in the sign-up form must not lock the new member out."""
    made = invite(engines, "link")

    def fail():
        with engines.writing() as connection:
            invites.use(connection, "link", NOW)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail()

    assert use(engines, "link") == made


@pytest.mark.parametrize(("days", "good"), [(13, True), (14, False), (400, False)])
def test_an_invitation_is_good_for_fourteen_days(engines, days, good):
    invite(engines, "link")

    assert (use(engines, "link", at=NOW + timedelta(days=days)) is not None) is good


def test_an_invitation_taken_back_is_dead(engines):
    made = invite(engines, "link")
    with engines.writing() as connection:
        assert invites.close(connection, made.token_hash)
        assert not invites.close(connection, made.token_hash)

    assert use(engines, "link") is None


def test_a_used_invitation_cannot_be_taken_back(engines):
    """Who was let in by whom stays on record."""
    made = invite(engines, "link")
    use(engines, "link")
    with engines.writing() as connection:
        assert not invites.close(connection, made.token_hash)


def test_an_address_that_does_not_open_says_why(engines):
    """Who comes too late must hear what to do, not that the page does not exist."""
    invite(engines, "good")
    invite(engines, "used")
    invite(engines, "over", at=NOW - timedelta(days=14))
    use(engines, "used")
    tokens = ("good", "used", "over", "made-up")
    with engines.reading() as connection:
        standing = [invites.standing(connection, token, NOW) for token in tokens]

    assert standing == ["good", "used", "over", "unknown"]


def test_all_open_addresses_of_one_member_are_taken_back_together(engines):
    """A new address for a forgotten password leaves no older one lying about."""
    for token in ("one", "two", "used"):
        invite(engines, token)
    invite(engines, "first", purpose="first")
    use(engines, "used")
    with engines.writing() as connection:
        invites.make(connection, token="else", purpose="member", now=NOW, entry=EntryId("o"))
        closed = invites.close_of(connection, EntryId("e"))
        left = [one.entry for one in invites.open_ones(connection, NOW)]

    assert closed == 3
    assert left == [EntryId("o")]


def test_the_invitations_token_is_not_stored(engines):
    invite(engines, "link")
    with engines.reading() as connection:
        assert "link" not in connection.execute(select(tables.invite)).one()


def test_only_the_newest_link_for_the_first_coordinator_is_good(engines):
    """Asking for it again on the command line closes the one before."""
    invite(engines, "member")
    invite(engines, "old", purpose="first")
    invite(engines, "new", purpose="first")

    assert use(engines, "old") is None
    assert use(engines, "new")
    assert use(engines, "member")


def test_open_invitations_are_listed_and_used_or_old_ones_are_not(engines):
    for token, at in (("old", NOW - timedelta(days=20)), ("used", NOW), ("open", NOW)):
        invite(engines, token, at=at)
    use(engines, "used")
    with engines.reading() as connection:
        found = invites.open_ones(connection, NOW)

        assert found == [invites.look(connection, "open", NOW)]


def test_a_named_value_is_written_over_the_one_before(engines):
    with engines.writing() as connection:
        assert settings_table.node_id(connection) is None
        assert settings_table.ledger_id(connection) is None
        settings_table.write(connection, settings_table.NODE_ID, "n1")
        settings_table.write(connection, settings_table.NODE_ID, "n2")
        settings_table.write(connection, settings_table.LEDGER_ID, "l1")

        assert settings_table.node_id(connection) == "n2"
        assert settings_table.ledger_id(connection) == "l1"
