"""Where a figure of a map comes from: back from version to version, to whoever set it, and to the notes behind it."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from garage.quantities.words import plain, pressure
from jobs.maps.models import MapVersion
from jobs.proposals.models import PointEvidence, ProposedPoint
from jobs.proposals.wording import change_in_words
from timing.ignition_map import IgnitionMap
from timing.roadlog import Part, Place, RoadLogSettings, points_of, weights_at
from timing.tolerance import exceeds
from timing.vacuum import VacuumRamp

SAME_DEG = 0.005  # what shows as the same figure


@dataclass(frozen=True, slots=True)
class Step:
    """One version in which a figure is another than in the version before, or in which it began."""

    version: MapVersion
    degrees: float
    before: float | None
    parent: MapVersion | None
    decided: ProposedPoint | None = None
    evidence: Sequence[PointEvidence] = ()

    @property
    def change(self) -> str:
        """'2° less', '1° more'; empty where it began."""
        if self.before is None:
            return ""
        by = self.degrees - self.before
        return f"{plain(round(abs(by), 2))}° {'less' if by < 0 else 'more'}"

    @property
    def is_edited(self) -> bool:
        """Whether the draft that came of the proposal was changed by hand before it was let go."""
        if self.decided is None or self.before is None:
            return False
        return exceeds(abs(self.degrees - self.before - self.decided.change_deg), SAME_DEG)

    @property
    def taken_from(self) -> MapVersion | None:
        """The version of another job in which the figure began."""
        return self.version.copied_from if self.before is None else None

    @property
    def proposed(self) -> str:
        """What the proposal said where the mechanic changed it; empty where that was taken as it was."""
        if self.decided is None or self.decided.change_deg == self.decided.proposed_deg:
            return ""
        return change_in_words(self.decided.proposed_deg)


@dataclass(frozen=True, slots=True)
class Thread:
    """One part of the figure, followed back: the newest step first, the start last."""

    label: str
    degrees: float
    steps: list[Step]
    refused: list[ProposedPoint]


@dataclass(frozen=True, slots=True)
class Origin:
    """Where the total advance of a version at one place comes from."""

    version: MapVersion
    rpm: float
    vacuum_kpa: float
    total_deg: float
    delivered_deg: float | None  # where the unit gives something else than was set
    sum_in_words: str
    threads: list[Thread]
    is_cut: bool  # a version on the way back was changed outside, and is not read


def origin_of(version: MapVersion, *, rpm: float, vacuum_kpa: float) -> Origin:
    """The total at one place as it is set, taken apart into the points that the look-up reads there.

    Raises
    ------
    TimingError
        If the speed or the vacuum cannot be.
    """
    chain, is_cut = _readable(version)
    maps = {one.pk: one.ignition_map() for one in chain}
    target = maps[version.pk]
    parts = target.total_advance().parts(rpm=rpm, vacuum=vacuum_kpa)
    base, revs, vacuum = (_shown(part) for part in (parts.base, parts.speed, parts.vacuum))
    boost = _shown(abs(float(parts.boost)))
    history = _History(chain, maps, _decisions(chain))
    threads = [history.follow("Base timing", lambda one: one.base_deg)]
    for part, at_rpm, at_kpa in _points_read(target, rpm, vacuum_kpa):
        label = _label(part, at_rpm, at_kpa, version.vacuum_unit)
        threads.append(history.follow(label, _reader(part, at_rpm, at_kpa, rpm), (part, at_rpm, at_kpa)))
    return Origin(
        version=version,
        rpm=rpm,
        vacuum_kpa=vacuum_kpa,
        total_deg=round(float(parts.total), 2),
        delivered_deg=_delivered(version, rpm, vacuum_kpa, float(parts.total)),
        sum_in_words=f"{base}° base + {revs}° revs + {vacuum}° vacuum" + (f" − {boost}° boost" if float(boost) else ""),
        threads=threads,
        is_cut=is_cut,
    )


Key = tuple[Part, float | None, float | None]


@dataclass(frozen=True, slots=True)
class _History:
    """A version and those it goes back to, newest first, with their maps and the decisions behind them."""

    chain: list[MapVersion]
    maps: dict[int, IgnitionMap]
    decided: dict[tuple[int, Key], ProposedPoint]  # by the draft that came of it

    def follow(self, label: str, read: Callable[[IgnitionMap], float], key: Key | None = None) -> Thread:
        """One figure through all versions: the steps in which it changed, and its start."""
        values = [float(read(self.maps[one.pk])) for one in self.chain]
        return Thread(label, round(values[0], 2), list(self._steps(values, key)), self._refused(key))

    def _steps(self, values: list[float], key: Key | None) -> Iterator[Step]:
        for place, (version, degrees) in enumerate(zip(self.chain, values, strict=True)):
            parent = self.chain[place + 1] if place + 1 < len(self.chain) else None
            before = values[place + 1] if parent else None
            if before is not None and not exceeds(abs(degrees - before), SAME_DEG):
                continue
            point = self.decided.get((version.pk, key)) if key else None
            evidence = list(point.evidence.all()) if point else []
            yield Step(version, round(degrees, 2), before, parent, point, evidence)

    def _refused(self, key: Key | None) -> list[ProposedPoint]:
        if key is None:
            return []
        part, rpm, kpa = key
        return list(
            ProposedPoint.objects.filter(
                proposal__map_version__in=self.chain, decision="refuse", part=part, rpm=rpm, vacuum_kpa=kpa
            ).select_related("proposal__by", "proposal__map_version")
        )


def _readable(version: MapVersion) -> tuple[list[MapVersion], bool]:
    """The version and those it goes back to, newest first, up to one that was changed outside the book."""
    by_pk = {
        one.pk: one
        for one in MapVersion.objects.filter(job=version.job_id).with_people().select_related("copied_from__job")
    }
    chain, at = [by_pk[version.pk]], version.parent_id
    while at in by_pk:
        if not by_pk[at].can_be_relied_on():
            return chain, True
        chain.append(by_pk[at])
        at = by_pk[at].parent_id
    return chain, False


def _decisions(chain: list[MapVersion]) -> dict[tuple[int, Key], ProposedPoint]:
    points = ProposedPoint.objects.filter(proposal__draft__in=chain).exclude(change_deg=0)
    points = points.select_related("proposal__by", "proposal__draft").prefetch_related(
        "evidence__note__run__driver", "evidence__note__run__writer", "evidence__note__by", "evidence__run"
    )
    return {(point.proposal.draft_id or 0, (Part(point.part), point.rpm, point.vacuum_kpa)): point for point in points}


def _points_read(target: IgnitionMap, rpm: float, vacuum_kpa: float) -> list[Key]:
    """The points that the look-up reads at a place. Under vacuum, the speed curve is read all the same."""
    points = points_of(target)
    on_curve = weights_at(target, Place(rpm, 0.0, full_load=True))
    in_vacuum = weights_at(target, Place(rpm, vacuum_kpa), settings=RoadLogSettings(full_load_kpa=0.0))
    return [
        point.key
        for point, revs, vacuum in zip(points, on_curve, in_vacuum, strict=True)
        if (revs if point.part is Part.REVS else vacuum) > 0
    ]


def _reader(part: Part, at_rpm: float | None, at_kpa: float | None, rpm: float) -> Callable[[IgnitionMap], float]:
    """How the same figure is read in another version, whatever points that has."""

    def read(one: IgnitionMap) -> float:
        if part is Part.REVS:
            return float(one.curve.advance(at_rpm or 0.0))
        if one.vacuum is None:
            return 0.0
        if part is Part.VACUUM:
            return float(one.vacuum.advance(rpm=at_rpm or 0.0, vacuum=at_kpa or 0.0))
        most = one.vacuum.full if isinstance(one.vacuum, VacuumRamp) else one.vacuum.vacuum[-1]
        return float(one.vacuum.advance(rpm=rpm, vacuum=most))

    return read


def _label(part: Part, rpm: float | None, kpa: float | None, unit: str) -> str:
    if part is Part.REVS:
        return f"Speed curve at {plain(rpm or 0.0)} rpm"
    if part is Part.FULL_VACUUM:
        return "Maximum vacuum advance"
    return f"Vacuum part at {plain(rpm or 0.0)} rpm, {pressure(kpa or 0.0, unit)}"


def _shown(degrees: object) -> str:
    return plain(round(float(degrees), 2))  # type: ignore[arg-type]


def _delivered(version: MapVersion, rpm: float, vacuum_kpa: float, total_deg: float) -> float | None:
    if version.released_at is None:
        return None
    delivered = float(version.delivered_map().total(rpm=rpm, vacuum=vacuum_kpa))
    return round(delivered, 2) if exceeds(abs(delivered - total_deg), SAME_DEG) else None
