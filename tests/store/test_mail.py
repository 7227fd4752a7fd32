"""Mails that wait to be sent: one a day, said anew while they wait, given up in the end."""

from datetime import UTC, date, datetime, timedelta

import pytest

from coop.ids import MemberId
from coop.store import mail, members, tables
from coop.store.engines import Engines
from coop.store.mail import CLAIMED_FOR, KEPT, TRIES_MAX, Letter, Mail, Wanting
from coop.store.members import MemberSecret

MORNING = datetime(2025, 10, 1, 6, 0, tzinfo=UTC)
DAY = timedelta(days=1)
ADA = MemberId("member-a")
BEN = MemberId("member-b")


@pytest.fixture
def engines(settings_engines: Engines) -> Engines:
    """Two members who want mails; only one gave an address."""
    with settings_engines.writing() as connection:
        for member, address in ((ADA, "ada@studio.example"), (BEN, None)):
            secret = MemberSecret(
                member=member,
                sign_in_name=member,
                mail=address,
                password_hash="none",
                changed_at=MORNING,
            )
            assert members.add(connection, secret)
            mail.choose(connection, member, "en")
    return settings_engines


def write(engines: Engines, now: datetime, text: str = "", member: MemberId = ADA) -> int:
    letters = {member: Letter(text, f"{text}.\n")} if text else {}
    with engines.writing() as connection:
        return mail.write(connection, letters, today=now.date(), now=now)


def waiting(engines: Engines) -> tuple[Mail, ...]:
    with engines.reading() as connection:
        return mail.waiting(connection)


def fail(engines: Engines) -> bool:
    with engines.writing() as connection:
        return mail.mark_failed(connection, mail.waiting(connection)[0])


def send(engines: Engines) -> None:
    with engines.writing() as connection:
        mail.mark_sent(connection, mail.waiting(connection)[0])


def test_who_wants_mails_needs_an_address_for_them(engines: Engines) -> None:
    with engines.writing() as connection:
        assert mail.wanting(connection) == (
            Wanting(member=ADA, address="ada@studio.example", lang="en"),
        )
        mail.choose(connection, ADA, None)
        assert not mail.chosen(connection, ADA)
        assert mail.wanting(connection) == ()


def test_a_mail_is_written_once_a_day(engines: Engines) -> None:
    """Run every hour by mistake, the command still sends one."""
    assert write(engines, MORNING, "first") == 1
    send(engines)

    assert write(engines, MORNING + timedelta(hours=1), "second") == 0
    assert waiting(engines) == ()
    assert write(engines, MORNING + DAY, "third") == 1


def test_what_waits_is_said_anew_and_its_tries_count_on(engines: Engines) -> None:
    """Nobody should read yesterday's news of a bath, nor get two mails at once."""
    write(engines, MORNING, "yesterday's")
    fail(engines)
    write(engines, MORNING + DAY, "today's")

    (one,) = waiting(engines)
    assert (one.letter, one.try_count) == (Letter("today's", "today's.\n"), 1)


def test_what_waits_is_dropped_when_nothing_is_due_any_more(engines: Engines) -> None:
    write(engines, MORNING, "order size")
    write(engines, MORNING + DAY)

    assert waiting(engines) == ()


def test_a_mail_is_given_up_after_some_tries(engines: Engines) -> None:
    write(engines, MORNING, "order size")

    assert [fail(engines) for _ in range(TRIES_MAX)] == [False] * (TRIES_MAX - 1) + [True]
    assert waiting(engines) == ()
    with engines.reading() as connection:
        found = mail.standing(connection)
    assert (found.wanting_count, found.waiting_count, found.given_up_count) == (2, 0, 1)


def claim(engines: Engines, one: Mail, now: datetime) -> bool:
    with engines.writing() as connection:
        return mail.claim(connection, one, now=now)


def test_a_mail_is_in_one_hand_at_a_time(engines: Engines) -> None:
    """Two runs read the same list; each mail is sent by whoever claims it first."""
    write(engines, MORNING, "order size")
    (one,) = waiting(engines)

    assert claim(engines, one, MORNING)
    assert not claim(engines, one, MORNING)
    fail(engines)
    assert not claim(engines, one, MORNING), "tried meanwhile by somebody else"
    assert claim(engines, waiting(engines)[0], MORNING)


def test_what_was_in_the_hand_of_who_was_killed_is_sent_later(engines: Engines) -> None:
    write(engines, MORNING, "order size")
    (one,) = waiting(engines)
    assert claim(engines, one, MORNING)

    assert not claim(engines, one, MORNING + CLAIMED_FOR)
    assert claim(engines, one, MORNING + CLAIMED_FOR + timedelta(seconds=1))


def test_a_mail_that_has_gone_never_waits_again(engines: Engines) -> None:
    """A run that lost the race reports its failure late: nobody gets the mail twice."""
    write(engines, MORNING, "order size")
    (one,) = waiting(engines)
    send(engines)
    with engines.writing() as connection:
        assert not mail.mark_failed(connection, one)

    assert waiting(engines) == ()
    assert not claim(engines, one, MORNING + DAY)


def test_a_mail_is_not_said_anew_while_it_is_sent(engines: Engines) -> None:
    """Its row is what was sent; what is due tomorrow is tomorrow's."""
    write(engines, MORNING, "order size")
    (one,) = waiting(engines)
    assert claim(engines, one, MORNING)

    write(engines, MORNING, "order gall")
    write(engines, MORNING)

    assert [each.letter.subject for each in waiting(engines)] == ["order size"]


def test_who_wants_no_mails_any_more_gets_none_that_waited(engines: Engines) -> None:
    write(engines, MORNING, "order size")
    with engines.writing() as connection:
        mail.choose(connection, ADA, None)

    assert waiting(engines) == ()


def test_a_mail_goes_to_the_address_of_the_day_it_is_sent(engines: Engines) -> None:
    """An address that was changed may be somebody else's by now."""
    write(engines, MORNING, "order size")
    with engines.writing() as connection:
        members.set_mail(connection, ADA, "new@studio.example", now=MORNING)
    assert [one.address for one in waiting(engines)] == ["new@studio.example"]

    with engines.writing() as connection:
        members.set_mail(connection, ADA, None, now=MORNING)
    assert waiting(engines) == ()


def test_of_a_member_who_left_nothing_stays(engines: Engines) -> None:
    write(engines, MORNING, "order size")
    with engines.writing() as connection:
        mail.forget(connection, ADA)
        found = mail.standing(connection)

    assert (found.wanting_count, found.waiting_count) == (1, 0)


def test_what_was_sent_is_not_kept_and_its_row_not_for_long(engines: Engines) -> None:
    write(engines, MORNING, "order size")
    send(engines)
    with engines.reading() as connection:
        (row,) = connection.execute(tables.mail.select()).all()
        assert (row.state, row.subject, row.body) == ("sent", "", "")

    later = MORNING + KEPT + DAY
    assert later.date() > date(2025, 10, 31)
    write(engines, later)
    with engines.reading() as connection:
        assert connection.execute(tables.mail.select()).all() == []
