"""Versions as the pages know them: their addresses, the form of a draft, and one that was changed past the program."""

from django.db import connection
from django.urls import reverse

from jobs.job.actions import choose_unit
from jobs.maps.models import MapVersion
from tests.jobs_factories import FittedUnitFactory

OF_THE_MAPS = ("key-in", "read-back", "keep", "page")


def named(name: str) -> str:
    """The address name of a page of the maps or of the bench."""
    return f"{'maps' if name in OF_THE_MAPS else 'bench'}:{name}"


def address(version: MapVersion, name: str = "version") -> str:
    return reverse(named(name), args=[version.job.code, version.number])


def figures(version: MapVersion, **changed) -> dict[str, object]:
    """The form of a draft as the bench sends it: 8 degrees of base, no advance at 800 rpm, 18 degrees at 3000."""
    return {
        "row_version": version.row_version,
        "base_deg": "8",
        "curve_rpm": ["800", "3000"],
        "curve_deg": ["0", "18"],
        "vacuum_scheme": "none",
        "rev_limit_rpm": "6000",
        **changed,
    }


def fitted_for(version: MapVersion, actor) -> MapVersion:
    """The version with a unit of its type in the car."""
    choose_unit(job=version.job, unit=FittedUnitFactory(revision=version.unit_revision), actor=actor)
    return version


def changed_in_the_database(version: MapVersion) -> MapVersion:
    """The released version with another base, written past the triggers of the database itself."""
    on_table = " ON jobs_mapversion" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER jobs_mapversion_kept_update{on_table}")
        cursor.execute("UPDATE jobs_mapversion SET base_deg = 14 WHERE id = %s", [version.pk])
    version.refresh_from_db()
    return version
