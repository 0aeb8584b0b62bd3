"""The columns that guard forms get the names a stranger would search for. No row changes."""

from django.db import migrations

GUARDED_WHEN_MADE = ["customer", "vehicle", "unittyperevision", "fittedunit"]
GUARDED_WHEN_EDITED = ["customer", "vehicle", "fittedunit", "workshop", "staff"]


class Migration(migrations.Migration):
    dependencies = [("garage", "0004_changes_are_kept")]
    operations = [
        *(migrations.RenameField(model, "once", "idempotency_key") for model in GUARDED_WHEN_MADE),
        *(migrations.RenameField(model, "edition", "row_version") for model in GUARDED_WHEN_EDITED),
    ]
