"""
Forty traps of the trade's recipes, each as it is typed or met, with what catches it.

All are common practice, no source: contradictions between instruction pages, leaflets and old
manuals. Figures of units are exact by definition; see `tests/units/test_table.py`.
"""

import inspect
import pkgutil
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from importlib import import_module
from typing import Any, NamedTuple

import pytest

import coop.science
from coop.actions.make import POWDERS_OF, Asked, keeping_of, plan_liquid
from coop.actions.mix import Water
from coop.actions.read_dose import understand
from coop.actions.recipes import caveats_of, differences, read_card
from coop.actions.see_shelf import GELS
from coop.ids import EntryId, Subject
from coop.ledger import kinds
from coop.ledger.measure import laying_ml
from coop.ledger.schema import Slip, day
from coop.ledger.states import RecipeState, VesselState
from coop.ledger.together import held_together
from coop.rules.gaps import Counted, Gap, PackSize, suggestions
from coop.rules.limits import Limits
from coop.rules.packs.reading import read_pack
from coop.rules.stacks import Kept, StackFacts, answer_stack
from coop.science import alum, neutralising, paper
from coop.science.defaults import default, value
from coop.units.amount import read_amount
from coop.units.day import read_day
from coop.units.dose import DoseReading, read_dose
from coop.units.fault import NotUnderstood
from coop.units.goods import read_goods_dose
from coop.units.gravity import read_gravity
from coop.units.kinds import Kinds
from coop.units.sheets import read_sheets
from coop.units.soda import read_soda
from coop.units.strength import Bulk
from coop.units.temperature import read_temperature
from tests.support.files import ROOT

US = Kinds(gallon="us", cup="us", spoon="us")
IMPERIAL = Kinds(gallon="imp", cup="imp", spoon="imp")
AUSTRALIAN = Kinds(gallon="imp", cup="metric", spoon="au")
ALUM = Bulk.of_us_tablespoon(Fraction(11), Fraction("14.8"), Fraction(20))
AS_WATER = Bulk(*[Fraction(1)] * 3)
NOON = datetime(2025, 9, 20, 12, tzinfo=UTC)
AN_ID = Subject("0")


def read(typed: str, house: Kinds = US, bulk: Bulk = ALUM) -> DoseReading:
    return read_dose(typed, house, bulk)


def middle(typed: str, house: Kinds = US, bulk: Bulk = ALUM) -> float:
    found = read(typed, house, bulk).g_per_l
    assert found is not None
    return float(found.middle)


def apart(typed: str) -> Fraction | None:
    found = read(typed).contradiction
    return found.apart if found else None


def look_alikes(typed: str) -> list[tuple[str, float]]:
    return [(one.code, round(float(one.g_per_l.middle), 1)) for one in read(typed).look_alikes]


def notes(typed: str) -> list[str]:
    return [one.code for one in read(typed).notes]


def asks(typed: str) -> list[str]:
    return [one.question for one in read(typed).asks]


def doubt(typed: str) -> float:
    found = read(typed).g_per_l
    assert found is not None
    return round(float(found.high / found.low), 2)


def refused(
    reader: Callable[[str], Any] = read,
) -> Callable[[str], tuple[str, str, tuple[str, ...]]]:
    """What a reader says to a text: the code, the words in question, what would be right."""

    def catch(typed: str) -> tuple[str, str, tuple[str, ...]]:
        with pytest.raises(NotUnderstood) as caught:
            reader(typed)
        return caught.value.code, caught.value.part, caught.value.options

    return catch


def diluted(typed: str) -> bool:
    """Whether it is asked to what a dose is diluted."""
    return "diluted-to-what" in {one.code for one in understand(typed, US).notes}


def of_powder(powder: str) -> Callable[[str], bool]:
    """Whether a dose of this powder is called a concentrate."""

    def catch(typed: str) -> bool:
        found = understand(typed, US, of=powder).notes
        return "concentrate" in {one.code for one in found}

    return catch


def base_ml(typed: str) -> float:
    return round(float(read_amount(typed, None).base), 2)


def lump_over_pulverised(typed: str) -> float:
    lump, pulverised = (Bulk(*[Fraction(text)] * 3) for text in ("0.88", "0.75"))
    return round(middle(typed, bulk=lump) / middle(typed, bulk=pulverised), 2)


def aluminium_percent(salt: str) -> float:
    mmol = alum.mmol_al_per_l(strength_g_per_l=1, salt=salt)
    return round(mmol * alum.molar_mass_g_per_mol(atoms={"Al": 1}) / 10, 1)


def as_potash_alum(typed: str) -> tuple[float, tuple[str, ...]]:
    """Potash alum that holds as much aluminium; and the words that changed no number."""
    found = read(typed)
    assert found.g_per_l is not None
    grams = alum.same_strength_g(
        weight_g=float(found.g_per_l.middle),
        salt="aluminium_sulfate_14",
        other_salt="potash_alum",
    )
    return round(grams, 1), found.asides


def crystallises(typed: str) -> bool:
    """Whether it is over six tenths of what dissolves in a store at 20 C."""
    dose = middle(typed, bulk=AS_WATER)
    part = alum.solubility_fraction(dose_g_per_l_water=dose, salt="potash_alum", liquid_c=20)
    return part > value("solubility_warn_fraction")


def imperial_is_weaker(typed: str) -> float:
    changes = dict(next(one for one in read(typed).notes if "gallon" in one.code).fields)
    change = changes["imp"]
    assert isinstance(change, Fraction)
    return round(float(change), 3)


def spoons_of_two_kinds(typed: str) -> tuple[float, float]:
    """Carrageenan of 8.4 g a US tablespoon."""
    powder = Bulk.of_us_tablespoon(*[Fraction("8.4")] * 3)
    return round(middle(typed, US, powder), 1), round(middle(typed, AUSTRALIAN, powder), 1)


def g_per_l(typed: str) -> float:
    return round(middle(typed, bulk=AS_WATER), 1)


def like_an_alum_for_paper(typed: str) -> bool:
    usual = default("target_g_per_l")
    return usual.low <= middle(typed, bulk=AS_WATER) <= usual.high


def recipe(**more: Any) -> kinds.RecipePublished:
    said: dict[str, Any] = {
        "name": "Leaflet",
        "dose": "15 % owg",
        "amount": read_amount("15 g", None),
        "per": read_amount("1 L", None),
        "salt": "potash_alum",
        **more,
    }
    return kinds.RecipePublished(**said)


def by_cloth(made_for: str) -> str:
    """What is refused of a recipe whose dose is by the weight of cloth."""
    odd = held_together(recipe(per=read_amount("100 g", None), made_for=made_for))
    return odd.field if odd else ""


def tells_apart(field: str) -> bool:
    """Whether two cards with the same dose stay two by this word."""
    values = {"printed": "1998", "dated": "2019-04", "side": kinds.SIDES[1]}
    return recipe(**{field: values[field]}) != recipe()


def word_of_a_stack(kept: str) -> str:
    """The word on sheets that were alumed four days ago."""
    since = NOON - timedelta(days=4)
    facts = StackFacts(
        alumed_at=since, kept=Kept(kept), kept_since=since, sheet_count=60, left_count=60
    )
    return answer_stack(facts, Limits(), NOON).word.value


def reams_behind_a_gap(typed: str) -> list[tuple[int, int]]:
    """A lot written as one ream of 500, where 480 are seen: in quarter sheets."""
    seen = read_sheets(typed).sheets
    gap = Gap(measure="sheets", expected=500 * 4, seen=seen * 4, doubt=0)
    counted = Counted(lot=AN_ID, studio=AN_ID, day=NOON.date(), gap=gap)
    found = suggestions(counted, pack=500 * 4, pack_count=1, others=(), twins=())
    return [(one.typed // 4, one.likely // 4) for one in found if isinstance(one, PackSize)]


def quarters(sheet_format: str) -> float:
    area = paper.sheet_area_m2(sheet_format=sheet_format)
    return round(area / paper.sheet_area_m2(sheet_format="quarter"), 3)


def over_anhydrous(typed: str) -> float:
    """Grams of a soda for what one gram of the anhydrous form does."""
    needs = (
        neutralising.full_dose(salt_g=100, salt="potash_alum", base=base).middle_g
        for base in (read_soda(typed), "anhydrous")
    )
    dose, anhydrous = needs
    return round(dose / anhydrous, 2)


def lowest_ph(pack: str) -> list[float]:
    """How low a pH may be by the rules of one place."""
    text = (ROOT / "fixtures" / "rules" / f"{pack}.toml").read_text()
    found = read_pack(text, name=pack, demo=True)
    return [float(rule.low) for rule in found.rules if rule.quantity == "ph" and rule.low]


def strength_from(parameter: str) -> list[str]:
    """Functions of the science that reckon a strength from such a figure."""
    found = set()
    for module in pkgutil.iter_modules(coop.science.__path__):
        members = vars(import_module(f"coop.science.{module.name}"))
        for name, function in members.items():
            if inspect.isfunction(function) and "strength" in name:
                found |= {name} & {
                    name
                    for one in inspect.signature(function).parameters
                    if parameter in one.split("_")
                }
    return sorted(found)


def us_gallons_at(depth_inches: str) -> float:
    """What stands in a tray of 20 x 26 inches, by its inside."""
    depth_mm = float(read_amount(f"{depth_inches} inches", None).base)
    tray = VesselState(
        id=AN_ID,
        edition=EntryId("0"),
        studio=AN_ID,
        name="Tray",
        area_m2=20 * 26 * 0.0254**2,
        brim_ml=20_000,
        laying_ml=None,
        lidded=False,
        place=1,
        in_use=True,
    )
    found = laying_ml(tray, depth_mm=depth_mm)
    assert found is not None
    return round(found / 3785.411784, 1)


A_CARD = RecipeState(
    id=AN_ID,
    edition=EntryId("0"),
    name="Boiled, with borax",
    dose="25 g/L",
    amount_n="25",
    amount_unit="g",
    amount_heap="",
    per_n="1",
    per_unit="l",
    salt=None,
    target_g_per_l=None,
    source="",
)


def caveats(more: dict[str, Any]) -> list[str]:
    """What there is to know before a bath is made by a card."""
    card = read_card(replace(A_CARD, salt="potash_alum", **more), None)
    return [one.code for one in caveats_of(card, store_c=20)]


def differ(more: tuple[dict[str, Any], dict[str, Any]]) -> list[str]:
    """What differs between two cards."""
    one, other = (read_card(replace(A_CARD, **said), None) for said in more)
    return [found.code for found in differences(one, other)]


def refused_by_the_ledger(typed: str) -> str:
    with pytest.raises(Slip) as caught:
        day(typed, "expected")
    return caught.value.refused.code


def days_of_a_size(cap_days: int | None) -> float:
    return keeping_of("size", replace(A_CARD, what="size", cap_days=cap_days), None).days


def much_softener(typed: str) -> bool:
    asked = Asked(
        what="softener",
        powder="softener",
        statement=read(typed).statements[0],
        recipe=None,
        water=Water(volume_ml=5000, laying_ml=None, brim_ml=20_000),
        lots=(),
        house=None,
        at=NOON,
    )
    tub = VesselState(
        id=AN_ID,
        edition=EntryId("0"),
        studio=AN_ID,
        name="Tub",
        area_m2=None,
        brim_ml=20_000,
        laying_ml=None,
        lidded=True,
        place=1,
        in_use=True,
    )
    return plan_liquid(asked, tub).much_softener


class Trap(NamedTuple):
    """A trap by its number, in words, how it is typed or met, and what is caught by what."""

    number: int
    trap: str
    catch: Callable[[Any], Any]
    typed: Any
    caught: Any


# 118 mL against 79 mL is half as much again: a third of the larger.
TRAPS = [
    Trap(
        1, "two halves of a line", apart, "8 tablespoons (1/3 cup) per gallon", Fraction(1, 3)
    ),
    Trap(1, "half a cup is no contradiction", apart, "8 tbsp (1/2 cup) per gallon", None),
    Trap(
        2,
        "a teaspoon a cup, or tablespoons a gallon",
        look_alikes,
        "1 tsp per cup",
        [
            ("teaspoon-per-cup", 20.9),
            ("tablespoon-per-gallon", 3.9),
            ("tablespoon-per-cup", 62.6),
        ],
    ),
    Trap(
        3,
        "level or heaped",
        notes,
        "1 US tbsp per US cup",
        ["level-unsaid"],
    ),
    Trap(3, "rounded is said", notes, "1 rounded US tbsp per US cup", ["rounded-read-as"]),
    Trap(4, "a tablespoon of what", doubt, "1 tbsp per cup", 1.82),
    Trap(4, "a weight is in no doubt", doubt, "30 g/L", 1),
    Trap(5, "lumps or powder", lump_over_pulverised, "1 tbsp per cup", 1.17),
    Trap(5, "potash alum", aluminium_percent, "potash_alum", 5.7),
    Trap(5, "sulfate, 18-hydrate", aluminium_percent, "aluminium_sulfate_18", 8.1),
    Trap(5, "sulfate, 14-hydrate", aluminium_percent, "aluminium_sulfate_14", 9.1),
    Trap(5, "sulfate, anhydrous", aluminium_percent, "aluminium_sulfate_anhydrous", 15.8),
    Trap(6, "which alum", as_potash_alum, "40 g/L alum", (63.9, ("alum",))),
    Trap(7, "too strong for a cold store", crystallises, "2 tbsp per cup", True),
    Trap(7, "weak enough for it", crystallises, "1 tbsp per cup", False),
    Trap(8, "whose gallon", imperial_is_weaker, "1 lb per 3 gal", -0.167),
    Trap(8, "the same, noted", notes, "1 lb per 3 gal", ["gallon-read-as-us"]),
    Trap(9, "a US pint", base_ml, "1 US pint", 473.18),
    Trap(9, "an imperial pint", base_ml, "1 imperial pint", 568.26),
    Trap(9, "a US quart", base_ml, "1 US quart", 946.35),
    Trap(9, "an imperial quart", base_ml, "1 imperial quart", 1136.52),
    Trap(9, "a US cup", base_ml, "1 US cup", 236.59),
    Trap(9, "a metric cup", base_ml, "1 metric cup", 250),
    Trap(9, "an imperial cup", base_ml, "1 imperial cup", 284.13),
    Trap(
        9,
        "a cup of nobody's",
        refused(lambda typed: read_amount(typed, None)),
        "1 cup",
        ("which-kind", "1 cup", ("us_cup", "metric_cup", "imp_cup")),
    ),
    Trap(10, "whose tablespoon", spoons_of_two_kinds, "1 tbsp in 1.3 L", (6.5, 8.7)),
    Trap(10, "an old one", base_ml, "1 imperial tbsp", 17.76),
    Trap(11, "whose teaspoon", base_ml, "1 US tsp", 4.93),
    Trap(11, "a metric one", base_ml, "1 metric tsp", 5),
    Trap(11, "an old one", base_ml, "1 imperial tsp", 5.92),
    Trap(12, "an ounce of weight or of volume", asks, "4 oz per gallon", ["ounce"]),
    Trap(
        12,
        "an ounce of an old manual",
        notes,
        "4 apothecary ounces per 1 L",
        ["apothecary-ounce"],
    ),
    Trap(13, "in a litre of water, or made up to one", middle, "62.5 g/L", 62.5),
    Trap(14, "a concentrate", of_powder("carrageenan"), "1 oz (weight) per quart", True),
    Trap(14, "one of alum", diluted, "1 oz (weight) per quart concentrate", True),
    Trap(14, "in words", diluted, "1 oz (weight) per quart, then dilute to taste", True),
    Trap(14, "not diluted", diluted, "1 oz (weight) per quart", False),
    Trap(14, "a size", of_powder("carrageenan"), "2 tbsp per gallon", False),
    Trap(14, "alum is no size", of_powder("alum"), "30 g/L", False),
    Trap(
        15,
        "two yields of a pound",
        lambda typed: round(float(apart(typed) or 0), 2),
        "1 lb makes 27 gal = 1 lb makes 20 gal",
        0.26,
    ),
    Trap(15, "the first", g_per_l, "1 lb makes 27 gal", 4.4),
    Trap(
        16,
        "which carrageenan",
        lambda types: [one for one in types if one in GELS],
        kinds.CARRAGEENANS,
        ["kappa", "iota"],
    ),
    Trap(
        17,
        "two editions of a leaflet",
        lambda typed: round(float(1 / (1 - (apart(typed) or 0))), 1),
        "2 tsp per gallon = 4 tbsp per gallon",
        6.0,
    ),
    Trap(17, "its edition", tells_apart, "printed", True),
    Trap(17, "its date", tells_apart, "dated", True),
    Trap(18, "a fabric recipe on paper", like_an_alum_for_paper, "2 tsp per gallon", False),
    Trap(18, "and said to be so", caveats, {"made_for": "fabric"}, ["for-fabric"]),
    Trap(18, "one for paper", caveats, {"made_for": "paper"}, []),
    Trap(18, "what it is for", by_cloth, "paper", "per"),
    Trap(18, "and not for", by_cloth, "fabric", ""),
    Trap(
        19,
        "by the weight of the cloth",
        lambda typed: read_goods_dose(typed).powder_g(read_amount("500 g", None)),
        "15 % of the dry weight",
        75,
    ),
    Trap(
        19,
        "never in water",
        refused(),
        "15 % of the dry weight",
        ("by-weight-of-goods", "15 % of the dry weight", ()),
    ),
    Trap(20, "no litres", refused(), "1/4 cup into water", ("water-missing", "into water", ())),
    Trap(21, "which side is marked", tells_apart, "side", True),
    Trap(
        21,
        "a school kit, and most others",
        differ,
        ({"side": kinds.SIDES[0]}, {"side": kinds.SIDES[1]}),
        ["as-strong", "side"],
    ),
    Trap(22, "how long alumed paper lives", word_of_a_stack, "open", "look-again"),
    Trap(22, "in a bag", word_of_a_stack, "bagged", "good"),
    Trap(23, "wet or dry", word_of_a_stack, "damp", "look-again"),
    Trap(
        24,
        "whose ream",
        refused(read_sheets),
        "1 ream",
        ("which-ream", "1 ream", ("480", "500", "516")),
    ),
    Trap(
        24,
        "a quire",
        refused(read_sheets),
        "2 quires",
        ("which-ream", "2 quires", ("24", "25")),
    ),
    Trap(24, "twenty short", reams_behind_a_gap, "1 ream of 480", [(500, 480)]),
    Trap(25, "a sheet is no sheet", quarters, "full", 4),
    Trap(25, "a half one", quarters, "half", 2),
    Trap(
        26,
        "which soda",
        refused(read_soda),
        "washing soda",
        ("which-soda", "washing soda", ("anhydrous", "monohydrate", "crystals")),
    ),
    Trap(26, "crystals", over_anhydrous, "washing soda crystals", 2.7),
    Trap(26, "baking soda", over_anhydrous, "baking soda", 1.59),
    Trap(27, "a drain of elsewhere", lowest_ph, "ropewalk-sewer", [6.0]),
    Trap(27, "another floor", lowest_ph, "us-federal-floor", [5.0]),
    Trap(
        28,
        "Fahrenheit or Celsius",
        refused(read_temperature),
        "20 F",
        ("other-scale", "20 F", ("-6.7 °C", "20 °C")),
    ),
    Trap(28, "room warm", lambda typed: read_temperature(typed).base, "68 F", 20),
    Trap(
        29,
        "which hydrometer",
        refused(read_gravity),
        "2.9",
        ("which-scale", "2.9", ("2.9 °Bé", "2.9 °Tw")),
    ),
    Trap(29, "Twaddell", lambda typed: read_gravity(typed).sg, "4.2 Tw", Fraction("1.021")),
    Trap(30, "a strip as strength", strength_from, "ph", []),
    Trap(30, "a hydrometer is one", strength_from, "sg", ["gravity_strength_g_per_l"]),
    Trap(31, "two gallons in a tray", us_gallons_at, "0.9", 2.0),
    Trap(31, "the depth that is wanted", us_gallons_at, "1.75", 3.9),
    Trap(32, "alum in paste", POWDERS_OF.get, "paste", ("starch",)),
    Trap(32, "no mordant", caveats, {"what": "paste"}, ["paste-no-mordant"]),
    Trap(33, "a recipe for clearing", like_an_alum_for_paper, "10 g per gallon", False),
    Trap(33, "what it is for", caveats, {"made_for": "rinse_water"}, ["for-rinse_water"]),
    Trap(34, "drops of gall", refused(), "6 drops per cup", ("no-fixed-size", "drops", ())),
    Trap(35, "a week or eight days", days_of_a_size, 8, 8),
    Trap(35, "no card says it", days_of_a_size, None, value("size_cap_days")),
    Trap(
        36,
        "potassium or none",
        lambda typed: (middle(typed), read(typed).asides),
        "30 g/L potash alum",
        (30, ("potash", "alum")),
    ),
    Trap(37, "a softener that bites", much_softener, "1 tbsp (15 g) per quart", True),
    Trap(37, "a mild one", much_softener, "1 g/L", False),
    Trap(38, "a garden's rates", g_per_l, "3 mL/L", 3),
    Trap(38, "a spoon", g_per_l, "1 tbsp/gal", 3.9),
    Trap(38, "a cup", g_per_l, "1/4 cup/gal", 15.6),
    Trap(38, "four times apart", apart, "1 tbsp/gal = 1/4 cup/gal", Fraction(3, 4)),
    Trap(
        39,
        "day or month",
        refused(read_day),
        "04/10/2025",
        ("which-day", "04/10/2025", ("2025-10-04", "2025-04-10")),
    ),
    Trap(39, "in an entry", refused_by_the_ledger, "04/10/2025", "not-a-day"),
    Trap(40, "a comma", lambda typed: read_amount(typed, None).base, "0,5 kg", 500),
    Trap(
        40,
        "a comma of thousands",
        refused(lambda typed: read_amount(typed, None)),
        "1,000 g",
        ("thousands-or-decimals", "1,000", ("1", "1000")),
    ),
]


@pytest.mark.parametrize("trap", TRAPS, ids=lambda one: f"{one.number} {one.trap}")
def test_a_trap_of_the_trade_is_caught(trap: Trap) -> None:
    """Each was walked into by somebody; the number is that of the list of forty."""
    assert trap.catch(trap.typed) == trap.caught


def test_each_of_the_forty_has_its_catch() -> None:
    """A trap without a row would be walked into unseen."""
    assert {one.number for one in TRAPS} == set(range(1, 41))
