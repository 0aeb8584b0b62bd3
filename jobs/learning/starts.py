"""Which starts needed fewest versions until the car went home."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.utils.text import slugify

from jobs.learning.behind import Behind, Car, car_of
from jobs.learning.group import Group
from jobs.learning.words import share_said
from jobs.maps.models import MapVersion
from jobs.maps.origins import kind_of_start
from timing.spread import Share, Spread, share_of, spread_of


@dataclass(frozen=True, slots=True)
class Start:
    """One sort of start. `spread` is of the released versions a car needed; None below three cars."""

    label: str
    behind: Behind
    spread: Spread | None
    at_once: Share | None

    @property
    def at_once_said(self) -> str:
        return share_said(self.at_once)


@dataclass(frozen=True, slots=True)
class Starts:
    rows: Sequence[Start]

    def figures(self) -> Iterator[Behind]:
        for row in self.rows:
            yield row.behind


def starts(group: Group) -> Starts:
    """Each sort of start with how many released versions its cars needed, the fewest first."""
    released: dict[int, list[int]] = defaultdict(list)
    first: dict[int, MapVersion] = {}
    number_home: dict[int, int] = {}
    versions = (
        MapVersion.objects.filter(job_id__in=group.proven)
        .select_related("pattern", "copied_from__job")
        .only("job_id", "number", "origin", "released_at", "pattern__name", "copied_from__job__vehicle_id")
        .order_by("job_id", "number")
    )
    for version in versions:
        first.setdefault(version.job_id, version)
        if version.released_at is not None:
            released[version.job_id].append(version.number)
        if version.pk == group.proven[version.job_id]:
            number_home[version.job_id] = version.number
    cars: dict[str, list[tuple[int, Car]]] = defaultdict(list)
    for job_id, number in number_home.items():
        label = _label(first[job_id], group.by_job[job_id].vehicle_id)
        if label:
            needed = sum(1 for one in released[job_id] if one <= number)
            said = f"{needed} version{'s' if needed > 1 else ''}"
            cars[label].append((needed, car_of(group.by_job[job_id], said)))
    rows = [_row(label, found) for label, found in cars.items()]
    return Starts(sorted(rows, key=_fewest_first))


def _label(first: MapVersion, vehicle_id: int) -> str:
    copied = first.copied_from
    return kind_of_start(first, of_this_car=copied is not None and copied.job.vehicle_id == vehicle_id)


def _row(label: str, found: list[tuple[int, Car]]) -> Start:
    needed = [count for count, _ in found]
    cars = tuple(car for _, car in sorted(found, key=lambda row: (row[0], row[1].code)))
    key = f"start-{slugify(label) or 'other'}"
    return Start(
        label, Behind(key, f"Started from: {label}", cars), spread_of(needed), share_of(needed.count(1), len(needed))
    )


def _fewest_first(row: Start) -> tuple[bool, float, float, str]:
    """Those that say something first; of equal medians the one that more often went home at once."""
    if row.spread is None or row.at_once is None:
        return (True, 0.0, 0.0, row.label)
    return (False, row.spread.median, -row.at_once.count / row.at_once.of, row.label)
