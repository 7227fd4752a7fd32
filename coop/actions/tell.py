"""Tell a story into a ledger: each line goes through the same action as a person's word."""

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

from coop.actions.open_ledger import open_ledger
from coop.actions.tell_waste import FIGURES, SEEN, with_answer, with_rules
from coop.actions.write import SALT_BYTES, Draft, Who, Written, card, note, write
from coop.ids import RANDOM_BYTES, EntryId, MemberId, uuid7
from coop.ledger.ports import Journal

Random = Callable[[int], bytes]
REFERENCE = "$"
MOMENT = "@"
NOON = "12:00"
SATURDAY = "sat"
SATURDAY_ISO = 6
DAYS_A_WEEK = 7
LINES_MAX = 10_000
NO_FIGURES: Mapping[str, Mapping[str, Any]] = MappingProxyType({})


class StoryError(ValueError):
    """A line of a story that cannot be told: its number and why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """
    One thing said in a story.

    Attributes:
        at: When it happened.
        taken_in: When the server took it in; later than `at` for what was written offline.
        label: Name by which later lines refer to what this one makes.
    """

    at: datetime
    taken_in: datetime
    who: str
    kind: str
    label: str
    body: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """Somebody in a story: key, name, initials and roles."""

    key: str
    name: str
    initials: str
    roles: tuple[str, ...]


def read_story(text: str, place: Callable[[str], datetime]) -> tuple[Line, ...]:
    """
    Read a story, one JSON record a line; `place` turns its times into moments.

    In a body '@2025-10-04 10:00' is such a time too, and '@2025-10-04' a day.

    Raises:
        StoryError: A line is no record or lacks a part, or there are more than `LINES_MAX`;
            the line is named.
    """
    lines = []
    raws = text.splitlines()
    if len(raws) > LINES_MAX:
        raise StoryError(f"line {LINES_MAX + 1}: a story has at most {LINES_MAX} lines")
    for number, raw in enumerate(raws, start=1):
        try:
            told = json.loads(raw)
            at = place(told["at"])
            lines.append(
                Line(
                    at=at,
                    taken_in=place(told["taken_in"]) if "taken_in" in told else at,
                    who=told["who"],
                    kind=told["kind"],
                    label=told.get("label", ""),
                    body=_placed(told["body"], place),
                )
            )
        except KeyError as missing:
            raise StoryError(f"line {number}: {missing} is missing") from missing
        except (TypeError, ValueError) as fault:
            raise StoryError(f"line {number}: {fault}") from fault
    return tuple(lines)


def _placed(value: Any, place: Callable[[str], datetime]) -> Any:
    """Put moments and days in place of what begins with '@'."""
    if isinstance(value, str) and value.startswith(MOMENT):
        text = value.removeprefix(MOMENT)
        if " " in text:
            return place(text).isoformat()
        return place(f"{text} {NOON}").date().isoformat()
    if isinstance(value, Mapping):
        return {key: _placed(inner, place) for key, inner in value.items()}
    if isinstance(value, list):
        return [_placed(inner, place) for inner in value]
    return value


def by_calendar(zone: ZoneInfo, shift: timedelta) -> Callable[[str], datetime]:
    """Place '2025-09-17 18:00' in a zone, moved by whole weeks so that weekdays hold."""
    assert shift % timedelta(weeks=1) == timedelta(0)

    def place(text: str) -> datetime:
        return (datetime.fromisoformat(text) + shift).replace(tzinfo=zone)

    return place


def by_day(zone: ZoneInfo, now: datetime) -> Callable[[str], datetime]:
    """
    Place '-1d 18:40' relative to the day of `now`, and '-3h' so many hours before it.

    'sat 10:00' is on the Saturday to come; on a Saturday that is the next one.
    """
    today = now.astimezone(zone).date()

    def place(text: str) -> datetime:
        if text.endswith("h"):
            hours = timedelta(hours=int(text.removesuffix("h")))
            return (
                (now.astimezone(UTC) + hours).astimezone(zone).replace(second=0, microsecond=0)
            )
        when, _, clock = text.partition(" ")
        days = _to_saturday(today) if when == SATURDAY else int(when.removesuffix("d"))
        day = today + timedelta(days=days)
        return datetime.fromisoformat(f"{day.isoformat()} {clock}").replace(tzinfo=zone)

    return place


def _to_saturday(today: date) -> int:
    """Return the days until the next Saturday, 1 to 7."""
    return (SATURDAY_ISO - 1 - today.isoweekday()) % DAYS_A_WEEK + 1


def weeks_until(story_end: date, today: date) -> timedelta:
    """Return the shift that ends a story, whose last day is a Sunday, with last week."""
    last_sunday = today - timedelta(days=today.isoweekday())
    return last_sunday - story_end


def tell(
    journal: Journal,
    lines: Iterable[Line],
    cast: Iterable[Member],
    *,
    name: str,
    zone: str,
    now: datetime,
    random: Random,
    figures: Mapping[str, Mapping[str, Any]] = NO_FIGURES,
) -> dict[str, MemberId]:
    """
    Open a ledger, let the cast join, and tell the lines in the order they were taken in.

    `figures` are packs of rules by the names that a story calls them.

    What would be taken in after `now` is taken in at `now`; what would happen after it is
    left out.

    Raises:
        StoryError: A line was refused, or names somebody or something not told of yet.
    """
    told = sorted((line for line in lines if line.at <= now), key=lambda line: line.taken_in)
    start = min((line.at for line in told), default=now) - timedelta(days=1)
    members = _gather(journal, tuple(cast), name=name, zone=zone, at=start, random=random)
    made: dict[str, str] = {key: who.member for key, who in members.items()}
    for line in told:
        entry_id = _new_id(line.at, random)
        taken = replace(line, taken_in=min(line.taken_in, now))
        _tell_one(journal, taken, entry_id, members, made, random, figures)
        if line.label:
            made[line.label] = entry_id
    return {key: who.member for key, who in members.items()}


def _gather(
    journal: Journal,
    cast: tuple[Member, ...],
    *,
    name: str,
    zone: str,
    at: datetime,
    random: Random,
) -> dict[str, Who]:
    first, *others = cast
    member = MemberId(_new_id(at, random))
    opened = open_ledger(
        journal,
        entry_ids=(_new_id(at, random), _new_id(at, random)),
        member=member,
        name=name,
        zone=zone,
        card=_card(first, random),
        now=at,
    )
    assert isinstance(opened, Written), opened
    members = {first.key: Who(member=member, roles=frozenset(first.roles))}
    for one in others:
        members[one.key] = _join(journal, one, members[first.key], at, random)
    return members


def _join(journal: Journal, one: Member, inviter: Who, at: datetime, random: Random) -> Who:
    invited = MemberId(_new_id(at, random))
    face = _card(one, random)
    journal.keep(face)
    said = (
        (inviter, invited, "member.invited", {"roles": list(one.roles)}),
        (
            Who(member=invited, roles=frozenset({"invited"})),
            _new_id(at, random),
            "member.joined",
            {"member": invited, "card": face.name},
        ),
    )
    for who, entry_id, kind, body in said:
        draft = Draft(id=EntryId(entry_id), kind=kind, body=body)
        outcome = write(journal, who, draft, now=at)
        assert isinstance(outcome, Written), outcome
    return Who(member=invited, roles=frozenset(one.roles))


def _card(one: Member, random: Random) -> Any:
    return card(name=one.name, initials=one.initials, salt=random(SALT_BYTES))


def _tell_one(
    journal: Journal,
    line: Line,
    entry_id: EntryId,
    members: Mapping[str, Who],
    made: Mapping[str, str],
    random: Random,
    figures: Mapping[str, Mapping[str, Any]],
) -> None:
    if line.who not in members:
        raise _untold(line, f"nobody is called {line.who}")
    try:
        body = _filled(line.body, made)
    except KeyError as missing:
        raise _untold(line, f"{missing} was not told of before") from missing
    if FIGURES in body:
        body = with_rules(journal, body, figures, at=line.at, random=random)
    if SEEN in body:
        body = with_answer(journal, body, at=line.at, random=random)
    if "note" in body:
        attached = note(body["note"], salt=random(SALT_BYTES))
        assert attached is not None
        journal.keep(attached)
        body["note"] = attached.name
    said = Draft(
        id=entry_id, kind=line.kind, body=body, happened_at=line.at, written_at=line.at
    )
    outcome = write(journal, members[line.who], said, now=line.taken_in)
    if not isinstance(outcome, Written):
        raise _untold(line, str(outcome))


def _untold(line: Line, why: str) -> StoryError:
    return StoryError(f"{line.at:%Y-%m-%d %H:%M} {line.kind} {line.label}: {why}")


def _filled(value: Any, made: Mapping[str, str]) -> Any:
    """Put ids in place of '$labels' and of '$keys' of members."""
    if isinstance(value, str) and value.startswith(REFERENCE):
        return made[value.removeprefix(REFERENCE)]
    if isinstance(value, Mapping):
        return {key: _filled(inner, made) for key, inner in value.items()}
    if isinstance(value, list):
        return [_filled(inner, made) for inner in value]
    return value


def _new_id(at: datetime, random: Random) -> EntryId:
    return EntryId(uuid7(now_ms=int(at.timestamp() * 1000), random=random(RANDOM_BYTES)))
