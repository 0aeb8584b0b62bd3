"""The proposal that waits for a car: from the notes of the runs with the version that is in it."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from garage.people.queries import get_workshop
from jobs.job.models import Job
from jobs.maps import queries as maps
from jobs.maps.models import MapVersion
from jobs.proposals.evidence import Drive, Evidence, Logs, drive_of, in_words
from jobs.proposals.logged import logs_of
from jobs.proposals.models import Proposal
from jobs.proposals.wording import change_in_words, changes_in_words, point_in_words, reason_of
from jobs.roadtest.models import RoadNote, RoadRun
from jobs.roadtest.queries import current_notes
from jobs.roadtest.suggested import settings_for
from timing.ignition_map import IgnitionMap
from timing.inputs import FloatArray
from timing.roadlog import (
    MapPoint,
    Part,
    Place,
    RoadLogSettings,
    correct,
    driven_clean,
    given_back,
    points_of,
    weights_at,
    with_changes,
)

# A step of advance is given back after so many clean drives over the same places (common practice, no source).
CLEAN_RUNS = 2


@dataclass(frozen=True, slots=True)
class OpenPoint:
    """One point that the road speaks for, before anybody decided."""

    place: int
    point: MapPoint
    change_deg: float
    noted_deg: float
    at_limit: bool
    evidence: list[tuple[Evidence, float]]  # each piece with its weight at this point
    vacuum_unit: str

    @property
    def part(self) -> str:
        return self.point.part

    @property
    def rpm(self) -> float | None:
        return self.point.rpm

    @property
    def vacuum_kpa(self) -> float | None:
        return self.point.vacuum

    @property
    def before_deg(self) -> float:
        return self.point.degrees

    @property
    def after_deg(self) -> float:
        return self.before_deg + self.change_deg

    @property
    def where(self) -> str:
        return point_in_words(self, self.vacuum_unit)

    @property
    def change(self) -> str:
        return change_in_words(self.change_deg)

    @property
    def rests_on(self) -> str:
        """What it rests on, in words; a point without a note of its own follows its neighbour."""
        if not self.evidence:
            return "Follows its neighbour, so that the curve gets no steeper."
        said = in_words([piece for piece, _ in self.evidence], self.vacuum_unit)
        if self.change_deg > 0:
            return f"Less was given here before. Clean in the last {CLEAN_RUNS} runs: {said}"
        return said[:1].upper() + said[1:]


@dataclass(frozen=True, slots=True)
class OpenProposal:
    """What the road speaks for now, with the version that is in the car."""

    job: Job
    version: MapVersion
    target: IgnitionMap
    points: list[OpenPoint]
    held: list[OpenPoint]  # points that the notes are about, and that a limit leaves as they are
    drives: list[Drive]
    notes: list[RoadNote]
    unplaced: list[RoadNote]
    basis: str
    is_giving_back: bool = False
    decided: list[Proposal] = field(default_factory=list)

    @property
    def decision(self) -> Proposal | None:
        """The decision on just these points and notes, unless its draft was discarded since."""
        return next((made for made in self.decided if made.basis == self.basis and not _is_discarded(made.draft)), None)

    @property
    def waits(self) -> bool:
        return bool(self.points) and self.decision is None

    def after(self) -> IgnitionMap:
        """The map as it would be with every point accepted."""
        return self.with_changes({point.place: point.change_deg for point in self.points})

    def with_changes(self, changes: dict[int, float]) -> IgnitionMap:
        """The map with the changes that were decided, by the place of their points."""
        return with_changes(self.target, [changes.get(place, 0.0) for place in range(len(points_of(self.target)))])

    def reason(self, changes: dict[int, float]) -> str:
        """Why the next version is made: the notes that the changed points rest on, and the changes."""
        changed = [point for point in self.points if changes.get(point.place)]
        unit = self.version.vacuum_unit
        pieces: list[Evidence] = []
        for point in changed:
            pieces += [piece for piece, _ in point.evidence if piece not in pieces]
        said = in_words(pieces, unit)
        if self.is_giving_back:
            said = f"clean in the last {CLEAN_RUNS} runs, {said}"
        return reason_of(said, changes_in_words([(point, changes[point.place]) for point in changed], unit))


def open_proposal(job: Job, *, logs: Logs | None = None) -> OpenProposal | None:
    """What the road speaks for with the version now in the car; None while nothing sound is proven in it.

    `logs` are those of the runs in the book, unless others are given. Pinking comes first: advance is given back only
    where no pinking of this version asks for less.
    """
    version = maps.version_in_car(job)
    if version is None or not version.can_be_relied_on():
        return None
    workshop = get_workshop()
    settings, target = settings_for(version, workshop), version.ignition_map()
    chain = _chain(version)
    runs = _runs(job, chain)
    notes_of = {run: current_notes(run) for run in runs}
    logs = logs_of(notes_of) if logs is None else logs
    drives = [drive_of(run, notes_of[run], logs.get(run.pk)) for run in runs]
    with_this = [drive for drive in drives if drive.run.map_version_id == version.pk]
    pieces = [piece for drive in with_this for piece in drive.pinking]
    asked = _less(target, pieces, workshop.least_advance_deg, settings, version.vacuum_unit)
    points = [point for point in asked if point.change_deg]
    is_giving_back = not pieces
    if is_giving_back:
        points = _back(target, drives, chain, settings, version.vacuum_unit)
    notes = [note for drive in with_this for note in notes_of[drive.run]]
    return OpenProposal(
        job=job,
        version=version,
        target=target,
        points=points,
        held=[point for point in asked if not point.change_deg],
        drives=with_this,
        notes=notes,
        unplaced=[note for note in notes if note.kind == "pinking" and not note.is_placed],
        basis=_basis(version, points),
        is_giving_back=is_giving_back,
        decided=list(version.proposals.select_related("draft", "by").order_by("-made_at")),
    )


def _less(
    target: IgnitionMap, pieces: list[Evidence], least_deg: float, settings: RoadLogSettings, vacuum_unit: str
) -> list[OpenPoint]:
    found = correct(target, [piece.pinking for piece in pieces], least_total_deg=least_deg, settings=settings)
    return [
        OpenPoint(
            place=place,
            point=point,
            change_deg=-round(float(found.retard_deg[place]), 6),
            noted_deg=float(found.noted_deg[place]),
            at_limit=bool(found.at_limit[place]),
            evidence=[
                (piece, float(weight))
                for piece, weight in zip(pieces, found.weights[:, place], strict=True)
                if weight > 0
            ],
            vacuum_unit=vacuum_unit,
        )
        for place, point in enumerate(found.points)
        if found.retard_deg[place] > 0 or (found.at_limit[place] and found.noted_deg[place] > 0)
    ]


def _back(
    target: IgnitionMap,
    drives: list[Drive],
    chain: list[MapVersion],
    settings: RoadLogSettings,
    vacuum_unit: str,
) -> list[OpenPoint]:
    """Steps of advance that may be given back: less was given there, and the last drives since then were clean."""
    points = points_of(target)
    taken, since = _taken_earlier(points, chain)
    if not taken.any():
        return []
    numbers = {version.pk: at for at, version in enumerate(chain)}  # the version in the car is the first
    clean_in = {drive.run.pk: _is_clean(target, drive, settings) for drive in drives}
    clean = np.zeros(len(points), dtype=np.bool_)
    last_over: dict[int, list[Drive]] = {}
    for place in map(int, np.flatnonzero(taken)):
        last = [drive for drive in drives if numbers[drive.run.map_version_id] <= since[place]][-CLEAN_RUNS:]
        clean[place] = len(last) == CLEAN_RUNS and all(clean_in[drive.run.pk][place] for drive in last)
        last_over[place] = last
    back = given_back(target, taken, clean, settings=settings)
    return [
        OpenPoint(
            place=place,
            point=point,
            change_deg=round(float(back[place]), 6),
            noted_deg=0.0,
            at_limit=False,
            evidence=_clean_evidence(target, place, last_over[place], settings),
            vacuum_unit=vacuum_unit,
        )
        for place, point in enumerate(points)
        if back[place] > 0
    ]


def _is_clean(target: IgnitionMap, drive: Drive, settings: RoadLogSettings) -> Any:
    return driven_clean(
        target,
        pinking=[piece.pinking for piece in drive.pinking],
        fine=[piece.place for piece in drive.fine],
        driven=drive.driven,
        settings=settings,
    )


def _clean_evidence(
    target: IgnitionMap, place: int, drives: Sequence[Drive], settings: RoadLogSettings
) -> list[tuple[Evidence, float]]:
    """The notes 'fine here' near a point, and the time that logs show there."""
    fine = [piece for drive in drives for piece in drive.fine]
    weighed = [(piece, float(weights_at(target, piece.place, settings=settings)[place])) for piece in fine]
    noted = [(piece, weight) for piece, weight in weighed if weight > 0]
    return noted + _logged(target, place, drives, settings)


def _logged(
    target: IgnitionMap, place: int, drives: Sequence[Drive], settings: RoadLogSettings
) -> list[tuple[Evidence, float]]:
    """The time that the logs of `drives` show at a point, one piece a drive."""
    pieces = []
    for drive in drives:
        seconds = sum(
            visit.seconds * float(weights_at(target, visit.place, settings=settings)[place]) for visit in drive.driven
        )
        point = points_of(target)[place]
        if seconds >= settings.quiet_s and point.rpm is not None:
            at = Place(point.rpm, point.vacuum or 0.0)
            pieces.append((Evidence(drive.run, at, 0.0, lasted_s=round(seconds, 1)), 1.0))
    return pieces


def _taken_earlier(points: Sequence[MapPoint], chain: list[MapVersion]) -> tuple[FloatArray, list[int]]:
    """How much less the proposals behind `chain` gave each point, and with which version of it that last changed."""
    place_of = {point.key: place for place, point in enumerate(points)}
    taken, since = np.zeros(len(points)), [len(chain)] * len(points)
    for at, version in enumerate(chain):
        made = Proposal.objects.filter(draft=version).prefetch_related("points").first()
        for point in made.points.all() if made else ():
            place = place_of.get((Part(point.part), point.rpm, point.vacuum_kpa))
            if place is not None and point.change_deg:
                taken[place] -= point.change_deg
                since[place] = min(since[place], at)
    return np.maximum(taken, 0.0), since


def _chain(version: MapVersion) -> list[MapVersion]:
    """A version and those of its job that it goes back to, the newest first."""
    by_pk = {one.pk: one for one in MapVersion.objects.filter(job=version.job_id)}
    chain, at = [version], version.parent_id
    while at in by_pk:
        chain.append(by_pk[at])
        at = by_pk[at].parent_id
    return chain


def _runs(job: Job, chain: list[MapVersion]) -> list[RoadRun]:
    runs = RoadRun.objects.filter(job=job, map_version__in=chain).order_by("begun_at", "pk")
    return list(runs.select_related("driver", "writer", "map_version").prefetch_related("notes__by", "logs"))


def _basis(version: MapVersion, points: list[OpenPoint]) -> str:
    """What a person saw: version, points, figures and notes. Words may be erased; they are no part of it."""
    seen = [
        [
            [point.part, point.rpm, point.vacuum_kpa, point.before_deg, point.change_deg],
            sorted(str(piece.note.pk if piece.note else piece.place) for piece, _ in point.evidence),
        ]
        for point in points
    ]
    return hashlib.sha256(json.dumps([version.pk, seen]).encode()).hexdigest()


def _is_discarded(draft: MapVersion | None) -> bool:
    return draft is not None and draft.set_aside_at is not None
