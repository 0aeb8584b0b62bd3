from django.db import migrations, models


class Migration(migrations.Migration):
    """A paper by which any workshop puts the car back after a dead unit."""

    dependencies = [("jobs", "0024_reminders")]

    operations = [
        migrations.AlterField(
            model_name="issueddocument",
            name="kind",
            field=models.CharField(
                choices=[
                    ("customer sheet", "customer's sheet"),
                    ("bench record", "bench record"),
                    ("restore sheet", "restore sheet"),
                    ("label", "under-bonnet label"),
                ],
                max_length=16,
            ),
        ),
    ]
