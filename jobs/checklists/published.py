"""The items of published lists. The database itself refuses to change them, so each process reads them once.

A sheet goes by published lists only. Of a list that is still being written, the editor asks the database.
"""

from collections.abc import Iterable

from jobs.checklists.models import ChecklistItem, Entry

_items: dict[int, ChecklistItem] = {}
_lists: dict[int, tuple[ChecklistItem, ...]] = {}


def items_of(revision_id: int) -> tuple[ChecklistItem, ...]:
    """The items of a published revision, in their order. Everybody gets the same ones: nobody writes to them."""
    if revision_id not in _lists:
        _lists[revision_id] = items = tuple(ChecklistItem.objects.filter(revision=revision_id))
        _items.update({item.pk: item for item in items})
    return _lists[revision_id]


def give_items(entries: Iterable[Entry]) -> None:
    """Each entry its item. Those of a list that no sheet goes by any more are read by one question for all."""
    entries = list(entries)
    missing = {entry.item_id for entry in entries} - _items.keys()
    if missing:
        _items.update(ChecklistItem.objects.in_bulk(missing))
    for entry in entries:
        entry.item = _items[entry.item_id]


def forget() -> None:
    """Know none of them, for tests: those begin again and again with an empty database."""
    _items.clear()
    _lists.clear()
