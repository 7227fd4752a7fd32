"""A plan for a bath that is not alum in sentences: grams first, then spoons, water, rest."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Any

from coop.actions.make import Keeping, MakePlan
from coop.actions.on_hand import Share
from coop.ledger.liquids import SIZE
from coop.ledger.states import VesselState
from coop.science.defaults import value
from coop.science.size import DOSE_MAX_G_PER_L
from coop.web import amounts
from coop.web import words as say
from coop.web.good_until import past_shares
from coop.web.i18n import N_, Words
from coop.web.powder import LIQUID, in_its_unit, much_of
from coop.web.salt import share_text

A_WEEK = timedelta(days=6)

TITLES: Mapping[str, str] = MappingProxyType(
    {
        "size": N_("Make a size"),
        "gall_water": N_("Make gall water"),
        "rinse": N_("Fill a rinse"),
        "paste": N_("Make a paste"),
        "softener": N_("Make a softener"),
    }
)

_GUM_STEPS = (
    N_("The gum into part of the water, stirred in little by little; water as it swells."),
    N_("Stir it every few hours until it has taken up all its water."),
    N_("Strain it through a cloth before it is used."),
)
STEPS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "carrageenan": (
            N_(
                "Water with little or no softener in it, and none from a softener that runs on "
                "salt: sodium thins carrageenan."
            ),
            N_(
                "Part of the water, cold to hand-warm, into the blender, half full; the powder "
                "little by little while it runs: all at once it clumps."
            ),
            N_("Into the vessel with it, the rest of the water after it; stir."),
            N_("Cover it, and let it rest in the room in which it is used."),
        ),
        "methylcellulose": (
            N_("The powder little by little into hand-warm water, stirred all the time."),
            N_("What the powder's own leaflet adds to thicken it: as it says, gloves on."),
            N_("Stir until nothing floats, cover it, and let it rest."),
        ),
        "tragacanth": _GUM_STEPS,
        "gum": _GUM_STEPS,
        "gall_water": (N_("The gall into the water, stirred gently: froth spoils it."),),
        "rinse": (N_("Clean water, and no soap in the drum."),),
        "paste": (
            N_("The starch smooth with a little cold water first."),
            N_("Hot water onto it, stirred all the time, until it turns clear."),
            N_("Let it cool under a lid."),
        ),
        "softener": (N_("The softener into the water; stir until it is clear."),),
    }
)
"""How each is made: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MakingSaid:
    """A plan in sentences; all empty while nothing is planned."""

    figure: str = ""
    spoons: tuple[str, ...] = ()
    water: str = ""
    dose: str = ""
    rest: str = ""
    keeps: str = ""
    warnings: tuple[str, ...] = ()

    def live(self) -> dict[str, Any]:
        """Return the parts of a live answer."""
        return {
            "figure": self.figure,
            "spoons": self.spoons,
            "water": self.water,
            "dose": self.dose,
            "rest": self.rest,
            "keeps": self.keeps,
            "warnings": self.warnings,
        }


def making_said(
    words: Words,
    plan: MakePlan | None,
    vessel: VesselState | None,
    problems: tuple[str, ...],
    *,
    now: datetime,
) -> MakingSaid:
    """Say a plan; `problems` are what keeps it from being one."""
    if plan is None:
        return MakingSaid(warnings=problems)
    return MakingSaid(
        figure=_figure(words, plan),
        spoons=_spoons(words, plan),
        water=_water(words, plan, vessel),
        dose=_dose(words, plan),
        rest=_rest(words, plan.rest_until, now),
        keeps=_keeps(words, plan.keeping),
        warnings=(*problems, *_warnings(words, plan)),
    )


def _spoons(words: Words, plan: MakePlan) -> tuple[str, ...]:
    """Say each share by the spoon; a liquid is measured anyway."""
    if plan.powder == LIQUID:
        return ()
    return tuple(share_text(words, one) for one in plan.shares)


def _figure(words: Words, plan: MakePlan) -> str:
    if plan.dose_g_per_l is None:
        return ""
    whole = much_of(words, plan.powder, plan.powder_g)
    if len(plan.shares) > 1:
        of = ", ".join(_part(words, one) for one in plan.shares)
        return words.gettext("Weigh %(grams)s: %(parts)s", grams=whole, parts=of)
    if plan.shares and not plan.missing_g:
        of = plan.shares[0].lot.name
    else:
        of = say.choice(words, "powder", plan.powder)
    if plan.powder == LIQUID:
        return words.gettext("Measure %(much)s of %(what)s", much=whole, what=of)
    return words.gettext("Weigh %(grams)s of %(powder)s", grams=whole, powder=of)


def _part(words: Words, one: Share) -> str:
    much = much_of(words, one.lot.what, one.salt_g)
    return words.gettext("%(grams)s of %(lot)s", grams=much, lot=one.lot.name)


def _water(words: Words, plan: MakePlan, vessel: VesselState | None) -> str:
    litres = amounts.volume(words, plan.water.volume_ml)
    if vessel is None or not vessel.area_m2:
        return words.gettext("into %(litres)s of water", litres=litres)
    return words.gettext(
        "into %(litres)s of water, %(depth)s deep in this tub",
        litres=litres,
        depth=amounts.length(words, plan.water.volume_ml / 1000 / vessel.area_m2),
    )


def _dose(words: Words, plan: MakePlan) -> str:
    found = plan.dose_g_per_l
    if found is None:
        return ""
    if plan.powder == LIQUID:
        much = in_its_unit(plan.powder, found.middle)
        return words.gettext(
            "This is %(ml)s mL of gall to a litre of water.", ml=words.number(much)
        )
    middle = amounts.g_per_l(words, found.middle, 1)
    if found.low == found.high:
        return words.gettext("This is %(middle)s.", middle=middle)
    ends = {
        "low": amounts.strength_figure(words, found.low, 1),
        "high": amounts.strength_figure(words, found.high, 1),
    }
    if plan.by_volume:
        return words.gettext(
            "Weighed so, this is %(middle)s; the card's spoons could mean %(low)s to %(high)s.",
            middle=middle,
            **ends,
        )
    return words.gettext(
        "This is %(middle)s; the card itself says %(low)s to %(high)s.", middle=middle, **ends
    )


def _rest(words: Words, until: datetime | None, now: datetime) -> str:
    if until is None or until <= now:
        return ""
    day = words.weekday(until) if until - now < A_WEEK else words.day(until)
    return words.gettext("Not before %(day)s %(time)s.", day=day, time=words.time(until))


def _keeps(words: Words, keeping: Keeping) -> str:
    if keeping.warm_days is None or keeping.do_not_use_warm_days is None:
        num = round(keeping.days)
        return words.ngettext(
            "Look again after %(num)d day.", "Look again after %(num)d days.", num
        )
    return words.gettext(
        "In the room look again after %(warm)s days, do not use it from %(never)s on; chilled "
        "it keeps longer, but never past %(cap)s days.",
        warm=short_days(words, keeping.warm_days),
        never=short_days(words, keeping.do_not_use_warm_days),
        cap=short_days(words, keeping.days),
    )


def short_days(words: Words, days: float) -> str:
    """Say days without a decimal where there is none."""
    return words.number(days, 0 if days == int(days) else 1)


def _warnings(words: Words, plan: MakePlan) -> list[str]:
    return [
        *_of_dose(words, plan),
        *_of_softener(words, plan),
        *_of_type(words, plan),
        *_of_shelf(words, plan),
    ]


def _of_dose(words: Words, plan: MakePlan) -> list[str]:
    found = []
    if plan.dose_g_per_l is not None and plan.too_thick:
        found.append(
            words.gettext(
                "That is %(dose)s, and %(most)s is the most for a concentrate too. A slip?",
                dose=amounts.g_per_l(words, plan.dose_g_per_l.middle, 1),
                most=amounts.strength_figure(words, DOSE_MAX_G_PER_L),
            )
        )
    elif plan.dose_g_per_l is not None and plan.unlike is not None:
        found.append(
            words.gettext(
                "A size of %(powder)s has %(span)s; this card means %(dose)s. Put it right, "
                "or say below that it is meant so.",
                powder=say.choice(words, "powder", plan.powder),
                span=amounts.strength_span(words, *plan.unlike, digits=1),
                dose=amounts.strength_figure(words, plan.dose_g_per_l.middle, 1),
            )
        )
    if plan.dilution is not None:
        found.append(
            words.gettext(
                "As a concentrate: with %(water)s of water more it is %(volume)s of a size of "
                "%(dose)s.",
                water=amounts.volume(words, plan.dilution.water_ml),
                volume=amounts.volume(words, plan.dilution.volume_ml),
                dose=amounts.g_per_l(words, plan.dilution.dose_g_per_l, 1),
            )
        )
    if plan.too_low:
        found.append(words.gettext("Too low to lay a sheet in this tub."))
    return found


def _of_softener(words: Words, plan: MakePlan) -> list[str]:
    """Say what a softener does that is washing soda, as most are."""
    found = []
    if plan.dose_g_per_l is not None and plan.much_softener:
        found.append(
            words.gettext(
                "That is %(dose)s of softener, over %(high)s. Is it meant? Much of it makes "
                "the water bite, and thins a size made with it.",
                dose=amounts.g_per_l(words, plan.dose_g_per_l.middle, 1),
                high=amounts.strength_figure(words, value("softener_high_g_per_l")),
            )
        )
    if plan.softens is not None:
        found.append(
            words.gettext(
                "If it is washing soda, never near alum: in an alum bath so much of it turns "
                "%(alum)s of %(salt)s into floc.",
                alum=amounts.g_per_l(words, plan.softens.salt_g_per_l, 1),
                salt=say.choice(words, "salt_short", plan.softens.salt),
            )
        )
        found.append(
            words.gettext(
                "And its sodium, %(sodium)s mmol/L, thins a size of carrageenan.",
                sodium=words.number(plan.softens.sodium_mmol_per_l, 1),
            )
        )
    return found


def _of_type(words: Words, plan: MakePlan) -> list[str]:
    found = [
        words.gettext(
            "%(lot)s is %(type)s carrageenan: it sets to a jelly and is not for marbling.",
            lot=lot.name,
            type=lot.carrageenan,
        )
        for lot in plan.gels
    ]
    found += [
        words.gettext(
            "Nobody knows which carrageenan %(lot)s is. Kappa and iota set to a jelly: make a "
            "cupful first.",
            lot=lot.name,
        )
        for lot in plan.may_gel
    ]
    return found


def _of_shelf(words: Words, plan: MakePlan) -> list[str]:
    if not plan.powder_g:
        return []
    powder = say.choice(words, "powder", plan.powder)
    if not plan.shares:
        text = words.gettext("No %(powder)s is on hand in this studio.", powder=powder)
        return [text]
    past = past_shares(words, plan.shares)
    if not plan.missing_g:
        return past
    return [
        *past,
        words.gettext(
            "By the ledger that is not enough: %(missing)s must come from another lot.",
            missing=much_of(words, plan.powder, plan.missing_g),
        ),
    ]


def steps(words: Words, what: str, powder: str) -> tuple[str, ...]:
    """Return how it is made, step by step."""
    found = STEPS.get(powder if what == SIZE else what, ())
    return tuple(words.gettext(text) for text in found)
