"""
Tables of a TOML file, read strictly: every fault says its file, its line and what is right.

The line of a key comes from the TOML reader itself: it is the first line of the shortest
beginning of the file that has the key.
"""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any, Final

from coop.rules.packs.faults import Refused

BYTES_MAX: Final = 64 * 1024
TRIES_MAX: Final = 80
"""A statement of more lines is told by the line before it: no list that is taken is so long."""

LIST_MAX: Final = 40
NAME_MAX: Final = 60
TEXT_MAX: Final = 300
FIGURE_MAX: Final = 1_000_000_000
DECIMALS_MAX: Final = 6
PART_SHOWN: Final = 60

_NAME = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_FACT = re.compile(r"[a-z][a-z0-9]*(?:_[a-z0-9]+)*")
Path = tuple[str | int, ...]


def is_name(said: str) -> bool:
    """Return whether a text is a name: small letters, digits and hyphens, not too long."""
    return len(said) <= NAME_MAX and bool(_NAME.fullmatch(said))


@dataclass(frozen=True, slots=True)
class Source:
    """A file as it was read: its name and its text, empty where there is no file."""

    name: str
    text: str

    def data(self) -> dict[str, Any]:
        """Return what the file holds; figures keep their decimals."""
        if len(self.text.encode(errors="replace")) > BYTES_MAX:
            raise Refused("too-long", name=self.name, options=(str(BYTES_MAX),))
        try:
            return tomllib.loads(self.text, parse_float=Decimal)
        except (tomllib.TOMLDecodeError, RecursionError, ValueError) as why:
            said = str(why) or "too deep"
            at = re.search(r"at line ([0-9]+)", said)
            raise Refused(
                "not-toml", name=self.name, line=int(at[1]) if at else 0, part=said
            ) from None

    def line(self, path: Path) -> int:
        """Return the line, from 1, on which the statement of a key begins; 0 for the file."""
        if not path or not self.text:
            return 0
        lines = self.text.split("\n")
        before, found = 0, len(lines)
        while found - before > 1:
            middle = (before + found) // 2
            near = (*range(middle, found), *range(middle - 1, before, -1))[:TRIES_MAX]
            at = next((n for n in near if _beginning(lines, n) is not None), before)
            if at == before:
                break
            if _has(_beginning(lines, at), path):
                found = at
            else:
                before = at
        return before + 1


def _beginning(lines: list[str], count: int) -> dict[str, Any] | None:
    try:
        return tomllib.loads("\n".join(lines[:count]) + "\n")
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return None


def _has(data: object, path: Path) -> bool:
    for key in path:
        if isinstance(key, int):
            if not isinstance(data, list) or len(data) <= key:
                return False
        elif not isinstance(data, Mapping) or key not in data:
            return False
        data = data[key]  # type: ignore[index] # just looked at
    return True


class Table:
    """One table of a file, and where it stands; every reader refuses what does not fit."""

    def __init__(self, source: Source, path: Path, data: object, *, what: str) -> None:
        self.source = source
        self.path = path
        if not isinstance(data, Mapping):
            raise self.fault("wrong-type", "", part=what, options=("a table",))
        self.data = data

    def fault(
        self, code: str, key: str, *, part: object = "", options: tuple[object, ...] = ()
    ) -> Refused:
        """Return what is wrong with a key, with its line; without a key, with the table."""
        path = (*self.path, key) if key and key in getattr(self, "data", {}) else self.path
        return Refused(
            code,
            name=self.source.name,
            line=self.source.line(path),
            part=str(part or key)[:PART_SHOWN],
            options=tuple(map(str, options)),
        )

    def only(self, needed: tuple[str, ...], more: tuple[str, ...] = ()) -> None:
        """Refuse a key that is none of these, and a missing one of the first."""
        for key in self.data:
            if key not in needed and key not in more:
                raise self.fault("unknown-key", key, options=(*needed, *more))
        for key in needed:
            if key not in self.data:
                raise self.fault("missing-key", "", part=key)

    def facts(self) -> tuple[str, ...]:
        """Return the keys of a table of facts, at least one: small letters, digits, _."""
        for key in self.data:
            if len(key) > NAME_MAX or not _FACT.fullmatch(key):
                raise self.fault("not-a-fact", key, options=(NAME_MAX,))
        if not self.data:
            raise self.fault("needs", "", part=self.path[-1], options=("a fact and its value",))
        return tuple(self.data)

    def text(self, key: str, *, default: str = "", longest: int = TEXT_MAX) -> str:
        """Return a text of at least one sign."""
        if key not in self.data:
            return default
        found = self._text(key, self.data[key])
        if not 0 < len(found.strip()) <= longest or not found.isprintable():
            raise self.fault("text-long", key, options=(longest,))
        return found

    def name(self, key: str) -> str:
        """Return a name of small letters, digits and hyphens."""
        return self._name(key, self.data[key])

    def _name(self, key: str, found: object) -> str:
        said = self._text(key, found)
        if not is_name(said):
            raise self.fault("not-a-name", key, part=said, options=(NAME_MAX,))
        return said

    def _text(self, key: str, found: object) -> str:
        if not isinstance(found, str):
            raise self.fault("wrong-type", key, options=("a text",))
        return found

    def names(self, key: str) -> tuple[str, ...]:
        """Return a list of names, at least one."""
        return tuple(self._name(key, one) for one in self._list(key))

    def choice(self, key: str, options: tuple[str, ...], *, default: str = "") -> str:
        """Return one of some words."""
        if key not in self.data:
            return default
        return self._chosen(key, self.data[key], options)

    def choices(self, key: str, options: tuple[str, ...], *, some: bool = False) -> Any:
        """Return several of some words, in the words' order; `some` means at least one."""
        if key not in self.data:
            return ()
        found = [self._chosen(key, one, options) for one in self._list(key, empty=not some)]
        if len(set(found)) != len(found):
            raise self.fault("twice", key)
        return tuple(one for one in options if one in found)

    def _chosen(self, key: str, found: object, options: tuple[str, ...]) -> str:
        said = self._text(key, found)
        if said not in options:
            raise self.fault("not-one-of", key, part=f"{key} = {said}", options=options)
        return said

    def _list(self, key: str, *, empty: bool = False) -> list[Any]:
        found: list[Any] = self._typed(key, list, "a list")
        if len(found) > LIST_MAX:
            raise self.fault("too-many", key, options=(LIST_MAX,))
        if not found and not empty:
            raise self.fault("wrong-type", key, options=("a list that is not empty",))
        return found

    def flag(self, key: str, *, default: bool = False) -> bool:
        """Return true or false."""
        return default if key not in self.data else self._typed(key, bool, "true or false")

    def whole(self, key: str, low: int, high: int, *, default: int = 0) -> int:
        """Return a whole number from `low` to `high`."""
        if key not in self.data:
            return default
        found: int = self._typed(key, int, "a whole number")
        if not low <= found <= high:
            raise self.fault("out-of-range", key, options=(f"{low} to {high}",))
        return found

    def figure(self, key: str) -> Fraction | None:
        """Return an exact number, None where nothing is said."""
        if key not in self.data:
            return None
        found = self.data[key]
        if isinstance(found, bool) or not isinstance(found, int | Decimal):
            raise self.fault("wrong-type", key, options=("a number",))
        number = Fraction(found) if Decimal(found).is_finite() else None
        if number is None or abs(number) > FIGURE_MAX:
            wanted = f"-{FIGURE_MAX} to {FIGURE_MAX}"
            raise self.fault("out-of-range", key, options=(wanted,))
        if (number * 10**DECIMALS_MAX).denominator != 1:
            raise self.fault("decimals", key, options=(DECIMALS_MAX,))
        return number

    def day(self, key: str) -> date | None:
        """Return a date, None where nothing is said."""
        if key not in self.data:
            return None
        found = self.data[key]
        if isinstance(found, datetime) or not isinstance(found, date):
            raise self.fault("wrong-type", key, options=("a date, as 2026-11-27",))
        return found

    def moment(self, key: str) -> datetime:
        """Return a time with its offset from UTC."""
        found = self.data[key]
        if not isinstance(found, datetime) or found.utcoffset() is None:
            raise self.fault("no-zone", key, options=("2026-11-27T10:00:00+01:00",))
        return found

    def table(self, key: str) -> "Table":
        """Return a table in this one."""
        return Table(self.source, (*self.path, key), self.data[key], what=key)

    def tables(self, key: str, most: int) -> list["Table"]:
        """Return a list of tables; none where nothing is said."""
        if key not in self.data:
            return []
        found = self._typed(key, list, "a list of tables")
        if len(found) > most:
            raise self.fault("too-many", key, options=(most,))
        path = (*self.path, key)
        return [Table(self.source, (*path, n), one, what=key) for n, one in enumerate(found)]

    def _typed(self, key: str, wanted: type, said: str) -> Any:
        found = self.data[key]
        if not isinstance(found, wanted) or (isinstance(found, bool) and wanted is not bool):
            raise self.fault("wrong-type", key, options=(said,))
        return found
