"""What of wastes needs somebody, and whom."""

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from coop.actions.see_needs import Need, needs
from coop.ledger.kinds import NEEDS
from coop.rules import jars
from coop.rules.needs import WAITING_DAYS
from tests.support.opened import Opened, furnished, mixed, quantity
from tests.support.wastes import publish


@pytest.fixture
def house(tmp_path: Path) -> Opened:
    made = furnished(tmp_path)
    made.join("Ines L.", "member", "teacher")
    return made


def of(house: Opened, who: str, prefix: str, ahead_days: int = 0) -> list[Need]:
    member = house.members[who]
    with house.desk() as desk:
        found = needs(
            desk.journal,
            member.member,
            member.roles,
            now=house.moment,
            ahead_days=ahead_days,
            demo=True,
        )
    return [one for one in found if one.code.startswith(prefix)]


def drum(house: Opened, holds: int = 60, **changes: Any) -> str:
    return house.say("waste.started", studio=house.made["studio"], name="drum", sort="drum",
                     holds=quantity(holds, "l"), wastes=["rinse_water"], **changes)  # fmt: skip


def fill(house: Opened, jar: str, litres: int) -> None:
    house.say("waste.added", studio=house.made["studio"], jar=jar, waste="rinse_water",
              litres=quantity(litres, "l"))  # fmt: skip


def test_every_need_of_a_jar_is_a_kind_of_need() -> None:
    """Or nobody could put it off."""
    assert set(jars.NEEDS) <= set(NEEDS)


def test_an_old_bath_that_waits_a_week_is_told_of(house: Opened) -> None:
    """To the coordinator, the safety officer, and whoever made it; to nobody else."""
    bath = mixed(house, who="oluwaseun")
    house.say("bath.finished", bath=bath, reason="too_weak")
    house.later(days=WAITING_DAYS - 1)
    assert of(house, "amina", "waste") == []
    (ahead,) = of(house, "amina", "waste", 1)
    assert (ahead.about, ahead.due) == (bath, date(2025, 9, 24))

    house.later(days=1)
    for who in ("amina", "oluwaseun"):
        assert [one.about for one in of(house, who, "waste")] == [bath]
    assert of(house, "ines", "waste") == []

    house.say("disposal.done", studio=house.made["studio"], waste="alum_bath",
              outlet="hauled", bath=bath)  # fmt: skip
    assert of(house, "amina", "waste") == []


def test_a_jar_past_its_day_comes_before_a_class(house: Opened) -> None:
    jar = drum(house, collect_by="2025-09-30")
    assert of(house, "oluwaseun", "jar") == [], "of an empty one nobody wants anything"
    fill(house, jar, 4)
    assert of(house, "oluwaseun", "jar-due-soon")[0].due == date(2025, 9, 30)

    house.later(days=14)
    found = of(house, "oluwaseun", "jar")
    assert [(one.code, one.about) for one in found] == [("jar-overdue", jar)]
    assert of(house, "ines", "jar") == []


def test_a_jar_that_is_nearly_full_is_told_of(house: Opened) -> None:
    jar = drum(house, holds=20)
    fill(house, jar, 10)
    assert of(house, "amina", "jar-full") == []
    fill(house, jar, 6)

    assert [one.about for one in of(house, "amina", "jar-full")] == [jar]


def test_rules_are_looked_over_a_year_after_they_were_checked(house: Opened) -> None:
    """The shipped letter was checked on 2026-09-01 and says a year as well."""
    publish(house, "ropewalk-sewer")
    assert of(house, "amina", "rules", 345) == []
    house.later(days=(date(2027, 9, 1) - house.moment.date()) / timedelta(days=1))

    (one,) = of(house, "oluwaseun", "rules")
    assert one.due == date(2027, 9, 1)
    assert of(house, "ines", "rules") == []
