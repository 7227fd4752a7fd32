"""Paper against the printed weights, the ISO formats and the chalk of permanent paper."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science import alum, defaults, paper
from tests.science.handbook import as_printed, rows


@pytest.mark.parametrize("row", rows("paper_weights"), ids=lambda row: row["grade"])
def test_a_pound_of_each_grade_weighs_what_is_printed(row):
    """Exact factors to six decimals, and the printed ones where they are right."""
    per_lb = paper.g_per_m2_from_lb(basis_weight_lb=1, grade=row["grade"])

    assert as_printed(per_lb, row["exact_g_per_m2"])
    assert as_printed(1 / per_lb, row["exact_lb_per_g_per_m2"])
    if row["printed_g_per_m2"] and "misprint" not in row["mark"]:
        assert as_printed(per_lb, row["printed_g_per_m2"])


def test_the_printed_factor_for_board_is_a_misprint():
    """4.831 is printed, but its own printed inverse 0.205 gives 4.88."""
    per_lb = paper.g_per_m2_from_lb(basis_weight_lb=1, grade="board")

    assert as_printed(1 / per_lb, "0.205")
    assert not as_printed(per_lb, "4.831", digits=10)


@pytest.mark.parametrize(
    "row", rows("paper_weight_examples"), ids=lambda r: f"{r['grade']}-{r['lb']}-{r['mark']}"
)
def test_common_papers_weigh_what_is_printed(row):
    weight = paper.g_per_m2_from_lb(basis_weight_lb=float(row["lb"]), grade=row["grade"])

    assert as_printed(weight, row["g_per_m2"])


@pytest.mark.parametrize("row", rows("paper_weights"), ids=lambda row: row["grade"])
def test_grams_turn_back_into_pounds(row):
    """The printed inverse factors, and a weight there and back."""
    lb = paper.lb_from_g_per_m2(weight_g_per_m2=1, grade=row["grade"])
    back = paper.g_per_m2_from_lb(
        basis_weight_lb=paper.lb_from_g_per_m2(weight_g_per_m2=120, grade=row["grade"]),
        grade=row["grade"],
    )

    assert as_printed(lb, row["exact_lb_per_g_per_m2"])
    assert back == pytest.approx(120)


def test_a_glossary_s_other_constant_stays_within_three_hundredths_of_a_per_cent():
    """One glossary divides 1406.5 by the area where the definition gives 1406.139."""
    definition = paper.g_per_m2_from_lb(basis_weight_lb=1, grade="text") * 25 * 38

    assert as_printed(definition, "1406.139")
    assert 1406.5 / definition == pytest.approx(1.00026, abs=0.000005)


@pytest.mark.parametrize("row", rows("paper_formats"), ids=lambda row: row["sheet_format"])
def test_a_sheet_format_has_its_printed_sides_and_area(row):
    """ISO 216, ISO 217, US sheets, and the three cuts of a 500 x 700 mm sheet."""
    if row["short_mm"]:
        sides = (float(row["short_mm"]), float(row["long_mm"]))
        assert paper.SHEET_FORMATS[row["sheet_format"]] == sides
    if row["area_m2"]:
        area = paper.sheet_area_m2(sheet_format=row["sheet_format"])
        assert as_printed(area, row["area_m2"])


@pytest.mark.parametrize("size", "01234")
def test_untrimmed_formats_stand_to_trimmed_ones_as_iso_217_says(size):
    """RA is 105 %, SRA 115 % of the A area, to a per cent (sides are rounded)."""
    a = paper.sheet_area_m2(sheet_format=f"A{size}")

    ra = paper.sheet_area_m2(sheet_format=f"RA{size}") / a
    sra = paper.sheet_area_m2(sheet_format=f"SRA{size}") / a
    assert ra == pytest.approx(1.05, abs=0.01)
    assert sra == pytest.approx(1.15, abs=0.015)


@pytest.mark.parametrize("cut", ["full", "half", "quarter"])
def test_the_cuts_of_the_common_sheet_are_the_formats_of_that_name(cut):
    assert paper.cut_mm(width_mm=700, height_mm=500, cut=cut) == paper.SHEET_FORMATS[cut]


@given(
    width=st.floats(50, 3000),
    height=st.floats(50, 3000),
    cut=st.sampled_from(["full", "half", "quarter"]),
)
def test_cutting_loses_no_paper(width, height, cut):
    short, long = paper.cut_mm(width_mm=width, height_mm=height, cut=cut)

    pieces = paper.CUTS[cut] * paper.area_m2(width_mm=short, height_mm=long)
    assert short <= long
    assert pieces == pytest.approx(paper.area_m2(width_mm=width, height_mm=height))


@pytest.mark.parametrize("series", ["A", "B"])
def test_two_sheets_of_the_next_size_come_out_of_an_iso_sheet(series):
    """ISO 216: each size is the one before, halved across its long side; mm rounded down."""
    sizes = [name for name in paper.SHEET_FORMATS if name[0] == series and name[1:].isdigit()]

    assert len(sizes) >= 2
    for large, small in pairwise(sorted(sizes)):
        count, offcut_m2 = paper.sheets_out_of(
            parent_mm=paper.SHEET_FORMATS[large],
            sheet_mm=paper.SHEET_FORMATS[small],
            turned=True,
        )
        assert count == 2
        assert offcut_m2 < 0.001


def test_sixteen_a4_come_out_of_an_a0():
    """ISO 216: A4 is a sixteenth of A0."""
    formats = paper.SHEET_FORMATS

    count, _ = paper.sheets_out_of(
        parent_mm=formats["A0"], sheet_mm=formats["A4"], turned=False
    )
    assert count == 16


@pytest.mark.parametrize("parent", ["500x700", "640x900", "700x1000", "22x30in", "25x38in"])
@pytest.mark.parametrize("cut", paper.CUTS)
def test_the_trade_s_cuts_come_out_of_every_parent_without_offcut(parent, cut):
    """Inches too, whose halves are no round floats."""
    sides = paper.SHEET_FORMATS[parent]
    piece = paper.cut_mm(width_mm=sides[0], height_mm=sides[1], cut=cut)
    count, offcut_m2 = max(
        paper.sheets_out_of(parent_mm=sides, sheet_mm=piece, turned=turned)
        for turned in (False, True)
    )

    assert count == paper.CUTS[cut]
    assert offcut_m2 == pytest.approx(0, abs=1e-9)


SIDES = st.tuples(st.floats(1, 3_000), st.floats(1, 3_000))


@given(parent=SIDES, sheet=SIDES, turned=st.booleans())
def test_sheets_and_offcut_are_the_parent(parent, sheet, turned):
    """Either way round no more comes out than goes in, whichever side is named first."""
    count, offcut_m2 = paper.sheets_out_of(parent_mm=parent, sheet_mm=sheet, turned=turned)
    swapped = paper.sheets_out_of(parent_mm=parent[::-1], sheet_mm=sheet[::-1], turned=turned)
    area = paper.area_m2(width_mm=parent[0], height_mm=parent[1])
    made = count * paper.area_m2(width_mm=sheet[0], height_mm=sheet[1])

    assert made + offcut_m2 == pytest.approx(area)
    assert swapped[0] == count


@pytest.mark.parametrize("row", rows("alum_by_sheet"), ids=lambda row: row["sheet_format"])
def test_a_sheet_takes_the_trade_s_millilitres(row):
    """Area times pick-up: 12 mL for a quarter sheet by dip, 20 full sheets to a litre."""
    area = paper.sheet_area_m2(sheet_format=row["sheet_format"])
    dip_ml = area * defaults.value("pickup_dip_ml_per_m2")

    assert as_printed(dip_ml, row["dip_ml"])
    assert as_printed(area * defaults.value("pickup_sponge_ml_per_m2"), row["sponge_ml"])
    assert as_printed(1000 / dip_ml, row["sheets_per_l"])
    assert int(3785.411784 / dip_ml) == int(row["sheets_per_us_gal"]), "whole sheets"


def test_permanent_paper_can_destroy_more_alum_than_a_sponge_coat_brings():
    """
    ISO 9706: 20 g of chalk per kg is 0.4 mol of acid per kg; at 100 g/m2 that is 2.0 g of
    chalk and 6.3 g of potash alum per m2, where 100 mL/m2 of 30 g/L bring 3.0 g.
    """
    destroyed = paper.al_destroyed_mmol_per_m2(
        reserve_mol_acid_per_kg=0.4, paper_g_per_m2=100, fraction_reached=1
    )
    grams = destroyed / alum.SALTS["potash_alum"].mmol_al_per_g
    chalk = grams * alum.substance_g_per_g(salt="potash_alum", substance="calcium_carbonate")

    assert as_printed(grams, "6.3")
    assert as_printed(chalk, "2.0")
    assert grams > 0.100 * 30


def test_a_hundred_half_sheets_of_buffered_paper_eat_seventy_grams():
    """17.5 m2 x 40 meq/m2 = 700 meq, over 10.1 meq/g: 69 g of aluminium sulfate."""
    area = 100 * paper.sheet_area_m2(sheet_format="half")
    reserve = area * paper.chalk_reserve_mmol_acid_per_m2(
        reserve_mol_acid_per_kg=0.4, paper_g_per_m2=100
    )

    assert as_printed(reserve, "700")
    assert as_printed(reserve / 3 / alum.SALTS["aluminium_sulfate_14"].mmol_al_per_g, "69")


@given(reached=st.floats(0, 1))
def test_less_chalk_reached_destroys_less(reached):
    whole = paper.al_destroyed_mmol_per_m2(
        reserve_mol_acid_per_kg=0.4, paper_g_per_m2=100, fraction_reached=1
    )
    part = paper.al_destroyed_mmol_per_m2(
        reserve_mol_acid_per_kg=0.4, paper_g_per_m2=100, fraction_reached=reached
    )

    assert part == pytest.approx(reached * whole)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: paper.sheet_area_m2(sheet_format="third"), "must be one of full, half"),
        (lambda: paper.g_per_m2_from_lb(basis_weight_lb=80, grade="80 lb"), "grade: must be"),
        (lambda: paper.g_per_m2_from_lb(basis_weight_lb=0, grade="text"), "must be over 0"),
        (
            lambda: paper.lb_from_g_per_m2(weight_g_per_m2=2000, grade="text"),
            "weight_g_per_m2: must be over 0 and at most 1000, is 2000",
        ),
        (lambda: paper.area_m2(width_mm=0.5, height_mm=7000), "height_mm: must be over 0"),
        (lambda: paper.cut_mm(width_mm=500, height_mm=700, cut="eighth"), "cut: must be"),
        (
            lambda: paper.al_destroyed_mmol_per_m2(
                reserve_mol_acid_per_kg=0.4, paper_g_per_m2=100, fraction_reached=40
            ),
            "fraction_reached: must be from 0 to 1, is 40",
        ),
        (
            lambda: paper.chalk_reserve_mmol_acid_per_m2(
                reserve_mol_acid_per_kg=20, paper_g_per_m2=100
            ),
            "reserve_mol_acid_per_kg: must be over 0 and at most 5, is 20",
        ),
    ],
)
def test_a_figure_outside_its_range_is_named(call, message):
    with pytest.raises(ValueError, match=message):
        call()
