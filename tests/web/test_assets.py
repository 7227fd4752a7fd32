"""Files under addresses that change with their content."""

import re
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from coop.web.assets import SEED_LENGTH_MAX, install_assets, read_assets, strip_url


@pytest.fixture
def app() -> Flask:
    app = Flask("coop.web", static_folder=None)
    install_assets(app)
    return app


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


def address(app: Flask, name: str) -> str:
    return str(app.jinja_env.globals["asset"](name))  # type: ignore[operator]  # a function


def test_a_file_is_kept_for_ever_under_the_hash_of_its_content(
    app: Flask, client: FlaskClient
) -> None:
    """Later visits ask for nothing."""
    answer = client.get(address(app, "coop.css"))

    assert re.fullmatch(r"/static/[0-9a-f]{12}/coop\.css", address(app, "coop.css"))
    assert answer.status_code == 200
    assert answer.mimetype == "text/css"
    assert answer.headers["Cache-Control"] == "public, max-age=31536000, immutable"


def test_the_script_is_served_as_a_script(app: Flask, client: FlaskClient) -> None:
    """With nosniff any other type is not run."""
    assert client.get(address(app, "form.js")).mimetype == "text/javascript"


def test_an_old_address_is_not_answered_with_new_content(
    app: Flask, client: FlaskClient
) -> None:
    """It would be kept for ever under the wrong name."""
    old = address(app, "coop.css").replace("/static/", "/static/0")

    assert client.get(old).status_code == 404
    assert client.get("/static/000000000000/coop.css").status_code == 404


@pytest.mark.parametrize("name", ["../strip.py", "nothing.css", "%2e%2e/strip.py"])
def test_nothing_outside_the_folder_is_served(client: FlaskClient, name: str) -> None:
    """Only what was read at the start exists."""
    assert client.get(f"/static/000000000000/{name}").status_code == 404


def test_a_template_that_names_a_missing_file_fails_at_once(app: Flask) -> None:
    """Better than a page without its style."""
    with pytest.raises(KeyError):
        address(app, "missing.css")


@pytest.mark.parametrize("lying", [False, True])
def test_a_strip_is_served_and_kept_for_ever(client: FlaskClient, lying: bool) -> None:
    """Cards and headings show the same bath."""
    answer = client.get(strip_url("R-A4", lying))

    assert answer.mimetype == "image/svg+xml"
    assert "immutable" in answer.headers["Cache-Control"]
    assert answer.text.startswith("<svg")


def test_a_strip_for_a_long_name_is_refused(client: FlaskClient) -> None:
    """An id is short; longer ones are somebody trying."""
    assert client.get(strip_url("x" * SEED_LENGTH_MAX)).status_code == 200
    assert client.get(strip_url("x" * (SEED_LENGTH_MAX + 1))).status_code == 404


SCRIPT = """// @ts-check
/** Adds. @param {number} one */
const add = (one) => /** @type {number} */ (one) + 1; // as one does
  /**
   * Says where.
   */
const place = "https://studio.example/"; /* kept */
/** @type {any} */ (globalThis).add = add;
"""
SERVED = """const add = (one) => /** @type {number} */ (one) + 1; // as one does
const place = "https://studio.example/"; /* kept */
/** @type {any} */ (globalThis).add = add;
"""


def test_whole_lines_of_comment_stay_at_home(tmp_path: Path) -> None:
    """Nothing else of a script is touched, and nothing at all of what others wrote."""
    (tmp_path / "vendor").mkdir()
    (tmp_path / "vendor" / "theirs.js").write_text(SCRIPT)
    (tmp_path / "ours.js").write_text(SCRIPT)
    found = read_assets(tmp_path)

    assert found["ours.js"].content.decode() == SERVED
    assert found["vendor/theirs.js"].content.decode() == SCRIPT
