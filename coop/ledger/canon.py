"""The one byte form of a record, and its digest."""

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from coop.ids import Digest

ENTRY_BYTES_MAX = 8 * 1024
DEPTH_MAX = 8  # a correction of a mix: body.content.body.salt.0.amount.n is the deepest, 7
_WHOLE_MAX = 2**53 - 1

Json = str | int | list["Json"] | dict[str, "Json"]


class NotCanonical(ValueError):
    """What was given cannot be a record; `where` names the place, `code` the fault."""

    def __init__(self, code: str, where: str) -> None:
        super().__init__(f"{where or 'record'}: {code}")
        self.code = code
        self.where = where


def canonical(record: Mapping[str, Any]) -> bytes:
    """
    Return the canonical bytes of a record.

    Keys are ASCII, values are text, whole numbers, lists and records; floats, true, false
    and null have no place. Within that, Python's sorted compact JSON is the canonical form.

    Raises:
        NotCanonical: For anything else, and for records over 8 KiB.

    Source: RFC 8785 (JSON Canonicalization Scheme), sections 3.2.2 and 3.2.3.

    >>> canonical({"n": "8/3", "a": ["é", 7]})
    b'{"a":["\\xc3\\xa9",7],"n":"8/3"}'
    """
    _check(record, "", 0)
    text = json.dumps(record, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    try:
        data = text.encode()
    except UnicodeEncodeError:
        raise NotCanonical("lone-surrogate", "") from None
    if len(data) > ENTRY_BYTES_MAX:
        raise NotCanonical("record-too-long", "")
    return data


def digest(data: bytes) -> Digest:
    """Return the SHA-256 of canonical bytes as 64 hexadecimal digits (FIPS 180-4)."""
    return Digest(hashlib.sha256(data).hexdigest())


def parse(data: bytes, *, longest: int = ENTRY_BYTES_MAX) -> dict[str, Json]:
    """
    Read one record, in canonical form or not; what is not allowed in a record is refused.

    Raises:
        NotCanonical: Not JSON, a key twice, a float, true, false, null, or too long.
    """
    if len(data) > longest:
        raise NotCanonical("record-too-long", "")
    try:
        record = json.loads(data, object_pairs_hook=_once, parse_float=_no, parse_constant=_no)
    except NotCanonical:
        raise
    except (ValueError, RecursionError):  # a whole number of over 4,300 digits is the former
        raise NotCanonical("not-json", "") from None
    if not isinstance(record, dict):
        raise NotCanonical("not-a-record", "")
    _check(record, "", 0)
    return record


def _check(value: object, where: str, depth: int) -> None:
    if depth > DEPTH_MAX:
        raise NotCanonical("too-deep", where)
    match value:
        case str():
            pass
        case int() if not isinstance(value, bool):
            if abs(value) > _WHOLE_MAX:
                raise NotCanonical("number-too-large", where)
        case Mapping():
            _check_keys(value, where, depth)
        case list() | tuple():
            for place, inner in enumerate(value):
                _check(inner, f"{where}.{place}", depth + 1)
        case _:
            raise NotCanonical("not-plain", where)


def _check_keys(value: Mapping[Any, object], where: str, depth: int) -> None:
    for key, inner in value.items():
        if not isinstance(key, str) or not key.isascii():
            raise NotCanonical("key-not-ascii", where)
        _check(inner, f"{where}.{key}" if where else key, depth + 1)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    record = dict(pairs)
    if len(record) != len(pairs):
        raise NotCanonical("key-twice", "")
    return record


def _no(text: str) -> Any:
    raise NotCanonical("not-plain", text)
