"""
The slow walk of neutralising an old alum bath: where it stands and what comes next.

What was written decides, not who wrote it, so that two people can share one bucket. No dose is
worked out from a reading: a reading only says whether the next part that was weighed before
goes in, or some of the cup kept back. Local rules and licensed advice come first.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from fractions import Fraction
from itertools import accumulate

from coop.ledger.states import DrainReading, Treated
from coop.rules.packs import amounts, words
from coop.rules.packs.conditions import is_about
from coop.rules.packs.evaluation import in_force
from coop.rules.packs.facts import Facts
from coop.rules.packs.schema import Pack, Rule
from coop.science.defaults import value
from coop.science.neutralising import WHOLE_DIGITS, Parts, Walk

ALUM_BATH = "alum_bath"
LITTLE_CUP_ML = 10.0
"""With less of the cup left it is poured back: our own choice, no source."""
EARLY_BY = timedelta(minutes=1)
"""A clock shows whole minutes."""
CHANGES = ("base_in", "cup_back")
"""What changes the pH of what is in the bucket."""


class Next(StrEnum):
    """What comes next."""

    BEFORE = "before"
    KEEP_BACK = "keep-back"
    FIRST = "first"
    READ = "read"
    FINER = "finer"
    CLOSE = "close"
    MORE = "more"
    ASK_LOW = "ask-low"
    ASK_HIGH = "ask-high"
    CUP = "cup"
    BRAKE = "brake"
    OVERNIGHT = "overnight"
    STRAIN = "strain"
    MAY_IT_GO = "may-it-go"


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """
    Between which pH a neutralised bath has to come out.

    Attributes:
        titles: The packs whose rules made it narrower; none where it is only the usual one.
        usual_low, usual_high: Whether that end is common practice, for want of a rule.
    """

    low: Fraction
    high: Fraction
    titles: tuple[str, ...] = ()
    usual_low: bool = True
    usual_high: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Go:
    """
    What was done to one bucket since its cup was kept back.

    Attributes:
        number: From 1; 0 while nothing was done.
        kept_ml: The cup; 0 where none was kept back.
        base: What was put in.
        in_g: All of it.
        cup_in: How much of the cup is back in the bucket [1].
        last: What was done last that changed what is in the bucket.
        strained: Whether the floc was strained off since.
    """

    number: int
    kept_ml: float = 0.0
    base: str = ""
    in_g: float = 0.0
    cup_in: float = 0.0
    last: Treated | None = None
    strained: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """
    Where the walk stands.

    Attributes:
        weight_g: What to weigh next; 0 where nothing goes in.
        cup_ml: What to keep back or to pour back next.
        read_from: When the next reading means something; before, gas in it makes it low.
        reading: The reading by which this was found, the last one that counts.
        too_early: The last reading, where it does not count yet; else None.
    """

    step: Next
    go: Go
    weight_g: float = 0.0
    cup_ml: float = 0.0
    read_from: datetime | None = None
    reading: DrainReading | None = None
    too_early: DrainReading | None = None


def ph_window(
    packs: Iterable[Pack], *, area: tuple[str, ...], outlet: str, day: date, demo: bool
) -> Window:
    """
    Return between which pH the rules of a place want a spent alum bath at an outlet.

    Only a rule of the place itself can widen the usual window; any other can narrow it.
    """
    facts = Facts(waste=ALUM_BATH, outlet=outlet, area=area)
    found = [
        (pack, rule)
        for pack in in_force(packs, facts, day)
        for rule in pack.rules
        if _limits_ph(rule, facts)
    ]
    counts = {words.READ, words.INVENTED} if demo else {words.READ}
    local = {
        pack.id for pack, _ in found
        if pack.tier in words.LOCAL_TIERS and pack.evidence in counts
    }  # fmt: skip
    lows = {rule.low: pack for pack, rule in found if rule.low is not None}
    highs = {rule.high: pack for pack, rule in found if rule.high is not None}
    usual_low = not any(pack.id in local for pack in lows.values())
    usual_high = not any(pack.id in local for pack in highs.values())
    low = max([*lows, *([_usual("neutral_low_ph")] if usual_low else [])])
    high = min([*highs, *([_usual("neutral_high_ph")] if usual_high else [])])
    if low >= high:  # a rule of the place wants it beyond the usual: that end then is open
        low = low if low in lows else amounts.MEASURES[amounts.PH].low
        high = high if high in highs else amounts.MEASURES[amounts.PH].high
    by = [pack for end, ends in ((low, lows), (high, highs)) for pack in _at(end, ends)]
    return Window(
        low=low,
        high=high,
        titles=tuple(dict.fromkeys(pack.title for pack in by)),
        usual_low=low == _usual("neutral_low_ph") and low not in lows,
        usual_high=high == _usual("neutral_high_ph") and high not in highs,
    )


def _at(end: Fraction, ends: Mapping[Fraction, Pack]) -> Iterator[Pack]:
    if end in ends:
        yield ends[end]


def _limits_ph(rule: Rule, facts: Facts) -> bool:
    wanted = rule.kind == words.LIMIT and rule.quantity == amounts.PH
    here = rule.point != words.PLANT_INLET and rule.holds_if != words.OUTSIDE
    return wanted and here and is_about(rule, facts)


def _usual(name: str) -> Fraction:
    return Fraction(str(value(name)))


def is_limited(
    packs: Iterable[Pack], of: str, *, area: tuple[str, ...], outlet: str, day: date
) -> bool:
    """Say whether a rule in force limits something in a spent alum bath at an outlet."""
    facts = Facts(waste=ALUM_BATH, outlet=outlet, area=area)
    return any(
        rule.of == of and rule.kind == words.LIMIT and is_about(rule, facts)
        for pack in in_force(packs, facts, day)
        for rule in pack.rules
    )


def go_of(treated: Sequence[Treated]) -> Go:
    """
    Return what was done to the bucket that is worked on.

    What went in before any cup was kept back is in the bucket all the same: there is no brake.
    """
    kept = [place for place, one in enumerate(treated) if one.step == "kept_back"]
    since = treated[kept[-1] :] if kept else treated
    put_in = [one for one in since if one.base]
    changed = [one for one in since if one.step in CHANGES]
    if not kept and not changed:
        return Go(number=0)
    last = changed[-1] if changed else None
    after = since[since.index(last) :] if last else ()
    kept_ml = since[0].volume_ml if kept else 0.0
    return Go(
        number=max(1, len(kept)),
        kept_ml=kept_ml,
        base=put_in[-1].base if put_in else "",
        in_g=sum(one.weight_g for one in put_in),
        cup_in=_cup_in([one for one in since if one.step == "cup_back"], kept_ml),
        last=last,
        strained=any(one.step == "strained" for one in after),
    )


def is_going_on(treated: Sequence[Treated]) -> bool:
    """Say whether a walk was begun, and the floc was not strained off since."""
    go = go_of(treated)
    return go.number > 0 and not go.strained


def _cup_in(cups: Sequence[Treated], kept_ml: float) -> float:
    """Return how much of the cup is back [1]: of one with its share of base, all of it."""
    if any(one.base or not one.volume_ml for one in cups):
        return 1.0
    back_ml = sum(one.volume_ml for one in cups)
    return 1.0 if kept_ml - back_ml < LITTLE_CUP_ML else back_ml / kept_ml


def stand(
    treated: Sequence[Treated],
    readings: Sequence[DrainReading],
    walk: Walk,
    window: Window,
    *,
    reads_before: bool = True,
) -> Stand:
    """
    Return where a walk stands and what comes next.

    Args:
        treated, readings: All of one bath, the oldest first.
        walk: Its figures, those of one bucket.
        reads_before: Whether it can be read before anything goes in.
    """
    go = go_of(treated)
    read = [one for one in readings if one.ph]
    if not go.number:
        step = Next.BEFORE if reads_before and not read else Next.KEEP_BACK
        before = read[-1] if read else None
        return Stand(step=step, go=go, cup_ml=1000 * walk.kept_cup_l, reading=before)
    if go.last is None:
        return Stand(step=Next.FIRST, go=go, weight_g=walk.parts.first_g)
    read_from = go.last.at + timedelta(minutes=value("stir_out_min"))
    since = [one for one in read if (one.at, one.entry) > (go.last.at, go.last.entry)]
    reading = _counting(since, read_from, window)
    step = Next.READ if reading is None else _by_reading(go, reading, walk, window)
    return Stand(
        step=step,
        go=go,
        weight_g=_weight_g(step, go, walk.parts),
        cup_ml=_cup_ml(step, go, walk),
        read_from=go.last.at + _overnight() if step is Next.OVERNIGHT else read_from,
        reading=reading,
        too_early=since[-1] if since and since[-1] is not reading else None,
    )


def _counting(
    since: Iterable[DrainReading], read_from: datetime, window: Window
) -> DrainReading | None:
    """Return the last reading that says anything: not one with gas in it that is low."""
    found = None
    for one in since:
        if one.at >= read_from - EARLY_BY or _place(one, window) == ">":
            found = one
    return found


def clear_of(window: Window, step: str) -> tuple[Fraction, Fraction]:
    """Return what a scale of such steps has to read, to be in a window by one of them."""
    return window.low + Fraction(step or 0), window.high - Fraction(step or 0)


def _is_within(window: Window, reading: DrainReading) -> bool:
    """Say whether a reading is in a window as it stands, its scale left aside."""
    return window.low <= Fraction(reading.ph) <= window.high


def _place(reading: DrainReading, window: Window) -> str:
    """Say whether a reading is under, in or over a window by one step of its own scale."""
    ph, (low, high) = Fraction(reading.ph), clear_of(window, reading.step)
    is_under, is_over = ph < low, ph > high
    if is_under and is_over:
        return "?" if _is_within(window, reading) else "<" if ph < window.low else ">"
    return "<" if is_under else ">" if is_over else "="


def _by_reading(go: Go, reading: DrainReading, walk: Walk, window: Window) -> Next:
    is_inside = _is_within(window, reading)
    match _place(reading, window):
        case "?":
            return Next.FINER
        case "<":
            more = Next.MORE if _weight_g(Next.MORE, go, walk.parts) else Next.ASK_LOW
            return Next.CLOSE if more is Next.ASK_LOW and is_inside else more
        case ">":
            more = Next.BRAKE if go.cup_in < 1 else Next.ASK_HIGH
            return Next.CLOSE if more is Next.ASK_HIGH and is_inside else more
    if go.cup_in < 1:
        return Next.CUP
    return Next.KEEP_BACK if go.number < walk.go_count else _when_in(go, reading)


def _when_in(go: Go, reading: DrainReading) -> Next:
    """Return what comes once the last bucket, its cup in it, is in the window."""
    assert go.last is not None
    if reading.at < go.last.at + _overnight():
        return Next.OVERNIGHT
    return Next.MAY_IT_GO if go.strained else Next.STRAIN


def _overnight() -> timedelta:
    return timedelta(hours=value("overnight_h"))


def _weight_g(step: Next, go: Go, parts: Parts) -> float:
    """Return what to weigh next: what was to be in by the next part, less what is in."""
    if step is Next.CUP:
        return _share_left_g(parts, go)
    if step is not Next.MORE:
        return 0.0
    due_g = next((end for end in _ends(parts, go) if end - go.in_g >= parts.scale_step_g), 0.0)
    return round(max(0.0, due_g - go.in_g), WHOLE_DIGITS)


def _share_left_g(parts: Parts, go: Go) -> float:
    """Return what goes in with the rest of the cup, in whole steps of the scale."""
    count = round(parts.cup_share_g / parts.scale_step_g * (1 - go.cup_in))
    return round(count * parts.scale_step_g, WHOLE_DIGITS)


def _ends(parts: Parts, go: Go) -> Iterator[float]:
    """Give what is in the bucket after each part; the cup's own share once it is back."""
    total_g = 0.0
    for total_g in accumulate((parts.first_g, *parts.rest_g)):
        yield total_g
    yield total_g + parts.cup_share_g - _share_left_g(parts, go)


def _cup_ml(step: Next, go: Go, walk: Walk) -> float:
    """Return what to keep back, or how much of the cup to pour back: the rest, or a third."""
    if step is Next.KEEP_BACK:
        return 1000 * walk.kept_cup_l
    left_ml = (1 - go.cup_in) * go.kept_ml
    if step is Next.BRAKE:
        return min(left_ml, go.kept_ml / value("rest_part_count"))
    return left_ml if step is Next.CUP else 0.0
