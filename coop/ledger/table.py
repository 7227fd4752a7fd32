"""The closed table of kinds: schema, who may write one, and which subjects it touches."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from coop.ids import EntryId, Subject
from coop.ledger import accounts, kinds
from coop.ledger.kinds import Content

HOUSE = Subject("house")
LEDGER = Subject("ledger")
DEVICE_COUNT = "device_count"
"""The sort under which what was written on a device is gathered; there is no fold of it."""

ANYONE = frozenset({"member", "coordinator", "safety_officer", "treasurer", "teacher"})
COORDINATOR = frozenset({"coordinator"})
BOOKING = frozenset({"coordinator", "teacher"})
TREASURER = frozenset({"treasurer"})
SAFETY = frozenset({"coordinator", "safety_officer"})
OPENING = frozenset({"opening"})
LOT = frozenset({"lot"})
VESSEL = frozenset({"vessel"})

Touch = tuple[str, Subject]


def target(entry: str) -> Subject:
    """Return the subject under which corrections of an entry are gathered."""
    return Subject(f"entry:{entry}")


def written_on(device: str) -> Subject:
    """Return the subject under which what was written on a device is gathered."""
    return Subject(f"on:{device}")


def judged(subject: str) -> Subject:
    """Return the subject under which judgements of a subject's findings are gathered."""
    return Subject(f"judged:{subject}")


TOUCH_VERSION = "2"
"""
Raised whenever an entry of a kind that was there before touches other subjects.

`coop upgrade` then writes anew what is touched, and nothing is served before.
"""


def supply_of(
    said: kinds.LotReceived | kinds.OrderPlaced | kinds.SessionNeed | kinds.SupplyDescribed,
) -> Subject:
    """Return the supply that something is of: its substance, as accounts name it."""
    if said.what == "paper":
        return Subject(accounts.paper(said.paper))
    if said.what == "alum":
        return Subject(accounts.salt(said.salt or ""))
    if said.what in kinds.POWDERS:
        return Subject(accounts.powder(said.what))
    return Subject(accounts.other(said.supply))


def needed(need: str, about: str) -> Subject:
    """Return the subject under which it is gathered that a need was put off."""
    return Subject(f"need:{need}:{about}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """
    One kind of entry.

    Attributes:
        code: Its name on the wire.
        content: The class of what is said, at version `v`.
        who: Roles that may write one; `opening` is the first-run page alone.
        touches: Gives (sort, subject) of everything an entry of this kind is folded into,
            its first subject first.
        names: Sorts it only names: what goes out of a lot stands with its taker, so the lot's
            own state is as it was.
        keeps: Sorts it changes in nothing that another fold reads.
        signed_in_only: Written from a signed-in page only, never from a device's queue.
    """

    code: str
    content: type[Content]
    who: frozenset[str]
    touches: Callable[[EntryId, Content], Iterator[Touch]]
    v: int = 1
    names: frozenset[str] = frozenset()
    keeps: frozenset[str] = frozenset()
    signed_in_only: bool = False


def _fixed(sort: str, subject: Subject) -> Callable[[EntryId, Content], Iterator[Touch]]:
    def touches(entry: EntryId, content: Content) -> Iterator[Touch]:
        yield sort, subject

    return touches


def _edition(sort: str) -> Callable[[EntryId, Content], Iterator[Touch]]:
    """Touch the thing described; the first edition's entry makes it."""

    def touches(entry: EntryId, content: Content) -> Iterator[Touch]:
        yield sort, getattr(content, sort) or Subject(entry)

    return touches


def _named(*fields: tuple[str, str]) -> Callable[[EntryId, Content], Iterator[Touch]]:
    """Touch what stands in these fields, where it is said."""

    def touches(entry: EntryId, content: Content) -> Iterator[Touch]:
        for sort, name in fields:
            subject = getattr(content, name)
            if subject is not None:
                yield sort, subject

    return touches


def _made(sort: str, *fields: tuple[str, str]) -> Callable[[EntryId, Content], Iterator[Touch]]:
    """Touch the thing this entry makes, then what it names."""
    rest = _named(*fields)

    def touches(entry: EntryId, content: Content) -> Iterator[Touch]:
        yield sort, Subject(entry)
        yield from rest(entry, content)

    return touches


def _opened(entry: EntryId, content: Content) -> Iterator[Touch]:
    assert isinstance(content, kinds.LedgerOpened)
    yield "ledger", LEDGER
    yield "member", content.coordinator


def _mixed(entry: EntryId, content: Content) -> Iterator[Touch]:
    assert isinstance(content, kinds.BathMixed)
    yield "bath", Subject(entry)
    yield "vessel", content.vessel
    yield from _lots(content)


def _topped_up(entry: EntryId, content: Content) -> Iterator[Touch]:
    assert isinstance(content, kinds.BathToppedUp)
    yield "bath", content.bath
    yield from _lots(content)


def _lots(content: kinds.BathMixed | kinds.BathToppedUp) -> Iterator[Touch]:
    lots = [part.lot for part in content.salt]
    lots += [part.lot for part in content.powder if part.lot is not None]
    yield from dict.fromkeys(("lot", lot) for lot in lots)


def part_of(entry: EntryId, place: int) -> Subject:
    """
    Return the subject of the part at a place (from 0) that an entry makes.

    >>> part_of(EntryId("e"), 0), part_of(EntryId("e"), 1)
    ('e', 'e:2')
    """
    return Subject(entry if place == 0 else f"{entry}:{place + 1}")


def entry_of(subject: Subject) -> EntryId:
    """
    Return the entry that made a subject: for a part, the one that poured it off.

    >>> entry_of(Subject("e")), entry_of(Subject("e:2"))
    ('e', 'e')
    """
    return EntryId(subject.partition(":")[0])


def _split(entry: EntryId, content: Content) -> Iterator[Touch]:
    assert isinstance(content, kinds.BathSplit)
    yield "bath", content.bath
    for place in range(len(content.parts)):
        yield "bath", part_of(entry, place)
    yield from dict.fromkeys(("vessel", part.vessel) for part in content.parts)


def _through(entry: EntryId, content: Content) -> Iterator[Touch]:
    assert isinstance(content, kinds.SheetsThrough)
    if content.bath is not None:
        yield "bath", content.bath
        if content.stack is None:
            yield "stack", Subject(entry)
    if content.size is not None:
        yield "bath", content.size
    if content.stack is not None:
        yield "stack", content.stack
    if content.lot is not None:
        yield "lot", content.lot


def _supply(entry: EntryId, content: Content) -> Iterator[Touch]:
    """Touch the supply described; of what is no substance its first edition makes it."""
    assert isinstance(content, kinds.SupplyDescribed)
    if content.what in kinds.OTHER_SUPPLIES:
        yield "supply", Subject(accounts.other(content.supply or Subject(entry)))
    else:
        yield "supply", supply_of(content)


def _received(entry: EntryId, content: Content) -> Iterator[Touch]:
    assert isinstance(content, kinds.LotReceived)
    yield "lot", Subject(entry)
    yield "supply", supply_of(content)
    if content.order is not None:
        yield "order", content.order


def _moved(entry: EntryId, content: Content) -> Iterator[Touch]:
    assert isinstance(content, kinds.LotMoved)
    yield "lot", content.lot
    if content.into is not None:
        yield "lot", content.into
    elif content.amount is not None or content.count is not None:
        yield "lot", Subject(entry)


def _cut(entry: EntryId, content: Content) -> Iterator[Touch]:
    assert isinstance(content, kinds.LotCut)
    yield "lot", Subject(entry)
    yield "lot", content.lot
    yield "supply", Subject(accounts.paper(content.paper))


def _ordered(entry: EntryId, content: Content) -> Iterator[Touch]:
    assert isinstance(content, kinds.OrderPlaced)
    yield "order", Subject(entry)
    yield "supply", supply_of(content)


def _put_off(entry: EntryId, content: Content) -> Iterator[Touch]:
    assert isinstance(content, kinds.NeedPutOff)
    yield "put_off", needed(content.need, content.about)


def _judged(entry: EntryId, content: Content) -> Iterator[Touch]:
    assert isinstance(content, kinds.FindingJudged)
    yield "judgement", judged(content.subject)


def _erased(entry: EntryId, content: Content) -> Iterator[Touch]:
    assert isinstance(content, kinds.AttachmentErased)
    yield "attachment", Subject(f"attachment:{content.attachment}")


def _settled(entry: EntryId, content: Content) -> Iterator[Touch]:
    assert isinstance(content, kinds.DraftSettled)
    yield "draft", Subject(f"draft:{content.draft}")


def _corrected(entry: EntryId, content: Content) -> Iterator[Touch]:
    """A correction goes wherever its target goes; the journal adds those (see `reach`)."""
    assert isinstance(content, kinds.EntryCorrected)
    yield "entry", target(content.target)


_ALL = (
    Kind(
        code="ledger.opened",
        content=kinds.LedgerOpened,
        who=OPENING,
        touches=_opened,
        signed_in_only=True,
    ),
    Kind(
        code="studio.described",
        content=kinds.StudioDescribed,
        who=COORDINATOR,
        touches=_edition("studio"),
    ),
    Kind(
        code="vessel.described",
        content=kinds.VesselDescribed,
        who=COORDINATOR,
        touches=_edition("vessel"),
    ),
    Kind(
        code="paper.described",
        content=kinds.PaperDescribed,
        who=COORDINATOR,
        touches=_edition("paper"),
    ),
    Kind(
        code="recipe.published",
        content=kinds.RecipePublished,
        who=COORDINATOR,
        touches=_edition("recipe"),
    ),
    Kind(
        code="limits.set",
        content=kinds.LimitsSet,
        who=COORDINATOR,
        touches=_fixed("house", HOUSE),
        signed_in_only=True,
    ),
    Kind(
        code="member.invited",
        content=kinds.MemberInvited,
        who=COORDINATOR,
        touches=_made("member"),
        signed_in_only=True,
    ),
    Kind(
        code="member.joined",
        content=kinds.MemberJoined,
        who=frozenset({"opening", "invited"}),
        touches=_named(("member", "member")),
        signed_in_only=True,
    ),
    Kind(
        code="member.role_set",
        content=kinds.MemberRoleSet,
        who=COORDINATOR,
        touches=_named(("member", "member")),
        signed_in_only=True,
    ),
    Kind(
        code="member.left",
        content=kinds.MemberLeft,
        who=COORDINATOR,
        touches=_named(("member", "member")),
        signed_in_only=True,
    ),
    Kind(
        code="supply.described",
        content=kinds.SupplyDescribed,
        who=COORDINATOR,
        touches=_supply,
    ),
    Kind(
        code="supplier.described",
        content=kinds.SupplierDescribed,
        who=COORDINATOR,
        touches=_edition("supplier"),
    ),
    Kind(
        code="lot.received",
        content=kinds.LotReceived,
        who=ANYONE,
        touches=_received,
    ),
    Kind(
        code="lot.opened",
        content=kinds.LotOpened,
        who=ANYONE,
        touches=_named(("lot", "lot")),
    ),
    Kind(
        code="lot.counted",
        content=kinds.LotCounted,
        who=ANYONE,
        touches=_named(("lot", "lot")),
    ),
    Kind(
        code="lot.moved",
        content=kinds.LotMoved,
        who=ANYONE,
        touches=_moved,
    ),
    Kind(
        code="lot.adjusted",
        content=kinds.LotAdjusted,
        who=ANYONE,
        touches=_named(("lot", "lot")),
        signed_in_only=True,
    ),
    Kind(
        code="lot.priced",
        content=kinds.LotPriced,
        who=TREASURER,
        touches=_named(("lot", "lot")),
        signed_in_only=True,
    ),
    Kind(
        code="lot.cut",
        content=kinds.LotCut,
        who=ANYONE,
        touches=_cut,
    ),
    Kind(
        code="order.placed",
        content=kinds.OrderPlaced,
        who=ANYONE,
        touches=_ordered,
    ),
    Kind(
        code="order.cancelled",
        content=kinds.OrderCancelled,
        who=ANYONE,
        touches=_named(("order", "order")),
    ),
    Kind(
        code="session.planned",
        content=kinds.SessionPlanned,
        who=BOOKING,
        touches=_edition("session"),
    ),
    Kind(
        code="need.put_off",
        content=kinds.NeedPutOff,
        who=ANYONE,
        touches=_put_off,
        signed_in_only=True,
    ),
    Kind(
        code="permission.recorded",
        content=kinds.PermissionRecorded,
        who=SAFETY,
        touches=_made("permission", ("studio", "studio")),
    ),
    Kind(
        code="rules.published",
        content=kinds.RulesPublished,
        who=SAFETY,
        touches=_edition("rules"),
        signed_in_only=True,
    ),
    Kind(
        code="lot.spoon_weighed",
        content=kinds.LotSpoonWeighed,
        who=ANYONE,
        touches=_named(("lot", "lot")),
    ),
    Kind(
        code="bath.mixed",
        content=kinds.BathMixed,
        who=ANYONE,
        touches=_mixed,
        names=LOT,
        keeps=VESSEL,
    ),
    Kind(
        code="bath.topped_up",
        content=kinds.BathToppedUp,
        who=ANYONE,
        touches=_topped_up,
        names=LOT,
    ),
    Kind(
        code="bath.split",
        content=kinds.BathSplit,
        who=ANYONE,
        touches=_split,
        keeps=VESSEL,
    ),
    Kind(
        code="bath.joined",
        content=kinds.BathJoined,
        who=ANYONE,
        touches=_named(("bath", "bath"), ("bath", "giver")),
    ),
    Kind(
        code="bath.carried",
        content=kinds.BathCarried,
        who=ANYONE,
        touches=_named(("bath", "bath"), ("vessel", "vessel")),
        keeps=VESSEL,
    ),
    Kind(
        code="bath.kept_for",
        content=kinds.BathKeptFor,
        who=ANYONE,
        touches=_named(("bath", "bath")),
    ),
    Kind(
        code="bath.cared",
        content=kinds.BathCared,
        who=ANYONE,
        touches=_named(("bath", "bath")),
    ),
    Kind(
        code="bath.stopped",
        content=kinds.BathStopped,
        who=ANYONE,
        touches=_named(("bath", "bath")),
    ),
    Kind(
        code="bath.cleared",
        content=kinds.BathCleared,
        who=ANYONE,
        touches=_named(("bath", "bath")),
        signed_in_only=True,
    ),
    Kind(
        code="bath.finished",
        content=kinds.BathFinished,
        who=ANYONE,
        touches=_named(("bath", "bath")),
    ),
    Kind(
        code="reading.taken",
        content=kinds.ReadingTaken,
        who=ANYONE,
        touches=_named(("bath", "bath"), ("jar", "jar")),
    ),
    Kind(
        code="instrument.checked",
        content=kinds.InstrumentChecked,
        who=ANYONE,
        touches=_named(("studio", "studio")),
    ),
    Kind(
        code="sheets.through",
        content=kinds.SheetsThrough,
        who=ANYONE,
        touches=_through,
        names=LOT,
    ),
    Kind(
        code="sheets.sorted",
        content=kinds.SheetsSorted,
        who=ANYONE,
        touches=_named(("stack", "stack")),
    ),
    Kind(
        code="stack.dried",
        content=kinds.StackDried,
        who=ANYONE,
        touches=_named(("stack", "stack")),
    ),
    Kind(
        code="stack.flattened",
        content=kinds.StackFlattened,
        who=ANYONE,
        touches=_named(("stack", "stack")),
    ),
    Kind(
        code="stack.put_away",
        content=kinds.StackPutAway,
        who=ANYONE,
        touches=_named(("stack", "stack")),
    ),
    Kind(
        code="stack.tested",
        content=kinds.StackTested,
        who=ANYONE,
        touches=_named(("stack", "stack")),
    ),
    Kind(
        code="stack.binned",
        content=kinds.StackBinned,
        who=ANYONE,
        touches=_named(("stack", "stack")),
    ),
    Kind(
        code="stack.warning_seen",
        content=kinds.StackWarningSeen,
        who=ANYONE,
        touches=_named(("stack", "stack")),
    ),
    Kind(
        code="pickup.learned",
        content=kinds.PickupLearned,
        who=COORDINATOR,
        touches=_named(("paper", "paper")),
        signed_in_only=True,
    ),
    Kind(
        code="jug.found",
        content=kinds.JugFound,
        who=ANYONE,
        touches=_made("jug"),
    ),
    Kind(
        code="jug.known",
        content=kinds.JugKnown,
        who=ANYONE,
        touches=_named(("jug", "jug")),
    ),
    Kind(
        code="jar.vouched",
        content=kinds.JarVouched,
        who=ANYONE,
        touches=_made("disposal", ("jug", "jug")),
    ),
    Kind(
        code="disposal.judged",
        content=kinds.DisposalJudged,
        who=ANYONE,
        touches=_made("disposal", ("bath", "bath"), ("jar", "jar"), ("jug", "jug")),
        signed_in_only=True,
    ),
    Kind(
        code="disposal.treated",
        content=kinds.DisposalTreated,
        who=ANYONE,
        touches=_made("disposal", ("bath", "bath"), ("jar", "jar"), ("lot", "lot")),
        names=LOT,
    ),
    Kind(
        code="disposal.done",
        content=kinds.DisposalDone,
        who=ANYONE,
        touches=_made(
            "disposal", ("bath", "bath"), ("jar", "jar"), ("jug", "jug"), ("lot", "lot")
        ),
        names=LOT,
    ),
    Kind(
        code="waste.started",
        content=kinds.WasteStarted,
        who=ANYONE,
        touches=_made("jar"),
    ),
    Kind(
        code="waste.added",
        content=kinds.WasteAdded,
        who=ANYONE,
        touches=_made(
            "disposal",
            ("jar", "jar"),
            ("bath", "bath"),
            ("jar", "from_jar"),
            ("jug", "jug"),
            ("lot", "lot"),
        ),
        names=LOT,
    ),
    Kind(
        code="waste.collected",
        content=kinds.WasteCollected,
        who=ANYONE,
        touches=_made("disposal", ("jar", "jar")),
    ),
    Kind(
        code="waste.carried",
        content=kinds.WasteCarried,
        who=ANYONE,
        touches=_made("disposal", ("bath", "bath"), ("jar", "jar")),
    ),
    Kind(
        code="mishap.noted",
        content=kinds.MishapNoted,
        who=ANYONE,
        touches=_made("disposal", ("bath", "bath"), ("jar", "jar")),
    ),
    Kind(
        code="finding.judged",
        content=kinds.FindingJudged,
        who=COORDINATOR,
        touches=_judged,
        signed_in_only=True,
    ),
    Kind(
        code="entry.corrected",
        content=kinds.EntryCorrected,
        who=ANYONE,
        touches=_corrected,
    ),
    Kind(
        code="attachment.erased",
        content=kinds.AttachmentErased,
        who=COORDINATOR,
        touches=_erased,
        signed_in_only=True,
    ),
    Kind(
        code="device.enrolled",
        content=kinds.DeviceEnrolled,
        who=ANYONE,
        touches=_made("device"),
        signed_in_only=True,
    ),
    Kind(
        code="device.member_added",
        content=kinds.DeviceMemberAdded,
        who=ANYONE,
        touches=_named(("device", "device")),
        signed_in_only=True,
    ),
    Kind(
        code="device.member_removed",
        content=kinds.DeviceMemberRemoved,
        who=ANYONE,
        touches=_named(("device", "device")),
        signed_in_only=True,
    ),
    Kind(
        code="device.revoked",
        content=kinds.DeviceRevoked,
        who=ANYONE,
        touches=_named(("device", "device")),
        signed_in_only=True,
    ),
    Kind(
        code="draft.settled",
        content=kinds.DraftSettled,
        who=COORDINATOR,
        touches=_settled,
        signed_in_only=True,
    ),
)

KINDS: Mapping[str, Kind] = MappingProxyType({kind.code: kind for kind in _ALL})
KIND_OF: Mapping[type[Content], Kind] = MappingProxyType({kind.content: kind for kind in _ALL})
