"""The form in which a pack is kept with the ledger: one JSON text, its figures exact."""

import json
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any, Final

import msgspec

from coop.rules.packs.reading import pack_of
from coop.rules.packs.schema import Pack

CONTENT_TYPE: Final = "application/json"
_DAYS: Final = frozenset({"valid_from", "valid_until", "checked_on", "review_on", "read_on"})
_ENCODER: Final = msgspec.json.Encoder(decimal_format="number", order="sorted")


def document_of(data: Mapping[str, Any]) -> bytes:
    """
    Return a pack's keys as they are kept.

    Args:
        data: As `coop.rules.packs.reading.pack_of` takes it: figures as int or Decimal, days
            as date.
    """
    return _ENCODER.encode(data)


def data_of(document: bytes) -> dict[str, Any]:
    """
    Return a pack's keys from what is kept.

    Raises:
        ValueError: It is no such document.
    """
    found = json.loads(document, parse_float=Decimal)
    if not isinstance(found, dict):
        raise ValueError("a pack is a record")
    return {key: _with_days(key, one) for key, one in found.items()}


def _with_days(key: str, found: Any) -> Any:
    match found:
        case str() if key in _DAYS:
            return date.fromisoformat(found)
        case dict():
            return {name: _with_days(name, one) for name, one in found.items()}
        case list():
            return [_with_days("", one) for one in found]
    return found


def pack_in(document: bytes, *, name: str, demo: bool) -> Pack:
    """
    Return the pack of what is kept.

    Raises:
        ValueError: It is no such document.
        Refused: It breaks the form of a pack, or is invented and this is no demo.
    """
    return pack_of(data_of(document), name=name, demo=demo)
