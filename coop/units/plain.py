"""Readings as plain mappings, lists, strings and numbers, for JSON; units stand in the keys."""

from fractions import Fraction

from coop.units.dose import Alternative, DoseReading
from coop.units.fault import NotUnderstood
from coop.units.notes import LookAlike, Note
from coop.units.quantity import Quantity, text
from coop.units.statements import Contradiction
from coop.units.strength import Spread, Statement

Plain = dict[str, object]
DECIMALS = 6
"""Numbers are rounded to so many decimals."""


def plain_dose(reading: DoseReading) -> Plain:
    """Return a whole reading; a key whose value is nothing is there all the same, as None."""
    return {
        "typed": reading.typed,
        "usable": reading.g_per_l is not None,
        "g_per_l": reading.g_per_l and _spread(reading.g_per_l),
        "statements": [_statement(one) for one in reading.statements],
        "contradiction": reading.contradiction and _contradiction(reading.contradiction),
        "asks": [
            {"question": one.question, "options": list(one.options)} for one in reading.asks
        ],
        "alternatives": [_alternative(one) for one in reading.alternatives],
        "notes": [_note(one) for one in reading.notes],
        "look_alikes": [_look_alike(one) for one in reading.look_alikes],
        "asides": list(reading.asides),
        "spans": [
            {"start": one.start, "end": one.end, "role": one.role} for one in reading.spans
        ],
    }


def _number(value: Fraction) -> float:
    return round(float(value), DECIMALS)


def _spread(spread: Spread) -> Plain:
    return {
        "low": _number(spread.low),
        "middle": _number(spread.middle),
        "high": _number(spread.high),
    }


def _statement(one: Statement) -> Plain:
    return {
        "typed": one.typed,
        "how": one.how,
        "amount": plain_quantity(one.amount),
        "amount_upto": one.amount_upto and plain_quantity(one.amount_upto),
        "water": plain_quantity(one.water),
        "water_upto": one.water_upto and plain_quantity(one.water_upto),
        "ml_per_l": one.ml_per_l and _spread(one.ml_per_l),
        "g_per_l": _spread(one.g_per_l),
    }


def plain_quantity(quantity: Quantity) -> Plain:
    """Return a quantity's wire form, its text, and its number in mL, g or another base unit."""
    key = {"volume": "ml", "mass": "g"}.get(quantity.dimension, "base")
    return {**quantity.to_wire(), "text": text(quantity), key: _number(quantity.base)}


def _contradiction(found: Contradiction) -> Plain:
    return {
        "code": found.code,
        "between": list(found.between),
        "apart_fraction": _number(found.apart),
    }


def _alternative(one: Alternative) -> Plain:
    return {"answers": dict(one.answers), "reading": plain_dose(one.reading)}


def _note(note: Note) -> Plain:
    return {
        "code": note.code,
        "fields": {
            key: value if isinstance(value, str) else _number(value)
            for key, value in note.fields
        },
    }


def _look_alike(one: LookAlike) -> Plain:
    return {
        "code": one.code,
        "amount": plain_quantity(one.amount),
        "water": plain_quantity(one.water),
        "g_per_l": _spread(one.g_per_l),
        "entered": one.entered,
    }


def plain_fault(fault: NotUnderstood) -> Plain:
    """Return what was not understood: code, part, where, options, and the English text."""
    return {
        "code": fault.code,
        "part": fault.part,
        "start": fault.where[0],
        "end": fault.where[1],
        "options": list(fault.options),
        "english": str(fault),
    }
