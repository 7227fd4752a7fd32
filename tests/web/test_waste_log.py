"""The month's log of wastes as a page and a table, and what is noted of a mishap."""

import csv
import os
import re
from datetime import UTC, datetime
from io import StringIO
from typing import Any

from coop.actions.see_drain import kept, pack_kept
from coop.rules.retention import KEPT
from coop.web.csv_out import BYTE_ORDER_MARK
from coop.web.records import OUR_OWN
from tests.support.forms import send
from tests.support.opened import HOUSE, Opened, mixed, quantity
from tests.support.queries import counted
from tests.support.wastes import decision, permit, publish

STATEMENTS_MAX = 30


def pour(house: Opened, **more: Any) -> str:
    return house.say(
        "disposal.done",
        studio=house.made["studio"],
        **({"waste": "alum_bath", "outlet": "sewer"} | more),
    )


def log(house: Opened, month: str = "", who: str = "kahu") -> str:
    query = f"?month={month}" if month else ""
    answer = house.client(who).get(f"/waste/{house.made['studio']}/log{query}")
    assert answer.status_code == 200, answer.text
    return answer.text


def table(house: Opened, month: str = "") -> list[dict[str, str]]:
    query = f"?month={month}" if month else ""
    answer = house.client("kahu").get(f"/waste/{house.made['studio']}/log.csv{query}")
    assert answer.status_code == 200
    text = answer.text.removeprefix(BYTE_ORDER_MARK)
    return list(csv.DictReader(StringIO(text, newline="")))


def test_a_month_without_a_line_says_so(house: Opened) -> None:
    assert "Nothing was written down in this month" in log(house)
    assert table(house) == []


def test_a_month_that_is_none_or_not_yet_is_not_found(house: Opened) -> None:
    client = house.client("kahu")
    for month in ("2025-10", "x", "2025-13", "1890-01"):
        assert client.get(f"/waste/{house.made['studio']}/log?month={month}").status_code == 404
    assert client.get("/waste/01995867-7800-7000-8000-000000000000/log").status_code == 404


def neutralised_and_poured(house: Opened) -> None:
    """Read, neutralise, read again and pour 8 L of a bath, with the answer it was given."""
    publish(house, "ropewalk-sewer")
    permit(house, reference="RSB-7")
    bath, studio = mixed(house), house.made["studio"]
    house.later(hours=1)
    house.say("reading.taken", bath=bath, instrument="ph_strip", ph="3.5", step="0.5")
    house.later(minutes=10)
    house.say("disposal.treated", studio=studio, bath=bath, step="base_in", base="crystals",
              weight=quantity(255, "g"))  # fmt: skip
    house.later(hours=12)
    house.say("reading.taken", bath=bath, instrument="ph_meter", ph="7.1",
              step="0.1", off_at_check="0.1")  # fmt: skip
    house.later(minutes=5)
    said = decision(house, bath=bath)
    answer = kept(said, salt=os.urandom(16))
    with house.store.writing() as desk:
        desk.journal.keep(answer)
    pour(house, bath=bath, litres=quantity(8, "l"), steps=["strain_through_cloth"],
         decision=answer.name,
         outcome="after_steps")  # fmt: skip


def test_a_line_goes_into_the_table_as_it_was_done(house: Opened) -> None:
    """What went in by hand comes out cell by cell: the handbook of a table is its header."""
    neutralised_and_poured(house)

    treated, gone = table(house)

    assert treated["what was done"] == "base put in"
    assert (treated["base"], treated["base grams"], treated["litres"]) == (
        gone["base"], "255", "")  # fmt: skip
    assert gone["date"] == "2025-09-18"
    assert gone["time"] == "07:15", "18:00 and 13 h 15 min, by the studio's clock"
    assert gone["studio"] == "Ropewalk"
    assert (gone["waste"], gone["went to"], gone["litres"]) == ("alum bath", "town sewer", "8")
    assert (gone["pH before treatment"], gone["pH as it went"]) == ("3.5", "7.1")
    assert gone["pH before: read with"] == "pH strip, in steps of 0.5"
    assert gone["pH as it went: check"] == "0.1 off at its check"
    assert gone["base grams"] == "255"
    assert gone["steps"] == "strained through cloth"
    assert gone["answer"] == "Nothing forbids it, after these steps"
    assert "letter (invented)" in gone["rule"]
    assert gone["edition"] == "1"
    assert "RSB-7" in gone["permission"]
    assert gone["by"] == "Amina K."
    page = log(house)
    for cell in ("RSB-7", "strained through cloth", "7.1", "alum bath"):
        assert cell in page


def test_a_line_leads_to_its_bath_its_kept_answer_and_its_correction(house: Opened) -> None:
    """What is read in a log is looked up, or put right, from there."""
    neutralised_and_poured(house)

    page = log(house)

    with house.desk() as desk:
        (bath,) = desk.journal.listed("bath", live=False)
    assert f'href="/baths/{bath.id}"' in page
    (answer,) = set(re.findall(r'href="(/drain/decision/[^"]+)"', page))
    assert house.client("kahu").get(answer).status_code == 200
    assert "/correct" not in page, "the bath's history has it"

    rinse = pour(house, waste="rinse_water", sheet_count="12")

    assert "/correct" not in log(house), "somebody else wrote it"
    mine = f"/entries/{rinse}/correct"
    assert f'href="{mine}"' in log(house, who="amina")
    assert house.client("amina").get(mine).status_code == 200


def test_what_many_lines_hang_on_is_said_once_in_a_footnote(house: Opened) -> None:
    """Six lines of a rule on every row make a month of eleven sheets of paper."""
    publish(house, "ropewalk-sewer")
    permit(house, reference="RSB-7")
    bath = mixed(house)
    house.say("disposal.treated", studio=house.made["studio"], bath=bath, step="base_in",
              base="crystals", weight=quantity(255, "g"))  # fmt: skip
    house.later(hours=1)
    house.say("reading.taken", bath=bath, instrument="ph_strip", ph="7", step="0.5")
    for _ in range(3):
        house.later(minutes=5)
        said = decision(house, bath=bath)
        answer = kept(said, salt=os.urandom(16))
        with house.store.writing() as desk:
            desk.journal.keep(answer)
        pour(house, bath=bath, litres=quantity(1, "l"), decision=answer.name,
             steps=list(said.steps), outcome=str(said.outcome))  # fmt: skip

    page = log(house)

    assert page.count("RSB-7") == 1
    assert page.count("letter (invented)") == 1
    rows = page.split("<tbody>")[1].split("</tbody>")[0]
    assert rows.count('href="#source-1"') == 3
    assert "Ropewalk" not in rows, "its name stands on top of every sheet"
    assert "<b>7.0</b>" in rows


def test_what_somebody_typed_is_no_formula(house: Opened) -> None:
    can = house.say("waste.started", studio=house.made["studio"], name="=J-1", sort="can",
                    holds=quantity(20, "l"), wastes=["size"])  # fmt: skip
    house.say("waste.added", studio=house.made["studio"], jar=can, waste="size",
              litres=quantity(5, "l"))  # fmt: skip
    house.later(days=1)
    house.say("waste.collected", studio=house.made["studio"], jar=can, by="@Tern (invented)",
              reference="-1")  # fmt: skip

    added, fetched = table(house)

    assert fetched["from"] == "'=J-1"
    assert (fetched["went to"], fetched["reference"]) == ("'@Tern (invented)", "'-1")
    assert (added["litres"], fetched["litres"]) == ("5", "5")


def test_a_late_entry_is_marked_and_says_what_it_changed(house: Opened) -> None:
    then = house.moment
    pour(house, litres=quantity(12, "l"))
    house.moment = datetime(2025, 10, 6, 8, 0, tzinfo=UTC)
    pour(house, litres=quantity(9, "l"), at=then)

    page = log(house, "2025-09")

    assert "came in late, on 2025-10-06" in page
    assert "alum bath, town sewer: 12.0 L before, 21.0 L now" in page
    assert [one["came in late on"] for one in table(house, "2025-09")] == ["", "2025-10-06"]


def test_a_late_weight_over_a_line_of_a_pack_names_the_duties(house: Opened) -> None:
    """40 CFR 262.13, recalled: over 100 kg in a month is another category."""
    studio = house.made["studio"]
    first = house.state("studio", studio).edition
    house.say("studio.described", studio=studio, supersedes=first,
              name="Ropewalk", letter="R", drain="sewer", instruments=["scale"],
              emergency="112", poison="0555 0100", country="us")  # fmt: skip
    publish(house, "us-federal-waste")
    can = house.say("waste.started", studio=studio, name="J-1", sort="drum", area="central",
                    holds=quantity(200, "l"), wastes=["colour_rinse"])  # fmt: skip
    then = house.moment
    rinse: dict[str, Any] = {
        "studio": studio,
        "jar": can,
        "waste": "colour_rinse",
        "hazardous": "yes",
    }
    house.say("waste.added", **rinse, weight=quantity(60, "kg"))
    house.moment = datetime(2025, 10, 6, 8, 0, tzinfo=UTC)
    house.say("waste.added", at=then, **rinse, weight=quantity(41, "kg"))
    house.say("reading.taken", jar=can, instrument="ph_strip", ph="1.0", step="0.5")

    page = log(house, "2025-09")

    assert "hazardous waste made: 60.0 kg before, 101.0 kg now" in page
    assert "It follows: Category of the studio: makes little of it" in page
    for duty in ("Label it", "Write on it the day it was started", "Watch the day it is due"):
        assert duty in page


def test_who_prints_it_and_the_address_stand_on_top(house: Opened) -> None:
    pour(house, litres=quantity(1, "l"))

    page = log(house)

    assert "log of wastes, 2025-09 · printed by Kahu R., 2025-09-17 18:00" in page


def test_nothing_is_said_of_hazardous_waste_where_no_rule_asks(house: Opened) -> None:
    pour(house, litres=quantity(1, "l"))

    page = log(house)

    assert "What the rules that are kept here make of it" not in page
    assert "hazardous waste made" not in page


def test_what_stands_in_no_document_is_said_in_each_language() -> None:
    """The name by which it is looked up is the one that the table of retention has."""
    every = {one.document for kept in KEPT.values() for one in kept}

    assert set(OUR_OWN) <= every
    assert all(one.endswith("CFR") for one in every - set(OUR_OWN))


def keep_records(house: Opened, of: str) -> None:
    """Set the house limits anew, with for whom records are kept."""
    first = house.state("house", "house").edition
    house.say("limits.set", **HOUSE | {"supersedes": first, "records_kept": of})


def test_where_somebody_is_employed_thirty_years_are_said_with_their_source(
    house: Opened,
) -> None:
    """29 CFR 1910.1020(d)(1)(ii): who worked with what; of the rest three years."""
    keep_records(house, "employees")

    for page in (log(house), house.client("kahu").get("/house").text):
        assert "who worked with what: 30 years at least (29 CFR 1910.1020(d)(1)(ii)" in page
        assert "Nothing is removed earlier" in page


def test_nobody_is_given_years_in_silence(house: Opened) -> None:
    keep_records(house, "ask")

    assert "Nobody has answered yet for whom records are kept" in log(house)


# ---- mishaps


def noted(house: Opened, **said: str) -> Any:
    """Send the form of a mishap as a member."""
    client = house.client("kahu")
    blank = {"studio": house.made["studio"], "what": "spill", "litres.unit": "l"}
    return send(client, "/mishaps/new", {**blank, **said})


def test_whom_to_call_and_what_to_do_stand_there_before_anything_is_written(
    house: Opened,
) -> None:
    publish(house, "ropewalk-sewer")
    permit(house)

    page = house.client("kahu").get("/mishaps/new").text

    for said in (
        "112", "0555 0100", "the town&#39;s drains office", "at least 15 minutes",
        "Do not write who was hurt", "Never a lid; add nothing more", "Everybody out",
    ):  # fmt: skip
        assert said in page, said
    assert page.index("0555 0100") < page.index('<form method="post" class="form"')


def test_a_septic_tank_is_left_as_it_is(house: Opened) -> None:
    house.say("studio.described", name="Barn", letter="B", drain="septic",
              instruments=["scale"], emergency="112", poison="0555 0100")  # fmt: skip

    page = house.client("kahu").get("/mishaps/new").text

    assert "Do not add anything to make it better" in page


def test_a_mishap_is_written_in_two_taps_and_repeats_whom_to_call(house: Opened) -> None:
    answer = noted(house)

    assert answer.status_code == 303, answer.text
    page = house.client("kahu").get(answer.location).text
    assert "0555 0100" in page
    assert "nobody knows how much it was" in page


def test_what_ran_down_the_wrong_drain_counts_there(house: Opened) -> None:
    """Alum out of the tub, by itself called what it is; the tub has so much less."""
    bath = mixed(house)
    house.later(minutes=10)

    answer = noted(house, what="wrong_drain", of=f"bath:{bath}", outlet="storm",
                   **{"litres.typed": "3", "done": "called", "called": "the yard office"},
                   )  # fmt: skip

    page = house.client("kahu").get(answer.location).text
    assert "Do not add anything to make it better" in page
    assert "3.0 L" in page, "as it was measured: water with its alum"
    (line,) = table(house)
    assert (line["waste"], line["litres"], line["from"]) == ("alum bath", "3", "Alum R-A1")
    assert line["went to"] == "street or yard drain"
    assert "the yard office" in line["steps"]


def test_a_figure_that_is_none_is_asked_again_and_the_rest_is_kept(house: Opened) -> None:
    answer = noted(house, called="the yard office", **{"litres.typed": "lots"})

    assert answer.status_code == 422
    assert 'value="lots"' in answer.text
    assert 'value="the yard office"' in answer.text


def test_who_does_not_know_what_ran_down_a_drain_can_say_so(house: Opened) -> None:
    """In a hurry nobody looks for the right word: it is written, and counts as not known."""
    answer = noted(house, what="wrong_drain", outlet="storm", **{"litres.typed": "2"})

    assert answer.status_code == 303, answer.text
    (line,) = table(house)
    assert (line["waste"], line["litres"]) == ("nobody knows what it is", "2")


def test_mishaps_of_a_studio_stand_in_a_list_the_newest_first(house: Opened) -> None:
    """Across the months, without the pours between them."""
    studio = house.made["studio"]
    here = house.client("kahu").get(f"/waste/{studio}").text
    there = f"/waste/{studio}/mishaps"
    assert f'href="{there}"' in here
    assert "Nothing was noted" in house.client("kahu").get(there).text
    noted(house)
    pour(house, litres=quantity(1, "l"))
    house.later(days=40)
    newest = noted(house, what="wrong_drain", outlet="storm").location

    page = house.client("kahu").get(there).text.split("<main", 1)[1]

    assert page.count('href="/mishaps/0') == 2
    assert page.index(newest) < page.index("Kahu R.")
    assert "nobody knows what it is, street or yard drain" in page


def test_another_line_of_the_log_is_no_mishap(house: Opened) -> None:
    line = pour(house, litres=quantity(1, "l"))

    assert house.client("kahu").get(f"/mishaps/{line}").status_code == 404


def test_the_room_leads_there_in_one_tap(house: Opened) -> None:
    assert 'href="/mishaps/new' in house.client("kahu").get("/").text


def statements_of_a_month(house: Opened) -> int:
    """Return how many statements a month's page asks of the database."""
    client = house.client("kahu")
    client.get("/")
    with counted(house.store) as found:
        assert client.get(f"/waste/{house.made['studio']}/log").status_code == 200
    return len(found)


def test_a_full_month_asks_no_more_of_the_database_than_three_lines(house: Opened) -> None:
    """Lines are read together, or a full month would take as long as it is full."""
    for _ in range(3):
        house.later(minutes=5)
        pour(house, litres=quantity(1, "l"))
    few = statements_of_a_month(house)
    for _ in range(30):
        house.later(minutes=5)
        pour(house, waste="rinse_water", sheet_count="12")

    assert statements_of_a_month(house) <= few
    assert few <= STATEMENTS_MAX


def test_an_answer_that_cannot_be_read_is_told_of_and_hides_no_line(house: Opened) -> None:
    """It came from a phone that was broken into, or is of a time to come."""
    broken = pack_kept(b'{"outcome": "fine"}', salt=os.urandom(16))
    pour(house, litres=quantity(2, "l"), decision=broken.name)
    with house.store.writing() as desk:
        desk.journal.keep(broken)

    assert "the answer that was kept cannot be read" in log(house)
    assert table(house)[0]["litres"] == "2"


def test_a_table_has_points_in_its_figures_whatever_the_language(house: Opened) -> None:
    """A program reads it: 1.5 is a number in every table, 1,5 in some."""
    client = house.client("kahu")
    pour(house, litres=quantity("1.5", "l"))
    there = f"/waste/{house.made['studio']}/log"
    turkish = {"Accept-Language": "tr"}

    assert "1,5 L" in client.get(there, headers=turkish).text
    assert ",1.5," in client.get(f"{there}.csv", headers=turkish).text
