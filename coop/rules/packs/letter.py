"""
The figures of a letter, as somebody copies them line by line, and the pack they make.

Closed lists of this module: `LINES`, what one line says; `OUTLETS`, where it may speak of;
`FAULTS`, what can be wrong with a field.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType
from typing import Any, Final

from coop.rules.packs import amounts, words
from coop.rules.packs.reading import AREA_MAX
from coop.rules.packs.schema import Pack
from coop.rules.packs.tables import DECIMALS_MAX, FIGURE_MAX, TEXT_MAX, is_name

LINES_MAX: Final = 40
HEAD_TEXT_MAX: Final = 120
"""Signs of an authority, a title, a reference, a section: all of them fit one citation."""

PH: Final = "ph"
TEMPERATURE: Final = "temperature"
ANALYTE: Final = "analyte"
A_DAY: Final = "a_day"
A_MONTH: Final = "a_month"
NEEDS: Final = "needs"
NO_LUMPS: Final = "no_lumps"
BAN: Final = "ban"
BAN_WITH_METALS: Final = "ban_with_metals"
LINES: Final = (
    PH,
    TEMPERATURE,
    ANALYTE,
    A_DAY,
    A_MONTH,
    NEEDS,
    NO_LUMPS,
    BAN,
    BAN_WITH_METALS,
)
"""
What one line says: pH from, to or between; a temperature at most; so much of something in a
litre at most; so much poured a day, a calendar month at most; only after steps; nothing that a
13 mm screen holds back; nothing of this waste; nothing of it with metal pigments in it.
"""

OUTLETS: Final = tuple(one for one in words.OUTLETS if one != words.JAR)
TIERS: Final = (words.DISTRICT, words.SITE_PERMIT)
EVIDENCES: Final = (words.READ, words.INVENTED)
STEPS: Final = tuple(one for one in words.STEPS if one != "cool")
"""The steps that a line can need by themselves; cooling goes with a temperature."""

EMPTY: Final = "empty"
TOO_LONG: Final = "too-long"
NOT_ONE_OF: Final = "not-one-of"
NOT_A_NAME: Final = "not-a-name"
TOO_MANY: Final = "too-many"
OUT_OF_RANGE: Final = "out-of-range"
DECIMALS: Final = "decimals"
UPSIDE_DOWN: Final = "upside-down"
NOT_ASKED: Final = "not-asked"
TWICE: Final = "twice"
FAULTS: Final = (
    EMPTY,
    TOO_LONG,
    NOT_ONE_OF,
    NOT_A_NAME,
    TOO_MANY,
    OUT_OF_RANGE,
    DECIMALS,
    UPSIDE_DOWN,
    NOT_ASKED,
    TWICE,
)
"""
`upside-down` is a lower end over its upper end, or a day before the one it follows;
`not-asked` a figure, unit, step or substance that this kind of line does not have.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """
    One line of a letter.

    Attributes:
        says: One of `LINES`.
        wastes: Of what; empty means of everything.
        outlets: Where, at least one of `OUTLETS`.
        section: Where it stands in the letter.
        text: The letter's own words.
        low, high: In `unit`; of all but a pH there is `high` alone.
        of: The analyte.
        basis: For ammonia, as nitrogen or as ammonia.
        bounds_count: Whether a figure reckoned from what was put in will do for them.
        steps: What has to be done first.
    """

    says: str
    outlets: tuple[str, ...]
    section: str
    text: str
    wastes: tuple[str, ...] = ()
    low: Decimal | None = None
    high: Decimal | None = None
    unit: str = ""
    of: str = ""
    basis: str = ""
    bounds_count: bool = False
    steps: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Letter:
    """
    What an authority wrote to a studio.

    Attributes:
        reference: Theirs; empty where the letter has none.
        letter_on: Its date, from which it holds.
        checked_on, review_on: When somebody held the lines against it, and should again.
        area: From wide to narrow, down to the site.
        tier: District or site permit.
        evidence: Read; in a demonstration, invented.
    """

    authority: str
    title: str
    letter_on: date
    checked_on: date
    review_on: date
    area: tuple[str, ...]
    tier: str
    lines: tuple[Line, ...]
    reference: str = ""
    evidence: str = words.READ


@dataclass(frozen=True, slots=True)
class _Shape:
    """What a kind of line has: a kind of rule, a quantity, which ends, and fixed fields."""

    kind: str
    quantity: str = ""
    ends: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    fixed: tuple[tuple[str, Any], ...] = ()


def _poured(span: str) -> _Shape:
    fixed = (("sum_of", words.POURED), ("span", span))
    return _Shape(words.TOTAL, amounts.VOLUME, ("high",), STEPS, fixed)


_METALS: Final = {"fact": "metal_pigments", "op": "is", "value": words.YES}
_SHAPES: Final[Mapping[str, _Shape]] = MappingProxyType(
    {
        PH: _Shape(words.LIMIT, amounts.PH, ("low", "high"), STEPS),
        TEMPERATURE: _Shape(words.LIMIT, amounts.TEMPERATURE, ("high",), words.STEPS),
        ANALYTE: _Shape(words.LIMIT, amounts.MASS_PER_VOLUME, ("high",), STEPS),
        A_DAY: _poured(words.DAY),
        A_MONTH: _poured(words.CALENDAR_MONTH),
        NEEDS: _Shape(words.LIMIT, amounts.YES_NO, (), STEPS),
        NO_LUMPS: _Shape(words.LIMIT, amounts.YES_NO, (), STEPS),
        BAN: _Shape(words.BAN),
        BAN_WITH_METALS: _Shape(words.BAN, fixed=(("when", _METALS),)),
    }
)


def faults(letter: Letter) -> dict[str, str]:
    """
    Return what is wrong, by field; empty where `data_of` can be called.

    A field of a line is named after its place, from 0, as `lines-0-high`.
    """
    found = dict(_of_head(letter))
    if not letter.lines:
        found["lines"] = EMPTY
    if len(letter.lines) > LINES_MAX:
        found["lines"] = TOO_MANY
    for n, line in enumerate(letter.lines[:LINES_MAX]):
        found |= {f"lines-{n}-{field}": code for field, code in _of_line(line)}
        if line in letter.lines[:n]:
            found[f"lines-{n}-says"] = TWICE
    return found


def _of_head(letter: Letter) -> Iterator[tuple[str, str]]:
    yield from _texts(letter, ("authority", "title"), HEAD_TEXT_MAX)
    if letter.reference:
        yield from _texts(letter, ("reference",), HEAD_TEXT_MAX)
    yield from _chosen("tier", (letter.tier,), TIERS)
    yield from _chosen("evidence", (letter.evidence,), EVIDENCES)
    if not letter.area:
        yield "area", EMPTY
    elif len(letter.area) > AREA_MAX:
        yield "area", TOO_MANY
    elif not all(map(is_name, letter.area)):
        yield "area", NOT_A_NAME
    if letter.checked_on < letter.letter_on:
        yield "checked_on", UPSIDE_DOWN
    if letter.review_on <= letter.checked_on:
        yield "review_on", UPSIDE_DOWN


def _texts(of: object, fields: tuple[str, ...], most: int) -> Iterator[tuple[str, str]]:
    for field in fields:
        text = getattr(of, field)
        if not text.strip() or not text.isprintable():
            yield field, EMPTY
        elif len(text) > most:
            yield field, TOO_LONG


def _of_line(line: Line) -> Iterator[tuple[str, str]]:
    yield from _texts(line, ("section",), HEAD_TEXT_MAX)
    yield from _texts(line, ("text",), TEXT_MAX)
    yield from _chosen("wastes", line.wastes, words.WASTES)
    yield from _chosen("outlets", line.outlets, OUTLETS)
    if not line.outlets:
        yield "outlets", EMPTY
    if line.says not in LINES:
        yield "says", NOT_ONE_OF
        return
    shape = _SHAPES[line.says]
    yield from _chosen("steps", line.steps, shape.steps)
    if line.says == NEEDS and not line.steps:
        yield "steps", EMPTY
    yield from _of_analyte(line)
    yield from _of_figures(line, shape)


def _chosen(
    field: str, found: tuple[str, ...], options: tuple[str, ...]
) -> Iterator[tuple[str, str]]:
    if not options and found:
        yield field, NOT_ASKED
    elif set(found) - set(options):
        yield field, NOT_ONE_OF
    elif len(set(found)) < len(found):
        yield field, TWICE


def _of_analyte(line: Line) -> Iterator[tuple[str, str]]:
    """Give what is wrong with the substance; ammonia alone says as what it is counted."""
    if line.says != ANALYTE:
        asked = (("of", line.of), ("basis", line.basis), ("bounds_count", line.bounds_count))
        yield from ((field, NOT_ASKED) for field, one in asked if one)
        return
    if line.of not in words.ANALYTES:
        yield "of", NOT_ONE_OF if line.of else EMPTY
    if line.of != "ammonia":
        if line.basis:
            yield "basis", NOT_ASKED
    elif line.basis not in (words.AS_N, words.AS_NH3):
        yield "basis", NOT_ONE_OF if line.basis else EMPTY


def _of_figures(line: Line, shape: _Shape) -> Iterator[tuple[str, str]]:
    ends = {"low": line.low, "high": line.high}
    said = {field: n for field, n in ends.items() if n is not None}
    yield from ((field, NOT_ASKED) for field in said if field not in shape.ends)
    if shape.ends and not any(field in said for field in shape.ends):
        yield shape.ends[-1], EMPTY
    units = amounts.MEASURES[shape.quantity].units if shape.quantity else {}
    if not units:
        if line.unit:
            yield "unit", NOT_ASKED
    elif line.unit not in units:
        yield "unit", NOT_ONE_OF if line.unit else EMPTY
    else:
        yield from _of_ends(said, quantity=shape.quantity, unit=line.unit)


def _of_ends(
    said: Mapping[str, Decimal], *, quantity: str, unit: str
) -> Iterator[tuple[str, str]]:
    found = {field: _of_figure(n, quantity=quantity, unit=unit) for field, n in said.items()}
    if len(said) > 1 and not any(found.values()) and said["high"] <= said["low"]:
        found["high"] = UPSIDE_DOWN
    yield from ((field, code) for field, code in found.items() if code)


def _of_figure(n: Decimal, *, quantity: str, unit: str) -> str:
    measure = amounts.MEASURES[quantity]
    if not n.is_finite() or abs(n) > FIGURE_MAX:
        return OUT_OF_RANGE
    if round(n, DECIMALS_MAX) != n:
        return DECIMALS
    figure = amounts.in_base(Fraction(n), quantity=quantity, unit=unit)
    return "" if measure.low <= figure <= measure.high else OUT_OF_RANGE


def edition_of(previous: Iterable[Pack], pack_id: str) -> int:
    """Return the next edition of a pack: one more than the newest there is, from 1."""
    return 1 + max((one.edition for one in previous if one.id == pack_id), default=0)


def data_of(letter: Letter, *, pack_id: str, edition: int) -> dict[str, Any]:
    """
    Return a letter under the keys that `coop.rules.packs.reading.pack_of` takes.

    Args:
        letter: One without `faults`.
        pack_id: A name of small letters, digits and hyphens, the same for every edition.
        edition: As `edition_of` returns it.
    """
    assert not faults(letter), faults(letter)
    return {
        "id": pack_id,
        "edition": edition,
        "title": letter.title,
        "authority": letter.authority,
        "area": list(letter.area),
        "tier": letter.tier,
        "evidence": letter.evidence,
        "valid_from": letter.letter_on,
        "checked_on": letter.checked_on,
        "review_on": letter.review_on,
        "rules": list(_rules(letter)),
    }


def _rules(letter: Letter) -> Iterator[dict[str, Any]]:
    """Give a rule for each line, named after what it says and, if of one, its waste."""
    signs = (letter.authority, letter.letter_on.isoformat(), letter.reference)
    document = ", ".join(one for one in signs if one)
    seen: dict[str, int] = {}
    for line in letter.lines:
        parts = (*line.wastes[: len(line.wastes) == 1], line.says, line.of)
        name = "-".join(one.replace("_", "-") for one in parts if one)
        seen[name] = seen.get(name, 0) + 1
        again = seen[name] > 1
        yield {
            "id": f"{name}-{seen[name]}" if again else name,
            "outlets": list(line.outlets),
            "says": line.text,
            "cite": {
                "document": document,
                "section": line.section,
                "evidence": letter.evidence,
                "read_on": letter.checked_on,
            },
            **_rule(line, _SHAPES[line.says]),
        }


def _rule(line: Line, shape: _Shape) -> dict[str, Any]:
    """Return what a line's rule has besides its name and citation; what is empty is not."""
    said: dict[str, Any] = {
        "kind": shape.kind,
        "wastes": list(line.wastes),
        "steps": list(line.steps),
        "quantity": shape.quantity,
        "unit": line.unit,
        "of": line.of,
        "basis": line.basis,
        "bounds_count": line.bounds_count,
        **dict(shape.fixed),
        **_looked(line),
    }
    ends = [field for field in shape.ends if getattr(line, field) is not None]
    if ends:
        said["holds_if"] = {
            ("low",): words.AT_LEAST,
            ("high",): words.AT_MOST,
            ("low", "high"): words.WITHIN,
        }[tuple(ends)]
    kept = {key: one for key, one in said.items() if one}
    return kept | {field: getattr(line, field) for field in ends}


def _looked(line: Line) -> dict[str, str]:
    """Return the look that shows whether what the line needs was done."""
    if line.says not in (NEEDS, NO_LUMPS):
        return {}
    if line.says == NEEDS and "thin_until_it_runs" in line.steps:
        return {"of": "runs", "holds_if": words.IS, "value": words.YES}
    return {"of": "lumps", "holds_if": words.IS, "value": words.NO}
