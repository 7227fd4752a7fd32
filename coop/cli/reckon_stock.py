"""`coop reckon reorder`, `batch`, `forecast`: when to order, how much, what use to expect."""

import csv
import re
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator, Mapping
from io import StringIO
from pathlib import Path
from textwrap import shorten
from typing import Final

from coop.cli import figures
from coop.cli.reckoning import Answer, Question, figure, rounded
from coop.science import demand
from coop.units.fault import NotUnderstood
from coop.units.number import read_number

USE_MAX: Final = 1_000_000_000
LEAD_MAX_DAYS: Final = 366
Z_MAX: Final = 8
SERVICE_MIN_PERCENT: Final = 50
SERVICE_MAX_PERCENT: Final = 99.9999
COST_MIN: Final = 0.0001
COST_MAX: Final = 1_000_000
SMOOTHING_MIN: Final = 0.001
FILE_MAX_BYTES: Final = 1_000_000
COLUMN: Final = "used"
HEADING_SHOWN: Final = 120
IN_ITS_UNIT: Final = "as given, in the unit of the use"


def _ask_reorder(asked: ArgumentParser) -> None:
    use, days = figure(0, USE_MAX), figure(0, LEAD_MAX_DAYS)
    asked.add_argument("--use", type=use, required=True, help="use of a day, in any unit")
    asked.add_argument("--use-sd", type=use, default=0.0, help="its standard deviation")
    asked.add_argument(
        "--lead-days", type=days, required=True, help="days from ordering to arriving"
    )
    asked.add_argument("--lead-sd", type=days, default=0.0, help="their standard deviation")
    kept = asked.add_mutually_exclusive_group(required=True)
    kept.add_argument(
        "--service",
        type=figure(SERVICE_MIN_PERCENT, SERVICE_MAX_PERCENT),
        metavar="PERCENT",
        help="orders that arrive in time",
    )
    kept.add_argument(
        "--z", type=figure(0, Z_MAX), help="or: standard deviations kept for bad luck"
    )


def _reckon_reorder(given: Namespace) -> Answer:
    z, service = given.z, None
    if z is None:
        service = given.service / 100
        z = demand.service_z(service_fraction=service)
    use = demand.lead_use(
        per_day=given.use,
        lead_days=given.lead_days,
        per_day_sd=given.use_sd,
        lead_sd_days=given.lead_sd,
    )
    found = demand.reorder_point(use=use, z=z)
    return {
        "lead_use": rounded(use.mean),
        "lead_use_sd": rounded(use.sd),
        "service_fraction": service and rounded(service),
        "z": rounded(z),
        "safety_stock": rounded(found.safety),
        "reorder_point": rounded(found.point),
        "mean_shortage": rounded(demand.unit_normal_loss(z=z) * use.sd),
        "how_known": IN_ITS_UNIT,
    }


def _ask_batch(asked: ArgumentParser) -> None:
    cost = figure(0, COST_MAX)
    asked.add_argument(
        "--use", type=figure(0, USE_MAX), required=True, help="use in a span, as a year"
    )
    asked.add_argument(
        "--order-cost", type=cost, required=True, help="cost of one order, whatever its size"
    )
    asked.add_argument(
        "--keeping-cost",
        type=figure(COST_MIN, COST_MAX),
        required=True,
        help="cost of keeping one unit for that span",
    )


def _reckon_batch(given: Namespace) -> Answer:
    found = demand.order_size(
        use=given.use, order_cost=given.order_cost, keeping_cost=given.keeping_cost
    )
    return {
        "order_size": rounded(found.quantity),
        "order_count": rounded(given.use / found.quantity) if found.quantity else None,
        "cost": rounded(found.cost),
        "how_known": f"{IN_ITS_UNIT}; pack sizes and shelf life are not looked at",
    }


def _ask_forecast(asked: ArgumentParser) -> None:
    uses = asked.add_mutually_exclusive_group(required=True)
    uses.add_argument(
        "--uses", metavar="'0 0 2 0 3'", help="use of each week, the present one last"
    )
    uses.add_argument(
        "--from",
        dest="file",
        type=Path,
        metavar="FILE.csv",
        help="the same from a file with a heading, a week on each line",
    )
    asked.add_argument(
        "--column", metavar="NAME", help=f"of that file (default {COLUMN}); goes with --from"
    )
    asked.add_argument(
        "--smoothing",
        type=figure(SMOOTHING_MIN, 1),
        default=demand.USE_SMOOTHING,
        metavar="FRACTION",
        help=f"weight of the newest use (default {demand.USE_SMOOTHING:g}); the order list "
        "keeps to its own",
    )


def _reckon_forecast(given: Namespace) -> Answer:
    uses = _uses(given)
    smoothing = given.smoothing
    croston = demand.croston(uses=uses, smoothing=smoothing)
    unbiased = demand.croston_unbiased(uses=uses, smoothing=smoothing)
    fading = demand.fading_use(uses=uses, smoothing=smoothing, chance_smoothing=smoothing)
    taken = demand.weekly_use(uses=uses)
    return {
        "week_count": len(uses),
        "used_week_count": sum(use > 0 for use in uses),
        "smoothing": smoothing,
        "mean_per_week": rounded(sum(uses) / len(uses)),
        "croston_per_week": rounded(croston),
        "croston_unbiased_per_week": rounded(unbiased),
        "fading_per_week": rounded(fading),
        "order_list": {
            "per_week": rounded(taken.per_week),
            "said_per_week": demand.two_figures(number=taken.per_week),
            "by": taken.by,
            "week_count": taken.week_count,
            "used_week_count": taken.used_week_count,
            "mean_up_to_every_weeks": demand.USE_EVERY_WEEKS,
        },
        "how_known": IN_ITS_UNIT,
    }


def _uses(given: Namespace) -> list[float]:
    if given.file is None:
        if given.column is not None:
            raise ValueError("--column: names a column of a file; it goes with --from")
        texts = [text.rstrip(",") for text in re.split(r"[;\s]+", given.uses)]
        typed = [("--uses", text) for text in texts if text]
        wanted = "--uses: numbers with a space between, as '0 0 2 0 3'"
    else:
        typed = list(_rows(given.file, given.column or COLUMN))
        wanted = f"--from: {given.file}: weeks under the heading"
    if not 1 <= len(typed) <= demand.PERIODS_MAX:
        raise ValueError(f"{wanted}: 1 to {demand.PERIODS_MAX}, there are {len(typed)}")
    return [_use(where, text) for where, text in typed]


def _rows(file: Path, column: str) -> Iterator[tuple[str, str]]:
    """Yield what stands in a column, each with where it stands."""
    text = _text(file)
    delimiter = ";" if ";" in text.partition("\n")[0] else ","
    reader = csv.DictReader(StringIO(text, newline=""), delimiter=delimiter, restval="")
    try:
        names = [name.strip() for name in reader.fieldnames or ()]
        if column not in names:
            raise ValueError(
                f"--from: {file}: no column {column!r} in its heading, which has "
                f"{shorten(', '.join(names), HEADING_SHOWN) or 'nothing'}; say --column"
            )
        reader.fieldnames = names
        for row in reader:
            yield f"--from: {file}, line {reader.line_num}", row[column]
    except csv.Error as why:
        raise ValueError(f"--from: {file}, line {reader.line_num}: {why}") from why


def _text(file: Path) -> str:
    try:
        with file.open("rb") as opened:
            found = opened.read(FILE_MAX_BYTES + 1)
    except OSError as why:
        raise ValueError(f"--from: {file}: {why.strerror}") from why
    if len(found) > FILE_MAX_BYTES:
        raise ValueError(f"--from: {file}: is over {FILE_MAX_BYTES} bytes, too much to read")
    try:
        return found.decode("utf-8-sig")
    except UnicodeDecodeError as why:
        raise ValueError(f"--from: {file}: is no text in UTF-8; save it as CSV UTF-8") from why


def _use(where: str, text: str) -> float:
    try:
        return float(read_number(text, high=USE_MAX))
    except NotUnderstood as why:
        raise ValueError(f"{where}: {why}; a number from 0 to {USE_MAX}") from why


QUESTIONS: Mapping[str, Question] = {
    "reorder": Question(
        "at what stock to order",
        _ask_reorder,
        _reckon_reorder,
        "",
        figures.reorder_lines,
    ),
    "batch": Question(
        "how much to order at a time",
        _ask_batch,
        _reckon_batch,
        "",
        figures.batch_lines,
    ),
    "forecast": Question(
        "what use to expect, from the use of past weeks",
        _ask_forecast,
        _reckon_forecast,
        "",
        figures.forecast_lines,
    ),
}
