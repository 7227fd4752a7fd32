"""
Forms of entries: their field names are the entry's own, so that what is posted is the body.

A refusal of the core is put beside the field it is about; nothing that was typed is lost.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any, ClassVar

from flask import flash, request
from flask_wtf import FlaskForm
from werkzeug.datastructures import MultiDict
from wtforms import (  # type: ignore[attr-defined]  # SelectChoice is newer than the stubs
    Field,
    HiddenField,
    SelectChoice,
    SelectMultipleField,
    StringField,
    TextAreaField,
)
from wtforms.validators import Length

from coop.actions.write import (
    SALT_BYTES,
    Clash,
    Draft,
    Outcome,
    Written,
    note,
    write,
)
from coop.ids import EntryId, is_uuid
from coop.ledger.ports import NOTE_BYTES_MAX, Attachment
from coop.ledger.schema import Refused, Slip
from coop.ledger.table import KINDS
from coop.ledger.wire import nest
from coop.store.desk import Desk
from coop.units.number import wire
from coop.units.quantity import Quantity
from coop.web import words as say
from coop.web.i18n import N_, AsItIs
from coop.web.page import desk, new_id, now, phone, salt, who, words, zone
from coop.web.security_log import note_entry

NOTE_LENGTH_MAX = NOTE_BYTES_MAX // 4
NOTE_SALT = "note_salt"
ARRIVED = "arrived"
"""The category under which a phone's page is told which of its forms came in."""
_SALT = re.compile(rf"[0-9a-f]{{{2 * SALT_BYTES}}}")
LOCAL_MINUTE = "%Y-%m-%dT%H:%M"


class PageForm(FlaskForm):  # type: ignore[misc]  # the library carries no types
    """A form of text fields: files and JSON that stand in a field's place are left aside."""

    class Meta(FlaskForm.Meta):  # type: ignore[misc]  # the library carries no types
        """The library would hand them to fields, which know text only."""

        def wrap_formdata(self, form: FlaskForm, formdata: Any) -> Any:
            if formdata is None or isinstance(formdata, MultiDict):
                return formdata
            return request.form or None if form.is_submitted() else None


class EntryForm(PageForm):
    """
    A form that writes one entry.

    `kind` is the entry's kind. Fields are named as in the entry's body; those of a quantity
    `water` are `water.typed` and `water.unit` (give WTForms the name with `name="..."`).
    Fields named in `beside` are not of the body. Several on one page have each a `prefix`.
    """

    kind: ClassVar[str] = ""
    beside: ClassVar[frozenset[str]] = frozenset()

    entry_id = HiddenField(default=new_id)
    clash: Clash | None = None
    refused: Refused | None = None
    named: Mapping[str, Quantity] = MappingProxyType({})

    def process(self, *args: Any, **kwargs: Any) -> None:
        """Read amounts that name their own unit; that wins over the list beside the box."""
        super().process(*args, **kwargs)
        boxes = {field.short_name: field for field in self}
        found = {}
        for name, unit in boxes.items():
            stem = name.removesuffix(".unit")
            typed = boxes.get(f"{stem}.typed")
            if typed is not None and hasattr(unit, "read_beside"):
                found[stem] = _read(typed, unit, boxes.get(f"{stem}.heap"))
        self.named = {stem: said for stem, said in found.items() if said is not None}

    def pairs_of(self, stem: str) -> Iterator[tuple[str, str]]:
        """Give what the fields of an amount say: typed, its number where it names its unit."""
        for field in self:
            if field.short_name in (f"{stem}.typed", f"{stem}.unit"):
                yield field.short_name, str(field.data or "")
        if stem in self.named:
            yield f"{stem}.n", wire(self.named[stem].n)

    @property
    def v(self) -> int:
        """Return the version of the kind that it writes."""
        return KINDS[self.kind].v

    @property
    def may_wait(self) -> bool:
        """Say whether a phone may hand in later what it says."""
        return not KINDS[self.kind].signed_in_only

    @property
    def is_sent(self) -> bool:
        """Say whether this very entry was written already: a double tap is not asked again."""
        entry_id = str(self.entry_id.data or "")
        return is_uuid(entry_id) and bool(desk().journal.by_id(EntryId(entry_id)))

    def body(self) -> dict[str, Any]:
        """Return the body as the fields say it."""
        return nest(self._pairs())

    def _pairs(self) -> Iterator[tuple[str, str]]:
        for field in self:
            name = field.short_name
            if name in {"csrf_token", "entry_id", "happened_at", "note"} | self.beside:
                continue
            if isinstance(field, SelectMultipleField):
                for place, one in enumerate(field.data or ()):
                    yield f"{name}.{place}", one
            else:
                yield name, str(field.data or "")
            stem, _, last = name.rpartition(".")
            if last == "typed" and stem in self.named:
                yield f"{stem}.n", wire(self.named[stem].n)

    def record(self, desk: Desk, **fixed: Any) -> Outcome:
        """
        Write the entry; on a refusal or a clash the form says so beside its fields.

        Args:
            fixed: Parts of the body that the page knows and the form does not ask.
        """
        try:
            outcome = self._write(desk, fixed)
        except Slip as slip:
            outcome = slip.refused
        if isinstance(outcome, Refused):
            self.take(outcome)
        elif isinstance(outcome, Clash):
            self.clash = outcome
            self.form_errors.append(
                words().gettext(
                    "Something else was written from this page already. "
                    "What you typed is kept: send it again to write a second entry."
                )
            )
            self.entry_id.data = new_id()
        else:
            note_entry(outcome.sealed.entry)
        return outcome

    def _write(self, desk: Desk, fixed: dict[str, Any]) -> Outcome:
        body = self.body() | fixed
        entry_id = str(self.entry_id.data or "")
        if not is_uuid(entry_id):
            raise Slip("entry_id", "not-an-id")
        attached = self.attachments(desk, EntryId(entry_id))
        body |= {field: one.name for field, one in attached.items()}
        here = {"happened_at": now().astimezone(zone())}  # its day is the day of the place
        said = Draft(
            id=EntryId(entry_id),
            kind=self.kind,
            body=body,
            attached=tuple(attached.values()),
            **(here | self._time()),
        )
        return write(desk.journal, who(), said, now=now())

    def attachments(self, desk: Desk, entry_id: EntryId) -> dict[str, Attachment]:
        """Return what is kept beside the ledger, by the field of the body that names it."""
        noted = self._note(desk, entry_id)
        return {} if noted is None else {"note": noted}

    def _note(self, desk: Desk, entry_id: EntryId) -> Attachment | None:
        """Return the free note; a second post of the same form finds the first one's."""
        field = self._fields.get("note")
        if field is None or not (field.data or "").strip():
            return None
        text = field.data.strip().replace("\r\n", "\n")  # as a script writes it
        for one in desk.journal.by_id(entry_id):
            there = desk.journal.attachment(getattr(one.entry.content, "note", ""))
            if there is not None and there.data == text.encode():
                return there
        return note(text, salt=_salt_sent() or salt())

    def _time(self) -> dict[str, Any]:
        """Return when it happened, if the form says another time than now."""
        field = self._fields.get("happened_at")
        typed = str(field.data or "").strip() if field is not None else ""
        if not typed:
            return {}
        try:
            local = datetime.fromisoformat(typed)
        except ValueError:
            raise Slip("happened_at", "not-a-time") from None
        happened_at = local if local.tzinfo else local.replace(tzinfo=zone())
        return {"happened_at": happened_at, "typed": typed}

    def take(self, refused: Refused) -> None:
        """Put a refusal beside the field it is about, or on top of the form."""
        self.refused = refused
        field = self._nearest(refused.field)
        in_own_unit = getattr(field, "refusal", None)
        text = in_own_unit(refused) if in_own_unit else say.refusal(words(), refused)
        if field is None:
            self.form_errors.append(text)
        else:
            field.errors = [*field.errors, text]

    def _nearest(self, name: str) -> Field | None:
        """Return the visible field a refusal speaks of: itself, its `typed`, its parent."""
        shown: dict[str, Field] = {
            field.short_name: field for field in self if not isinstance(field, HiddenField)
        }
        parts = name.split(".")
        while parts:
            stem = ".".join(parts)
            found = shown.get(stem) or shown.get(f"{stem}.typed")
            if found is not None:
                return found
            parts.pop()
        return None


def _read(typed: Field, unit: Any, heap: Field | None) -> Quantity | None:
    """Return an amount that names its unit, and choose what it says; faults stand beside it."""
    try:
        found: Quantity | None = unit.read_beside(str(typed.data or ""), heaps=heap is not None)
    except ValueError as fault:
        typed.process_errors = [*typed.process_errors, fault.args[0]]
        return None
    if heap is not None and found is not None and found.heap:
        heap.data = found.heap
    return found


class Happened:
    """A mixin: the entry may have happened earlier than it is written."""

    happened_at = StringField(
        N_("When"),
        description=N_("Leave it empty for now."),
        render_kw={"type": "datetime-local"},
    )


class Noted:
    """A mixin: a free note, kept beside the ledger, readable by members, erasable."""

    note = TextAreaField(
        N_("Note"),
        validators=[Length(max=NOTE_LENGTH_MAX)],
        description=N_("Members can read it. A coordinator can have it erased."),
        render_kw={"rows": 2},
    )


def _salt_sent() -> bytes | None:
    """Return the salt by which a phone has named the note, in the copy it keeps meanwhile."""
    sent = request.form.get(NOTE_SALT, "")
    return bytes.fromhex(sent) if _SALT.fullmatch(sent) else None


def written(outcome: Outcome, message: str) -> bool:
    """Flash that something was written; False when it was not."""
    if not isinstance(outcome, Written):
        return False
    if phone():
        flash(outcome.sealed.entry.id, ARRIVED)
    text = words().gettext("Already written.") if outcome.already else message
    flash(text, "written")
    return True


def options(pairs: Iterable[tuple[str, str]]) -> list[SelectChoice]:
    """Return (code, text) pairs as the choices of a field; the texts are shown as they are."""
    return [SelectChoice(value=code, label=AsItIs(text)) for code, text in pairs]


def looked_up(pairs: Iterable[tuple[str, str]]) -> list[SelectChoice]:
    """Return pairs marked with `N_` as the choices of a field, looked up when shown."""
    return [SelectChoice(value=code, label=text) for code, text in pairs]
