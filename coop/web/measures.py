"""What a bare gallon, cup and spoon is to the member who reads, and what they choose of it."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, ClassVar

from flask import flash, g
from wtforms import RadioField

from coop.actions.read_dose import ASKED_ONCE, Meant, meant
from coop.ledger.states import HouseState
from coop.store import measures
from coop.store.measures import Measures
from coop.units.kinds import QUESTIONS
from coop.web import words as say
from coop.web.forms import PageForm, options
from coop.web.i18n import N_
from coop.web.page import who, words, writing


def own_measures() -> Measures:
    """Return what the member who asks chose; of nobody, what nobody chose."""
    return g.who.measures if g.who is not None else Measures()


def _kinds(chosen: Measures) -> dict[str, str | None]:
    return {question: getattr(chosen, question) for question in ASKED_ONCE}


def meant_here(house: HouseState | None, here: Mapping[str, str | None] | None = None) -> Meant:
    """Return what bare names mean to the member who asks, but for those of `here`."""
    return meant(house, _kinds(own_measures()), here)


def house_as_read(house: HouseState | None) -> HouseState | None:
    """Return the house's limits with the kinds of measure of the member who asks."""
    if house is None:
        return None
    chosen: dict[str, Any] = {
        name: kind for name, kind in _kinds(own_measures()).items() if kind
    }
    return replace(house, **chosen)


KEPT = N_("What you tapped is kept: it is read so from now on. Change it on your own page.")


class ReadAs(PageForm):
    """A form with a dose: which gallon, cup and spoon it is, one tap beside the text."""

    OF_KINDS: ClassVar[frozenset[str]] = frozenset(f"read_{one}" for one in ASKED_ONCE)

    read_gallon = RadioField(N_("Which gallon is it?"), validate_choice=False)
    read_cup = RadioField(N_("Which cup is it?"), validate_choice=False)
    read_spoon = RadioField(N_("Which spoon is it?"), validate_choice=False)

    def _here(self) -> dict[str, str | None]:
        said = {one: str(self[f"read_{one}"].data or "") for one in ASKED_ONCE}
        return {one: kind if kind in QUESTIONS[one] else None for one, kind in said.items()}

    def meant(self, house: HouseState | None) -> Meant:
        """Return what bare names mean in this form's text; fills the lists to choose from."""
        found = meant(house, _kinds(own_measures()), self._here())
        for question in ASKED_ONCE:
            field = self[f"read_{question}"]
            field.choices = options(say.choices(words(), f"kinds_{question}"))
            if not field.data and found.kinds is not None:
                field.data = found.kinds.of(question)
        return found

    def remember(
        self,
        questions: tuple[str, ...],
        house: HouseState | None,
        shown: Mapping[str, str | None] | None = None,
    ) -> None:
        """
        Keep what was chosen for the open questions of a text, where that is new.

        Args:
            shown: What the form began with, where that is not what the member means.
        """
        before = meant_here(house, shown)
        chosen = {
            question: kind
            for question, kind in self._here().items()
            if question in questions and kind
            if before.kinds is None or before.kinds.of(question) != kind
        }
        if chosen:
            kept = replace(own_measures(), **chosen)
            with writing() as unit:
                measures.choose(unit.connection, who().member, kept)
            flash(words().gettext(KEPT), "written")
