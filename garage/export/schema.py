"""The published schema of the open book: JSON Schema, draft 2020-12, kept beside this file and versioned.

What is written follows the kept schema and nothing else: a column that a later migration adds is not in the open book
until somebody has looked at it and published the schema again (`manage.py export_book --schema`). A test asks for it.
"""

import json
from functools import cache
from pathlib import Path
from typing import Any

from django.db import models

from garage.export.tables import book_fields, book_models
from garage.people.models import Staff
from garage.rota.models import WEEKDAYS

VERSION = 1
FILE = Path(__file__).parent / f"book-{VERSION}.schema.json"
NAME = f"schema/book-{VERSION}.schema.json"

# The unit of a figure stands at the end of its name,
UNITS = {
    "deg": "degrees",
    "rpm": "revolutions per minute",
    "kpa": "kPa",
    "mm": "mm",
    "m": "m",
    "km": "km",
    "ms": "ms",
    "s": "s",
    "min": "min",
    "nm": "N m",
    "ohm": "ohm",
    "mh": "mH",
    "w": "W",
    "c": "degrees Celsius",
    "percent": "percent",
    "months": "months",
    "years": "years",
    "volts": "V",
    "ron": "research octane number",
}
# or in the column beside it,
BESIDE = {
    "jobs_job.odometer": "odometer_unit",
    "jobs_entry.measure": "unit",
    "jobs_entry.beside": "unit",
    "jobs_confirmation.measure": "unit",
    "jobs_confirmation.beside": "unit",
    "jobs_checklistitem.low": "unit",
    "jobs_checklistitem.high": "unit",
    "jobs_checklistitem.note_above": "unit",
}
# or is said here.
SAID = {
    "garage_arrival.row_count": "rows",
    "garage_arrival.left_out": "rows",
    "garage_arrival.customers_made": "customers",
    "garage_arrival.cars_made": "cars",
    "garage_arrival.filled": "customers and cars",
    "garage_distributor.dwell_deg": "degrees of the distributor",
    "garage_distributor.capsule_full_deg": "degrees of the distributor",
    "garage_distributor.factory_band": "rows of distributor rpm, least and greatest degrees of the distributor",
    **{f"garage_workingweek.{name}": "hours" for name in WEEKDAYS},
    "garage_workshop.hourly_rate": "the workshop's currency an hour",
    "jobs_costline.unit_price": "the workshop's currency",
    "jobs_usualhours.hours": "hours",
    "jobs_costline.quantity": "hours, or pieces of a part",
    "garage_workshop.days_to_pay": "days",
    "garage_pricedpart.unit_price": "the workshop's currency",
    "jobs_roadlog.size": "bytes",
    "jobs_roadlog.bytes_read": "bytes",
    "jobs_roadlog.rows_read": "rows",
    "jobs_roadlog.rows_bad": "rows",
    "jobs_roadlog.tries": "tries",
    "jobs_roadlog.knock_limit": "as the logger shows it",
    "jobs_columnset.knock_limit": "as the logger shows it",
    "jobs_bill.net": "the currency of the row",
    "jobs_bill.vat": "the currency of the row",
    "jobs_bill.gross": "the currency of the row",
    "jobs_billline.quantity": "hours, or pieces of a part",
    "jobs_billline.unit_price": "the currency of the bill",
    "jobs_billline.amount": "the currency of the bill",
    "jobs_billratesum.net": "the currency of the bill",
    "jobs_billratesum.vat": "the currency of the bill",
    "jobs_payment.amount": "the currency of the bill",
    "garage_pricedpart.low_mark": "pieces",
    "garage_stockmove.quantity": "pieces, below nought out of stock",
    "garage_unittype.low_mark": "units on the shelf",
    "garage_workshop.quote_days": "days",
    "garage_workshop.beyond_quote_percent": "%",
    "garage_workshop.timer_hours": "hours",
    "garage_workshop.pin_tries": "tries",
    "jobs_quote.net": "the currency of the row",
    "jobs_quote.vat": "the currency of the row",
    "jobs_quote.gross": "the currency of the row",
    "jobs_quoteline.quantity": "hours, or pieces of a part",
    "jobs_quoteline.unit_price": "the currency of the quote",
    "jobs_quoteline.amount": "the currency of the quote",
    "jobs_usualpart.quantity": "pieces",
    "jobs_bookingphotograph.width": "pixels",
    "jobs_bookingphotograph.height": "pixels",
    "jobs_photograph.width": "pixels",
    "jobs_photograph.height": "pixels",
    "jobs_mapversion.curve": "rows of crank rpm and degrees of the crank",
}


def generated() -> dict[str, Any]:
    """The schema that the models of this release would have."""
    tables = {model._meta.db_table: _of_table(model) for model in book_models()}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:crankmark:book:{VERSION}",
        "title": "A workshop's book of record as open files",
        "description": "Each file tables/NAME.json is a list of rows of the definition NAME.",
        "$defs": {name: {"type": "array", "items": rows} for name, rows in tables.items()},
    }


def _of_table(model: type[models.Model]) -> dict[str, Any]:
    table = model._meta.db_table
    properties = {field.attname: _of_field(table, field) for field in book_fields(model)}
    if model is Staff:
        properties["roles"] = {"type": "array", "items": {"type": "string"}}
    return {
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def _of_field(table: str, field: models.Field) -> dict[str, Any]:
    plain = _plain(field.target_field if isinstance(field, models.ForeignKey) else field)
    if field.null and "type" in plain:
        plain["type"] = [plain["type"], "null"]
    if isinstance(field, models.ForeignKey):
        plain["description"] = f"{field.target_field.attname} of a row of {field.target_field.model._meta.db_table}"
    name = f"{table}.{field.attname}"
    if name in BESIDE:
        plain["unitIn"] = BESIDE[name]
    elif unit := SAID.get(name) or (_is_figure(field) and UNITS.get(field.attname.rsplit("_", 1)[-1])):
        plain["unit"] = unit
    return plain


def _is_figure(field: models.Field) -> bool:
    return isinstance(field, models.FloatField | models.IntegerField | models.DecimalField)


def _plain(field: models.Field) -> dict[str, Any]:
    if isinstance(field, models.BooleanField):
        return {"type": "boolean"}
    if isinstance(field, models.IntegerField):
        return {"type": "integer"}
    if isinstance(field, models.FloatField):
        return {"type": "number"}
    if isinstance(field, models.DecimalField):
        return {"type": "string", "pattern": r"^-?\d+(\.\d+)?$"}
    if isinstance(field, models.DateTimeField):
        return {"type": "string", "format": "date-time"}
    if isinstance(field, models.DateField):
        return {"type": "string", "format": "date"}
    if isinstance(field, models.UUIDField):
        return {"type": "string", "format": "uuid"}
    if isinstance(field, models.JSONField):
        return {"description": "any JSON value"}
    if isinstance(field, models.FileField):
        return {"type": "string", "description": "a file below files/; empty where there is none"}
    return {"type": "string"}


@cache
def published() -> dict[str, Any]:
    """The schema that goes out with the book."""
    schema: dict[str, Any] = json.loads(FILE.read_text(encoding="utf-8"))
    return schema


def columns_of(table: str) -> list[str]:
    """The published columns of `table`, in their order."""
    return list(published()["$defs"][table]["items"]["properties"])
