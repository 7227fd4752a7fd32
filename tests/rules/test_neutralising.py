"""The window of a place, and a walk that never puts in more than its dose."""

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from itertools import count
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from coop.ids import EntryId, MemberId
from coop.ledger.states import DrainReading, Treated
from coop.rules.neutralising import Next, Stand, Window, is_limited, ph_window, stand
from coop.rules.packs.schema import Pack
from coop.science.neutralising import BASES, Walk, walk
from tests.rules.packs.at_hand import FLOOR, ROPEWALK, TODAY

START = datetime(2026, 11, 27, 18, 0, tzinfo=UTC)
USUAL = Window(low=Fraction("6.5"), high=Fraction("7.5"))
WIDE = Window(low=Fraction(6), high=Fraction(10), usual_low=False, usual_high=False)
R_A3: dict[str, Any] = {"salt_g": 232.0, "salt": "aluminium_sulfate_14", "volume_l": 5.8}
WEIGHED = {Next.FIRST: "base_in", Next.MORE: "base_in", Next.CUP: "cup_back"}


def window(*packs: Pack, demo: bool = True) -> tuple[str, str]:
    found = ph_window(packs, area=("us", "ropewalk"), outlet="sewer", day=TODAY, demo=demo)
    return str(found.low), str(found.high)


def test_without_a_rule_of_the_place_the_usual_window_holds() -> None:
    """6.5 to 7.5: common practice, no source."""
    assert window() == ("13/2", "15/2")
    assert window(FLOOR) == ("13/2", "15/2"), "a floor never widens it"


def test_the_letter_of_the_place_is_the_window() -> None:
    """pH 6.0 to 10.0 of the invented board; invented figures count in a demo alone."""
    assert window(ROPEWALK) == ("6", "10")
    assert window(FLOOR, ROPEWALK) == ("6", "10")
    assert window(ROPEWALK, demo=False) == ("13/2", "15/2")


def test_what_a_place_wants_beyond_the_usual_opens_the_other_end() -> None:
    """At least pH 8 and nothing above: 7.5 is not the end of that."""
    (rule,) = (one for one in ROPEWALK.rules if one.quantity == "ph")
    at_least = replace(rule, holds_if="at_least", low=Fraction(8), high=None)
    pack = replace(ROPEWALK, rules=(at_least,))

    assert window(pack) == ("8", "14")


def test_whether_sulfate_is_limited_is_asked_of_the_rules() -> None:
    """Neutralising leaves it in; that is said only where it matters."""
    (rule,) = (one for one in ROPEWALK.rules if one.quantity == "ph")
    sulfate = replace(rule, quantity="mass_per_volume", of="sulfate")
    where: dict[str, Any] = {"area": ("us", "ropewalk"), "outlet": "sewer", "day": TODAY}

    assert not is_limited([ROPEWALK], "sulfate", **where)
    assert is_limited([replace(ROPEWALK, rules=(sulfate,))], "sulfate", **where)


# ---- the walk


@dataclass
class Bucket:
    """Somebody who does what comes next, with readings as they are told."""

    figures: Walk
    window: Window = USUAL
    now: datetime = START
    treated: list[Treated] = field(default_factory=list)
    readings: list[DrainReading] = field(default_factory=list)
    _ids: "count[int]" = field(default_factory=count)

    def stand(self) -> Stand:
        return stand(self.treated, self.readings, self.figures, self.window, reads_before=False)

    def do(self, base: str = "crystals") -> Next:
        """Do what comes next, half an hour later."""
        at = self.stand()
        self.now += timedelta(minutes=31)
        if at.step in (Next.KEEP_BACK, Next.BRAKE, Next.STRAIN, *WEIGHED):
            step = {Next.KEEP_BACK: "kept_back", Next.BRAKE: "cup_back"}.get(
                at.step, WEIGHED.get(at.step, "strained")
            )
            self.treated.append(
                Treated(
                    entry=self._id(),
                    at=self.now,
                    by=MemberId("m"),
                    step=step,
                    base=base if at.weight_g else "",
                    weight_g=at.weight_g,
                    volume_ml=at.cup_ml,
                )
            )
        return at.step

    def read(self, ph: str, after_min: int = 31, step: str = "0.5") -> None:
        self.now += timedelta(minutes=after_min)
        self.readings.append(
            DrainReading(
                entry=self._id(), at=self.now, by=MemberId("m"), instrument="ph_strip",
                ph=ph, step=step,
            )
        )  # fmt: skip

    def _id(self) -> EntryId:
        return EntryId(f"{next(self._ids):08d}")

    @property
    def in_g(self) -> float:
        return sum(one.weight_g for one in self.treated)


def bucket(base: str = "crystals", bucket_l: float = 18, **more: Any) -> Bucket:
    return Bucket(walk(base=base, bucket_l=bucket_l, **R_A3), **more)


def test_the_way_of_the_bath_of_232_grams() -> None:
    """Cup, 255, 21, in: the cup with its 17, a night, strained, asked."""
    walked = bucket()

    assert [walked.do(), walked.do()] == [Next.KEEP_BACK, Next.FIRST]
    walked.read("5.5")
    assert (walked.stand().step, walked.stand().weight_g) == (Next.MORE, 21.0)
    walked.do()
    walked.read("7")
    assert (walked.stand().step, walked.stand().weight_g) == (Next.CUP, 17.0)
    walked.do()
    walked.read("7")
    assert walked.stand().step is Next.OVERNIGHT
    walked.read("7", after_min=9 * 60)
    assert walked.do() is Next.STRAIN
    assert walked.stand().step is Next.MAY_IT_GO


def test_three_goes_have_each_their_cup() -> None:
    walked = bucket(bucket_l=6)
    for go in range(3):
        assert walked.do() is Next.KEEP_BACK, go
        walked.do()
        walked.read("7")
        assert walked.do() is Next.CUP
        walked.read("7")

    assert walked.stand().step is Next.OVERNIGHT
    assert walked.in_g == pytest.approx(3 * (walked.figures.parts.first_g + 6), abs=3)


@pytest.mark.parametrize(
    ("ph", "said"),
    [("6.5", Next.MORE), ("7.0", Next.CUP), ("7.5", Next.BRAKE), ("6.0", Next.MORE),
     ("8.0", Next.BRAKE)],
)  # fmt: skip
def test_a_reading_clears_its_end_by_one_step_of_the_scale(ph: str, said: Next) -> None:
    """A strip of half steps against 6.5 to 7.5 has to read 7.0."""
    walked = bucket()
    walked.do()
    walked.do()
    walked.read(ph)

    assert walked.stand().step is said


def test_gas_makes_a_reading_low_and_never_high() -> None:
    """Too early and low: it says nothing. Too early and high: it is too high already."""
    walked = bucket()
    walked.do()
    walked.do()
    walked.read("5", after_min=5)
    assert walked.stand().step is Next.READ
    walked.read("9", after_min=5)
    assert walked.stand().step is Next.BRAKE


def test_the_cup_all_back_and_still_too_high_is_asked_about() -> None:
    walked = bucket()
    walked.do()
    walked.do()
    for _ in range(3):
        walked.read("9")
        assert walked.do() is Next.BRAKE
    walked.read("9")

    assert walked.stand().step is Next.ASK_HIGH


PHS = st.sampled_from(["3.5", "5", "6", "6.5", "7", "7.5", "8", "9.5"])


@settings(max_examples=150)
@given(
    base=st.sampled_from(sorted(BASES)),
    bucket_l=st.sampled_from([6.0, 9.0, 18.0, 40.0]),
    wide=st.booleans(),
    phs=st.lists(PHS, min_size=1, max_size=25),
    waits=st.lists(st.integers(1, 700), min_size=25, max_size=25),
)
@example(  # a third of the cup back, its share in part in: the rest of it in steps of 0.1 g
    base="anhydrous", bucket_l=9.0, wide=False,
    phs=["3.5", "3.5", "3.5", "3.5", "7.5", "3.5", "7", "3.5"],
    waits=[1, 1, 1, 29, 1, 29, 29, 1],
)  # fmt: skip
def test_whatever_is_read_no_bucket_takes_more_than_its_dose(
    base: str, bucket_l: float, wide: bool, phs: list[str], waits: list[int]
) -> None:
    """No reading, however often or wrong, lets anybody put in more than was weighed before."""
    walked = bucket(base, bucket_l, window=WIDE if wide else USUAL)
    for ph, wait in zip(phs, waits, strict=False):
        while walked.stand().step in (Next.KEEP_BACK, Next.FIRST):
            walked.do(base)
        at = walked.stand()
        assert at.go.in_g + at.weight_g <= walked.figures.parts.dose_g + 1e-6
        assert (at.weight_g > 0) == (at.step in WEIGHED)
        assert 0 <= at.cup_ml <= 1000 * walked.figures.kept_cup_l + 1e-6
        walked.do(base)
        walked.read(ph, after_min=wait)
