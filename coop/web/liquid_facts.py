"""What is known of a bath that is not alum, in figures: age, litres, thickness, tests."""

from collections.abc import Mapping
from types import MappingProxyType

from coop.actions.see_liquid_history import thickness
from coop.actions.see_liquids import good_run_outs
from coop.ledger.liquids import SIZE, DropTest, LiquidState, RunOut
from coop.rules.baths import limits_of
from coop.rules.liquid_looks import LiquidLook, look_again_warm_days
from coop.rules.liquids import LONG_PAST_FACTOR
from coop.science.defaults import Z_90, value
from coop.web import amounts, reasons
from coop.web import words as say
from coop.web.i18n import N_
from coop.web.page import desk, face, now, words
from coop.web.reasons import Telling
from coop.web.told import outcome

DROPS_SHOWN = 3

HOW: Mapping[str, str] = MappingProxyType(
    {
        "weighed": N_("weighed"),
        "spoon-weighed": N_("spooned, by the weighed spoon of its lot"),
        "spooned": N_("spooned"),
        "guessed": N_("guessed"),
    }
)

Fact = tuple[str, str]


def facts(tell: Telling, look: LiquidLook) -> tuple[Fact, ...]:
    """Return labels and figures, those that nobody knows empty."""
    state = look.state
    return (
        (words().gettext("Age"), age(tell, look)),
        (words().gettext("Rests until"), _rests_until(tell, look)),
        (words().gettext("In the vessel"), _litres(state)),
        (words().gettext("Thickness now"), thickness_text(state)),
        (words().gettext("Made of"), _made_of(state)),
        (words().gettext("Sheets left"), sheets_left(look)),
        (words().gettext("Drop test"), "; ".join(_drops(tell, state.drops))),
        (words().gettext("Run-out"), run_out(tell, look)),
        (words().gettext("Temperature"), temperature(state.temperature_c)),
        (words().gettext("Alum carried in"), _carried_in(look)),
        (words().gettext("Laid on it"), laid_text(state)),
        (words().gettext("Last hands"), _hands(state)),
        (words().gettext("Judged by"), _judged_by(look)),
    )


def age(tell: Telling, look: LiquidLook) -> str:
    """Say 'made Friday 2025-09-12 18:00, 3 days old, 2 of them chilled: like 1.5 warm ...'."""
    made = look.state.mixed_at
    numbers = {
        "weekday": words().weekday(made),
        "moment": words().moment(made),
        "days": words().number(look.age_days, 1),
    }
    if look.state.what != SIZE:
        return words().gettext("made %(weekday)s %(moment)s, %(days)s days old", **numbers)
    numbers["warm"] = words().number(look.warm_days, 1)
    numbers["line"] = tell.short(look_again_warm_days(look))
    if look.chilled_days < reasons.CHILLED_SHOWN_DAYS:
        return words().gettext(
            "made %(weekday)s %(moment)s, %(days)s days old: like %(warm)s warm days of "
            "%(line)s",
            **numbers,
        )
    return words().gettext(
        "made %(weekday)s %(moment)s, %(days)s days old, %(chilled)s of them chilled: like "
        "%(warm)s warm days of %(line)s",
        chilled=words().number(look.chilled_days, 1),
        **numbers,
    )


def _rests_until(tell: Telling, look: LiquidLook) -> str:
    until = look.state.rest_until
    return tell.when(until) if until is not None and until > look.at else ""


def _litres(state: LiquidState) -> str:
    half = state.volume_sd_ml * Z_90
    low, high = max(0.0, state.volume_ml - half), state.volume_ml + half
    return amounts.volume_range(words(), state.volume_ml, low, high)


def thickness_text(state: LiquidState) -> str:
    """Say the powder in a litre with its range and how it is known; empty without powder."""
    found = thickness(state)
    if found is None:
        return ""
    return words().gettext(
        "%(about)s, %(how)s",
        about=amounts.strength(
            words(), found.middle_g_per_l, found.low_g_per_l, found.high_g_per_l, digits=1
        ),
        how=words().gettext(HOW[state.how]),
    )


def _made_of(state: LiquidState) -> str:
    if not state.of:
        return words().gettext("water alone")
    of = say.choice(words(), "powder", state.of)
    if state.carrageenan is None:
        return of
    return f"{of}, {say.choice(words(), 'carrageenan', state.carrageenan)}"


def sheets_left(look: LiquidLook) -> str:
    """Say how many sheets a size may still carry, the fewest first: a hint."""
    if look.state.what != SIZE or look.state.finished_at is not None:
        return ""
    left = look.sheets_left
    if left is None:
        return words().gettext("nobody said how many litres it takes to lay a sheet")
    return words().gettext(
        "at least %(sheets)s, perhaps %(middle)s: a hint, never a reason",
        sheets=say.sheets(words(), left.low, look.sheet_format),
        middle=left.middle,
    )


def _drops(tell: Telling, drops: tuple[DropTest, ...]) -> tuple[str, ...]:
    return tuple(_drop(tell, one) for one in reversed(drops[-DROPS_SHOWN:]))


def _drop(tell: Telling, one: DropTest) -> str:
    found = outcome(words(), "drop_test", one.outcome)
    if one.spread_mm is not None:
        found = words().gettext(
            "%(found)s, %(spread)s", found=found, spread=tell.short_length(one.spread_mm)
        )
    return words().gettext(
        "%(found)s (%(when)s, %(name)s)",
        found=found,
        when=tell.when(one.at),
        name=face(one.by).name,
    )


def run_out(tell: Telling, look: LiquidLook) -> str:
    """Say the newest run-out time beside what printed well; empty where nobody timed one."""
    if not look.state.run_outs:
        return ""
    last = look.state.run_outs[-1]
    said = [
        words().gettext(
            "%(seconds)s s through %(funnel)s (%(when)s)",
            seconds=tell.short(last.seconds),
            funnel=last.funnel,
            when=tell.when(last.at),
        ),
        *_beside_water(last),
        _like_good_days(tell, look, last),
    ]
    return "; ".join(said)


def _beside_water(last: RunOut) -> tuple[str, ...]:
    """Say the raw ratio to water, which is comparable in a room's warmth only."""
    if last.water_seconds is None:
        return ()
    ratio = words().number(last.seconds / last.water_seconds, 1)
    low_c, high_c = value("run_out_low_c"), value("run_out_high_c")
    if last.temperature_c is None or low_c <= last.temperature_c <= high_c:
        return (words().gettext("%(ratio)s times water", ratio=ratio),)
    told = words().gettext(
        "%(ratio)s times water, at %(at)s: comparable at %(low)s to %(high)s only",
        ratio=ratio,
        at=amounts.warmth(words(), last.temperature_c),
        low=amounts.warmth_figure(words(), low_c),
        high=amounts.warmth(words(), high_c),
    )
    return (told,)


def _like_good_days(tell: Telling, look: LiquidLook, last: RunOut) -> str:
    line = look.around.good_days.get(last.funnel)
    if line is None:
        return words().gettext(
            "no line yet: %(count)s of %(wanted)s readings on sizes that printed well",
            count=len(good_run_outs(desk().journal).get(last.funnel, ())),
            wanted=words().number(value("run_out_readings_min")),
        )
    low, high = line
    numbers = {"low": tell.short(low), "high": tell.short(high)}
    if low <= last.seconds <= high:
        return words().gettext("like your good days (%(low)s to %(high)s)", **numbers)
    return words().gettext("on your good days %(low)s to %(high)s", **numbers)


def temperature(celsius: float | None) -> str:
    """Say the temperature that was read last; empty where nobody read one."""
    if celsius is None:
        return ""
    return words().gettext(
        "%(warmth)s when it was read last", warmth=amounts.warmth(words(), celsius)
    )


def _carried_in(look: LiquidLook) -> str:
    for found in look.answer.reasons:
        if found.code == "alum-carried-in":
            low, high = found.value("low_g"), found.value("high_g")
            assert isinstance(low, int | float)
            assert isinstance(high, int | float)
            return words().gettext(
                "perhaps %(weight)s, with damp sheets",
                weight=amounts.weight_span(words(), low, high, digits=1),
            )
    return ""


def laid_text(state: LiquidState) -> str:
    """Say the area laid on a size; empty where nothing was."""
    if not state.laid_m2:
        return ""
    return amounts.area(words(), state.laid_m2, 2)


def _hands(state: LiquidState) -> str:
    return words().gettext(
        "%(name)s, %(ago)s: %(what)s",
        name=face(state.hands.by).name,
        ago=say.ago(words(), state.hands.at, now(), state.hands.precision),
        what=say.kind(words(), state.hands.kind),
    )


def _judged_by(look: LiquidLook) -> str:
    limits = limits_of(look.around.house)
    if look.state.what == SIZE:
        return _size_lines(look)
    days: int = getattr(limits, f"{look.state.what}_days")
    return words().gettext(
        "look again from %(look)s days on (%(source)s), not to be used at twice that, "
        "%(stop)s days",
        look=days,
        stop=days * LONG_PAST_FACTOR,
        source=words().gettext(reasons.SOURCES["house limits"]),
    )


def _size_lines(look: LiquidLook) -> str:
    limits, recipe = limits_of(look.around.house), look.around.recipe
    house = {
        "look": limits.size_look_again_warm_days,
        "stop": limits.size_do_not_use_warm_days,
        "cap": limits.size_cap_days,
    }
    own: dict[str, float | None] = {}
    if recipe is not None:
        own = {
            "look": recipe.look_again_warm_days,
            "stop": recipe.do_not_use_warm_days,
            "cap": recipe.cap_days,
        }
    lines = house | {name: days for name, days in own.items() if days is not None}
    source = reasons.SOURCES["house limits" if lines == house else "recipe"]
    return words().gettext(
        "look again from %(look)s warm days on, not to be used from %(stop)s, never from "
        "%(cap)s days after it was made (%(source)s)",
        source=words().gettext(source),
        **{name: _short(days) for name, days in lines.items()},
    )


def _short(days: float) -> str:
    return words().number(days, 0 if days == int(days) else 1)
