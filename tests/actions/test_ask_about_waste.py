"""What a page is asked before it writes about baths, jars and jugs on their way out."""

import os
from pathlib import Path
from typing import Any

import pytest

from coop.actions.correct_entry import see_entry
from coop.actions.see_drain import kept, pack_kept
from coop.actions.write import Written
from coop.ids import EntryId
from coop.ledger.schema import Refused
from tests.support.opened import Opened, furnished, mixed, quantity, sized
from tests.support.wastes import decision, permit, publish


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A studio with a tub of alum, a drum of rinse water, and a second studio."""
    made = furnished(tmp_path)
    made.made["bath"] = mixed(made)
    made.made["drum"] = made.say(
        "waste.started",
        studio=made.made["studio"],
        name="rinse drum",
        sort="drum",
        holds=quantity(60, "l"),
        wastes=["rinse_water"],
    )
    made.made["barn"] = made.say(
        "studio.described",
        name="Orchard Barn",
        letter="B",
        drain="none",
        instruments=["strip_print"],
        emergency="112",
        poison="0555 0100",
    )
    made.later(minutes=5)
    return made


def poured(house: Opened, **more: Any) -> Any:
    """Say that something went down the sewer of the first studio."""
    body = {"studio": house.made["studio"], "waste": "alum_bath", "outlet": "sewer"}
    return house.try_say("disposal.done", **(body | more))


def code(outcome: Any) -> tuple[str, str]:
    assert isinstance(outcome, Refused), outcome
    return outcome.field, outcome.code


def test_a_bath_that_is_gone_is_not_poured_again(house: Opened) -> None:
    """Two people saw the empty tub; the second one's page says so."""
    assert isinstance(poured(house, bath=house.made["bath"]), Written)
    house.later(minutes=5)

    assert code(poured(house, bath=house.made["bath"])) == ("bath", "nothing-left")
    reading = house.try_say(
        "reading.taken", bath=house.made["bath"], instrument="ph_strip", ph="7", step="0.5"
    )
    assert code(reading) == ("bath", "nothing-left")


def test_what_was_read_before_it_went_is_still_written(house: Opened) -> None:
    """The strip lay in the pocket: what was seen before the pouring belongs there."""
    before = house.moment
    house.later(minutes=5)
    assert isinstance(poured(house, bath=house.made["bath"]), Written)

    reading = house.try_say(
        "reading.taken",
        at=before,
        bath=house.made["bath"],
        instrument="ph_strip",
        ph="7",
        step="0.5",
    )

    assert isinstance(reading, Written)


def test_a_bath_that_was_poured_into_another_left_nothing(house: Opened) -> None:
    house.say("bath.finished", bath=house.made["bath"], reason="used_up")
    house.later(minutes=5)

    assert code(poured(house, bath=house.made["bath"])) == ("bath", "nothing-left")


def test_a_bath_goes_where_it_stands(house: Opened) -> None:
    """A drain of another town is another question: the bath is carried there first."""
    elsewhere = poured(house, bath=house.made["bath"], studio=house.made["barn"])

    assert code(elsewhere) == ("bath", "stands-elsewhere")


def test_no_more_goes_than_can_be_left(house: Opened) -> None:
    too_much = poured(house, bath=house.made["bath"], litres=quantity(20, "l"))

    assert code(too_much) == ("litres", "more-than-is-left")
    left = dict(too_much.limits)["left"]
    assert 12.0 <= float(left.removesuffix(" L")) < 13.0
    part = poured(house, bath=house.made["bath"], litres=quantity(12, "l"))
    assert isinstance(part, Written)


def test_a_jar_that_was_taken_away_takes_nothing(house: Opened) -> None:
    drum, studio = house.made["drum"], house.made["studio"]
    house.say("waste.collected", studio=studio, jar=drum, by="the waste firm", jar_gone="yes")
    house.later(minutes=5)
    more = house.try_say(
        "waste.added", studio=studio, jar=drum, waste="rinse_water", litres=quantity(9, "l")
    )

    assert code(more) == ("jar", "jar-taken-away")


def test_a_jar_gives_no_more_than_went_into_it(house: Opened) -> None:
    drum, studio = house.made["drum"], house.made["studio"]
    house.say(
        "waste.added", studio=studio, jar=drum, waste="rinse_water", litres=quantity(30, "l")
    )
    house.later(minutes=5)
    more = poured(house, waste="rinse_water", jar=drum, litres=quantity(50, "l"))

    assert code(more) == ("litres", "more-than-is-left")


def test_only_old_alum_is_treated(house: Opened) -> None:
    """Soda into a size would be a slip of the list of baths."""
    size = sized(house)
    house.later(minutes=5)
    treated = house.try_say(
        "disposal.treated",
        studio=house.made["studio"],
        bath=size,
        step="base_in",
        base="crystals",
        weight=quantity(20, "g"),
    )

    assert code(treated) == ("bath", "not-alum")


@pytest.mark.parametrize("outcome", ["ask_first", "measure_first", "not_yet", "not_down_here"])
def test_what_went_against_the_answer_is_written_with_its_reason(
    house: Opened, outcome: str
) -> None:
    """Nothing that was done is refused: a reason is asked for, and then it stands."""
    again = poured(house, bath=house.made["bath"], outcome=outcome)
    assert code(again) == ("reason", "reason-needed")

    told = poured(house, bath=house.made["bath"], outcome=outcome, reason="already_done")
    assert isinstance(told, Written)


# ---- the answer that goes with a line


@pytest.fixture
def answer(house: Opened) -> str:
    """A letter in force, and the answer about the tub of alum; the name it is kept under."""
    publish(house, "ropewalk-sewer")
    permit(house)
    return keep(house, bath=house.made["bath"])


def keep(house: Opened, **asked: Any) -> str:
    """Ask the rules and keep the answer; return its name."""
    one = kept(decision(house, **asked), salt=os.urandom(16))
    with house.store.writing() as desk:
        desk.journal.keep(one)
    return one.name


def judged(house: Opened, answer: str, **more: Any) -> Any:
    body = {
        "studio": house.made["studio"], "waste": "alum_bath", "outlet": "sewer",
        "bath": house.made["bath"], "outcome": "measure_first", "decision": answer,
    }  # fmt: skip
    return house.try_say("disposal.judged", **(body | more))


@pytest.mark.parametrize(
    ("field", "other"),
    [
        ("outcome", "nothing_forbids"),
        ("waste", "rinse_water"),
        ("outlet", "hauled"),
    ],
)
def test_a_line_says_what_its_answer_says(
    house: Opened, answer: str, field: str, other: str
) -> None:
    """A milder word beside a strict answer would be read as the answer."""
    assert code(judged(house, answer, **{field: other})) == (field, "not-as-judged")
    done = poured(
        house, bath=house.made["bath"], reason="already_done",
        **({"outcome": "measure_first", "decision": answer} | {field: other}),
    )  # fmt: skip
    assert code(done) == (field, "not-as-judged")
    assert isinstance(judged(house, answer), Written)


def test_an_answer_is_of_the_bath_it_was_given_of(house: Opened, answer: str) -> None:
    """The mild answer about one tub beside the pouring of another."""
    drum = house.made["drum"]
    for other in ({"bath": sized(house)}, {"bath": None, "jar": drum}, {"bath": None}):
        field = next(iter([name for name, one in other.items() if one] or ["bath"]))
        said = {name: one for name, one in other.items() if one}
        body: dict[str, Any] = {
            "studio": house.made["studio"], "waste": "alum_bath", "outlet": "sewer",
            "outcome": "measure_first", "decision": answer, **said,
        }  # fmt: skip
        found = house.try_say("disposal.judged", **body)
        assert code(found) == (field, "not-as-judged"), other


def test_an_answer_without_its_word_is_no_way_around_the_reason(
    house: Opened, answer: str
) -> None:
    done = poured(house, bath=house.made["bath"], decision=answer)

    assert code(done) == ("outcome", "not-as-judged")


def test_what_is_no_answer_is_not_kept_as_one(house: Opened) -> None:
    """A document of rules is kept in the same form."""
    rules = pack_kept(b'{"id": "no answer"}', salt=os.urandom(16))
    with house.store.writing() as desk:
        desk.journal.keep(rules)

    assert code(judged(house, rules.name)) == ("decision", "not-as-judged")


def mended(house: Opened, line: str, changes: dict[str, Any], without: str = "") -> Any:
    """Put other content in the place of a line."""
    with house.desk() as desk:
        standing = see_entry(desk.journal, EntryId(line))
    assert standing is not None
    body = standing.body() | changes
    said: dict[str, Any] = {
        "target": line,
        "outcome": "replace",
        "reason": "typing_slip",
        "content": {
            "author": house.members["amina"].member,
            "happened_at": standing.at.isoformat(),
            "body": {name: one for name, one in body.items() if name != without},
        },
    }
    if standing.seen:
        said["supersedes"] = list(standing.seen)
    return house.try_say("entry.corrected", **said)


@pytest.mark.parametrize("field", ["decision", "outcome", "waste", "outlet", "bath", "studio"])
def test_an_answer_and_what_it_was_given_of_are_not_mended(
    house: Opened, answer: str, field: str
) -> None:
    """Another answer in the place of the strict one, and nobody would see it."""
    mild = keep(house, waste="rinse_water", volume_ml=1000.0, metal_pigments="no", lumps="no")
    others = {
        "decision": mild, "outcome": "after_steps", "waste": "rinse_water",
        "outlet": "hauled", "bath": sized(house), "studio": house.made["barn"],
    }  # fmt: skip
    written = judged(house, answer)
    house.later(minutes=1)
    line = written.sealed.entry.id
    found = mended(house, line, {field: others[field]})

    assert code(found) == (f"content.body.{field}", "not-as-judged")
    assert house.state("disposal", line).decision == answer


def test_what_is_no_part_of_the_answer_is_mended(house: Opened, answer: str) -> None:
    """Eight litres went and not nine; why it went is still asked."""
    written = poured(
        house, bath=house.made["bath"], litres=quantity(9, "l"), outcome="measure_first",
        decision=answer, reason="already_done",
    )  # fmt: skip
    house.later(minutes=1)
    line = written.sealed.entry.id
    assert isinstance(mended(house, line, {"litres": quantity(8, "l")}), Written)
    assert house.state("disposal", line).amount_ml == 8000

    house.later(minutes=1)
    silent = mended(house, line, {}, without="reason")
    assert code(silent) == ("content.body.reason", "reason-needed")


def test_a_line_without_an_answer_is_mended_as_any_other(house: Opened) -> None:
    written = poured(house, litres=quantity(3, "l"))
    house.later(minutes=1)

    assert isinstance(mended(house, written.sealed.entry.id, {"waste": "size"}), Written)
