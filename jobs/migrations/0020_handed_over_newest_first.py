"""Lets the last handovers be asked for without reading through every gate a car ever crossed."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("jobs", "0019_photographs_at_booking"),
    ]

    operations = [
        migrations.AddIndex(
            model_name="gatecrossing",
            index=models.Index(
                condition=models.Q(("entered", "after-care")),
                fields=["-at", "-id"],
                name="handed_over_newest_first",
            ),
        ),
    ]
