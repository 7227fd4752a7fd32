"""Whatever a device sends: it is answered in the form a phone reads, and nothing breaks."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coop.ids import is_uuid
from coop.ledger.table import KINDS
from coop.store.verify import verify
from coop.store.waiting import SqlShelf
from coop.sync.limits import DRAFTS_MAX
from tests.support.enrolled import PUSH, SAME, enrolled, post_push
from tests.support.opened import Opened, furnished, mixed
from tests.support.phone import Phone
from tests.support.pushed import assert_answer_shape
from tests.support.sayings import an_id, wire

TEXTS_MAX = 700_000
"""As many characters of drafts as a phone sends at once."""

NO_MOMENTS = ("2025-02-30T10:00:00Z", "9999-01-01T00:00:00Z", "1969-12-31T23:59:59Z")
ODD: tuple[Any, ...] = (
    "", "\0", "a\0b", "\ud800", "\udfff\ud800", "\ufeff", "\u202eabc", "<b>", "x" * 9_000,
    "0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7", "0192F3C4-5D6E-7F80-9A1B-2C3D4E5F6A7B", "a" * 40,
    None, True, 0, -1, 1.5, 2**53, 2**63, 10**400, [], {}, [[]], {"": 1}, {"é": "\0"},
    float("nan"), [1] * 300, {"v": 1}, [{"lot": 1}], "9" * 5_000,
)  # fmt: skip
MOMENTS = (
    "2025-09-17T18:00:00+02:00", "1970-01-01T00:00:00+14:00", "1970-01-01T00:00+23:59",
    "9998-12-31T23:59:59.999999-23:59", "9998-12-31T23:59:59Z", "1985-01-01T00:00:00Z",
    "2065-01-01T00:00:00Z", "2025-09-17T15:30:00Z", "2025-09-17T15:59:59.5Z",
)  # fmt: skip

SENT = [
    *(code for _ in range(3) for code, kind in KINDS.items() if not kind.signed_in_only),
    *KINDS,
]
"""Mostly kinds that a device may send."""

odd = st.one_of(
    st.sampled_from(ODD),
    st.sampled_from(MOMENTS + NO_MOMENTS),
    st.text(max_size=20),
    st.integers(),
    st.lists(st.text(max_size=3), max_size=3),
)


@dataclass
class Place:
    """A ledger, a phone that belongs to it, and ids that mean something there."""

    house: Opened
    phone: Phone
    client: FlaskClient
    ids: list[str]

    def message(self, **changes: Any) -> dict[str, Any]:
        said: dict[str, Any] = self.phone.message(now=self.house.moment)
        return said | changes

    def send(self, data: bytes) -> Any:
        return self.client.post(PUSH, data=data, content_type="application/json", headers=SAME)

    def assert_sound(self) -> None:
        """Say that the ledger and the shelf can be read from end to end."""
        with self.house.desk() as desk:
            found = verify(desk.connection, self.house.store.ledger)
            SqlShelf(desk.connection).waiting()
        assert found.clean, found.problems[:3]


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Place]:
    house = furnished(tmp_path)
    phone, client = enrolled(house, "amina")
    bath = mixed(house)
    through = house.say(
        "sheets.through", "kahu", bath=bath, sheet_count="5", sheet_format="half", method="dip"
    )
    people = [str(one.member) for one in house.members.values()]
    ids = [bath, through, phone.id, *people, *house.made.values(), *map(an_id, range(20))]
    made = Place(house, phone, client, ids)
    yield made
    made.assert_sound()


def one_in(many: int) -> st.SearchStrategy[bool]:
    return st.sampled_from([False] * (many - 1) + [True])


def replaced(draw: st.DrawFn, value: Any, ids: list[str], chance: int) -> Any:
    """Put other ids in place of ids, and something odd in place of a leaf here and there."""
    if isinstance(value, dict):
        return {key: replaced(draw, one, ids, chance) for key, one in value.items()}
    if isinstance(value, list):
        return [replaced(draw, one, ids, chance) for one in value]
    if draw(one_in(chance)):
        return draw(odd)
    return draw(st.sampled_from(ids)) if isinstance(value, str) and is_uuid(value) else value


@st.composite
def texts(draw: st.DrawFn, place: Place) -> str:
    """Draw a text of the outbox: of any kind, mostly right."""
    record = wire(draw(st.sampled_from(SENT)))
    record["body"].pop("note", None)
    record["body"] = replaced(draw, record["body"], place.ids, 40)
    record |= {
        "ledger": place.phone.ledger,
        "author": place.phone.author,
        "id": draw(st.sampled_from([*place.ids, *map(an_id, range(100, 200))])),
        "device": place.phone.id,
        "device_seq": draw(st.integers(1, 50)),
    }
    for key in ("happened_at", "written_at"):
        record[key] = draw(st.sampled_from(MOMENTS))
    if draw(one_in(8)):
        record[draw(st.sampled_from(sorted(record)))] = draw(odd)
    whole = {"v": 1, "entry": record}
    if draw(one_in(12)):
        whole[draw(st.sampled_from(("v", "entry", "note", "more")))] = draw(odd)
    text = json.dumps(whole, ensure_ascii=draw(st.booleans()))
    if not draw(one_in(12)):
        return text
    at = draw(st.integers(0, len(text)))
    return (
        text[:at] + draw(st.sampled_from(("\0", "\ud800", "}", "", '"', "\\u0000"))) + text[at:]
    )


@st.composite
def messages(draw: st.DrawFn, place: Place) -> dict[str, Any]:
    """Draw a push that is right but for a field or two."""
    some = st.lists(texts(place), max_size=4)
    said = place.message(
        now=draw(st.sampled_from(MOMENTS)),
        drafts=draw(some),
        given_up=draw(st.lists(st.one_of(texts(place), st.text()), max_size=2)),
        asked=draw(st.lists(st.sampled_from(place.ids), max_size=3)),
        kept=[
            [one, "ab" * 32] for one in draw(st.lists(st.sampled_from(place.ids), max_size=3))
        ],
        heard={one: 3 for one in draw(st.lists(st.sampled_from(place.ids), max_size=2))},
    )
    if draw(one_in(5)):
        said[draw(st.sampled_from(sorted(said)))] = draw(odd)
    return said


def quietly(check: Any) -> Any:
    """Let one ledger serve all examples: that they meet each other is part of the trial."""
    return settings(suppress_health_check=list(HealthCheck))(check)


def test_any_bytes_are_answered(place: Place) -> None:
    """A broken middlebox, a curious member, a bug: the phone must learn that it keeps all."""
    right = json.dumps(place.message(drafts=["{}"])).encode()

    @quietly
    @given(st.one_of(st.binary(max_size=300), st.integers(0, len(right)), odd))
    def send(said: Any) -> None:
        if isinstance(said, int) and 0 <= said <= len(right):
            said = right[:said]
        data = said if isinstance(said, bytes) else json.dumps(said).encode()
        assert_answer_shape(place.send(data))

    send()


def test_a_message_nearly_right_is_answered(place: Place) -> None:
    """One odd thing in a push of four must not keep the other three on the phone for ever."""

    @quietly
    @given(st.data())
    def send(data: st.DataObject) -> None:
        said = data.draw(messages(place))
        answer = place.send(json.dumps(said).encode())
        drafts = said["drafts"]
        count = len(drafts) if answer.status_code == 200 and isinstance(drafts, list) else None
        assert_answer_shape(answer, count)

    send()


def a_text(place: Place, **changes: Any) -> str:
    """Keep sheets on the phone and return their text, changed."""
    bath = place.ids[0]
    written = place.phone.write(
        "sheets.through",
        now=place.house.moment,
        bath=bath,
        sheet_count="5",
        sheet_format="half",
        method="dip",
    )
    record = json.loads(place.phone.records.pop(written).text)
    record["entry"] |= changes
    return json.dumps(record, ensure_ascii=False)


BROKEN = [
    {"id": "\ud800"},
    {"id": "a\0b"},
    {"id": "0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7"},
    {"id": {"of": ["a"]}},
    {"device": "x" * 3_000},
    {"device_seq": -7},
    {"kind": "\0"},
]


@pytest.mark.parametrize("changes", BROKEN, ids=[str(one)[:40] for one in BROKEN])
def test_what_no_database_keeps_as_it_is_can_be_given_up(place: Place, changes: Any) -> None:
    """SQLite and PostgreSQL refuse half a surrogate pair, PostgreSQL a NUL: neither is met."""
    text = a_text(place, **changes)

    answer = post_push(place.client, place.message(drafts=[text], given_up=[text, "\ud800\0"]))

    assert_answer_shape(answer, 1)
    assert [one["outcome"] for one in answer.get_json()["settled"]] == ["given-up"] * 2


def test_what_is_too_long_can_be_given_up_too(place: Place) -> None:
    """The phone finds its own by the id, and would else send it again for ever."""
    text = a_text(place, id=place.house.new_id(), kind="x" * 20_000)

    answer = post_push(place.client, place.message(given_up=[text])).get_json()

    (told,) = answer["settled"]
    assert (told["id"], told["outcome"]) == (json.loads(text)["entry"]["id"], "given-up")


@pytest.mark.parametrize("release", ["\ud800", "a\0b", "a\nb", "é"])
def test_a_release_is_one_plain_line(place: Place, release: str) -> None:
    answer = post_push(place.client, place.message(release=release))

    assert_answer_shape(answer)
    assert (answer.status_code, answer.get_json()["field"]) == (422, "release")


@pytest.mark.parametrize("clock", ["1970-01-01T00:00:00Z", "9998-12-31T23:59:59Z"])
@pytest.mark.parametrize("written", ["1970-01-01T00:00:00Z", "9998-12-31T23:59:59Z"])
def test_a_clock_at_the_end_of_the_calendar_stops_nothing(
    place: Place, clock: str, written: str
) -> None:
    """Put right by forty years, such a time would have no year; the sheets went through."""
    text = a_text(place, happened_at=written, written_at=written)

    answer = post_push(place.client, place.message(now=clock, drafts=[text]))

    assert_answer_shape(answer, 1)
    (told,) = answer.get_json()["answers"]
    assert told["outcome"] == "sealed"


def test_as_much_as_a_phone_sends_at_once_is_taken(place: Place) -> None:
    """Two hundred of the longest a form makes: 700,000 characters in one push."""
    long = TEXTS_MAX // DRAFTS_MAX
    drafts = [a_text(place, id=place.house.new_id()) for _ in range(DRAFTS_MAX)]
    padded = [one + " " * (long - len(one)) for one in drafts]

    answer = post_push(place.client, place.message(drafts=padded))

    assert sum(map(len, padded)) == TEXTS_MAX
    assert_answer_shape(answer, DRAFTS_MAX)
    assert {one["outcome"] for one in answer.get_json()["answers"]} == {"sealed"}
