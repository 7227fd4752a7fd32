"""
The answer to "may I use it?" in sentences: reasons, next acts, how known, what is odd.

The core gives codes and numbers; each closed set of codes has its table or its `match` here.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from types import MappingProxyType

from coop.ledger.part_of_day import MINUTE
from coop.rules.baths import TURNS_WITHIN_DAYS, BathLook
from coop.rules.impossible import (
    LOT_BELOW_ZERO,
    LOT_OF_TWO,
    NAMES_ALIKE,
    STRONGER_THAN_CAN_BE,
    TUB_HOLDS_TWO,
)
from coop.rules.liquid_looks import LiquidLook, look_again_warm_days
from coop.rules.liquids import SIZE
from coop.rules.reasons import Reason, Word
from coop.rules.use import Answer, HowKnown, Known, PaperAnswer
from coop.web import amounts
from coop.web import words as say
from coop.web.i18n import N_, Words

NUMBERS: tuple[str, ...] = (
    N_("No"), N_("One"), N_("Two"), N_("Three"), N_("Four"), N_("Five"), N_("Six"),
    N_("Seven"), N_("Eight"), N_("Nine"), N_("Ten"),
)  # fmt: skip
"""Numbers as a sentence begins with them."""

ACTS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "mend-it": (N_("Mend it"), "/baths/{bath}/mend"),
        "thin-it": (N_("Thin it with water"), "/baths/{bath}/mend"),
        "thicken-it": (N_("Blend in thicker size"), "/baths/{bath}/mend"),
        "strain-it": (N_("Strain and skim it"), "/baths/{bath}/care"),
        "bring-to-room": (N_("Bring it to room warmth"), "/baths/{bath}/care"),
        "stop-it": (N_("Stop it"), "/baths/{bath}/stop"),
        "wait": (N_("Wait"), "/baths/{bath}"),
        "second-reading": (N_("Take a second reading"), "/baths/{bath}/test"),
        "read-level": (N_("Read the level"), "/baths/{bath}/test"),
        "weigh-ten-spoons": (N_("Weigh ten level spoons of the tub"), "/shelf"),
        "specific-gravity": (N_("Read the hydrometer"), "/baths/{bath}/test?by=hydrometer"),
        "strip-print": (N_("Make a strip print"), "/baths/{bath}/test?by=strip_print"),
        "drop-test": (N_("Make a drop test"), "/baths/{bath}/test?by=drop_test"),
        "look-at-it": (N_("Look at it closely"), "/baths/{bath}/test?by=look"),
        "allow-again": (N_("Allow it again"), "/baths/{bath}/allow"),
        "say-target": (N_("Say how strong it should be"), "/house"),
        "say-laying-litres": (N_("Say how deep it must stand"), "/house"),
        "get-rid-of-it": (N_("Get rid of it"), "/drain/bath/{bath}"),
    }
)

STACK_ACTS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "bag-it": (N_("Put it in a closed bag"), "/stacks/{stack}#put-away"),
        "strip-print": (
            N_("Make a strip print of a corner"),
            "/stacks/{stack}/test",
        ),
        "re-alum": (N_("Alum it once more"), "/stacks/{stack}/alum-again"),
        "bin-it": (N_("Throw it away"), "/stacks/{stack}#bin"),
    }
)

HOW_KNOWN: Mapping[Known, str] = MappingProxyType(
    {
        Known.WEIGHED: N_("Weighed %(when)s."),
        Known.SPOON_WEIGHED: N_("Spooned %(when)s, by the weighed spoon of its lot."),
        Known.SPOONED: N_("Spooned %(when)s, nobody weighed a spoon of its lot."),
        Known.GUESSED: N_("Guessed %(when)s."),
        Known.TESTED: N_("Hydrometer %(when)s."),
        Known.DROP_TESTED: N_("Drop test %(when)s."),
        Known.LOOKED_AT: N_("Looked at %(when)s."),
        Known.CORNER_PRINTED: N_("Strip print of a corner %(when)s."),
        Known.BY_DAYS: N_("By its days alone, from %(when)s on."),
    }
)

IMPLIED: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "under-do-not-use-line": ("under-look-again-line", "may-be-under-do-not-use-line"),
        "none-left": (
            "strip-print-failed",
            "stack-hard-stop",
            "strip-print-soft",
            "its-bath-was-stopped",
            "stack-past-use-by",
            "corner-print-sharp",
        ),
        "size-past-warm-days": ("size-warm-days",),
        "long-past-its-days": ("past-its-days",),
        "drop-spread-far-off": ("drop-spread-off",),
        "stack-hard-stop": ("stack-past-use-by",),
    }
)
"""Reasons that say nothing more once another stands."""

LOOKS: Mapping[str, str] = MappingProxyType(
    {
        "skin": N_("A skin was seen on it, %(when)s."),
        "threads": N_("Threads were seen in it, %(when)s."),
        "lumps": N_("Lumps were seen in it, %(when)s."),
        "watery": N_("It looked watery, %(when)s."),
        "tinted": N_("It looked tinted, %(when)s."),
    }
)

STACK_DAYS: Mapping[str, str] = MappingProxyType(
    {
        "open": N_("Alumed %(age)s days ago: in the open it keeps %(line)s."),
        "damp": N_("Alumed %(age)s days ago: damp it keeps %(line)s."),
        "bagged": N_("Alumed %(age)s days ago: in a closed bag it keeps %(line)s."),
    }
)

FINDINGS: Mapping[str, str] = MappingProxyType(
    {
        "before-the-mix": N_("This is said to have happened before the bath was mixed."),
        "after-the-finish": N_("This is said to have happened after it was finished or gone."),
        "over-the-brim": N_("More went in than fits."),
        "other-salt": N_("Another salt went in than the one in the bath."),
        "lot-not-known": N_("The ledger does not know the lot this came from."),
        "used-while-stopped": N_("Sheets went through while the bath was stopped."),
        "reading-disagrees": N_("This reading does not agree with what went in."),
        "floor-not-known": N_(
            "A depth was read in a tub whose inside floor nobody described, so it says nothing."
        ),
        "no-density-curve": N_("Gravity is not read as strength for this salt."),
        "outside-density-curve": N_("This gravity is no strength of this salt."),
        "sorted-over-the-count": N_("More sheets were sorted than went through."),
        "laid-over-the-count": N_("More sheets were laid or thrown away than were alumed."),
        "other-format": N_("Another format was said than that of the stack, which counts."),
        "giver-not-known": N_("The ledger does not know what this came out of."),
        "giver-of-another-kind": N_(
            "A bath of another kind was poured in: what came in is counted nowhere."
        ),
        "taker-not-known": N_(
            "The ledger does not know what this went into: it is counted nowhere."
        ),
        "more-than-stood-there": N_("More went out than stood there."),
        "other-liquid": N_("Two baths of different kinds were poured together."),
        "not-a-size": N_("Sheets were laid on a bath that is no size."),
        "not-alum": N_("Sheets were alumed in a bath that is no alum."),
        "alum-in-no-alum": N_("Alum went into a bath that is no alum."),
        "says-nothing-here": N_("This instrument says nothing of what is in it."),
        "put-right-without-count": N_(
            "A count was put right and then taken back: what was put right still counts."
        ),
        "cut-over-the-sheet": N_("More was cut from the sheets than they hold."),
        "editions-disagree": N_("Two descriptions of it stand side by side."),
        "opened-twice": N_("The ledger was opened twice."),
        "same-id-other-content": N_("Two different entries carry the same mark."),
        "corrections-disagree": N_("Two corrections of it stand side by side."),
        "correction-not-understood": N_("A correction could not be read."),
        "likely-twin": N_(
            "The same was written shortly before, by somebody else or on another phone: it may "
            "stand here twice."
        ),
    }
)

IMPOSSIBLE: Mapping[str, str] = MappingProxyType(
    {
        TUB_HOLDS_TWO: N_("Another bath that is not finished stands in the same tub."),
        NAMES_ALIKE: N_("Another bath that is not finished has the same name."),
        STRONGER_THAN_CAN_BE: N_("This is stronger than a bath can be: look at what went in."),
        LOT_BELOW_ZERO: N_("More was taken out of this lot than came in."),
        LOT_OF_TWO: N_("Something of another supply was put to this lot."),
    }
)

MENDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        TUB_HOLDS_TWO: (N_("Finish the earlier one"), "/baths/{other}/finish"),
        NAMES_ALIKE: (N_("Give it another name"), "/entries/{entry}/correct"),
        STRONGER_THAN_CAN_BE: (N_("What went in"), "/baths/{subject}#history"),
        LOT_BELOW_ZERO: (N_("Where it went"), "/lots/{subject}"),
        LOT_OF_TWO: (N_("Where it went"), "/lots/{subject}"),
    }
)
"""What mends the impossible, and the address of its page."""

SOURCES: Mapping[str, str] = MappingProxyType(
    {
        "house limits": N_("house limits"),
        "recipe": N_("the recipe"),
        "paper": N_("the paper"),
        "vessel": N_("the tub"),
        "test": N_("a test"),
        "person": N_("a person"),
        "entries": N_("what was written"),
        "defaults": N_("a default of the ledger"),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Telling:
    """
    How things are told: in which words, at what time, and by what names of members.

    Attributes:
        dated: Say dates only: "yesterday" of another moment than now would be misread.
    """

    words: Words
    now: datetime
    name_of: Callable[[str], str]
    dated: bool = False

    def when(self, moment: object, precision: str = MINUTE) -> str:
        assert isinstance(moment, datetime)
        if self.dated:
            return say.moment(self.words, moment, precision)
        return say.when(self.words, moment, self.now, precision)

    def number(self, value: object, digits: int = 0) -> str:
        assert isinstance(value, int | float)
        return self.words.number(value, digits)

    def short(self, value: object) -> str:
        """Return a figure with one decimal, a whole one without: '4.2', '4'."""
        assert isinstance(value, int | float)
        return self.words.number(value, _decimals(value))

    def digits_apart(self, value: object, line: object) -> int:
        """Return the decimals that tell a strength from the line it lies under: 29.8, 30.0."""
        said = (amounts.strength_figure(self.words, _figure(one)) for one in (value, line))
        return 1 if len(set(said)) == 1 else 0

    def under(self, value: object, line: object) -> tuple[str, str]:
        """Return a strength and the line it lies under, told apart: '29.8 g/L' and '30.0'."""
        digits = self.digits_apart(value, line)
        return (
            amounts.g_per_l(self.words, _figure(value), digits),
            amounts.strength_figure(self.words, _figure(line), digits),
        )

    def short_length(self, length_mm: object) -> str:
        """Return a length with its unit, a whole one of millimetres without a decimal."""
        return amounts.length(self.words, _figure(length_mm), _decimals(length_mm))

    def short_length_figure(self, length_mm: object) -> str:
        """Return the bare number of a length, as `short_length` has it."""
        return amounts.length_figure(self.words, _figure(length_mm), _decimals(length_mm))


def word(words: Words, code: str) -> str:
    """Return the answer's word."""
    match Word(code):
        case Word.GOOD:
            return words.pgettext("may I use it?", "good")
        case Word.LOOK_AGAIN:
            return words.pgettext("may I use it?", "look again")
        case Word.DO_NOT_USE:
            return words.pgettext("may I use it?", "do not use")
        case Word.RESTING:
            return words.pgettext("may I use it?", "resting")
        case Word.FINISHED:
            return words.pgettext("may I use it?", "finished")


def why(telling: Telling, look: BathLook | LiquidLook) -> str:
    """Return the one sentence why: the deciding reason, or what a good bath is."""
    deciding = look.answer.reasons[:1]
    if deciding and deciding[0].word is not None:
        return reason(telling, deciding[0])
    if isinstance(look, LiquidLook):
        cold = (reason(telling, one) for one in look.answer.reasons if one.code == STANDS_COLD)
        return " ".join((*cold, age(telling, look)))
    return strength(telling.words, look)


def age(telling: Telling, look: LiquidLook) -> str:
    """Say how old a bath is: 'Made 2 days ago, 1 of them chilled: like 1.2 warm days of 4.'"""
    words, made = telling.words, telling.when(look.state.mixed_at)
    if look.state.what != SIZE:
        return words.gettext("Made %(when)s.", when=made)
    line = look_again_warm_days(look)
    numbers = {
        "when": made,
        "warm": words.number(look.warm_days, 1),
        "line": telling.short(line),
    }
    if look.chilled_days < CHILLED_SHOWN_DAYS:
        return words.gettext("Made %(when)s: like %(warm)s warm days of %(line)s.", **numbers)
    return words.gettext(
        "Made %(when)s, %(chilled)s days of it chilled: like %(warm)s warm days of %(line)s.",
        chilled=words.number(look.chilled_days, 1),
        **numbers,
    )


def strength(words: Words, look: BathLook) -> str:
    """Say how strong a bath is, beside its target."""
    lines, known = look.answer.lines, look.strength
    about = amounts.strength(words, known.middle_g_per_l, known.low_g_per_l, known.high_g_per_l)
    if lines is None:
        text = words.gettext("%(about)s; nobody said how strong it should be.", about=about)
    else:
        target = amounts.strength_figure(words, lines.target_g_per_l)
        text = words.gettext("%(about)s, target %(target)s.", about=about, target=target)
    return text[:1].upper() + text[1:]


def telling_reasons(answer: Answer) -> tuple[Reason, ...]:
    """Return the reasons of an answer without those that another implies."""
    implied = {code for one in answer.reasons for code in IMPLIED.get(one.code, ())}
    return tuple(one for one in answer.reasons if one.code not in implied)


def reason(telling: Telling, found: Reason) -> str:
    """Say one reason in a sentence with its numbers."""
    return _SENTENCES[found.code](telling, dict(found.numbers))


CHILLED_SHOWN_DAYS = 0.05
STANDS_COLD = "stands-cold"

Numbers = Mapping[str, object]
Sentence = Callable[[Telling, Numbers], str]


def _finished(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "Taken out of use %(when)s.", when=telling.when(said["finished_at"])
    )


def _none_left(telling: Telling, said: Numbers) -> str:
    return telling.words.ngettext(
        "Its one sheet is used or thrown away.",
        "All its %(num)d sheets are used or thrown away.",
        _whole(said["sheet_count"]),
    )


def _resting(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "It rests until %(when)s.", when=telling.when(said["rest_until"])
    )


def _stopped(telling: Telling, said: Numbers) -> str:
    told = _stop(telling, said)
    if said["poured_from"]:
        return telling.words.gettext(
            "Not to be used since %(bath)s was poured in, %(since)s. "
            "%(name)s stopped %(bath)s, %(when)s: %(why)s.",
            **told,
        )
    return telling.words.gettext("Stopped by %(name)s, %(when)s: %(why)s.", **told)


def _stop(telling: Telling, said: Numbers) -> dict[str, str]:
    poured_in_at = said["poured_in_at"]
    return {
        "name": telling.name_of(str(said["stopped_by"])),
        "when": telling.when(said["stopped_at"]),
        "why": say.choice(telling.words, "stop_reason", str(said["stop_reason"])),
        "bath": str(said["poured_from"]),
        "since": telling.when(poured_in_at) if poured_in_at else "",
    }


def _strip_print_failed(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "The strip print failed, %(when)s: the colour washed off.",
        when=telling.when(said["printed_at"]),
    )


def _under_do_not_use(telling: Telling, said: Numbers) -> str:
    words, count = telling.words, _whole(said["water_only_count"])
    c, line = telling.under(said["c_g_per_l"], said["line_g_per_l"])
    numbers = {"c": c, "line": line}
    if not count:
        return words.gettext("About %(c)s, not to be used under %(line)s.", **numbers)
    return words.ngettext(
        "%(count)s water-only top-up since the last test: "
        "about %(c)s, not to be used under %(line)s.",
        "%(count)s water-only top-ups since the last test: "
        "about %(c)s, not to be used under %(line)s.",
        count,
        count=_spelt(words, count),
        **numbers,
    )


def _past_cap(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "%(age)s days old: size is not to be used from %(line)s days on, chilled or not.",
        **_days(telling, said),
    )


def _days(telling: Telling, said: Numbers) -> dict[str, str]:
    return {
        "age": telling.number(said["age_days"], 1),
        "line": telling.short(said["line_days"]),
    }


def _cloudy_thread(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "Drop test %(when)s: cloudy thread, the size is sour.",
        when=telling.when(said["tested_at"]),
    )


def _spread_far_off(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "Drop test %(when)s: the drop spread to %(spread)s, not to be used under %(low)s "
        "or over %(high)s.",
        **_spread(telling, said),
    )


def _spread(telling: Telling, said: Numbers) -> dict[str, str]:
    return {
        "when": telling.when(said["tested_at"]),
        "spread": telling.short_length(said["spread_mm"]),
        "low": telling.short_length_figure(said["low_mm"]),
        "high": telling.short_length_figure(said["high_mm"]),
    }


def _smells_sour(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "It smelled sour or rotten, %(when)s.", when=telling.when(said["noticed_at"])
    )


def _mould(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "Mould was seen on it, %(when)s.", when=telling.when(said["noticed_at"])
    )


def _past_warm_days(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "%(warm)s warm days, not to be used from %(line)s on; it is %(age)s days old, "
        "%(chilled)s of them chilled.",
        **_warm(telling, said),
    )


def _warm(telling: Telling, said: Numbers) -> dict[str, str]:
    return {
        "warm": telling.number(said["warm_days"], 1),
        "chilled": telling.short(said["chilled_days"]),
        **_days(telling, said),
    }


def _long_past_its_days(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "%(age)s days old: not to be used from %(line)s days on.", **_days(telling, said)
    )


def _stack_hard_stop(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "Alumed %(age)s days ago: not to be used from %(line)s days on, however it was kept.",
        **_days(telling, said),
    )


def _too_low(telling: Telling, said: Numbers) -> str:
    volume, laying = (
        amounts.volume(telling.words, 1000 * _figure(said[name]), 1)
        for name in ("volume_l", "laying_l")
    )
    return telling.words.gettext(
        "Too low: about %(volume)s stand in it, it takes %(laying)s to lay a sheet.",
        volume=volume,
        laying=laying,
    )


def _under_look_again(telling: Telling, said: Numbers) -> str:
    words, count = telling.words, _whole(said["water_only_count"])
    c, line = telling.under(said["c_g_per_l"], said["line_g_per_l"])
    numbers = {"c": c, "line": line}
    if not count:
        return words.gettext("About %(c)s, look again under %(line)s.", **numbers)
    return words.ngettext(
        "%(count)s water-only top-up since the last test: "
        "about %(c)s, look again under %(line)s.",
        "%(count)s water-only top-ups since the last test: "
        "about %(c)s, look again under %(line)s.",
        count,
        count=_spelt(words, count),
        **numbers,
    )


def _may_be_under(telling: Telling, said: Numbers) -> str:
    chance = said["chance"]
    assert isinstance(chance, float)
    low, line = telling.under(said["low_g_per_l"], said["line_g_per_l"])
    return telling.words.gettext(
        "One bath in %(many)s like this is under %(low)s, not to be used under %(line)s.",
        many=telling.number(1 / chance),
        low=low,
        line=line,
    )


def _reading_disagrees(telling: Telling, said: Numbers) -> str:
    words, count = telling.words, _whole(said["reading_count"])
    read, low, high, reckoned = (
        _figure(said[name]) for name in ("read", "read_low", "read_high", "reckoned")
    )
    first = disagreement(
        words,
        str(said["instrument"]),
        (read, low, high),
        reckoned,
        when=telling.when(said["read_at"]),
    )
    return words.ngettext(
        "%(first)s A second reading settles it.",
        "%(first)s %(num)d readings wait like this: another one settles it.",
        count,
        first=first,
    )


def disagreement(
    words: Words,
    instrument: str,
    read: tuple[float, float, float],
    reckoned: float,
    *,
    when: str,
) -> str:
    """
    Say what a reading that disagrees read, and what it should have been.

    Args:
        read: Middle, low and high figure: g/L with a hydrometer, else L.
        reckoned: What it should have read by all that was written, in the same unit.
    """
    if instrument == "hydrometer":
        said = amounts.strength(words, *read)
        should_be = amounts.strength_figure(words, reckoned)
    else:
        middle, low, high = (1000 * one for one in read)
        said = amounts.volume_range(words, middle, low, high)
        should_be = amounts.volume_figure(words, 1000 * reckoned, by_ml=middle)
    return words.gettext(
        "The %(instrument)s (%(when)s) says %(read)s; from what was written it should be "
        "about %(reckoned)s.",
        instrument=say.choice(words, "instrument", instrument),
        when=when,
        read=said,
        reckoned=should_be,
    )


def _water_only(telling: Telling, said: Numbers) -> str:
    words, count = telling.words, _whole(said["water_only_count"])
    return words.ngettext(
        "%(count)s water-only top-up since the last test; from %(line)s on, look again.",
        "%(count)s water-only top-ups since the last test; from %(line)s on, look again.",
        count,
        count=_spelt(words, count),
        line=telling.number(said["line_count"]),
    )


def _used_while_stopped(telling: Telling, said: Numbers) -> str:
    words, count = telling.words, _whole(said["sheet_count"])
    return words.ngettext(
        "%(count)s sheet went through while it was stopped.",
        "%(count)s sheets went through while it was stopped.",
        count,
        count=_spelt(words, count),
    )


def _strip_print_soft(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "The strip print was soft or pale, %(when)s.", when=telling.when(said["printed_at"])
    )


def _strip_print_due(telling: Telling, said: Numbers) -> str:
    words, days = telling.words, _whole(said["days"])
    line = telling.number(said["line_days"])
    if said["since"] == "mixed":
        return words.ngettext(
            "A strip print is due: mixed %(num)d day ago, and it holds for %(line)s.",
            "A strip print is due: mixed %(num)d days ago, and it holds for %(line)s.",
            days,
            line=line,
        )
    return words.ngettext(
        "A strip print is due: the last sharp one is %(num)d day old and holds for %(line)s.",
        "A strip print is due: the last sharp one is %(num)d days old and holds for %(line)s.",
        days,
        line=line,
    )


def _warm_days(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "%(warm)s warm days of %(line)s; it is %(age)s days old, %(chilled)s of them chilled.",
        **_warm(telling, said),
    )


def _past_its_days(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "%(age)s days old: look again from %(line)s days on.", **_days(telling, said)
    )


def _ragged(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "Drop test %(when)s: ragged, the size is too old.",
        when=telling.when(said["tested_at"]),
    )


def _blob(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "Drop test %(when)s: a blob at the bottom, the size is too thin or the drop too heavy.",
        when=telling.when(said["tested_at"]),
    )


def _spread_off(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "Drop test %(when)s: the drop spread to %(spread)s, good is %(low)s to %(high)s.",
        **_spread(telling, said),
    )


def _smells_sharp(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "It smelled sharp, %(when)s.", when=telling.when(said["noticed_at"])
    )


def _looks_odd(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        LOOKS[str(said["look"])], when=telling.when(said["noticed_at"])
    )


def _temperature_off(telling: Telling, said: Numbers) -> str:
    low, high = (said["low_c"], said["high_c"])
    return telling.words.gettext(
        "It was at %(found)s, %(when)s: size is laid on at %(low)s to %(high)s.",
        found=amounts.warmth(
            telling.words, _figure(said["temperature_c"]), _decimals(said["temperature_c"])
        ),
        low=amounts.warmth_figure(telling.words, _figure(low), _decimals(low)),
        high=amounts.warmth(telling.words, _figure(high), _decimals(high)),
        when=telling.when(said["read_at"]),
    )


def _bath_was_stopped(telling: Telling, said: Numbers) -> str:
    told = _stop(telling, said)
    if said["poured_from"]:
        return telling.words.gettext(
            "%(bath)s had been poured into its bath, %(since)s. %(name)s stopped %(bath)s, "
            "%(when)s: %(why)s. Do a strip print of a corner.",
            **told,
        )
    return telling.words.gettext(
        "Its bath was stopped by %(name)s, %(when)s: %(why)s. Do a strip print of a corner.",
        **told,
    )


def _past_use_by(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(STACK_DAYS[str(said["kept"])], **_days(telling, said))


def _corner_print_sharp(telling: Telling, said: Numbers) -> str:
    when = telling.when(said["printed_at"])
    stopped_at = said["stopped_at"]
    if not isinstance(stopped_at, datetime):
        return telling.words.gettext(
            "A strip print of a corner was sharp, %(when)s.", when=when
        )
    return telling.words.gettext(
        "Its bath was stopped, %(stopped)s; a strip print of a corner was sharp since, "
        "%(when)s.",
        stopped=telling.when(stopped_at),
        when=when,
    )


def _not_judged(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext("Not judged: nobody said how strong it should be.")


def _strength_not_known(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext("Nobody can say how strong it is.")


def _under_paper_floor(telling: Telling, said: Numbers) -> str:
    found, floor = _figure(said["c_g_per_l"]), _figure(said["floor_g_per_l"])
    digits = telling.digits_apart(found, floor)
    return telling.words.gettext(
        "Not for %(paper)s: it wants %(floor)s, this is about %(c)s.",
        paper=said["paper"],
        floor=amounts.g_per_l(telling.words, floor, digits),
        c=amounts.strength_figure(telling.words, found, digits),
    )


def _run_out(telling: Telling, said: Numbers) -> str:
    return telling.words.gettext(
        "Run-out %(when)s: %(seconds)s s by %(funnel)s, on your good days %(low)s to %(high)s.",
        when=telling.when(said["tested_at"]),
        seconds=telling.short(said["run_out_s"]),
        funnel=said["funnel"],
        low=telling.short(said["low_s"]),
        high=telling.short(said["high_s"]),
    )


def _stands_cold(telling: Telling, _said: Numbers) -> str:
    return telling.words.gettext(
        "It stands chilled: bring it to room warmth before anything is laid on it."
    )


def _alum_carried(telling: Telling, said: Numbers) -> str:
    low_g, high_g = _figure(said["low_g"]), _figure(said["high_g"])
    return telling.words.gettext(
        "Damp sheets may have carried in %(weight)s of alum.",
        weight=amounts.weight_span(telling.words, low_g, high_g, digits=1),
    )


def _kept_for(telling: Telling, said: Numbers) -> str:
    member, until = str(said["member"]), said["kept_until"]
    who = telling.name_of(member) if member else said["session"]
    if isinstance(until, datetime):
        return telling.words.gettext(
            "Kept for %(who)s until %(when)s.", who=who, when=telling.when(until)
        )
    return telling.words.gettext("Kept for %(who)s.", who=str(who).removesuffix("."))


_SENTENCES: Mapping[str, Sentence] = MappingProxyType(
    {
        "finished": _finished,
        "none-left": _none_left,
        "resting": _resting,
        "stopped": _stopped,
        "strip-print-failed": _strip_print_failed,
        "under-do-not-use-line": _under_do_not_use,
        "size-past-cap": _past_cap,
        "drop-cloudy-thread": _cloudy_thread,
        "drop-spread-far-off": _spread_far_off,
        "smells-sour": _smells_sour,
        "mould": _mould,
        "size-past-warm-days": _past_warm_days,
        "long-past-its-days": _long_past_its_days,
        "stack-hard-stop": _stack_hard_stop,
        "too-low": _too_low,
        "under-look-again-line": _under_look_again,
        "may-be-under-do-not-use-line": _may_be_under,
        "reading-disagrees": _reading_disagrees,
        "water-only-top-ups": _water_only,
        "used-while-stopped": _used_while_stopped,
        "strip-print-soft": _strip_print_soft,
        "strip-print-due": _strip_print_due,
        "size-warm-days": _warm_days,
        "past-its-days": _past_its_days,
        "drop-ragged": _ragged,
        "drop-blob": _blob,
        "drop-spread-off": _spread_off,
        "smells-sharp": _smells_sharp,
        "looks-odd": _looks_odd,
        "temperature-off": _temperature_off,
        "its-bath-was-stopped": _bath_was_stopped,
        "stack-past-use-by": _past_use_by,
        "corner-print-sharp": _corner_print_sharp,
        "not-judged": _not_judged,
        "strength-not-known": _strength_not_known,
        "under-paper-floor": _under_paper_floor,
        "run-out-unlike-good-days": _run_out,
        "stands-cold": _stands_cold,
        "alum-carried-in": _alum_carried,
        "kept-for": _kept_for,
    }
)


def _whole(value: object) -> int:
    assert isinstance(value, int)
    return value


def _figure(value: object) -> float:
    assert isinstance(value, int | float)
    return float(value)


def _decimals(value: object) -> int:
    """Return one decimal for a figure that has one, else none."""
    return 0 if round(_figure(value), 1) == round(_figure(value)) else 1


def _spelt(words: Words, count: int) -> str:
    return words.gettext(NUMBERS[count]) if count < len(NUMBERS) else words.number(count)


def source(words: Words, found: Reason) -> str:
    """Say where a reason's limit comes from."""
    return words.gettext(SOURCES[found.source])


def act(words: Words, code: str, bath: str) -> tuple[str, str]:
    """Return a next act's text and the address of its page."""
    text, address = ACTS[code]
    return words.gettext(text), address.format(bath=bath)


def stack_act(words: Words, code: str, *, stack: str) -> tuple[str, str]:
    """Return a stack's next act's text and the address of its page."""
    text, address = STACK_ACTS[code]
    return words.gettext(text), address.format(stack=stack)


def finding(words: Words, code: str) -> str:
    """Say what is odd."""
    return words.gettext(FINDINGS[code] if code in FINDINGS else IMPOSSIBLE[code])


def mend(
    words: Words, code: str, *, subject: str, entry: str, other: str
) -> tuple[str, str] | None:
    """Return the text and the address of what mends the impossible; None for all else."""
    if code not in MENDS:
        return None
    text, address = MENDS[code]
    return words.gettext(text), address.format(subject=subject, entry=entry, other=other)


def how_known(telling: Telling, known: HowKnown, precision: str = MINUTE) -> str:
    """Say how it is known, from a moment known so exactly: 'Weighed yesterday 09:00.'"""
    when = telling.when(known.at, precision)
    return telling.words.gettext(HOW_KNOWN[known.kind], when=when)


def papers(telling: Telling, look: BathLook) -> tuple[str, ...]:
    """Say for each paper whether the bath is good for it; only a good bath is."""
    word = look.answer.word
    if word is Word.FINISHED:
        return ()
    if word is Word.GOOD:
        return tuple(paper(telling, one) for one in look.papers)
    first = N_("For %(paper)s: look again first.")
    not_now = first if word is Word.LOOK_AGAIN else N_("For %(paper)s: not now.")
    return tuple(
        telling.words.gettext(not_now, paper=one.paper) if one.good else paper(telling, one)
        for one in look.papers
    )


def paper(telling: Telling, answered: PaperAnswer) -> str:
    """Say whether a bath is strong enough for one paper."""
    if answered.reason is not None:
        return reason(telling, answered.reason)
    if answered.good is None:
        return telling.words.gettext("%(paper)s: nobody can say.", paper=answered.paper)
    if answered.floor_g_per_l is None:
        return telling.words.gettext("Good for %(paper)s.", paper=answered.paper)
    return telling.words.gettext(
        "Good for %(paper)s: it wants %(floor)s.",
        paper=answered.paper,
        floor=amounts.g_per_l(telling.words, answered.floor_g_per_l),
    )


def turns(telling: Telling, found: tuple[datetime, Answer] | None) -> str:
    """Say when the word changes by itself."""
    words = telling.words
    if found is None:
        return words.ngettext(
            "If nothing is done, this holds for %(num)d day at least.",
            "If nothing is done, this holds for %(num)d days at least.",
            TURNS_WITHIN_DAYS,
        )
    at, answer = found
    then = replace(telling, dated=True)
    deciding = [one for one in answer.reasons if one.word is not None]
    return words.gettext(
        "If nothing is done: %(word)s from %(moment)s. %(why)s",
        word=word(words, answer.word),
        moment=words.moment(at),
        why=reason(then, deciding[0]) if deciding else "",
    ).strip()
