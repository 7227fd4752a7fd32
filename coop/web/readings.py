"""What a reading did, in sentences: before and after, believed or kept, where to look."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from coop.actions.take_reading import BY_THE_WAY, STRENGTH, Moved
from coop.science.bath_answers import Strength
from coop.web import amounts
from coop.web import words as say
from coop.web.i18n import N_, Words

VERDICTS: Mapping[str, str] = MappingProxyType(
    {
        "applied": N_("It fits what was reckoned, and sharpens it."),
        "kept": N_("%(read)s It is kept and not believed yet: take a second reading."),
        "settled": N_(
            "It agrees with an earlier reading that disagreed: now both are believed."
        ),
        "no-density-curve": N_(
            "%(salt)s: a hydrometer is not read as strength here, there is no curve for it. "
            "Make a strip print."
        ),
        "outside-density-curve": N_(
            "That is no gravity of a clean bath of this salt. It is kept and not believed. "
            "Read it again, and look at the temperature."
        ),
        "floor-not-known": N_(
            "The floor of this tub is not known, so a depth says no litres. Describe the tub "
            "under House, or read the tape line."
        ),
    }
)

CAUSES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "strength": (
            N_("Was water or alum topped up and not written?"),
            N_("Was something written twice?"),
            N_("Is it another salt than the tag says?"),
            N_("Is the bath dirty: paint, size, lint?"),
            N_("Is the hydrometer's zero checked in plain tap water?"),
        ),
        "level": (
            N_("Was water topped up and not written?"),
            N_("Was something written twice?"),
            N_("Did liquid go into another tub, or onto the floor?"),
            N_("Is the tub level, and the line or stick the right one?"),
        ),
    }
)
"""What to look for when a reading of strength or level disagrees."""

PRINTS: Mapping[str, str] = MappingProxyType(
    {
        "sharp": N_(
            "Sharp: the bath works. A strip print moves no figure, it counts by itself."
        ),
        "soft": N_("Soft: look again before sheets go in. Mend the bath, or print once more."),
        "failed": N_("Washed off: do not use it until alum has gone in. Mend it, or stop it."),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingSaid:
    """One reading's effect: `moved` 'about 31 g/L ... now about 24', why, what to look for."""

    moved: str
    verdict: str
    causes: tuple[str, ...] = ()
    mend: bool = False


def reading_said(words: Words, moved: Moved, salt: str) -> ReadingSaid:
    """Say what a reading did to the estimate."""
    if moved.instrument in BY_THE_WAY:
        text = words.gettext("It moves no figure: it stands in what was done to the bath.")
        return ReadingSaid(moved="", verdict=text)
    if moved.outcome:
        return ReadingSaid(
            moved="",
            verdict=words.gettext(PRINTS[moved.outcome]),
            mend=moved.outcome != "sharp",
        )
    kept = moved.verdict == "kept"
    causes = CAUSES[moved.quantity] if kept else ()
    return ReadingSaid(
        moved=_change(words, moved),
        verdict=words.gettext(
            VERDICTS[moved.verdict],
            read=_read(words, moved) if kept else "",
            salt=say.choice(words, "salt_short", salt),
        ),
        causes=tuple(words.gettext(text) for text in causes),
    )


def _read(words: Words, moved: Moved) -> str:
    """Say what a reading read, and what it should have been."""
    read = moved.read
    assert read is not None, "a reading that was kept was measured"
    instrument = say.choice(words, "instrument", moved.instrument)
    ends = (max(0.0, read.value + side * read.half) for side in (0, -1, 1))
    if moved.quantity == STRENGTH:
        said = amounts.strength(words, *ends)
        reckoned = amounts.strength_figure(words, moved.before.middle_g_per_l)
    else:
        middle, low, high = ends
        said = amounts.volume_range(words, middle, low, high)
        volume_ml = 1000 * moved.before.volume_l
        reckoned = amounts.volume_figure(words, volume_ml, by_ml=middle)
    return words.gettext(
        "The %(instrument)s says %(read)s; from what was written it should be about "
        "%(reckoned)s.",
        instrument=instrument,
        read=said,
        reckoned=reckoned,
    )


def _change(words: Words, moved: Moved) -> str:
    said = _strength if moved.quantity == STRENGTH else _litres
    before, after = said(words, moved.before), said(words, moved.after)
    if moved.verdict not in ("applied", "settled"):
        return words.gettext("Still %(after)s", after=after)
    return words.gettext("Before: %(before)s. Now: %(after)s", before=before, after=after)


def _strength(words: Words, found: Strength) -> str:
    return amounts.strength(words, found.middle_g_per_l, found.low_g_per_l, found.high_g_per_l)


def _litres(words: Words, found: Strength) -> str:
    return amounts.volume_range(
        words,
        *(1000 * one for one in (found.volume_l, found.volume_low_l, found.volume_high_l)),
    )
