"""Counts in sentences: expected and seen, what may lie behind a gap, and its causes."""

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from coop.actions.see_counts import GapLook
from coop.actions.see_odd import OddJournal, in_force
from coop.ids import MemberId
from coop.ledger.accounts import QUARTERS
from coop.ledger.states import LotCount, LotState, StudioState
from coop.rules.gaps import (
    Counted,
    Gap,
    Moved,
    NotWrittenDown,
    PackSize,
    Suggestion,
    WrittenTwice,
    noise_of,
)
from coop.science.defaults import value
from coop.web import words as say
from coop.web.drafts import Teller
from coop.web.i18n import N_, Words
from coop.web.lots import much
from coop.web.page import face, words

OUT: Mapping[str, str] = MappingProxyType(
    {
        code: say.CHOICES["gap_cause"][code]
        for code in (
            "moved",
            "sold",
            "spoiled",
            "class",
            "pack_size",
            "not_written_down",
            "lost",
            "other",
        )
    }
)
IN: Mapping[str, str] = MappingProxyType(
    {
        "moved": N_("came from the other studio"),
        "pack_size": say.CHOICES["gap_cause"]["pack_size"],
        "not_written_down": N_("came in, and not written down"),
        "other": say.CHOICES["gap_cause"]["other"],
    }
)


def gap_text(words: Words, lot: LotState, gap: Gap) -> str:
    """Say what was seen: 'Expected 531.5 full sheets, seen 491.5: 40 fewer.'"""
    less = gap.difference < 0
    if gap.measure in ("sheets", "pieces"):
        fewer = N_("Expected %(expected)s, seen %(seen)s: %(gap)s fewer.")
        text = fewer if less else N_("Expected %(expected)s, seen %(seen)s: %(gap)s more.")
        seen, apart = (_bare(words, gap, one) for one in (gap.seen, abs(gap.difference)))
    else:
        little = N_("Expected %(expected)s, seen %(seen)s: %(gap)s less.")
        text = little if less else N_("Expected %(expected)s, seen %(seen)s: %(gap)s over.")
        seen, apart = (much(words, lot, one) for one in (gap.seen, abs(gap.difference)))
    if not gap.difference:
        text = N_("Expected %(expected)s, and seen.")
    expected = much(words, lot, gap.expected)
    return words.gettext(text, expected=expected, seen=seen, gap=apart)


def _bare(words: Words, gap: Gap, amount: int) -> str:
    """Say how many sheets or pieces, without saying again what they are."""
    if gap.measure == "sheets":
        return say.full_count(words, amount / QUARTERS["full"])
    return words.number(amount)


def doubt_text(words: Words, lot: LotState, gap: Gap) -> str:
    """Say how far the gap may be off; empty where it is known exactly."""
    if not gap.doubt:
        return ""
    return words.gettext(
        "It may be off by %(doubt)s either way: by the level, or by what was spooned out.",
        doubt=much(words, lot, gap.doubt),
    )


def noise_text(words: Words, lot: LotState, gap: Gap) -> str:
    """Say how far counting errs: 'Counting errs by up to 19 full sheets (2 %).'"""
    noise = noise_of(gap)
    said = much(words, lot, int(noise))
    share = value("count_noise_fraction")
    if noise > abs(gap.expected) * share:
        return words.gettext("Counting errs by up to %(noise)s.", noise=said)
    return words.gettext(
        "Counting errs by up to %(noise)s (%(percent)s %%).",
        noise=said,
        percent=words.number(100 * share),
    )


class CauseTeller:
    """Tells what may lie behind gaps; what they name is read in a few questions."""

    def __init__(self, journal: OddJournal, found: Iterable[Iterable[Suggestion]]) -> None:
        studios: tuple[StudioState, ...] = journal.listed("studio")
        self._where = {one.id: one.name for one in studios}
        twins = [
            one.twin.entry for some in found for one in some if isinstance(one, WrittenTwice)
        ]
        self._twins = in_force(journal, twins)
        self._teller = Teller(journal, self._twins.values())

    def tell(self, look: GapLook, one: Suggestion) -> str:
        """Say what may lie behind a gap, with its figures."""
        match one:
            case PackSize():
                return _pack_size(look.lot, one)
            case Moved(other=other):
                return self._moved(look.lot, other)
            case WrittenTwice(twin=twin):
                return words().gettext(
                    "Written twice? “%(line)s” took %(amount)s.",
                    line=self._teller.tell(self._twins[twin.entry].content),
                    amount=much(words(), look.lot, twin.amount),
                )
            case NotWrittenDown():
                return words().gettext("Perhaps nobody wrote it down.")

    def _moved(self, lot: LotState, other: Counted) -> str:
        more = N_("In %(studio)s %(amount)s too many were counted on %(day)s: moved?")
        fewer = N_("In %(studio)s %(amount)s too few were counted on %(day)s: moved?")
        return words().gettext(
            more if other.gap.difference > 0 else fewer,
            studio=self._where.get(other.studio, "—"),
            amount=much(words(), lot, abs(other.gap.difference)),
            day=words().day(other.day),
        )


def _pack_size(lot: LotState, one: PackSize) -> str:
    return words().ngettext(
        "Does a pack hold %(likely)s, not %(typed)s? Over %(num)d pack: %(all)s.",
        "Does a pack hold %(likely)s, not %(typed)s? Over %(num)d packs: %(all)s.",
        one.pack_count,
        likely=much(words(), lot, one.likely),
        typed=much(words(), lot, one.typed),
        all=much(words(), lot, abs(one.likely - one.typed) * one.pack_count),
    )


def counters(count: LotCount) -> tuple[MemberId, ...]:
    """Return who counted."""
    second = count.counted_with
    return (count.by,) if second is None else (count.by, MemberId(second))


def counted_by(count: LotCount) -> str:
    """Say when and by whom it was counted: 'counted 2025-10-02, Amina K. and Kahu R.'"""
    day, first = words().day(count.at), face(count.by).name
    if count.counted_with is None:
        return words().gettext("counted %(day)s, %(who)s alone", day=day, who=first)
    second = face(MemberId(count.counted_with)).name
    return words().gettext(
        "counted %(day)s, %(who)s and %(other)s", day=day, who=first, other=second
    )


def cause_choices(words: Words, gap: Gap) -> list[tuple[str, str]]:
    """Return the causes a person may name, as they are said of what is short or over."""
    texts = IN if gap.difference > 0 else OUT
    return [(code, words.gettext(text)) for code, text in texts.items()]
