"""`coop reckon soda`: neutralising an old alum bath, step by step, never by a pH."""

from argparse import ArgumentParser, Namespace
from collections.abc import Mapping
from typing import Final

from coop.cli.drain_lines import AUTHORITY_DECIDES
from coop.cli.read import add_kinds
from coop.cli.reckoning import Answer, Question, amount, figure, in_celsius, in_ml, rounded
from coop.science import alum, neutralising
from coop.science.defaults import value
from coop.science.neutralising import BASES, Walk

STRENGTH_MIN_G_PER_L: Final = 0.1
DOUBT_PERCENT: Final = 5.0
LIME: Final = "hydrated lime"
STIR_MIN, SPOONS_MIN = value("stir_out_min"), value("base_in_min")


def _ask_soda(asked: ArgumentParser) -> None:
    asked.add_argument(
        "--salt", choices=tuple(alum.SALTS), required=True, metavar="SALT",
        help=f"which alum: {', '.join(alum.SALTS)}",
    )  # fmt: skip
    asked.add_argument(
        "--base", choices=tuple(BASES), required=True, metavar="BASE",
        help="what the jar says: bicarbonate (baking soda); anhydrous, monohydrate or "
        "crystals (washing soda); lime (hydrated lime)",
    )  # fmt: skip
    asked.add_argument("--litres", required=True, metavar="'5.8 L'", help="old bath there is")
    salt = asked.add_mutually_exclusive_group(required=True)
    salt.add_argument("--alum", metavar="'232 g'", help="alum in all of it")
    salt.add_argument(
        "--strength", metavar="G_PER_L", help="or: how strong it is",
        type=figure(STRENGTH_MIN_G_PER_L, alum.STRENGTH_MAX_G_PER_L),
    )  # fmt: skip
    asked.add_argument(
        "--bucket", metavar="'18 L'",
        help="what the open bucket holds to its brim (default: the smallest for one go)",
    )  # fmt: skip
    asked.add_argument(
        "--doubt", default=DOUBT_PERCENT, metavar="PERCENT",
        type=figure(0, 100 * neutralising.DOUBT_MAX_FRACTION),
        help=f"of the grams of alum, 90 %% interval (default {DOUBT_PERCENT:g})",
    )  # fmt: skip
    asked.add_argument("--room", default="20 C", metavar="'20 C'", help="where it is done")
    add_kinds(asked)


def _reckon_soda(given: Namespace) -> Answer:
    volume_l = in_ml(given, "litres") / 1000
    if given.alum is None:
        salt_g = given.strength * volume_l
    else:
        salt_g = float(amount(given, "alum", "mass").base)
    bucket_l = float(neutralising.least_bucket_l(volume_l=volume_l))
    if given.bucket is not None:
        bucket_l = in_ml(given, "bucket") / 1000
    found = neutralising.walk(
        salt_g=salt_g,
        salt=given.salt,
        base=given.base,
        volume_l=volume_l,
        bucket_l=bucket_l,
        doubt_fraction=given.doubt / 100,
        room_c=in_celsius(given, "room"),
    )
    return {
        "salt": given.salt,
        "base": given.base,
        "salt_g": rounded(salt_g),
        "volume_l": rounded(volume_l),
        **_of_all(salt_g, volume_l, given),
        **_of_a_go(found),
        "steps": _steps(found, given.base),
        "how_known": f"as given; {AUTHORITY_DECIDES}",
    }


def _of_all(salt_g: float, volume_l: float, given: Namespace) -> Answer:
    dose = neutralising.full_dose(
        salt_g=salt_g, salt=given.salt, base=given.base, doubt_fraction=given.doubt / 100
    )
    flakes = neutralising.floc(salt_g=salt_g, salt=given.salt)
    sulfate = neutralising.sulfate_left_mg_per_l(
        salt_g=salt_g, salt=given.salt, volume_l=volume_l
    )
    return {
        "dose_g": {
            "low": rounded(dose.low_g),
            "middle": rounded(dose.middle_g),
            "high": rounded(dose.high_g),
        },
        "floc_dry_g": {
            "low": rounded(flakes.dry_low_g),
            "high": rounded(flakes.dry_high_g),
        },
        "floc_strained_g": {
            "low": rounded(flakes.strained_low_g),
            "middle": rounded(flakes.strained_g),
            "high": rounded(flakes.strained_high_g),
        },
        "sulfate_left_mg_per_l": rounded(sulfate),
    }


def _of_a_go(found: Walk) -> Answer:
    parts = found.parts
    return {
        "gas_l": rounded(found.go_count * found.gas_l),
        "bucket_l": rounded(found.bucket_l),
        "go_count": found.go_count,
        "each_go": {
            "volume_l": rounded(found.go_l),
            "kept_cup_l": rounded(found.kept_cup_l),
            "first_g": parts.first_g,
            "rest_g": list(parts.rest_g),
            "cup_share_g": parts.cup_share_g,
            "dose_g": parts.dose_g,
            "scale_step_g": parts.scale_step_g,
            "gas_l": rounded(found.gas_l),
        },
        "first_may_pass": found.first_may_pass,
        "outdoors": found.outdoors,
    }


def _steps(found: Walk, base: str) -> list[str]:
    parts = found.parts
    rest = ", then ".join(f"{one:g} g" for one in parts.rest_g)
    fallen = " Crystals fallen to a dry white powder: another soda, ask too."
    rough = " The grams are known so roughly that it may be too much: stop and read often."
    fizz = "until no more fizz rises, at least" if BASES[base].gives_gas else "at least"
    place = "outdoors" if found.outdoors else "window open, not in a cellar"
    late = " While gas is in it, it reads too low." if BASES[base].gives_gas else ""
    return [
        f"Goggles and gloves on, {place}, no children. An open bucket of "
        f"{_plain(found.bucket_l, 4)} L or more, never a lid.",
        "Ammonium alum, ultramarine or a metal colour in it: stop and ask."
        + (fallen if base == "crystals" else ""),
        f"Keep back {_plain(found.kept_cup_l, 2)} L of the {_plain(found.go_l, 3)} L, tagged: "
        "the brake.",
        f"Weigh {parts.first_g:g} g. Put it in a spoon at a time, over {SPOONS_MIN:g} "
        f"minutes, stirring.{rough if found.first_may_pass else ''}",
        f"Stir {fizz} {STIR_MIN:g} minutes. Read a strained, clear spoonful.{late}",
        f"Under the window of your local rule: {rest}, stirring and reading after each. All "
        "in and still under: the grams, the alum or the jar is not what you think. Ask; do "
        "not add more.",
        f"In the window: the cup goes in with its own {parts.cup_share_g:g} g. Stir, read.",
        "Over the window: pour back some of the cup, without its share. Never vinegar.",
        "A cloth over it, out of reach, overnight. Strain the floc off. Read again before "
        f"anything is poured; a reading stands {value('neutral_reading_h'):g} hours, and "
        "only until something is added.",
    ]


def _lines(told: Answer) -> list[str]:
    dose, dry, wet = told["dose_g"], told["floc_dry_g"], told["floc_strained_g"]
    each, goes = told["each_go"], told["go_count"]
    parts = " + ".join(
        f"{one:g}" for one in (each["first_g"], *each["rest_g"], each["cup_share_g"])
    )
    apart = (
        f", {goes} goes of {_plain(each['volume_l'], 3)} L, each like this" if goes > 1 else ""
    )
    return [
        f"take: about {_plain(dose['middle'], 3)} g of {base_name(told['base'])} "
        f"({_plain(dose['low'], 3)} to {_plain(dose['high'], 3)}) for "
        f"{_plain(told['salt_g'], 4)} g of alum",
        f"bucket: {_plain(told['bucket_l'], 4)} L{apart}",
        f"weigh: {parts} = {each['dose_g']:g} g, on a scale that shows "
        f"{each['scale_step_g']:g} g",
        f"gas: {_gas(told)}",
        f"floc: {_plain(wet['low'], 2)} to {_plain(wet['high'], 2)} g off the cloth, "
        f"{_plain(dry['low'], 2)} to {_plain(dry['high'], 2)} g dry",
        f"sulfate left: up to {_plain(told['sulfate_left_mg_per_l'], 3)} mg/L; neutralising "
        "does not take it away",
        *(f"{number}. {step}" for number, step in enumerate(told["steps"], 1)),
    ]


def base_name(code: str) -> str:
    """Return what a base of `neutralising.BASES` is called."""
    from coop.web.words import CHOICES  # slow to load, and --help needs none

    return CHOICES["soda"].get(code, LIME)


def _gas(told: Answer) -> str:
    if not told["gas_l"]:
        return "none"
    each = f", {_plain(told['each_go']['gas_l'], 2)} L a go" if told["go_count"] > 1 else ""
    return f"about {_plain(told['gas_l'], 2)} L of carbon dioxide{each}"


def _plain(number: float, figures: int) -> str:
    """Return a number with so many figures, without an exponent."""
    return f"{float(f'{number:.{figures}g}'):.9g}"


QUESTIONS: Mapping[str, Question] = {
    "soda": Question(
        "the soda or lime for an old alum bath, step by step",
        _ask_soda,
        _reckon_soda,
        "neutralise",
        _lines,
    )
}
