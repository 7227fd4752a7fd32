"""
What to do when something went wrong, and whom to call: it stands there before a word is typed.

Usual precautions of the trade (common practice, no source; fifteen minutes of water for eyes as
in ANSI/ISEA Z358.1, from memory). The product's own safety sheet, licensed advice and the
people who answer the telephone come before all of them.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from coop.actions.sites import packs_of
from coop.ledger.ports import Journal
from coop.ledger.states import PermissionState, StudioState
from coop.rules.packs import words as codes
from coop.web import words as say
from coop.web.drain_words import ANYBODY, WHOM
from coop.web.i18n import N_, Words

DIALLED = frozenset("+0123456789")
NEVER_ADD = frozenset({"septic", "storm", "ground"})
"""Drains where what was put in is dealt with by nobody but whom it belongs to."""

TO_DO: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "wrong_drain": (
            N_("Stop pouring. Put nothing after it: no soda, no water to thin it."),
            N_("Look about how many litres went, and call whoever the drain belongs to."),
        ),
        "spill": (
            N_("Keep everybody off it: it is slippery. Gloves and goggles on."),
            N_("Dam it with cloths so that it does not reach a drain, and soak it up."),
            N_("Powder: dust mask on, wipe it up damp, never sweep it dry."),
            N_("The cloths go into a bucket by themselves, open, with a tag."),
        ),
        "foamed_over": (
            N_("Step back and let it settle. Never a lid; add nothing more."),
            N_("Windows open, no children in the room: the gas sinks. Then soak it up."),
        ),
        "wrong_mix": (
            N_("Leave it. Do not stir it, do not add anything, do not pour it away."),
            N_("Everybody out into fresh air, doors and windows open on the way. Then call."),
            N_("Go back in only when somebody who knows says so."),
        ),
        "closed_and_gassing": (
            N_("Do not open, shake or carry it: it can burst. Everybody away from it."),
            N_("Windows open on the way out. Then call."),
        ),
        "other": (N_("Stop. Get everybody away from it, into fresh air. Then call."),),
    }
)
"""By what went wrong, the first thing first."""
EYES_AND_SKIN: tuple[str, ...] = (
    N_(
        "In the eye: tap water at once, lids open, at least 15 minutes, then a doctor with "
        "the safety card of what it was."
    ),
    N_("On the skin: wet clothes off, much tap water."),
    N_("Breathed in: fresh air, and call if the cough or the dizziness stays."),
    N_("Swallowed: rinse the mouth, do not make anybody vomit, call the poison centre."),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """
    Whom to call in a studio.

    Attributes:
        emergency, poison: Its numbers; empty where nobody wrote them down.
        authorities: Who answers for its drain.
        never_add: Whether what went down its own drain is to be left as it is.
    """

    studio: str
    emergency: str
    poison: str
    authorities: tuple[str, ...]
    never_add: bool

    @property
    def numbers(self) -> tuple[tuple[str, str], ...]:
        """Return both numbers, each with what a telephone dials."""
        return tuple(
            (number, "".join(each for each in number if each in DIALLED))
            for number in (self.emergency, self.poison)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ToDo:
    """What to do when one thing went wrong."""

    what: str
    title: str
    lines: tuple[str, ...]


def whom_to_call(words: Words, journal: Journal, studio: StudioState, *, demo: bool) -> Call:
    """Return whom to call in a studio; of its drain who made its rules, or who was asked."""
    found = tuple(dict.fromkeys(_authorities(journal, studio, demo=demo)))
    somebody = words.gettext(WHOM.get(studio.drain, ANYBODY))
    return Call(
        studio=studio.name,
        emergency=studio.emergency,
        poison=studio.poison,
        authorities=found or (somebody,),
        never_add=studio.drain in NEVER_ADD,
    )


def _authorities(journal: Journal, studio: StudioState, *, demo: bool) -> Iterator[str]:
    packs, _ = packs_of(journal, studio, demo=demo)
    yield from (one.authority for one in packs if one.tier in codes.LOCAL_TIERS)
    asked: tuple[PermissionState, ...] = journal.listed("permission", home=studio.id)
    yield from (one.asked for one in asked)


def to_do(words: Words, whats: Iterable[str] = tuple(TO_DO)) -> tuple[ToDo, ...]:
    """Return what to do by what went wrong, one of it or all."""
    return tuple(
        ToDo(
            what=what,
            title=say.choice(words, "mishap", what),
            lines=tuple(words.gettext(one) for one in TO_DO[what]),
        )
        for what in whats
    )


def first_aid(words: Words) -> tuple[str, ...]:
    """Return what to do for somebody whom it reached."""
    return tuple(words.gettext(one) for one in EYES_AND_SKIN)
