"""A plan for a bath in sentences: grams first, then spoons, water, strength, what to mind."""

from dataclasses import dataclass
from typing import Any

from coop.actions.mix import BathPlan, Instead, Water, statement_of
from coop.actions.on_hand import Share
from coop.actions.read_dose import can_be_misread
from coop.ledger.states import RecipeState, VesselState
from coop.rules.reasons import RECIPE as RECIPE_SOURCE
from coop.web import amounts
from coop.web import words as say
from coop.web.cold_store import store_text
from coop.web.doses import SMALL_G_PER_L, quantity_text
from coop.web.good_until import past_shares
from coop.web.i18n import Words
from coop.web.salt import share_text

OWN_SPOONS_WORTH_SAYING = 0.1
"""The card's spoons in a lot's own weight are named from this difference on: our own choice."""
WATER_WORTH_SAYING = 0.01
"""What tap water takes of the alum is named from this part on: our own choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSaid:
    """A plan in sentences; all empty while nothing is planned."""

    figure: str = ""
    instead: str = ""
    spoons: tuple[str, ...] = ()
    water: str = ""
    strength: str = ""
    card: str = ""
    warnings: tuple[str, ...] = ()
    question: str = ""

    def live(self) -> dict[str, Any]:
        """Return the parts of a live answer."""
        return {
            "figure": self.figure,
            "instead": self.instead,
            "spoons": self.spoons,
            "water": self.water,
            "strength": self.strength,
            "card": self.card,
            "warnings": [*([self.question] if self.question else []), *self.warnings],
        }


def worked_key(place: str, card: str, water: Water | None, shares: tuple[Share, ...]) -> str:
    """Return what the form of what was put in is filled by: another plan has another one."""
    water_ml = f"{water.volume_ml:.3f}" if water else ""
    return "|".join(
        (place, card, water_ml, *(f"{one.lot.id}:{one.salt_g:.3f}" for one in shares))
    )


def recipe_text(words: Words, recipe: RecipeState) -> str:
    """Say a recipe as it is chosen by: name, dose, and the reading that was picked of it."""
    if recipe.by_cloth or not can_be_misread(recipe.dose):
        return words.gettext("%(name)s: %(dose)s", name=recipe.name, dose=recipe.dose)
    picked = statement_of(recipe)
    reading = words.gettext(
        "%(amount)s to %(water)s",
        amount=quantity_text(words, picked.amount),
        water=quantity_text(words, picked.water),
    )
    return words.gettext(
        "%(name)s: %(dose)s, read as %(reading)s",
        name=recipe.name,
        dose=recipe.dose,
        reading=reading,
    )


def plan_said(
    words: Words,
    plan: BathPlan | None,
    vessel: VesselState,
    problems: tuple[str, ...],
    question: str = "",
) -> PlanSaid:
    """Say a plan; `problems` keep it from being one, `question` is asked before it."""
    if plan is None:
        return PlanSaid(warnings=problems, question=question)
    asked = _question(words, plan) if plan.asks else ""
    return PlanSaid(
        figure=_figure(words, plan),
        instead=instead_text(words, plan.instead) if plan.instead else "",
        spoons=tuple(share_text(words, one) for one in plan.shares),
        water=_water(words, plan, vessel),
        strength=_strength(words, plan),
        card=_card(words, plan),
        warnings=(*problems, *_warnings(words, plan)),
        question=question or asked,
    )


def instead_text(words: Words, instead: Instead) -> str:
    """Say which salt stands for which: '64 g of potash alum do what 40 g of ... do'."""
    return words.gettext(
        "%(weight)s of %(salt)s do what %(card_weight)s of %(card_salt)s do: the same "
        "aluminium.",
        weight=amounts.weight(words, instead.salt_g),
        salt=say.choice(words, "salt_short", instead.salt),
        card_weight=amounts.weight(words, instead.card_g),
        card_salt=say.choice(words, "salt_short", instead.card_salt),
    )


def _figure(words: Words, plan: BathPlan) -> str:
    whole = amounts.weight(words, plan.salt_g)
    if not plan.shares:
        return words.gettext("Weigh %(grams)s", grams=whole)
    if len(plan.shares) == 1 and plan.missing_g <= 0:
        return words.gettext(
            "Weigh %(grams)s of %(lot)s", grams=whole, lot=plan.shares[0].lot.name
        )
    parts = ", ".join(_part(words, one) for one in plan.shares)
    return words.gettext("Weigh %(grams)s: %(parts)s", grams=whole, parts=parts)


def _part(words: Words, one: Share) -> str:
    grams = amounts.weight(words, one.salt_g)
    return words.gettext("%(grams)s of %(lot)s", grams=grams, lot=one.lot.name)


def _water(words: Words, plan: BathPlan, vessel: VesselState) -> str:
    litres = amounts.volume(words, plan.water.volume_ml)
    if plan.water.sheets is not None and plan.water.laying_ml is not None:
        return words.gettext(
            "into %(litres)s of water: the sheets take about %(drawn)s, and %(laying)s must "
            "stand to lay the last one",
            litres=litres,
            drawn=amounts.volume(words, plan.water.sheets.middle - plan.water.laying_ml),
            laying=amounts.volume(words, plan.water.laying_ml),
        )
    if not vessel.area_m2:
        return words.gettext("into %(litres)s of water", litres=litres)
    return words.gettext(
        "into %(litres)s of water, %(depth)s deep in this tub",
        litres=litres,
        depth=amounts.length(words, plan.water.volume_ml / 1000 / vessel.area_m2),
    )


def _strength(words: Words, plan: BathPlan) -> str:
    found = plan.weighed_g_per_l
    return words.gettext(
        "Weighed so, this is %(strength)s of %(salt)s. %(judged)s",
        strength=amounts.strength(
            words, found.middle, found.low, found.high, digits=_digits(found.middle)
        ),
        salt=say.choice(words, "salt_short", plan.salt),
        judged=_judged(words, plan),
    )


def _digits(g_per_l: float) -> int:
    """Return how many decimals a strength has: a weak one without any says nothing."""
    return 1 if g_per_l < SMALL_G_PER_L else 0


def _card(words: Words, plan: BathPlan) -> str:
    """Say what the card alone leaves open: its own doubt, not that of what is weighed."""
    found = plan.aim_g_per_l
    if found.low == found.high:
        return ""
    digits = _digits(found.middle)
    span = amounts.strength_span(words, found.low, found.high, digits=digits)
    if plan.by_volume:
        return words.gettext("The card's spoons could mean %(span)s.", span=span)
    return words.gettext("The card itself says %(span)s.", span=span)


def _judged(words: Words, plan: BathPlan) -> str:
    if plan.target is None and not plan.for_paper:
        return words.gettext("It will not be judged: the house's strength is for paper.")
    if plan.target is None:
        return words.gettext("It will not be judged: nobody said how strong it should be.")
    target_g_per_l = plan.target.in_salt(plan.salt)
    target = amounts.g_per_l(words, target_g_per_l, _digits(target_g_per_l))
    if plan.target.source == RECIPE_SOURCE:
        return words.gettext("It is judged by the recipe's %(target)s.", target=target)
    return words.gettext("It is judged by the house's %(target)s.", target=target)


def _question(words: Words, plan: BathPlan) -> str:
    assert plan.house_g_per_l is not None
    card_g_per_l = plan.card_g_per_l.middle
    return words.gettext(
        "This card means %(card)s, the house mixes %(house)s. By which do you mix?",
        card=amounts.g_per_l(words, card_g_per_l, _digits(card_g_per_l)),
        house=amounts.strength_figure(words, plan.house_g_per_l),
    )


def _warnings(words: Words, plan: BathPlan) -> list[str]:
    found = [*_of_water(words, plan), *_of_lots(words, plan)]
    cold = store_text(words, plan.store)
    return [*found, *([cold] if cold else []), *_of_card(words, plan)]


def _of_card(words: Words, plan: BathPlan) -> list[str]:
    found = []
    own, card = plan.by_own_spoons_g_per_l, plan.card_g_per_l.middle
    if plan.unlike is not None:
        found.append(
            words.gettext(
                "Cards of alum for paper mean %(span)s; this one means %(card)s. For cloth, "
                "for rinse water, or a slip?",
                span=amounts.strength_span(words, *plan.unlike),
                card=amounts.g_per_l(words, card, 1),
            )
        )
    if own is not None and abs(own / card - 1) > OWN_SPOONS_WORTH_SAYING:
        found.append(
            words.gettext(
                "The card's own spoons of %(lot)s would give about %(own)s, not %(card)s: "
                "its spoon was weighed. Go by the grams.",
                lot=plan.shares[0].lot.name if plan.shares else "",
                own=amounts.g_per_l(words, own, _digits(own)),
                card=amounts.strength_figure(words, card, _digits(card)),
            )
        )
    return found


def _of_water(words: Words, plan: BathPlan) -> list[str]:
    found = []
    if plan.water.too_low and plan.water.laying_ml is not None:
        laying = amounts.volume(words, plan.water.laying_ml)
        found.append(
            words.gettext("Too low to lay a sheet: this tub wants %(laying)s.", laying=laying)
        )
    if plan.taken is not None and plan.taken.fraction > WATER_WORTH_SAYING:
        found.append(
            words.gettext(
                "By its hardness this tap water takes up to %(percent)s %% of the alum "
                "(%(strength)s).",
                percent=words.number(100 * plan.taken.fraction),
                strength=amounts.g_per_l(words, plan.taken.salt_g_per_l, 1),
            )
        )
    return found


def _of_lots(words: Words, plan: BathPlan) -> list[str]:
    found = []
    if not plan.shares:
        found.append(_none_on_hand(words, plan))
    elif plan.missing_g > 0:
        found.append(
            words.gettext(
                "By the ledger that is not enough: %(missing)s must come from another lot.",
                missing=amounts.weight(words, plan.missing_g),
            )
        )
    if plan.offered is not None:
        found.append(
            words.gettext(
                "%(lot)s is another salt: %(instead)s Take it below, if you want that.",
                lot=plan.offered.lot.name,
                instead=instead_text(words, plan.offered),
            )
        )
    if plan.two_salts:
        found.append(
            words.gettext(
                "These lots are two salts: gram for gram they are not equally strong. Take one."
            )
        )
    return [*found, *past_shares(words, plan.shares)]


def _none_on_hand(words: Words, plan: BathPlan) -> str:
    return words.gettext(
        "No %(salt)s is on hand in this studio.",
        salt=say.choice(words, "salt_short", plan.salt),
    )
