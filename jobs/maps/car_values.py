"""What a map is judged by besides its own figures: each entered once, on a sheet or with the car, and used everywhere.

What was measured on this car comes before what its record says, and the fitting sheet before the inspection: it is the
newer. Every value says where it stands; one that is missing says where it is entered.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import cast

from django.urls import reverse

from garage.people.models import Workshop
from garage.vehicles.models import Vehicle
from jobs.checklists.models import Correction, SheetKind
from jobs.job.models import Job
from jobs.maps.coil_values import CoilValues, coil_values
from jobs.maps.rotor_values import FREE_PLAY, RotorValues, rotor_values, seen_without_rotor, wastes_sparks
from jobs.maps.sheet_answers import FITTING, INSPECTION, SheetAnswer, SheetAnswers
from timing.coil import Primary, Voltages
from timing.review import CoilFacts, EngineFacts, Tachometer, VacuumPort
from timing.units import PASCALS, convert, vacuum_lost

RECORD = "car data"
SHEETS = {FITTING: "fitting sheet", INSPECTION: "inspection sheet"}

# One barrel of several has its vacuum below the closed throttle too, though it pulses.
PORT_OF: dict[str, VacuumPort] = {"manifold": "manifold", "one barrel": "manifold", "throttle port": "throttle"}


@dataclass(frozen=True, slots=True)
class CarValue:
    """One value of the car for a person: as it was entered, where it stands, and who entered it.

    `text` is empty where nobody has entered it: `place` and `url` are then where it is entered, and `instead` is what
    is taken meanwhile.
    """

    label: str
    text: str
    place: str
    url: str
    detail: str = ""
    by: str = ""
    made_at: datetime | None = None
    instead: str = ""


@dataclass(frozen=True, slots=True)
class CarValues:
    """The car for `timing`, the same as rows for a person, and where what is missing is entered.

    Attributes
    ----------
    engine, coil : EngineFacts, CoilFacts
        As a review is told.
    voltages : Voltages
        Those that were measured.
    usual : Voltages
        What is usual for a car of this system.
    rows : tuple of CarValue
    places : mapping
        Where the figure is entered that a finding lacks, by the finding's code.
    """

    engine: EngineFacts
    coil: CoilFacts
    voltages: Voltages
    usual: Voltages
    rows: tuple[CarValue, ...]
    places: Mapping[str, str]

    @property
    def circuit(self) -> Primary | None:
        """The coil's circuit at charging voltage and working temperature."""
        return self.coil.primary


def car_values(job: Job) -> CarValues:
    """Everything a map of this job is judged by, with the job's two sheets laid out once."""
    workshop = Workshop.objects.first()
    answers = SheetAnswers(job)
    coil, rotor = coil_values(job, answers), rotor_values(job, answers)
    record = RecordPlaces(job.vehicle)
    vacuum = answers.answer(INSPECTION, "idle-vacuum")
    port = answers.answer(FITTING, "vacuum-source")
    engine = _engine(job, rotor, answers, _manifold_kpa(vacuum, workshop.altitude_m if workshop else 0.0), port)
    rows = (
        *_vacuum_rows(job, answers, vacuum, port),
        *_rotor_rows(job, answers, rotor, record),
        *_coil_rows(answers, coil, record),
    )
    return CarValues(engine, coil.facts, coil.voltages, coil.usual, rows, _places(job, answers, coil, record))


@dataclass(frozen=True, slots=True)
class RecordPlaces:
    """Where the car's own record is filled in."""

    vehicle: Vehicle

    def of(self, box: str) -> str:
        return f"{reverse('vehicles:edit', args=[self.vehicle.pk])}#id_{box}"


def _engine(
    job: Job, rotor: RotorValues, answers: SheetAnswers, idle_vacuum_kpa: float | None, port: SheetAnswer | None
) -> EngineFacts:
    vehicle, engine = job.vehicle, job.vehicle.engine
    idle_rpm = engine.idle_rpm or _figure(answers.answer(INSPECTION, "idle-speed"))
    return EngineFacts(
        cylinders=engine.cylinders,
        strokes=engine.strokes,
        wasted_spark=wastes_sparks(vehicle, rotor.has_rotor),
        idle_rpm=idle_rpm,
        red_line_rpm=engine.red_line_rpm,
        idle_vacuum_kpa=idle_vacuum_kpa,
        vacuum_port=PORT_OF.get(port.choice) if port else None,
        fuel_ron=engine.fuel_ron,
        boosted=engine.boosted,
        tachometer=cast(Tachometer, vehicle.tachometer) if vehicle.tachometer else None,
        trigger_deg=rotor.edge.value if rotor.edge else None,
        # A twin of which nobody knows is asked for its rotor, as a car of four is.
        has_distributor=rotor.has_rotor is not False,
        rotor=rotor.facts,
    )


def _manifold_kpa(found: SheetAnswer | None, altitude_m: float) -> float | None:
    """Vacuum as the gauge showed it.

    An older list asked for it 'corrected to sea level', in whatever unit its workshop had written beside it: what was
    entered by that list is taken back to the workshop's height.
    """
    if found is None or found.reading is None or found.reading.measure.unit not in PASCALS:
        return None
    measure = found.reading.measure
    kpa = float(convert(measure.figure, measure.unit, "kPa"))
    if found.reading.correction != Correction.SEA_LEVEL:
        kpa -= float(vacuum_lost(altitude_m))
    return kpa if kpa > 0 else None


def _figure(found: SheetAnswer | None) -> float | None:
    """The figure of an answer, if it is above nought: a slipped sign stops no page."""
    figure = found.reading.measure.value if found and found.reading else 0.0
    return figure if figure > 0 else None


def _vacuum_rows(
    job: Job, answers: SheetAnswers, vacuum: SheetAnswer | None, port: SheetAnswer | None
) -> list[CarValue]:
    rows = [_on_sheet(answers, "Idle vacuum", vacuum, or_enter=(INSPECTION, "idle-vacuum"))]
    if job.unit is None or job.unit.revision.holds().vacuum is not None:
        rows.append(_on_sheet(answers, "Vacuum pipe on", port, or_enter=(FITTING, "vacuum-source")))
    return rows


def _rotor_rows(job: Job, answers: SheetAnswers, rotor: RotorValues, record: RecordPlaces) -> list[CarValue]:
    edge = answers.answer(FITTING, "trigger-edge")
    play = answers.answer(FITTING, FREE_PLAY)
    rows = [_on_sheet(answers, "Trigger edge", edge, or_enter=(FITTING, "trigger-edge"))]
    nothing = seen_without_rotor(answers)
    if nothing is not None:
        rows.append(replace(_on_sheet(answers, "Rotor", nothing, or_enter=(FITTING, nothing.key)), text="no rotor"))
    elif rotor.has_rotor is False:
        rows.append(CarValue("Rotor", "no rotor", RECORD, record.of("distributor-has_rotor")))
    else:
        facts = rotor.facts
        sizes = {
            "tip radius": facts.tip_radius_mm,
            "tip width": facts.tip_width_mm,
            "terminal width": facts.post_width_mm,
            "gap": facts.radial_gap_mm,
        }
        known = ", ".join(f"{name} {size:g} mm" for name, size in sizes.items() if size is not None)
        lacking = [name for name, size in sizes.items() if size is None]
        rows.append(
            CarValue(
                "Rotor",
                known,
                RECORD,
                record.of(f"distributor-{BOX_OF[lacking[0]] if lacking else 'rotor_tip_radius_mm'}"),
                detail=f"not entered: {', '.join(lacking)}" if lacking and known else "",
            )
        )
    locked = _on_sheet(answers, "Advance mechanism", play, or_enter=(FITTING, FREE_PLAY))
    if play is not None:
        locked = replace(locked, text="locked" if play.passes else "not locked", detail=f"free play {play.text}")
    return [*rows, locked]


BOX_OF = {
    "tip radius": "rotor_tip_radius_mm",
    "tip width": "rotor_tip_width_mm",
    "terminal width": "post_width_mm",
    "gap": "rotor_gap_mm",
}


def _coil_rows(answers: SheetAnswers, coil: CoilValues, record: RecordPlaces) -> list[CarValue]:
    rows = [
        _on_sheet(answers, "Battery at rest", coil.resting, (INSPECTION, "battery"), instead=coil.usual.resting_v),
        _on_sheet(answers, "Cranking", coil.cranking, (FITTING, "feed-cranking"), instead=coil.usual.cranking_v),
        _on_sheet(answers, "Charging", coil.charging, (INSPECTION, "charging"), instead=coil.usual.charging_v),
    ]
    resistance = CarValue(
        "Coil primary",
        coil.recorded_primary_text,
        RECORD if coil.recorded_primary_text else SHEETS[INSPECTION],
        record.of("coil-primary_ohm") if coil.recorded_primary_text else answers.place(INSPECTION, "coil-primary"),
    )
    if coil.primary is not None:
        resistance = _on_sheet(answers, "Coil primary", coil.primary, (INSPECTION, "coil-primary"))
        resistance = replace(resistance, text=coil.measured_primary_text)
    rows.append(replace(resistance, detail=coil.primary_detail))
    rows.append(CarValue("Coil inductance", coil.inductance_text, RECORD, record.of("coil-inductance_mh")))
    if coil.ballast is not None:
        rows.append(_on_sheet(answers, "Ballast", coil.ballast, (INSPECTION, "ballast-resistance")))
    else:
        rows.append(CarValue("Ballast", coil.ballast_text, RECORD, record.of(f"coil-{coil.ballast_box}")))
    if coil.has_ballast is not False:
        by_pass = _on_sheet(answers, "By-pass while cranking", coil.by_pass, (FITTING, "ballast-by-pass"))
        if coil.by_pass is not None:
            by_pass = replace(by_pass, text="works" if coil.is_by_passed else "does not work")
        elif coil.is_by_passed:
            by_pass = CarValue("By-pass while cranking", "fitted", RECORD, record.of("coil-has_bypass"))
        rows.append(by_pass)
    return rows


def _on_sheet(
    answers: SheetAnswers,
    label: str,
    found: SheetAnswer | None,
    or_enter: tuple[SheetKind, str],
    *,
    instead: float | None = None,
) -> CarValue:
    """The row of an answer, or of the item that waits for one; meanwhile `instead` volts are taken."""
    if found is not None:
        place = answers.place(found.kind, found.key)
        return CarValue(label, found.text, SHEETS[found.kind], place, found.detail, found.by, found.made_at)
    kind, key = or_enter
    taken = f"{instead:g} V taken, as usual" if instead is not None else ""
    return CarValue(label, "", SHEETS[kind], answers.place(kind, key), instead=taken)


def _places(job: Job, answers: SheetAnswers, coil: CoilValues, record: RecordPlaces) -> dict[str, str]:
    rotor = reverse("fitting:rotor", args=[job.code])
    return {
        "missing-idle-vacuum": answers.place(INSPECTION, "idle-vacuum"),
        "missing-trigger-position": answers.place(FITTING, "trigger-edge"),
        "missing-cranking-voltage": answers.place(FITTING, "feed-cranking"),
        "missing-coil": record.of(f"coil-{coil.ballast_box}")
        if coil.primary_20_ohm is not None
        else answers.place(INSPECTION, "coil-primary"),
        "missing-inductance": record.of("coil-inductance_mh"),
        "missing-coil-heat": record.of("coil-heat_limit_w"),
        "missing-cylinders": record.of("engine-cylinders"),
        "missing-idle-speed": record.of("engine-idle_rpm"),
        "missing-red-line": record.of("engine-red_line_rpm"),
        "missing-top-speed": record.of("engine-red_line_rpm"),
        "missing-tachometer": record.of("tachometer"),
        "missing-rotor": record.of("distributor-rotor_tip_radius_mm"),
        "missing-rotor-phase": rotor,
        "rotor-not-measured": rotor,
        "missing-altitude": reverse("people:workshop"),
        "missing-dwell": "#id_dwell_ms",
    }
