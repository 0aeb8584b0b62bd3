"""Road notes are placed after they were written, and a short list is ticked before a car leaves."""

import garage.quantities.limits
from django.conf import settings
from django.db import migrations, models

from garage.record.triggers import KeepForEver


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0018_forgetting_a_person"),
        ("jobs", "0017_forgetting_a_customer"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="roadnote",
            name="gear",
            field=models.PositiveSmallIntegerField(
                blank=True, null=True, validators=[garage.quantities.limits.Between(1, 6, "")]
            ),
        ),
        migrations.AddField(
            model_name="roadnote",
            name="load",
            field=models.CharField(
                blank=True,
                choices=[
                    ("closed", "throttle closed"),
                    ("light", "light throttle"),
                    ("half", "half throttle"),
                    ("full", "full throttle"),
                ],
                max_length=8,
            ),
        ),
        migrations.AddField(
            model_name="roadnote",
            name="noticed_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="roadrun",
            name="looked_at",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AlterField(
            model_name="roadnote",
            name="kind",
            field=models.CharField(
                choices=[
                    ("pinking", "pinking"),
                    ("flat spot", "flat spot"),
                    ("surge", "surge"),
                    ("hunting", "hunting"),
                    ("run-on", "run-on"),
                    ("hot start", "hot restart"),
                    ("kick-back", "kick-back"),
                    ("idle", "rough idle"),
                    ("fine", "fine here"),
                    ("mark", "moment marked"),
                    ("other", "other"),
                ],
                max_length=12,
            ),
        ),
        migrations.AlterField(
            model_name="roadnote",
            name="severity",
            field=models.PositiveSmallIntegerField(
                choices=[(0, "not said"), (1, "trace"), (2, "definite"), (3, "heavy")], default=0
            ),
        ),
        migrations.AddConstraint(
            model_name="roadnote",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind", "pinking"), ("severity", 0), _negated=True), name="pinking_says_how_strong"
            ),
        ),
        # the new columns are kept as well, and SQLite has rebuilt the tables
        KeepForEver("jobs_roadnote", erasable=["words"]),
        KeepForEver("jobs_roadrun", when="OLD.ended_at IS NOT NULL", erasable=["route", "summary", "looked_at"]),
    ]
