"""What a logger in the demo's cars writes on their way over Beacon hill: an invented car on an invented road."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import uuid4

import numpy as np

from garage.record.actor import Actor
from jobs.roadlogs import actions, columns, raw, shape
from jobs.roadlogs.importing import read_in
from jobs.roadtest.models import RoadRun
from timing.inputs import FloatArray

SAMPLES_PER_S = 10
# Seconds, speed reached at their end [km/h], gradient [percent].
ROUTE = (
    (40, 0, 0), (12, 30, 0), (30, 32, 0), (14, 0, 0), (20, 0, 0), (20, 52, 0), (50, 50, 0), (16, 0, 0), (15, 0, 0),
    (32, 78, 0), (50, 80, 0), (20, 60, 0), (25, 62, 9), (40, 84, 8), (20, 66, 9), (35, 88, 8), (90, 85, -4),
    (60, 60, 0), (15, 30, 0), (45, 34, 1), (30, 70, 2), (80, 72, 0), (18, 0, 0), (25, 0, 0), (22, 55, 3),
    (120, 58, 0), (26, 90, 0), (60, 88, 0), (40, 45, -2), (70, 48, 0), (24, 0, 0), (26, 0, 0),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Drive:
    """A drive as a logger sees it: one figure for each sample."""

    t_s: FloatArray
    rpm: FloatArray
    manifold_kpa: FloatArray  # absolute
    throttle: FloatArray  # [percent]
    speed_kmh: FloatArray
    gear: FloatArray


@dataclass(frozen=True, slots=True)
class Car:
    """As much of a car as makes a road log of a speed. All of it invented."""

    mass_kg: float = 1050.0
    drag_area_m2: float = 0.85
    rolling: float = 0.015
    wheel_m: float = 1.87  # rolled in one turn
    final_drive: float = 4.1
    gears: tuple[float, ...] = (3.6, 2.2, 1.4, 1.0)
    change_up_kmh: tuple[float, ...] = (20.0, 38.0, 58.0)
    idle_rpm: float = 850.0
    swept_m3: float = 1.5e-3
    idle_kpa: float = 36.0
    barometer_kpa: float = 100.6


CAR = Car()
_AIR_KG_M3, _GRAVITY = 1.2, 9.81
# Mean effective pressure that an engine of this kind gives at a full manifold, and what it takes to turn itself. [kPa]
_FULL_MEP, _FRICTION_MEP = 950.0, 140.0


def driven(t_s: FloatArray, speed_kmh: FloatArray, *, gradient: FloatArray | float = 0.0, car: Car = CAR) -> Drive:
    """What the engine of `car` did at each moment of a drive of that speed. `gradient` in percent."""
    speed = speed_kmh / 3.6
    gear = np.searchsorted(car.change_up_kmh, speed_kmh, side="right")
    ratio = np.asarray(car.gears)[gear] * car.final_drive
    rpm = np.maximum(speed / car.wheel_m * 60.0 * ratio, car.idle_rpm)
    force = car.mass_kg * (np.gradient(speed, t_s) + _GRAVITY * (car.rolling * (speed > 0.1) + gradient / 100.0))
    force += 0.5 * _AIR_KG_M3 * car.drag_area_m2 * speed**2
    # Two turns to a cycle of four strokes: work per cycle over the swept volume. [kPa]
    mep = force * speed / np.maximum(rpm / 120.0, 1.0) / car.swept_m3 / 1000.0
    load = np.clip((mep + _FRICTION_MEP) / (_FULL_MEP + _FRICTION_MEP), 0.0, 1.0)
    is_idle = speed < 0.1
    manifold = np.where(is_idle, car.idle_kpa, 26.0 + (car.barometer_kpa - 1.0 - 26.0) * load)
    throttle = np.where(is_idle, 2.0, 3.0 + 92.0 * load**1.5)
    return Drive(t_s, rpm, manifold, throttle, speed_kmh, np.where(is_idle, 0.0, gear + 1.0))


def route(samples_per_s: float = SAMPLES_PER_S, legs: Sequence[tuple[float, float, float]] = ROUTE) -> Drive:
    """The drive over the hill."""
    ends = np.cumsum([seconds for seconds, _, _ in legs])
    t_s = np.arange(0.0, float(ends[-1]), 1.0 / samples_per_s)
    speed = np.interp(t_s, [0.0, *ends], [0.0, *(at_end for _, at_end, _ in legs)])
    gradient = np.array([percent for _, _, percent in legs])[np.searchsorted(ends, t_s, side="right")]
    return driven(t_s, speed, gradient=gradient)


def as_csv(drive: Drive, *, seed: int = 7, pinks: bool) -> bytes:
    """`drive` as the demo's logger writes it: a line with its name, a header, units beneath; noise as of a sensor."""
    noise = np.random.default_rng(seed)
    count = drive.t_s.size
    hears = 12.0 + noise.gamma(2.0, 1.5, count) + drive.rpm / 400.0
    is_full = (drive.manifold_kpa > 88.0) & (drive.rpm > 2300.0) & (drive.rpm < 3100.0)
    if pinks:
        hears += np.where(is_full & (np.sin(drive.t_s * 1.3) > 0.4), 45.0, 0.0)
    coolant = 84.0 - 62.0 * np.exp(-drive.t_s / 240.0)
    table = np.column_stack(
        [
            drive.t_s, drive.rpm + noise.normal(0.0, 12.0, count), drive.manifold_kpa + noise.normal(0.0, 0.6, count),
            drive.throttle, coolant, hears, drive.speed_kmh,
        ]
    )  # fmt: skip
    lines = io.StringIO()
    lines.write("Yard logger 2\nTime,Engine speed,Manifold pressure,Throttle,Coolant,Knock level,Road speed\n")
    lines.write("s,rpm,kPa,%,°C,,km/h\n")
    np.savetxt(lines, table, fmt=["%.1f", "%.0f", "%.1f", "%.1f", "%.1f", "%.1f", "%.1f"], delimiter=",")
    return lines.getvalue().encode()


def keep_log(run: RoadRun, *, file_name: str, seed: int, pinks: bool, actor: Actor) -> None:
    """Upload the log of `run`, confirm its columns as they are guessed, and read it in at once."""
    content = as_csv(route(), seed=seed, pinks=pinks)
    with raw.received([content]) as received:
        log = actions.upload_log(
            run=run, received=received, file_name=file_name, shape=shape.guessed(received.head),
            idempotency_key=uuid4(), actor=actor,
        )  # fmt: skip
    layout = shape.guessed(content[: shape.HEAD_BYTES])
    preview = shape.preview_of(content[: shape.HEAD_BYTES], layout)
    actions.confirm_columns(
        log=log, shape=layout, preview=preview, columns=columns.guessed(preview), barometer_kpa=CAR.barometer_kpa,
        knock_limit=50.0, kept_as="Yard logger", actor=actor,
    )  # fmt: skip
    # The demo is shown at once, without a worker beside it.
    read_in(log_id=log.pk, tries=1)
