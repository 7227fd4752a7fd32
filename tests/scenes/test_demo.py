"""The first thing a visitor does: start the demo, sign in, look around, stop it."""

import os
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.support.browser import Pages, assert_accessible, screenshot
from tests.support.server import sign_in

WITHIN_S = 60.0
ANSWERS = re.compile(r"The demo is open at (http://127\.0\.0\.1:\d+)")
SIGN_IN = re.compile(r"a (member|coordinator) +sign-in name (\w+) +password (\w+)")
LAST = "Ctrl-C stops it"


class Demo:
    """The command as a visitor starts it, from a folder that is nothing to it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        kept = {k: v for k, v in os.environ.items() if not k.startswith("COOP_")}
        self.process = subprocess.Popen(
            [sys.executable, "-P", "-m", "coop", "demo", "--port", "0"],
            cwd=folder, env=kept | {"TMPDIR": str(folder)}, text=True,
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True,
        )  # fmt: skip

    def said(self, upto: str) -> str:
        """Return what it prints, up to the line that holds this."""
        assert self.process.stdout is not None
        lines = []
        for line in self.process.stdout:
            lines.append(line)
            if upto in line:
                return "".join(lines)
        raise AssertionError(f"never said {upto!r}: {lines} {self.process.communicate()}")

    def left(self) -> list[str]:
        return [one.name for one in self.folder.iterdir()]

    def stop(self, number: signal.Signals) -> int:
        self.process.send_signal(number)
        out, err = self.process.communicate(timeout=WITHIN_S)
        assert (out, err) == ("", "")
        return self.process.returncode


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Demo]:
    started = Demo(tmp_path)
    yield started
    if started.process.poll() is None:
        os.killpg(started.process.pid, signal.SIGKILL)
    started.process.communicate()


def looks_around(page: Page) -> None:
    """In the room: both studios, the words, the whole name, and that this is a demo."""
    room = page.get_by_role("main")
    for studio in ("Ropewalk", "Orchard Barn"):
        expect(room.get_by_role("heading", name=re.compile(f"{studio}$"))).to_be_visible()
    for word in ("good", "look again"):
        expect(room.get_by_text(word, exact=True).first).to_be_visible()
    expect(room.get_by_text("R-A6").first).to_be_visible()
    expect(page.get_by_text("Demo").first).to_be_visible()
    cut = page.locator(".ledger span").evaluate(
        "(name) => name.scrollHeight > name.clientHeight || name.scrollWidth > name.clientWidth"
    )
    assert not cut, "the co-operative's name is cut"
    assert_accessible(page)


def test_a_visitor_sees_the_room_and_leaves_nothing_behind(demo: Demo, pages: Pages) -> None:
    """The address is the last thing told, once it answers; the folder goes with the command."""
    told = demo.said(LAST)
    address = ANSWERS.search(told)
    assert address
    words = {role: (name, password) for role, name, password in SIGN_IN.findall(told)}
    assert len(demo.left()) == 1
    assert demo.left()[0].startswith("coop-demo-")

    phone, desk = pages.phone(address[1]), pages.desk(address[1])
    sign_in(phone, *words["member"])
    looks_around(phone)
    screenshot(phone, "demo-room-phone")
    sign_in(desk, *words["coordinator"])
    looks_around(desk)
    screenshot(desk, "demo-room-desk")
    for page in (phone, desk):
        page.close()

    assert demo.stop(signal.SIGTERM) == 0
    assert demo.left() == []


def test_a_demo_stopped_while_it_is_made_leaves_nothing_behind(demo: Demo) -> None:
    """An impatient visitor closes the terminal at once."""
    demo.said("Making the demo")

    assert demo.stop(signal.SIGHUP) == 128 + signal.SIGTERM
    assert demo.left() == []
