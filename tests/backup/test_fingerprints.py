"""The fingerprint of a table is the same for the same rows, and another for any other."""

import uuid
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

import pytest
from django.contrib.auth.models import Group

from garage.backup.fingerprints import _hash, fingerprint, models_of_the_book, tables_of_nobody

MOMENT = datetime(2026, 3, 4, 2, 0, tzinfo=UTC)
ID = uuid.UUID("12345678123456781234567812345678")


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (MOMENT, MOMENT.astimezone(timezone(timedelta(hours=5)))),
        (Decimal("9.10"), Decimal("9.1")),
        ({"a": 1, "b": [2]}, {"b": [2], "a": 1}),
        ({"rpm": 1e16}, {"rpm": 10**16}),
        ([-0.0], [0]),
        (b"x", memoryview(b"x")),
    ],
)
def test_the_same_value_out_of_two_databases_is_the_same(one, other):
    assert _hash((one,)) == _hash((other,))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (None, ""), (None, False), ("1", 1), (1.0, 1.0000000000000002), (MOMENT, MOMENT + timedelta(microseconds=1)),
        (Decimal("9.1"), Decimal("9.11")), ({"a": True}, {"a": 1}), ({"a": None}, {}), ([1, 2], [2, 1]),
        (ID, ID.hex), ("x", b"x"), ("a", "A"), ("é", "e\u0301"),
    ],
)  # fmt: skip
def test_another_value_is_another(one, other):
    assert _hash((one,)) != _hash((other,))


def test_rows_count_in_any_order_and_each_counts(db):
    Group.objects.all().delete()
    seen = {fingerprint(Group, "default")}
    first = Group.objects.create(name="a")
    seen.add(fingerprint(Group, "default"))
    Group.objects.create(name="b")
    both = fingerprint(Group, "default")
    seen.add(both)
    first.name = "c"
    first.save()
    seen.add(fingerprint(Group, "default"))
    assert len(seen) == 4
    assert both[0] == 2


def test_every_table_of_the_database_is_looked_at(db):
    assert tables_of_nobody("default") == []
    assert len(models_of_the_book()) > 40
