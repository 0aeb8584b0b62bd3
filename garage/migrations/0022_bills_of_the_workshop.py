"""What stands on every bill of the workshop."""

import garage.quantities.limits
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0021_findable"),
    ]

    operations = [
        migrations.AddField(
            model_name="workshop",
            name="bill_foot",
            field=models.TextField(blank=True, max_length=1000, verbose_name="at the foot of bills"),
        ),
        migrations.AddField(
            model_name="workshop",
            name="bill_numbers",
            field=models.CharField(default="YYYY-####", max_length=20, verbose_name="form of bill numbers"),
        ),
        migrations.AddField(
            model_name="workshop",
            name="days_to_pay",
            field=models.PositiveSmallIntegerField(
                default=14, validators=[garage.quantities.limits.Between(0, 180, "days")]
            ),
        ),
        migrations.AddField(
            model_name="workshop",
            name="vat_number",
            field=models.CharField(blank=True, max_length=40, verbose_name="VAT number"),
        ),
    ]
