"""The newest rows of each room of the search, found without walking past those of the others."""

from django.db import migrations

from garage.finding.layout import LayNewestFirst


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0028_settings_and_country"),
    ]

    operations = [
        LayNewestFirst(),
    ]
