"""Receiving a lot as it was bought: its forms, and what stands on the page beside them."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Any, ClassVar

from wtforms import Field, HiddenField, RadioField, SelectField, StringField
from wtforms.validators import InputRequired, Optional

from coop.actions.read_dose import in_any_tongue
from coop.actions.see_supplies import SupplyLook
from coop.actions.write import Draft, Written, write
from coop.ids import EntryId, is_uuid
from coop.ledger.kinds import POWDERS, LotReceived, OrderPlaced, SupplyDescribed
from coop.ledger.schema import Refused, Slip, faults_of
from coop.ledger.states import SupplierState, SupplyState
from coop.ledger.wire import nest
from coop.rules.storage import keeps_days
from coop.store.desk import Desk
from coop.units.fault import NotUnderstood
from coop.units.names import REAMS
from coop.units.number import read_number
from coop.units.quantity import Quantity
from coop.units.sheets import read_sheets
from coop.units.table import UNITS, VOLUME
from coop.web import words as say
from coop.web.doses import fault_text, number_text, quantity_text
from coop.web.fields import (
    POURED,
    TYPED_MAX,
    VOLUMES,
    WEIGHTS,
    MoneyField,
    NumberField,
    UnitField,
)
from coop.web.forms import EntryForm, Happened
from coop.web.hazard_words import card_url
from coop.web.i18n import N_, AsItIs, Words
from coop.web.page import new_id, now, who, words
from coop.web.powder import LIQUID
from coop.web.stock import amount_text, days_text
from coop.web.storing import standing_apart, storing
from coop.web.told import typed

CARRAGEENAN = "carrageenan"
SOFTENER = "softener"
SODAS_OF = ("soda", SOFTENER)
"""Supplies that may be a soda: which form it is decides how much of it is weighed."""
NO_SODA = "none"
"""Said of a softener that is no soda; the ledger is told nothing of a soda then."""
SOME = "some"
REAMS_USUAL = tuple(int(one) for one in REAMS)


class LotForm(EntryForm, Happened):
    """
    A lot as it was bought, and what all of it cost.

    `fixed` are the parts of the body that nobody is asked.
    """

    kind: ClassVar[str] = "lot.received"
    beside: ClassVar[frozenset[str]] = frozenset({"price", "price_id"})
    fixed: Mapping[str, str] = MappingProxyType({})

    studio = RadioField(
        N_("Studio"), validators=[InputRequired(N_("Choose the studio that it came to."))]
    )
    name = StringField(
        N_("Name of the lot"),
        validators=[InputRequired(N_("Say what you write on it, for example K-3."))],
        description=N_("What you write on it, for example K-3."),
    )
    pack_count = StringField(N_("Packs"), default="1")
    sold_by = SelectField(N_("Supplier"), default="")
    supplier = StringField(N_("Supplier's name"), validators=[Optional()])
    best_before = StringField(N_("Best before, as the label says"), render_kw={"type": "date"})
    opened_days = StringField(
        N_("Keeps once opened"),
        description=N_("Only where the label says it; else it goes by the supply."),
    )
    price = MoneyField(
        N_("Price of all of it"),
        description=N_("What all packs of this lot cost together, in the house's money."),
    )
    price_id = HiddenField(default=new_id)

    def validate(self, extra_validators: Any = None) -> bool:
        """Tell every fault at once: whoever has a parcel in hand sends it twice at most."""
        super().validate(extra_validators)
        for refused in self._faults():
            field = self._nearest(refused.field)
            if field is None or not field.errors:
                self.take(refused)
        return not self.errors

    def _faults(self) -> Iterator[Refused]:
        """Give what the ledger would refuse, each field by itself."""
        pairs = defaultdict(list)
        for name, value in self._pairs():
            pairs[name.partition(".")[0]].append((name, value))
        body: dict[str, Any] = dict(self.fixed)
        for some in pairs.values():
            try:
                body |= nest(some)
            except Slip as slip:
                yield slip.refused
        yield from faults_of(LotReceived, body)

    def write_price(self, desk: Desk, lot: EntryId) -> None:
        """
        Write what all of it cost, where that was typed; typed anew, the last one holds.

        Raises:
            Slip: It is refused.
        """
        if "price" not in self or not self.price.data:
            return
        body = {"lot": lot, "price": self.price.data}
        for made in (str(self.price_id.data), new_id()):
            if not is_uuid(made):
                raise Slip("entry_id", "not-an-id")
            said = Draft(id=EntryId(made), kind="lot.priced", body=body)
            outcome = write(desk.journal, who(), said, now=now())
            if isinstance(outcome, Refused):
                raise Slip("price", outcome.code, **dict(outcome.limits))
            if isinstance(outcome, Written):
                return

    @property
    def held(self) -> Field:
        """The field of what one pack holds; each form of packs names its own."""
        raise NotImplementedError

    def each(self) -> Fraction | None:
        """Return what one pack holds, in its unit; None while that is no number."""
        said = self.named.get(self.held.short_name.removesuffix(".typed"))
        return _number(self.held) if said is None else said.n

    def amount(self, words: Words, n: Fraction) -> str:
        """Say so much of what its packs hold; each form of packs has its own words."""
        raise NotImplementedError

    def _pairs(self) -> Iterator[tuple[str, str]]:
        """Leave out a name that was typed before a supplier was chosen."""
        for name, value in super()._pairs():
            if name != "supplier" or not self.sold_by.data:
                yield name, value


HOLDS = InputRequired(N_("Say what one of them holds, for example 454 g or 2.5 L."))
WHICH_SODA = N_("Choose the soda that stands on the jar.")


class WeighedLotForm(LotForm):
    """One pack's weight, and that of its tub alone."""

    weight_typed = StringField(N_("Each holds"), name="weight.typed", validators=[HOLDS])
    weight_unit = UnitField(N_("Unit"), name="weight.unit", units=WEIGHTS, default="g")
    tare_typed = StringField(
        N_("The empty tub weighs"),
        name="tare.typed",
        description=N_("If you know: then the open tub is weighed without pouring it out."),
    )
    tare_unit = UnitField(N_("Tub weighed in"), name="tare.unit", units=WEIGHTS, default="g")

    @property
    def held(self) -> Field:
        return self.weight_typed

    def amount(self, words: Words, n: Fraction) -> str:
        return _in_unit(words, n, self.weight_unit.data)


class AlumForm(WeighedLotForm):
    """A bag of alum is bought by the kilogram."""

    salt = RadioField(
        N_("Which salt"),
        validators=[InputRequired(N_("Choose the salt that stands on the tub."))],
    )
    weight_unit = UnitField(N_("Unit"), name="weight.unit", units=WEIGHTS, default="kg")


class PowderForm(WeighedLotForm):
    weight_unit = UnitField(
        N_("Unit"), name="weight.unit", units=(*WEIGHTS, *POURED), default="g"
    )
    what = RadioField(
        N_("Which powder"), validators=[InputRequired(N_("Choose the powder that came."))]
    )
    carrageenan = RadioField(
        N_("Which carrageenan"),
        description=N_("Only lambda is for marbling: kappa and iota set to a jelly."),
        validators=[Optional()],
    )
    soda = RadioField(N_("If it is a soda, which"), validators=[Optional()])

    def validate(self, extra_validators: Any = None) -> bool:
        """Ask for what is not seen on the tray: the type of a carrageenan, of a soda."""
        super().validate(extra_validators)
        if self.what.data == CARRAGEENAN and not self.carrageenan.data:
            self.carrageenan.errors = [N_("Choose the type; if nobody knows it, say so.")]
        if self.what.data in SODAS_OF and not self.soda.data:
            self.soda.errors = [WHICH_SODA]
        return not self.errors

    def _pairs(self) -> Iterator[tuple[str, str]]:
        """Say only what goes with the powder; gall may come by volume."""
        unfit = {
            name
            for name, whats in (("carrageenan", (CARRAGEENAN,)), ("soda", SODAS_OF))
            if self.what.data not in whats
        }
        if self.soda.data == NO_SODA:
            unfit.add("soda")
        poured = self.what.data == LIQUID and self.weight_unit.data in POURED
        for name, value in super()._pairs():
            if name not in unfit:
                held = poured and name.startswith("weight.")
                yield name.replace("weight.", "volume.") if held else name, value

    def _nearest(self, name: str) -> Field | None:
        """Return the field of a refusal: of gall by volume, where its amount was typed."""
        return super()._nearest(name.replace("volume", "weight"))


class SheetsField(StringField):
    """A count of sheets, or "1 ream of 480": `data` is the count, the box keeps the words."""

    typed = ""

    def process_data(self, value: Any) -> None:
        super().process_data(value)
        self.typed = str(value or "")

    def process_formdata(self, valuelist: list[Any]) -> None:
        if not valuelist:
            return
        self.typed = str(valuelist[0])[:TYPED_MAX]
        self.data = self.typed
        if not any(one.isalpha() for one in self.typed):
            return
        try:
            found = in_any_tongue(
                lambda tongue: read_sheets(self.typed, words=tongue), words().lang
            )
        except NotUnderstood as fault:
            raise ValueError(AsItIs(fault_text(words(), fault))) from None
        self.data = str(found.sheets)

    def _value(self) -> str:
        return self.typed


class PaperForm(LotForm):
    paper = RadioField(
        N_("Which paper"), validators=[InputRequired(N_("Choose the paper that came."))]
    )
    sheet_count = SheetsField(
        N_("Full sheets in each"),
        validators=[
            InputRequired(N_("Say how many full sheets one of them holds: 500, or 480."))
        ],
        description=N_(
            "Count them, or write “1 ream of 480”: a ream holds 500 today, 480 of old, 516 at "
            "printers; a quire 24 or 25."
        ),
    )
    grain = RadioField(N_("Grain"), validators=[Optional()])
    chalk = RadioField(
        N_("Chalk in this lot"),
        description=N_("Lots of one paper differ. Left open, it is as the paper says."),
        validators=[Optional()],
    )
    chalk_g_per_m2 = NumberField(
        N_("How much chalk"), description=N_("Where the mill or a test says it.")
    )

    @property
    def held(self) -> Field:
        return self.sheet_count

    def amount(self, words: Words, n: Fraction) -> str:
        return say.full_sheets(words, float(n))

    def _pairs(self) -> Iterator[tuple[str, str]]:
        for name, value in super()._pairs():
            if name != "chalk_g_per_m2" or self.chalk.data == SOME:
                yield name, value


class WeighedForm(WeighedLotForm):
    soda = RadioField(N_("Which soda"), validators=[InputRequired(WHICH_SODA)])


class PouredForm(LotForm):
    volume_typed = StringField(N_("Each holds"), name="volume.typed", validators=[HOLDS])
    volume_unit = UnitField(N_("Unit"), name="volume.unit", units=VOLUMES, default="l")

    @property
    def held(self) -> Field:
        return self.volume_typed

    def amount(self, words: Words, n: Fraction) -> str:
        return _in_unit(words, n, self.volume_unit.data)


class PiecesForm(LotForm):
    piece_count = StringField(
        N_("Pieces in each"),
        validators=[
            InputRequired(N_("Say how many pieces one of them holds, for example 100."))
        ],
    )

    @property
    def held(self) -> Field:
        return self.piece_count

    def amount(self, words: Words, n: Fraction) -> str:
        return amount_text(words, "supply", "pieces", int(n))


def page_of(look: SupplyLook) -> str:
    """Return which form a supply is received by: alum, powder, paper or supply."""
    return "powder" if look.group in POWDERS else look.group


def form_for(what: str, look: SupplyLook | None, said: Mapping[str, Any]) -> LotForm:
    """
    Return the form of a lot, filled in with what an order or the supply says.

    Args:
        what: alum, powder, paper or supply.
        look: The supply it is of, where that is known already.
        said: What `proposed` returned.
    """
    if what != "supply":
        return {"alum": AlumForm, "powder": PowderForm, "paper": PaperForm}[what](data=said)
    assert look is not None, "a described supply is chosen first"
    measure = look.supply.measure
    form = {"weight": WeighedForm, "volume": PouredForm, "pieces": PiecesForm}[measure](
        data=said
    )
    if isinstance(form, WeighedForm) and look.supply.what not in SODAS_OF:
        del form.soda
    return form


def proposed(*said: OrderPlaced | SupplyDescribed | None) -> dict[str, Any]:
    """Return what fills a form in: packs and supplier as each says, the last one first."""
    shown: dict[str, Any] = {}
    for one in said:
        if one is None:
            continue
        if one.pack is not None:
            poured = one.pack.dimension == VOLUME and one.what not in POWDERS
            stem = "volume" if poured else "weight"
            shown |= {f"{stem}_typed": typed(one.pack), f"{stem}_unit": one.pack.unit}
        if one.pack_count is not None:
            shown |= dict.fromkeys(("sheet_count", "piece_count"), str(one.pack_count))
        if one.sold_by is not None:
            shown["sold_by"] = str(one.sold_by)
    return shown


def total_text(words: Words, form: LotForm) -> str:
    """Say what all packs hold together: '2 of 454 g: 908 g in all.'; empty for one."""
    packs = _number(form.pack_count)
    each = form.each()
    if packs is None or each is None or packs <= 1:
        return ""
    return words.gettext(
        "%(packs)s of %(each)s: %(total)s in all.",
        packs=number_text(words, packs),
        each=form.amount(words, each),
        total=form.amount(words, packs * each),
    )


def _number(field: Field) -> Fraction | None:
    try:
        return read_number(str(field.data or ""))
    except NotUnderstood:
        return None


def _in_unit(words: Words, n: Fraction, unit: str) -> str:
    """Say so much of a unit; the number alone while no unit is chosen."""
    if unit not in UNITS:
        return number_text(words, n)
    return quantity_text(words, Quantity("", n, unit))


def reams_text(words: Words, suppliers: Iterable[SupplierState]) -> str:
    """Say whose ream holds how many sheets; empty where nobody wrote it down."""
    return " ".join(
        words.gettext(
            "A ream of %(supplier)s holds %(sheets)s.",
            supplier=one.name,
            sheets=say.full_sheets(words, one.ream_sheets),
        )
        for one in suppliers
        if one.ream_sheets is not None
    )


def reams_of(suppliers: Iterable[SupplierState]) -> tuple[int, ...]:
    """Return the sizes of a ream to choose from: the usual ones, and those of suppliers."""
    said = {one.ream_sheets for one in suppliers if one.ream_sheets is not None}
    return tuple(sorted({*REAMS_USUAL, *said}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """
    How a supply is kept, and what must not stand beside it; `beside` is when to show it.

    `card_url` is the address of its safety card, empty for none.
    """

    name: str
    beside: str
    sentences: tuple[str, ...]
    card_url: str


def kept(
    words: Words, what: str, supply: SupplyState | None, others: Iterable[str] = ()
) -> Kept:
    """
    Return how a supply is kept: first what of the shelf must stand apart from it.

    Args:
        what: One of `coop.ledger.kinds.SUPPLIES`.
        supply: What the house says of it, if anything.
        others: What stands on the shelves, as the same codes.
    """
    apart = [standing_apart(words, (what, one)) for one in sorted(others)]
    sentences = (
        *dict.fromkeys(text for texts in apart for text in texts),
        *storing(words, what),
        *filter(None, (keeping(words, what, supply),)),
    )
    beside = f"what={what}" if what in POWDERS else ""
    return Kept(
        name=say.choice(words, "supply", what),
        beside=beside,
        sentences=sentences,
        card_url=card_url(what, salt=supply.salt if supply else None),
    )


def keeping(words: Words, what: str, supply: SupplyState | None) -> str:
    """Say how long a supply keeps: as the house says, else as is usual; empty if for ever."""
    said_sealed, said_opened = (
        (supply.sealed_days, supply.opened_days) if supply else (None, None)
    )
    sealed = said_sealed or keeps_days(what, opened=False)
    opened = said_opened or keeps_days(what, opened=True)
    said = {"sealed": days_text(words, sealed), "opened": days_text(words, opened)}
    if sealed and opened:
        return words.gettext(
            "It keeps %(sealed)s sealed and %(opened)s once opened, unless the label says "
            "otherwise.",
            **said,
        )
    if sealed:
        return words.gettext("It keeps %(sealed)s, unless the label says otherwise.", **said)
    if opened:
        return words.gettext(
            "It keeps %(opened)s once opened, unless the label says otherwise.", **said
        )
    return ""
