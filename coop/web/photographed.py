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
from coop.web.page import salt


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
            data = _photo_sent()
            self.taken = photo(data, salt=salt()) if data else None
        except Slip as slip:
            self.take(slip.refused)
            return False
        return True

    def attachments(self, desk: Desk, entry_id: EntryId) -> dict[str, Attachment]:
        found = super().attachments(desk, entry_id)
        if self.taken is not None:
            found["photo"] = _the_same(desk.journal, entry_id, self.taken)
        return found


def _photo_sent() -> bytes:
    """Return the bytes of the photo; no more of it is read than may be sent."""
    sent = request.files.get("photo")
    if sent is None:
        return b""
    with closing(sent):
        data: bytes = sent.read(PHOTO_BYTES_MAX + 1)
        return data


def _the_same(journal: Journal, entry_id: EntryId, taken: Attachment) -> Attachment:
    """Return the photo as it was named when this form was sent before, else as it is now."""
    for one in journal.by_id(entry_id):
        there = journal.attachment(getattr(one.entry.content, "photo", ""))
        if there is not None and there.data == taken.data:
            return there
    return taken
