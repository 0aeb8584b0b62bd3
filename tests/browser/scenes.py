"""Scenes for servers of their own: `python -m tests.browser.scenes <name>` plays one and prints what a test needs."""

import json
import sys
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import django

django.setup()

from django.db import transaction  # noqa: E402
from django.db.models import Count  # noqa: E402

from garage.people.models import Role, Staff  # noqa: E402
from jobs.checklists.actions import begin_sheet  # noqa: E402
from jobs.checklists.models import ItemKind, JobSheet, Outcome, SheetKind, TemplateRevision  # noqa: E402
from jobs.checklists.second_check_actions import confirm_entry  # noqa: E402
from jobs.checklists.sheet import sheet_of  # noqa: E402
from jobs.roadtest.actions import begin_run  # noqa: E402
from jobs.strobe.actions import begin_base_session  # noqa: E402
from tests.browser.conftest import session_of  # noqa: E402
from tests.checklists.factories import (  # noqa: E402
    enter,
    every_kind,
    published_list,
    put_in_shipped_lists,
    signed_by,
)
from tests.factories import JobFactory, StaffFactory, WorkshopFactory  # noqa: E402
from tests.jobs_factories import MapVersionFactory  # noqa: E402

Scene = dict[str, Any]


def cast() -> dict[str, Staff]:
    WorkshopFactory()
    return {
        "owner": StaffFactory(name="Rowan Vale", username="rowan", role=Role.OWNER),
        "mechanic": StaffFactory(name="Ines Marlow", username="ines", role=Role.MECHANIC),
        "second_mechanic": StaffFactory(name="Tam Okoro", username="tam", role=Role.MECHANIC),
    }


def told(people: dict[str, Staff], **more: Any) -> Scene:
    return {
        "sessions": {name: session_of(person) for name, person in people.items()},
        "people": {name: person.pk for name, person in people.items()},
        **more,
    }


def people_only() -> Scene:
    """The people of a workshop, and no car yet."""
    return told(cast())


def one_sheet() -> Scene:
    """A car in fitting, its sheet begun: items of every kind, a hold point among them."""
    people = cast()
    job = JobFactory(stage="fitting")
    begin_sheet(
        job=job, kind=SheetKind.FITTING, revision=published_list(every_kind()), actor=signed_by(people["owner"])
    )
    return told(people, code=job.code)


def one_item_for_two() -> Scene:
    """A sheet of one hold point that wants a second person, and one item after it."""
    people = cast()
    job = JobFactory(stage="fitting")
    rows = [{"key": "torque", "hold_point": True, "second_person": True}, {"key": "wire"}]
    begin_sheet(job=job, kind=SheetKind.FITTING, revision=published_list(rows), actor=signed_by(people["owner"]))
    return told(people, code=job.code)


def strobe_and_road() -> Scene:
    """A car on the road test: the base timing is to be read once more, a sheet is open, and a run has begun."""
    people = cast()
    job = JobFactory(stage="road-test")
    actor = signed_by(people["mechanic"])
    begin_sheet(job=job, kind=SheetKind.FITTING, revision=published_list([{"key": "fuse"}]), actor=actor)
    session = begin_base_session(job=job, base_deg=8.0, idempotency_key=uuid4(), actor=actor)
    version = MapVersionFactory(job=job)
    run = begin_run(
        job=job,
        version_id=version.pk,
        version_words=str(version),
        route="Quarry hill",
        driver=people["owner"],
        writer=people["mechanic"],
        idempotency_key=uuid4(),
        actor=actor,
    )
    return told(people, code=job.code, session=session.pk, run=run.pk)


def second_car() -> Scene:
    """Another car in the same workshop, with a sheet by the same list."""
    first = JobSheet.objects.get()
    job = JobFactory(stage="fitting")
    begin_sheet(job=job, kind=SheetKind.FITTING, revision=first.revision, actor=signed_by(Staff.objects.first()))
    return {"code": job.code}


def many_sheets() -> Scene:
    """Forty cars with a sheet each, of ticks and measures without any order among them."""
    people = cast()
    rows = [
        {"key": f"item-{n}", "kind": "tick" if n % 2 else "measure", "unit": "" if n % 2 else "V"} for n in range(8)
    ]
    revision = published_list(rows)
    codes = []
    for _ in range(40):
        job = JobFactory(stage="fitting")
        begin_sheet(job=job, kind=SheetKind.FITTING, revision=revision, actor=signed_by(people["owner"]))
        codes.append(job.code)
    return told(people, codes=codes)


def whole_fitting_list() -> Scene:
    """Another car in the same workshop, by the longest list that comes with Crankmark, all its hold points overridden.

    `items` are the last plain ticks of the list: what each of them rests on is all of those hold points.
    """
    owner, second = Staff.objects.get(username="rowan"), Staff.objects.get(username="tam")
    put_in_shipped_lists()
    fitting = TemplateRevision.objects.filter(template__kind=SheetKind.FITTING).annotate(long=Count("items"))
    job = JobFactory(stage="fitting")
    sheet = begin_sheet(
        job=job, kind=SheetKind.FITTING, revision=fitting.order_by("long").last(), actor=signed_by(owner)
    )
    lines = sheet_of(sheet).lines
    for line in lines:
        if not line.item.hold_point:
            continue
        entry = enter(sheet, line.item.key, owner, outcome=Outcome.LET_PASS, note="not looked at")
        if line.item.second_person:
            confirm_entry(entry=entry, id=uuid4(), actor=signed_by(second))
    plain = [line.item for line in lines if line.item.kind == ItemKind.TICK and not line.item.hold_point]
    return {"code": job.code, "items": [item.key for item in plain[-4:]], "hold_points": sheet.entries.count()}


SCENES: dict[str, Callable[[], Scene]] = {
    scene.__name__: scene
    for scene in (
        people_only,
        one_sheet,
        one_item_for_two,
        strobe_and_road,
        second_car,
        many_sheets,
        whole_fitting_list,
    )
}

if __name__ == "__main__":
    with transaction.atomic():
        scene = SCENES[sys.argv[1]]()
    print(json.dumps(scene))
