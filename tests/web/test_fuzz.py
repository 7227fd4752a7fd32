"""Hostile input on every route: nothing breaks, and nothing typed comes back as markup."""

import json
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlencode, urlsplit

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from werkzeug.routing import Rule

from coop.people.may import ROLE_CODES
from coop.store import invites, sessions
from coop.store.tokens import new_token
from coop.web import pages
from coop.web.assets import install_assets
from tests.support.enrolled import enrolled, over
from tests.support.forms import Form, forms_of
from tests.support.opened import Opened, furnished, mixed, quantity
from tests.support.tray import with_size
from tests.support.wastes import publish

EXAMPLES = settings().max_examples // 25
OWN_METHODS = {"HEAD", "OPTIONS"}
OTHER_METHODS = ("PUT", "DELETE", "TRACE")
PART = re.compile(r"<(?:(?:any\(([^)]*)\)|\w+):)?(\w+)>")
FILES = ("/static/", "/sw.js", "/manifest.webmanifest")
MARKUP = ("text/html", "image/svg+xml")
DATA = ("application/json", "application/problem+json", "text/csv", "text/calendar")

# Each would run, or break out of where it stands, if it came back as it was sent.
MARKS = (
    "<script>alert('zq')</script>",
    "<ScRiPt src=//zq.example>",
    "\"><img src=x onerror=alert('zq')>",
    "'><svg onload=alert('zq')>",
    "</textarea><b>zq",
    "</title></option></select><b>zq",
    '" onfocus="zq" autofocus x="',
    "<!--zq",
    "<a href='javascript:zq'>",
)
COME_BACK = r"<script>alert\('zq'|<b>zq|<svg onload|<img src=x"
SAID = (
    *MARKS,
    "javascript:alert('zq')",
    "'; DROP TABLE entry; --",
    '" OR ""="',
    "x'||(SELECT bytes FROM entry)||'",
    "%(name)s %s %n %% {0} {name} {{ 7*7 }} {% raw %} ${7*7}",
    "../../../etc/passwd",
    "a\r\nSet-Cookie: zq=1\r\n\r\n<b>",
    "\x00", "a\x00b", "\x1b[31m", "\u202eabc", "\ufeff", "\ufffe", "e\u0301", "İi", "ß",
    "\U0001f3a8", "", " ", "\t", "\n\n", "null", "None", "True", "[]", "{}",
    "x" * 121, "y" * 5_000, "€" * 9_000,
)  # fmt: skip
NUMBERS = (
    "0", "-0", "-1", "1", "2", "1.5", "1,5", "1,250", "1.250,5", "½", "²", "٣", "\uff11", "1/0",
    "0/1", "1e999", "1e-999", "-1e9", "NaN", "inf", "0x10", "1_0", "+1", "01", "1 1/2",
    "9" * 30, "9" * 400, "0." + "1" * 400, "2147483648", "9223372036854775808", "99999999999/7",
)  # fmt: skip
MOMENTS = (
    "2025-09-17T18:00", "2025-09-17", "0001-01-01T00:00", "9999-12-31T23:59",
    "1969-12-31T00:00", "2025-02-30T10:00", "2025-10-26T02:30", "2025-03-30T02:30",
    "2025-09-17T18:00+23:59",
    "0001-01-01T00:00+14:00", "9999-12-31T23:59-12:00", "2025-09-17T18:00Z", "24:00",
    "2025-W38-3", "20250917T180000.123456789", "now",
)  # fmt: skip
IDS = (
    "0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7b",
    "0192F3C4-5D6E-7F80-9A1B-2C3D4E5F6A7B",
    "00000000-0000-0000-0000-000000000000",
    "{0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7b}",
    "0192f3c45d6e7f809a1b2c3d4e5f6a7b",
    "house", "ledger", "new", "a" * 64, "z" * 3_000,
)  # fmt: skip
NAMES = (
    "water", "water.typed", "water.unit", "water.n", "water.typed.n", "salt", "salt.0.lot",
    "salt.0.amount.typed", "salt.99999999999.lot", "salt.-1.lot", "salt.².lot", ".", "a..b",
    ".a", "a.", "__class__", "__proto__.x", "entry_id", "happened_at", "note", "note.0", "bath",
    "kind", "body", "roles", "roles.0", "content.body.kind", "csrf_token", "x" * 500, "\x00",
    "é.0.é",
)  # fmt: skip
ASKED = (
    "after",
    "at",
    "all",
    "written",
    "next",
    "studio",
    "reason",
    "was",
    "lang",
    "q",
    "dose",
    "recipe",
    "by",
    "read",
    "tag",
    "show",
    "supply",
    "order",
    "bath",
    "jug",
    "lot",
    "from_jar",
    "waste",
)

hostile = st.one_of(
    st.sampled_from(SAID),
    st.sampled_from(NUMBERS),
    st.sampled_from(MOMENTS),
    st.sampled_from(IDS),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=30),
)


def _routes() -> list[tuple[Rule, str]]:
    """Return every rule that pages and assets bring, with each method it takes."""
    app = Flask("coop.web", static_folder=None)
    install_assets(app)
    pages.install(app)
    found = [
        (rule, method)
        for rule in app.url_map.iter_rules()
        for method in (rule.methods or set()) - OWN_METHODS
    ]
    return sorted(found, key=lambda one: (one[0].rule, one[1]))


def links(page: str, seen: set[str]) -> Iterator[str]:
    """Give the links of a page to pages not seen yet; the first to each, as it is."""
    for found in re.findall(r'href="(/[^"#]*)', page):
        path = found.partition("?")[0]
        if path not in seen and not path.startswith(("/static/", "/strip/")):
            seen.add(path)
            yield unescape(found)


ROUTES = _routes()
POSTED = [rule for rule, method in ROUTES if method == "POST"]


class Place:
    """
    A ledger that has everything in it, and the browser of somebody who may do anything.

    No dataclass: all its forms would be written out for each test that fails.
    """

    def __init__(
        self, house: Opened, app: Flask, client: FlaskClient, known: dict[str, list[str]]
    ) -> None:
        self.house = house
        self.app = app
        self.client = client
        self.secret = new_token()
        self.known = known
        self.cookie = ""
        self.token = ""
        self.forms: dict[str, list[Form]] = {}

    @property
    def ids(self) -> list[str]:
        return [one for ids in self.known.values() for one in ids]

    def address(self, rule: Rule) -> str:
        """Return an address of a rule, of something that is there."""

        def value(found: re.Match[str]) -> str:
            return found[1].split(", ")[0] if found[1] else self.known[found[2]][0]

        return PART.sub(value, rule.rule)

    def come_back(self) -> None:
        """Be signed in, with the form token of the first visit, whatever was sent before."""
        member, now = self.house.members["ilse"].member, self.house.moment
        with self.house.store.reading() as desk:
            there = sessions.find(desk.connection, self.secret, now)
        if there is None:
            with self.house.store.writing() as desk:
                sessions.create(
                    desk.connection, token=self.secret, member=member, agent="", now=now
                )
        self.client.set_cookie("coop-session", self.secret)
        if self.cookie:
            self.client.set_cookie("coop-form", self.cookie)

    def look_around(self) -> None:
        """
        Follow links from the first page, one to a page, and learn the forms by where they go.
        """
        left, seen = ["/"], {"/"}
        while left:
            there = left.pop()
            answer = self.client.get(there, follow_redirects=True)  # a size has its own pages
            assert answer.status_code == 200, there
            self._learn(there.partition("?")[0], answer.text)
            left += links(answer.text, seen)

    def _learn(self, there: str, page: str) -> None:
        tags = re.findall(r"<form[^>]*>", page)
        for tag, form in zip(tags, forms_of(page), strict=True):
            live = re.search(r'data-live="([^"]*)"', tag)
            for action in {form.action or there, live[1] if live else there}:
                self.forms.setdefault(action, []).append(form)

    def form_for(self, rule: Rule) -> Form | None:
        """Return a form that goes to a rule; the one that asks most."""
        pattern = re.compile(re.sub(r"<[^>]+>", "[^/]+", rule.rule))
        found = [f for to, forms in self.forms.items() if pattern.fullmatch(to) for f in forms]
        return max(found, key=lambda form: len(form.names), default=None)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Place:
    house = furnished(Path(tmp_path_factory.mktemp("fuzz")))
    known = _lived_in(house)
    house.join("Ilse B.", *ROLE_CODES)
    app = house.app()
    made = Place(house, app, app.test_client(), known)
    made.come_back()
    made.look_around()
    made.token = made.forms["/sign-out"][0].fields["csrf_token"][0]
    kept = made.client.get_cookie("coop-form")
    assert kept
    made.cookie = kept.value
    return made


def _lived_in(house: Opened) -> dict[str, list[str]]:
    """Let things of every sort happen; return their ids by the names that addresses use."""
    recipe = house.say(
        "recipe.published", name="old card", dose="40 g/L", amount=quantity(40, "g"),
        per=quantity(1, "l"), salt="aluminium_sulfate_14",
    )  # fmt: skip
    size = with_size(house)
    bath = mixed(house)
    tub = house.say("vessel.described", studio=house.made["studio"], name="small tub",
                    brim=quantity(16, "l"), lidded="no", place="2")  # fmt: skip
    stopped = mixed(house, name="R-A2", vessel=tub)
    house.later(hours=1)
    said = _written(house, bath, stopped)
    phone, waiting = _waiting(house, bath)
    jug = house.say("jug.found", studio=house.made["studio"], where="by the sink", look="clear")
    thrown, wastes = _thrown_away(house, bath)
    people = [str(one.member) for one in house.members.values()]
    lots = [house.made["alum"], house.made["parcel"]]
    return {
        "bath": [bath, stopped, size],
        "stack": said[:2],
        "jug": [jug],
        **thrown,
        "entry": [*said, *wastes, bath, tub, *lots],
        "lot": lots,
        "paper": [house.made["paper"]],
        "recipe": [recipe],
        "studio": [house.made["studio"]],
        "tub": [tub],
        "vessel": [house.made["tub"], tub],
        "member": [*people[1:], said[-1], people[0]],
        "token": ["joins"],
        "id_hash": ["a" * 64],
        "seed_id": [bath],
        "digest": ["0" * 12],
        "device": [phone],
        "draft": [waiting],
        "name": ["coop.css"],
        **_ordered(house),
    }


def _thrown_away(house: Opened, bath: str) -> tuple[dict[str, list[str]], list[str]]:
    """Publish rules, fill a jar, pour some away; return what is there, and the lines' ids."""
    here: dict[str, Any] = {"studio": house.made["studio"]}
    jar = house.say("waste.started", **here, name="Alum jar", sort="jar",
                    holds=quantity(10, "l"), wastes=["alum_bath"])  # fmt: skip
    said: tuple[tuple[str, dict[str, Any]], ...] = (
        ("waste.added", {"jar": jar, "bath": bath, "waste": "alum_bath",
                         "litres": quantity(2, "l")}),
        ("disposal.treated", {"jar": jar, "step": "kept_back", "litres": quantity(200, "ml")}),
        ("disposal.done", {"jar": jar, "waste": "alum_bath", "outlet": "sewer",
                           "litres": quantity(1, "l")}),
        ("mishap.noted", {"jar": jar, "what": "spill", "litres": quantity(100, "ml")}),
    )  # fmt: skip
    found = [jar]
    for kind, body in said:
        house.later(minutes=1)
        found.append(house.say(kind, **here, **body))
    known = {
        "jar": [jar],
        "mishap": found[-1:],
        "rules": [publish(house, "us-federal-floor")],
        "number": ["1"],
    }
    found.append(
        house.say("reading.taken", jar=jar, instrument="ph_strip", ph="6.5", step="0.5")
    )
    return known, found


def _ordered(house: Opened) -> dict[str, list[str]]:
    """Describe a supply and who sells it, order some, and book a session that takes some."""
    gloves = house.say("supply.described", what="gloves", name="Gloves", measure="pieces",
                       floor_count="30")  # fmt: skip
    order = house.say("order.placed", what="supply", supply=gloves, packs="2")
    session = house.say(
        "session.planned", studio=house.made["studio"], name="Saturday class",
        starts="2025-10-04T10:00:00+02:00", head_count="9", under_16="no",
        needs=[{"what": "supply", "supply": gloves, "count": "18"}],
    )  # fmt: skip
    return {
        "order": [order],
        "session": [session],
        "supplier": [house.say("supplier.described", name="Supplier E")],
        "key": [f"supply:{gloves}", "salt:aluminium_sulfate_14"],
        "code": ["borax", "bath_alum"],
        "secret": ["a" * 43],
    }


def _written(house: Opened, bath: str, stopped: str) -> list[str]:
    """Write what can be corrected; the last one is an open invitation."""
    said = [
        house.say("sheets.through", "kahu", bath=one, sheet_count="20", sheet_format="half",
                  method="dip", lot=house.made["parcel"])
        for one in (bath, stopped)
    ]  # fmt: skip
    said.append(house.say("lot.spoon_weighed", lot=house.made["alum"], spoon_count="10",
                          spoon="us_tbsp", weight=quantity(111, "g")))  # fmt: skip
    said.append(house.say("reading.taken", bath=bath, instrument="dipstick",
                          depth=quantity(25, "mm")))  # fmt: skip
    said.append(house.say("bath.stopped", bath=stopped, reason="looks_wrong"))
    said.append(house.say("member.invited", roles=["member"]))
    with house.store.writing() as desk:
        invites.make(desk.connection, token="joins", purpose="member", now=house.moment,
                     entry=said[-1], made_by=house.members["amina"].member)  # type: ignore[arg-type]  # fmt: skip  # an id
    return said


def _waiting(house: Opened, bath: str) -> tuple[str, str]:
    """Let a phone hand in something that waits for a person; return both their ids."""
    phone, client = enrolled(house)
    waiting = phone.write("bath.cleared", now=house.moment, bath=bath, reason="mended")
    assert phone.push(over(client), now=house.moment)
    assert phone.state(waiting) == "needs"
    return phone.id, waiting


@st.composite
def addresses(draw: st.DrawFn, rule: Rule, place: Place) -> str:
    """Draw an address of a rule: mostly of something that is there."""

    def value(found: re.Match[str]) -> str:
        if found[1]:
            return str(draw(st.sampled_from(found[1].split(", "))))
        likely = st.sampled_from(place.known[found[2]])
        one = draw(st.one_of(likely, likely, likely, st.sampled_from(place.ids), hostile))
        return quote(one, safe="") or draw(st.sampled_from(("%00", "%ff", "%2e%2e", "%0a")))

    return PART.sub(value, rule.rule)


@st.composite
def typed(draw: st.DrawFn, form: Form | None, ids: list[str]) -> dict[str, Any]:
    """Draw a form as it stands on its page, with hostile things in some of its fields."""
    fields: dict[str, Any] = dict(form.fields) if form else {}
    names = sorted(form.names - {"csrf_token"}) if form else []
    odd = st.sampled_from(NAMES)
    which = st.one_of(st.sampled_from(names), st.sampled_from(names), odd) if names else odd
    said = st.one_of(hostile, hostile, st.sampled_from(ids))
    for name in draw(st.lists(which, max_size=5, unique=True)):
        fields[name] = draw(st.one_of(said, said, st.lists(said, max_size=3)))
    for name in draw(st.lists(st.sampled_from(names), max_size=1)) if names else ():
        fields.pop(name, None)
    return fields


BODIES: tuple[tuple[str, bytes], ...] = (
    ("application/json", b"[1]"),
    ("multipart/form-data; boundary=x", b"--x\r\nContent-Disposition: form-data; name"),
    ("multipart/form-data; boundary=x", b'--x\r\nContent-Disposition: form-data; name="note"; '
     b'filename="../a.html"\r\nContent-Type: text/html\r\n\r\n<script>\r\n--x--\r\n'),
    ("multipart/form-data", b"no boundary"),
    ("application/x-www-form-urlencoded", b"note=%ff%fe%00&sheet_count=%&&=&=1&a"),
    ("application/x-www-form-urlencoded; charset=utf-16", b"note=a"),
    ("", b"\xff\x00"),
)  # fmt: skip


@pytest.mark.parametrize(("rule", "method"), ROUTES, ids=[f"{m} {r}" for r, m in ROUTES])
@settings(max_examples=EXAMPLES, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_whatever_is_sent_is_answered(
    place: Place, rule: Rule, method: str, data: st.DataObject
) -> None:
    """A page that breaks loses what was typed; markup that comes back is somebody's code."""
    there = data.draw(addresses(rule, place), label="there")
    form = place.form_for(rule)
    fields = data.draw(typed(form, place.ids), label="fields")
    place.come_back()
    if method == "POST":
        answer = place.client.post(there, data={**fields, "csrf_token": place.token})
    else:
        asked = {name: data.draw(hostile, label=name) for name in ASKED[: len(fields) + 1]}
        answer = place.client.get(f"{there}?{urlencode({**asked, **fields}, doseq=True)}")

    check(answer)


@pytest.mark.parametrize("rule", POSTED, ids=str)
def test_a_body_of_another_sort_is_answered(place: Place, rule: Rule) -> None:
    """The token comes by its header here, so that the body reaches the page."""
    there = place.address(rule)
    form = place.form_for(rule)
    named = {name: {"typed": [1, None]} for name in (form.names if form else ())}
    for content_type, body in (*BODIES, ("application/json", json.dumps(named).encode())):
        place.come_back()
        headers = {"X-CSRFToken": place.token, "Content-Type": content_type}
        check(place.client.post(there, data=body, headers=headers))


@settings(max_examples=EXAMPLES * 2, suppress_health_check=list(HealthCheck))
@given(
    st.sampled_from(("/", "/sign-in", "/no-such-page", "/language", "/house/papers/weight")),
    st.dictionaries(
        st.sampled_from(
            ("Accept", "Accept-Language", "Referer", "Cookie", "Range", "If-None-Match",
             "If-Modified-Since", "User-Agent", "Accept-Encoding", "X-Forwarded-For")
        ),
        st.one_of(
            st.sampled_from(("*/*;q=x", "tr;q=9e9,,;;", "//zq.example/", "http://[",
                             "bytes=9-1", "coop-session=; coop-form=e30.zq.zq; coop-lang=<b>",
                             "gzip;q=, *;q=nan", "x" * 5_000)),
            st.text(st.characters(min_codepoint=32, max_codepoint=255), max_size=40),
        ),
        min_size=1,
    ),
)  # fmt: skip
def test_odd_headers_are_answered(place: Place, there: str, headers: dict[str, str]) -> None:
    """Browsers, proxies and scanners say all sorts of things."""
    client = place.app.test_client(use_cookies=False)

    check(client.get(there, headers=headers))
    check(client.post(there, headers=headers))


@pytest.mark.parametrize("rule", POSTED, ids=str)
def test_a_form_without_a_good_token_is_refused(place: Place, rule: Rule) -> None:
    """Whatever the page does: another site could send it."""
    there = place.address(rule)
    form = place.form_for(rule)
    held = dict(form.fields) if form else {}
    fields = {name: one for name, one in held.items() if not name.endswith("csrf_token")}
    place.come_back()
    guards_itself = rule.rule == "/device/push"  # by the browser's word, see test_push.py
    for token in (None, place.token[:-1], "é" * 5_000 + MARKS[0]):
        said = {} if token is None else {"csrf_token": token}
        answer = place.client.post(there, data=fields | said)

        check(answer)
        assert answer.status_code == (403 if guards_itself else 400), (there, token)


def test_a_method_that_a_page_does_not_take_is_refused(place: Place) -> None:
    """Not one of them may fall through to a view."""
    for there in {place.address(rule) for rule, _ in ROUTES}:
        for method in OTHER_METHODS:
            place.come_back()
            answer = place.client.open(
                there, method=method, headers={"X-CSRFToken": place.token}
            )
            check(answer)
            assert answer.status_code in (404, 405), (method, there)


def check(answer: Any) -> None:
    """An answer is whole: no fault of the server, nothing of its inside, no foreign markup."""
    assert answer.status_code < 500 or answer.request.path == "/not-open"
    text = answer.get_data().decode("utf-8", "replace")
    assert "Traceback (most recent call last)" not in text
    if answer.mimetype in MARKUP:
        assert not [mark for mark in MARKS if mark in text]
        assert 'href="javascript:' not in text
    elif answer.mimetype in DATA:
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
    else:
        redirected = answer.status_code in (302, 303, 308)
        assert redirected or answer.request.path.startswith(FILES)
    _check_way(answer.headers.get("Location", ""))
    assert all("zq=1" not in one for one in answer.headers.getlist("Set-Cookie"))


def _check_way(location: str) -> None:
    """A redirect stays on this server."""
    parts = urlsplit(location)
    assert not parts.netloc, location
    assert not location.startswith(("//", "/\\")), location
    assert not parts.scheme, location


# --- what was taken, and is shown again and again -------------------------------------


def names(longest: int) -> Iterator[str]:
    """Give names that would do harm, as long as a field takes them."""
    while True:
        yield from (mark[:longest] for mark in MARKS)


def walked(client: FlaskClient) -> list[str]:
    """Follow every link from the room; return the pages, each checked."""
    left, seen = ["/"], {"/"}
    texts: list[str] = []
    while left:
        answer = client.get(left.pop())
        check(answer)
        assert answer.status_code == 200
        if answer.mimetype in MARKUP:  # a table for a spreadsheet is not read as a page
            assert not re.search(COME_BACK, answer.text)
            texts.append(answer.text)
            left += links(answer.text, seen)
    return texts


def test_names_that_look_like_markup_are_shown_as_names(tmp_path: Path) -> None:
    """They are kept as they were typed, and escaped wherever they are shown."""
    house = furnished(tmp_path)
    name = names(40)
    house.join(f"Zq {MARKS[0]}", "member")
    tub = house.say(
        "vessel.described", studio=house.made["studio"], name=next(name), lidded="no",
        place="2",
        brim=quantity(10, "l"), inside_length=quantity(740, "mm"),
        inside_width=quantity(540, "mm"),
    )  # fmt: skip
    studio = house.say("studio.described", name=next(name), letter="<b>", drain="sewer",
                       drain_note=MARKS[3], premises=MARKS[2], emergency=MARKS[4], poison=MARKS[5])  # fmt: skip  # noqa: E501
    paper = house.say("paper.described", name=MARKS[0], length=quantity(700, "mm"),
                      width=quantity(500, "mm"), chalk="some")  # fmt: skip
    house.say("lot.received", studio=studio, what="paper", name=MARKS[2][:40], paper=paper,
              sheet_count="10", supplier=MARKS[3])  # fmt: skip
    lot = house.say("lot.received", studio=house.made["studio"], what="alum", name=MARKS[0],
                    salt="potash_alum", weight=quantity(9, "kg"),
                    supplier=MARKS[6])  # fmt: skip
    house.say("recipe.published", name=MARKS[0], dose=MARKS[2], amount=quantity(40, "g"),
              per=quantity(1, "l"), salt="potash_alum", source=MARKS[3])  # fmt: skip
    bath = mixed(house, name="<script>alert('zq')", vessel=tub, water=quantity("8", "l"),
                 salt=[{"lot": lot, "amount": quantity(300, "g") | {"typed": MARKS[6]}}])  # fmt: skip  # noqa: E501
    house.later(hours=1)
    house.say("sheets.through", "kahu", bath=bath, sheet_count="20", sheet_format="half",
              method="dip", lot=house.made["parcel"], reason="other")  # fmt: skip
    house.say("bath.stopped", bath=bath, reason="other")
    texts = walked(house.client("amina"))
    everything = "".join(texts)
    assert len(texts) > 20
    for shown in ("&lt;script&gt;alert(", "&lt;img src=x", "&lt;svg onload"):
        assert shown in everything


@pytest.mark.parametrize("there", ["/baths/%00/mend", "/mix/%00", "/?at=1%00", "/people/a%00"])
def test_an_address_with_the_null_sign_is_refused(place: Place, there: str) -> None:
    """Texts of PostgreSQL cannot hold U+0000: asking it for one would be a fault."""
    place.come_back()

    assert place.client.get(there).status_code == 400


def test_a_form_with_the_null_sign_is_refused(place: Place) -> None:
    """Nobody can type it."""
    said = {"csrf_token": place.token, "sign_in_name": "a\x00b", "password": "x"}

    assert place.client.post("/sign-in", data=said).status_code == 400
