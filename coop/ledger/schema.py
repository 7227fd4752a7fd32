"""
The form of what people say: small readers for texts, numbers, quantities and references.

A reader takes what came over the wire (text, list or record) and the place it stood in,
and returns the value or raises `Slip` with what would have been right.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, field, fields
from datetime import date, datetime
from fractions import Fraction
from functools import cache
from types import MappingProxyType
from typing import Any, TypeVar

from coop.ids import Subject, is_uuid
from coop.units.fault import NotUnderstood
from coop.units.quantity import Quantity
from coop.units.table import LENGTH, MASS, TEMPERATURE, UNITS, VOLUME

TEXT_MAX = 120
LIST_MAX = 12
SHOWN_DECIMALS = 3
SHOWN_UNITS = MappingProxyType(
    {VOLUME: "l", MASS: "kg", LENGTH: "mm", TEMPERATURE: "celsius"},
)
"""In what a limit is said to somebody who typed a unit that has a name but no symbol."""
_PART = re.compile(r"(?P<id>[0-9a-f-]{36})(:(?P<n>[2-9]))?")
_MOMENT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}T([01][0-9]|2[0-3]):[0-5][0-9]"
    r"(:[0-5][0-9](\.[0-9]{1,6})?)?(Z|[+-]([01][0-9]|2[0-3]):[0-5][0-9])"
)
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_DATED = re.compile(r"[0-9]{4}(-[0-9]{2}(-[0-9]{2})?)?")
YEAR_MIN = 1500
"""No card that is worked by is older."""
_ATTACHMENT = re.compile(r"[0-9a-f]{64}")


LIMITS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    dict.fromkeys(
        (
            "already-stopped",
            "another-kind-of-bath",
            "came-already",
            "corrected-meanwhile",
            "device-revoked",
            "edition-changed",
            "empty",
            "ends-before-it-starts",
            "finished",
            "given-up",
            "handed-in",
            "has-left",
            "in-the-future",
            "jar-taken-away",
            "key-not-ascii",
            "key-twice",
            "last-coordinator",
            "left-out",
            "lone-surrogate",
            "lot-of-other-salt",
            "missing",
            "more-than-taken-out",
            "more-than-weighed",
            "needs-a-page",
            "not-a-choice",
            "not-a-date-of-a-card",
            "not-a-day",
            "not-a-list",
            "not-a-mail-address",
            "not-a-number",
            "not-a-photo",
            "not-a-quantity",
            "not-a-record",
            "not-a-time",
            "not-allowed",
            "not-alum",
            "not-an-attachment",
            "not-an-id",
            "not-as-judged",
            "not-here",
            "not-json",
            "not-known",
            "not-on-this-device",
            "not-one-line",
            "not-plain",
            "not-stopped",
            "not-text",
            "not-with-this",
            "not-in-noise",
            "not-in-that-studio",
            "not-of-this-measure",
            "nothing-counted",
            "nothing-left",
            "number-too-large",
            "opened-already",
            "past-its-day",
            "other-ledger",
            "over-look-again",
            "password-is-common",
            "password-is-the-name",
            "pick-a-reading",
            "reason-needed",
            "record-too-long",
            "shelf-full",
            "sign-in-name-missing",
            "sign-in-name-taken",
            "sign-in-name-unprintable",
            "stands-elsewhere",
            "tag-not-read",
            "not-the-same-make",
            "the-same-bath",
            "the-same-lot",
            "the-same-person",
            "too-deep",
            "too-late",
            "under-look-again",
            "unknown-field",
            "unknown-kind",
            "unknown-outbox-version",
            "unknown-version",
            "water-only",
            "wrong-dimension",
            "wrong-password",
        ),
        (),
    )
    | dict.fromkeys(("mail-too-long", "password-too-long"), ("longest",))
    | dict.fromkeys(("sign-in-name-too-long", "too-long"), ("longest",))
    | dict.fromkeys(("not-a-whole-number", "out-of-range", "wrong-count"), ("low", "high"))
    | {
        "more-than-is-left": ("left",),
        "not-under-the-brim": ("brim_l",),
        "out-of-reach": ("low", "high", "unit"),
        "over-the-brim": ("brim_l", "would_l"),
        "password-too-short": ("shortest",),
        "photo-too-large": ("megabytes", "megapixels"),
        "thousands-or-decimals": ("written",),
        "too-many": ("high",),
        "too-much": ("high", "unit"),
        "vessel-in-use": ("bath",),
    }
)
"""The names of the limits that go with the code of a refusal; there are no other codes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """
    A draft that cannot be taken: the field, what is wrong in it, and the limits.

    `code` is one of `LIMITS`, and `limits` has just the names that stand there with it.
    """

    field: str
    code: str
    limits: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        assert sorted(name for name, _ in self.limits) == sorted(LIMITS[self.code]), self


class Slip(Exception):
    """Raised by readers only; `read_record` callers get the `refused` it carries."""

    def __init__(self, field: str, code: str, **limits: object) -> None:
        super().__init__(f"{field}: {code}")
        self.refused = Refused(
            field=field, code=code, limits=tuple((k, str(v)) for k, v in limits.items())
        )


Reader = Callable[[object, str], Any]
T = TypeVar("T")


def said(reader: Reader, *, optional: bool = False, default: Any = None) -> Any:
    """Declare a field of a content class together with its reader."""
    if optional:
        return field(default=default, metadata={"read": reader})
    return field(metadata={"read": reader})


def text(longest: int = TEXT_MAX) -> Reader:
    """Read a line of text: trimmed, not empty, no control characters."""

    def read(raw: object, where: str) -> str:
        line = _text(raw, where)
        if not line.strip():
            raise Slip(where, "empty")
        if len(line) > longest:
            raise Slip(where, "too-long", longest=longest)
        if any(ord(sign) < 32 for sign in line) or line != line.strip():
            raise Slip(where, "not-one-line")
        return line

    return read


def choice(*codes: str) -> Reader:
    """Read one of a closed set of codes."""

    def read(raw: object, where: str) -> str:
        code = _text(raw, where)
        if code not in codes:
            raise Slip(where, "not-a-choice")
        return code

    return read


def ref(raw: object, where: str) -> Subject:
    """Read an identifier: a UUID, or a UUID and `:2` for the second thing an entry made."""
    found = _PART.fullmatch(_text(raw, where))
    if found is None or not is_uuid(found["id"]):
        raise Slip(where, "not-an-id")
    return Subject(found[0])


def named_or_ref(*names: str) -> Reader:
    """Read an identifier, or one of the subjects that there is only one of."""

    def read(raw: object, where: str) -> Subject:
        return Subject(raw) if isinstance(raw, str) and raw in names else ref(raw, where)

    return read


def attachment_name(raw: object, where: str) -> str:
    """Read the name of an attachment: 64 hexadecimal digits."""
    name = _text(raw, where)
    if not _ATTACHMENT.fullmatch(name):
        raise Slip(where, "not-an-attachment")
    return name


def whole(low: int, high: int) -> Reader:
    """Read a whole number from `low` to `high`, written as text."""

    def read(raw: object, where: str) -> int:
        digits = _text(raw, where)
        if not re.fullmatch(r"-?[0-9]{1,9}", digits) or str(int(digits)) != digits:
            raise Slip(where, "not-a-whole-number", low=low, high=high)
        if not low <= int(digits) <= high:
            raise Slip(where, "out-of-range", low=low, high=high)
        return int(digits)

    return read


def quantity(dimension: str, *, low: Fraction | int = 0, high: Fraction | int) -> Reader:
    """
    Read a quantity of one dimension, `low` excluded and `high` included, both in the
    dimension's base unit (mL, g, mm, degree Celsius ...).
    """

    def read(raw: object, where: str) -> Quantity:
        if not isinstance(raw, Mapping):
            raise Slip(where, "not-a-quantity")
        try:
            amount = Quantity.from_wire(dict(raw))
        except NotUnderstood:
            raise Slip(where, "not-a-quantity") from None
        if amount.dimension != dimension:
            raise Slip(where, "wrong-dimension")
        if not low < amount.base <= high:
            raise _out_of_reach(where, amount, Fraction(low), Fraction(high))
        return amount

    return read


def _out_of_reach(where: str, amount: Quantity, low: Fraction, high: Fraction) -> Slip:
    """Say the limits in the unit that was typed, where that has a symbol."""
    unit = UNITS[amount.unit]
    if unit.one != unit.many:
        unit = UNITS[SHOWN_UNITS[unit.dimension]]
    least, most = ((limit - unit.offset) / unit.factor for limit in (low, high))
    if low < 0 and unit.dimension != TEMPERATURE:
        return Slip(where, "too-much", high=decimal_text(most), unit=unit.one)
    return Slip(
        where,
        "out-of-reach",
        low=decimal_text(least),
        high=decimal_text(most),
        unit=unit.one,
    )


def decimal_text(number: Fraction) -> str:
    """
    Return a limit with at most three decimals, and none that say nothing.

    >>> decimal_text(Fraction(100)), decimal_text(Fraction(9, 10)), decimal_text(Fraction(2, 3))
    ('100', '0.9', '0.667')
    """
    written = f"{float(number):.{SHOWN_DECIMALS}f}"
    return written.rstrip("0").rstrip(".")


def number(low: Fraction | int, high: Fraction | int) -> Reader:
    """Read an exact number in its wire form ('60', '0.75', '8/3'), both ends included."""

    def read(raw: object, where: str) -> Fraction:
        digits = _text(raw, where)
        if not re.fullmatch(r"-?[0-9]{1,12}(\.[0-9]{1,9}|/[1-9][0-9]{0,8})?", digits):
            raise Slip(where, "not-a-number")
        value = Fraction(digits)
        if not low <= value <= high:
            least, most = decimal_text(Fraction(low)), decimal_text(Fraction(high))
            raise Slip(where, "out-of-range", low=least, high=most)
        return value

    return read


def moment(raw: object, where: str) -> datetime:
    """Read a time with its offset (RFC 3339)."""
    written = _text(raw, where)
    if not _MOMENT.fullmatch(written):
        raise Slip(where, "not-a-time")
    try:
        when = datetime.fromisoformat(written)
    except ValueError:
        raise Slip(where, "not-a-time") from None
    if not 1970 <= when.year <= 9998:
        raise Slip(where, "not-a-time")
    return when


def day(raw: object, where: str) -> date:
    """Read a day of the calendar (RFC 3339, full-date)."""
    written = _text(raw, where)
    try:
        found = date.fromisoformat(written) if _DAY.fullmatch(written) else None
    except ValueError:
        found = None
    if found is None or not 1970 <= found.year <= 9998:
        raise Slip(where, "not-a-day")
    return found


def dated(raw: object, where: str) -> str:
    """Read a day, a month or a year as ISO 8601 writes it: what stands on a card."""
    written = _text(raw, where)
    if not _DATED.fullmatch(written):
        raise Slip(where, "not-a-date-of-a-card")
    year_only = len(written) == len("2019")
    first = f"{written}-01-01" if year_only else written
    try:
        found = date.fromisoformat(first if len(first) == len("2019-04-10") else f"{first}-01")
    except ValueError:
        raise Slip(where, "not-a-date-of-a-card") from None
    if found.year < YEAR_MIN:
        raise Slip(where, "not-a-date-of-a-card")
    return written


def many(reader: Reader, *, most: int = LIST_MAX, least: int = 0) -> Reader:
    """Read a list."""

    def read(raw: object, where: str) -> tuple[Any, ...]:
        if not isinstance(raw, list):
            raise Slip(where, "not-a-list")
        if not least <= len(raw) <= most:
            raise Slip(where, "wrong-count", low=least, high=most)
        return tuple(reader(one, f"{where}.{n}") for n, one in enumerate(raw))

    return read


def record(cls: type[T]) -> Reader:
    """Read a record into a content class."""

    def read(raw: object, where: str) -> T:
        if not isinstance(raw, Mapping):
            raise Slip(where, "not-a-record")
        return read_record(cls, raw, where)

    return read


def read_record(cls: type[T], raw: Mapping[str, object], where: str = "") -> T:
    """
    Read a record into a content class whose fields were declared with `said`.

    Raises:
        Slip: A field is missing, unknown or not in its form.
    """
    known = _readers(cls)  # type: ignore[arg-type]  # a class can be hashed
    dot = f"{where}." if where else ""
    for key in raw:
        if key not in known:
            raise Slip(f"{dot}{key}", "unknown-field")
    values: dict[str, Any] = {}
    for name, (read, required) in known.items():
        if name in raw:
            values[name] = read(raw[name], f"{dot}{name}")
        elif required:
            raise Slip(f"{dot}{name}", "missing")
    return cls(**values)


def faults_of(cls: type[Any], raw: Mapping[str, object]) -> tuple[Refused, ...]:
    """
    Return all that a record is refused for, each field by itself; empty where it reads.

    `read_record` stops at the first: whoever has a table or a form in hand mends all at once.
    """
    known = _readers(cls)  # type: ignore[arg-type]  # a class can be hashed
    found = [Refused(field=key, code="unknown-field") for key in raw if key not in known]
    for name, (read, required) in known.items():
        try:
            if name in raw:
                read(raw[name], name)
            elif required:
                raise Slip(name, "missing")
        except Slip as slip:
            found.append(slip.refused)
    return tuple(found)


@cache
def _readers(cls: type[Any]) -> Mapping[str, tuple[Reader, bool]]:
    return {one.name: (one.metadata["read"], one.default is MISSING) for one in fields(cls)}


def _text(raw: object, where: str) -> str:
    if not isinstance(raw, str):
        raise Slip(where, "not-text")
    return raw
