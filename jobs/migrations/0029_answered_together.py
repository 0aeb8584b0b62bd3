"""An entry says how many plain looks the same tap answered; its guard is laid once more, to know the new column."""

from django.db import migrations, models

from garage.record.triggers import KeepForEver


class Migration(migrations.Migration):
    dependencies = [
        ("jobs", "0028_quotes_and_timers"),
    ]

    operations = [
        migrations.AddField(
            model_name="entry",
            name="together",
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        KeepForEver("jobs_entry", erasable=["text", "note"]),
    ]
