"""Tags that hang on tubs: which, on what paper, how many on a sheet; the page prints them."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, TypeVar

from flask import Blueprint, request
from werkzeug.wrappers import Response
from wtforms import RadioField, StringField
from wtforms.validators import ValidationError

from coop.actions.see_baths import gather_around, look_at_every
from coop.actions.see_first import see_first
from coop.actions.see_stacks import StackLook, look_at_stacks
from coop.ids import Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.states import JugState, StackState, StudioState, VesselState
from coop.rules.baths import BathLook
from coop.rules.liquid_looks import LiquidLook
from coop.units.fault import NotUnderstood
from coop.units.number import read_number
from coop.web import jug_words, stacking
from coop.web import words as say
from coop.web.fields import ManyField
from coop.web.forms import PageForm, looked_up, options
from coop.web.i18n import N_
from coop.web.jar_label import Calls
from coop.web.page import desk, face, faces, needs, now, show, words
from coop.web.security import is_loopback
from coop.web.tag_sheets import FOLDED, LAYOUTS, frame, laid_out
from coop.web.tags import Tag, bath_tag, jug_tag, stack_tag, tally_card, tub_tag
from coop.web.told import bath_names, bath_url

TAGS_MAX = 48
"""So many things get their tags at once."""
OFFERED_MAX = 60
"""So many of each sort are offered."""
USUAL = "2"
SMALL = "8"
SORTS = ("bath", "stack", "vessel", "jug")

pages = Blueprint("tags", __name__)

T = TypeVar("T")


class TagsForm(PageForm):
    """Which tags, and on what sheets; it writes nothing and stands in the page's address."""

    class Meta:
        csrf = False

    bath = ManyField(N_("Baths"), validate_choice=False)
    stack = ManyField(N_("Stacks of alumed sheets"), validate_choice=False)
    vessel = ManyField(N_("Tubs"), validate_choice=False)
    jug = ManyField(N_("Jugs"), validate_choice=False)
    card = RadioField(
        N_("With each bath's tag"),
        choices=looked_up((("yes", N_("its tally card")), ("no", N_("nothing more")))),
        default="yes",
    )
    paper = RadioField(
        N_("Paper"),
        choices=looked_up((("a4", N_("A4")), ("letter", N_("US Letter")))),
        default="a4",
    )
    per = RadioField(
        N_("On a sheet"),
        choices=looked_up(
            (
                ("1", N_("one big one")),
                ("2", N_("two")),
                ("4", N_("four")),
                ("8", N_("eight small ones")),
            )
        ),
    )
    start = StringField(
        N_("Begin at place"),
        default="1",
        description=N_("Row by row. Say 2 where the first place of the sheet is used up."),
    )

    @property
    def layout(self) -> str:
        """The code of the layout; the usual one while none is said that there is."""
        said = str(self.per.data)
        return said if said in LAYOUTS else USUAL

    @property
    def first(self) -> int:
        """The place to begin at."""
        return int(read_number(str(self.start.data)))

    def validate_per(self, field: RadioField) -> None:
        """Refuse small labels for a bath: they have no back, and are not read from afar."""
        if self.bath.data and self.layout not in FOLDED:
            raise ValidationError(
                words().gettext(
                    "A bath's tag is read at two metres and has a back: four on a sheet at "
                    "most. Print the small ones by themselves."
                )
            )

    def validate_start(self, field: StringField) -> None:
        """Refuse a place that this sheet does not have."""
        last = LAYOUTS[self.layout].count
        try:
            said = read_number(str(field.data), low=1, high=last)
        except NotUnderstood:
            said = None
        if said is None or said.denominator != 1:
            raise ValidationError(
                words().gettext("A place from 1 to %(last)s, please.", last=last)
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """What tags were asked for; some nobody knows, some was too much."""

    baths: tuple[BathLook | LiquidLook, ...]
    stacks: tuple[StackLook, ...]
    tubs: tuple[VesselState, ...]
    jugs: tuple[JugState, ...]
    studios: dict[Subject, StudioState]
    missing_count: int
    left_out_count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TagsPage:
    """
    The form, and the sheets as they will be printed.

    Attributes:
        sheets: Cells of each sheet, row by row; None stays empty.
        fold: Along which side a bath's tag is folded: top or side; empty without one.
        frame: What the frame of one side measures, to hold a ruler to it.
        not_printed: Studios without numbers to call: their tags stay on the screen.
        unprinted: Sheets of those tags.
        too_long: Baths whose names would not be read at two metres on these tags.
        stopped: Baths that hang with the back to the front.
        only_here: Whether the codes lead to this machine alone.
        missing_count: So much of what was asked for nobody knows here.
        left_out_count: So much was too much at once.
    """

    form: TagsForm
    sheets: tuple[tuple[Tag | None, ...], ...]
    paper: str
    per: str
    fold: str
    frame: str
    not_printed: tuple[Calls, ...]
    unprinted: tuple[tuple[Tag | None, ...], ...]
    too_long: tuple[str, ...]
    stopped: tuple[str, ...]
    only_here: bool
    missing_count: int
    left_out_count: int
    most: int = TAGS_MAX


@pages.get("/tags")
@needs("read")
def tags() -> Response:
    chosen = _chosen()
    form = _form(chosen)
    faces().gather(_people(chosen))
    made = tuple(_made(chosen, form)) if form.validate() else ()
    layout = LAYOUTS[form.layout]
    too_long = {one.label for one in made if one.back and not _is_read(one, form.layout)}
    read = tuple(one for one in made if one.label not in too_long)
    printed = tuple(one for one in read if one.prints)
    waiting = tuple(one for one in read if not one.prints)
    folded = any(one.back for one in read)
    page = TagsPage(
        form=form,
        sheets=laid_out(printed, layout.count, form.first) if printed else (),
        paper=str(form.paper.data),
        per=form.layout,
        fold=layout.fold if folded else "",
        frame=_frame(form, folded=folded) if printed else "",
        not_printed=_without_numbers(made),
        unprinted=laid_out(waiting, layout.count, form.first) if waiting else (),
        too_long=tuple(sorted(too_long)),
        stopped=tuple(
            say.bath_name(words(), look.state.what, look.state.name)
            for look in chosen.baths
            if look.state.stop is not None
        ),
        only_here=is_loopback(),
        missing_count=chosen.missing_count,
        left_out_count=chosen.left_out_count,
    )
    return show("tags.html", page=page, nav="room")


def _without_numbers(made: Iterable[Tag]) -> tuple[Calls, ...]:
    """Return the studios, each once, whose tags wait for numbers to call."""
    return tuple({one.calls.url: one.calls for one in made if not one.prints}.values())


def _people(chosen: Chosen) -> Iterator[Any]:
    yield from (look.state.mixed_by for look in chosen.baths)
    yield from (look.state.stop.by for look in chosen.baths if look.state.stop)
    yield from (look.state.by for look in chosen.stacks)
    yield from (one for jug in chosen.jugs for one in (jug.found_by, jug.known_by) if one)


# ---- what was asked for


def _chosen() -> Chosen:
    """Return what the address names and the ledger knows, with its studio; the rest is told."""
    journal = desk().journal
    journal.gather(("bath", "jug", "stack", "studio", "vessel"))
    asked = {(sort, Subject(one)): None for sort in SORTS for one in request.args.getlist(sort)}
    wanted = tuple(asked)[:TAGS_MAX]
    found: dict[str, tuple[Any, ...]] = {}
    for sort in SORTS:
        ids = [one for of, one in wanted if of == sort]
        states = journal.states(sort, ids) if ids else {}
        found[sort] = tuple(states[one] for one in ids if one in states)
    studios = {one.id: one for one in journal.listed("studio")}
    baths: list[AnyBath] = [one for one in found["bath"] if one.studio in studios]
    gather_around(journal, baths)
    looks = {one.state.id: one for one in look_at_every(journal, baths, now=now())}
    stacks = look_at_stacks(journal, found["stack"], now=now())
    shown = {
        "baths": tuple(looks[one.id] for one in baths),
        "stacks": tuple(one for one in stacks if one.studio is not None),
        "tubs": tuple(one for one in found["vessel"] if one.studio in studios),
        "jugs": tuple(one for one in found["jug"] if one.studio in studios),
    }
    return Chosen(
        **shown,
        studios=studios,
        missing_count=len(wanted) - sum(map(len, shown.values())),
        left_out_count=len(asked) - len(wanted),
    )


def _form(chosen: Chosen) -> TagsForm:
    """Return the form with what may be chosen, and say beside a field what is wrong in it."""
    form = TagsForm(request.args)
    if not form.per.data:
        form.per.data = USUAL if chosen.baths or not _any(chosen) else SMALL
    if LAYOUTS[form.layout].count == 1:
        form.start.description = ""
    form.bath.choices = options(_offered_baths(chosen))
    form.stack.choices = options(_offered_stacks(chosen))
    form.vessel.choices = options(_offered_tubs(chosen))
    form.jug.choices = options(_offered_jugs(chosen))
    return form


def _any(chosen: Chosen) -> bool:
    return bool(chosen.baths or chosen.stacks or chosen.tubs or chosen.jugs)


def _offered(sort: str, chosen: Iterable[T], **asked: Any) -> tuple[T, ...]:
    """Return what is live of a sort and, first, what was chosen all the same."""
    every = {one.id: one for one in chosen}  # type: ignore[attr-defined]  # every state has one
    for one in desk().journal.listed(sort, **asked)[:OFFERED_MAX]:
        every.setdefault(one.id, one)
    return tuple(every.values())


def _offered_baths(chosen: Chosen) -> Iterator[tuple[str, str]]:
    every: tuple[AnyBath, ...] = _offered("bath", (look.state for look in chosen.baths))
    names = bath_names(every)
    for one in every:
        yield one.id, say.bath_name(words(), one.what, names[one.id])


def _offered_stacks(chosen: Chosen) -> Iterator[tuple[str, str]]:
    every: tuple[StackState, ...] = _offered("stack", (look.state for look in chosen.stacks))
    left = tuple(one for one in every if one.left_count > 0)
    faces().gather(one.by for one in left)
    for look in look_at_stacks(desk().journal, left, now=now()):
        day, initials = words().day(look.state.alumed_at), face(look.state.by).initials
        yield look.state.id, f"{stacking.name(look)}, {day}, {initials}"


def _offered_tubs(chosen: Chosen) -> Iterator[tuple[str, str]]:
    every: tuple[VesselState, ...] = _offered("vessel", chosen.tubs)
    for one in every:
        studio = chosen.studios.get(one.studio)
        yield one.id, f"{one.name}, {studio.name}" if studio else one.name


def _offered_jugs(chosen: Chosen) -> Iterator[tuple[str, str]]:
    every: tuple[JugState, ...] = _offered("jug", chosen.jugs)
    for one in every:
        yield one.id, jug_words.where(one, chosen.studios.get(one.studio))


# ---- the tags


def _made(chosen: Chosen, form: TagsForm) -> Iterator[Tag]:
    """Make the tags, in the order in which they are printed."""
    layout = form.layout
    firsts = see_first(desk().journal, (look.state for look in chosen.baths))
    for look in chosen.baths:
        url = _address(bath_url(look.state))
        yield bath_tag(look, firsts[look.state.id], layout=layout, url=url)
        if form.card.data == "yes":
            yield tally_card(look, layout=layout, url=url)
    for stack in chosen.stacks:
        assert stack.studio is not None
        url = _address(f"/stacks/{stack.state.id}")
        yield stack_tag(stack, stack.studio, layout=layout, url=url)
    for tub in chosen.tubs:
        url = _address(f"/mix/{tub.id}")
        yield tub_tag(tub, chosen.studios[tub.studio], layout=layout, url=url)
    baths = desk().journal.states("bath", {one.bath for one in chosen.jugs if one.bath})
    for jug in chosen.jugs:
        bath = baths.get(jug.bath) if jug.bath else None
        url = _address(f"/jugs/{jug.id}")
        yield jug_tag(jug, bath, chosen.studios[jug.studio], layout=layout, url=url)


def _address(path: str) -> str:
    """Return the whole address of a page, by the name under which this one was asked for."""
    return f"{request.url_root.rstrip('/')}{path}"


def _is_read(tag: Tag, layout: str) -> bool:
    """Say whether a bath's name is read at two metres; on the biggest tag it is as it is."""
    return not tag.back or layout == "1" or tag.name.reads_from_afar


def _frame(form: TagsForm, *, folded: bool) -> str:
    size = frame(str(form.paper.data), form.layout, folded=folded)
    return words().gettext(
        "%(width)s x %(height)s mm",
        width=words().number(size.width_mm, 1),
        height=words().number(size.height_mm, 1),
    )
