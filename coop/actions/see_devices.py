"""Look at phones and tablets: who writes on them, what they hold, which counts never came."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Protocol

from coop.ids import Subject
from coop.ledger.ports import Journal
from coop.ledger.states import DeviceState, JudgementState

MISSING, TWICE = "gap", "twice"
CODE_LENGTH_MAX = 40

Run = tuple[int, int]
"""The first and the last of counts that follow on each other."""


class Heard(Protocol):
    """What a device last said of itself."""

    @property
    def last_seq(self) -> int:
        """The last count it gave."""

    @property
    def unsent(self) -> tuple[int, ...]:
        """Counts it still held then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """
    What the server knows of all devices without reading what was written on them.

    Attributes:
        heard: What each said of itself.
        arrived: How many entries of each are here.
        waiting: Counts of each that are here and not sealed.
        counts: Tells of some devices how often each count is here; asked only where the
            sums differ.
    """

    heard: Mapping[Subject, Heard]
    arrived: Mapping[Subject, int]
    waiting: Mapping[Subject, frozenset[int]]
    counts: Callable[[Sequence[Subject]], Mapping[Subject, Counter[int]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceLook:
    """
    A device as it stands.

    Attributes:
        holds: Counts it held when it was last heard, and that are not here by now.
        missing: Counts it gave that never came, are not held, and nobody has judged.
        twice: Counts that two different entries carry.
    """

    state: DeviceState
    holds: tuple[int, ...]
    missing: tuple[Run, ...]
    twice: tuple[int, ...]


def look_at_devices(
    journal: Journal, known: Known, seen: Iterable[tuple[str, str]]
) -> tuple[DeviceLook, ...]:
    """
    Return every device, the oldest first; single counts are asked for only where sums differ.

    Args:
        seen: What persons have judged, as (code, entry).
    """
    states: tuple[DeviceState, ...] = journal.listed("device", live=False)
    judged = _judged_runs(seen)
    apart = [one.id for one in states if not _adds_up(one.id, known, judged.get(one.id, {}))]
    counts = known.counts(apart) if apart else {}
    return tuple(
        DeviceLook(state=one, holds=_holds(one.id, known), missing=(), twice=())
        if one.id not in counts
        else _look(one, known, judged.get(one.id, {}), counts[one.id])
        for one in states
    )


def judged_pairs(journal: Journal) -> frozenset[tuple[str, str]]:
    """Return what persons have judged, as (code, entry)."""
    judgements: tuple[JudgementState, ...] = journal.listed("judgement", live=False)
    return frozenset(pair for one in judgements for pair in one.seen)


def _judged_runs(seen: Iterable[tuple[str, str]]) -> dict[Subject, dict[str, list[Run]]]:
    """Return the counts of each device that a person has judged, by what was odd."""
    found: dict[Subject, dict[str, list[Run]]] = {}
    for code, entry in seen:
        what, _, runs = code.partition(":")
        if what in (MISSING, TWICE):
            mine = found.setdefault(Subject(entry), {}).setdefault(what, [])
            mine += [run for text in runs.split(",") if (run := _run(text)) is not None]
    return found


def code_of(what: str, runs: Iterable[Run]) -> str:
    """
    Return the code under which counts are judged: as many of the first ones as it can name.

    >>> code_of(MISSING, [(7, 9), (12, 12)])
    'gap:7-9,12'
    """
    code = f"{what}:"
    for first, upto in runs:
        longer = f"{code}{first}" if first == upto else f"{code}{first}-{upto}"
        if len(longer) > CODE_LENGTH_MAX:
            break
        code = longer + ","
    return code.removesuffix(",")


def _run(text: str) -> Run | None:
    first, _, upto = text.partition("-")
    if not (first.isdecimal() and (upto or first).isdecimal()):
        return None
    return int(first), int(upto or first)


def _adds_up(device: Subject, known: Known, judged: Mapping[str, list[Run]]) -> bool:
    """
    Say whether as many are here, held, waiting or judged as were counted.

    A gap and a count given twice make the same sum: such a pair is seen once either is mended.
    """
    row = known.heard.get(device)
    if row is None:
        return True
    there = known.waiting.get(device, frozenset()).union(row.unsent)
    lost = sum(upto - first + 1 for first, upto in judged.get(MISSING, ()))
    twice = len(judged.get(TWICE, ()))
    return known.arrived.get(device, 0) - twice + len(there) + lost == row.last_seq


def _holds(device: Subject, known: Known) -> tuple[int, ...]:
    row = known.heard.get(device)
    return tuple(sorted(set(row.unsent))) if row else ()


def _look(
    state: DeviceState,
    known: Known,
    judged: Mapping[str, list[Run]],
    arrived: Counter[int],
) -> DeviceLook:
    row, waiting = known.heard[state.id], known.waiting.get(state.id, frozenset())
    holds = tuple(one for one in _holds(state.id, known) if one not in arrived)
    there = chain(arrived, waiting, holds)
    runs = chain(((one, one) for one in there), judged.get(MISSING, ()))
    said_twice = judged.get(TWICE, ())
    last = max((row.last_seq, *arrived))
    return DeviceLook(
        state=state,
        holds=tuple(one for one in holds if one not in waiting),
        missing=tuple(runs_between(runs, last=last)),
        twice=tuple(
            one
            for one, times in sorted(arrived.items())
            if times > 1 and (one, one) not in said_twice
        ),
    )


def runs_between(runs: Iterable[Run], *, last: int) -> Iterator[Run]:
    """
    Give the runs of counts from 1 to `last` that none of these covers.

    >>> list(runs_between([(1, 1), (4, 6)], last=8))
    [(2, 3), (7, 8)]
    """
    before = 0
    for first, upto in (*sorted(runs), (last + 1, last + 1)):
        if before + 1 < first and before < last:
            yield before + 1, min(first - 1, last)
        before = max(before, upto)
