"""Describing a supply: its forms by what it is measured in, and what is said of it."""

from collections.abc import Iterable
from dataclasses import replace
from typing import ClassVar, Final

from wtforms import Field, RadioField, SelectField, StringField

from coop.actions.see_supplies import SupplyLook
from coop.ledger.kinds import METALS_MAX, OTHER_SUPPLIES, Content
from coop.ledger.schema import Refused
from coop.ledger.states import SupplierState, SupplyState
from coop.rules.storage import keeps_days
from coop.science.defaults import value
from coop.units.number import wire
from coop.web import words as say
from coop.web.defaults_text import short
from coop.web.editions import EditionForm
from coop.web.fields import NEEDED, POURED, VOLUMES, WEIGHTS, NumberField, UnitField
from coop.web.forms import options
from coop.web.i18n import N_, Words
from coop.web.powder import LIQUID
from coop.web.stock import amount_text, days_text, pack_text

COLOUR: Final = "colour"


class NewSupplyForm(EditionForm):
    """A supply that is no salt, powder or paper: what it is; the rest is said of it then."""

    kind: ClassVar[str] = "supply.described"

    what = SelectField(N_("What it is"), [NEEDED])
    name = StringField(N_("Name"), [NEEDED], description=N_("What everybody calls it."))
    measure = RadioField(
        N_("It is kept"),
        [NEEDED],
        description=N_("This cannot be changed later: every lot of it is kept so."),
        validate_choice=False,
    )

    def offer(self, words: Words) -> None:
        """Fill the lists in the member's language."""
        named = [(code, say.choice(words, "supply", code)) for code in OTHER_SUPPLIES]
        self.what.choices = options([("", words.gettext("Choose …")), *named])
        self.measure.choices = options(say.choices(words, "measure"))


class SupplyForm(EditionForm):
    """What is asked of every supply; an empty field goes by what is usual."""

    kind: ClassVar[str] = "supply.described"

    name = StringField(N_("Name"), [NEEDED])
    days_to_arrive = StringField(N_("Days to arrive"))
    review_days = StringField(N_("The order list is looked at every"))
    sold_by = SelectField(N_("Usually from"), default="")
    sealed_days = StringField(N_("Keeps sealed"))
    opened_days = StringField(N_("Keeps once opened"))
    count_days = StringField(N_("Counted every"))
    ordered = RadioField(N_("On the order list"), default="yes", validate_choice=False)

    def offer(
        self, words: Words, supply: SupplyState, suppliers: Iterable[SupplierState]
    ) -> None:
        """Fill the lists; a salt, a powder or a paper has its own name."""
        if supply.what not in OTHER_SUPPLIES:
            del self.name
        sellers = [("", words.gettext("nobody in particular"))]
        sellers += [(str(one.id), one.name) for one in suppliers]
        self.sold_by.choices = options(sellers)
        self.ordered.choices = options(say.choices(words, "yes_no"))
        self.offer_units(words, supply)

    def offer_units(self, words: Words, supply: SupplyState) -> None:
        """Fill the units of its measure, where it has any."""


class AmountForm(SupplyForm):
    """A supply by weight or by volume."""

    floor_typed = StringField(
        N_("At least so much on the shelf"),
        name="floor.typed",
        description=N_("All studios together. What is under it is ordered."),
    )
    floor_unit = UnitField(N_("Unit"), name="floor.unit", validate_choice=False)
    pack_typed = StringField(
        N_("A pack holds"),
        name="pack.typed",
        description=N_("It is ordered in whole packs; left empty, in any amount."),
    )
    pack_unit = UnitField(N_("Unit of a pack"), name="pack.unit", validate_choice=False)

    def offer_units(self, words: Words, supply: SupplyState) -> None:
        """Fill the units of its measure, and the one it was described in."""
        units: tuple[str, ...] = VOLUMES if supply.measure == "volume" else WEIGHTS
        if supply.what == LIQUID:
            units = (*WEIGHTS, *POURED)
        for field in (self.floor_unit, self.pack_unit):
            field.offer(units)


class CountForm(SupplyForm):
    """A supply in full sheets or in pieces."""

    floor_count = StringField(
        N_("At least so many on the shelf"),
        description=N_("All studios together. What is under it is ordered."),
    )
    pack_count = StringField(
        N_("A pack holds"),
        description=N_("It is ordered in whole packs; left empty, in any number."),
    )


class Pigmented(SupplyForm):
    """A mixin: the metals that a colour's pigment declares; rows left empty say nothing."""

    sulfide = RadioField(
        N_("Does it give off gas in an acid?"),
        default="no",
        description=N_(
            "Ultramarine, cadmium colours and their like do: hydrogen sulfide, a poisonous gas."
        ),
        validate_choice=False,
    )

    def offer_units(self, words: Words, supply: SupplyState) -> None:
        """Fill the lists of its pigment beside those of its measure."""
        super().offer_units(words, supply)
        self.sulfide.choices = options(say.choices(words, "yes_no"))
        for metal, _ in self.metal_rows():
            metal.choices = options([("", words.gettext("none")), *say.choices(words, "metal")])

    def metal_rows(self) -> tuple[tuple[SelectField, NumberField], ...]:
        """Return the rows of a metal and the most of it [mg/mL]."""
        return tuple(
            (self[f"metal_{row}"], self[f"mg_per_ml_{row}"]) for row in range(METALS_MAX)
        )

    def rows_shown(self) -> int:
        """Return how many rows stand open: what is filled in, and room for one more."""
        filled = (row for row, fields in enumerate(self.metal_rows()) if _is_filled(fields))
        return min(METALS_MAX, max(filled, default=0) + 2)

    def take(self, refused: Refused) -> None:
        """Put a refusal into its row: the body counts only the rows that are filled in."""
        name, _, rest = refused.field.partition(".")
        place, _, part = rest.partition(".")
        if name == "metals" and place.isdigit():
            rows = [row for row, fields in enumerate(self.metal_rows()) if _is_filled(fields)]
            refused = replace(refused, field=f"metals.{rows[int(place)]}.{part}")
        super().take(refused)


def _is_filled(fields: Iterable[Field]) -> bool:
    return any(str(one.data or "").strip() or one.errors for one in fields)


for _row in range(METALS_MAX):
    setattr(
        Pigmented,
        f"metal_{_row}",
        SelectField(N_("Metal in its pigment"), name=f"metals.{_row}.metal", default=""),
    )
    setattr(
        Pigmented,
        f"mg_per_ml_{_row}",
        NumberField(N_("Of it at most"), name=f"metals.{_row}.mg_per_ml"),
    )


class ColourByAmount(Pigmented, AmountForm):
    """A colour by weight or by volume."""


class ColourByCount(Pigmented, CountForm):
    """A colour in pieces."""


def form_of(supply: SupplyState) -> type[SupplyForm]:
    """Return the form that fits a supply and its measure."""
    by_amount = supply.measure in ("weight", "volume")
    if supply.what == COLOUR:
        return ColourByAmount if by_amount else ColourByCount
    return AmountForm if by_amount else CountForm


def rows_said(content: Content) -> dict[str, str]:
    """Return the rows of metals of a supply's edition, as they were typed."""
    said = enumerate(getattr(content, "metals", ()))
    return {
        name: text
        for row, one in said
        for name, text in (
            (f"metal_{row}", one.metal),
            (f"mg_per_ml_{row}", wire(one.mg_per_ml)),
        )
    }


Fact = tuple[str, str]


def facts(words: Words, look: SupplyLook) -> tuple[Fact, ...]:
    """Return what is said of a supply, label and text, in the order of its form."""
    supply = look.supply
    return (
        (words.gettext("At least on the shelf"), _amount(words, look, supply.floor)),
        (words.gettext("A pack"), _pack(words, supply)),
        (words.gettext("Arrives"), arrives(words, look)),
        (words.gettext("Order list looked at every"), days_text(words, supply.review_days)),
        (words.gettext("Keeps sealed"), days_text(words, supply.sealed_days)),
        (words.gettext("Keeps once opened"), days_text(words, supply.opened_days)),
        (words.gettext("Counted every"), days_text(words, supply.count_days)),
        (words.gettext("Usually from"), look.supplier.name if look.supplier else ""),
        (words.gettext("Metals in its pigment"), _metals(words, supply)),
        (
            words.gettext("In an acid"),
            words.gettext("gives off hydrogen sulfide, a poisonous gas")
            if supply.sulfide
            else "",
        ),
        (
            words.gettext("Order list"),
            "" if supply.ordered else words.gettext("not on the order list"),
        ),
    )


def _metals(words: Words, supply: SupplyState) -> str:
    return ", ".join(
        words.gettext(
            "%(metal)s at most %(figure)s mg/mL",
            metal=say.choice(words, "metal", metal),
            figure=short(words, round(mg_per_ml, 2)),
        )
        for metal, mg_per_ml in supply.metals
    )


def _pack(words: Words, supply: SupplyState) -> str:
    if supply.pack is None:
        return ""
    return pack_text(words, supply.what, supply.measure, supply.pack)


def _amount(words: Words, look: SupplyLook, amount: int | None) -> str:
    if amount is None:
        return ""
    return amount_text(words, look.supply.what, look.supply.measure, amount)


def arrives(words: Words, look: SupplyLook) -> str:
    """Say how long it takes to arrive: as its last orders took, and as somebody wrote."""
    written = look.written_days
    if look.lead_days is None:
        return days_text(words, written)
    learned = words.ngettext(
        "%(days)s, learned from %(num)d order",
        "%(days)s, learned from %(num)d orders",
        len(look.supply.arrival_days),
        days=days_text(words, look.lead_days),
    )
    if written in (None, look.lead_days):
        return learned
    return words.gettext(
        "%(learned)s (written: %(days)s)", learned=learned, days=days_text(words, written)
    )


def usual(words: Words, look: SupplyLook) -> dict[str, str]:
    """Return what an empty field goes by, by the field's name."""
    what = look.supply.what
    said = look.supplier.days_to_arrive if look.supplier else None
    figures = {
        "days_to_arrive": int(value("order_lead_days")) if said is None else said,
        "review_days": int(value("order_review_days")),
        "sealed_days": keeps_days(what, opened=False),
        "opened_days": keeps_days(what, opened=True),
        "count_days": int(value("count_days")),
    }
    hints = {name: _left_empty(words, count) for name, count in figures.items()}
    if look.lead_days is not None:
        hints["days_to_arrive"] = words.gettext(
            "What its orders took counts before what is written: %(days)s.",
            days=days_text(words, look.lead_days),
        )
    return hints


def _left_empty(words: Words, count: int | None) -> str:
    if count is None:
        return words.gettext("Left empty: nothing is known to spoil it.")
    return words.gettext("Left empty: %(days)s.", days=days_text(words, count))
