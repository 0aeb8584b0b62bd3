"""A released version after its release: what it is for, who let it go, and whether it is in the car."""

from collections import Counter
from collections.abc import Sequence
from typing import Any

from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format

from jobs.maps.findings import Judged
from jobs.maps.models import MapVersion
from jobs.maps.queries import InCar
from timing.review import Kind

Fact = dict[str, Any]

LAST_READ_BACK = "Last read-back"


def life_of(version: MapVersion, now: InCar) -> list[Fact]:
    """The lines of a released version's page: label, value, where it comes from, and the page that says more."""
    code = version.job.code
    last = version.read_backs.select_related("by", "unit").last()
    return [
        {"label": "Released for", "value": version.reason},
        {
            "label": "Released by",
            "value": version.released_by,
            "source": f"{_moment(version.released_at)}, checksum {version.content_hash[:12]}",
        },
        {
            "label": "Started from",
            "value": version.origin,
            "url": reverse("bench:version", args=[code, version.parent.number]) if version.parent else "",
            "source": f"started by {version.author}, {_moment(version.made_at)}",
        },
        {"label": "Made for", "value": version.unit_revision},
        _in_the_car(version, now),
        {
            "label": LAST_READ_BACK,
            "value": ("clean" if last.clean else "did not agree" if last.mismatches else "ignition not switched off")
            if last
            else "",
            "url": reverse("maps:read-back-result", args=[code, version.number, last.pk]) if last else "",
            "source": f"{last.by}, {_moment(last.made_at)}, {last.unit}" if last else "",
            "missing": "not yet",
        },
    ]


def life_in_words(version: MapVersion, life: list[Fact]) -> str:
    """The line under which the rest of it is folded: 'Rowan Vale, last read-back clean'."""
    last = next((fact for fact in life if fact["label"] == LAST_READ_BACK), None)
    if last is None:
        return ""
    return f"{version.released_by}, last read-back {last['value'] or last['missing']}"


def findings_in_words(findings: Sequence[Judged]) -> str:
    """'1 stop, 2 cautions, 1 note'; 'none'."""
    counts = Counter(one.finding.kind for one in findings)
    said = [f"{counts[kind]} {kind.value}{'' if counts[kind] == 1 else 's'}" for kind in Kind if counts[kind]]
    return ", ".join(said) or "none"


def has_stop(findings: Sequence[Judged]) -> bool:
    return any(one.finding.kind is Kind.STOP for one in findings)


def key_in_action(version: MapVersion) -> dict[str, str]:
    """What a version that was released and is not in the car yet waits for."""
    return {
        "label": f"Key in version {version.number}",
        "url": reverse("maps:key-in", args=[version.job.code, version.number]),
    }


def _in_the_car(version: MapVersion, now: InCar) -> Fact:
    vehicle = version.job.vehicle
    if now.version is None:
        return {"label": "In the car", "value": "", "missing": "no version proven"}
    if now.version.pk != version.pk:
        other = reverse("bench:version", args=[version.job.code, now.version.number])
        return {"label": "In the car", "value": f"no: version {now.version.number} is", "url": other}
    since = f"since {_moment(now.since)}" if now.since else ""
    doubt = "in doubt: a later read-back did not agree" if now.doubt else ""
    return {
        "label": "In the car",
        "value": f"{vehicle.registration}, in {now.proof.unit}" if now.proof else vehicle.registration,
        "source": doubt or since,
        "url": reverse("vehicles:detail", args=[vehicle.pk]),
    }


def _moment(at: Any) -> str:
    return date_format(timezone.localtime(at), "j M Y, H:i")
