"""The form of each instrument a bath is tested with; field names are those of the entry."""

from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import Any, ClassVar

from wtforms import HiddenField, RadioField, StringField
from wtforms.validators import InputRequired

from coop.actions.read_dose import in_any_tongue
from coop.units.fault import NotUnderstood
from coop.units.gravity import read_gravity
from coop.units.number import read_number, wire
from coop.web import words as say
from coop.web.doses import fault_text
from coop.web.fields import (
    LENGTHS,
    NEEDED,
    TEMPERATURES,
    TYPED_MAX,
    MeasuredField,
    NumberField,
    UnitField,
)
from coop.web.forms import EntryForm, Happened, options
from coop.web.i18n import N_, AsItIs
from coop.web.page import words
from coop.web.told import OUTCOMES

GRAVITY_MIN, GRAVITY_MAX = Fraction(9, 10), Fraction(13, 10)
GRAVITY_DECIMALS = 4
"""A tenth of a degree Baume is 0.0007."""
LITRES = ("l", "us_gallon", "imp_gallon")


class GravityField(StringField):
    """
    A specific gravity with point or comma: "1,021" can be nothing else here.

    Degrees name their scale: "2.9 Be", "4.2 Tw"; a number that is no gravity is asked for it.
    """

    typed = ""

    def process_formdata(self, valuelist: list[Any]) -> None:
        self.typed = str(valuelist[0])[:TYPED_MAX] if valuelist else ""
        self.data = self.typed
        if not self.typed.strip():
            return
        try:
            self.data = wire(read_number(self.typed, low=GRAVITY_MIN, high=GRAVITY_MAX))
        except NotUnderstood:
            self.data = wire(round(self._on_its_scale(), GRAVITY_DECIMALS))

    def _on_its_scale(self) -> Fraction:
        try:
            return in_any_tongue(
                lambda tongue: read_gravity(self.typed, words=tongue), words().lang
            ).sg
        except NotUnderstood as fault:
            raise ValueError(AsItIs(fault_text(words(), fault))) from None

    def _value(self) -> str:
        return self.typed


class ReadingForm(EntryForm, Happened):
    """What all instruments have in common."""

    kind: ClassVar[str] = "reading.taken"


def _outcome() -> RadioField:
    return RadioField(N_("How did it come out?"), validators=[InputRequired()])


def _temperature(label: str, *, needed: bool) -> StringField:
    guards = [InputRequired()] if needed else []
    return StringField(label, name="temperature.typed", validators=guards)


def temperature_scale() -> UnitField:
    """Return the choice of a thermometer's scale."""
    return UnitField(
        N_("Scale"), name="temperature.unit", units=TEMPERATURES, default="celsius"
    )


class StripForm(ReadingForm):
    instrument = HiddenField(default="strip_print")
    outcome = _outcome()


class DropForm(ReadingForm):
    instrument = HiddenField(default="drop_test")
    outcome = _outcome()
    spread_mm = MeasuredField(
        N_("How far did it spread?"),
        unit="mm",
        own=False,
        description=N_("At its widest; leave it empty if nobody measured."),
    )


class LookForm(ReadingForm):
    instrument = HiddenField(default="look")
    outcome = RadioField(N_("How does it look?"), validators=[InputRequired()])


class SmellForm(ReadingForm):
    """A smell is asked only where somebody said that the tag can be read."""

    instrument = HiddenField(default="smell")
    tag_read = HiddenField(default="yes")
    outcome = RadioField(N_("How does it smell?"), validators=[InputRequired()])


class FunnelForm(ReadingForm):
    instrument = HiddenField(default="funnel")
    funnel = StringField(
        N_("Which funnel?"),
        validators=[NEEDED],
        description=N_("By its name here: times of two funnels are not compared."),
        render_kw={"maxlength": "30"},
    )
    water_seconds = NumberField(
        N_("Plain water first"),
        description=N_("The same funnel full of tap water, from lifting the finger to empty."),
    )
    seconds = NumberField(N_("Then the size"), validators=[NEEDED])
    temperature = _temperature(N_("Temperature of the size"), needed=False)
    temperature_unit = temperature_scale()


class ThermometerForm(ReadingForm):
    instrument = HiddenField(default="thermometer")
    temperature = _temperature(N_("Temperature of the bath"), needed=True)
    temperature_unit = temperature_scale()


class TapeForm(ReadingForm):
    instrument = HiddenField(default="tape_line")
    litres = StringField(
        N_("Litres at the tape line"), name="litres.typed", validators=[InputRequired()]
    )
    litres_unit = UnitField(N_("Unit"), name="litres.unit", units=LITRES, default="l")


class DipstickForm(ReadingForm):
    instrument = HiddenField(default="dipstick")
    depth = StringField(
        N_("Depth by the dipstick"), name="depth.typed", validators=[InputRequired()]
    )
    depth_unit = UnitField(N_("Unit"), name="depth.unit", units=LENGTHS, default="mm")


class HydrometerForm(ReadingForm):
    instrument = HiddenField(default="hydrometer")
    gravity = GravityField(
        N_("Specific gravity"),
        validators=[InputRequired()],
        description=N_(
            "At the level of the liquid, not at the rim: for example 1.021. With degrees write "
            "the scale too: 2.9 Be, 4.2 Tw."
        ),
    )
    temperature = _temperature(N_("Temperature of the bath"), needed=True)
    temperature_unit = temperature_scale()


FORMS: Mapping[str, type[ReadingForm]] = MappingProxyType(
    {
        "strip_print": StripForm,
        "drop_test": DropForm,
        "look": LookForm,
        "smell": SmellForm,
        "funnel": FunnelForm,
        "thermometer": ThermometerForm,
        "tape_line": TapeForm,
        "dipstick": DipstickForm,
        "hydrometer": HydrometerForm,
    }
)


def reading_form(instrument: str) -> ReadingForm:
    """Return the form of an instrument, with its choices in this request's words."""
    form = FORMS[instrument]()
    group = OUTCOMES.get(instrument, "outcome")
    if "outcome" in form:
        form["outcome"].choices = options(say.choices(words(), group))

    form["instrument"].data = instrument
    return form
