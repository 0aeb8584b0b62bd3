"""An item may read the record, be held against the car's, take over what the inspection answered, and note a figure.

Items that are there name nothing of it: a tick of an older list goes on being ticked by hand.
"""

import django.db.models.deletion
from django.db import migrations, models

from garage.record.triggers import KeepForEver

OF_A_PUBLISHED_LIST = (
    "EXISTS (SELECT 1 FROM jobs_templaterevision r WHERE r.id = OLD.revision_id AND r.published_at IS NOT NULL)"
)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0010_trade_words")]
    operations = [
        migrations.AlterField(
            "checklistitem",
            "kind",
            models.CharField(
                choices=[
                    ("tick", "tick"),
                    ("measure", "measure"),
                    ("choice", "choice"),
                    ("photo", "photograph"),
                    ("text", "short text"),
                    ("reading", "read from the record"),
                ],
                max_length=8,
            ),
        ),
        migrations.AlterField(
            "checklistitem",
            "correction",
            models.CharField(
                blank=True,
                choices=[
                    ("", "none: as it is read"),
                    ("sea level", "to sea level, by the workshop's altitude"),
                    ("20 °C", "to 20 °C as copper, by the temperature read beside it"),
                    ("per metre", "per metre, by the length read beside it"),
                    ("from idle", "the change from idle, by the same read at idle"),
                ],
                default="",
                max_length=12,
            ),
        ),
        migrations.AddField(
            "checklistitem",
            "reader",
            models.SlugField(blank=True, default="", max_length=40, db_index=False),
            preserve_default=False,
        ),
        migrations.AddField(
            "checklistitem",
            "car_fact",
            models.SlugField(blank=True, default="", max_length=40, db_index=False),
            preserve_default=False,
        ),
        migrations.AddField(
            "checklistitem",
            "inspection_key",
            models.SlugField(blank=True, default="", max_length=60, db_index=False),
            preserve_default=False,
        ),
        migrations.AddField("checklistitem", "note_above", models.FloatField(blank=True, null=True)),
        migrations.AddField(
            "checklistitem",
            "note_text",
            models.CharField(blank=True, default="", max_length=60),
            preserve_default=False,
        ),
        migrations.AddField(
            "entry",
            "confirms",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="jobs.entry",
            ),
        ),
        KeepForEver("jobs_checklistitem", when=OF_A_PUBLISHED_LIST),
        KeepForEver("jobs_entry"),
    ]
