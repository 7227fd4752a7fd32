"""Worked examples of Help for size, stacks and how sheets came out, made with the sums."""

from dataclasses import dataclass
from typing import Final

from coop.science import bath, counts, cups, keeping, size
from coop.science.defaults import default, value
from coop.web import amounts
from coop.web.i18n import Words

MADE_ML, MADE_G_PER_L, LAYING_ML, HALF_SHEET_M2 = 17_000, 5, 8_000, 0.175
BLEND_ML, THICK_G_PER_L, WANTED_G_PER_L, THIN_G_PER_L, THICKER_G_PER_L = 9_000, 6, 5, 4, 8
ROOM_H, CHILLED_H = 24, 48
CUP, CUP_RUN_OUT_S = "iso-4", 50
ROOM_C, WARMER_C, COLD_C = 20, 25, 4
DAMP_M2, TARGET_G_PER_L = 10, 40
FAULTS: Final = {
    "fault_count": 7,
    "sheet_count": 40,
    "rest_fault_count": 20,
    "rest_sheet_count": 294,
}
"""Sheets washed off of those sorted: of one bath, and of all others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeSums:
    """A size made, thinned, thickened, aged, laid on and timed; all as texts."""

    made: str
    dose: str
    powder: str
    blend: str
    thick: str
    thin: str
    wanted: str
    thicker: str
    water: str
    blended: str
    chilled_days: str
    days: str
    warm: str
    laying: str
    sheet: str
    sheets: str
    sheets_low: str
    cup: str
    cup_slope: str
    cup_over: str
    cup_s: str
    cup_viscosity: str
    warmer: str
    warmer_times: str
    cold: str
    q10: str
    root: str
    arrhenius: str
    damp: str
    target: str
    alum: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultSums:
    """One bath's washed-off sheets against all others; all as texts."""

    count: str
    every: str
    rest_count: str
    rest_every: str
    usual: str
    one_in: str
    low: str
    high: str


def size_sums(words: Words) -> SizeSums:
    """Take a size through what the sums do."""
    return SizeSums(
        **_made(words), **_blended(words), **_aged(words), **_timed(words), **_carried(words)
    )


def _made(words: Words) -> dict[str, str]:
    powder_g = size.powder_g(volume_ml=MADE_ML, dose_g_per_l=MADE_G_PER_L)
    hint = size.sheets_hint(volume_ml=MADE_ML, laying_ml=LAYING_ML, sheet_area_m2=HALF_SHEET_M2)
    return {
        "made": amounts.volume(words, MADE_ML),
        "dose": amounts.g_per_l(words, MADE_G_PER_L),
        "powder": amounts.weight(words, powder_g),
        "laying": amounts.volume(words, LAYING_ML),
        "sheet": amounts.area(words, HALF_SHEET_M2, 3),
        "sheets": words.number(hint.middle),
        "sheets_low": words.number(hint.low),
    }


def _blended(words: Words) -> dict[str, str]:
    thinned = size.thinned(
        volume_ml=BLEND_ML, dose_g_per_l=THICK_G_PER_L, wanted_g_per_l=WANTED_G_PER_L
    )
    thickened = size.thickened(
        volume_ml=BLEND_ML,
        dose_g_per_l=THIN_G_PER_L,
        thicker_g_per_l=THICKER_G_PER_L,
        wanted_g_per_l=WANTED_G_PER_L,
    )
    return {
        "blend": amounts.volume(words, BLEND_ML),
        "thick": amounts.g_per_l(words, THICK_G_PER_L),
        "thin": amounts.g_per_l(words, THIN_G_PER_L),
        "wanted": amounts.g_per_l(words, WANTED_G_PER_L),
        "thicker": amounts.g_per_l(words, THICKER_G_PER_L),
        "water": amounts.volume(words, thinned.add_ml),
        "blended": amounts.volume(words, thickened.add_ml),
    }


def _aged(words: Words) -> dict[str, str]:
    warm = keeping.warm_days(room_h=ROOM_H, chilled_h=CHILLED_H)
    return {
        "days": words.number((ROOM_H + CHILLED_H) / keeping.HOURS_PER_DAY),
        "chilled_days": words.number(CHILLED_H / keeping.HOURS_PER_DAY),
        "warm": words.number(warm, 1),
        "cold": amounts.warmth(words, COLD_C),
        "q10": words.number(keeping.q10_rate(at_c=COLD_C), 2),
        "root": words.number(keeping.square_root_rate(at_c=COLD_C), 2),
        "arrhenius": words.number(keeping.arrhenius_rate(at_c=COLD_C), 2),
    }


def _timed(words: Words) -> dict[str, str]:
    cup = cups.CUPS[CUP]
    viscosity = cups.cup_viscosity_mm2_per_s(cup=CUP, run_out_s=CUP_RUN_OUT_S)
    return {
        "cup": cup.name,
        "cup_slope": words.number(cup.slope_mm2_per_s2, 2),
        "cup_over": words.number(cup.over_mm2),
        "cup_s": words.number(CUP_RUN_OUT_S),
        "cup_viscosity": words.number(viscosity, 1),
        "warmer": amounts.warmer(words, WARMER_C - ROOM_C),
        "warmer_times": words.number(size.flow_ratio(at_c=WARMER_C, from_c=ROOM_C), 2),
    }


def _carried(words: Words) -> dict[str, str]:
    share = default("alum_carried_damp_fraction")
    on_sheets_g = DAMP_M2 * bath.PICKUP_DIP_ML_PER_M2.middle / 1000 * TARGET_G_PER_L
    return {
        "damp": amounts.area(words, DAMP_M2, 0),
        "target": amounts.g_per_l(words, TARGET_G_PER_L),
        "alum": amounts.weight_span(
            words, on_sheets_g * share.low, on_sheets_g * share.high, digits=1
        ),
    }


def fault_sums(words: Words) -> FaultSums:
    """Hold one bath's washed-off sheets against all others."""
    found = counts.compared(
        **FAULTS,
        speaks_under=value("fault_speaks_under"),
        fault_sheets_min=round(value("fault_sheets_min")),
    )
    low, high = counts.wilson_interval(
        fault_count=FAULTS["fault_count"], sheet_count=FAULTS["sheet_count"]
    )
    return FaultSums(
        count=words.number(FAULTS["fault_count"]),
        every=words.number(FAULTS["sheet_count"]),
        rest_count=words.number(FAULTS["rest_fault_count"]),
        rest_every=words.number(FAULTS["rest_sheet_count"]),
        usual=words.number(found.usual_count),
        one_in=words.number(found.one_in),
        low=words.number(low * 100),
        high=words.number(high * 100),
    )
