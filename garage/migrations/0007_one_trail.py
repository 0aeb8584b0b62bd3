"""The changes of things and the journals of jobs become one trail. The table stays; no row of it changes its meaning."""

from django.db import migrations, models

from garage.record.triggers import KeepForEver


class Migration(migrations.Migration):
    dependencies = [("garage", "0006_numbers_and_firmware")]
    operations = [
        migrations.AlterModelTable("change", "garage_change"),
        migrations.RenameModel("Change", "TrailEntry"),
        migrations.RemoveIndex("trailentry", "changes_of_one_thing"),
        migrations.RenameField("trailentry", "thing_kind", "subject_kind"),
        migrations.RenameField("trailentry", "thing", "subject_id"),
        migrations.RenameField("trailentry", "fields", "changes"),
        migrations.AlterField("trailentry", "changes", models.JSONField(default=list)),
        migrations.AlterModelOptions("trailentry", {"ordering": ["at", "pk"]}),
        migrations.AddField("trailentry", "event", models.CharField(default="changed", max_length=40)),
        migrations.AddField("trailentry", "job_id", models.PositiveBigIntegerField(null=True)),
        migrations.AddField(
            "trailentry", "stage", models.CharField(blank=True, default="", max_length=16), preserve_default=False
        ),
        migrations.AddField("trailentry", "sentence", models.TextField(blank=True, default=""), preserve_default=False),
        migrations.AddField("trailentry", "figures", models.JSONField(default=dict)),
        migrations.AddField("trailentry", "idempotency_key", models.UUIDField(editable=False, null=True, unique=True)),
        migrations.AddIndex(
            "trailentry", models.Index(fields=["subject_kind", "subject_id"], name="changes_of_one_thing")
        ),
        migrations.AddIndex("trailentry", models.Index(fields=["job_id", "at"], name="trail_of_a_job_in_order")),
        # SQLite rebuilds the table for the new columns, and drops its triggers.
        KeepForEver("garage_change"),
    ]
