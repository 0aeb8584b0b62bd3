"""How the check-lists that come along get into a workshop, and how newer editions of them do."""

import io
import uuid
from dataclasses import replace

import pytest
from django.db import DatabaseError, transaction

from jobs.checklists import queries, readers, shipped
from jobs.checklists.actions import begin_sheet, record_photograph
from jobs.checklists.car_facts import CAR_FACTS
from jobs.checklists.measuring import beside_of
from jobs.checklists.models import ChecklistItem, ChecklistTemplate, Correction, ItemKind, SheetKind, TemplateRevision
from jobs.checklists.photographs import prepared
from jobs.checklists.readers import Found
from jobs.checklists.second_check_actions import confirm_entry
from jobs.checklists.sheet import sheet_of
from jobs.checklists.shipped import waiting_to_be_put_in
from jobs.checklists.shipped.spec import Section, ShippedList
from tests.checklists.along import BREAKER, ELECTRONIC, INSPECTION, LISTS
from tests.checklists.factories import enter, photograph, put_in_shipped_lists, signed_by
from tests.factories import JobFactory


@pytest.mark.django_db
class TestPutIn:
    def test_what_is_put_in_is_what_was_written(self):
        put_in_shipped_lists()
        for listed in LISTS.values():
            items = ChecklistTemplate.objects.get(shipped_key=listed.key).revisions.get().items.all()
            assert [(one.key, one.text, one.low, one.high) for one in items] == [
                (one.key, one.text, one.low, one.high) for one in listed.items
            ]

    @pytest.mark.parametrize(
        ("trigger", "first"),
        [("contact breaker", BREAKER), ("hall", ELECTRONIC), ("optical", ELECTRONIC), ("inductive", ELECTRONIC)],
    )
    def test_the_list_for_the_cars_trigger_is_offered_first(self, trigger, first):
        put_in_shipped_lists()
        job = JobFactory()
        job.vehicle.distributor.trigger = trigger
        (revision, suits), *others = queries.suitable_revisions(job, SheetKind.FITTING)
        assert (revision.template.shipped_key, suits) == (first, True)
        assert not any(suits for _, suits in others)

    def test_a_newer_edition_leaves_the_published_one_and_the_job_that_works_by_it_as_they_are(
        self, monkeypatch, mechanic
    ):
        put_in_shipped_lists()
        template = ChecklistTemplate.objects.get(shipped_key=BREAKER)
        old = template.revisions.get()
        before = list(old.items.values())
        sheet = begin_sheet(
            job=JobFactory(stage="fitting"), kind=SheetKind.FITTING, revision=old, actor=signed_by(mechanic)
        )
        enter(sheet, "unit-matches-card", mechanic)
        monkeypatch.setattr(shipped, "shipped_lists", lambda: [reworded(LISTS[BREAKER])])
        assert put_in_shipped_lists() == [template]
        assert put_in_shipped_lists() == []
        newest, oldest = template.revisions.all()
        assert (newest.number, newest.items.get(key="shaft-oiled").text) == (2, "Shaft oiled")
        assert list(oldest.items.values()) == before
        sheet.refresh_from_db()
        assert sheet.revision == oldest
        assert queries.newer_revision(sheet) == newest

    def test_a_newer_edition_is_offered_until_it_is_put_in(self, monkeypatch):
        assert len(waiting_to_be_put_in()) == len(LISTS)
        put_in_shipped_lists()
        assert waiting_to_be_put_in() == []
        monkeypatch.setattr(shipped, "shipped_lists", lambda: [reworded(LISTS[BREAKER])])
        assert waiting_to_be_put_in() == [f"{LISTS[BREAKER].name}: new edition"]
        put_in_shipped_lists()
        assert waiting_to_be_put_in() == []

    def test_the_database_refuses_to_change_an_item_of_what_was_put_in(self):
        put_in_shipped_lists()
        one = ChecklistItem.objects.filter(high=0.5).first()
        one.high = 5.0
        with pytest.raises(DatabaseError), transaction.atomic():
            one.save()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("of", "kind", "volts", "polarity", "trigger", "cylinders", "tachometer"),
    [
        (INSPECTION, SheetKind.INSPECTION, 12, "negative", "contact breaker", 8, "coil current"),
        (BREAKER, SheetKind.FITTING, 6, "positive", "contact breaker", 2, "none"),
        (ELECTRONIC, SheetKind.FITTING, 12, "negative", "inductive", 6, "coil voltage"),
    ],
)
def test_a_whole_sheet_is_filled_from_top_to_bottom_and_then_wants_nothing(
    of, kind, volts, polarity, trigger, cylinders, tachometer, mechanic, second_mechanic, monkeypatch
):
    put_in_shipped_lists()
    job = JobFactory(
        stage=kind, vehicle__system_volts=volts, vehicle__earth_polarity=polarity, vehicle__tachometer=tachometer
    )
    vehicle = job.vehicle
    vehicle.engine.cylinders, vehicle.distributor.trigger, vehicle.coil.has_ballast = cylinders, trigger, True
    # what the record says is what is found: everything is held against it
    vehicle.engine.firing_order = "-".join(map(str, range(1, cylinders + 1)))
    vehicle.engine.red_line_rpm, vehicle.distributor.rotation = 5000, "clockwise"
    vehicle.coil.has_bypass, vehicle.coil.primary_ohm, vehicle.coil.ballast_ohm = True, 1.0, 1.0
    vehicle.charging, vehicle.distributor.has_rotor = "dynamo", True
    vehicle.save()
    for part in (vehicle.engine, vehicle.distributor, vehicle.coil):
        part.save()
    revision = TemplateRevision.objects.get(template__shipped_key=of)
    sheet = begin_sheet(job=job, kind=kind, revision=revision, actor=signed_by(mechanic))
    monkeypatch.setattr(readers, "read", lambda key, job: Found(is_done=True, text="read", url="", link=""))
    for line in sheet_of(sheet).lines:
        if line.item.kind != ItemKind.READING:
            fill(sheet, line.item, mechanic, second_mechanic)
    done = queries.sheet_progress(job, kind)
    assert done.missing == []
    assert done.done == done.total >= 40


def fill(sheet, item, mechanic, second_mechanic):
    """Enter for `item` what a sound car gives, and let a second person look where one is wanted."""
    match item.kind:
        case ItemKind.PHOTO:
            record_photograph(
                sheet=sheet, key=item.key, id=uuid.uuid4(), entry_id=uuid.uuid4(), actor=signed_by(mechanic),
                picture=prepared(io.BytesIO(photograph(64, 48))),
            )  # fmt: skip
            return
        case ItemKind.MEASURE:
            sound = next((end for end in (item.low, item.high) if end is not None), 1.0)
            value = {"measure": 5000 if item.key == "red-line" else sound, "unit": item.unit}
            if beside_of(item):
                value["beside"] = 20.0 if item.correction != Correction.PER_METRE else 0.5
            if item.correction == Correction.FROM_IDLE:
                value["measure"] = 20.0
        case ItemKind.CHOICE:
            value = {"choice": as_recorded(item, sheet.job.vehicle) or (item.good_choices or item.choices)[0]}
        case ItemKind.TEXT:
            value = {"text": sheet.job.vehicle.engine.firing_order if item.car_fact else "as found"}
        case _:
            value = {}
    entry = enter(sheet, item.key, mechanic, **value)
    if item.second_person:
        confirm_entry(entry=entry, id=uuid.uuid4(), actor=signed_by(second_mechanic))


def as_recorded(item, vehicle):
    """The choice that says what the car's record says."""
    fact = CAR_FACTS.get(item.car_fact)
    return fact and next(choice for choice in item.choices if fact.values.get(choice) == fact.recorded(vehicle))


def reworded(listed: ShippedList) -> ShippedList:
    """`listed` as a later Crankmark might bring it: one item in other words."""
    sections = tuple(
        Section(
            section.title,
            tuple(replace(one, text="Shaft oiled") if one.key == "shaft-oiled" else one for one in section.items),
        )
        for section in listed.sections
    )
    return replace(listed, sections=sections)
