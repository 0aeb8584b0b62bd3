"""Figures that were typed on a device and never stored: under what names it keeps them, what differs in them."""

from dataclasses import dataclass
from typing import Any

from garage.people.models import Staff
from jobs.job.models import Job
from jobs.maps.map_form import MapForm
from jobs.maps.models import MapVersion

ROWS = ("curve", "boost")


def kept_as(person: Staff, job: Job, version: MapVersion) -> str:
    """How the names begin under which a device keeps what `person` typed for this version of `job`."""
    return f"crankmark.bench.{person.pk}.{job.code}.{version.number}."


def carried_as(person: Staff, job: Job, version: MapVersion | None) -> str:
    """The same for what is to be carried over into a version that goes on from this one; blank without one."""
    return f"{kept_as(person, job, version)}next." if version else ""


@dataclass(frozen=True, slots=True)
class TypedCell:
    """A cell whose text differs from the figure that stands: where it is, what stands there, what was typed."""

    where: str
    stands: str
    typed: str


def typed_cells(form: MapForm, standing: MapForm) -> list[TypedCell]:
    """What was typed against what stands, cell by cell: for figures that make no map and cannot be compared as one."""
    stands, typed = _texts(standing), _texts(form)
    return [
        TypedCell(where, stands.get(where, ""), typed.get(where, ""))
        for where in dict.fromkeys([*stands, *typed])
        if stands.get(where, "") != typed.get(where, "")
    ]


def _texts(form: MapForm) -> dict[str, str]:
    """The text of every cell by its words, blank ones left out."""
    found = {
        str(bound.label): _shown(form, bound.name)
        for bound in form.visible_fields()
        if bound.name not in (*ROWS, "vacuum_table", "vacuum_unit", "boost_unit")
    }
    cells = [cell for rows in (form.curve_rows(), form.boost_rows()) for row in rows for cell in row]
    cells += [*form.table_head(), *(cell for head, row in form.table_body() for cell in (head, *row))]
    found |= {cell.label: cell.value for cell in cells}
    return {where: text for where, text in found.items() if text}


def _shown(form: MapForm, name: str) -> str:
    value: Any = form[name].value()
    if isinstance(value, bool) or name == "repeated_sparks":
        return "on" if value else "off"
    choices = dict(getattr(form.fields[name], "choices", ()))
    return str(choices.get(value, "" if value is None else value))
