"""In the room: what may I use?"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from math import ceil

from flask import Blueprint
from werkzeug.wrappers import Response

from coop.actions.see_baths import laying_l
from coop.actions.see_odd import Odd, Unsettled
from coop.actions.see_room import Room, StudioRoom, Warned, needs_somebody, next_turn, see_room
from coop.actions.see_since import Since, see_since
from coop.ids import MemberId, Subject
from coop.rules.baths import BathLook
from coop.rules.reasons import Word
from coop.store import devices
from coop.store.waiting import SqlShelf
from coop.web import lately, reasons, told
from coop.web import words as say
from coop.web.page import desk, face, faces, needs, now, show, who, words
from coop.web.reasons import Telling
from coop.web.sorting import unsettled
from coop.web.visits import seen as visits_seen

ODD_SHOWN = 3

pages = Blueprint("room", __name__)

Action = tuple[str, str, bool]
Names = Mapping[Subject, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """A bath as the room shows it."""

    id: str
    name: str
    kind: str
    word: str
    why: str
    how: str
    level_l: float
    brim_l: float | None
    laying_l: float | None
    litres_text: str
    sheets_left_text: str
    hands_text: str
    actions: tuple[Action, ...]
    word_text: str = ""
    kept_for: str = ""

    @property
    def url(self) -> str:
        return f"/baths/{self.id}"


@dataclass(frozen=True, slots=True, kw_only=True)
class WarnedLine:
    """A stopped bath that the member's own sheets went through."""

    name: str
    url: str
    when: str
    sheets: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lately:
    """Something that others did; `url` is the history it stands in, if there is one."""

    text: str
    url: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """A bath that wants a person: its name, word, why, and the next act."""

    name: str
    url: str
    word: str
    why: str
    acts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OddLine:
    """Something odd in the history that nobody has judged."""

    name: str
    text: str
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """One studio's cards."""

    name: str
    id: str
    cards: tuple[Card, ...]
    any_bath: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomPage:
    """What the room shows; `turns_in_s` is how long its words hold by themselves."""

    day: str
    turns_in_s: int | None
    coordinator: bool
    studios: tuple[Standing, ...]
    warned: tuple[WarnedLine, ...]
    lately: tuple[Lately, ...]
    more_lately: int
    lately_cut: bool
    not_to_be_used: tuple[tuple[str, str], ...]
    wanted: tuple[Wanted, ...]
    odd: tuple[OddLine, ...]
    sort_count: int


@pages.get("/")
@needs("read")
def room() -> Response:
    seen = see_room(desk().journal, who().member, now=now())
    since = _seen_since(seen)
    faces().gather(_hands(seen, since))
    telling = told.telling()
    names = told.bath_names(look.state for look in seen.every)
    coordinator = "coordinator" in who().roles
    open_ones = _open_ones(seen) if coordinator else None
    page = RoomPage(
        day=f"{words().weekday(now())} {words().moment(now())}",
        turns_in_s=_whole_s(next_turn(seen)),
        coordinator=coordinator,
        studios=tuple(_standing(telling, one, names) for one in seen.studios),
        warned=tuple(_warned(telling, one) for one in seen.warned),
        lately=_lately(since),
        more_lately=since.more_count,
        lately_cut=since.cut,
        not_to_be_used=tuple(
            (names[look.state.id], f"/baths/{look.state.id}") for look in seen.not_to_be_used
        ),
        wanted=_wanted(telling, seen, names) if coordinator else (),
        odd=_odd(seen, open_ones.others) if open_ones else (),
        sort_count=open_ones.count if open_ones else 0,
    )
    return show("room.html", page=page, nav="room")


def _whole_s(duration: timedelta | None) -> int | None:
    return None if duration is None else ceil(duration.total_seconds())


def _seen_since(room: Room) -> Since:
    """Return what the member missed since the last visit."""
    last = visits_seen().since(now())
    if last is None:
        return Since()
    unit = desk()
    return see_since(
        unit.journal,
        SqlShelf(unit.connection),
        who().member,
        seq=last.seq,
        open_baths=[look.state for look in room.baths],
    )


def _hands(room: Room, since: Since) -> list[MemberId]:
    """Return who is named on this page, to read their cards at once."""
    return [
        who().member,
        *(look.state.hands.by for look in room.baths),
        *(look.state.mixed_by for look in room.baths),
        *(one for done in since.done for one in done.by),
        *(one.by for one in since.settled),
    ]


def _lately(since: Since) -> tuple[Lately, ...]:
    """Put what the member missed into lines: what concerns them most comes first."""
    return (
        *(Lately(text=lately.settled_line(one)) for one in since.settled),
        *(
            Lately(text=lately.turned_line(one), url=_history(one.bath.id))
            for one in since.turned
        ),
        *(Lately(text=lately.done_line(one), url=_history(one.bath.id)) for one in since.done),
    )


def _history(bath: str) -> str:
    return f"/baths/{bath}#history"


def _standing(telling: Telling, one: StudioRoom, names: Names) -> Standing:
    usable = [look for look in one.baths if look.answer.word is not Word.DO_NOT_USE]
    return Standing(
        name=one.studio.name,
        id=one.studio.id,
        cards=tuple(_card(telling, look, names) for look in usable),
        any_bath=bool(one.baths),
    )


def _card(telling: Telling, look: BathLook, names: Names) -> Card:
    state, vessel = look.state, look.around.vessel
    brim = vessel.brim_ml / 1000 if vessel else None
    hands = words().gettext(
        "%(name)s, %(ago)s",
        name=face(state.hands.by).name,
        ago=say.ago(words(), state.hands.at, now()),
    )
    return Card(
        id=state.id,
        name=say.bath_name(words(), state.what, names[state.id]),
        kind=vessel.name if vessel else "",
        word=look.answer.word.value,
        why=reasons.why(telling, look),
        how=reasons.how_known(telling, look.answer.how_known),
        level_l=look.strength.volume_l,
        brim_l=brim,
        laying_l=laying_l(look),
        litres_text=say.litres(words(), look.strength.volume_l * 1000),
        sheets_left_text=_sheets_left(look),
        hands_text=hands,
        actions=_actions(look),
    )


def _sheets_left(look: BathLook) -> str:
    if look.sheets_left is None:
        return ""
    sheets = say.sheets(words(), look.sheets_left.middle, look.sheet_format)
    return words().gettext("about %(sheets)s left", sheets=sheets)


def _actions(look: BathLook) -> tuple[Action, ...]:
    here = f"/baths/{look.state.id}"
    look_at_it = (words().gettext("Open"), here, False)
    if look.answer.word is Word.GOOD:
        return (words().gettext("Sheets through"), f"{here}/sheets", True), look_at_it
    if look.answer.word is Word.RESTING:
        return (look_at_it,)
    if look.answer.next_acts[:1] == ("mend-it",):
        return (words().gettext("Mend it"), f"{here}/mend", True), look_at_it
    return (words().gettext("Test it"), f"{here}/test", True), look_at_it


def _warned(telling: Telling, one: Warned) -> WarnedLine:
    state = one.look.state
    assert state.stop is not None
    counts = [say.sheets(words(), count, sheet_format) for sheet_format, count in one.counts]
    return WarnedLine(
        name=state.name,
        url=f"/baths/{state.id}",
        when=telling.when(state.stop.at),
        sheets=", ".join(counts),
    )


def _wanted(telling: Telling, seen: Room, names: Names) -> tuple[Wanted, ...]:
    return tuple(
        Wanted(
            name=say.bath_name(words(), look.state.what, names[look.state.id]),
            url=f"/baths/{look.state.id}",
            word=look.answer.word.value,
            why=reasons.why(telling, look),
            acts=tuple(
                reasons.act(words(), code, look.state.id) for code in look.answer.next_acts[:1]
            ),
        )
        for look in needs_somebody(seen)
    )


def _open_ones(room: Room) -> Unsettled:
    return unsettled(room.baths, devices.all_of(desk().connection))


def _odd(room: Room, odd: tuple[Odd, ...]) -> tuple[OddLine, ...]:
    """Return what is odd about baths that stand in the room; the rest is to be sorted out."""
    names = {look.state.id: look.state.name for look in room.every}
    return tuple(
        OddLine(
            name=names[one.subject],
            text=reasons.finding(words(), one.code),
            url=f"/entries/{one.entry}/correct",
        )
        for one in [one for one in odd if one.subject in names][:ODD_SHOWN]
    )
