"""The count card: every lot of a studio on one page, saved at once or counted on paper."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil
from typing import Final

from flask import Blueprint, flash, redirect, request
from werkzeug.wrappers import Response
from wtforms import SelectField

from coop.actions.see_counts import open_gaps
from coop.actions.see_shelf import LotLook, StudioShelf, look_at_lots, see_shelf
from coop.actions.write import Written
from coop.ids import Subject
from coop.ledger.schema import Slip
from coop.ledger.states import LotState
from coop.web import words as say
from coop.web.cautions import SafetyCard, safety_card_of
from coop.web.count_form import CountRow, members_but_me, with_whom
from coop.web.forms import PageForm
from coop.web.i18n import N_
from coop.web.lots import house_spoon, lot_said, much
from coop.web.page import desk, faces, needs, show, words, writing

pages = Blueprint("count_card", __name__)

HERE = "/shelf/count"
ROWS_MAX: Final = 50
"""So many lots stand on one card; what is over stands on the next."""
PART_DIGITS_MAX: Final = 4

_LINE = re.compile(r"lot-([0-9a-f:-]{36,38})-entry_id")


class CardForm(PageForm):
    """What is said once for the whole card."""

    counted_with = SelectField(
        N_("Who counted with you?"),
        description=N_("Two see more than one."),
        validate_choice=False,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CardRow:
    """One lot on the card; `said` is its last count, `open` whether its line is unfolded."""

    id: str
    name: str
    told: str
    holds: str
    said: str
    open: bool
    form: CountRow


@dataclass(frozen=True, slots=True, kw_only=True)
class Mistake:
    """A slip: on which line, at which field, and what would be right."""

    name: str
    anchor: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CardPage:
    """
    A studio's count card.

    Attributes:
        part: Which card of the studio it is, of `parts`.
        others: Names and addresses of its other cards, and of those of other studios.
    """

    studio: str
    part: int
    parts: int
    others: tuple[tuple[str, str], ...]
    form: CardForm
    rows: tuple[CardRow, ...]
    mistakes: tuple[Mistake, ...]
    card: SafetyCard | None


class _NotAll(Exception):
    """A line was refused: nothing of the card is kept."""


@pages.route(HERE, methods=["GET", "POST"])
@needs("lot.counted")
def count_card() -> Response:
    shelves = see_shelf(desk().journal)
    shelf = _chosen(shelves)
    form = CardForm()
    form.counted_with.choices = with_whom(members_but_me())
    parts = max(1, ceil(len(shelf.every) / ROWS_MAX)) if shelf else 1
    part = _part(parts)
    looks = _looks(shelf, part)
    rows = [_row_form(look.lot) for look in looks]
    status = 200
    if form.is_submitted():
        status = 422
        filled = [row for row in rows if row.says]
        if not filled:
            flash(words().gettext("Nothing was typed: no lot is counted."), "warning")
        elif form.validate() and _fit(filled) and _write(filled, form):
            return _done(filled)
    others = (*_other_parts(shelf, part, parts), *_other_studios(shelves, shelf))
    page = CardPage(
        studio=shelf.studio.name if shelf else "",
        part=part,
        parts=parts,
        others=others,
        form=form,
        rows=_rows(looks, rows),
        mistakes=tuple(one for row in rows for one in _mistakes(row)),
        card=_card(shelf, looks),
    )
    return show("count_card.html", page=page, nav="shelf", status=status)


def _chosen(shelves: tuple[StudioShelf, ...]) -> StudioShelf | None:
    """Return the studio that is named, else the first one with something on its shelf."""
    named = request.args.get("studio", "")
    found = next((one for one in shelves if one.studio.id == named), None)
    return found or next((one for one in shelves if one.every), None)


def _part(parts: int) -> int:
    """Return which card is asked for; the first where none is, or another thing is said."""
    said = request.args.get("part", "")
    number = int(said) if said.isdecimal() and len(said) <= PART_DIGITS_MAX else 1
    return min(max(1, number), parts)


def _looks(shelf: StudioShelf | None, part: int) -> tuple[LotLook, ...]:
    """Return the lots on the card; one that was typed into stays, used up or moved since."""
    first = (part - 1) * ROWS_MAX
    there = shelf.every[first : first + ROWS_MAX] if shelf else ()
    shown = {look.lot.id for look in there}
    typed = [lot for lot in _typed()[:ROWS_MAX] if lot not in shown]
    journal = desk().journal
    gone: Iterable[LotState] = journal.states("lot", typed).values()
    return (*there, *look_at_lots(journal, tuple(gone)))


def _typed() -> list[Subject]:
    """Return the lots that the card had when it was shown."""
    found = map(_LINE.fullmatch, request.form)
    return [Subject(one[1]) for one in found if one]


def _row_form(lot: LotState) -> CountRow:
    """Return a lot's line; the page's own token stands for all of them."""
    row = CountRow(prefix=f"lot-{lot.id}", meta={"csrf": False})
    row.fit(lot, propose=not row.is_submitted())
    return row


def _fit(filled: Iterable[CountRow]) -> bool:
    """Say whether every line is right; each says itself what is not."""
    fits = [row.validate() and _reads(row) for row in filled]
    return all(fits)


def _reads(row: CountRow) -> bool:
    try:
        row.content()
    except Slip as slip:
        row.take(slip.refused)
        return False
    return True


def _write(filled: Iterable[CountRow], form: CardForm) -> bool:
    """Write every line, or none of them."""
    with_whom = {"counted_with": form.counted_with.data} if form.counted_with.data else {}
    try:
        with writing() as place:
            done = [row.record(place, lot=str(row.lot.id), **with_whom) for row in filled]
            if not all(isinstance(one, Written) for one in done):
                raise _NotAll
    except _NotAll:
        return False
    return True


def _done(filled: list[CountRow]) -> Response:
    """Say how many were counted, and lead on to those that differ."""
    states = desk().journal.states("lot", [row.lot.id for row in filled])
    gaps = open_gaps(desk().journal, states.values())
    count = len(filled)
    text = words().ngettext("%(num)d lot counted.", "%(num)d lots counted.", count)
    flash(text, "written")
    if not gaps:
        return redirect("/shelf", 303)
    more = words().ngettext(
        "%(num)d differs by more than counting errs: what became of it?",
        "%(num)d differ by more than counting errs: what became of them?",
        len(gaps),
    )
    flash(more, "warning")
    if len(gaps) == 1:
        return redirect(f"/lots/{gaps[0].lot.id}/gap", 303)
    return redirect("/sort-it-out#counts", 303)


def _other_parts(shelf: StudioShelf | None, part: int, parts: int) -> Iterable[tuple[str, str]]:
    for number in range(1, parts + 1):
        if shelf is not None and number != part:
            text = words().gettext("Card %(number)s", number=number)
            yield text, f"{HERE}?studio={shelf.studio.id}&part={number}"


def _other_studios(
    shelves: tuple[StudioShelf, ...], shelf: StudioShelf | None
) -> Iterable[tuple[str, str]]:
    for one in shelves:
        if shelf is None or one.studio.id != shelf.studio.id:
            yield one.studio.name, f"{HERE}?studio={one.studio.id}"


def _card(shelf: StudioShelf | None, looks: Iterable[LotLook]) -> SafetyCard | None:
    """Return what to take care of with what is on the card; paper and gloves need no care."""
    whats = [look.what for look in looks]
    return safety_card_of(words(), whats, shelf.studio) if shelf else None


def _rows(looks: tuple[LotLook, ...], rows: Iterable[CountRow]) -> tuple[CardRow, ...]:
    spoon = house_spoon()
    faces().gather(look.lot.received_by for look in looks)
    return tuple(_row(look, row, spoon) for look, row in zip(looks, rows, strict=True))


def _row(look: LotLook, row: CountRow, spoon: str) -> CardRow:
    lot = look.lot
    told = lot_said(words(), look, spoon=spoon).told
    last = words().day(lot.counts[-1].at) if lot.counts else ""
    return CardRow(
        id=str(lot.id),
        name=lot.name,
        told=say.choice(words(), "supply", look.what) if told == lot.name else told,
        holds=words().gettext("Each holds %(pack)s.", pack=much(words(), lot, lot.pack)),
        said=words().gettext("Last counted %(day)s.", day=last)
        if last
        else words().gettext("Never counted."),
        open=row.says or bool(row.errors),
        form=row,
    )


def _mistakes(row: CountRow) -> Iterable[Mistake]:
    name = row.lot.name
    for text in row.form_errors:
        yield Mistake(name=name, anchor=f"line-{row.lot.id}", text=str(text))
    for field in row:
        for text in field.errors:
            yield Mistake(name=name, anchor=field.id, text=str(text))
