"""The server's log: one line for each fault, saying where; never what was sent."""

import logging
import time
from pathlib import Path
from traceback import StackSummary, extract_tb
from types import TracebackType
from typing import TextIO

from flask import Flask, request

LOGGER = "coop.faults"
PACKAGE = f"{Path(__file__).parent.parent}/"

Caught = (
    tuple[type[BaseException], BaseException, TracebackType | None] | tuple[None, None, None]
)


def install(app: Flask, stream: TextIO, level: str) -> None:
    """Log what a view did not catch, a line each, in place of Flask's own report."""
    logger = logging.getLogger(LOGGER)
    logger.handlers = [line_handler(stream)]
    logger.setLevel(level)
    logger.propagate = False
    app.log_exception = _log  # type: ignore[method-assign,assignment]  # Flask's own hook


def line_handler(stream: TextIO) -> logging.Handler:
    """Return what writes a line for each record: the time in UTC, the level, the message."""
    handler = logging.StreamHandler(stream)
    formatter = logging.Formatter("%(asctime)sZ %(levelname)s %(message)s", "%Y-%m-%dT%H:%M:%S")
    formatter.converter = time.gmtime
    handler.setFormatter(formatter)
    return handler


def _log(caught: Caught) -> None:
    """
    Write the line: method, route, sort of fault, place.

    The route and not the path, which may hold a one-use token; the sort and not the text,
    which may quote what somebody typed.
    """
    kind, _, trace = caught
    route = request.url_rule.rule if request.url_rule else "no route"
    logging.getLogger(LOGGER).error(
        "%s %s: %s%s", request.method, route, kind.__name__ if kind else "fault", _place(trace)
    )


def _place(trace: TracebackType | None) -> str:
    frames = extract_tb(trace)
    ours = [one for one in frames if one.filename.startswith(PACKAGE)]
    found = StackSummary.from_list([*frames, *ours][-1:])
    return "".join(
        f" at {'/'.join(one.filename.split('/')[-3:])}:{one.lineno} in {one.name}"
        for one in found
    )
