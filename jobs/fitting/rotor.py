"""Where the rotor must stand under the cap at the lowest and at the highest advance the car will get."""

from dataclasses import dataclass
from typing import Any

from garage.quantities import words
from garage.vehicles.facts import band_of
from garage.vehicles.models import Rotation, Vehicle
from jobs.job.models import Job
from jobs.maps import queries as maps
from timing.charts import PhasingChart, phasing_chart
from timing.crank import crank_from_distributor
from timing.distributor import Phasing, rotor_phasing
from timing.errors import TimingError
from timing.review import ReviewLimits, RotorFacts

WIDE, NARROW = 720.0, 360.0


@dataclass(frozen=True, slots=True)
class AdvanceRange:
    """Lowest and highest advance [degrees of crank BTDC], and in words where they come from."""

    lowest_deg: float
    highest_deg: float
    source: str
    map_number: int | None = None


@dataclass(frozen=True, slots=True)
class RotorAtBothEnds:
    """The rotor under this car's cap; without `phasing`, what is `missing` for it or the `trouble` with its figures.

    `limits` are those of the review of a map: common practice, no source.
    """

    facts: RotorFacts
    posts: int | None
    limits: ReviewLimits
    advance: AdvanceRange | None = None
    phasing: Phasing | None = None
    wide: PhasingChart | None = None
    narrow: PhasingChart | None = None
    missing: tuple[str, ...] = ()
    trouble: str = ""

    @property
    def has_rotor(self) -> bool:
        """A single fires without a cap."""
        return self.posts != 1

    @property
    def best_at_distributor_deg(self) -> float | None:
        """The advance at which tip and post are best in line, in degrees of the distributor."""
        return self.phasing.best_aligned_deg / self.phasing.crank_turns if self.phasing else None


def rotor_at_both_ends(job: Job) -> RotorAtBothEnds:
    """The rotor of the job's car over the range of its latest map, or else of the factory's data."""
    vehicle, facts, limits = job.vehicle, maps.rotor_facts(job), ReviewLimits()
    posts = facts.terminals or vehicle.engine.cylinders
    found = RotorAtBothEnds(facts, posts, limits)
    if not found.has_rotor:
        return found
    try:
        advance = _range_of(job)
    except TimingError as refusal:
        return RotorAtBothEnds(facts, posts, limits, trouble=f"The range of advance cannot be worked out: {refusal}.")
    missing = _missing(facts, posts, vehicle, advance)
    measures = facts.tip_radius_mm, facts.tip_width_mm, facts.post_width_mm, facts.radial_gap_mm
    known = [figure for figure in measures if figure is not None]
    if advance is None or posts is None or len(known) < len(measures):
        return RotorAtBothEnds(facts, posts, limits, advance, missing=missing)
    radius, tip, post, gap = known
    try:
        phasing = rotor_phasing(
            posts,
            advance.lowest_deg,
            advance.highest_deg,
            radius,
            tip,
            post,
            gap,
            facts.aligned_at_deg,
            strokes=vehicle.engine.strokes,
            least_overlap_mm=limits.rotor_overlap_mm,
            least_ratio=limits.rotor_ratio,
        )
    except TimingError as refusal:
        return RotorAtBothEnds(facts, posts, limits, advance, trouble=f"These figures cannot be right: {refusal}.")
    return RotorAtBothEnds(
        facts,
        posts,
        limits,
        advance,
        phasing,
        wide=_picture(phasing, vehicle, limits, "rotor", WIDE),
        narrow=_picture(phasing, vehicle, limits, "rotor-narrow", NARROW),
    )


def worked_out_from(rotor: RotorAtBothEnds) -> list[dict[str, Any]]:
    """The figures behind the picture, as lines of label, value, unit and source."""
    advance, facts = rotor.advance, rotor.facts
    ends = f"{words.advance(advance.lowest_deg)} to {words.advance(advance.highest_deg)}" if advance else ""
    measures = {
        "Rotor tip, radius": facts.tip_radius_mm,
        "Rotor tip, width": facts.tip_width_mm,
        "Cap terminal, width": facts.post_width_mm,
        "Rotor air gap": facts.radial_gap_mm,
    }
    lines: list[dict[str, Any]] = [
        {"label": "Range of advance", "value": ends, "source": advance.source if advance else ""},
        *(
            {"label": label, "value": words.plain(figure) if figure else "", "unit": "mm"}
            for label, figure in measures.items()
        ),
        {"label": "Cap terminals", "value": rotor.posts},
    ]
    if rotor.phasing:
        widest = rotor.phasing.widest_range_deg
        widest_text = f"{words.plain(widest, 1)}° crank" if widest else "none"
        lines.append({"label": "Widest range that passes", "value": widest_text})
    return lines


def _range_of(job: Job) -> AdvanceRange | None:
    latest = maps.latest_advance(job)
    if latest is None:
        return _factory_range(job.vehicle)
    version = latest.version
    state = "released" if version.released_at else "draft"
    source = f"map version {version.number}, {state}"
    return AdvanceRange(latest.lowest_deg, latest.highest_deg, source, version.number)


def _factory_range(vehicle: Vehicle) -> AdvanceRange | None:
    distributor, band = vehicle.distributor, band_of(vehicle)
    if distributor.base_timing_deg is None or band is None or _not_known_of_factory(vehicle):
        return None
    # At rest the weights add nothing, wherever the factory's table begins: that is the advance at cranking.
    lowest = distributor.base_timing_deg + min(0.0, *band.lower.degrees)
    capsule = float(crank_from_distributor(distributor.capsule_full_deg or 0.0, vehicle.engine.strokes))
    highest = distributor.base_timing_deg + max(band.upper.degrees) + capsule
    parts = "base timing, band and capsule" if capsule else "base timing and band, no capsule"
    return AdvanceRange(lowest, highest, f"no map yet: factory {parts}")


def _missing(facts: RotorFacts, posts: int | None, vehicle: Vehicle, advance: AdvanceRange | None) -> tuple[str, ...]:
    missing = list(facts.lacking)
    if posts is None:
        missing.append("the number of cylinders")
    if advance is None:
        missing.append(f"a map for this car, or {' and '.join(_not_known_of_factory(vehicle))}")
    return tuple(missing)


def _not_known_of_factory(vehicle: Vehicle) -> list[str]:
    """What the range cannot do without where there is no map. A car without any capsule lacks nothing."""
    distributor = vehicle.distributor
    has_capsule = distributor.capsule_start_kpa is not None or distributor.capsule_full_kpa is not None
    wanted = {
        "the factory base timing": distributor.base_timing_deg is None,
        "the factory advance band": not distributor.factory_band,
        "the maximum vacuum advance": has_capsule and distributor.capsule_full_deg is None,
    }
    return [words for words, is_missing in wanted.items() if is_missing]


def _picture(phasing: Phasing, vehicle: Vehicle, limits: ReviewLimits, uid: str, width: float) -> PhasingChart:
    return phasing_chart(
        phasing,
        uid=uid,
        title="Rotor under the cap at both ends",
        clockwise=vehicle.distributor.rotation != Rotation.ANTICLOCKWISE,
        least_overlap_mm=limits.rotor_overlap_mm,
        least_ratio=limits.rotor_ratio,
        width=width,
    )
