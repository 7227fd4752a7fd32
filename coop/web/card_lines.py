"""
The lines of a tally card as a form: what stands in a row, and what is said for the whole card.

As on the card, what is left open in a row is as in the one above it: the day, the initials,
the stack.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any, ClassVar

from wtforms import Field, HiddenField, RadioField, SelectField, StringField
from wtforms.validators import Length

from coop.actions.copy_card import LINES, CardLine, letters
from coop.actions.log_sheets import Usual
from coop.actions.on_hand import OnHand
from coop.actions.see_stacks import StackLook
from coop.actions.write import note
from coop.ids import EntryId, MemberId, Subject, is_uuid
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.entries import read_content
from coop.ledger.part_of_day import PARTS
from coop.ledger.ports import Attachment
from coop.ledger.schema import Refused, Slip
from coop.ledger.states import MemberState
from coop.ledger.table import KINDS
from coop.ledger.wire import nest
from coop.web import stacking
from coop.web import words as say
from coop.web.fields import NumberField, UnitField
from coop.web.forms import NOTE_LENGTH_MAX, EntryForm, PageForm, looked_up, options
from coop.web.i18n import N_, AsItIs
from coop.web.page import desk, face, faces, salt, who, words
from coop.web.salt import WATERS, WEIGHTS, lot_text

FACES_SHOWN = 9
"""So many members have a button of their own in every line; the others' initials are typed."""
INITIALS_MAX = 8
SILENT = frozenset(
    {
        "entry_id",
        "what",
        "stack",
        "water.unit",
        "salt.0.amount.unit",
        "salt.0.lot",
        "twin_of",
        "warned",
    }
)
"""Fields of a line that say something with others only."""
OWN, OTHER, UNREAD = "own", "other", "not_readable"
SHEETS, TOPPED_UP = "sheets.through", "bath.topped_up"
WHATS = ((SHEETS, N_("sheets through")), (TOPPED_UP, N_("topped up")))
LAID = ((SHEETS, N_("sheets laid")), (TOPPED_UP, N_("topped up")))
TWINS = (("out", N_("the same: leave it out")), ("both", N_("another one: write both")))


class CardForm(PageForm):
    """What is the same all over the card; of sheets that were laid, their stack knows it."""

    sheet_format = RadioField(
        N_("Format"),
        choices=looked_up(say.CHOICES["sheet_format"].items()),
        validate_choice=False,
    )
    method = RadioField(
        N_("Method"), choices=looked_up(say.CHOICES["method"].items()), validate_choice=False
    )
    lot = RadioField(N_("Paper"), validate_choice=False)

    def fill(self, usual: Usual) -> None:
        """Choose what it was last time."""
        last = usual.last
        self.sheet_format.data = last.sheet_format if last else "half"
        self.method.data = last.method if last else "dip"
        first = usual.lots[0].id if usual.lots else OWN
        self.lot.data = (last.lot or OWN) if last else first

    def told(self) -> str:
        """Say what is chosen, in the words of the buttons: 'half, dip, P-31'."""
        every = (one for field in self if field.type == "RadioField" for one in field)
        texts = (one.label.text for one in every if one.checked)
        return ", ".join(
            one if isinstance(one, AsItIs) else words().gettext(one) for one in texts
        )


Choices = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """
    What every line offers: days and members; lots or stacks by the kind of bath.

    `laid` says that it is a size, on which sheets of `stacks` were laid.
    """

    days: Choices
    hands: tuple[MemberId, ...]
    lots: Choices = ()
    alums: Choices = ()
    stacks: Choices = ()
    laid: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Above:
    """What a line says for the next one, if that leaves it open."""

    day: date
    part: str
    initials: str
    member: str
    stack: str


class LineForm(EntryForm):
    """One row of the card; `number` is which, from 1."""

    kind: ClassVar[str] = SHEETS

    what = RadioField(N_("What was it?"), default=SHEETS, validate_choice=False)
    sheet_count = NumberField(N_("How many sheets?"))
    stack = SelectField(N_("Which sheets?"), validate_choice=False)
    water_typed = StringField(N_("Water"), name="water.typed")
    water_unit = UnitField(
        N_("Water measured in"), name="water.unit", units=WATERS, default="l"
    )
    salt_typed = StringField(N_("Alum"), name="salt.0.amount.typed")
    salt_unit = UnitField(
        N_("Measured in"), name="salt.0.amount.unit", units=WEIGHTS, default="g"
    )
    salt_lot = SelectField(N_("Out of"), name="salt.0.lot", validate_choice=False)
    day = RadioField(N_("Day"), default="", validate_choice=False)
    other_day = StringField(N_("Which other day?"), render_kw={"type": "date"})
    part = RadioField(
        N_("Part of the day"),
        choices=looked_up(say.CHOICES["part_of_day"].items()),
        validate_choice=False,
    )
    by = RadioField(N_("Initials"), default="", validate_choice=False)
    initials = StringField(
        N_("Other initials, as they stand there"),
        validators=[Length(max=INITIALS_MAX)],
        render_kw={"autocapitalize": "characters", "autocomplete": "off"},
    )
    sheet_format = SelectField(N_("Format"), default="", validate_choice=False)
    method = SelectField(N_("Method"), default="", validate_choice=False)
    lot = SelectField(N_("Paper"), default="", validate_choice=False)
    note = StringField(N_("Note"), validators=[Length(max=NOTE_LENGTH_MAX)])
    twin = RadioField(N_("The same?"), choices=looked_up(TWINS), validate_choice=False)
    twin_of = HiddenField()
    warned = HiddenField()

    number: int

    def fit(self, number: int, offer: Offer) -> None:
        """Keep the fields that go with the kind of bath, and offer what there is."""
        self.number = number
        as_above = [("", words().gettext("as above"))] if number > 1 else []
        self.day.choices = options(
            [*as_above, *offer.days, (OTHER, words().gettext("another day"))]
        )
        self.by.choices = options([*as_above, *_hands(offer)])
        alum = ("sheet_format", "method", "lot", "salt_typed", "salt_unit", "salt_lot")
        for name in alum if offer.laid else ("stack",):
            del self[name]
        if offer.laid:
            self.what.choices = looked_up(LAID)
            self.stack.choices = options([*as_above, *offer.stacks])
            return
        self.what.choices = looked_up(WHATS)
        card = ("", words().gettext("as for the whole card"))
        formats, methods = (say.choices(words(), one) for one in ("sheet_format", "method"))
        self.sheet_format.choices = options([card, *formats])
        self.method.choices = options([card, *methods])
        self.lot.choices = options([card, *offer.lots])
        self.salt_lot.choices = options(offer.alums)

    @property
    def says(self) -> bool:
        """Whether anything was typed or tapped that is no more than a choice left as it is."""
        return any(
            str(one).strip()
            for field in self
            if field.short_name not in SILENT
            for one in field.raw_data or ()
        )

    @property
    def of_when(self) -> tuple[Field, ...]:
        """The fields of day and hand, which a line may leave as in the one above."""
        return self.day, self.other_day, self.part, self.by, self.initials

    def validate(self, extra_validators: Any = None) -> bool:
        """Say whether it is right; two answers to one question are not."""
        right = bool(super().validate(extra_validators))
        for field, odd in ((self.what, self._two_deeds()), *self._typed_beside()):
            if odd:
                field.errors = [*field.errors, odd]
                right = False
        return right

    def _two_deeds(self) -> str:
        """Say that it tells of sheets and of topping up, which one entry cannot."""
        poured = (self[one] for one in ("water_typed", "salt_typed") if one in self)
        if not (_typed(self.sheet_count) and any(_typed(one) for one in poured)):
            return ""
        return words().gettext("Sheets and topping up are two lines: leave one out here.")

    def _typed_beside(self) -> Iterator[tuple[Field, str]]:
        """Say where something else is typed than the button beside it says."""
        day, hand = str(self.day.data or ""), str(self.by.data or "")
        typed = _typed(self.other_day)
        if day not in ("", OTHER, typed) and typed:
            text = words().gettext(
                "%(day)s is typed as another day: tap that, or empty it.", day=typed
            )
            yield self.day, text
        typed = _typed(self.initials)
        offered = {str(one.data) for one in self.by} - {"", OTHER}
        if hand in offered and typed and letters(typed) != letters(self._initials_of(hand)):
            text = words().gettext(
                "%(initials)s is typed as other initials: tap that, or empty it.",
                initials=typed,
            )
            yield self.by, text

    @staticmethod
    def _initials_of(hand: str) -> str:
        return "" if hand == UNREAD else face(MemberId(hand)).initials

    @property
    def is_sheets(self) -> bool:
        return str(self.what.data) != TOPPED_UP

    def take(self, refused: Refused) -> None:
        """Put a refusal beside its field; what is wrong with the time, at the day."""
        if refused.field == "happened_at":
            refused = Refused(field="day", code=refused.code, limits=refused.limits)
        super().take(refused)

    def above(self, before: Above | None) -> Above:
        """
        Return the day, the part of it, the hand and the stack, of this line or those above.

        Raises:
            Slip: One is missing, or is none.
        """
        day = self._day()
        if day is None and before is None:
            raise Slip("day", "missing")
        initials, member = self._hand(before)
        part = self.part.data if self.part.data in PARTS else ""
        if day is None and before is not None:
            day, part = before.day, part if self.part.data else before.part
        assert day is not None
        stack = str(self.stack.data or "") if "stack" in self else ""
        return Above(
            day=day,
            part=part,
            initials=initials,
            member=member,
            stack=stack or (before.stack if before else ""),
        )

    def _day(self) -> date | None:
        """Return the day that is chosen or typed; None where it is left open."""
        typed = str(self.other_day.data or "").strip()
        chosen = str(self.day.data or "")
        field = "day" if chosen not in ("", OTHER) else "other_day"
        if not chosen and not typed:
            return None
        try:
            return date.fromisoformat(chosen if field == "day" else typed)
        except ValueError:
            raise Slip(field, "not-a-day" if typed or chosen != OTHER else "missing") from None

    def _hand(self, before: Above | None) -> tuple[str, str]:
        """Return initials, and whose they are; both empty where nobody can read them."""
        chosen, typed = str(self.by.data or ""), str(self.initials.data or "").strip()
        if chosen == UNREAD:
            return "", ""
        if chosen == OTHER or (typed and not chosen):
            if not typed:
                raise Slip("initials", "missing")
            return typed, ""
        if chosen:
            if chosen not in {str(one.data) for one in self.by}:
                raise Slip("by", "not-a-choice")
            return face(MemberId(chosen)).initials, chosen
        if before is None:
            raise Slip("by", "missing")
        return before.initials, before.member

    def read(self, bath: AnyBath, card: CardForm, said: Above, side: str) -> CardLine:
        """
        Return the line as it is to be written.

        Raises:
            Slip: It is not in its form.
        """
        entry_id = str(self.entry_id.data or "")
        if not is_uuid(entry_id):
            raise Slip("entry_id", "not-an-id")
        kind = SHEETS if self.is_sheets else TOPPED_UP
        body = self._sheets(bath, card, said, side) if self.is_sheets else self._water(bath)
        noted = self._noted(EntryId(entry_id), said)
        if noted is not None:
            body["note"] = noted.name
        return CardLine(
            id=EntryId(entry_id),
            row=self.number,
            kind=kind,
            day=said.day,
            part=said.part,
            initials=said.initials,
            body=body,
            content=read_content(KINDS[kind], body, ""),
            attached=(noted,) if noted else (),
        )

    def _sheets(self, bath: AnyBath, card: CardForm, said: Above, side: str) -> dict[str, Any]:
        count = {"sheet_count": str(self.sheet_count.data or "")}
        if said.member and said.member != who().member:
            count["hands"] = said.member
        if not isinstance(bath, BathState):
            stack = desk().journal.state("stack", Subject(said.stack))
            if stack is None:
                raise Slip("stack", "not-known" if said.stack else "missing")
            also = stacking.as_said(stack)
            return nest(({"size": bath.id, "stack": stack.id} | count | also).items())
        lot = str(self.lot.data or card.lot.data or "")
        return nest(
            {
                "bath": bath.id,
                **count,
                "sheet_format": str(self.sheet_format.data or card.sheet_format.data or ""),
                "method": str(self.method.data or card.method.data or ""),
                "lot": "" if lot == OWN else lot,
                "side": side,
            }.items()
        )

    def _water(self, bath: AnyBath) -> dict[str, Any]:
        said = [("bath", str(bath.id)), *self.pairs_of("water")]
        salted = "salt_typed" in self and str(self.salt_typed.data or "").strip()
        if salted:
            said += [("salt.0.lot", str(self.salt_lot.data or ""))]
            said += self.pairs_of("salt.0.amount")
        body = nest(said)
        if not salted and "water" not in body:
            raise Slip("water", "missing")
        return body

    def _noted(self, entry_id: EntryId, said: Above) -> Attachment | None:
        """Return the note; a second post of the same line finds the first one's."""
        whose = "" if self.is_sheets and said.member else _whose(said)
        parts = (whose, str(self.note.data or "").strip())
        text = " ".join(filter(None, parts))
        journal = desk().journal
        for one in journal.by_id(entry_id) if text else ():
            there = journal.attachment(getattr(one.entry.content, "note", ""))
            if there is not None and there.data == text.encode():
                return there
        return note(text, salt=salt())


def _typed(field: Field) -> str:
    return str((field.raw_data or [""])[0]).strip()


def _whose(said: Above) -> str:
    """Say whose initials stand on the card; empty for those of who copies it."""
    if said.member == who().member:
        return ""
    if not said.initials:
        return words().gettext("From the card; nobody can read the initials.")
    return words().gettext("From the card: %(initials)s", initials=said.initials)


def _hands(offer: Offer) -> Iterable[tuple[str, str]]:
    for one in offer.hands:
        yield str(one), face(one).initials
    yield OTHER, words().gettext("somebody else")
    yield UNREAD, words().gettext("not readable")


def hands_of(bath: AnyBath) -> tuple[MemberId, ...]:
    """Return the members of the house, those who had this bath in hand first."""
    states: tuple[MemberState, ...] = desk().journal.listed("member")
    here = [one.id for one in states if one.joined_at is not None and one.left_at is None]
    faces().gather(here)
    used = [one.by for one in reversed(bath.through)] + [bath.hands.by, bath.mixed_by]
    here.sort(key=lambda one: (one not in used, one != who().member, face(one).initials))
    return tuple(here[:FACES_SHOWN])


def lots_offered(usual: Usual) -> Choices:
    """Return lots of paper and one's own, as choices."""
    lots = ((str(one.id), one.name) for one in usual.lots)
    return (*lots, (OWN, words().gettext("own paper")))


def alums_offered(lots: Iterable[OnHand], bath: BathState) -> Choices:
    """Return the lots that a bath is topped up from, as choices."""
    return tuple((str(one.lot.id), lot_text(words(), one, bath.salt)) for one in lots)


def stacks_offered(looks: Iterable[StackLook]) -> Choices:
    """Return stacks by format, bath and whose they are, as choices."""
    return tuple(
        (
            str(one.state.id),
            words().gettext(
                "%(sheets)s, %(name)s, %(day)s",
                sheets=stacking.name(one),
                name=stacking.whose(one.state),
                day=words().day(one.state.alumed_at),
            ),
        )
        for one in looks
    )


def line_forms(offer: Offer) -> tuple[LineForm, ...]:
    """Return the lines of a card; the page's own token stands for all of them."""
    found = tuple(
        LineForm(prefix=f"line-{number}", meta={"csrf": False})
        for number in range(1, LINES + 1)
    )
    for number, line in enumerate(found, start=1):
        line.fit(number, offer)
    return found
