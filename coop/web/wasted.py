"""Lines of a studio's log of wastes as texts, for the page and for the file alike."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction

from coop.actions.drain_facts import WASTE_OF
from coop.actions.see_waste_log import LogLine
from coop.ledger.ports import Attachment
from coop.ledger.states import DisposalState, DrainReading, JarState
from coop.rules.packs.decisions import Decision
from coop.rules.packs.facts import Permission
from coop.units.number import unwire
from coop.web import drains
from coop.web import words as say
from coop.web.doses import number_text
from coop.web.history import note_in
from coop.web.i18n import N_
from coop.web.page import desk, face, words
from coop.web.told_wastes import gone_without

THOUSANDTH = Decimal("0.001")
SAME_MOMENT = timedelta(minutes=1)
"""A time that is typed has whole minutes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PhSaid:
    """
    A pH as it was read, what it was read with, and that device's check.

    `ph` is as this language writes it, `figure` as a table takes it.
    """

    ph: str = ""
    figure: str = ""
    device: str = ""
    check: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerSaid:
    """What the rules answered, the rule that decided, and the edition it stands in."""

    heading: str = ""
    rule: str = ""
    edition: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineSaid:
    """
    A line of the log, all of it text but the figures.

    Attributes:
        day, time: ISO 8601, by the studio's clock.
        what: What was done, in a word or two; `waste` what it was done with.
        litres, grams: By the accounts, exact to a thousandth; None where nothing moved.
        litres_said, grams_said, base_said: The same as this language writes them.
        went: Down which drain, into which jar, to whom; `went_url` that jar's page.
        of: The bath, jar or jug it came from; `of_url` its page.
        base, base_g: What it was neutralised with.
        sources: The rule that decided and who agreed, as footnotes have them.
        answer_url: The answer as it was kept; empty for none.
        late: That it came in late, or was put right late, and when; `late_on` that day.
    """

    id: str
    day: str
    time: str
    studio: str
    what: str
    waste: str
    litres: Decimal | None
    grams: Decimal | None
    litres_said: str
    grams_said: str
    sheets: int | None
    went: str
    went_url: str
    of: str
    of_url: str
    by: str
    before: PhSaid
    after: PhSaid
    base: str
    base_g: Decimal | None
    base_said: str
    steps: str
    answer: AnswerSaid
    permission: str
    sources: tuple[str, ...]
    answer_url: str
    reference: str
    late: str
    late_on: str
    note: str
    url: str


def line_said(
    one: LogLine, studio: str, permission: Permission | None, notes: Mapping[str, Attachment]
) -> LineSaid:
    """Return a line of the log of a studio, of that name, in the words of this request."""
    said, litres, grams = one.said, _exact(one.volume_ml, 1000), _exact(one.weight_g, 1)
    base_g, answer, agreed = _base_g(one), _answer(one), _permission(permission)
    return LineSaid(
        id=str(said.id),
        day=words().day(said.at),
        time=words().time(said.at),
        studio=studio,
        what=_what(one),
        waste=say.choice(words(), "waste", code) if (code := _waste(said)) else "",
        litres=litres,
        grams=grams,
        litres_said=_shown(litres, N_("%(n)s L")),
        grams_said=_shown(grams, N_("%(n)s g")),
        sheets=said.sheet_count,
        went=_went(one),
        went_url=f"/jars/{said.jar}" if said.kind == "waste.added" else "",
        of=_of(said),
        of_url=_of_url(said),
        by=face(said.by).name,
        before=ph_said(one.before),
        after=ph_said(one.after),
        base=_bases(one),
        base_g=base_g,
        base_said=_shown(base_g, N_("%(n)s g")),
        steps=_steps(said),
        answer=answer,
        permission=agreed,
        sources=tuple(filter(None, (_rule(answer), agreed))),
        answer_url=f"/drain/decision/{said.id}" if one.decision else "",
        reference=said.reference,
        late=_late(one),
        late_on=one.late_on.isoformat() if one.late_on else "",
        note=note_in(notes, said.note),
        url=f"/mishaps/{said.id}" if said.kind == "mishap.noted" else "",
    )


def _what(one: LogLine) -> str:
    if one.came_in:
        return words().gettext("carried here from another studio")
    if one.said.kind == "mishap.noted":
        what = say.choice(words(), "mishap", one.said.what)
        return words().gettext("mishap: %(what)s", what=what)
    if one.said.kind == "disposal.treated":
        return say.choice(words(), "treatment", one.said.step)
    return say.kind(words(), one.said.kind)


def _waste(said: DisposalState) -> str:
    """Return what it was: as said, or what the bath or jar is."""
    if said.waste:
        return said.waste
    if said.bath is not None:
        bath = desk().journal.state("bath", said.bath)
        return WASTE_OF[bath.what] if bath else ""
    jar: JarState | None = desk().journal.state("jar", said.jar)
    return jar.wastes[0] if jar and len(jar.wastes) == 1 else ""


def _exact(amount: float | None, per_unit: int) -> Decimal | None:
    """Return an amount to a thousandth, without noughts that say nothing."""
    if amount is None:
        return None
    exact = (Decimal(str(amount)) / per_unit).quantize(THOUSANDTH)
    return exact.to_integral() if exact == exact.to_integral() else exact.normalize()


def _shown(amount: Decimal | None, unit: str) -> str:
    """Return an amount with its unit as this language writes it; empty for none."""
    if amount is None:
        return ""
    exponent = amount.as_tuple().exponent
    assert isinstance(exponent, int), "an amount is a number"
    return words().gettext(unit, n=words().number(float(amount), max(0, -exponent)))


def _went(one: LogLine) -> str:
    said = one.said
    match said.kind:
        case "waste.added":
            return words().gettext("into %(jar)s", jar=_name("jar", said.jar))
        case "waste.collected":
            return ", ".join(filter(None, (said.who, said.to)))
        case "waste.carried":
            studio = said.studio if one.came_in else said.to_studio
            return ", ".join(filter(None, (_name("studio", studio), said.to)))
        case _:
            return say.choice(words(), "gone_to", said.outlet) if said.outlet else ""


def _name(sort: str, subject: object) -> str:
    state = desk().journal.state(sort, subject)  # type: ignore[arg-type]  # an id or None
    return str(state.name) if state is not None else ""


def _of(said: DisposalState) -> str:
    """Return the name of what it came from; what went into a jar did not come from it."""
    if said.bath is not None:
        bath = desk().journal.state("bath", said.bath)
        return say.bath_name(words(), bath.what, bath.name) if bath else ""
    if said.jug is not None:
        jug = desk().journal.state("jug", said.jug)
        return words().gettext("jug, %(where)s", where=jug.where) if jug else ""
    if said.lot is not None:
        return _name("lot", said.lot)
    return _name("jar", said.from_jar if said.kind == "waste.added" else said.jar)


def _of_url(said: DisposalState) -> str:
    """Return the page of what it came from; empty for none."""
    jar = said.from_jar if said.kind == "waste.added" else said.jar
    for there, subject in (("baths", said.bath), ("jugs", said.jug), ("lots", said.lot)):
        if subject is not None:
            return f"/{there}/{subject}"
    return f"/jars/{jar}" if jar is not None else ""


def ph_said(reading: DrainReading | None) -> PhSaid:
    """Return a pH with the device it was read with, and what its check showed."""
    if reading is None:
        return PhSaid()
    device = say.choice(words(), "instrument", reading.instrument)
    if reading.step:
        device = words().gettext(
            "%(device)s, in steps of %(step)s", device=device, step=_figure(reading.step)
        )
    return PhSaid(ph=_ph(reading.ph), figure=reading.ph, device=device, check=_check(reading))


def _check(reading: DrainReading) -> str:
    if reading.instrument != "ph_meter":
        return ""
    if not reading.off_at_check:
        return words().gettext("not checked")
    return words().gettext("%(off)s off at its check", off=_figure(reading.off_at_check))


def _ph(wired: str) -> str:
    """Return a pH with one decimal at least."""
    exact = Fraction(unwire(wired))
    return words().number(int(exact), 1) if exact.denominator == 1 else _figure(wired)


def _figure(wired: str) -> str:
    return number_text(words(), Fraction(unwire(wired)))


def _bases(one: LogLine) -> str:
    if one.said.base:
        return say.choice(words(), "neutraliser", one.said.base)
    return ", ".join(say.choice(words(), "neutraliser", base) for base, _ in one.bases)


def _base_g(one: LogLine) -> Decimal | None:
    """Return what went in of bases: on its own line, or in all by the time it went."""
    if one.said.base:
        return _exact(one.said.weight_g, 1)
    return _exact(sum(grams for _, grams in one.bases), 1) if one.bases else None


def _steps(said: DisposalState) -> str:
    done = [say.choice(words(), "drain_step", step) for step in said.steps]
    done += [gone_without(words(), said.without)] if said.without else []
    done += [say.choice(words(), "done_about_it", each) for each in said.done]
    if said.kind == "mishap.noted" and said.who:
        done.append(words().gettext("called: %(who)s", who=said.who))
    return ", ".join(done)


def _answer(one: LogLine) -> AnswerSaid:
    """Return the answer as it was frozen; else as the line says it."""
    if one.answer_unreadable:
        return AnswerSaid(heading=words().gettext("the answer that was kept cannot be read"))
    if one.decision is None:
        known = one.said.outcome
        heading = say.choice(words(), "outcome_of_drain", known) if known else ""
        return AnswerSaid(heading=_anyway(heading, one.said.reason))
    told = drains.told(words(), one.decision)
    rule = next((each for each in told.rules if each.pack), None)
    editions = {each.title: each.edition for each in told.packs}
    heading = _anyway(told.heading, one.said.reason)
    return AnswerSaid(
        heading="; ".join(filter(None, (heading, judged_later(one.decision, one.said.at)))),
        rule=f"{rule.pack}, {rule.source}" if rule else "",
        edition=str(editions.get(rule.pack, "")) if rule else "",
    )


def judged_later(decision: Decision, at: datetime) -> str:
    """Say when an answer was given that came after what it speaks of; else nothing."""
    if decision.now - at <= SAME_MOMENT:
        return ""
    return words().gettext("judged later: %(moment)s", moment=words().moment(decision.now))


def _rule(answer: AnswerSaid) -> str:
    """Return the rule that decided with its edition, as a footnote has it."""
    if not answer.rule:
        return ""
    return words().gettext(
        "%(rule)s, edition %(edition)s", rule=answer.rule, edition=answer.edition
    )


def _anyway(heading: str, reason: str) -> str:
    if not reason:
        return heading
    why = say.choice(words(), "anyway_reason", reason)
    return "; ".join(filter(None, (heading, words().gettext("anyway: %(why)s", why=why))))


def _permission(permission: Permission | None) -> str:
    if permission is None:
        return ""
    told = (permission.asked, permission.asked_on.isoformat(), permission.reference)
    return ", ".join(filter(None, told))


def _late(one: LogLine) -> str:
    if one.late_on is None:
        return ""
    day = words().day(one.late_on)
    if one.put_right:
        return words().gettext("put right late, on %(day)s", day=day)
    return words().gettext("came in late, on %(day)s", day=day)
