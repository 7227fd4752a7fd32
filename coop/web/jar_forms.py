"""Forms of a waste jar: set it up, put something in, have it collected."""

from typing import Any, ClassVar

from wtforms import Field, HiddenField, RadioField, StringField, ValidationError

from coop.ledger.states import JarState
from coop.ledger.wastes import RINSE_ML_PER_SHEET
from coop.units.fault import NotUnderstood
from coop.units.number import read_number
from coop.units.quantity import Quantity
from coop.units.table import UNITS
from coop.web import words as say
from coop.web.fields import (
    NEEDED,
    VOLUMES,
    WEIGHTS,
    ManyField,
    NumberField,
    UnitField,
    longest,
)
from coop.web.forms import EntryForm, Happened, Noted, options
from coop.web.i18n import N_
from coop.web.page import words

NAME_MAX = 40
DIGITS_MAX = 6
"""Numbers of more digits are no count of sheets; the core says so."""
WHO_MAX = 60
DAY = {"type": "date"}
KNOWN = ("yes", "no")
LIDS = (("no", N_("stays open")), ("yes", N_("is closed")))
FULL = (("no", N_("there is room")), ("yes", N_("it is full now")))


class StartForm(Happened, EntryForm):
    """A jar is set up; where it stands is asked only where a rule goes by that."""

    kind: ClassVar[str] = "waste.started"

    name = StringField(
        N_("Its name"),
        [NEEDED, longest(NAME_MAX)],
        description=N_("As it stands on the jar: rinse drum, alum can 2."),
    )
    sort = RadioField(N_("What is it?"), [NEEDED], validate_choice=False)
    holds_typed = StringField(N_("How much does it hold?"), [NEEDED], name="holds.typed")
    holds_unit = UnitField(N_("Unit"), name="holds.unit", units=VOLUMES, validate_choice=False)
    wastes = ManyField(
        N_("What goes into it?"),
        description=N_("One kind for each jar is best: what is mixed is hard to get rid of."),
        validate_choice=False,
    )
    place = StringField(
        N_("Where does it stand?"),
        [longest(NAME_MAX)],
        description=N_("Not by a drain, and out of the reach of children."),
    )
    tags = ManyField(
        N_("Hazard words"),
        description=N_(
            "What the suppliers' own safety sheets name of what goes in; none where they name "
            "none."
        ),
        validate_choice=False,
    )
    full_by = StringField(N_("Full by"), render_kw=DAY)
    collect_by = StringField(N_("Collected by"), render_kw=DAY)
    area = RadioField(
        N_("Where does the waste jar stand?"),
        description=N_("A rule in force here goes by that."),
        validate_choice=False,
    )

    def offer(self, *, area: bool) -> None:
        """Fill the lists; the area is left out where no rule asks for it."""
        self.sort.choices = options(say.choices(words(), "jar_sort"))
        self.wastes.choices = options(say.choices(words(), "waste"))
        self.tags.choices = options(say.choices(words(), "hazard_tag"))
        self.area.choices = options(say.choices(words(), "jar_area"))
        if not area:
            del self.area

    def validate_collect_by(self, field: Field) -> None:
        """Refuse a jar that is to be collected before it is full."""
        full, collect = str(self.full_by.data or ""), str(field.data or "")
        if full and collect and collect < full:
            raise ValidationError(
                words().gettext("It is full by %(day)s: that day or a later one.", day=full)
            )


class AddForm(Happened, Noted, EntryForm):
    """Something goes into a jar; how its lid is stands beside the entry."""

    kind: ClassVar[str] = "waste.added"
    beside: ClassVar[frozenset[str]] = frozenset({"closed"})

    litres_typed = StringField(N_("How many litres?"), name="litres.typed")
    litres_unit = UnitField(
        N_("Unit"), name="litres.unit", units=VOLUMES, validate_choice=False
    )
    weight_typed = StringField(N_("Or how heavy is it?"), name="weight.typed")
    weight_unit = UnitField(
        N_("Weighed in"), name="weight.unit", units=WEIGHTS, validate_choice=False
    )
    substances = ManyField(
        N_("What is in it?"),
        description=N_("Whatever was put to it as well, even a little."),
        validate_choice=False,
    )
    metal_pigments = RadioField(
        N_("Are metal pigments in it?"),
        description=N_(
            "Cadmium, cobalt, chromium, lead, copper, zinc: see the colour's label."
        ),
        default="not_known",
        validate_choice=False,
    )
    closed = RadioField(
        N_("Its lid, once this is in"),
        description=N_("Closed only where nothing in it can give off gas."),
        validate_choice=False,
    )
    full = RadioField(
        N_("Is there room left?"),
        description=N_("Look into it: what is weighed says nothing of how full it is."),
        default="no",
        validate_choice=False,
    )

    def offer(self, *, litres: bool, weight: bool) -> None:
        """Fill the lists, and leave out how it is not measured."""
        self.substances.choices = options(say.choices(words(), "substance"))
        self.metal_pigments.choices = options(say.choices(words(), "yes_no_not_known"))
        self.closed.choices = options((code, words().gettext(text)) for code, text in LIDS)
        self.full.choices = options((code, words().gettext(text)) for code, text in FULL)
        if not litres:
            del self.litres_typed, self.litres_unit
        if not weight:
            del self.weight_typed, self.weight_unit

    def typed_ml(self) -> float | None:
        """Return the litres that are typed [mL]; None while they are no amount."""
        if "litres_typed" not in self:
            return None
        if "litres" in self.named:
            return float(self.named["litres"].base)
        return amount(str(self.litres_typed.data or ""), str(self.litres_unit.data or ""))


class RinseForm(EntryForm):
    """Rinse water of so many sheets: one number, or the button `rinsed` that says it."""

    kind: ClassVar[str] = "waste.added"
    beside: ClassVar[frozenset[str]] = frozenset({"rinsed"})

    rinsed = HiddenField()
    sheet_count = NumberField(N_("How many sheets were rinsed?"))
    metal_pigments = RadioField(
        N_("Are metal pigments in it?"),
        [NEEDED],
        description=N_("While nobody knows, a drain can be closed to all that is in here."),
        validate_choice=False,
    )

    def offer(self, jar: JarState) -> None:
        """Fill the list; what somebody knew of metal colours last stands chosen."""
        self.metal_pigments.choices = options(say.choices(words(), "yes_no_not_known"))
        if jar.parts and not self.is_submitted() and jar.parts[-1].metal_pigments in KNOWN:
            self.metal_pigments.data = jar.parts[-1].metal_pigments

    def body(self) -> dict[str, Any]:
        """Return the body; the button that was pressed is the number."""
        return super().body() | {"sheet_count": self._count}

    @property
    def _count(self) -> str:
        return str(self.rinsed.data or self.sheet_count.data or "")

    def fits(self, room_ml: float, told: str) -> bool:
        """Say whether it fits into the jar, and beside the field where it does not."""
        count = self._count
        is_count = count.isdecimal() and len(count) <= DIGITS_MAX
        if is_count and int(count) * RINSE_ML_PER_SHEET > room_ml:
            self.sheet_count.errors = [told]
            return False
        return True


class CollectForm(Happened, Noted, EntryForm):
    """Somebody who may took it away."""

    kind: ClassVar[str] = "waste.collected"

    by = StringField(
        N_("Who took it?"),
        [NEEDED, longest(WHO_MAX)],
        description=N_("Whoever is licensed for it where you are; ask for their paper."),
    )
    to = StringField(N_("Where does it go?"), [longest(WHO_MAX)])
    reference = StringField(
        N_("Their number"),
        [longest(WHO_MAX)],
        description=N_("What stands on the receipt."),
    )
    litres_typed = StringField(
        N_("How many litres?"),
        name="litres.typed",
        description=N_("Leave it empty when they took all of it."),
    )
    litres_unit = UnitField(
        N_("Unit"), name="litres.unit", units=VOLUMES, validate_choice=False
    )
    jar_gone = RadioField(N_("Did the jar go too?"), default="no", validate_choice=False)

    def offer(self) -> None:
        """Fill the lists in the member's language."""
        self.jar_gone.choices = options(say.choices(words(), "yes_no"))


def amount(typed: str, unit: str) -> float | None:
    """Return a typed amount in the unit of its kind [mL or g]; None while it is none."""
    if not typed.strip() or unit not in UNITS:
        return None
    try:
        return float(Quantity(typed, read_number(typed, low=0), unit).base)
    except NotUnderstood:
        return None
