"""The form of a booked session: its day and people, and the lines of what it takes."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date, datetime, time
from fractions import Fraction
from typing import Any, ClassVar, Final

from wtforms import RadioField, SelectField, StringField

from coop.actions.plan_session import Asked, Line, Plan
from coop.ids import Subject
from coop.ledger.kinds import HEADS_MAX, NEEDS_MAX, SessionNeed, SessionPlanned
from coop.ledger.schema import Refused, Slip
from coop.ledger.states import PaperState, SessionState, StudioState
from coop.ledger.table import supply_of
from coop.units.fault import NotUnderstood
from coop.units.number import read_number, wire
from coop.web import amounts
from coop.web import words as say
from coop.web.doses import UNIT_NAMES
from coop.web.editions import EditionForm
from coop.web.fields import NEEDED, NumberField, own_order
from coop.web.forms import looked_up, options
from coop.web.i18n import N_
from coop.web.page import desk, words, zone
from coop.web.stock import supply_name

SHEETS: Final = "sheets"
PIECES: Final = "pieces"
UNITS: Final = (
    "g", "kg", "ml", "l", "oz", "lb", "us_fl_oz", "us_gallon", "imp_gallon",
)  # fmt: skip
COUNTED: Final = ((SHEETS, N_("full sheets")), (PIECES, N_("pieces")))
ROWS_SHOWN: Final = 2
"""So many empty lines stand open below the filled ones; the others are folded away."""

ONE_PAPER_CHOICES: Final = 2
"""Choices of a list with one paper: none, and that one."""

_ROW = "needs."


class SessionForm(EditionForm):
    kind: ClassVar[str] = "session.planned"
    beside: ClassVar[frozenset[str]] = frozenset(
        {"day", "from_time", "to_time", "sheet_format", "method", "laid"}
    )

    name = StringField(
        N_("What is it called?"), [NEEDED], description=N_("In a few words: Saturday's class.")
    )
    studio = RadioField(N_("Studio"), [NEEDED], validate_choice=False)
    day = StringField(N_("Day"), [NEEDED], render_kw={"type": "date"})
    from_time = StringField(N_("From"), [NEEDED], render_kw={"type": "time"})
    to_time = StringField(
        N_("To"), description=N_("Leave it empty if nobody knows."), render_kw={"type": "time"}
    )
    head_count = NumberField(N_("How many people lay sheets?"), [NEEDED])
    under_16 = RadioField(
        N_("Is anyone under 16?"),
        [NEEDED],
        choices=looked_up(say.CHOICES["yes_no"].items()),
        validate_choice=False,
    )
    sheet_format = RadioField(
        N_("Sheets they lay"),
        choices=looked_up(say.CHOICES["sheet_format"].items()),
        default="quarter",
        validate_choice=False,
    )
    method = RadioField(
        N_("How the alum goes on"),
        choices=looked_up(say.CHOICES["method"].items()),
        default="sponge",
        validate_choice=False,
    )

    laid = SelectField(N_("Paper they lay"), default="", validate_choice=False)

    def offer(self, studios: tuple[StudioState, ...]) -> None:
        """Fill the lists in the member's language; the one studio there is stands chosen."""
        self.studio.choices = options((str(one.id), one.name) for one in studios)
        if len(studios) == 1 and not self.studio.data:
            self.studio.data = str(studios[0].id)
        papers = {one.id: one for one in desk().journal.listed("paper", live=False)}
        supplies = sorted(
            (supply_name(words(), one, papers.get(one.paper)), str(one.id))
            for one in desk().journal.listed("supply", live=False)
        )
        named = options([("", words().gettext("nothing")), *((b, a) for a, b in supplies)])
        self._offer_papers(papers)
        measures = [(code, UNIT_NAMES[code][1]) for code in own_order(UNITS)]
        units = options((code, words().gettext(text)) for code, text in (*measures, *COUNTED))
        for supply, _, unit in self.rows():
            supply.choices = named
            unit.choices = units

    def _offer_papers(self, papers: Mapping[Subject, PaperState]) -> None:
        """Offer the papers that the house has as a supply; one stands chosen."""
        several = sorted(
            (supply_name(words(), one, papers.get(one.paper)), str(one.id))
            for one in desk().journal.listed("supply")
            if one.what == "paper"
        )
        self.laid.choices = options(
            [("", words().gettext("not said")), *((key, name) for name, key in several)]
        )

    @property
    def asks_paper(self) -> bool:
        """Whether there are several papers to choose from."""
        return len(self.laid.choices or ()) > ONE_PAPER_CHOICES

    def rows(self) -> list[tuple[Any, Any, Any]]:
        """Return the fields of each line: supply, how much, unit."""
        return [
            (
                self[f"need_{place}_supply"],
                self[f"need_{place}_typed"],
                self[f"need_{place}_unit"],
            )
            for place in range(NEEDS_MAX)
        ]

    def rows_open(self) -> int:
        """Return how many lines stand open: the filled ones and a few more."""
        filled = [
            place
            for place, (supply, typed, _) in enumerate(self.rows())
            if supply.data or typed.data or supply.errors or typed.errors
        ]
        return min(NEEDS_MAX, (filled[-1] + 1 if filled else 0) + ROWS_SHOWN)

    def asked(self) -> Asked | None:
        """Return what a proposal is made for; None when the head-count does not say it."""
        heads = str(self.head_count.data or "")
        if not heads.isdigit() or not 1 <= int(heads) <= HEADS_MAX:
            limits = {"low": "1", "high": str(HEADS_MAX)}
            refused = Refused(
                field="head_count", code="not-a-whole-number", limits=tuple(limits.items())
            )
            self.take(refused)
            return None
        return Asked(
            head_count=int(heads),
            sheet_format=_of(self.sheet_format, "sheet_format"),
            method=_of(self.method, "method"),
            paper=Subject(str(self.laid.data)) if self.laid.data else None,
        )

    def take_over(self, plan: Plan) -> None:
        """Write what is proposed into the lines; what else stands there stays."""
        rows = self.rows()
        for line in plan.lines:
            place = next((row for row in rows if row[0].data == line.supply), None) or next(
                (row for row in rows if not row[0].data and not row[1].data), None
            )
            if place is not None:
                supply, typed, unit = place
                supply.data = str(line.supply)
                typed.data, unit.data = _proposed(line)

    def _pairs(self) -> Iterator[tuple[str, str]]:
        """Say the day with its hours, and each line as its supply is measured."""
        for name, value in super()._pairs():
            if not name.startswith(_ROW):
                yield name, value
        starts = self._moment("from_time")
        yield "starts", starts.isoformat() if starts else ""
        ends = self._moment("to_time")
        yield "ends", ends.isoformat() if ends else ""
        for place, (supply, typed, unit) in enumerate(self._filled()):
            yield from _need_pairs(f"{_ROW}{place}", supply, typed, unit)

    def _moment(self, name: str) -> datetime | None:
        """Return the day at an hour; None while no hour is typed."""
        typed = str(self[name].data or "").strip()
        if not typed:
            return None
        try:
            day = date.fromisoformat(str(self.day.data or "").strip())
        except ValueError:
            raise Slip("day", "not-a-day") from None
        try:
            hour = time.fromisoformat(typed)
        except ValueError:
            raise Slip(name, "not-a-time") from None
        return datetime.combine(day, hour.replace(tzinfo=None), zone())

    def _filled(self) -> list[tuple[Any, Any, Any]]:
        """Return the lines in which something stands."""
        return [row for row in self.rows() if row[0].data or str(row[1].data or "").strip()]

    def take(self, refused: Refused) -> None:
        """Put a refusal beside the field that says it here."""
        super().take(replace(refused, field=self._own_field(refused.field)))

    def _own_field(self, field: str) -> str:
        if not field.startswith(_ROW):
            return {"starts": "day", "ends": "to_time"}.get(field, field)
        place, _, what = field.removeprefix(_ROW).partition(".")
        filled = self._filled()
        if not place.isdigit() or int(place) >= len(filled):
            return field
        supply, typed, _ = filled[int(place)]
        much = what.startswith(("amount", "count"))
        return str(typed.name if much else supply.name)


for _place in range(NEEDS_MAX):
    for _name, _field in {
        "supply": SelectField(
            N_("Supply"), name=f"{_ROW}{_place}.supply", validate_choice=False
        ),
        "typed": StringField(N_("How much"), name=f"{_ROW}{_place}.amount.typed"),
        "unit": SelectField(
            N_("Unit"), name=f"{_ROW}{_place}.amount.unit", validate_choice=False
        ),
    }.items():
        setattr(SessionForm, f"need_{_place}_{_name}", _field)


def _of(field: Any, group: str) -> str:
    """Return what was chosen, or what stands chosen at first."""
    return str(field.data) if field.data in say.CHOICES[group] else str(field.default)


def _need_pairs(stem: str, supply: Any, typed: Any, unit: Any) -> Iterator[tuple[str, str]]:
    key, much = str(supply.data or ""), str(typed.data or "").strip()
    sort, _, code = key.partition(":")
    match sort:
        case "salt":
            yield f"{stem}.what", "alum"
            yield f"{stem}.salt", code
        case "paper":
            yield f"{stem}.what", "paper"
            yield f"{stem}.paper", code
        case "powder":
            yield f"{stem}.what", code
        case "supply":
            yield f"{stem}.what", "supply"
            yield f"{stem}.supply", code
        case _:
            yield f"{stem}.what", key
    if unit.data in (SHEETS, PIECES):
        yield f"{stem}.count", _count(f"{stem}.count", much)
    else:
        yield f"{stem}.amount.typed", much
        yield f"{stem}.amount.unit", str(unit.data or "")


def _count(where: str, typed: str) -> str:
    if not typed:
        return ""
    try:
        return wire(read_number(typed))
    except NotUnderstood:
        raise Slip(where, "not-a-number") from None


def _proposed(line: Line) -> tuple[str, str]:
    """Return how much of a supply is proposed, and its unit."""
    sort = line.supply.partition(":")[0]
    unit = {"paper": SHEETS, "supply": PIECES}.get(sort, "g")
    if unit == "g" and words().us:
        return f"{line.number / amounts.OZ_G:.1f}", "oz"
    return str(line.number), unit


def shown_of(said: SessionPlanned) -> dict[str, Any]:
    """Return what the form shows of a plan, as it was typed."""
    starts = said.starts.astimezone(zone())
    shown: dict[str, Any] = {
        "name": said.name,
        "studio": str(said.studio),
        "day": starts.date().isoformat(),
        "from_time": starts.strftime("%H:%M"),
        "to_time": said.ends.astimezone(zone()).strftime("%H:%M") if said.ends else "",
        "head_count": str(said.head_count),
        "under_16": said.under_16,
    }
    for place, need in enumerate(said.needs):
        stem = f"need_{place}"
        shown[f"{stem}_supply"] = str(supply_of(need))
        shown[f"{stem}_typed"], shown[f"{stem}_unit"] = _much_of(need)
    return shown


def _much_of(need: SessionNeed) -> tuple[str, str]:
    if need.amount is not None:
        return need.amount.typed or wire(need.amount.n), need.amount.unit
    return wire(need.count or Fraction(0)), SHEETS if need.what == "paper" else PIECES


def whens(session: SessionState) -> str:
    """Say when a session is: 'Saturday 2025-10-04 10:00 to 16:00'."""
    starts = f"{words().weekday(session.starts_at)} {words().moment(session.starts_at)}"
    if session.ends_at is None:
        return starts
    same = words().day(session.ends_at) == words().day(session.starts_at)
    ends = words().time(session.ends_at) if same else words().moment(session.ends_at)
    return words().gettext("%(starts)s to %(ends)s", starts=starts, ends=ends)
