"""House limits: the strength the house mixes, its lines, how long things keep, its measures."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType
from typing import Any, ClassVar

from flask import Blueprint, jsonify, redirect, url_for
from werkzeug.wrappers import Response
from wtforms import Field, RadioField, StringField

from coop.actions.set_up import lines_at
from coop.ledger.schema import Refused
from coop.ledger.states import HouseState
from coop.ledger.table import HOUSE
from coop.rules import retention
from coop.rules.baths import OPTIONAL_LIMITS
from coop.science.defaults import Default, default
from coop.units.measured import G_PER_L
from coop.units.number import unwire, wire
from coop.web import amounts
from coop.web import words as say
from coop.web.defaults_text import KEEPS, PLAIN, range_of, value_text
from coop.web.editions import EditionForm, edit, publish
from coop.web.fields import NEEDED, MeasuredField, NumberField, PercentField
from coop.web.forms import options, written
from coop.web.i18n import N_
from coop.web.page import desk, needs, show, words
from coop.web.records import RecordsSaid, records_of

DEFAULTED = (
    "look_again_fraction",
    "do_not_use_fraction",
    "strip_print_days",
    "laying_depth_mm",
    *OPTIONAL_LIMITS,
)
"""Limits with a default of the same name in `coop.science.defaults`."""

pages = Blueprint("limits", __name__)


class DepthField(MeasuredField):
    """A depth in whole millimetres: what is said in another unit counts as the nearest."""

    def process_formdata(self, valuelist: list[Any]) -> None:
        super().process_formdata(valuelist)
        if self.found is None:
            return
        unit = self.found.said[0].unit if self.found.said else self.bare
        if unit != self.unit:
            self.data = wire(Fraction(round(self.found.number)))


class LimitsForm(EditionForm):
    kind: ClassVar[str] = "limits.set"

    target_g_per_l = MeasuredField(N_("Strength the house mixes"), unit=G_PER_L)
    target_salt = RadioField(N_("Of which salt"), validate_choice=False)
    look_again_fraction = PercentField(N_("Look again under"), [NEEDED])
    do_not_use_fraction = PercentField(N_("Do not use under"), [NEEDED])
    strip_print_days = StringField(N_("A strip print holds"), [NEEDED])
    laying_depth_mm = DepthField(N_("Depth to lay a sheet"), [NEEDED], unit="mm")
    size_look_again_warm_days = NumberField(PLAIN["size_look_again_warm_days"].label)
    size_do_not_use_warm_days = NumberField(PLAIN["size_do_not_use_warm_days"].label)
    size_cap_days = StringField(PLAIN["size_cap_days"].label)
    gall_water_days = StringField(PLAIN["gall_water_days"].label)
    rinse_days = StringField(PLAIN["rinse_days"].label)
    paste_days = StringField(PLAIN["paste_days"].label)
    softener_days = StringField(PLAIN["softener_days"].label)
    stack_open_days = StringField(PLAIN["stack_open_days"].label)
    stack_damp_days = StringField(PLAIN["stack_damp_days"].label)
    stack_bagged_days = StringField(PLAIN["stack_bagged_days"].label)
    stack_hard_stop_days = StringField(PLAIN["stack_hard_stop_days"].label)
    records_kept = RadioField(
        N_("How long are records kept?"),
        default=retention.ASK,
        description=N_("It hangs on whether somebody is employed here."),
        validate_choice=False,
    )
    gallon = RadioField(N_("A gallon here is a"), [NEEDED], validate_choice=False)
    cup = RadioField(N_("A cup here is a"), [NEEDED], validate_choice=False)
    spoon = RadioField(N_("Spoons here are"), [NEEDED], validate_choice=False)

    def _pairs(self) -> Iterator[tuple[str, str]]:
        """Leave the salt out where no strength is said."""
        for name, value in super()._pairs():
            if name != "target_salt" or self.target_g_per_l.data:
                yield name, value

    def take(self, refused: Refused) -> None:
        """Put a refusal beside its field; its bounds in percent or with their unit."""
        if isinstance(self._fields.get(refused.field), PercentField):
            limits = [(name, f"{float(Fraction(one) * 100):g}") for name, one in refused.limits]
            refused = replace(refused, limits=tuple(limits))
        elif refused.field == self.laying_depth_mm.name and refused.code == "out-of-range":
            ends = {**dict(refused.limits), "low": "0", "unit": "mm"}
            refused = replace(refused, code="out-of-reach", limits=tuple(ends.items()))
        super().take(refused)

    def offer(self) -> None:
        """Fill the lists in the member's language."""
        self.target_salt.choices = options(say.choices(words(), "salt"))
        self.records_kept.choices = options(say.choices(words(), "retention"))
        for measure in (self.gallon, self.cup, self.spoon):
            measure.choices = options(say.choices(words(), f"kinds_{measure.name}"))


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitsPage:
    """
    The limits being set; `hints` says the default of each and where that is from.

    `keeps` are the fields that say how long things keep, under their titles; `records` what
    each answer keeps of records, and why.
    """

    form: LimitsForm
    keeps: tuple[tuple[str, tuple[Field, ...]], ...]
    hints: Mapping[str, str]
    records: tuple[RecordsSaid, ...]
    lines: tuple[str, ...]


@pages.route("/house/limits", methods=["GET", "POST"])
@needs("limits.set")
def limits() -> Response:
    state: HouseState | None = desk().journal.state("house", HOUSE)
    form = _edit(state) if state else LimitsForm(data=_defaults(DEFAULTED))
    form.offer()
    if form.validate_on_submit():
        outcome = publish(form, "house", HOUSE)
        if written(outcome, words().gettext("The house limits are set.")):
            return redirect(url_for("house.house"), 303)
    keeps = tuple(
        (words().gettext(title), tuple(form[name] for name in names)) for title, names in KEEPS
    )
    page = LimitsPage(
        form=form,
        keeps=keeps,
        hints=_hints(),
        records=tuple(records_of(one) for one in retention.CHOICES),
        lines=_lines(form),
    )
    status = 422 if form.is_submitted() else 200
    return show("limits_form.html", page=page, nav="house", status=status)


def _edit(state: HouseState) -> LimitsForm:
    """Return the edition in force as it was typed, with the default where it said nothing."""
    unsaid = [name for name in OPTIONAL_LIMITS if getattr(state, name) is None]
    kept = state.records_kept or retention.ASK
    return edit(LimitsForm, state, HOUSE, records_kept=kept, **_defaults(unsaid))


def _defaults(names: Iterable[str]) -> dict[str, Any]:
    return {name: f"{default(name).value:g}" for name in names}


def _hints() -> Mapping[str, str]:
    hints = {name: _hint(default(name)) for name in DEFAULTED}
    usual = default("target_g_per_l")
    hints["target_g_per_l"] = words().gettext(
        "In use are %(strengths)s, often about %(middle)s (%(mark)s). "
        "Left empty, only baths whose card says a strength are judged.",
        strengths=amounts.strength_span(words(), usual.low, usual.high),
        middle=amounts.strength_figure(words(), usual.value),
        mark=say.mark(words(), usual.mark),
    )
    return MappingProxyType(hints)


def _hint(one: Default) -> str:
    """Say the default of a limit, how far it may sensibly be moved, and where it is from."""
    return words().gettext(
        "Default %(value)s, sensible %(range)s; %(mark)s. %(source)s",
        value=value_text(words(), one),
        range=range_of(words(), one),
        mark=say.mark(words(), one.mark),
        source=words().gettext(PLAIN[one.name].source),
    )


def _lines(form: LimitsForm) -> tuple[str, ...]:
    """Say what strengths the two lines come to; nothing while no strength is typed."""
    typed = (form.target_g_per_l, form.look_again_fraction, form.do_not_use_fraction)
    if not all(field.data for field in typed):
        return ()
    target, look_again, do_not_use = (float(unwire(str(field.data))) for field in typed)
    found = lines_at(
        target_g_per_l=target,
        look_again_fraction=look_again,
        do_not_use_fraction=do_not_use,
    )
    return (
        words().gettext(
            "Under %(line)s a bath is to be looked at again.",
            line=amounts.strength_as_said(words(), round(found.look_again_g_per_l, 1)),
        ),
        words().gettext(
            "Under %(line)s it is not to be used.",
            line=amounts.strength_as_said(words(), round(found.do_not_use_g_per_l, 1)),
        ),
    )


@pages.post("/house/limits/lines")
@needs("limits.set")
def lines() -> Response:
    """Say what the lines come to while they are being typed."""
    return jsonify({"lines": _lines(LimitsForm())})
