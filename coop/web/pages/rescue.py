"""Hand in a file of waiting lines, saved from a phone that cannot send them itself."""

from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass

from flask import Blueprint, flash, request
from werkzeug.wrappers import Response

from coop.actions.hand_in import Handed, batches, hand_in, lines_of
from coop.ledger.schema import Refused, Slip
from coop.store.waiting import SqlShelf
from coop.sync.limits import RESCUE_BYTES_MAX, RESCUE_LINES_MAX
from coop.sync.outbox import Kept, Unread
from coop.web import words as say
from coop.web.drafts import Teller
from coop.web.forms import PageForm
from coop.web.page import desk, face, needs, now, show, who, words, writing
from coop.web.security import FORM_BYTES_MAX, body_limit

UNFIT = 422
SHOWN_MAX = 200
FILE = "file"

pages = Blueprint("rescue", __name__)


class RescueForm(PageForm):
    """Carries the form's token; the file stands beside it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedLine:
    """
    A line that did not simply go in.

    Attributes:
        what: What it says, by whom, where it could be read.
        why: Why it waits or was not taken.
        text: The line itself, where it was not taken.
    """

    number: int
    what: str
    why: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What became of a file: counts in sentences, and the lines to look at."""

    counts: tuple[str, ...]
    refused: tuple[HandedLine, ...]
    refused_more: int
    waiting: tuple[HandedLine, ...]
    waiting_more: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RescuePage:
    form: RescueForm
    lines_max: int
    megabytes_max: int
    wrong: str
    done: Done | None


@pages.get("/rescue")
@needs("read")
def ask() -> Response:
    return _show()


@pages.post("/rescue")
@body_limit(RESCUE_BYTES_MAX + FORM_BYTES_MAX)
@needs("read")
def take() -> Response:
    """Take in a file line by line; a bad line spoils no other."""
    form = RescueForm()
    data = _given()
    if not form.validate_on_submit():
        return _show(wrong=words().gettext("This page was open too long. Send it again."))
    try:
        lines = lines_of(data)
    except Slip as slip:
        return _show(wrong=_wrong(slip.refused))
    handed: list[Handed] = []
    for batch in batches(lines):
        with writing() as unit:
            shelf = SqlShelf(unit.connection)
            handed += hand_in(unit.journal, shelf, who(), batch, now=now())
    if all(one.outcome != "refused" for one in handed):
        flash(words().gettext("The studio has every line of this file."), "written")
    return _show(done=_done(handed))


def _given() -> bytes:
    """Return the bytes of the file; a big one was put aside on the disk, and is let go of."""
    given = request.files.get(FILE)
    if given is None:
        return b""
    with closing(given):
        data: bytes = given.read()
        return data


def _show(*, wrong: str = "", done: Done | None = None) -> Response:
    page = RescuePage(
        form=RescueForm(),
        lines_max=RESCUE_LINES_MAX,
        megabytes_max=RESCUE_BYTES_MAX // 1024**2,
        wrong=wrong,
        done=done,
    )
    return show("rescue.html", page=page, nav="people", status=UNFIT if wrong else 200)


def _wrong(refused: Refused) -> str:
    if refused.code == "empty":
        return words().gettext("Choose the file that was saved on the phone.")
    if refused.code == "not-text":
        return words().gettext(
            "This is no file of waiting lines: its name ends in .jsonl, and it is plain text."
        )
    return words().gettext(
        "At most %(most)s lines at once, please: cut the file in parts, between two lines.",
        most=words().number(RESCUE_LINES_MAX),
    )


def _done(handed: Sequence[Handed]) -> Done:
    refused = [one for one in handed if one.outcome == "refused"]
    waiting = [one for one in handed if one.outcome in ("waiting", "left_out")]
    shown = (*refused[:SHOWN_MAX], *waiting[:SHOWN_MAX])
    entries = [one.line.entry for one in shown if isinstance(one.line, Kept)]
    teller = Teller(desk().journal, entries)
    return Done(
        counts=tuple(_counts(handed)),
        refused=tuple(_line(one, teller) for one in refused[:SHOWN_MAX]),
        refused_more=max(0, len(refused) - SHOWN_MAX),
        waiting=tuple(_line(one, teller) for one in waiting[:SHOWN_MAX]),
        waiting_more=max(0, len(waiting) - SHOWN_MAX),
    )


def _counts(handed: Sequence[Handed]) -> Iterator[str]:
    """Say how many lines went which way; ways that none went are left out."""
    counts = {
        outcome: sum(one.outcome == outcome for one in handed)
        for outcome in ("sealed", "already", "waiting", "left_out", "refused")
    }
    ngettext = words().ngettext
    told = {
        "sealed": ngettext("%(num)d line went in.", "%(num)d lines went in.", counts["sealed"]),
        "already": ngettext(
            "%(num)d line was here already.",
            "%(num)d lines were here already.",
            counts["already"],
        ),
        "waiting": ngettext(
            "%(num)d line waits for a coordinator: the studio has it.",
            "%(num)d lines wait for a coordinator: the studio has them.",
            counts["waiting"],
        ),
        "left_out": ngettext(
            "%(num)d line was left out by a coordinator before.",
            "%(num)d lines were left out by a coordinator before.",
            counts["left_out"],
        ),
        "refused": ngettext(
            "%(num)d line was not taken. Keep the file.",
            "%(num)d lines were not taken. Keep the file.",
            counts["refused"],
        ),
    }
    return (told[outcome] for outcome, count in counts.items() if count)


def _line(one: Handed, teller: Teller) -> HandedLine:
    what = ""
    if isinstance(one.line, Kept):
        entry = one.line.entry
        what = words().gettext(
            "%(what)s, %(name)s", what=teller.tell(entry.content), name=face(entry.author).name
        )
    assert one.refused is not None
    refused = one.outcome == "refused"
    return HandedLine(
        number=one.number,
        what=what,
        why=_why(one, one.refused),
        text=one.line.text if refused else "",
    )


def _why(one: Handed, refused: Refused) -> str:
    if one.outcome == "left_out":
        return words().gettext("A coordinator left it out before.")
    if one.outcome == "waiting":
        return say.refusal(words(), refused)
    if isinstance(one.line, Unread) and not one.line.id:
        return words().gettext(
            "This is no line of such a file, or it was written by a newer release."
        )
    if refused.code in ("unknown-kind", "unknown-version"):
        return words().gettext(
            "It was written by a newer release. Hand it in again after an upgrade."
        )
    told = say.refusal(words(), refused)
    if refused.field in ("", "ledger"):
        return told
    return words().gettext("%(field)s: %(why)s", field=refused.field, why=told)
