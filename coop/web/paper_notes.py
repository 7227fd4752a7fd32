"""What a paper takes of a bath, in sentences: by its chalk, and by what it drinks."""

from collections.abc import Iterable
from dataclasses import dataclass

from coop.actions.chalk import PaperChalk, Sheets
from coop.actions.learn_pickup import BATHS_READ_MAX, PickupLook
from coop.science.chalk import ChalkLimits
from coop.web import amounts
from coop.web import words as say
from coop.web.i18n import Words
from coop.web.page import face


def chalk_text(words: Words, sheets: Sheets, limits: ChalkLimits) -> str:
    """Say both limits: '60 half sheets of P-31 may take 0 to 42 g of alum: ...'."""
    return words.gettext(
        "%(sheets)s of %(paper)s may take %(least)s to %(most)s of alum by their chalk: "
        "%(now)s now, %(low)s to %(high)s after.",
        sheets=say.sheets(words, sheets.count, sheets.sheet_format),
        paper=sheets.name,
        least=amounts.weight_figure(words, limits.least_g, by_g=limits.most_g),
        most=amounts.weight(words, limits.most_g),
        now=amounts.g_per_l(words, limits.now_g_per_l),
        low=amounts.strength_figure(words, limits.low_g_per_l),
        high=amounts.strength_figure(words, limits.high_g_per_l),
    )


def chalk_texts(words: Words, found: Iterable[tuple[Sheets, ChalkLimits]]) -> tuple[str, ...]:
    """Say both limits for several papers."""
    return tuple(chalk_text(words, sheets, limits) for sheets, limits in found)


def paper_chalk_text(words: Words, found: PaperChalk) -> str:
    """Say what a paper's chalk may take of any bath."""
    said = words.gettext(
        "%(sheets)s hold about %(chalk)s of chalk: it takes between nothing and %(most)s of "
        "%(salt)s out of a bath, as far as the dip reaches it.",
        sheets=say.sheets(words, found.sheet_count, "half"),
        chalk=amounts.weight(words, found.chalk_g),
        most=amounts.weight(words, found.most_g),
        salt=say.choice(words, "salt_short", found.salt),
    )
    if not found.assumed:
        return said
    reserve = words.gettext(
        "Nobody measured it: counted is the least that ISO 9706 asks of a lasting paper."
    )
    return f"{said} {reserve}"


@dataclass(frozen=True, slots=True, kw_only=True)
class PickupSaid:
    """
    What a paper drinks by one method.

    `offer` is the figure to take over as the form sends it back; empty for nothing new.
    """

    method: str
    text: str
    offer: str


def pickup_said(words: Words, look: PickupLook) -> PickupSaid:
    """Say what pairs of readings show, what was taken over, or how many are wanted yet."""
    parts = [_taken(words, look)] if look.taken else []
    news = look.news
    if news is not None:
        parts.append(
            words.ngettext(
                "%(num)d pair of readings: %(method)s takes %(middle)s mL/m² (%(low)s to "
                "%(high)s), not %(now)s.",
                "%(num)d pairs of readings: %(method)s takes %(middle)s mL/m² (%(low)s to "
                "%(high)s), not %(now)s.",
                look.pair_count,
                method=_method(words, look.method),
                middle=words.number(news.middle_ml_per_m2),
                low=words.number(news.low_ml_per_m2),
                high=words.number(news.high_ml_per_m2),
                now=words.number(look.now.middle),
            )
        )
    elif look.taken is None:
        parts.append(_yet(words, look))
    return PickupSaid(
        method=look.method,
        text=" ".join(parts),
        offer=f"{news.middle_ml_per_m2:.0f}" if news else "",
    )


def _method(words: Words, code: str) -> str:
    methods = {
        "dip": words.gettext("a dip"),
        "sponge": words.gettext("a sponge"),
        "brush": words.gettext("a brush"),
    }
    return methods[code]


def _taken(words: Words, look: PickupLook) -> str:
    assert look.taken is not None
    return words.gettext(
        "By readings %(method)s takes %(middle)s mL/m² (%(low)s to %(high)s): since %(day)s, "
        "taken over by %(name)s.",
        method=_method(words, look.method),
        middle=words.number(look.taken.ml_per_m2),
        low=words.number(look.taken.low_ml_per_m2),
        high=words.number(look.taken.high_ml_per_m2),
        day=words.day(look.taken.at),
        name=face(look.taken.by).name,
    )


def _yet(words: Words, look: PickupLook) -> str:
    return words.gettext(
        "%(count)s of %(wanted)s pairs of readings yet: %(method)s counts as %(now)s mL/m².",
        count=look.pair_count,
        wanted=look.wanted,
        method=_method(words, look.method),
        now=words.number(look.now.middle),
    )


def pickup_hint(words: Words) -> str:
    """Say what makes a pair, and where pairs are looked for."""
    return words.gettext(
        "A pair is two level readings of a tub of alum with only sheets of this paper, by one "
        "method, between them; looked for in the newest %(num)s baths.",
        num=words.number(BATHS_READ_MAX),
    )
