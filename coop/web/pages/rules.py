"""The rules of a studio's drain: what is in force, copied from a letter, taken from a file."""

import json
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from functools import cache
from types import MappingProxyType
from typing import Any, Final

from flask import Blueprint, abort, redirect, request, url_for
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response

from coop.actions.photos import PHOTO_BYTES_MAX
from coop.actions.see_rules import (
    LIQUIDS_MAX,
    PACK_NAME_MAX,
    Edition,
    RulesLook,
    anchored,
    see_liquids,
    see_rules,
    told_of,
    with_edition,
    without,
    would_change,
    would_silence,
)
from coop.actions.sites import Site, see_site, site_area
from coop.actions.write import PHOTO_TYPE, Outcome
from coop.ledger import kinds
from coop.ledger.states import StudioState
from coop.people.may import may
from coop.rules.packs import letter as letters
from coop.rules.packs import words as codes
from coop.rules.packs.documents import document_of
from coop.rules.packs.evaluation import CHECK_EVERY_DAYS
from coop.rules.packs.faults import Refused
from coop.rules.packs.letter import data_of, faults
from coop.rules.packs.letter_back import letter_in
from coop.rules.packs.reading import pack_of, read_pack
from coop.rules.packs.schema import Pack
from coop.rules.packs.tables import BYTES_MAX
from coop.store.paths import packaged
from coop.web import words as say
from coop.web.editions import EditionForm
from coop.web.forms import PageForm, written
from coop.web.letter_form import (
    LetterForm,
    day_faults,
    letter_of,
    name_for,
    shown,
    typed_in,
    without_line,
)
from coop.web.pack_faults import pack_fault
from coop.web.page import desk, face, known, needs, now, show, site, today, who, words, zone
from coop.web.publishing import LETTER, Place, PublishForm, place_of, publish_edition
from coop.web.ruling import (
    Asked,
    Consequence,
    LiquidShown,
    PackShown,
    SilencedShown,
    asked_of,
    consequence,
    liquids_shown,
    pack_shown,
    silenced_shown,
)
from coop.web.security import FORM_BYTES_MAX, body_limit

KIND: Final = "rules.published"
FILE: Final = "file"
UNFIT: Final = 422
LETTER_BYTES_MAX: Final = 8 * FORM_BYTES_MAX
"""Forty lines of three hundred signs of any script, as a browser sends them."""
SHIPPED: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {"us": ("us-federal-floor", "us-federal-waste")}
)
"""The files that come with the ledger, by the country whose rules they are."""

pages = Blueprint("rules", __name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """The studio whose rules are asked for."""

    studio: StudioState
    site: Site
    looks: tuple[RulesLook, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class EditionRow:
    """An edition that was published: its number, when and by whom, and its own page."""

    number: int
    told: str
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RulesRow:
    """
    Rules of one authority; `pack` None where their document cannot be read here.

    `letter` is the address of the letter's picture; `change_url`, `withdraw_url` are empty for
    whoever may not write.
    """

    name: str
    pack: PackShown | None
    letter: str
    editions: tuple[EditionRow, ...]
    change_url: str
    withdraw_url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioPage:
    """
    What is in force in a studio, what its baths would be told, who was asked.

    `only` says how many baths and jars were asked of where there may be more, else 0.
    """

    id: str
    studio: str
    drain: str
    in_use: tuple[RulesRow, ...]
    out_of_use: tuple[RulesRow, ...]
    liquids: tuple[LiquidShown, ...]
    only: int
    drain_known: bool
    asked: tuple[Asked, ...]
    shipped: tuple[tuple[str, str], ...]
    may_write: bool
    may_set_up: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class EditionPage:
    """One edition, to be printed; `told` says who published it, `in_use` whether it stands."""

    id: str
    studio: str
    pack: PackShown | None
    told: str
    letter: str
    in_use: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterPage:
    """The figures of a letter being copied; `again` says of which rules it is an edition."""

    id: str
    studio: str
    form: LetterForm
    mistakes: tuple[tuple[str, str, str], ...]
    again: str
    lines_max: int
    full: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FilePage:
    id: str
    studio: str
    form: PageForm
    wrong: str
    bytes_max: int
    again: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PreviewPage:
    """
    An edition before it is published: how it will be told, and what it would change.

    `silenced` are the wastes that would lose their answer by it.
    """

    id: str
    studio: str
    form: PublishForm
    pack: PackShown
    found: Consequence
    silenced: tuple[SilencedShown, ...]
    replaces: str
    back: bool
    address: str
    picture: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class WithdrawPage:
    """Rules that would be put out of use; `found` None where they cannot be read here."""

    id: str
    studio: str
    name: str
    form: EditionForm
    found: Consequence | None


class WithdrawForm(EditionForm):
    """Puts rules out of use; they stay to be read."""

    kind = KIND


@pages.get("/studios/<studio>/rules")
@needs("read")
def studio(studio: str) -> Response:
    here = _here(studio)
    writes = may(who().roles, KIND)
    liquids = see_liquids(desk().journal, here.site)
    looks = sorted(here.looks, key=_nearness)
    rows = [(one.state.last.in_use, _row(here, one, writes)) for one in looks]
    page = StudioPage(
        id=here.studio.id,
        studio=here.studio.name,
        drain=say.choice(words(), "drain", here.studio.drain),
        in_use=tuple(row for in_use, row in rows if in_use),
        out_of_use=tuple(row for in_use, row in rows if not in_use),
        liquids=liquids_shown(words(), liquids, told_of(here.site, liquids)),
        only=LIQUIDS_MAX if len(liquids) == LIQUIDS_MAX else 0,
        drain_known=here.studio.drain in kinds.OUTLETS,
        asked=asked_of(words(), desk().journal, here.site),
        shipped=tuple(_shipped(here)) if writes else (),
        may_write=writes,
        may_set_up=may(who().roles, "studio.described"),
    )
    return show("rules.html", page=page, nav="house")


def _here(studio: str) -> Here:
    state: StudioState = known("studio", studio)
    demo = site().settings.demo
    journal = desk().journal
    return Here(
        studio=state,
        site=see_site(journal, state, now=now().astimezone(zone()), demo=demo),
        looks=see_rules(journal, state, demo=demo),
    )


def _nearness(look: RulesLook) -> int:
    """Order rules from those of this studio alone to those of a country."""
    pack = look.last.pack
    return -codes.TIERS.index(pack.tier) if pack else 1


def _row(here: Here, look: RulesLook, writes: bool) -> RulesRow:
    last, there = look.last, f"/studios/{here.studio.id}/rules"
    copied = last.data is not None and letter_in(last.data) is not None
    return RulesRow(
        name=look.state.pack,
        pack=pack_shown(words(), last.pack, today=today()) if last.pack else None,
        letter=_picture(last),
        editions=tuple(
            EditionRow(
                number=one.published.edition,
                told=_published(one),
                url=f"{there}/{look.state.id}/{one.published.edition}",
            )
            for one in look.editions
        ),
        change_url=f"{there}/{'letter' if copied else 'file'}?of={look.state.id}"
        if writes
        else "",
        withdraw_url=f"{there}/{look.state.id}/withdraw"
        if writes and last.published.in_use
        else "",
    )


def _picture(edition: Edition) -> str:
    """Return the address of the letter's picture; empty where there is none, or none left."""
    name = edition.published.letter
    kept = desk().journal.attachment(name) if name else None
    return f"/photo/{name}" if kept is not None and kept.content_type == PHOTO_TYPE else ""


def _published(edition: Edition) -> str:
    """Say who published an edition and when, or put it out of use."""
    one = edition.published
    said = say.day_by(words(), one.at, face(one.by).name)
    return said if one.in_use else words().gettext("put out of use: %(said)s", said=said)


def _shipped(here: Here) -> Iterator[tuple[str, str]]:
    """Give the address and title of each file that comes with the ledger and is not in use."""
    there = {one.state.pack for one in here.looks if one.state.last.in_use}
    for name in SHIPPED.get(here.studio.country, ()):
        if name not in there:
            yield f"/studios/{here.studio.id}/rules/file?shipped={name}", _shipped_title(name)


@cache
def _shipped_title(name: str) -> str:
    return read_pack(_shipped_text(name), name=name, demo=False).title


def _shipped_text(name: str) -> str:
    return (packaged("fixtures") / "rules" / f"{name}.toml").read_text(encoding="utf-8")


@pages.get("/studios/<studio>/rules/<rules>")
@pages.get("/studios/<studio>/rules/<rules>/<int:number>")
@needs("read")
def edition(studio: str, rules: str, number: int = 0) -> Response:
    """Show one edition, the last where none is named."""
    here = _here(studio)
    look = _look(here, rules)
    found = look.of(number) if number else look.last
    if found is None:
        abort(404)
    page = EditionPage(
        id=here.studio.id,
        studio=here.studio.name,
        pack=pack_shown(words(), found.pack, today=today()) if found.pack else None,
        told=_published(found),
        letter=_picture(found),
        in_use=look.state.last.in_use and found is look.last,
    )
    return show("rules_edition.html", page=page, nav="house")


def _look(here: Here, rules: str) -> RulesLook:
    found = next((one for one in here.looks if one.state.id == rules), None)
    if found is None:
        abort(404)
    return found


# ---- copied from a letter


@pages.get("/studios/<studio>/rules/letter")
@needs(KIND)
def letter(studio: str) -> Response:
    """Ask for the figures of a letter; of an edition of rules, those of the last one."""
    here = _here(studio)
    look = _of(here)
    said = letter_in(look.last.data) if look and look.last.data else None
    again = today() + timedelta(days=CHECK_EVERY_DAYS)
    blank = {"checked_on": today().isoformat(), "review_on": again.isoformat()}
    data = shown(said, today=today(), review_on=again) if said else blank
    return _show_letter(here, LetterForm(formdata=None, data=data))


def _of(here: Here) -> RulesLook | None:
    """Return the rules whose next edition is asked for, if any are."""
    asked = request.args.get("of", "")
    return _look(here, asked) if asked else None


def _show_letter(here: Here, form: LetterForm, *, status: int = 200) -> Response:
    form.offer()
    look = _of(here)
    page = LetterPage(
        id=here.studio.id,
        studio=here.studio.name,
        form=form,
        mistakes=tuple(form.mistakes()),
        again=look.last.pack.title if look and look.last.pack else "",
        lines_max=letters.LINES_MAX,
        full=len(form.lines) >= letters.LINES_MAX,
    )
    return show("rules_letter.html", page=page, nav="house", status=status)


@pages.post("/studios/<studio>/rules/letter")
@body_limit(PHOTO_BYTES_MAX + LETTER_BYTES_MAX)
@needs(KIND)
def copy_letter(studio: str) -> Response:
    """Add a line, take one out, show how it will be told, or publish what was shown."""
    here = _here(studio)
    act = request.form.get("act", "")
    typed = _typed()
    if act.startswith("remove "):
        typed = without_line(typed, act.removeprefix("remove "))
    form = LetterForm(formdata=typed)
    if act == "add" and len(form.lines) < letters.LINES_MAX:
        form.lines.append_entry()
    if act not in ("preview", "publish"):
        return _show_letter(here, form)
    publishing = _publishing(act, typed)
    place = _place_of_letter(here, form, publishing)
    made = _data_of(here, form, place)
    if made is None:
        return _show_letter(here, form, status=UNFIT)
    return _shown_or_published(here, act, publishing, place, *made)


def _typed() -> MultiDict[str, str]:
    """Return what was typed into the form, now or on the page before the preview."""
    carried = request.form.get("carried", "")
    if not carried:
        return typed_in(request.form.lists())
    try:
        found = json.loads(carried)
        pairs = [(str(name), [str(one) for one in said]) for name, said in found.items()]
    except (ValueError, TypeError, AttributeError, RecursionError):
        pairs = []
    token = [("csrf_token", request.form.getlist("csrf_token"))]
    return typed_in([*pairs, *token])


def _publishing(act: str, typed: MultiDict[str, str]) -> PublishForm:
    """Return the form by which it is published; before a preview, one that carries it all."""
    if act == "publish":
        return PublishForm()
    kept = {name: said for name, said in typed.lists() if name not in ("csrf_token", "act")}
    return PublishForm(formdata=None, data={"carried": json.dumps(kept)})


def _place_of_letter(here: Here, form: LetterForm, publishing: PublishForm) -> Place:
    look = _of(here)
    taken = [one.state.pack for one in here.looks]
    name = look.state.pack if look else name_for(str(form.title.data or ""), taken)
    entry = str(publishing.entry_id.data or "")
    return place_of(desk().journal, entry, here.studio.id, name)


def _data_of(here: Here, form: LetterForm, place: Place) -> tuple[dict[str, Any], Pack] | None:
    """Return the pack of what was copied; None where something has to be put right first."""
    sound = form.validate()
    said = None
    found = day_faults(form, today=today())
    if not found:
        evidence = codes.INVENTED if here.site.demo else codes.READ
        said = letter_of(form, area=site_area(here.studio), evidence=evidence)
        found = faults(said)
    if form.mark(found) or not sound or said is None:
        return None
    data = data_of(said, pack_id=place.pack, edition=place.edition)
    try:
        return data, pack_of(data, name=said.title, demo=here.site.demo)
    except Refused as refused:
        form.form_errors.append(pack_fault(words(), refused))
        return None


# ---- taken from a file


@pages.get("/studios/<studio>/rules/file")
@needs(KIND)
def file(studio: str) -> Response:
    """Ask for a file, or show one that comes with the ledger."""
    here = _here(studio)
    name = request.args.get("shipped", "")
    if not name:
        return _show_file(here)
    if name not in SHIPPED.get(here.studio.country, ()):
        abort(404)
    return _file_read(here, "preview", _shipped_text(name))


@pages.post("/studios/<studio>/rules/file")
@body_limit(PHOTO_BYTES_MAX + 3 * BYTES_MAX + FORM_BYTES_MAX)
@needs(KIND)
def take_file(studio: str) -> Response:
    """Show what a file says, or publish what was shown."""
    here = _here(studio)
    act = request.form.get("act", "")
    if act == "publish":
        return _file_read(here, act, request.form.get("carried", ""))
    try:
        return _file_read(here, "preview", _given().decode("utf-8-sig"))
    except UnicodeDecodeError:
        return _show_file(here, wrong=pack_fault(words(), Refused("not-text", name=FILE)))


def _given() -> bytes:
    """Return the bytes of the file; no more of it is read than may be sent."""
    sent = request.files.get(FILE)
    if sent is None:
        return b""
    with closing(sent):
        data: bytes = sent.read(BYTES_MAX + 1)
        return data


def _show_file(here: Here, *, wrong: str = "") -> Response:
    look = _of(here)
    page = FilePage(
        id=here.studio.id,
        studio=here.studio.name,
        form=PageForm(),
        wrong=wrong,
        bytes_max=BYTES_MAX,
        again=look.last.pack.title if look and look.last.pack else "",
    )
    return show("rules_file.html", page=page, nav="house", status=UNFIT if wrong else 200)


def _file_read(here: Here, act: str, text: str) -> Response:
    """
    Show or publish what a file says, or say on which line it cannot be taken.

    A browser sends what it carried with two signs at the end of each line.
    """
    text = text.replace("\r\n", "\n")
    publishing = (
        PublishForm()
        if act == "publish"
        else PublishForm(formdata=None, data={"carried": text})
    )
    try:
        pack = read_pack(text, name=FILE, demo=here.site.demo)
        data = anchored(tomllib.loads(text, parse_float=Decimal), here.studio)
        pack = pack_of(data, name=FILE, demo=here.site.demo)
    except Refused as refused:
        return _show_file(here, wrong=pack_fault(words(), refused))
    place = place_of(
        desk().journal, str(publishing.entry_id.data or ""), here.studio.id, pack.id
    )
    wrong = _misplaced(here, pack, place)
    if wrong:
        return _show_file(here, wrong=wrong)
    place = Place(pack=pack.id, edition=pack.edition, rules=place.rules)
    return _shown_or_published(here, act, publishing, place, data, pack)


def _misplaced(here: Here, pack: Pack, place: Place) -> str:
    """Say why a pack cannot be an edition of this studio's rules; empty where it can."""
    look = _of(here)
    if len(pack.id) > PACK_NAME_MAX:
        return words().gettext(
            "Its id “%(name)s” is over %(most)s signs long.", name=pack.id, most=PACK_NAME_MAX
        )
    if look is not None and look.state.pack != pack.id:
        return words().gettext(
            "Its id is “%(name)s”; another edition of these rules has “%(right)s”.",
            name=pack.id,
            right=look.state.pack,
        )
    if not pack.speaks_of(site_area(here.studio)):
        return words().gettext(
            "It speaks of “%(area)s”, and this studio does not lie there. Say in the studio's "
            "description in which country it is.",
            area=", ".join(pack.area),
        )
    if pack.edition < place.edition and not _back_again(here, pack, place):
        return words().gettext(
            "Edition %(last)s of it was published here already. Give the changed file edition "
            "%(next)s.",
            last=place.edition - 1,
            next=place.edition,
        )
    return ""


def _back_again(here: Here, pack: Pack, place: Place) -> bool:
    """Say whether it is the edition that was put out of use last, as it was."""
    look = next((one for one in here.looks if one.state.id == place.rules), None)
    last = look.last if look else None
    return (
        last is not None
        and not last.published.in_use
        and last.published.edition == pack.edition
        and last.pack == pack
    )


# ---- shown, then published


def _shown_or_published(
    here: Here,
    act: str,
    form: PublishForm,
    place: Place,
    data: Mapping[str, Any],
    pack: Pack,
) -> Response:
    """Show what a pack would change, or publish it as it was shown."""
    look = next((one for one in here.looks if one.state.id == place.rules), None)
    if act == "publish":
        if form.validate() and form.take_letter():
            form.document = document_of(data)
            outcome = _published_as(here, form, place, pack, look)
            if written(outcome, words().gettext("Published. Your local authority decides.")):
                return redirect(url_for("rules.studio", studio=here.studio.id), 303)
    else:
        form.supersedes.data = look.last.published.entry if look else ""
    page = PreviewPage(
        id=here.studio.id,
        studio=here.studio.name,
        form=form,
        pack=pack_shown(words(), pack, today=today()),
        found=_consequence(here, with_edition(here.site, pack)),
        silenced=silenced_shown(words(), here.site.packs, would_silence(here.site, pack)),
        replaces=look.last.pack.title if look and look.last.pack else "",
        back=request.path.endswith("/letter"),
        address=_sent_to(),
        picture=bool(look and look.last.published.letter),
    )
    status = 200 if act == "preview" else UNFIT
    return show("rules_preview.html", page=page, nav="house", status=status)


def _published_as(
    here: Here, form: PublishForm, place: Place, pack: Pack, look: RulesLook | None
) -> Outcome:
    """Publish a pack; where no new picture of the letter came, the one before stays."""
    more = {LETTER: look.last.published.letter} if look and look.last.published.letter else {}
    return publish_edition(
        form,
        here.studio.id,
        place,
        checked_on=pack.checked_on,
        review_on=pack.review_on,
        **more,
    )


def _sent_to() -> str:
    """Return where the preview is sent: to the page it came from, as it was asked."""
    asked = request.args.get("of", "")
    return f"{request.path}?of={asked}" if asked else request.path


def _consequence(here: Here, after: tuple[Pack, ...]) -> Consequence:
    journal = desk().journal
    liquids = see_liquids(journal, here.site)
    return consequence(words(), liquids, would_change(journal, here.site, liquids, after))


# ---- put out of use


@pages.route("/studios/<studio>/rules/<rules>/withdraw", methods=["GET", "POST"])
@needs(KIND)
def withdraw(studio: str, rules: str) -> Response:
    """Put rules out of use, after what that changes was shown."""
    here = _here(studio)
    look = _look(here, rules)
    form, last = WithdrawForm(), look.last.published
    if form.validate_on_submit():
        outcome = _withdrawn(form, here, look)
        if written(outcome, words().gettext("Put out of use. It stays to be read.")):
            return redirect(url_for("rules.studio", studio=here.studio.id), 303)
    elif not form.is_submitted():
        form.supersedes.data = last.entry
    readable = look.last.pack is not None
    page = WithdrawPage(
        id=here.studio.id,
        studio=here.studio.name,
        name=look.last.pack.title if look.last.pack else look.state.pack,
        form=form,
        found=_consequence(here, without(here.site, look.state.pack)) if readable else None,
    )
    status = UNFIT if form.is_submitted() else 200
    return show("rules_withdraw.html", page=page, nav="house", status=status)


def _withdrawn(form: EditionForm, here: Here, look: RulesLook) -> Outcome:
    """Write that the edition that stands is no longer used; its document stays."""
    last = look.last.published
    place = Place(pack=look.state.pack, edition=last.edition, rules=look.state.id)
    return publish_edition(
        form,
        here.studio.id,
        place,
        checked_on=last.checked_on,
        review_on=last.review_on,
        document=last.document,
        in_use="no",
        **({LETTER: last.letter} if last.letter else {}),
    )
