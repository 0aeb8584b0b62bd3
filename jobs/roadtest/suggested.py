"""The retard that the pinking of a version speaks for, by the rule of the workshop."""

from collections.abc import Iterable
from typing import TypeAlias
from uuid import UUID

from django.db.models import Q

from garage.people.models import Workshop
from garage.people.queries import get_workshop
from jobs.maps.models import MapVersion
from jobs.roadtest.models import Load, NoteKind, RoadNote, RoadRun
from jobs.roadtest.queries import current_notes
from timing.review import PinkingNote
from timing.roadlog import Grid, Pinking, Place, RoadLogSettings, correct

# Notes in one of these cells are of one place: coarse enough that a passenger's ear can tell them apart.
RPM_NODES = [float(rpm) for rpm in range(500, 7001, 500)]
VACUUM_NODES = [0.0, 20.0, 40.0, 60.0]
GRID = Grid(rpm=RPM_NODES, vacuum=VACUUM_NODES)
Cell: TypeAlias = tuple[float, float]


def settings_for(version: MapVersion, workshop: Workshop) -> RoadLogSettings:
    """The rule as this workshop has it, in steps that the unit can hold."""
    usual = RoadLogSettings()
    return RoadLogSettings(
        most_retard_deg=workshop.most_retard_deg,
        retard_step_deg=max(usual.retard_step_deg, version.unit_revision.holds().degree.step),
    )


def place_of(note: RoadNote) -> Place:
    """Where a note belongs. Heard without a vacuum gauge, it belongs to full load unless the throttle was not open."""
    part_load = note.load in {Load.CLOSED, Load.LIGHT, Load.HALF}
    return Place(
        rpm=note.rpm or 0.0,
        vacuum=note.vacuum_kpa or 0.0,
        full_load=note.load == Load.FULL or (note.vacuum_kpa is None and not part_load),
    )


def placed_pinking(notes: Iterable[RoadNote]) -> list[RoadNote]:
    """The pinking that has a place on the map."""
    return [note for note in notes if note.kind == NoteKind.PINKING and note.rpm is not None]


def suggested_retard(version: MapVersion, notes: list[RoadNote]) -> dict[UUID, float]:
    """How much less advance `notes`, pinking with this version, speak for at the place of each. [degrees of crank]"""
    workshop = get_workshop()
    found = correct(
        version.ignition_map(),
        [Pinking(place_of(note), note.severity) for note in notes],
        least_total_deg=workshop.least_advance_deg,
        settings=settings_for(version, workshop),
    )
    return dict(zip((note.pk for note in notes), (found.weights @ found.retard_deg).tolist(), strict=True))


def pinking_noted(version: MapVersion) -> list[PinkingNote]:
    """Where this car pinked with `version` or an earlier one, the spark it had there, and the retard suggested.

    Earlier jobs of the car count as well. Of several notes in one cell that with the least advance is kept: what pinked
    with less pinks with more.
    """
    job = version.job
    earlier = RoadRun.objects.filter(
        Q(job=job, map_version__number__lte=version.number)
        | Q(job__vehicle=job.vehicle_id, job__made_at__lt=job.made_at)
    )
    by_version: dict[MapVersion, list[RoadNote]] = {}
    earlier = earlier.select_related("map_version__unit_revision").prefetch_related("notes__by")
    for run in earlier.order_by("begun_at", "pk"):
        by_version.setdefault(run.map_version, []).extend(placed_pinking(current_notes(run)))
    found: dict[Cell, PinkingNote] = {}
    for driven, notes in by_version.items():
        if not notes or not driven.is_sound():
            continue
        given, suggested = driven.delivered_map(), suggested_retard(driven, notes)
        for note in notes:
            rpm, vacuum = note.rpm or 0.0, note.vacuum_kpa or 0.0
            noted = PinkingNote(rpm, vacuum, float(given.total(rpm=rpm, vacuum=vacuum)), suggested[note.pk] or None)
            cell = _cell(rpm, vacuum)
            if cell not in found or noted.advance_deg < found[cell].advance_deg:
                found[cell] = noted
    return list(found.values())


def _cell(rpm: float, vacuum_kpa: float) -> Cell:
    """The cell of the road notes in which a place lies; boost counts as full load."""
    row, column = GRID.cells(rpm=rpm, vacuum=max(0.0, vacuum_kpa))
    return RPM_NODES[int(column)], VACUUM_NODES[int(row)]
