"""What an answer to a push may look like, whatever was sent."""

from typing import Any

from coop.ids import is_uuid
from coop.sync.message import OUTCOMES, PUSH_VERSION

PROBLEM = "application/problem+json"  # RFC 9457
OF_AN_ANSWER = {
    "v", "now", "release", "answers", "settled", "lacks", "vector", "two_places", "behind",
}  # fmt: skip


def assert_answer_shape(response: Any, draft_count: int | None = None) -> None:
    """
    Hold an answer to the one form a phone can read: 200 in its form, or a problem in words.

    Args:
        draft_count: How many drafts were pushed, when the message was in its form.
    """
    assert response.status_code < 500 or response.status_code in (503, 507), response.data
    if response.status_code != 200:
        _assert_problem(response)
        return
    assert response.mimetype == "application/json"
    told = response.get_json()
    assert set(told) == OF_AN_ANSWER
    assert told["v"] == PUSH_VERSION
    assert isinstance(told["behind"], bool)
    if draft_count is not None:
        assert len(told["answers"]) == draft_count
    for one in (*told["answers"], *told["settled"]):
        _assert_outcome(one)
    assert all(is_uuid(one) for one in told["lacks"])
    for vector in (told["vector"], told["two_places"]):
        assert all(is_uuid(node) and seq > 0 for node, seq in vector.items())


def _assert_problem(response: Any) -> None:
    assert response.mimetype == PROBLEM, response.mimetype
    told = response.get_json()
    assert told["type"] == "about:blank"
    assert told["status"] == response.status_code
    assert told["title"]
    assert told["detail"]


def _assert_outcome(one: dict[str, Any]) -> None:
    assert one["outcome"] in OUTCOMES
    assert one["id"] == "" or is_uuid(one["id"])
    if one["outcome"] in ("sealed", "already"):
        assert len(one["digest"]) == 64
        node, seq = one["seal"]
        assert is_uuid(node)
        assert seq > 0
    if one["outcome"] in ("waiting", "refused"):
        assert one["code"]
        assert one["text"]
        assert isinstance(one["field"], str)
