"""Fields that take numbers as people write them, and what a form shows of what was said."""

from collections.abc import Callable, Mapping
from dataclasses import fields
from fractions import Fraction
from types import MappingProxyType
from typing import Any, ClassVar, Final

from markupsafe import Markup
from wtforms import SelectField, SelectMultipleField, StringField
from wtforms.validators import InputRequired, Length
from wtforms.widgets import CheckboxInput, html_params

from coop.actions.read_dose import in_any_tongue
from coop.ledger.schema import Refused
from coop.ledger.table import HOUSE
from coop.units.amount import read_amount
from coop.units.fault import NotUnderstood
from coop.units.measured import (
    G_PER_L,
    OZ_PER_US_GALLON,
    US_OF,
    Measured,
    convert,
    names_a_unit,
    read_measured,
)
from coop.units.number import NUMBER_MAX, WIRE_DECIMALS, read_number, unwire, wire
from coop.units.quantity import Quantity, number_text
from coop.units.table import MASS, UNITS, VOLUME
from coop.units.temperature import read_temperature
from coop.web import amounts
from coop.web import words as say
from coop.web.doses import UNIT_NAMES, fault_text, quantity_text
from coop.web.forms import options
from coop.web.i18n import N_, AsItIs, Words
from coop.web.measures import meant_here
from coop.web.page import desk, words

NEEDED = InputRequired(N_("This is needed."))
TYPED_MAX = 120

LENGTHS = ("mm", "cm", "inch")
VOLUMES = ("l", "ml", "us_gallon", "imp_gallon")
POURED = ("ml", "l", "us_fl_oz", "us_gallon", "imp_gallon")
WEIGHTS = ("g", "kg", "lb", "oz")
TEMPERATURES = ("celsius", "fahrenheit")
COLDEST_C: Final = -5
WARMEST_C: Final = 60
"""What the ledger takes for a temperature."""


def longest(characters: int) -> Length:
    """Return the guard of a line of text; the core says how many when it is too long."""
    return Length(max=characters, message=N_("Shorter, please."))


class ManyField(SelectMultipleField):
    """Several of a list, each to be ticked."""

    option_widget = CheckboxInput()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.type = SelectMultipleField.__name__  # what the pages' parts know it by


def own_order(units: tuple[str, ...]) -> tuple[str, ...]:
    """Return units with those of the member's own measures first."""
    if not words().us:
        return units
    own = (US_OF[one] for one in units if US_OF.get(one) in units)
    return tuple(dict.fromkeys((*own, *units)))


class UnitField(SelectField):
    """
    The unit of the amount that is typed beside it: the member's own stand first.

    Args:
        units: Codes of units, a metric one first; the first is proposed.
        default: The metric unit that is proposed instead.
    """

    kept: tuple[str, ...] = ()

    def __init__(
        self, *args: Any, units: tuple[str, ...] = (), default: str = "", **kwargs: Any
    ) -> None:
        self.units = units
        proposed = US_OF.get(default, default) if words().us else default
        super().__init__(*args, default=proposed or None, **kwargs)

    def process_data(self, value: Any) -> None:
        super().process_data(value)
        self.kept = (value,) if value in UNIT_NAMES else ()
        self.offer(self.units)

    def offer(self, units: tuple[str, ...]) -> None:
        """Fill the list; a unit that an older amount was said in stays on it."""
        codes = dict.fromkeys((*own_order(units), *self.kept))
        self.choices = options((one, words().gettext(UNIT_NAMES[one][1])) for one in codes)

    def read_beside(self, typed: str, *, heaps: bool) -> Quantity | None:
        """
        Return an amount that names its own unit, and choose that unit; None of a bare number.

        Args:
            typed: What stands in the box: "1 lb 4 oz", "68 F".
            heaps: Whether the form asks how a spoon is heaped.

        Raises:
            ValueError: It names a unit and is not understood, or is a temperature that only
                the other scale makes sense of; with the sentence for it.
        """
        try:
            found = self._understood(typed) if names_a_unit(typed) else None
            if found is not None and found.heap and not heaps:
                raise NotUnderstood("heap-on-what", typed, (0, len(typed)))
            _check_scale(typed, found.unit if found else str(self.data))
        except NotUnderstood as fault:
            if not any(one.isdigit() for one in typed):
                return None  # it is asked for a number where the amount is read
            raise ValueError(AsItIs(fault_text(words(), fault))) from None
        if found is not None:
            self.data = found.unit
            self.kept = (found.unit,)
            self.offer(self.units)
        return found

    def _understood(self, typed: str) -> Quantity:
        """Read an amount as what the list measures; what is chosen settles a bare ounce."""
        kinds = meant_here(desk().journal.state("house", HOUSE)).kinds
        chosen = UNITS[self.data].dimension if self.data in UNITS else None
        measures = {UNITS[one].dimension for one in self.units if one in UNITS}

        def read(want: str | None) -> Quantity:
            return in_any_tongue(
                lambda tongue: read_amount(typed, kinds, want, words=tongue), words().lang
            )

        try:
            return read(chosen)
        except NotUnderstood as fault:
            if fault.code != "wrong-dimension" or len(measures) == 1:
                raise
        found = read(None)
        if found.dimension not in (measures or (MASS, VOLUME)):
            raise NotUnderstood("wrong-dimension", typed, (0, len(typed)), (MASS, VOLUME))
        return found


def _check_scale(typed: str, unit: str) -> None:
    """Ask whether the other scale is meant, where this one makes no temperature of it."""
    if unit not in TEMPERATURES:
        return
    scaled = typed if names_a_unit(typed) else f"{typed} {UNITS[unit].one}"
    try:
        in_any_tongue(
            lambda tongue: read_temperature(scaled, COLDEST_C, WARMEST_C, words=tongue),
            words().lang,
        )
    except NotUnderstood as fault:
        if fault.code == "other-scale":
            raise


class NumberField(StringField):
    """A number as people write it: `data` is its wire form, the box keeps what was typed."""

    typed = ""
    low: ClassVar[int] = 0

    def process_data(self, value: Any) -> None:
        self.data = None if value is None else str(value)
        self.typed = "" if value is None else self.shown(str(value))

    def process_formdata(self, valuelist: list[Any]) -> None:
        if not valuelist:
            return
        self.typed = str(valuelist[0])[:TYPED_MAX]
        self.data = ""
        if not self.typed.strip():
            return
        try:
            self.data = self.said(read_number(self.typed, low=self.low))
        except NotUnderstood as fault:
            raise ValueError(_wrong(fault)) from None

    def said(self, number: Fraction) -> str:
        """Return what goes into the body."""
        return wire(number)

    def shown(self, said: str) -> str:
        """Return what stands in the box for what is in a body: 1.1250, not 1.125."""
        try:
            read_number(said, low=self.low)
        except NotUnderstood as fault:
            asked = fault.code == "thousands-or-decimals"
            return number_text(unwire(said)) if asked else said
        return said

    def _value(self) -> str:
        return self.typed


class SignedField(NumberField):
    """A number that may be under zero."""

    low: ClassVar[int] = -NUMBER_MAX


class PercentField(NumberField):
    """A fraction, typed and shown in percent."""

    def said(self, number: Fraction) -> str:
        return wire(number / 100)

    def shown(self, said: str) -> str:
        return super().shown(wire(unwire(said) * 100))


class MoneyField(NumberField):
    """An amount of money: to the hundredth, which is never rounded in silence."""

    def said(self, number: Fraction) -> str:
        if (number * 100).denominator != 1:
            raise ValueError(N_("At most two decimals, please: 31.78."))
        return wire(number)


SYMBOLS: Final[Mapping[str, str]] = MappingProxyType(
    {
        G_PER_L: N_("g/L"),
        OZ_PER_US_GALLON: N_("oz wt/US gal"),
        "l": N_("L"),
        "us_gallon": N_("US gal"),
        "ml": N_("mL"),
        "us_fl_oz": N_("US fl oz"),
        "g": N_("g"),
        "oz": N_("oz"),
        "kg": N_("kg"),
        "lb": N_("lb"),
        "mm": N_("mm"),
        "inch": N_("in"),
        "celsius": N_("°C"),
        "fahrenheit": N_("°F"),
    }
)
_SAID: Final[Mapping[str, Callable[[Words, float], str]]] = MappingProxyType(
    {
        G_PER_L: lambda words, n: amounts.g_per_l(words, n, 1),
        "l": lambda words, n: amounts.volume(words, 1000 * n, 2),
        "ml": amounts.small_volume,
        "g": lambda words, n: amounts.weight(words, n, 1),
        "kg": lambda words, n: amounts.weight(words, 1000 * n),
        "mm": lambda words, n: amounts.length(words, n, 1),
        "celsius": lambda words, n: amounts.warmth(words, n, 1),
    }
)


_DENOMINATOR_MAX: Final = 10**WIRE_DECIMALS
"""The largest lower number of a fraction that is kept as one."""
REFUSED_DIGITS: Final = 2
_ROUNDED_TO: Final = (2, 3, 4)
"""The decimals to which a converted figure is tried for the box."""


class MeasuredField(NumberField):
    """
    A number of one metric unit, typed bare in the member's own, or with any of its sort.

    `data` is the wire form of the metric number, exact where the wire can carry it. The box
    keeps what was typed; what it shows of a kept number always reads back as the same number.

    Args:
        unit: A key of `coop.units.measured.US_OF`: "g_per_l", "l", "mm", "celsius" ...
        own: Whether a number alone is in the member's unit; of a form that a phone keeps it
            is metric for everybody, as its script converts nothing.
    """

    found: Measured | None = None
    sent_in = ""

    def __init__(self, *args: Any, unit: str, own: bool = True, **kwargs: Any) -> None:
        assert unit in US_OF
        self.unit = unit
        self.own = own
        super().__init__(*args, **kwargs)

    def __call__(self, **kwargs: object) -> Markup:
        """Draw the box, and in which unit it is shown: whoever is sent its address knows."""
        box = Markup(super().__call__(**kwargs))  # noqa: S704  # drawn by the library
        if not self.own:
            return box
        beside = html_params(type="hidden", name=f"{self.name}-in", value=self.bare)
        return box + Markup(f"<input {beside}>")  # noqa: S704  # escaped by the library

    def process(self, formdata: Any, *args: Any, **kwargs: Any) -> None:
        """Read the form; a number alone is in the unit its box was shown in."""
        sent_in = formdata.get(f"{self.name}-in", "") if formdata is not None else ""
        self.sent_in = sent_in if self.own and sent_in in (self.unit, US_OF[self.unit]) else ""
        super().process(formdata, *args, **kwargs)

    @property
    def bare(self) -> str:
        """The unit of a number alone: the member's."""
        return US_OF[self.unit] if self.own and words().us else self.unit

    @property
    def unit_text(self) -> str:
        """What stands beside the box: the symbol of the member's unit."""
        return words().gettext(SYMBOLS[self.bare])

    @property
    def named(self) -> str:
        """What was typed, with its unit, for an address that is built anew."""
        if not self.data or names_a_unit(self.typed):
            return self.typed
        return f"{self.typed.strip()} {SYMBOLS[self.bare]}"

    @property
    def understood(self) -> str:
        """What was understood of an amount in another unit than the member's."""
        if self.found is None or not self.found.said:
            return ""
        meant = _SAID[self.unit](words(), float(self.found.number))
        return words().gettext(
            "%(typed)s: %(meant)s", typed=_named(words(), self.found.said), meant=meant
        )

    def refusal(self, refused: Refused) -> str:
        """Say what is wrong; the ends of what would be right are said as the member reads."""
        limits = dict(refused.limits)
        if self.bare == self.unit or refused.code != "out-of-range":
            return say.refusal(words(), refused)
        low, high = (
            float(convert(Fraction(limits[name]), self.unit, self.bare))
            for name in ("low", "high")
        )
        return words().gettext(
            say.REFUSALS[refused.code],
            low=words().number(low, REFUSED_DIGITS),
            high=f"{words().number(high, REFUSED_DIGITS)} {self.unit_text}",
        )

    def process_formdata(self, valuelist: list[Any]) -> None:
        if not valuelist:
            return
        self.typed = str(valuelist[0])[:TYPED_MAX]
        self.data, self.found = "", None
        if not self.typed.strip():
            return
        if self.sent_in not in ("", self.bare) and not names_a_unit(self.typed):
            self.typed = f"{self.typed.strip()} {SYMBOLS[self.sent_in]}"
        try:
            self.found = self._read(self.typed)
        except NotUnderstood as fault:
            named = any(one.isdigit() for one in self.typed)
            text = AsItIs(fault_text(words(), fault)) if named else _wrong(fault)
            raise ValueError(text) from None
        self.data = _on_the_wire(self.found.number)

    def _read(self, typed: str) -> Measured:
        if not names_a_unit(typed):
            return read_measured(typed, self.unit, bare=self.bare, kinds=None)
        kinds = meant_here(desk().journal.state("house", HOUSE)).kinds
        return in_any_tongue(
            lambda tongue: read_measured(
                typed, self.unit, bare=self.bare, kinds=kinds, words=tongue
            ),
            words().lang,
        )

    def shown(self, said: str) -> str:
        """Return the number in the member's unit; where that is not exact, with another."""
        number = unwire(said)
        for unit in (self.bare, self.unit, US_OF[self.unit]):
            exact = convert(number, self.unit, unit)
            for figure in (exact, *(round(exact, places) for places in _ROUNDED_TO)):
                text = number_text(figure)
                text = text if unit == self.bare else f"{text} {SYMBOLS[unit]}"
                if self._says(text, said):
                    return text
        return f"{number_text(number)} {SYMBOLS[self.unit]}"

    def _says(self, text: str, said: str) -> bool:
        """Return whether a text reads back as just the number that is kept."""
        try:
            found = self._read(text)
        except NotUnderstood:
            return False
        same = _on_the_wire(found.number) == said
        if same and found.said:
            self.found = found
        return same


def _on_the_wire(number: Fraction) -> str:
    """Return a number as the wire has it: to the millionth where it cannot be exact."""
    if number.denominator > _DENOMINATOR_MAX:
        number = Fraction(round(number * 10**WIRE_DECIMALS), 10**WIRE_DECIMALS)
    return wire(number)


def _named(words: Words, said: tuple[Quantity, ...]) -> str:
    """Say the amounts that were named, each gallon with its kind."""
    if len(said) == 1:
        return quantity_text(words, said[0])
    return words.gettext(
        "%(amount)s to %(water)s",
        amount=quantity_text(words, said[0]),
        water=quantity_text(words, said[1]),
    )


def _wrong(fault: NotUnderstood) -> str:
    if fault.code == "thousands-or-decimals":
        return N_("Thousands or decimals? Write it without a group of three digits.")
    return N_("A number, please: 12, 0.5, 0,5 or 1/2.")


def prefill(content: Any) -> dict[str, Any]:
    """
    Return what a form shows of an entry's content.

    Keys are the form's attribute names: those of a quantity `brim` are `brim_typed` and
    `brim_unit`.
    """
    shown: dict[str, Any] = {}
    for field in fields(content):
        value = getattr(content, field.name)
        if isinstance(value, Quantity):
            shown[f"{field.name}_typed"] = value.typed or wire(value.n)
            shown[f"{field.name}_unit"] = value.unit
        elif isinstance(value, Fraction):
            shown[field.name] = wire(value)
        elif isinstance(value, tuple):
            shown[field.name] = list(value)
        elif value is not None:
            shown[field.name] = str(value)
    return shown
