"""A customer may be forgotten: the guards of the record let words go, and nothing else, while that is done."""

import django.db.models.deletion
import garage.quantities.limits
from django.db import migrations, models

from garage.record.triggers import KeepForEver


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0017_work_in_the_background"),
    ]

    operations = [
        migrations.AddField(
            model_name="customer",
            name="forgotten_at",
            field=models.DateTimeField(blank=True, editable=False, null=True),
        ),
        migrations.AddField(
            model_name="workshop",
            name="keep_bills_years",
            field=models.PositiveSmallIntegerField(
                default=6, validators=[garage.quantities.limits.Between(0, 30, "years")], verbose_name="keep bills for"
            ),
        ),
        migrations.CreateModel(
            name="OpenErasing",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "never_there",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, related_name="+", to="garage.openerasing"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("pk", 1)), name="open_erasing_is_one_row"),
                    models.CheckConstraint(
                        condition=models.Q(("never_there", 2)), name="open_erasing_is_never_committed"
                    ),
                ],
            },
        ),
        KeepForEver("garage_change", erasable=["sentence", "changes", "figures"]),
    ]
