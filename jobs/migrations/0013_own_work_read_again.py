"""Whoever works alone looks at their own work again after a pause, and says anew what is found."""

from django.conf import settings
from django.db import migrations, models

from garage.record.triggers import KeepForEver


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0014_alone_in_the_workshop"),
        ("jobs", "0012_which_strobe_it_was_read_with"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="confirmation",
            name="confirmed_by_a_second_person",
        ),
        migrations.AddField(
            model_name="confirmation",
            name="beside",
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="confirmation",
            name="choice",
            field=models.CharField(blank=True, max_length=80),
        ),
        migrations.AddField(
            model_name="confirmation",
            name="measure",
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="confirmation",
            name="own_pause_s",
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name="seconds after own entry"),
        ),
        migrations.AddField(
            model_name="confirmation",
            name="text",
            field=models.CharField(blank=True, max_length=500),
        ),
        migrations.AddField(
            model_name="confirmation",
            name="unit",
            field=models.CharField(blank=True, max_length=20),
        ),
        migrations.AddField(
            model_name="signoff",
            name="own_pause_s",
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name="seconds after own work"),
        ),
        migrations.AddField(
            model_name="signoff",
            name="read_again",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AddConstraint(
            model_name="confirmation",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("by", models.F("first_person")), _negated=True),
                    models.Q(
                        ("own_pause_s__gte", 1200),
                        ("own_pause_s__isnull", False),
                        models.Q(
                            ("measure__isnull", False),
                            models.Q(("choice", ""), _negated=True),
                            models.Q(("text", ""), _negated=True),
                            _connector="OR",
                        ),
                    ),
                    _connector="OR",
                ),
                name="confirmed_by_another_or_read_again",
            ),
        ),
        migrations.AddConstraint(
            model_name="signoff",
            constraint=models.CheckConstraint(
                condition=models.Q(("own_pause_s__isnull", True), ("own_pause_s__gte", 1200), _connector="OR"),
                name="own_work_signed_after_a_pause",
            ),
        ),
        # SQLite has made both tables anew, without their triggers.
        KeepForEver("jobs_confirmation"),
        KeepForEver("jobs_signoff"),
    ]
