"""How sheets came out, in sentences: counts by word, what is unusual, what to do about it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from coop.actions.see_faults import KeptOne, Unusual
from coop.actions.see_warnings import FaultWarning
from coop.ids import Subject
from coop.ledger.any_bath import AnyBath
from coop.ledger.ports import Journal
from coop.ledger.states import StackState
from coop.science.counts import ONE_IN_MAX
from coop.web import amounts, reasons
from coop.web import words as say
from coop.web.i18n import N_, Words
from coop.web.page import face, words
from coop.web.told import bath_url

# Common practice, no source: what marblers look at first for each word.
CAUSES: Mapping[str, str] = MappingProxyType(
    {
        "washed_off": N_(
            "Mostly the alum is weak (short measure, water alone added), the wrong side was "
            "laid, or the paper holds chalk."
        ),
        "patch": N_("Mostly the sponge missed it, or air lay under the dipped sheet."),
        "stripe": N_("Mostly lanes of the sponge, or a pause while the sheet was laid."),
        "bubble": N_("Mostly air caught in laying: opposite corners, one roll, no pause."),
        "ragged": N_("Mostly the size is too old, or dripping sheets carried alum into it."),
        "wrong_side": N_("Look how the alumed side is marked before the next sheet is laid."),
        "other": N_("Note what you saw, so that others know it again."),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What is said about one fault word: what stands out, its causes, and where to go."""

    text: str
    causes: str
    links: tuple[tuple[str, str], ...]
    speaks: bool


def counts(words: Words, good: int, spoiled: Iterable[tuple[str, int]]) -> str:
    """Say '33 good, 7 washed off'; what is none is left out."""
    parts = [(words.gettext("good"), good)]
    parts += [(say.choice(words, "fault", word), count) for word, count in spoiled]
    return ", ".join(
        words.gettext("%(count)s %(how)s", count=count, how=how)
        for how, count in parts
        if count
    )


def advice(
    words: Words,
    stack: StackState,
    spoiled: Iterable[tuple[str, int]],
    found: Iterable[Unusual],
    *,
    bath: str,
    size: tuple[Subject, str] | None,
) -> tuple[Advice, ...]:
    """
    Say for each word of a part what to do; what is out of the usual comes first.

    Args:
        bath: Name of the alum.
        size: Id and name of the size the sheets were laid on, where that is known.
    """
    unusual = {one.word: one for one in found}
    named = size[1] if size is not None else ""
    said = [
        Advice(
            text=stands_out(words, unusual[word], bath=bath, size=named)
            if word in unusual
            else "",
            causes=words.gettext(CAUSES[word]),
            links=tuple(_links(words, stack, word, size)),
            speaks=word in unusual,
        )
        for word, _ in spoiled
    ]
    return tuple(sorted(said, key=lambda one: not one.speaks))


def stands_out(words: Words, found: Unusual, *, bath: str = "", size: str = "") -> str:
    """
    Say '7 of 40 washed off; about 3 is usual; so many by chance one time in 25.'

    Args:
        bath: Name of the alum, to be tested where sheets washed off.
        size: Name of what they were laid on, to be tested where they are ragged.
    """
    text = _so_many(words, found)
    if found.word == "washed_off":
        todo = words.gettext("Make a strip print before anyone uses %(bath)s.", bath=bath)
    elif found.word == "ragged" and size:
        todo = words.gettext("Make a drop test before anyone uses %(size)s.", size=size)
    else:
        return text
    return f"{text} {todo}"


def warned(words: Words, found: FaultWarning, bath: AnyBath, *, when: str) -> str:
    """Say the warning of a bath that nobody has tested since, and when it was sorted."""
    name = bath.name
    text = stands_out(words, found.found, bath=name, size=name)
    return words.gettext("Sorted %(when)s: %(found)s", when=when, found=text)


def _so_many(words: Words, found: Unusual) -> str:
    seen = {
        "count": found.fault_count,
        "every": found.sorted_count,
        "how": say.choice(words, "fault", found.word),
    }
    usual = round(found.compared.usual_count)
    share = (
        words.gettext("about %(usual)s is usual", usual=usual)
        if usual
        else words.gettext(
            "%(rest)s of the %(others)s others sorted here",
            rest=found.rest_fault_count,
            others=found.rest_sheet_count,
        )
    )
    one_in = found.compared.one_in
    if one_in >= ONE_IN_MAX:
        return words.gettext(
            "%(count)s of %(every)s %(how)s; %(share)s; hardly ever so many by chance.",
            share=share,
            **seen,
        )
    return words.gettext(
        "%(count)s of %(every)s %(how)s; %(share)s; so many by chance one time in %(one_in)s.",
        share=share,
        one_in=one_in,
        **seen,
    )


def _links(
    words: Words, stack: StackState, word: str, size: tuple[Subject, str] | None
) -> Iterable[tuple[str, str]]:
    if word == "washed_off":
        yield reasons.act(words, "strip-print", stack.bath)
    if word == "ragged" and size is not None:
        text, _ = reasons.act(words, "drop-test", size[0])
        yield text, f"/liquids/{size[0]}/test?by=drop_test"
    if word == "wrong_side":
        yield words.gettext("Which side is alumed?"), f"/stacks/{stack.id}"
    yield words.gettext("Follow these sheets"), f"/follow?stack={stack.id}"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSaid:
    """A sheet that was kept: what it came from, in words, and how to make it again."""

    title: str
    by: str
    photo: str
    note: str
    facts: tuple[tuple[str, str], ...]
    links: tuple[tuple[str, str], ...]
    again: tuple[tuple[str, str], ...]


def kept_ones(journal: Journal, found: tuple[KeptOne, ...]) -> tuple[KeptSaid, ...]:
    """Say what kept sheets came from, with what is still there of their photos and notes."""
    names = [name for one in found for name in (one.part.photo, one.part.note) if name]
    there = journal.attachments(names)
    return tuple(
        _kept_said(
            one,
            photo=f"/photo/{one.part.photo}" if one.part.photo in there else "",
            note=there[one.part.note].data.decode() if one.part.note in there else "",
        )
        for one in found
    )


def _kept_said(one: KeptOne, *, photo: str, note: str) -> KeptSaid:
    part, size, bath = one.part, one.size, one.bath
    again, links = [], [(words().gettext("Follow this sheet"), f"/follow?stack={one.stack.id}")]
    if size is not None:
        again.append((words().gettext("Make this size again"), f"/make?again={size.id}"))
        links.append((say.bath_name(words(), size.what, size.name), bath_url(size)))
    if bath is not None:
        again.append((words().gettext("Mix this alum again"), f"/make?again={bath.id}"))
        links.append((say.bath_name(words(), bath.what, bath.name), bath_url(bath)))
    return KeptSaid(
        title=part.colours or words().gettext("Kept sheet"),
        by=say.day_by(words(), part.at, face(part.by).name),
        photo=photo,
        note=note,
        facts=tuple(_kept_facts(one)),
        links=tuple(links),
        again=tuple(again),
    )


def _kept_facts(one: KeptOne) -> Iterable[tuple[str, str]]:
    if one.bath is not None:
        yield words().gettext("Alum"), one.bath.name
    if one.size is not None:
        yield words().gettext("Size"), one.size.name
    if one.age_days is not None:
        days = words().number(one.age_days, 1)
        yield (
            words().gettext("Its age at laying"),
            words().gettext("%(days)s days", days=days),
        )
    if one.spread_mm is not None:
        yield words().gettext("Drop spread then"), amounts.length(words(), one.spread_mm)
