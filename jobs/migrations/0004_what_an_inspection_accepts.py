"""A verdict keeps what had failed and was accepted, and how the customer was told."""

from django.db import migrations, models

from garage.record.triggers import KeepForEver


class Migration(migrations.Migration):
    dependencies = [("jobs", "0003_standard_names")]
    operations = [
        migrations.AddField("inspectionverdict", "decided", models.JSONField(blank=True, default=list)),
        migrations.AddField(
            "inspectionverdict", "customer_told", models.CharField(blank=True, default="", max_length=300),
            preserve_default=False,
        ),
        # SQLite rebuilds the table for it, and drops its triggers.
        KeepForEver("jobs_inspectionverdict"),
    ]  # fmt: skip
