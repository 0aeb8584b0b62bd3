"""What feeds the coil of a job's car, and what the coil is: measured on the sheets, else from the car's record."""

from dataclasses import dataclass, replace

from garage.quantities.words import plain
from garage.vehicles.circuit import CHARGING_V, CRANKING_V, RESTING_V, WORKING_C, circuit, usual_volts, warm_ohm
from garage.vehicles.models import Coil, Vehicle
from jobs.checklists.models import SheetKind
from jobs.job.models import Job
from jobs.maps.sheet_answers import FITTING, INSPECTION, SheetAnswer, SheetAnswers
from timing.coil import CoilError, Voltages
from timing.review import CoilFacts


@dataclass(frozen=True, slots=True)
class CoilValues:
    """The coil and its feed.

    Attributes
    ----------
    facts : CoilFacts
        As a review is told.
    voltages, usual : Voltages
        Measured on this car, and usual for a car of its system. [V]
    resting, cranking, charging, primary, ballast, by_pass : SheetAnswer or None
        Measured on a sheet.
    primary_20_ohm : float or None
        The primary at 20 °C. [ohm]
    ballast_ohm : float or None
        0 without a ballast, None where it is not known. [ohm]
    has_ballast : bool or None
        None where nobody has said so.
    is_by_passed : bool
        Whether the ballast is by-passed while cranking.
    record : Coil
        What the car's record says.
    """

    facts: CoilFacts
    voltages: Voltages
    usual: Voltages
    resting: SheetAnswer | None
    cranking: SheetAnswer | None
    charging: SheetAnswer | None
    primary: SheetAnswer | None
    ballast: SheetAnswer | None
    by_pass: SheetAnswer | None
    primary_20_ohm: float | None
    ballast_ohm: float | None
    has_ballast: bool | None
    is_by_passed: bool
    record: Coil

    @property
    def recorded_primary_text(self) -> str:
        return "" if self.record.primary_ohm is None else f"{plain(self.record.primary_ohm)} ohm"

    @property
    def primary_detail(self) -> str:
        """What it is at 20 °C and at work: '1.50 ohm at 20 °C, 1.79 ohm at 70 °C'."""
        if self.primary_20_ohm is None:
            return ""
        warm = warm_ohm(self.primary_20_ohm)
        return f"{plain(self.primary_20_ohm, 2)} ohm at 20 °C, {plain(warm, 2)} ohm at {plain(WORKING_C)} °C"

    @property
    def measured_primary_text(self) -> str:
        """As it was read, and how warm the coil was: '1.62 ohm at 40 °C'."""
        if self.primary is None or self.primary.reading is None:
            return ""
        beside = self.primary.reading.beside
        return self.primary.text + (f" at {plain(beside)} °C" if beside is not None else "")

    @property
    def inductance_text(self) -> str:
        return "" if self.record.inductance_mh is None else f"{plain(self.record.inductance_mh)} mH"

    @property
    def ballast_text(self) -> str:
        if self.has_ballast is False:
            return "none"
        return "" if self.ballast_ohm is None else f"{plain(self.ballast_ohm)} ohm"

    @property
    def ballast_box(self) -> str:
        """Which box of the car's record is to be filled in."""
        return "ballast_ohm" if self.has_ballast else "has_ballast"


def coil_values(job: Job, answers: SheetAnswers) -> CoilValues:
    """The coil of the job's car: measured on this car before what the record says."""
    vehicle, record = job.vehicle, job.vehicle.coil
    resting = answers.volts(INSPECTION, "battery")
    cranking = answers.volts(FITTING, "feed-cranking") or answers.volts(INSPECTION, "cranking")
    charging = answers.volts(INSPECTION, "charging")
    primary = _measured(answers, FITTING, "coil-primary") or _measured(answers, INSPECTION, "coil-primary")
    ballast = _measured(answers, INSPECTION, "ballast-resistance")
    by_pass = answers.answer(FITTING, "ballast-by-pass")
    has_ballast = False if _is_out(answers.answer(FITTING, "ballast-route")) else _has_ballast(record, ballast)
    ballast_ohm = _ballast_ohm(has_ballast, record, ballast)
    # A tick that was overridden says that nobody saw it work.
    is_by_passed = bool(by_pass.is_done if by_pass else record.has_bypass)
    primary_20_ohm = primary.reading.corrected if primary and primary.reading else record.primary_ohm
    voltages = Voltages(cranking_v=_volts(cranking), resting_v=_volts(resting), charging_v=_volts(charging))
    usual = _usual(vehicle)
    found = CoilFacts(
        primary=circuit(
            primary_20_ohm=primary_20_ohm,
            ballast_ohm=ballast_ohm,
            inductance_mh=record.inductance_mh,
            supply_v=voltages.charging_v or usual.charging_v or CHARGING_V,
        ),
        ballast_bypassed_cranking=is_by_passed,
        # While cranking it is no warmer than when it was measured.
        cold_ohm=primary.reading.measure.value if primary and primary.reading else record.primary_ohm,
        heat_limit_w=record.heat_limit_w,
    )
    return CoilValues(
        facts=_with_cranking(found, voltages.cranking_v),
        voltages=voltages,
        usual=usual,
        resting=resting,
        cranking=cranking,
        charging=charging,
        primary=primary,
        ballast=ballast if has_ballast else None,
        by_pass=by_pass,
        primary_20_ohm=primary_20_ohm,
        ballast_ohm=ballast_ohm,
        has_ballast=has_ballast,
        is_by_passed=is_by_passed,
        record=record,
    )


def _with_cranking(facts: CoilFacts, volts: float | None) -> CoilFacts:
    """The facts with the cranking voltage; without it where the unit's switch would take it whole, which is a slip."""
    try:
        return replace(facts, cranking_v=volts)
    except CoilError:
        return facts


def _measured(answers: SheetAnswers, kind: SheetKind, key: str) -> SheetAnswer | None:
    found = answers.answer(kind, key)
    return found if found is not None and found.reading is not None and found.reading.corrected > 0 else None


def _volts(found: SheetAnswer | None) -> float | None:
    return found.reading.measure.value if found and found.reading and found.reading.measure.value > 0 else None


def _usual(vehicle: Vehicle) -> Voltages:
    return Voltages(
        cranking_v=usual_volts(vehicle, CRANKING_V),
        resting_v=usual_volts(vehicle, RESTING_V),
        charging_v=usual_volts(vehicle, CHARGING_V),
    )


def _is_out(route: SheetAnswer | None) -> bool:
    """Whether the ballast was taken out when the unit was fitted."""
    return route is not None and route.choice.startswith("out")


def _has_ballast(record: Coil, measured: SheetAnswer | None) -> bool | None:
    return True if measured is not None and record.has_ballast is None else record.has_ballast


def _ballast_ohm(has_ballast: bool | None, record: Coil, measured: SheetAnswer | None) -> float | None:
    if has_ballast is False:
        return 0.0
    if measured is not None and measured.reading is not None:
        return measured.reading.measure.value
    # Nobody has said whether there is one: as before, the circuit is worked out without.
    return record.ballast_ohm if has_ballast else 0.0
