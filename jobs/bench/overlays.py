"""What may be laid under a curve: other versions, the sweep, the factory band, readings, road notes, other cars.

The chart counts degrees from the base timing of the version on the bench. What was measured with a strobe is counted
from top dead centre, so the base is taken off it; another version brings its own base along.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, cast

from garage.vehicles.facts import band_of
from jobs.inspection import queries as inspection
from jobs.job.models import Job
from jobs.likeness.band import LikeCars, like_cars, like_count
from jobs.maps.models import MapVersion
from jobs.roadtest import queries as roadtest
from jobs.strobe import queries as strobe
from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.surface import TotalAdvance

Pair = tuple[float, float]
Triple = tuple[float, float, float]
Quarters = tuple[float, float, float, float]

NAMES = {
    "band": "factory band",
    "as-found": "sweep as found",
    "readings": "strobe readings",
    "road-notes": "road notes",
}


@dataclass(frozen=True, slots=True)
class Choice:
    """One layer that may be laid underneath, for the row of ticks beside the chart."""

    name: str
    label: str
    ticked: bool


@dataclass(frozen=True, slots=True)
class Layers:
    """The layers that are laid underneath now, counted from the bench's base timing."""

    earlier: Sequence[tuple[str, Sequence[Pair]]] = ()
    band: Sequence[Triple] = ()
    as_found: Sequence[Pair] = ()
    readings: Sequence[Pair] = ()
    road_notes: Sequence[Pair] = ()
    like: Sequence[Quarters] = ()
    like_name: str = ""


def laid(job: Job, version: MapVersion, base_deg: float, surface: TotalAdvance, asked: Sequence[str]) -> Layers:
    """The layers named in `asked`: those of `NAMES`, 'version-<number>' and 'like'. Unknown names are left out.

    Without `choices`: what else could be laid is asked for with `choices_for`, once a page and not at every step of a
    drag.
    """
    found = {
        name: points
        for name, _, lay in _offered(job, version, base_deg, surface)
        if name in asked and (points := lay())
    }
    like = like_cars(job.vehicle) if "like" in asked else None
    return Layers(
        earlier=[(name.replace("-", " "), points) for name, points in found.items() if name.startswith("version-")],
        band=found.get("band", ()),
        as_found=found.get("as-found", ()),
        readings=found.get("readings", ()),
        road_notes=found.get("road-notes", ()),
        like=_from_base(like, base_deg) if like else (),
        like_name=_like_name(like.count) if like else "",
    )


def choices_for(
    job: Job, version: MapVersion, base_deg: float, surface: TotalAdvance, asked: Sequence[str]
) -> list[Choice]:
    """Every layer there is something to show of, ticked where it is asked for."""
    choices = [
        Choice(name, label, name in asked) for name, label, lay in _offered(job, version, base_deg, surface) if lay()
    ]
    if count := like_count(job.vehicle):  # counted, not laid: what is not asked for is not worked out
        choices.append(Choice("like", _like_name(count), "like" in asked))
    return choices


def _offered(
    job: Job, version: MapVersion, base_deg: float, surface: TotalAdvance
) -> Iterator[tuple[str, str, Callable[[], list[Any]]]]:
    """Name, label and how it is laid, of every layer a job may have."""
    for other in job.map_versions.exclude(pk=version.pk).filter(set_aside_at=None).order_by("number"):
        yield f"version-{other.number}", f"version {other.number}", partial(_curve_of, other, base_deg)
    yield "band", NAMES["band"], partial(_band, job, base_deg)
    yield "as-found", NAMES["as-found"], partial(_sweep, job, base_deg)
    yield "readings", NAMES["readings"], partial(_readings, job, base_deg, surface)
    yield "road-notes", NAMES["road-notes"], partial(_notes, job, surface)


def _like_name(count: int) -> str:
    return f"{count} like this one"


def _from_base(cars: LikeCars, base_deg: float) -> list[Quarters]:
    """What like cars went home with, wide open: every one of them brought its own base along."""
    return [(rpm, low - base_deg, middle - base_deg, high - base_deg) for rpm, low, middle, high in cars.rows]


def _curve_of(version: MapVersion, base_deg: float) -> list[Pair]:
    if not version.can_be_relied_on():
        return []
    return [(rpm, degrees + version.base_deg - base_deg) for rpm, degrees in version.curve]


def _band(job: Job, base_deg: float) -> list[Triple]:
    try:
        band = band_of(job.vehicle)
    except TimingError:
        return []
    if band is None:
        return []
    factory_base = job.vehicle.distributor.base_timing_deg
    moved = 0.0 if factory_base is None else factory_base - base_deg
    speeds = sorted({*band.lower.rpm, *band.upper.rpm})
    return [(rpm, _at(band.lower, rpm) + moved, _at(band.upper, rpm) + moved) for rpm in speeds]


def _at(curve: AdvanceCurve, rpm: float) -> float:
    return float(curve.advance(rpm))


def _sweep(job: Job, base_deg: float) -> list[Pair]:
    return [
        (rpm, degrees - base_deg) for rpm, degrees, direction in inspection.sweep_points(job) if direction == "rising"
    ]


def _readings(job: Job, base_deg: float, surface: TotalAdvance) -> list[Pair]:
    """Strobe readings less what vacuum gave them, so that they lie on the speed curve where all is well."""
    pairs = []
    for rpm, vacuum, degrees in strobe.latest_readings(job):
        added = float(surface.parts(rpm=rpm, vacuum=vacuum).vacuum) if vacuum else 0.0
        pairs.append((rpm, degrees - base_deg - added))
    return sorted(pairs)


def _notes(job: Job, surface: TotalAdvance) -> list[Pair]:
    """The spark that road notes point at: the speed curve at their speed."""
    speeds = [cast(float, note["rpm"]) for note in roadtest.notes_at(job)]
    return sorted((rpm, _at(surface.curve, rpm)) for rpm in speeds)
