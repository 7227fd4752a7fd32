"""Alum against pharmacopoeias, handbooks, water works examples and an open density model."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import alum, defaults, water
from tests.science.handbook import as_printed, half_digit, rows

OLDER_MASSES_G_PER_MOL = 0.04
CURVED = [code for code in alum.SALTS if code != "ammonium_alum"]

salts = st.sampled_from(sorted(alum.SALTS))
curved = st.sampled_from(CURVED)


def strength(reading_sg: float, salt: str, liquid_c: float = 20, zero_offset_sg: float = 0):
    return alum.gravity_strength_g_per_l(
        reading_sg=reading_sg,
        liquid_c=liquid_c,
        zero_offset_sg=zero_offset_sg,
        scale_c=20,
        salt=salt,
    )


# What a salt is


@pytest.mark.parametrize(
    "row", rows("molar_masses"), ids=lambda r: f"{r['salt']}-{r['source']}"
)
def test_molar_masses_are_the_printed_ones(row):
    """BP, USP, Merck Index, ECHA; some were printed with older atomic masses."""
    salt = alum.SALTS[row["salt"]]
    part = 1.0 if row["water"] == "hydrate" else salt.anhydrous_fraction
    mass = salt.molar_mass_g_per_mol * part

    off = half_digit(row["printed_g_per_mol"]) + OLDER_MASSES_G_PER_MOL
    assert mass == pytest.approx(float(row["printed_g_per_mol"]), abs=off)


def test_a_text_that_rounds_hydrogen_prints_another_mass():
    """Hendricks prints 594.136 for the 14-hydrate, with H = 1.000; the difference is that."""
    mass = alum.SALTS["aluminium_sulfate_14"].molar_mass_g_per_mol

    assert mass - 28 * 0.008 == pytest.approx(594.136, abs=0.03)
    assert mass - 594.136 > 0.2


@pytest.mark.parametrize("row", rows("substances"), ids=lambda row: row["code"])
def test_molar_masses_of_chalk_and_sodas_are_the_printed_ones(row):
    found = alum.SUBSTANCES[row["code"]]

    assert found.formula == row["formula"]
    assert as_printed(found.molar_mass_g_per_mol, row["printed_g_per_mol"])


@pytest.mark.parametrize(
    ("salt", "anhydrous_g_per_mol"), [("potash_alum", "258.19"), ("ammonium_alum", "237.13")]
)
def test_a_double_salt_without_its_water_weighs_what_is_printed(salt, anhydrous_g_per_mol):
    """From standard atomic masses; the Merck Index (258.21) and ECHA (237.1) lie beside."""
    row = alum.SALTS[salt]

    mass = row.molar_mass_g_per_mol * row.anhydrous_fraction
    assert as_printed(mass, anhydrous_g_per_mol)


@pytest.mark.parametrize(
    ("atoms", "printed"), [({"N": 1, "H": 3}, "17.03"), ({"C": 2, "H": 4, "O": 2}, "60.05")]
)
def test_ammonia_and_vinegar_weigh_what_is_printed(atoms, printed):
    """They are in no sum, but stand in the same table of molar masses."""
    assert as_printed(alum.molar_mass_g_per_mol(atoms=atoms), printed)


@pytest.mark.parametrize("row", rows("alum_names"), ids=lambda row: row["salt"])
def test_a_salt_has_its_registry_number(row):
    """
    The last digit of a number is a check: the others from the right times 1, 2, 3 ..., the
    sum modulo ten (Chemical Abstracts Service, from memory). A slip of memory fails it.
    """
    cas = alum.SALTS[row["salt"]].cas
    *digits, check = [int(sign) for sign in cas if sign.isdigit()] or [0]

    assert cas == row["cas"]
    assert sum(n * digit for n, digit in enumerate(reversed(digits), 1)) % 10 == check


@pytest.mark.parametrize("row", rows("alum_per_gram"), ids=lambda row: row["salt"])
def test_what_goes_with_a_gram_of_each_salt_is_the_table_s(row):
    """Aluminium, alumina, chalk, sodas, lime, floc and gas for one gram of salt."""
    salt = alum.SALTS[row["salt"]]

    assert as_printed(salt.molar_mass_g_per_mol, row["g_per_mol"])
    assert as_printed(salt.al_fraction, row["al_g"])
    assert as_printed(salt.mmol_al_per_g, row["al_mmol"])
    for code in alum.SUBSTANCES.keys() & row.keys():
        per_g = alum.substance_g_per_g(salt=salt.code, substance=code)
        assert as_printed(per_g, row[code]), code
    alumina = alum.substance_g_per_g(salt=salt.code, substance="alumina")
    assert as_printed(100 * alumina, row["alumina_percent"])
    as_potash = alum.same_strength_g(weight_g=1, salt=salt.code, other_salt="potash_alum")
    assert as_printed(as_potash, row["as_potash_alum"])


@pytest.mark.parametrize("row", rows("alum_acid"), ids=lambda row: row["salt"])
def test_aluminium_and_acid_on_the_tub_are_the_table_s(row):
    salt = alum.SALTS[row["salt"]]

    assert as_printed(salt.molar_mass_g_per_mol, row["formula_weight"])
    assert as_printed(100 * salt.al_fraction, row["al_percent"])
    assert as_printed(alum.OH_PER_AL * salt.mmol_al_per_g, row["acid_meq_per_g"])


def test_washing_soda_for_a_gram_of_potash_alum():
    """0.9048 g of the decahydrate."""
    per_g = alum.substance_g_per_g(salt="potash_alum", substance="sodium_carbonate_10")

    assert as_printed(per_g, "0.9048")


def test_the_gas_of_a_kilogram_is_a_hundred_and_fifty_litres():
    """6.32 mol of carbon dioxide, 152 L at 20 C: stir it out in an open vessel."""
    grams = 1000 * alum.substance_g_per_g(salt="potash_alum", substance="carbon_dioxide")
    moles = grams / alum.SUBSTANCES["carbon_dioxide"].molar_mass_g_per_mol

    assert as_printed(moles, "6.32")
    assert as_printed(moles * 8.314463 * 293.15 / 101.325, "152")


def test_a_titration_finds_the_strength():
    """10.0 mL of 30.0 g/L hold 0.632 mmol, which 18.97 mL of 0.1 M soda lye takes."""
    mmol = 0.010 * alum.mmol_al_per_l(strength_g_per_l=30, salt="potash_alum")

    assert as_printed(mmol, "0.632")
    assert as_printed(alum.OH_PER_AL * mmol / 0.1, "18.97")


def test_aluminium_on_pulp_is_the_same_in_both_units():
    """Kato and Isogai 1999: the plateau of 0.7 mg/g in deionised water is 25.9 mmol/kg."""
    plateau = defaults.default("fibre_al_mg_per_g").high

    assert as_printed(1000 * plateau / alum.ATOMIC_MASSES_G_PER_MOL["Al"], "25.9")


def test_a_gram_of_sulfate_carries_the_aluminium_of_one_and_six_tenths():
    """Taking potash alum by the same weight is a cut of 37 %."""
    as_potash = alum.same_strength_g(
        weight_g=1, salt="aluminium_sulfate_14", other_salt="potash_alum"
    )

    assert as_printed(as_potash, "1.60")
    assert as_printed(100 * (1 - 1 / as_potash), "37")


@given(grams=st.floats(0, 1e5), salt=salts, other=salts)
def test_there_and_back_is_the_same_weight(grams, salt, other):
    there = alum.same_strength_g(weight_g=grams, salt=salt, other_salt=other)

    back = alum.same_strength_g(weight_g=there / 10, salt=other, other_salt=salt)
    assert back == pytest.approx(grams / 10)


@given(grams=st.floats(0, 1500), salt=salts)
def test_aluminium_and_strength_are_two_ways_of_saying_one_thing(grams, salt):
    al = alum.mmol_al_per_l(strength_g_per_l=grams, salt=salt)

    assert alum.strength_from_al_g_per_l(al_mmol_per_l=al, salt=salt) == pytest.approx(grams)


# Chalk and alkalinity


def test_chalk_takes_one_and_a_half_moles_of_itself_for_each_of_potash_alum():
    """1.5 mol per mol, 0.316 g per g, 3.16 g of potash alum per g of chalk."""
    per_g = alum.substance_g_per_g(salt="potash_alum", substance="calcium_carbonate")
    per_mol = per_g * alum.SALTS["potash_alum"].molar_mass_g_per_mol
    moles = per_mol / alum.SUBSTANCES["calcium_carbonate"].molar_mass_g_per_mol

    assert moles == pytest.approx(defaults.value("chalk_mol_per_mol_potash_alum"))
    assert as_printed(1 / per_g, "3.16")
    assert per_g == pytest.approx(0.316, abs=0.0006)


@pytest.mark.parametrize("row", rows("alkalinity_examples"), ids=lambda row: row["source"])
def test_alkalinity_examples_come_out(row):
    """Spellman takes 0.45 for the 18-hydrate, 0.4506 in full: the same to his digit."""
    dose = float(row["alum_mg_per_l"])
    used = dose * alum.substance_g_per_g(salt=row["salt"], substance="calcium_carbonate")

    assert as_printed(used, row["used_mg_per_l"])
    if row["short_mg_per_l"]:
        short = used + float(row["wanted_left_mg_per_l"]) - float(row["present_mg_per_l"])
        assert as_printed(short, row["short_mg_per_l"])


def test_the_bases_of_the_two_problems_come_out():
    """10.7 mg/L short is 8.6 of soda lye; 35.6 is 19.9 of quicklime; floc 28.9 mg/L."""
    salt = "aluminium_sulfate_14"
    chalk = alum.substance_g_per_g(salt=salt, substance="calcium_carbonate")
    lye = alum.substance_g_per_g(salt=salt, substance="sodium_hydroxide") / chalk
    lime = alum.substance_g_per_g(salt=salt, substance="calcium_oxide") / chalk
    floc = alum.substance_g_per_g(salt=salt, substance="aluminium_hydroxide")

    assert as_printed((41 * chalk - 10) * lye, "8.6")
    assert as_printed((110 * chalk - 20) * lime, "19.9")
    assert as_printed(110 * floc, "28.9")
    assert as_printed(41 * floc * 32 * 3.785411784, "1304")


def test_make_up_water_spends_a_little_alum():
    """150 mg/L as chalk is 1.0 mmol of aluminium, 0.474 g/L: 1.6 % of 30 g/L, 9.5 % of 5."""
    al = alum.al_spent_mmol_per_l(alkalinity_mg_per_l=150)
    grams = alum.strength_from_al_g_per_l(al_mmol_per_l=al, salt="potash_alum")

    assert as_printed(al, "1.0")
    assert as_printed(grams, "0.474")
    assert as_printed(100 * grams / 30, "1.6")
    assert as_printed(100 * grams / 5, "9.5")


def test_tap_water_of_two_milliequivalents_spends_a_fifth_of_a_gram():
    """2 meq/L over 10.1 meq/g of aluminium sulfate: 0.2 g/L."""
    al = alum.al_spent_mmol_per_l(alkalinity_mg_per_l=2 * alum.ALKALINITY_MG_PER_MEQ)
    grams = alum.strength_from_al_g_per_l(al_mmol_per_l=al, salt="aluminium_sulfate_14")

    assert as_printed(grams, "0.2")


# What dissolves


@pytest.mark.parametrize(
    "row", rows("alum_solubility"), ids=lambda r: f"{r['table']}-{r['c']}-{r['salt']}"
)
def test_each_table_s_points_are_given_back_as_the_salt_of_the_tub(row):
    """Anhydrous figures become hydrate in added water; each source is read by its name."""
    found = alum.solubility_g_per_kg_water(
        salt=row["salt"], liquid_c=float(row["c"]), table=row["table"]
    )
    by_balance = alum.hydrate_g_per_kg_water(
        anhydrous_g_per_kg_water=10 * float(row["anhydrous_g_per_100_g"]),
        anhydrous_fraction=alum.SALTS[row["salt"]].anhydrous_fraction,
    )

    assert as_printed(found / 10, row["hydrate_g_per_100_g"])
    if row["hydrate_mass_percent"]:
        assert as_printed(100 * found / (1000 + found), row["hydrate_mass_percent"])
    assert by_balance == pytest.approx(found, rel=0.004)


def test_potash_alum_at_twenty_degrees_is_between_its_two_sources():
    """114 to 116 g per kg of added water."""
    found = [
        alum.solubility_g_per_kg_water(salt="potash_alum", liquid_c=20, table=table)
        for table in alum.SOLUBILITY_TABLES["potash_alum"]
    ]

    assert [round(grams) for grams in found] == [114, 116]


def stated(salt: str) -> list[dict[str, str]]:
    return [row for row in rows("alum_solubility_stated") if row["salt"] == salt]


@pytest.mark.parametrize("row", stated("ammonium_alum"), ids=lambda row: row["source"])
def test_ammonium_alum_lies_among_the_stated_solubilities(row):
    """ECHA: mean 112 +- 12 g/L at 20 C; saturated 1.0464 g/mL at 20 C, 1.0613 at 30 C."""
    c = float(row["c"])
    density = 1000 * (1.0464 + (c - 20) / 10 * (1.0613 - 1.0464))
    dose = alum.solubility_g_per_kg_water(salt="ammonium_alum", liquid_c=c)
    per_l = alum.g_per_l_of_solution(dose_g_per_kg_water=dose, solution_kg_per_m3=density)

    if row["source"] == "key value":
        assert as_printed(per_l, row["printed"])
    assert per_l == pytest.approx(float(row["printed"]), rel=0.2)


def test_ammonium_alum_stays_within_echas_spread_at_both_temperatures():
    low, high = 104, 132
    per_kg = alum.solubility_g_per_kg_water(salt="ammonium_alum", liquid_c=20)
    supplier = alum.solubility_g_per_kg_water(
        salt="ammonium_alum", liquid_c=20, table="ammonium_supplier"
    )

    assert low < per_kg < high
    assert supplier > high


@pytest.mark.parametrize(
    ("anhydrous_percent", "hydrate_percent", "density", "g_per_l"),
    [(5.2, None, 1.0464, "104"), (None, 11.5, 1.05385, "121"), (None, 11.19, 1.05385, "118")],
)
def test_mass_percent_and_grams_per_litre_of_echa_agree(
    anhydrous_percent, hydrate_percent, density, g_per_l
):
    """Zuziova 5.2 % anhydrous, Hostomska 11.5 % and Nyvlt 11.19 % of the hydrate."""
    fraction = alum.SALTS["ammonium_alum"].anhydrous_fraction
    percent = hydrate_percent or anhydrous_percent / fraction
    per_l = alum.g_per_l_of_solution(
        dose_g_per_kg_water=1000 * percent / (100 - percent), solution_kg_per_m3=1000 * density
    )

    assert as_printed(per_l, g_per_l)


def test_statements_about_potash_alum_agree_but_for_the_one_at_the_wrong_temperature():
    """36.80 g/100 mL at 50 C and 11.4 at 20 C fit; 14.00 'at 20.5 C' fits 25 C instead."""
    printed = {row["c"]: float(row["printed"]) for row in stated("potash_alum")}

    def found(c: float) -> float:
        return alum.solubility_g_per_kg_water(salt="potash_alum", liquid_c=c) / 10

    assert found(20) == pytest.approx(printed["20"], abs=0.05)
    assert found(50) == pytest.approx(printed["50"], rel=0.015)
    assert found(25) == pytest.approx(printed["20.5"], rel=0.02)
    assert printed["20.5"] / found(20.5) > 1.2


def test_a_remembered_table_of_ammonium_alum_is_far_above_the_measurements():
    """Perry's 7.74 g of anhydrous salt at 20 C, from memory, against ECHA's key value."""
    perry_g_per_kg = alum.hydrate_g_per_kg_water(
        anhydrous_g_per_kg_water=77.4,
        anhydrous_fraction=alum.SALTS["ammonium_alum"].anhydrous_fraction,
    )
    ours = alum.solubility_g_per_kg_water(salt="ammonium_alum", liquid_c=20)

    assert 1.35 < perry_g_per_kg / ours < 1.45


def test_merck_s_one_gram_in_seven_millilitres_is_no_figure_for_twenty_degrees():
    """The Merck Index, 1 g in 7.2 mL without a temperature, 13.9 g/100 mL: it fits 25 C."""
    found = alum.solubility_g_per_kg_water(salt="potash_alum", liquid_c=25) / 10

    assert as_printed(100 / 7.2, "13.9")
    assert found == pytest.approx(100 / 7.2, rel=0.02)


def test_the_trade_s_solubility_of_papermakers_alum_lies_between_both_tables():
    """870 g/L at 20 C on a safety card; its 105 parts in 100 are those of the 18-hydrate."""
    low, high = sorted(
        alum.solubility_g_per_kg_water(salt="aluminium_sulfate_14", liquid_c=20, table=table)
        for table in alum.SOLUBILITY_TABLES["aluminium_sulfate_14"]
    )
    more_water = alum.solubility_g_per_kg_water(
        salt="aluminium_sulfate_18", liquid_c=20, table="sulfate_older"
    )

    assert low < 870 < high
    assert more_water / 10 == pytest.approx(105, rel=0.04)


@given(salt=salts, c=st.floats(0, 59), warmer=st.floats(0.01, 1))
def test_warmer_water_dissolves_more(salt, c, warmer):
    cool = alum.solubility_g_per_kg_water(salt=salt, liquid_c=c)

    assert alum.solubility_g_per_kg_water(salt=salt, liquid_c=c + warmer) > cool


@pytest.mark.parametrize(
    ("dose", "c", "warns"),
    [(62.5, 20, False), (125, 20, True), (50, 10, True), (40, 10, False), (75, 20, True)],
)
def test_a_dose_near_what_dissolves_asks_for_warmth(dose, c, warns):
    """Two tablespoons per cup of potash alum would be nearly saturated at 20 C."""
    fraction = alum.solubility_fraction(dose_g_per_l_water=dose, salt="potash_alum", liquid_c=c)

    assert (fraction > defaults.value("solubility_warn_fraction")) is warns


# What a hydrometer says


@pytest.mark.parametrize("row", rows("gravity_potash_alum"), ids=lambda row: row["g_per_l"])
def test_the_density_curve_of_potash_alum_is_the_model_s(row):
    """Strength and gravity to the last digits of both columns, density at 20 C to its own."""
    sg, grams = row["sg_20_20"], row["g_per_l"]
    found = strength(float(sg), "potash_alum").strength_g_per_l
    gravity = alum.specific_gravity(strength_g_per_l=float(grams), salt="potash_alum")

    off = half_digit(grams) + 2000 * half_digit(sg) + 0.002
    assert found == pytest.approx(float(grams), abs=off)
    assert gravity == pytest.approx(float(sg), abs=off / 1981.4)
    for c in (15, 20, 25):
        density = alum.density_kg_per_m3(
            strength_g_per_l=float(grams), salt="potash_alum", liquid_c=c
        )
        off_kg = 1000 * off / 1981.4 + (0.006 if c == 20 else 0.3)
        assert density == pytest.approx(1000 * float(row[f"density_{c}_c"]), abs=off_kg)


@pytest.mark.parametrize("row", rows("gravity_potash_alum"), ids=lambda row: row["g_per_l"])
def test_mass_percent_dose_and_strength_of_a_row_agree(row):
    """The three columns are one solution said three ways."""
    dose, percent = float(row["g_per_kg_water"]), float(row["mass_percent"])
    per_l = alum.g_per_l_of_solution(
        dose_g_per_kg_water=dose, solution_kg_per_m3=1000 * float(row["density_20_c"])
    )

    assert 100 * dose / (1000 + dose) == pytest.approx(percent, abs=0.001)
    slack = half_digit(row["g_per_kg_water"]) + half_digit(row["g_per_l"])
    assert per_l == pytest.approx(float(row["g_per_l"]), abs=slack)


def readings(source: str) -> list[dict[str, str]]:
    return [row for row in rows("gravity_readings") if row["source"] == source]


@pytest.mark.parametrize("row", readings("model"), ids=lambda r: f"{r['salt']}-{r['sg']}")
def test_the_rule_of_the_hydrometer_comes_out(row):
    """1.020 is 39.9 g/L of potash alum, 35.3 of aluminium sulfate 14-hydrate."""
    sg = float(row["sg"])
    found = strength(sg, row["salt"]).strength_g_per_l

    assert as_printed(found, row["g_per_l"])
    if row["mass_percent"]:
        # The curve is fitted to the model: 3.465 where the model itself rounds up to 3.47.
        assert as_printed(found / sg / 9.982, row["mass_percent"], digits=1.1)


@pytest.mark.parametrize("row", readings("Hendricks"), ids=lambda row: row["sg"])
def test_hendricks_curve_lies_lower_by_what_the_doubt_allows(row):
    """His curve reads 34.0 and 86.8 g/L; the doubt of ours is +-3 %."""
    found = strength(float(row["sg"]), row["salt"]).strength_g_per_l
    printed = float(row["g_per_l"])

    assert 0.02 < (found - printed) / found < 0.04
    sg = float(row["sg"])
    assert as_printed(-1011.9 + 312.25 * sg + 699.2 * sg**2, row["g_per_l"], digits=1.5)
    assert as_printed(100 * (-2.2903 + 2.9173 * sg - 0.62606 * sg**2), row["mass_percent"])


@pytest.mark.parametrize("row", rows("alum_feed_table"), ids=lambda row: row["sg"])
def test_the_feed_table_is_sound_in_itself(row):
    """A litre weighs its gravity in kilograms (to 0.1 %: no temperature stands on it)."""
    percent = float(row["mass_percent"])

    by_mass = 10 * percent * float(row["sg"])
    assert by_mass == pytest.approx(
        float(row["g_per_l"]), rel=0.001 + half_digit(row["mass_percent"]) / percent
    )


@pytest.mark.parametrize("row", rows("alum_feed_table")[:5], ids=lambda row: row["sg"])
def test_the_feed_table_lies_lower_still_and_is_not_followed(row):
    """8 % lower at the weak end, 3 % at the strong; past 90 g/L there is no curve."""
    found = strength(float(row["sg"]), "aluminium_sulfate_14_3").strength_g_per_l

    assert 0.02 < (found - float(row["g_per_l"])) / found < 0.085


def test_the_technical_salt_reads_as_the_same_aluminium_of_the_14_hydrate():
    """Solved once, 14.3 waters and 14 are one solution; 599.75 g hold what 594.34 g do."""
    technical = strength(1.03, "aluminium_sulfate_14_3").strength_g_per_l
    hydrate = strength(1.03, "aluminium_sulfate_14").strength_g_per_l

    assert technical / hydrate == pytest.approx(599.75 / 594.34, rel=1e-4)


def test_forty_grams_of_sulfate_read_one_point_zero_two_two_seven():
    gravity = alum.specific_gravity(strength_g_per_l=40, salt="aluminium_sulfate_14")

    assert as_printed(gravity, "1.0227")


@pytest.mark.parametrize(
    ("salt", "printed"), [("potash_alum", "2.0"), ("aluminium_sulfate_14", "1.76")]
)
def test_a_line_of_the_scale_is_worth_so_many_grams(salt, printed):
    """0.001 of gravity: 2.0 g/L of potash alum, 1.76 of aluminium sulfate 14-hydrate."""
    line = strength(1.0105, salt).strength_g_per_l - strength(1.0095, salt).strength_g_per_l

    off = half_digit(printed) + 0.005
    assert line == pytest.approx(float(printed), abs=off)


@pytest.mark.parametrize(
    "row", rows("density_aluminium_sulfate_15_c"), ids=lambda row: row["anhydrous_percent"]
)
def test_aluminium_sulfate_at_fifteen_degrees_is_near_perry_and_the_model(row):
    """Perry (from memory) and the model agree within 0.0005; so does the curve."""
    percent = float(row["anhydrous_percent"])
    fraction = alum.SALTS["aluminium_sulfate_14"].anhydrous_fraction
    grams = 10 * percent / fraction * float(row["model"])
    density = alum.density_kg_per_m3(
        strength_g_per_l=grams, salt="aluminium_sulfate_14", liquid_c=15
    )

    assert density == pytest.approx(1000 * float(row["model"]), abs=0.5)
    assert density == pytest.approx(1000 * float(row["perry"]), abs=0.65)


def test_a_saturated_bath_has_the_supplier_s_density():
    """
    At 20 C a reagent supplier prints 1.053 for 5.67 % anhydrous; the model gives 1.0524.
    That the two fit shows that his table, labelled dodecahydrate, is anhydrous.
    """
    percent = 5.67 / alum.SALTS["potash_alum"].anhydrous_fraction
    density = alum.density_kg_per_m3(
        strength_g_per_l=10 * percent * 1.0524, salt="potash_alum", liquid_c=20
    )

    assert as_printed(density / 1000, "1.0524")
    assert density / 1000 == pytest.approx(1.053, abs=0.001)


@given(grams=st.floats(0, 70), salt=curved)
def test_gravity_and_strength_are_inverse(grams, salt):
    share = alum.SALTS[salt].mmol_al_per_g / alum.SALTS["aluminium_sulfate_14"].mmol_al_per_g
    grams = grams / max(1, share)
    gravity = alum.specific_gravity(strength_g_per_l=grams, salt=salt)

    assert strength(gravity, salt).strength_g_per_l == pytest.approx(grams, abs=1e-9)


@given(grams=st.floats(0, 70))
def test_hydrates_of_one_salt_with_the_same_aluminium_read_the_same(grams):
    """A curve of its own for the 18-hydrate is not needed: only aluminium counts."""
    other = alum.same_strength_g(
        weight_g=grams, salt="aluminium_sulfate_14", other_salt="aluminium_sulfate_18"
    )

    a = alum.specific_gravity(strength_g_per_l=grams, salt="aluminium_sulfate_14")
    b = alum.specific_gravity(strength_g_per_l=other, salt="aluminium_sulfate_18")
    assert a == pytest.approx(b)


@pytest.mark.parametrize(("liquid_c", "shift"), [(15, 0.00090), (25, -0.00116), (30, -0.00256)])
def test_a_warm_bath_reads_low_and_is_set_right(liquid_c, shift):
    """5 C off is about 0.001 and 2 g/L, ten degrees warmer 0.0025."""
    true_sg = alum.specific_gravity(strength_g_per_l=40, salt="potash_alum")
    at_c = water.density_kg_per_m3(water_c=liquid_c)
    shown = true_sg * at_c / water.density_kg_per_m3(water_c=20)

    assert shown - true_sg == pytest.approx(shift, abs=0.00006)
    found = strength(shown, "potash_alum", liquid_c=liquid_c)
    assert found.strength_g_per_l == pytest.approx(40)


@given(
    offset=st.floats(-0.005, 0.005),
    water_c=st.floats(5, 35),
    liquid_c=st.floats(5, 35),
    scale_c=st.sampled_from([15, 15.56, 20, 25]),
    grams=st.floats(5, 80),
)
def test_a_hydrometer_that_shows_too_much_is_set_right_by_tap_water(
    offset, water_c, liquid_c, scale_c, grams
):
    """Whatever the scale's temperature and the water's on the day of the check."""
    at_scale = water.density_kg_per_m3(water_c=scale_c)
    in_water = water.density_kg_per_m3(water_c=water_c) / at_scale + offset
    density = alum.density_kg_per_m3(
        strength_g_per_l=grams, salt="potash_alum", liquid_c=liquid_c
    )
    zero = alum.hydrometer_zero(reading_sg=in_water, water_c=water_c, scale_c=scale_c)

    found = alum.gravity_strength_g_per_l(
        reading_sg=density / at_scale + offset,
        liquid_c=liquid_c,
        zero_offset_sg=zero,
        scale_c=scale_c,
        salt="potash_alum",
    )
    assert zero == pytest.approx(offset, abs=1e-12)
    assert found.strength_g_per_l == pytest.approx(grams)


def test_the_doubt_of_a_reading_is_two_lines_a_degree_and_the_curve():
    """
    +-0.001 is 2.0 g/L, in the bath and again in the plain water behind the offset; +-1 C at
    20 C is 0.42 g/L, +-3 % of 40 is 1.2: 3.1 g/L of 90 %. Water and curve are the same for
    the next reading: 2.3 of it.
    """
    found = strength(
        alum.specific_gravity(strength_g_per_l=40, salt="potash_alum"), "potash_alum"
    )

    assert defaults.Z_90 * found.sd_g_per_l == pytest.approx(
        (2.01**2 + 2.01**2 + 0.42**2 + 1.2**2) ** 0.5, abs=0.01
    )
    assert defaults.Z_90 * found.lasting_sd_g_per_l == pytest.approx(
        (2.01**2 + 1.2**2) ** 0.5, abs=0.01
    )


@given(sg=st.floats(1.0, 1.045), more=st.floats(0.0001, 0.005), salt=curved)
def test_a_higher_reading_is_a_stronger_bath_and_a_larger_doubt(sg, more, salt):
    lower, higher = strength(sg, salt), strength(sg + more, salt)

    assert higher.strength_g_per_l > lower.strength_g_per_l
    assert higher.sd_g_per_l > lower.sd_g_per_l


@pytest.mark.parametrize(("put_in", "in_liquid"), [(20.41, 20.17), (52.63, 51.19)])
def test_a_bath_is_more_litres_than_the_water_put_in(put_in, in_liquid):
    """
    Potash alum, grams per kg of water against grams per litre of solution at 20 C, computed
    with the coefficients of Laliberte and Cooper 2004, J. Chem. Eng. Data 49:1141.
    """
    per_litre = put_in * 0.9982
    part = alum.water_fraction(strength_g_per_l=per_litre, salt="potash_alum")

    assert per_litre * part == pytest.approx(in_liquid, rel=0.001)


def test_plain_water_is_all_water_and_ammonium_alum_goes_by_potash_alum():
    """No density curve of ammonium alum was found; a level is read all the same."""
    parts = [
        alum.water_fraction(strength_g_per_l=40, salt=salt)
        for salt in ("ammonium_alum", "potash_alum")
    ]

    assert alum.water_fraction(strength_g_per_l=0, salt="potash_alum") == 1
    assert parts[0] == parts[1] < 1


def test_a_reading_a_hair_under_water_is_no_strength_below_nothing():
    found = strength(0.9995, "potash_alum")

    assert found.strength_g_per_l == 0
    assert found.sd_g_per_l > 1


def test_ammonium_alum_is_never_read_as_strength():
    """No density table of it was found: guessing one would print false numbers."""
    with pytest.raises(alum.GravityRefused) as refused:
        strength(1.020, "ammonium_alum")

    assert refused.value.code == "no-density-curve"


@pytest.mark.parametrize(
    ("reading_sg", "salt"),
    [(0.990, "potash_alum"), (1.060, "potash_alum"), (1.335, "aluminium_sulfate_14")],
)
def test_a_reading_outside_the_curve_is_refused(reading_sg, salt):
    """Neither spirit nor the syrup of the works is a studio bath."""
    with pytest.raises(alum.GravityRefused) as refused:
        strength(reading_sg, salt)

    assert refused.value.code == "outside-density-curve"


def test_no_gravity_is_given_for_a_strength_outside_the_curve():
    with pytest.raises(alum.GravityRefused, match="from 0 to 110, is 140"):
        alum.specific_gravity(strength_g_per_l=140, salt="potash_alum")


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: alum.mmol_al_per_l(strength_g_per_l=40, salt="alum"), "salt: must be one of"),
        (
            lambda: alum.mmol_al_per_l(strength_g_per_l=-1, salt="potash_alum"),
            "strength_g_per_l: must be from 0 to 2000, is -1",
        ),
        (
            lambda: alum.same_strength_g(
                weight_g=float("nan"), salt="potash_alum", other_salt="ammonium_alum"
            ),
            "weight_g: must be from 0",
        ),
        (
            lambda: alum.substance_g_per_g(salt="potash_alum", substance="baking soda"),
            "substance: must be one of sodium_bicarbonate",
        ),
        (lambda: alum.al_spent_mmol_per_l(alkalinity_mg_per_l=-5), "alkalinity_mg_per_l"),
        (
            lambda: alum.solubility_g_per_kg_water(salt="potash_alum", liquid_c=68),
            "liquid_c: must be from 0 to 60, is 68",
        ),
        (
            lambda: alum.solubility_g_per_kg_water(
                salt="potash_alum", liquid_c=20, table="sulfate_crc"
            ),
            "table: must be one of potash_handbook, potash_supplier, is sulfate_crc",
        ),
        (
            lambda: alum.hydrate_g_per_kg_water(
                anhydrous_g_per_kg_water=1000, anhydrous_fraction=0.4
            ),
            "melts in its own water",
        ),
        (lambda: strength(20, "potash_alum"), "reading_sg: must be from 1e-09 to 2, is 20"),
        (lambda: strength(1.02, "potash_alum", liquid_c=68), "water_c: must be from 0 to 40"),
        (
            lambda: alum.hydrometer_zero(reading_sg=0, water_c=20, scale_c=20),
            "reading_sg: must be from",
        ),
    ],
)
def test_a_figure_outside_its_range_is_named(call, message):
    with pytest.raises(ValueError, match=message):
        call()
