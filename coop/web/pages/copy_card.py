"""Copy the card: the pencil tally card of a tub's tag, a row a line, saved at once."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from flask import Blueprint, abort, flash, jsonify, redirect
from werkzeug.wrappers import Response
from wtforms import Field

from coop.actions.copy_card import (
    TO_COME,
    TOO_EARLY,
    TOO_OLD,
    CardLine,
    Copied,
    NotAll,
    There,
    already_there,
    copy_card,
    likely_twins,
    part_said,
    why_not_then,
)
from coop.actions.correct_entry import CORRECTION
from coop.actions.log_sheets import see_laying, see_usual
from coop.actions.mend import made_of
from coop.actions.on_hand import alum_on_hand, to_mend_with
from coop.actions.see_baths import see_any, see_bath, volume_ml
from coop.actions.see_entries import entries_of
from coop.actions.see_stacks import side_rule
from coop.actions.undo_card import NotUndone, lines_of_card, may_undo_all, undo_card
from coop.actions.write import Clash
from coop.ids import EntryId, MemberId
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.entries import Sealed
from coop.ledger.liquids import SIZE, LiquidState
from coop.ledger.part_of_day import DAY, MINUTE
from coop.ledger.schema import Slip
from coop.rules.baths import BathLook
from coop.rules.liquid_looks import LiquidLook
from coop.web import amounts, over_left
from coop.web import words as say
from coop.web.card_lines import (
    Above,
    CardForm,
    LineForm,
    Offer,
    alums_offered,
    hands_of,
    line_forms,
    lots_offered,
    stacks_offered,
)
from coop.web.cautions import SafetyCard, safety_card
from coop.web.forms import options
from coop.web.i18n import N_
from coop.web.page import (
    desk,
    face,
    faces,
    known,
    needs,
    new_id,
    now,
    show,
    today,
    who,
    words,
    writing,
    zone,
)
from coop.web.security_log import note_entry
from coop.web.told import Names, bath_url, told

pages = Blueprint("copy_card", __name__)

COUNTS = (5, 10, 20, 30, 40, 50, 60)
DAYS_BACK = 3
"""Today, yesterday and the day before have a button."""
NOT_THEN = {
    TO_COME: N_("This has not happened yet."),
    TOO_EARLY: N_("This bath was mixed only %(when)s. Is it the card of another one?"),
    TOO_OLD: N_("That is more than a year ago. Is the year right?"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class DaySaid:
    """What is written of one day; `day` as it stands in a form, `told` as it is read."""

    day: str
    told: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """
    One line of the card; `twin` asks about what seems to be the same, `over` about a count far
    over what is left.

    `says_when`: it says, or should have said, a day or a hand of its own.
    """

    number: int
    form: LineForm
    open: bool
    says_when: bool
    twin: str
    over: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Mistake:
    """A slip: on which line, at which field, and what would be right."""

    line: str
    anchor: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CardPage:
    """
    The card of one bath.

    `laid` says that it is of a size, on which sheets of stacks were laid; `whole` what is
    said for all of it. `days` are those with a button or typed, with what is written of them.
    """

    id: str
    name: str
    url: str
    laid: bool
    whole: str
    form: CardForm
    rows: tuple[Row, ...]
    mistakes: tuple[Mistake, ...]
    asked: int
    doubted: int
    days: tuple[DaySaid, ...]
    pad: tuple[int, ...]
    word: str
    card: SafetyCard


@dataclass(slots=True)
class Reading:
    """
    What a card says: the lines that can be read, those of them somebody wrote, and what is
    asked about counts far over what is left.
    """

    lines: list[CardLine]
    twins: dict[EntryId, There]
    over: dict[EntryId, str]
    forms: dict[EntryId, LineForm]

    @property
    def unanswered(self) -> tuple[LineForm, ...]:
        """The lines of which nobody said yet whether they are the same as their twin."""
        asked = ((self.forms[key], twin) for key, twin in self.twins.items())
        return tuple(
            form
            for form, twin in asked
            if form.twin.data not in ("out", "both") or form.twin_of.data != twin.entry
        )

    @property
    def doubted(self) -> tuple[LineForm, ...]:
        """The lines with a count that is asked about for the first time."""
        counted = ((self.forms[one.id], one) for one in self.to_write if one.id in self.over)
        return tuple(form for form, one in counted if form.warned.data != _counted(one))

    @property
    def to_write(self) -> tuple[CardLine, ...]:
        return tuple(
            one
            for one in self.lines
            if one.id not in self.twins or self.forms[one.id].twin.data == "both"
        )


@pages.route("/baths/<bath>/card", methods=["GET", "POST"])
@needs("sheets.through")
def card(bath: str) -> Response:
    state = _known(bath)
    form = CardForm()
    rows = _offered(state, form)
    reading = Reading(lines=[], twins={}, over={}, forms={})
    status = 200
    if form.is_submitted():
        status = 422
        right = form.validate() and _all_right(rows)
        reading = _read(state, form, rows)
        right = right and not any(_mistakes(rows))
        if right and not reading.lines:
            flash(words().gettext("Nothing was typed: nothing is written."), "warning")
        elif right and not (reading.unanswered or reading.doubted):
            copied = _write(state, reading)
            if copied is not None:
                return _done(state, reading, copied)
    page = _page(state, form, rows, reading)
    return show("copy_card.html", page=page, nav="room", status=status)


@pages.post("/baths/<bath>/card/read")
@needs("sheets.through")
def read(bath: str) -> Response:
    """Say back what the lines that can be read come to, while they are typed."""
    state = _known(bath)
    form = CardForm()
    rows = _offered(state, form)
    for row in rows:
        row.validate()
    reading = _read(state, form, rows)
    asked = [f"{_line(reading.forms[key])}: {_twin(one)}" for key, one in reading.twins.items()]
    asked += [f"{_line(reading.forms[key])}: {one}" for key, one in reading.over.items()]
    lines = reading.lines
    return jsonify({"figure": _sum(state, lines) if lines else "", "warnings": asked})


def _known(bath: str) -> AnyBath:
    """Return a bath that has a tally card: alum, or a size."""
    state: AnyBath = known("bath", bath)
    if not isinstance(state, BathState) and state.what != SIZE:
        abort(404)
    return state


def _offered(state: AnyBath, form: CardForm) -> tuple[LineForm, ...]:
    """Return the lines with what they offer; what the whole card says as it was last time."""
    journal, member = desk().journal, who().member
    days = [today() - timedelta(days=back) for back in range(DAYS_BACK)]
    named = (words().gettext("today"), words().gettext("yesterday"), _long(days[-1]))
    offer = Offer(
        days=tuple(zip((one.isoformat() for one in days), named, strict=True)),
        hands=hands_of(state),
    )
    if isinstance(state, LiquidState):
        laying = see_laying(journal, state, member, asked=None, now=now())
        faces().gather(look.state.by for look in laying.stacks)
        for name in ("sheet_format", "method", "lot"):
            del form[name]
        return line_forms(replace(offer, laid=True, stacks=stacks_offered(laying.stacks)))
    usual = see_usual(journal, state, member, now=now())
    lots = lots_offered(usual)
    form.lot.choices = options(lots)
    if not form.is_submitted():
        form.fill(usual)
    on_hand = alum_on_hand(journal, state.studio, today=today())
    own = made_of(journal, state.id).lots
    alums = alums_offered(to_mend_with(on_hand, own=own, salt_g=0.0), state)
    return line_forms(replace(offer, lots=lots, alums=alums))


def _all_right(rows: Iterable[LineForm]) -> bool:
    """Say whether the fields of all lines are right; each says itself what is not."""
    return all([row.validate() for row in rows if row.says])


def _read(state: AnyBath, form: CardForm, rows: Iterable[LineForm]) -> Reading:
    """Read the lines that say something; a slip is put beside its field."""
    lines, forms = [], {}
    side = side_rule(desk().journal.state("studio", state.studio))
    above: Above | None = None
    for row in rows:
        if not row.says:
            continue
        try:
            above = row.above(above)
            _ask_when(state, row, above)
            if row.errors:
                continue
            line = row.read(state, form, above, side)
            if line.id in forms:
                raise Slip("entry_id", "not-an-id")
        except Slip as slip:
            row.take(slip.refused)
            continue
        lines.append(line)
        forms[line.id] = row
    there = already_there(desk().journal, state.id, {one.day for one in lines}, zone=zone())
    faces().gather(one.by for one in there)
    twins = likely_twins(lines, there, zone=zone(), initials_of=_initials)
    new = [one for one in lines if one.id not in {other.entry for other in there}]
    return Reading(lines=lines, twins=twins, over=_over(state, new), forms=forms)


def _over(state: AnyBath, lines: Iterable[CardLine]) -> dict[EntryId, str]:
    """Ask about each line with far more sheets than the bath still lays, by the lines' ids."""
    if not isinstance(state, BathState):
        return {}
    look = see_bath(desk().journal, state, now=now())
    asked = {
        one.id: over_left.question(look, said.sheet_count, said.sheet_format, said.method)
        for one in lines
        if isinstance(said := one.content, kinds.SheetsThrough)
    }
    return {key: text for key, text in asked.items() if text}


def _counted(line: CardLine) -> str:
    """Return the count of a line as its form keeps it, once it was asked about."""
    return str(line.body.get("sheet_count", ""))


def _initials(member: MemberId) -> str:
    return face(member).initials


def _ask_when(state: AnyBath, row: LineForm, said: Above) -> None:
    """Put beside the day why a bath cannot have been used then."""
    code = why_not_then(state, said.day, said.part, zone=zone(), now=now())
    if code:
        field = row.other_day if str(row.other_day.data or "").strip() else row.day
        mixed = words().moment(state.mixed_at)
        field.errors = [*field.errors, words().gettext(NOT_THEN[code], when=mixed)]


def _write(state: AnyBath, reading: Reading) -> Copied | None:
    """Write all lines, or none; what was refused is said beside its field."""
    try:
        with writing() as place:
            lines = reading.to_write
            return copy_card(place.journal, who(), state, lines, zone=zone(), now=now())
    except NotAll as fault:
        for key, odd in fault.outcomes.items():
            row = reading.forms[key]
            if isinstance(odd, Clash):
                row.entry_id.data = new_id()
                row.form_errors.append(
                    words().gettext(
                        "Something else was written from this line already. What you typed "
                        "is kept: send it again to write it as well."
                    )
                )
            else:
                row.take(odd)
    return None


def _done(state: AnyBath, reading: Reading, copied: Copied) -> Response:
    """Say back what was written, and how far it moved the bath."""
    lines = reading.to_write
    left_out = len(reading.lines) - len(lines)
    already = all(one.already for one in copied.written)
    if lines and not already:
        parts = [
            words().gettext("Written. %(sum)s.", sum=_sum(state, lines)),
            words().gettext(
                "Before: %(before)s. Now: %(now)s.",
                before=_stood(copied.before),
                now=_stood(copied.after),
            ),
        ]
    else:
        parts = [words().gettext("Already written.")]
    if left_out:
        parts.append(
            words().ngettext(
                "%(num)d line was left out: it stands there already.",
                "%(num)d lines were left out: they stand there already.",
                left_out,
            )
        )
    flash(" ".join(parts), "written")
    first = copied.written[0].sealed.entry.id if lines and not already else ""
    return redirect(f"{bath_url(state)}?card={first}" if first else bath_url(state), 303)


@pages.post("/baths/<bath>/card/<uuid:entry>/undo")
@needs(CORRECTION)
def undo(bath: str, entry: object) -> Response:
    """Take out in one tap the lines of a card that oneself has just copied."""
    state = _known(bath)
    found = entries_of(desk().journal, state.id)
    here = {one.id for one in found.here}
    struck = [one.original for one in found.struck]
    every = [*(one.original for one in found.here), *struck]
    card = lines_of_card(EntryId(str(entry)), every)
    lines = tuple(one for one in card if one.entry.id in here)
    if not lines:
        flash(words().gettext("It was taken out already."), "written")
    elif not may_undo_all(who(), lines, now=now()):
        flash(
            words().gettext(
                "The ten minutes for undoing are over: correct each line by itself."
            ),
            "warning",
        )
    else:
        _undo(lines)
    return redirect(bath_url(state), 303)


def _undo(lines: Sequence[Sealed]) -> None:
    try:
        with writing() as place:
            done = undo_card(place.journal, who(), lines, new_id=new_id, now=now())
    except NotUndone:
        flash(words().gettext("That could not be undone just now."), "warning")
        return
    for one in done:
        note_entry(one.sealed.entry)
    said = words().ngettext(
        "%(num)d line taken out. It stays in the history, struck through.",
        "%(num)d lines taken out. They stay in the history, struck through.",
        len(done),
    )
    flash(said, "written")


def _stood(look: BathLook | LiquidLook) -> str:
    """Say how a bath stood: litres, and of alum its strength."""
    litres = amounts.volume(words(), volume_ml(look))
    if isinstance(look, LiquidLook):
        return litres
    found = look.strength
    strength = amounts.strength(
        words(), found.middle_g_per_l, found.low_g_per_l, found.high_g_per_l
    )
    return words().gettext("%(litres)s, %(strength)s", litres=litres, strength=strength)


def _sum(state: AnyBath, lines: Sequence[CardLine]) -> str:
    """Say what lines come to: '12 lines: 260 half sheets through R-A4, 2025-09-12'."""
    counts: dict[str, int] = {}
    for one in lines:
        if isinstance(one.content, kinds.SheetsThrough):
            key = one.content.sheet_format
            counts[key] = counts.get(key, 0) + one.content.sheet_count
    parts = [say.sheets(words(), count, key) for key, count in counts.items()]
    if parts and isinstance(state, LiquidState):
        parts[-1] = words().gettext(
            "%(sheets)s laid on %(size)s", sheets=parts[-1], size=state.name
        )
    elif parts:
        parts[-1] = words().gettext(
            "%(sheets)s through %(bath)s", sheets=parts[-1], bath=state.name
        )
    poured = sum(isinstance(one.content, kinds.BathToppedUp) for one in lines)
    if poured:
        parts.append(words().ngettext("topped up once", "topped up %(num)d times", poured))
    first, last = (words().day(pick(one.day for one in lines)) for pick in (min, max))
    days = (
        first
        if first == last
        else words().gettext("%(first)s to %(last)s", first=first, last=last)
    )
    return words().ngettext(
        "%(num)d line: %(what)s, %(days)s",
        "%(num)d lines: %(what)s, %(days)s",
        len(lines),
        what=", ".join(parts),
        days=days,
    )


def _page(
    state: AnyBath, form: CardForm, rows: tuple[LineForm, ...], reading: Reading
) -> CardPage:
    look = see_any(desk().journal, state, now=now())
    by_row = {reading.forms[key].number: twin for key, twin in reading.twins.items()}
    over = {reading.forms[key].number: text for key, text in reading.over.items()}
    asked, doubted = reading.unanswered, reading.doubted
    for row in asked:
        row.twin_of.data = by_row[row.number].entry
    for row in doubted:
        row.warned.data = str(row.sheet_count.data)
    mistakes = tuple(_mistakes(rows))
    return CardPage(
        id=state.id,
        name=say.bath_name(words(), state.what, state.name),
        url=bath_url(state),
        laid=isinstance(state, LiquidState),
        whole=form.told(),
        form=form,
        rows=tuple(
            Row(
                number=row.number,
                form=row,
                open=row.number == 1 or bool(row.errors) or row in (*asked, *doubted),
                says_when=any(one.data or one.errors for one in row.of_when),
                twin=_twin(by_row[row.number]) if row.number in by_row else "",
                over=over.get(row.number, ""),
            )
            for row in rows
        ),
        mistakes=mistakes,
        asked=0 if mistakes else len(asked),
        doubted=0 if mistakes else len(doubted),
        days=tuple(_days(state, reading)),
        pad=COUNTS,
        word=look.answer.word.value,
        card=safety_card(words(), "sheets", look.around.studio),
    )


def _mistakes(rows: Iterable[LineForm]) -> Iterator[Mistake]:
    for row in rows:
        for text in row.form_errors:
            yield Mistake(line=_line(row), anchor=f"line-{row.number}", text=str(text))
        for field in row:
            anchor = f"{field.id}-0" if field.type == "RadioField" else field.id
            for text in field.errors:
                yield Mistake(line=_of(row, field), anchor=anchor, text=str(text))


def _line(row: LineForm) -> str:
    return words().gettext("Line %(number)s", number=row.number)


def _of(row: LineForm, field: Field) -> str:
    """Say of which field of a line: 'Line 3, day'."""
    asked = words().gettext(str(field.label.text))
    return words().gettext("%(line)s, “%(asked)s”", line=_line(row), asked=asked)


def _twin(one: There) -> str:
    return words().gettext("The same as %(line)s?", line=_there(one))


def _days(state: AnyBath, reading: Reading) -> Iterator[DaySaid]:
    """Say what is written already of the last days, and of those that were typed."""
    days = {today() - timedelta(days=back) for back in range(DAYS_BACK)}
    days |= {one.day for one in reading.lines}
    found = already_there(desk().journal, state.id, days, zone=zone())
    faces().gather(one.by for one in found)
    for day in sorted(days, reverse=True):
        lines = (one for one in found if one.at.astimezone(zone()).date() == day)
        yield DaySaid(
            day=day.isoformat(), told=_long(day), lines=tuple(_there(one) for one in lines)
        )


def _long(day: date) -> str:
    """Say a day with its name: 'Friday 2025-09-12'."""
    return words().gettext(
        "%(weekday)s %(moment)s", weekday=words().weekday(day), moment=words().day(day)
    )


def _there(one: There) -> str:
    """Say what is written: '18:40, KR: 40 half sheets'."""
    said = one.content
    if isinstance(said, kinds.SheetsThrough):
        what = say.sheets(words(), said.sheet_count, said.sheet_format)
    else:
        what = told(words(), Names(desk().journal), said)
    parts = (_hour(one), face(one.by).initials)
    line = words().gettext("%(who)s: %(what)s", who=", ".join(filter(None, parts)), what=what)
    return f"{line} ({one.note})" if one.note else line


def _hour(one: There) -> str:
    if one.precision == MINUTE:
        return words().time(one.at)
    if one.precision == DAY:
        return ""
    return say.choice(words(), "part_of_day", part_said(one, zone=zone()))
