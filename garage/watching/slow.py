"""Database queries that take long, named by the route that asked and by their shape without a value in it."""

import logging
import re
import time
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.http import HttpRequest

from garage.watching.numbers import route_of

log = logging.getLogger(__name__)

LITERAL = re.compile(r"'(?:[^']|'')*'|(?<![\w.\"])-?\d+(?:\.\d+)?\b")
LIST = re.compile(r"\((?:\s*(?:%s|\?)\s*,)+\s*(?:%s|\?)\s*\)")
LONGEST_SHAPE = 600


class SlowQueries:
    """Wraps each execution of a query while `request` is answered."""

    def __init__(self, request: HttpRequest) -> None:
        self._request = request

    def __call__(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: dict[str, Any]) -> Any:
        began = time.perf_counter()
        try:
            return execute(sql, params, many, context)
        finally:
            took = 1000 * (time.perf_counter() - began)
            if took >= settings.SLOW_QUERY_MS:
                route = route_of(self._request) or "-"
                found = {"route": route, "took_ms": round(took), "query": shape_of(sql)}
                log.warning("Slow query on %s, %d ms: %s", route, took, found["query"], extra=found)


def shape_of(sql: str) -> str:
    """`sql` without its values; a list of them, however long, is one."""
    return LIST.sub("(…)", LITERAL.sub("?", " ".join(str(sql).split())))[:LONGEST_SHAPE]
