"""
The defaults of the sums, the rules and the kinds of entries in plain words, for Help.

Figures stay in `coop.science.defaults`: a text names a default, `%(name)s`, and is filled in.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from coop.ledger.table import ANYONE, Kind
from coop.people.may import ROLE_CODES
from coop.rules.limits import Limits
from coop.science.defaults import COMMON_PRACTICE, DEFAULTS, FROM_MEMORY, OUR_OWN, Default
from coop.web import words as say
from coop.web.amounts import (
    FAHRENHEIT_PER_CELSIUS,
    FREEZING_F,
    G_PER_L_OF_OZ_PER_GAL,
    INCH_MM,
    OZ_G,
    US_GALLON_ML,
    decimals_of,
)
from coop.web.i18n import N_, Words

UNSOURCED: Final = frozenset({FROM_MEMORY, COMMON_PRACTICE, OUR_OWN})
"""Marks of figures that no document stands behind."""

PERCENT, TIMES, GRAVITY = "percent", "times", "gravity"


@dataclass(frozen=True, slots=True)
class Plain:
    """
    A default in plain words.

    Attributes:
        label: What it is.
        source: Where it comes from, for people: the figures and names of the default's own.
        change: How a house changes it, a code of `CHANGES`.
        bare: How a figure without a unit is said: percent, times or gravity.
    """

    label: str
    source: str
    change: str
    bare: str = ""


PLAIN: Mapping[str, Plain] = MappingProxyType(
    {
        "pickup_dip_ml_per_m2": Plain(
            N_("What a dipped sheet takes with it"),
            N_("Dipped and drained, for the area of one side; both sides are counted in it."),
            "sheets",
        ),
        "pickup_sponge_ml_per_m2": Plain(
            N_("What a sponge leaves on a sheet"), N_("On one side of it."), "sheets"
        ),
        "pickup_brush_ml_per_m2": Plain(
            N_("What a brush leaves on a sheet"), N_("On one side of it."), "sheets"
        ),
        "bath_factor": Plain(
            N_("How sheets drain at this tub"),
            N_("A tub's own habit against the usual; depth readings teach it."),
            "readings",
            TIMES,
        ),
        "pickup_pairs_min": Plain(
            N_("Pairs of depth readings before a paper's own pick-up is said"),
            N_("With sheets of that paper and one method between them, nothing else."),
            "program",
        ),
        "pickup_spread_min_fraction": Plain(
            N_("How far a learned pick-up may be off, at the least"),
            N_("Either way, nine times in ten."),
            "program",
            PERCENT,
        ),
        "fibre_al_mg_per_g": Plain(
            N_("Aluminium that paper fibres bind"),
            N_(
                "Short dips. On pulp in deionised water no more than 0.7 was bound: "
                "Kato and Isogai 1999, J Wood Sci 45:154-160."
            ),
            "program",
        ),
        "fibre_al_sd_mg_per_g": Plain(
            N_("How far that may be off"),
            N_("Its standard deviation; what is bound is never below 0."),
            "program",
        ),
        "paper_g_per_m2": Plain(
            N_("Paper nobody weighed"),
            N_("80 to 120 is bought for covers, 120 to 160 to frame."),
            "paper",
        ),
        "chalk_mol_per_mol_potash_alum": Plain(
            N_("Chalk that uses up alum"),
            N_("2 KAl(SO4)2 + 3 CaCO3 + 3 H2O -> 2 Al(OH)3 + 3 CaSO4 + K2SO4 + 3 CO2"),
            "fixed",
        ),
        "chalk_reserve_mol_acid_per_kg": Plain(
            N_("Chalk in a buffered paper"),
            N_("ISO 9706: 20 g CaCO3 per kg, as compared in a Library of Congress appendix."),
            "paper",
        ),
        "chalk_fraction_reached": Plain(
            N_("Part of that chalk the bath reaches"),
            N_("Before the sheet is out again."),
            "program",
            PERCENT,
        ),
        "water_measured_fraction": Plain(
            N_("Water measured by jug or mark"),
            N_("A jug, or a marked tub."),
            "program",
            PERCENT,
        ),
        "weighed_fraction": Plain(
            N_("Salt on kitchen scales"),
            N_("Between 0.01 and 0.03 of the weight."),
            "program",
            PERCENT,
        ),
        "lot_spoon_fraction": Plain(
            N_("Level spoons of a tub whose spoon was weighed"),
            N_("What is left of the doubt once ten spoons were weighed."),
            "program",
            PERCENT,
        ),
        "guess_fraction": Plain(
            N_("An amount nobody measured"),
            N_("From three fifths of it to five thirds."),
            "program",
            PERCENT,
        ),
        "carrageenan_g_per_us_tbsp": Plain(
            N_("A level US tablespoon of carrageenan"),
            N_("An instruction page: 1 lb makes 27 gallons at 2 tablespoons a gallon."),
            "lot",
        ),
        "methylcellulose_g_per_us_tbsp": Plain(
            N_("A level US tablespoon of methylcellulose"),
            N_("Bulk density 0.40 to 0.60 g/mL, from memory."),
            "lot",
        ),
        "gall_g_per_us_tbsp": Plain(
            N_("A US tablespoon of gall"),
            N_("A liquid a little heavier than water, from memory."),
            "lot",
        ),
        "softener_g_per_us_tbsp": Plain(
            N_("A level US tablespoon of softener"),
            N_("A paint maker's leaflet: 1 tablespoon, 15 g; light soda ash weighs half."),
            "lot",
        ),
        "powder_g_per_us_tbsp": Plain(
            N_("A level US tablespoon of another powder"),
            N_("Any powder nobody has weighed a spoon of."),
            "lot",
        ),
        "alum_g_per_us_tbsp": Plain(
            N_("A level US tablespoon of alum"),
            N_(
                "Printed figures run from 10.7 to 19.9 g: tables of bulk density, "
                "“1 lb = 24 tbsp” of a binders' supplier, 6.64 g per teaspoon."
            ),
            "lot",
        ),
        "heaped_factor": Plain(
            N_("A heaped spoon against a level one"), N_("25 % more or less."), "program", TIMES
        ),
        "rounded_factor": Plain(
            N_("A rounded spoon against a level one"),
            N_("20 % more or less."),
            "program",
            TIMES,
        ),
        "scant_factor": Plain(
            N_("A scant spoon against a level one"), N_("10 % more or less."), "program", TIMES
        ),
        "gravity_sg": Plain(
            N_("A hydrometer read by eye"), N_("In specific gravity."), "program", GRAVITY
        ),
        "gravity_curve_fraction": Plain(
            N_("The curve from gravity to strength"),
            N_("Hendricks and Laliberte-Cooper differ by 3.5 % at SG 1.020."),
            "program",
            PERCENT,
        ),
        "hydrometer_scale_c": Plain(
            N_("Temperature a hydrometer is made for"),
            N_("Unless another is printed on it."),
            "studio",
        ),
        "thermometer_c": Plain(
            N_("A studio thermometer"), N_("Read in the bath, not in the air."), "program"
        ),
        "level_mm": Plain(N_("Dipstick or tape line"), N_("Read at the edge."), "program"),
        "dose_disagree_fraction": Plain(
            N_("Two ways of saying one dose"),
            N_("Further apart than this, a person picks one before it is mixed."),
            "program",
            PERCENT,
        ),
        "target_differs_fraction": Plain(
            N_("A card's strength and the house's"),
            N_("Further apart than this, Mix asks once by which the bath is judged."),
            "program",
            PERCENT,
        ),
        "alum_card_g_per_l": Plain(
            N_("Alum by the cards for paper"),
            N_(
                "Instruction pages for paper, from 10.4 g/L on; cards for cloth go by 2.6 to "
                "15.9. Outside this Mix asks whether it is a card for cloth, or a slip."
            ),
            "program",
        ),
        "own_recipes_min": Plain(
            N_("Own recipes that a card is compared with"),
            N_("With fewer, with the cards of others alone."),
            "program",
        ),
        "evaporation_mm_per_day": Plain(
            N_("An open bath dries up by"),
            N_("Still air, 20 C, 50 % RH: Shah 2.0, ASHRAE form 3.7, (25 + 19 v) form 4.5."),
            "program",
        ),
        "evaporation_ref_c": Plain(
            N_("Warmth at which that holds"), N_("Warmer water dries up faster."), "fixed"
        ),
        "evaporation_ref_rh": Plain(
            N_("Damp of the air at which that holds"),
            N_("Drier air takes more."),
            "fixed",
            PERCENT,
        ),
        "room_c": Plain(
            N_("Warmth of a room nobody measured"),
            N_("From a cool cellar to a warm workroom."),
            "program",
        ),
        "room_rh": Plain(
            N_("Damp of the air nobody measured"),
            N_("From a heated room to a damp cellar."),
            "program",
            PERCENT,
        ),
        "lidded_doubt_fraction_per_week": Plain(
            N_("Doubt that grows under a lid"),
            N_("Of the litres; a tub with its lid on loses nothing."),
            "program",
        ),
        "open_hours_per_session": Plain(
            N_("How long a tub stands open for sheets"),
            N_("For sheets written once."),
            "sheets",
        ),
        "target_g_per_l": Plain(
            N_("How strong a bath is meant to be"),
            N_("Strengths in use in the trade run from 15 to 85 g/L."),
            "house",
        ),
        "look_again_fraction": Plain(
            N_("Look again under"), N_("Of the target."), "house", PERCENT
        ),
        "do_not_use_fraction": Plain(
            N_("Do not use under"), N_("Of the target."), "house", PERCENT
        ),
        "weak_chance": Plain(
            N_("Chance of being too weak that asks for another look"),
            N_("The chance of lying under the do-not-use line."),
            "program",
            PERCENT,
        ),
        "laying_depth_mm": Plain(
            N_("What must stand in a tub to lay a sheet"),
            N_("Where nobody said the tub's own litres."),
            "house",
        ),
        "strip_print_days": Plain(
            N_("How long a sharp strip print holds"),
            N_("Alum does not rot: another strip print buys as many days more."),
            "house",
        ),
        "water_only_top_ups_count": Plain(
            N_("Top-ups with water alone that ask for another look"),
            N_("Since the last test."),
            "program",
        ),
        "disagree_sigma": Plain(
            N_("A reading that waits"),
            N_("Further off than this, it is not applied."),
            "program",
        ),
        "agree_sigma": Plain(
            N_("Two readings that agree"), N_("Closer than this, both are applied."), "program"
        ),
        "solubility_warn_fraction": Plain(
            N_("A warning before salt stays undissolved"),
            N_("Of what dissolves at the warmth where the tub stands."),
            "program",
            PERCENT,
        ),
        "alum_dissolving_kj_per_mol": Plain(
            N_("Warmth that potash alum takes up as it dissolves"),
            N_(
                "30.2 in the file minteq.v4 of PHREEQC; 42 from memory. 30 g cool a litre by "
                "half a degree."
            ),
            "program",
        ),
        "hand_hot_water_c": Plain(
            N_("The hottest water for hands"),
            N_("Hotter only with its own caution."),
            "program",
        ),
        "hdpe_hot_c": Plain(
            N_("The hottest liquid for an HDPE jug"),
            N_("Guides for filling bottles hot print 145 F = 62.8 C."),
            "program",
        ),
        "size_with_sheet_ml_per_m2": Plain(
            N_("Size that leaves with a sheet"), N_("With the skimming strip."), "program"
        ),
        "chilled_fraction": Plain(
            N_("What a chilled day counts of a warm one"),
            N_("Cold slows spoiling down."),
            "program",
        ),
        "size_look_again_warm_days": Plain(
            N_("Size: look again after"),
            N_("Days at room warmth; instruction pages say 3 to 4, then mould."),
            "house",
        ),
        "size_do_not_use_warm_days": Plain(
            N_("Size: do not use after"), N_("Days at room warmth."), "house"
        ),
        "size_cap_days": Plain(
            N_("Size: never past"), N_("From the day it was made, chilled or not."), "house"
        ),
        "size_rest_carrageenan_h": Plain(
            N_("Rest of carrageenan size"),
            N_("4 hours at the least; best 8 to 24, or overnight."),
            "program",
        ),
        "size_rest_methylcellulose_h": Plain(
            N_("Rest of methylcellulose size"),
            N_("From 30 minutes to some hours."),
            "program",
        ),
        "size_rest_tragacanth_h": Plain(
            N_("Rest of gum tragacanth size"),
            N_("A night to two days; old manuals say 48 to 72 hours."),
            "program",
        ),
        "size_rest_other_h": Plain(
            N_("Rest of a size of another gum"), N_("Where the recipe says none."), "program"
        ),
        "size_carrageenan_g_per_l": Plain(
            N_("Carrageenan in a size"),
            N_("Instruction pages: a teaspoon a litre to a tablespoon a cup, 2.8 to 8.9 g/L."),
            "program",
        ),
        "concentrate_over_g_per_l": Plain(
            N_("Over this a size is a concentrate"),
            N_("Instruction pages: sizes of 2.8 to 8.9 g/L; 30 g/L is to be diluted."),
            "program",
        ),
        "size_methylcellulose_g_per_l": Plain(
            N_("Methylcellulose in a size"),
            N_("Instruction pages: 4 tablespoons a gallon; some take double."),
            "program",
        ),
        "size_tragacanth_g_per_l": Plain(
            N_("Gum tragacanth in a size"),
            N_("Old manuals: 20 to 40 g in 3 litres, one part in a hundred."),
            "program",
        ),
        "drop_test_buys_warm_days": Plain(
            N_("What a good drop test adds"), N_("Days at room warmth."), "program"
        ),
        "drop_good_low_mm": Plain(
            N_("Drop test: good from"),
            N_("How far a round drop has spread after 5 seconds."),
            "program",
        ),
        "drop_good_high_mm": Plain(
            N_("Drop test: good up to"),
            N_("How far a round drop has spread after 5 seconds."),
            "program",
        ),
        "drop_hold_low_mm": Plain(
            N_("Drop test: do not use under"), N_("How far a drop spreads."), "program"
        ),
        "drop_hold_high_mm": Plain(
            N_("Drop test: do not use over"), N_("How far a drop spreads."), "program"
        ),
        "run_out_s": Plain(
            N_("A run-out time"), N_("Started and stopped by hand and eye."), "program"
        ),
        "run_out_readings_min": Plain(
            N_("Readings of a funnel before your good days draw a line"),
            N_("Readings on sizes that printed well."),
            "program",
        ),
        "size_low_c": Plain(
            N_("Size is laid on from"),
            N_(
                "Cooler size is brought to the room first: colours are sluggish under 15, and "
                "17 to 24 is good."
            ),
            "program",
        ),
        "size_high_c": Plain(
            N_("Size is laid on up to"), N_("Above 26 it thins and sours fast."), "program"
        ),
        "size_temperature_holds_h": Plain(
            N_("A temperature of size holds for"),
            N_("After that it stands as warm as its room, whatever was read."),
            "program",
        ),
        "run_out_low_c": Plain(
            N_("Run-out times are compared from"), N_("Cooler size runs out slower."), "program"
        ),
        "run_out_high_c": Plain(
            N_("Run-out times are compared up to"),
            N_("Warmer size runs out faster."),
            "program",
        ),
        "size_flow_kj_per_mol": Plain(
            N_("How much warmth thins a size"),
            N_(
                "Activation energy of flow. Water: 16.9; seed gums: at most 18, "
                "AJAC 2017 8(11), doi 10.4236/ajac.2017.811051."
            ),
            "program",
        ),
        "spoiling_ref_c": Plain(N_("Warmth of a warm day"), N_("A room in use."), "program"),
        "spoiling_min_c": Plain(
            N_("Size spoils no longer under"),
            N_("Square-root law of growth, (1 + 0.1 T)^2 of chilled food."),
            "program",
        ),
        "spoiling_q10": Plain(
            N_("How much faster a size spoils 10 °C warmer"),
            N_("Where that rule is asked for."),
            "program",
            TIMES,
        ),
        "spoiling_kj_per_mol": Plain(
            N_("Activation energy of the mean kinetic temperature"),
            N_("USP <1160>: 10000 K with its gas constant R."),
            "fixed",
        ),
        "alum_carried_damp_fraction": Plain(
            N_("Part of a damp sheet's alum that stays in the size"),
            N_("A dry sheet leaves less, a dripping one far more."),
            "program",
            PERCENT,
        ),
        "gall_water_days": Plain(
            N_("Gall water: look again after"), N_("It keeps a week or two."), "house"
        ),
        "rinse_days": Plain(
            N_("Rinse water: look again after"), N_("Sooner when it is cloudy."), "house"
        ),
        "paste_days": Plain(
            N_("Paste: look again after"),
            N_("Wheat paste in a clean jar with its lid on; longer in winter."),
            "house",
        ),
        "softener_high_g_per_l": Plain(
            N_("Softener: asked about over"),
            N_("Washing soda passes pH 11 at 15 g/L, sodium thins carrageenan: from memory."),
            "program",
        ),
        "carrageenan_overlap_g_per_l": Plain(
            N_("Carrageenan: its chains begin to overlap at"),
            N_("In pure water, 25 °C: Rivera del Rio et al. 2017, doi 10.5772/65785."),
            "fixed",
        ),
        "carrageenan_overlap_salty_g_per_l": Plain(
            N_("Carrageenan in salty water: its chains begin to overlap at"),
            N_(
                "With 20 mmol/L of sodium, as softened water or washing soda brings: Rivera "
                "del Rio et al. 2017, doi 10.5772/65785. The same dose is thinner."
            ),
            "fixed",
        ),
        "softener_days": Plain(
            N_("Softened water: look again after"), N_("In a closed vessel."), "house"
        ),
        "bucket_times": Plain(
            N_("Neutralising: how much larger the bucket is"),
            N_("Open; it foams, so it is never filled higher."),
            "program",
            bare=TIMES,
        ),
        "kept_cup_fraction": Plain(
            N_("Neutralising: what is kept back of the old bath"),
            N_("One cup in twenty, the brake; it goes in last, with its own share."),
            "program",
            bare=PERCENT,
        ),
        "first_dose_fraction": Plain(
            N_("Neutralising: what goes in first of a full dose"),
            N_(
                "Floc can form from 2.5 of 3 hydroxides on, which is 83 % of a full dose; "
                "the rest goes in with readings between."
            ),
            "program",
            bare=PERCENT,
        ),
        "rest_part_count": Plain(
            N_("Neutralising: parts of the rest of a dose"),
            N_("With a reading between them."),
            "program",
        ),
        "base_in_min": Plain(
            N_("Neutralising: how long the first part takes"),
            N_("A spoon at a time, stirring."),
            "program",
        ),
        "stir_out_min": Plain(
            N_("Neutralising: stirring before a reading"),
            N_("Until no more fizz rises: while gas is in it, it reads too low."),
            "program",
        ),
        "neutral_reading_h": Plain(
            N_("Neutralising: a reading stands for"),
            N_("As long as nothing is added."),
            "program",
        ),
        "overnight_h": Plain(
            N_("Neutralising: left to stand before it is read again"),
            N_("Under a cloth, out of reach, never closed."),
            "program",
        ),
        "neutral_low_ph": Plain(
            N_("Neutralising: the low end of pH to reach"),
            N_("Only where the place has no rule of its own."),
            "program",
        ),
        "neutral_high_ph": Plain(
            N_("Neutralising: the high end of pH to reach"),
            N_("Only where the place has no rule of its own."),
            "program",
        ),
        "untreated_alum_max_ph": Plain(
            N_("Neutralising: the highest pH of alum without a base"),
            N_(
                "Over what alum without a base reads: 3.0 to 3.5 at 5 %, British "
                "Pharmacopoeia. A reading over it passes no rule until a base went in: read it "
                "again."
            ),
            "program",
        ),
        "gas_indoors_max_l": Plain(
            N_("Neutralising: gas of one bucket that a room bears"),
            N_(
                "More goes outdoors: 0.5 % of a small room of 30 m³, by the workplace limit of "
                "OSHA, from memory."
            ),
            "program",
        ),
        "floc_solids_fraction": Plain(
            N_("Dry solids in strained floc"),
            N_(
                "Between the 0.5 to 2 % that settle in water works and the 15 to 20 % of a "
                "press, from memory."
            ),
            "program",
            bare=PERCENT,
        ),
        "carrageenan_oxygen_g_per_g": Plain(
            N_("Oxygen that a gram of carrageenan takes"),
            N_(
                "To burn it, by formula: kappa 0.94, iota 0.75, lambda 0.61, sugar it is cut "
                "with 1.12, starch 1.18; less with the water it holds, 12 % at most, from "
                "memory."
            ),
            "program",
        ),
        "methylcellulose_oxygen_g_per_g": Plain(
            N_("Oxygen that a gram of methylcellulose takes"),
            N_(
                "To burn it, by formula: cellulose 1.18, with 27.5 to 31.5 % of methoxyl, the "
                "range of pharmacopoeias from memory, 1.46 to 1.50; less with the water it "
                "holds."
            ),
            "program",
        ),
        "gum_oxygen_g_per_g": Plain(
            N_("Oxygen that a gram of another gum takes"),
            N_(
                "To burn it, by formula: alginate 0.81, uronic acids 0.91, starch 1.18, "
                "arabinose 1.21; one that is a methylcellulose up to 1.50; less with the "
                "water it holds."
            ),
            "program",
        ),
        "rinse_l_per_sheet": Plain(
            N_("Rinse water of a sheet"),
            N_("Of a small sheet, hosed down or dipped."),
            "program",
        ),
        "stack_open_days": Plain(
            N_("Alumed sheets in open air: use within"),
            N_("The edges of a stack go first."),
            "house",
        ),
        "stack_damp_days": Plain(
            N_("Alumed sheets kept damp: use within"), N_("Damp, never shiny-wet."), "house"
        ),
        "stack_bagged_days": Plain(
            N_("Alumed sheets in a closed bag: use within"),
            N_("One to two weeks are preferred."),
            "house",
        ),
        "stack_hard_stop_days": Plain(
            N_("Alumed sheets: never past"),
            N_("Alumed paper turns brittle after some weeks."),
            "house",
        ),
        "jug_look_back_days": Plain(
            N_("A jug nobody knows: finished baths are asked about for"),
            N_("Before the day it was found; open baths always."),
            "program",
        ),
        "jug_by_eye_fraction": Plain(
            N_("How far litres read off a jug by eye may be out"),
            N_("Either way; more than could be left of a bath is none of it."),
            "program",
            PERCENT,
        ),
        "fault_speaks_under": Plain(
            N_("Spoiled sheets are told of when chance alone gives so many less often than"),
            N_("Against what is usual here, from sorted sheets only."),
            "program",
            PERCENT,
        ),
        "fault_sheets_min": Plain(
            N_("Sheets with the same word before they are told of"),
            N_("A sheet or three can happen to anyone."),
            "program",
        ),
        "use_weeks": Plain(
            N_("Weeks whose use the order list reckons with"),
            N_("Long enough to even out a class, short enough to follow a new habit."),
            "program",
        ),
        "use_every_weeks": Plain(
            N_("Used less often than every"),
            N_(
                "Then the use fades when it stops, for it comes now and then. Syntetos, Boylan "
                "and Croston 2005, J Oper Res Soc 56:495-503."
            ),
            "program",
        ),
        "use_smoothing": Plain(
            N_("What the newest use weighs, where use comes now and then"),
            N_("Syntetos and Boylan 2005, Int J Forecast 21:303-314."),
            "program",
            PERCENT,
        ),
        "session_sheets_each": Plain(
            N_("Sheets a person lays in a day's class"),
            N_("150 small sheets for 12 people."),
            "program",
        ),
        "session_size_l_each": Plain(
            N_("Size for each person of a class"),
            N_("One filling of a small tray: 48 L for 12 people."),
            "program",
        ),
        "session_gloves_pairs_each": Plain(
            N_("Pairs of gloves for each person"),
            N_("A torn pair is changed."),
            "program",
        ),
        "order_cover_weeks": Plain(
            N_("Ordered: use over the floor for"),
            N_("In whole packs, and no more than keeps."),
            "program",
        ),
        "order_review_days": Plain(
            N_("Order list: days between two looks"),
            N_("Added to the days to arrive."),
            "supply",
        ),
        "order_lead_days": Plain(
            N_("Days to arrive of what was never ordered yet"),
            N_("Learned from the orders that arrived; gums take weeks when imported."),
            "supply",
        ),
        "order_overdue_days": Plain(
            N_("An order does not count any more when it is late by"),
            N_("Ask where it is, or cancel it."),
            "program",
        ),
        "zero_check_days": Plain(
            N_("A hydrometer is read in tap water again after"),
            N_("Where a studio has one in its drawer."),
            "program",
        ),
        "count_days": Plain(
            N_("A lot is counted again after"),
            N_("Where its supply says nothing else."),
            "program",
        ),
        "limits_review_days": Plain(
            N_("House limits are looked over again after"),
            N_("Counted from the day they were set."),
            "program",
        ),
        "count_noise_fraction": Plain(
            N_("Counting noise: a gap up to"),
            N_("Of what was expected."),
            "program",
            PERCENT,
        ),
        "count_noise_count": Plain(
            N_("Counting noise: sheets or pieces up to"),
            N_("However few were expected."),
            "program",
        ),
        "gap_alike_fraction": Plain(
            N_("A gap and what may explain it: apart by no more than"),
            N_("Of the larger of the two, however rough the count."),
            "program",
            PERCENT,
        ),
        "moved_within_days": Plain(
            N_("Counts of two studios are set against each other within"),
            N_("Short here and over there may be one move nobody wrote down."),
            "program",
        ),
        "ream_sheets": Plain(N_("Sheets in a ream today"), "", "program"),
        "old_ream_sheets": Plain(N_("Sheets in a ream of the old trade"), "", "program"),
        "printers_ream_sheets": Plain(N_("Sheets in a printer's ream"), "", "program"),
        "carrageenan_sealed_days": Plain(
            N_("Carrageenan, sealed: keeps"), N_("Dry, in its closed pack."), "supply"
        ),
        "carrageenan_opened_days": Plain(
            N_("Carrageenan, opened: keeps"), N_("One to two years."), "supply"
        ),
        "gall_sealed_days": Plain(N_("Gall, sealed: keeps"), N_("Dark and cool."), "supply"),
        "gall_opened_days": Plain(
            N_("Gall, opened: keeps"), N_("One to two years, dark and cool."), "supply"
        ),
        "colour_sealed_days": Plain(
            N_("Colours, sealed: keep"), N_("Three to five years, without frost."), "supply"
        ),
        "colour_opened_days": Plain(
            N_("Colours, opened: keep"), N_("One to two years, then mould."), "supply"
        ),
        "ammonia_days": Plain(N_("Ammonia: keeps"), N_("It loses its gas."), "supply"),
        "strips_opened_days": Plain(
            N_("pH strips, opened: keep"), N_("Dry, in their closed tub."), "supply"
        ),
    }
)
"""Every default of the sums in plain words."""

UNITS_OF_ONE: Mapping[str, str] = MappingProxyType(
    {
        "day": N_("%(figure)s day"),
        "week": N_("%(figure)s week"),
        "h": N_("%(figure)s hour"),
    }
)
"""Units that are said otherwise of exactly one."""

UNITS: Mapping[str, str] = MappingProxyType(
    {
        "mL/m2": N_("%(figure)s mL per m²"),
        "mg Al/g paper": N_("%(figure)s mg of aluminium per g of paper"),
        "g O2/g": N_("%(figure)s g of oxygen per g"),
        "g/m2": N_("%(figure)s g per m²"),
        "g/L": N_("%(figure)s g/L"),
        "mol CaCO3/mol": N_("%(figure)s mol of chalk per mol of potash alum"),
        "mol acid/kg paper": N_("%(figure)s mol of acid per kg of paper"),
        "g per 14.79 mL": N_("%(figure)s g"),
        "deg C": N_("%(figure)s °C"),
        "kJ/mol": N_("%(figure)s kJ/mol"),
        "mm": N_("%(figure)s mm"),
        "mm/day": N_("%(figure)s mm a day"),
        "1/week": N_("%(figure)s %% a week"),
        "h": N_("%(figure)s hours"),
        "min": N_("%(figure)s minutes"),
        "s": N_("%(figure)s seconds"),
        "g/L aluminium sulfate 14-hydrate": N_("%(figure)s g/L of aluminium sulfate"),
        "day": N_("%(figure)s days"),
        "week": N_("%(figure)s weeks"),
        "L": N_("%(figure)s L"),
        "count": N_("%(figure)s"),
        "pH": N_("pH %(figure)s"),
        "sd": N_("%(figure)s times the doubt"),
        "warm day/day": N_("%(figure)s of a day"),
        PERCENT: N_("%(figure)s %%"),
        TIMES: N_("%(figure)s ×"),  # noqa: RUF001  # the sign is meant
        GRAVITY: N_("%(figure)s"),
    }
)
"""How a figure is said with its unit; figures without a unit by `Plain.bare`."""


@dataclass(frozen=True, slots=True)
class UsUnit:
    """A unit in US measures: its text, what one is in ours, decimals beyond it, its zero."""

    text: str
    one: float
    digits: int
    zero: int = 0


_OZ_PER_GAL: Final = UsUnit(N_("%(figure)s oz wt/US gal"), G_PER_L_OF_OZ_PER_GAL, 1)
US_UNITS: Mapping[str, UsUnit] = MappingProxyType(
    {
        "g/L": _OZ_PER_GAL,
        "g/L aluminium sulfate 14-hydrate": replace(
            _OZ_PER_GAL, text=N_("%(figure)s oz wt/US gal of aluminium sulfate")
        ),
        "g per 14.79 mL": UsUnit(N_("%(figure)s oz"), OZ_G, 1),
        "deg C": UsUnit(N_("%(figure)s °F"), 1 / FAHRENHEIT_PER_CELSIUS, 0, FREEZING_F),
        "mm": UsUnit(N_("%(figure)s in"), INCH_MM, 1),
        "mm/day": UsUnit(N_("%(figure)s in a day"), INCH_MM, 1),
        "L": UsUnit(N_("%(figure)s US gal"), US_GALLON_ML / 1000, 1),
    }
)
"""How a member who chose US measures is told a figure; the others stay as they are."""

HUNDREDS: Final = frozenset({PERCENT, "1/week"})

CHANGES: Mapping[str, str] = MappingProxyType(
    {
        "house": N_("Changeable: a coordinator sets the house limits."),
        "paper": N_("Changeable: say the paper's own when you describe it."),
        "lot": N_("Changeable: weigh ten level spoons of the tub."),
        "supply": N_("Changeable: say it of the supply."),
        "studio": N_("Changeable: say what is printed on it when you describe the studio."),
        "sheets": N_("Changeable: say it with the sheets."),
        "readings": N_("Changeable: read the depth now and then."),
        "program": N_("Changeable, for now in the program only."),
        "fixed": "",
    }
)
"""How a house changes a default."""


@dataclass(frozen=True, slots=True)
class Group:
    """Defaults that stand together: the anchor, a title, a word on them, their names."""

    anchor: str
    title: str
    note: str
    names: tuple[str, ...]


GROUPS: Final = (
    Group(
        "figures-sheets",
        N_("What sheets take with them"),
        "",
        (
            "pickup_dip_ml_per_m2",
            "pickup_sponge_ml_per_m2",
            "pickup_brush_ml_per_m2",
            "bath_factor",
            "pickup_pairs_min",
            "pickup_spread_min_fraction",
            "paper_g_per_m2",
            "fibre_al_mg_per_g",
            "fibre_al_sd_mg_per_g",
            "chalk_mol_per_mol_potash_alum",
            "chalk_reserve_mol_acid_per_kg",
            "chalk_fraction_reached",
        ),
    ),
    Group(
        "figures-measures",
        N_("Spoons, scales and jugs"),
        "",
        (
            "alum_g_per_us_tbsp",
            "carrageenan_g_per_us_tbsp",
            "methylcellulose_g_per_us_tbsp",
            "gall_g_per_us_tbsp",
            "softener_g_per_us_tbsp",
            "powder_g_per_us_tbsp",
            "heaped_factor",
            "rounded_factor",
            "scant_factor",
            "lot_spoon_fraction",
            "weighed_fraction",
            "guess_fraction",
            "water_measured_fraction",
            "dose_disagree_fraction",
            "softener_high_g_per_l",
            "carrageenan_overlap_g_per_l",
            "carrageenan_overlap_salty_g_per_l",
        ),
    ),
    Group(
        "figures-instruments",
        N_("Stick, hydrometer and thermometer"),
        "",
        (
            "level_mm",
            "gravity_sg",
            "gravity_curve_fraction",
            "hydrometer_scale_c",
            "thermometer_c",
            "disagree_sigma",
            "agree_sigma",
        ),
    ),
    Group(
        "figures-air",
        N_("Drying up"),
        "",
        (
            "evaporation_mm_per_day",
            "evaporation_ref_c",
            "evaporation_ref_rh",
            "room_c",
            "room_rh",
            "open_hours_per_session",
            "lidded_doubt_fraction_per_week",
        ),
    ),
    Group(
        "figures-lines",
        N_("Lines"),
        "",
        (
            "target_g_per_l",
            "look_again_fraction",
            "do_not_use_fraction",
            "weak_chance",
            "laying_depth_mm",
            "strip_print_days",
            "water_only_top_ups_count",
            "target_differs_fraction",
            "alum_card_g_per_l",
            "own_recipes_min",
            "solubility_warn_fraction",
            "hand_hot_water_c",
            "hdpe_hot_c",
            "alum_dissolving_kj_per_mol",
        ),
    ),
    Group(
        "figures-size",
        N_("Size"),
        "",
        (
            "size_rest_carrageenan_h",
            "size_rest_methylcellulose_h",
            "size_rest_tragacanth_h",
            "size_rest_other_h",
            "size_carrageenan_g_per_l",
            "concentrate_over_g_per_l",
            "size_methylcellulose_g_per_l",
            "size_tragacanth_g_per_l",
            "chilled_fraction",
            "size_look_again_warm_days",
            "size_do_not_use_warm_days",
            "size_cap_days",
            "drop_good_low_mm",
            "drop_good_high_mm",
            "drop_hold_low_mm",
            "drop_hold_high_mm",
            "drop_test_buys_warm_days",
            "run_out_s",
            "run_out_readings_min",
            "size_low_c",
            "size_high_c",
            "size_temperature_holds_h",
            "run_out_low_c",
            "run_out_high_c",
            "size_flow_kj_per_mol",
            "size_with_sheet_ml_per_m2",
            "alum_carried_damp_fraction",
            "spoiling_ref_c",
            "spoiling_min_c",
            "spoiling_q10",
            "spoiling_kj_per_mol",
        ),
    ),
    Group(
        "figures-other-baths",
        N_("Gall water, rinse, paste and softener"),
        "",
        ("gall_water_days", "rinse_days", "paste_days", "softener_days"),
    ),
    Group(
        "figures-neutralising",
        N_("Neutralising an alum bath"),
        "",
        (
            "bucket_times",
            "kept_cup_fraction",
            "first_dose_fraction",
            "rest_part_count",
            "base_in_min",
            "stir_out_min",
            "neutral_reading_h",
            "overnight_h",
            "neutral_low_ph",
            "neutral_high_ph",
            "untreated_alum_max_ph",
            "gas_indoors_max_l",
            "floc_solids_fraction",
        ),
    ),
    Group(
        "figures-waste",
        N_("What is in a waste"),
        "",
        (
            "carrageenan_oxygen_g_per_g",
            "methylcellulose_oxygen_g_per_g",
            "gum_oxygen_g_per_g",
            "rinse_l_per_sheet",
        ),
    ),
    Group(
        "figures-stacks",
        N_("Alumed sheets"),
        "",
        ("stack_open_days", "stack_damp_days", "stack_bagged_days", "stack_hard_stop_days"),
    ),
    Group(
        "figures-jugs",
        N_("Jugs nobody knows"),
        "",
        ("jug_look_back_days", "jug_by_eye_fraction"),
    ),
    Group(
        "figures-counts",
        N_("Counting spoiled sheets"),
        "",
        ("fault_speaks_under", "fault_sheets_min"),
    ),
    Group(
        "figures-stock",
        N_("What will be needed"),
        "",
        (
            "use_weeks",
            "use_every_weeks",
            "use_smoothing",
            "order_cover_weeks",
            "order_review_days",
            "order_lead_days",
            "order_overdue_days",
        ),
    ),
    Group(
        "figures-sessions",
        N_("Classes and sessions"),
        "",
        ("session_sheets_each", "session_size_l_each", "session_gloves_pairs_each"),
    ),
    Group(
        "figures-shelf",
        N_("Counting and keeping what is on the shelf"),
        "",
        (
            "count_noise_fraction",
            "count_noise_count",
            "gap_alike_fraction",
            "moved_within_days",
            "ream_sheets",
            "old_ream_sheets",
            "printers_ream_sheets",
            "carrageenan_sealed_days",
            "carrageenan_opened_days",
            "gall_sealed_days",
            "gall_opened_days",
            "colour_sealed_days",
            "colour_opened_days",
            "ammonia_days",
            "strips_opened_days",
        ),
    ),
    Group(
        "figures-reviews",
        N_("What is looked at again"),
        "",
        ("zero_check_days", "count_days", "limits_review_days"),
    ),
)

OTHER_BATHS: Final = ("gall_water_days", "rinse_days", "paste_days", "softener_days")
KEEPS: Final = (
    (
        N_("Size"),
        ("size_look_again_warm_days", "size_do_not_use_warm_days", "size_cap_days"),
    ),
    (N_("Other baths, not used at twice that"), OTHER_BATHS),
    (
        N_("Alumed sheets"),
        ("stack_open_days", "stack_damp_days", "stack_bagged_days", "stack_hard_stop_days"),
    ),
)
"""Limits that say how long things keep, under their titles."""

RULES: Mapping[str, str] = MappingProxyType(
    {
        "finished": N_("Somebody wrote that it is finished."),
        "none-left": N_("A stack of alumed sheets: none is left."),
        "resting": N_("It rests, and its time is not over."),
        "stopped": N_("A person stopped it, and nobody has allowed it again."),
        "strip-print-failed": N_(
            "A strip print washed off, and no salt went in since; of a stack, it was not "
            "alumed again since."
        ),
        "under-do-not-use-line": N_(
            "Its strength is under %(do_not_use_fraction)s of the target."
        ),
        "size-past-cap": N_("Size: made %(size_cap_days)s ago or longer, chilled or not."),
        "drop-cloudy-thread": N_("Size: a cloudy thread in the drop test; it is sour."),
        "drop-spread-far-off": N_(
            "Size: in the drop test the drop spread to less than %(drop_hold_low_mm)s or to "
            "more than %(drop_hold_high_mm)s."
        ),
        "smells-sour": N_("Not alum: it smelled sour or rotten."),
        "mould": N_("Not alum: mould was seen on it."),
        "size-past-warm-days": N_(
            "Size: %(size_do_not_use_warm_days)s at room warmth or more, where a chilled day "
            "counts %(chilled_fraction)s; a good drop test holds "
            "for %(drop_test_buys_warm_days)s."
        ),
        "long-past-its-days": N_(
            "Gall water, rinse water, paste and softener: made twice as long ago as where they "
            "are to be looked at again."
        ),
        "stack-hard-stop": N_(
            "A stack of alumed sheets: alumed %(stack_hard_stop_days)s ago or longer, however "
            "it was kept."
        ),
        "too-low": N_(
            "It stands too low to lay a sheet: under %(laying_depth_mm)s, "
            "or under the litres said for the tub."
        ),
        "under-look-again-line": N_(
            "Its strength is under %(look_again_fraction)s of the target."
        ),
        "may-be-under-do-not-use-line": N_(
            "The chance that it is under %(do_not_use_fraction)s of the target "
            "is %(weak_chance)s or more."
        ),
        "reading-disagrees": N_(
            "A reading lies %(disagree_sigma)s or more away from what went in, "
            "and no other reading has settled it."
        ),
        "water-only-top-ups": N_(
            "It was topped up with water alone %(water_only_top_ups_count)s times or more "
            "since the last test."
        ),
        "used-while-stopped": N_("Sheets went through while it was stopped."),
        "strip-print-soft": N_(
            "A strip print was soft or pale, and no salt went in since; of a stack, it is the "
            "last one."
        ),
        "strip-print-due": N_(
            "It was mixed %(strip_print_days)s ago or longer, and so was the last sharp "
            "strip print."
        ),
        "size-warm-days": N_(
            "Size: %(size_look_again_warm_days)s at room warmth or more, unless a good drop "
            "test holds."
        ),
        "past-its-days": N_(
            "Made longer ago than it keeps: gall water %(gall_water_days)s, rinse water "
            "%(rinse_days)s, paste %(paste_days)s, softener %(softener_days)s."
        ),
        "drop-ragged": N_("Size: the drop test was ragged; it is too old."),
        "drop-blob": N_(
            "Size: a blob at the bottom in the drop test; it is too thin, or the drop was too "
            "heavy."
        ),
        "drop-spread-off": N_(
            "Size: in the drop test the drop spread to less than %(drop_good_low_mm)s or to "
            "more than %(drop_good_high_mm)s."
        ),
        "smells-sharp": N_("Not alum: it smelled sharp."),
        "looks-odd": N_(
            "Not alum: a skin, threads or lumps were seen, or it looked watery or tinted."
        ),
        "temperature-off": N_(
            "Size: a temperature was read in the last %(size_temperature_holds_h)s that is "
            "under %(size_low_c)s or over %(size_high_c)s."
        ),
        "its-bath-was-stopped": N_(
            "A stack of alumed sheets: its bath was stopped because colour washed off."
        ),
        "stack-past-use-by": N_(
            "A stack of alumed sheets: alumed longer ago than it keeps, %(stack_open_days)s in "
            "the open, %(stack_damp_days)s damp, %(stack_bagged_days)s in a closed bag."
        ),
        "corner-print-sharp": N_(
            "A stack of alumed sheets: a strip print of a corner was sharp. Made after its "
            "bath was stopped, it outdoes that stop for this stack alone."
        ),
        "not-judged": N_(
            "Nobody said how strong it should be: its strength is told and not judged."
        ),
        "strength-not-known": N_("Nobody can say how strong it is."),
        "under-paper-floor": N_(
            "A paper wants it stronger: good for other papers, not for this one."
        ),
        "run-out-unlike-good-days": N_(
            "Size: its run-out time is unlike the middle half of those on good days."
        ),
        "stands-cold": N_("Size: it stands chilled, and is brought to the room first."),
        "alum-carried-in": N_("Size: damp sheets may have carried alum in."),
        "kept-for": N_("It is kept for a member or for a session."),
    }
)
"""Every rule of "May I use it?" in plain words, by its reason's code."""

KIND_ACTS: Mapping[str, str] = MappingProxyType(
    {
        "ledger.opened": N_("Open the ledger"),
        "studio.described": N_("Describe a studio"),
        "vessel.described": N_("Describe a tub"),
        "paper.described": N_("Describe a paper"),
        "recipe.published": N_("Publish a recipe"),
        "limits.set": N_("Set the house limits"),
        "member.invited": N_("Invite a member"),
        "member.joined": N_("Join"),
        "member.role_set": N_("Set a member's roles"),
        "member.left": N_("Note that a member has left"),
        "supply.described": N_("Describe a supply: its floor, its packs, how long it keeps"),
        "supplier.described": N_("Describe a supplier"),
        "lot.received": N_("Receive alum, another powder, paper or any other supply"),
        "lot.opened": N_("Open a pack of a lot"),
        "lot.spoon_weighed": N_("Weigh ten level spoons"),
        "lot.counted": N_("Count what is left of a lot"),
        "lot.moved": N_("Move a lot, or a part of it, to another studio"),
        "lot.adjusted": N_("Put right what stands written of a lot, with the cause"),
        "lot.priced": N_("Write what a lot cost"),
        "lot.cut": N_("Cut parent sheets of a lot to another paper"),
        "order.placed": N_("Place an order"),
        "order.cancelled": N_("Cancel what has not arrived of an order"),
        "session.planned": N_("Book a session, change it, call it off"),
        "need.put_off": N_("Put off what needs somebody"),
        "permission.recorded": N_("Record whom you asked about the drain, and the answer"),
        "rules.published": N_("Publish a studio's rules of the drain"),
        "bath.mixed": N_("Mix a bath"),
        "bath.topped_up": N_("Top up"),
        "bath.split": N_("Pour a part of a bath into another vessel"),
        "bath.joined": N_("Pour two baths together"),
        "bath.carried": N_("Carry a bath to another vessel or studio"),
        "bath.kept_for": N_("Keep a bath for somebody or for a session"),
        "bath.cared": N_("Strain, skim, chill or warm a bath, put its lid on, take it off"),
        "bath.stopped": N_("Stop a bath"),
        "bath.cleared": N_("Allow a bath again"),
        "bath.finished": N_("Finish a bath"),
        "reading.taken": N_("Test a bath, or measure a waste jar"),
        "instrument.checked": N_("Check the hydrometer in tap water"),
        "sheets.through": N_("Put sheets through alum, or lay them on size"),
        "sheets.sorted": N_("Say how sheets came out"),
        "stack.dried": N_("Say how alumed sheets were dried"),
        "stack.flattened": N_("Say how alumed sheets were flattened"),
        "stack.put_away": N_("Put alumed sheets away: open, damp, in a bag"),
        "stack.tested": N_("Make a strip print of a corner of alumed sheets"),
        "stack.binned": N_("Throw alumed sheets away"),
        "stack.warning_seen": N_("Say that a warning about sheets was seen"),
        "pickup.learned": N_("Take over what a paper was found to take with it"),
        "jug.found": N_("Report a jug nobody knows"),
        "jug.known": N_("Say what is in such a jug"),
        "jar.vouched": N_("Vouch for what is in such a jug"),
        "disposal.judged": N_("Keep what the rules said of a drain"),
        "disposal.treated": N_("Neutralise an old alum bath, step by step"),
        "disposal.done": N_("Get rid of a bath, rinse water, or what is in a jar"),
        "waste.started": N_("Set up a waste jar, a drum or a can"),
        "waste.added": N_("Put something into a waste jar"),
        "waste.collected": N_("Hand a waste jar over to whoever may take it"),
        "waste.carried": N_("Carry an old bath or a waste jar to another studio"),
        "mishap.noted": N_("Note that something went wrong"),
        "finding.judged": N_("Settle what is odd"),
        "entry.corrected": N_("Put a line right, or take it back"),
        "attachment.erased": N_("Erase a note, or a name and its initials"),
        "device.enrolled": N_("Set up a phone or tablet"),
        "device.member_added": N_("Write on a shared tablet"),
        "device.member_removed": N_("Take somebody off a shared tablet"),
        "device.revoked": N_("Switch a phone or tablet off"),
        "draft.settled": N_("Settle what a phone sent and nobody let in"),
    }
)
"""Every kind of entry as something a person does."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A default as Help shows it; `range_text` and `here` are empty where there is none."""

    label: str
    text: str
    range_text: str
    here: str
    source: str
    mark: str
    unsourced: bool
    change: str


def figure(words: Words, name: str, limits: Limits) -> Figure:
    """Say a default in plain words, and what this house has set in its place."""
    row, plain = DEFAULTS[name], PLAIN[name]
    ours = in_use(name, limits)
    return Figure(
        label=words.gettext(plain.label),
        text=value_text(words, row),
        range_text=_range_text(words, row),
        here=value_text(words, ours) if ours.value != row.value else "",
        source=words.gettext(plain.source),
        mark=say.mark(words, row.mark),
        unsourced=row.mark in UNSOURCED,
        change=words.gettext(CHANGES[plain.change]),
    )


def in_use(name: str, limits: Limits) -> Default:
    """Return a default with the figure that holds in this house."""
    row = DEFAULTS[name]
    if PLAIN[name].change != "house":
        return row
    said = getattr(limits, name)
    return row if said is None else replace(row, value=said)


def values(words: Words, limits: Limits) -> Mapping[str, str]:
    """Return every default by its name, said as it holds in this house."""
    return {name: value_text(words, in_use(name, limits)) for name in DEFAULTS}


def value_text(words: Words, row: Default) -> str:
    """Say a figure with its unit: '140 mL per m²'; a doubt with plus and minus."""
    text = _number(words, row, row.value)
    return _with_unit(words, row, f"± {text}" if is_doubt(row) else text)


def is_doubt(row: Default) -> bool:
    """Say whether the figure is the half width of a doubt around nought."""
    return row.low == -row.value


def range_of(words: Words, row: Default) -> str:
    """Say a range with its unit: '11 to 20 g'."""
    return _with_unit(words, row, _range_text(words, row))


def _range_text(words: Words, row: Default) -> str:
    if row.low == row.high or is_doubt(row):
        return ""
    return words.gettext(
        "%(low)s to %(high)s",
        low=_number(words, row, row.low),
        high=_number(words, row, row.high),
    )


def _with_unit(words: Words, row: Default, text: str) -> str:
    unit = _unit(row)
    many = US_UNITS[unit].text if words.us and unit in US_UNITS else UNITS[unit]
    said = UNITS_OF_ONE.get(unit, many) if text == "1" else many
    return words.gettext(said, figure=text)


def _unit(row: Default) -> str:
    return PLAIN[row.name].bare or row.unit


def _number(words: Words, row: Default, value: float) -> str:
    unit = _unit(row)
    if words.us and unit in US_UNITS:
        return _us_number(words, row, value)
    return short(words, value * 100 if unit in HUNDREDS else value)


def _us_number(words: Words, row: Default, value: float) -> str:
    """Return a figure in US measures; a doubt has no zero to move. Small ones say more."""
    scale, doubt = US_UNITS[_unit(row)], is_doubt(row)
    figure = value / scale.one + (0 if doubt else scale.zero)
    finer = int(doubt or abs(figure) < 1)
    return words.number(figure, decimals_of(value) + scale.digits + finer)


def short(words: Words, value: float) -> str:
    """Return a number with as many decimals as it has, four at most."""
    return words.number(value, decimals_of(value))


def who_may(words: Words, kind: Kind) -> str:
    """Say who may write a kind of entry."""
    if kind.who == ANYONE:
        return words.gettext("every member")
    said = [say.choice(words, "role", code) for code in ROLE_CODES if code in kind.who]
    if "invited" in kind.who:
        said.append(words.gettext("whoever was invited"))
    if "opening" in kind.who:
        said.append(words.gettext("whoever opens the ledger"))
    return ", ".join(said)
