"""Every route times every standing person: allowed or not, exactly as the one table says."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.routing import AnyConverter, IntegerConverter, Rule

from coop.people.may import ROLE_CODES, may
from coop.store import sessions
from coop.store.tokens import new_token
from coop.web.page import PUBLIC
from tests.support.forms import forms_of
from tests.support.opened import Opened, opened

NOBODY = ""
PEOPLE = (NOBODY, "kahu", "amina", "oluwaseun", "noor", "ines")
UNKNOWN_ID = "0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7b"
FORBIDDEN = 403
SEE_OTHER = (302, 303)


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Opened:
    """A ledger with one person of each role and nothing described."""
    made = opened(Path(tmp_path_factory.mktemp("matrix")))
    made.join("Noor T.", "member", "treasurer")
    made.join("Ines L.", "member", "teacher")
    return made


@pytest.fixture(scope="module")
def app(house: Opened) -> Flask:
    return house.app()


def routes(app: Flask) -> Iterator[tuple[Rule, str]]:
    """Return every rule of a page with the methods by which it can be asked."""
    for rule in app.url_map.iter_rules():
        if not rule.endpoint.startswith("assets."):
            for method in sorted(set(rule.methods or ()) - {"HEAD", "OPTIONS"}):
                yield rule, method


def act_of(app: Flask, rule: Rule) -> str:
    return str(getattr(app.view_functions[rule.endpoint], "coop_act", ""))


def address(app: Flask, rule: Rule) -> str:
    """Return an address of a rule, with an id that the ledger does not know."""
    values = {name: _value(rule._converters[name]) for name in rule.arguments}
    with app.test_request_context("/"):
        found: str = app.url_map.bind("localhost").build(
            rule.endpoint, values, force_external=False
        )
    return found


def _value(converter: Any) -> Any:
    if isinstance(converter, IntegerConverter):
        return 1
    if isinstance(converter, AnyConverter):
        return sorted(converter.items)[0]
    return UNKNOWN_ID


def signed_in(house: Opened, app: Flask, first: str) -> tuple[FlaskClient, str]:
    """Return a browser of somebody, with a form token; the session is made at the store."""
    client = app.test_client()
    if first != NOBODY:
        secret = new_token()
        with house.store.writing() as desk:
            sessions.create(
                desk.connection,
                token=secret,
                member=house.members[first].member,
                agent="",
                now=house.moment,
            )
        client.set_cookie("coop-session", secret)
    there = "/me" if first != NOBODY else "/sign-in"
    token = forms_of(client.get(there).text)[0].fields["csrf_token"][0]
    return client, token


def ask(client: FlaskClient, token: str, there: str, method: str) -> Any:
    if method == "GET":
        return client.get(there)
    same = {"Sec-Fetch-Site": "same-origin"}
    return client.open(there, method=method, data={"csrf_token": token}, headers=same)


def test_every_route_says_which_act_of_the_table_it_is(app: Flask) -> None:
    """A route without an act would be open to whoever finds it."""
    acts = {rule.endpoint: act_of(app, rule) for rule, _ in routes(app)}

    assert len(acts) > 20
    for endpoint, act in acts.items():
        assert act, endpoint
        if act != PUBLIC:
            may(frozenset(ROLE_CODES), act)  # raises KeyError for an act nobody knows


def test_only_the_doors_are_public(app: Flask) -> None:
    """Whoever adds a page without a sign-in must say so here too."""
    public = {rule.endpoint for rule, _ in routes(app) if act_of(app, rule) == PUBLIC}

    assert {one.partition(".")[0] for one in public} == {
        "calendar", "doors", "offline", "opening", "push", "worker",
    }  # fmt: skip


@pytest.mark.parametrize("first", PEOPLE)
def test_each_person_gets_where_the_table_lets_them_and_nowhere_else(
    house: Opened, app: Flask, first: str
) -> None:
    """One table decides; a page that decides for itself would show here."""
    roles = house.members[first].roles if first else frozenset()
    asked = 0
    for rule, method in routes(app):
        client, token = signed_in(house, app, first)
        there, act = address(app, rule), act_of(app, rule)
        answer = ask(client, token, there, method)
        told = f"{method} {there} as {first or 'nobody'}: {answer.status_code}"
        to_sign_in = answer.headers.get("Location", "").startswith("/sign-in")
        asked += 1
        if act == PUBLIC:
            assert answer.status_code != FORBIDDEN, told
        elif not first:
            assert answer.status_code in SEE_OTHER, told
            assert to_sign_in, told
        else:
            assert (answer.status_code == FORBIDDEN) is not may(roles, act), told
            assert not to_sign_in, told
        assert answer.status_code < 500 or there == "/not-open", told

    assert asked > 20
