"""The units the capsule's vacuum was written down in. Old rows say none: nobody knows any more, and they are shown in
the reader's own unit, as they were."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("garage", "0007_one_trail")]
    operations = [
        migrations.AddField(
            "distributor",
            "capsule_start_unit",
            models.CharField("capsule begins, written in", blank=True, default="", max_length=8),
            preserve_default=False,
        ),
        migrations.AddField(
            "distributor",
            "capsule_full_unit",
            models.CharField("capsule full, written in", blank=True, default="", max_length=8),
            preserve_default=False,
        ),
    ]
