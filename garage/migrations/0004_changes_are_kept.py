"""Who changed what of the things of the house, kept for ever; and the distributor's figures by their names."""

import django.db.models.deletion
import garage.quantities.limits
from django.conf import settings
from django.db import migrations, models

from garage.record.triggers import KeepForEver


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0003_the_record_is_kept"),
    ]

    operations = [
        migrations.AlterField(
            model_name="distributor",
            name="capsule_full_deg",
            field=models.FloatField(
                blank=True,
                null=True,
                validators=[garage.quantities.limits.Between(0, 25, "distributor degrees")],
                verbose_name="capsule gives when full",
            ),
        ),
        migrations.AlterField(
            model_name="distributor",
            name="capsule_full_kpa",
            field=models.FloatField(
                blank=True,
                null=True,
                validators=[garage.quantities.limits.Between(0, 95, "kPa")],
                verbose_name="capsule full at [kPa]",
            ),
        ),
        migrations.AlterField(
            model_name="distributor",
            name="capsule_start_kpa",
            field=models.FloatField(
                blank=True,
                null=True,
                validators=[garage.quantities.limits.Between(0, 90, "kPa")],
                verbose_name="capsule begins at [kPa]",
            ),
        ),
        migrations.AlterField(
            model_name="distributor",
            name="rotor_tip_radius_mm",
            field=models.FloatField(
                blank=True,
                null=True,
                validators=[garage.quantities.limits.Between(5, 60, "mm")],
                verbose_name="rotor tip radius",
            ),
        ),
        migrations.AlterField(
            model_name="distributor",
            name="rotor_tip_width_mm",
            field=models.FloatField(
                blank=True,
                null=True,
                validators=[garage.quantities.limits.Between(1, 30, "mm")],
                verbose_name="rotor tip width",
            ),
        ),
        migrations.CreateModel(
            name="Change",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("thing_kind", models.CharField(max_length=20)),
                ("thing", models.PositiveBigIntegerField()),
                ("at", models.DateTimeField()),
                ("fields", models.JSONField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "device",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="garage.device"
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-pk"],
                "indexes": [models.Index(fields=["thing_kind", "thing"], name="changes_of_one_thing")],
            },
        ),
        KeepForEver("garage_change"),
    ]
