from django.db import migrations

from garage.finding.kept import KeepFindable
from garage.finding.layout import LayFindable


class Migration(migrations.Migration):
    """One box finds what the garage knows: people, cars and their parts, units, and what happened on jobs."""

    dependencies = [("garage", "0020_lists_in_order")]

    operations = [
        LayFindable(),
        KeepFindable(
            "garage_customer",
            room="customers",
            kind="customer",
            words=["name", "email", "address", "notes"],
            numbers=["phone"],
            when="{row}.forgotten_at IS NULL",
        ),
        KeepFindable(
            "garage_vehicle",
            room="cars",
            kind="vehicle",
            words=["maker", "model", "notes"],
            numbers=["registration", "chassis_number"],
        ),
        KeepFindable("garage_engine", room="cars", kind="engine", words=["family"], numbers=["number"]),
        KeepFindable("garage_distributor", room="cars", kind="distributor", numbers=["number"]),
        KeepFindable(
            "garage_fittedunit",
            room="units",
            kind="fittedunit",
            words=["notes"],
            numbers=["serial_number", "firmware", "batch"],
        ),
        KeepFindable("garage_unittype", room="units", kind="unittype", words=["name"]),
        KeepFindable(
            "garage_change", room="journal", kind="trailentry", words=["sentence"], when="{row}.job_id IS NOT NULL"
        ),
    ]
