"""The form on which somebody copies the figures of a letter, line by line."""

import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType
from typing import Any, Final
from unicodedata import normalize

from werkzeug.datastructures import MultiDict
from wtforms import (
    BooleanField,
    Field,
    FieldList,
    Form,
    FormField,
    RadioField,
    SelectField,
    StringField,
    TextAreaField,
)

from coop.rules.packs import amounts, letter
from coop.rules.packs import words as codes
from coop.rules.packs.evaluation import CHECK_EVERY_DAYS
from coop.rules.packs.letter import LINES_MAX, Letter, Line
from coop.units.number import unwire
from coop.web import drain_words
from coop.web.fields import ManyField, NumberField
from coop.web.forms import PageForm, looked_up, options
from coop.web.i18n import N_, Words
from coop.web.page import words

NOT_COME: Final = "not-come"
"""A day on which nobody can have looked yet; joins the faults of a letter."""
TOO_FAR: Final = "too-far"
"""A day over a year after the letter was read: nobody would look at it in time."""
NOT_A_DAY: Final = "not-a-day"

LINE_TITLES: Final[Mapping[str, str]] = MappingProxyType(
    {
        letter.PH: N_("pH: from, to, or between"),
        letter.TEMPERATURE: N_("A temperature at most"),
        letter.ANALYTE: N_("So much of something at most"),
        letter.A_DAY: N_("So much poured a day at most"),
        letter.A_MONTH: N_("So much poured a calendar month at most"),
        letter.NEEDS: N_("Only after these steps"),
        letter.NO_LUMPS: N_("No lumps: nothing that a screen with 13 mm holes holds back"),
        letter.BAN: N_("Nothing of it"),
        letter.BAN_WITH_METALS: N_("Nothing of it with metal colours in it"),
    }
)
"""What a line can say."""

FAULT_TEXTS: Final[Mapping[str, str]] = MappingProxyType(
    {
        letter.EMPTY: N_("This is needed."),
        letter.TOO_LONG: N_("Shorter, please."),
        letter.NOT_ONE_OF: N_("Choose one that goes with what the line says."),
        letter.NOT_A_NAME: N_("Small letters, digits and hyphens, please."),
        letter.TOO_MANY: N_("That is too many. Publish the rest as rules of their own."),
        letter.OUT_OF_RANGE: N_("That is outside of what can be measured. Look at the unit."),
        letter.DECIMALS: N_("At most six decimals, please."),
        letter.UPSIDE_DOWN: N_("This must come after the one before it."),
        letter.NOT_ASKED: N_("A line that says this has none of it: leave it empty."),
        letter.TWICE: N_("This line stands here twice."),
        NOT_COME: N_("That day has not come yet."),
        TOO_FAR: N_("At most a year after it was held against the letter."),
        NOT_A_DAY: N_("A day, please: 2025-09-17."),
    }
)
"""What is wrong with a field, and what would be right."""

REVIEW_WITHIN: Final = timedelta(days=CHECK_EVERY_DAYS + 1)
"""A year, one with a day more among them."""
NAME_SIGNS: Final = 36
"""A name is so long at most; a number and a hyphen have room behind it."""
NAMES_TRIED: Final = 100
_KEY = re.compile(r"[a-z_]+|lines-[0-9]{1,4}-[a-z_]+")
_UNIT_QUANTITIES: Final = (amounts.TEMPERATURE, amounts.MASS_PER_VOLUME, amounts.VOLUME)


class LineForm(Form):
    """One line of a letter; what its kind does not have stays empty."""

    says = RadioField(
        N_("What does it say?"), choices=looked_up(LINE_TITLES.items()), validate_choice=False
    )
    wastes = ManyField(
        N_("Of what?"), description=N_("Nothing chosen: of everything."), validate_choice=False
    )
    outlets = ManyField(N_("Where?"), validate_choice=False)
    low = NumberField(N_("From"), description=N_("Of a pH alone."))
    high = NumberField(N_("To, or at most"))
    unit = SelectField(
        N_("Unit"), description=N_("A pH has none."), validate_choice=False, default=""
    )
    of = SelectField(
        N_("Of which substance?"),
        description=N_("Where it says so much of something."),
        validate_choice=False,
        default="",
    )
    basis = SelectField(
        N_("Counted how?"),
        description=N_("Of ammonia alone; the letter says which."),
        validate_choice=False,
        default="",
    )
    bounds_count = BooleanField(
        N_("They take a figure reckoned from what was put in for a measurement")
    )
    steps = ManyField(
        N_("After which steps?"),
        description=N_("What they want done before it is poured."),
        validate_choice=False,
    )
    text = TextAreaField(
        N_("The letter's own words"),
        description=N_("As they stand there, up to 300 letters."),
        render_kw={"rows": 2},
    )
    section = StringField(N_("Where in the letter?"), description=N_("For example: 2 (b)."))


class LetterForm(PageForm):
    """What an authority wrote to a studio; `supersedes` is the edition it was made from."""

    authority = StringField(
        N_("Who wrote it?"), description=N_("The office or the company, as it calls itself.")
    )
    title = StringField(
        N_("What shall these rules be called?"),
        description=N_("By which members know them: what the sewer board wrote."),
    )
    reference = StringField(
        N_("Its letter or number"), description=N_("By which it can be found again.")
    )
    letter_on = StringField(
        N_("The letter's day"),
        description=N_("Its rules hold from that day."),
        render_kw={"type": "date"},
    )
    tier = RadioField(
        N_("Whom is it for?"),
        choices=looked_up(
            (
                (codes.DISTRICT, N_("everybody of the district")),
                (codes.SITE_PERMIT, N_("this studio alone")),
            )
        ),
        validate_choice=False,
    )
    checked_on = StringField(
        N_("Held against the letter on"),
        description=N_("The day somebody reads it and compares these lines with it."),
        render_kw={"type": "date"},
    )
    review_on = StringField(
        N_("Hold it against the letter again on"),
        description=N_("In a year at the latest; sooner where the letter ends."),
        render_kw={"type": "date"},
    )
    lines = FieldList(FormField(LineForm), min_entries=1, max_entries=LINES_MAX)

    def offer(self) -> None:
        """Fill the lists in the member's language."""
        for entry in self.lines:
            line: Any = entry
            line.wastes.choices = options(drain_words.choices(words(), "waste"))
            line.outlets.choices = options(
                (code, drain_words.choice(words(), "outlet", code)) for code in letter.OUTLETS
            )
            line.unit.choices = options([("", ""), *_units(words())])
            line.of.choices = options([("", ""), *drain_words.choices(words(), "analyte")])
            line.basis.choices = options([("", ""), *_bases(words())])
            line.steps.choices = options(drain_words.choices(words(), "step"))

    def fields(self) -> Iterator[tuple[str, Field]]:
        """Give each field with its name as a fault names it, `lines-0-high`."""
        for field in self:
            if field is not self.lines:
                yield field.short_name, field
        for n, line in enumerate(self.lines):
            yield from ((f"lines-{n}-{field.short_name}", field) for field in line.form)

    def mistakes(self) -> Iterator[tuple[str, str, str]]:
        """Give what has to be put right: the box it is about, its label, the sentence."""
        for error in self.form_errors:
            yield "", "", words().gettext(str(error))
        for name, field in self.fields():
            if not field.errors or field.type == "CSRFTokenField":
                continue
            label = words().gettext(str(field.label.text))
            if name.startswith("lines-"):
                number = int(name.split("-")[1]) + 1
                label = words().gettext(
                    "Line %(number)s, %(label)s", number=number, label=label
                )
            yield _anchor(field), label, words().gettext(str(field.errors[0]))

    def mark(self, found: Mapping[str, str]) -> bool:
        """Put faults beside their fields, the first of each; say whether there is any."""
        there = dict(self.fields())
        for name, code in found.items():
            text = FAULT_TEXTS[code]
            if name in there:
                there[name].errors = [*(there[name].errors or (text,))]
            else:
                self.form_errors.append(text)
        return bool(self.form_errors) or any(field.errors for field in there.values())


def _anchor(field: Field) -> str:
    """Return the id of the first box of a field."""
    first = field.type in ("RadioField", "SelectMultipleField")
    return f"{field.id}-0" if first else str(field.id)


def name_for(title: str, taken: Iterable[str]) -> str:
    """
    Return a pack's name from its title, another than those that are taken.

    >>> name_for("What the sewer board wrote", ["what-the-sewer-board-wrote"])
    'what-the-sewer-board-wrote-2'
    """
    plain = normalize("NFKD", title).encode("ascii", "ignore").decode().lower()
    name = "-".join(re.findall(r"[a-z0-9]+", plain))[:NAME_SIGNS].strip("-") or "letter"
    names = (name, *(f"{name}-{n}" for n in range(2, NAMES_TRIED)))
    there = set(taken)
    return next((one for one in names if one not in there), name)


def typed_in(pairs: Iterable[tuple[str, list[str]]]) -> MultiDict[str, str]:
    """Return what was typed into a letter's form, without what is no field of it."""
    return MultiDict({name: said for name, said in pairs if _KEY.fullmatch(name)})


def without_line(typed: MultiDict[str, str], line: str) -> MultiDict[str, str]:
    """Return what was typed but for one line, by the name of its fields: `lines-3`."""
    return MultiDict(
        {name: said for name, said in typed.lists() if not name.startswith(f"{line}-")}
    )


def _units(words: Words) -> Iterator[tuple[str, str]]:
    for quantity in _UNIT_QUANTITIES:
        yield from drain_words.units(words, amounts.MEASURES[quantity].units)


def _bases(words: Words) -> Iterator[tuple[str, str]]:
    for code in (codes.AS_N, codes.AS_NH3):
        yield code, drain_words.choice(words, "basis", code)


# ---- from the form to a letter


def day_faults(form: LetterForm, *, today: date) -> dict[str, str]:
    """Return what is wrong with the days as they are typed."""
    found = {}
    for name in ("letter_on", "checked_on", "review_on"):
        typed = str(form[name].data or "").strip()
        if not typed:
            found[name] = letter.EMPTY
        elif _day(typed) is None:
            found[name] = NOT_A_DAY
    checked = _day(str(form.checked_on.data or ""))
    if checked is not None and checked > today:
        found["checked_on"] = NOT_COME
    again = _day(str(form.review_on.data or ""))
    if checked is not None and again is not None and again > checked + REVIEW_WITHIN:
        found["review_on"] = TOO_FAR
    return found


def _day(typed: str) -> date | None:
    try:
        return date.fromisoformat(typed.strip())
    except ValueError:
        return None


def letter_of(form: LetterForm, *, area: tuple[str, ...], evidence: str) -> Letter:
    """Return the letter as the form says it; call it once its days are none wrong."""
    said = {name: str(form[name].data or "").strip() for name in _TEXTS}
    days = {name: date.fromisoformat(said.pop(name)) for name in _DAYS}
    lines = tuple(_line(one) for one in form.lines)
    return Letter(**said, **days, area=area, evidence=evidence, lines=lines)  # type: ignore[arg-type]  # texts and days by their names


_DAYS: Final = ("letter_on", "checked_on", "review_on")
_TEXTS: Final = ("authority", "title", "reference", "tier", *_DAYS)


def _line(form: Any) -> Line:
    says = str(form.says.data or "")
    return Line(
        says=says,
        wastes=tuple(form.wastes.data or ()),
        outlets=tuple(form.outlets.data or ()),
        low=_figure(form.low),
        high=_figure(form.high),
        unit="ph" if says == letter.PH else str(form.unit.data or ""),
        of=str(form.of.data or ""),
        basis=str(form.basis.data or ""),
        bounds_count=bool(form.bounds_count.data),
        steps=tuple(form.steps.data or ()),
        text=" ".join(str(form.text.data or "").split()),
        section=str(form.section.data or "").strip(),
    )


def _figure(field: NumberField) -> Decimal | None:
    """Return a figure; one without an end keeps more decimals than a letter may have."""
    if not field.data:
        return None
    exact: Fraction = unwire(str(field.data))
    return Decimal(exact.numerator) / Decimal(exact.denominator)


# ---- from a letter to the form


def shown(said: Letter, *, today: date, review_on: date) -> dict[str, Any]:
    """Return what the form shows of a letter, to be held against it again today."""
    return {
        "authority": said.authority,
        "title": said.title,
        "reference": said.reference,
        "letter_on": said.letter_on.isoformat(),
        "tier": said.tier,
        "checked_on": today.isoformat(),
        "review_on": review_on.isoformat(),
        "lines": [_shown_line(one) for one in said.lines],
    }


def _shown_line(one: Line) -> dict[str, Any]:
    return {
        "says": one.says,
        "wastes": list(one.wastes),
        "outlets": list(one.outlets),
        "low": None if one.low is None else str(one.low),
        "high": None if one.high is None else str(one.high),
        "unit": "" if one.unit == amounts.PH else one.unit,
        "of": one.of,
        "basis": one.basis,
        "bounds_count": one.bounds_count,
        "steps": list(one.steps),
        "text": one.text,
        "section": one.section,
    }
