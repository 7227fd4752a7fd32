"""Baths in PHREEQC by the database phreeqc.dat of its wrapper; Al(OH)3(a) may form."""

import pytest

PER_MOL_G = 474.388
"""Potash alum in the printed doses: with older atomic masses, 0.003 % over ours."""
POTASH_ALUM = "KAl(SO4)2:12H2O"
FLOC = ("Al(OH)3(a)", 0, 0)
GYPSUM = ("Gypsum", 0, 0)
OPEN_AIR = ("CO2(g)", -3.4, 10)
FIZZING = ("CO2(g)", 0, 0)
"""Phase, saturation index to reach, moles of it at hand: air, or gas that leaves at 1 atm."""
BASE_MOL_PER_MOL_SALT_MAX = 8


def engine():
    """Return the model, or skip where there is none."""
    wrapper = pytest.importorskip(
        "phreeqpython", reason="phreeqpython has its libraries for Linux x86-64 only"
    )
    return wrapper.PhreeqPython(database="phreeqc.dat")


def solution_of(phreeqc, salts_mmol, base="", mmol=0.0, phases=()):
    """Return salts [mmol/kg water] at 20 C with a base [mmol/kg water] in them."""
    # A fresh solution for each: what has settled is lost between two calls.
    made = phreeqc.add_solution_simple(salts_mmol, temperature=20, units="mmol")
    if mmol:
        made.add(base, mmol, "mmol")
    if phases:
        names, goals, at_hand = map(list, zip(*phases, strict=True))
        made.equalize(names, to_si=goals, in_phase=at_hand, with_chemical=[None] * len(names))
    return made


def bath_of(phreeqc, g_per_kg, base="", mmol=0.0, phases=()):
    """Return potash alum [g/kg water] at 20 C with a base [mmol/kg water] in it."""
    salts_mmol = {POTASH_ALUM: 1000 * g_per_kg / PER_MOL_G}
    return solution_of(phreeqc, salts_mmol, base, mmol, phases)


def dose_mmol(phreeqc, g_per_kg, base, phases, *, to_ph=6.5):
    """Return the base that lifts a bath to a pH [mmol/kg water], by halving."""
    return lifting_mmol(
        phreeqc, {POTASH_ALUM: 1000 * g_per_kg / PER_MOL_G}, base, phases, to_ph=to_ph
    )


def lifting_mmol(phreeqc, salts_mmol, base, phases, *, to_ph=6.5):
    """Return the base that lifts salts [mmol/kg water] to a pH [mmol/kg water], by halving."""
    low, high = 0.0, BASE_MOL_PER_MOL_SALT_MAX * sum(salts_mmol.values())
    while high - low > 1e-4:
        middle = (low + high) / 2
        if solution_of(phreeqc, salts_mmol, base, middle, phases).pH < to_ph:
            low = middle
        else:
            high = middle
    return high
