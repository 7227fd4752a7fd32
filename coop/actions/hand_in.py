"""Hand in a file of waiting lines that somebody saved from a phone."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from coop.actions.push_drafts import take_in
from coop.actions.write import Who
from coop.ids import Subject
from coop.ledger.ports import Journal
from coop.ledger.schema import Refused, Slip
from coop.sync.admit import Bearer
from coop.sync.limits import DRAFTS_MAX, RESCUE_LINES_MAX
from coop.sync.message import Answered
from coop.sync.outbox import Kept, Unread, name_of, read_outbox
from coop.sync.ports import LEFT_OUT, Shelf


@dataclass(frozen=True, slots=True, kw_only=True)
class Handed:
    """
    One line of a file and what became of it.

    Attributes:
        outcome: sealed, already, waiting, left_out (a person had left it out) or refused.
        refused: Why it waits or was refused.
    """

    number: int
    line: Kept | Unread
    outcome: str
    refused: Refused | None


def lines_of(data: bytes) -> tuple[tuple[int, str], ...]:
    """
    Return the lines of a file with their numbers; empty ones are left out.

    Raises:
        Slip: It is no text, holds nothing, or more lines than are taken at once.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Slip("file", "not-text") from None
    numbered = enumerate(text.split("\n"), start=1)
    lines = tuple((number, line.strip()) for number, line in numbered if line.strip())
    if not lines:
        raise Slip("file", "empty")
    if len(lines) > RESCUE_LINES_MAX:
        raise Slip("file", "too-many", high=RESCUE_LINES_MAX)
    return lines


def batches(lines: Sequence[tuple[int, str]]) -> Iterator[Sequence[tuple[int, str]]]:
    """Give lines in as many at a time as one unit of work takes in."""
    for start in range(0, len(lines), DRAFTS_MAX):
        yield lines[start : start + DRAFTS_MAX]


def hand_in(
    journal: Journal,
    shelf: Shelf,
    who: Who,
    lines: Sequence[tuple[int, str]],
    *,
    now: datetime,
) -> tuple[Handed, ...]:
    """
    Take in one batch of lines on somebody's word, within one unit of work.

    A file names its authors itself: what others wrote and its bearer may not do for others
    waits for a person.
    """
    answers = take_in(
        journal,
        shelf,
        [text for _, text in lines],
        by=who.member,
        bearer=Bearer(members=frozenset({who.member}), roles=who.roles),
        sender=Subject(who.member),
        offset=0,
        now=now,
    )
    return tuple(
        _handed(shelf, number, read_outbox(text), answer)
        for (number, text), answer in zip(lines, answers, strict=True)
    )


def _handed(shelf: Shelf, number: int, line: Kept | Unread, answer: Answered) -> Handed:
    outcome = answer.outcome
    if outcome == "waiting" and any(
        one.digest == name_of(line.text) and one.outcome == LEFT_OUT
        for one in shelf.held(answer.id)
    ):
        outcome = LEFT_OUT
    return Handed(number=number, line=line, outcome=outcome, refused=answer.refused)
