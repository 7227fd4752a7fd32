"""The form of a count: what there is to say of a lot, by how it is measured."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any, ClassVar

from wtforms import BooleanField, HiddenField, RadioField, SelectField, StringField

from coop.actions.correct_entry import CORRECTION
from coop.actions.count import count_lot
from coop.actions.write import Draft, Outcome
from coop.ids import EntryId, is_uuid
from coop.ledger import kinds
from coop.ledger.entries import read_content
from coop.ledger.schema import Slip
from coop.ledger.states import LotState, MemberState
from coop.ledger.table import KINDS
from coop.store.desk import Desk
from coop.web.counted import LEVELS
from coop.web.fields import POURED, WEIGHTS, NumberField, UnitField
from coop.web.forms import EntryForm, Happened, Noted, looked_up, options
from coop.web.i18n import N_
from coop.web.page import desk, face, faces, now, who, words
from coop.web.powder import LIQUID

SEEN = ("packs", "weight_typed", "volume_typed", "level", "loose")


class CountRow(EntryForm):
    """
    What was seen of one lot; a row that says nothing is no count.

    Fields that do not go with the lot's measure are taken out by `fit`.
    """

    kind: ClassVar[str] = "lot.counted"

    packs = NumberField(N_("Unopened packs"))
    weight_typed = StringField(
        N_("The open one on the scale"), name="weight.typed", description=N_("With its tub.")
    )
    weight_unit = UnitField(N_("Weighed in"), name="weight.unit", units=WEIGHTS)
    tare_typed = StringField(
        N_("The empty tub weighs"),
        name="tare.typed",
        description=N_("Left empty, nothing is taken off."),
    )
    tare_unit = UnitField(
        N_("The tub weighed in"), name="tare.unit", units=WEIGHTS, default="g"
    )
    volume_typed = StringField(N_("In the open one"), name="volume.typed")
    volume_unit = UnitField(N_("Measured in"), name="volume.unit", units=POURED)
    level = SelectField(
        N_("Or by eye: how full is the open one?"),
        choices=looked_up([("", N_("not by eye")), *LEVELS.items()]),
        default="",
        validate_choice=False,
    )
    loose = NumberField(
        N_("Loose ones"), description=N_("In full sheets; a half sheet counts a half.")
    )
    empty = BooleanField(N_("It is empty"))

    lot: LotState

    def fit(self, lot: LotState, *, propose: bool) -> None:
        """Keep the fields that fit a lot; `propose` its tare where nothing was typed yet."""
        self.lot = lot
        for name in _other_fields(lot):
            del self[name]
        if lot.measure == "pieces":
            self.loose.description = ""
        if propose and "tare_typed" in self and lot.tare_g is not None:
            self.tare_typed.data, self.tare_unit.data = f"{lot.tare_g:g}", "g"

    @property
    def says(self) -> bool:
        """Whether anything was typed, be it right or not."""
        typed = (one for name in SEEN if name in self for one in self[name].raw_data or ())
        return bool(self.empty.data) or any(str(one).strip() for one in typed)

    def content(self) -> kinds.LotCounted:
        """
        Return what is said.

        Raises:
            Slip: It is not right.
        """
        body = self.body() | {"lot": str(self.lot.id)}
        said = read_content(KINDS[self.kind], body, "")
        assert isinstance(said, kinds.LotCounted)
        return said

    def _pairs(self) -> Iterator[tuple[str, str]]:
        """Leave out a tare without a weight: it was proposed, nobody said it."""
        weighed = "weight_typed" in self and str(self.weight_typed.data or "").strip()
        for name, value in super()._pairs():
            if name == "empty":
                yield name, "yes" if self.empty.data else ""
            elif weighed or not name.startswith("tare."):
                yield name, value

    def _write(self, desk: Desk, fixed: dict[str, Any]) -> Outcome:
        entry_id = str(self.entry_id.data or "")
        if not is_uuid(entry_id):
            raise Slip("entry_id", "not-an-id")
        attached = self.attachments(desk, EntryId(entry_id))
        body = self.body() | fixed | {field: one.name for field, one in attached.items()}
        said = Draft(
            id=EntryId(entry_id),
            kind=self.kind,
            body=body,
            attached=tuple(attached.values()),
            **self._time(),
        )
        return count_lot(desk.journal, who(), said, now=now())


def _other_fields(lot: LotState) -> tuple[str, ...]:
    """Return the fields that a lot of this measure has no use for."""
    scale = ("weight_typed", "weight_unit", "tare_typed", "tare_unit")
    poured = ("volume_typed", "volume_unit", "level")
    packs = () if lot.part_of is None and lot.cut_from is None else ("packs",)
    if lot.measure in ("sheets", "pieces"):
        return (*scale, *poured, *packs)
    if lot.measure == "weight" and lot.what != LIQUID:
        return (*poured, "loose", *packs)
    return (*scale, "loose", *packs)


class CountForm(Happened, Noted, CountRow):
    """
    One lot counted. What was typed is said back once before it is written: `warned` is what
    was said back.
    """

    beside: ClassVar[frozenset[str]] = frozenset({"warned"})

    counted_with = SelectField(
        N_("Who counted with you?"),
        description=N_("Two see more than one."),
        validate_choice=False,
    )
    warned = HiddenField()

    @property
    def at(self) -> datetime:
        """
        Return when it was counted.

        Raises:
            Slip: No time was typed.
        """
        at: datetime = self._time().get("happened_at", now())
        return at


class GapForm(EntryForm, Noted):
    """Why a count differs, and by how much for that cause."""

    kind: ClassVar[str] = "lot.adjusted"

    cause = RadioField(N_("What became of it?"), validate_choice=False)
    amount_typed = StringField(
        N_("How much of it?"), name="amount.typed", description=N_("Left empty, all of it.")
    )
    amount_unit = UnitField(N_("Unit"), name="amount.unit")
    count = NumberField(N_("How many of them?"), description=N_("Left empty, all of them."))

    def fit(self, lot: LotState, causes: list[tuple[str, str]]) -> None:
        """Keep the field that fits a lot, and offer the causes."""
        self.cause.choices = options(causes)
        counted = lot.measure in ("sheets", "pieces")
        for name in ("amount_typed", "amount_unit") if counted else ("count",):
            del self[name]
        if not counted:
            self.amount_unit.offer(WEIGHTS if lot.measure == "weight" else POURED)


class MovedForm(EntryForm):
    """What is short here stands over there: one tap moves it; `other` is the lot there."""

    kind: ClassVar[str] = "lot.moved"
    beside: ClassVar[frozenset[str]] = frozenset({"other"})

    other = HiddenField()
    at: datetime

    def _time(self) -> dict[str, Any]:
        """Return when it was moved: before the earlier of the two counts saw it."""
        return {"happened_at": self.at}


class PackForm(EntryForm):
    """A pack holds another amount, `likely`: one tap corrects the receiving of the lot."""

    kind: ClassVar[str] = CORRECTION
    beside: ClassVar[frozenset[str]] = frozenset({"likely"})

    likely = HiddenField()


def members_but_me() -> list[tuple[str, str]]:
    """Return the other members, by name."""
    states: tuple[MemberState, ...] = desk().journal.listed("member")
    here = [one.id for one in states if one.joined_at is not None and one.id != who().member]
    faces().gather(here)
    return sorted(((str(one), face(one).name) for one in here), key=lambda pair: pair[1])


def with_whom(pairs: list[tuple[str, str]]) -> list[Any]:
    """Return the members who may have counted too, nobody first."""
    return options([("", words().gettext("nobody: I counted alone")), *pairs])
