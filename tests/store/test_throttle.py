"""How often something may be tried."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import select

from coop.store import tables, throttle

NOW = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)  # a window begins at each full quarter hour
ONE = throttle.by_account("ada")


@pytest.fixture
def engines(settings_engines):
    return settings_engines


def tries(engines, one, times, *, at=NOW):
    """Try so often, each in its own unit of work; returns the refusals."""
    answers = []
    for _ in range(times):
        with engines.writing() as connection:
            answers.append(throttle.count_try(connection, one, at))
    return [answer for answer in answers if answer is not None]


def test_ten_tries_on_an_account_are_allowed_and_the_eleventh_is_not(engines):
    assert tries(engines, ONE, 10) == []
    assert len(tries(engines, ONE, 1)) == 1


def test_thirty_tries_from_an_address_are_allowed_and_the_next_is_not(engines):
    address = throttle.by_address("192.0.2.7")

    assert tries(engines, address, 30) == []
    assert len(tries(engines, address, 1)) == 1


def test_a_refusal_says_when_the_window_ends(engines):
    tries(engines, ONE, 10)
    at = NOW + timedelta(minutes=4, seconds=59, milliseconds=500)

    assert tries(engines, ONE, 1, at=at) == [throttle.Throttled(retry_after_s=601)]


def test_the_next_window_begins_afresh(engines):
    """Nobody is locked out for longer than a quarter of an hour."""
    tries(engines, ONE, 10)

    assert tries(engines, ONE, 10, at=NOW + timedelta(minutes=15)) == []


def test_refused_tries_do_not_lengthen_the_wait(engines):
    tries(engines, ONE, 50)

    assert tries(engines, ONE, 1, at=NOW + timedelta(minutes=15)) == []


def test_another_account_is_counted_apart(engines):
    tries(engines, ONE, 10)

    assert tries(engines, throttle.by_account("ben"), 1) == []


def test_a_good_try_is_given_back(engines):
    """A whole class signs in from one address in the same minute."""
    for _ in range(40):
        assert tries(engines, ONE, 1) == []
        with engines.writing() as connection:
            throttle.give_back(connection, ONE, NOW)

    assert tries(engines, ONE, 10) == []


def test_giving_back_more_than_was_tried_earns_nothing(engines):
    tries(engines, ONE, 1)
    with engines.writing() as connection:
        for _ in range(5):
            throttle.give_back(connection, ONE, NOW)

    assert len(tries(engines, ONE, 11)) == 1


def test_what_was_typed_is_not_stored(engines):
    """People type their password into the name field by mistake."""
    tries(engines, throttle.by_account("hunter2-is-my-password"), 1)
    with engines.reading() as connection:
        row = connection.execute(select(tables.throttle)).one()

    assert "hunter2" not in str(row)


def test_old_windows_are_swept_away(engines):
    for quarter in range(5):
        tries(engines, ONE, 1, at=NOW + quarter * throttle.WINDOW)
    with engines.reading() as connection:
        assert len(connection.execute(select(tables.throttle)).all()) == 1


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("2001:db8:1:2::1", "2001:db8:1:2:ffff::9", True),
        ("2001:db8:1:2::1", "2001:db8:1:3::1", False),
        ("::ffff:192.0.2.7", "192.0.2.7", True),
        ("192.0.2.7", "192.0.2.8", False),
        ("2001:DB8:1:2::1", "2001:db8:1:2::1", True),
    ],
)
def test_addresses_of_one_subscriber_count_together(one, other, same):
    """RFC 6177 leaves a subscriber at least 2**64 addresses to try from."""
    assert (throttle.by_address(one) == throttle.by_address(other)) is same


@given(st.text(max_size=80))
def test_any_text_can_be_counted(text):
    assert len(throttle.by_account(text).key) == 64
    assert len(throttle.by_address(text).key) == 64
