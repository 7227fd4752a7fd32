"""What stands between the pages and strangers, asked through HTTP."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import pytest
from flask import Blueprint, Flask, Response, abort, g, request
from flask.testing import FlaskClient
from flask_wtf.csrf import generate_csrf
from freezegun import freeze_time

from coop.ids import MemberId
from coop.settings import from_environment
from coop.store import members, migrate
from coop.store import sessions as stored
from coop.store.engines import Engines, WriterBusy, count_queries, open_engines
from coop.store.members import MemberSecret, Passwords
from coop.store.throttle import Throttled
from coop.web import security, sessions

START = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)
ADA = MemberId("member-a")
PASSWORD = "kitchen scales"
STUDIO = "https://studio.example"
LOOPBACK = "http://localhost"


@dataclass
class Studio:
    """A small app behind the guards, its clock and its databases."""

    app: Flask
    engines: Engines
    passwords: Passwords
    now: datetime = START

    def visit(self, base=LOOPBACK):
        return Browser(self, self.app.test_client(), base)


@dataclass
class Browser:
    studio: Studio
    client: FlaskClient
    base: str

    def get(self, path, **more):
        return self.client.get(path, base_url=self.base, **more)

    def post(self, path, data=None, token=True, **more):
        fields = dict(data or {})
        if token:
            fields["csrf_token"] = self.get("/form").text
        headers = {"Referer": f"{self.base}/form"} | more.pop("headers", {})
        return self.client.post(path, base_url=self.base, data=fields, headers=headers, **more)

    def sign_in(self, name="ada", password=PASSWORD, **more):
        return self.post("/sign-in", {"name": name, "password": password}, **more)

    def who(self):
        return self.get("/who").text


@pytest.fixture
def settings(tmp_path):
    env = {"COOP_DATA": str(tmp_path), "COOP_HOST_NAMES": "studio.example, 192.0.2.5"}
    return from_environment(env)


@pytest.fixture
def build(settings):
    """Return a maker of studios, each with what the settings say otherwise."""
    opened = []

    def make(passwords=None, **changes):
        migrate.upgrade(settings.database)
        engines = open_engines(settings.database)
        opened.append(engines)
        studio = Studio(Flask(__name__, static_folder=None), engines, passwords or QUICK)
        studio.app.secret_key = "k" * 64
        clock = lambda: studio.now  # noqa: E731 - one line says it
        sessions.install(studio.app, engines, studio.passwords, clock)
        security.install(studio.app, replace(settings, **changes))
        add_pages(studio.app)
        return studio

    yield make
    for engines in opened:
        engines.close()


QUICK = Passwords(time_cost=1, memory_kib=8)


@pytest.fixture
def studio(build):
    made = build()
    with made.engines.writing() as connection:
        members.add(
            connection,
            MemberSecret(
                member=ADA,
                sign_in_name="ada",
                mail=None,
                password_hash=made.passwords.hash(PASSWORD),
                changed_at=START,
            ),
        )
    return made


def add_pages(app):
    """Add the few views that the guards are asked about."""
    app.add_url_rule("/form", view_func=generate_csrf, endpoint="form")
    app.add_url_rule(
        "/who", view_func=lambda: g.who.member if g.who else "nobody", endpoint="who"
    )
    app.add_url_rule("/keep", view_func=lambda: request.form.get("note", ""), methods=["POST"])
    app.add_url_rule("/photo", view_func=photo, methods=["POST"])
    app.add_url_rule("/slip", view_func=slip)
    app.add_url_rule("/busy", view_func=busy)
    app.add_url_rule("/sign-in", view_func=sign_in_page, methods=["POST"])
    app.add_url_rule("/sign-out", view_func=sign_out_page, methods=["POST"])
    files = Blueprint("assets", __name__)
    files.add_url_rule("/static/<name>", view_func=static_file)
    app.register_blueprint(files)
    app.register_error_handler(400, lambda error: (f"{error.description} {g.who}", 400))


@security.body_limit(300_000)
def photo():
    return str(len(request.form["photo"]))


def slip():
    raise ZeroDivisionError


def busy():
    raise WriterBusy("writing")


def sign_in_page():
    found = sessions.check_sign_in(request.form["name"], request.form["password"])
    if isinstance(found, Throttled):
        abort(Response(str(found.retry_after_s), status=429))
    if found is None:
        return "no such name and password", 403
    response = Response("signed in")
    sessions.sign_in(response, found)
    return response


def sign_out_page():
    response = Response("signed out")
    sessions.sign_out(response)
    return response


def static_file(name):
    if name != "coop.css":
        abort(404)
    return Response("", headers={"Cache-Control": "public, max-age=31536000, immutable"})


# --- headers -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/who", 200),
        ("/missing", 404),
        ("/keep", 405),
        ("/slip", 500),
        ("/static/coop.css", 200),
    ],
)
def test_every_answer_carries_the_headers(studio, path, status):
    """A page that went wrong is a page too."""
    studio.app.config["PROPAGATE_EXCEPTIONS"] = False
    answer = studio.visit().get(path)

    assert answer.status_code == status
    assert {name: answer.headers[name] for name in security.HEADERS} == security.HEADERS


@pytest.mark.parametrize(
    ("base", "told"),
    [
        (LOOPBACK, "same-origin"),
        (STUDIO, "same-origin"),
        ("http://studio.example", None),
    ],
)
def test_the_policy_on_openers_is_sent_where_browsers_heed_it(studio, base, told):
    """HTML standard, "cross-origin opener policies": ignored outside of secure contexts."""
    answer = studio.visit(base).get("/who")

    assert answer.headers.get("Cross-Origin-Opener-Policy") == told


def test_the_policy_allows_scripts_and_styles_from_here_only():
    """No inline script or style, no frame around a page, one named way to make a script."""
    told = dict(part.split(" ", 1) for part in security.CONTENT_SECURITY_POLICY.split("; "))

    assert told["default-src"] == told["base-uri"] == told["frame-ancestors"] == "'none'"
    assert told["script-src"] == told["style-src"] == told["form-action"] == "'self'"
    assert told["require-trusted-types-for"] == "'script'"
    assert told["trusted-types"] == "coop"
    assert "unsafe" not in security.CONTENT_SECURITY_POLICY


def test_pages_are_not_kept_by_anybody_and_files_that_never_change_are(studio):
    """A shared tablet's back button shows nothing of the member before."""
    browser = studio.visit()

    assert browser.get("/who").headers["Cache-Control"] == "no-store"
    assert browser.get("/missing").headers["Cache-Control"] == "no-store"
    assert browser.get("/static/missing.css").headers["Cache-Control"] == "no-store"
    assert "immutable" in browser.get("/static/coop.css").headers["Cache-Control"]


def test_a_busy_writer_is_answered_with_when_to_come_back(studio):
    answer = studio.visit().get("/busy")

    assert answer.status_code == 503
    assert int(answer.headers["Retry-After"]) >= 1


# --- names ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    "host",
    [
        "localhost",
        "localhost:8080",
        "127.0.0.1:8080",
        "[::1]:8080",
        "LOCALHOST",
        "studio.example",
        "Studio.Example:8443",
        "192.0.2.5",
    ],
)
def test_the_servers_own_names_are_answered(studio, host):
    answer = studio.app.test_client().get("/who", headers={"Host": host})

    assert answer.status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "rebound.example",
        "localhost.rebound.example",
        "studio.example.rebound.example",
        "0.0.0.0",
        "[::2]",
        "[::1",
        "studio.example@rebound.example",
        "",
        "a/b",
    ],
)
def test_a_strangers_name_pointed_here_is_refused(studio, host):
    """Its pages would share our origin in a browser on the studio's machine."""
    answer = studio.app.test_client().get("/who", headers={"Host": host})

    assert answer.status_code == 421
    assert answer.headers["X-Content-Type-Options"] == "nosniff"


def test_a_forwarded_name_is_not_believed(build):
    """A proxy passes on the name it was asked for as the name itself."""
    browser = build(proxy_count=1).visit()
    ours, strange = {"X-Forwarded-Host": "localhost"}, {"Host": "rebound.example"}

    assert browser.get("/who", headers=ours | strange).status_code == 421


# --- form tokens ---------------------------------------------------------------------


def test_a_form_with_its_token_is_taken(studio):
    answer = studio.visit().post("/keep", {"note": "two jugs"})

    assert (answer.status_code, answer.text) == (200, "two jugs")


def test_a_form_without_its_token_is_refused(studio):
    assert studio.visit().post("/keep", token=False).status_code == 400


def test_a_token_from_another_browser_is_refused(studio):
    """A stranger's page can show a form, but not with this browser's token."""
    stranger = studio.visit().get("/form").text
    browser = studio.visit()
    browser.get("/form")

    assert browser.post("/keep", {"csrf_token": stranger}, token=False).status_code == 400


def test_every_route_that_takes_forms_refuses_one_without_token(studio):
    browser = studio.visit()
    rules = [rule for rule in studio.app.url_map.iter_rules() if "POST" in (rule.methods or ())]

    assert len(rules) == 4
    assert {browser.post(rule.rule, token=False).status_code for rule in rules} == {400}


def test_a_form_left_open_for_a_year_is_still_taken(studio):
    """Nothing typed is lost because a page was left open."""
    browser = studio.visit()
    with freeze_time(START):
        token = browser.get("/form").text
    with freeze_time(START + timedelta(days=365)):
        answer = browser.post("/keep", {"note": "x", "csrf_token": token}, token=False)

    assert answer.status_code == 200


def test_a_refused_form_still_knows_who_asks(studio):
    """The refusal is shown in the member's own page, with what was typed."""
    browser = studio.visit()
    browser.sign_in()

    assert "member-a" in browser.post("/keep", token=False).text


def test_over_tls_a_form_must_come_from_our_own_page(studio):
    browser = studio.visit(STUDIO)

    assert browser.post("/keep").status_code == 200
    far = {"Referer": "https://rebound.example/form"}
    assert browser.post("/keep", headers=far).status_code == 400


def test_a_body_over_the_limit_is_refused_and_a_views_own_limit_is_kept(studio):
    browser = studio.visit()
    long = "x" * security.FORM_BYTES_MAX

    assert browser.post("/keep", {"note": long}).status_code == 413
    assert browser.post("/photo", {"photo": long}).text == str(len(long))
    assert browser.post("/photo", {"photo": "x" * 300_001}).status_code == 413


@pytest.mark.parametrize(
    ("base", "plain_http", "told"),
    [
        (STUDIO, False, "max-age=31536000"),
        ("http://studio.example", False, None),
        ("https://localhost", False, None),
        (STUDIO, True, None),
    ],
)
def test_a_browser_that_came_by_tls_is_told_to_come_so_for_a_year(
    build, studio, base, plain_http, told
):
    """
    ASVS 5.0, 3.4.1 (from memory); over plain http a browser ignores it (RFC 6797 8.1).

    Not on loopback, which other programs of that machine share, nor where the operator serves
    the same names without encryption: those would be shut out for a year.
    """
    answer = build(plain_http=plain_http).visit(base).get("/who")

    assert answer.headers.get("Strict-Transport-Security") == told


# --- cookies -------------------------------------------------------------------------


def cookies(answer):
    """Return the attributes of each cookie an answer sets, by its name."""
    told = {}
    for line in answer.headers.getlist("Set-Cookie"):
        first, *rest = line.split("; ")
        told[first.partition("=")[0]] = {part.partition("=")[0]: part for part in rest}
    return told


def both_cookies(browser):
    return cookies(browser.get("/form")) | cookies(browser.sign_in())


def test_over_tls_cookies_are_bound_to_this_host(studio):
    """The prefix makes the browser itself refuse such a cookie from anybody else."""
    told = both_cookies(studio.visit(STUDIO))

    assert set(told) == {"__Host-coop-form", "__Host-coop-session"}
    for flags in told.values():
        assert {"Secure", "HttpOnly", "SameSite", "Path", "Expires"} <= set(flags)
        assert (flags["SameSite"], flags["Path"]) == ("SameSite=Lax", "Path=/")
        assert "Domain" not in flags


@pytest.mark.parametrize(
    ("base", "plain_http"),
    [(LOOPBACK, False), ("http://127.0.0.1:8080", False), ("http://192.0.2.5", True)],
)
def test_on_loopback_and_plain_http_cookies_go_without_prefix(build, base, plain_http, studio):
    """A browser takes the prefix over TLS only; nobody could sign in otherwise."""
    told = both_cookies(build(plain_http=plain_http).visit(base))

    assert set(told) == {"coop-form", "coop-session"}
    for flags in told.values():
        assert {"HttpOnly", "SameSite", "Path"} <= set(flags)
        assert "Secure" not in flags


def test_a_configured_name_without_tls_gets_no_loose_cookie(studio):
    """The operator did not say plain http, so none is given where all can read it."""
    told = both_cookies(studio.visit("http://studio.example"))

    assert all("Secure" in flags for flags in told.values())


def test_the_session_cookie_is_a_new_secret_at_each_sign_in(studio):
    """What a browser held before signing in lets nobody in afterwards."""
    browser = studio.visit()
    browser.client.set_cookie("coop-session", "planted")
    browser.sign_in()
    first = browser.client.get_cookie("coop-session").value
    browser.sign_in()
    second = browser.client.get_cookie("coop-session").value

    assert len({"planted", first, second}) == 3
    browser.client.set_cookie("coop-session", first)
    assert browser.who() == "nobody"


def test_the_form_cookie_holds_nothing_about_the_member(studio):
    browser = studio.visit()
    browser.sign_in()
    with browser.client.session_transaction(base_url=LOOPBACK) as held:
        assert set(held) == {"csrf_token"}


# --- sessions ------------------------------------------------------------------------


def test_a_visitor_is_nobody_until_signed_in(studio):
    browser = studio.visit()
    before = browser.who()
    browser.sign_in()

    assert (before, browser.who()) == ("nobody", ADA)


def test_signing_out_ends_the_session_on_the_server(studio):
    """A copied cookie is worth nothing after it."""
    browser = studio.visit()
    browser.sign_in()
    copied = browser.client.get_cookie("coop-session").value
    browser.post("/sign-out")

    assert browser.client.get_cookie("coop-session") is None
    browser.client.set_cookie("coop-session", copied)
    assert browser.who() == "nobody"


def test_the_next_member_on_a_tablet_gets_a_form_token_of_their_own(studio):
    browser = studio.visit()
    browser.sign_in()
    old = browser.get("/form").text
    browser.post("/sign-out")
    browser.get("/form")

    assert browser.post("/keep", {"csrf_token": old}, token=False).status_code == 400


def test_a_session_ended_from_elsewhere_is_out_at_once(studio):
    phone, home = studio.visit(), studio.visit()
    phone.sign_in()
    home.sign_in()
    with studio.engines.writing() as connection:
        assert stored.end_all(connection, ADA) == 2

    assert (phone.who(), home.who()) == ("nobody", "nobody")


def test_a_session_is_out_after_fourteen_days_without_a_visit(studio):
    browser = studio.visit()
    browser.sign_in()
    studio.now += timedelta(days=14)

    assert browser.who() == "nobody"


def last_seen(studio):
    with studio.engines.reading() as connection:
        return [one.last_seen_at for one in stored.list_of(connection, ADA, studio.now)]


def test_last_seen_is_written_every_ten_minutes_after_the_answer(studio):
    browser = studio.visit()
    browser.sign_in()
    studio.now += timedelta(minutes=9)
    browser.get("/who").close()
    assert last_seen(studio) == [START]

    studio.now += timedelta(minutes=1)
    browser.get("/who").close()
    assert last_seen(studio) == [studio.now]


def test_a_busy_writer_loses_last_seen_and_nothing_else(studio):
    browser = studio.visit()
    browser.sign_in()
    studio.now += timedelta(hours=1)
    with studio.engines.writing():
        answer = browser.get("/who")
        answer.close()

    assert (answer.status_code, answer.text) == (200, ADA)
    assert last_seen(studio) == [START]


def test_who_asks_costs_one_query_and_none_for_files(studio):
    browser = studio.visit()
    browser.sign_in()
    with count_queries(studio.engines.reader) as page:
        browser.who()
    with count_queries(studio.engines.reader) as file:
        browser.get("/static/coop.css")

    assert (page.count, file.count) == (1, 0)


@pytest.mark.parametrize("cookie", ["", "x", "\u00fc" * 50, "a" * 3_000, '"; DROP TABLE entry'])
def test_a_made_up_cookie_is_nobody(studio, cookie):
    browser = studio.visit()
    browser.client.set_cookie("coop-session", cookie)

    assert browser.who() == "nobody"


def test_a_session_is_listed_by_browser_and_system(studio):
    """A member knows the lost phone by it."""
    agent = "Mozilla/5.0 (Android 14; Mobile; rv:130.0) Gecko/130.0 Firefox/130.0"
    studio.visit().sign_in(headers={"User-Agent": agent})
    studio.visit().sign_in(headers={"User-Agent": "x" * 900})
    with studio.engines.reading() as connection:
        agents = {one.agent for one in stored.list_of(connection, ADA, START)}

    assert agents == {"Firefox, Android", ""}


# --- signing in ----------------------------------------------------------------------


def test_an_unknown_name_is_answered_like_a_wrong_password(studio):
    """Nobody learns from the answer who is a member."""
    wrong = studio.visit().sign_in(password="kitchen clock")
    unknown = studio.visit().sign_in(name="nobody")

    assert (wrong.status_code, wrong.data) == (unknown.status_code, unknown.data)
    assert cookies(wrong) == cookies(unknown) == {}


def test_an_unknown_name_costs_one_hash_like_a_known_one(build, studio):
    """The work is counted, not timed: the hash is all that takes long."""
    counting = CountingPasswords()
    browser = build(passwords=counting).visit()
    browser.sign_in(password="kitchen clock")
    browser.sign_in(name="nobody")

    assert counting.checks == [True, False]


class CountingPasswords(Passwords):
    """Notes each check it makes, and whether the name was known."""

    def __init__(self):
        super().__init__(time_cost=1, memory_kib=8)
        self.checks = []

    def check(self, stored, password):
        self.checks.append(stored is not None)
        return super().check(stored, password)


def test_the_eleventh_wrong_password_is_told_to_wait(studio):
    """Even the right one, and for an account that does not exist just the same."""
    for name in ("ada", "nobody"):
        browser = studio.visit()
        answers = [browser.sign_in(name, "kitchen clock").status_code for _ in range(11)]
        assert answers == [403] * 10 + [429]
        assert browser.sign_in(name).status_code == 429
        assert browser.sign_in(name).text == str(15 * 60)


def test_another_spelling_of_the_name_is_the_same_account(studio):
    browser = studio.visit()
    for _ in range(10):
        browser.sign_in("ada", "kitchen clock")

    assert browser.sign_in(" ADA").status_code == 429


def test_an_address_that_tries_many_names_is_told_to_wait(studio):
    browser = studio.visit()
    answers = [browser.sign_in(f"name-{n}").status_code for n in range(31)]

    assert answers == [403] * 30 + [429]


def test_a_throttled_account_is_open_again_after_a_quarter_of_an_hour(studio):
    browser = studio.visit()
    for _ in range(11):
        browser.sign_in(password="kitchen clock")
    studio.now += timedelta(minutes=15)

    assert browser.sign_in().status_code == 200


def test_a_whole_class_signs_in_from_one_address(studio):
    answers = [studio.visit().sign_in().status_code for _ in range(32)]

    assert answers == [200] * 32


def test_a_proxys_own_address_is_not_counted(build, studio):
    """Or one stranger would lock the whole studio out."""
    browser = build(proxy_count=1).visit()
    one, other = ({"X-Forwarded-For": f"198.51.100.{n}"} for n in (1, 2))
    answers = [browser.sign_in(f"n{n}", headers=one).status_code for n in range(31)]

    assert answers == [403] * 30 + [429]
    assert browser.sign_in(headers=other).status_code == 200


def test_a_forwarded_address_is_believed_from_a_known_proxy_only(studio):
    """Or a stranger would count under a new address each time."""
    browser = studio.visit()
    made_up = [{"X-Forwarded-For": f"198.51.100.{n}"} for n in range(31)]
    answers = [browser.sign_in(f"n{n}", headers=one) for n, one in enumerate(made_up)]

    assert [answer.status_code for answer in answers] == [403] * 30 + [429]


def test_an_old_hash_is_made_anew_at_the_next_sign_in(build, studio):
    """The parameters grow with the machines."""
    stronger = Passwords(time_cost=2, memory_kib=16)
    newer = build(passwords=stronger)
    newer.visit().sign_in()
    with newer.engines.reading() as connection:
        kept = members.find(connection, ADA)

    assert kept
    assert not stronger.is_outdated(kept.password_hash)
    assert newer.visit().sign_in().status_code == 200
