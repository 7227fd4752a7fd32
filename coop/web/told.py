"""What an entry says, told in a few words; used in histories and where entries are mended."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from coop.ids import MemberId, Subject
from coop.ledger import kinds
from coop.ledger.baths import BathState
from coop.ledger.entries import kind_of
from coop.ledger.ports import Journal
from coop.rules.impossible import read_alike
from coop.units.fault import NotUnderstood
from coop.units.number import read_number, wire
from coop.units.quantity import Quantity
from coop.web import words as say
from coop.web.doses import quantity_text
from coop.web.i18n import Words
from coop.web.page import face, now, words
from coop.web.reasons import Telling


def telling() -> Telling:
    """Return how things are told in this request."""
    return Telling(words=words(), now=now(), name_of=lambda one: face(MemberId(one)).name)


def bath_names(baths: Iterable[BathState]) -> Mapping[Subject, str]:
    """Return the names of baths; those that are read alike with hour and initials."""
    wanted = tuple(baths)
    often = Counter(read_alike(one.name) for one in wanted)
    return {
        one.id: one.name if often[read_alike(one.name)] == 1 else told_apart(one)
        for one in wanted
    }


def told_apart(bath: BathState) -> str:
    """Say which bath it is where its name does not."""
    return words().gettext(
        "%(bath)s, mixed %(when)s by %(initials)s",
        bath=bath.name,
        when=words().moment(bath.mixed_at),
        initials=face(bath.mixed_by).initials,
    )


@dataclass(frozen=True, slots=True)
class Names:
    """Names of things by their ids; each is read once per request."""

    journal: Journal

    def of(self, sort: str, subject: Subject | None) -> str:
        """Return a thing's name; a dash for one that is not known."""
        state = self.journal.state(sort, subject)
        return str(state.name) if state is not None else "—"


def told(words: Words, names: Names, said: kinds.Content) -> str:
    """Say what an entry says; what it is about (its bath) is not repeated."""
    teller = _TELLERS.get(type(said))
    if teller is None:
        return words.gettext(say.KINDS[kind_of(said)])
    return teller(words, names, said)


def _mixed(words: Words, names: Names, said: kinds.BathMixed) -> str:
    parts = ", ".join(_parts(words, names, said.salt))
    if said.guessed == "yes":
        return words.gettext(
            "mixed: %(water)s of water, %(salt)s, guessed",
            water=quantity_text(words, said.water),
            salt=parts,
        )
    return words.gettext(
        "mixed: %(water)s of water, %(salt)s",
        water=quantity_text(words, said.water),
        salt=parts,
    )


def _parts(words: Words, names: Names, salt: tuple[kinds.SaltPart, ...]) -> Iterator[str]:
    for part in salt:
        yield f"{quantity_text(words, part.amount)} {names.of('lot', part.lot)}"


def _topped_up(words: Words, names: Names, said: kinds.BathToppedUp) -> str:
    parts = ", ".join(_parts(words, names, said.salt))
    if said.water is None:
        return words.gettext("topped up: %(salt)s, no water", salt=parts)
    if said.salt:
        return words.gettext(
            "topped up: %(water)s of water, %(salt)s",
            water=quantity_text(words, said.water),
            salt=parts,
        )
    why = say.choice(words, "water_only_reason", said.reason) if said.reason else "—"
    return words.gettext(
        "topped up with %(water)s of water alone (%(why)s)",
        water=quantity_text(words, said.water),
        why=why,
    )


def _cared(words: Words, names: Names, said: kinds.BathCared) -> str:
    return say.choice(words, "care", said.care)


def _stopped(words: Words, names: Names, said: kinds.BathStopped) -> str:
    why = say.choice(words, "stop_reason", said.reason)
    return words.gettext("stopped: %(why)s", why=why)


def _cleared(words: Words, names: Names, said: kinds.BathCleared) -> str:
    why = say.choice(words, "clear_reason", said.reason)
    return words.gettext("allowed again: %(why)s", why=why)


def _finished(words: Words, names: Names, said: kinds.BathFinished) -> str:
    why = say.choice(words, "finish_reason", said.reason)
    return words.gettext("finished: %(why)s", why=why)


def _read(words: Words, names: Names, said: kinds.ReadingTaken) -> str:
    instrument = say.choice(words, "instrument", said.instrument)
    if said.outcome is not None:
        found = say.choice(words, "outcome", said.outcome)
    elif said.gravity is not None and said.temperature is not None:
        found = words.gettext(
            "%(gravity)s at %(temperature)s",
            gravity=words.number(float(said.gravity), 4),
            temperature=quantity_text(words, said.temperature),
        )
    else:
        level = said.depth or said.litres
        found = quantity_text(words, level) if level else "—"
    return words.gettext("%(instrument)s: %(found)s", instrument=instrument, found=found)


def _through(words: Words, names: Names, said: kinds.SheetsThrough) -> str:
    told_in = [
        words.gettext(
            "%(sheets)s through",
            sheets=say.sheets(words, said.sheet_count, said.sheet_format),
        ),
        say.choice(words, "method", said.method),
        paper(words, names, said.lot, said.paper),
    ]
    if said.took_out is not None and said.put_back is not None:
        told_in.append(
            words.gettext(
                "took out %(out)s, put back %(back)s",
                out=quantity_text(words, said.took_out),
                back=quantity_text(words, said.put_back),
            )
        )
    if said.reason:
        told_in.append(say.choice(words, "use_reason", said.reason))
    return ", ".join(told_in)


def paper(words: Words, names: Names, lot: Subject | None, own: Subject | None) -> str:
    """Say which paper sheets were of: the lot's name, or a member's own."""
    if lot is not None:
        return names.of("lot", lot)
    if own is not None:
        return words.gettext("own paper, %(paper)s", paper=names.of("paper", own))
    return words.gettext("own paper")


def _sorted(words: Words, names: Names, said: kinds.SheetsSorted) -> str:
    parts = [
        words.gettext("%(count)s %(how)s", count=getattr(said, word), how=how)
        for word, how in (
            ("good", words.gettext("good")),
            *((code, say.choice(words, "fault", code)) for code in kinds.FAULTS),
        )
        if getattr(said, word)
    ]
    return words.gettext("sorted: %(parts)s", parts=", ".join(parts))


def _received(words: Words, names: Names, said: kinds.LotReceived) -> str:
    amount = quantity_text(words, said.weight) if said.weight else str(said.sheet_count)
    return words.gettext("received %(name)s: %(amount)s", name=said.name, amount=amount)


def _spoons(words: Words, names: Names, said: kinds.LotSpoonWeighed) -> str:
    return words.ngettext(
        "weighed %(num)d level spoon of %(name)s: %(weight)s",
        "weighed %(num)d level spoons of %(name)s: %(weight)s",
        said.spoon_count,
        name=names.of("lot", said.lot),
        weight=quantity_text(words, said.weight),
    )


def _checked(words: Words, names: Names, said: kinds.InstrumentChecked) -> str:
    return words.gettext(
        "hydrometer in plain tap water: %(gravity)s at %(temperature)s",
        gravity=words.number(float(said.gravity), 4),
        temperature=quantity_text(words, said.temperature),
    )


_TELLERS: dict[type[Any], Callable[[Words, Names, Any], str]] = {
    kinds.BathMixed: _mixed,
    kinds.BathToppedUp: _topped_up,
    kinds.BathCared: _cared,
    kinds.BathStopped: _stopped,
    kinds.BathCleared: _cleared,
    kinds.BathFinished: _finished,
    kinds.ReadingTaken: _read,
    kinds.SheetsThrough: _through,
    kinds.SheetsSorted: _sorted,
    kinds.LotReceived: _received,
    kinds.LotSpoonWeighed: _spoons,
    kinds.InstrumentChecked: _checked,
}


def typed(quantity: Quantity) -> str:
    """Return the number of a quantity as it goes back into a field: as typed, if it was one."""
    try:
        same = read_number(quantity.typed) == quantity.n
    except NotUnderstood:
        same = False
    return quantity.typed if same else wire(quantity.n)
