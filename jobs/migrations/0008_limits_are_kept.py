"""What was judged keeps the limits it was judged by.

Until now a proof was judged by the workshop's settings of the day it was looked at, and nobody wrote down what they had
been. Every old row gets those in force now, at this migration: from here on no change of a setting touches it.
"""

import garage.quantities.limits
from django.db import migrations, models

from garage.record.triggers import KeepForEver, LetChange

TABLES = [
    "jobs_strobesitting",
    "jobs_clampcheck",
    "jobs_markcheck",
    "jobs_compressionreading",
    "jobs_inspectionverdict",
]


def degrees(highest: float) -> models.FloatField:
    return models.FloatField(default=1.0, validators=[garage.quantities.limits.Between(0.1, highest, "degrees")])


def percent() -> models.FloatField:
    return models.FloatField(default=15.0, validators=[garage.quantities.limits.Between(1, 50, "%")])


def settings_of_today(apps, schema_editor):
    """The settings of the workshop; before one was set up there is nothing to fill."""
    workshop = apps.get_model("garage", "Workshop").objects.first()
    if workshop is None:
        return
    for model, columns in {
        "StrobeSession": {"tolerance_deg": workshop.strobe_tolerance_deg},
        "ClampCheck": {"tolerance_deg": workshop.clamp_tolerance_deg},
        "MarkCheck": {"tolerance_deg": workshop.mark_tolerance_deg},
        "CompressionReading": {
            "altitude_m": workshop.altitude_m,
            "allowed_spread_percent": workshop.compression_spread_percent,
        },
        "InspectionVerdict": {
            "mark_tolerance_deg": workshop.mark_tolerance_deg,
            "compression_spread_percent": workshop.compression_spread_percent,
            "least_sweep_speeds": workshop.least_sweep_speeds,
        },
    }.items():
        apps.get_model("jobs", model).objects.update(**columns)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0007_hash_covers_the_unit"), ("garage", "0007_one_trail")]
    operations = [
        *(LetChange(table) for table in TABLES),
        migrations.AddField("strobesession", "tolerance_deg", degrees(5), preserve_default=False),
        migrations.AddField("clampcheck", "tolerance_deg", degrees(3), preserve_default=False),
        migrations.AddField("markcheck", "tolerance_deg", degrees(5), preserve_default=False),
        migrations.AddField(
            "compressionreading",
            "altitude_m",
            models.FloatField(default=0.0, validators=[garage.quantities.limits.Between(-400, 5000, "m")]),
            preserve_default=False,
        ),
        migrations.AddField("compressionreading", "allowed_spread_percent", percent(), preserve_default=False),
        migrations.AddField("inspectionverdict", "mark_tolerance_deg", degrees(5), preserve_default=False),
        migrations.AddField("inspectionverdict", "compression_spread_percent", percent(), preserve_default=False),
        migrations.AddField(
            "inspectionverdict",
            "least_sweep_speeds",
            models.PositiveSmallIntegerField(default=6, validators=[garage.quantities.limits.Between(4, 30)]),
            preserve_default=False,
        ),
        migrations.RunPython(settings_of_today, migrations.RunPython.noop),
        *(KeepForEver(table) for table in TABLES),
    ]
