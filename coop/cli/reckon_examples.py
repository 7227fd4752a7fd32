"""The worked example of each `coop reckon WHAT --help`: the command, and what it prints."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

_LINES: Final[Mapping[str, tuple[str, ...]]] = {
    "strength": (
        '$ coop reckon strength --sg 1.015 --at "24 C" --zero-sg 1.001 --salt potash_alum',
        "strength: about 30.2 g/L (27.2 to 33.2)",
        "salt: potash alum (pickling alum)",
        "zero of the hydrometer: +0.0010",
        "how known: tested: specific gravity",
    ),
    "gravity": (
        '$ coop reckon gravity --reading "2.9 Be" --salt potash_alum --at "20 C"',
        "specific gravity: 1.0204",
        "degrees Baumé: 2.9",
        "degrees Twaddell: 4.08",
        "scale made for: 15.6 °C",
        "strength: about 43.3 g/L (40.2 to 46.4) of potash alum (pickling alum)",
        "how known: tested: specific gravity",
    ),
    "equal-salt": (
        '$ coop reckon equal-salt --alum "100 g" --salt aluminium_sulfate_14 --other '
        "potash_alum",
        "take: 159.6 g of potash alum (pickling alum)",
        "for: 100 g of aluminium sulfate, 14-hydrate (papermaker's alum)",
        "aluminium in either: 9.08 g, 336.5 mmol",
        "the same grams would hold: 37 % less aluminium",
        "how known: computed from the formulas; reports from the trade differ on which "
        "salt marbles better",
    ),
    "crystals": (
        '$ coop reckon crystals --strength 125 --salt potash_alum --store "8 C" '
        '--litres "10 L"',
        "of what dissolves at 8 °C: 175 %: some falls out",
        "stays dissolved: 71.5 g to a litre of water put in",
        "crystallises: 53.5 g of it, 535 g in all",
        "all of it stays dissolved: down to 23 °C",
        "how known: Perry's Chemical Engineers' Handbook",
    ),
    "hardness": (
        "$ coop reckon hardness --alkalinity 150 --strength 30 --salt potash_alum "
        "--soda 2 --base crystals",
        "the water spends: 1 mmol/L of aluminium, 0.47 g/L of potash alum (pickling alum)",
        "of 30 g/L that is: 1.6 %",
        "the soda destroys: 4.7 mmol/L of aluminium, 7.4 %; it brings 14 mmol/L of sodium",
        "sodium thins carrageenan: its chains begin to overlap at 2.1 g/L in pure "
        "water, at 3.8 with 20 mmol/L",
        "how known: computed, full reaction: the most it can be",
    ),
    "mix": (
        '$ coop reckon mix --dose "8 tbsp per gallon" --kinds us,us,us --water "3 '
        'gallons" --ten-spoons-g 111',
        "water: 11.36 L",
        "salt: about 266 g (253 to 280)",
        "strength: about 23.5 g/L (22.3 to 24.6)",
        "level spoons: 24 US tablespoons",
        "of what dissolves at 20 °C: 3 %",
        "how known: spooned",
    ),
    "topup": (
        '$ coop reckon topup --litres "10.4 L" --strength 23.5 --water "3 L" --target 40',
        "before: about 23.5 g/L (22.3 to 24.8) in 10.4 L",
        "after: about 18.2 g/L (17.3 to 19.2) in 13.4 L",
        "back to the target: add 172 g of salt and 0 L of water; then 40.0 g/L in 10.4 L",
        "how known: as given",
    ),
    "sheets-left": (
        '$ coop reckon sheets-left --litres "12 L" --laying "6 L"',
        "sheets left: about 244 half sheets (at least 189)",
        "method: dip",
        "how known: usual pick-up",
    ),
    "hot-start": (
        '$ coop reckon hot-start --water "10 L" --cold "12 C" --hot "58 C" --target "40'
        ' C" --potash-alum 60',
        "cold, first: 3.88 L at 12 °C",
        "hot, into it: 6.12 L at 58 °C, in a jug for 60 °C",
        "together: 40 °C, not over hand-hot (45 °C)",
        "dissolving cools it by: 0.9 to 1.3 °C",
        "how known: a heat balance by mass; the vessel takes some of it",
    ),
    "soda-form": (
        '$ coop reckon soda-form --soda "124 g" --base anhydrous --other crystals',
        "take: 334.8 g of soda crystals (10-hydrate)",
        "for: 124 g of anhydrous soda",
        "times the grams: 2.7",
        "dissolves in: 0.36 L of water at 20 °C, no less",
        "how known: computed from the formulas, of pure and unopened forms",
    ),
    "spoon": (
        '$ coop reckon spoon --ten-spoons-g 111 --dose "8 tbsp per gallon" --kinds us,us,us',
        "bulk density: 0.75 g/mL",
        "a level US tablespoon: 11.1 g",
        "a level US teaspoon: 3.7 g",
        "a level imperial tablespoon: 13.3 g",
        "a level imperial teaspoon: 4.4 g",
        "a level metric tablespoon: 11.3 g",
        "a level metric teaspoon: 3.8 g",
        "a level Australian tablespoon: 15 g",
        "8 tbsp per gallon: about 23.5 g/L (22.3 to 24.6)",
        "how known: ten level spoons weighed, give or take 5 %",
    ),
    "gsm": (
        "$ coop reckon gsm --lb 80 --grade text --format full",
        "weight: 118.41 g/m²",
        "basis weight in lb: bond 31.5, cover 43.8, text 80, tag 72.8, index 65.5, "
        "bristol 54, blotting 38.4, board 24.3",
        "full sheet: 0.35 m²",
        "half sheet: 0.175 m²",
        "quarter sheet: 0.0875 m²",
        "a full sheet weighs: 41.4 g",
        "how known: as given; printed weights hold to a few per cent",
    ),
    "cup": (
        "$ coop reckon cup --cup iso-4 --seconds 50",
        "viscosity: 64.5 mm²/s (indicative)",
        "cup: iso-4, good from 30 to 100 s at 23 °C",
        "how known: timed; mm2/s is indicative, for size is shear-thinning",
    ),
    "keeps": (
        '$ coop reckon keeps --kept "8 h@25 C" --kept "16 h@5 C"',
        "kept: 24 h",
        "as old as: 14.9 h at 20 °C (square-root law, nothing grows under -10 °C)",
        "mean kinetic temperature: 16.9 °C",
        "days left at 20 °C: 3.4 until look again, 5.4 until do not use",
        "how known: a borrowed law: no rate of marbling size is published",
    ),
    "warm-days": (
        "$ coop reckon warm-days --room-hours 24 --chilled-hours 48",
        "age in days: 3, chilled 2",
        "like: 1.4 warm days (a chilled day counts 0.2)",
        "look again at 4 warm days, do not use at 6, never past 10 days from making",
        "how known: usual figures of the trade, no source",
    ),
    "faults": (
        "$ coop reckon faults --spoiled 7 --of 40 --usual 26 --usual-of 294",
        "spoiled: 7 of 40: about 18 % (10 to 29)",
        "usual here: about 3.5 of 40",
        "so many or more by chance: one time in 12",
        "worth telling: no (yes under one time in 20, from 4 sheets)",
        "how known: as counted",
    ),
    "pickup": (
        '$ coop reckon pickup --pairs "2.45:17.5 0.98:7" --tub-floor 0.2',
        "pairs: 2",
        "more pairs wanted: 28, to have 30",
        "how known: from level readings",
    ),
    "reorder": (
        "$ coop reckon reorder --use 30 --use-sd 5 --lead-days 10 --lead-sd 1 --z 1.65",
        "order at: 355.95, of it 55.95 for bad luck",
        "used until it arrives: 300, give or take 33.91 (standard deviation)",
        "standard deviations kept: 1.65",
        "short by the time it arrives, on average: 0.6998",
        "how known: as given, in the unit of the use",
    ),
    "batch": (
        "$ coop reckon batch --use 1300 --order-cost 8 --keeping-cost 0.225",
        "order at a time: 304.05",
        "orders in the span: 4.28",
        "ordering and keeping cost in it: 68.41",
        "how known: as given, in the unit of the use; pack sizes and shelf life are not"
        " looked at",
    ),
    "forecast": (
        '$ coop reckon forecast --uses "0 0 2 0 3 0 0 0 1 4 0 2"',
        "weeks: 12, with use in 5",
        "mean: 1 a week",
        "Croston: 0.7961 a week, 0.7563 with its bias off",
        "falling when use stops (Teunter, Syntetos and Babai): 0.7395 a week",
        "the order list says: 1.5 a week, by the figure that falls, for some was used "
        "in 4 of 8 weeks, every 2 weeks: over 1.32",
        "how known: as given, in the unit of the use",
    ),
    "drain": (
        "$ coop reckon drain --demo --facts fixtures/drain/old-alum-bath.toml --pack "
        "fixtures/rules/ropewalk-sewer.toml",
        "Not yet: treat it, then measure again.",
        "steps: strain it through cloth; keep the solids out of the drain",
        "fails: ropewalk-sewer/alum-ph; pH: from 6 to 10; found 3.5; letter (invented) "
        "1 (invented)",
        "holds: permission; the desk of the sewer board (invented), 2026-09-02 letter "
        "of 4 September (read)",
        "holds: ropewalk-sewer/alum-a-day; volume: at most 20 L; together 10.5 L; "
        "letter (invented) 1 (invented)",
        "how known: as given; your local authority decides",
    ),
    "soda": (
        '$ coop reckon soda --salt aluminium_sulfate_14 --base crystals --litres "5.8 '
        'L" --alum "232 g"',
        "take: about 335 g of soda crystals (10-hydrate) (319 to 352) for 232 g of alum",
        "bucket: 18 L",
        "weigh: 255 + 21 + 21 + 21 + 17 = 335 g, on a scale that shows 1 g",
        "gas: about 28 L of carbon dioxide",
        "floc: 610 to 3000 g off the cloth, 61 to 100 g dry",
        "sulfate left: up to 19400 mg/L; neutralising does not take it away",
        "1. Goggles and gloves on, window open, not in a cellar, no children. An open "
        "bucket of 18 L or more, never a lid.",
        "2. Ammonium alum, ultramarine or a metal colour in it: stop and ask. Crystals "
        "fallen to a dry white powder: another soda, ask too.",
        "3. Keep back 0.29 L of the 5.8 L, tagged: the brake.",
        "4. Weigh 255 g. Put it in a spoon at a time, over 15 minutes, stirring.",
        "5. Stir until no more fizz rises, at least 30 minutes. Read a strained, clear "
        "spoonful. While gas is in it, it reads too low.",
        "6. Under the window of your local rule: 21 g, then 21 g, then 21 g, stirring "
        "and reading after each. All in and still under: the grams, the alum or the jar"
        " is not what you think. Ask; do not add more.",
        "7. In the window: the cup goes in with its own 17 g. Stir, read.",
        "8. Over the window: pour back some of the cup, without its share. Never vinegar.",
        "9. A cloth over it, out of reach, overnight. Strain the floc off. Read again "
        "before anything is poured; a reading stands 24 hours, and only until something"
        " is added.",
        "how known: as given; your local authority decides",
    ),
}

EXAMPLES: Final[Mapping[str, str]] = MappingProxyType(
    {name: "\n".join(lines) for name, lines in _LINES.items()}
)
"""By question; its cautions are printed after it."""
