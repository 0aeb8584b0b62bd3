"""How the log is written: a line of JSON a record for programs, plain lines for a terminal, and nothing personal.

A line names the route and never the address itself, for that has the customer's token in it; and in JSON an exception
has its class and its places in the code and never its words, for the database puts names and plates into them.
"""

import logging
from collections.abc import Iterator
from datetime import UTC, datetime
from types import TracebackType
from typing import Any

from pythonjsonlogger.json import JsonFormatter

from garage.watching.numbers import number, route_of

ExcInfo = tuple[type[BaseException], BaseException, TracebackType | None] | tuple[None, None, None]


class NumberAndRoute(logging.Filter):
    """Adds the request's number and its route, and takes the address out of Django's own lines."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.__dict__["number"] = number() or "-"
        request = getattr(record, "request", None)
        if request is not None and hasattr(request, "method"):
            route = route_of(request) or "-"
            record.__dict__.update(route=route, method=request.method)
            address = {request.path, request.path_info, request.get_full_path()}
            if isinstance(record.args, tuple):
                record.args = tuple(route if each in address else each for each in record.args)
            elif any(each and each in record.getMessage() for each in address if each != "/"):
                record.msg, record.args = route, ()
        record.__dict__.pop("request", None)
        return True


class JsonLines(JsonFormatter):
    """One object a line."""

    def __init__(self) -> None:
        super().__init__(
            "{asctime}{levelname}{name}{message}{number}",
            style="{",
            rename_fields={"asctime": "at", "levelname": "level", "name": "logger"},
            reserved_attrs=RESERVED,
            json_ensure_ascii=False,
        )

    def formatTime(self, record: logging.LogRecord, datefmt: str | None = None) -> str:  # noqa: N802 - logging's name
        return datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")

    def formatException(self, exc_info: ExcInfo) -> str:  # noqa: N802 - logging's name
        return "\n".join(_places(exc_info[1]))


# What every record has, and Django's `server_time` and the like never hold more than the line itself.
RESERVED = [*logging.LogRecord("", 0, "", 0, "", (), None).__dict__, "message", "asctime", "request", "taskName"]


def _places(problem: BaseException | None) -> Iterator[str]:
    """The chain of exceptions: what each is, and where in the code it came by, the outermost place first."""
    seen: set[int] = set()
    while problem is not None and id(problem) not in seen:
        seen.add(id(problem))
        yield f"{type(problem).__module__}.{type(problem).__qualname__}"
        at: Any = problem.__traceback__
        while at is not None:
            code = at.tb_frame.f_code
            yield f"  {code.co_filename}:{at.tb_lineno} in {code.co_name}"
            at = at.tb_next
        problem = problem.__cause__ or (None if problem.__suppress_context__ else problem.__context__)
