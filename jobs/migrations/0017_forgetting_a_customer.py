"""What is kept of a customer who was forgotten, and which words of a job may go with them."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from garage.record.triggers import KeepForEver

# The columns of words in the record. No figure, no hash, no moment, no person of the workshop is among them.
WORDS = {
    "jobs_journalline": ["sentence", "figures"],
    "jobs_gatecrossing": ["missing", "reason"],
    "jobs_entry": ["text", "note"],
    "jobs_confirmation": ["text"],
    "jobs_photograph": ["file", "thumbnail"],
    "jobs_inspectionverdict": ["remarks", "decided", "customer_told"],
    "jobs_signoff": ["remarks"],
    "jobs_roadnote": ["words"],
    "jobs_costline": ["description"],
    "jobs_issueddocument": ["file", "made_from"],
    "jobs_erasure": ["kept"],
}
WORDS_WHEN = {
    "jobs_roadrun": (["route", "summary"], "OLD.ended_at IS NOT NULL"),
    "jobs_mapversion": (["origin", "reason"], "OLD.released_at IS NOT NULL"),
}


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0018_forgetting_a_person"),
        ("jobs", "0016_promised_day_and_mechanic"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="FileToRemove",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=200, unique=True)),
            ],
        ),
        migrations.CreateModel(
            name="Erasure",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("at", models.DateTimeField()),
                ("reason", models.CharField(max_length=300)),
                ("gone", models.JSONField(default=dict)),
                ("chosen", models.JSONField(default=dict)),
                ("kept", models.JSONField(default=list)),
                ("idempotency_key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "customer",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="erasure", to="garage.customer"
                    ),
                ),
            ],
            options={
                "ordering": ["-at"],
            },
        ),
        *(KeepForEver(table, erasable=words) for table, words in WORDS.items()),
        *(KeepForEver(table, when=when, erasable=words) for table, (words, when) in WORDS_WHEN.items()),
    ]
