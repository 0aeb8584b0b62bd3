"""Where the rotor stands under the cap at both ends of the advance, and what brings it into line.

Three figures say it: where the trigger's edge comes, where the tip stands at that moment, and the range of the advance.
"""

from dataclasses import dataclass
from functools import cached_property

from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format

from garage.quantities.words import plain
from garage.vehicles.facts import band_of
from garage.vehicles.models import Rotation, TriggerKind, Vehicle
from jobs.checklists.models import SheetKind
from jobs.checklists.presentation import item_url
from jobs.job.models import Job
from jobs.maps import queries as maps
from jobs.maps.rotor_values import RotorValues, SheetFigure, rotor_values
from timing.charts import PhasingChart, phasing_chart
from timing.crank import crank_from_distributor
from timing.distributor import (
    Phasing,
    PhasingEnd,
    Remedy,
    RotorAdvice,
    RotorSetting,
    TriggerPlace,
    rotor_advice,
    rotor_phasing,
)
from timing.errors import TimingError
from timing.review import ReviewLimits, RotorFacts

WIDE, NARROW = 720.0, 360.0
# Nearer than anybody marks a rim. [degrees of the distributor]
IN_LINE_DEG = 0.05

SIDES = {True: "before its terminal", False: "past its terminal"}


@dataclass(frozen=True, slots=True)
class AdvanceRange:
    """Lowest and highest advance, and the base timing in it [degrees of crank BTDC]; in words where they come from."""

    lowest_deg: float
    highest_deg: float
    base_deg: float
    source: str
    map_number: int | None = None


@dataclass(frozen=True, slots=True)
class Source:
    """Where a figure comes from, in words, and the page it can be looked up and corrected on."""

    words: str
    url: str


@dataclass(frozen=True)
class RotorPage:
    """The rotor under this car's cap; without `phasing`, what is `missing` for it or the `troubles` with its figures.

    `limits` are those of the review of a map: common practice, no source.
    """

    job: Job
    values: RotorValues
    limits: ReviewLimits
    advance: AdvanceRange | None = None
    phasing: Phasing | None = None
    advice: RotorAdvice | None = None
    missing: tuple[str, ...] = ()
    troubles: tuple[str, ...] = ()

    @property
    def facts(self) -> RotorFacts:
        return self.values.facts

    @property
    def posts(self) -> int | None:
        return _posts(self.facts, self.job.vehicle)

    @property
    def has_rotor(self) -> bool:
        """Whether there is a rotor to speak of; one of which nobody knows is asked for."""
        return self.values.has_rotor is not False

    @property
    def is_in_distributor(self) -> bool:
        return self.facts.trigger_place is TriggerPlace.DISTRIBUTOR

    @property
    def is_on_crank(self) -> bool:
        return self.facts.trigger_place is TriggerPlace.CRANK_OR_CAMSHAFT

    @property
    def has_sensor(self) -> bool:
        """Whether the record names a trigger other than contacts."""
        return self.job.vehicle.distributor.trigger not in ("", TriggerKind.CONTACT_BREAKER)

    @property
    def setting(self) -> RotorSetting | None:
        return self.advice.setting if self.advice else None

    @property
    def remedy(self) -> Remedy | None:
        """The one to be preferred."""
        return self.advice.remedies[0] if self.advice and self.advice.remedies else None

    @property
    def other_remedies(self) -> tuple[Remedy, ...]:
        return self.advice.remedies[1:] if self.advice else ()

    @property
    def notes(self) -> tuple[str, ...]:
        """What is to be known, now and after the remedy, each once; without what does not help."""
        advice = self.advice
        if advice is None:
            return ()
        now = tuple(note for note in advice.notes if note not in advice.does_not_help)
        return tuple(dict.fromkeys((*now, *(self.remedy.notes if self.remedy else ()))))

    @property
    def edge_deg(self) -> float | None:
        """Where the trigger's edge comes once base timing is set. [degrees of crank BTDC]"""
        if self.facts.edge_deg is not None:
            return self.facts.edge_deg
        return self.advance.base_deg if self.advance else None

    @property
    def edge_source(self) -> Source | None:
        if self.values.edge_is_entered_apart and self.values.edge:
            return self._on_sheet(self.values.edge)
        source = self.range_source
        return Source(f"base timing, {source.words}", source.url) if source else None

    @property
    def is_measured(self) -> bool:
        """Whether the tip was measured, even if more is wanted to judge it."""
        return bool(self.values.in_line_at if self.is_on_crank else self.values.tip_arc)

    @property
    def tip_source(self) -> Source | None:
        return self._on_sheet(self.values.tip_arc) if self.values.tip_arc else None

    @property
    def in_line_source(self) -> Source | None:
        return self._on_sheet(self.values.in_line_at) if self.values.in_line_at else None

    @property
    def tip_at_edge(self) -> str:
        """How far the tip is from its terminal at the edge, in words."""
        tip = self.facts.tip_at_edge_dist_deg
        if tip is None:
            return ""
        return "in line with its terminal" if abs(tip) < IN_LINE_DEG else SIDES[tip > 0]

    @property
    def tip_dist_deg(self) -> float | None:
        """The same without its side. [degrees of the distributor]"""
        tip = self.facts.tip_at_edge_dist_deg
        return None if tip is None else abs(tip)

    @property
    def edge_standing_deg(self) -> float | None:
        """The edge as measured with the engine standing, where base timing is going to move it. [degrees of crank]"""
        edge = self.values.edge
        if edge is None or self.values.edge_is_entered_apart or edge.value == self.edge_deg:
            return None
        return edge.value

    @property
    def range_source(self) -> Source | None:
        advance = self.advance
        if advance is None:
            return None
        if advance.map_number is None:
            return Source(advance.source, reverse("vehicles:detail", args=[self.job.vehicle_id]))
        return Source(advance.source, reverse("bench:version", args=[self.job.code, advance.map_number]))

    @property
    def range_in_words(self) -> str:
        advance = self.advance
        if advance is None:
            return ""
        lowest, highest = (plain(round(end, 1)) for end in (advance.lowest_deg, advance.highest_deg))
        return f"{lowest}° to {highest}°"

    @property
    def whens(self) -> tuple[str, ...]:
        """As the rotor stands, and after the remedy where there is one."""
        return ("now", "after") if self.remedy else ("now",)

    @property
    def ends(self) -> tuple[PhasingEnd, ...]:
        """Lowest and highest advance as the rotor stands, and both again after the remedy."""
        before = self.phasing.ends if self.phasing else ()
        return (*before, *self.remedy.phasing.ends) if self.remedy else before

    @cached_property
    def wide(self) -> PhasingChart | None:
        return self._picture("rotor", WIDE)

    @cached_property
    def narrow(self) -> PhasingChart | None:
        return self._picture("rotor-narrow", NARROW)

    def _picture(self, uid: str, width: float) -> PhasingChart | None:
        if self.phasing is None:
            return None
        return phasing_chart(
            self.phasing,
            uid=uid,
            title="Rotor under the cap at both ends",
            clockwise=self.job.vehicle.distributor.rotation != Rotation.ANTICLOCKWISE,
            setting=self.setting,
            remedy=self.remedy,
            width=width,
        )

    def _on_sheet(self, figure: SheetFigure) -> Source:
        day = date_format(timezone.localtime(figure.made_at), "j M Y")
        return Source(f"fitting sheet, {figure.by}, {day}", item_url(self.job, SheetKind.FITTING, figure.key))


def rotor_page(job: Job) -> RotorPage:
    """The rotor of the job's car over the range of its latest map, or else of the factory's data."""
    values, limits = rotor_values(job), ReviewLimits()
    page = RotorPage(job, values, limits, troubles=values.troubles)
    if not page.has_rotor:
        return page
    try:
        advance = _range_of(job)
    except TimingError as refusal:
        words = f"The range of advance cannot be worked out: {refusal}."
        return RotorPage(job, values, limits, troubles=(*values.troubles, words))
    missing = _missing(values, page.posts, job.vehicle, advance)
    try:
        phasing = _phasing(values.facts, page.posts, job.vehicle, advance, limits)
        advice = _advice(values, job.vehicle, advance, phasing)
    except TimingError as refusal:
        words = f"These figures cannot be right: {refusal}."
        return RotorPage(job, values, limits, advance, missing=missing, troubles=(*values.troubles, words))
    shown = advice.phasing if advice else phasing
    return RotorPage(job, values, limits, advance, shown, advice, missing, values.troubles)


def _posts(facts: RotorFacts, vehicle: Vehicle) -> int | None:
    return facts.terminals or vehicle.engine.cylinders


def _phasing(
    facts: RotorFacts, posts: int | None, vehicle: Vehicle, advance: AdvanceRange | None, limits: ReviewLimits
) -> Phasing | None:
    """Tip and terminal in line in the middle of the range: where they really are in line is the setting's to say."""
    measures = facts.tip_radius_mm, facts.tip_width_mm, facts.post_width_mm, facts.radial_gap_mm
    known = [figure for figure in measures if figure is not None]
    if advance is None or posts is None or len(known) < len(measures):
        return None
    return rotor_phasing(
        posts,
        advance.lowest_deg,
        advance.highest_deg,
        *known,
        strokes=vehicle.engine.strokes,
        least_overlap_mm=limits.rotor_overlap_mm,
        least_ratio=limits.rotor_ratio,
    )


def _advice(
    values: RotorValues, vehicle: Vehicle, advance: AdvanceRange | None, phasing: Phasing | None
) -> RotorAdvice | None:
    if advance is None or phasing is None:
        return None
    setting = values.facts.setting(advance.base_deg, vehicle.engine.strokes)
    if setting is None:
        return None
    rotation = vehicle.distributor.rotation
    return rotor_advice(
        phasing,
        setting,
        rotor_clockwise=rotation == Rotation.CLOCKWISE if rotation else None,
        rim_radius_mm=values.rim_radius_mm,
        plate_moves=values.facts.plate_moves is not False,
        unit_takes_edge=values.edge_is_entered_apart,
    )


def _range_of(job: Job) -> AdvanceRange | None:
    latest = maps.latest_advance(job)
    if latest is None:
        return _factory_range(job.vehicle)
    version = latest.version
    state = "released" if version.released_at else "draft"
    source = f"map version {version.number}, {state}"
    return AdvanceRange(latest.lowest_deg, latest.highest_deg, version.base_deg, source, version.number)


def _factory_range(vehicle: Vehicle) -> AdvanceRange | None:
    distributor, band = vehicle.distributor, band_of(vehicle)
    if distributor.base_timing_deg is None or band is None or _not_known_of_factory(vehicle):
        return None
    # At rest the weights add nothing, wherever the factory's table begins: that is the advance at cranking.
    lowest = distributor.base_timing_deg + min(0.0, *band.lower.degrees)
    capsule = float(crank_from_distributor(distributor.capsule_full_deg or 0.0, vehicle.engine.strokes))
    highest = distributor.base_timing_deg + max(band.upper.degrees) + capsule
    parts = "base timing, band and capsule" if capsule else "base timing and band, no capsule"
    return AdvanceRange(lowest, highest, distributor.base_timing_deg, f"no map yet: factory {parts}")


def _missing(values: RotorValues, posts: int | None, vehicle: Vehicle, advance: AdvanceRange | None) -> tuple[str, ...]:
    facts = values.facts
    missing = list(facts.lacking)
    if values.has_rotor is None:
        missing.append("whether a rotor and cap are fitted")
    if posts is None:
        missing.append("the number of cylinders")
    if advance is None:
        missing.append(f"a map for this car, or {' and '.join(_not_known_of_factory(vehicle))}")
    match facts.trigger_place:
        case None:
            missing.append("where the trigger sits")
        case TriggerPlace.DISTRIBUTOR:
            if values.rim_radius_mm is None and facts.tip_at_edge_dist_deg is None:
                missing.append("the diameter of the distributor's rim")
            if values.tip_arc is None:
                missing.append("the rotor tip at the trigger's edge")
        case TriggerPlace.CRANK_OR_CAMSHAFT if values.in_line_at is None:
            missing.append("the crank angle at which rotor and terminal are in line")
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
