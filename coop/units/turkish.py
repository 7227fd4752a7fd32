# ruff: noqa: RUF001, RUF002  # the i without a dot is a letter of Turkish
"""
The words of Turkish measures.

Water may come first, in the dative: "bir galona 8 yemek kaşığı". The letters are read with and
without their marks, as people type them on a foreign keyboard.

Tablespoon 15 mL and teaspoon 5 mL are those of measuring spoons, a water glass is 200 mL:
common practice, no source. A "tatlı kaşığı" is 5 mL here and 10 mL there, so it has no size.
"""

from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from coop.units.names import BAKING_SODA, QUIRES, REAMS, WASHING_SODAS, Language, Words

LETTERS: Final = MappingProxyType(str.maketrans("çÇğĞıIİöÖşŞüÜâÂîÎ", "cCgGiiioOsSuUaAiI"))
"""Every letter is read as the plain one that is typed where the marks are missing."""


def _words(written: str) -> Words:
    return tuple(written.translate(LETTERS).lower().split())


def _phrases(written: str) -> frozenset[Words]:
    return frozenset(_words(one) for one in written.split(","))


def _set(written: str) -> frozenset[str]:
    return frozenset(_words(written))


def _units(spellings: Mapping[str, str]) -> Mapping[Words, str]:
    return MappingProxyType(
        {_words(one): unit for unit, names in spellings.items() for one in names.split(",")}
    )


def _numbered(written: str) -> Mapping[str, int]:
    return MappingProxyType({name: n for n, name in enumerate(_words(written), start=1)})


def _each(meanings: Mapping[str, tuple[str, ...]]) -> Mapping[str, tuple[str, ...]]:
    return MappingProxyType(
        {word: meant for names, meant in meanings.items() for word in _words(names)}
    )


TURKISH: Final = Language(
    letters=LETTERS,
    units=_units(
        {
            "ml": "ml, mililitre, mililitreye, cc",
            "cl": "cl, santilitre",
            "dl": "dl, desilitre",
            "l": "l, lt, litre, litreye, litrede, litresine, litresi",
            "gallon": "galon, galona, galonda, galonu, galonuna, gal",
            "quart": "quart, kuart, kuarti",
            "pint": "pint, pinte",
            "fl_oz": "sıvı ons, sıvı onsa, sıvı onsu",
            "tr_cup": "su bardağı, su bardağına, su bardağında",
            "metric_tbsp": "yemek kaşığı, çorba kaşığı, yk",
            "metric_tsp": "çay kaşığı, çk",
            "ounce": "ons, onsa, oz",
            "mg": "mg, miligram",
            "g": "g, gr, gram, gramı, grama",
            "kg": "kg, kilo, kiloya, kilogram, kilograma",
            "lb": "lb, libre, libreye, pound",
            "mm": "mm, milimetre",
            "cm": "cm, santim, santimetre",
            "m": "m, metre",
            "inch": "inç, inch",
            "m2": "m2, m², metrekare",
            "cm2": "cm2, cm², santimetrekare",
            "celsius": "°c, santigrat, santigrat derece, derece santigrat, derece c",
            "fahrenheit": "°f, fahrenhayt, fahrenheit, derece f",
            "sheet": "yaprak, tabaka, kağıt",
        }
    ),
    exact_case=MappingProxyType({"C": "celsius", "F": "fahrenheit"}),
    unsure=_each(
        {
            "kaşık kaşığı": ("metric_tsp", "metric_tbsp"),
            "bardak bardağa bardağı": ("tr_cup", "metric_cup"),
            "derece °": ("celsius", "fahrenheit"),
        }
    ),
    systems=MappingProxyType(
        {
            **dict.fromkeys(_phrases("abd, us, amerikan, amerika"), "us"),
            **dict.fromkeys(_phrases("imparatorluk, imperial, imp"), "imp"),
            **dict.fromkeys(_phrases("ingiliz, uk"), "uk"),
            **dict.fromkeys(_phrases("metrik, metric"), "metric"),
        }
    ),
    heaps=MappingProxyType(
        {"silme": "level", "tepeleme": "heaped", "tumsek": "rounded", "eksik": "scant"}
    ),
    heap_unsure=_set("dolu dolusu"),
    by_weight=_phrases("ağırlık, ağırlıkça"),
    by_volume=_phrases("hacimce, sıvı"),
    separators=frozenset(),
    datives=_set(
        "mililitreye litreye litrede litresine galona galonda galonuna pinte onsa bardağına "
        "bardağında kiloya kilograma libreye suya suda ye ya de da e a"
    ),
    postpositions=_set("için başına içine içinde"),
    suffixes=_set("ye ya de da e a i ı u ü si sı"),
    to="ila",
    parts=_set("kısım kısmı kısma"),
    or_words=_set("veya yahut"),
    and_words=_set("ve artı"),
    of=frozenset(),
    articles=frozenset(),
    each=_set("her beher"),
    water=_set("su suya suda suyun"),
    goods=_set(
        "kumaş kumaşın kumaşa pamuk pamuğun pamuklu keten ketenin ipek ipeğin yün yünün lif "
        "lifin"
    ),
    of_goods=_set("göre üzerinden"),
    weight=_set("ağırlık ağırlığın ağırlığının ağırlığına"),
    dry="kuru",
    packs_of_sheets=_each({"top": REAMS, "deste": QUIRES}),
    sodas=_each(
        {
            "soda sodası sodyum karbonat karbonatı toz tozu": (*WASHING_SODAS, BAKING_SODA),
            "çamaşır": WASHING_SODAS,
            "yemek bikarbonat bikarbonatı": (BAKING_SODA,),
            "susuz kül külü": ("anhydrous",),
            "monohidrat": ("monohydrate",),
            "kristal kristali dekahidrat": ("crystals",),
        }
    ),
    no_soda=_phrases("kostik, sud kostik, hidroksit, perkarbonat, çamaşır suyu, kabartma tozu"),
    asides=_set(
        "şap şapı alüminyum amonyum potasyum sülfat sülfatı karragenan karragen karagenan toz "
        "tozu kristal kuru su suya suda suyun sıcak ılık soğuk yumuşak musluk damıtık saf "
        "kaynar ekle ekleyin eklenir koy koyun konur kullan kullanın karıştır karıştırın erit "
        "eritin eritilir çöz çözün çözülür yaklaşık"
    ),
    concentrate=_set("konsantre derişik"),
    dilute=_set("seyrelt seyreltin seyreltilir seyreltilerek"),
    takes=frozenset(),
    then=_set("sonra ve"),
    no_fixed_size=_set(
        "tutam avuç damla kova kovaya kavanoz kase kaseye tencere fincan fincana kap kaba "
        "tatlı çay paket torba kutu top deste"
    ),
    wholes=_numbered("bir iki üç dört beş altı yedi sekiz dokuz on"),
    fractions=MappingProxyType({"yarim": Fraction(1, 2), "ceyrek": Fraction(1, 4)}),
    word_fractions=MappingProxyType(
        {
            _words("üçte bir"): Fraction(1, 3),
            _words("üçte iki"): Fraction(2, 3),
            _words("dörtte bir"): Fraction(1, 4),
            _words("dörtte üç"): Fraction(3, 4),
            _words("sekizde bir"): Fraction(1, 8),
        }
    ),
    and_a_half=_set("buçuk"),
    percent_first=_set("yüzde"),
)
