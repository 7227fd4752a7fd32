"""A hot start in a form: so much hot water to so much cold, within what the jug bears."""

from coop.actions.mix import BathPlan
from coop.actions.reckon import dissolves_warm
from coop.science.defaults import value
from coop.science.hot_start import JUG_MAX_C, JUG_MIN_C, VOLUME_MAX_L, hot_start
from coop.units.number import unwire
from coop.web import amounts
from coop.web.fields import MeasuredField
from coop.web.forms import PageForm
from coop.web.i18n import N_, Words

HOT_C = 55
COLD_C = 12
TOGETHER_C = 35
"""What stands in the boxes at first: our own choice, no source."""


class HotForm(PageForm):
    """How warm the waters are that are poured together, and what the jug bears."""

    hot = MeasuredField(N_("The hot water is at"), unit="celsius", default=HOT_C)
    cold = MeasuredField(N_("The cold water is at"), unit="celsius", default=COLD_C)
    together = MeasuredField(
        N_("Both together are to be at"), unit="celsius", default=TOGETHER_C
    )
    jug = MeasuredField(
        N_("The jug bears at most"),
        description=N_("What its maker says of it; an HDPE jug no more than stands here."),
        unit="celsius",
        default=round(value("hdpe_hot_c")),
    )

    @property
    def hot_fields(self) -> tuple[MeasuredField, ...]:
        """The boxes, in the order in which they are filled in."""
        return self.hot, self.cold, self.together, self.jug

    @property
    def hot_asked(self) -> bool:
        """Whether somebody changed what stands in the boxes at first."""
        return any(one.data != str(one.default) for one in self.hot_fields)


def hot_said(
    words: Words, form: HotForm, water_ml: float | None, plan: BathPlan | None
) -> tuple[str, ...]:
    """Say a hot start for so much water in all, or what keeps it from being one."""
    wrong = [text for one in form.hot_fields for text in one.process_errors]
    if wrong or water_ml is None or not all(one.data for one in form.hot_fields):
        return tuple(wrong)
    hot_c, cold_c, together_c, jug_c = _asked_c(form)
    refused = _refused(words, hot_c, cold_c, together_c, jug_c)
    if refused:
        return (refused,)
    poured = hot_poured(words, form, water_ml)
    dissolves = _dissolves(words, plan, together_c)
    return (poured, *_too_warm(words, together_c), *dissolves) if poured else ()


def _asked_c(form: HotForm) -> tuple[float, float, float, float]:
    hot_c, cold_c, together_c, jug_c = (float(unwire(str(one.data))) for one in form.hot_fields)
    return hot_c, cold_c, together_c, jug_c


def hot_poured(words: Words, form: HotForm, water_ml: float | None) -> str:
    """Say how much hot water goes into how much cold; empty where that cannot be said."""
    if water_ml is None or not all(one.data for one in form.hot_fields):
        return ""
    hot_c, cold_c, together_c, jug_c = _asked_c(form)
    refused = _refused(words, hot_c, cold_c, together_c, jug_c)
    if refused or water_ml / 1000 > VOLUME_MAX_L:
        return ""
    start = hot_start(
        total_l=water_ml / 1000,
        cold_c=cold_c,
        hot_c=hot_c,
        target_c=together_c,
        jug_max_c=jug_c,
    )
    return words.gettext(
        "Cold water first: %(cold)s at %(cold_c)s. Then %(hot)s at %(hot_c)s slowly into it: "
        "%(both_c)s together. The alum last.",
        cold=amounts.volume(words, 1000 * start.cold_l),
        cold_c=amounts.warmth(words, cold_c),
        hot=amounts.volume(words, 1000 * start.hot_l),
        hot_c=amounts.warmth(words, hot_c),
        both_c=amounts.warmth(words, start.mixed_c),
    )


def _refused(words: Words, hot_c: float, cold_c: float, together_c: float, jug_c: float) -> str:
    """Say what of four temperatures does not go together, and what would be right."""
    if not JUG_MIN_C <= jug_c <= JUG_MAX_C:
        return words.gettext(
            "What a jug bears lies from %(low)s to %(high)s.",
            low=amounts.warmth(words, JUG_MIN_C),
            high=amounts.warmth(words, JUG_MAX_C),
        )
    if hot_c > jug_c:
        return words.gettext(
            "%(hot_c)s is too hot for this jug, which bears %(jug_c)s: let the water cool "
            "first, or take a vessel that bears it and say so.",
            hot_c=amounts.warmth(words, hot_c),
            jug_c=amounts.warmth(words, jug_c),
        )
    if not 0 <= cold_c < together_c < hot_c:
        return words.gettext(
            "Both together lie between the cold water, from %(least)s on, and the hot: here "
            "%(cold_c)s and %(hot_c)s.",
            least=amounts.warmth(words, 0),
            cold_c=amounts.warmth(words, cold_c),
            hot_c=amounts.warmth(words, hot_c),
        )
    return ""


def _too_warm(words: Words, together_c: float) -> list[str]:
    """Say what so warm a bath is too warm for: hands, and the tub."""
    found, hand_hot_c, tub_c = [], value("hand_hot_water_c"), value("hdpe_hot_c")
    if together_c > hand_hot_c:
        found.append(
            words.gettext(
                "That is over hand-hot (%(hand_hot)s): hands stay out until it has cooled.",
                hand_hot=amounts.warmth(words, hand_hot_c),
            )
        )
    if together_c > tub_c:
        found.append(
            words.gettext(
                "An HDPE tub bears %(tub)s at most: let it cool in the vessel that bears it, "
                "then pour it into the tub.",
                tub=amounts.warmth(words, tub_c),
            )
        )
    return found


def _dissolves(words: Words, plan: BathPlan | None, together_c: float) -> tuple[str, ...]:
    if plan is None:
        return ()
    clear_c = plan.store.clear_c
    if clear_c is None:
        if dissolves_warm(plan.aim_g_per_l.middle, plan.salt, together_c) is not False:
            return ()
        return (
            words.gettext(
                "So much alum will not dissolve in it: make it warmer, or mix it weaker."
            ),
        )
    if clear_c <= together_c:
        return ()
    text = words.gettext(
        "So much alum dissolves from %(clear_c)s on: make it warmer, or mix it weaker.",
        clear_c=amounts.warmth(words, clear_c),
    )
    return (text,)
