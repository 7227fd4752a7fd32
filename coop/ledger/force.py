"""Which entries are in force, when, and in what order they are folded."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from operator import attrgetter
from typing import NamedTuple

from coop.ids import EntryId, MemberId, Subject
from coop.ledger.entries import Sealed, put_right, read_content, seal_order
from coop.ledger.kinds import Content, EntryCorrected, Replacement, SaidTime
from coop.ledger.part_of_day import MINUTE
from coop.ledger.schema import Slip
from coop.ledger.table import KINDS, Touch

_RANK = {"void": 0, "replace": 1, "restore": 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something odd but possible in the history; shown, judged by a person, never blocking."""

    code: str
    entry: EntryId
    detail: str = ""


class InForce(NamedTuple):
    """
    One entry as it counts now.

    Attributes:
        at: Its time in force; folds go by (at, written_at, id).
        correction: The replacement or restoration that stands; None when none was made.
    """

    id: EntryId
    kind: str
    content: Content
    author: MemberId
    at: datetime
    written_at: datetime
    said: SaidTime | None
    original: Sealed
    correction: EntryId | None = None

    @property
    def order(self) -> tuple[datetime, datetime, str]:
        return self.at, self.written_at, self.id

    @property
    def hand(self) -> MemberId:
        """Who did it: whom its writer names, else its writer."""
        named: Subject | None = getattr(self.content, "hands", None)
        return MemberId(named) if named else self.author

    @property
    def precision(self) -> str:
        """How exact its time is: a clock's, or as somebody said it."""
        return self.said.precision if self.said else MINUTE

    @property
    def touches(self) -> tuple[Touch, ...]:
        return tuple(KINDS[self.kind].touches(self.id, self.content))


@dataclass(frozen=True, slots=True, kw_only=True)
class Struck:
    """An original that a correction took out."""

    original: Sealed
    correction: Sealed


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolved:
    """What a set of sealed entries comes to once corrections are collected."""

    in_force: tuple[InForce, ...]
    struck: tuple[Struck, ...]
    findings: tuple[Finding, ...]


def resolve(sealed: Iterable[Sealed], *, known: datetime | None = None) -> Resolved:
    """
    Collect corrections, then give what is in force, in fold order.

    Args:
        sealed: A set of sealed entries, in any order.
        known: Leave out what was sealed after this moment; None keeps all.
    """
    originals: dict[EntryId, list[Sealed]] = defaultdict(list)
    corrections: dict[Subject, list[Sealed]] = defaultdict(list)
    for one in _until(sealed, known):
        if isinstance(one.entry.content, EntryCorrected):
            corrections[one.entry.content.target].append(one)
        else:
            originals[one.entry.id].append(one)
    in_force: list[InForce] = []
    struck: list[Struck] = []
    findings: list[Finding] = []
    for entry_id, same in originals.items():
        original = same[0]
        if len(same) > 1:
            original = min(same, key=lambda one: seal_order(one.first))
            findings.append(Finding(code="same-id-other-content", entry=entry_id))
        about = corrections.get(Subject(entry_id))
        if about is None:
            in_force.append(_as_written(original))
            continue
        mended, correction, odd = _mend(original, about)
        findings += odd
        if mended is not None:
            in_force.append(mended)
        elif correction is not None:
            struck.append(Struck(original=original, correction=correction))
    return Resolved(
        in_force=tuple(sorted(in_force, key=attrgetter("at", "written_at", "id"))),
        struck=tuple(sorted(struck, key=lambda one: one.original.entry.id)),
        findings=tuple(sorted(findings, key=lambda one: (one.entry, one.code))),
    )


def _until(sealed: Iterable[Sealed], known: datetime | None) -> Iterator[Sealed]:
    for one in sealed:
        if known is None:
            yield one
        else:
            seals = tuple(seal for seal in one.seals if seal.admitted_at <= known)
            if seals:
                yield replace(one, seals=seals)


def _mend(
    original: Sealed, corrections: list[Sealed]
) -> tuple[InForce | None, Sealed | None, list[Finding]]:
    """Apply the one correction that stands; several that stand are a finding."""
    standing = _standing(corrections)
    findings = []
    if len(standing) > 1:
        findings.append(Finding(code="corrections-disagree", entry=original.entry.id))
    chosen = standing[0]
    said = chosen.entry.content
    assert isinstance(said, EntryCorrected)
    if said.outcome == "void":
        return None, chosen, findings
    if said.outcome == "restore" or said.content is None:
        back = _as_written(original)._replace(correction=chosen.entry.id)
        return back, chosen, findings
    try:
        return _replaced(original, chosen, said.content), chosen, findings
    except Slip as slip:
        findings.append(
            Finding(
                code="correction-not-understood",
                entry=chosen.entry.id,
                detail=slip.refused.field,
            )
        )
        return _as_written(original), None, findings


def _standing(corrections: list[Sealed]) -> list[Sealed]:
    """Return corrections that no other supersedes, the one in force first."""
    superseded = {
        name
        for one in corrections
        if isinstance(one.entry.content, EntryCorrected)
        for name in one.entry.content.supersedes
        if name != Subject(one.entry.id)
    }
    left = [one for one in corrections if Subject(one.entry.id) not in superseded]
    return sorted(left or corrections, key=_precedence)


def _precedence(one: Sealed) -> tuple[int, float, str, str]:
    said = one.entry.content
    assert isinstance(said, EntryCorrected)
    return (
        _RANK[said.outcome],
        -one.entry.written_at.timestamp(),
        one.entry.id,
        one.entry.digest,
    )


def _as_written(original: Sealed) -> InForce:
    entry, seal = original.entry, original.first
    at = entry.happened_at
    if entry.said is None and seal.offset_ms:
        at = put_right(at, seal.offset_ms)
    if seal.admitted_at < at:
        at = seal.admitted_at.astimezone(at.tzinfo)
    return InForce(
        id=entry.id,
        kind=entry.kind,
        content=entry.content,
        author=entry.author,
        at=at,
        written_at=entry.written_at,
        said=entry.said,
        original=original,
    )


def _replaced(original: Sealed, correction: Sealed, content: Replacement) -> InForce:
    kind = KINDS[original.entry.kind]
    return InForce(
        id=original.entry.id,
        kind=kind.code,
        content=read_content(kind, content.body, "content.body"),
        author=MemberId(content.author),
        at=_replaced_at(original, correction, content),
        written_at=original.entry.written_at,
        said=content.said,
        original=original,
        correction=correction.entry.id,
    )


def _replaced_at(original: Sealed, correction: Sealed, content: Replacement) -> datetime:
    """Return a replacement's time in force; a clock's time left as it was is still that."""
    entry = original.entry
    if entry.said is None and content.said is None and content.happened_at == entry.happened_at:
        return _as_written(original).at
    return min(content.happened_at, correction.first.admitted_at)
