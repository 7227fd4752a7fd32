"""What thins or thickens a bath that is not alum, and what it would be, in sentences."""

from dataclasses import dataclass
from typing import Any

from coop.actions.liquid_mend import BLEND, WATER, Ahead, Way
from coop.rules.liquid_looks import LiquidLook
from coop.web import amounts
from coop.web import words as say
from coop.web.i18n import Words
from coop.web.powder import fine_grams

HALF_FIRST_UNDER = 0.9
"""Thinned to less than this of its dose, half the water goes in first: our own choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiquidAheadSaid:
    """Dose and level before and after, and what to mind; empty while nothing is typed."""

    figure: str = ""
    level: str = ""
    warnings: tuple[str, ...] = ()

    def live(self) -> dict[str, Any]:
        """Return the parts of a live answer."""
        return {"figure": self.figure, "level": self.level, "warnings": self.warnings}


@dataclass(frozen=True, slots=True, kw_only=True)
class WaySaid:
    """One way to a dose: what to do, and what to mind about it."""

    head: str
    lines: tuple[str, ...]


def dose_text(words: Words, dose_g_per_l: float | None) -> str:
    """Say a dose by powder and litres; what nobody knows is said so."""
    if dose_g_per_l is None:
        return words.gettext("dose not known")
    return words.gettext("about %(dose)s", dose=amounts.g_per_l(words, dose_g_per_l, 1))


def giver_text(words: Words, giver: LiquidLook) -> str:
    """Say another bath in a list: name, litres, dose."""
    return ", ".join(
        (
            giver.state.name,
            amounts.volume(words, giver.state.volume_ml),
            dose_text(words, giver.state.dose_g_per_l),
        )
    )


def way_said(words: Words, way: Way, *, powder: str, dose_g_per_l: float) -> WaySaid:
    """Say one way to a wanted dose."""
    after = amounts.volume(words, way.after_ml)
    lines = []
    if way.how == WATER:
        head = words.gettext(
            "%(water)s of water: then %(after)s",
            water=amounts.volume(words, way.add_ml),
            after=after,
        )
        lines += _half_first(words, way, dose_g_per_l)
    elif way.how == BLEND and way.giver is not None:
        head = words.gettext(
            "%(litres)s of %(name)s (%(dose)s): then %(after)s",
            litres=amounts.volume(words, way.add_ml),
            name=way.giver.state.name,
            dose=dose_text(words, way.thicker_g_per_l),
            after=after,
        )
    else:
        head = words.gettext(
            "A thicker one made in a jug: %(grams)s of %(powder)s in %(water)s of water, "
            "%(dose)s; rested, then poured in: then %(after)s",
            grams=fine_grams(words, way.powder_g),
            powder=say.choice(words, "powder", powder) if powder else "",
            water=amounts.volume(words, way.add_ml),
            dose=dose_text(words, way.thicker_g_per_l),
            after=after,
        )
    return WaySaid(head=head, lines=(*lines, *_limits(words, way)))


def _half_first(words: Words, way: Way, dose_g_per_l: float) -> list[str]:
    wanted = dose_g_per_l * (way.after_ml - way.add_ml) / way.after_ml
    if wanted >= HALF_FIRST_UNDER * dose_g_per_l:
        return []
    return [
        words.gettext(
            "Half of it first, stir, and try a drop: it gets thin faster than its dose falls."
        )
    ]


def _limits(words: Words, way: Way) -> list[str]:
    found = []
    if way.out_ml > 0:
        out = amounts.volume(words, way.out_ml)
        found.append(
            words.gettext(
                "There is no room for it: take %(out)s out first, and write down the level.",
                out=out,
            )
        )
    if way.short_ml > 0 and way.giver is not None:
        there = amounts.volume(words, way.giver.state.volume_ml)
        found.append(words.gettext("Only %(there)s of it stand there.", there=there))
    return found


def liquid_ahead_said(words: Words, ahead: Ahead) -> LiquidAheadSaid:
    """Say what an addition would make of a bath."""
    figure = ""
    if ahead.after_g_per_l is not None:
        figure = words.gettext(
            "Now %(before)s, then %(after)s",
            before=dose_text(words, ahead.before_g_per_l),
            after=dose_text(words, ahead.after_g_per_l),
        )
    warnings = []
    if ahead.over_brim_ml > 0:
        over = amounts.volume(words, ahead.over_brim_ml)
        warnings.append(
            words.gettext("That is %(over)s over the brim. It does not fit.", over=over)
        )
    return LiquidAheadSaid(
        figure=figure,
        level=words.gettext(
            "Now %(before)s, then %(after)s in the tub",
            before=amounts.volume(words, ahead.before_ml),
            after=amounts.volume(words, ahead.after_ml),
        ),
        warnings=tuple(warnings),
    )
