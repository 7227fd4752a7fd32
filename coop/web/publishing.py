"""Publishing an edition of a studio's rules: its document, a picture of the letter, once."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Any, ClassVar

from wtforms import FileField, HiddenField

from coop.actions.see_drain import pack_kept
from coop.actions.set_up import is_current
from coop.actions.write import Outcome, photo
from coop.ids import EntryId, Subject
from coop.ledger.kinds import RulesPublished
from coop.ledger.ports import Attachment, Journal
from coop.ledger.schema import Slip
from coop.ledger.states import RulesState
from coop.store.desk import Desk
from coop.web.editions import CHANGED, EditionForm
from coop.web.i18n import N_
from coop.web.page import salt, writing
from coop.web.photographed import as_kept, picture_sent

LETTER = "letter"


class PublishForm(EditionForm):
    """
    Publishes what was shown before: `carried` is what the page before it knew.

    Attributes:
        document: The pack as it is kept.
        taken: The picture of the letter that came with the form, shrunk.
    """

    kind: ClassVar[str] = "rules.published"
    beside: ClassVar[frozenset[str]] = frozenset({"carried", LETTER})

    carried = HiddenField()
    letter = FileField(
        N_("A picture of the letter"),
        description=N_(
            "Members can see it. Cover what is nobody's business before you take it; where and "
            "when it was taken is left out."
        ),
    )
    document: bytes = b""
    taken: Attachment | None = None

    def take_letter(self) -> bool:
        """Shrink the picture that came with the form, if one did; False when it is none."""
        try:
            data = picture_sent(LETTER)
            self.taken = photo(data, salt=salt()) if data else None
        except Slip as slip:
            self.take(replace(slip.refused, field=LETTER))
            return False
        return True

    def attachments(self, desk: Desk, entry_id: EntryId) -> dict[str, Attachment]:
        found = super().attachments(desk, entry_id)
        made = {"document": pack_kept(self.document, salt=salt())}
        if self.taken is not None:
            made[LETTER] = self.taken
        named = {
            field: as_kept(desk.journal, entry_id, field, one) for field, one in made.items()
        }
        return found | named


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where an edition comes to stand: the pack's name, its number, the rules it is of."""

    pack: str
    edition: int
    rules: Subject | None


def place_of(journal: Journal, entry_id: str, studio: Subject, pack_name: str) -> Place:
    """Return where an edition comes to stand; one that was sent before keeps its place."""
    for one in journal.by_id(EntryId(entry_id)):
        said = one.entry.content
        if isinstance(said, RulesPublished):
            return Place(pack=said.pack, edition=said.pack_edition, rules=said.rules)
    state = standing(journal, studio, pack_name)
    if state is None:
        return Place(pack=pack_name, edition=1, rules=None)
    return Place(pack=pack_name, edition=state.last.edition + 1, rules=state.id)


def standing(journal: Journal, studio: Subject, pack_name: str) -> RulesState | None:
    """Return a studio's rules of a name, in use or not."""
    every: tuple[RulesState, ...] = journal.listed("rules", home=studio, live=False)
    return next((one for one in every if one.pack == pack_name), None)


def publish_edition(
    form: EditionForm,
    studio: Subject,
    place: Place,
    *,
    checked_on: date,
    review_on: date,
    **more: str,
) -> Outcome:
    """Write an edition of a pack, unless another was published since the page was opened."""
    body: dict[str, Any] = {
        "studio": studio,
        "pack": place.pack,
        "pack_edition": str(place.edition),
        "checked_on": checked_on.isoformat(),
        "review_on": review_on.isoformat(),
        **more,
    }
    if place.rules is not None:
        body["rules"] = place.rules
    with writing() as here:
        newest = standing(here.journal, studio, place.pack)
        edition = newest.last.entry if newest is not None else None
        made_from, entry = str(form.supersedes.data or ""), str(form.entry_id.data)
        if is_current(edition, supersedes=made_from, entry=entry):
            return form.record(here, **body)
        form.take(CHANGED)
        form.supersedes.data = edition or ""
        return CHANGED
