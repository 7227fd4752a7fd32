"""Rows of a form for powder, out of lots or not: by weight or by the spoon, and their words."""

from collections.abc import Iterator
from typing import Any

from wtforms import Field, HiddenField, SelectField, StringField

from coop.actions.on_hand import OnHand, Share
from coop.ids import Subject
from coop.ledger.measure import bare_spoon
from coop.ledger.states import HouseState, LotState
from coop.units.quantity import LEVEL
from coop.web import amounts
from coop.web import words as say
from coop.web.fields import UnitField
from coop.web.forms import EntryForm, options
from coop.web.good_until import good_until_text
from coop.web.i18n import N_, Words
from coop.web.salt import HEAPS, WATERS, WEIGHTS, shown_in, units_of

ROWS = 2
FINE_UNDER_G = 100
LIQUID = "gall"
"""What is no powder: it is poured by the mL."""


class PowderForm(EntryForm):
    """An entry with water and up to two parts of a powder; empty rows are left out."""

    water_typed = StringField(N_("Water"), name="water.typed")
    water_unit = UnitField(
        N_("Water measured in"), name="water.unit", units=WATERS, default="l"
    )
    powder_0_powder = HiddenField(name="powder.0.powder")
    powder_0_lot = SelectField(N_("Powder from"), name="powder.0.lot", default="")
    powder_0_typed = StringField(N_("How much powder"), name="powder.0.amount.typed")
    powder_0_unit = UnitField(N_("Measured in"), name="powder.0.amount.unit", default="g")
    powder_0_heap = SelectField(N_("Spoons"), name="powder.0.amount.heap", default=LEVEL)
    powder_1_powder = HiddenField(name="powder.1.powder")
    powder_1_lot = SelectField(N_("And from"), name="powder.1.lot", default="")
    powder_1_typed = StringField(N_("How much of it"), name="powder.1.amount.typed")
    powder_1_unit = UnitField(
        N_("This one measured in"), name="powder.1.amount.unit", default="g"
    )
    powder_1_heap = SelectField(N_("These spoons"), name="powder.1.amount.heap", default=LEVEL)

    def offer(
        self, words: Words, powder: str, lots: tuple[OnHand, ...], house: HouseState | None
    ) -> None:
        """Say which powder it is; fill the lists: lots in turn, the house's own units first."""
        named = [(str(one.lot.id), lot_text(words, one)) for one in lots]
        named.append(("", words.gettext("from no lot of the shelf")))
        units = units_of(house)
        for of, lot, typed, unit, heap in self.rows():
            if powder == LIQUID:
                lot.label.text, typed.label.text = N_("Gall from"), N_("How much gall")
            of.data = powder
            lot.choices = options(named)
            unit.offer(("ml", *units) if powder == LIQUID else units)
            if powder == LIQUID and not unit.raw_data:
                unit.data = "ml"
            heap.choices = options((code, words.gettext(text)) for code, text in HEAPS)
        if not self.powder_0_lot.raw_data:
            self.powder_0_lot.data = named[0][0]

    def fill_water(self, volume_ml: float) -> None:
        """Write the water that is planned."""
        self.water_typed.data = shown_in(volume_ml, self.water_unit.data)

    def fill(self, shares: tuple[Share, ...]) -> None:
        """Write what is planned into rows that nobody has typed into."""
        for (_, lot, typed, unit, _), share in zip(self.rows(), shares[:ROWS], strict=False):
            if not typed.data:
                lot.data = share.lot.id
                typed.data = _in_box(share.lot.what, share.salt_g, unit.data)

    def fill_from_no_lot(self, powder: str, weight_g: float) -> None:
        """Write what is planned where no lot of it is on the shelf."""
        self.powder_0_lot.data = ""
        self.powder_0_typed.data = _in_box(powder, weight_g, self.powder_0_unit.data)

    def rows(self) -> tuple[tuple[Any, ...], ...]:
        """Return the fields of each row: powder, lot, amount, unit, level or heaped."""
        return (
            (
                self.powder_0_powder,
                self.powder_0_lot,
                self.powder_0_typed,
                self.powder_0_unit,
                self.powder_0_heap,
            ),
            (
                self.powder_1_powder,
                self.powder_1_lot,
                self.powder_1_typed,
                self.powder_1_unit,
                self.powder_1_heap,
            ),
        )

    @property
    def has_powder(self) -> bool:
        """Whether an amount of powder was typed."""
        return any((typed.data or "").strip() for _, _, typed, _, _ in self.rows())

    @property
    def has_water(self) -> bool:
        """Whether an amount of water was typed."""
        return bool((self.water_typed.data or "").strip())

    def _pairs(self) -> Iterator[tuple[str, str]]:
        left_out = set() if self.has_water else {"water.typed", "water.unit"}
        for of, lot, typed, unit, heap in self.rows():
            if not (typed.data or "").strip():
                left_out |= {of.name, lot.name, typed.name, unit.name, heap.name}
            elif unit.data in (*WEIGHTS, "ml"):
                left_out.add(heap.name)
        yield from ((name, value) for name, value in super()._pairs() if name not in left_out)

    def _nearest(self, name: str) -> Field | None:
        """Return the field of a refusal; what is said of all powder stands at the first row."""
        return self.powder_0_typed if name == "powder" else super()._nearest(name)


def _in_box(powder: str, weight_g: float, unit: str) -> str:
    """Return the number for so much powder in the unit that stands beside it."""
    if unit in ("g", "ml"):
        return f"{round(in_its_unit(powder, weight_g), 1):g}"
    return shown_in(weight_g, unit)


def lot_text(words: Words, one: OnHand) -> str:
    """Say a lot of powder in a list: name, what is left, and the type of a carrageenan."""
    parts = [one.lot.name]
    if one.left_g > 0:
        parts.append(
            words.gettext("%(left)s left", left=much_of(words, one.lot.what, one.left_g))
        )
    else:
        parts.append(words.gettext("none left by the ledger"))
    if one.lot.carrageenan:
        parts.append(say.choice(words, "carrageenan", one.lot.carrageenan))
    if one.past is not None:
        parts.append(good_until_text(words, one.past, over=True))
    return ", ".join(parts)


def fine_grams(words: Words, weight_g: float) -> str:
    """Return grams of a powder, under 100 g to the tenth; ounces and pounds of it."""
    if words.us or weight_g >= FINE_UNDER_G or round(weight_g, 1) == round(weight_g):
        return amounts.weight(words, weight_g)
    return words.gettext("%(grams)s g", grams=words.number(weight_g, 1))


def in_its_unit(powder: str, weight_g: float) -> float:
    """Return how much of a powder stands for a weight: grams, or mL of gall."""
    return weight_g / bare_spoon(powder)[0] if powder == LIQUID else weight_g


def much_of(words: Words, powder: str, weight_g: float) -> str:
    """Say how much of a powder to take: grams, or mL of gall."""
    if powder != LIQUID:
        return fine_grams(words, weight_g)
    much_ml = in_its_unit(powder, weight_g)
    return amounts.small_volume(words, much_ml, 1 if round(much_ml, 1) < FINE_UNDER_G else 0)


def lots_of(lots: tuple[OnHand, ...]) -> dict[Subject, LotState]:
    """Return lots by their ids."""
    return {one.lot.id: one.lot for one in lots}
