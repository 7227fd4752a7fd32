"""
Every default of the sums, with unit, range, source and mark.

A house may change any of them. `low` and `high` are

- for a quantity: its 90 % interval (standard deviation = half width / 1.645);
- for a doubt (`gravity_sg`, `level_mm`, ...): `value` is the half width of the 90 % interval,
  `low` and `high` are minus and plus that;
- for a line that a house draws (`look_again_fraction`, ...): how far it may sensibly be moved;
- for an exact figure: the figure itself.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

PUBLISHED: Final = "published"
COMPUTED: Final = "computed"
FROM_MEMORY: Final = "from memory"
COMMON_PRACTICE: Final = "common practice, no source"
OUR_OWN: Final = "our own choice, no source"
MARKS: Final = frozenset({PUBLISHED, COMPUTED, FROM_MEMORY, COMMON_PRACTICE, OUR_OWN})

Z_90: Final = 1.645
"""Half width of a 90 % interval in standard deviations (normal, rounded as books print it)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Default:
    """One figure: name, value in `unit`, range `low` to `high`, where it is from, its mark."""

    name: str
    value: float
    unit: str
    low: float
    high: float
    source: str
    mark: str


def _range(
    name: str, value: float, unit: str, low: float, high: float, source: str, mark: str
) -> Default:
    return Default(
        name=name, value=value, unit=unit, low=low, high=high, source=source, mark=mark
    )


def _doubt(name: str, half_width: float, unit: str, source: str) -> Default:
    return _range(name, half_width, unit, -half_width, half_width, source, OUR_OWN)


def _exact(name: str, value: float, unit: str, source: str, mark: str) -> Default:
    return _range(name, value, unit, value, value, source, mark)


_PICKUP: Final = (
    _range(
        "pickup_dip_ml_per_m2",
        140,
        "mL/m2",
        110,
        180,
        "liquid a dipped and drained sheet takes with it, per area of the sheet",
        OUR_OWN,
    ),
    _range(
        "pickup_sponge_ml_per_m2",
        80,
        "mL/m2",
        60,
        110,
        "liquid a sponge leaves on one side of a sheet",
        OUR_OWN,
    ),
    _range(
        "pickup_brush_ml_per_m2",
        90,
        "mL/m2",
        60,
        130,
        "liquid a brush leaves on one side of a sheet",
        OUR_OWN,
    ),
    _range(
        "bath_factor",
        1,
        "1",
        0.85,
        1.15,
        "one vessel's drain habit against the usual pick-up",
        OUR_OWN,
    ),
    _range(
        "pickup_pairs_min",
        30,
        "count",
        20,
        100,
        "pairs of depth readings before a paper's own pick-up is said",
        OUR_OWN,
    ),
    _range(
        "pickup_spread_min_fraction",
        0.12,
        "1",
        0.05,
        0.25,
        "+- of one entry's pick-up that no learning goes under; the usual range is twice it",
        OUR_OWN,
    ),
    _range(
        "fibre_al_mg_per_g",
        0.2,
        "mg Al/g paper",
        0,
        0.7,
        "short dips; 0.7 is the plateau on pulp in deionised water, Kato and Isogai 1999, "
        "J Wood Sci 45:154-160",
        OUR_OWN,
    ),
    _exact(
        "fibre_al_sd_mg_per_g",
        0.2,
        "mg Al/g paper",
        "standard deviation of fibre_al_mg_per_g, which is never below 0",
        OUR_OWN,
    ),
    _range(
        "paper_g_per_m2",
        100,
        "g/m2",
        80,
        160,
        "paper of unknown weight; 80 to 120 for covers, 120 to 160 to frame",
        COMMON_PRACTICE,
    ),
    _exact(
        "chalk_mol_per_mol_potash_alum",
        1.5,
        "mol CaCO3/mol",
        "2 KAl(SO4)2 + 3 CaCO3 + 3 H2O -> 2 Al(OH)3 + 3 CaSO4 + K2SO4 + 3 CO2",
        COMPUTED,
    ),
    _exact(
        "chalk_reserve_mol_acid_per_kg",
        0.4,
        "mol acid/kg paper",
        "ISO 9706, 20 g CaCO3 per kg, as compared in a Library of Congress appendix",
        PUBLISHED,
    ),
    _range(
        "chalk_fraction_reached",
        0.5,
        "1",
        0,
        1,
        "part of a buffered sheet's chalk that the bath reaches before the sheet is out",
        OUR_OWN,
    ),
)

_MEASURES: Final = (
    _doubt("water_measured_fraction", 0.02, "1", "water by jug or marked vessel"),
    _doubt("weighed_fraction", 0.03, "1", "salt on kitchen scales; 0.01 to 0.03"),
    _doubt("lot_spoon_fraction", 0.05, "1", "level spoons of a tub whose spoon was weighed"),
    _doubt("guess_fraction", 0.5, "1", "an amount nobody measured, on the logarithm"),
    _range(
        "alum_g_per_us_tbsp",
        14.8,
        "g per 14.79 mL",
        11,
        20,
        "printed figures run from 10.7 to 19.9 g: bulk density tables, '1 lb = 24 tbsp' of a "
        "binders' supplier, 6.64 g per teaspoon",
        PUBLISHED,
    ),
    _range(
        "carrageenan_g_per_us_tbsp",
        8.4,
        "g per 14.79 mL",
        7,
        10,
        "'1 lb makes 27 gallons at 2 tablespoons a gallon' on an instruction page",
        PUBLISHED,
    ),
    _range(
        "methylcellulose_g_per_us_tbsp",
        7.5,
        "g per 14.79 mL",
        5.9,
        9,
        "bulk density 0.40 to 0.60 g/mL, from memory",
        COMMON_PRACTICE,
    ),
    _range(
        "gall_g_per_us_tbsp",
        15,
        "g per 14.79 mL",
        14.6,
        15.6,
        "gall is a liquid a little heavier than water, from memory",
        COMMON_PRACTICE,
    ),
    _range(
        "softener_g_per_us_tbsp",
        15,
        "g per 14.79 mL",
        8,
        17,
        "'1 tablespoon (15 g) a quart' of a paint maker's leaflet; light soda ash weighs half",
        PUBLISHED,
    ),
    _range(
        "powder_g_per_us_tbsp",
        8.5,
        "g per 14.79 mL",
        5,
        13,
        "any other powder nobody has weighed a spoon of",
        OUR_OWN,
    ),
    _range(
        "heaped_factor",
        1.5,
        "1",
        1.125,
        1.875,
        "a heaped spoon against a level one, +-25 %",
        OUR_OWN,
    ),
    _range(
        "rounded_factor",
        1.25,
        "1",
        1,
        1.5,
        "a rounded spoon against a level one, +-20 %",
        OUR_OWN,
    ),
    _range(
        "scant_factor",
        0.9,
        "1",
        0.81,
        0.99,
        "a scant spoon against a level one, +-10 %",
        OUR_OWN,
    ),
    _doubt("gravity_sg", 0.001, "1", "specific gravity read from a hydrometer"),
    _doubt(
        "gravity_curve_fraction",
        0.03,
        "1",
        "the density curve; Hendricks and Laliberte-Cooper differ by 3.5 % at SG 1.020",
    ),
    _exact(
        "hydrometer_scale_c",
        20,
        "deg C",
        "temperature of a scale unless it is printed on it",
        OUR_OWN,
    ),
    _doubt("thermometer_c", 1, "deg C", "a studio thermometer"),
    _doubt("level_mm", 2, "mm", "dipstick or tape line"),
    _doubt("run_out_s", 0.5, "s", "a run-out time, started and stopped by hand"),
    _range(
        "dose_disagree_fraction",
        0.05,
        "1",
        0.02,
        0.1,
        "two ways of stating one dose further apart than this wait for a person",
        OUR_OWN,
    ),
    _range(
        "target_differs_fraction",
        0.20,
        "1",
        0.1,
        0.5,
        "a card's strength further from the house's than this is asked about once",
        OUR_OWN,
    ),
    _range(
        "alum_card_g_per_l",
        31,
        "g/L",
        10,
        94,
        "instruction pages for paper: 10.4 g/L, half of its rivals, to a heaped tablespoon a "
        "cup; cards for cloth go by 2.6 to 15.9",
        COMMON_PRACTICE,
    ),
    _range(
        "own_recipes_min",
        3,
        "count",
        3,
        10,
        "own recipes of a kind, before they widen the band of others' cards",
        OUR_OWN,
    ),
)

_TIME: Final = (
    _range(
        "evaporation_mm_per_day",
        2,
        "mm/day",
        1,
        4.5,
        "still air, 20 C, 50 % RH: Shah 2.0, ASHRAE form 3.7, (25 + 19 v) form 4.5",
        COMPUTED,
    ),
    _exact("evaporation_ref_c", 20, "deg C", "where evaporation_mm_per_day holds", COMPUTED),
    _exact("evaporation_ref_rh", 0.5, "1", "where evaporation_mm_per_day holds", COMPUTED),
    _range("room_c", 20, "deg C", 15, 28, "room nobody measured", OUR_OWN),
    _range("room_rh", 0.5, "1", 0.3, 0.7, "room nobody measured", OUR_OWN),
    _range(
        "lidded_doubt_fraction_per_week",
        0.005,
        "1/week",
        0,
        0.02,
        "doubt of a lidded vessel's volume, as a fraction of it",
        OUR_OWN,
    ),
    _range(
        "open_hours_per_session",
        2,
        "h",
        0.5,
        8,
        "how long a vessel stands open for one entry of sheets",
        OUR_OWN,
    ),
)

_LINES: Final = (
    _range(
        "target_g_per_l",
        40,
        "g/L aluminium sulfate 14-hydrate",
        15,
        85,
        "usable strengths of the trade run from 15 to 85 g/L",
        COMMON_PRACTICE,
    ),
    _range("look_again_fraction", 0.75, "1", 0.5, 1, "of the target strength", OUR_OWN),
    _range("do_not_use_fraction", 0.60, "1", 0.3, 0.95, "of the target strength", OUR_OWN),
    _range(
        "weak_chance",
        0.2,
        "1",
        0.05,
        0.5,
        "chance of being under the do-not-use line that asks for another look",
        OUR_OWN,
    ),
    _range(
        "laying_depth_mm", 15, "mm", 5, 30, "liquid that must stand to lay a sheet", OUR_OWN
    ),
    _range(
        "strip_print_days",
        28,
        "day",
        7,
        60,
        "days a bath is used before a strip print is asked for",
        OUR_OWN,
    ),
    _range(
        "water_only_top_ups_count",
        2,
        "count",
        1,
        5,
        "top-ups with plain water since the last test that ask for another look",
        OUR_OWN,
    ),
    _range("disagree_sigma", 3, "sd", 2.5, 5, "a reading further off waits", OUR_OWN),
    _range("agree_sigma", 2, "sd", 1, 3, "two readings closer than this agree", OUR_OWN),
    _range(
        "solubility_warn_fraction",
        0.6,
        "1",
        0.3,
        0.9,
        "of what dissolves at the store's temperature",
        OUR_OWN,
    ),
    _range(
        "alum_dissolving_kj_per_mol",
        30.2,
        "kJ/mol",
        30.2,
        42,
        "warmth that potash alum takes up as it dissolves: 30.2 in the minteq.v4 file of "
        "PHREEQC; 42 from memory",
        PUBLISHED,
    ),
    _range(
        "hand_hot_water_c",
        45,
        "deg C",
        30,
        45,
        "the hottest water that hands mix with; never hotter without its caution",
        COMMON_PRACTICE,
    ),
    _range(
        "hdpe_hot_c",
        60,
        "deg C",
        50,
        60,
        "hottest liquid into an HDPE jug; bottle hot-fill guides print 145 F = 62.8 C",
        PUBLISHED,
    ),
)

_SIZE: Final = (
    _range(
        "size_with_sheet_ml_per_m2",
        350,
        "mL/m2",
        200,
        800,
        "size that leaves with a sheet and the skimming strip",
        OUR_OWN,
    ),
    _range(
        "chilled_fraction",
        0.2,
        "warm day/day",
        0.05,
        0.5,
        "what a chilled day counts of a warm one",
        OUR_OWN,
    ),
    _range(
        "size_look_again_warm_days",
        4,
        "day",
        2,
        6,
        "instruction pages give carrageenan 3 to 4 days at room warmth, then mould",
        COMMON_PRACTICE,
    ),
    _range(
        "size_do_not_use_warm_days",
        6,
        "day",
        3,
        10,
        "carrageenan without a preservative, at room warmth",
        COMMON_PRACTICE,
    ),
    _range(
        "size_cap_days",
        10,
        "day",
        5,
        28,
        "carrageenan from making, chilled all the time",
        COMMON_PRACTICE,
    ),
    _range(
        "size_rest_carrageenan_h",
        12,
        "h",
        4,
        24,
        "instruction pages: 4 h at the least, best 8 to 24 h or overnight",
        COMMON_PRACTICE,
    ),
    _range(
        "size_rest_methylcellulose_h",
        1,
        "h",
        0.5,
        4,
        "instruction pages: 30 minutes to hours",
        COMMON_PRACTICE,
    ),
    _range(
        "size_rest_tragacanth_h",
        24,
        "h",
        12,
        72,
        "instruction pages: a night to two days; old manuals 48 to 72 h",
        COMMON_PRACTICE,
    ),
    _range("size_rest_other_h", 12, "h", 1, 72, "a size of another gum", OUR_OWN),
    _range(
        "size_carrageenan_g_per_l",
        5,
        "g/L",
        2.5,
        10,
        "instruction pages: a teaspoon a litre to a tablespoon a cup, 2.8 to 8.9 g/L",
        COMMON_PRACTICE,
    ),
    _exact(
        "concentrate_over_g_per_l",
        12,
        "g/L",
        "instruction pages: sizes of 2.8 to 8.9 g/L, a concentrate of 30 g/L to be diluted",
        COMMON_PRACTICE,
    ),
    _range(
        "size_methylcellulose_g_per_l",
        6.3,
        "g/L",
        4,
        13,
        "instruction pages: 4 tablespoons a gallon; some take double",
        COMMON_PRACTICE,
    ),
    _range(
        "size_tragacanth_g_per_l",
        10,
        "g/L",
        6,
        14,
        "old manuals and instruction pages: 20 to 40 g in 3 L, one part in a hundred",
        COMMON_PRACTICE,
    ),
    _range(
        "drop_test_buys_warm_days",
        1,
        "day",
        0.5,
        2,
        "life at room warmth that a good drop test adds",
        OUR_OWN,
    ),
    _range(
        "drop_good_low_mm",
        40,
        "mm",
        30,
        45,
        "one drop of a known black on skimmed size, after 5 s",
        COMMON_PRACTICE,
    ),
    _range(
        "drop_good_high_mm",
        60,
        "mm",
        50,
        70,
        "one drop of a known black on skimmed size, after 5 s",
        COMMON_PRACTICE,
    ),
    _range(
        "drop_hold_low_mm",
        25,
        "mm",
        15,
        30,
        "the size takes no colour under it",
        COMMON_PRACTICE,
    ),
    _range(
        "drop_hold_high_mm", 80, "mm", 70, 100, "the colour runs away over it", COMMON_PRACTICE
    ),
    _range(
        "run_out_readings_min",
        5,
        "count",
        3,
        20,
        "readings of one funnel on sizes that printed well, before they draw a line",
        OUR_OWN,
    ),
    _range(
        "size_low_c",
        14,
        "deg C",
        10,
        17,
        "cooler size is brought to the room before sheets are laid on it: colours are "
        "sluggish under 15, and 17 to 24 is good",
        COMMON_PRACTICE,
    ),
    _range(
        "size_high_c",
        27,
        "deg C",
        24,
        30,
        "warmer size is looked at again: it thins and sours fast above 26",
        COMMON_PRACTICE,
    ),
    _range(
        "size_temperature_holds_h",
        3,
        "h",
        1,
        6,
        "so long a temperature that was read speaks for a size: it goes with the room",
        OUR_OWN,
    ),
    _range(
        "run_out_low_c",
        18,
        "deg C",
        15,
        20,
        "run-out times of a funnel are compared from here",
        COMMON_PRACTICE,
    ),
    _range(
        "run_out_high_c",
        22,
        "deg C",
        20,
        25,
        "run-out times of a funnel are compared up to here",
        COMMON_PRACTICE,
    ),
    _range(
        "size_flow_kj_per_mol",
        20,
        "kJ/mol",
        15,
        30,
        "between water, 16.9 (computed), and seed gums, at most 18: AJAC 2017 8(11), "
        "doi 10.4236/ajac.2017.811051; thick size more",
        OUR_OWN,
    ),
    _exact("spoiling_ref_c", 20, "deg C", "the warmth of a warm day", OUR_OWN),
    _range(
        "spoiling_min_c",
        -10,
        "deg C",
        -10,
        0,
        "square-root law of growth: nothing grows under it; (1 + 0.1 T)^2 for chilled food",
        FROM_MEMORY,
    ),
    _range(
        "spoiling_q10",
        2.5,
        "1",
        2,
        4,
        "how many times faster a size spoils for 10 C more",
        OUR_OWN,
    ),
    _exact(
        "spoiling_kj_per_mol",
        83.144,
        "kJ/mol",
        "activation energy of the mean kinetic temperature, USP <1160>; 10000 K with its R",
        PUBLISHED,
    ),
    _range(
        "alum_carried_damp_fraction",
        0.02,
        "1",
        0,
        0.1,
        "part of a damp sheet's alum that stays in the size",
        OUR_OWN,
    ),
)

_OTHER_BATHS: Final = (
    _range(
        "gall_water_days", 14, "day", 7, 28, "gall water keeps a week or two", COMMON_PRACTICE
    ),
    _range("rinse_days", 7, "day", 1, 14, "rinse water in a drum", OUR_OWN),
    _range(
        "paste_days",
        14,
        "day",
        5,
        30,
        "wheat paste in a clean lidded jar: two weeks in summer, a month in winter",
        COMMON_PRACTICE,
    ),
    _exact(
        "softener_high_g_per_l",
        2,
        "g/L",
        "over this a card is asked about: washing soda passes pH 11 at 15 g/L, and sodium "
        "thins carrageenan, from memory",
        OUR_OWN,
    ),
    _exact(
        "carrageenan_overlap_g_per_l",
        2.1,
        "g/L",
        "lambda-carrageenan in pure water, 25 C: Rivera del Rio et al. 2017, doi 10.5772/65785",
        PUBLISHED,
    ),
    _exact(
        "carrageenan_overlap_salty_g_per_l",
        3.8,
        "g/L",
        "the same with 20 mmol/L of sodium: Rivera del Rio et al. 2017, doi 10.5772/65785",
        PUBLISHED,
    ),
    _range("softener_days", 30, "day", 7, 90, "water with a softener in it", OUR_OWN),
)

_NEUTRALISING: Final = (
    _range(
        "bucket_times",
        3,
        "1",
        3,
        5,
        "litres of an open bucket for a litre in it: it foams, so a third full at most",
        COMMON_PRACTICE,
    ),
    _range(
        "kept_cup_fraction",
        0.05,
        "1",
        0.05,
        0.1,
        "part of an old bath kept back as the brake of its neutralising: one cup in twenty",
        OUR_OWN,
    ),
    _range(
        "first_dose_fraction",
        0.8,
        "1",
        0.6,
        0.83,
        "part of a full dose that goes in first; real floc can form from 2.5 of 3 hydroxides "
        "on, which is 83 % of a full dose",
        OUR_OWN,
    ),
    _exact(
        "rest_part_count",
        3,
        "count",
        "parts of the rest of a dose, with a reading between them",
        OUR_OWN,
    ),
    _range(
        "base_in_min",
        15,
        "min",
        15,
        60,
        "the first part goes in a spoon at a time over so long, stirring",
        COMMON_PRACTICE,
    ),
    _range(
        "stir_out_min",
        30,
        "min",
        30,
        120,
        "stirring after it, until no more fizz rises: with gas in it a reading is too low",
        COMMON_PRACTICE,
    ),
    _range(
        "neutral_reading_h",
        24,
        "h",
        12,
        24,
        "a reading of a neutralised bath stands so long, if nothing is added",
        OUR_OWN,
    ),
    _range(
        "overnight_h",
        8,
        "h",
        6,
        16,
        "a neutralised bath stands so long under a cloth before it is read again",
        COMMON_PRACTICE,
    ),
    _range(
        "neutral_low_ph",
        6.5,
        "pH",
        6,
        7,
        "where a neutralised bath should come out, unless the place has its own rule",
        COMMON_PRACTICE,
    ),
    _range(
        "neutral_high_ph",
        7.5,
        "pH",
        7,
        9,
        "where a neutralised bath should come out, unless the place has its own rule",
        COMMON_PRACTICE,
    ),
    _range(
        "untreated_alum_max_ph",
        4.5,
        "pH",
        4,
        5,
        "over what alum without a base reads: 3.0 to 3.5 at 5 %, British Pharmacopoeia",
        OUR_OWN,
    ),
    _range(
        "gas_indoors_max_l",
        150,
        "L",
        50,
        500,
        "carbon dioxide of one bucket; more goes outdoors: 0.5 %, the workplace limit of OSHA, "
        "from memory, of a small room of 30 m3",
        OUR_OWN,
    ),
    _range(
        "floc_solids_fraction",
        0.05,
        "1",
        0.02,
        0.1,
        "dry solids in floc as it comes off a cloth: between the 0.5 to 2 % that settle in "
        "water works and the 15 to 20 % of a press",
        FROM_MEMORY,
    ),
)

_WASTE: Final = (
    _range(
        "carrageenan_oxygen_g_per_g",
        0.94,
        "g O2/g",
        0.5,
        1.19,
        "to burn it, by formula: kappa 0.94, iota 0.75, lambda 0.61, sugar it is cut with "
        "1.12, starch 1.18; less with the water it holds, 12 % at most, from memory",
        COMPUTED,
    ),
    _range(
        "methylcellulose_oxygen_g_per_g",
        1.46,
        "g O2/g",
        1,
        1.51,
        "to burn it, by formula: cellulose 1.18, with 27.5 to 31.5 % of methoxyl, the range "
        "of pharmacopoeias from memory, 1.46 to 1.50; less with the water it holds",
        COMPUTED,
    ),
    _range(
        "gum_oxygen_g_per_g",
        1.18,
        "g O2/g",
        0.7,
        1.51,
        "to burn any other gum, by formula: alginate 0.81, uronic acids 0.91, starch 1.18, "
        "arabinose 1.21; one that is a methylcellulose up to 1.50; less with the water it "
        "holds",
        COMPUTED,
    ),
    _range(
        "rinse_l_per_sheet",
        1.5,
        "L",
        0.5,
        3,
        "water to rinse a small sheet, hosed down or dipped",
        COMMON_PRACTICE,
    ),
)

_STACKS: Final = (
    _range(
        "stack_open_days",
        2,
        "day",
        1,
        14,
        "alumed paper in open air; the edges of a stack go first",
        COMMON_PRACTICE,
    ),
    _range(
        "stack_damp_days",
        1,
        "day",
        0.5,
        2,
        "alumed paper kept damp for use",
        COMMON_PRACTICE,
    ),
    _range(
        "stack_bagged_days",
        14,
        "day",
        7,
        60,
        "alumed paper in a closed bag: one to two weeks are preferred",
        COMMON_PRACTICE,
    ),
    _range(
        "stack_hard_stop_days",
        60,
        "day",
        28,
        90,
        "a couple of months at most; sheets turn brittle after several weeks",
        COMMON_PRACTICE,
    ),
)

_JUGS: Final = (
    _range(
        "jug_look_back_days",
        60,
        "day",
        28,
        120,
        "a bath finished longer ago is no longer asked about when a jug is found",
        OUR_OWN,
    ),
    _range(
        "jug_by_eye_fraction",
        0.2,
        "1",
        0.1,
        0.4,
        "how far litres read off a jug by eye may be out, either way",
        OUR_OWN,
    ),
)

_COUNTS: Final = (
    _range(
        "fault_speaks_under",
        0.05,
        "1",
        0.01,
        0.1,
        "so many spoiled sheets are told of when chance alone gives them less often",
        OUR_OWN,
    ),
    _range(
        "fault_sheets_min",
        4,
        "count",
        2,
        10,
        "sheets with the same word before they are told of",
        OUR_OWN,
    ),
)

_STOCK: Final = (
    _range(
        "use_weeks",
        8,
        "week",
        4,
        26,
        "weeks whose use is reckoned with when the next order is",
        OUR_OWN,
    ),
    _exact(
        "use_every_weeks",
        1.32,
        "week",
        "between uses: what is used less often comes now and then; Syntetos, Boylan and "
        "Croston 2005, J Oper Res Soc 56:495-503",
        FROM_MEMORY,
    ),
    _range(
        "use_smoothing",
        0.1,
        "1",
        0.05,
        0.2,
        "weight of the newest use where it comes now and then; Syntetos and Boylan 2005, "
        "Int J Forecast 21:303-314",
        FROM_MEMORY,
    ),
    _range(
        "order_cover_weeks",
        4,
        "week",
        2,
        13,
        "weeks of use that an order brings over the floor",
        COMMON_PRACTICE,
    ),
    _range(
        "order_review_days",
        3,
        "day",
        1,
        14,
        "days between two looks at the order list, added to the days to arrive",
        COMMON_PRACTICE,
    ),
    _range(
        "order_lead_days",
        10,
        "day",
        1,
        42,
        "days to arrive of what was never ordered yet; gums take weeks when imported",
        COMMON_PRACTICE,
    ),
    _range(
        "order_overdue_days",
        14,
        "day",
        7,
        42,
        "days past the expected one after which nobody can count on an order any more",
        OUR_OWN,
    ),
)

_SESSIONS: Final = (
    _range(
        "session_sheets_each",
        12.5,
        "count",
        10,
        15,
        "sheets a person lays in a day's class: 150 small sheets for 12 people",
        COMMON_PRACTICE,
    ),
    _range(
        "session_size_l_each",
        4,
        "L",
        3,
        6,
        "size for a small tray each, one filling: 48 L for 12 people",
        COMMON_PRACTICE,
    ),
    _range(
        "session_gloves_pairs_each",
        1,
        "count",
        1,
        3,
        "pairs of gloves for each person; a torn pair is changed",
        COMMON_PRACTICE,
    ),
)

_SHELF: Final = (
    _range(
        "count_noise_fraction",
        0.02,
        "1",
        0.01,
        0.05,
        "a gap of a count up to this part of what was expected is counting noise",
        COMMON_PRACTICE,
    ),
    _range(
        "count_noise_count",
        5,
        "count",
        1,
        20,
        "a gap of up to so many sheets or pieces is counting noise",
        COMMON_PRACTICE,
    ),
    _range(
        "gap_alike_fraction",
        0.25,
        "1",
        0.1,
        0.5,
        "two amounts further apart than this part of the larger are not alike, "
        "however rough the count",
        OUR_OWN,
    ),
    _range(
        "moved_within_days",
        14,
        "day",
        7,
        31,
        "counts of two studios so far apart are set against each other",
        OUR_OWN,
    ),
    _exact("ream_sheets", 500, "count", "sheets in a ream today", FROM_MEMORY),
    _exact("old_ream_sheets", 480, "count", "sheets in a ream of the old trade", FROM_MEMORY),
    _exact("printers_ream_sheets", 516, "count", "sheets in a printer's ream", FROM_MEMORY),
    _range(
        "carrageenan_sealed_days",
        1460,
        "day",
        365,
        1460,
        "four years dry and sealed on an instruction page",
        COMMON_PRACTICE,
    ),
    _range(
        "carrageenan_opened_days", 365, "day", 365, 730, "one to two years", COMMON_PRACTICE
    ),
    _range(
        "gall_sealed_days",
        1095,
        "day",
        365,
        1095,
        "three years sealed on an instruction page",
        COMMON_PRACTICE,
    ),
    _range("gall_opened_days", 365, "day", 365, 730, "one to two years", COMMON_PRACTICE),
    _range(
        "colour_sealed_days", 1095, "day", 1095, 1825, "three to five years", COMMON_PRACTICE
    ),
    _range(
        "colour_opened_days",
        365,
        "day",
        365,
        730,
        "one to two years, then mould",
        COMMON_PRACTICE,
    ),
    _range("ammonia_days", 365, "day", 180, 365, "it loses its gas", COMMON_PRACTICE),
    _range("strips_opened_days", 730, "day", 365, 730, "two years opened", COMMON_PRACTICE),
)


_REVIEWS: Final = (
    _range(
        "zero_check_days",
        30,
        "day",
        7,
        90,
        "a hydrometer in use is read in plain tap water once a month",
        COMMON_PRACTICE,
    ),
    _range(
        "count_days",
        30,
        "day",
        7,
        90,
        "a shelf is counted once a month, by two",
        COMMON_PRACTICE,
    ),
    _range(
        "limits_review_days",
        365,
        "day",
        90,
        730,
        "house limits are looked over once a year",
        COMMON_PRACTICE,
    ),
)


def _by_name(rows: Iterable[Default]) -> Mapping[str, Default]:
    kept: dict[str, Default] = {}
    for row in rows:
        assert row.name not in kept, f"default {row.name} stands twice"
        assert row.low <= row.value <= row.high, f"default {row.name} is outside its range"
        assert row.mark in MARKS, f"default {row.name} has the unknown mark {row.mark}"
        kept[row.name] = row
    return MappingProxyType(kept)


DEFAULTS: Final[Mapping[str, Default]] = _by_name(
    (
        *_PICKUP, *_MEASURES, *_TIME, *_LINES, *_SIZE, *_OTHER_BATHS, *_NEUTRALISING, *_WASTE,
        *_STACKS, *_JUGS, *_COUNTS, *_STOCK, *_SESSIONS, *_SHELF, *_REVIEWS,
    )
)  # fmt: skip


def default(name: str) -> Default:
    """
    Return a default with its unit, range, source and mark.

    Args:
        name: Name of the default [one of DEFAULTS].

    Returns:
        The row [Default]. An unknown name raises KeyError naming it.

    Valid for:
        Names in DEFAULTS only.

    Source:
        Each row names its own.

    Example:
        >>> default("pickup_dip_ml_per_m2").low, default("pickup_dip_ml_per_m2").high
        (110, 180)
    """
    return DEFAULTS[name]


def value(name: str) -> float:
    """
    Return a default's value in its own unit.

    Args:
        name: Name of the default [one of DEFAULTS].

    Returns:
        The value [unit of the row]. An unknown name raises KeyError naming it.

    Valid for:
        Names in DEFAULTS only.

    Source:
        Each row names its own.

    Example:
        >>> value("paper_g_per_m2")
        100
    """
    return default(name).value
