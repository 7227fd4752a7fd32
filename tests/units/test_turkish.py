# ruff: noqa: RUF001  # the i without a dot is a letter of Turkish
"""Doses in Turkish: water first or last, with and without the marks of its letters."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop.science.defaults import value
from coop.units.dose import read_dose
from coop.units.fault import NotUnderstood
from coop.units.goods import read_goods_dose
from coop.units.gravity import read_gravity
from coop.units.kinds import FAMILIES, Kinds
from coop.units.names import ENGLISH
from coop.units.sheets import read_sheets
from coop.units.soda import read_soda
from coop.units.table import UNITS
from coop.units.temperature import read_temperature
from coop.units.turkish import LETTERS, TURKISH
from tests.units.house import ALUM, US

# The same dose in Turkish and in English.
PAIRS = [
    ("litreye 30 g", "30 g per litre"),
    ("1 litreye 30 gram", "30 grams per 1 litre"),
    ("1 litre suya 30 g şap", "30 g alum to 1 litre of water"),
    ("30 g, 1 litreye", "30 g to 1 litre"),
    ("30 g 1 litre suya", "30 g to 1 litre of water"),
    ("30 gr/lt", "30 gm/l"),
    ("litre başına 30 g", "30 g per litre"),
    ("1 L'ye 30 g", "30 g per L"),
    ("10 L’ye 60-70 g", "60-70 g per 10 L"),
    ("10 litreye 60 ila 70 g", "60 to 70 g per 10 litres"),
    ("her litre için 30 g", "30 g for each litre"),
    ("1 litre su için 30 g", "30 g for 1 litre of water"),
    ("5 litre suyun içine 150 g koyun", "150 g to 5 litres of water"),
    ("10 litrede 300 g", "300 g in 10 litres"),
    ("bir galona 8 yemek kaşığı", "8 metric tbsp to a gallon"),
    ("galon başına 8 çorba kaşığı", "8 metric tbsp per gallon"),
    ("8 yemek kaşığı şap, 1 galon suya", "8 metric tbsp alum to 1 gallon of water"),
    ("silme 8 yemek kaşığı 1 galona", "8 level metric tbsp per gallon"),
    ("galona 2 tümsek yemek kaşığı", "2 rounded metric tbsp per gallon"),
    ("galona 2 eksik yemek kaşığı", "2 scant metric tbsp per gallon"),
    ("ABD galonuna 3 ABD sıvı onsu", "3 US fl oz per US gallon"),
    ("galona 2 tepeleme yemek kaşığı", "2 heaped metric tbsp per gallon"),
    ("su bardağına 1 çay kaşığı", "1 metric tsp per Turkish glass"),
    ("bir galona yarım su bardağı", "half a Turkish glass per gallon"),
    ("galona üçte bir su bardağı", "1/3 Turkish glass per gallon"),
    ("2 buçuk litreye 75 g", "75 g per 2 1/2 litres"),
    ("bir buçuk litreye 45 g", "45 g per one and a half litres"),
    ("0,5 kg 20 litreye", "0.5 kg in 20 litres"),
    ("ABD galonuna 8 yemek kaşığı", "8 metric tbsp per US gallon"),
    ("3 galona 1 libre", "1 lb makes 3 gallons"),
    ("8 galona 1 libre 4 ons", "1 lb 4 oz per 8 gal"),
    ("1 kg suya 30 g", "30 g per kg of water"),
    ("%3", "3 %"),
    ("yüzde 3,5", "3.5 percent"),
    ("1:8 ağırlıkça", "1:8 by weight"),
    ("LİTREYE 30 GRAM", "30 grams per litre"),
    ("GALONA 8 YEMEK KAŞIĞI", "8 metric tbsp per gallon"),
    ("1 su bardagina 1 cay kasigi", "1 metric tsp per Turkish glass"),
    ("galona 8 yemek kaşığı = 30 g/L", "8 metric tbsp per gallon = 30 g/L"),
    ("1 litreye 30 g = 3 %", "30 g per 1 litre = 3 %"),
]


@pytest.mark.parametrize(("turkish", "english"), PAIRS)
def test_a_dose_means_the_same_in_both_tongues(turkish, english):
    """Measuring spoons of 15 and 5 mL, a water glass of 200 mL: common practice, no source."""
    theirs = read_dose(turkish, US, ALUM, words=TURKISH)
    ours = read_dose(english, US, ALUM)

    assert theirs.g_per_l is not None
    assert theirs.g_per_l == ours.g_per_l
    assert [one.ml_per_l for one in theirs.statements] == [
        one.ml_per_l for one in ours.statements
    ]
    assert theirs.contradiction == ours.contradiction
    assert {one.code for one in theirs.notes} == {one.code for one in ours.notes}


@pytest.mark.parametrize("typed", [typed for pair in PAIRS for typed in pair])
def test_no_text_means_one_thing_here_and_another_there(typed):
    """A page in one tongue tries the other too; a false friend would change a bath."""
    found = set()
    for words in (ENGLISH, TURKISH):
        try:
            found.add(read_dose(typed, US, ALUM, words=words).statements)
        except NotUnderstood:
            continue

    assert len(found) == 1


@pytest.mark.parametrize(
    ("typed", "asked"),
    [("1:8", ["parts"]), ("1 kısım şap, 8 kısım su", ["parts"]), ("galona 4 ons", ["ounce"])],
)
def test_what_is_open_in_english_is_open_in_turkish(typed, asked):
    reading = read_dose(typed, US, ALUM, words=TURKISH)

    assert [one.question for one in reading.asks] == asked


def test_a_gallon_of_nobodys_is_asked_about_and_a_spoon_is_not():
    reading = read_dose("galona 8 yemek kaşığı", None, ALUM, words=TURKISH)

    assert [one.question for one in reading.asks] == ["gallon"]


@pytest.mark.parametrize(
    ("typed", "code", "part"),
    [
        ("suya 30 g", "water-missing", "suya 30 g"),
        ("30 g", "water-missing", "30 g"),
        ("litreye", "number-missing", ""),
        ("1 bardağa 1 çay kaşığı", "which-unit", "bardağa"),
        ("8 kaşık galona", "which-unit", "kaşık"),
        ("galona 1 tatlı kaşığı", "no-fixed-size", "tatlı"),
        ("galona 1 çay bardağı", "no-fixed-size", "çay"),
        ("galona bir tutam", "no-fixed-size", "tutam"),
        ("kovaya 60 g", "no-fixed-size", "kovaya"),
        ("6 damla 1 su bardağına", "no-fixed-size", "damla"),
        ("galona dolu 1 yemek kaşığı", "heap-unsure", "dolu"),
        ("ingiliz galonuna 8 ingiliz kaşığı", "which-unit", "kaşığı"),
        ("litreye 1.000 g", "thousands-or-decimals", "1.000"),
        ("litreye 30 g günde", "unknown-word", "günde"),
        ("30 g, 8", "unit-missing", "30 g, 8"),
        ("kumaşın kuru ağırlığının %15'i", "by-weight-of-goods", None),
        ("kumaşın yüzde 15'i", "by-weight-of-goods", None),
        ("%3 galona", "percent-of-what", None),
    ],
)
def test_what_is_not_understood_in_turkish_is_said_with_its_part(typed, code, part):
    with pytest.raises(NotUnderstood) as caught:
        read_dose(typed, US, ALUM, words=TURKISH)

    assert caught.value.code == code
    assert part is None or caught.value.part == part


@pytest.mark.parametrize(
    ("typed", "fraction"),
    [
        ("kumaşın kuru ağırlığının %15'i", 0.15),
        ("kuru ağırlığın %8'i", 0.08),
        ("%15 kumaş ağırlığına göre", 0.15),
        ("kumaş ağırlığının yüzde 15'i", 0.15),
    ],
)
def test_cloth_is_dosed_by_its_weight_in_turkish_too(typed, fraction):
    assert float(read_goods_dose(typed, words=TURKISH).middle) == fraction


def test_other_measures_are_read_in_turkish_too():
    """Ream and quire, sodas, hydrometers, temperatures: names are common practice."""
    assert read_sheets("1 top (480)", words=TURKISH).sheets == value("old_ream_sheets")
    assert read_sheets("500 yaprak", words=TURKISH).sheets == 500
    assert read_soda("yemek sodası", words=TURKISH) == "bicarbonate"
    assert read_soda("soda külü", words=TURKISH) == "anhydrous"
    assert read_gravity("36,4 Bome", words=TURKISH).scale == "baume"
    assert read_temperature("20 santigrat", words=TURKISH).base == 20
    for typed, code in (("karbonat", "which-soda"), ("kabartma tozu", "no-soda")):
        with pytest.raises(NotUnderstood) as caught:
            read_soda(typed, words=TURKISH)
        assert caught.value.code == code


PIECES = [
    "8", "30", "0,5", "%", "yüzde", "bir", "yarım", "buçuk", "üçte bir", "g", "kg", "litre",
    "litreye", "L", "'ye", "galona", "galon", "su bardağı", "su bardağına", "yemek kaşığı",
    "çay kaşığı", "ons", "libre", "silme", "tepeleme", "başına", "için", "her", "suya", "su",
    "şap", "/", "(", ")", "=", ",", "-", "kısım", "1:8", "ağırlıkça", "kumaşın", "kuru", "frob",
]  # fmt: skip
sentences = st.builds(" ".join, st.lists(st.sampled_from(PIECES), max_size=9))


@given(sentences, st.sampled_from([None, US]))
def test_every_sign_of_a_turkish_dose_was_taken_for_something(typed, house: Kinds | None):
    try:
        reading = read_dose(typed, house, ALUM, words=TURKISH)
    except NotUnderstood:
        return
    taken = {at for span in reading.spans for at in range(span.start, span.end)}

    assert {at for at, sign in enumerate(reading.typed) if not sign.isspace()} <= taken
    assert len({span.start for span in reading.spans}) == len(reading.spans)


def test_every_name_is_plain_and_leads_to_a_unit():
    """A name with its marks would never be met: texts are read without them."""
    for phrase, family in TURKISH.units.items():
        assert family in UNITS or family in FAMILIES or family == "ounce"
        assert all(word == word.translate(LETTERS).lower() for word in phrase)
