"""One identifier type per thing, and the making of UUIDv7."""

from typing import NewType
from uuid import UUID

LedgerId = NewType("LedgerId", str)
NodeId = NewType("NodeId", str)
EntryId = NewType("EntryId", str)
Digest = NewType("Digest", str)
MemberId = NewType("MemberId", str)
Subject = NewType("Subject", str)

RANDOM_BYTES = 10
_MS_MAX = 2**48 - 1


def uuid7(*, now_ms: int, random: bytes) -> str:
    """
    Return a UUIDv7 as lower-case text.

    Args:
        now_ms: Unix time [ms], 0 to 2**48 - 1.
        random: Ten random bytes, made by the caller.

    Source: RFC 9562, section 5.7 (layout) and appendix A.6 (test vector).

    >>> uuid7(now_ms=0x017F22E279B0, random=bytes.fromhex("0CC318C4DC0C0C07398F"))
    '017f22e2-79b0-7cc3-98c4-dc0c0c07398f'
    """
    assert 0 <= now_ms <= _MS_MAX
    assert len(random) == RANDOM_BYTES
    tail = int.from_bytes(random, "big")
    high, low = tail >> 64, tail & (2**62 - 1)
    value = (now_ms << 80) | (0x7 << 76) | ((high & 0xFFF) << 64) | (0b10 << 62) | low
    return str(UUID(int=value))


def is_uuid(text: str) -> bool:
    """Say whether a text is a UUID in its one lower-case, hyphenated form."""
    try:
        return str(UUID(text)) == text
    except ValueError:
        return False


def following(entry: EntryId) -> EntryId:
    """
    Return the id that sorts next: of what is written together with an entry.

    The same one every time, so that what is sent twice is written once.

    >>> following(EntryId("017f22e2-79b0-7cc3-98c4-dc0c0c07398f"))
    '017f22e2-79b0-7cc3-98c4-dc0c0c073990'
    """
    value = UUID(entry).int
    tail = (value + 1) % 2**62
    return EntryId(str(UUID(int=value - value % 2**62 + tail)))
