"""Numbers by which a car's parts and a unit's batch are found again."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("garage", "0005_standard_names")]
    operations = [
        migrations.AddField(
            "engine", "number", models.CharField(blank=True, default="", max_length=32, verbose_name="engine number"),
            preserve_default=False,
        ),
        migrations.AddField(
            "distributor", "number",
            models.CharField(blank=True, default="", max_length=32, verbose_name="distributor number"),
            preserve_default=False,
        ),
        migrations.AddField(
            "fittedunit", "firmware", models.CharField(blank=True, default="", max_length=40), preserve_default=False
        ),
        migrations.AddField(
            "fittedunit", "batch", models.CharField(blank=True, default="", max_length=40), preserve_default=False
        ),
    ]  # fmt: skip
