"""What happened to each car of the demo, told in order: who did what on which day before today."""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from uuid import uuid4

from django.urls import reverse

from garage.quantities.words import bare
from garage.units.actions import describe_unit_type, enter_unit
from garage.units.examples import EXAMPLES
from garage.units.models import FittedUnit
from jobs.checklists.models import SheetKind
from jobs.costs.actions import enter_cost
from jobs.costs.models import CostKind
from jobs.demo import cars, work
from jobs.demo.answers import Answer, figure_of
from jobs.demo.bills import bill_the_car
from jobs.demo.cars import DemoCar
from jobs.demo.diary import Shift, moment
from jobs.demo.people import Crew
from jobs.demo.road_log import keep_log
from jobs.documents.actions import make_link
from jobs.documents.models import DocumentKind
from jobs.handover.actions import issue_document, sign_off
from jobs.inspection.models import Fitness
from jobs.job.actions import note, put_aside
from jobs.job.models import Job, JobState, Stage
from jobs.maps.models import MapVersion, RevLimitManner
from jobs.roadtest import actions as road
from jobs.roadtest.models import BeforeLeaving, NoteKind, Severity
from jobs.strobe.models import Purpose
from timing.units import convert

HILL = "Yard, ring road, Beacon hill in top gear from 1500 rpm, back by the lanes"
SPEEDS = (1000, 1400, 1800, 2200, 2600, 3000, 3500, 4000)


@dataclass(frozen=True, slots=True)
class Booking:
    """A car as it was booked: how many working days ago, and for which."""

    car: DemoCar
    booked: int
    comes_in: int
    wanted: str
    complaint: str
    unit_type: str
    tell: Callable[["Booking", Job, Crew, FittedUnit], str]


def tell_all(crew: Crew) -> str:
    """Book every car and tell its story; gives back the path of the finished car's customer page."""
    units = _shelf_of_units(crew)
    booked = []
    for booking in sorted(BOOKINGS, key=lambda one: -one.booked):
        desk = crew.at_the_desk(crew.bea, booking.booked, "09:40")
        vehicle = booking.car.enter(desk.sign())
        day = moment(crew.now, booking.comes_in, "00:00").date()
        job = work.book(vehicle, wanted=booking.wanted, complaint=booking.complaint, day=day, actor=desk.sign())
        booked.append((booking, job))
    paths = [booking.tell(booking, job, crew, units[booking.unit_type].pop()) for booking, job in booked]
    return next(path for path in paths if path)


def _shelf_of_units(crew: Crew) -> dict[str, list[FittedUnit]]:
    """The three unit types, and as many units of each as are bought in a season."""
    desk = crew.at_the_desk(crew.owner, 60, "17:00")
    shelf = {}
    for name, holds in EXAMPLES.items():
        revision = describe_unit_type(name=name, holds=holds, actor=desk.sign(), idempotency_key=uuid4())
        shelf[name] = [
            enter_unit(
                revision=revision,
                serial_number=f"{name[0]}{serial}",
                notes="",
                actor=desk.sign(),
                idempotency_key=uuid4(),
            )
            for serial in (4108, 4107, 4103, 4096)
        ]
    return shelf


def _inspected(booking: Booking, job: Job, crew: Crew, days_ago: int, *, off_deg: float = 0.25) -> None:
    """A whole inspection by Ines, with a verdict that lets the car go on."""
    bench = crew.at_the_bench(crew.ines, days_ago, "08:20")
    work.arrive(job, booking.car, bench)
    sheet = partial(work.fill_sheet, job, booking.car, SheetKind.INSPECTION, bench, crew.tam)
    sheet(up_to="mark-proven")
    work.prove_mark(job, bench, off_deg=off_deg)
    sheet(up_to="sweep-read")
    rising = [booking.car.engine["idle_rpm"], 1200, 1600, 2000, 2600, 3200, 3800]
    work.read_sweep(job, booking.car, bench, rising)
    work.read_sweep(job, booking.car, bench, [3000, 2000, 1200], "falling")
    sheet(up_to="compression-read")
    work.read_compression(job, booking.car, bench)
    sheet()
    work.judge(job, bench, Fitness.READY)
    work.on_to_the_next(job, Stage.FITTING, bench)


def _fitted(booking: Booking, job: Job, crew: Crew, unit: FittedUnit, days_ago: int) -> None:
    """A whole fitting by Tam, with Ines as the second person."""
    bench = crew.at_the_bench(crew.tam, days_ago, "08:10")
    work.take_unit(job, unit, bench)
    if booking.car.gets_crank_sensor:
        work.fit_crank_sensor(job, bench)
    work.fill_sheet(job, booking.car, SheetKind.FITTING, bench, crew.ines)
    work.on_to_the_next(job, Stage.BASE_TIMING, bench)


def _timed(job: Job, crew: Crew, days_ago: int, *, told: float) -> None:
    bench = crew.at_the_bench(crew.ines, days_ago, "10:05")
    work.prove_base_timing(job, bench, told=told, torque_nm=9.0)
    work.on_to_the_next(job, Stage.MAP, bench)


def _drive(
    job: Job, version: MapVersion, crew: Crew, shift: Shift, *, summary: str,
    notes: list[tuple[NoteKind, Severity, float, float, str]], air_c: float, logger_seed: int = 0,
) -> None:  # fmt: skip
    """Tam drives, Ines writes; she reads the vacuum in inHg. With a `logger_seed` a logger comes along."""
    run = road.begin_run(
        job=job, version_id=version.pk, version_words=str(version), route=HILL, driver=crew.tam, writer=crew.ines,
        idempotency_key=uuid4(), actor=shift.sign(), fuel_ron=job.vehicle.engine.fuel_ron, air_temperature_c=air_c,
        looked_at=list(BeforeLeaving),
    )  # fmt: skip
    for kind, severity, rpm, in_hg, words in notes:
        road.take_note(
            run=run, id=uuid4(), kind=kind, severity=severity, rpm=rpm,
            vacuum_kpa=float(convert(in_hg, "inHg", "kPa")), vacuum_unit="inHg",
            words=words, actor=shift.sign(6),
        )  # fmt: skip
    road.end_run(run=run, summary=summary, actor=shift.sign(9))
    if logger_seed:
        pinks = any(kind == NoteKind.PINKING for kind, *_ in notes)
        keep_log(run, file_name=f"hill-{version.number}.csv", seed=logger_seed, pinks=pinks, actor=shift.sign())


def finished(booking: Booking, job: Job, crew: Crew, unit: FittedUnit) -> str:
    """From booking to after-care, with three map versions, the documents and a link for the customer."""
    _inspected(booking, job, crew, 20)
    _fitted(booking, job, crew, unit, 19)
    _timed(job, crew, 18, told=8.0)

    bench = crew.at_the_bench(crew.ines, 17, "09:00")
    first = work.start_map(
        job, bench, base_deg=8.0, reason="First map for the first drive", dwell_ms=3.5, rev_limit_rpm=5900.0,
        rev_limit_manner=RevLimitManner.SOFT, trigger="contact breaker",
    )  # fmt: skip
    work.read_back(first, bench, mistyped=lambda value: bare(float(value) + 1))
    work.read_back(first, bench)
    work.check_map(first, bench, Purpose.SWEEP, SPEEDS)
    work.on_to_the_next(job, Stage.ROAD_TEST, bench)

    bench = crew.at_the_bench(crew.ines, 16, "10:30")
    _drive(
        job, first, crew, bench, air_c=9.0, logger_seed=3,
        notes=[
            (NoteKind.PINKING, Severity.CLEAR, 2300.0, 1.5, "half way up, gone when lifting"),
            (NoteKind.PINKING, Severity.TRACE, 2700.0, 1.0, "near the top"),
        ],
        summary="Pulls well, pinks on Beacon hill at full throttle.",
    )  # fmt: skip
    second = work.take_proposal(job, bench)
    work.read_back(second, bench)

    bench = crew.at_the_bench(crew.ines, 15, "14:10")
    _drive(
        job, second, crew, bench, air_c=11.0, logger_seed=4,
        notes=[(NoteKind.FLAT_SPOT, Severity.CLEAR, 1250.0, 6.0, "pulling away in second")],
        summary="No pinking. A little flat when pulling away.",
    )  # fmt: skip
    third = work.next_map(
        job, second, bench, "Flat when pulling away at 1200 rpm; no pinking there on two drives",
        curve=work.retarded(second, between=(1200.0, 1200.0), by=-1.0),
    )  # fmt: skip
    work.read_back(third, bench)

    bench = crew.at_the_bench(crew.ines, 14, "09:20")
    _drive(job, third, crew, bench, air_c=8.0, notes=[], summary="Clean on the hill, smooth away, starts hot.")
    work.on_to_the_next(job, Stage.HANDOVER, bench)
    work.check_map(third, bench, Purpose.FINAL, (900, *SPEEDS[1:]), pipe_on=((1800, 20.0), (2400, 40.0)))
    _papers_and_bill(job, crew)
    desk = crew.at_the_desk(crew.bea, 13, "16:00")
    path = reverse("documents:customer-page", args=[make_link(job=job, idempotency_key=uuid4(), actor=desk.sign())])
    bench = crew.at_the_bench(crew.owner, 13, "16:20")
    work.on_to_the_next(job, Stage.AFTER_CARE, bench)
    words = "Customer shown how the rev limit feels and where the label is."
    note(job=job, words=words, idempotency_key=uuid4(), actor=bench.sign())
    return path


def _papers_and_bill(job: Job, crew: Crew) -> None:
    bench = crew.at_the_bench(crew.owner, 13, "11:00")
    sign_off(job=job, id=uuid4(), remarks="Looked at clamp, mark, routing and label.", actor=bench.sign())
    for kind in DocumentKind:
        issue_document(job=job, kind=kind, idempotency_key=uuid4(), actor=bench.sign())
    desk = crew.at_the_desk(crew.bea, 13, "14:30")
    bill = [
        (CostKind.HOURS, "Inspection", "2.5", "58.00"),
        (CostKind.HOURS, "Fitting and base timing", "5.0", "58.00"),
        (CostKind.HOURS, "Map and road tests", "3.5", "58.00"),
        (CostKind.PART, "Programmable unit", "1", "265.00"),
        (CostKind.PART, "Suppressed leads, set", "1", "42.50"),
        (CostKind.PART, "Fuse holder and loom", "1", "18.20"),
    ]
    for sort, words, quantity, price in bill:
        enter_cost(
            job=job, id=uuid4(), kind=sort, description=words, quantity=Decimal(quantity), unit_price=Decimal(price),
            actor=desk.sign(),
        )  # fmt: skip
    bill_the_car(job, bench, desk)


def on_the_road(booking: Booking, job: Job, crew: Crew, unit: FittedUnit) -> str:
    """Driven once, and pinked: the next version is still to be made."""
    _inspected(booking, job, crew, 8)
    _fitted(booking, job, crew, unit, 7)
    _timed(job, crew, 6, told=6.0)
    bench = crew.at_the_bench(crew.tam, 5, "13:15")
    version = work.start_map(
        job, bench, base_deg=6.0, reason="First map for the first drive", rev_limit_rpm=5500.0,
        rev_limit_manner=RevLimitManner.HARD, trigger="contact breaker",
    )  # fmt: skip
    work.read_back(version, bench)
    work.check_map(version, bench, Purpose.SWEEP, SPEEDS)
    work.on_to_the_next(job, Stage.ROAD_TEST, bench)
    bench = crew.at_the_bench(crew.ines, 1, "11:10")
    _drive(
        job, version, crew, bench, air_c=7.0, logger_seed=5,
        notes=[
            (NoteKind.PINKING, Severity.CLEAR, 2600.0, 1.0, "on Beacon hill, full throttle"),
            (NoteKind.PINKING, Severity.CLEAR, 2600.0, 1.0, "on Beacon hill, full throttle"),
            (NoteKind.FINE, Severity.NOT_SAID, 3400.0, 2.0, "ring road, foot down"),
            (NoteKind.FLAT_SPOT, Severity.NOT_SAID, 1300.0, 5.0, "opening the throttle in second"),
            (NoteKind.HOT_START, Severity.TRACE, 900.0, 0.0, "one turn more than cold"),
        ],
        summary="Lively. Pinks clearly at 2600 rpm with the foot down.",
    )  # fmt: skip
    return ""


def keying_in(booking: Booking, job: Job, crew: Crew, unit: FittedUnit) -> str:
    """The map is released; the first read-back found an entry that was not stored."""
    _inspected(booking, job, crew, 6)
    _fitted(booking, job, crew, unit, 5)
    _timed(job, crew, 4, told=10.0)
    bench = crew.at_the_bench(crew.ines, 1, "08:45")
    version = work.start_map(
        job, bench, base_deg=10.0, reason="First map for the first drive", dwell_ms=3.0, rev_limit_rpm=5400.0,
        rev_limit_manner=RevLimitManner.SOFT, trigger="inductive", repeated_sparks=True,
    )  # fmt: skip
    work.read_back(version, bench, mistyped=lambda value: bare(float(value) - 1))
    return ""


def under_the_strobe(booking: Booking, job: Job, crew: Crew, unit: FittedUnit) -> str:
    """Fitted; the first strobe session says by how much to turn the distributor."""
    _inspected(booking, job, crew, 4)
    _fitted(booking, job, crew, unit, 3)
    bench = crew.at_the_bench(crew.tam, 1, "15:20")
    work.read_base(job, bench, told=8.0, late=3.0, speeds=[800.0, 1800.0])
    return ""


def half_fitted(booking: Booking, job: Job, crew: Crew, unit: FittedUnit) -> str:
    """Half way down the fitting sheet: bushes renewed, the rotor brought into line, the day ended at the wiring."""
    _inspected(booking, job, crew, 3, off_deg=-0.5)
    bench = crew.at_the_bench(crew.tam, 1, "08:30")
    work.take_unit(job, unit, bench)
    first = {
        "side-play": Answer(measure=0.16, note="needs bushes"),
        "tip-at-edge": Answer(measure=0.4, note="plate as the factory left it"),
    }
    record = work.fill_sheet(job, booking.car, SheetKind.FITTING, bench, crew.ines, up_to="wires", instead=first)
    in_line = figure_of("tip-at-edge", booking.car)
    work.correct(record, "tip-at-edge", Answer(measure=in_line, note="plate and body moved"), bench)
    work.correct(record, "side-play", Answer(measure=0.05, note="bushes renewed"), bench)
    words = "Tachometer loop found behind the panel, its two colours are on the photograph."
    note(job=job, words=words, idempotency_key=uuid4(), actor=bench.sign())
    return ""


def on_the_stand(booking: Booking, job: Job, crew: Crew, unit: FittedUnit) -> str:
    """Half inspected: the mark is proven, the sweep has four of its speeds."""
    bench = crew.at_the_bench(crew.ines, 1, "13:30")
    work.arrive(job, booking.car, bench)
    sheet = partial(work.fill_sheet, job, booking.car, SheetKind.INSPECTION, bench, crew.tam)
    sheet(up_to="mark-proven")
    work.prove_mark(job, bench, off_deg=0.5)
    sheet(up_to="sweep-read")
    work.read_compression(job, booking.car, bench)
    work.read_sweep(job, booking.car, bench, [850, 1400, 2000, 2600])
    return ""


def waiting_for_its_owner(booking: Booking, job: Job, crew: Crew, unit: FittedUnit) -> str:
    """One cylinder is low: the engine is not ready, and nobody goes on before its owner has spoken."""
    bench = crew.at_the_bench(crew.ines, 9, "09:15")
    work.arrive(job, booking.car, bench)
    sheet = partial(work.fill_sheet, job, booking.car, SheetKind.INSPECTION, bench, crew.tam)
    sheet(up_to="mark-proven")
    work.prove_mark(job, bench, off_deg=0.5)
    sheet(up_to="cranking-12")
    work.read_compression(job, booking.car, bench)
    work.judge(
        job, bench, Fitness.TALK_TO_OWNER,
        "Cylinder 2 is well below the others, wet and dry: ring or head joint. A map cannot mend it.",
    )  # fmt: skip
    desk = crew.at_the_desk(crew.owner, 8, "08:50")
    put_aside(
        job=job, state=JobState.ON_HOLD, actor=desk.sign(),
        reason="Cylinder 2 low; letter sent, waiting for the owner's word on the engine",
    )  # fmt: skip
    return ""


def comes_today(booking: Booking, job: Job, crew: Crew, unit: FittedUnit) -> str:
    """Booked for today, not here yet."""
    return ""


BOOKINGS = (
    Booking(
        cars.LORIMER, 24, 20, "Starts hot without fuss, no points to set.",
        "Hesitates when hot, timing wanders.", "Fallow 14", finished,
    ),
    Booking(
        cars.TEN_SIXTY, 15, 8, "Keeps up with traffic on today's fuel.", "Flat above 3000 rpm.", "Tern 8", on_the_road,
    ),
    Booking(
        cars.THREE, 14, 9, "Even firing at tick-over.", "Spits back, hard to start.", "Tern 8",
        waiting_for_its_owner,
    ),
    Booking(
        cars.HALYARD_SIX, 12, 6, "Long tours abroad, fuel of any kind.", "Pinks on regular fuel.", "Quill 6",
        keying_in,
    ),
    Booking(
        cars.DROVER, 10, 4, "A dependable daily car.", "Points burn within a season.", "Fallow 14", under_the_strobe,
    ),
    Booking(
        cars.GRAND_EIGHT, 9, 3, "Idles all afternoon in front of a church, and starts again.",
        "Stalls when hot, tachometer flickers.", "Tern 8", half_fitted,
    ),
    Booking(
        cars.TWAIN, 8, 1, "Keep it looking as built; 6 V and positive earth stay.", "Weak spark at speed.", "Quill 6",
        on_the_stand,
    ),
    Booking(
        cars.MINIM, 5, 0, "One kick and it runs.", "Kicks back at the starter.", "Quill 6", comes_today,
    ),
)  # fmt: skip
