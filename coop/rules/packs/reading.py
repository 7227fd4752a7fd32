"""
Strict loading of a pack: a text in TOML, or the fields of a page put together as one.

Whoever copies a figure from a letter gets told of every slip with its line, and what would be
right; nothing is guessed and nothing is left out in silence.
"""

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType
from typing import Any, Final

from coop.ledger.canon import ENTRY_BYTES_MAX, NotCanonical, canonical, digest
from coop.rules.packs import amounts, words
from coop.rules.packs.measured import analyte_of, basis_of, fits, unit_of
from coop.rules.packs.schema import ALWAYS, Cite, Condition, Pack, Rule
from coop.rules.packs.tables import NAME_MAX, Source, Table
from coop.rules.packs.words import Outcome
from coop.units.number import wire

RULES_MAX: Final = 80
AREA_MAX: Final = 6
EDITION_MAX: Final = 9_999
DAYS_MAX: Final = 3_660
SPAN_DAYS_MAX: Final = 400
"""Over so many days a sum is looked back at: a year, and a month more."""
YEARS_MAX: Final = 100
READINGS_MIN_MAX: Final = 50
DEPTH_MAX: Final = 3
PARTS_MAX: Final = 12

_HEAD = (
    "id",
    "edition",
    "title",
    "authority",
    "area",
    "tier",
    "evidence",
    "valid_from",
    "checked_on",
    "review_on",
    "rules",
)
_COMMON = ("id", "kind", "outlets", "cite")
_MORE = ("wastes", "when", "says")
_READING = ("of", "basis", "low", "high", "low_in", "high_in", "value", "unit", "fresh_h")
_SUM = ("sum_of", "span", "span_days")
KEYS: Final[Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]]] = MappingProxyType(
    {
        words.LIMIT: (
            ("quantity", "holds_if"),
            (
                *_READING,
                "needed_when",
                "point",
                "span",
                "readings_min",
                "bounds_count",
                "if_fails",
                "if_unknown",
                "if_stale",
                "steps",
                "duties",
            ),
        ),
        words.BAN: ((), ("if_fails", "if_unknown", "duties")),
        words.CLASSIFY: (
            ("sets",),
            ("quantity", "holds_if", *_READING, *_SUM, "bounds_count"),
        ),
        words.TOTAL: (
            ("quantity", "holds_if", "high", "unit", "sum_of", "span"),
            ("span_days", "if_fails", "if_unknown", "steps", "duties"),
        ),
        words.CLOCK: (
            ("starts", "days"),
            ("first_day_counts", "warn_days", "if_fails", "if_unknown", "duties"),
        ),
        words.LABEL: (("shows",), ("if_fails", "duties")),
        words.KEEP: (("keep_years", "records"), ()),
    }
)
"""The keys each kind needs, and those it may have, besides what all have."""

_FAILS: Final = MappingProxyType(
    {
        words.LIMIT: Outcome.NOT_YET,
        words.BAN: Outcome.NOT_DOWN_HERE,
        words.TOTAL: Outcome.NOT_YET,
        words.CLOCK: Outcome.ASK_FIRST,
        words.LABEL: Outcome.AFTER_STEPS,
    }
)
_UNKNOWN_MAY: Final = (Outcome.ASK_FIRST, Outcome.MEASURE_FIRST)


def read_pack(text: str, *, name: str, demo: bool) -> Pack:
    """
    Return the pack of a text in TOML.

    Args:
        text: What the file holds, at most 64 KiB.
        name: What the file is called, for what is told of it.
        demo: Whether invented figures are taken.

    Raises:
        Refused: With file and line, and what would be right.
    """
    source = Source(name, text)
    return _pack(Table(source, (), source.data(), what=name), demo)


def pack_of(data: Mapping[str, Any], *, name: str, demo: bool) -> Pack:
    """
    Return the pack of what a page put together, under the keys of a file.

    Args:
        data: Figures as int or Decimal, days as date.
        name: What it is called, for what is told of it.
        demo: Whether invented figures are taken.

    Raises:
        Refused: With the key, and what would be right.
    """
    return _pack(Table(Source(name, ""), (), data, what=name), demo)


def _pack(head: Table, demo: bool) -> Pack:
    head.only(_HEAD, ("valid_until",))
    evidence = head.choice("evidence", words.EVIDENCES)
    if evidence == words.INVENTED and not demo:
        raise head.fault("invented", "evidence", options=("--demo",))
    valid_from, valid_until = _dates(head)
    rules = tuple(_rules(head, evidence))
    return Pack(
        id=head.name("id"),
        edition=head.whole("edition", 1, EDITION_MAX),
        title=head.text("title"),
        authority=head.text("authority"),
        area=_area(head),
        tier=head.choice("tier", words.TIERS),
        evidence=evidence,
        valid_from=valid_from,
        valid_until=valid_until,
        checked_on=_day(head, "checked_on"),
        review_on=_day(head, "review_on"),
        rules=rules,
        digest=_digest(head),
    )


def _area(head: Table) -> tuple[str, ...]:
    found = head.names("area")
    if len(found) > AREA_MAX:
        raise head.fault("too-many", "area", options=(AREA_MAX,))
    return found


def _dates(head: Table) -> tuple[date, date | None]:
    valid_from, valid_until = _day(head, "valid_from"), head.day("valid_until")
    if valid_until is not None and valid_until <= valid_from:
        raise head.fault("backwards", "valid_until", options=(f"valid_from, {valid_from}",))
    checked_on, review_on = _day(head, "checked_on"), _day(head, "review_on")
    if review_on <= checked_on:
        raise head.fault("backwards", "review_on", options=(f"checked_on, {checked_on}",))
    return valid_from, valid_until


def _day(table: Table, key: str) -> date:
    found = table.day(key)
    assert found is not None, f"{key} is a key that is needed"
    return found


def _rules(head: Table, evidence: str) -> Iterator[Rule]:
    """Give the rules; each condition asks what there is, or what another rule here sets."""
    tables = head.tables("rules", RULES_MAX)
    if not tables:
        raise head.fault("needs", "rules", options=("at least one rule",))
    known: dict[str, tuple[str, ...]] = dict(words.FACTS)
    for table in tables:
        for fact, answers in _set_by(table).items():
            known[fact] = (*known.get(fact, ()), *answers)
    seen: set[str] = set()
    for table in tables:
        rule = _rule(table, known, evidence)
        if rule.id in seen:
            raise table.fault("twice", "id", part=f"the id {rule.id}")
        seen.add(rule.id)
        yield rule


def _set_by(table: Table) -> dict[str, tuple[str, ...]]:
    """Return what a rule sets; a fact that people state is never set by a rule."""
    if "sets" not in table.data:
        return {}
    sets = table.table("sets")
    found: dict[str, tuple[str, ...]] = {}
    for fact in sets.facts():
        if fact in words.FACTS:
            raise sets.fault("does-not-go-with", fact, options=("what people state",))
        found[fact] = (sets.text(fact, longest=NAME_MAX),)
    return found


def _rule(table: Table, known: Mapping[str, tuple[str, ...]], evidence: str) -> Rule:
    kind = table.choice("kind", words.KINDS)
    if not kind:
        raise table.fault("missing-key", "", part="kind")
    needed, more = KEYS[kind]
    table.only((*_COMMON, *needed), (*_MORE, *more))
    return Rule(
        id=table.name("id"),
        kind=kind,
        outlets=table.choices("outlets", words.OUTLETS, some=True),
        wastes=table.choices("wastes", words.WASTES, some=True),
        when=_when(table, "when", known),
        needed_when=_when(table, "needed_when", known),
        says=table.text("says"),
        cite=_cite(table.table("cite"), evidence),
        duties=table.choices("duties", words.DUTIES),
        steps=table.choices("steps", words.STEPS),
        **_measured(table, kind),
        **_summed(table, kind),
        **_outcomes(table, kind),
        **_clock(table),
        sets=tuple((fact, value) for fact, (value,) in _set_by(table).items()),
        shows=table.choices("shows", words.SHOWN, some=True),
        keep_years=table.whole("keep_years", 1, YEARS_MAX),
        records=table.choices("records", words.RECORDS, some=True),
    )


def _when(table: Table, key: str, known: Mapping[str, tuple[str, ...]]) -> Condition:
    return _condition(table.table(key), known, 0) if key in table.data else ALWAYS


def _condition(table: Table, known: Mapping[str, tuple[str, ...]], depth: int) -> Condition:
    if depth > DEPTH_MAX:
        raise table.fault("too-deep", "", part="when", options=(DEPTH_MAX,))
    if "fact" in table.data:
        table.only(("fact", "op", "value"))
        fact = table.text("fact", longest=NAME_MAX)
        if fact not in known:
            raise table.fault("unknown-fact", "fact", part=fact, options=tuple(known))
        value = table.choice("value", known[fact])
        return Condition(op=table.choice("op", ("is", "is_not")), fact=fact, value=value)
    table.only((), ("all", "any", "not"))
    if len(table.data) != 1:
        raise table.fault("needs", "", part="when", options=("one of all, any, not, fact",))
    (op,) = table.data
    parts = [table.table("not")] if op == "not" else table.tables(op, PARTS_MAX)
    if not parts:
        raise table.fault("needs", op, options=("at least one condition",))
    return Condition(op=op, parts=tuple(_condition(one, known, depth + 1) for one in parts))


def _cite(table: Table, evidence: str) -> Cite:
    table.only(("document", "section", "evidence"), ("read_on",))
    own = table.choice("evidence", words.EVIDENCES)
    mixed = {own, evidence} != {words.INVENTED} and words.INVENTED in {own, evidence}
    if mixed or (own, evidence) == (words.RECALLED, words.READ):
        raise table.fault("evidence", "evidence", part=own, options=(evidence,))
    return Cite(
        document=table.text("document"),
        section=table.text("section"),
        evidence=own,
        read_on=table.day("read_on"),
    )


def _measured(table: Table, kind: str) -> dict[str, Any]:
    """Return what a rule says of a reading; nothing where it reads none."""
    if "quantity" not in table.data:
        for key in (*_READING, "holds_if", *_SUM, "bounds_count"):
            if key in table.data:
                raise table.fault("needs", key, options=("quantity",))
        return {}
    summed = kind == words.TOTAL or "sum_of" in table.data
    quantities = (amounts.MASS, amounts.VOLUME) if summed else tuple(amounts.MEASURES)
    quantity = table.choice("quantity", quantities)
    measure = amounts.MEASURES[quantity]
    holds_if = _holds_if(table, quantity, kind)
    low, high = _ends(table, quantity, holds_if)
    return {
        "quantity": quantity,
        "holds_if": holds_if,
        "of": analyte_of(table, quantity),
        "basis": basis_of(table, quantity),
        "low": low,
        "high": high,
        "low_in": table.flag("low_in", default=True),
        "high_in": table.flag("high_in", default=True),
        "value": _value(table, quantity),
        "unit": unit_of(table, quantity),
        "point": table.choice("point", words.POINTS, default="end_of_pipe"),
        "fresh_h": table.whole("fresh_h", 1, measure.fresh_h, default=measure.fresh_h),
        "bounds_count": _bounds_count(table, quantity),
    }


def _holds_if(table: Table, quantity: str, kind: str) -> str:
    if "holds_if" not in table.data:
        raise table.fault("missing-key", "", part="holds_if")
    if quantity == amounts.YES_NO:
        return table.choice("holds_if", (words.IS,))
    if kind == words.TOTAL:
        return table.choice("holds_if", (words.AT_MOST, words.UNDER))
    return table.choice("holds_if", tuple(one for one in words.HOLDS_IF if one != words.IS))


def _ends(
    table: Table, quantity: str, holds_if: str
) -> tuple[Fraction | None, Fraction | None]:
    wanted = words.ENDS[holds_if]
    for key in ("low", "high"):
        if key in table.data and key not in wanted:
            raise table.fault("does-not-go-with", key, options=(f"holds_if = {holds_if}",))
        if key in wanted and key not in table.data:
            raise table.fault("needs", "holds_if", options=(key,))
    for key in ("low_in", "high_in"):
        if key in table.data and len(wanted) != len(words.ENDS[words.WITHIN]):
            raise table.fault("does-not-go-with", key, options=(f"holds_if = {holds_if}",))
    low, high = (_end(table, key, quantity) for key in ("low", "high"))
    if low is not None and high is not None and high <= low:
        raise table.fault("backwards", "high", options=("low",))
    return low, high


def _end(table: Table, key: str, quantity: str) -> Fraction | None:
    found = table.figure(key)
    if found is not None:
        fits(table, key, found, quantity=quantity, unit=unit_of(table, quantity))
    return found


def _value(table: Table, quantity: str) -> str:
    if quantity == amounts.YES_NO:
        if "value" not in table.data:
            raise table.fault("needs", "holds_if", options=("value", words.YES, words.NO))
        return table.choice("value", (words.YES, words.NO))
    if "value" in table.data:
        raise table.fault("does-not-go-with", "value", options=(f"quantity = {quantity}",))
    return ""


def _bounds_count(table: Table, quantity: str) -> bool:
    found = table.flag("bounds_count")
    if found and quantity not in amounts.ANALYSED:
        raise table.fault(
            "does-not-go-with", "bounds_count", options=(f"quantity = {quantity}",)
        )
    return found


def _summed(table: Table, kind: str) -> dict[str, Any]:
    """Return over which span a rule reads or sums."""
    summed = kind == words.TOTAL or "sum_of" in table.data
    spans = words.TOTAL_SPANS if summed else words.LIMIT_SPANS
    if summed and "span" not in table.data:
        raise table.fault("needs", "sum_of", options=("span", *spans))
    span = table.choice("span", spans, default=words.INSTANT)
    if span == words.DAY and table.data.get("quantity") == amounts.PH:
        raise table.fault("no-mean", "span", options=(words.INSTANT,))
    rolling = span == words.ROLLING_DAYS
    if rolling != ("span_days" in table.data):
        if rolling:
            raise table.fault("needs", "span", options=("span_days",))
        raise table.fault("does-not-go-with", "span_days", options=(f"span = {span}",))
    return {
        "sum_of": table.choice("sum_of", words.SUMS),
        "span": span,
        "span_days": table.whole("span_days", 1, SPAN_DAYS_MAX),
        "readings_min": table.whole("readings_min", 1, READINGS_MIN_MAX, default=1),
    }


def _outcomes(table: Table, kind: str) -> dict[str, Any]:
    """Return the outcomes; failing is never milder than not knowing, which never passes."""
    if kind not in _FAILS:
        return {}
    options = tuple(Outcome)
    fails = Outcome(table.choice("if_fails", options, default=_FAILS[kind]))
    looked = table.data.get("quantity") == amounts.YES_NO
    usual = Outcome.MEASURE_FIRST if kind == words.LIMIT and not looked else Outcome.ASK_FIRST
    unknown = Outcome(table.choice("if_unknown", options, default=usual))
    stale = Outcome(table.choice("if_stale", options, default=unknown))
    for key, one in (("if_unknown", unknown), ("if_stale", stale)):
        if one not in _UNKNOWN_MAY:
            raise table.fault("unknown-passes", key, part=one, options=_UNKNOWN_MAY)
    if stale.rank < unknown.rank:
        raise table.fault("milder", "if_stale", options=(unknown,))
    least = Outcome.AFTER_STEPS if kind == words.LABEL else stale
    if fails.rank < least.rank:
        raise table.fault("milder", "if_fails", part=f"if_fails = {fails}", options=(least,))
    return {"if_fails": fails, "if_unknown": unknown, "if_stale": stale}


def _clock(table: Table) -> dict[str, Any]:
    days = table.whole("days", 1, DAYS_MAX)
    return {
        "starts": table.choice("starts", words.STARTS),
        "days": days,
        "first_day_counts": table.flag("first_day_counts"),
        "warn_days": table.whole("warn_days", 0, max(days - 1, 0)),
    }


def _digest(head: Table) -> str:
    """Return the digest of what is written: its head, and the digest of each rule in turn."""
    top = {key: _plain(value) for key, value in head.data.items() if key != "rules"}
    rules = []
    for table in head.tables("rules", RULES_MAX):
        try:
            rules.append(digest(canonical(_plain(table.data))))
        except NotCanonical:
            most = (str(ENTRY_BYTES_MAX),)
            raise table.fault("rule-long", "", part=table.data["id"], options=most) from None
    return digest(canonical({**top, "rules": rules}))


def _plain(value: Any) -> Any:
    match value:
        case Mapping():
            return {key: _plain(one) for key, one in value.items()}
        case list():
            return [_plain(one) for one in value]
        case bool():
            return "true" if value else "false"
        case int() | Decimal():
            return wire(Fraction(value))
        case date():
            return value.isoformat()
    return value
