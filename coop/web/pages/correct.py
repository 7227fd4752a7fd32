"""Correct an entry, take it out, bring it back; undo in one tap; settle what is odd."""

from dataclasses import dataclass

from flask import Blueprint, abort, flash, redirect, request
from werkzeug.wrappers import Response

from coop.actions.correct_entry import (
    CORRECTION,
    Standing,
    may_mend,
    may_undo,
    odd_about,
    see_entry,
    void,
)
from coop.actions.write import Draft, Written, write
from coop.ids import EntryId, Subject
from coop.ledger.kinds import (
    BathMixed,
    Content,
    DisposalDone,
    DisposalJudged,
    MishapNoted,
    PermissionRecorded,
    WasteStarted,
)
from coop.web import reasons
from coop.web import words as say
from coop.web.forms import written
from coop.web.history import Ways, correction, note_of
from coop.web.judging import JudgeForm
from coop.web.mendable import ASKED, CorrectForm, form_for
from coop.web.page import desk, face, needs, new_id, now, show, who, words, writing
from coop.web.security_log import note_entry
from coop.web.told import Names, telling, told

LISTS = {"lot": "/shelf", "order": "/orders"}

pages = Blueprint("correct", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Odd:
    """Something odd about the entry, and the form that settles it, for a coordinator."""

    text: str
    form: JudgeForm | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """A correction that was made: what it did, who, when, why, in words."""

    text: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectPage:
    """
    An entry as it was written and as it stands.

    `refused` says why this member cannot correct it; then there is no form.
    """

    id: str
    back: str
    kind: str
    text: str
    by: str
    when: str
    came: str
    note: str
    taken_out: bool
    written: str
    earlier: tuple[Earlier, ...]
    refused: str
    form: CorrectForm | None
    odd: tuple[Odd, ...]


@pages.route("/entries/<uuid:entry>/correct", methods=["GET", "POST"])
@needs(CORRECTION)
def correct(entry: object) -> Response:
    standing = _standing(entry)
    refused = _refused(standing)
    if refused:
        return _show(standing, None, refused=refused, status=_status(403))
    form = form_for(desk().journal, standing)
    if form.is_submitted() and form.validate():
        with writing() as place:
            form.journal = place.journal
            outcome = form.record(place)
        if written(outcome, _done(form)):
            return redirect(_back(_standing(entry)), code=303)
    standing = _standing(entry)
    form.seen.data = " ".join(standing.seen)
    return _show(standing, form, refused="", status=_status(422))


def _status(refused: int) -> int:
    return refused if request.method == "POST" else 200


def _standing(entry: object) -> Standing:
    found = see_entry(desk().journal, EntryId(str(entry)))
    if found is None:
        abort(404)
    return found


def _refused(standing: Standing) -> str:
    if standing.kind not in ASKED:
        return words().gettext("This kind of entry is not corrected here: write a new one.")
    if may_mend(who(), standing.original, now=now()):
        return ""
    if standing.original.entry.author == who().member:
        return words().gettext("It is older than 14 days: a coordinator can correct it.")
    return words().gettext("Somebody else wrote it: they or a coordinator can correct it.")


def _done(form: CorrectForm) -> str:
    if form.outcome.data == "void":
        return words().gettext("Taken out. It stays in the history, struck through.")
    if form.outcome.data == "restore":
        return words().gettext("Brought back as it was first written.")
    return words().gettext("Corrected. What stood before stays in the history.")


def _content(standing: Standing) -> Content:
    return standing.in_force.content if standing.in_force else standing.original.entry.content


def _back(standing: Standing) -> str:
    """Return the page of what the entry is about."""
    said = _content(standing)
    if isinstance(said, BathMixed):
        return f"/baths/{standing.id}"
    if isinstance(said, PermissionRecorded):
        return f"/studios/{said.studio}/permission"
    bath = getattr(said, "bath", None)
    if bath is not None:
        return f"/baths/{bath}"
    stack = getattr(said, "stack", None)
    if stack is not None:
        return f"/stacks/{stack}"
    sort = standing.kind.partition(".")[0]
    return _of_stock(standing, said, sort) if sort in LISTS else _of_waste(standing, said)


def _of_stock(standing: Standing, said: Content, sort: str) -> str:
    """Return the page of a lot or an order; the list where it was taken out itself."""
    subject = getattr(said, sort, Subject(standing.id))
    there = desk().journal.state(sort, subject)
    return f"/{sort}s/{subject}" if there else LISTS[sort]


def _of_waste(standing: Standing, said: Content) -> str:
    """Return the page of a waste jar, the log of what was in neither jar nor bath."""
    made = isinstance(said, WasteStarted)
    jar = Subject(standing.id) if made else getattr(said, "jar", None)
    if jar is not None:
        return f"/jars/{jar}" if desk().journal.state("jar", jar) else "/waste"
    if isinstance(said, DisposalDone | DisposalJudged | MishapNoted):
        return f"/waste/{said.studio}/log"
    return "/"


def _show(
    standing: Standing, form: CorrectForm | None, *, refused: str, status: int
) -> Response:
    names, tell = Names(desk().journal), telling()
    first, said = standing.original.entry.content, _content(standing)
    page = CorrectPage(
        id=standing.id,
        back=_back(standing),
        kind=say.kind(words(), standing.kind),
        text=told(words(), names, said),
        by=face(standing.author).name,
        when=tell.when(standing.at, standing.precision),
        came=Ways([standing.original]).tell(standing.original),
        note=note_of(said),
        taken_out=standing.in_force is None,
        written="" if said == first else told(words(), names, first),
        earlier=tuple(
            Earlier(text=correction(one, tell), note=note_of(one.entry.content))
            for one in standing.corrections
        ),
        refused=refused,
        form=form,
        odd=_odd(standing),
    )
    return show("correct.html", page=page, nav="room", status=status)


def _odd(standing: Standing) -> tuple[Odd, ...]:
    """Return what is odd about an entry; a coordinator may settle it."""
    found = []
    for subject, finding in odd_about(desk().journal, standing.id):
        form = None
        if "coordinator" in who().roles:
            form = JudgeForm(
                formdata=None,
                data={"subject": subject, "code": finding.code, "entry": finding.entry},
            )
            form.offer()
        found.append(Odd(text=reasons.finding(words(), finding.code), form=form))
    return tuple(found)


@pages.post("/entries/<uuid:entry>/judge")
@needs("finding.judged")
def judge(entry: object) -> Response:
    standing = _standing(entry)
    form = JudgeForm()
    form.offer()
    if form.validate():
        with writing() as place:
            outcome = form.record(place, entry=standing.id)
        if written(outcome, words().gettext("Settled. It stays in the history as it is.")):
            return redirect(_back(standing), code=303)
    flash(words().gettext("Tap what is to be said about it."), "warning")
    return redirect(f"/entries/{standing.id}/correct", code=303)


@pages.post("/entries/<uuid:entry>/undo")
@needs(CORRECTION)
def undo(entry: object) -> Response:
    """Take out in one tap what oneself has just written."""
    standing = _standing(entry)
    if standing.original.entry.author != who().member:
        abort(403)
    if standing.in_force is None:
        flash(words().gettext("It was taken out already."), "written")
        return redirect(_back(standing), code=303)
    if not may_undo(who(), standing.original, now=now()):
        flash(
            words().gettext("The ten minutes for undoing are over: correct it here."), "warning"
        )
        return redirect(f"/entries/{standing.id}/correct", code=303)
    said = void(standing, reason="undone", seen=standing.seen)
    with writing() as place:
        outcome = write(
            place.journal, who(), Draft(id=new_id(), kind=CORRECTION, body=said), now=now()
        )
    if isinstance(outcome, Written):
        note_entry(outcome.sealed.entry)
    if not written(
        outcome, words().gettext("Taken out. It stays in the history, struck through.")
    ):
        flash(words().gettext("That could not be undone just now."), "warning")
    return redirect(_back(standing), code=303)
