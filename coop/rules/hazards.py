"""
What can hurt, by substance and by bath: hazard codes, each with its source and mark.

The codes are those of the UN's GHS and of Regulation (EC) 1272/2008. Where two classifications
disagree the stricter holds and the milder is shown beside it. The product's own safety sheet,
local rules and licensed advice come before all of it. Sources are codes; their names stand
with the pages.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from coop.ledger.kinds import BATHS, SALTS, SODAS
from coop.rules.cautions import of_salts
from coop.science.defaults import COMMON_PRACTICE, FROM_MEMORY, PUBLISHED

DANGER: Final = "danger"
WARNING: Final = "warning"
CORROSIVE: Final = "corrosive"
HARMFUL: Final = "harmful"
LASTING: Final = "lasting"
WATERS: Final = "waters"
PICTOGRAMS: Final = (CORROSIVE, LASTING, HARMFUL, WATERS)
"""The diamonds that this trade meets, in the order in which they are shown."""


@dataclass(frozen=True, slots=True)
class Label:
    """What a hazard code puts on a label: pictogram and signal word, empty for none."""

    pictogram: str
    signal: str
    mark: str = FROM_MEMORY


LABELS: Final[Mapping[str, Label]] = MappingProxyType(
    {
        "H290": Label(CORROSIVE, WARNING, PUBLISHED),
        "H302": Label(HARMFUL, WARNING),
        "H314": Label(CORROSIVE, DANGER, PUBLISHED),
        "H315": Label(HARMFUL, WARNING),
        "H317": Label(HARMFUL, WARNING),
        "H318": Label(CORROSIVE, DANGER, PUBLISHED),
        "H319": Label(HARMFUL, WARNING),
        "H332": Label(HARMFUL, WARNING),
        "H334": Label(LASTING, DANGER),
        "H335": Label(HARMFUL, WARNING),
        "H341": Label(LASTING, WARNING),
        "H350": Label(LASTING, DANGER),
        "H350i": Label(LASTING, DANGER),
        "H360Df": Label(LASTING, DANGER),
        "H360FD": Label(LASTING, DANGER),
        "H361": Label(LASTING, WARNING),
        "H372": Label(LASTING, DANGER),
        "H373": Label(LASTING, WARNING),
        "H400": Label(WATERS, WARNING),
        "H401": Label("", ""),
        "H410": Label(WATERS, WARNING),
        "EUH031": Label("", ""),
    }
)
"""Every hazard code that a card may carry, the worst of each kind in its own row."""

COVERS: Final[Mapping[str, frozenset[str]]] = MappingProxyType(
    {
        "H314": frozenset({"H315", "H319"}),
        "H318": frozenset({"H319"}),
        "H360FD": frozenset({"H361"}),
        "H360Df": frozenset({"H361"}),
        "H410": frozenset({"H401"}),
        "H400": frozenset({"H401"}),
        "H372": frozenset({"H373"}),
    }
)
"""Which milder codes of the same harm a code stands above."""

_IRRITATES: Final = frozenset({"H315", "H319"})
_SKIN_ALLERGY: Final = frozenset({*_IRRITATES, "H317"})


@dataclass(frozen=True, slots=True)
class Cell:
    """Codes that stand together, where they are from and their mark."""

    codes: tuple[str, ...]
    source: str
    mark: str


_NEVER_BLEACH: Final = Cell(("never-bleach",), "trade", COMMON_PRACTICE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard:
    """A hazard that holds; `above` is the milder code of another source, empty for none."""

    code: str
    cell: Cell
    above: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """
    What is known of the harm that a substance or a bath can do.

    Attributes:
        code: A salt, a supply, or what it is of after `soda_`, `colour_` or `bath_`.
        what: The supply or, of a bath, the kind of bath.
        classes: Who says which hazard codes; no codes is "not classified".
        notes: What else to know of it.
        gear: What to wear and open.
        first_aid: After what has happened what to do.
        spills: What to do when it is spilled.
        never: Cautions on what must not come together; beside them holds
            `coop.rules.storage.APART`.
    """

    code: str
    what: str
    classes: tuple[Cell, ...]
    gear: tuple[Cell, ...]
    first_aid: Cell
    spills: Cell
    notes: tuple[Cell, ...] = ()
    never: Cell = _NEVER_BLEACH

    @property
    def is_bath(self) -> bool:
        """Whether it is of a bath and not of a supply."""
        return self.code.startswith("bath_")


def _read(source: str, *codes: str) -> Cell:
    return Cell(codes, source, PUBLISHED)


def _recalled(*codes: str, source: str = "memory") -> Cell:
    return Cell(codes, source, FROM_MEMORY)


def _usual(*codes: str, source: str = "trade") -> Cell:
    return Cell(codes, source, COMMON_PRACTICE)


_AID: Final = _usual("in-the-eye", "skin", "breathed", "swallowed")
_AID_BURNS: Final = _usual("in-the-eye", "skin_burns", "breathed_vapour", "swallowed")
_AID_EYE: Final = _usual("in-the-eye", "swallowed")
_AID_DUST: Final = _usual("in-the-eye", "breathed", "swallowed")
_SWEEP: Final = _usual("wipe_damp", "wet-floor", "ask-the-drain-rules")
_MOP: Final = _usual("wet-floor", "ask-the-drain-rules")
_CLEAR_OUT: Final = _usual("air_out", "mop_in_gear", "ask-the-drain-rules")
_GLOVES_GOGGLES: Final = ("gloves", "goggles", "mask")
_APRON: Final = _usual("apron")
_NEVER_SHUT: Final = _usual("never-bleach", "never-a-lid")
_NEVER_AMMONIUM: Final = _usual("ammonium-alum-with-a-base", "never-bleach", "never-a-lid")
_NEVER_SULFIDE: Final = _usual("acid_on_sulfide", "never-bleach")
_STRICTER: Final = _usual("H318", source="salts_alike")


def _alum(
    code: str,
    *classes: Cell,
    gear: Cell,
    never: Cell = _NEVER_SHUT,
    notes: tuple[Cell, ...] = (),
) -> Card:
    return Card(
        code=code,
        what="alum",
        classes=classes,
        gear=(gear, _APRON),
        first_aid=_AID,
        spills=_SWEEP,
        notes=(_usual("acid_when_wet"), *notes),
        never=never,
    )


def _sulfate(code: str) -> Card:
    return _alum(
        code,
        _read("ghs_compiled", "H318", "H290"),
        _read("icsc_1191", "H319", "H335"),
        _recalled("H401", source="icsc_1191_words"),
        gear=_read("icsc_1191", *_GLOVES_GOGGLES),
        notes=tuple(_recalled(one) for one in of_salts([code])),
    )


def _soda(form: str) -> Card:
    baking = form == "bicarbonate"
    return Card(
        code=f"soda_{form}",
        what="soda",
        classes=(_recalled() if baking else _recalled("H319"),),
        gear=(_recalled("mask"), _usual("goggles"))
        if baking
        else (_recalled(*_GLOVES_GOGGLES), _APRON),
        first_aid=_AID,
        spills=_SWEEP,
        notes=(_recalled("foams_with_acid"),),
        never=_NEVER_AMMONIUM,
    )


def _dust(what: str, *classes: Cell, notes: tuple[Cell, ...] = ()) -> Card:
    return Card(
        code=what,
        what=what,
        classes=classes or (_recalled(),),
        gear=(_recalled("mask"),),
        first_aid=_AID_DUST,
        spills=_SWEEP,
        notes=notes,
    )


def _colour(metal: str, *codes: str, note: str, never: Cell = _NEVER_BLEACH) -> Card:
    return Card(
        code=f"colour_{metal}",
        what="colour",
        classes=(_recalled(*codes),),
        gear=(_usual("gloves", "goggles", "mask", "apron"),),
        first_aid=_AID,
        spills=_SWEEP,
        notes=(_recalled(note), _usual("no_sanding")),
        never=never,
    )


_SUBSTANCES: Final = (
    *(_sulfate(code) for code in SALTS if code.startswith("aluminium_sulfate")),
    _alum(
        "potash_alum",
        _recalled(source="most_sheets"),
        _read("supplier_2013", "H302", "H315", "H319", "H335"),
        _STRICTER,
        gear=_read("supplier_2013", *_GLOVES_GOGGLES),
    ),
    _alum(
        "ammonium_alum",
        _STRICTER,
        gear=_usual(*_GLOVES_GOGGLES, source="salts_alike"),
        never=_NEVER_AMMONIUM,
    ),
    *(_soda(form) for form in SODAS),
    Card(
        code="lime",
        what="lime",
        classes=(_read("lime_sheets", "H315", "H318", "H335"),),
        gear=(_read("lime_sheets", *_GLOVES_GOGGLES), _APRON),
        first_aid=_AID_BURNS,
        spills=_SWEEP,
        notes=(_recalled("strong_base"),),
        never=_NEVER_AMMONIUM,
    ),
    Card(
        code="ammonia",
        what="ammonia",
        classes=(_read("gischem", "H314", "H318", "H335", "H290"),),
        gear=(_read("gischem", "gloves", "goggles", "air"), _APRON),
        first_aid=_AID_BURNS,
        spills=_CLEAR_OUT,
        notes=(_read("gischem", "five_to_ten_percent"),),
    ),
    Card(
        code="bleach",
        what="bleach",
        classes=(_recalled("H314", "H318", "H400", "H410", "EUH031", source="clp_annex_6"),),
        gear=(_usual("gloves", "goggles", "air", "apron"),),
        first_aid=_AID_BURNS,
        spills=_CLEAR_OUT,
        notes=(_usual("read_its_sheet"),),
        never=_usual("never-bleach", "bleach_alone"),
    ),
    Card(
        code="borax",
        what="borax",
        classes=(_read("eu_borates", "H360FD", "H319"), _read("us_producer", "H361")),
        gear=(_read("eu_borates", "gloves", "mask"), _usual("goggles")),
        first_aid=_AID,
        spills=_SWEEP,
        notes=(_read("eu_borates", "not_when_pregnant"),),
    ),
    Card(
        code="gall",
        what="gall",
        classes=(_recalled(source="some_sheets"), _recalled("H319", "H335", source="others")),
        gear=(_recalled("gloves", "goggles"),),
        first_aid=_AID,
        spills=_MOP,
        notes=(_recalled("read_its_sheet"),),
    ),
    _dust("carrageenan", notes=(_recalled("slippery"),)),
    _dust("methylcellulose", notes=(_recalled("dust_burns", "slippery"),)),
    _dust("tragacanth", _usual(), notes=(_recalled("dust_allergy"), _usual("slippery"))),
    _dust("gum", _usual(), notes=(_recalled("dust_allergy"), _usual("slippery"))),
    _dust("starch", _usual(), notes=(_recalled("dust_burns", "dust_allergy"),)),
    _colour("cadmium", "H350", "H341", "H372", note="cadmium_range", never=_NEVER_SULFIDE),
    _colour("cobalt", "H350i", "H334", "H317", "H410", note="cobalt_range"),
    _colour("chromium", "H350", "H317", "H410", note="chromium_range"),
    _colour("lead", "H302", "H332", "H360Df", "H373", "H410", note="lead_out"),
    _colour("copper", "H302", "H410", note="copper_range"),
    _colour("zinc", "H400", "H410", note="zinc_waste"),
    _colour("ultramarine", note="ultramarine_acid", never=_NEVER_SULFIDE),
)


def _bath(
    what: str,
    classes: tuple[Cell, ...],
    gear: Cell,
    *notes: str,
    aid: Cell = _AID_EYE,
    never: Cell = _NEVER_BLEACH,
) -> Card:
    return Card(
        code=f"bath_{what}",
        what=what,
        classes=classes,
        gear=(gear,),
        first_aid=aid,
        spills=_MOP,
        notes=(_usual(*notes),),
        never=never,
    )


_BATHS: Final = (
    _bath(
        "alum",
        (_usual("H318", source="as_its_salt"),),
        _usual("gloves", "goggles", "apron"),
        "acid_when_wet",
        aid=_usual("in-the-eye", "skin", "swallowed"),
        never=_NEVER_AMMONIUM,
    ),
    _bath("size", (_usual(),), _usual("apron"), "slippery", "read-the-tag"),
    _bath(
        "gall_water",
        (_usual("H319", source="as_its_gall"),),
        _usual("gloves", "goggles", "apron"),
        "read_its_sheet",
        aid=_usual("in-the-eye", "skin", "swallowed"),
    ),
    _bath("rinse", (_usual(),), _usual("gloves", "apron"), "holds_what_it_rinsed"),
    _bath("paste", (_usual(),), _usual("apron"), "scalding"),
    _bath(
        "softener",
        (_usual("H319", source="as_its_soda"),),
        _usual("gloves", "goggles", "apron"),
        "foams_with_acid",
        aid=_usual("in-the-eye", "skin", "swallowed"),
        never=_NEVER_AMMONIUM,
    ),
)

CARDS: Final[Mapping[str, Card]] = MappingProxyType(
    {card.code: card for card in (*_SUBSTANCES, *_BATHS)}
)
"""Every card by its code: substances, then baths."""

assert {card.what for card in _BATHS} == set(BATHS)


def hazards(card: Card) -> tuple[Hazard, ...]:
    """
    Return the hazards that hold, the strictest of what is said of each harm.

    >>> [(one.code, one.above) for one in hazards(CARDS["borax"])]
    [('H360FD', 'H361'), ('H319', '')]
    """
    first: dict[str, Cell] = {}
    for cell in card.classes:
        for code in cell.codes:
            first.setdefault(code, cell)
    order = [code for code in LABELS if code in first and not _covered(code, first)]
    order.sort(key=lambda code: LABELS[code].signal != DANGER)
    return tuple(
        Hazard(code=code, cell=first[code], above=_above(code, first)) for code in order
    )


def _covered(code: str, among: Iterable[str]) -> bool:
    return any(code in COVERS.get(other, ()) for other in among)


def _above(code: str, among: Mapping[str, Cell]) -> str:
    """Return the milder code that another source gives where this one holds."""
    milder = COVERS.get(code, frozenset()) & among.keys()
    return next((one for one in sorted(milder) if among[one] != among[code]), "")


def signal_of(codes: Iterable[str]) -> str:
    """
    Return the signal word of some hazard codes, the stronger one; empty for none.

    >>> signal_of(["H319", "H318"]), signal_of(["H319"]), signal_of([])
    ('danger', 'warning', '')
    """
    said = {LABELS[code].signal for code in codes}
    return next((signal for signal in (DANGER, WARNING) if signal in said), "")


def pictograms_of(codes: Iterable[str]) -> tuple[str, ...]:
    """
    Return the pictograms of some hazard codes, each once.

    Of two for the same harm only the stronger is shown, as Regulation (EC) 1272/2008,
    article 26, has it (from memory): no exclamation mark for skin and eyes beside corrosion,
    nor for skin allergy beside allergy of the lungs.

    >>> pictograms_of(["H318", "H315"]), pictograms_of(["H318", "H335"])
    (('corrosive',), ('corrosive', 'harmful'))
    """
    given = set(codes)
    corrosive = any(LABELS[code].pictogram == CORROSIVE and code != "H290" for code in given)
    dropped = (_IRRITATES if corrosive else frozenset()) | (
        _SKIN_ALLERGY if "H334" in given else frozenset()
    )
    shown = {LABELS[code].pictogram for code in given - dropped}
    return tuple(one for one in PICTOGRAMS if one in shown)


def card_of(what: str, *, salt: str | None = None, soda: str | None = None) -> str:
    """
    Return the code of the card of a supply in hand, empty where its own sheet says all.

    Args:
        what: One of `coop.ledger.kinds.SUPPLIES`.
        salt: Which salt of alum it is, where that is known.
        soda: Which form of soda it is, where that is known; of a softener too.

    >>> card_of("alum", salt="potash_alum"), card_of("softener", soda="crystals")
    ('potash_alum', 'soda_crystals')
    >>> card_of("alum"), card_of("gloves")
    ('', '')
    """
    named = {"alum": salt, "soda": soda and f"soda_{soda}", "softener": soda and f"soda_{soda}"}
    code = named.get(what, what) or ""
    return code if code in CARDS else ""
