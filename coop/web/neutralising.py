"""What a page says of the walk of neutralising: its cards, what was done, what comes next."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from coop.actions.see_neutralising import Old, Plan
from coop.ledger.states import DrainReading, Treated
from coop.rules.neutralising import CHANGES, Next, Stand, Window, clear_of
from coop.science import neutralising
from coop.science.defaults import value
from coop.science.neutralising import Walk
from coop.units.number import unwire
from coop.web import amounts
from coop.web import words as say
from coop.web.i18n import DIGITS_MAX, N_, Words
from coop.web.page import face, now

STIR_MIN: Final = int(value("stir_out_min"))
SPOONS_MIN: Final = int(value("base_in_min"))
STANDS_H: Final = int(value("neutral_reading_h"))

PH_TOOLS: Final = ("ph_strip", "ph_meter")
PH_STEPS: Final = ("0.01", "0.1", "0.2", "0.3", "0.5", "1")
"""Steps of the scales that strips and meters have: common practice, no source."""

TITLES: Final = (
    N_("Before you start"),
    N_("Is anything else in it?"),
    N_("Read it before anything goes in"),
    N_("Keep back a cup"),
    N_("The first part"),
    N_("Stir, then read"),
    N_("It reads too low"),
    N_("The cup goes back"),
    N_("Overnight, then read again"),
)
"""The steps, from 1."""

PLACE: Final[Mapping[Next, int]] = MappingProxyType(
    {
        Next.BEFORE: 3,
        Next.KEEP_BACK: 4,
        Next.FIRST: 5,
        Next.READ: 6,
        Next.FINER: 6,
        Next.CLOSE: 6,
        Next.MORE: 7,
        Next.ASK_LOW: 7,
        Next.CUP: 8,
        Next.BRAKE: 8,
        Next.ASK_HIGH: 8,
        Next.OVERNIGHT: 9,
        Next.STRAIN: 9,
        Next.MAY_IT_GO: 9,
    }
)
"""In which step stands what comes next."""
READ_STEP: Final = PLACE[Next.READ]

TREATMENT: Final[Mapping[Next, str]] = MappingProxyType(
    {
        Next.KEEP_BACK: "kept_back",
        Next.FIRST: "base_in",
        Next.MORE: "base_in",
        Next.CUP: "cup_back",
        Next.BRAKE: "cup_back",
        Next.STRAIN: "strained",
    }
)
"""What is written down once it is done."""

BUTTONS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "kept_back": N_("The cup is kept back"),
        "base_in": N_("It is in"),
        "cup_back": N_("It is poured back"),
        "strained": N_("The floc is strained off"),
    }
)

REFUSED: Final[Mapping[str, str]] = MappingProxyType(
    {
        neutralising.AMMONIA_GAS: N_(
            "Stop. There is ammonium alum in it: never soda or lime with it, they set free "
            "ammonia, which burns eyes and lungs. Leave it as it is, tagged, and ask."
        ),
        neutralising.BUCKET_TOO_SMALL: N_(
            "That bucket is too small: it would take more than twenty goes."
        ),
        neutralising.TOO_LITTLE_TO_WEIGH: N_(
            "So little alum would be in each go that nobody can weigh its share: a larger "
            "bucket would do."
        ),
    }
)
"""Why there is no walk."""

ML_PER_L: Final = 1_000
OZ_DIGITS: Final = 2
"""A scale in ounces shows hundredths: 0.3 g."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepCard:
    """One step: what to do, what was done by whom, and whether it comes next or is over."""

    number: int
    title: str
    lines: tuple[str, ...]
    done: tuple[str, ...]
    here: bool
    over: bool


def button(words: Words, treatment: str, with_base: bool) -> str:
    """Return what is pressed once a step is done."""
    if treatment == "cup_back" and with_base:
        return words.gettext("The cup is in, with its share")
    return words.gettext(BUTTONS.get(treatment, BUTTONS["base_in"]))


def base_name(words: Words, base: str) -> str:
    """Return what the jar says."""
    return say.choice(words, "neutraliser", base)


def weight(words: Words, weight_g: float) -> str:
    """Return a weight as the scale shows it."""
    if words.us:
        return words.gettext("%(n)s oz", n=weight_shown(words, weight_g))
    return words.gettext("%(grams)s g", grams=plain(words, round(weight_g, 2)))


def weight_shown(words: Words, weight_g: float) -> str:
    """Return a weight as it stands in its box: grams with the decimals they have, or ounces."""
    if words.us:
        return words.number(weight_g / amounts.OZ_G, OZ_DIGITS)
    digits = next(d for d in range(4) if round(weight_g, d) == weight_g or d == 3)
    return words.number(weight_g, digits)


def plain(words: Words, number: float) -> str:
    """Return a number with the decimals it has, two at most."""
    digits = next((d for d in range(2) if round(number, d) == number), 2)
    return words.number(number, digits)


def litres(words: Words, volume_l: float) -> str:
    """Return litres as a jug is read: two decimals under two litres, else one."""
    return amounts.volume(words, volume_l * ML_PER_L, 2 if volume_l < 2 else 1)


def ph(words: Words, figure: Fraction) -> str:
    """Return a pH with the decimals it was read or written with."""
    number = float(figure)
    digits = next(d for d in range(DIGITS_MAX) if (d and round(number, d) == number) or d > 2)
    return words.number(number, digits)


def wanted(words: Words, window: Window) -> str:
    """Say between which pH it has to come out, and who says so."""
    said = {"low": ph(words, window.low), "high": ph(words, window.high)}
    if not window.titles:
        return words.gettext(
            "It should come out between pH %(low)s and pH %(high)s: common practice, as no "
            "rule of this place is here. Ask first.",
            **said,
        )
    text = words.gettext(
        "It has to come out between pH %(low)s and pH %(high)s: %(rules)s.",
        rules="; ".join(window.titles),
        **said,
    )
    if window.usual_low or window.usual_high:
        text += " " + words.gettext("One of the two is common practice, no rule says it.")
    return text


def figures(words: Words, old: Old, plan: Plan, limited: bool) -> Iterator[tuple[str, str]]:
    """Give the figures of all of it, each with its name."""
    assert plan.walk is not None
    assert plan.dose is not None
    assert plan.floc is not None
    dose, floc = plan.dose, plan.floc
    yield words.gettext("In it"), in_it(words, old)
    yield (
        words.gettext("It takes"),
        words.gettext(
            "%(weight)s of %(base)s (%(low)s to %(high)s)",
            weight=amounts.weight(words, dose.middle_g),
            base=base_name(words, plan.base),
            low=amounts.weight_figure(words, dose.low_g, by_g=dose.middle_g),
            high=amounts.weight_figure(words, dose.high_g, by_g=dose.middle_g),
        ),
    )
    yield words.gettext("Gas"), _gas(words, plan.walk)
    yield (
        words.gettext("Floc"),
        words.gettext(
            "%(weight)s off the cloth",
            weight=amounts.weight_span(
                words, _roughly(floc.strained_low_g), _roughly(floc.strained_high_g)
            ),
        ),
    )
    if limited:
        yield words.gettext("Sulfate"), _sulfate(words, old)


def _roughly(number: float) -> float:
    """Return a number of which only two figures are known."""
    return float(f"{number:.2g}")


def what_next(words: Words, stand: Stand, base: str) -> str:
    """Say what comes next, in one line: 'Next: The first part, 255 g of soda crystals.'"""
    parts = [words.gettext(TITLES[PLACE[stand.step] - 1])]
    if stand.cup_ml and stand.step is not Next.BEFORE:
        parts.append(litres(words, stand.cup_ml / 1000))
    if stand.weight_g:
        parts.append(
            words.gettext(
                "%(grams)s of %(base)s",
                grams=weight(words, stand.weight_g),
                base=base_name(words, base),
            )
        )
    return words.gettext("Next: %(what)s.", what=", ".join(parts))


def parts(words: Words, base: str, walk: Walk) -> str:
    """Say what to weigh of a base: '255 g, then 21 g, 21 g, 21 g; with the cup 17 g'."""
    text = words.gettext(
        "%(base)s: %(first)s, then %(rest)s; with the cup %(share)s",
        base=base_name(words, base),
        first=weight(words, walk.parts.first_g),
        rest=", ".join(weight(words, one) for one in walk.parts.rest_g),
        share=weight(words, walk.parts.cup_share_g),
    )
    if walk.go_count == 1:
        return text
    return words.gettext("%(parts)s, in each of %(num)d goes", parts=text, num=walk.go_count)


def in_it(words: Words, old: Old) -> str:
    """Say what is in an old bath: '5.8 L, 232 g of aluminium sulfate (224 to 240)'."""
    low_g, high_g = old.salt_g * (1 - old.doubt_fraction), old.salt_g * (1 + old.doubt_fraction)
    return words.gettext(
        "%(litres)s, %(grams)s of %(salt)s (%(low)s to %(high)s)",
        litres=litres(words, old.volume_l),
        grams=amounts.weight(words, old.salt_g),
        salt=say.choice(words, "salt_short", old.salt),
        low=amounts.weight_figure(words, low_g, by_g=old.salt_g),
        high=amounts.weight_figure(words, high_g, by_g=old.salt_g),
    )


def _gas(words: Words, walk: Walk) -> str:
    if not walk.gas_l:
        return words.gettext("none")
    gas_ml = walk.go_count * walk.gas_l * ML_PER_L
    return words.gettext(
        "about %(gas)s of carbon dioxide", gas=amounts.volume(words, gas_ml, 0)
    )


def _sulfate(words: Words, old: Old) -> str:
    return words.gettext(
        "up to %(figure)s mg/L stays in it: neutralising does not take sulfate out, and a "
        "rule here limits it",
        figure=words.number(_roughly(old.sulfate_mg_per_l)),
    )


def in_short(words: Words) -> tuple[str, ...]:
    """Return the walk without figures, for where they stand beside it."""
    return (
        words.gettext(
            "Goggles and gloves on, window open, not in a cellar, no children in the room."
        ),
        words.gettext("Read its pH before anything goes in, and write it down."),
        words.gettext("The cup first, into a jug with a tag."),
        words.gettext(
            "A spoon at a time, over %(minutes)d minutes, stirring. It foams.",
            minutes=SPOONS_MIN,
        ),
        *_stir(words, None, "", None),
        words.gettext(
            "Too low: the next part, a third of the rest, and all of this again. All of it in "
            "and still too low: ask, put no more in."
        ),
        words.gettext(
            "Once it is in: the cup goes in with its own share. Over it: some of the cup "
            "without, never vinegar."
        ),
        *_overnight(words, None),
    )


def cards(
    words: Words, old: Old, plan: Plan | None, window: Window, here: int
) -> tuple[StepCard, ...]:
    """Return the steps; one is over once something was done of it and a later one is here."""
    lines = _lines(words, old, plan, window)
    done = _done(words, old)
    is_back = plan is not None and plan.stand is not None and plan.stand.go.cup_in >= 1
    return tuple(
        StepCard(
            number=number,
            title=words.gettext(title),
            lines=tuple(lines[number]),
            done=tuple(done.get(number, ())),
            here=number == here,
            over=number in done
            and (number < here or (number == PLACE[Next.CUP] and number != here and is_back)),
        )
        for number, title in enumerate(TITLES, 1)
    )


def _lines(
    words: Words, old: Old, plan: Plan | None, window: Window
) -> Mapping[int, list[str]]:
    walk = plan.walk if plan else None
    at = plan.stand if plan else None
    base = plan.base if plan else ""
    return {
        1: list(_before(words, old, walk)),
        2: [words.gettext("Ultramarine or a metal colour in it: stop, and ask.")],
        3: list(_read_first(words)),
        4: list(_keep_back(words, walk, at)),
        5: list(_first(words, walk, base)),
        6: list(_stir(words, at, base, window)),
        7: list(_low(words, at, base, window)),
        8: list(_cup(words, at, walk, base)),
        9: list(_overnight(words, at)),
    }


def _before(words: Words, old: Old, walk: Walk | None) -> Iterator[str]:
    if walk is not None and walk.outdoors:
        yield words.gettext(
            "Goggles and gloves on. Outdoors: it gives off more gas than a room bears. No "
            "children."
        )
    else:
        yield words.gettext(
            "Goggles and gloves on, window open, not in a cellar, no children in the room."
        )
    yield words.gettext(
        "An open bucket, a third full at most, never a lid: %(litres)s take one of "
        "%(bucket)s, or several goes in a smaller one.",
        litres=litres(words, old.volume_l),
        bucket=amounts.volume(
            words, ML_PER_L * neutralising.least_bucket_l(volume_l=old.volume_l), 0
        ),
    )
    if walk is not None and walk.go_count > 1:
        yield words.ngettext(
            "%(num)d go of %(litres)s.",
            "%(num)d goes of %(litres)s, one after another, each with its own cup.",
            walk.go_count,
            litres=litres(words, walk.go_l),
        )


def _read_first(words: Words) -> Iterator[str]:
    yield words.gettext(
        "Alum reads about pH 3 to 4. Another figure says that it is not what we think: ask "
        "then. And the log wants a reading from before and one from after."
    )


def _keep_back(words: Words, walk: Walk | None, at: Stand | None) -> Iterator[str]:
    if at is not None and at.step is Next.KEEP_BACK and _is_odd_before(at.reading):
        yield words.gettext(
            "It reads pH %(ph)s and nothing was put in: alum without soda reads 3 to 4. Read "
            "it again; if it stays so, ask before anything goes in.",
            ph=_read(words, at.reading),
        )
    if walk is not None:
        yield words.gettext(
            "%(cup)s of the %(litres)s, one cup in twenty, into a jug with a tag. It is your "
            "brake: it goes in last, with its own share.",
            cup=litres(words, walk.kept_cup_l),
            litres=litres(words, walk.go_l),
        )


def _is_odd_before(reading: DrainReading | None) -> bool:
    """Say whether it reads too high for alum to which nothing was put."""
    return reading is not None and float(reading.ph) > value("untreated_alum_max_ph")


def _first(words: Words, walk: Walk | None, base: str) -> Iterator[str]:
    if walk is None:
        return
    yield words.gettext(
        "Weigh %(grams)s of %(base)s: four fifths of what the bucket takes. The scale must "
        "show %(step)s.",
        grams=weight(words, walk.parts.first_g),
        base=base_name(words, base),
        step=weight(words, walk.parts.scale_step_g),
    )
    yield words.gettext(
        "A spoon at a time, over %(minutes)d minutes, stirring. It foams.", minutes=SPOONS_MIN
    )
    if walk.first_may_pass:
        yield words.gettext(
            "The grams of alum are known so roughly that it may be too much: stop halfway, "
            "stir and read."
        )
    if base == "crystals":
        yield words.gettext(
            "Crystals that fell to a dry white powder are another soda, twice as strong: ask."
        )


def _stir(words: Words, at: Stand | None, base: str, window: Window | None) -> Iterator[str]:
    if base and not neutralising.BASES[base].gives_gas:
        yield words.gettext("Stir for %(minutes)d minutes at least.", minutes=STIR_MIN)
    else:
        yield words.gettext(
            "Stir until no more fizz rises, %(minutes)d minutes at least. While gas is in it, "
            "it reads too low.",
            minutes=STIR_MIN,
        )
    yield words.gettext("Read a spoonful of it, strained clear.")
    if at is not None and window is not None:
        yield from _not_told(words, at, window)


def _not_told(words: Words, at: Stand, window: Window) -> Iterator[str]:
    """Say of a reading why it does not do."""
    if at.too_early is not None and at.read_from is not None:
        yield words.gettext(
            "pH %(ph)s was read too early: it does not count yet. Read it again from "
            "%(when)s on.",
            ph=_read(words, at.too_early),
            when=say.when(words, at.read_from, now()),
        )
    if at.step is Next.FINER:
        yield words.gettext(
            "It cannot be told with this scale whether it is in: read it with a finer one."
        )
    if at.step is Next.CLOSE:
        yield words.gettext(
            "It reads pH %(ph)s: that is in, but by less than one step of the scale. %(must)s "
            "Cover it overnight and read it again, or read it with a finer scale. Put no more "
            "in.",
            ph=_read(words, at.reading),
            must=_must(words, at.reading, window),
        )


def _must(words: Words, reading: DrainReading | None, window: Window) -> str:
    """Say what a scale has to show: 'In steps of 0.5 it must read pH 6.5 to 9.5.'"""
    assert reading is not None, "this step was found by a reading"
    low, high = clear_of(window, reading.step)
    if low >= high:
        return words.gettext(
            "In steps of %(step)s it must read pH %(ph)s.",
            step=ph(words, unwire(reading.step)),
            ph=ph(words, low),
        )
    return words.gettext(
        "In steps of %(step)s it must read pH %(low)s to %(high)s.",
        step=ph(words, unwire(reading.step)),
        low=ph(words, low),
        high=ph(words, high),
    )


def _low(words: Words, at: Stand | None, base: str, window: Window) -> Iterator[str]:
    yield words.gettext(
        "Only a third of the rest at a time: stir, wait, read. It has to clear pH %(low)s by "
        "one step of the scale.",
        low=ph(words, window.low),
    )
    if at is None:
        return
    if at.step is Next.MORE:
        yield words.gettext(
            "It reads pH %(ph)s. %(must)s Now %(grams)s of %(base)s, stirring.",
            ph=_read(words, at.reading),
            must=_must(words, at.reading, window),
            grams=weight(words, at.weight_g),
            base=base_name(words, base),
        )
    if at.step is Next.ASK_LOW:
        yield words.gettext(
            "All of it is in and it reads pH %(ph)s, still too low: the grams, the alum or "
            "the jar is not what we think. Ask. Put no more in.",
            ph=_read(words, at.reading),
        )


def _cup(words: Words, at: Stand | None, walk: Walk | None, base: str) -> Iterator[str]:
    if at is None or walk is None or at.step not in (Next.CUP, Next.BRAKE, Next.ASK_HIGH):
        yield words.gettext(
            "Once it is in: the cup goes in with its own share. Over it: some of the cup "
            "without, never vinegar."
        )
        return
    read = _read(words, at.reading)
    if at.step is Next.CUP:
        yield words.gettext(
            "It reads pH %(ph)s: it is in. Now the cup, %(cup)s, and after it its own "
            "%(grams)s of %(base)s. Stir, wait, read.",
            ph=read,
            cup=litres(words, at.cup_ml / 1000),
            grams=weight(words, at.weight_g),
            base=base_name(words, base),
        )
    elif at.step is Next.BRAKE:
        yield words.gettext(
            "It reads pH %(ph)s, too high: pour back some of the cup, about %(cup)s, without "
            "anything to it. Never vinegar. Stir, wait, read.",
            ph=read,
            cup=litres(words, at.cup_ml / 1000),
        )
    else:
        yield words.gettext(
            "All of the cup is in and it reads pH %(ph)s, still too high: ask. Never vinegar, "
            "and no water to make it better.",
            ph=read,
        )


def _overnight(words: Words, at: Stand | None) -> Iterator[str]:
    yield words.gettext(
        "A cloth over it, never a lid, out of reach of children. Read it again before anything "
        "is poured."
    )
    yield words.gettext(
        "A reading stands until something is put in, %(hours)d hours at most.", hours=STANDS_H
    )
    if at is None:
        return
    if at.step is Next.STRAIN:
        yield words.gettext(
            "It reads pH %(ph)s. Strain the floc off through a cloth: it does not go down the "
            "drain.",
            ph=_read(words, at.reading),
        )
    if at.step is Next.MAY_IT_GO:
        yield words.gettext(
            "It reads pH %(ph)s. Now ask whether it may go.", ph=_read(words, at.reading)
        )


def _read(words: Words, reading: DrainReading | None) -> str:
    assert reading is not None, "this step was found by a reading"
    return ph(words, unwire(reading.ph))


# ---- what was done


def _done(words: Words, old: Old) -> Mapping[int, list[str]]:
    done: dict[int, list[str]] = {}
    seen_base = False
    first = next((one for one in old.treated if one.step in CHANGES), None)
    for one in old.treated:
        if one.step == "kept_back":
            seen_base = False
        done.setdefault(_number(one, seen_base), []).append(done_by(words, one))
        seen_base = seen_base or one.step == "base_in"
    for reading in old.readings:
        if reading.ph:
            before = first is None or (reading.at, reading.entry) < (first.at, first.entry)
            step = PLACE[Next.BEFORE] if before else READ_STEP
            done.setdefault(step, []).append(done_by(words, reading))
    return done


def _number(one: Treated, seen_base: bool) -> int:
    """Return the step under which something that was done is shown."""
    if one.step == "base_in":
        return PLACE[Next.MORE if seen_base else Next.FIRST]
    step = {"kept_back": Next.KEEP_BACK, "cup_back": Next.CUP, "strained": Next.STRAIN}
    return PLACE[step[one.step]]


def done_text(words: Words, one: Treated | DrainReading) -> str:
    """Say what was done or read: 'base put in, 255 g, soda crystals'; 'pH 7.0, pH strip'."""
    return _read_text(words, one) if isinstance(one, DrainReading) else _treated(words, one)


def _treated(words: Words, one: Treated) -> str:
    parts = [say.choice(words, "treatment", one.step)]
    if one.weight_g:
        parts.append(weight(words, one.weight_g))
    if one.base:
        parts.append(base_name(words, one.base))
    if one.volume_ml:
        parts.append(litres(words, one.volume_ml / 1000))
    return ", ".join(parts)


def _read_text(words: Words, one: DrainReading) -> str:
    return words.gettext(
        "pH %(ph)s, %(instrument)s",
        ph=ph(words, unwire(one.ph)),
        instrument=say.choice(words, "instrument", one.instrument),
    )


def done_by(words: Words, one: Treated | DrainReading) -> str:
    """Say what was done or read, by whom and when."""
    return words.gettext(
        "%(what)s: %(name)s, %(when)s",
        what=done_text(words, one),
        name=face(one.by).name,
        when=say.when(words, one.at, now()),
    )
