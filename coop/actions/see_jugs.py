"""Look at jugs that nobody knows: what was found, and who should be asked about it."""

from collections.abc import Iterable
from dataclasses import dataclass

from coop.actions.see_baths import look_at_all
from coop.actions.see_liquids import alum_of, liquids_of, look_at_liquids
from coop.ids import MemberId, Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.ports import Journal
from coop.ledger.states import JugState, StudioState
from coop.rules.baths import BathLook
from coop.rules.jugs import BathFacts, JugFacts, Likeness, likeness, rank, there_then
from coop.rules.liquid_looks import LiquidLook
from coop.science.bath_belief import ML_PER_L
from coop.science.defaults import Z_90

CANDIDATES_MAX = 5
"""So many people at most are to be asked at once: a choice of this ledger."""
OWN_MAX = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A bath that a jug is like, and whether the member made it or had it last."""

    bath: AnyBath
    like: Likeness
    own: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class JugLook:
    """
    A jug with whom to ask.

    `known` is the bath that a person said is in it; `candidates` are those it is like, the
    member's own first; `other_own` are baths of this studio that the member made or had last
    and that it is not like.
    """

    state: JugState
    studio: StudioState | None
    known: AnyBath | None
    candidates: tuple[Candidate, ...]
    other_own: tuple[AnyBath, ...]

    @property
    def may_be_said(self) -> frozenset[Subject]:
        """Return the baths of which this member may say that the jug is one."""
        own = {one.bath.id for one in self.candidates if one.own}
        return frozenset(own | {bath.id for bath in self.other_own})


def see_jugs(journal: Journal) -> tuple[JugState, ...]:
    """Return all jugs that were found, the newest first."""
    every: tuple[JugState, ...] = journal.listed("jug", live=False)
    return tuple(sorted(every, key=lambda one: (one.found_at, one.id), reverse=True))


def by_themselves(journal: Journal, jugs: Iterable[JugState]) -> tuple[JugState, ...]:
    """
    Return the jugs that are to be got rid of by themselves.

    What somebody said is a bath is got rid of as that bath, and is gone with it; but a bath
    that was gone before the jug was found left this one behind.
    """
    every = tuple(jugs)
    baths = journal.states("bath", {one.bath for one in every if one.bath})
    return tuple(one for one in every if _by_itself(one, baths.get(one.bath or one.id)))


def _by_itself(jug: JugState, bath: AnyBath | None) -> bool:
    return bath is None or (bath.gone_at is not None and bath.gone_at < jug.found_at)


def jugs_to_go(journal: Journal) -> tuple[JugState, ...]:
    """Return the jugs of all studios of which it is known what must be got rid of."""
    jugs: tuple[JugState, ...] = journal.listed("jug")
    return by_themselves(journal, (one for one in jugs if one.waste))


def see_jug(journal: Journal, jug: JugState, *, member: MemberId) -> JugLook:
    """Return a jug with the baths it is like, as a member needs to see them."""
    facts, here = _facts_of_jug(jug), _there_then(journal, jug)
    likes = {
        look.state.id: likeness(facts, _facts_of_bath(look)) for look in _looks(journal, here)
    }
    found = [
        Candidate(bath=one, like=like, own=_own(one, member))
        for one in here
        if (like := likes[one.id]) is not None
    ]
    found.sort(key=lambda one: (not one.own, *rank(one.like)))
    return JugLook(
        state=jug,
        studio=journal.state("studio", jug.studio),
        known=journal.state("bath", jug.bath),
        candidates=tuple(found[:CANDIDATES_MAX]),
        other_own=tuple(
            one
            for one in sorted(here, key=lambda one: one.mixed_at, reverse=True)
            if likes[one.id] is None and _own(one, member)
        )[:OWN_MAX],
    )


def _there_then(journal: Journal, jug: JugState) -> tuple[AnyBath, ...]:
    every: tuple[AnyBath, ...] = journal.listed("bath", live=False)
    return tuple(
        one
        for one in every
        if one.studio == jug.studio
        and there_then(jug.found_at, mixed_at=one.mixed_at, finished_at=one.finished_at)
    )


def _facts_of_jug(jug: JugState) -> JugFacts:
    return JugFacts(
        studio=jug.studio,
        volume_l=None if jug.volume_ml is None else jug.volume_ml / ML_PER_L,
        look=jug.look,
        found_at=jug.found_at,
    )


def _looks(journal: Journal, here: tuple[AnyBath, ...]) -> tuple[BathLook | LiquidLook, ...]:
    """Look at baths as nothing was done to them since the last that was done to any."""
    if not here:
        return ()
    last = max(one.at for one in here)
    return (
        *look_at_all(journal, alum_of(here), now=last),
        *look_at_liquids(journal, liquids_of(here), now=last),
    )


def _facts_of_bath(look: BathLook | LiquidLook) -> BathFacts:
    low_l, high_l = _left_l(look)
    return BathFacts(
        what=look.state.what,
        studio=look.state.studio,
        mixed_at=look.state.mixed_at,
        finished_at=look.state.finished_at,
        low_l=low_l,
        high_l=high_l,
        gone_at=look.state.gone_at,
    )


def _left_l(look: BathLook | LiquidLook) -> tuple[float, float]:
    """Return the least and the most [L] that could be left of a bath."""
    if isinstance(look, BathLook):
        return look.strength.volume_low_l, look.strength.volume_high_l
    middle_ml, spread_ml = look.state.volume_ml, Z_90 * look.state.volume_sd_ml
    return max(0.0, middle_ml - spread_ml) / ML_PER_L, (middle_ml + spread_ml) / ML_PER_L


def _own(bath: AnyBath, member: MemberId) -> bool:
    return member in (bath.mixed_by, bath.hands.by)
