"""Every line of every journal stands in the one trail as well, in its order; the old lines stay where they were."""

from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

AT_ONCE = 500


def copy_lines(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    lines = apps.get_model("jobs", "JournalLine").objects.using(schema_editor.connection.alias)
    entries = apps.get_model("garage", "TrailEntry")
    gathered = []
    for line in lines.order_by("at", "pk").iterator(AT_ONCE):
        gathered.append(
            entries(
                at=line.at,
                by_id=line.by_id,
                device_id=line.device_id,
                event=line.kind,
                subject_kind="job",
                subject_id=line.job_id,
                job_id=line.job_id,
                stage=line.stage,
                sentence=line.sentence,
                changes=[],
                figures=line.figures,
                idempotency_key=line.idempotency_key,
            )
        )
        if len(gathered) == AT_ONCE:
            entries.objects.using(schema_editor.connection.alias).bulk_create(gathered)
            gathered = []
    entries.objects.using(schema_editor.connection.alias).bulk_create(gathered)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0005_kinds_of_job"), ("garage", "0007_one_trail")]
    operations = [
        migrations.AlterField(
            "journalline",
            "job",
            models.ForeignKey(on_delete=models.deletion.PROTECT, related_name="+", to="jobs.job"),
        ),
        migrations.RunPython(copy_lines, migrations.RunPython.noop),
    ]
