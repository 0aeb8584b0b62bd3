"""Figures for whoever watches several workshops, in the OpenMetrics text form: what was asked, and how the book is."""

import os
from collections.abc import Iterable
from datetime import timedelta

from axes.models import AccessFailureLog
from django.conf import settings
from django.utils import timezone
from prometheus_client import CollectorRegistry, Counter, Histogram
from prometheus_client.metrics_core import GaugeMetricFamily, Metric
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.openmetrics.exposition import CONTENT_TYPE_LATEST, generate_latest
from prometheus_client.registry import Collector

from garage.background.queries import counts
from garage.backup import shelf
from garage.site.data_folder import free_bytes

CONTENT_TYPE = CONTENT_TYPE_LATEST
LATELY = timedelta(hours=1)
# [seconds] From a tick that nobody notices to a paper that is laid out.
BUCKETS = (0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0)

_of_this_process = CollectorRegistry()
_requests = Counter(
    "crankmark_requests", "Requests answered.", ["method", "route", "status"], registry=_of_this_process
)
_latency = Histogram(
    "crankmark_request_duration_seconds",
    "Time until the answer began.",
    ["route"],
    unit="seconds",
    buckets=BUCKETS,
    registry=_of_this_process,
)
METHODS = {"GET", "HEAD", "POST", "OPTIONS", "PUT", "DELETE", "PATCH"}


def count(method: str, route: str, status: int, seconds: float) -> None:
    """Note an answer. Anything that a guest can make up is one label, for each costs memory for ever."""
    _requests.labels(method if method in METHODS else "other", route or "none", str(status)).inc()
    _latency.labels(route or "none").observe(seconds)


def exposition() -> bytes:
    """All figures: of every process of this machine where they share `PROMETHEUS_MULTIPROC_DIR`, else of this one."""
    registry = CollectorRegistry()
    if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
        MultiProcessCollector(registry)
    else:
        registry.register(_of_this_process)
    registry.register(TheBook())
    return bytes(generate_latest(registry))


class TheBook(Collector):
    """What is asked of the disk and the database at each look, the same from whichever process answers."""

    def collect(self) -> Iterable[Metric]:
        now = timezone.now()
        yield GaugeMetricFamily(
            "crankmark_disk_free_bytes", "Free on the disk of the data folder.", free_bytes(settings.DATA_DIR)
        )
        proven = shelf.last_proven(shelf.backups(settings.BACKUP_FOLDER)) if settings.BACKUP_FOLDER else None
        if proven:
            age = (now - proven.made_at).total_seconds()
            yield GaugeMetricFamily("crankmark_backup_age_seconds", "Age of the newest proven backup.", age)
        tasks = GaugeMetricFamily("crankmark_tasks", "Work in the background.", labels=["state"])
        for state, many in counts().items():
            tasks.add_metric([state], many)
        yield tasks
        failures = AccessFailureLog.objects.filter(attempt_time__gt=now - LATELY).count()
        yield GaugeMetricFamily("crankmark_sign_in_failures", "Failed sign-ins of the last hour.", failures)
