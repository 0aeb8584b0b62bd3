"""A check and a replaced unit are jobs of their own kind."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("jobs", "0004_what_an_inspection_accepts")]
    operations = [
        migrations.AddField(
            "job", "kind",
            models.CharField(
                choices=[("conversion", "full conversion"), ("check", "check"), ("unit replaced", "unit replaced")],
                default="conversion",
                max_length=16,
                verbose_name="kind of job",
            ),
        ),
    ]  # fmt: skip
