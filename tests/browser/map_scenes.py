"""A workshop with maps in every state: `python -m tests.browser.map_scenes` plays it and prints what a test needs."""

import json
import uuid
from dataclasses import replace

import django

django.setup()

from django.db import transaction  # noqa: E402
from django.utils import timezone  # noqa: E402

from garage.people.models import Role  # noqa: E402
from garage.record.actor import Actor  # noqa: E402
from garage.units.actions import describe_unit_type, enter_unit  # noqa: E402
from garage.units.examples import EXAMPLES  # noqa: E402
from jobs.job.actions import choose_unit  # noqa: E402
from jobs.maps import actions  # noqa: E402
from jobs.models import Job, MapVersion  # noqa: E402
from tests.browser.conftest import session_of  # noqa: E402
from tests.factories import DeviceFactory, JobFactory, StaffFactory, VehicleFactory, WorkshopFactory  # noqa: E402
from timing.curve import AdvanceCurve  # noqa: E402
from timing.ignition_map import IgnitionMap  # noqa: E402
from timing.vacuum import BoostRetard, VacuumRamp  # noqa: E402

FOUR = IgnitionMap(
    8,
    AdvanceCurve([500, 1000, 1500, 2000, 2500, 3000, 4000, 5000], [0, 2, 8, 14, 18, 21, 24, 24]),
    VacuumRamp(15, 45, 14),
    rev_limit_rpm=6000,
    rev_limit_manner="hard",
)
FLAT_SINGLE = IgnitionMap(
    10, AdvanceCurve([500, 1000, 2000, 5000], [0, 2, 4, 4]), rev_limit_rpm=5000, rev_limit_manner="hard"
)
BOOSTED_SIX = IgnitionMap(
    10,
    AdvanceCurve([400, 1000, 2000, 3000, 4200, 5600], [0, 4, 12, 18, 20, 20]),
    VacuumRamp(20, 50, 10),
    BoostRetard([0, 40, 80], [0, 6, 12]),
    dwell_ms=3.2,
    rev_limit_rpm=5500,
    rev_limit_manner="soft",
    repeated_sparks=True,
)
SHORT_EIGHT = IgnitionMap(
    6,
    AdvanceCurve([600, 1000, 1600, 2400, 3200, 4600], [0, 2, 10, 16, 22, 24]),
    VacuumRamp(12, 40, 16, 1200),
    dwell_ms=2.0,
    rev_limit_rpm=4800,
    rev_limit_manner="soft",
)


def workshop() -> dict[str, object]:
    WorkshopFactory()
    people = {
        "owner": StaffFactory(name="Rowan Vale", username="rowan", role=Role.OWNER),
        "mechanic": StaffFactory(name="Ines Marlow", username="ines", role=Role.MECHANIC),
        "second_mechanic": StaffFactory(name="Tam Okoro", username="tam", role=Role.MECHANIC),
    }
    actor = Actor(person=people["mechanic"], at=timezone.now(), device=DeviceFactory())
    revisions = {
        name: describe_unit_type(
            name=name, holds=holds, actor=replace(actor, person=people["owner"]), idempotency_key=uuid.uuid4()
        )
        for name, holds in EXAMPLES.items()
    }

    def job_with(unit: str, start: IgnitionMap, cylinders: int, **engine: float) -> tuple[Job, MapVersion]:
        vehicle = VehicleFactory(
            engine__cylinders=cylinders,
            coil__primary_ohm=1.5,
            coil__inductance_mh=6.5,
            coil__has_ballast=True,
            coil__ballast_ohm=1.5,
            **{f"engine__{name}": figure for name, figure in engine.items()},
        )
        job = JobFactory(vehicle=vehicle, stage="map", made_by=people["mechanic"])
        fitted = enter_unit(
            revision=revisions[unit], serial_number=f"N-{job.pk}", notes="", actor=actor, idempotency_key=uuid.uuid4()
        )
        choose_unit(job=job, unit=fitted, actor=actor)
        version = actions.start_version(
            job=job, parent=None, reason="first drive", start=start, origin="a blank curve", actor=actor
        )
        return job, version

    def four() -> tuple[Job, MapVersion]:
        return job_with("Tern 8", FOUR, 4, idle_rpm=800, red_line_rpm=6000, fuel_ron=97, compression_ratio=9.0)

    def released() -> Job:
        job, version = four()
        actions.release(draft=version, row_version=version.row_version, actor=actor)
        return job

    compared = released()
    parent = compared.map_versions.get()
    actions.start_version(
        job=compared,
        parent=parent,
        reason="pinking at 2600, hill",
        curve=AdvanceCurve(FOUR.curve.rpm, [0, 2, 8, 12, 16, 19, 24, 24]),
        actor=actor,
    )
    drafts = (
        "drag",
        "touch",
        "keys",
        "undo",
        "tools",
        "paste",
        "conflict",
        "kept",
        "closed",
        "pictures",
        "speed",
        "limits",
        "tabs",
        "left",
        "carried",
        "spoilt",
        "told",
    )
    codes = {name: four()[0].code for name in (*drafts, "speed", "limits")}
    codes |= {"compare": compared.code, "read-back": released().code, "refit": released().code}
    codes |= {
        "single": job_with("Tern 8", FLAT_SINGLE, 1, idle_rpm=900, red_line_rpm=5200)[0].code,
        "six": job_with("Fallow 14", BOOSTED_SIX, 6, idle_rpm=850, red_line_rpm=5600, boosted=True)[0].code,
        "eight": job_with("Quill 6", SHORT_EIGHT, 8, idle_rpm=650, red_line_rpm=4800)[0].code,
    }
    return {"sessions": {name: session_of(person) for name, person in people.items()}, "codes": codes}


if __name__ == "__main__":
    with transaction.atomic():
        told = workshop()
    print(json.dumps(told))
