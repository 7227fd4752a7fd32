"""Rows of a form for alum out of lots: by weight or by the spoon, and the words for them."""

from collections.abc import Iterator
from math import floor, log10
from typing import Any

from wtforms import SelectField, StringField

from coop.actions.on_hand import OnHand, Share
from coop.ledger.states import HouseState, LotState
from coop.units.kinds import FAMILIES
from coop.units.quantity import HEAPED, LEVEL, ROUNDED, SCANT
from coop.units.table import UNITS
from coop.web import amounts
from coop.web import words as say
from coop.web.doses import spoons_text
from coop.web.fields import UnitField
from coop.web.forms import EntryForm, options
from coop.web.good_until import good_until_text
from coop.web.i18n import N_, Words

WEIGHTS = ("g", "kg", "oz", "lb")
SPOONS = (
    *("us_tbsp", "us_tsp", "us_cup"),
    *("metric_tbsp", "metric_tsp", "metric_cup"),
    *("imp_tbsp", "imp_tsp", "imp_cup"),
    "au_tbsp",
)
WATERS = ("l", "ml", "us_gallon", "us_quart", "imp_gallon", "imp_quart")
ROWS = 2
DECIMALS_MAX = 6
HEAPS = (
    (LEVEL, N_("level")),
    (HEAPED, N_("heaped")),
    (ROUNDED, N_("rounded")),
    (SCANT, N_("scant")),
)


class SaltForm(EntryForm):
    """An entry with water and up to two parts of alum; rows without an amount are left out."""

    water_typed = StringField(N_("Water"), name="water.typed")
    water_unit = UnitField(
        N_("Water measured in"), name="water.unit", units=WATERS, default="l"
    )
    salt_0_lot = SelectField(N_("Alum from"), name="salt.0.lot")
    salt_0_typed = StringField(N_("How much alum"), name="salt.0.amount.typed")
    salt_0_unit = UnitField(N_("Measured in"), name="salt.0.amount.unit", default="g")
    salt_0_heap = SelectField(N_("Spoons"), name="salt.0.amount.heap", default=LEVEL)
    salt_1_lot = SelectField(N_("And from"), name="salt.1.lot")
    salt_1_typed = StringField(N_("How much of it"), name="salt.1.amount.typed")
    salt_1_unit = UnitField(N_("This one measured in"), name="salt.1.amount.unit", default="g")
    salt_1_heap = SelectField(N_("These spoons"), name="salt.1.amount.heap", default=LEVEL)

    def offer(
        self,
        words: Words,
        lots: tuple[OnHand, ...],
        house: HouseState | None,
        bath_salt: str = "",
    ) -> None:
        """Fill the lists: lots oldest first, units with the house's own kinds first."""
        named = [(str(one.lot.id), lot_text(words, one, bath_salt)) for one in lots]
        units = units_of(house)
        self.salt_0_lot.choices = options(named)
        self.salt_1_lot.choices = options([("", words.gettext("no second lot")), *named])
        for unit, heap in (
            (self.salt_0_unit, self.salt_0_heap),
            (self.salt_1_unit, self.salt_1_heap),
        ):
            unit.offer(units)
            heap.choices = options((code, words.gettext(text)) for code, text in HEAPS)

    def fill_water(self, volume_ml: float) -> None:
        """Write the water that is planned."""
        self.water_typed.data = shown_in(volume_ml, self.water_unit.data)

    def fill(self, shares: tuple[Share, ...]) -> None:
        """Write what is planned into rows that nobody has typed into."""
        for (lot, typed, unit, _), share in zip(self.rows(), shares[:ROWS], strict=False):
            if not typed.data:
                lot.data = share.lot.id
                typed.data = shown_in(share.salt_g, unit.data)

    def rows(self) -> tuple[tuple[Any, ...], ...]:
        """Return the fields of each row: lot, amount, unit, level or heaped."""
        return (
            (self.salt_0_lot, self.salt_0_typed, self.salt_0_unit, self.salt_0_heap),
            (self.salt_1_lot, self.salt_1_typed, self.salt_1_unit, self.salt_1_heap),
        )

    def _pairs(self) -> Iterator[tuple[str, str]]:
        left_out = set()
        for lot, typed, unit, heap in self.rows():
            if not (typed.data or "").strip():
                left_out |= {lot.name, typed.name, unit.name, heap.name}
            elif unit.data in WEIGHTS:
                left_out.add(heap.name)
        yield from ((name, value) for name, value in super()._pairs() if name not in left_out)


def shown_in(base: float, unit: str) -> str:
    """Return the number of a unit that stands for mL or grams, as it stands in a box."""
    n = base / float(UNITS[unit].factor)
    number = f"{n:.{0 if unit in ('g', 'ml') else _decimals(n)}f}"
    return number.rstrip("0").rstrip(".") if "." in number else number


def _decimals(n: float) -> int:
    """Return two decimals; under one so many that three figures are seen: 0.264."""
    return 2 if n >= 1 or n <= 0 else min(DECIMALS_MAX, 2 - floor(log10(n)))


def units_of(house: HouseState | None) -> tuple[str, ...]:
    """Return units of powder: weights, the house's spoons and cup, then all others."""
    own: tuple[str, ...] = ()
    if house is not None:
        spoons = (FAMILIES["tbsp"][house.spoon], FAMILIES["tsp"][house.spoon])
        own = (*spoons, FAMILIES["cup"][house.cup])
    return tuple(dict.fromkeys((*WEIGHTS, *own, *SPOONS)))


def lot_text(words: Words, one: OnHand, bath_salt: str = "") -> str:
    """Say a lot in a list: name, what is left, and its salt where that is another one."""
    parts = [one.lot.name]
    if one.left_g > 0:
        parts.append(words.gettext("%(left)s left", left=amounts.weight(words, one.left_g)))
    else:
        parts.append(words.gettext("none left by the ledger"))
    if one.lot.salt and one.lot.salt != bath_salt:
        parts.append(say.choice(words, "salt_short", one.lot.salt))
    if one.past is not None:
        parts.append(good_until_text(words, one.past, over=True))
    return ", ".join(parts)


def share_text(words: Words, share: Share) -> str:
    """Say what to take of a lot in spoons: by its own weighed spoon, else the whole range."""
    if share.spoon_g is not None:
        return words.gettext(
            "or %(spoons)s of %(lot)s, weighed at %(each)s each",
            spoons=spoons_text(words, share.spoons.middle, share.spoon),
            lot=share.lot.name,
            each=amounts.weight(words, share.spoon_g, 1),
        )
    return words.gettext(
        "or %(low)s to %(spoons)s of %(lot)s: nobody has weighed its spoon. "
        "Weigh ten level ones first.",
        low=words.number(share.spoons.low),
        spoons=spoons_text(words, round(share.spoons.high), share.spoon),
        lot=share.lot.name,
    )


def lot_of(lots: tuple[OnHand, ...], subject: object) -> LotState | None:
    """Return the lot of an id, None if it is not among them."""
    return next((one.lot for one in lots if one.lot.id == subject), None)
