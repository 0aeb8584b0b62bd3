"""How far above the red line a rev limit may be: a setting of the workshop."""

from django.db import migrations, models

import garage.quantities.limits


class Migration(migrations.Migration):
    dependencies = [("garage", "0011_what_charges_and_by_passes")]

    operations = [
        migrations.AddField(
            "workshop",
            "over_red_line_percent",
            models.FloatField(
                default=5.0,
                validators=[garage.quantities.limits.Between(0, 30, "%")],
                verbose_name="rev limit above the red line",
            ),
        ),
    ]
