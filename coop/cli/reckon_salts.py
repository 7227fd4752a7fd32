"""`coop reckon strength`, `gravity`, `equal-salt`, `crystals`, `hardness`: salts of alum."""

from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from math import ceil
from typing import Final

from coop.actions.reckon import Range
from coop.cli import figures
from coop.cli.figures import about, dissolving, plain, salt_name
from coop.cli.reckoning import (
    Answer,
    Question,
    add_salt,
    amount,
    figure,
    in_bath_celsius,
    in_ml,
    ranged,
    rounded,
)
from coop.science import alum, crystals, hard_water, soda
from coop.science.defaults import Z_90, value
from coop.units.fault import NotUnderstood
from coop.units.gravity import BAUME, SG, TWADDELL, on_scale, read_gravity

SALT: Final = "aluminium_sulfate_14"
AMMONIUM: Final = "ammonium_alum"
HYDROMETER: Final = "tested: specific gravity"
STRENGTH_MIN_G_PER_L: Final = 0.1
SALT_MAX_KG: Final = alum.WEIGHT_MAX_G / 1000
INSTEAD: Final[Mapping[str, str]] = {
    "no-density-curve": "make a strip print",
    "outside-density-curve": "read it again, look at the temperature, or make a strip print",
}
SCALES_C: Final[Mapping[str, str]] = {SG: "20 C", BAUME: "60 F", TWADDELL: "60 F"}
"""What a hydrometer of each scale is made for, where nothing else is printed on it."""

TO_SAME_ALUMINIUM: Final = (
    "computed from the formulas; reports from the trade differ on which salt marbles better"
)


def _add_strength(asked: ArgumentParser, *, told: str) -> None:
    asked.add_argument(
        "--strength", required=True, metavar="G_PER_L", help=told,
        type=figure(STRENGTH_MIN_G_PER_L, alum.STRENGTH_MAX_G_PER_L),
    )  # fmt: skip


def _ask_strength(asked: ArgumentParser) -> None:
    reads = figure(0.9, 1.3)
    asked.add_argument("--sg", type=reads, required=True, help="hydrometer in the bath")
    asked.add_argument("--at", required=True, metavar="'24 C'", help="temperature of the bath")
    asked.add_argument("--zero-sg", type=reads, help="hydrometer in plain tap water")
    asked.add_argument(
        "--zero-at", default="20 C", metavar="'20 C'", help="temperature of that water"
    )
    asked.add_argument("--scale", default="20 C", metavar="'20 C'", help="as the scale says")
    add_salt(asked, default=SALT)


def _reckon_strength(given: Namespace) -> Answer:
    offset = 0.0
    if given.zero_sg is not None:
        offset = alum.hydrometer_zero(
            reading_sg=given.zero_sg,
            water_c=in_bath_celsius(given, "zero_at"),
            scale_c=in_bath_celsius(given, "scale"),
        )
    return {
        "strength_g_per_l": _strength(given, given.sg, offset),
        "salt": given.salt,
        "zero_offset_sg": rounded(offset),
        "how_known": HYDROMETER,
    }


def _strength(given: Namespace, reading_sg: float, offset_sg: float) -> Answer:
    """Return the strength of a reading in the bath, to a litre of the water put in."""
    at_c, scale_c = in_bath_celsius(given, "at"), in_bath_celsius(given, "scale")
    try:
        found = alum.gravity_strength_g_per_l(
            reading_sg=reading_sg,
            liquid_c=at_c,
            zero_offset_sg=offset_sg,
            scale_c=scale_c,
            salt=given.salt,
        )
    except alum.GravityRefused as why:
        raise ValueError(f"--salt: {why.detail}; {INSTEAD[why.code]}") from why
    middle = alum.strength_of_water_g_per_l(
        strength_g_per_l=found.strength_g_per_l, salt=given.salt
    )
    half = Z_90 * found.sd_g_per_l
    return ranged(Range(low=max(0.0, middle - half), middle=middle, high=middle + half))


def _ask_gravity(asked: ArgumentParser) -> None:
    asked.add_argument(
        "--reading", required=True, metavar="'2.9 Be'",
        help="as the hydrometer says: '1.021', '2.9 Be', '4.2 Tw'",
    )  # fmt: skip
    asked.add_argument(
        "--salt", choices=tuple(alum.SALTS), metavar="SALT",
        help=f"for the strength, goes with --at: {', '.join(alum.SALTS)}",
    )  # fmt: skip
    asked.add_argument("--at", metavar="'24 C'", help="temperature of the bath")
    asked.add_argument(
        "--scale", metavar="'20 C'",
        help="as printed on the hydrometer (default: 20 C; Baume and Twaddell 60 F)",
    )  # fmt: skip


def _reckon_gravity(given: Namespace) -> Answer:
    if (given.salt is None) != (given.at is None):
        raise ValueError("--salt: goes with --at, as --salt potash_alum --at '24 C'")
    try:
        reading = read_gravity(given.reading)
    except NotUnderstood as why:
        raise ValueError(f"--reading: {why}; as '1.021', '2.9 Be' or '4.2 Tw'") from why
    if given.scale is None:
        given.scale = SCALES_C[reading.scale]
    strength, how = None, "computed: Baume 145 / (145 - Be), Twaddell 1 + Tw / 200"
    if given.salt is not None:
        strength, how = _strength(given, float(reading.sg), 0.0), HYDROMETER
    return {
        "sg": round(float(reading.sg), 5),
        "baume": rounded(float(on_scale(reading.sg, BAUME))),
        "twaddell": rounded(float(on_scale(reading.sg, TWADDELL))),
        "scale_c": rounded(in_bath_celsius(given, "scale")),
        "salt": given.salt,
        "strength_g_per_l": strength,
        "how_known": how,
    }


def _gravity_lines(told: Answer) -> list[str]:
    lines = [
        f"specific gravity: {told['sg']:.4f}",
        f"degrees Baumé: {plain(told['baume'])}",
        f"degrees Twaddell: {plain(told['twaddell'])}",
        f"scale made for: {plain(told['scale_c'], 1)} °C",
    ]
    if told["strength_g_per_l"] is None:
        return lines
    strength = about(told["strength_g_per_l"], "g/L")
    return [*lines, f"strength: {strength} of {salt_name(told['salt'])}"]


def _ask_equal_salt(asked: ArgumentParser) -> None:
    asked.add_argument("--alum", required=True, metavar="'100 g'", help="what the card says")
    add_salt(asked, told="the salt it means")
    add_salt(asked, "--other", told="the salt in the tub")


def _reckon_equal_salt(given: Namespace) -> Answer:
    grams = float(amount(given, "alum", "mass").base)
    if not 0 < grams <= alum.WEIGHT_MAX_G:
        raise ValueError(f"--alum: over 0 and at most {SALT_MAX_KG:g} kg, as '100 g'")
    other_g = alum.same_strength_g(weight_g=grams, salt=given.salt, other_salt=given.other)
    salt = alum.SALTS[given.salt]
    return {
        "salt": given.salt,
        "salt_g": rounded(grams),
        "other_salt": given.other,
        "other_salt_g": rounded(other_g),
        "times": rounded(other_g / grams),
        "al_g": rounded(grams * salt.al_fraction),
        "al_mmol": rounded(grams * salt.mmol_al_per_g),
        "same_grams_al_fraction": rounded(grams / other_g),
        "how_known": TO_SAME_ALUMINIUM,
    }


def _equal_salt_lines(told: Answer) -> list[str]:
    more = 100 * (told["same_grams_al_fraction"] - 1)
    than = (
        "as much" if abs(more) < 0.05 else f"{abs(more):.0f} % {'more' if more > 0 else 'less'}"
    )
    other = salt_name(told["other_salt"])
    return [
        f"take: {plain(told['other_salt_g'], 1)} g of {other}",
        f"for: {plain(told['salt_g'], 1)} g of {salt_name(told['salt'])}",
        f"aluminium in either: {plain(told['al_g'])} g, {plain(told['al_mmol'], 1)} mmol",
        f"the same grams would hold: {than} aluminium",
    ]


def _ask_crystals(asked: ArgumentParser) -> None:
    _add_strength(asked, told="grams to a litre of the water put in")
    add_salt(asked)
    asked.add_argument(
        "--store", required=True, metavar="'8 C'", help="how cold it gets where it stands"
    )
    asked.add_argument("--litres", metavar="'10 L'", help="water put in, for the grams in all")


def _reckon_crystals(given: Namespace) -> Answer:
    store_c = in_bath_celsius(given, "store")
    found = crystals.crystals(
        dose_g_per_l_water=given.strength, salt=given.salt, store_c=store_c
    )
    clear_c = crystals.clear_down_to_c(dose_g_per_l_water=given.strength, salt=given.salt)
    litres = None if given.litres is None else in_ml(given, "litres") / 1000
    return {
        "salt": given.salt,
        "strength_g_per_l": given.strength,
        "store_c": rounded(store_c),
        "solubility_fraction": rounded(found.fraction),
        "warn_fraction": value("solubility_warn_fraction"),
        "dissolves_g_per_l": rounded(found.dissolves_g_per_l),
        "dissolved_g_per_l": rounded(found.dissolved_g_per_l),
        "crystals_g_per_l": rounded(found.crystals_g_per_l),
        "crystals_g": litres and rounded(litres * found.crystals_g_per_l),
        "clear_down_to_c": clear_c if clear_c is None else rounded(clear_c),
        "how_known": alum.SOLUBILITY[alum.SOLUBILITY_TABLES[given.salt][0]].source,
    }


def _crystals_lines(told: Answer) -> list[str]:
    clear_c = told["clear_down_to_c"]
    in_all = f", {told['crystals_g']:.0f} g in all" if told["crystals_g"] else ""
    down_to = "not even at 40 °C" if clear_c is None else f"down to {ceil(clear_c)} °C"
    return [
        dissolving(told),
        f"stays dissolved: {plain(told['dissolved_g_per_l'], 1)} g to a litre of water put in",
        f"crystallises: {plain(told['crystals_g_per_l'], 1)} g of it{in_all}",
        f"all of it stays dissolved: {down_to}",
    ]


def _ask_hardness(asked: ArgumentParser) -> None:
    asked.add_argument(
        "--alkalinity", required=True, metavar="MG_PER_L",
        type=figure(0, alum.ALKALINITY_MAX_MG_PER_L),
        help="of the water, mg/L as chalk (CaCO3); its carbonate hardness",
    )  # fmt: skip
    _add_strength(asked, told="what the bath is mixed at")
    add_salt(asked)
    asked.add_argument(
        "--softened", metavar="MG_PER_L", type=figure(0, hard_water.HARDNESS_MAX_MG_PER_L),
        help="hardness that a softener running on salt takes out, mg/L as chalk",
    )  # fmt: skip
    asked.add_argument(
        "--soda", metavar="G_PER_L", type=figure(0, soda.SODA_MAX_G_PER_L),
        help="washing or baking soda in the water; goes with --base",
    )  # fmt: skip
    asked.add_argument(
        "--base", choices=tuple(soda.SODIUM_PER_MOL), metavar="BASE",
        help=f"which soda: {', '.join(soda.SODIUM_PER_MOL)}",
    )  # fmt: skip


def _reckon_hardness(given: Namespace) -> Answer:
    if (given.soda is None) != (given.base is None):
        raise ValueError("--soda: goes with --base, as --soda 2 --base crystals")
    if given.soda and given.salt == AMMONIUM:
        raise ValueError("--soda: never with ammonium alum, it gives off ammonia gas")
    spent = hard_water.spent_on_alkalinity(
        alkalinity_mg_per_l=given.alkalinity, strength_g_per_l=given.strength, salt=given.salt
    )
    sodium = given.softened and rounded(
        hard_water.softener_sodium_mmol_per_l(hardness_mg_per_l=given.softened)
    )
    return {
        "salt": given.salt,
        "strength_g_per_l": given.strength,
        "al_spent_mmol_per_l": rounded(spent.al_mmol_per_l),
        "salt_spent_g_per_l": rounded(spent.salt_g_per_l),
        "spent_fraction": rounded(spent.fraction),
        "softener_sodium_mmol_per_l": sodium,
        "soda": None if given.soda is None else _soda_in_it(given),
        "carrageenan_overlap_g_per_l": value("carrageenan_overlap_g_per_l"),
        "carrageenan_overlap_salty_g_per_l": value("carrageenan_overlap_salty_g_per_l"),
        "how_known": "computed, full reaction: the most it can be",
    }


def _soda_in_it(given: Namespace) -> Answer:
    gone = soda.destroyed_by_soda(
        soda_g_per_l=given.soda,
        base=given.base,
        strength_g_per_l=given.strength,
        salt=given.salt,
    )
    sodium = soda.sodium_mmol_per_l(soda_g_per_l=given.soda, base=given.base)
    return {
        "base": given.base,
        "soda_g_per_l": given.soda,
        "al_destroyed_mmol_per_l": rounded(gone.al_mmol_per_l),
        "salt_destroyed_g_per_l": rounded(gone.salt_g_per_l),
        "destroyed_fraction": rounded(gone.fraction),
        "sodium_mmol_per_l": rounded(sodium),
    }


def _hardness_lines(told: Answer) -> list[str]:
    lines = [
        f"the water spends: {plain(told['al_spent_mmol_per_l'])} mmol/L of aluminium, "
        f"{plain(told['salt_spent_g_per_l'])} g/L of {salt_name(told['salt'])}",
        f"of {plain(told['strength_g_per_l'], 1)} g/L that is: "
        f"{plain(100 * told['spent_fraction'], 1)} %",
    ]
    salty, in_it = told["softener_sodium_mmol_per_l"], told["soda"]
    if salty is not None:
        lines.append(
            f"softened: {plain(salty, 1)} mmol/L of sodium; the alkalinity stays as it was"
        )
    if in_it is not None:
        lines.append(
            f"the soda destroys: {plain(in_it['al_destroyed_mmol_per_l'], 1)} mmol/L of "
            f"aluminium, {plain(100 * in_it['destroyed_fraction'], 1)} %; it brings "
            f"{plain(in_it['sodium_mmol_per_l'], 1)} mmol/L of sodium"
        )
    if salty is None and in_it is None:
        return lines
    return [
        *lines,
        "sodium thins carrageenan: its chains begin to overlap at "
        f"{plain(told['carrageenan_overlap_g_per_l'], 1)} g/L in pure water, at "
        f"{plain(told['carrageenan_overlap_salty_g_per_l'], 1)} with 20 mmol/L",
    ]


QUESTIONS: Mapping[str, Question] = {
    "strength": Question(
        "strength from a hydrometer reading",
        _ask_strength,
        _reckon_strength,
        "test",
        figures.strength_lines,
    ),
    "gravity": Question(
        "a hydrometer's reading on the other scales, and as strength",
        _ask_gravity,
        _reckon_gravity,
        "test",
        _gravity_lines,
    ),
    "equal-salt": Question(
        "the same aluminium from another salt",
        _ask_equal_salt,
        _reckon_equal_salt,
        "mix",
        _equal_salt_lines,
    ),
    "crystals": Question(
        "what crystallises in a cold store",
        _ask_crystals,
        _reckon_crystals,
        "mix",
        _crystals_lines,
    ),
    "hardness": Question(
        "what hard water, a softener or washing soda take from a bath",
        _ask_hardness,
        _reckon_hardness,
        "mix",
        _hardness_lines,
    ),
}
