"""What a device says in one push, read strictly, and what it is answered."""

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from coop.ids import NodeId, is_uuid
from coop.ledger.schema import Refused, Slip, moment
from coop.sync.limits import (
    ASKED_MAX,
    DRAFTS_MAX,
    KEPT_MAX,
    NODES_MAX,
    RELEASE_LENGTH_MAX,
    UNSENT_MAX,
    WHOLE_MAX,
)
from coop.sync.vectors import Vector, covers

PUSH_VERSION = 1
OUTCOMES = ("sealed", "already", "waiting", "refused", "given-up")
_DIGEST = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Push:
    """
    One push of a device.

    Attributes:
        now: The device's own clock.
        last_seq: The last count it gave; `unsent` those the server has not taken in yet.
        heard: The vector it was answered last.
        kept: (id, digest) of what it still holds though the server has it.
        asked: Ids that wait for a person, asked after.
        offline: Whether the device opens its page without a signal.
        stored: Whether the browser promised not to throw its store away.
    """

    now: datetime
    release: str
    last_seq: int
    unsent: tuple[int, ...]
    heard: Vector
    kept_count: int
    kept: tuple[tuple[str, str], ...]
    asked: tuple[str, ...]
    offline: bool
    stored: bool
    drafts: tuple[str, ...]
    given_up: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """
    What became of one draft; `refused` says why it waits or was refused.

    Attributes:
        taken: Which count of which device is here by now, sealed or waiting; None if refused.
    """

    id: str
    outcome: str
    digest: str = ""
    seal: tuple[str, int] | None = None
    refused: Refused | None = None
    taken: tuple[str, int] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pushed:
    """
    What a device is answered.

    Attributes:
        answers: One for each draft, in their order.
        settled: Of what was asked after or given up, what is not open any more.
        lacks: Ids of what the device still keeps and this server has not.
        unsent: Counts the device still holds once it has heard this answer.
    """

    answers: tuple[Answered, ...]
    settled: tuple[Answered, ...]
    lacks: tuple[str, ...]
    unsent: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """How far this server's chains reach, and how far a second place does."""

    here: Vector
    two_places: Vector


def answer_to(
    push: Push,
    pushed: Pushed,
    reach: Reach,
    *,
    say: Callable[[Refused], str],
    release: str,
    now: datetime,
) -> dict[str, Any]:
    """
    Return the record a push is answered with.

    Args:
        say: Says a refusal in the device's language, so that no script needs words.
        release: This server's; a device tries again what an older one did not understand.
    """
    return {
        "v": PUSH_VERSION,
        "now": now.isoformat(),
        "release": release,
        "answers": [_told(one, say) for one in pushed.answers],
        "settled": [_told(one, say) for one in pushed.settled],
        "lacks": list(pushed.lacks),
        "vector": dict(reach.here),
        "two_places": dict(reach.two_places),
        "behind": not covers(reach.here, push.heard),
    }


def _told(one: Answered, say: Callable[[Refused], str]) -> dict[str, Any]:
    told: dict[str, Any] = {"id": one.id, "outcome": one.outcome}
    if one.seal is not None:
        told |= {"digest": one.digest, "seal": list(one.seal)}
    if one.refused is not None:
        refused = one.refused
        told |= {"code": refused.code, "field": refused.field, "text": say(refused)}
    return told


def read_push(data: bytes) -> Push:
    """
    Read a push.

    Raises:
        Slip: It is not in its form; the field is named.
    """
    try:
        record = json.loads(data)
    except (ValueError, RecursionError):
        raise Slip("push", "not-json") from None
    if not isinstance(record, dict):
        raise Slip("push", "not-a-record")
    if record.get("v") != PUSH_VERSION or record["v"] is True:  # which equals 1
        raise Slip("v", "unknown-version")
    return Push(
        now=moment(record.get("now"), "now"),
        release=_text(record, "release", RELEASE_LENGTH_MAX),
        last_seq=_whole(record.get("last_seq"), "last_seq"),
        unsent=tuple(_whole(one, "unsent") for one in _many(record, "unsent", UNSENT_MAX)),
        heard=_vector(record.get("heard")),
        kept_count=_whole(record.get("kept_count"), "kept_count"),
        kept=tuple(_pair(one) for one in _many(record, "kept", KEPT_MAX)),
        asked=tuple(_id(one, "asked") for one in _many(record, "asked", ASKED_MAX)),
        offline=_flag(record, "offline"),
        stored=_flag(record, "stored"),
        drafts=_texts(record, "drafts"),
        given_up=_texts(record, "given_up"),
    )


def _many(record: Mapping[str, Any], key: str, most: int) -> list[Any]:
    many = record.get(key, [])
    if not isinstance(many, list):
        raise Slip(key, "not-a-list")
    if len(many) > most:
        raise Slip(key, "wrong-count", low=0, high=most)
    return many


def _texts(record: Mapping[str, Any], key: str) -> tuple[str, ...]:
    many = _many(record, key, DRAFTS_MAX)
    if not all(isinstance(one, str) for one in many):
        raise Slip(key, "not-text")
    return tuple(many)


def _text(record: Mapping[str, Any], key: str, longest: int) -> str:
    text = record.get(key, "")
    if not isinstance(text, str):
        raise Slip(key, "not-text")
    if len(text) > longest:
        raise Slip(key, "too-long", longest=longest)
    if not (text.isascii() and text.isprintable()):
        raise Slip(key, "not-one-line")
    return text


def _flag(record: Mapping[str, Any], key: str) -> bool:
    flag = record.get(key, False)
    if not isinstance(flag, bool):
        raise Slip(key, "not-a-choice")
    return flag


def _whole(raw: object, where: str) -> int:
    if not isinstance(raw, int) or isinstance(raw, bool) or not 0 <= raw <= WHOLE_MAX:
        raise Slip(where, "not-a-whole-number", low=0, high=WHOLE_MAX)
    return raw


def _id(raw: object, where: str) -> str:
    if not isinstance(raw, str) or not is_uuid(raw):
        raise Slip(where, "not-an-id")
    return raw


def _pair(raw: object) -> tuple[str, str]:
    if not isinstance(raw, list) or len(raw) != 2:
        raise Slip("kept", "not-a-list")
    digest = raw[1]
    if not isinstance(digest, str) or not _DIGEST.fullmatch(digest):
        raise Slip("kept", "not-an-id")
    return _id(raw[0], "kept"), digest


def _vector(raw: object) -> Vector:
    if not isinstance(raw, dict):
        raise Slip("heard", "not-a-record")
    if len(raw) > NODES_MAX:
        raise Slip("heard", "wrong-count", low=0, high=NODES_MAX)
    return {NodeId(_id(node, "heard")): _whole(seq, "heard") for node, seq in raw.items()}
