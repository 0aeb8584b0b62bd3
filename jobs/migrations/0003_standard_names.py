"""Names a stranger would search for. No row changes; tables, and columns that others point by, keep theirs."""

import django.db.models.deletion
from django.db import migrations, models

GUARDED_WHEN_MADE = [
    "checklistitem",
    "checklisttemplate",
    "curvepattern",
    "job",
    "issueddocument",
    "customerlink",
    "journalline",
    "mapversion",
    "roadrun",
    "strobesitting",
]
GUARDED_WHEN_EDITED = ["checklistitem", "checklisttemplate", "job", "mapversion"]


class Migration(migrations.Migration):
    dependencies = [("jobs", "0002_the_record_is_kept"), ("garage", "0005_standard_names")]
    operations = [
        *(migrations.RenameField(model, "once", "idempotency_key") for model in GUARDED_WHEN_MADE),
        *(migrations.RenameField(model, "edition", "row_version") for model in GUARDED_WHEN_EDITED),
        # The table and the column stay: renaming them would rebuild tables of the record, and drop their triggers.
        migrations.AlterModelTable("strobesitting", "jobs_strobesitting"),
        migrations.RenameModel("StrobeSitting", "StrobeSession"),
        migrations.AlterField(
            "strobereading",
            "sitting",
            models.ForeignKey(
                db_column="sitting_id",
                on_delete=django.db.models.deletion.PROTECT,
                related_name="readings",
                to="jobs.strobesession",
            ),
        ),
        migrations.RenameField("strobereading", "sitting", "session"),
        # the names by which a job and a map version find their strobe sessions
        migrations.AlterField(
            "strobesession",
            "job",
            models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="strobe_sessions", to="jobs.job"
            ),
        ),
        migrations.AlterField(
            "strobesession",
            "map_version",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="strobe_sessions",
                to="jobs.mapversion",
            ),
        ),
    ]
