"""Sheets through: write down what went through a bath, in two taps or three."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, ClassVar

from flask import Blueprint, redirect
from werkzeug.wrappers import Response
from wtforms import HiddenField, RadioField, SelectField, StringField

from coop.actions.ask import WANT_REASON, is_kept
from coop.actions.chalk import chalky
from coop.actions.log_sheets import Usual, see_usual
from coop.actions.see_baths import see_bath
from coop.actions.see_stacks import side_rule
from coop.actions.write import Written
from coop.ids import Subject
from coop.ledger.kinds import SHEETS_MAX
from coop.ledger.states import LotState, Through
from coop.rules.baths import BathLook
from coop.rules.liquid_looks import LiquidLook
from coop.rules.reasons import Word
from coop.web import over_left, reasons, stacking
from coop.web import words as say
from coop.web.booked import ForSession
from coop.web.cautions import SafetyCard, safety_card
from coop.web.fields import VOLUMES, NumberField, UnitField
from coop.web.forms import EntryForm, Happened, Noted, looked_up, options, written
from coop.web.i18n import N_
from coop.web.page import desk, known_alum, needs, now, show, who, words, writing
from coop.web.paper_notes import chalk_texts
from coop.web.told import Names, paper, telling

COUNTS = (5, 10, 20, 30, 40, 50, 60)
LITRES = (("l", "L"), ("ml", "mL"))
OWN = "own"
CHALKY = "some"

pages = Blueprint("sheets", __name__)


class PaperField(RadioField):
    """A lot of paper, or a member's own, which is no lot."""

    def process_formdata(self, valuelist: list[Any]) -> None:
        self.data = str(valuelist[0]) if valuelist else OWN


def _dish_unit(name: str) -> UnitField:
    return UnitField(N_("Unit"), name=name, units=VOLUMES, default="l")


class SheetsForm(ForSession, EntryForm, Happened, Noted):
    kind: ClassVar[str] = "sheets.through"
    beside: ClassVar[frozenset[str]] = frozenset({"warned"})

    warned = HiddenField()
    sheet_count = NumberField(N_("How many sheets?"))
    sheet_format = RadioField(
        N_("Format"),
        choices=looked_up(say.CHOICES["sheet_format"].items()),
        validate_choice=False,
    )
    method = RadioField(
        N_("Method"), choices=looked_up(say.CHOICES["method"].items()), validate_choice=False
    )
    lot = PaperField(N_("Paper"), validate_choice=False)
    paper = SelectField(N_("Which paper is your own?"), validate_choice=False)
    took_out = StringField(N_("Took out into the dish"), name="took_out.typed")
    took_out_unit = _dish_unit("took_out.unit")
    put_back = StringField(N_("Put back from the dish"), name="put_back.typed")
    put_back_unit = _dish_unit("put_back.unit")
    size = RadioField(N_("And straight onto a size, still damp?"), validate_choice=False)
    damp = HiddenField(default="yes")
    side = RadioField(
        N_("Which side is the mark on?"),
        choices=looked_up(say.CHOICES["side"].items()),
        validate_choice=False,
    )
    open_hours = NumberField(
        N_("Hours it stood open"), description=N_("Left empty, it counts as two hours.")
    )
    reason = RadioField(
        N_("Why use it anyway?"),
        choices=looked_up(say.CHOICES["use_reason"].items()),
        validate_choice=False,
    )

    def offer(self, usual: Usual) -> None:
        """Offer the paper that is there, and the sizes that may be used."""
        lots = [(str(lot.id), _lot_text(lot, usual)) for lot in usual.lots]
        self.lot.choices = options([*lots, (OWN, words().gettext("my own paper"))])
        papers = [(str(one.id), one.name) for one in usual.papers]
        self.paper.choices = options([("", words().gettext("not one of ours")), *papers])
        sizes = [(str(look.state.id), _size_text(look)) for look in usual.sizes]
        self.size.choices = options([("", words().gettext("not onto a size yet")), *sizes])

    def fill(self, usual: Usual, side: str) -> None:
        """Set all but the count as it was last time, and the side rule of the studio."""
        last = usual.last
        self.sheet_format.data = last.sheet_format if last else "half"
        self.method.data = last.method if last else "dip"
        first = usual.lots[0].id if usual.lots else OWN
        self.lot.data = (last.lot or OWN) if last else first
        self.paper.data = last.paper if last and not last.lot else ""
        self.size.data = ""
        self.side.data = side

    def body(self) -> dict[str, Any]:
        said = super().body()
        if said.get("lot") == OWN:
            del said["lot"]
        else:
            said.pop("paper", None)
        if "size" not in said:
            said.pop("damp", None)
        return said


def _size_text(look: LiquidLook) -> str:
    return words().gettext(
        "onto %(size)s (%(word)s)",
        size=look.state.name,
        word=reasons.word(words(), look.answer.word),
    )


def _lot_text(lot: LotState, usual: Usual) -> str:
    """Say a lot, and its studio where that is another one: "P-31 (Ropewalk)"."""
    studio = usual.elsewhere.get(lot.studio)
    if studio is None:
        return lot.name
    return words().gettext("%(lot)s (%(studio)s)", lot=lot.name, studio=studio)


@dataclass(frozen=True, slots=True, kw_only=True)
class Again:
    """The last entry, to be written once more: its words and its fields."""

    text: str
    fields: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetsPage:
    """
    Sheets through one bath.

    `stop` warns that it is not to be used and asks for a reason, as `kept` does of a bath that
    is kept for somebody else; `look` that it is to be looked at again, and asks for none.
    `chalk` says what the chalk of papers may take, `asks_chalk` that it is said as one types.
    `question` asks about a count far over what is left, before anything is written.
    """

    id: str
    name: str
    form: SheetsForm
    again: Again | None
    pad: tuple[int, ...]
    stop: bool
    kept: str
    look: bool
    word: str
    why: str
    side: str
    side_text: str
    onto: bool
    asks_chalk: bool
    chalk: tuple[str, ...]
    question: str
    card: SafetyCard


@pages.route("/baths/<bath>/sheets", methods=["GET", "POST"])
@needs("sheets.through")
def sheets(bath: object) -> Response:
    state = known_alum(str(bath), "/lay")
    form = SheetsForm()
    usual = see_usual(desk().journal, state, who().member, now=now())
    form.offer(usual)
    form.offer_sessions(state.studio)
    look = see_bath(desk().journal, state, now=now())
    status, question = 200, ""
    if not form.is_submitted():
        form.fill(usual, side_rule(desk().journal.state("studio", state.studio)))
    elif form.validate() and not (question := _question(look, form)):
        with writing() as place:
            outcome = form.record(place, bath=state.id)
        if written(outcome, _written(form)):
            assert isinstance(outcome, Written)
            entry = outcome.sealed.entry.id
            return redirect(f"/baths/{state.id}?written={entry}", code=303)
        status = 422
    else:
        status = 422
    page = _page(look, form, usual, question)
    return show("sheets.html", page=page, nav="room", status=status)


def _question(look: BathLook, form: SheetsForm) -> str:
    """Ask about a count far over what is left; what was asked of once, or written, is not."""
    count = _count(form)
    known = form.method.data in say.CHOICES["method"]
    if not count or not known or form.warned.data == str(count) or form.is_sent:
        return ""
    asked = over_left.question(look, count, form.sheet_format.data, form.method.data)
    form.warned.data = str(count) if asked else ""
    return asked


def _count(form: SheetsForm) -> int:
    """Return how many sheets of a known format were counted; 0 where that is not right."""
    counted = str(form.sheet_count.data or "")
    known = form.sheet_format.data in say.CHOICES["sheet_format"]
    count = int(counted) if known and counted.isdigit() else 0
    return count if count <= SHEETS_MAX else 0


def _written(form: SheetsForm) -> str:
    """Say back what was written."""
    count = _count(form)
    if not count:
        return words().gettext("Written.")
    told = say.sheets(words(), count, form.sheet_format.data)
    if form.size.data:
        return words().gettext("Written: %(sheets)s through, and laid.", sheets=told)
    return words().gettext("Written: %(sheets)s through.", sheets=told)


def _page(look: BathLook, form: SheetsForm, usual: Usual, question: str) -> SheetsPage:
    word, kept = look.answer.word, look.state.kept_for
    stop = word in WANT_REASON
    is_anothers = kept is not None and is_kept(kept, now(), besides=who().member)
    side = side_rule(look.around.studio)
    chalk = chalk_texts(words(), chalky(look.state, look.around.papers))
    may_repeat = usual.last and not stop and not (is_anothers or form.errors or question)
    return SheetsPage(
        id=look.state.id,
        name=words().gettext("Alum %(name)s", name=look.state.name),
        form=form,
        again=_again(usual.last, side) if usual.last and may_repeat else None,
        pad=tuple(sorted({*COUNTS, *usual.counts})),
        stop=stop,
        kept=stacking.kept_for(telling(), kept) if kept and is_anothers else "",
        look=word is Word.LOOK_AGAIN,
        word=word.value,
        why=reasons.why(telling(), look),
        side=say.choice(words(), "side", side),
        side_text=stacking.side_to_alum(side),
        onto=bool(usual.sizes),
        asks_chalk=bool(chalk) or any(one.chalk == CHALKY for one in usual.lots),
        chalk=chalk,
        question=question,
        card=safety_card(words(), "sheets", look.around.studio),
    )


def _again(last: Through, side: str) -> Again:
    own: Subject | None = None if last.lot else last.paper
    text = words().gettext(
        "%(sheets)s, %(method)s, %(paper)s",
        sheets=say.sheets(words(), last.sheet_count, last.sheet_format),
        method=say.choice(words(), "method", last.method),
        paper=paper(words(), Names(desk().journal), last.lot, own),
    )
    return Again(text=text, fields=tuple(_fields(last, own, side)))


def _fields(last: Through, own: Subject | None, side: str) -> Iterable[tuple[str, str]]:
    yield "sheet_count", str(last.sheet_count)
    yield "sheet_format", last.sheet_format
    yield "method", last.method
    yield "lot", last.lot or OWN
    yield "paper", own or ""
    yield "side", side
