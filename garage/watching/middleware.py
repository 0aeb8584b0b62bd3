"""Around every request: its number, its slow queries, and its place in the figures."""

import time
from collections.abc import Callable

from django.db import connection
from django.http import HttpRequest, HttpResponse

from garage.watching import metrics
from garage.watching.numbers import numbered, route_of
from garage.watching.slow import SlowQueries

Answer = Callable[[HttpRequest], HttpResponse]


def watched(get_response: Answer) -> Answer:
    def middleware(request: HttpRequest) -> HttpResponse:
        began = time.perf_counter()
        with numbered() as number, connection.execute_wrapper(SlowQueries(request)):
            request.number = number  # type: ignore[attr-defined]  # the page of an error shows it
            response = get_response(request)
        response["X-Request-ID"] = number
        metrics.count(request.method or "", route_of(request), response.status_code, time.perf_counter() - began)
        return response

    return middleware
