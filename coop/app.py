"""The wiring: settings, clock and randomness go in, the application comes out."""

import os
import secrets
from collections.abc import Callable
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from flask import Flask

from coop import settings as environment
from coop.settings import Settings
from coop.store.desk import Store, open_store
from coop.store.members import Passwords
from coop.web import compression, errors, pages, security, security_log, sessions, visits
from coop.web import page as common
from coop.web.assets import install_assets
from coop.web.i18n import install_words

Clock = Callable[[], datetime]


def clock() -> datetime:
    """Return the time; nothing else in the package reads a clock."""
    return datetime.now(UTC)


def create_app(
    settings: Settings,
    *,
    clock: Clock = clock,
    random: Callable[[int], bytes] = secrets.token_bytes,
    store: Store | None = None,
    passwords: Passwords | None = None,
) -> Flask:
    """
    Make the application on a database that holds a ledger.

    Args:
        settings: What the operator chose.
        clock: Gives the time, with its zone.
        random: Gives so many random bytes.
        store: An open store; None opens the one the settings name.
        passwords: How passwords are hashed; tests use a quick one.
    """
    app = Flask("coop.web", static_folder=None)
    app.url_map.merge_slashes = False  # or it redirects to whatever host was asked for
    app.secret_key = environment.read_key(settings)
    app.json.sort_keys = False  # type: ignore[attr-defined]  # the default provider has it
    store = store or open_store(settings.database)
    install_assets(app)
    install_words(app, ZoneInfo("UTC"))
    security_log.install(app)
    sessions.install(app, store.engines, passwords or Passwords(), clock)
    guard = security.install(app, settings)
    common.install(app, common.Site(store=store, clock=clock, random=random, settings=settings))
    visits.install(app)
    pages.install(app)
    security.free_of_token(app, guard)
    errors.install(app)
    compression.install(app, random)
    return app


def from_environment() -> Flask:
    """Make the application as the environment says; the server's workers start here."""
    return create_app(environment.from_environment(os.environ))
