"""Unit and map, and settings, are kinds of their own."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("jobs", "0014_cautions_read"),
    ]

    operations = [
        migrations.AlterField(
            model_name="job",
            name="kind",
            field=models.CharField(
                choices=[
                    ("conversion", "full conversion"),
                    ("unit and map", "unit and map"),
                    ("settings", "settings"),
                    ("check", "check"),
                    ("unit replaced", "unit replaced"),
                ],
                default="conversion",
                max_length=16,
                verbose_name="kind of job",
            ),
        ),
    ]
