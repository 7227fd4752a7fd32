"""`coop reckon soda`: a walk whose grams add up, its stops, and what it never says."""

import re
from typing import Any

import pytest

from coop.cli.common import FINE, MISUSE
from coop.science import alum
from coop.science.neutralising import BASES
from tests.cli.said import Said, here

Capture = pytest.CaptureFixture[str]
OLD_BATH = {"--salt": "aluminium_sulfate_14", "--litres": "5.8 L", "--strength": "40"}
NEVER = re.compile(r"\b(allowed|legal|legally|safe|safely|compliant|compliance)\b", re.I)


def soda(capsys: Capture, *flags: str, **more: str) -> Said:
    said = OLD_BATH | {f"--{name}": text for name, text in more.items()}
    if "alum" in more:
        del said["--strength"]
    return here(capsys, "reckon", "soda", *flags, *(f"{k}={v}" for k, v in said.items()))


def told(capsys: Capture, **more: str) -> Any:
    said = soda(capsys, "--json", **more)
    assert said.code == FINE, said.err
    return said.json


def test_the_bath_of_232_grams_wants_335_of_crystals(capsys: Capture) -> None:
    """5.80 L at 40 g/L: 124 g of anhydrous soda, but the jar holds crystals."""
    anhydrous, crystals = (told(capsys, base=base) for base in ("anhydrous", "crystals"))

    assert anhydrous["each_go"]["dose_g"] == 124
    assert crystals["each_go"]["dose_g"] == 335
    assert crystals["gas_l"] == pytest.approx(28, abs=0.5)
    assert (crystals["bucket_l"], crystals["go_count"]) == (18, 1)


@pytest.mark.parametrize("base", BASES)
@pytest.mark.parametrize("bucket", ["18 L", "12 L", "5 gallons"])
def test_the_grams_of_a_go_add_up_by_hand(base: str, bucket: str, capsys: Capture) -> None:
    """What is said on the line is what the scale shows."""
    out = soda(capsys, base=base, bucket=bucket, kinds="us,us,us").out
    line = next(one for one in out.splitlines() if one.startswith("weigh: "))

    found = re.fullmatch(r"weigh: (.+) = (\S+) g, .*", line)
    assert found, line
    parts, total = found.groups()
    assert sum(map(float, parts.split(" + "))) == pytest.approx(float(total))
    for part in parts.split(" + "):
        assert f"{part} g" in out


def test_grams_said_and_a_strength_said_come_to_the_same(capsys: Capture) -> None:
    by_strength = told(capsys, base="bicarbonate")
    by_grams = told(capsys, base="bicarbonate", alum="232 g")

    assert by_grams == by_strength


def test_a_smaller_bucket_takes_its_goes_and_each_has_its_cup(capsys: Capture) -> None:
    """A bucket of 6 L: three goes of 1.93 L, a twentieth kept back of each."""
    found = told(capsys, base="anhydrous", bucket="6 L")

    assert found["go_count"] == 3
    assert found["each_go"]["kept_cup_l"] == pytest.approx(5.8 / 3 / 20, abs=1e-4)
    assert found["gas_l"] == pytest.approx(3 * found["each_go"]["gas_l"], abs=1e-3)
    out = soda(capsys, base="anhydrous", bucket="6 L").out
    assert "bucket: 6 L, 3 goes of 1.93 L, each like this" in out


def test_the_steps_follow_the_jar(capsys: Capture) -> None:
    """Lime gives no gas to stir out; crystals fall to a powder that is another soda."""
    lime, crystals = (
        " ".join(told(capsys, base=base)["steps"]) for base in ("lime", "crystals")
    )

    assert "fizz" not in lime
    assert "until no more fizz rises, at least 30 minutes" in crystals
    assert "Crystals fallen to a dry white powder" in crystals
    assert "white powder" not in lime


def test_a_walk_goes_outdoors_or_slower_where_it_must(capsys: Capture) -> None:
    """Too much gas for a room; grams known too roughly for the first part."""
    small, large = (told(capsys, base="anhydrous", litres=one) for one in ("5.8 L", "40 L"))
    rough = told(capsys, base="anhydrous", doubt="30")

    assert "window open, not in a cellar" in small["steps"][0]
    assert "outdoors" in large["steps"][0]
    assert "known so roughly" not in small["steps"][3]
    assert "known so roughly" in rough["steps"][3]


@pytest.mark.parametrize("base", BASES)
@pytest.mark.parametrize("salt", [code for code in alum.SALTS if code != "ammonium_alum"])
def test_no_answer_says_a_ph_or_that_it_is_without_danger(
    base: str, salt: str, capsys: Capture
) -> None:
    """A person reads the pH; the walk only says when to. The authority decides."""
    for flags in ((), ("--json",)):
        out = soda(capsys, *flags, base=base, salt=salt).out
        assert not re.search(r"\bpH\b", out, re.I)
        assert not NEVER.search(out)
        assert "your local authority decides" in out


def test_the_cautions_come_with_it(capsys: Capture) -> None:
    codes = {one["code"] for one in told(capsys, base="lime")["cautions"]}

    assert {"ammonium-alum-with-a-base", "sulfides-and-metals", "never-a-lid", "burns"} <= codes
    assert {"in-the-eye", "not-under-16", "never-bleach", "ask-the-drain-rules"} <= codes


@pytest.mark.parametrize("base", BASES)
def test_ammonium_alum_is_stopped(base: str, capsys: Capture) -> None:
    said = soda(capsys, base=base, salt="ammonium_alum")

    assert (said.code, said.out) == (MISUSE, "")
    assert "gives off ammonia" in said.err


@pytest.mark.parametrize(
    ("more", "wrong"),
    [
        ({"litres": "0.01 L"}, "volume_l: must be from 0.1 to 1000"),
        ({"litres": "5 g"}, "--litres: "),
        ({"bucket": "0.1 L"}, "bucket_l: must be from 0.5"),
        ({"bucket": "0.8 L"}, "a bucket of 1 L or more would do"),
        ({"alum": "0.2 g"}, "salt_g: must be from 1"),
        ({"alum": "2 g", "bucket": "6 L"}, "a larger bucket would do"),
        ({"alum": "20 kg"}, "strength_g_per_l: must be from 0 to 2000"),
        ({"room": "80 C"}, "room_c: must be from -20 to 50"),
        ({"base": "sand"}, "invalid choice: 'sand'"),
        ({"doubt": "60"}, "argument --doubt"),
    ],
)  # fmt: skip
def test_what_cannot_be_walked_says_what_would_do(
    more: dict[str, str], wrong: str, capsys: Capture
) -> None:
    said = soda(capsys, **({"base": "anhydrous"} | more))

    assert (said.code, said.out) == (MISUSE, "")
    assert wrong in said.err


@pytest.mark.parametrize("left_out", ["--salt", "--litres", "--strength"])
def test_what_a_walk_cannot_do_without_is_asked_for(left_out: str, capsys: Capture) -> None:
    """No salt and no base is taken for granted: the form is a factor of 1.6 or 2.7."""
    said = {k: v for k, v in OLD_BATH.items() if k != left_out}
    ended = here(
        capsys, "reckon", "soda", "--base=lime", *(f"{k}={v}" for k, v in said.items())
    )

    assert ended.code == MISUSE
    assert left_out in ended.err
