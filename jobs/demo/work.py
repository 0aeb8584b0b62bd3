"""The demo's days at the bench: everything through the actions that the pages use."""

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from typing import Any
from uuid import uuid4

from garage.people.models import Staff
from garage.record.actor import Actor
from garage.units.models import FittedUnit
from garage.vehicles.actions import change_vehicle
from garage.vehicles.facts import band_of
from garage.vehicles.models import Vehicle
from jobs.bench import start_maps as starts
from jobs.checklists import actions as fitting
from jobs.checklists.models import ChecklistItem, Entry, ItemKind, JobSheet, Outcome, SheetKind
from jobs.checklists.photographs import prepared
from jobs.checklists.queries import sheet, suitable_revisions
from jobs.checklists.second_check_actions import confirm_entry
from jobs.demo.answers import Answer, answer
from jobs.demo.cars import DemoCar
from jobs.demo.diary import Shift
from jobs.demo.pictures import drawn
from jobs.inspection import actions as inspection
from jobs.job.actions import book_job, choose_unit, edit_booking, go_on, note
from jobs.job.models import Job, Stage
from jobs.maps import actions as maps
from jobs.maps.models import MapVersion, ReadBack
from jobs.maps.queries import expected_advance
from jobs.maps.stored_map import to_columns
from jobs.maps.unit_fit import lines_of
from jobs.proposals.actions import Choice, decide
from jobs.proposals.models import Decision
from jobs.proposals.queries import open_proposal
from jobs.strobe import actions as strobe
from jobs.strobe.models import Lamp, Purpose, StrobeSession
from timing.curve import AdvanceCurve

# How a careful hand scatters when reading a scale to half a degree: mean nought, no trend. [crank degrees]
SCATTER = (0.3, -0.2, 0.1, -0.4, 0.2, 0.0, -0.3, 0.4, -0.1, 0.2)
STROBE = Lamp.PLAIN  # the one of the invented workshop


def book(vehicle: Vehicle, *, wanted: str, complaint: str, day: date, actor: Actor) -> Job:
    return book_job(
        vehicle=vehicle, wanted=wanted, complaint=complaint, booked_for=day, idempotency_key=uuid4(), actor=actor
    )


def arrive(job: Job, car: DemoCar, shift: Shift) -> None:
    """The car stands in the yard; its odometer is read, and the inspection may begin."""
    edit_booking(job=job, row_version=job.row_version, actor=shift.sign(), odometer=car.odometer)
    job.refresh_from_db()
    on_to_the_next(job, Stage.INSPECTION, shift)


def on_to_the_next(job: Job, wanted: Stage, shift: Shift) -> None:
    go_on(job=job, leaving=Stage(job.stage), actor=shift.sign())
    assert job.stage == wanted, f"{job}: {job.stage} instead of {wanted}"  # noqa: S101 - a story told wrongly


def fill_sheet(
    job: Job,
    car: DemoCar,
    kind: SheetKind,
    shift: Shift,
    second: Staff,
    *,
    up_to: str = "",
    instead: dict[str, Answer] | None = None,
) -> JobSheet:
    """Enter what is still open on the sheet of `kind`; `up_to` is the key of the item before which the day ends.

    What the inspection answered is confirmed. What an item reads is left to whoever takes the readings. `instead` are
    answers of this car for single items; a second person steps up where the item wants one.
    """
    revision, _ = suitable_revisions(job, kind)[0]
    record = fitting.begin_sheet(job=job, kind=kind, revision=revision, actor=shift.sign())
    found = sheet(job, kind)
    for line in found.lines if found else []:
        item = line.item
        if item.key == up_to:
            break
        if not line.is_open or item.kind == ItemKind.READING:
            continue
        if line.inspected is not None and item.key not in (instead or {}):
            _confirm(record, item, line.inspected, shift)
            continue
        given = (instead or {}).get(item.key) or answer(item, car)
        if given is None:
            if item.required:
                _enter(record, item.key, Answer(note="no data for this car"), shift, Outcome.NOT_POSSIBLE)
            continue
        if item.kind == ItemKind.PHOTO:
            _photograph(record, item.key, item.text, car, shift)
            continue
        entry = _enter(record, item.key, given, shift)
        if item.second_person:
            other = shift.beside(second)
            confirm_entry(entry=entry, id=uuid4(), actor=other.sign())
            shift.clock = other.clock
    return record


def _enter(record: JobSheet, key: str, given: Answer, shift: Shift, outcome: Outcome = Outcome.DONE) -> Entry:
    return fitting.record_entry(
        sheet=record, key=key, id=uuid4(), actor=shift.sign(1.5), outcome=outcome,
        measure=given.measure, unit=given.unit, beside=given.beside, choice=given.choice, text=given.text,
        note=given.note,
    )  # fmt: skip


def _confirm(record: JobSheet, item: ChecklistItem, before: Entry, shift: Shift) -> None:
    """What the inspection found holds still."""
    fitting.record_entry(
        sheet=record, key=item.key, id=uuid4(), actor=shift.sign(0.5), measure=before.measure, unit=before.unit,
        beside=before.beside, choice=before.choice, text=before.text, confirms=before.pk,
    )  # fmt: skip


def correct(record: JobSheet, key: str, given: Answer, shift: Shift) -> Entry:
    """Enter an item again over what stands."""
    wrong = record.entries.filter(item__key=key).last()
    return fitting.record_entry(
        sheet=record, key=key, id=uuid4(), actor=shift.sign(), measure=given.measure, unit=given.unit,
        beside=given.beside, choice=given.choice, text=given.text, note=given.note,
        replaces=[wrong.pk] if wrong else [],
    )  # fmt: skip


def _photograph(record: JobSheet, key: str, title: str, car: DemoCar, shift: Shift) -> None:
    fitting.record_photograph(
        sheet=record,
        key=key,
        id=uuid4(),
        entry_id=uuid4(),
        picture=prepared(drawn(title, f"{car.car['maker']} {car.car['model']}, {car.car['registration']}")),
        actor=shift.sign(1.5),
    )


def prove_mark(job: Job, shift: Shift, *, off_deg: float) -> None:
    """Piston stop from both sides; the mark shows top dead centre `off_deg` beside it."""
    inspection.record_mark_check(
        job=job, id=uuid4(), first_deg=-38.5, second_deg=39.0, mark_deg=0.25 + off_deg, actor=shift.sign(12)
    )


def read_sweep(job: Job, car: DemoCar, shift: Shift, speeds: Iterable[float], direction: str = "rising") -> None:
    """The old advance as the strobe shows it: the factory's middle, and what wear has made of it."""
    band = band_of(job.vehicle)
    assert band is not None  # noqa: S101 - a sweep is told of cars with a band only
    base = job.vehicle.distributor.base_timing_deg or 0.0
    wear = AdvanceCurve([rpm for rpm, _ in car.wear], [degrees for _, degrees in car.wear])
    for place, rpm in enumerate(speeds):
        seen = base + float(band.middle.advance(rpm)) + float(wear.advance(rpm)) + SCATTER[place % len(SCATTER)]
        inspection.record_sweep_reading(
            job=job, id=uuid4(), rpm=rpm, measured_deg=_half(seen), direction=direction, actor=shift.sign(1)
        )


def read_compression(job: Job, car: DemoCar, shift: Shift) -> None:
    for cylinder, kpa in enumerate(car.compression_kpa, start=1):
        inspection.record_compression(
            job=job, id=uuid4(), cylinder=cylinder, gauge_kpa=kpa, entered_unit="kPa", actor=shift.sign(2)
        )


def judge(job: Job, shift: Shift, fitness: str, remarks: str = "") -> None:
    inspection.give_verdict(job=job, id=uuid4(), fitness=fitness, remarks=remarks, actor=shift.sign())


def take_unit(job: Job, unit: FittedUnit, shift: Shift) -> None:
    choose_unit(job=job, unit=unit, actor=shift.sign())


def fit_crank_sensor(job: Job, shift: Shift) -> None:
    """From here on the distributor triggers nothing: it only shares out."""
    vehicle = job.vehicle
    change_vehicle(
        vehicle=vehicle,
        row_version=vehicle.row_version,
        values={},
        parts={"distributor": {"trigger": "inductive", "trigger_place": "crank or camshaft"}},
        actor=shift.sign(40),
    )
    words = "Toothed wheel and sensor fitted on the crank pulley; the distributor only shares out from now on."
    note(job=job, words=words, idempotency_key=uuid4(), actor=shift.sign())


def read_base(job: Job, shift: Shift, *, told: float, late: float, speeds: Sequence[float]) -> StrobeSession:
    """The curve flat, the strobe read at every speed twice; the spark comes `late` degrees late."""
    session = strobe.begin_base_session(
        job=job, base_deg=told, idempotency_key=uuid4(), actor=shift.sign(), lamp=STROBE
    )
    for place, rpm in enumerate([*speeds, *reversed(speeds)]):
        seen = _half(told - late + SCATTER[place % len(SCATTER)])
        strobe.record_reading(session=session, id=uuid4(), rpm=rpm, measured_deg=seen, actor=shift.sign(1))
    return session


def clamp(job: Job, shift: Shift, *, torque_nm: float, change_deg: float = 0.0) -> None:
    strobe.record_clamp(
        job=job, id=uuid4(), change_deg=change_deg, torque_nm=torque_nm, mark_painted=True, actor=shift.sign(6)
    )


def prove_base_timing(job: Job, shift: Shift, *, told: float, torque_nm: float) -> None:
    """Read, turn the body, read again, clamp."""
    idle = job.vehicle.engine.idle_rpm or 800.0
    read_base(job, shift, told=told, late=2.5, speeds=[idle, 1800.0])
    shift.sign(10)
    read_base(job, shift, told=told, late=0.2, speeds=[idle, 1800.0])
    clamp(job, shift, torque_nm=torque_nm)


def start_map(
    job: Job, shift: Shift, *, base_deg: float, reason: str, rev_limit_rpm: float, **settings: Any
) -> MapVersion:
    """A first version from the middle of the factory band, level across the idle and up to the limit, released."""
    begun = starts.from_band(job.vehicle, base_deg)
    assert begun is not None  # noqa: S101 - told of cars with a band only
    version = maps.start_version(
        job=job,
        parent=None,
        start=begun.map,
        origin=begun.origin,
        reason=reason,
        entered_in={"vacuum_unit": shift.person.vacuum_unit},
        idempotency_key=uuid4(),
        actor=shift.sign(),
    )
    idle = (job.vehicle.engine.idle_rpm or 800.0) + 150.0
    curve = [[idle, 0.0], *([rpm, degrees] for rpm, degrees in version.curve if rpm > idle)]
    curve.append([rev_limit_rpm, curve[-1][1]])
    change_map(version, shift, curve=curve, rev_limit_rpm=rev_limit_rpm, **settings)
    return release(version, shift)


def take_proposal(job: Job, shift: Shift) -> MapVersion:
    """What the road spoke for is accepted point by point, and the draft that comes of it released."""
    seen = open_proposal(Job.objects.get(pk=job.pk))
    assert seen is not None and seen.points  # noqa: S101, PT018 - a story told wrongly
    choices = [Choice(point.place, Decision.ACCEPT) for point in seen.points]
    made = decide(job=job, id=uuid4(), basis=seen.basis, choices=choices, actor=shift.sign(8))
    assert made.draft is not None  # noqa: S101 - everything was accepted
    return release(made.draft, shift)


def next_map(job: Job, parent: MapVersion, shift: Shift, reason: str, **settings: Any) -> MapVersion:
    version = maps.start_version(job=job, parent=parent, reason=reason, idempotency_key=uuid4(), actor=shift.sign(8))
    change_map(version, shift, **settings)
    return release(version, shift)


def change_map(version: MapVersion, shift: Shift, **settings: Any) -> None:
    known = to_columns(version.ignition_map()) | {
        "vacuum_unit": version.vacuum_unit, "boost_unit": version.boost_unit
    }  # fmt: skip
    maps.change_draft(draft=version, row_version=version.row_version, settings=known | settings, actor=shift.sign(10))
    version.refresh_from_db()


def release(version: MapVersion, shift: Shift) -> MapVersion:
    maps.release(draft=version, row_version=version.row_version, actor=shift.sign(5))
    version.refresh_from_db()
    return version


def retarded(version: MapVersion, *, between: tuple[float, float], by: float) -> list[list[float]]:
    """The curve of `version` with `by` degrees taken out at its nodes between two speeds."""
    curve = AdvanceCurve([row[0] for row in version.curve], [row[1] for row in version.curve])
    speeds = sorted({*curve.rpm, *between})
    degrees = [float(curve.advance(rpm)) - (by if between[0] <= rpm <= between[1] else 0.0) for rpm in speeds]
    return [[float(rpm), round(max(0.0, value), 1)] for rpm, value in zip(speeds, degrees, strict=True)]


def read_back(version: MapVersion, shift: Shift, *, mistyped: Callable[[str], str] | None = None) -> ReadBack:
    """Key in, ignition off and on, read every line; with `mistyped` one line of the curve shows something else."""
    job = version.job
    lines = lines_of(version)
    shown = {line.position: line.value_text for line in lines}
    if mistyped:
        figures = [line for line in lines if line.value_text.replace(".", "").isdigit()]
        middle = figures[len(figures) // 2]
        shown[middle.position] = mistyped(middle.value_text)
    assert job.unit is not None  # noqa: S101 - told of cars with a unit only
    return maps.record_read_back(
        fact_id=uuid4(), version=version, unit=job.unit, shown=shown, power_cycled=True, actor=shift.sign(15)
    )


def check_map(
    version: MapVersion,
    shift: Shift,
    purpose: Purpose,
    speeds: Iterable[float],
    *,
    pipe_on: Iterable[tuple[float, float]] = (),
) -> None:
    """The running engine against the map, pipe off; then with the pipe on, at (rpm, kPa)."""
    session = strobe.begin_map_session(
        job=version.job,
        purpose=purpose,
        version_id=version.pk,
        version_words=str(version),
        idempotency_key=uuid4(),
        actor=shift.sign(),
        lamp=STROBE,
    )
    for place, rpm in enumerate(speeds):
        seen = _half(expected_advance(version.pk, rpm) + SCATTER[place % len(SCATTER)] - 0.1)
        strobe.record_reading(session=session, id=uuid4(), rpm=rpm, measured_deg=seen, actor=shift.sign(1))
    for rpm, kpa in pipe_on:
        seen = _half(expected_advance(version.pk, rpm, kpa) - 0.1)
        strobe.record_reading(
            session=session,
            id=uuid4(),
            rpm=rpm,
            measured_deg=seen,
            vacuum_kpa=kpa,
            vacuum_unit="kPa",
            actor=shift.sign(1),
        )


def _half(degrees: float) -> float:
    """As read off a scale of half degrees."""
    return round(degrees * 2) / 2
