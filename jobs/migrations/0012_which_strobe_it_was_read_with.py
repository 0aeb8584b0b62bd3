"""Which kind of strobe a session was read with: a dial-back strobe has errors of its own."""

from django.db import migrations, models

from garage.record.triggers import KeepForEver


class Migration(migrations.Migration):
    dependencies = [("jobs", "0011_items_read_and_compare")]

    operations = [
        migrations.AddField(
            "strobesession",
            "lamp",
            models.CharField(
                blank=True,
                choices=[("plain", "plain strobe"), ("dial_back", "dial-back strobe")],
                default="",
                max_length=12,
                verbose_name="strobe",
            ),
            preserve_default=False,
        ),
        # SQLite has made the table anew, without its triggers.
        KeepForEver("jobs_strobesitting"),
    ]
