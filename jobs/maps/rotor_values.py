"""What sets the rotor of a job's car: from the car's record and the fitting sheet, each figure entered once."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from garage.vehicles.facts import has_rotor, rim_radius_mm, trigger_place
from garage.vehicles.models import Strokes, Vehicle
from garage.vehicles.models import TriggerPlace as RecordedPlace
from jobs.checklists.models import SheetKind
from jobs.checklists.rotor_items import (
    EDGE_TOLD,
    ENTERED_APART,
    IN_LINE_AT,
    NO_ROTOR,
    ROTOR_OF_A_TWIN,
    TIP_AT_EDGE,
    TRIGGER_EDGE,
)
from jobs.job.models import Job
from jobs.maps.sheet_answers import FITTING, INSPECTION, SheetAnswer, SheetAnswers
from timing.distributor import TriggerPlace, angle_of_arc
from timing.errors import TimingError
from timing.review import RotorFacts

# Other items of the sheets that say something of the rotor.
FREE_PLAY, TIP_WIDTH, CAP = "advance-free-play", "rotor-tip", "cap"
NO_CAP = "none fitted"

PLACE = {
    RecordedPlace.DISTRIBUTOR: TriggerPlace.DISTRIBUTOR,
    RecordedPlace.CRANK_OR_CAMSHAFT: TriggerPlace.CRANK_OR_CAMSHAFT,
}


@dataclass(frozen=True, slots=True)
class SheetFigure:
    """A figure of the fitting sheet, and who read it when."""

    key: str
    value: float
    by: str
    made_at: datetime


@dataclass(frozen=True, slots=True)
class RotorValues:
    """What is known of the rotor of one car.

    Attributes
    ----------
    facts : RotorFacts
        As the review of a map is told.
    has_rotor : bool or None
        None where it is not known, as of many a twin.
    edge, tip_arc, in_line_at : SheetFigure or None
        Measured on the fitting sheet: where the trigger's edge comes with the engine standing [degrees of crank], from
        tip to terminal at the edge along the rim [mm], and where they are in line [degrees of crank].
    rim_radius_mm : float or None
        Of the distributor's body.
    troubles : tuple of str
        Figures that cannot be right, and so are left out.
    """

    facts: RotorFacts
    has_rotor: bool | None
    edge: SheetFigure | None
    tip_arc: SheetFigure | None
    in_line_at: SheetFigure | None
    rim_radius_mm: float | None
    troubles: tuple[str, ...] = ()

    @property
    def edge_is_entered_apart(self) -> bool:
        """Whether the unit is told where its edge comes, apart from base timing."""
        return self.facts.edge_deg is not None


def rotor_values(job: Job, answers: SheetAnswers | None = None) -> RotorValues:
    """What the car's record and the job's sheets say of the rotor."""
    answers = answers or SheetAnswers(job)
    vehicle = job.vehicle
    edge, tip_arc, in_line_at = (_figure(answers, key) for key in (TRIGGER_EDGE, TIP_AT_EDGE, IN_LINE_AT))
    fitted = False if seen_without_rotor(answers) else has_rotor(vehicle)
    place = PLACE[found] if (found := trigger_place(vehicle)) else None
    rim = rim_radius_mm(vehicle)
    is_apart = _choice(answers, FITTING, EDGE_TOLD) == ENTERED_APART
    troubles: list[str] = []
    try:
        tip = _tip_deg(tip_arc, rim)
    except TimingError as refusal:
        tip = None
        troubles.append(f"The tip at the edge cannot be right: {refusal}.")
    measured = {
        "edge_deg": edge.value if edge and is_apart else None,
        "tip_at_edge_dist_deg": tip,
        # Only where the trigger is elsewhere: in the distributor it follows from edge and tip.
        "aligned_at_deg": in_line_at.value if in_line_at and place is TriggerPlace.CRANK_OR_CAMSHAFT else None,
    }
    return RotorValues(
        facts=_facts(vehicle, place, measured | _from_the_bench(vehicle, answers), troubles),
        has_rotor=fitted,
        edge=edge,
        tip_arc=tip_arc,
        in_line_at=in_line_at,
        rim_radius_mm=rim,
        troubles=tuple(troubles),
    )


def _tip_deg(arc: SheetFigure | None, rim_radius_mm: float | None) -> float | None:
    """Tip before its terminal at the edge; in line it is so on a rim of any size. [degrees of the distributor]"""
    if arc is None:
        return None
    if arc.value == 0.0:
        return 0.0
    return angle_of_arc(arc.value, rim_radius_mm) if rim_radius_mm else None


def wastes_sparks(vehicle: Vehicle, rotor: bool | None) -> bool:
    """Whether each cylinder sparks on every turn: a four-stroke twin that has no rotor fires both plugs at once."""
    engine = vehicle.engine
    return rotor is False and engine.cylinders == 2 and engine.strokes == Strokes.FOUR


def _facts(
    vehicle: Vehicle, place: TriggerPlace | None, measured: Mapping[str, Any], troubles: list[str]
) -> RotorFacts:
    """The facts without those measured figures that are refused: a slipped digit on a sheet stops no page."""
    distributor = vehicle.distributor
    facts = RotorFacts(
        tip_radius_mm=distributor.rotor_tip_radius_mm,
        tip_width_mm=distributor.rotor_tip_width_mm,
        post_width_mm=distributor.post_width_mm,
        radial_gap_mm=distributor.rotor_gap_mm,
        terminals=distributor.cap_posts,
        trigger_place=place,
        plate_moves=distributor.plate_moves,
    )
    for name, value in measured.items():
        try:
            facts = replace(facts, **{name: value})
        except TimingError as refusal:
            troubles.append(f"A measured figure cannot be right: {refusal}.")
    return facts


def _from_the_bench(vehicle: Vehicle, answers: SheetAnswers) -> dict[str, Any]:
    """Whether the mechanism is locked, and the tip's width where the car's record does not say it."""
    play = answers.answer(FITTING, FREE_PLAY)
    found: dict[str, Any] = {"is_locked": play is not None and play.passes}
    if vehicle.distributor.rotor_tip_width_mm is None:
        tip = answers.answer(INSPECTION, TIP_WIDTH)
        found["tip_width_mm"] = tip.reading.measure.value if tip and tip.reading else None
    return found


def _figure(answers: SheetAnswers, key: str) -> SheetFigure | None:
    found = answers.answer(FITTING, key)
    if found is None or found.reading is None:
        return None
    return SheetFigure(key, found.reading.measure.value, found.by, found.made_at)


def seen_without_rotor(answers: SheetAnswers) -> SheetAnswer | None:
    """The answer by which somebody found that no rotor shares out the sparks."""
    looked_at = ((FITTING, ROTOR_OF_A_TWIN, NO_ROTOR), (FITTING, CAP, NO_CAP), (INSPECTION, CAP, NO_CAP))
    found = ((answers.answer(kind, key), choice) for kind, key, choice in looked_at)
    return next((answer for answer, choice in found if answer is not None and answer.choice == choice), None)


def _choice(answers: SheetAnswers, kind: SheetKind, key: str) -> str:
    found = answers.answer(kind, key)
    return found.choice if found else ""
