"""Phones and tablets told in words: whose, heard when, what they hold, what never came."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import partial

from coop import __version__
from coop.actions.see_devices import (
    DeviceLook,
    Known,
    Run,
    judged_pairs,
    look_at_devices,
)
from coop.ids import MemberId, Subject
from coop.store import devices
from coop.store.desk import Desk
from coop.store.devices import Device
from coop.sync.admit import CLOCK_OFF
from coop.web import words as say
from coop.web.page import desk, face, faces, now, words

SILENT_AFTER = timedelta(days=2)
"""A phone not heard for longer is named by the day it was last heard."""
WEEK = timedelta(days=6)
RUNS_SHOWN = 8
STATES = ("gap", "holds", "silent", "in-touch", "off")
"""How a device may stand, the most pressing first."""
HOUR_MINUTES, DAY_HOURS, SPOKEN_UP_TO = 60, 24, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class PhoneRow:
    """
    A phone or tablet in a list.

    Attributes:
        state: How it stands, one of `STATES`.
        heard: When it was last heard.
        lines: What it holds and what never came, a sentence each.
    """

    name: str
    url: str
    whose: str
    state: str
    heard: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Phones:
    """Every phone and tablet, the oldest first, with what each said of itself."""

    looks: tuple[DeviceLook, ...]
    rows: Mapping[Subject, Device]

    def told(self, looks: Iterable[DeviceLook]) -> tuple[PhoneRow, ...]:
        """Put devices into lines; the cards of who writes on them are read at once."""
        wanted = tuple(looks)
        faces().gather(one for look in wanted for one in people_of(look))
        return tuple(row_of(look, self.rows.get(look.state.id)) for look in wanted)

    def pressing(self, looks: Iterable[DeviceLook]) -> list[DeviceLook]:
        """Put devices that want a look before those that are in touch."""
        wanted = [(state_of(one, self.rows.get(one.state.id)), one) for one in looks]
        return [one for _, one in sorted(wanted, key=lambda pair: STATES.index(pair[0]))]


def see_phones(*, with_gaps: bool = True) -> Phones:
    """
    Return all phones and tablets, in as many questions however many there are.

    Args:
        with_gaps: Whether counts that never came are looked for, entry by entry.
    """
    journal, rows = desk().journal, devices.all_of(desk().connection)
    known = known_of(desk(), rows)
    if not with_gaps:
        known = replace(known, counts=_no_counts)
    looks = look_at_devices(journal, known, judged_pairs(journal))
    return Phones(looks=looks, rows=rows)


def _no_counts(apart: Sequence[Subject]) -> Mapping[Subject, Counter[int]]:
    return {}


def known_of(place: Desk, rows: Mapping[Subject, Device]) -> Known:
    """Return what the server knows of devices, in two questions more."""
    return Known(
        heard=rows,
        arrived=devices.arrived(place.connection, rows),
        waiting=devices.waiting(place.connection),
        counts=partial(devices.counts, place.connection),
    )


def people_of(look: DeviceLook) -> tuple[MemberId, ...]:
    """Return whose device it is and who writes on it."""
    return look.state.enrolled_by, *look.state.members


def row_of(look: DeviceLook, row: Device | None) -> PhoneRow:
    """Put a device into a line of a list."""
    return PhoneRow(
        name=look.state.name,
        url=f"/devices/{look.state.id}",
        whose=whose(look),
        state=state_of(look, row),
        heard=off(look) or heard(row),
        lines=tuple(
            line
            for line in (
                *(_said(row) if look.state.revoked_at is None else ()),
                holds(look),
                missing(look.missing),
                twice(look.twice),
            )
            if line
        ),
    )


def _said(row: Device | None) -> Iterator[str]:
    """Say whether a device opens without a signal, and how far its clock is off."""
    if row is None or row.heard_at is None:
        return
    if row.offline:
        yield words().gettext("opens without a signal")
    else:
        yield words().gettext("does not open without a signal yet")
    if is_off(row):
        yield words().gettext("its clock is %(off)s", off=clock(row))


def state_of(look: DeviceLook, row: Device | None) -> str:
    """Return the word for how a device stands, the most pressing first."""
    if look.missing or look.twice:
        return "gap"
    if look.state.revoked_at is not None:
        return "off"
    if look.holds:
        return "holds"
    silent = row is None or row.heard_at is None or now() - row.heard_at > SILENT_AFTER
    return "silent" if silent else "in-touch"


def whose(look: DeviceLook) -> str:
    """Say whose phone it is, or who writes on a shared tablet."""
    state = look.state
    if not state.shared:
        return words().gettext("%(name)s's own", name=face(state.enrolled_by).name)
    hands = ", ".join(face(one).initials for one in state.members)
    if not hands:
        return words().gettext("the studio's, nobody writes on it")
    return words().gettext("the studio's: %(hands)s", hands=hands)


def heard(row: Device | None) -> str:
    """Say when a device was last heard: 'not heard since Tuesday'."""
    if row is None or row.heard_at is None:
        return words().gettext("not heard yet")
    ago = now() - row.heard_at
    if ago <= SILENT_AFTER:
        return words().gettext(
            "last heard %(when)s", when=say.when(words(), row.heard_at, now())
        )
    day = words().weekday(row.heard_at) if ago <= WEEK else words().day(row.heard_at)
    return words().gettext("not heard since %(day)s", day=day)


def off(look: DeviceLook) -> str:
    """Say when and why a device was switched off; empty while it is on."""
    state = look.state
    if state.revoked_at is None:
        return ""
    return words().gettext(
        "switched off %(when)s: %(why)s",
        when=say.when(words(), state.revoked_at, now()),
        why=say.choice(words(), "revoke_reason", state.revoked_reason),
    )


def holds(look: DeviceLook) -> str:
    """Say how many lines a device still held when it was last heard."""
    if not look.holds:
        return ""
    return words().ngettext(
        "%(num)d line waits on it", "%(num)d lines wait on it", len(look.holds)
    )


def missing(runs: tuple[Run, ...]) -> str:
    """Say which counts never came."""
    if not runs:
        return ""
    count = sum(upto - first + 1 for first, upto in runs)
    return words().ngettext(
        "%(num)d line never arrived: number %(which)s",
        "%(num)d lines never arrived: numbers %(which)s",
        count,
        which=_runs(runs),
    )


def twice(counts: tuple[int, ...]) -> str:
    """Say which counts two different lines carry."""
    if not counts:
        return ""
    return words().ngettext(
        "number %(which)s stands for two different lines",
        "numbers %(which)s stand for two different lines each",
        len(counts),
        which=_runs(tuple((one, one) for one in counts)),
    )


def _runs(runs: tuple[Run, ...]) -> str:
    shown = [
        str(first)
        if first == upto
        else words().gettext("%(first)s to %(last)s", first=first, last=upto)
        for first, upto in runs[:RUNS_SHOWN]
    ]
    if len(runs) > RUNS_SHOWN:
        shown.append(
            words().ngettext("and %(num)d more", "and %(num)d more", len(runs) - RUNS_SHOWN)
        )
    return ", ".join(shown)


def clock(row: Device) -> str:
    """Say how far a device's clock is off: '3 h ahead'; 'right' within a minute."""
    if not is_off(row):
        return words().gettext("right")
    span = _span(_off_by(row))
    if row.offset_ms > 0:
        return words().gettext("%(span)s ahead", span=span)
    return words().gettext("%(span)s behind", span=span)


def is_off(row: Device) -> bool:
    """Say whether a device's clock is named."""
    return _off_by(row) > CLOCK_OFF


def _off_by(row: Device) -> timedelta:
    return timedelta(milliseconds=abs(row.offset_ms))


def _span(long: timedelta) -> str:
    minutes = round(long / timedelta(minutes=1))
    if minutes < SPOKEN_UP_TO * HOUR_MINUTES:
        return words().ngettext("%(num)d min", "%(num)d min", minutes)
    hours = round(long / timedelta(hours=1))
    if hours < SPOKEN_UP_TO * DAY_HOURS:
        return words().ngettext("%(num)d h", "%(num)d h", hours)
    return words().ngettext("%(num)d day", "%(num)d days", round(long / timedelta(days=1)))


def release(row: Device) -> str:
    """Say which release a device's page is of, beside the server's own."""
    if not row.release:
        return ""
    if row.release == __version__:
        return words().gettext("%(release)s, as the studio's", release=row.release)
    return words().gettext(
        "%(release)s; the studio has %(own)s", release=row.release, own=__version__
    )
