"""The charts of alum: strength, level and warmth over time; what charts of a bath share."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any

from coop.actions.see_baths import BathHistory, OverTime, Read, course, laying_l
from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.baths import Step
from coop.ledger.liquids import LiquidStep
from coop.ledger.part_of_day import MINUTE
from coop.ledger.states import VesselState
from coop.rules.baths import BathLook
from coop.science.bath_readings import GRAVITY, LEVEL
from coop.science.defaults import value as default_value
from coop.web import amounts, charts
from coop.web import words as say
from coop.web.charts import BathChart, DrawnChart, Line, LineKind, draw_chart
from coop.web.i18n import N_, Words

STEPS_DRAWN = 120
CHART_MIN = timedelta(hours=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What every chart of a bath is drawn on: its time, what was done, when it was stopped."""

    words: Words
    bath: Subject
    from_at: datetime
    until_at: datetime
    events: tuple[charts.Event, ...]
    stops: tuple[charts.Stop, ...]


AnyStep = Step | LiquidStep


def ground(
    words: Words, steps: Sequence[AnyStep], *, finished_at: datetime | None, now: datetime
) -> Ground:
    """Return what the charts of a bath are drawn on; `steps` are one or more."""
    start = min(steps[0].state.at, now)
    return Ground(
        words=words,
        bath=steps[0].state.id,
        from_at=start,
        until_at=max(finished_at or now, start + CHART_MIN),
        events=tuple(_event(words, step) for step in steps),
        stops=_stops(words, steps, start),
    )


def draw_on(seen: Ground, **own: Any) -> DrawnChart:
    """Return one chart with what is its own: key, title, metric unit, curve and so on."""
    chart = BathChart(
        zone=seen.words.zone,
        from_at=seen.from_at,
        until_at=seen.until_at,
        events=seen.events,
        stops=seen.stops,
        seed_id=seen.bath,
        **own,
    )
    return draw_chart(_in_us(seen.words, chart) if seen.words.us else chart)


def _in_us(words: Words, chart: BathChart) -> BathChart:
    """Return a chart with its figures in US customary units, where there is one of its unit."""
    scale = amounts.US_MEASURES.get(chart.unit)
    if scale is None:
        return chart
    told = scale.of
    return replace(
        chart,
        unit=words.gettext(scale.unit),
        curve=tuple(
            replace(one, low=told(one.low), middle=told(one.middle), high=told(one.high))
            for one in chart.curve
        ),
        readings=tuple(
            replace(one, low=told(one.low), value=told(one.value), high=told(one.high))
            for one in chart.readings
        ),
        lines=tuple(replace(one, value=told(one.value)) for one in chart.lines),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Course:
    """What the charts of alum are drawn from."""

    on: Ground
    look: BathLook
    points: tuple[OverTime, ...]
    reads: tuple[Read, ...]


def draw(
    words: Words, look: BathLook, history: BathHistory, *, now: datetime
) -> tuple[DrawnChart, ...]:
    """Return the charts of strength, level and warmth, over the last `STEPS_DRAWN` entries."""
    steps = history.steps[-STEPS_DRAWN:]
    if not steps:
        return ()
    on = ground(words, steps, finished_at=look.state.finished_at, now=now)
    end = look.state.finished_at or now
    seen = _Course(
        on=on,
        look=look,
        points=course(steps, look.around, until=max(end, steps[-1].state.at)),
        reads=within(on, history.reads),
    )
    return _strength_chart(seen), _level_chart(seen), *temperature_chart(on, steps)


def within(on: Ground, reads: Iterable[Read]) -> tuple[Read, ...]:
    """Return readings of the time that is drawn."""
    return tuple(read for read in reads if on.from_at <= read.at <= on.until_at)


def _strength_chart(seen: _Course) -> DrawnChart:
    words = seen.on.words
    return draw_on(
        seen.on,
        key="strength",
        title=words.gettext("Strength over time"),
        description=_said_of_strength(words, seen.points),
        unit="g/L",
        curve=_curve(seen.points, _strength),
        readings=readings(words, seen.reads, GRAVITY, 1.0),
        lines=_strength_lines(words, seen.look),
    )


def _level_chart(seen: _Course) -> DrawnChart:
    words = seen.on.words
    laying = laying_l(seen.look)
    return draw_on(
        seen.on,
        key="level",
        title=words.gettext("Level over time"),
        description=said_of_level(words, [one.strength.volume_l for one in seen.points]),
        unit="L",
        curve=_curve(seen.points, _level),
        readings=readings(words, seen.reads, LEVEL, 1000.0),
        lines=level_lines(words, seen.look.around.vessel, laying_l=laying),
    )


def temperature_chart(on: Ground, steps: Sequence[AnyStep]) -> tuple[DrawnChart, ...]:
    """Return the chart of temperatures that were read; none where nobody read one."""
    read = tuple(
        _warmth(on.words, step.entry.at, step.entry.content)
        for step in steps
        if isinstance(step.entry.content, kinds.ReadingTaken)
        and step.entry.content.temperature is not None
        and on.from_at <= step.entry.at <= on.until_at
    )
    if not read:
        return ()
    drawn = draw_on(
        on,
        key="temperature",
        title=on.words.gettext("Temperature over time"),
        description=on.words.ngettext(
            "Read once: %(last)s.",
            "Read %(num)d times, the last %(last)s.",
            len(read),
            last=amounts.warmth(on.words, read[-1].value),
        ),
        unit="°C",
        curve=(),
        readings=read,
    )
    return (drawn,)


def _warmth(words: Words, at: datetime, said: kinds.ReadingTaken) -> charts.Reading:
    assert said.temperature is not None
    celsius, doubt = float(said.temperature.base), default_value("thermometer_c")
    return charts.Reading(
        at=at,
        value=celsius,
        low=celsius - doubt,
        high=celsius + doubt,
        applied=True,
        words=say.choice(words, "instrument", said.instrument),
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


def readings(
    words: Words, reads: Iterable[Read], quantity: str, scale: float
) -> tuple[charts.Reading, ...]:
    """Return readings of one quantity with their doubt, in the chart's unit."""
    return tuple(
        charts.Reading(
            at=read.at,
            value=read.value / scale,
            low=max(0.0, read.value - read.half) / scale,
            high=(read.value + read.half) / scale,
            applied=read.applied,
            words=say.choice(words, "instrument", read.instrument),
        )
        for read in reads
        if read.quantity == quantity
    )


def _strength_lines(words: Words, look: BathLook) -> tuple[Line, ...]:
    lines = look.answer.lines
    if lines is None:
        return ()
    return (
        line(lines.target_g_per_l, "target", words.gettext("target")),
        line(lines.look_again_g_per_l, "look-again", words.gettext("look again")),
        line(lines.do_not_use_g_per_l, "do-not-use", words.gettext("do not use")),
    )


def level_lines(
    words: Words, vessel: VesselState | None, *, laying_l: float | None
) -> tuple[Line, ...]:
    """Return the brim of a tub, and what must stand in it to lay a sheet."""
    lines = []
    if vessel is not None:
        lines.append(line(vessel.brim_ml / 1000, "brim", words.gettext("brim")))
    if laying_l is not None:
        lines.append(line(laying_l, "laying", words.gettext("to lay a sheet")))
    return tuple(lines)


def line(value: float, kind: LineKind, text: str) -> Line:
    """Return a line across a chart."""
    return Line(value=value, kind=kind, words=text)


def _event(words: Words, step: AnyStep) -> charts.Event:
    one = step.entry
    told = "" if one.precision == MINUTE else say.moment(words, one.at, one.precision)
    return charts.Event(at=one.at, words=in_short(words, one.content), told=told)


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
        kinds.DisposalJudged: N_("may it go?"),
        kinds.DisposalDone: N_("got rid of"),
        kinds.WasteAdded: N_("into a jar"),
        kinds.WasteCarried: N_("carried"),
        kinds.MishapNoted: N_("mishap"),
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
        case kinds.DisposalTreated():
            return say.choice(words, "treatment", said.step)
        case _:
            return words.gettext(IN_SHORT[type(said)])


def _stops(words: Words, steps: Sequence[AnyStep], start: datetime) -> tuple[charts.Stop, ...]:
    """Return the times in which the bath was stopped; the first may have begun earlier."""
    found: list[charts.Stop] = []
    since: datetime | None = None
    for step in steps:
        stop = step.state.stop
        if stop is not None and since is None:
            since = max(stop.poured_in_at or stop.at, start)
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
        "From about %(first)s to about %(last)s.",
        first=amounts.strength_figure(words, points[0].strength.middle_g_per_l),
        last=amounts.g_per_l(words, points[-1].strength.middle_g_per_l),
    )


def said_of_level(words: Words, litres: Sequence[float]) -> str:
    """Say from what to what a level went."""
    first_ml, last_ml = 1000 * litres[0], 1000 * litres[-1]
    return words.gettext(
        "From about %(first)s to about %(last)s.",
        first=amounts.volume_figure(words, first_ml, by_ml=last_ml),
        last=amounts.volume(words, last_ml, 1),
    )
