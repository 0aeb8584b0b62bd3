"""Who works alone: always, or on a day."""

import garage.quantities.limits
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0013_first_passwords_expire"),
    ]

    operations = [
        migrations.AddField(
            model_name="workshop",
            name="alone_on",
            field=models.DateField(blank=True, editable=False, null=True),
        ),
        migrations.AddField(
            model_name="workshop",
            name="alone_pause_min",
            field=models.PositiveSmallIntegerField(
                default=20,
                validators=[garage.quantities.limits.Between(20, 1440, "min")],
                verbose_name="pause before own second check",
            ),
        ),
        migrations.AddField(
            model_name="workshop",
            name="works_alone",
            field=models.BooleanField(default=False, verbose_name="one person works alone here"),
        ),
    ]
