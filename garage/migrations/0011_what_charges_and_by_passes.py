"""What charges the battery, for its limits differ, and whether the ballast is by-passed while cranking."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("garage", "0010_trade_words")]
    operations = [
        migrations.AddField(
            "vehicle",
            "charging",
            models.CharField(
                blank=True,
                choices=[("alternator", "alternator"), ("dynamo", "dynamo")],
                default="",
                max_length=12,
                verbose_name="charged by",
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            "coil",
            "has_bypass",
            models.BooleanField(blank=True, null=True, verbose_name="by-pass while cranking"),
        ),
    ]
