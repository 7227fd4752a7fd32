"""
The page that opens without a signal: what the room was like, and forms to write at the tray.

It is made for a device, not for a member: no session is read, nothing on it is anybody's own
but initials, and on a phone of one's own the measures. What it says of a bath is said as of
then; the script makes the times relative.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from fractions import Fraction

from flask import Blueprint, Response, abort, g, render_template

from coop import __version__
from coop.actions.ask import WANT_REASON
from coop.actions.on_hand import salts_on_hand
from coop.actions.see_device import (
    KeptBath,
    KeptLiquid,
    KeptOld,
    KeptRoom,
    KeptStudio,
    see_device,
)
from coop.actions.see_neutralising import least_bucket_l
from coop.actions.see_shelf import LotLook
from coop.actions.take_reading import READ_WITH
from coop.ids import MemberId, Subject
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.liquids import SIZE
from coop.ledger.part_of_day import MINUTE
from coop.ledger.schema import decimal_text
from coop.ledger.states import DrainReading, JarState, StackState, Through, Treated
from coop.ledger.table import KINDS
from coop.rules.neutralising import Next, Stand
from coop.rules.reasons import Word
from coop.science.neutralising import AMMONIA_GAS, Walk
from coop.store import devices, measures
from coop.store.devices import Pin
from coop.units.table import UNITS
from coop.web import amounts, neutralising, reasons
from coop.web import words as say
from coop.web.cautions import SafetyCard, hand_hot, safety_card
from coop.web.devices import needed_device
from coop.web.doses import UNIT_NAMES
from coop.web.fields import LENGTHS, TEMPERATURES, own_order
from coop.web.forms import NOTE_LENGTH_MAX
from coop.web.mixing import recipe_text
from coop.web.neutralising import PH_STEPS, PH_TOOLS
from coop.web.page import PUBLIC, desk, face, ledger, needs, now, site, words
from coop.web.reasons import Telling
from coop.web.salt import HEAPS, WATERS, WEIGHTS, lot_text, units_of
from coop.web.told import Names, bath_names, paper

COUNTS = (5, 10, 20, 30, 40, 50, 60)
LITRES = ("l", "us_gallon", "imp_gallon")
DISH = ("l", "ml", "us_gallon", "us_fl_oz", "imp_gallon")
WEIGHED_IN = ("g", "oz")
DONE_KEPT = 6
"""So much of what was done to an old bath stands on its card."""
ACTS = ("sheets", "top-up", "mix", "test", "finish", "neutralise")
FORMS = {
    "sheets": "sheets.through",
    "lay": "sheets.through",
    "top-up": "bath.topped_up",
    "test": "reading.taken",
    "stop": "bath.stopped",
    "care": "bath.cared",
    "finish": "bath.finished",
    "mix": "bath.mixed",
    "soda": "disposal.treated",
    "ph": "reading.taken",
    "gone": "disposal.done",
    "mishap": "mishap.noted",
    "rinse": "waste.added",
    "undo": "entry.corrected",
}
SLIPS: dict[str, tuple[str, ...]] = {
    "missing": (),
    "not-a-number": (),
    "not-a-time": (),
    "in-the-future": (),
    "thousands-or-decimals": ("written",),
    "too-long": ("longest",),
    "out-of-range": ("low", "high"),
    "not-a-whole-number": ("low", "high"),
    "out-of-reach": ("low", "high", "unit"),
}
"""What the script itself may refuse, with the limits its sentence names."""
GROUPS = (
    "sheet_format", "method", "use_reason", "lay_reason", "water_only_reason", "outcome",
    "stop_reason", "finish_by_hand", "care", "drop", "look", "treatment", "neutraliser",
    "gone_to", "mishap", "done_about_it", "drain_step", "waste", "outlet", "yes_no_not_known",
)  # fmt: skip
LITRES_MAX = (Fraction(kinds.VOLUME_MIN_ML), Fraction(kinds.VOLUME_MAX_ML))
SPOONED = (kinds.SPOON_MIN_ML, Fraction(kinds.VOLUME_MAX_ML))
WEIGHED = (kinds.MASS_MIN_G, Fraction(kinds.MASS_MAX_G))
LENGTH = (kinds.LENGTH_MIN_MM, Fraction(kinds.LENGTH_MAX_MM))
DEGREES = (Fraction(-5), Fraction(60))

pages = Blueprint("offline", __name__)


@dataclass(frozen=True, slots=True)
class At:
    """A moment: as machines read it, and in the studio's zone until the script says it."""

    iso: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Writer:
    """Who writes here: initials, and on a shared tablet the check of four digits."""

    id: str
    initials: str
    pin: Pin | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """A bath as it was heard last; `fields` write "the same as last time"."""

    id: str
    what: str
    name: str
    tub: str
    studio: str
    word: str
    why: str
    how: str
    litres: str
    sheets_left: str
    hands: str
    hands_at: At
    turns_at: At | None
    turns_to: str
    again: str
    fields: tuple[tuple[str, str], ...]
    drawer: str

    @property
    def is_alum(self) -> bool:
        return self.what == "alum"

    @property
    def is_size(self) -> bool:
        return self.what == SIZE


@dataclass(frozen=True, slots=True)
class Was:
    """Something that was done to an old bath, by whom and when."""

    text: str
    initials: str
    at: At


@dataclass(frozen=True, slots=True, kw_only=True)
class OldCard:
    """
    An old alum bath that still has to be got rid of, with its walk by each base.

    `stop` says why nothing goes in; then there is no walk. `next` is what comes next, on the
    form `view`; `fields` fill that of the soda by what was written of it here last, of
    nothing in the first place. `shelf` are the bases that stand there.
    """

    id: str
    name: str
    studio: str
    in_it: str
    stop: str
    wanted: str
    bucket: str
    cup: str
    bases: tuple[str, ...]
    done: tuple[Was, ...]
    next: str
    view: str
    fields: dict[str, dict[str, str]]
    shelf: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Drum:
    """A jar that takes rinse water; `fields` say what was known last of metal colours in it."""

    id: str
    name: str
    studio: str
    in_it: str
    fields: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """
    One of a list: its value, what is read back, what is shown, and where it belongs.

    `also` goes into the body with it, `fills` are fields it proposes a text for.
    """

    value: str
    text: str
    shown: str = ""
    studio: str = ""
    also: dict[str, str] | None = None
    fills: dict[str, str] | None = None


@dataclass(frozen=True, slots=True)
class UnitChoice:
    """A unit, with what a quantity in it must be over and may be at most."""

    code: str
    text: str
    low: str
    high: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfRow:
    name: str
    left: str
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioPart:
    """One studio: its baths, its shelf, and whom to call there."""

    id: str
    name: str
    cards: tuple[Card, ...]
    old: tuple[OldCard, ...]
    drums: tuple[Drum, ...]
    shelf: tuple[ShelfRow, ...]
    call: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What the forms offer."""

    pad: tuple[int, ...]
    stacks: tuple[Choice, ...]
    paper: tuple[Choice, ...]
    own: tuple[Choice, ...]
    alum: tuple[Choice, ...]
    tubs: tuple[Choice, ...]
    recipes: tuple[Choice, ...]
    amounts: tuple[UnitChoice, ...]
    waters: tuple[UnitChoice, ...]
    litres: tuple[UnitChoice, ...]
    dish: tuple[UnitChoice, ...]
    poured: tuple[UnitChoice, ...]
    lengths: tuple[UnitChoice, ...]
    degrees: tuple[UnitChoice, ...]
    weights: tuple[UnitChoice, ...]
    studios: tuple[Choice, ...]
    ph_tools: tuple[tuple[str, str], ...]
    ph_steps: tuple[str, ...]
    heaps: tuple[tuple[str, str], ...]
    tools: tuple[tuple[str, str], ...]
    sheets_max: int
    note_max: int


@dataclass(frozen=True, slots=True, kw_only=True)
class OfflinePage:
    """The whole document; everything the script needs stands in it."""

    lang: str
    demo: bool
    ledger: str
    ledger_name: str
    device: str
    device_name: str
    shared: bool
    release: str
    last_seq: int
    zone: str
    as_of: At
    writers: tuple[Writer, ...]
    studios: tuple[StudioPart, ...]
    offer: Offer
    cards: dict[str, SafetyCard]
    choices: dict[str, list[tuple[str, str]]]
    hand_hot: str
    steps: tuple[str, ...]
    versions: dict[str, tuple[str, int]]
    slips: tuple[tuple[str, str], ...]


@pages.get("/device/offline")
@needs(PUBLIC)
def offline() -> Response:
    """
    Show the device's page; its own cookie opens it, whoever is signed in.

    Once all whose device it was have left it shows nothing; what waits on it still comes in.
    """
    row, device = needed_device()
    here = now().astimezone(words().zone)
    room = see_device(desk().journal, device, now=here, demo=site().settings.demo)
    if device.members and not room.writers:
        abort(401)
    g.words = replace(words(), us=_is_us(room, shared=device.shared))
    checks = devices.pins(desk().connection, row.id) if device.shared else {}
    names = bath_names(_states(room))
    page = OfflinePage(
        lang=words().lang,
        demo=site().settings.demo,
        ledger=site().store.ledger,
        ledger_name=ledger().name,
        device=row.id,
        device_name=device.name,
        shared=device.shared,
        release=__version__,
        last_seq=row.last_seq,
        zone=str(words().zone),
        as_of=_at(now()),
        writers=_writers(room, checks, shared=device.shared),
        studios=tuple(_studio(one, room, names) for one in room.studios),
        offer=_offer(room),
        cards=_safety_cards(room),
        choices={group: say.choices(words(), group) for group in GROUPS},
        hand_hot=hand_hot(words()),
        steps=neutralising.in_short(words()),
        versions={form: (kind, KINDS[kind].v) for form, kind in FORMS.items()},
        slips=tuple((code, _slip(code, limits)) for code, limits in SLIPS.items()),
    )
    return Response(render_template("offline.html", page=page), mimetype="text/html")


def _safety_cards(room: KeptRoom) -> dict[str, SafetyCard]:
    alum = [one for studio in room.studios for one in studio.alum]
    salts = {"mix": salts_on_hand(alum), "top-up": salts_on_hand(alum)}
    return {act: safety_card(words(), act, None, salts.get(act, ())) for act in ACTS}


def _is_us(room: KeptRoom, *, shared: bool) -> bool:
    """Say whether amounts are shown in US measures: by whose phone it is, else in metric."""
    if shared or not room.writers:
        return False
    return measures.chosen(desk().connection, room.writers[0]).shown == measures.US


def _states(room: KeptRoom) -> Iterator[AnyBath]:
    for one in room.studios:
        yield from (kept.look.state for kept in one.baths)
        yield from (kept.look.state for kept in one.liquids)
        yield from (kept.state for kept in one.old)


def _at(moment: datetime) -> At:
    here = moment.astimezone(words().zone)
    return At(here.isoformat(timespec="seconds"), words().moment(here))


def _writers(
    room: KeptRoom, checks: dict[MemberId, Pin], *, shared: bool
) -> tuple[Writer, ...]:
    writers = room.writers if shared else room.writers[:1]
    return tuple(
        Writer(id=one, initials=face(one).initials, pin=checks.get(one)) for one in writers
    )


class _Dated(Telling):
    """Tells every moment by its date: the page may be read on another day."""

    def when(self, moment: object, precision: str = MINUTE) -> str:
        assert isinstance(moment, datetime)
        return say.moment(self.words, moment, precision)


def _telling() -> Telling:
    return _Dated(
        words=words(), now=now(), name_of=lambda member: face(MemberId(member)).initials
    )


def _studio(kept: KeptStudio, room: KeptRoom, names: Mapping[Subject, str]) -> StudioPart:
    studio = kept.studio
    shelf = next((one for one in room.shelf if one.studio.id == studio.id), None)
    lots = (*shelf.alum, *shelf.paper) if shelf else ()
    cards = [_card(one, names[one.look.state.id]) for one in kept.baths]
    cards += [_liquid_card(one, names[one.look.state.id]) for one in kept.liquids]
    return StudioPart(
        id=studio.id,
        name=studio.name,
        cards=tuple(cards),
        old=tuple(_old_card(one, names[one.old.id]) for one in kept.old),
        drums=tuple(_drum(one) for one in kept.drums),
        shelf=tuple(_shelf_row(one) for one in lots if one.left > 0),
        call=safety_card(words(), "sheets", studio).call,
    )


def _drum(jar: JarState) -> Drum:
    metals = jar.parts[-1].metal_pigments if jar.parts else ""
    return Drum(
        id=jar.id,
        name=jar.name,
        studio=jar.studio,
        in_it=words().gettext(
            "%(litres)s of %(holds)s in it",
            litres=amounts.volume(words(), jar.volume_ml),
            holds=amounts.volume(words(), jar.holds_ml),
        ),
        fields=(("metal_pigments", metals),) if metals in ("yes", "no") else (),
    )


def _shelf_row(look: LotLook) -> ShelfRow:
    lot = look.lot
    if lot.salt:
        what = say.choice(words(), "salt_short", lot.salt)
        return ShelfRow(name=lot.name, left=amounts.weight(words(), look.left_g), what=what)
    left = say.full_sheets(words(), look.left_sheets)
    return ShelfRow(name=lot.name, left=left, what=look.paper.name if look.paper else "")


def _card(kept: KeptBath, name: str) -> Card:
    look, telling = kept.look, _telling()
    state, vessel = look.state, look.around.vessel
    stop = look.answer.word in WANT_REASON
    last = None if stop else kept.last
    return Card(
        id=state.id,
        what=state.what,
        name=say.bath_name(words(), state.what, name),
        tub=vessel.name if vessel else "",
        studio=state.studio,
        word=look.answer.word.value,
        why=reasons.why(telling, look),
        how=reasons.how_known(telling, look.answer.how_known),
        litres=amounts.volume(words(), look.strength.volume_l * 1000),
        sheets_left=_sheets_left(kept),
        hands=face(state.hands.by).initials,
        hands_at=_at(state.hands.at),
        turns_at=_at(kept.turns_at) if kept.turns_at else None,
        turns_to=kept.turns_to.value,
        again=_again(last) if last else "",
        fields=_fields(last) if last else (),
        drawer=" ".join(kept.drawer),
    )


def _liquid_card(kept: KeptLiquid, name: str) -> Card:
    look, telling = kept.look, _telling()
    state, vessel = look.state, look.around.vessel
    return Card(
        id=state.id,
        what=state.what,
        name=say.bath_name(words(), state.what, name),
        tub=vessel.name if vessel else "",
        studio=state.studio,
        word=look.answer.word.value,
        why=reasons.why(telling, look),
        how=reasons.how_known(telling, look.answer.how_known),
        litres=amounts.volume(words(), state.volume_ml),
        sheets_left="",
        hands=face(state.hands.by).initials,
        hands_at=_at(state.hands.at),
        turns_at=_at(kept.turns_at) if kept.turns_at else None,
        turns_to=kept.turns_to.value,
        again="",
        fields=(),
        drawer=" ".join(kept.drawer),
    )


def _old_card(kept: KeptOld, name: str) -> OldCard:
    old, walks, stand = kept.old, kept.walks, kept.stand
    stop = words().gettext(neutralising.REFUSED[AMMONIA_GAS]) if old.ammonia else ""
    walk = walks[0][1] if walks else None
    return OldCard(
        id=old.id,
        name=say.bath_name(words(), "alum", name),
        studio=old.studio,
        in_it=neutralising.in_it(words(), old),
        stop=stop,
        wanted=neutralising.wanted(words(), kept.window) if walk else "",
        bucket=amounts.volume(words(), 1000 * least_bucket_l(old), 0) if walk else "",
        cup=neutralising.litres(words(), walk.kept_cup_l) if walk else "",
        bases=tuple(_base(kept, base, each) for base, each in walks),
        done=tuple(_done(kept)),
        next=neutralising.what_next(words(), stand, walks[0][0]) if stand else "",
        view=_next_view(stand),
        fields=_next_fields(walks[0], stand) if stand else {},
        shelf=" ".join(kept.shelf),
    )


def _base(kept: KeptOld, base: str, walk: Walk) -> str:
    text = neutralising.parts(words(), base, walk)
    if base not in kept.shelf:
        return text
    return words().gettext("On the shelf: %(base)s", base=text)


def _next_view(stand: Stand | None) -> str:
    """Return the form of what comes next; empty where nothing is written then."""
    if stand is None:
        return ""
    if stand.step is Next.MAY_IT_GO:
        return "gone"
    return "soda" if stand.step in neutralising.TREATMENT else "ph"


def _next_fields(first: tuple[str, Walk], stand: Stand) -> dict[str, dict[str, str]]:
    """Return what fills the form next, by the step that was written here last."""
    base, walk = first
    step = neutralising.TREATMENT.get(stand.step, "")
    if stand.step is Next.BEFORE:
        step = neutralising.TREATMENT[Next.KEEP_BACK]
    now_next = {"step": step}
    if stand.weight_g:
        now_next |= _weighed(base, stand.weight_g)
    if stand.cup_ml:
        cup = amounts.small_figure(words(), stand.cup_ml)
        now_next |= {"litres.typed": cup, "litres.unit": own_order(("ml", "us_fl_oz"))[0]}
    then = {"step": "base_in"} | _weighed(base, walk.parts.first_g)
    return {"": now_next, "kept_back": then}


def _weighed(base: str, weight_g: float) -> dict[str, str]:
    shown = neutralising.weight_shown(words(), weight_g)
    return {"base": base, "weight.typed": shown, "weight.unit": own_order(WEIGHED_IN)[0]}


def _done(kept: KeptOld) -> Iterator[Was]:
    """Give what was done to it and read of it last, the oldest first."""
    both: list[Treated | DrainReading] = [*kept.old.treated]
    both += [one for one in kept.old.readings if one.ph]
    both.sort(key=lambda one: (one.at, one.entry))
    for one in both[-DONE_KEPT:]:
        yield Was(neutralising.done_text(words(), one), face(one.by).initials, _at(one.at))


def _sheets_left(kept: KeptBath) -> str:
    look = kept.look
    if look.sheets_left is None or look.answer.word is Word.DO_NOT_USE:
        return ""
    sheets = say.sheets(words(), look.sheets_left.middle, look.sheet_format)
    return words().gettext("about %(sheets)s left", sheets=sheets)


def _again(last: Through) -> str:
    own = None if last.lot else last.paper
    return words().gettext(
        "%(sheets)s, %(method)s, %(paper)s",
        sheets=say.sheets(words(), last.sheet_count, last.sheet_format),
        method=say.choice(words(), "method", last.method),
        paper=paper(words(), Names(desk().journal), last.lot, own),
    )


def _fields(last: Through) -> tuple[tuple[str, str], ...]:
    return (
        ("sheet_count", str(last.sheet_count)),
        ("sheet_format", last.sheet_format),
        ("method", last.method),
        ("lot", last.lot or "own"),
        ("paper", "" if last.lot else last.paper or ""),
    )


def _offer(room: KeptRoom) -> Offer:
    spooned = tuple(code for code in units_of(room.house) if code not in WEIGHTS)
    return Offer(
        pad=COUNTS,
        stacks=tuple(_stack(one, bath) for one, bath in room.stacks),
        paper=tuple(_paper_lot(one, room) for one in room.paper),
        own=tuple(Choice(one.id, one.name) for one in room.papers),
        alum=tuple(_alum(room)),
        tubs=tuple(_tubs(room)),
        recipes=tuple(
            Choice(one.id, recipe_text(words(), one), also={"dose": one.dose})
            for one in room.recipes
        ),
        amounts=(*_units(WEIGHTS, WEIGHED), *_units(spooned, SPOONED)),
        waters=_units(WATERS, LITRES_MAX),
        litres=_units(LITRES, LITRES_MAX),
        dish=_units(DISH, LITRES_MAX),
        poured=_units((*LITRES, "ml"), LITRES_MAX),
        lengths=_units(LENGTHS, LENGTH),
        degrees=_units(TEMPERATURES, DEGREES),
        weights=_units(WEIGHED_IN, WEIGHED),
        studios=tuple(Choice(one.studio.id, one.studio.name) for one in room.studios),
        ph_tools=tuple((code, say.choice(words(), "instrument", code)) for code in PH_TOOLS),
        ph_steps=PH_STEPS,
        heaps=tuple((code, words().gettext(text)) for code, text in HEAPS),
        tools=tuple(
            (code, say.choice(words(), "instrument", code))
            for code in dict.fromkeys((*READ_WITH, "drop_test", "look"))
        ),
        sheets_max=kinds.SHEETS_MAX,
        note_max=NOTE_LENGTH_MAX,
    )


def _stack(one: StackState, bath: str) -> Choice:
    """Offer a stack by what is left of it, its bath and whose it is."""
    left = say.sheets(words(), one.left_count, one.sheet_format)
    text = words().gettext("%(sheets)s of %(bath)s", sheets=left, bath=bath)
    shown = words().gettext(
        "%(stack)s, %(initials)s, %(when)s",
        stack=text,
        initials=face(one.by).initials,
        when=words().day(one.at),
    )
    also = {"sheet_format": one.sheet_format}
    return Choice(one.id, text, shown, also=also)


def _paper_lot(look: LotLook, room: KeptRoom) -> Choice:
    """Offer a parcel; where there are more studios, with the one it stands in."""
    if len(room.studios) == 1:
        return Choice(look.lot.id, look.lot.name)
    studio = next(
        (one.studio.name for one in room.studios if one.studio.id == look.lot.studio), ""
    )
    shown = words().gettext("%(lot)s (%(studio)s)", lot=look.lot.name, studio=studio)
    return Choice(look.lot.id, look.lot.name, shown)


def _alum(room: KeptRoom) -> Iterable[Choice]:
    usual = room.house.target_salt if room.house else None
    for studio in room.studios:
        for one in studio.alum:
            shown = lot_text(words(), one, usual or "")
            yield Choice(one.lot.id, one.lot.name, shown, studio.studio.id)


def _tubs(room: KeptRoom) -> Iterable[Choice]:
    for studio in room.studios:
        for tub in studio.tubs:
            shown = ""
            if tub.holds is not None:
                shown = words().gettext(
                    "%(tub)s, %(bath)s was in it", tub=tub.vessel.name, bath=tub.holds.name
                )
            yield Choice(
                tub.vessel.id,
                tub.vessel.name,
                shown,
                also={"studio": studio.studio.id},
                fills={"name": studio.next_name},
            )


def _units(codes: tuple[str, ...], limits: tuple[Fraction, Fraction]) -> tuple[UnitChoice, ...]:
    """Return units with the limits of what is measured in them, in each unit's own number."""
    found = []
    for code in own_order(codes):
        low, high = ((one - UNITS[code].offset) / UNITS[code].factor for one in limits)
        text = words().gettext(UNIT_NAMES[code][1])
        found.append(UnitChoice(code, text, _low(low), decimal_text(high)))
    return tuple(found)


def _low(limit: Fraction) -> str:
    """Return a lower limit that is not rounded up over what may be."""
    written = decimal_text(limit)
    return written if Fraction(written) <= limit else "0"


def _slip(code: str, limits: tuple[str, ...]) -> str:
    """Return the sentence of a refusal with places for its limits, for the script to fill."""
    return words().gettext(say.REFUSALS[code], **{name: f"{{{name}}}" for name in limits})
