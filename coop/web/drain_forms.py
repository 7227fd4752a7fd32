"""
Forms about drains: what is read of a liquid for its way out, the answer kept, what is gone.

Several stand on one page, each under its own prefix.
"""

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any, ClassVar, Final

from flask import request
from wtforms import HiddenField, RadioField, SelectField, StringField

from coop.actions.see_drain import decided, kept
from coop.actions.write import Outcome as WriteOutcome
from coop.ids import EntryId, is_uuid
from coop.ledger.kinds import DRAIN_STEPS, VOLUME_MAX_ML, VOLUME_MIN_ML
from coop.ledger.ports import Attachment
from coop.ledger.schema import quantity
from coop.ledger.wastes import RINSE_ML_PER_SHEET
from coop.ledger.wire import nest
from coop.rules.packs import words as codes
from coop.rules.packs.decisions import Decision
from coop.store.desk import Desk
from coop.units.number import unwire
from coop.units.table import VOLUME
from coop.web import drain_words as texts
from coop.web import words as say
from coop.web.fields import (
    NEEDED,
    TEMPERATURES,
    VOLUMES,
    WEIGHTS,
    ManyField,
    NumberField,
    UnitField,
)
from coop.web.forms import EntryForm, Happened, Noted, looked_up, options
from coop.web.i18n import N_
from coop.web.page import salt, words

STRIP_STEPS: Final = ("0.2", "0.3", "0.5", "1")
METER_STEPS: Final = ("0.01", "0.1")
"""The steps of the scales of pH strips and meters as they are sold: common practice."""
READ_BY: Final[Mapping[str, str]] = MappingProxyType(
    {
        codes.STRIP: "ph_strip",
        codes.METER: "ph_meter",
        codes.EYE: "screen",
        codes.THERMOMETER: "thermometer",
        codes.LABORATORY: "laboratory",
    }
)
"""The instrument of an entry that each device of the rules is written down as."""
AMOUNTS: Final = ("litres_typed", "weight_typed", "sheet_count")
"""The boxes for how much went; what cannot be so measured has fewer."""
YES_NO = looked_up(say.CHOICES["yes_no"].items())


class DrainReadingForm(EntryForm, Happened):
    """What all readings for a drain have in common."""

    kind: ClassVar[str] = "reading.taken"

    instrument = HiddenField()


class PhForm(DrainReadingForm):
    """A pH with one step of its scale: a reading counts by what its device can tell apart."""

    ph = NumberField(
        N_("pH"),
        validators=[NEEDED],
        description=N_("Of a clear, strained spoonful, once no more fizz rises."),
    )
    step = RadioField(N_("One step of its scale"), validators=[NEEDED], validate_choice=False)


class PhStripForm(PhForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.step.choices = _steps(STRIP_STEPS)


class PhMeterForm(PhForm):
    off_at_check = NumberField(
        N_("How far off it was at its last check"),
        description=N_(
            "In the buffer, today: 0 when it showed true. Empty if nobody checked it: then its "
            "reading does not count."
        ),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.step.choices = _steps(METER_STEPS)


def _steps(steps: tuple[str, ...]) -> Any:
    shown = ((one, words().number(float(one), len(one.partition(".")[2]))) for one in steps)
    return options(shown)


class ScreenForm(DrainReadingForm):
    lumps = RadioField(
        texts.CHOICES["look"]["lumps"],
        description=texts.LOOK_TESTS["lumps"],
        choices=YES_NO,
        validate_choice=False,
    )
    runs = RadioField(
        texts.CHOICES["look"]["runs"],
        description=texts.LOOK_TESTS["runs"],
        choices=YES_NO,
        validate_choice=False,
    )


class WarmthForm(DrainReadingForm):
    temperature = StringField(
        N_("How warm it is"), name="temperature.typed", validators=[NEEDED]
    )
    temperature_unit = UnitField(
        N_("Scale"), name="temperature.unit", units=TEMPERATURES, validate_choice=False
    )


class LaboratoryForm(DrainReadingForm):
    of = SelectField(N_("Of what"), validate_choice=False)
    mg_per_l = NumberField(
        N_("What the laboratory found, in mg/L"),
        validators=[NEEDED],
        description=N_(
            "All of it, not only what is dissolved. Of ammonia counted as nitrogen. If nothing "
            "was found: the least that its method sees."
        ),
    )
    not_detected = RadioField(
        N_("Was any found?"),
        choices=looked_up([("no", N_("It was found")), ("yes", N_("Nothing was found"))]),
        default="no",
        validate_choice=False,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.of.choices = options(texts.choices(words(), "analyte"))


READINGS: Final[Mapping[str, type[DrainReadingForm]]] = MappingProxyType(
    {
        "ph_strip": PhStripForm,
        "ph_meter": PhMeterForm,
        "screen": ScreenForm,
        "thermometer": WarmthForm,
        "laboratory": LaboratoryForm,
    }
)
"""The form of each instrument a liquid is read with for its drain."""


def sent(prefix: str) -> bool:
    """Say whether the form of this prefix is the one that was sent."""
    return f"{prefix}-entry_id" in request.form


def reading_form(instrument: str) -> DrainReadingForm:
    """Return the form of an instrument, filled in only if it was the one that was sent."""
    made = READINGS[instrument]
    form = made(prefix=instrument) if sent(instrument) else made(None, prefix=instrument)
    form["instrument"].data = instrument
    return form


class DecidedForm(Noted, EntryForm):
    """A form that keeps a decision with its entry; one that is sent twice keeps the first."""

    frozen: Attachment | None = None

    def record_with(self, desk: Desk, decision: Decision, **fixed: Any) -> WriteOutcome:
        """Write the entry with the decision attached, and beside it what that says."""
        before = self._before(desk)
        self.frozen = before or kept(decision, salt=salt())
        if before is not None:
            decision = decided(desk.journal, before.name) or decision
        facts = decision.facts
        told = {"waste": facts.waste, "outlet": facts.outlet, "outcome": str(decision.outcome)}
        return self.record(desk, **told, **fixed)

    def _before(self, desk: Desk) -> Attachment | None:
        """Return the decision that this form wrote when it was sent before."""
        entry_id = str(self.entry_id.data or "")
        for one in desk.journal.by_id(EntryId(entry_id)) if is_uuid(entry_id) else ():
            there = desk.journal.attachment(getattr(one.entry.content, "decision", ""))
            if there is not None:
                return there
        return None

    def attachments(self, desk: Desk, entry_id: EntryId) -> dict[str, Attachment]:
        found = super().attachments(desk, entry_id)
        return found if self.frozen is None else found | {"decision": self.frozen}


class JudgedForm(DecidedForm):
    kind: ClassVar[str] = "disposal.judged"


class GoneForm(Happened, DecidedForm):
    """
    What went, how much, and what was done to it; a reason only against the answer.

    `asked` are the steps that were not ticked and asked about; sent so again, it went without.
    """

    kind: ClassVar[str] = "disposal.done"
    beside: ClassVar[frozenset[str]] = frozenset({"asked"})

    asked = HiddenField()

    litres_typed = StringField(N_("How much went"), name="litres.typed")
    litres_unit = UnitField(
        N_("Unit"), name="litres.unit", units=VOLUMES, validate_choice=False
    )
    weight_typed = StringField(N_("Or by weight"), name="weight.typed")
    weight_unit = UnitField(
        N_("Unit"), name="weight.unit", units=WEIGHTS, validate_choice=False
    )
    sheet_count = NumberField(
        N_("Or so many sheets rinsed"),
        description=N_("A litre and a half for each: common practice, no source."),
    )
    steps = ManyField(
        N_("What was done to it first"),
        choices=looked_up((one, say.CHOICES["drain_step"][one]) for one in DRAIN_STEPS),
        validate_choice=False,
    )
    reason = RadioField(
        N_("It went all the same: why?"),
        choices=looked_up(say.CHOICES["anyway_reason"].items()),
        validate_choice=False,
    )

    def moment(self) -> datetime | None:
        """
        Return when it went; None for now.

        Raises:
            Slip: It is no time.
        """
        at: datetime | None = self._time().get("happened_at")
        return at

    def begin_with(self, steps: tuple[str, ...]) -> None:
        """Let the steps that the answer asks for stand first among those to tick."""
        order = (*steps, *(one for one in DRAIN_STEPS if one not in steps))
        self.steps.choices = looked_up((one, say.CHOICES["drain_step"][one]) for one in order)

    def undone(self, steps: tuple[str, ...]) -> tuple[str, ...]:
        """Return which of the steps that were asked for nobody ticked."""
        return tuple(one for one in steps if one not in (self.steps.data or ()))

    def ask_about(self, undone: tuple[str, ...]) -> bool:
        """Ask once about steps that nobody ticked; say whether that was still to be done."""
        if set(undone) <= set(str(self.asked.data or "").split()):
            return False
        self.asked.data = " ".join(undone)
        named = ", ".join(say.choice(words(), "drain_step", one) for one in undone)
        said = words().gettext(
            "Was this done: %(steps)s? Tick what was. Sent as it is, it is written down that "
            "it went without.",
            steps=named,
        )
        self.steps.errors = [*self.steps.errors, said]
        return True

    @property
    def says_how_much(self) -> bool:
        """Say whether an amount was typed, in whatever measure."""
        boxes = (self[name] for name in AMOUNTS if name in self)
        return any(str(box.data or "").strip() for box in boxes)

    def volume_ml(self) -> float | None:
        """
        Return how much went as it was typed, in litres or sheets [mL]; None for all there is.

        Raises:
            Slip: It is no amount of a liquid.
        """
        if "sheet_count" in self and self.sheet_count.data:
            return float(unwire(self.sheet_count.data)) * RINSE_ML_PER_SHEET
        said = nest(self.pairs_of("litres")).get("litres", {})
        if "typed" not in said:
            return None
        return float(_volume(said, "litres").base)


_volume = quantity(VOLUME, low=VOLUME_MIN_ML, high=VOLUME_MAX_ML)
