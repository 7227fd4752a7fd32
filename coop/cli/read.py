"""`coop read TEXT`: what a dose or another measure means, with every reading not settled."""

from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Sequence

from coop.actions.read_dose import TONGUES, bulk_of
from coop.cli.common import FAILED, FINE, UNSETTLED, as_json, cautions_of, parser
from coop.cli.read_other import OTHERS
from coop.units.dose import Alternative, DoseReading, read_dose
from coop.units.fault import NotUnderstood
from coop.units.kinds import QUESTIONS, Kinds
from coop.units.notes import DILUTED_TO_WHAT
from coop.units.plain import plain_dose, plain_fault
from coop.units.quantity import range_text
from coop.units.strength import Statement

EPILOG = (
    "Spoons of powder are taken at 11 to 20 g a US tablespoon, middle 14.8: weigh ten level\n"
    "spoons of the tub to know better. Ends with 0 when the dose is settled, 1 when it is not\n"
    "understood, 3 when it says two things or a kind of measure must be said."
)


def run(command: str, arguments: Sequence[str]) -> int:
    """Read one text; a dose without --kinds is given with every reading and what to ask."""
    asked = parser(command, "Say what a dose means, as people write it.", epilog=EPILOG)
    asked.add_argument("text", help='for example "8 tbsp per gallon"')
    asked.add_argument(
        "--as",
        dest="sort",
        choices=("dose", *OTHERS),
        default="dose",
        help="what it is: a dose in water (default), one by the weight of cloth, or another "
        'measure: "15 %% owg", "2.9 Be", "68 F", "1 ream of 480", "soda ash", "2025-10-04"',
    )
    add_kinds(asked)
    asked.add_argument(
        "--lang", choices=tuple(TONGUES), default="en", help="tongue of the text"
    )
    asked.add_argument("--json", action="store_true", help="one JSON object")
    given = asked.parse_args(arguments)
    try:
        return _dose(given) if given.sort == "dose" else _other(given)
    except NotUnderstood as fault:
        if given.json:
            print(as_json({"typed": given.text, "not_understood": plain_fault(fault)}))
        else:
            print(f"not understood: {fault}")
        return FAILED


def _dose(given: Namespace) -> int:
    reading = read_dose(given.text, given.kinds, bulk_of(None), words=TONGUES[given.lang])
    if given.json:
        print(as_json(plain_dose(reading) | {"cautions": cautions_of("mix")}))
    else:
        print("\n".join((*_lines(reading), *_diluted(reading))))
    return FINE if reading.g_per_l is not None else UNSETTLED


def _other(given: Namespace) -> int:
    found = OTHERS[given.sort](given.text, TONGUES[given.lang])
    if given.json:
        print(as_json({"typed": given.text, **found.plain}))
    else:
        print(found.line)
    return FINE


def add_kinds(asked: ArgumentParser) -> None:
    """Ask for the kinds of gallon, cup and spoon: --kinds us,us,us."""
    asked.add_argument(
        "--kinds",
        type=kinds,
        metavar="GALLON,CUP,SPOON",
        help="kinds that a bare name means, as us,us,us or imp,metric,metric",
    )


def kinds(typed: str) -> Kinds:
    """Return the kinds that 'us,us,us' names."""
    names = typed.split(",")
    questions = ("gallon", "cup", "spoon")
    fits = len(names) == len(questions) and all(
        name in QUESTIONS[question] for name, question in zip(names, questions, strict=True)
    )
    if not fits:
        wanted = "; ".join(f"{one}: {', '.join(QUESTIONS[one])}" for one in questions)
        raise ArgumentTypeError(f"{typed!r} does not name three kinds ({wanted})")
    return Kinds(gallon=names[0], cup=names[1], spoon=names[2])  # type: ignore[arg-type]  # checked


def _lines(reading: DoseReading) -> list[str]:
    if reading.g_per_l is not None:
        return [_line(one) for one in reading.statements]
    if reading.contradiction is not None:
        return [*map(_line, reading.statements), f"these are {_apart(reading)}: pick one"]
    asks = [f"which {one.question}: {', '.join(one.options)}?" for one in reading.asks]
    ways = [one.reading for one in reading.alternatives]
    if all(one.contradiction for one in ways):
        return [*_two_things(ways), *asks]
    return [*map(_way, reading.alternatives), *asks]


def _two_things(ways: Sequence[DoseReading]) -> list[str]:
    """Say a contradiction once that holds whatever the open questions are answered."""
    lines = []
    for each in zip(*(one.statements for one in ways), strict=True):
        found = [float(one.g_per_l.middle) for one in each]
        lines.append(f"{each[0].typed}: {min(found):.1f} to {max(found):.1f} g/L, by its kinds")
    apart = sorted(100 * _apart_fraction(one) for one in ways)
    return [
        *lines,
        f"these are {apart[0]:.0f} to {apart[-1]:.0f} % apart in any kinds: pick one",
    ]


def _way(one: Alternative) -> str:
    said = f"{' / '.join(map(_line, one.reading.statements))}  ({_answers(one.answers)})"
    return f"{said}: {_apart(one.reading)}" if one.reading.contradiction else said


def _apart(reading: DoseReading) -> str:
    return f"{100 * _apart_fraction(reading):.0f} % apart"


def _apart_fraction(reading: DoseReading) -> float:
    assert reading.contradiction is not None
    return float(reading.contradiction.apart)


def _diluted(reading: DoseReading) -> list[str]:
    diluted = any(one.code == DILUTED_TO_WHAT for one in reading.notes)
    return ["a concentrate, to be diluted: to what?"] if diluted else []


def _line(one: Statement) -> str:
    strength = one.g_per_l
    middle, low, high = (float(x) for x in (strength.middle, strength.low, strength.high))
    powder = range_text(one.amount, one.amount_upto)
    said = f"{powder} to {range_text(one.water, one.water_upto)}: {middle:.1f} g/L"
    return said if low == high else f"{said} ({low:.1f} to {high:.1f}), {one.how}"


def _answers(answers: tuple[tuple[str, str], ...]) -> str:
    return ", ".join(f"{question} {kind}" for question, kind in answers)
