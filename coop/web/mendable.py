"""
Which fields of an entry can be put right on a page, and the form that does it.

The form writes an `entry.corrected`: its fields are named as in that entry's body, so those
of the content stand under `content.body`.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from types import MappingProxyType
from typing import Any, ClassVar

from wtforms import Field, HiddenField, RadioField, SelectField, StringField

from coop.actions.ask import EARLY_MAX
from coop.actions.correct_entry import CORRECTION, Standing, put_in_place, restore, void
from coop.ids import Subject
from coop.ledger.kinds import POWDERS
from coop.ledger.ports import Journal
from coop.ledger.schema import Slip
from coop.people.may import may
from coop.units.quantity import Quantity
from coop.web import words as say
from coop.web.fields import (
    LENGTHS,
    TEMPERATURES,
    MeasuredField,
    MoneyField,
    NumberField,
    SignedField,
    UnitField,
    own_order,
)
from coop.web.forms import LOCAL_MINUTE, EntryForm, Noted, looked_up, options
from coop.web.i18n import N_
from coop.web.page import now, who, words, zone
from coop.web.told import typed

LITRES = ("l", "ml", "us_gallon", "us_quart", "us_cup", "imp_gallon")
GRAMS = ("g", "kg", "oz", "lb")
SPOONS = (
    "us_tbsp", "us_tsp", "us_cup", "metric_tbsp", "metric_tsp", "metric_cup",
    "imp_tbsp", "imp_tsp", "imp_cup", "au_tbsp",
)  # fmt: skip
BODY = "content.body."
PARTS_MAX = 4
THINGS_MAX = 100
OPTIONAL = frozenset({"alum", "lot", "paper", "powder", "supplier"})
LOTS = frozenset({"alum", "lot", "powder"})
"""What is asked for a lot of by what it is of."""
SAID_BY_BUTTONS = frozenset({"pack_size", "undone"})
"""Reasons that a button says by itself: that of a gap's pack size, and Undo."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One field of an entry: its label and how it is asked (`of` is a group, units or sort)."""

    name: str
    label: str
    how: str
    of: Any = None


def _choice(name: str, label: str, group: str) -> Ask:
    return Ask(name=name, label=label, how="choice", of=group)


def _quantity(name: str, label: str, units: tuple[str, ...]) -> Ask:
    return Ask(name=name, label=label, how="quantity", of=units)


def _thing(name: str, label: str, sort: str) -> Ask:
    return Ask(name=name, label=label, how="thing", of=sort)


def _number(name: str, label: str) -> Ask:
    return Ask(name=name, label=label, how="number")


def _money(name: str, label: str) -> Ask:
    return Ask(name=name, label=label, how="money")


def _text(name: str, label: str) -> Ask:
    return Ask(name=name, label=label, how="text")


def _day(name: str, label: str) -> Ask:
    return Ask(name=name, label=label, how="day")


_BATH = _thing("bath", N_("Bath"), "bath")
_ALUM = _thing("bath", N_("Bath"), "alum_bath")
_SIZE = _thing("bath", N_("Bath"), "size_bath")
_NAME = _text("name", N_("Name"))
_WATER = _quantity("water", N_("Water"), LITRES)
_SALT = Ask(name="salt", label=N_("Alum"), how="parts", of="alum")
_POWDER = Ask(name="powder", label=N_("Powder"), how="parts", of="powder")
_COUNT = _number("sheet_count", N_("How many sheets?"))
_FORMAT = _choice("sheet_format", N_("Format"), "sheet_format")
_USE_REASON = _choice("reason", N_("Why use it anyway?"), "use_reason")
_LAY_REASON = _choice("reason", N_("Why use it anyway?"), "lay_reason")
_DAMP = _choice("damp", N_("Were they damp?"), "yes_no")
_TEMPERATURE = _quantity("temperature", N_("Temperature of the bath"), TEMPERATURES)
_JAR = _thing("jar", N_("Waste jar"), "jar")
_WASTE = _choice("waste", N_("Which waste?"), "waste")
_FAULTS = tuple(_number(code, label) for code, label in say.CHOICES["fault"].items())

ASKED: Mapping[str, tuple[Ask, ...]] = MappingProxyType(
    {
        "bath.mixed": (_NAME, _thing("vessel", N_("Tub"), "vessel"), _WATER),
        "bath.topped_up": (_BATH, _WATER),
        "bath.split": (
            _BATH,
            Ask(name="parts", label=N_("Litres poured off"), how="poured"),
        ),
        "bath.joined": (
            _BATH,
            _thing("giver", N_("Poured from"), "bath"),
            _quantity("litres", N_("Litres; empty for all of it"), LITRES),
        ),
        "bath.carried": (_BATH, _thing("vessel", N_("Tub"), "vessel")),
        "bath.kept_for": (_BATH, _text("session", N_("For which session?"))),
        "bath.cared": (_BATH, _choice("care", N_("What was done?"), "care")),
        "bath.stopped": (_BATH, _choice("reason", N_("Why was it stopped?"), "stop_reason")),
        "bath.cleared": (_BATH, _choice("reason", N_("Why allowed again?"), "clear_reason")),
        "bath.finished": (_BATH, _choice("reason", N_("Why finished?"), "finish_by_hand")),
        "reading.taken": (),
        "instrument.checked": (
            _number("gravity", N_("It shows in plain tap water")),
            _quantity("temperature", N_("Temperature of the water"), TEMPERATURES),
        ),
        "sheets.through": (_COUNT, _FORMAT),
        "sheets.sorted": (
            _number("good", N_("good")),
            *_FAULTS,
            _choice("keep", N_("Keep this one?"), "yes_no"),
            _text("colours", N_("Colours, in their order")),
        ),
        "stack.dried": (_choice("how", N_("How were they dried?"), "drying"),),
        "stack.flattened": (_choice("how", N_("How were they flattened?"), "flattening"),),
        "stack.put_away": (
            _choice("state", N_("How do they lie?"), "stack_state"),
            _text("place", N_("Where?")),
        ),
        "stack.tested": (_choice("outcome", N_("How did it come out?"), "outcome"),),
        "stack.binned": (
            _COUNT,
            _choice("reason", N_("Why thrown away?"), "bin_reason"),
        ),
        "jug.found": (
            _text("where", N_("Where does it stand?")),
            _quantity("litres", N_("Litres"), LITRES),
            _choice("look", N_("How does it look?"), "jug_look"),
        ),
        "lot.received": (_NAME, _number("pack_count", N_("Packs"))),
        "lot.opened": (_quantity("tare", N_("The empty tub weighs"), GRAMS),),
        "lot.counted": (),
        "lot.moved": (_thing("studio", N_("Studio"), "studio"),),
        "lot.adjusted": (_choice("cause", N_("Why?"), "gap_cause"),),
        "lot.priced": (_money("price", N_("Price of all of it")),),
        "lot.cut": (
            _NAME,
            _number("sheet_count", N_("Parent sheets that were cut")),
            _number("made_count", N_("Sheets that came out")),
            _choice("turned", N_("Was their long side cut across the parents'?"), "yes_no"),
        ),
        "order.placed": (
            _number("packs", N_("How many packs?")),
            _day("expected", N_("When should it come?")),
            _money("price", N_("What does all of it cost?")),
        ),
        "order.cancelled": (_choice("reason", N_("Why will it not come?"), "cancel_reason"),),
        "need.put_off": (
            _choice("reason", N_("Why not today?"), "put_off_reason"),
            _day("until", N_("Until when?")),
        ),
        "permission.recorded": (
            _choice("about", N_("About what?"), "permission"),
            _choice("outlet", N_("Where would it go?"), "outlet"),
            _text("asked", N_("Who was asked?")),
            _day("asked_on", N_("When?")),
            _text("reference", N_("Its letter or number")),
            _choice("answer", N_("What did they answer?"), "answer"),
            _text("conditions", N_("On which conditions?")),
            _day("review_on", N_("Ask again on")),
        ),
        "jar.vouched": (
            _WASTE,
            _quantity("litres", N_("Litres"), LITRES),
            _choice("metal_pigments", N_("Are metal pigments in it?"), "yes_no_not_known"),
        ),
        "disposal.judged": (),
        "disposal.treated": (),
        "disposal.done": (_WASTE, _choice("outlet", N_("Where did it go?"), "gone_to")),
        "waste.started": (
            _NAME,
            _choice("sort", N_("What is it?"), "jar_sort"),
            _quantity("holds", N_("How much does it hold?"), LITRES),
            _text("place", N_("Where does it stand?")),
            _day("full_by", N_("Full by")),
            _day("collect_by", N_("Collected by")),
        ),
        "waste.added": (
            _JAR,
            _WASTE,
            _choice("metal_pigments", N_("Are metal pigments in it?"), "yes_no_not_known"),
            _choice("full", N_("Is it full?"), "yes_no"),
        ),
        "waste.collected": (
            _JAR,
            _text("by", N_("Who took it?")),
            _text("to", N_("Where to?")),
            _text("reference", N_("Its letter or number")),
            _quantity("litres", N_("Litres; empty for all of it"), LITRES),
            _choice("jar_gone", N_("Did the vessel go with it?"), "yes_no"),
        ),
        "waste.carried": (
            _thing("studio", N_("To which studio?"), "studio"),
            _text("carried_in", N_("In which vessel?")),
        ),
        "mishap.noted": (
            _choice("what", N_("What went wrong?"), "mishap"),
            _WASTE,
            _choice("outlet", N_("Where did it go?"), "outlet"),
            _quantity("litres", N_("Litres that went"), LITRES),
            _text("called", N_("Who was called?")),
        ),
        "lot.spoon_weighed": (
            _number("spoon_count", N_("How many level spoons?")),
            _quantity("weight", N_("Weight"), GRAMS),
        ),
    }
)
"""What is asked of each kind that can be mended on a page; other kinds get new editions."""

_PH = _number("ph", "pH")
_STEP = _number("step", N_("One step of its scale"))

READ: Mapping[str, tuple[Ask, ...]] = MappingProxyType(
    {
        "dipstick": (_quantity("depth", N_("Depth by the dipstick"), LENGTHS),),
        "tape_line": (_quantity("litres", N_("Litres at the tape line"), LITRES),),
        "hydrometer": (_number("gravity", N_("Specific gravity")), _TEMPERATURE),
        "strip_print": (_choice("outcome", N_("Strip print"), "outcome"),),
        "thermometer": (_TEMPERATURE,),
        "funnel": (
            _text("funnel", N_("Which funnel?")),
            _number("water_seconds", N_("Seconds of plain water")),
            _number("seconds", N_("Seconds of the size")),
            _TEMPERATURE,
        ),
        "drop_test": (
            _choice("outcome", N_("Drop test"), "drop"),
            Ask(name="spread_mm", label=N_("How far did it spread?"), how="mm"),
        ),
        "look": (_choice("outcome", N_("How did it look?"), "look"),),
        "smell": (_choice("outcome", N_("How did it smell?"), "smell"),),
        "ph_strip": (_PH, _STEP),
        "ph_meter": (
            _PH,
            _STEP,
            Ask(name="off_at_check", label=N_("How far off at its check?"), how="signed"),
            _TEMPERATURE,
        ),
        "screen": (
            _choice("lumps", N_("Does it hold lumps back?"), "yes_no"),
            _choice("runs", N_("Does it run?"), "yes_no"),
        ),
        "laboratory": (
            _choice("of", N_("Of what?"), "analyte"),
            _number("mg_per_l", N_("mg/L; where nothing was detected, the least it can see")),
            _choice("not_detected", N_("Was nothing detected?"), "yes_no"),
        ),
    }
)
"""What is asked of a reading besides its bath or jar, by the instrument."""

_HELD: Mapping[str, Ask] = MappingProxyType(
    {
        "weight": _quantity("weight", N_("Weight"), GRAMS),
        "volume": _quantity("volume", N_("Each holds"), LITRES),
        "sheet_count": _number("sheet_count", N_("Full sheets in each")),
        "piece_count": _number("piece_count", N_("Pieces in each")),
    }
)
"""What a pack holds, by the field in which it was said."""

RECEIVED: Mapping[str, tuple[Ask, ...]] = MappingProxyType(
    {
        "alum": (_choice("salt", N_("Salt"), "salt"),),
        "paper": (
            _choice("grain", N_("Grain"), "grain"),
            _choice("chalk", N_("Chalk"), "chalk"),
        ),
        "carrageenan": (_choice("carrageenan", N_("Type of carrageenan"), "carrageenan"),),
    }
)
"""What is asked of a lot by what it is of, besides what a pack holds."""

_BOUGHT = (
    _thing("sold_by", N_("Supplier"), "supplier"),
    _text("supplier", N_("Supplier's name")),
    _day("best_before", N_("Best before, as the label says")),
    _number("opened_days", N_("Days it keeps once opened")),
)
_TARE = _quantity("tare", N_("The empty tub weighs"), GRAMS)
_SODA = _choice("soda", N_("Which soda"), "soda")

_THROUGH_ALUM = (
    _ALUM,
    *ASKED["sheets.through"],
    _choice("method", N_("Method"), "method"),
    _thing("lot", N_("Paper"), "lot"),
    _thing("paper", N_("Which paper is your own?"), "paper"),
    _choice("side", N_("Which side?"), "side"),
    _quantity("took_out", N_("Took out into the dish"), LITRES),
    _quantity("put_back", N_("Put back from the dish"), LITRES),
    _number("open_hours", N_("Hours it stood open")),
)
_LAID = (_thing("size", N_("Laid on"), "size_bath"), _DAMP)
_MUCH: Mapping[str, Ask] = MappingProxyType(
    {
        "amount": _quantity("amount", N_("How much"), (*GRAMS, *LITRES)),
        "count": _number("count", N_("How many")),
        "pack": _quantity("pack", N_("What is in one pack?"), (*GRAMS, *LITRES)),
        "pack_count": _number("pack_count", N_("How many are in one pack?")),
    }
)
_SEEN: Mapping[str, Ask] = MappingProxyType(
    {
        "packs": _number("packs", N_("Unopened packs")),
        "weight": _quantity("weight", N_("The open one on the scale"), GRAMS),
        "tare": _TARE,
        "volume": _quantity("volume", N_("In the open one"), LITRES),
        "level": _number("level", N_("How full is the open one, in quarters?")),
        "loose": _number("loose", N_("Loose ones")),
        "empty": _choice("empty", N_("Is it empty?"), "yes_no"),
    }
)
_WENT: Mapping[str, Ask] = MappingProxyType(
    {
        "litres": _quantity("litres", N_("Litres; empty for all of it"), LITRES),
        "weight": _quantity("weight", N_("Weight"), GRAMS),
        "sheet_count": _COUNT,
        "reason": _choice("reason", N_("Why all the same?"), "anyway_reason"),
    }
)
_BASE_IN: Mapping[str, Ask] = MappingProxyType(
    {
        "base": _choice("base", N_("Which base?"), "neutraliser"),
        "weight": _quantity("weight", N_("Weight"), GRAMS),
        "litres": _quantity("litres", N_("Litres"), LITRES),
    }
)
_MUCH_BY_KIND: Mapping[str, Mapping[str, Ask]] = MappingProxyType(
    {
        "lot.counted": _SEEN,
        "disposal.done": _WENT,
        "waste.added": _WENT,
        "disposal.treated": _BASE_IN,
    }
)
_READ_OF: Mapping[str, Ask] = MappingProxyType(
    {"strip_print": _ALUM, "hydrometer": _ALUM, "funnel": _SIZE, "drop_test": _SIZE}
)
"""Which baths an instrument is for; any other reads every bath."""


def asked_of(journal: Journal, kind: str, body: Mapping[str, Any]) -> tuple[Ask, ...]:
    """Return what is asked of an entry with this body: what its kind of bath or tool has."""
    asked = ASKED[kind]
    match kind:
        case "bath.mixed":
            return (*asked, _SALT if body.get("what", "alum") == "alum" else _POWDER)
        case "bath.topped_up":
            bath = journal.state("bath", Subject(str(body["bath"])))
            if bath is not None and bath.what != "alum":
                return (*asked, _POWDER)
            why = _choice("reason", N_("Why water alone?"), "water_only_reason")
            return (*asked, _SALT, why)
        case "reading.taken":
            instrument = str(body["instrument"])
            of = _JAR if "jar" in body else _READ_OF.get(instrument, _BATH)
            return (of, *READ[instrument])
        case "sheets.through":
            laid = _LAID if "size" in body else ()
            if "bath" in body:
                return (*_THROUGH_ALUM, *laid, _USE_REASON)
            return (*asked, *laid, _LAY_REASON)
        case "lot.received":
            return (*asked, *_of_received(body), *_BOUGHT)
        case _:
            return (*asked, *_much_of(kind, body))


def _of_received(body: Mapping[str, Any]) -> Iterator[Ask]:
    """Give what is asked of a lot: what a pack holds as it was said, and what it is."""
    yield from (ask for name, ask in _HELD.items() if name in body)
    yield from RECEIVED.get(str(body["what"]), ())
    if "soda" in body:
        yield _SODA
    if "weight" in body:
        yield _TARE


def _much_of(kind: str, body: Mapping[str, Any]) -> tuple[Ask, ...]:
    """Return what is asked of how much there was of a lot or a waste, as it was said."""
    asked = _MUCH_BY_KIND.get(kind, _MUCH)
    shown = set(body)
    if asked is _WENT and not shown & {"weight", "sheet_count"}:
        shown.add("litres")
    return tuple(ask for name, ask in asked.items() if name in shown)


class CorrectForm(EntryForm, Noted):
    """The form of one entry's correction; `form_for` adds the fields of its kind."""

    kind: ClassVar[str] = CORRECTION
    beside: ClassVar[frozenset[str]] = frozenset({"seen", "outcome"})
    asked: ClassVar[tuple[Ask, ...]] = ()

    outcome = StringField()
    seen = HiddenField()
    when = StringField(
        N_("When"), name="content.happened_at", render_kw={"type": "datetime-local"}
    )
    reason = RadioField(
        N_("Why is it corrected?"),
        choices=looked_up(
            (code, text)
            for code, text in say.CHOICES["correct_reason"].items()
            if code not in SAID_BY_BUTTONS
        ),
        validate_choice=False,
    )

    journal: Journal
    standing: Standing

    def body(self) -> dict[str, Any]:
        """
        Return the correction's body.

        Raises:
            Slip: Somebody else corrected the entry since this form was shown, or the new
                content is not right.
        """
        reason, seen = str(self.reason.data or ""), self._seen()
        if self.outcome.data == "void":
            return void(self.standing, reason=reason, seen=seen)
        if self.outcome.data == "restore":
            return restore(self.standing, reason=reason, seen=seen)
        typed_in = super().body().get("content", {}).get("body", {})
        kept = self.standing.body()
        for ask in self.asked:
            kept.pop(ask.name, None)
        return put_in_place(
            self.journal,
            self.standing,
            kept | typed_in,
            at=self._at(),
            reason=reason,
            seen=seen,
        )

    def _seen(self) -> tuple[str, ...]:
        seen = str(self.seen.data or "").split()
        new = [one for one in self.standing.seen if one not in (*seen, self.entry_id.data)]
        if new:
            raise Slip("seen", "corrected-meanwhile")
        return tuple(one for one in seen if one in self.standing.seen)

    def _at(self) -> datetime:
        """Return when it happened: as it was, unless another minute is typed."""
        chosen = str(self.when.data or "").strip()
        if chosen in ("", local_minute(self.standing.at)):
            return self.standing.at
        try:
            local = datetime.fromisoformat(chosen)
        except ValueError:
            raise Slip(self.when.name, "not-a-time") from None
        at = local if local.tzinfo else local.replace(tzinfo=zone())
        if at > now() + EARLY_MAX:
            raise Slip(self.when.name, "in-the-future")
        return at

    def entry_rows(self) -> tuple[tuple[Field, Field | None], ...]:
        """Return the fields of the entry itself, a number's unit beside it."""
        units = {field.name: field for field in self if field.name.endswith(".unit")}
        return tuple(
            (field, units.get(field.name.removesuffix(".typed") + ".unit"))
            for field in self
            if field.name.startswith(BODY) and field.name not in units
        )


def local_minute(at: datetime) -> str:
    """Return a moment as the browser's field for it takes it."""
    return at.astimezone(zone()).strftime(LOCAL_MINUTE)


def form_for(journal: Journal, standing: Standing) -> CorrectForm:
    """Return the form of an entry's correction, filled with what stands."""
    body = standing.body()
    asked = _seen(asked_of(journal, standing.kind, body))
    made: dict[str, Any] = {}
    shown: dict[str, Any] = {
        "when": local_minute(standing.at),
        "seen": " ".join(standing.seen),
    }
    for ask in asked:
        for attribute, (field, value) in _fields(journal, ask, body).items():
            made[attribute] = field
            shown[attribute] = value
    form_class = type("EntryCorrectForm", (CorrectForm,), made | {"asked": asked})
    form: CorrectForm = form_class(data=shown)
    form.journal, form.standing = journal, standing
    return form


def _seen(asked: tuple[Ask, ...]) -> tuple[Ask, ...]:
    """Leave out a price for those who do not see prices: it stays as it was."""
    prices = may(who().roles, "see-prices")
    return asked if prices else tuple(one for one in asked if one.name != "price")


NUMBERS: Mapping[str, Callable[..., Any]] = MappingProxyType(
    {
        "number": NumberField,
        "money": MoneyField,
        "signed": SignedField,
        "mm": partial(MeasuredField, unit="mm"),
    }
)
Made = dict[str, tuple[Any, Any]]
"""Fields by the form's attribute, each with what it shows."""


def _fields(journal: Journal, ask: Ask, body: Mapping[str, Any]) -> Made:
    name, value = BODY + ask.name, body.get(ask.name, "")
    field: Any
    match ask.how:
        case "text":
            field = StringField(ask.label, name=name)
        case "day":
            field = StringField(ask.label, name=name, render_kw={"type": "date"})
        case "number" | "money" | "signed" | "mm":
            field = NUMBERS[ask.how](ask.label, name=name)
            value = value or None

        case "choice":
            group = looked_up(say.CHOICES[ask.of].items())
            field = RadioField(ask.label, name=name, choices=group, validate_choice=False)
        case "thing":
            field = _select(ask.label, name, _things(journal, ask.of, str(value)))
        case "quantity":
            return _quantity_fields(ask.label, ask.name, ask.of, value)
        case "poured":
            return _poured_fields(journal, ask, value or [])
        case _:
            return _part_fields(journal, ask, value or [])
    return {f"in_{ask.name}": (field, value)}


def _select(label: str, name: str, pairs: Iterable[tuple[str, str]]) -> SelectField:
    return SelectField(label, name=name, choices=options(pairs), validate_choice=False)


def _quantity_fields(label: str, stem: str, units: tuple[str, ...], value: Any) -> Made:
    """Ask a number and its unit; how a spoon was heaped stays as it was."""
    said = Quantity.from_wire(value) if value else None

    attribute, name = "in_" + stem.replace(".", "_"), BODY + stem
    made: Made = {
        attribute: (StringField(label, name=f"{name}.typed"), typed(said) if said else ""),
        f"{attribute}_unit": (
            UnitField(N_("Unit"), name=f"{name}.unit", units=units, validate_choice=False),
            said.unit if said else own_order(units)[0],
        ),
    }
    if said is not None and said.heap:
        made[f"{attribute}_heap"] = (HiddenField(name=f"{name}.heap"), said.heap)
    return made


def _part_fields(journal: Journal, ask: Ask, parts: list[Any]) -> Made:
    """Ask every part of salt or powder that was said, and one more."""
    made: Made = {}
    for place in range(min(len(parts) + 1, PARTS_MAX)):
        part = parts[place] if place < len(parts) else {}
        stem, attribute = f"{ask.name}.{place}", f"in_{ask.name}_{place}"
        if ask.of == "powder":
            powder = str(part.get("powder", ""))
            of = [("", words().gettext("none of these")), *say.choices(words(), "powder")]
            field = _select(N_("Which powder?"), f"{BODY}{stem}.powder", of)
            made[f"{attribute}_powder"] = (field, powder)
        lot = str(part.get("lot", ""))
        field = _select(N_("Out of"), f"{BODY}{stem}.lot", _things(journal, ask.of, lot))
        made[f"{attribute}_lot"] = (field, lot)
        units = (*GRAMS, *SPOONS)
        made |= _quantity_fields(ask.label, f"{stem}.amount", units, part.get("amount"))
    return made


def _poured_fields(journal: Journal, ask: Ask, parts: list[Any]) -> Made:
    """Ask every part that was poured off; one more would be another bath."""
    made: Made = {}
    for place, part in enumerate(parts):
        stem, attribute = f"{ask.name}.{place}", f"in_{ask.name}_{place}"
        vessel = str(part["vessel"])
        tubs = _things(journal, "vessel", vessel)
        made[f"{attribute}_vessel"] = (_select(N_("Tub"), f"{BODY}{stem}.vessel", tubs), vessel)
        name = StringField(N_("Name"), name=f"{BODY}{stem}.name")
        made[f"{attribute}_name"] = (name, part["name"])
        made |= _quantity_fields(ask.label, f"{stem}.litres", LITRES, part["litres"])
    return made


def _things(journal: Journal, sort: str, chosen: str) -> Iterator[tuple[str, str]]:
    """Give what may be meant, by name: what is in use, and what was said."""
    kind = "lot" if sort in LOTS else sort.rpartition("_")[2]
    found = [one for one in journal.listed(kind) if _fits(sort, kind, one)][-THINGS_MAX:]
    said = journal.state(kind, Subject(chosen)) if chosen else None
    if said is not None and all(one.id != said.id for one in found):
        found.append(said)
    if sort in OPTIONAL:
        yield "", words().gettext("none of these")
    for one in found:
        yield str(one.id), one.name


def _fits(sort: str, kind: str, one: Any) -> bool:
    """Say whether a lot or a bath is of what is asked for; anything else fits."""
    match sort:
        case "alum_bath" | "size_bath":
            return bool(f"{one.what}_bath" == sort)
        case _ if kind != "lot":
            return True
        case "alum":
            return bool(one.what == "alum")
        case "powder":
            return one.what in POWDERS
        case _:
            return bool(one.what == "paper")
