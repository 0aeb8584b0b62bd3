"""What road tests noted, and what was changed in the map after them: where, which way, and in how many cars."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from garage.quantities.words import plain
from jobs.learning.behind import Behind, Car, car_of
from jobs.learning.group import Group
from jobs.likeness.stayed import HandedOver
from jobs.maps.models import MapVersion
from jobs.roadtest.models import NoteKind, RoadNote, RoadRun, Severity
from timing.spread import Change, change_of, totals

SPEEDS = np.arange(500.0, 7001.0, 500.0)
WIDE_OPEN, WITH_VACUUM = "wide open", "with vacuum"


@dataclass(frozen=True, slots=True)
class ChangedAt:
    """The changes at one speed, wide open or with vacuum."""

    rpm: float
    where: str
    change: Change
    less: Behind
    more: Behind


@dataclass(frozen=True, slots=True)
class Noted:
    """How many cars a road note of one kind was taken of, and at which speeds."""

    label: str
    behind: Behind
    speeds: str


@dataclass(frozen=True, slots=True)
class RoadChanges:
    """All of it. `cars` were driven and changed afterwards, `driven` were driven at all."""

    driven: int
    cars: int
    changes: Sequence[ChangedAt]
    noted: Sequence[Noted]

    def figures(self) -> Iterator[Behind]:
        for row in self.changes:
            yield row.less
            yield row.more
        for noted in self.noted:
            yield noted.behind


@dataclass(frozen=True, slots=True)
class _Step:
    """A car's first driven version and the released one that went home instead."""

    handover: HandedOver
    before: MapVersion
    after: MapVersion

    def said(self, degrees: float) -> str:
        sign = "+" if degrees > 0 else ""
        return f"{sign}{plain(degrees, 1)}°, version {self.before.number} to {self.after.number}: {self.after.reason}"


def road_changes(group: Group, *, vacuum_kpa: float) -> RoadChanges:
    """What differs between the version that was first driven and the one that went home, car by car."""
    found = RoadRun.objects.filter(job_id__in=group.by_job).order_by("begun_at", "pk")
    runs = list(found.values_list("job_id", "map_version_id", "pk"))
    first_driven: dict[int, int] = {}
    for job_id, version_id, _ in runs:
        first_driven.setdefault(job_id, version_id)
    steps = _steps(group, first_driven)
    changes: list[ChangedAt] = []
    vacua = [0.0, vacuum_kpa]
    after = totals([step.after.delivered_map() for step in steps], rpm=SPEEDS, vacuum=vacua)
    before = totals([step.before.delivered_map() for step in steps], rpm=SPEEDS, vacuum=vacua)
    for where, table in zip((WIDE_OPEN, WITH_VACUUM), after - before, strict=True):  # NaN beyond either's rev limit
        for rpm, column in zip(SPEEDS.tolist(), table.T, strict=True):
            there = np.isfinite(column)
            changes += _changed_at([steps[n] for n in np.flatnonzero(there)], column[there].tolist(), rpm, where)
    return RoadChanges(
        driven=len(first_driven),
        cars=len(steps),
        changes=changes,
        noted=_noted(group, {run: job_id for job_id, _, run in runs}),
    )


def _steps(group: Group, first_driven: dict[int, int]) -> list[_Step]:
    changed = {
        job_id: (version_id, group.proven[job_id])
        for job_id, version_id in first_driven.items()
        if group.proven.get(job_id, version_id) != version_id
    }
    keys = {version_id for pair in changed.values() for version_id in pair}
    versions = MapVersion.objects.released().select_related("unit_revision").in_bulk(keys)
    sound = {version_id: version for version_id, version in versions.items() if version.is_sound()}
    return [
        _Step(group.by_job[job_id], sound[before], sound[after])
        for job_id, (before, after) in changed.items()
        if before in sound and after in sound
    ]


def _changed_at(steps: Sequence[_Step], degrees: Sequence[float], rpm: float, where: str) -> list[ChangedAt]:
    """The changes at one place; none where nothing was changed."""
    change = change_of(degrees)
    if not change.less and not change.more:
        return []

    def behind(which: Sequence[int], way: str) -> Behind:
        in_order = sorted(which, key=lambda n: (degrees[n], steps[n].handover.code))
        cars = tuple(car_of(steps[n].handover, steps[n].said(degrees[n])) for n in in_order)
        title = f"{way.capitalize()} advance after the road test, {rpm:.0f} rpm, {where}"
        return Behind(f"{way}-{rpm:.0f}-{'open' if where == WIDE_OPEN else 'vacuum'}", title, cars)

    return [ChangedAt(rpm, where, change, behind(change.less, "less"), behind(change.more, "more"))]


def _noted(group: Group, job_of_run: dict[int, int]) -> list[Noted]:
    """The notes that stand, by kind, the most frequent first."""
    notes = RoadNote.objects.filter(run_id__in=job_of_run, successors=None, withdrawn=False)
    said: dict[str, dict[int, list[str]]] = defaultdict(lambda: defaultdict(list))
    speeds: dict[str, list[float]] = defaultdict(list)
    for run_id, kind, rpm, severity in notes.values_list("run_id", "kind", "rpm", "severity"):
        where = f" at {plain(rpm)} rpm" if rpm is not None else ""
        said[kind][job_of_run[run_id]].append(f"{Severity(severity).label}{where}")
        speeds[kind] += [rpm] if rpm is not None else []
    rows = [
        Noted(
            NoteKind(kind).label,
            Behind(f"noted-{kind.replace(' ', '-')}", f"Road note: {NoteKind(kind).label}", _cars(group, cars)),
            _from_to(speeds[kind]),
        )
        for kind, cars in said.items()
    ]
    return sorted(rows, key=lambda row: (-row.behind.count, row.label))


def _cars(group: Group, said: dict[int, list[str]]) -> tuple[Car, ...]:
    return tuple(car_of(group.by_job[job_id], ", ".join(words)) for job_id, words in said.items())


def _from_to(speeds: Sequence[float]) -> str:
    if not speeds:
        return ""
    low, high = min(speeds), max(speeds)
    return f"{plain(low)} rpm" if low == high else f"{plain(low)} to {plain(high)} rpm"
