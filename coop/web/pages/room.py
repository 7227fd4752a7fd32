"""In the room: what may I use?"""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from math import ceil
from urllib.parse import urlencode

from flask import Blueprint
from werkzeug.wrappers import Response

from coop.actions.follow import to_sort_count
from coop.actions.see_baths import laying_l, volume_ml
from coop.actions.see_jugs import jugs_to_go
from coop.actions.see_needs import Need, Needs, Scene, see_needs
from coop.actions.see_odd import Odd, Unsettled
from coop.actions.see_room import Room, StudioRoom, Warned, next_turn, see_room
from coop.actions.see_since import Since, see_since
from coop.actions.see_warnings import FaultWarning, see_warnings
from coop.actions.waste_needs import baths_to_go
from coop.ids import MemberId, Subject
from coop.ledger.any_bath import ALUM, AnyBath
from coop.ledger.liquids import SIZE
from coop.ledger.states import JarState
from coop.rules.baths import BathLook
from coop.rules.liquid_looks import LiquidLook, size_laying_l
from coop.rules.reasons import Word
from coop.store import devices
from coop.store.waiting import SqlShelf
from coop.web import amounts, came_out, lately, reasons, told
from coop.web import words as say
from coop.web.answers import go_on
from coop.web.needing import Called, NeedText, in_lines, line_text, studio_names
from coop.web.page import desk, face, faces, needs, now, show, site, who, words
from coop.web.reasons import Telling
from coop.web.sorting import unsettled
from coop.web.told import act_on, bath_url, kept_text
from coop.web.visits import seen as visits_seen

ODD_SHOWN = 3
TO_SORT_SHOWN = 3
NEEDS_SHOWN_MAX = 5
NEEDS_OF_A_KIND = 2
ASKED_OF_WASTE = frozenset({"coordinator", "safety_officer"})
"""Who is told that something waits to be got rid of."""
BRING_IN = "bring-to-room"

pages = Blueprint("room", __name__)

Action = tuple[str, str, bool]
Names = Mapping[Subject, str]
Warnings = Mapping[Subject, FaultWarning]
AnyLook = BathLook | LiquidLook


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """A bath as the room shows it."""

    id: str
    url: str
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
    warning: str = ""
    kept_for: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class WarnedLine:
    """
    A stopped bath that the member's own sheets went through, or were `laid` on.

    `sheets` are those not sorted yet, `good` those that were found so. `poured_from` names
    the bath that was stopped, where that was poured into this one.
    """

    id: str
    name: str
    url: str
    when: str
    poured_from: str
    sheets: str
    good: str
    laid: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Lately:
    """Something that others did; `url` is the history it stands in, if there is one."""

    text: str
    url: str = ""


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
    tags_url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomPage:
    """
    What the room shows; `turns_in_s` is how long its words hold by themselves.

    `wanted` is what needs this member, `more_wanted` so much more of it is not shown here,
    `put_off_count` so much waits for its day; `go_count` so much waits to be got rid of;
    `walks` is what is just being neutralised.
    """

    day: str
    turns_in_s: int | None
    coordinator: bool
    studios: tuple[Standing, ...]
    warned: tuple[WarnedLine, ...]
    to_sort: tuple[tuple[str, str], ...]
    more_to_sort: int
    lately: tuple[Lately, ...]
    more_lately: int
    lately_cut: bool
    not_to_be_used: tuple[tuple[str, str], ...]
    wanted: tuple[NeedText, ...]
    more_wanted: int
    put_off_count: int
    unseen: tuple[tuple[str, str], ...]
    odd: tuple[OddLine, ...]
    sort_count: int
    jug_count: int
    go_count: int
    walks: tuple[tuple[str, str], ...]


@pages.get("/")
@needs("read")
def room() -> Response:
    seen = see_room(desk().journal, who().member, now=now())
    since = _seen_since(seen)
    over = baths_to_go(desk().journal)
    to_go = over if who().roles & ASKED_OF_WASTE else None
    wanted = _needs(seen, to_go)
    shown = _shown(wanted)
    faces().gather(_hands(seen, since))
    telling = told.telling()
    names = told.bath_names(look.state for look in seen.every)
    called = Called(baths=names, studios=studio_names(one.studio for one in seen.studios))
    warnings = see_warnings(desk().journal, (look.state for look in seen.every))
    coordinator = "coordinator" in who().roles
    open_ones = _open_ones(seen) if coordinator else None
    page = RoomPage(
        day=f"{words().weekday(now())} {words().moment(now())}",
        turns_in_s=_whole_s(next_turn(seen)),
        coordinator=coordinator,
        studios=tuple(_standing(telling, one, names, warnings) for one in seen.studios),
        warned=tuple(_warned(telling, one) for one in seen.warned),
        to_sort=_to_sort(seen),
        more_to_sort=max(0, len(seen.to_sort) - TO_SORT_SHOWN),
        lately=_lately(since),
        more_lately=since.more_count,
        lately_cut=since.cut,
        not_to_be_used=tuple(
            (names[look.state.id], bath_url(look.state)) for look in seen.not_to_be_used
        ),
        wanted=tuple(line_text(telling, line, called) for line in shown),
        more_wanted=len(wanted.open) - sum(map(len, shown)),
        put_off_count=len(wanted.put_off),
        unseen=_unseen(seen) if coordinator else (),
        odd=_odd(seen, open_ones.others) if open_ones else (),
        sort_count=open_ones.count if open_ones else 0,
        go_count=_go_count(to_go),
        walks=tuple(_walks((*over, *(look.state for look in seen.every)))),
        jug_count=sum(one.known_at is None for one in desk().journal.listed("jug")),
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
        open_baths=[look.state for look in room.every],
    )


def _needs(room: Room, to_go: tuple[AnyBath, ...] | None) -> Needs:
    return see_needs(
        desk().journal,
        who().member,
        who().roles,
        now=now(),
        scene=Scene(looks=room.every, stacks=room.stacks, to_go=to_go),
        demo=site().settings.demo,
    )


def _go_count(to_go: tuple[AnyBath, ...] | None) -> int:
    """Count the old baths and the known jugs that wait, for whoever is asked about them."""
    if to_go is None:
        return 0
    return len(to_go) + len(jugs_to_go(desk().journal))


def _walks(baths: tuple[AnyBath, ...]) -> Iterator[tuple[str, str]]:
    """Give what is just being neutralised, for everybody: two people share one bucket."""
    jars: tuple[JarState, ...] = desk().journal.listed("jar")
    for one in (*baths, *jars):
        for _, url, _ in go_on(one):
            yield words().gettext("%(name)s: go on neutralising", name=one.name), url


def _shown(needs: Needs) -> tuple[tuple[Need, ...], ...]:
    """Return the most pressing: all baths not to be used, a few of each kind, not too many."""
    often: Counter[str] = Counter()
    shown: list[tuple[Need, ...]] = []
    for line in in_lines(needs.open):
        often[line[0].code] += 1
        few = often[line[0].code] <= NEEDS_OF_A_KIND and len(shown) < NEEDS_SHOWN_MAX
        if line[0].hard or few:
            shown.append(line)
    return tuple(shown)


def _hands(room: Room, since: Since) -> list[MemberId]:
    """Return who is named on this page, to read their cards at once."""
    return [
        who().member,
        *(look.state.hands.by for look in room.every),
        *(look.state.mixed_by for look in room.every),
        *(kept.member for look in room.every if (kept := look.state.kept_for) and kept.member),
        *(one for done in since.done for one in done.by),
        *(one.by for one in since.settled),
        *(member for alert in room.alerts for member in alert.unseen_by),
    ]


def _lately(since: Since) -> tuple[Lately, ...]:
    """Put what the member missed into lines: what concerns them most comes first."""
    return (
        *(Lately(text=lately.settled_line(one)) for one in since.settled),
        *(Lately(text=lately.turned_line(one), url=_history(one.bath)) for one in since.turned),
        *(Lately(text=lately.done_line(one), url=_history(one.bath)) for one in since.done),
    )


def _history(bath: AnyBath) -> str:
    return f"{bath_url(bath)}#history"


def _standing(telling: Telling, one: StudioRoom, names: Names, warnings: Warnings) -> Standing:
    every: list[AnyLook] = [*one.baths, *one.liquids]
    usable = [look for look in every if look.answer.word is not Word.DO_NOT_USE]
    return Standing(
        name=one.studio.name,
        id=one.studio.id,
        cards=tuple(_card(telling, look, names, warnings) for look in usable),
        any_bath=bool(every),
        tags_url=f"/tags?{urlencode([('bath', look.state.id) for look in usable])}",
    )


def _card(telling: Telling, look: AnyLook, names: Names, warnings: Warnings) -> Card:
    state, vessel = look.state, look.around.vessel
    found = warnings.get(state.id)
    hands = words().gettext(
        "%(name)s, %(ago)s",
        name=face(state.hands.by).name,
        ago=say.ago(words(), state.hands.at, now(), state.hands.precision),
    )
    return Card(
        id=state.id,
        url=bath_url(state),
        name=say.bath_name(words(), state.what, names[state.id]),
        kind=vessel.name if vessel else "",
        word=look.answer.word.value,
        why=reasons.why(telling, look),
        how=reasons.how_known(telling, look.answer.how_known),
        level_l=volume_ml(look) / 1000,
        brim_l=vessel.brim_ml / 1000 if vessel else None,
        laying_l=_laying_l(look),
        litres_text=amounts.volume(words(), volume_ml(look)),
        sheets_left_text=_sheets_left(look),
        hands_text=hands,
        actions=_actions(look, warned=found is not None),
        warning=_warning(telling, look, found) if found else "",
        kept_for=kept_text(state.kept_for),
    )


def _warning(telling: Telling, look: AnyLook, found: FaultWarning) -> str:
    return came_out.warned(words(), found, look.state, when=telling.when(found.at))


def _laying_l(look: AnyLook) -> float | None:
    """Return what must stand in a vessel to lay a sheet, in alum or on size."""
    if isinstance(look, BathLook):
        return laying_l(look)
    return size_laying_l(look.around) if look.state.what == SIZE else None


def _sheets_left(look: AnyLook) -> str:
    if look.sheets_left is None:
        return ""
    if isinstance(look, LiquidLook):
        return words().gettext(
            "at least %(sheets)s left, perhaps %(middle)s, a hint",
            sheets=say.sheets(words(), look.sheets_left.low, look.sheet_format),
            middle=look.sheets_left.middle,
        )
    sheets = say.sheets(words(), look.sheets_left.middle, look.sheet_format)
    return words().gettext("about %(sheets)s left", sheets=sheets)


def _actions(look: AnyLook, *, warned: bool) -> tuple[Action, ...]:
    """Return a card's buttons; what sorted sheets warn of is tested before it is used."""
    here = bath_url(look.state)
    look_at_it = (words().gettext("Open"), here, False)
    if look.answer.word is Word.RESTING:
        return (look_at_it,)
    if look.answer.word is Word.GOOD and not warned:
        return *_use(look), look_at_it
    if look.answer.next_acts[:1] == (BRING_IN,):
        return (*act_on(BRING_IN, look.state), True), look_at_it
    if look.answer.next_acts[:1] == ("mend-it",):
        return (words().gettext("Mend it"), f"{here}/mend", True), look_at_it
    return (words().gettext("Test it"), f"{here}/test", True), look_at_it


def _use(look: AnyLook) -> tuple[Action, ...]:
    """Return the button of what a good bath is there for; a rinse or a paste has none."""
    here = bath_url(look.state)
    if look.answer.next_acts[:1] == (BRING_IN,):
        return ((*act_on(BRING_IN, look.state), True),)
    if isinstance(look, BathLook):
        return ((words().gettext("Sheets through"), f"{here}/sheets", True),)
    if look.state.what == SIZE:
        return ((words().gettext("Lay sheets"), f"{here}/lay", True),)
    return ()


def _warned(telling: Telling, one: Warned) -> WarnedLine:
    state = one.alert.bath
    assert state.stop is not None
    return WarnedLine(
        id=state.id,
        name=state.name,
        url=f"/follow?bath={state.id}",
        when=telling.when(state.stop.poured_in_at or state.stop.at),
        poured_from=state.stop.poured_from,
        sheets=_counted(one.unsorted),
        good=_counted(one.good),
        laid=state.what != ALUM,
    )


def _counted(counts: tuple[tuple[str, int], ...]) -> str:
    return ", ".join(say.sheets(words(), count, sheet_format) for sheet_format, count in counts)


def _to_sort(room: Room) -> tuple[tuple[str, str], ...]:
    """Ask how the member's own sheets came out, the oldest first."""
    return tuple(
        (
            words().gettext(
                "How did your %(sheets)s come out?",
                sheets=say.sheets(words(), to_sort_count(stack), stack.sheet_format),
            ),
            f"/stacks/{stack.id}/sorting",
        )
        for stack in room.to_sort[:TO_SORT_SHOWN]
    )


def _unseen(room: Room) -> tuple[tuple[str, str], ...]:
    """Name who has not seen yet that a bath of theirs was stopped."""
    return tuple(
        (
            words().gettext(
                "%(name)s was stopped: not seen yet by %(who)s",
                name=alert.bath.name,
                who=", ".join(face(member).name for member in alert.unseen_by),
            ),
            f"/follow?bath={alert.bath.id}",
        )
        for alert in room.alerts
        if alert.unseen_by
    )


def _open_ones(room: Room) -> Unsettled:
    return unsettled(room.every, devices.all_of(desk().connection))


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
