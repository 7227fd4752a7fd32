"""A form that may bring a photo: shrunk, and kept beside the ledger under a name of its own."""

from contextlib import closing
from typing import ClassVar

from flask import request
from wtforms import FileField

from coop.actions.photos import PHOTO_BYTES_MAX
from coop.actions.write import photo
from coop.ids import EntryId
from coop.ledger.ports import Attachment, Journal
from coop.ledger.schema import Slip
from coop.store.desk import Desk
from coop.web.forms import EntryForm
from coop.web.i18n import N_
from coop.web.page import desk, salt


class PhotoForm(EntryForm):
    """
    A form of an entry with a photo.

    The photo is no field of the body: it is kept beside the ledger under a name of its own.
    """

    beside: ClassVar[frozenset[str]] = frozenset({"photo"})

    photo = FileField(
        N_("A photo"),
        description=N_("Members can see it. Where and when it was taken is left out."),
    )
    taken: Attachment | None = None
    """The photo that came with the form, shrunk."""

    def take_photo(self) -> bool:
        """Shrink the photo that came with the form, if one did; False when it is none."""
        try:
            data = picture_sent("photo")
            self.taken = photo(data, salt=salt()) if data else None
        except Slip as slip:
            self.take(slip.refused)
            return False
        return True

    def attachments(self, desk: Desk, entry_id: EntryId) -> dict[str, Attachment]:
        found = super().attachments(desk, entry_id)
        if self.taken is not None:
            found["photo"] = as_kept(desk.journal, entry_id, "photo", self.taken)
        return found


def picture_sent(field: str) -> bytes:
    """Return the bytes of a picture in a form; no more of it is read than may be sent."""
    sent = request.files.get(field)
    if sent is None:
        return b""
    with closing(sent):
        data: bytes = sent.read(PHOTO_BYTES_MAX + 1)
        return data


def photo_url(name: str) -> str:
    """Return where a photo is shown; empty where there is none, or none any more."""
    return f"/photo/{name}" if name and desk().journal.attachment(name) else ""


def as_kept(journal: Journal, entry_id: EntryId, field: str, made: Attachment) -> Attachment:
    """Return what was kept when this form was sent before, else as it is now."""
    for one in journal.by_id(entry_id):
        there = journal.attachment(getattr(one.entry.content, field, ""))
        if there is not None and there.data == made.data:
            return there
    return made
