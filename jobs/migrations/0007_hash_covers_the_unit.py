"""The content hash of a version covers the description of its unit, and says by which form it was made.

No row changes, and no table is rebuilt: a column without a default is added, and another is renamed.
"""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("jobs", "0006_journal_joins_the_trail")]
    operations = [
        migrations.AddField("mapversion", "content_hash_form", models.PositiveSmallIntegerField(blank=True, null=True)),
        migrations.RenameField("mapversion", "held", "delivered"),
    ]
