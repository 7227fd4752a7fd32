"""Random histories of a studio, for property tests: what people say, odd things included."""

from datetime import datetime
from typing import Any

from hypothesis import strategies as st

from coop.ledger.entries import Entry
from tests.support.sayings import (
    AMINA,
    BATH,
    GUM,
    KAHU,
    LOT,
    PAPER,
    PAPER_LOT,
    SIZE,
    STUDIO,
    VESSEL,
    an_id,
    corrected,
    described,
    fetched,
    instead,
    laid,
    mixed,
    on,
    q,
    say,
    sized,
    through,
    topped_up,
    with_size,
)

OF_ALUM = (BATH, an_id(20), an_id(21))
SIZES = (SIZE, an_id(24))
BATHS = (*OF_ALUM, *SIZES)
ALUM = (LOT, an_id(22))
PAPERS = (PAPER_LOT, an_id(23))
PARTS = tuple(an_id(100 + n) for n in range(4))
"""What the first things said may make: parts of lots, if they are carried in parts."""

days = st.integers(10, 28)
hours = st.sampled_from((0, 6, 12, 18))
baths = st.sampled_from(BATHS)
people = st.sampled_from((AMINA, KAHU))
amounts = st.one_of(
    st.integers(1, 900).map(lambda n: q(n, "g")),
    st.integers(1, 60).map(lambda n: q(n, "us_tbsp", heap="level")),
    st.integers(1, 20).map(lambda n: q(n, "metric_tsp", heap="heaped")),
)


MARKS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("bath.stopped", {"reason": "looks_wrong"}),
    ("bath.cleared", {"reason": "mended"}),
    ("bath.finished", {"reason": "used_up"}),
    ("bath.cared", {"care": "covered"}),
    ("bath.cared", {"care": "uncovered"}),
    ("bath.cared", {"care": "strained"}),
    ("bath.cared", {"care": "chilled"}),
    ("bath.cared", {"care": "brought_to_room"}),
    ("bath.kept_for", {"session": "Thursday's beginners"}),
)
ON_STACKS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("sheets.sorted", {"good": "7", "ragged": "2"}),
    ("stack.dried", {"how": "blotters"}),
    ("stack.put_away", {"state": "bagged"}),
    ("stack.tested", {"outcome": "failed"}),
    ("stack.tested", {"outcome": "sharp"}),
    ("stack.binned", {"sheet_count": "9", "reason": "stale"}),
)
ON_LOTS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("lot.opened", {"tare": q(60, "g")}),
    ("lot.counted", {"packs": "1"}),
    ("lot.counted", {"empty": "yes"}),
    ("lot.moved", {"studio": STUDIO}),
    ("lot.moved", {"studio": STUDIO, "count": "2.5"}),
    ("lot.moved", {"studio": STUDIO, "count": "3", "into": PAPER_LOT}),
    ("lot.moved", {"studio": STUDIO, "amount": q(30, "g")}),
    ("lot.adjusted", {"way": "out", "cause": "used", "amount": q(20, "g")}),
    ("lot.adjusted", {"way": "in", "cause": "lost", "count": "4"}),
    ("lot.priced", {"price": "70"}),
    ("lot.cut", {"sheet_count": "5", "paper": PAPER, "made_count": "9", "name": "cut"}),
)
ORDERS = (an_id(25), an_id(26))
ON_ORDERS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("order.placed", {"what": "carrageenan", "packs": "2", "pack": q(454, "g")}),
    ("lot.received", {"studio": STUDIO, "what": "carrageenan", "name": "CG", "pack_count": "1",
                      "weight": q(454, "g"), "order": ORDERS[0]}),
    ("order.cancelled", {"order": ORDERS[0], "reason": "too_late"}),
    ("supply.described", {"what": "carrageenan", "floor": q(150, "g")}),
    ("need.put_off", {"need": "order", "about": "powder:carrageenan", "until": "2025-10-02",
                      "reason": "no_money"}),
    ("session.planned", {"studio": STUDIO, "name": "class", "head_count": "9",
                         "under_16": "no", "starts": "2025-10-04T10:00:00+02:00",
                         "session": ORDERS[1], "supersedes": ORDERS[1]}),
)  # fmt: skip
OF_A_BATH = ("sheets.through", "disposal.treated")
AWAY = an_id(32)
JARS = (an_id(27), an_id(28))
"""A jar and a drum; nobody ever says that the drum was set up."""
JUGS = (an_id(29), an_id(30))
RULES = an_id(31)
JARRED: tuple[tuple[str, dict[str, Any]], ...] = (
    ("waste.added", {"waste": "colour_rinse", "litres": q(3, "l")}),
    ("waste.added", {"waste": "rinse_water", "sheet_count": "6"}),
    ("waste.added", {"waste": "floc", "weight": q(400, "g"), "full": "yes"}),
    ("waste.added", {"waste": "leftover", "lot": GUM, "weight": q(40, "g")}),
    ("waste.added", {"waste": "size", "jug": JUGS[0]}),
    ("disposal.done", {"waste": "colour_rinse", "outlet": "sewer", "litres": q(2, "l")}),
    ("disposal.done", {"waste": "floc", "outlet": "bin", "weight": q(90, "g")}),
    ("disposal.done", {"waste": "colour_rinse", "outlet": "sewer"}),
    ("disposal.treated", {"step": "base_in", "base": "lime", "weight": q(9, "g"), "lot": GUM}),
    ("mishap.noted", {"what": "spill", "litres": q(1, "l")}),
    ("mishap.noted", {"what": "closed_and_gassing"}),
)
PARTED: tuple[tuple[str, dict[str, Any]], ...] = (
    ("disposal.done", {"waste": "alum_bath", "outlet": "sewer"}),
    ("disposal.done", {"waste": "alum_bath", "outlet": "septic", "litres": q(3, "l")}),
    ("disposal.done", {"waste": "floc", "outlet": "bin", "weight": q(90, "g")}),
    ("waste.added", {"waste": "alum_bath", "jar": JARS[0]}),
    ("waste.added", {"waste": "alum_bath", "jar": JARS[0], "litres": q(4, "l")}),
    ("waste.added", {"waste": "alum_bath", "jar": JARS[1], "litres": q(4, "l")}),
    ("disposal.treated", {"step": "base_in", "base": "lime", "weight": q(9, "g"), "lot": GUM}),
    ("disposal.treated", {"step": "kept_back", "litres": q("0.5", "l")}),
    ("disposal.judged", {"waste": "alum_bath", "outlet": "sewer", "outcome": "not_yet",
                         "decision": "ab" * 32}),
    ("mishap.noted", {"what": "wrong_drain", "waste": "size", "outlet": "storm",
                      "litres": q(2, "l")}),
    ("mishap.noted", {"what": "foamed_over"}),
)  # fmt: skip
OF_NEITHER: tuple[tuple[str, dict[str, Any]], ...] = (
    ("disposal.done", {"studio": STUDIO, "waste": "rinse_water", "outlet": "sewer",
                       "sheet_count": "36"}),
    ("disposal.done", {"studio": STUDIO, "waste": "leftover", "outlet": "bin",
                       "lot": PAPER_LOT, "weight": q(200, "g")}),
    ("disposal.done", {"studio": STUDIO, "waste": "size", "outlet": "sewer",
                       "jug": JUGS[0]}),
    ("jar.vouched", {"jug": JUGS[0], "waste": "size", "litres": q(2, "l"),
                     "metal_pigments": "no"}),
    ("jar.vouched", {"jug": JUGS[1], "waste": "size", "bath": SIZE, "metal_pigments": "no"}),
    ("jug.known", {"jug": JUGS[0], "bath": SIZE, "made_it": "yes"}),
    ("rules.published", {"studio": STUDIO, "rules": RULES, "supersedes": RULES, "pack": "town",
                         "pack_edition": "2", "document": "cd" * 32,
                         "checked_on": "2025-08-18", "review_on": "2026-08-18"}),
    ("mishap.noted", {"studio": STUDIO, "what": "spill", "litres": q(1, "l")}),
)  # fmt: skip
KINDS = (
    "sheets", "sheets", "poured", "read", "marked", "weighed", "handed", "handed", "laid",
    "shelved", "shelved", "ordered", "parted", "parted", "jarred", "jarred", "emptied",
    "of_neither",
)  # fmt: skip
READINGS: tuple[dict[str, Any], ...] = (
    {"instrument": "dipstick", "depth": q(25, "mm")},
    {"instrument": "tape_line", "litres": q(11, "l")},
    {"instrument": "hydrometer", "gravity": "1.014", "temperature": q(20, "celsius")},
    {"instrument": "strip_print", "outcome": "soft"},
    {"instrument": "drop_test", "outcome": "round", "spread_mm": "60"},
    {"instrument": "funnel", "funnel": "tin cone", "seconds": "31"},
    {"instrument": "look", "outcome": "threads"},
    {"instrument": "ph_strip", "ph": "6.5", "step": "0.5"},
    {"instrument": "screen", "lumps": "no"},
)


@st.composite
def parts(draw: st.DrawFn) -> list[dict[str, Any]]:
    lots = draw(st.lists(st.sampled_from(ALUM), min_size=1, max_size=2, unique=True))
    return [{"lot": lot, "amount": draw(amounts)} for lot in lots]


@st.composite
def sentences(draw: st.DrawFn, id: str) -> Entry:
    """Draw one thing a person says about a bath or a lot."""
    kind = draw(st.sampled_from(KINDS))
    said: Entry = draw(_SAID[kind](id, on(draw(days), draw(hours)), draw(baths)))
    return said


@st.composite
def sheets(draw: st.DrawFn, id: str, at: datetime, bath: str) -> Entry:
    lot = draw(st.sampled_from((*PAPERS, an_id(999))))
    return through(id, draw(st.integers(1, 60)), at=at, bath=bath, lot=lot)


@st.composite
def poured(draw: st.DrawFn, id: str, at: datetime, bath: str) -> Entry:
    if draw(st.booleans()):
        return topped_up(id, at=at, bath=bath, salt=draw(parts()))
    if draw(st.booleans()):
        powder = {"powder": "carrageenan", "lot": GUM, "amount": draw(amounts)}
        return topped_up(id, at=at, bath=bath, powder=[powder])
    return topped_up(id, at=at, bath=bath, water=q(draw(st.integers(1, 9)), "l"))


@st.composite
def weighed(draw: st.DrawFn, id: str, at: datetime, bath: str) -> Entry:
    grams = q(draw(st.integers(80, 200)), "g")
    lot = draw(st.sampled_from(ALUM))
    return say("lot.spoon_weighed", id, at=at, lot=lot, spoon_count="10", spoon="us_tbsp",
               weight=grams)  # fmt: skip


@st.composite
def marked(draw: st.DrawFn, id: str, at: datetime, bath: str) -> Entry:
    kind, body = draw(st.sampled_from(MARKS))
    return say(kind, id, at=at, bath=bath, **body)


@st.composite
def read(draw: st.DrawFn, id: str, at: datetime, bath: str) -> Entry:
    return say("reading.taken", id, at=at, bath=bath, **draw(st.sampled_from(READINGS)))


@st.composite
def handed(draw: st.DrawFn, id: str, at: datetime, bath: str) -> Entry:
    """Draw a bath poured apart, together with another, or carried."""
    other = draw(st.sampled_from([one for one in BATHS if one != bath]))
    litres = q(draw(st.integers(1, 15)), "l")
    part = {"vessel": VESSEL, "name": "R-A9", "litres": litres}
    sayings: tuple[tuple[str, dict[str, Any]], ...] = (
        ("bath.joined", {"giver": other, "litres": litres}),
        ("bath.joined", {"giver": other}),
        ("bath.split", {"parts": [part, part]}),
        ("bath.carried", {"vessel": VESSEL}),
    )
    kind, body = draw(st.sampled_from(sayings))
    return say(kind, id, at=at, bath=bath, **body)


@st.composite
def at_once(draw: st.DrawFn, id: str, at: datetime, bath: str) -> Entry:
    """Draw sheets that went through alum and were laid on something at once."""
    size = draw(st.sampled_from([one for one in BATHS if one != bath]))
    return through(id, draw(st.integers(1, 60)), at=at, bath=bath, size=size, damp="yes")


@st.composite
def shelved(draw: st.DrawFn, id: str, at: datetime, bath: str) -> Entry:
    """Draw what was done to a lot, or to a part of one that may or may not have been moved."""
    lot = draw(st.sampled_from((*ALUM, *PAPERS, GUM, *PARTS)))
    kind, body = draw(st.sampled_from(ON_LOTS))
    if body.get("into") == lot:
        body = {"studio": STUDIO}
    return say(kind, id, at=at, lot=lot, **body)


@st.composite
def ordered(draw: st.DrawFn, id: str, at: datetime, bath: str) -> Entry:
    """Draw an order, what came of it, or what else is said about a supply."""
    kind, body = draw(st.sampled_from(ON_ORDERS))
    return say(kind, id, at=at, **body)


@st.composite
def parted(draw: st.DrawFn, id: str, at: datetime, bath: str) -> Entry:
    """Draw a bath on its way out, or what went wrong with it."""
    if draw(st.integers(0, 9)) == 0:
        return say("waste.carried", id, at=at, bath=bath, from_studio=STUDIO, studio=AWAY)
    kind, body = draw(st.sampled_from(PARTED))
    return say(kind, id, at=at, studio=STUDIO, bath=bath, **body)


@st.composite
def jarred(draw: st.DrawFn, id: str, at: datetime, bath: str) -> Entry:
    """Draw what went into a waste jar or out of it, whether anybody set it up or not."""
    jar = draw(st.sampled_from(JARS))
    kind, body = draw(st.sampled_from(JARRED))
    return say(kind, id, at=at, studio=STUDIO, jar=jar, **body)


@st.composite
def emptied(draw: st.DrawFn, id: str, at: datetime, bath: str) -> Entry:
    """Draw a waste jar that is read, fetched, carried, or poured into another."""
    jar = draw(st.sampled_from(JARS))
    other = JARS[1 - JARS.index(jar)]
    litres = q(draw(st.integers(1, 9)), "l")
    sayings = (
        fetched(id, at=at, jar=jar, litres=litres),
        fetched(id, at=at, jar=jar, jar_gone=draw(st.sampled_from(("yes", "no")))),
        say("waste.carried", id, at=at, jar=jar, from_studio=STUDIO, studio=AWAY),
        say("waste.added", id, at=at, studio=STUDIO, waste="size", jar=jar, from_jar=other,
            litres=litres, since="2025-09-08"),
        say("reading.taken", id, at=at, jar=jar, instrument="tape_line", litres=litres),
        say("reading.taken", id, at=at, jar=jar, instrument="ph_strip", ph="4", step="0.5"),
    )  # fmt: skip
    return draw(st.sampled_from(sayings))


@st.composite
def of_neither(draw: st.DrawFn, id: str, at: datetime, bath: str) -> Entry:
    """Draw what is got rid of out of no bath and no jar, and what stands beside it."""
    kind, body = draw(st.sampled_from(OF_NEITHER))
    return say(kind, id, at=at, **body)


_SAID: Any = {
    "sheets": sheets, "poured": poured, "weighed": weighed, "marked": marked, "read": read,
    "handed": handed, "laid": at_once, "shelved": shelved, "ordered": ordered,
    "parted": parted, "jarred": jarred, "emptied": emptied, "of_neither": of_neither,
}  # fmt: skip


@st.composite
def mends(draw: st.DrawFn, id: str, entries: list[Entry], before: list[str]) -> Entry:
    """Draw a correction of something said, which may or may not have seen earlier ones."""
    target = draw(st.sampled_from(entries))
    sees = tuple(draw(st.lists(st.sampled_from(before), max_size=2))) if before else ()
    outcome = draw(st.sampled_from(("void", "restore", "replace")))
    content = None
    if outcome == "replace":
        changes = {"bath": draw(baths)} if target.kind in OF_A_BATH else {}
        content = instead(target, at=on(draw(days), draw(hours)), **changes)
    at = on(28, draw(st.integers(1, 20)))
    return corrected(id, target, outcome, at=at, by=draw(people), sees=sees, content=content)


@st.composite
def histories(draw: st.DrawFn, most: int = 14) -> list[Entry]:
    """Draw what was said about three baths out of two lots of alum and two of paper."""
    entries = [
        *described(),
        *with_size(),
        say("lot.received", ALUM[1], at=on(2), studio=STUDIO, what="alum", name="PA-1",
            salt="potash_alum", weight=q(2, "kg")),
        say("lot.received", PAPERS[1], at=on(2), studio=STUDIO, what="paper", name="P-32",
            paper=PAPER, sheet_count="100"),
        *(mixed(bath, at=on(draw(days), draw(hours)), salt=draw(parts())) for bath in OF_ALUM),
        *(sized(size, at=on(draw(days), draw(hours))) for size in SIZES),
        say("order.placed", ORDERS[0], at=on(2), what="carrageenan", packs="2"),
        say("session.planned", ORDERS[1], at=on(2), studio=STUDIO, name="class",
            head_count="12", under_16="no", starts="2025-11-01T10:00:00+01:00"),
        say("waste.started", JARS[0], at=on(2), studio=STUDIO, name="W-1", sort="jar",
            holds=q(10, "l"), wastes=["size", "alum_bath"]),
        *(say("jug.found", jug, at=on(2), studio=STUDIO, where="shelf", litres=q(2, "l"),
              look="thick") for jug in JUGS),
        say("rules.published", RULES, at=on(2), studio=STUDIO, pack="town", pack_edition="1",
            document="ab" * 32, checked_on="2025-08-18", review_on="2026-08-18"),
    ]  # fmt: skip
    for n in range(draw(st.integers(0, most))):
        entries.append(draw(sentences(an_id(100 + n))))
    for n in range(draw(st.integers(0, 3))):
        entries.append(draw(on_stack(an_id(200 + n), entries)))
    said, before = list(entries), [an_id(999)]
    for n in range(draw(st.integers(0, 5))):
        entries.append(draw(mends(an_id(300 + n), said, before)))
        before.append(an_id(300 + n))
    if draw(st.booleans()):
        entries.append(
            say("vessel.described", an_id(400), at=on(20), vessel=VESSEL, supersedes=VESSEL,
                studio=STUDIO, name="tub", brim=q(9, "l"), lidded="no", place="2")
        )  # fmt: skip
    return entries


@st.composite
def on_stack(draw: st.DrawFn, id: str, entries: list[Entry]) -> Entry:
    """Draw what became of a stack of sheets, or of something taken for one."""
    stacks = [str(one.id) for one in entries if one.kind == "sheets.through"]
    stack = draw(st.sampled_from(stacks or [an_id(999)]))
    at = on(28, draw(st.integers(8, 20)))
    if draw(st.booleans()):
        size = draw(st.sampled_from(BATHS))
        return laid(id, 6, at=at, stack=stack, size=size)
    kind, body = draw(st.sampled_from(ON_STACKS))
    return say(kind, id, at=at, stack=stack, **body)


@st.composite
def batches(draw: st.DrawFn, entries: list[Entry]) -> list[tuple[list[Entry], bool]]:
    """Draw an order of arrival, cut into batches, each folded at once or left stale."""
    left = draw(st.permutations(entries))
    cut: list[tuple[list[Entry], bool]] = []
    while left:
        size = draw(st.integers(1, 6))
        cut.append((left[:size], draw(st.booleans())))
        left = left[size:]
    return cut
