"""What pouring apart or together would make of baths, and where liquid came from, in words."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from coop.actions.pour import AnyLook, ApartAhead, TogetherAhead
from coop.ids import Subject
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.force import InForce
from coop.ledger.table import part_of
from coop.rules.baths import BathLook
from coop.web import amounts, reasons
from coop.web.doses import quantity_text
from coop.web.i18n import Words
from coop.web.mending import line_text, strength_text
from coop.web.page import desk
from coop.web.told import bath_names, bath_url, telling


@dataclass(frozen=True, slots=True, kw_only=True)
class PouredSaid:
    """
    What pouring would make of it; empty while nothing is typed.

    `warned` names the bath whose warning is shown.
    """

    figure: str = ""
    lines: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    warned: str = ""

    def live(self) -> dict[str, Any]:
        """Return the parts of a live answer."""
        return {
            "figure": self.figure,
            "lines": self.lines,
            "warnings": self.warnings,
            "warned": self.warned,
        }


def apart_said(words: Words, ahead: ApartAhead) -> PouredSaid:
    """Say what pouring apart would leave, and what would stand where."""
    warnings = [
        words.gettext(
            "%(vessel)s: that is %(over)s over the brim. It does not fit.",
            vessel=one.vessel.name,
            over=amounts.volume(words, one.over_brim_ml),
        )
        for one in ahead.parts
        if one.over_brim_ml > 0
    ]
    if ahead.short_ml > 0:
        short = amounts.volume(words, ahead.short_ml)
        warnings.append(words.gettext("That is %(short)s more than there is.", short=short))
    return PouredSaid(
        figure=words.gettext(
            "Now %(before)s, then %(after)s; as strong as before",
            before=amounts.volume(words, ahead.before_ml),
            after=amounts.volume(words, ahead.after_ml),
        ),
        lines=tuple(
            words.gettext(
                "%(name)s in %(vessel)s: %(litres)s",
                name=one.name or "—",
                vessel=one.vessel.name,
                litres=amounts.volume(words, one.volume_ml),
            )
            for one in ahead.parts
        ),
        warnings=tuple(warnings),
    )


def together_said(
    words: Words, look: AnyLook, giver: AnyLook, ahead: TogetherAhead
) -> PouredSaid:
    """Say what pouring together would make, and what is against it."""
    return PouredSaid(
        figure=_mixture(words, ahead),
        lines=tuple(_litres(words, look, giver, ahead)),
        warnings=tuple(_against(words, look, giver, ahead)),
        warned=giver.state.id if ahead.warned else "",
    )


def _mixture(words: Words, ahead: TogetherAhead) -> str:
    if ahead.before is not None and ahead.after is not None:
        return words.gettext(
            "Now %(before)s, then %(after)s",
            before=strength_text(words, ahead.before),
            after=strength_text(words, ahead.after),
        )
    if ahead.dose_g_per_l is not None:
        before, after = ahead.dose_g_per_l
        return words.gettext(
            "Now %(before)s of powder, then %(after)s",
            before=amounts.g_per_l(words, before, 1),
            after=amounts.g_per_l(words, after, 1),
        )
    return words.gettext("As old as the older of the two.")


def _litres(words: Words, look: AnyLook, giver: AnyLook, ahead: TogetherAhead) -> Iterable[str]:
    yield words.gettext(
        "%(name)s: now %(before)s, then %(after)s",
        name=look.state.name,
        before=amounts.volume(words, ahead.before_ml),
        after=amounts.volume(words, ahead.after_ml),
    )
    if ahead.left_ml <= 0:
        yield words.gettext("%(name)s is finished then.", name=giver.state.name)
    else:
        left = amounts.volume(words, ahead.left_ml)
        yield words.gettext("%(name)s: %(left)s are left", name=giver.state.name, left=left)
    if ahead.made_at < look.state.mixed_at:
        day = words.day(ahead.made_at)
        yield words.gettext("It counts as made on %(day)s, as the older of the two.", day=day)


def _against(
    words: Words, look: AnyLook, giver: AnyLook, ahead: TogetherAhead
) -> Iterable[str]:
    name = giver.state.name
    if giver.state.stop is not None:
        yield words.gettext(
            "%(name)s is stopped. What it goes into is stopped by it.", name=name
        )
    if ahead.warned:
        why = reasons.why(telling(), giver)
        yield words.gettext("%(name)s: %(why)s", name=name, why=why)
    if ahead.short_ml > 0:
        short = amounts.volume(words, ahead.short_ml)
        yield words.gettext("That is %(short)s more than there is.", short=short)
    if ahead.over_brim_ml > 0:
        over = amounts.volume(words, ahead.over_brim_ml)
        yield words.gettext("That is %(over)s over the brim. It does not fit.", over=over)
    if isinstance(look, BathLook) and ahead.after is not None:
        line = line_text(words, look.answer.lines, ahead.after.middle_g_per_l)
        if line:
            yield words.gettext(
                "This would bring it to about %(strength)s only, %(line)s.",
                strength=amounts.g_per_l(words, ahead.after.middle_g_per_l),
                line=line,
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Flow:
    """Where liquid of a bath came from or went: a sentence before and after a bath's name."""

    before: str
    name: str
    url: str
    after: str


def flows(words: Words, bath: Subject, entries: Iterable[InForce]) -> tuple[Flow, ...]:
    """Return where the liquid of a bath came from and went, as its entries say."""
    found = [one for entry in entries for one in _ends(words, bath, entry)]
    others = desk().journal.states("bath", [other for other, _, _ in found])
    names = bath_names(others.values())
    return tuple(
        Flow(before=before, name=names[other], url=bath_url(others[other]), after=after)
        for other, before, after in found
        if other in others
    )


def _ends(words: Words, bath: Subject, entry: InForce) -> Iterable[tuple[Subject, str, str]]:
    """Give the other baths of an entry, each with what stands before and after its name."""
    match entry.content:
        case kinds.BathSplit() as said:
            day = words.moment(entry.at)
            for place, part in enumerate(said.parts):
                litres, there = quantity_text(words, part.litres), part_of(entry.id, place)
                end = words.gettext("%(litres)s, %(day)s", litres=litres, day=day)
                if said.bath == bath:
                    yield there, words.gettext("poured off into"), end
                elif there == bath:
                    yield said.bath, words.gettext("poured off from"), end
        case kinds.BathJoined() as said:
            much, day = words.gettext("all of it"), words.moment(entry.at)
            if said.litres is not None:
                much = quantity_text(words, said.litres)
            end = words.gettext("%(litres)s, %(day)s", litres=much, day=day)
            if said.bath == bath:
                yield said.giver, words.gettext("poured in from"), end
            else:
                yield said.bath, words.gettext("poured into"), end
        case _:
            pass


def giver_text(words: Words, giver: AnyLook, names: dict[Subject, str], studio: str) -> str:
    """Say a bath in a list: its name, what its answer is, what is in it, and where."""
    state: AnyBath = giver.state
    parts = [names[state.id], reasons.word(words, giver.answer.word)]
    if isinstance(giver, BathLook):
        parts.append(strength_text(words, giver.strength))
        parts.append(amounts.volume(words, giver.strength.volume_l * 1000))
    else:
        parts.append(amounts.volume(words, giver.state.volume_ml))
    if studio:
        parts.append(studio)
    return ", ".join(parts)
