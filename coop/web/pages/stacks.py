"""Stacks of alumed sheets: which are going stale, and what is done to one."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, ClassVar

from flask import Blueprint, redirect, request
from werkzeug.wrappers import Response
from wtforms import Field, RadioField, StringField

from coop.actions.log_sheets import usable_sizes
from coop.actions.see_stacks import (
    StackHistory,
    StackLook,
    see_stack,
    see_stack_history,
    see_stacks,
)
from coop.actions.write import Written
from coop.ids import EntryId
from coop.ledger.force import InForce, Struck
from coop.ledger.states import StackState
from coop.ledger.table import HOUSE
from coop.rules.baths import limits_of
from coop.rules.reasons import Word
from coop.web import history, reasons, rows_of_card, stacking
from coop.web import words as say
from coop.web.answers import Undo, undo
from coop.web.fields import NumberField
from coop.web.forms import EntryForm, Happened, Noted, looked_up, written
from coop.web.history import Item, Line
from coop.web.i18n import N_
from coop.web.page import desk, faces, known, needs, now, show, who, words, writing, zone
from coop.web.reasons import Telling
from coop.web.told import Names, telling

STACKS_SHOWN = 60
HISTORY_SHOWN = 40

pages = Blueprint("stacks", __name__)

Act = tuple[str, str]


class StackForm(EntryForm, Happened):
    """One of the forms of a stack's page; their fields share names, so ids are by the act."""

    act: ClassVar[str] = ""

    def __init__(self, **more: Any) -> None:
        super().__init__(**more)
        for field in self:
            field.id = f"{self.act}-{field.name}"


def _taps(label: str, group: str) -> Field:
    return RadioField(
        label, choices=looked_up(say.CHOICES[group].items()), validate_choice=False
    )


class DryForm(StackForm):
    kind: ClassVar[str] = "stack.dried"
    act: ClassVar[str] = "dry"

    how = _taps(N_("Dried how?"), "drying")


class FlattenForm(StackForm):
    kind: ClassVar[str] = "stack.flattened"
    act: ClassVar[str] = "flatten"

    how = _taps(N_("Flattened how?"), "flattening")


class PutAwayForm(StackForm):
    kind: ClassVar[str] = "stack.put_away"
    act: ClassVar[str] = "put-away"

    place = StringField(N_("Where?"), description=N_("May be left empty."))
    state = _taps(N_("How does it lie?"), "stack_state")


class BinForm(StackForm, Noted):
    kind: ClassVar[str] = "stack.binned"
    act: ClassVar[str] = "bin"

    sheet_count = NumberField(N_("How many sheets?"))
    reason = _taps(N_("Why?"), "bin_reason")


FORMS: tuple[type[StackForm], ...] = (DryForm, FlattenForm, PutAwayForm, BinForm)


@dataclass(frozen=True, slots=True, kw_only=True)
class StackCard:
    """A stack as it is listed; `rows` are several of one card, each with its own page."""

    url: str
    bath: str
    bath_name: str
    bath_url: str
    whose: str
    left: str
    gone: str
    word: str
    why: str
    lies: str
    use_by: str
    side: str
    acts: tuple[Act, ...]
    rows: tuple[Act, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Heap:
    """Stacks that belong together, under what they have in common."""

    code: str
    title: str
    cards: tuple[StackCard, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StacksPage:
    """`filters` are (text, address, whether it is the one shown)."""

    filters: tuple[tuple[str, str, bool], ...]
    heaps: tuple[Heap, ...]
    more_count: int


@pages.get("/stacks")
@needs("read")
def stacks() -> Response:
    found = _filtered(see_stacks(desk().journal, now=now()))
    faces().gather(look.state.by for look in found)
    page = StacksPage(
        filters=tuple(_filters()),
        heaps=_heaps(found),
        more_count=max(0, len(found) - STACKS_SHOWN),
    )
    return show("stacks.html", page=page, nav="stacks")


def _filtered(looks: Iterable[StackLook]) -> list[StackLook]:
    """Return the stacks asked for, going stale first, those past every use near the end."""
    studio, mine = request.args.get("studio", ""), request.args.get("whose") == "mine"
    found = [
        look
        for look in looks
        if (not mine or look.state.by == who().member)
        and (not studio or (look.studio is not None and look.studio.id == studio))
    ]
    return sorted(found, key=lambda look: tuple(HEAPS).index(_heap_of(look)))


def _filters() -> Iterable[tuple[str, str, bool]]:
    studio, mine = request.args.get("studio", ""), request.args.get("whose") == "mine"
    yield words().gettext("All"), "/stacks", not mine and not studio
    yield words().gettext("Mine"), "/stacks?whose=mine", mine
    studios = sorted(desk().journal.listed("studio"), key=lambda one: (one.name, one.id))
    for one in studios:
        yield one.name, f"/stacks?studio={one.id}", one.id == studio


HEAPS = {
    "stale": N_("Going stale"),
    "look": N_("Look again first"),
    "good": N_("Good for now"),
    "over": N_("Not to be used"),
    "laid": N_("All laid, waiting to be sorted"),
}
"""In the order in which they are shown."""


def _heap_of(look: StackLook) -> str:
    if look.answer.word is Word.FINISHED:
        return "laid"
    if look.answer.word is Word.DO_NOT_USE:
        return "over"
    if look.stale:
        return "stale"
    return "look" if look.answer.word is Word.LOOK_AGAIN else "good"


def _heaps(found: list[StackLook]) -> tuple[Heap, ...]:
    tell = telling()
    cards: dict[str, list[StackCard]] = {code: [] for code in HEAPS}
    for rows in rows_of_card.together(found[:STACKS_SHOWN], zone()):
        card = _card(tell, rows[0])
        cards[_heap_of(rows[0])].append(card if len(rows) == 1 else _joined(card, rows))
    return tuple(
        Heap(code=code, title=words().gettext(title), cards=tuple(cards[code]))
        for code, title in HEAPS.items()
        if cards[code]
    )


def _card(tell: Telling, look: StackLook) -> StackCard:
    state = look.state
    return StackCard(
        url=f"/stacks/{state.id}",
        bath=state.alum,
        bath_name=_bath_name(look),
        bath_url=f"/baths/{state.alum}" if look.bath else "",
        whose=stacking.whose(state),
        left=stacking.left(state),
        gone=stacking.gone(state),
        word=look.answer.word.value,
        why=stacking.why(tell, look),
        lies=stacking.lies(state),
        use_by=stacking.use_by(tell, look),
        side=stacking.side_to_lay(look.side),
        acts=_acts(look),
    )


def _joined(card: StackCard, rows: rows_of_card.Rows) -> StackCard:
    """Return rows of one card as one; what is done, is done to each on its own page."""
    return replace(
        card,
        left=rows_of_card.told(rows),
        gone="",
        acts=(),
        rows=tuple((stacking.left(one.state), f"/stacks/{one.state.id}") for one in rows),
    )


def _bath_name(look: StackLook) -> str:
    if look.bath is None:
        return words().gettext("a bath that is not known here")
    return say.bath_name(words(), look.bath.what, look.bath.name)


def _acts(look: StackLook) -> tuple[Act, ...]:
    state = look.state
    acts = [reasons.stack_act(words(), code, stack=state.id) for code in look.answer.next_acts]
    if state.sorted_count + state.binned_count < state.sheet_count:
        text = words().gettext("How did they come out?")
        acts.append((text, f"/stacks/{state.id}/sorting"))
    return tuple(acts)


@dataclass(frozen=True, slots=True, kw_only=True)
class StackPage:
    """
    One stack whole.

    Attributes:
        lay: Links to lay it on each size that may be used now.
        keeps: How long it keeps, by how it lies.
        forms: What is done to it, by the act: dry, flatten, put-away, bin.
    """

    card: StackCard
    name: str
    how: str
    lay: tuple[Act, ...]
    follow_url: str
    tag_url: str
    facts: tuple[tuple[str, str], ...]
    keeps: str
    forms: dict[str, StackForm]
    wrong: StackForm | None
    any_left: bool
    history: tuple[Line, ...]
    older_count: int
    undo: Undo | None


@pages.get("/stacks/<uuid:stack>")
@needs("read")
def stack(stack: object) -> Response:
    return _show(known("stack", str(stack)), None)


@pages.route("/stacks/<uuid:stack>/dry", methods=["GET", "POST"])
@needs("stack.dried")
def dry(stack: object) -> Response:
    return _act(known("stack", str(stack)), DryForm)


@pages.route("/stacks/<uuid:stack>/flatten", methods=["GET", "POST"])
@needs("stack.flattened")
def flatten(stack: object) -> Response:
    return _act(known("stack", str(stack)), FlattenForm)


@pages.route("/stacks/<uuid:stack>/put-away", methods=["GET", "POST"])
@needs("stack.put_away")
def put_away(stack: object) -> Response:
    return _act(known("stack", str(stack)), PutAwayForm)


@pages.route("/stacks/<uuid:stack>/bin", methods=["GET", "POST"])
@needs("stack.binned")
def throw_away(stack: object) -> Response:
    return _act(known("stack", str(stack)), BinForm)


def _act(state: StackState, form_class: type[StackForm]) -> Response:
    """Write what was done and go back to the stack; its forms stand on its own page."""
    form = form_class()
    if not form.is_submitted():
        return _show(state, None)
    if form.validate():
        with writing() as place:
            outcome = form.record(place, stack=state.id)
        done = words().gettext("Written: %(what)s.", what=say.kind(words(), form.kind))
        if written(outcome, done):
            assert isinstance(outcome, Written)
            entry = outcome.sealed.entry.id
            return redirect(f"/stacks/{state.id}?written={entry}", code=303)
    return _show(state, form)


def _show(state: StackState, wrong: StackForm | None) -> Response:
    """Show a stack; `wrong` is the form in which something is to be put right."""
    look = see_stack(desk().journal, state, now=now())
    items = tuple(_items(see_stack_history(desk().journal, state.id)))
    shown = items if request.args.get("all") == "1" else items[:HISTORY_SHOWN]
    tell = telling()
    page = StackPage(
        card=_card(tell, look),
        name=stacking.name(look),
        how=stacking.how_known(tell, look),
        lay=_lay(look),
        follow_url=f"/follow?stack={state.id}",
        tag_url=f"/tags?stack={state.id}",
        facts=_facts(tell, look),
        keeps=_keeps(),
        forms=_forms(state, wrong),
        wrong=wrong,
        any_left=state.left_count > 0,
        history=history.lines(shown),
        older_count=len(items) - len(shown),
        undo=undo(items),
    )
    return show("stack.html", page=page, nav="stacks", status=422 if wrong else 200)


def _items(seen: StackHistory) -> Iterable[Item]:
    """Give what was done to a stack, the newest first, with what was taken out."""
    found = [_item(seen, one) for one in seen.in_force]
    found += [_struck(one) for one in seen.struck]
    return sorted(found, key=lambda one: (one.at, one.id), reverse=True)


def _item(seen: StackHistory, one: InForce) -> Item:
    return Item(
        original=one.original,
        at=one.at,
        precision=one.precision,
        by=one.author,
        content=one.content,
        correction=seen.corrections.get(one.correction or EntryId("")),
        codes=tuple(code for code, entry in seen.odd if entry == one.id),
    )


def _struck(one: Struck) -> Item:
    entry = one.original.entry
    return Item(
        original=one.original,
        at=entry.happened_at,
        precision=entry.precision,
        by=entry.author,
        content=entry.content,
        correction=one.correction,
        struck=True,
    )


def _lay(look: StackLook) -> tuple[Act, ...]:
    """Return a link for each size it may be laid on now."""
    if look.state.left_count == 0 or look.bath is None:
        return ()
    sizes = usable_sizes(desk().journal, look.bath.studio, who().member, now=now())
    return tuple(
        (
            words().gettext(
                "Lay it on %(size)s (%(word)s)",
                size=one.state.name,
                word=reasons.word(words(), one.answer.word),
            ),
            f"/liquids/{one.state.id}/lay?stack={look.state.id}",
        )
        for one in sizes
    )


def _facts(tell: Telling, look: StackLook) -> tuple[tuple[str, str], ...]:
    state = look.state
    return (
        (words().gettext("Alumed"), tell.when(state.alumed_at, state.alumed_precision)),
        (
            words().gettext("Alumed first"),
            tell.when(state.at, state.precision) if state.again else "",
        ),
        (words().gettext("Whose"), stacking.whose(state)),
        (words().gettext("Method"), say.choice(words(), "method", state.method)),
        (words().gettext("Paper"), stacking.paper_of(Names(desk().journal), state)),
        (words().gettext("Left"), stacking.left(state)),
        (words().gettext("Gone"), stacking.gone(state)),
        (words().gettext("How they came out"), stacking.came_out(state)),
        (words().gettext("How it lies"), stacking.lies(state)),
    )


def _keeps() -> str:
    limits = limits_of(desk().journal.state("house", HOUSE))
    return words().gettext(
        "Days it keeps from the aluming on: open %(open)s, damp %(damp)s, in a closed bag "
        "%(bagged)s. Put into a bag when its days in the open are over, it gains none.",
        open=limits.stack_open_days,
        damp=limits.stack_damp_days,
        bagged=limits.stack_bagged_days,
    )


def _forms(state: StackState, wrong: StackForm | None) -> dict[str, StackForm]:
    """Return every form: the one that was sent as it was sent, the others fresh."""
    forms = {one.act: one(formdata=None) for one in FORMS}
    fresh = forms["bin"]
    assert isinstance(fresh, BinForm)
    fresh.sheet_count.process_data(state.left_count or None)
    return forms if wrong is None else forms | {wrong.act: wrong}
