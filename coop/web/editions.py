"""Forms of what is described by editions: the newest stands, and one is made from it."""

from typing import Any, TypeVar

from wtforms import HiddenField

from coop.actions.set_up import content_of, is_current
from coop.actions.write import Outcome
from coop.ids import Subject
from coop.ledger.schema import Refused
from coop.web.fields import prefill
from coop.web.forms import EntryForm
from coop.web.page import desk, writing

CHANGED = Refused(field="supersedes", code="edition-changed")


class EditionForm(EntryForm):
    """A form of an edition; it remembers which one it was made from."""

    supersedes = HiddenField()


Form = TypeVar("Form", bound=EditionForm)


def edit(form: type[Form], state: Any, subject: Subject, **more: Any) -> Form:
    """Return a form that shows the edition in force as it was typed."""
    shown = prefill(content_of(desk().journal, subject, state.edition))
    return form(data=shown | more | {"supersedes": state.edition})


def publish(form: EditionForm, sort: str, subject: Subject | None, **fixed: Any) -> Outcome:
    """
    Write an edition, unless another one was written since the page was opened.

    Args:
        subject: What is described anew; None makes a new thing.
        fixed: Parts of the body that the page knows and the form does not ask.
    """
    with writing() as here:
        state = here.journal.state(sort, subject)
        edition = state.edition if state is not None else None
        made_from, entry = str(form.supersedes.data or ""), str(form.entry_id.data)
        if is_current(edition, supersedes=made_from, entry=entry):
            return form.record(here, **fixed)
        form.take(CHANGED)
        form.supersedes.data = edition or ""
        return CHANGED
