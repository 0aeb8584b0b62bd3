"""The rows of a table as JSON values and back, in one form of writing, so that equal rows have equal hashes."""

import hashlib
import json
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import connection, models

from garage.export.schema import columns_of, published
from garage.export.tables import book_models
from garage.people.models import Staff

AT_ONCE = 1000
Row = dict[str, Any]


def published_models() -> list[type[models.Model]]:
    return [model for model in book_models() if model._meta.db_table in published()["$defs"]]


@contextmanager
def one_moment() -> Iterator[None]:
    """Within this all that is read is of one moment, and nobody who writes waits for it."""
    if connection.in_atomic_block:  # of one moment already
        yield
        return
    # Django's own transactions would take the right to write with them.
    begin = "BEGIN DEFERRED" if connection.vendor == "sqlite" else "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"
    with connection.cursor() as cursor:
        cursor.execute(begin)
        try:
            yield
        finally:
            cursor.execute("COMMIT")


def rows_of(model: type[models.Model]) -> Iterator[Row]:
    """The published columns of every row of `model`, as JSON values, in the order of its keys."""
    columns = columns_of(model._meta.db_table)
    stored = [name for name in columns if name != "roles" or model is not Staff]
    fields = {field.attname: field for field in model._meta.concrete_fields}
    roles = _roles() if model is Staff else {}
    found = model._base_manager.order_by("pk").values_list("pk", *stored)
    for pk, *values in found.iterator(chunk_size=AT_ONCE):
        row = {name: _as_json(fields[name], value) for name, value in zip(stored, values, strict=True)}
        if model is Staff:
            row["roles"] = roles.get(pk, [])
        yield row


def _roles() -> dict[int, list[str]]:
    found: dict[int, list[str]] = {}
    for pk, role in Staff.objects.exclude(groups=None).order_by("groups__name").values_list("pk", "groups__name"):
        found.setdefault(pk, []).append(role)
    return found


def _as_json(field: models.Field, value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")
    if isinstance(value, Decimal):
        return f"{value:.{field.decimal_places}f}"  # type: ignore[attr-defined]
    if isinstance(value, date | UUID):
        return str(value)
    return float(value) if isinstance(field, models.FloatField) and value is not None else value


def made_from(model: type[models.Model], row: Row) -> models.Model:
    """What `row` says, not saved yet.

    Raises
    ------
    django.core.exceptions.ValidationError
        If a value is none of its column.
    """
    fields = {field.attname: field for field in model._meta.concrete_fields}
    values = {}
    for name in columns_of(model._meta.db_table):
        if name in fields and name in row:
            field = fields[name]
            told = field.target_field if isinstance(field, models.ForeignKey) else field
            values[name] = row[name] if isinstance(field, models.FileField) else told.to_python(row[name])
    return model(**values)


def line_of(row: Row) -> str:
    """`row` in the one form in which it is written and hashed."""
    return json.dumps(row, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def hash_of(lines: Iterable[str]) -> tuple[int, str]:
    """How many `lines` there are, and the SHA-256 of them all."""
    count, digest = 0, hashlib.sha256()
    for line in lines:
        count += 1
        digest.update(line.encode() + b"\n")
    return count, digest.hexdigest()


def hash_of_table(model: type[models.Model]) -> tuple[int, str]:
    return hash_of(line_of(row) for row in rows_of(model))
