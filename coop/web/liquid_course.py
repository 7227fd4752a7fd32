"""The charts of a bath that is not alum: thickness, run-out time, level, temperature."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from coop.actions.see_baths import Read
from coop.actions.see_liquid_history import LEVEL, LiquidHistory, thickness
from coop.ledger import kinds
from coop.ledger.liquids import SIZE, LiquidState, LiquidStep, brought_to
from coop.rules.liquid_looks import LiquidLook, size_laying_l
from coop.science.defaults import Z_90, value
from coop.web import amounts, charts
from coop.web.charts import CurvePoint, DrawnChart
from coop.web.course import (
    STEPS_DRAWN,
    Ground,
    draw_on,
    ground,
    level_lines,
    line,
    readings,
    said_of_level,
    temperature_chart,
    within,
)
from coop.web.i18n import Words

FUNNELS_DRAWN = 3
"""So many funnels have a chart of their own, those that were read last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Course:
    """What the charts of a liquid are drawn from: it just before and after each entry."""

    on: Ground
    look: LiquidLook
    steps: tuple[LiquidStep, ...]
    points: tuple[LiquidState, ...]
    reads: tuple[Read, ...]


def draw(
    words: Words, look: LiquidLook, history: LiquidHistory, *, now: datetime
) -> tuple[DrawnChart, ...]:
    """Return the charts that there is something to draw on, over the last entries."""
    steps = history.steps[-STEPS_DRAWN:]
    if not steps:
        return ()
    end = look.state.finished_at or now
    on = ground(words, steps, finished_at=look.state.finished_at, now=now)
    seen = _Course(
        on=on,
        look=look,
        steps=steps,
        points=_points(steps, look, until=max(end, steps[-1].state.at)),
        reads=within(on, history.reads),
    )
    return (
        *_thickness_chart(seen),
        *_run_out_charts(seen),
        _level_chart(seen),
        *temperature_chart(on, steps),
    )


def _points(
    steps: Sequence[LiquidStep], look: LiquidLook, *, until: datetime
) -> tuple[LiquidState, ...]:
    vessel = look.around.vessel
    area_m2 = vessel.area_m2 if vessel else None
    ends = [*(step.state.at for step in steps[1:]), until]
    return tuple(
        state
        for step, end in zip(steps, ends, strict=True)
        for state in (step.state, brought_to(step.state, end, area_m2=area_m2))
    )


def _thickness_chart(seen: _Course) -> tuple[DrawnChart, ...]:
    known = [(state.at, thickness(state)) for state in seen.points]
    curve = tuple(
        CurvePoint(
            at=at,
            low=found.low_g_per_l,
            middle=found.middle_g_per_l,
            high=found.high_g_per_l,
        )
        for at, found in known
        if found is not None
    )
    if not curve:
        return ()
    words = seen.on.words
    drawn = draw_on(
        seen.on,
        key="thickness",
        title=words.gettext("Thickness over time"),
        description=words.gettext(
            "From about %(first)s to about %(last)s of powder.",
            first=amounts.strength_figure(words, curve[0].middle, 1),
            last=amounts.g_per_l(words, curve[-1].middle, 1),
        ),
        unit="g/L",
        curve=curve,
        lines=(line(curve[0].middle, "target", words.gettext("as made")),),
    )
    return (drawn,)


def _run_out_charts(seen: _Course) -> tuple[DrawnChart, ...]:
    """Return a chart for each funnel: seconds of two funnels are not to be compared."""
    timed: dict[str, list[charts.Reading]] = {}
    for step in seen.steps:
        said = step.entry.content
        if isinstance(said, kinds.ReadingTaken) and said.seconds is not None:
            told = timed.pop(said.funnel, [])
            timed[said.funnel] = [*told, _run_out(step.entry.at, said)]
    last = list(timed.items())[-FUNNELS_DRAWN:]
    return tuple(
        _run_out_chart(seen, place, funnel, tuple(read))
        for place, (funnel, read) in enumerate(last)
    )


def _run_out(at: datetime, said: kinds.ReadingTaken) -> charts.Reading:
    assert said.seconds is not None
    seconds, doubt = float(said.seconds), value("run_out_s")
    return charts.Reading(
        at=at,
        value=seconds,
        low=max(0.0, seconds - doubt),
        high=seconds + doubt,
        applied=True,
        words=said.funnel,
    )


def _run_out_chart(
    seen: _Course, place: int, funnel: str, read: tuple[charts.Reading, ...]
) -> DrawnChart:
    words = seen.on.words
    good = seen.look.around.good_days.get(funnel)
    lines = () if good is None else good
    texts = (words.gettext("good days, from"), words.gettext("good days, to"))
    return draw_on(
        seen.on,
        key=f"run-out-{place}",
        title=words.gettext("Run-out time over time: %(funnel)s", funnel=funnel),
        description=words.ngettext(
            "Timed once: %(last)s s.",
            "Timed %(num)d times, the last %(last)s s.",
            len(read),
            last=words.number(read[-1].value, 1),
        ),
        unit="s",
        curve=(),
        readings=read,
        lines=tuple(
            line(seconds, "target", text) for seconds, text in zip(lines, texts, strict=False)
        ),
    )


def _level_chart(seen: _Course) -> DrawnChart:
    words = seen.on.words
    vessel = seen.look.around.vessel
    is_size = seen.look.state.what == SIZE
    return draw_on(
        seen.on,
        key="level",
        title=words.gettext("Level over time"),
        description=said_of_level(words, [one.volume_ml / 1000 for one in seen.points]),
        unit="L",
        curve=tuple(_level(state) for state in seen.points),
        readings=readings(words, seen.reads, LEVEL, 1000.0),
        lines=level_lines(
            words, vessel, laying_l=size_laying_l(seen.look.around) if is_size else None
        ),
    )


def _level(state: LiquidState) -> CurvePoint:
    half = state.volume_sd_ml * Z_90
    return CurvePoint(
        at=state.at,
        low=max(0.0, state.volume_ml - half) / 1000,
        middle=state.volume_ml / 1000,
        high=(state.volume_ml + half) / 1000,
    )
