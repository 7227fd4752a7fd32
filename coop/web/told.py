"""What an entry says, told in a few words; used in histories and where entries are mended."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from coop.ids import MemberId, Subject
from coop.ledger import kinds
from coop.ledger.any_bath import AnyBath
from coop.ledger.baths import BathState
from coop.ledger.entries import kind_of
from coop.ledger.ports import Journal
from coop.ledger.states import KeptFor
from coop.ledger.table import supply_of
from coop.ledger.ways_out import DRAIN_INSTRUMENTS
from coop.rules.impossible import read_alike
from coop.rules.reasons import Word
from coop.units.fault import NotUnderstood
from coop.units.number import read_number, wire
from coop.units.quantity import Quantity
from coop.web import amounts
from coop.web import words as say
from coop.web.counted import count_told
from coop.web.doses import number_text, quantity_text
from coop.web.i18n import Words
from coop.web.ordering import packs_text
from coop.web.page import face, now, words
from coop.web.reasons import Telling, act
from coop.web.stock import amount_text, supply_name
from coop.web.told_wastes import TELLERS, drain_reading


def telling() -> Telling:
    """Return how things are told in this request."""
    return Telling(words=words(), now=now(), name_of=lambda one: face(MemberId(one)).name)


def bath_names(baths: Iterable[AnyBath]) -> Mapping[Subject, str]:
    """Return the names of baths; those that are read alike with hour and initials."""
    wanted = tuple(baths)
    often = Counter(read_alike(one.name) for one in wanted)
    return {
        one.id: one.name if often[read_alike(one.name)] == 1 else told_apart(one)
        for one in wanted
    }


def bath_url(bath: AnyBath) -> str:
    """Return the address of a bath's own page."""
    return f"/{'baths' if isinstance(bath, BathState) else 'liquids'}/{bath.id}"


def tag_act(bath: AnyBath) -> tuple[str, str]:
    """Return what prints a bath's tag, and where."""
    return words().gettext("Print its tag"), _tag_url(bath.id)


def to_hang(bath: str, word: str, written_count: int) -> str:
    """Return where a tag is printed: of a new bath, or of one that its back must stop."""
    return _tag_url(bath) if written_count == 1 or word == Word.DO_NOT_USE else ""


def _tag_url(bath: str) -> str:
    return f"/tags?bath={bath}"


def act_on(code: str, bath: AnyBath) -> tuple[str, str]:
    """Return a next act's text and the address of its page, for a bath of any kind."""
    text, url = act(words(), code, bath.id)
    if isinstance(bath, BathState):
        return text, url
    for page in ("/test", "/mend"):
        url = url.replace(f"/baths/{bath.id}{page}", f"{bath_url(bath)}{page}")
    return text, url


def kept_text(kept: KeptFor | None) -> str:
    """Say for whom a bath is kept; empty for nobody, and once that is over."""
    if kept is None or (kept.until is not None and kept.until <= now()):
        return ""
    whom = ", ".join(filter(None, (member_name(kept.member), kept.session)))
    if kept.until is None:
        return words().gettext("Kept for %(who)s.", who=whom.removesuffix("."))
    until = say.when(words(), kept.until, now())
    return words().gettext("Kept for %(who)s until %(when)s.", who=whom, when=until)


def told_apart(bath: AnyBath) -> str:
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
    parts = ", ".join((*_parts(words, names, said.salt), *_powders(words, names, said.powder)))
    if not parts:
        return words.gettext(
            "mixed: %(water)s of water", water=quantity_text(words, said.water)
        )
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


def _powders(words: Words, names: Names, powder: tuple[kinds.PowderPart, ...]) -> Iterator[str]:
    for part in powder:
        of = say.choice(words, "powder", part.powder)
        lot = f" {names.of('lot', part.lot)}" if part.lot else ""
        yield f"{quantity_text(words, part.amount)} {of}{lot}"


def _topped_up(words: Words, names: Names, said: kinds.BathToppedUp) -> str:
    parts = ", ".join((*_parts(words, names, said.salt), *_powders(words, names, said.powder)))
    if said.water is None:
        return words.gettext("topped up: %(salt)s, no water", salt=parts)
    if parts:
        return words.gettext(
            "topped up: %(water)s of water, %(salt)s",
            water=quantity_text(words, said.water),
            salt=parts,
        )
    if not said.reason:
        return words.gettext(
            "topped up with %(water)s of water alone", water=quantity_text(words, said.water)
        )
    why = say.choice(words, "water_only_reason", said.reason)
    return words.gettext(
        "topped up with %(water)s of water alone (%(why)s)",
        water=quantity_text(words, said.water),
        why=why,
    )


def _split(words: Words, names: Names, said: kinds.BathSplit) -> str:
    parts = (f"{quantity_text(words, one.litres)} → {one.name}" for one in said.parts)
    return words.gettext(
        "poured off from %(bath)s: %(parts)s",
        bath=names.of("bath", said.bath),
        parts=", ".join(parts),
    )


def _joined(words: Words, names: Names, said: kinds.BathJoined) -> str:
    giver = names.of("bath", said.giver)
    taker = names.of("bath", said.bath)
    if said.litres is None:
        return words.gettext("all of %(giver)s poured into %(bath)s", giver=giver, bath=taker)
    return words.gettext(
        "%(litres)s of %(giver)s poured into %(bath)s",
        litres=quantity_text(words, said.litres),
        giver=giver,
        bath=taker,
    )


def _carried(words: Words, names: Names, said: kinds.BathCarried) -> str:
    return words.gettext("carried to %(tub)s", tub=names.of("vessel", said.vessel))


def _kept_for(words: Words, names: Names, said: kinds.BathKeptFor) -> str:
    if said.member is None and not said.session:
        return words.gettext("free for everybody again")
    whom = ", ".join(filter(None, (member_name(said.member), said.session)))
    if said.until is None:
        return words.gettext("kept for %(whom)s", whom=whom)
    return words.gettext(
        "kept for %(whom)s until %(until)s", whom=whom, until=words.moment(said.until)
    )


def member_name(member: Subject | MemberId | None) -> str:
    """Return the name of a member that an entry speaks of; empty for nobody."""
    return face(MemberId(member)).name if member else ""


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
    if said.instrument in DRAIN_INSTRUMENTS:
        found = drain_reading(words, said)
    elif said.outcome is not None:
        found = outcome(words, said.instrument, said.outcome)
        if said.spread_mm is not None:
            found = f"{found}, {amounts.length(words, float(said.spread_mm))}"
    elif said.seconds is not None:
        found = words.gettext(
            "%(seconds)s s through %(funnel)s",
            seconds=words.number(float(said.seconds), 1),
            funnel=said.funnel,
        )
    elif said.gravity is not None and said.temperature is not None:
        found = words.gettext(
            "%(gravity)s at %(temperature)s",
            gravity=words.number(float(said.gravity), 4),
            temperature=quantity_text(words, said.temperature),
        )
    else:
        level = said.depth or said.litres or said.temperature
        found = quantity_text(words, level) if level else "—"
    return words.gettext("%(instrument)s: %(found)s", instrument=instrument, found=found)


OUTCOMES = {"drop_test": "drop", "look": "look", "smell": "smell"}


def outcome(words: Words, instrument: str, code: str) -> str:
    """Say how a test came out."""
    return say.choice(words, OUTCOMES.get(instrument, "outcome"), code)


def _through(words: Words, names: Names, said: kinds.SheetsThrough) -> str:
    sheets = say.sheets(words, said.sheet_count, said.sheet_format)
    told_in = []
    if said.bath is not None:
        told_in += [
            _alumed(words, sheets, again=said.stack is not None),
            say.choice(words, "method", said.method),
            paper(words, names, said.lot, said.paper),
        ]
    if said.size is not None:
        size = names.of("bath", said.size)
        laid = words.gettext("%(sheets)s laid on %(size)s", sheets=sheets, size=size)
        told_in.append(laid)
    if said.took_out is not None and said.put_back is not None:
        told_in.append(
            words.gettext(
                "took out %(out)s, put back %(back)s",
                out=quantity_text(words, said.took_out),
                back=quantity_text(words, said.put_back),
            )
        )
    if said.reason:
        group = "use_reason" if said.bath is not None else "lay_reason"
        told_in.append(say.choice(words, group, said.reason))
    if said.hands is not None:
        told_in.append(words.gettext("done by %(whom)s", whom=member_name(said.hands)))
    return ", ".join(told_in)


def _alumed(words: Words, sheets: str, *, again: bool) -> str:
    if again:
        return words.gettext("%(sheets)s through once more", sheets=sheets)
    return words.gettext("%(sheets)s through", sheets=sheets)


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
    if said.keep == "yes":
        parts.append(words.gettext("one kept"))
    return words.gettext("sorted: %(parts)s", parts=", ".join(parts))


def _dried(words: Words, names: Names, said: kinds.StackDried) -> str:
    return words.gettext("drying %(how)s", how=say.choice(words, "drying", said.how))


def _flattened(words: Words, names: Names, said: kinds.StackFlattened) -> str:
    return words.gettext("flattened %(how)s", how=say.choice(words, "flattening", said.how))


def _put_away(words: Words, names: Names, said: kinds.StackPutAway) -> str:
    state = say.choice(words, "stack_state", said.state)
    if not said.place:
        return words.gettext("put away %(state)s", state=state)
    return words.gettext("put away %(state)s, %(place)s", state=state, place=said.place)


def _tested(words: Words, names: Names, said: kinds.StackTested) -> str:
    how = say.choice(words, "outcome", said.outcome)
    return words.gettext("strip print of a corner: %(how)s", how=how)


def _binned(words: Words, names: Names, said: kinds.StackBinned) -> str:
    return words.ngettext(
        "threw %(num)d sheet away: %(why)s",
        "threw %(num)d sheets away: %(why)s",
        said.sheet_count,
        why=say.choice(words, "bin_reason", said.reason),
    )


def _received(words: Words, names: Names, said: kinds.LotReceived) -> str:
    amount = _pack(words, said)
    if said.pack_count > 1:
        amount = packs_text(words, said.pack_count, amount)
    return words.gettext("received %(name)s: %(amount)s", name=said.name, amount=amount)


def _pack(words: Words, said: kinds.LotReceived) -> str:
    held = said.weight or said.volume
    if held is not None:
        return quantity_text(words, held)
    if said.sheet_count is not None:
        return say.full_sheets(words, said.sheet_count)
    return amount_text(words, said.what, "pieces", said.piece_count or 0)


def _described(words: Words, names: Names, said: kinds.SupplyDescribed) -> str:
    name = said.name or _supply(words, names, supply_of(said))
    return words.gettext("described the supply %(name)s", name=name)


def _supplier(words: Words, names: Names, said: kinds.SupplierDescribed) -> str:
    return words.gettext("described the supplier %(name)s", name=said.name)


def _spoons(words: Words, names: Names, said: kinds.LotSpoonWeighed) -> str:
    return words.ngettext(
        "weighed %(num)d level spoon of %(name)s: %(weight)s",
        "weighed %(num)d level spoons of %(name)s: %(weight)s",
        said.spoon_count,
        name=names.of("lot", said.lot),
        weight=quantity_text(words, said.weight),
    )


def _counted(words: Words, names: Names, said: kinds.LotCounted) -> str:
    seen = count_told(words, said)
    if said.counted_with is None:
        return seen
    second = face(MemberId(said.counted_with)).name
    return words.gettext("%(counted)s, together with %(who)s", counted=seen, who=second)


def _opened(words: Words, names: Names, said: kinds.LotOpened) -> str:
    name = names.of("lot", said.lot)
    if said.tare is None:
        return words.gettext("opened %(name)s", name=name)
    return words.gettext(
        "opened %(name)s: its empty tub weighs %(tare)s",
        name=name,
        tare=quantity_text(words, said.tare),
    )


def _moved(words: Words, names: Names, said: kinds.LotMoved) -> str:
    told_with = {
        "name": names.of("lot", said.lot),
        "studio": names.of("studio", said.studio),
        "much": _of_lot(words, said),
    }
    if said.into is not None:
        return words.gettext(
            "moved %(much)s of %(name)s to %(studio)s, into %(lot)s",
            lot=names.of("lot", said.into),
            **told_with,
        )
    if not told_with["much"]:
        return words.gettext("moved %(name)s to %(studio)s", **told_with)
    return words.gettext("moved %(much)s of %(name)s to %(studio)s", **told_with)


def _of_lot(words: Words, said: kinds.LotMoved | kinds.LotAdjusted) -> str:
    """Say how much of a lot was meant; empty for all of it."""
    if said.amount is not None:
        return quantity_text(words, said.amount)
    return "" if said.count is None else number_text(words, said.count)


def _adjusted(words: Words, names: Names, said: kinds.LotAdjusted) -> str:
    told_with = {
        "name": names.of("lot", said.lot),
        "much": _of_lot(words, said),
        "why": say.choice(words, "gap_cause", said.cause),
    }
    if said.way == "out":
        return words.gettext("%(name)s put right: %(much)s less (%(why)s)", **told_with)
    return words.gettext("%(name)s put right: %(much)s more (%(why)s)", **told_with)


def _priced(words: Words, names: Names, said: kinds.LotPriced) -> str:
    """Say that it was priced; the price itself is for those who see prices."""
    return words.gettext("wrote the price of %(name)s", name=names.of("lot", said.lot))


def _cut(words: Words, names: Names, said: kinds.LotCut) -> str:
    told_with = {
        "count": said.sheet_count,
        "name": names.of("lot", said.lot),
        "made": said.made_count,
        "paper": names.of("paper", said.paper),
        "lot": said.name,
    }
    if said.turned == "yes":
        return words.gettext(
            "cut %(count)s sheets of %(name)s, turned: %(made)s of %(paper)s, %(lot)s",
            **told_with,
        )
    return words.gettext(
        "cut %(count)s sheets of %(name)s: %(made)s of %(paper)s, %(lot)s", **told_with
    )


def _ordered(words: Words, names: Names, said: kinds.OrderPlaced) -> str:
    pack = quantity_text(words, said.pack) if said.pack else ""
    if said.pack_count is not None:
        pack = say.full_sheets(words, said.pack_count) if said.paper else str(said.pack_count)
    return words.gettext(
        "ordered %(packs)s: %(supply)s",
        packs=packs_text(words, said.packs, pack),
        supply=_supply(words, names, supply_of(said)),
    )


def _cancelled(words: Words, names: Names, said: kinds.OrderCancelled) -> str:
    order = names.journal.state("order", said.order)
    return words.gettext(
        "the rest of what was ordered will not come: %(supply)s (%(why)s)",
        supply=_supply(words, names, order.supply if order else None),
        why=say.choice(words, "cancel_reason", said.reason),
    )


def _supply(words: Words, names: Names, supply: Subject | None) -> str:
    """Return the name of a supply; a dash for one that is not known."""
    state = names.journal.state("supply", supply)
    if state is None:
        return "—"
    return supply_name(words, state, names.journal.state("paper", state.paper))


def _checked(words: Words, names: Names, said: kinds.InstrumentChecked) -> str:
    return words.gettext(
        "hydrometer in plain tap water: %(gravity)s at %(temperature)s",
        gravity=words.number(float(said.gravity), 4),
        temperature=quantity_text(words, said.temperature),
    )


def _planned(words: Words, names: Names, said: kinds.SessionPlanned) -> str:
    numbers = {
        "name": said.name,
        "when": words.moment(said.starts),
        "people": words.ngettext("%(num)d person", "%(num)d people", said.head_count),
    }
    if said.called_off == "yes":
        return words.gettext("called off: %(name)s, %(when)s, %(people)s", **numbers)
    return words.gettext("planned: %(name)s, %(when)s, %(people)s", **numbers)


def _put_off(words: Words, names: Names, said: kinds.NeedPutOff) -> str:
    return words.gettext(
        "put off until %(day)s: %(why)s",
        day=words.day(said.until),
        why=say.choice(words, "put_off_reason", said.reason),
    )


def _permitted(words: Words, names: Names, said: kinds.PermissionRecorded) -> str:
    what = say.choice(words, "permission", said.about)
    if said.outlet is not None:
        way = say.choice(words, "outlet", said.outlet)
        what = words.gettext("%(what)s, %(outlet)s,", what=what, outlet=way)
    return words.gettext(
        "asked %(who)s about %(what)s at %(studio)s: %(answer)s",
        who=said.asked,
        what=what,
        studio=names.of("studio", said.studio),
        answer=say.choice(words, "answer", said.answer),
    )


_TELLERS: dict[type[Any], Callable[[Words, Names, Any], str]] = {
    kinds.BathMixed: _mixed,
    kinds.BathSplit: _split,
    kinds.BathJoined: _joined,
    kinds.BathCarried: _carried,
    kinds.BathKeptFor: _kept_for,
    kinds.BathToppedUp: _topped_up,
    kinds.BathCared: _cared,
    kinds.BathStopped: _stopped,
    kinds.BathCleared: _cleared,
    kinds.BathFinished: _finished,
    kinds.ReadingTaken: _read,
    kinds.SheetsThrough: _through,
    kinds.SheetsSorted: _sorted,
    kinds.StackDried: _dried,
    kinds.StackFlattened: _flattened,
    kinds.StackPutAway: _put_away,
    kinds.StackTested: _tested,
    kinds.StackBinned: _binned,
    kinds.SupplyDescribed: _described,
    kinds.SupplierDescribed: _supplier,
    kinds.LotReceived: _received,
    kinds.LotOpened: _opened,
    kinds.LotMoved: _moved,
    kinds.LotAdjusted: _adjusted,
    kinds.LotPriced: _priced,
    kinds.LotCut: _cut,
    kinds.LotSpoonWeighed: _spoons,
    kinds.LotCounted: _counted,
    kinds.OrderPlaced: _ordered,
    kinds.OrderCancelled: _cancelled,
    kinds.InstrumentChecked: _checked,
    kinds.SessionPlanned: _planned,
    kinds.NeedPutOff: _put_off,
    kinds.PermissionRecorded: _permitted,
    **TELLERS,
}


def typed(quantity: Quantity) -> str:
    """Return the number of a quantity as it goes back into a field: as typed, if it was one."""
    try:
        same = read_number(quantity.typed) == quantity.n
    except NotUnderstood:
        same = False
    return quantity.typed if same else wire(quantity.n)
