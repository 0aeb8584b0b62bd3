"""How the check-lists that come along get into a workshop, and how newer editions of them do."""

from dataclasses import replace

import pytest
from django.db import DatabaseError, transaction

from jobs.fitting import queries, shipped
from jobs.fitting.actions import begin_sheet
from jobs.fitting.models import ChecklistItem, ChecklistTemplate, SheetKind
from jobs.fitting.shipped import install_shipped_templates
from jobs.fitting.shipped.spec import Section, ShippedList
from tests.factories import JobFactory
from tests.fitting.along import BREAKER, ELECTRONIC, LISTS
from tests.fitting.factories import enter, signed_by


@pytest.mark.django_db
class TestPutIn:
    def test_what_is_put_in_is_what_was_written(self):
        install_shipped_templates()
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
        install_shipped_templates()
        job = JobFactory()
        job.vehicle.distributor.trigger = trigger
        (revision, suits), *others = queries.suitable_revisions(job, SheetKind.FITTING)
        assert (revision.template.shipped_key, suits) == (first, True)
        assert not any(suits for _, suits in others)

    def test_a_newer_edition_leaves_the_published_one_and_the_job_that_works_by_it_as_they_are(
        self, monkeypatch, mechanic
    ):
        install_shipped_templates()
        template = ChecklistTemplate.objects.get(shipped_key=BREAKER)
        old = template.revisions.get()
        before = list(old.items.values())
        sheet = begin_sheet(
            job=JobFactory(stage="fitting"), kind=SheetKind.FITTING, revision=old, signed=signed_by(mechanic)
        )
        enter(sheet, "unit-matches-card", mechanic)
        monkeypatch.setattr(shipped, "shipped_lists", lambda: [reworded(LISTS[BREAKER])])
        assert install_shipped_templates() == [template]
        assert install_shipped_templates() == []
        newest, oldest = template.revisions.all()
        assert (newest.number, newest.items.get(key="shaft-oiled").text) == (2, "Shaft oiled")
        assert list(oldest.items.values()) == before
        sheet.refresh_from_db()
        assert sheet.revision == oldest
        assert queries.newer_revision(sheet) == newest

    def test_the_database_refuses_to_change_an_item_of_what_was_put_in(self):
        install_shipped_templates()
        one = ChecklistItem.objects.filter(high=0.5).first()
        one.high = 5.0
        with pytest.raises(DatabaseError), transaction.atomic():
            one.save()


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
