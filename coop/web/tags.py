"""
What stands on tags: of baths, their tally cards, stacks, tubs and jugs.

A tag is paper and hangs for weeks, so only what does not change is on it: days are dates,
strength is what it was at first, in metric and in US measures.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import ClassVar

from coop.actions.see_first import AtFirst
from coop.actions.see_stacks import StackLook
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.liquids import LiquidState
from coop.ledger.states import JugState, StudioState, VesselState
from coop.rules.baths import BathLook, turns_at
from coop.rules.hazards import CARDS, hazards
from coop.rules.liquid_looks import LiquidLook, liquid_turns_at
from coop.rules.reasons import Word
from coop.web import amounts, jug_words, stacking
from coop.web import words as say
from coop.web.hazard_words import statement
from coop.web.i18n import N_, Words
from coop.web.jar_label import Calls, calls
from coop.web.page import desk, face, now, words
from coop.web.qr import QrCode, qr_code
from coop.web.tag_sheets import LAYOUTS, DrawnName, drawn_name
from coop.web.told import Names

TALLY_ROWS = 12
TAPE_LINES_MAX = 4
TAPE_STEPS_L = (0.5, 1, 2, 5, 10, 20, 50, 100)
EYE = "in-the-eye"
IN_THE_EYE = N_(
    "In the eye: tap water at once, lids open, at least 15 minutes, then a doctor with this "
    "tag."
)
LOOK_FIRST = {
    Word.LOOK_AGAIN: (N_("Look again"), N_("before it is used")),
    Word.DO_NOT_USE: (N_("Do not use"), N_("read in the ledger why")),
}

Fact = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """
    What every tag has: whose it is, its name as letters, the strip, the code, whom to call.

    `strip` is the id that the strip is drawn from, empty for none; `back` is "do not use".
    """

    sort: ClassVar[str]
    back: ClassVar[bool] = False

    label: str
    name: DrawnName
    strip: str
    code: QrCode
    calls: Calls

    @property
    def prints(self) -> bool:
        """Whether it may print: not without numbers to call."""
        return self.calls.prints


@dataclass(frozen=True, slots=True, kw_only=True)
class BathTag(Tag):
    """
    A bath's tag; the name has to be read at two metres.

    `stopped` are the lines of its back: who, when, why; empty ones are written by hand.
    """

    sort = "bath"
    back = True

    kind: str
    strength: str
    facts: tuple[Fact, ...]
    hazards: tuple[str, ...]
    stopped: tuple[Fact, ...]

    @property
    def by_hand(self) -> bool:
        """Whether its back waits for somebody who stops it."""
        return not any(value for _, value in self.stopped)


@dataclass(frozen=True, slots=True, kw_only=True)
class TallyCard(Tag):
    """The card beside a bath's tag: rows for a pencil."""

    sort = "card"

    rows: range = field(default=range(TALLY_ROWS))


@dataclass(frozen=True, slots=True, kw_only=True)
class StackTag(Tag):
    """A stack's tag: what it is, which side to lay, until when."""

    sort = "stack"

    facts: tuple[Fact, ...]
    side: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TubTag(Tag):
    """A tub's tag; `lines` are litres and how high above the floor their tape goes."""

    sort = "tub"

    facts: tuple[Fact, ...]
    lines: tuple[Fact, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class JugTag(Tag):
    """
    A jug's tag: what is in it, or that nobody knows.

    The one of a jug that nobody knows prints without numbers too: closed and marked is safer
    than not.
    """

    sort = "jug"

    known: bool
    inside: str
    where: str
    told: str

    @property
    def prints(self) -> bool:
        return self.calls.prints or not self.known


# ---- a bath


def bath_tag(look: BathLook | LiquidLook, first: AtFirst, *, layout: str, url: str) -> BathTag:
    """Return the tag of a bath; `url` is the whole address of its page."""
    state, studio = look.state, _studio(look)
    return BathTag(
        label=_bath_label(state),
        name=drawn_name(state.name, LAYOUTS[layout].name),
        strip=state.id,
        code=qr_code(url),
        calls=calls(words(), studio),
        kind=_capital(say.choice(words(), "bath", state.what)),
        strength=_strength(state, first),
        facts=_bath_facts(look, studio),
        hazards=_hazards(state.what),
        stopped=_stopped(state),
    )


def tally_card(look: BathLook | LiquidLook, *, layout: str, url: str) -> TallyCard:
    """Return the card for twelve pencil rows of a bath."""
    state = look.state
    return TallyCard(
        label=_bath_label(state),
        name=drawn_name(state.name, LAYOUTS[layout].name),
        strip=state.id,
        code=qr_code(url),
        calls=calls(words(), _studio(look)),
    )


def _studio(look: BathLook | LiquidLook) -> StudioState:
    found = look.around.studio
    assert found is not None, "a bath stands in a studio"
    return found


def _bath_label(state: AnyBath) -> str:
    return say.bath_name(words(), state.what, state.name)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _both(said: Callable[[Words, float], str], value: float) -> str:
    """Say an amount in metric and in US measures, whatever the member chose."""
    metric, us = (said(replace(words(), us=us), value) for us in (False, True))
    return f"{metric} ({us})"


def _both_volumes(_: Words, volume_ml: float) -> str:
    return _both(amounts.volume, volume_ml)


def _strength(state: AnyBath, first: AtFirst) -> str:
    if first.strength_g_per_l is None:
        return ""
    told = {"strength": _both(_one_decimal, first.strength_g_per_l), "of": _made_of(state)}
    if first.poured_off:
        return words().gettext("%(strength)s of %(of)s when it was poured off", **told)
    return words().gettext("%(strength)s of %(of)s when it was mixed", **told)


def _one_decimal(words: Words, figure_g_per_l: float) -> str:
    return amounts.g_per_l(words, figure_g_per_l, 0 if figure_g_per_l >= 10 else 1)


def _made_of(state: AnyBath) -> str:
    if isinstance(state, BathState):
        return say.choice(words(), "salt_short", state.salt)
    return say.choice(words(), "powder", state.of)


def _bath_facts(look: BathLook | LiquidLook, studio: StudioState) -> tuple[Fact, ...]:
    state, vessel = look.state, look.around.vessel
    rest = state.rest_until if isinstance(state, LiquidState) else None
    made = words().gettext(
        "%(when)s, %(initials)s",
        when=words().moment(state.mixed_at),
        initials=face(state.mixed_by).initials,
    )
    facts = (
        (words().gettext("Since"), made),
        (words().gettext("Not before"), words().moment(rest) if rest else ""),
        _look_again(look, rest),
        (words().gettext("Stands in"), f"{vessel.name}, {studio.name}" if vessel else ""),
    )
    return tuple(one for one in facts if one[1])


def _look_again(look: BathLook | LiquidLook, rest: datetime | None) -> Fact:
    """Say when its word changes, if nobody does anything; past that, on sight."""
    label = words().gettext("Look again")
    since = max(now(), rest) if rest else now()
    if isinstance(look, BathLook):
        found = turns_at(look.state, look.around, now=since)
    else:
        found = liquid_turns_at(look.state, look.around, now=since)
    if look.answer.word is Word.LOOK_AGAIN:
        return label, words().gettext("before it is used")
    if found is None or look.answer.word is Word.DO_NOT_USE:
        return label, ""
    if found[1].word is Word.DO_NOT_USE:
        return words().gettext("Not after"), words().day(found[0])
    return label, words().day(found[0])


def _hazards(what: str) -> tuple[str, ...]:
    card = CARDS[f"bath_{what}"]
    said = [statement(words(), one.code, one.above) for one in hazards(card)]
    if EYE in card.first_aid.codes and said:
        said.append(words().gettext(IN_THE_EYE))
    return tuple(said)


def _stopped(state: AnyBath) -> tuple[Fact, ...]:
    stop = state.stop
    return (
        (words().gettext("Who"), face(stop.by).initials if stop else ""),
        (words().gettext("When"), words().moment(stop.at) if stop else ""),
        (
            words().gettext("Why"),
            say.choice(words(), "stop_reason", stop.reason) if stop else "",
        ),
    )


# ---- a stack, a tub, a jug


def stack_tag(look: StackLook, studio: StudioState, *, layout: str, url: str) -> StackTag:
    """Return the tag of a stack of alumed sheets."""
    state = look.state
    alumed = words().gettext(
        "%(when)s, %(initials)s",
        when=words().day(state.alumed_at),
        initials=face(state.by).initials,
    )
    sheets = say.sheets(words(), state.left_count, state.sheet_format)
    facts = (
        (words().gettext("Alumed in"), look.bath.name if look.bath else ""),
        (words().gettext("Alumed"), alumed),
        (words().gettext("Paper"), stacking.paper_of(Names(desk().journal), state)),
        _use_by(look),
        (words().gettext("Place"), state.place),
    )
    return StackTag(
        label=stacking.name(look),
        name=drawn_name(sheets, LAYOUTS[layout].plain),
        strip=state.alum,
        code=qr_code(url),
        calls=calls(words(), studio),
        facts=tuple(one for one in facts if one[1]),
        side=stacking.side_to_lay(look.side),
    )


def _use_by(look: StackLook) -> Fact:
    """Say until when a stack is good as it lies, or to look first where its word is no more."""
    if look.answer.word in LOOK_FIRST:
        label, told = LOOK_FIRST[look.answer.word]
        return words().gettext(label), words().gettext(told)
    use_by = words().gettext(
        "%(day)s, %(lies)s",
        day=words().day(look.use_by),
        lies=words().gettext(stacking.LIES[look.state.state]),
    )
    return words().gettext("Use by"), use_by


def tub_tag(vessel: VesselState, studio: StudioState, *, layout: str, url: str) -> TubTag:
    """Return the tag of a tub."""
    laying = vessel.laying_ml
    facts = (
        (words().gettext("Stands"), f"{studio.name}, {vessel.place}"),
        (words().gettext("To the brim"), _both(amounts.volume, vessel.brim_ml)),
        (words().gettext("To lay a sheet"), _both(amounts.volume, laying) if laying else ""),
    )
    return TubTag(
        label=vessel.name,
        name=drawn_name(vessel.name, LAYOUTS[layout].plain),
        strip="",
        code=qr_code(url),
        calls=calls(words(), studio),
        facts=tuple(one for one in facts if one[1]),
        lines=tuple(_tape_lines(vessel)),
    )


def _tape_lines(vessel: VesselState) -> Iterable[Fact]:
    """Give round litres below the brim, and how high above the floor their tape goes."""
    if vessel.area_m2 is None:
        return
    brim_l = vessel.brim_ml / 1000
    step_l = next((one for one in TAPE_STEPS_L if brim_l / one <= TAPE_LINES_MAX), brim_l)
    for number in range(1, TAPE_LINES_MAX + 1):
        litres = number * step_l
        if litres >= brim_l:
            return
        height_mm = litres / vessel.area_m2
        yield _both(amounts.volume, litres * 1000), _both(_to_half_mm, height_mm)


def _to_half_mm(words: Words, height_mm: float) -> str:
    """Say a height as a strip of tape is laid: to half a millimetre."""
    return amounts.length(words, height_mm if words.us else round(2 * height_mm) / 2, 1)


def jug_tag(
    jug: JugState, bath: AnyBath | None, studio: StudioState, *, layout: str, url: str
) -> JugTag:
    """Return the tag of a jug."""
    known = jug_words.is_known(jug)
    what = jug_words.called(bath) if bath else jug_words.waste(jug)
    title = _capital(what) if known else words().gettext("Unknown")
    return JugTag(
        label=title,
        name=drawn_name(title, LAYOUTS[layout].plain),
        strip=bath.id if bath else "",
        code=qr_code(url),
        calls=calls(words(), studio),
        known=known,
        inside=jug_words.inside(jug, volume=_both_volumes),
        where=jug_words.where(jug, studio),
        told=jug_words.vouched(jug)
        or jug_words.told(jug, when=words().moment(jug.found_at), volume=_both_volumes),
    )
