"""Get rid of it: all that waits, the end of a day in one tap, what is carried elsewhere."""

import re
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from coop.actions.see_drain import decided
from coop.app import create_app
from coop.ledger.states import DisposalState
from coop.rules.packs.words import Outcome
from coop.settings import from_environment
from coop.store import feeds
from coop.store.tokens import new_token
from tests.support.forms import forms_of
from tests.support.opened import QUICK, Opened, furnished, mixed, quantity, sized, token
from tests.support.wastes import permit, publish


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    """A demo: a studio on a sewer, with an invented letter that somebody agreed to."""
    made = furnished(tmp_path)
    publish(made, "ropewalk-sewer")
    permit(made)
    settings = from_environment({"COOP_DATA": str(tmp_path), "COOP_DEMO": "yes"})
    app = create_app(settings, clock=made.clock, store=made.store, passwords=QUICK)
    app.testing = True
    made._app = app
    return made


def there(house: Opened, page: str = "", studio: str = "studio") -> str:
    return f"/waste/{house.made[studio]}" + (f"/{page}" if page else "")


def barn(house: Opened, **changes: Any) -> str:
    body = {
        "name": "Orchard Barn",
        "letter": "B",
        "drain": "septic",
        "emergency": "112",
        "poison": "0555 0100",
    }
    house.made["barn"] = house.say("studio.described", **(body | changes))
    return house.made["barn"]


def drum(house: Opened, studio: str) -> str:
    return house.say("waste.started", studio=studio, name="rinse drum", sort="drum",
                     holds=quantity(60, "l"), wastes=["rinse_water"],
                     place="by the sink")  # fmt: skip


def laid(house: Opened, size: str, count: int = 20) -> str:
    stack = house.say("sheets.through", bath=mixed(house), sheet_count=str(count),
                      sheet_format="half", method="dip", lot=house.made["parcel"])  # fmt: skip
    house.later(hours=20)
    house.say("sheets.through", size=size, stack=stack, sheet_count=str(count),
              sheet_format="half")  # fmt: skip
    return stack


def tap(client: FlaskClient, there: str, name: str, do: str) -> Any:
    """Tap a button of a line of a page, as a browser without script does."""
    page = client.get(there).text
    sections = re.split(r"<section", page)
    section = next(one for one in sections if f">{name}" in one and f'value="{do}"' in one)
    hidden = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', section))
    return client.post(there, data={**hidden, "do": do})


def lines(house: Opened) -> list[DisposalState]:
    with house.desk() as desk:
        found = desk.journal.listed_in("disposal", (f"{house.made['studio']}:2025-09",))  # type: ignore[arg-type]  # an id
    return [one for one in found if one.kind in ("disposal.done", "waste.added")]


# ---- all that waits


def test_the_only_studio_is_shown_at_once(house: Opened) -> None:
    answer = house.client("kahu").get("/waste")

    assert (answer.status_code, answer.location) == (303, there(house))


def test_of_several_studios_one_is_chosen(house: Opened) -> None:
    barn(house)
    house.say("bath.finished", bath=mixed(house), reason="too_weak")
    page = house.client("kahu").get("/waste").text

    assert page.index("Ropewalk") < page.index("Orchard Barn"), "where something waits"
    assert "1 thing waits" in page


def test_the_choice_counts_what_the_room_counts(house: Opened) -> None:
    """Two figures for one thing send somebody looking for what is not there."""
    barn(house)
    house.say("bath.finished", bath=mixed(house), reason="too_weak")
    jug = vouched_jug(house, waste="colour_rinse", litres=quantity(3, "l"))
    client = house.client("oluwaseun")

    assert "2 things wait to be got rid of" in client.get("/").text
    assert "2 things wait</p>" in client.get("/waste").text
    house.say("disposal.done", studio=house.made["studio"], waste="colour_rinse",
              outlet="hauled", jug=jug)  # fmt: skip
    assert "1 thing waits to be got rid of" in client.get("/").text
    assert "1 thing waits</p>" in client.get("/waste").text


def vouched_jug(house: Opened, **said: Any) -> str:
    """Find a jug on the shelf by the window; somebody says what is in it."""
    jug = house.say("jug.found", studio=house.made["studio"], where="by the window",
                    look="coloured", litres=quantity(9, "l"))  # fmt: skip
    house.say("jar.vouched", jug=jug, made_it="yes", metal_pigments="no", **said)
    return jug


@pytest.mark.parametrize("poured", [False, True])
def test_a_jug_that_is_a_bath_waits_with_that_bath_and_goes_with_it(
    house: Opened, poured: bool
) -> None:
    """Listed twice it would be logged twice."""
    size = sized(house)
    jug = vouched_jug(house, bath=size, waste="size")
    house.later(hours=1)
    if poured:
        house.say("disposal.done", studio=house.made["studio"], waste="size",
                  outlet="hauled", bath=size)  # fmt: skip
    client = house.client("oluwaseun")

    assert "by the window" not in client.get(there(house)).text
    assert "to be got rid of" not in client.get("/").text
    assert f'href="/drain/bath/{size}"' in client.get(f"/jugs/{jug}").text
    answer = client.get(f"/drain/jug/{jug}")
    assert (answer.status_code, answer.location) == (303, f"/drain/bath/{size}")


def test_a_jug_found_after_its_bath_was_gone_waits_by_itself(house: Opened) -> None:
    """Then something of it was left behind, and stands there."""
    size = sized(house)
    house.say("disposal.done", studio=house.made["studio"], waste="size",
              outlet="hauled", bath=size)  # fmt: skip
    house.later(hours=1)
    jug = vouched_jug(house, bath=size, waste="size", litres=quantity(9, "l"))
    client = house.client("oluwaseun")

    assert "by the window" in client.get(there(house)).text
    assert "1 thing waits to be got rid of" in client.get("/").text
    assert f'href="/drain/jug/{jug}"' in client.get(f"/jugs/{jug}").text


def test_what_waits_is_told_with_the_answer_of_the_drain(house: Opened) -> None:
    bath = mixed(house)
    house.say("bath.finished", bath=bath, reason="too_weak")
    page = house.client("kahu").get(there(house)).text

    assert "Alum R-A1" in page
    assert "measure first" in page
    assert f"/drain/bath/{bath}" in page
    assert "Your local authority decides." in page
    assert "They were gone before" not in page, "a coordinator says that"


def test_a_coordinator_says_of_several_that_they_were_gone_before(house: Opened) -> None:
    """Where did it go? has no blank, and nobody invents an answer."""
    baths = []
    for name in ("R-A1", "R-A2"):
        baths.append(mixed(house, name=name))
        house.say("bath.finished", bath=baths[-1], reason="too_weak")
    client = house.client("amina")
    page = client.get(there(house)).text
    keys = re.findall(r'value="([^":]+:[^"]+)"', page)
    assert len(keys) == 2
    said = {"csrf_token": token(page), "gone": keys}
    client.post(f"{there(house)}/gone-before", data=said)
    client.post(f"{there(house)}/gone-before", data=said)

    assert [one.outlet for one in lines(house)] == ["not_known", "not_known"]
    assert all(house.state("bath", one).gone_at for one in baths)
    assert "Nothing waits here" in client.get(there(house)).text


def test_gone_before_wants_baths(house: Opened) -> None:
    house.say("bath.finished", bath=mixed(house), reason="too_weak")
    client = house.client("amina")
    page = client.get(there(house)).text
    answer = client.post(
        f"{there(house)}/gone-before", data={"csrf_token": token(page)}, follow_redirects=True
    )

    assert "Tap the baths that are gone" in answer.text
    forged = {"csrf_token": token(page), "gone": "nothing:nothing"}
    assert client.post(f"{there(house)}/gone-before", data=forged).status_code == 400


def test_a_bath_in_use_is_not_said_to_be_gone(house: Opened) -> None:
    """The form offers old baths only; a forged one writes nothing."""
    house.say("bath.finished", bath=mixed(house), reason="too_weak")
    size = sized(house)
    client = house.client("amina")
    page = client.get(there(house)).text
    said = {"csrf_token": token(page), "gone": f"{size}:{house.new_id()}"}
    client.post(f"{there(house)}/gone-before", data=said)

    assert house.state("bath", size).gone_at is None


# ---- the end of the day


def test_a_size_goes_in_one_tap_with_the_decision_kept(house: Opened) -> None:
    """What the tap says is what the decision was taken by, and is frozen with it."""
    size = sized(house)
    client = house.client("kahu")
    page = client.get(there(house, "end-of-day")).text
    assert "down the drain by rule (Ropewalk: what the invented sewer board wrote)" in page

    answer = tap(client, there(house, "end-of-day"), "Size R-S1", "drain")
    (line,) = lines(house)
    assert (line.bath, line.waste, line.outlet) == (size, "size", "sewer")
    assert line.steps == ("strain_through_cloth", "thin_until_it_runs")
    with house.desk() as desk:
        decision = decided(desk.journal, line.decision)
    assert decision is not None
    assert decision.outcome is Outcome.AFTER_STEPS
    assert dict(decision.facts.stated)["metal_pigments"] == ("no",)
    assert {(one.of, one.answer) for one in decision.facts.readings if one.answer} == {
        ("lumps", "no"),
        ("runs", "yes"),
    }
    assert house.state("bath", size).finish_reason == "got_rid_of"
    after = client.get(answer.location).text
    assert "went down the drain" in after
    assert f"/entries/{line.id}/undo" in after


def evening_of(house: Opened, name: str, client: FlaskClient | None = None) -> str:
    page = (client or house.client("kahu")).get(there(house, "end-of-day")).text
    return next(one for one in re.split(r"<section", page) if f">{name}" in one)


def test_what_is_good_is_kept_first_and_finished_after_a_question(house: Opened) -> None:
    """The class of tomorrow has no size when somebody taps the big button."""
    size = sized(house)
    house.later(hours=20)
    client = house.client("kahu")
    part = evening_of(house, "Size R-S1", client)
    assert 'class="word good"' in part
    assert "Made 20 h ago." in part
    assert part.index("Keep it for tomorrow") < part.index("Nobody wants it any more")
    assert part.index("Nobody wants it any more") < part.index("Finished: strained")
    assert 'class="button wide" type="submit" name="do" value="drain"' in part, "not the main"

    hidden = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', part))
    del hidden["sure"]
    answer = client.post(
        there(house, "end-of-day"), data={**hidden, "do": "drain"}, follow_redirects=True
    )
    assert "Size R-S1 may be wanted still" in answer.text
    assert lines(house) == []
    tap(client, there(house, "end-of-day"), "Size R-S1", "drain")
    assert [one.bath for one in lines(house)] == [size]


def test_what_is_kept_for_a_session_says_so_at_the_end_of_the_day(house: Opened) -> None:
    size = sized(house)
    house.say("bath.kept_for", bath=size, session="Saturday class")
    house.later(days=9)
    part = evening_of(house, "Size R-S1")

    assert 'class="word good"' not in part
    assert "Kept for Saturday class." in part
    assert "Nobody wants it any more" in part


def test_what_is_past_use_goes_in_one_tap(house: Opened) -> None:
    sized(house)
    house.later(days=9)
    part = evening_of(house, "Size R-S1")

    assert "Nobody wants it any more" not in part
    assert 'class="button main wide" type="submit" name="do" value="drain"' in part


def test_a_tap_is_undone_for_ten_minutes(house: Opened) -> None:
    size = sized(house)
    client = house.client("kahu")
    answer = tap(client, there(house, "end-of-day"), "Size R-S1", "drain")
    page = client.get(answer.location).text
    client.post(f"/entries/{lines(house)[0].id}/undo", data={"csrf_token": token(page)})

    assert house.state("bath", size).gone_at is None
    assert lines(house) == []
    assert "/undo" not in client.get(answer.location).text
    tap(client, there(house, "end-of-day"), "Size R-S1", "drain")
    house.later(minutes=11)
    assert "/undo" not in client.get(answer.location).text


def test_two_taps_of_one_button_write_once(house: Opened) -> None:
    sized(house)
    client = house.client("kahu")
    page = client.get(there(house, "end-of-day")).text
    section = page[page.index("Size R-S1") :]
    hidden = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', section))
    tapped = {**hidden, "do": "drain"}
    client.post(there(house, "end-of-day"), data=tapped)
    again = client.post(there(house, "end-of-day"), data=tapped, follow_redirects=True)

    assert len(lines(house)) == 1
    assert "Already written." in again.text


def test_what_another_got_rid_of_meanwhile_is_not_poured_twice(house: Opened) -> None:
    size = sized(house)
    client = house.client("kahu")
    page = client.get(there(house, "end-of-day")).text
    section = page[page.index("Size R-S1") :]
    hidden = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', section))
    house.later(minutes=1)
    house.say("disposal.done", studio=house.made["studio"], waste="size",
              outlet="sewer", bath=size)  # fmt: skip
    answer = client.post(
        there(house, "end-of-day"), data={**hidden, "do": "drain"}, follow_redirects=True
    )

    assert "That is gone already" in answer.text
    assert len(lines(house)) == 1


def test_rinse_water_goes_in_one_tap_by_its_sheets(house: Opened) -> None:
    laid(house, sized(house), 20)
    client = house.client("kahu")
    tap(client, there(house, "end-of-day"), "Rinse water of today", "drain")
    (line,) = lines(house)

    assert (line.waste, line.sheet_count) == ("rinse_water", 20)
    client.get("/")
    assert "Rinse water of today" not in client.get(there(house, "end-of-day")).text


def test_a_size_is_kept_for_tomorrow_in_one_tap(house: Opened) -> None:
    size = sized(house)
    client = house.client("kahu")
    answer = tap(client, there(house, "end-of-day"), "Size R-S1", "chilled")

    assert house.state("bath", size).chilled
    assert "is kept for tomorrow" in client.get(answer.location).text


def test_where_somebody_is_to_be_asked_nothing_goes_in_one_tap(house: Opened) -> None:
    """The line says why, and leads to the page that tells more; a forged tap writes nothing."""
    permit(house, answer="no")
    size = sized(house)
    client = house.client("kahu")
    page = client.get(there(house, "end-of-day")).text
    assert "Finished: strained" not in page
    assert f"/drain/bath/{size}" in page
    assert "They were asked, and said no." in page

    hidden = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', page))
    answer = client.post(
        there(house, "end-of-day"),
        data={**hidden, "csrf_token": token(page), "bath": size, "do": "drain"},
        follow_redirects=True,
    )
    assert "does not go just now" in answer.text
    assert lines(house) == []


@pytest.mark.parametrize("count", ["", "-1", "x", "9" * 5_000])
def test_a_forged_count_of_sheets_writes_nothing(house: Opened, count: str) -> None:
    laid(house, sized(house), 20)
    client = house.client("kahu")
    page = client.get(there(house, "end-of-day")).text
    said = {"csrf_token": token(page), "entry_id": house.new_id(), "bath": "rinse"}
    client.post(there(house, "end-of-day"), data={**said, "sheet_count": count, "do": "drain"})

    assert lines(house) == []


def test_an_alum_bath_is_no_matter_of_one_tap(house: Opened) -> None:
    bath = mixed(house)
    client = house.client("kahu")
    page = client.get(there(house, "end-of-day")).text
    said = {"csrf_token": token(page), "entry_id": house.new_id(), "bath": bath}
    client.post(there(house, "end-of-day"), data={**said, "do": "drain"})

    assert house.state("bath", bath).gone_at is None


def test_the_barn_rinses_into_its_drum(house: Opened) -> None:
    studio = barn(house, rinse_way="jar")
    jar = drum(house, studio)
    size = sized(house, studio=studio)
    laid(house, size, 12)
    client = house.client("kahu")
    page = client.get(there(house, "end-of-day", "barn")).text
    assert "It went into rinse drum" in page

    tap(client, there(house, "end-of-day", "barn"), "Rinse water of today", "jar")
    assert house.state("jar", jar).volume_ml == pytest.approx(18_000)
    assert house.state("jar", jar).parts[0].metal_pigments == "no"


def test_a_studio_with_nothing_on_says_so(house: Opened) -> None:
    assert (
        "No size and no rinse water"
        in house.client("kahu").get(there(house, "end-of-day")).text
    )


# ---- carried elsewhere


def full_drum(house: Opened) -> str:
    studio = barn(house)
    jar = drum(house, studio)
    house.say("waste.added", studio=studio, jar=jar, waste="rinse_water",
              litres=quantity(18, "l"))  # fmt: skip
    return jar


def test_the_drum_of_the_barn_is_carried_with_both_ends(house: Opened) -> None:
    jar = full_drum(house)
    client = house.client("kahu")
    page = client.get(there(house, "carry", "barn")).text
    assert "Waste jar rinse drum" in page
    assert "18.0 L" in page
    assert "2025-09-24" in page, "a week after the first of it went in"
    assert '<td data-head="By">2025-09-24</td>' in page, "a narrow page tells it in lines"

    fields = dict(
        re.findall(
            r'<input[^>]*name="([^"]*(?:csrf_token|entry_id))"[^>]*value="([^"]*)"', page
        )
    )
    said = {f"{jar}-studio": house.made["studio"], f"{jar}-carried_in": "the drum itself"}
    answer = client.post(there(house, "carry", "barn"), data={**fields, **said, "item": jar})
    assert answer.status_code == 303
    assert house.state("jar", jar).studio == house.made["studio"]
    after = client.get(answer.location).text
    assert "Waste jar rinse drum was carried." in after
    assert "Nothing is to be carried from here." in after


def test_an_empty_drum_is_carried_home(house: Opened) -> None:
    """Emptied at the sewer it stands there; the barn needs it for the next sheets."""
    jar, home = drum(house, house.made["studio"]), barn(house)
    client = house.client("kahu")
    asked = there(house, f"carry?jar={jar}")
    assert f'href="{asked}"' in client.get(f"/jars/{jar}").text
    page = client.get(asked).text
    assert "It is empty" in page
    assert "No other studio" not in page, "it is taken by any studio"

    (form,) = [one for one in forms_of(page) if f"{jar}-studio" in one.names]
    answer = client.post(asked, data={**form.fields, "item": jar})
    assert answer.status_code == 303, answer.text
    assert house.state("jar", jar).studio == home
    assert house.state("jar", jar).place == "", "where it stood was in the other studio"
    assert "Nothing is to be carried from here." in client.get(asked).text


@pytest.mark.parametrize("named", ["", "no-such-jar"])
def test_a_jar_that_is_none_is_not_carried(house: Opened, named: str) -> None:
    barn(house)
    page = house.client("kahu").get(there(house, f"carry?jar={named}")).text

    assert "Nothing is to be carried from here." in page


def test_carrying_keeps_what_was_typed(house: Opened) -> None:
    jar = full_drum(house)
    client = house.client("kahu")
    page = client.get(there(house, "carry", "barn")).text
    fields = dict(
        re.findall(
            r'<input[^>]*name="([^"]*(?:csrf_token|entry_id))"[^>]*value="([^"]*)"', page
        )
    )
    said = {f"{jar}-studio": house.made["studio"], f"{jar}-carried_in": "x" * 41}
    answer = client.post(there(house, "carry", "barn"), data={**fields, **said, "item": jar})

    assert answer.status_code == 422
    assert "x" * 41 in answer.text
    assert house.state("jar", jar).studio == house.made["barn"]


def test_what_is_not_there_cannot_be_carried(house: Opened) -> None:
    full_drum(house)
    client = house.client("kahu")
    page = client.get(there(house, "carry", "barn")).text
    answer = client.post(
        there(house, "carry", "barn"),
        data={"csrf_token": token(page.replace("-csrf_token", "csrf_token")), "item": "x"},
        follow_redirects=True,
    )

    assert "That is gone already" in answer.text


# ---- the ways here


def test_the_room_tells_whom_it_concerns_what_waits(house: Opened) -> None:
    """A member is not asked; everybody finds the end of the day."""
    house.say("bath.finished", bath=mixed(house), reason="too_weak")
    sized(house)

    assert "1 thing waits to be got rid of" in house.client("oluwaseun").get("/").text
    page = house.client("kahu").get("/").text
    assert "waits to be got rid of" not in page
    assert there(house, "end-of-day") in page


def test_a_bath_that_is_over_leads_to_its_drain_until_it_is_gone(house: Opened) -> None:
    bath = mixed(house)
    client = house.client("kahu")
    assert f"/drain/bath/{bath}" not in client.get(f"/baths/{bath}").text

    house.say("bath.finished", bath=bath, reason="too_weak")
    assert f"/drain/bath/{bath}" in client.get(f"/baths/{bath}").text

    house.say("disposal.done", studio=house.made["studio"], waste="alum_bath",
              outlet="hauled", bath=bath)  # fmt: skip
    assert f"/drain/bath/{bath}" not in client.get(f"/baths/{bath}").text


def test_a_size_leads_to_the_end_of_the_day_and_one_gone_wrong_to_its_drain(
    house: Opened,
) -> None:
    size = sized(house)
    client = house.client("kahu")
    page = client.get(f"/liquids/{size}").text
    assert there(house, "end-of-day") in page
    assert f"/drain/bath/{size}" not in page

    house.say("reading.taken", bath=size, instrument="look", outcome="mould")
    assert f"/drain/bath/{size}" in client.get(f"/liquids/{size}").text


def test_what_needs_somebody_names_the_bath_the_jar_and_the_rules(house: Opened) -> None:
    house.say("bath.finished", bath=mixed(house), reason="too_weak")
    jar = house.say("waste.started", studio=house.made["studio"], name="floc", sort="bucket",
              holds=quantity(10, "l"), wastes=["floc"], collect_by="2025-09-30")  # fmt: skip
    house.say("waste.added", studio=house.made["studio"], jar=jar, waste="floc",
              weight=quantity(400, "g"))  # fmt: skip
    house.later(days=720)
    page = house.client("oluwaseun").get("/needs").text

    assert "nobody said yet where it went" in page
    assert "Waste jar floc, Ropewalk" in page
    assert "It should have been handed over by 2025-09-30." in page
    assert "Rules of the drain, Ropewalk" in page


def test_a_calendar_leads_to_the_rules_of_the_studio(house: Opened) -> None:
    """Its address has the studio's id, not that of the rules."""
    secret, member = new_token(), house.members["amina"].member
    with house.store.writing() as desk:
        feeds.make(desk.connection, token=secret, member=member, lang="en", now=house.moment)
    house.later(days=700)
    told = house.app().test_client().get(f"/calendar/{secret}.ics").text
    unfolded = told.replace("\r\n ", "")

    assert "Look over the rules of the drain: Ropewalk" in unfolded
    assert f"/studios/{house.made['studio']}/rules" in unfolded


def test_an_old_jar_with_something_in_it_leads_to_its_own_lines(house: Opened) -> None:
    """Its drain takes nothing of a jar that is gone: one of two lines has to be put right."""
    here = house.made["studio"]
    jar = drum(house, here)
    gone_at = house.later(hours=1)
    house.later(hours=1)
    house.say("waste.added", studio=here, jar=jar, waste="rinse_water",
              litres=quantity(12, "l"))  # fmt: skip
    house.say("waste.collected", studio=here, jar=jar, by="truck", jar_gone="yes", at=gone_at)

    page = house.client("kahu").get(there(house)).text

    assert "12.0 L, rinse water, said to be taken away: which line is wrong?" in page
    assert f'href="/jars/{jar}"' in page
    assert f"/drain/jar/{jar}" not in page
