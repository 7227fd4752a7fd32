"""Options, hypothesis profiles and the fixtures every test may use."""

import os

import hypothesis
import pytest

pytest_plugins = [
    "tests.support.postgresql",
    "tests.support.browser",
    "tests.support.ledgers",
    "tests.support.server",
]

# A busy machine makes drawing examples slow; that says nothing about the code.
SLOW_MACHINE = [hypothesis.HealthCheck.too_slow]
hypothesis.settings.register_profile(
    "ci", max_examples=200, deadline=None, print_blob=True, suppress_health_check=SLOW_MACHINE
)
hypothesis.settings.register_profile(
    "long", hypothesis.settings.get_profile("ci"), max_examples=2_000
)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="run the longer tier too")


def pytest_configure(config: pytest.Config) -> None:
    if config.getoption("--hypothesis-profile") is None:
        hypothesis.settings.load_profile("long" if config.getoption("--long") else "ci")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave the longer tier out of the ordinary run: not skipped, not counted."""
    if config.getoption("--long"):
        return
    long = [item for item in items if item.get_closest_marker("long")]
    if long:
        items[:] = [item for item in items if item not in long]
        config.hook.pytest_deselected(items=long)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Repeat what tests/__main__.py found before the tests, so that nobody misses it."""
    if failed := os.environ.get("COOP_FAILED_CHECKS"):
        terminalreporter.section("checks before the tests")
        terminalreporter.write_line(f"FAILED {failed}: the reports are above", red=True)
