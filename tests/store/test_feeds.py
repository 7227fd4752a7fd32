"""Secret addresses of calendars, and the numbers of what they tell."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import select

from coop.ids import MemberId
from coop.store import feeds, throttle
from coop.store.engines import Engines
from coop.store.feeds import TOLD_KEPT, Feed, Told
from coop.store.tables import calendar_feed
from coop.store.throttle import ADDRESS_SIGN_INS_MAX, WINDOW
from coop.store.tokens import new_token

NOON = datetime(2025, 10, 1, 12, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)
ADA = MemberId("member-a")
BEN = MemberId("member-b")


@pytest.fixture
def engines(settings_engines: Engines) -> Engines:
    return settings_engines


def make(engines: Engines, member: MemberId = ADA, lang: str = "en") -> str:
    token = new_token()
    with engines.writing() as connection:
        feeds.make(connection, token=token, member=member, lang=lang, now=NOON)
    return token


def find(engines: Engines, token: str) -> Feed | None:
    with engines.reading() as connection:
        return feeds.find(connection, token)


def tell(engines: Engines, now: datetime, **digests: str) -> dict[str, Told]:
    with engines.writing() as connection:
        return feeds.tell(connection, ADA, digests, now)


def test_a_secret_opens_its_members_calendar_and_is_kept_as_a_hash_only(
    engines: Engines,
) -> None:
    """Who reads the database, or a backup of it, cannot open the calendar."""
    token = make(engines, lang="tr")

    assert find(engines, token) == Feed(member=ADA, lang="tr", made_at=NOON)
    assert find(engines, token + "x") is None
    with engines.reading() as connection:
        row = connection.execute(select(calendar_feed)).one()
    assert token not in " ".join(map(str, row))


def test_a_new_address_shuts_the_one_before(engines: Engines) -> None:
    old, other = make(engines), make(engines, BEN)
    new = make(engines)

    assert find(engines, old) is None
    assert find(engines, new) is not None
    assert find(engines, other) == Feed(member=BEN, lang="en", made_at=NOON)


def test_a_closed_calendar_opens_to_nobody(engines: Engines) -> None:
    token = make(engines)
    with engines.writing() as connection:
        assert feeds.end(connection, ADA)
        assert not feeds.end(connection, ADA)

    assert find(engines, token) is None


def test_an_event_is_numbered_anew_only_when_it_says_another_thing(engines: Engines) -> None:
    """RFC 5545, 3.8.7.4: from 0, rising by one with each change that matters."""
    first = tell(engines, NOON, class_="at ten", order="today")
    same = tell(engines, NOON + HOUR, class_="at ten", order="today")
    moved = tell(engines, NOON + 2 * HOUR, class_="at eleven", order="today")

    assert first == same
    assert (first["class_"].sequence, first["class_"].changed_at) == (0, NOON)
    assert (moved["class_"].sequence, moved["class_"].changed_at) == (1, NOON + 2 * HOUR)
    assert moved["order"] == first["order"]


def test_an_event_that_comes_back_goes_on_counting(engines: Engines) -> None:
    """A program that still has the old one would not believe a lower number."""
    tell(engines, NOON, order="today")
    tell(engines, NOON + HOUR, order="tomorrow")
    tell(engines, NOON + 2 * HOUR)

    assert tell(engines, NOON + 3 * HOUR, order="today")["order"].sequence == 2


def test_what_is_long_gone_is_forgotten(engines: Engines) -> None:
    """Else every bath there ever was would stay in the table."""
    tell(engines, NOON, bath="look at it", order="today")
    tell(engines, NOON + TOLD_KEPT + HOUR, order="today")

    with engines.reading() as connection:
        assert set(feeds.told(connection, ADA)) == {"order"}


def test_a_renewed_calendar_goes_on_counting_and_a_left_members_does_not(
    engines: Engines,
) -> None:
    make(engines)
    tell(engines, NOON, order="today")
    make(engines)
    with engines.writing() as connection:
        assert set(feeds.told(connection, ADA)) == {"order"}
        feeds.forget(connection, ADA)
        assert feeds.told(connection, ADA) == {}
        assert feeds.of_member(connection, ADA) is None


@given(st.lists(st.dictionaries(st.sampled_from("abc"), st.sampled_from("xyz")), max_size=12))
def test_no_number_ever_falls_and_none_rises_without_a_change(
    said: list[dict[str, str]],
) -> None:
    """Whatever comes, goes and changes: the number counts the changes, no more, no less."""
    before: dict[str, Told] = {}
    changes: dict[str, int] = {}
    for hour, digests in enumerate(said):
        after = feeds.renumbered(before, digests, NOON + hour * HOUR)
        for uid, digest in digests.items():
            if uid in before and before[uid].digest != digest:
                changes[uid] = changes.get(uid, 0) + 1
            assert after[uid].sequence == changes.get(uid, 0)
        before |= after


def test_wrong_secrets_are_counted_by_address_until_the_window_is_over(
    engines: Engines,
) -> None:
    one = throttle.by_calendar_address("192.0.2.7")
    with engines.writing() as connection:
        for _ in range(ADDRESS_SIGN_INS_MAX):
            assert throttle.tried_too_often(connection, one, NOON) is None
            assert throttle.count_try(connection, one, NOON) is None
        assert throttle.tried_too_often(connection, one, NOON) is not None
        assert throttle.tried_too_often(connection, one, NOON + WINDOW) is None
        other = throttle.by_calendar_address("192.0.2.8")
        assert throttle.tried_too_often(connection, other, NOON) is None
