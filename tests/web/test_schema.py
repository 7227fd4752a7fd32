"""The OpenAPI document says what the JSON routes take and answer, no more and no less."""

import inspect
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import fastjsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coop.web import openapi
from coop.web.pages.push import UNFIT
from tests.support.enrolled import PUSH, SAME, enrolled, post_push
from tests.support.opened import Opened, furnished, mixed
from tests.support.tray import in_use

ODD: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 1.5, 2**53 - 1, 2**53, 10**400, "", "a", "\0", "é", " ~",
    "x" * 41, [], [None], [0], [[]], ["a"], ["a", "b"], {}, {"a": 1}, {"": 0},
    {"0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7b": 3}, {"0192F3C4-5D6E-7F80-9A1B-2C3D4E5F6A7B": 3},
    {"0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7b": -3}, ["0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7b"],
    [["0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7b", "ab" * 32]],
    [["0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7b", "AB" * 32]],
    [["0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a7b"]], [["ab" * 32, "ab" * 32]],
    ["{}"] * 200, ["{}"] * 201, [7] * 501, [7] * 5_000, [7] * 5_001,
    {f"0192f3c4-5d6e-7f80-9a1b-2c3d4e5f6a{n:02x}": 1 for n in range(21)},
)  # fmt: skip
PLACEHOLDER = re.compile(r"<(?:[^:<>]*:)?(\w+)>")


def checked(schema: Any) -> Callable[[Any], bool]:
    """Return what says whether something is as a schema says."""
    check = fastjsonschema.compile({"$schema": DRAFT, **older(schema)})

    def is_so(said: Any) -> bool:
        try:
            check(said)
        except fastjsonschema.JsonSchemaValueException:
            return False
        return True

    return is_so


DRAFT = "http://json-schema.org/draft-07/schema#"


def older(schema: Any) -> Any:
    """Write `prefixItems` of OpenAPI 3.1 as the draft 7 of the checking library has it."""
    if isinstance(schema, list):
        return [older(one) for one in schema]
    if not isinstance(schema, dict):
        return schema
    if "prefixItems" in schema:
        kept = {key: one for key, one in schema.items() if key not in ("prefixItems", "items")}
        return older({**kept, "additionalItems": False}) | {
            "items": older(schema["prefixItems"])
        }
    return {key: older(one) for key, one in schema.items()}


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    return furnished(tmp_path)


def test_the_document_is_served_to_members(house: Opened) -> None:
    answer = house.client("kahu").get("/api/openapi.json")

    assert answer.get_json() == json.loads(json.dumps(openapi.document()))
    assert answer.get_json()["openapi"] == "3.1.0"
    assert house.client().get("/api/openapi.json").status_code == 302


def test_every_route_that_answers_in_json_is_in_it_and_no_other(house: Opened) -> None:
    """Found by their code: what calls `jsonify` answers a script."""
    app = house.app()
    found = set()
    for rule in app.url_map.iter_rules():
        view = inspect.unwrap(app.view_functions[rule.endpoint])
        if "jsonify(" in inspect.getsource(view):
            methods = set(rule.methods or ()) - {"HEAD", "OPTIONS"}
            path = PLACEHOLDER.sub(r"{\1}", rule.rule)
            found |= {(path, one.lower()) for one in methods}
    told = {
        (path, method)
        for path, methods in openapi.document()["paths"].items()
        for method in methods
    }

    assert told == found - {("/api/openapi.json", "get"), ("/manifest.webmanifest", "get")}


@pytest.fixture
def sent(house: Opened) -> Callable[..., Any]:
    """Give what sends a push with other fields."""
    phone, client = enrolled(house)
    right = phone.message(now=house.moment)

    def send(without: str = "", **changes: Any) -> Any:
        said = {key: one for key, one in {**right, **changes}.items() if key != without}
        return said, client.post(
            PUSH, data=json.dumps(said), content_type="application/json", headers=SAME
        )

    return send


FIELDS = sorted(openapi.push_asked()["properties"])


@pytest.mark.parametrize("field", FIELDS)
def test_the_server_and_the_document_refuse_the_same_pushes(
    sent: Callable[..., Any], field: str
) -> None:
    """A field that the document lets through and the server refuses would be a trap."""
    is_push = checked(openapi.push_asked())
    is_problem = checked(openapi.problem())
    is_answer = checked(openapi.push_answered())

    for value in ODD:
        said, answer = sent(**{field: value})
        fits = is_push(said)
        assert answer.status_code == (200 if fits else UNFIT), (field, str(value)[:80])
        assert (is_answer if fits else is_problem)(answer.get_json())


@pytest.mark.parametrize("field", FIELDS)
def test_what_is_needed_is_needed(sent: Callable[..., Any], field: str) -> None:
    said, answer = sent(without=field)

    assert checked(openapi.push_asked())(said) is (answer.status_code == 200)


MOMENT_PARTS = st.sampled_from(
    ("2025-02-30", "1969-12-31", "2025-09-17", "9998-12-31", "T10:00", "T24:00:00", "t10:00",
     "T10:00:00.1234567", "Z", "z", "+02:00", "-23:59", "+24:00", "", " ", "\n")
)  # fmt: skip


@settings(suppress_health_check=list(HealthCheck))
@given(parts=st.lists(MOMENT_PARTS, min_size=1, max_size=4))
def test_a_moment_that_the_server_takes_is_one_of_the_document(
    sent: Callable[..., Any], parts: list[str]
) -> None:
    """Not the other way: 30 February has the form of a day."""
    said, answer = sent(now="".join(parts))

    assert answer.status_code == UNFIT or checked(openapi.push_asked())(said)


def test_real_answers_to_a_push_are_as_the_document_says(house: Opened) -> None:
    """Sealed, already, waiting, refused and given up: each outcome has its members."""
    phone, client = enrolled(house)
    bath = mixed(house)
    through = {"bath": bath, "sheet_format": "half", "method": "dip"}
    phone.write("sheets.through", now=house.moment, sheet_count="5", **through)
    phone.write("sheets.through", now=house.moment, sheet_count="nine", **through)
    phone.write("bath.cleared", now=house.moment, bath=bath, reason="mended")
    message = phone.message(now=house.moment)
    again = {**message, "given_up": message["drafts"][1:2], "asked": [], "drafts": []}
    told = [post_push(client, one).get_json() for one in (message, message, again)]
    outcomes = {one["outcome"] for answer in told for one in answer["answers"]}
    outcomes |= {one["outcome"] for answer in told for one in answer["settled"]}
    is_answer = checked(openapi.push_answered())

    assert outcomes == {"sealed", "already", "waiting", "refused", "given-up"}
    assert all(is_answer(one) for one in told)


@pytest.mark.parametrize("after", ["0", "3", "999999999", "", "-1", "007", "1000000000", "x"])
def test_news_are_as_the_document_says(house: Opened, after: str) -> None:
    is_right = re.search(openapi.NEWS_AFTER, after) is not None
    answer = house.client("kahu").get("/news", query_string={"after": after})

    assert answer.status_code == (200 if is_right else UNFIT)
    assert checked(openapi.news_answered() if is_right else openapi.problem())(
        answer.get_json()
    )


def test_our_own_pages_are_answered_with_records(tmp_path: Path) -> None:
    """Asked of what is there, with nothing typed and with nonsense."""
    house = in_use(tmp_path)
    client = house.client("amina")
    made = {**house.made, "vessel": house.made["empty"], "lot": house.made["alum"]}
    is_record = checked(openapi.live_answered())
    asked = 0
    for method, path, _ in openapi.LIVE:
        there = re.sub(r"{(\w+)}", lambda part: made.get(part[1], "x"), path)
        for typed in ({}, {"dose": "zq", "water.typed": "1", "water.unit": "l"}):
            said = {"what": "size", **typed}
            if method == "get" and not there.startswith("/liquids"):
                answer = client.get(there, query_string=said)
                assert answer.status_code == 200, there
                assert is_record(answer.get_json()), there
                asked += 1

    assert asked > 15
