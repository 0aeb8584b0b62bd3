"""What a table holds, as one number: equal on two databases exactly if every row is equal on both."""

import hashlib
import json
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db import connections, models
from django.db.migrations.recorder import MigrationRecorder

from garage.finding.layout import is_part_of_the_index

Row = tuple[Any, ...]


def models_of_the_book() -> list[type[models.Model]]:
    """One for every table of this release, those between two others and the list of migrations included."""
    migrations: type[models.Model] = MigrationRecorder.Migration
    found = [*apps.get_models(include_auto_created=True), migrations]
    tables = {model._meta.db_table: model for model in found if model._meta.managed and not model._meta.proxy}
    return list(tables.values())


def columns_of(model: type[models.Model]) -> "list[models.Field[Any, Any]]":
    return [field for field in model._meta.local_concrete_fields if not getattr(field, "generated", False)]


def fingerprint(model: type[models.Model], database: str) -> tuple[int, str]:
    """How many rows the table of `model` has in `database`, and a SHA-256 over all of them in no order of their own.

    The two kinds of database sort text differently: so it is the rows' hashes that are sorted.
    """
    names = [field.attname for field in columns_of(model)]
    rows = model._base_manager.using(database).order_by().values_list(*names)
    hashes = sorted(_hash(row) for row in rows.iterator(chunk_size=2000))
    return len(hashes), hashlib.sha256(b"".join(hashes)).hexdigest()


def tables_of_nobody(database: str) -> list[str]:
    """Tables in `database` that belong to no part of this release. The index of the search is made from the others."""
    ours = {model._meta.db_table for model in models_of_the_book()}
    there = set(connections[database].introspection.table_names())
    return sorted(table for table in there - ours if not is_part_of_the_index(table))


def _hash(row: Row) -> bytes:
    return hashlib.sha256(json.dumps([_canonical(value) for value in row]).encode("utf-8", "surrogatepass")).digest()


def _canonical(value: Any) -> Any:
    """The same text for the same value, whichever database it comes out of; its kind stands with it."""
    match value:
        case None | bool() | int() | str():
            return value
        case float():
            return ["float", value.hex()]
        case Decimal():
            return ["decimal", _number(value)]
        case datetime():
            return ["moment", value.astimezone(UTC).isoformat()]
        case date() | time():
            return ["date", value.isoformat()]
        case timedelta():
            return ["span", value.total_seconds()]
        case UUID():
            return ["id", value.hex]
        case bytes() | memoryview():
            return ["bytes", bytes(value).hex()]
        case dict() | list():
            return ["json", json.dumps(_canonical_json(value), sort_keys=True)]
    raise TypeError(f"no canonical form of {type(value).__name__}")


def _canonical_json(value: Any) -> Any:
    """PostgreSQL keeps the numbers of JSON as decimals: 1e16 comes back as a whole number, and -0.0 as 0."""
    match value:
        case dict():
            return {name: _canonical_json(inner) for name, inner in value.items()}
        case list():
            return [_canonical_json(inner) for inner in value]
        case bool():
            return value
        case int() | float():
            return ["number", _number(Decimal(repr(value)))]
    return value


def _number(value: Decimal) -> str:
    return "0" if value == 0 else str(value.normalize())
