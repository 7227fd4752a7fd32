"""
Power cuts: what a real process wrote and synced, seen by strace, and cut off anywhere.

Every write, sync, truncation and removal of the database's files is recorded, in order, beside
what the process said was kept. A cut is a place in that record: what was synced before is
there; of what was not, each write is there, missing, or torn at a sector, in any order, as a
disk may leave it. A removal counts from the next sync of anything on.
"""

import random
import re
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tests.support.files import ROOT

SECTOR_BYTES = 512
TAILS = ("", "-wal", "-journal")
TRACED = "pwrite64,write,fsync,fdatasync,ftruncate,unlink,unlinkat"
_CALL = re.compile(
    r"(?P<pid>\d+)\s+(?P<name>\w+)\((?P<said>.*)\)\s+= (?P<result>-?\d+|\?).*", re.DOTALL
)
_FILE = re.compile(r"\d+<(?P<path>[^>]*)>")
_QUOTED = re.compile(r'"(?P<data>[^"]*)"')


@dataclass(frozen=True, slots=True)
class Write:
    """Bytes written to a file at an offset."""

    path: str
    data: bytes
    offset: int


@dataclass(frozen=True, slots=True)
class Cut:
    """A file made shorter or longer."""

    path: str
    size: int


@dataclass(frozen=True, slots=True)
class Sync:
    """All that was written to a file is on the disk."""

    path: str


@dataclass(frozen=True, slots=True)
class Gone:
    """A file was removed."""

    path: str


@dataclass(frozen=True, slots=True)
class Said:
    """A line that the process said to whoever listens."""

    line: str


Event = Write | Cut | Sync | Gone | Said


def recorded(
    address: str, seed: int, *, count: int, trace: Path, sync: str = ""
) -> list[Event]:
    """Let the writer write `count` entries under strace; return what it did, in order."""
    writer = [sys.executable, "-m", "tests.support.writer", address, str(seed), str(count)]
    strace = ["strace", "-f", "-qq", "-y", "-xx", "-s", "1000000", "-e", f"trace={TRACED}"]
    done = subprocess.run(
        [*strace, "-o", str(trace), *writer, *([sync] if sync else [])],
        cwd=ROOT, input="go\n", text=True, capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    file = address.removeprefix("sqlite:///")
    ours = {file + tail for tail in TAILS}
    return list(events(trace.read_text(), ours))


def events(trace: str, ours: set[str]) -> Iterator[Event]:
    """Read what strace wrote; calls that went wrong or concern other files are left out."""
    for line in trace.splitlines():
        call = _CALL.fullmatch(line)
        assert call or "unfinished" not in line, "two threads wrote at once: not recorded so"
        if call is None or call["result"].startswith(("-", "?")):
            continue
        event = _event(call["name"], call["said"], ours)
        if event is not None:
            yield event


def _event(name: str, said: str, ours: set[str]) -> Event | None:
    if name.startswith("unlink"):
        path = _bytes(said).decode()
        return Gone(path) if path in ours else None
    found = _FILE.match(said)
    path = _plain(found["path"]).decode() if found else ""
    if name == "write":
        return Said(_bytes(said).decode().strip()) if said.startswith("1<") else None
    if path not in ours:
        return None
    if name == "pwrite64":
        return Write(path, _bytes(said), int(said.rsplit(", ", 1)[1]))
    if name == "ftruncate":
        return Cut(path, int(said.rsplit(", ", 1)[1]))
    return Sync(path)


def _bytes(said: str) -> bytes:
    found = _QUOTED.search(said)
    assert found is not None, said[:80]
    return _plain(found["data"])


def _plain(escaped: str) -> bytes:
    return bytes.fromhex(escaped.replace("\\x", ""))


@dataclass
class Disk:
    """Files as they are on the disk for sure, and what was done to them since."""

    files: dict[str, bytes]
    since: dict[str, list[Write | Cut]] = field(default_factory=dict)
    removed: set[str] = field(default_factory=set)

    def take(self, event: Event) -> None:
        """Go on by one event."""
        match event:
            case Write(path) | Cut(path):
                self.since.setdefault(path, []).append(event)
            case Gone(path):
                self.removed.add(path)
            case Sync(path):
                self._settle(path)
            case Said():
                pass

    def _settle(self, path: str) -> None:
        for gone in self.removed:
            self.files.pop(gone, None)
            self.since.pop(gone, None)
        self.removed.clear()
        changed = bytearray(self.files.get(path, b""))
        for event in self.since.pop(path, []):
            _apply(changed, event)
        self.files[path] = bytes(changed)

    def after_a_cut(self, chance: random.Random) -> dict[str, bytes]:
        """Return the files as a power cut may leave them now."""
        left = dict(self.files)
        for path, pending in self.since.items():
            changed = bytearray(left.get(path, b""))
            kept = [torn for one in pending for torn in _torn(one, chance)]
            chance.shuffle(kept)
            for event in kept:
                _apply(changed, event)
            if kept or path in left:
                left[path] = bytes(changed)
        for path in self.removed:
            if chance.random() < 0.5:
                left.pop(path, None)
        return left


def _apply(file: bytearray, event: Write | Cut) -> None:
    size = event.size if isinstance(event, Cut) else event.offset + len(event.data)
    file.extend(bytes(max(0, size - len(file))))
    if isinstance(event, Cut):
        del file[size:]
    else:
        file[event.offset : size] = event.data


def _torn(event: Write | Cut, chance: random.Random) -> list[Write | Cut]:
    """Return what is left of a write that was not synced: all, nothing, or some sectors."""
    fate = chance.choice(("there", "missing", "torn"))
    if fate == "missing":
        return []
    if fate == "there" or isinstance(event, Cut):
        return [event]
    starts = range(0, len(event.data), SECTOR_BYTES)
    return [
        Write(event.path, event.data[at : at + SECTOR_BYTES], event.offset + at)
        for at in starts
        if chance.random() < 0.5
    ]


def acknowledged(happened: Sequence[Event]) -> list[str]:
    """Return the ids that were said to be kept."""
    said = [one.line for one in happened if isinstance(one, Said)]
    return [line for text in said for line in text.split("\n") if line and line != "writing"]
