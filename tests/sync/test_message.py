"""What a device may say in one push; what is not in its form is refused by name."""

import json
from datetime import UTC, datetime

import pytest

from coop.ledger.schema import Slip
from coop.sync.limits import DRAFTS_MAX, KEPT_MAX, NODES_MAX, UNSENT_MAX
from coop.sync.message import read_push
from tests.support.sayings import an_id

PUSH = {
    "v": 1,
    "now": "2025-09-17T18:31:07.250+02:00",
    "release": "0.1.0",
    "last_seq": 12,
    "unsent": [11, 12],
    "heard": {an_id(2): 120},
    "kept_count": 1,
    "kept": [[an_id(7), "ab" * 32]],
    "asked": [an_id(8)],
    "offline": True,
    "stored": False,
    "drafts": ["{}", "no JSON"],
    "given_up": [],
}


def data(**changes):
    return json.dumps({**PUSH, **changes}).encode()


def test_a_push_is_read_as_it_was_sent():
    push = read_push(data())

    assert push.now == datetime(2025, 9, 17, 16, 31, 7, 250_000, tzinfo=UTC)
    assert (push.last_seq, push.unsent, push.heard) == (12, (11, 12), {an_id(2): 120})
    assert push.kept == ((an_id(7), "ab" * 32),)
    assert (push.offline, push.stored) == (True, False)
    assert push.drafts == ("{}", "no JSON")


WRONG = [
    ({"v": 2}, "v", "unknown-version"),
    ({"now": "yesterday"}, "now", "not-a-time"),
    ({"now": None}, "now", "not-text"),
    ({"release": 7}, "release", "not-text"),
    ({"release": "x" * 41}, "release", "too-long"),
    ({"last_seq": -1}, "last_seq", "not-a-whole-number"),
    ({"last_seq": True}, "last_seq", "not-a-whole-number"),
    ({"last_seq": 2**53}, "last_seq", "not-a-whole-number"),
    ({"unsent": "11"}, "unsent", "not-a-list"),
    ({"unsent": [1.5]}, "unsent", "not-a-whole-number"),
    ({"unsent": [1] * (UNSENT_MAX + 1)}, "unsent", "wrong-count"),
    ({"heard": []}, "heard", "not-a-record"),
    ({"heard": {"here": 1}}, "heard", "not-an-id"),
    ({"heard": {an_id(n): 1 for n in range(NODES_MAX + 1)}}, "heard", "wrong-count"),
    ({"kept": [[an_id(7)]]}, "kept", "not-a-list"),
    ({"kept": [[an_id(7), "short"]]}, "kept", "not-an-id"),
    ({"kept": [[an_id(7), "ab" * 32]] * (KEPT_MAX + 1)}, "kept", "wrong-count"),
    ({"asked": ["x"]}, "asked", "not-an-id"),
    ({"offline": "yes"}, "offline", "not-a-choice"),
    ({"drafts": [{}]}, "drafts", "not-text"),
    ({"drafts": ["x"] * (DRAFTS_MAX + 1)}, "drafts", "wrong-count"),
]


@pytest.mark.parametrize(("changes", "field", "code"), WRONG)
def test_what_is_not_in_its_form_is_named(changes, field, code):
    """A device that speaks wrongly is told what and where; it keeps what it has."""
    with pytest.raises(Slip) as slip:
        read_push(data(**changes))

    assert (slip.value.refused.field, slip.value.refused.code) == (field, code)


@pytest.mark.parametrize("raw", [b"", b"{", b"[]", b"7", b"\xff", b"[" * 100_000])
def test_what_is_no_message_is_refused(raw):
    with pytest.raises(Slip):
        read_push(raw)
