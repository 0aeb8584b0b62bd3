"""What is counted in stock, and what the workshop says about quotes."""

import django.db.models.deletion
import garage.quantities.limits
from django.conf import settings
from django.db import migrations, models

from garage.record.triggers import KeepForEver


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0025_suggested_retard"),
    ]

    operations = [
        migrations.AddField(
            model_name="pricedpart",
            name="counted",
            field=models.BooleanField(default=False, verbose_name="counted in stock"),
        ),
        migrations.AddField(
            model_name="pricedpart",
            name="low_mark",
            field=models.DecimalField(blank=True, decimal_places=2, max_digits=8, null=True, verbose_name="low at"),
        ),
        migrations.AddField(
            model_name="unittype",
            name="low_mark",
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="low at"),
        ),
        migrations.AddField(
            model_name="workshop",
            name="beyond_quote_percent",
            field=models.PositiveSmallIntegerField(
                default=10,
                validators=[garage.quantities.limits.Between(0, 100, "%")],
                verbose_name="ask before a bill goes beyond the quote by",
            ),
        ),
        migrations.AddField(
            model_name="workshop",
            name="country",
            field=models.CharField(blank=True, max_length=2),
        ),
        migrations.AddField(
            model_name="workshop",
            name="quote_days",
            field=models.PositiveSmallIntegerField(
                default=30,
                validators=[garage.quantities.limits.Between(1, 365, "days")],
                verbose_name="quotes are valid for",
            ),
        ),
        migrations.CreateModel(
            name="StockMove",
            fields=[
                ("id", models.UUIDField(editable=False, primary_key=True, serialize=False)),
                ("made_at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                ("withdrawn", models.BooleanField(default=False)),
                (
                    "kind",
                    models.CharField(
                        choices=[("in", "bought in"), ("used", "used on a job"), ("counted", "counted")], max_length=8
                    ),
                ),
                ("quantity", models.DecimalField(decimal_places=2, max_digits=8)),
                ("note", models.CharField(blank=True, max_length=160)),
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
                (
                    "part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="moves", to="garage.pricedpart"
                    ),
                ),
                (
                    "supersedes",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="successors",
                        to="garage.stockmove",
                    ),
                ),
            ],
            options={
                "ordering": ["made_at"],
                "indexes": [models.Index(fields=["part", "made_at", "id"], name="moves_of_a_part")],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "counted"), _negated=True),
                            models.Q(("note", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="stocktake_says_why",
                    )
                ],
            },
        ),
        KeepForEver("garage_stockmove", erasable=["note"]),
    ]
