"""The form by which a coordinator judges what is odd."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import ClassVar

from wtforms import HiddenField, RadioField

from coop.actions.see_devices import MISSING
from coop.actions.see_odd import TWIN
from coop.web import words as say
from coop.web.forms import EntryForm, Noted, options
from coop.web.i18n import N_
from coop.web.page import words

REASONS: Mapping[str, str] = MappingProxyType({MISSING: "gap_reason", TWIN: "twin_reason"})
"""The reasons offered, by what is odd; others have the common ones."""


class JudgeForm(Noted, EntryForm):
    kind: ClassVar[str] = "finding.judged"

    subject = HiddenField()
    code = HiddenField()
    entry = HiddenField()
    reason = RadioField(N_("What about it?"), validate_choice=False)

    def offer(self) -> None:
        """Fill the list in the member's language, by what is judged."""
        what = str(self.code.data or "").partition(":")[0]
        group = REASONS.get(what, "judge_reason")
        self.reason.choices = options(say.choices(words(), group))
