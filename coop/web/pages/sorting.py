"""How did they come out? Sorting a stack in parts, with a photo, and keeping a sheet."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, ClassVar

from flask import Blueprint, redirect, request
from werkzeug.wrappers import Response
from wtforms import BooleanField, FileField, RadioField, StringField

from coop.actions.photos import PHOTO_BYTES_MAX
from coop.actions.see_faults import kept_of, part_of_entry, unusual
from coop.actions.write import Written
from coop.ids import Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.kinds import FAULTS
from coop.ledger.schema import Refused
from coop.ledger.states import Sorted, StackState
from coop.web import came_out
from coop.web import words as say
from coop.web.came_out import Advice, KeptSaid
from coop.web.fields import NumberField
from coop.web.forms import Happened, Noted, options, written
from coop.web.i18n import N_
from coop.web.page import desk, face, known, needs, new_id, now, show, words, writing
from coop.web.photographed import PhotoForm
from coop.web.security import body_limit
from coop.web.told import bath_url

PAD = (1, 2, 3, 5, 7, 10, 20)
FORM_BYTES_MAX = 100_000
PARTS_SHOWN = 40

pages = Blueprint("sorting", __name__)


class SortingForm(PhotoForm, Happened, Noted):
    """A part of a stack, sorted: good ones and six words."""

    kind: ClassVar[str] = "sheets.sorted"
    beside: ClassVar[frozenset[str]] = frozenset({"photo", "keep"})

    good = NumberField(N_("Good"))
    washed_off = NumberField(say.CHOICES["fault"]["washed_off"])
    patch = NumberField(say.CHOICES["fault"]["patch"])
    stripe = NumberField(say.CHOICES["fault"]["stripe"])
    bubble = NumberField(say.CHOICES["fault"]["bubble"])
    ragged = NumberField(say.CHOICES["fault"]["ragged"])
    wrong_side = NumberField(say.CHOICES["fault"]["wrong_side"])
    other = NumberField(say.CHOICES["fault"]["other"])
    size = RadioField(N_("On which size were they laid?"), validate_choice=False)
    photo = FileField(
        N_("A photo, of a fault or of a beauty"),
        description=N_("Members can see it. Where and when it was taken is left out."),
    )
    keep = BooleanField(N_("Keep this one: it is worth making again"))
    colours = StringField(
        N_("Its colours, in the order they were thrown"),
        description=N_("For example: black, ochre, white."),
    )

    def body(self) -> dict[str, Any]:
        said = super().body()
        return said | {"keep": "yes"} if self.keep.data else said


@dataclass(frozen=True, slots=True, kw_only=True)
class PartSaid:
    """A part that was sorted already."""

    text: str
    by: str
    photo: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SortingPage:
    """
    A stack to be sorted.

    `left` sheets are not sorted yet; `photo_again` that a photo has to be chosen once more.
    """

    id: str
    name: str
    by: str
    bath: tuple[str, str]
    sizes: tuple[tuple[str, str], ...]
    left: int
    left_text: str
    form: SortingForm
    all_good_id: str
    words: tuple[str, ...]
    pad: tuple[int, ...]
    photo_again: bool
    undo: str
    advice: tuple[Advice, ...]
    parts: tuple[PartSaid, ...]
    more_parts: int
    kept: tuple[KeptSaid, ...]


@pages.route("/stacks/<uuid:stack>/sorting", methods=["GET", "POST"])
@needs("sheets.sorted")
@body_limit(PHOTO_BYTES_MAX + FORM_BYTES_MAX)
def sorting(stack: object) -> Response:
    state: StackState = known("stack", str(stack))
    form = SortingForm()
    sizes = _sizes(state)
    form.size.choices = options((*((one, name) for one, (name, _) in sizes.items()),))
    status = 200
    if form.is_submitted():
        status = 422
        if form.validate() and _known_size(form, sizes) and form.take_photo():
            with writing() as place:
                outcome = form.record(place, stack=state.id)
            if written(outcome, words().gettext("Written.")):
                assert isinstance(outcome, Written)
                entry = outcome.sealed.entry.id
                return redirect(f"/stacks/{state.id}/sorting?written={entry}", code=303)
    return show("sorting.html", page=_page(state, form, sizes), nav="room", status=status)


def _known_size(form: SortingForm, sizes: dict[Subject, tuple[str, str]]) -> bool:
    """Say whether the size is one of those the stack was laid on; none is said at all too."""
    if not form.size.data or form.size.data in sizes:
        return True
    form.take(Refused(field="size", code="not-known"))
    return False


def _sizes(stack: StackState) -> dict[Subject, tuple[str, str]]:
    """Return the names and addresses of the sizes a stack was laid on."""
    states: dict[Subject, AnyBath] = desk().journal.states(
        "bath", {one.size for one in stack.laid}
    )
    return {
        one.size: (states[one.size].name, bath_url(states[one.size]))
        for one in stack.laid
        if one.size in states
    }


def _page(
    stack: StackState, form: SortingForm, sizes: dict[Subject, tuple[str, str]]
) -> SortingPage:
    bath: AnyBath | None = desk().journal.state("bath", stack.bath)
    left = max(0, stack.sheet_count - stack.binned_count - stack.sorted_count)
    newest = stack.parts[::-1]
    return SortingPage(
        id=stack.id,
        name=say.sheets(words(), stack.sheet_count, stack.sheet_format),
        by=say.day_by(words(), stack.at, face(stack.by).name),
        bath=(bath.name, bath_url(bath)) if bath else ("", ""),
        sizes=tuple(sizes.values()),
        left=left,
        left_text=say.sheets(words(), left, stack.sheet_format),
        form=form,
        all_good_id=new_id(),
        words=FAULTS,
        pad=tuple(count for count in PAD if count <= left),
        photo_again=form.is_submitted() and form.taken is not None,
        undo=_undo(stack),
        advice=_advice(stack, bath, sizes),
        parts=tuple(_parts(newest[:PARTS_SHOWN])),
        more_parts=max(0, len(newest) - PARTS_SHOWN),
        kept=came_out.kept_ones(desk().journal, kept_of(desk().journal, stack)),
    )


def _undo(stack: StackState) -> str:
    part = part_of_entry(stack, request.args.get("written", ""))
    return part.entry if part else ""


def _advice(
    stack: StackState, bath: AnyBath | None, sizes: dict[Subject, tuple[str, str]]
) -> tuple[Advice, ...]:
    """Say what to do about the part just written, named in the address."""
    part = part_of_entry(stack, request.args.get("written", ""))
    if part is None:
        return ()
    size = (part.size, sizes[part.size][0]) if part.size and part.size in sizes else None
    return came_out.advice(
        words(),
        stack,
        part.spoiled,
        unusual(desk().journal, stack, part),
        bath=bath.name if bath else "",
        size=size,
    )


def _parts(parts: tuple[Sorted, ...]) -> Iterator[PartSaid]:
    there = desk().journal.attachments(one.photo for one in parts if one.photo)
    for one in parts:
        yield PartSaid(
            text=came_out.counts(words(), one.good, one.spoiled),
            by=words().gettext(
                "%(when)s, %(who)s",
                when=say.when(words(), one.at, now()),
                who=face(one.by).name,
            ),
            photo=f"/photo/{one.photo}" if one.photo in there else "",
        )
