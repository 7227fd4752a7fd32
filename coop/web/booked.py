"""Which booked session something is for: asked only where one is near."""

from wtforms import SelectField

from coop.actions.see_sessions import sessions_near
from coop.ids import Subject
from coop.ledger.states import SessionState
from coop.web.forms import options
from coop.web.i18n import N_
from coop.web.page import desk, now, words, zone


class ForSession:
    """A mixin: what is done may be for a booked session."""

    session = SelectField(
        N_("For a booked session?"),
        description=N_("Then what it takes is not counted twice."),
        validate_choice=False,
    )

    def offer_sessions(self, studio: Subject | None) -> None:
        """Offer the sessions of two weeks before and after, this studio's first."""
        near = [(str(one.id), _text(one)) for one in booked_near(studio)]
        self.session.choices = options([("", words().gettext("for no session")), *near])

    @property
    def asks_session(self) -> bool:
        """Whether there is a session to choose."""
        return len(self.session.choices or ()) > 1


def booked_near(studio: Subject | None) -> tuple[SessionState, ...]:
    """Return the booked sessions of two weeks before and after, this studio's first."""
    return sessions_near(desk().journal, now=now(), zone=zone(), studio=studio)


def _text(session: SessionState) -> str:
    return words().gettext(
        "%(session)s, %(day)s", session=session.name, day=words().day(session.starts_at)
    )
