"""Cars ready to be handed over whose maps are as different as maps can be, by the real actions."""

from django.utils import timezone

from garage.units.capability import capability_of
from garage.units.examples import FALLOW, TERN
from garage.vehicles.models import Engine
from jobs.documents.document_data import document_data
from jobs.maps.stored_map import to_columns
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import UnitTypeRevisionFactory, proven_version
from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.unit import EntryWord, FixedNodes, Steps, TableEntries, UnitType
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

# Sixteen points and a table of eighty cells: as much as there is.
SIXTEEN = [float(rpm) for rpm in range(500, 8001, 500)]
VACUA = [0.0, 20.0, 40.0, 60.0, 80.0]
WIDE = UnitType(
    nodes=FixedNodes(SIXTEEN),
    degree=Steps(0, 60, 0.5),
    counted_from="base",
    base=Steps(0, 25, 0.5),
    vacuum=TableEntries(unit="kPa", rpm=SIXTEEN, vacuum=VACUA, degrees=Steps(0, 25, 0.5)),
    boost=None,
    dwell_ms=None,
    rev_limit_rpm=Steps(2000, 9000, 50),
    rev_limit_manners=("soft",),
    repeated_sparks=False,
    entries=(
        EntryWord("base", "static timing"),
        EntryWord("node", "spark at speed"),
        EntryWord("vacuum_cell", "vacuum cell"),
        EntryWord("rev_limit", "highest rpm"),
    ),
)
CURVE = AdvanceCurve([500, 1000, 2000, 3000, 5000], [0, 4, 12, 18, 24])

MAPS = {
    "plain": (TERN, IgnitionMap(8, CURVE, VacuumRamp(13.5, 40.5, 12), rev_limit_rpm=6000, rev_limit_manner="hard")),
    "16 points and 80 cells": (
        WIDE,
        IgnitionMap(
            8,
            AdvanceCurve(SIXTEEN, [min(28.0, step * 2.5) for step in range(16)]),
            VacuumTable(
                rpm=SIXTEEN,
                vacuum=VACUA,
                degrees=[[row * min(4.0, step / 2) for step in range(16)] for row in range(5)],
            ),
            rev_limit_rpm=7000,
            rev_limit_manner="soft",
        ),
    ),
    "no vacuum": (TERN, IgnitionMap(10, CURVE, rev_limit_rpm=5500, rev_limit_manner="hard")),
    "one cylinder": (TERN, IgnitionMap(5, CURVE, rev_limit_rpm=4000, rev_limit_manner="hard")),
    "boost": (
        FALLOW,
        IgnitionMap(
            6,
            CURVE,
            boost=BoostRetard([0, 30, 60, 90], [0, 3, 6, 9]),
            dwell_ms=3.0,
            rev_limit_rpm=6500,
            rev_limit_manner="soft",
            repeated_sparks=True,
            trigger="hall",
        ),
    ),
}


def proven(name, actor, **car):
    """The version of that map, proven in the unit of its car."""
    unit, ignition_map = MAPS[name]
    vehicle = VehicleFactory(**car)
    if name == "one cylinder":
        Engine.objects.filter(vehicle=vehicle).update(cylinders=1, firing_order="1")
    revision = UnitTypeRevisionFactory(capability=capability_of(unit))
    job = JobFactory(stage="handover", vehicle=vehicle)
    columns = to_columns(ignition_map)
    return proven_version(actor, job=job, unit_revision=revision, **columns)


def facts_of(job):
    """What its papers are set from."""
    return document_data(job, None, timezone.now()) | {"number": 1, "issued_by": "Ines Marlow"}
