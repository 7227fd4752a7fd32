"""Recipes in sentences: as written, as understood, what two differ by, what to know before."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from coop.actions.make import keeping_of
from coop.actions.read_dose import Meant, goods_of_card
from coop.actions.recipes import (
    ALUM,
    BySpoon,
    Card,
    Caveat,
    Difference,
    InSalt,
    OtherKind,
    caveats_of,
    target_for,
)
from coop.actions.see_recipes import Bench, Edition, RecipeLook
from coop.actions.spoons import usual_spoon_g
from coop.ids import MemberId
from coop.ledger.liquids import SIZE, rests_until
from coop.ledger.states import HouseState, RecipeState, StudioState
from coop.rules.baths import limits_of
from coop.rules.limits import Target
from coop.rules.reasons import RECIPE
from coop.units.notes import DILUTED_TO_WHAT, READ_AS
from coop.units.strength import Statement
from coop.web import amounts
from coop.web import words as say
from coop.web.defaults_text import short
from coop.web.doses import (
    SMALL_G_PER_L,
    UNIT_NAMES,
    apart_text,
    dose_text,
    note_text,
    spoons_text,
)
from coop.web.i18n import N_, Words

MANY_TIMES: Final = 10
"""From so many times on a tenth of it is not said."""
FRESH: Final = datetime.fromisoformat("2000-01-01T00:00:00+00:00")
"""Any moment: how long a size rests is the same from each."""

FOR: Mapping[str, str] = MappingProxyType(
    {
        "paper": N_("for paper"),
        "fabric": N_("for fabric"),
        "rinse_water": N_("to clear rinse water"),
    }
)
CAVEATS: Mapping[str, str] = MappingProxyType(
    {
        "for-fabric": N_("This card is for fabric, not for paper."),
        "for-rinse_water": N_(
            "This card clears rinse water: no paper or cloth takes colour by it."
        ),
        "paste-no-mordant": N_(
            "Alum in a paste keeps it and stiffens it. It holds no colour: what is pasted with "
            "it still wants its own alum."
        ),
        "concentrate": N_(
            "A concentrate: it makes about %(times)s times as much at the usual %(usual)s. "
            "Dilute it before it is used, to what the card itself says where it says so."
        ),
        "to-be-diluted": N_(
            "The card calls it a concentrate: what is made by it is diluted before it is used. "
            "Say to what, where the card does not."
        ),
        "softener-strong": N_(
            "Over %(high)s: find out first what this softener is. So much washing soda makes "
            "the water caustic, and sodium thins carrageenan."
        ),
        "near-solubility": N_(
            "This is %(percent)s %% of what dissolves at %(warmth)s: in the cold crystals may "
            "fall out, and the bath is then weaker than it seems."
        ),
    }
)

DIFFERENCES: Mapping[str, str] = MappingProxyType(
    {
        "what": N_("The first makes %(first)s, the second %(second)s: not to be compared."),
        "powder": N_(
            "The first is of %(first)s, the second of %(second)s: gram for gram they are not "
            "equally thick."
        ),
        "cloth-and-litres": N_(
            "One goes by the weight of the cloth, the other by litres of water: how strong the "
            "one is depends on how much water the cloth is laid in."
        ),
        "as-strong": N_("They come to the same strength."),
        "second-stronger": N_("The second is %(times)s times as strong as the first."),
        "first-stronger": N_("The first is %(times)s times as strong as the second."),
        "in-the-other-salt": N_(
            "%(dose)s of %(salt)s hold as much aluminium as %(other_dose)s of %(other_salt)s."
        ),
        "spoon-fits": N_(
            "One is weighed, the other spooned. If both mean the same, a %(spoon)s of it "
            "weighs %(grams)s; %(usual)s is usual."
        ),
        "spoon-does-not-fit": N_(
            "One is weighed, the other spooned. If both meant the same, a %(spoon)s of it "
            "would weigh %(grams)s; %(usual)s is usual. They do not mean the same."
        ),
        "made-for": N_("The first is %(first)s, the second %(second)s."),
        "rest_hours": N_("The first rests %(first)s, the second %(second)s."),
        "look_again_warm_days": N_(
            "The first is looked at again after %(first)s, the second after %(second)s."
        ),
        "do_not_use_warm_days": N_(
            "The first is not used from %(first)s on, the second from %(second)s on."
        ),
        "cap_days": N_("The first is never used past %(first)s, the second past %(second)s."),
        "side": N_("By the first %(first)s; by the second %(second)s."),
        "target": N_(
            "Baths by the first are judged by %(first)s, by the second by %(second)s."
        ),
    }
)

KINDS_OF_OUNCE: Mapping[str, str] = MappingProxyType(
    {"mass": N_("by weight"), "fluid": N_("by volume")}
)

SAID_APART: Final = READ_AS | {"concentrate", DILUTED_TO_WHAT}
"""Notes of the reader that have a place of their own on a card's page."""
JUDGED_BY_CARD: Final = N_("%(dose)s of %(salt)s (the card's)")
JUDGED_BY_HOUSE: Final = N_("%(dose)s of %(salt)s (the house's)")
RESTS: Final = N_("%(hours)s hours")
RESTS_USUALLY: Final = N_("%(hours)s hours, as its powder usually does")


@dataclass(frozen=True, slots=True, kw_only=True)
class CardSaid:
    """
    A card as it is shown in the list, beside another one, and on its own page.

    Attributes:
        dose: As it is written.
        understood: How much powder to how much water, or to how much cloth.
        strength: What that comes to, with its range; empty where it goes by cloth.
        of: The salt or powder.
        printed: Edition and date as the card itself says them.
        sides: Where the mark goes in the studios that mark another side than the card.
    """

    name: str
    dose: str
    understood: str
    strength: str
    aluminium: str
    of: str
    kind: str
    made_for: str
    printed: str
    source: str
    judged: str
    rests: str
    keeps: str
    side: str
    caveats: tuple[str, ...]
    sides: tuple[str, ...]

    @property
    def warned(self) -> bool:
        """Whether there is something to know before."""
        return bool(self.caveats or self.sides)


def card_said(
    words: Words,
    card: Card,
    house: HouseState | None,
    studios: Iterable[StudioState],
    store_c: float,
) -> CardSaid:
    """Say a card: what it is, what is understood of it, what to know before."""
    recipe = card.recipe
    return CardSaid(
        name=recipe.name,
        dose=recipe.dose,
        understood=understood_text(words, card),
        strength=strength_said(words, card),
        aluminium=_aluminium(words, card),
        of=of_text(words, recipe),
        kind=say.choice(words, "bath", recipe.what),
        made_for=words.gettext(FOR[recipe.made_for]),
        printed=printed_text(recipe),
        source=recipe.source,
        judged=_judged(words, recipe, house),
        rests=_rests(words, recipe),
        keeps=_keeps(words, recipe, house),
        side=say.choice(words, "side", recipe.side) if recipe.side else "",
        caveats=tuple(caveat_text(words, one) for one in caveats_of(card, store_c=store_c)),
        sides=tuple(_sides(words, recipe, studios)),
    )


def understood_text(words: Words, card: Card) -> str:
    """Say how much powder goes to how much water, or to how much dry cloth."""
    if card.picked is not None:
        return dose_text(words, card.picked)
    goods = goods_of_card(card.recipe)
    return goods_text(words, goods.low, goods.high)


def goods_text(words: Words, low: float | Fraction, high: float | Fraction) -> str:
    """Say how much powder goes to dry cloth, from parts of its weight: '15 g to 100 g ...'."""
    middle = float(low + high) / 2
    percent = short(words, round(100 * float(low), 1))
    if low != high:
        percent = words.gettext(
            "%(low)s to %(high)s",
            low=percent,
            high=short(words, round(100 * float(high), 1)),
        )
    return words.gettext(
        "%(grams)s to %(cloth)s of dry cloth: %(percent)s %% of its weight",
        grams=grams_text(words, 100 * middle),
        cloth=amounts.weight(words, 100),
        percent=percent,
    )


def grams_text(words: Words, weight_g: float) -> str:
    """Say a weight to a tenth of a gram where it has one: '15 g', '9.4 g'."""
    return amounts.weight(words, weight_g, _decimals_g(weight_g))


def _decimals_g(*weights_g: float) -> int:
    whole = all(round(one, 1) == round(one) for one in weights_g)
    return 0 if whole else 1


def strength_said(words: Words, card: Card) -> str:
    """Say the strength of a card: exact where it is weighed, else with its range."""
    return _spread(words, card.picked) if card.picked is not None else ""


def _spread(words: Words, one: Statement) -> str:
    low, middle, high = (
        float(end) for end in (one.g_per_l.low, one.g_per_l.middle, one.g_per_l.high)
    )
    digits = 1 if middle < SMALL_G_PER_L else 0
    if low == high:
        return dose_figure(words, middle)
    return amounts.strength(words, middle, low, high, digits=digits)


def dose_figure(words: Words, g_per_l: float) -> str:
    """Say a strength with a decimal where it is small or has one: '2.6 g/L', '31 g/L'."""
    whole = g_per_l >= SMALL_G_PER_L or round(g_per_l, 1) == round(g_per_l)
    return amounts.g_per_l(words, g_per_l, 0 if whole else 1)


def _aluminium(words: Words, card: Card) -> str:
    if card.al_mmol_per_l is None:
        return ""
    digits = 1 if card.al_mmol_per_l < SMALL_G_PER_L else 0
    figure = words.number(card.al_mmol_per_l, digits)
    return words.gettext("%(figure)s mmol of aluminium per litre", figure=figure)


def of_text(words: Words, recipe: RecipeState) -> str:
    """Say which salt or powder a recipe is of."""
    if recipe.what == ALUM and recipe.salt:
        return say.choice(words, "salt_short", recipe.salt)
    return say.choice(words, "powder", recipe.powder) if recipe.powder else ""


def printed_text(recipe: RecipeState) -> str:
    """Give edition and date as they stand on the card."""
    return ", ".join(part for part in (recipe.printed, recipe.dated) if part)


def _judged(words: Words, recipe: RecipeState, house: HouseState | None) -> str:
    return judged_text(words, target_for(recipe, house)) if recipe.what == ALUM else ""


def judged_text(words: Words, target: Target | None) -> str:
    """Say what baths by a recipe are judged by, and by whose word."""
    if target is None:
        return words.gettext("not judged: nobody said how strong")
    text = JUDGED_BY_CARD if target.source == RECIPE else JUDGED_BY_HOUSE
    return words.gettext(
        text,
        dose=amounts.strength_as_said(words, target.g_per_l),
        salt=say.choice(words, "salt_short", target.salt),
    )


def _rests(words: Words, recipe: RecipeState) -> str:
    until = rests_until(FRESH, recipe.what, recipe.powder or "", recipe)
    if until is None:
        return ""
    hours = (until - FRESH).total_seconds() / 3600
    text = RESTS_USUALLY if recipe.rest_hours is None else RESTS
    return words.gettext(text, hours=short(words, hours))


def _keeps(words: Words, recipe: RecipeState, house: HouseState | None) -> str:
    if recipe.what == ALUM:
        return ""
    keeping = keeping_of(recipe.what, recipe, house)
    if recipe.what != SIZE or keeping.warm_days is None:
        return words.gettext("look again after %(days)s days", days=short(words, keeping.days))
    assert keeping.do_not_use_warm_days is not None, "a size goes by both"
    return words.gettext(
        "look again after %(look)s warm days, not used from %(stop)s on, never past day "
        "%(cap)s",
        look=short(words, keeping.warm_days),
        stop=short(words, keeping.do_not_use_warm_days),
        cap=short(words, keeping.days),
    )


# ---- what to know before


def caveat_text(words: Words, one: Caveat) -> str:
    """Say what to know before a bath is made by a card."""
    numbers, said = one.numbers, dict[str, str]()
    if one.code == "concentrate":
        said["times"] = short(words, round(numbers["times"], 1))
        said["usual"] = dose_figure(words, numbers["usual_g_per_l"])
    elif one.code == "softener-strong":
        said["high"] = dose_figure(words, numbers["high_g_per_l"])
    elif one.code == "near-solubility":
        said["percent"] = words.number(100 * numbers["fraction"])
        said["warmth"] = amounts.warmth(words, numbers["store_c"])
    return words.gettext(CAVEATS[one.code], **said)


def times_text(words: Words, times: float) -> str:
    """Say how many times: '6.1', '12'."""
    return words.number(times, 0 if times >= MANY_TIMES else 1)


def _sides(words: Words, recipe: RecipeState, studios: Iterable[StudioState]) -> Iterator[str]:
    for one in studios:
        if recipe.side is not None and one.side_rule != recipe.side:
            yield words.gettext(
                "By this card %(card)s; in %(studio)s %(rule)s. Mark and lay as the studio "
                "does.",
                card=say.choice(words, "side", recipe.side),
                studio=one.name,
                rule=say.choice(words, "side", one.side_rule),
            )


# ---- how two differ


def difference_text(words: Words, one: Difference) -> str:
    """Say what differs between two cards."""
    return words.gettext(DIFFERENCES[one.code], **_SAID.get(one.code, _pair)(words, one))


def _pair(words: Words, one: Difference) -> dict[str, str]:
    group = "powder" if one.code == "powder" else "bath" if one.code == "what" else one.code
    ends = (one.said.get("first"), one.said.get("second"))
    if group == "made-for":
        first, second = (words.gettext(FOR[str(end)]) for end in ends)
    elif one.said:
        first, second = (say.choice(words, group, str(end)) for end in ends)
    else:
        return {}
    return {"first": first, "second": second}


def _times(words: Words, one: Difference) -> dict[str, str]:
    return {"times": times_text(words, one.said["times"])}


def _other_salt(words: Words, one: Difference) -> dict[str, str]:
    return {
        "dose": dose_figure(words, one.said["g_per_l"]),
        "salt": say.choice(words, "salt_short", one.said["salt"]),
        "other_dose": dose_figure(words, one.said["other_g_per_l"]),
        "other_salt": say.choice(words, "salt_short", one.said["other_salt"]),
    }


def _spoon(words: Words, one: Difference) -> dict[str, str]:
    return {
        "spoon": words.gettext(
            "level %(unit)s", unit=words.gettext(UNIT_NAMES[one.said["unit"]][0])
        ),
        "grams": grams_text(words, one.said["g_per_spoon"]),
        "usual": _usual_text(words, one.said["low_g"], one.said["high_g"]),
    }


def _hours(words: Words, one: Difference) -> dict[str, str]:
    return _ends(
        one,
        lambda hours: words.gettext("%(hours)s hours", hours=short(words, hours)),
        words.gettext("as long as its powder usually does"),
    )


def _days(words: Words, one: Difference) -> dict[str, str]:
    return _ends(
        one,
        lambda days: words.gettext("%(days)s days", days=short(words, days)),
        words.gettext("the house's days"),
    )


def _ends(one: Difference, said: Callable[[float], str], nothing: str) -> dict[str, str]:
    return {
        end: nothing if one.said[end] is None else said(one.said[end])
        for end in ("first", "second")
    }


def _targets(words: Words, one: Difference) -> dict[str, str]:
    return {end: _target(words, one.said[end]) for end in ("first", "second")}


def _target(words: Words, target: Target | None) -> str:
    if target is None:
        return words.gettext("no strength, as nobody said how strong")
    if target.source != RECIPE:
        return words.gettext("the house's strength")
    return words.gettext(
        "%(dose)s of %(salt)s",
        dose=amounts.strength_as_said(words, target.g_per_l),
        salt=say.choice(words, "salt_short", target.salt),
    )


_SAID: Mapping[str, Callable[[Words, Difference], dict[str, str]]] = MappingProxyType(
    {
        "first-stronger": _times,
        "second-stronger": _times,
        "in-the-other-salt": _other_salt,
        "spoon-fits": _spoon,
        "spoon-does-not-fit": _spoon,
        "rest_hours": _hours,
        "look_again_warm_days": _days,
        "do_not_use_warm_days": _days,
        "cap_days": _days,
        "target": _targets,
    }
)


# ---- what the card could also be read as


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingSaid:
    """One reading of a card, what it comes to, and whether it is the one that holds."""

    dose: str
    strength: str
    picked: bool
    matters: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ContradictionSaid:
    """Two readings of a card, how far they are apart, and who settled it when."""

    readings: tuple[ReadingSaid, ...]
    apart: str
    settled: str


def contradiction_said(words: Words, card: Card, settled: str) -> ContradictionSaid | None:
    """Say both readings of a card that says two things; None for one that says one."""
    if not card.contradicts or card.picked is None:
        return None
    assert card.reading is not None
    assert card.reading.contradiction is not None
    return ContradictionSaid(
        readings=(
            ReadingSaid(
                dose=dose_text(words, card.picked),
                strength=_spread(words, card.picked),
                picked=True,
            ),
            *(_other_reading(words, card.picked, one) for one in card.others),
        ),
        apart=words.gettext(
            "The card says two things. They are %(apart)s apart.",
            apart=apart_text(words, card.reading.contradiction.apart),
        ),
        settled=settled,
    )


def _other_reading(words: Words, picked: Statement, one: Statement) -> ReadingSaid:
    times = float(one.g_per_l.middle / picked.g_per_l.middle)
    if times > 1:
        matters = words.gettext(
            "A bath by it would be %(times)s times as strong.", times=times_text(words, times)
        )
    else:
        matters = words.gettext(
            "A bath by it would have %(percent)s %% of the strength.",
            percent=words.number(100 * times),
        )
    return ReadingSaid(
        dose=dose_text(words, one),
        strength=_spread(words, one),
        picked=False,
        matters=matters,
    )


def settled_text(words: Words, edition: Edition, name: Callable[[MemberId], str]) -> str:
    """Say who settled how a card is read, and when: who published the edition."""
    return words.gettext(
        "%(name)s settled it on %(moment)s.",
        name=name(edition.by),
        moment=words.moment(edition.at),
    )


def notes_said(words: Words, card: Card) -> tuple[str, ...]:
    """Say what else matters of how a card is read; bare gallons have their own table."""
    if card.reading is None:
        return ()
    notes = (one for one in card.reading.notes if one.code not in SAID_APART)
    return tuple(note_text(words, one, Meant()) for one in notes)


@dataclass(frozen=True, slots=True, kw_only=True)
class KindSaid:
    """What a card comes to by one kind of a measure; `taken` is the one it was read as."""

    kind: str
    strength: str
    taken: bool


def kinds_said(words: Words, found: Iterable[OtherKind]) -> tuple[KindSaid, ...]:
    """Say what a card comes to by every kind of the measures it leaves open."""
    return tuple(
        KindSaid(
            kind=words.gettext(KINDS_OF_OUNCE[one.kind])
            if one.kind in KINDS_OF_OUNCE
            else say.choice(words, f"kinds_{one.question}", one.kind),
            strength=dose_figure(words, one.g_per_l),
            taken=one.taken,
        )
        for one in found
    )


# ---- what if it is another salt, or another powder


@dataclass(frozen=True, slots=True, kw_only=True)
class SaltRow:
    """A card in one salt: dose, target and its lines as `cells`, and lots on the shelf."""

    salt: str
    own: bool
    cells: tuple[str, ...]
    near: bool
    lots: tuple[tuple[str, str], ...]


def salt_rows(words: Words, found: Iterable[InSalt], bench: Bench) -> tuple[SaltRow, ...]:
    """Say a card in every salt; lots of the shelf stand at theirs, with their addresses."""
    return tuple(_salt_row(words, one, bench) for one in found)


def _salt_row(words: Words, one: InSalt, bench: Bench) -> SaltRow:
    limits = limits_of(bench.house)
    cells = [_per_cloth(words, one.g_per_g) if one.g_per_g is not None else ""]
    if one.dose_g_per_l is not None:
        cells = [dose_figure(words, one.dose_g_per_l)]
    for fraction in (1.0, limits.look_again_fraction, limits.do_not_use_fraction):
        target = one.target_g_per_l
        cells.append("" if target is None else dose_figure(words, fraction * target))
    studios = {studio.id: studio.name for studio in bench.studios}
    return SaltRow(
        salt=say.choice(words, "salt", one.salt),
        own=one.own,
        cells=tuple(cells),
        near=one.near_solubility,
        lots=tuple(
            (
                words.gettext(
                    "%(lot)s, %(studio)s", lot=lot.name, studio=studios.get(lot.studio, "")
                ),
                f"/lots/{lot.id}",
            )
            for lot in bench.alum
            if lot.salt == one.salt
        ),
    )


def _per_cloth(words: Words, g_per_g: float) -> str:
    return words.gettext(
        "%(grams)s to %(cloth)s of cloth",
        grams=grams_text(words, 100 * g_per_g),
        cloth=amounts.weight(words, 100),
    )


def spoon_said(words: Words, found: BySpoon, target: Target | None, salt: str | None) -> str:
    """Say what a card comes to with a powder whose spoon is known."""
    each = words.gettext(
        "A level %(unit)s of it weighs %(grams)s.",
        unit=words.gettext(UNIT_NAMES[found.spoon][0]),
        grams=grams_text(words, found.g_per_spoon),
    )
    if found.g_per_l is None:
        assert found.spoons_per_l is not None, "a card is weighed or spooned"
        return f"{each} {_weighed_in_spoons(words, found.spoons_per_l, found.spoon)}"
    comes = words.gettext(
        "The card's spoons come to %(dose)s.", dose=dose_figure(words, found.g_per_l)
    )
    if target is None or salt is None:
        return f"{each} {comes}"
    against = words.gettext(
        "That is %(percent)s %% of the %(target)s its baths are judged by.",
        percent=words.number(100 * found.g_per_l / target.in_salt(salt)),
        target=dose_figure(words, target.in_salt(salt)),
    )
    return f"{each} {comes} {against}"


def odd_spoon_text(words: Words, spoon_g: float, what: str, spoon: str) -> str:
    """Ask about the weight of spoons that no such powder has."""
    low_g, high_g = usual_spoon_g(what, spoon)
    return words.gettext(
        "A level %(unit)s of it would weigh %(grams)s; %(usual)s is usual. Ten of them, or "
        "one? In which unit?",
        unit=words.gettext(UNIT_NAMES[spoon][0]),
        grams=grams_text(words, spoon_g),
        usual=_usual_text(words, low_g, high_g),
    )


def _usual_text(words: Words, low_g: float, high_g: float) -> str:
    return amounts.weight_span(words, low_g, high_g, digits=_decimals_g(low_g, high_g))


def _weighed_in_spoons(words: Words, spoons_per_l: float, spoon: str) -> str:
    if words.us:
        spoons = spoons_text(words, spoons_per_l * amounts.US_GALLON_ML / 1000, spoon)
        return words.gettext("The card's weight is %(spoons)s to the US gallon.", spoons=spoons)
    spoons = spoons_text(words, spoons_per_l, spoon)
    return words.gettext("The card's grams are %(spoons)s to the litre.", spoons=spoons)


def cloth_said(words: Words, powder_g: float, cloth_g: float, recipe: RecipeState) -> str:
    """Say how much powder so much dry cloth wants."""
    return words.gettext(
        "Weigh %(grams)s of %(powder)s for %(cloth)s of dry cloth.",
        grams=grams_text(words, powder_g),
        powder=of_text(words, recipe),
        cloth=amounts.weight(words, cloth_g),
    )


# ---- editions


@dataclass(frozen=True, slots=True, kw_only=True)
class EditionSaid:
    """One edition in the list of them: what it said, from when on, and where it is shown."""

    told: str
    dose: str
    strength: str
    printed: str
    url: str
    compare_url: str
    shown: bool
    in_force: bool


def edition_address(recipe: RecipeState, newest: RecipeState) -> str:
    """Return how an edition is named in an address: the newest by its recipe alone."""
    return recipe.id if recipe.edition == newest.edition else f"{recipe.id}.{recipe.edition}"


def editions_said(
    words: Words,
    look: RecipeLook,
    name: Callable[[MemberId], str],
    card_of: Callable[[RecipeState], Card],
) -> tuple[EditionSaid, ...]:
    """Say every edition of a card, the newest first."""
    newest = look.editions[0].recipe
    return tuple(
        EditionSaid(
            told=words.gettext(
                "%(moment)s, %(name)s", moment=words.moment(one.at), name=name(one.by)
            ),
            dose=one.recipe.dose,
            strength=strength_said(words, card_of(one.recipe))
            or understood_text(words, card_of(one.recipe)),
            printed=printed_text(one.recipe),
            url=_edition_url(one, newest),
            compare_url=_compare_url(look, one, newest),
            shown=one is look.shown,
            in_force=one.recipe is newest,
        )
        for one in look.editions
    )


def _edition_url(one: Edition, newest: RecipeState) -> str:
    there = f"/recipes/{one.recipe.id}"
    return there if one.recipe is newest else f"{there}?edition={one.recipe.edition}"


def _compare_url(look: RecipeLook, one: Edition, newest: RecipeState) -> str:
    if one is look.shown:
        return ""
    first, second = (edition_address(end.recipe, newest) for end in (one, look.shown))
    return f"/recipes/compare?one={first}&other={second}"
