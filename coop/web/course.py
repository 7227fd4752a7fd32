"""The charts of a bath: its history put into strength and level over time."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any

from coop.actions.see_baths import BathHistory, OverTime, Read, course, laying_l
from coop.ledger import kinds
from coop.ledger.baths import Step
from coop.rules.baths import BathLook
from coop.science.bath_readings import GRAVITY, LEVEL
from coop.web import charts
from coop.web import words as say
from coop.web.charts import BathChart, DrawnChart, Line, LineKind, draw_chart
from coop.web.i18n import N_, Words

STEPS_DRAWN = 120
CHART_MIN = timedelta(hours=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Course:
    """What both charts of a bath are drawn from."""

    words: Words
    look: BathLook
    from_at: datetime
    until_at: datetime
    points: tuple[OverTime, ...]
    reads: tuple[Read, ...]
    events: tuple[charts.Event, ...]
    stops: tuple[charts.Stop, ...]


def draw(
    words: Words, look: BathLook, history: BathHistory, *, now: datetime
) -> tuple[DrawnChart, ...]:
    """Return the charts of strength and level, over the last `STEPS_DRAWN` entries."""
    steps = history.steps[-STEPS_DRAWN:]
    if not steps:
        return ()
    start = min(steps[0].state.at, now)
    end = look.state.finished_at or now
    until = max(end, start + CHART_MIN)
    seen = _Course(
        words=words,
        look=look,
        from_at=start,
        until_at=until,
        points=course(steps, look.around, until=max(end, steps[-1].state.at)),
        reads=tuple(read for read in history.reads if start <= read.at <= until),
        events=tuple(_event(words, step) for step in steps),
        stops=_stops(words, steps, start),
    )
    return _strength_chart(seen), _level_chart(seen)


def _strength_chart(seen: _Course) -> DrawnChart:
    return _chart(
        seen,
        key="strength",
        title=seen.words.gettext("Strength over time"),
        description=_said_of_strength(seen.words, seen.points),
        unit="g/L",
        curve=_curve(seen.points, _strength),
        readings=_readings(seen, GRAVITY, 1.0),
        lines=_strength_lines(seen.words, seen.look),
    )


def _level_chart(seen: _Course) -> DrawnChart:
    return _chart(
        seen,
        key="level",
        title=seen.words.gettext("Level over time"),
        description=_said_of_level(seen.words, seen.points),
        unit="L",
        curve=_curve(seen.points, _level),
        readings=_readings(seen, LEVEL, 1000.0),
        lines=_level_lines(seen.words, seen.look),
    )


def _chart(seen: _Course, **own: Any) -> DrawnChart:
    return draw_chart(
        BathChart(
            zone=seen.words.zone,
            from_at=seen.from_at,
            until_at=seen.until_at,
            events=seen.events,
            stops=seen.stops,
            seed_id=seen.look.state.id,
            **own,
        )
    )


Values = Callable[[OverTime], tuple[float, float, float]]


def _strength(point: OverTime) -> tuple[float, float, float]:
    known = point.strength
    return known.low_g_per_l, known.middle_g_per_l, known.high_g_per_l


def _level(point: OverTime) -> tuple[float, float, float]:
    known = point.strength
    return known.volume_low_l, known.volume_l, known.volume_high_l


def _curve(points: tuple[OverTime, ...], values: Values) -> tuple[charts.CurvePoint, ...]:
    return tuple(
        charts.CurvePoint(at=point.at, low=low, middle=middle, high=high)
        for point in points
        for low, middle, high in [values(point)]
    )


def _readings(seen: _Course, quantity: str, scale: float) -> tuple[charts.Reading, ...]:
    return tuple(
        charts.Reading(
            at=read.at,
            value=read.value / scale,
            low=max(0.0, read.value - read.half) / scale,
            high=(read.value + read.half) / scale,
            applied=read.applied,
            words=say.choice(seen.words, "instrument", read.instrument),
        )
        for read in seen.reads
        if read.quantity == quantity
    )


def _strength_lines(words: Words, look: BathLook) -> tuple[Line, ...]:
    lines = look.answer.lines
    if lines is None:
        return ()
    return (
        _line(lines.target_g_per_l, "target", words.gettext("target")),
        _line(lines.look_again_g_per_l, "look-again", words.gettext("look again")),
        _line(lines.do_not_use_g_per_l, "do-not-use", words.gettext("do not use")),
    )


def _level_lines(words: Words, look: BathLook) -> tuple[Line, ...]:
    lines = []
    if look.around.vessel is not None:
        brim = look.around.vessel.brim_ml / 1000
        lines.append(_line(brim, "brim", words.gettext("brim")))
    laying = laying_l(look)
    if laying is not None:
        lines.append(_line(laying, "laying", words.gettext("to lay a sheet")))
    return tuple(lines)


def _line(value: float, kind: LineKind, text: str) -> Line:
    return Line(value=value, kind=kind, words=text)


def _event(words: Words, step: Step) -> charts.Event:
    return charts.Event(at=step.entry.at, words=in_short(words, step.entry.content))


IN_SHORT: Mapping[type[Any], str] = MappingProxyType(
    {
        kinds.BathMixed: N_("mixed"),
        kinds.BathToppedUp: N_("topped up"),
        kinds.BathSplit: N_("poured apart"),
        kinds.BathJoined: N_("poured together"),
        kinds.BathCarried: N_("carried"),
        kinds.BathKeptFor: N_("kept"),
        kinds.BathStopped: N_("stopped"),
        kinds.BathCleared: N_("allowed again"),
        kinds.BathFinished: N_("finished"),
    }
)


def in_short(words: Words, said: kinds.Content) -> str:
    """Say what was done in the one or two words that a tick of a chart has room for."""
    match said:
        case kinds.SheetsThrough():
            return say.sheets(words, said.sheet_count, said.sheet_format)
        case kinds.ReadingTaken():
            return say.choice(words, "instrument", said.instrument)
        case kinds.BathCared():
            return say.choice(words, "care", said.care)
        case _:
            return words.gettext(IN_SHORT[type(said)])


def _stops(words: Words, steps: tuple[Step, ...], start: datetime) -> tuple[charts.Stop, ...]:
    """Return the times in which the bath was stopped; the first may have begun earlier."""
    found: list[charts.Stop] = []
    since: datetime | None = None
    for step in steps:
        stop = step.state.stop
        if stop is not None and since is None:
            since = max(stop.at, start)
        elif stop is None and since is not None:
            found.append(_stop(words, since, step.state.at))
            since = None
    if since is not None:
        found.append(_stop(words, since, None))
    return tuple(found[-charts.STOPS_MAX :])


def _stop(words: Words, since: datetime, until: datetime | None) -> charts.Stop:
    return charts.Stop(from_at=since, until_at=until, words=words.gettext("stopped"))


def _said_of_strength(words: Words, points: tuple[OverTime, ...]) -> str:
    return words.gettext(
        "From about %(first)s to about %(last)s g/L.",
        first=words.number(points[0].strength.middle_g_per_l),
        last=words.number(points[-1].strength.middle_g_per_l),
    )


def _said_of_level(words: Words, points: tuple[OverTime, ...]) -> str:
    return words.gettext(
        "From about %(first)s to about %(last)s L.",
        first=words.number(points[0].strength.volume_l, 1),
        last=words.number(points[-1].strength.volume_l, 1),
    )
