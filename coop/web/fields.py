"""Fields that take numbers as people write them, and what a form shows of what was said."""

from dataclasses import fields
from fractions import Fraction
from typing import Any, ClassVar

from wtforms import SelectMultipleField, StringField
from wtforms.validators import InputRequired, Length
from wtforms.widgets import CheckboxInput

from coop.units.fault import NotUnderstood
from coop.units.number import NUMBER_MAX, read_number, unwire, wire
from coop.units.quantity import Quantity
from coop.web.i18n import N_

NEEDED = InputRequired(N_("This is needed."))
TYPED_MAX = 120

LENGTHS = ("mm", "cm", "inch")
VOLUMES = ("l", "ml", "us_gallon", "imp_gallon")
TEMPERATURES = ("celsius", "fahrenheit")


def longest(characters: int) -> Length:
    """Return the guard of a line of text; the core says how many when it is too long."""
    return Length(max=characters, message=N_("Shorter, please."))


class ManyField(SelectMultipleField):
    """Several of a list, each to be ticked."""

    option_widget = CheckboxInput()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.type = SelectMultipleField.__name__  # what the pages' parts know it by


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
        """Return what stands in the box for what is in a body."""
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
        return wire(unwire(said) * 100)


class MoneyField(NumberField):
    """An amount of money: to the hundredth, which is never rounded in silence."""

    def said(self, number: Fraction) -> str:
        if (number * 100).denominator != 1:
            raise ValueError(N_("At most two decimals, please: 31.78."))
        return wire(number)


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
