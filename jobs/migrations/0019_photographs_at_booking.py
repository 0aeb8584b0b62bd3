"""Photographs of a car as it was booked in; kept for ever, as every photograph of the record."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from garage.record.triggers import KeepForEver


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0019_lists_are_brought_in"),
        ("jobs", "0018_notes_are_placed_later"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="BookingPhotograph",
            fields=[
                ("id", models.UUIDField(editable=False, primary_key=True, serialize=False)),
                ("made_at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                ("file", models.FileField(upload_to="photographs")),
                ("thumbnail", models.FileField(upload_to="photographs")),
                ("width", models.PositiveIntegerField()),
                ("height", models.PositiveIntegerField()),
                ("sha256", models.CharField(max_length=64)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "device",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="garage.device"
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="photographs", to="jobs.job"
                    ),
                ),
                (
                    "supersedes",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="successors",
                        to="jobs.bookingphotograph",
                    ),
                ),
            ],
            options={
                "ordering": ["received_at", "made_at"],
                "abstract": False,
            },
        ),
        KeepForEver("jobs_bookingphotograph", erasable=["file", "thumbnail"]),
    ]
