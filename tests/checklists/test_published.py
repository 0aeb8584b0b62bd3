"""The items of a published list are read once by each process: they never change."""

import pytest

from jobs.checklists import published
from jobs.checklists.actions import move_to_revision
from jobs.checklists.models import ChecklistItem, Entry, ItemKind
from jobs.checklists.sheet import sheet_of
from tests.checklists.factories import enter, published_list, published_revision, sheet_with, signed_by

pytestmark = pytest.mark.django_db


def test_the_items_come_in_the_order_of_their_list():
    revision = published_list([])
    for position, key in [(3, "coil"), (1, "fuse"), (2, "strap")]:
        ChecklistItem.objects.create(revision=revision, position=position, key=key, text=key, kind=ItemKind.TICK)
    assert [item.key for item in published.items_of(revision.pk)] == ["fuse", "strap", "coil"]


def test_a_list_that_was_read_is_not_asked_for_again(django_assert_num_queries):
    revision = published_list([{"key": "fuse"}, {"key": "strap"}])
    first = published.items_of(revision.pk)
    with django_assert_num_queries(0):
        assert published.items_of(revision.pk) == first


def test_entries_of_earlier_lists_are_given_their_items_by_one_question(mechanic, django_assert_num_queries):
    sheet = sheet_with([{"key": "fuse"}, {"key": "strap"}], person=mechanic)
    for key in ("fuse", "strap"):
        enter(sheet, key, mechanic)
    published.forget()
    entries = list(Entry.objects.all())
    with django_assert_num_queries(1):
        published.give_items(entries)
        published.give_items(entries)
    assert {entry.item.key for entry in entries} == {"fuse", "strap"}


def test_a_sheet_that_moved_to_a_newer_list_shows_the_newer_words_and_keeps_what_was_entered(mechanic):
    sheet = sheet_with([{"key": "fuse", "text": "Fuse fitted"}], person=mechanic)
    enter(sheet, "fuse", mechanic)
    sheet_of(sheet)
    newer = published_revision(
        sheet.revision.template, [{"key": "fuse", "text": "Fuse fitted, 5 A"}], sheet.revision.number + 1
    )
    moved = move_to_revision(sheet=sheet, revision=newer, actor=signed_by(mechanic))
    [line] = sheet_of(moved).lines
    assert (line.item.text, line.current.item.text) == ("Fuse fitted, 5 A", "Fuse fitted")
