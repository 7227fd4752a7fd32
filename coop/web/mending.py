"""What an addition would make of a bath, and what would bring it back, in sentences."""

from dataclasses import dataclass
from typing import Any

from coop.actions.mend import Ahead, Remedy
from coop.rules.baths import BathLook
from coop.rules.use import Lines
from coop.science.bath_answers import Strength
from coop.web import amounts
from coop.web import words as say
from coop.web.i18n import Words
from coop.web.salt import share_text


@dataclass(frozen=True, slots=True, kw_only=True)
class AheadSaid:
    """
    Strength and level before and after, and what to mind; empty while nothing is typed.

    `reason` says that one will be asked.
    """

    figure: str = ""
    level: str = ""
    warnings: tuple[str, ...] = ()
    reason: str = ""

    def live(self) -> dict[str, Any]:
        """Return the parts of a live answer."""
        return {
            "figure": self.figure,
            "level": self.level,
            "warnings": self.warnings,
            "reason": self.reason,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class RemedySaid:
    """One way back to the target: what it does, and what to weigh for it."""

    head: str
    lines: tuple[str, ...]


def ahead_said(words: Words, look: BathLook, ahead: Ahead) -> AheadSaid:
    """Say what an addition would make of a bath."""
    before, after = ahead.change.before, ahead.change.after
    return AheadSaid(
        figure=words.gettext(
            "Now %(before)s, then %(after)s",
            before=strength_text(words, before),
            after=strength_text(words, after),
        ),
        level=words.gettext(
            "Now %(before)s, then %(after)s in the tub",
            before=amounts.volume(words, before.volume_l * 1000),
            after=amounts.volume(words, after.volume_l * 1000),
        ),
        warnings=tuple(_warnings(words, look, ahead)),
        reason=words.gettext("A reason will be asked.") if ahead.water_only else "",
    )


def strength_text(words: Words, found: Strength) -> str:
    """Say a strength with its range."""
    return amounts.strength(words, found.middle_g_per_l, found.low_g_per_l, found.high_g_per_l)


def _warnings(words: Words, look: BathLook, ahead: Ahead) -> list[str]:
    found = [*_of_strength(words, look.answer.lines, ahead)]
    if ahead.over_brim_ml > 0:
        over = amounts.volume(words, ahead.over_brim_ml)
        found.append(
            words.gettext("That is %(over)s over the brim. It does not fit.", over=over)
        )
    for lot, grams in ahead.other_salt:
        found.append(
            words.gettext(
                "%(lot)s is %(other)s, in the tub is %(salt)s: it does not go in. So much of "
                "it is as strong as %(grams)s of the salt in the tub.",
                lot=lot.name,
                other=say.choice(words, "salt_short", lot.salt or look.state.salt),
                salt=say.choice(words, "salt_short", look.state.salt),
                grams=amounts.weight(words, grams),
            )
        )
    return found


def _of_strength(words: Words, lines: Lines | None, ahead: Ahead) -> list[str]:
    """Warn of water alone and of a line the bath would be under."""
    strength = amounts.g_per_l(words, ahead.change.after.middle_g_per_l)
    line = line_text(words, lines, ahead.change.after.middle_g_per_l)
    if ahead.water_only:
        if line:
            return [
                words.gettext(
                    "Water alone: this would bring it to about %(strength)s, %(line)s.",
                    strength=strength,
                    line=line,
                )
            ]
        return [
            words.gettext(
                "Water alone: this would bring it to about %(strength)s.", strength=strength
            )
        ]
    if line:
        return [
            words.gettext(
                "This would bring it to about %(strength)s only, %(line)s.",
                strength=strength,
                line=line,
            )
        ]
    return []


def line_text(words: Words, lines: Lines | None, strength_g_per_l: float) -> str:
    """Say which line a strength is under; empty for none."""
    if lines is None:
        return ""
    if strength_g_per_l < lines.do_not_use_g_per_l:
        line = amounts.strength_figure(words, lines.do_not_use_g_per_l)
        return words.gettext("not to be used under %(line)s", line=line)
    if strength_g_per_l < lines.look_again_g_per_l:
        line = amounts.strength_figure(words, lines.look_again_g_per_l)
        return words.gettext("to be looked at again under %(line)s", line=line)
    return ""


def remedy_said(words: Words, remedy: Remedy) -> RemedySaid:
    """Say one way back to the target."""
    strength = amounts.g_per_l(words, remedy.strength_g_per_l)
    litres = amounts.volume(words, remedy.volume_ml)
    if remedy.salt_g < 1:
        head = words.gettext(
            "%(water)s of water: then %(strength)s in %(litres)s",
            water=amounts.volume(words, remedy.water_ml),
            strength=strength,
            litres=litres,
        )
    elif remedy.water_ml < 1:
        head = words.gettext(
            "%(grams)s of alum, no water: then %(strength)s in %(litres)s",
            grams=amounts.weight(words, remedy.salt_g),
            strength=strength,
            litres=litres,
        )
    else:
        head = words.gettext(
            "%(grams)s of alum and %(water)s of water: then %(strength)s in %(litres)s",
            grams=amounts.weight(words, remedy.salt_g),
            water=amounts.volume(words, remedy.water_ml),
            strength=strength,
            litres=litres,
        )
    lines = [share_text(words, one) for one in remedy.shares]
    if remedy.missing_g >= 1:
        lines.append(
            words.gettext(
                "By the ledger %(there)s of it is on hand; %(missing)s is not.",
                there=amounts.weight(words, max(0.0, remedy.salt_g - remedy.missing_g)),
                missing=amounts.weight(words, remedy.missing_g),
            )
        )
    return RemedySaid(head=head, lines=tuple(lines))
