"""Quotes with their answers, timers, and the kind of a rate of VAT. What was sent and answered is kept for ever."""

import django.db.models.deletion
import garage.quantities.limits
import uuid
from django.conf import settings
from django.db import migrations, models

from garage.record.triggers import KeepForEver

WORDS = {
    "jobs_quote": ["reason", "buyer_name", "buyer_address", "remarks", "made_from", "file"],
    "jobs_quoteline": ["description"],
    "jobs_quoteanswer": ["name", "words"],
}


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0026_quotes_and_stock"),
        ("jobs", "0027_road_logs"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="QuoteSerial",
            fields=[
                ("year", models.PositiveSmallIntegerField(primary_key=True, serialize=False)),
                ("last", models.PositiveIntegerField(default=0)),
            ],
        ),
        migrations.AddField(
            model_name="vatrate",
            name="category",
            field=models.CharField(
                blank=True,
                choices=[("S", "VAT is charged"), ("Z", "zero-rated"), ("E", "exempt from VAT")],
                default="",
                max_length=1,
            ),
        ),
        migrations.CreateModel(
            name="Quote",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("kind", models.CharField(choices=[("quote", "quote"), ("supplement", "supplement")], max_length=12)),
                ("year", models.PositiveSmallIntegerField()),
                ("serial", models.PositiveIntegerField()),
                ("number", models.CharField(max_length=32)),
                ("version", models.PositiveSmallIntegerField()),
                ("reason", models.CharField(blank=True, max_length=300)),
                ("buyer_name", models.CharField(max_length=120, verbose_name="customer")),
                ("buyer_address", models.TextField(blank=True, max_length=500, verbose_name="address")),
                ("remarks", models.TextField(blank=True, max_length=1000)),
                ("issued_on", models.DateField()),
                ("valid_until", models.DateField()),
                ("currency", models.CharField(max_length=3)),
                ("net", models.DecimalField(decimal_places=2, max_digits=12)),
                ("vat", models.DecimalField(decimal_places=2, max_digits=12)),
                ("gross", models.DecimalField(decimal_places=2, max_digits=12)),
                ("made_from", models.JSONField()),
                ("file", models.FileField(upload_to="quotes")),
                ("sha256", models.CharField(max_length=64)),
                ("issued_at", models.DateTimeField()),
                ("idempotency_key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "issued_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="quotes", to="jobs.job"
                    ),
                ),
                (
                    "replaces",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="replaced_by",
                        to="jobs.quote",
                    ),
                ),
            ],
            options={
                "ordering": ["-issued_at", "-pk"],
            },
        ),
        migrations.CreateModel(
            name="QuoteAnswer",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("kind", models.CharField(choices=[("accepted", "accepted"), ("refused", "refused")], max_length=12)),
                (
                    "way",
                    models.CharField(
                        choices=[
                            ("link", "on the customer's link"),
                            ("paper", "on paper"),
                            ("email", "by email"),
                            ("phone", "by phone"),
                            ("in person", "in person"),
                        ],
                        max_length=12,
                    ),
                ),
                ("name", models.CharField(max_length=120, verbose_name="name of the customer")),
                ("words", models.CharField(blank=True, max_length=500)),
                ("answered_on", models.DateField()),
                ("received_at", models.DateTimeField()),
                ("idempotency_key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "device",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="garage.device",
                    ),
                ),
                (
                    "link",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="jobs.customerlink",
                    ),
                ),
                (
                    "quote",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="answer", to="jobs.quote"
                    ),
                ),
                (
                    "recorded_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["received_at", "pk"],
            },
        ),
        migrations.CreateModel(
            name="QuoteLine",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("place", models.PositiveSmallIntegerField()),
                ("kind", models.CharField(choices=[("hours", "hours"), ("part", "part")], max_length=8)),
                ("description", models.CharField(max_length=160)),
                ("quantity", models.DecimalField(decimal_places=2, max_digits=8)),
                ("unit_price", models.DecimalField(decimal_places=2, max_digits=10)),
                ("amount", models.DecimalField(decimal_places=2, max_digits=12)),
                ("percent", models.DecimalField(decimal_places=2, max_digits=5)),
                (
                    "quote",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="lines", to="jobs.quote"
                    ),
                ),
                (
                    "rate",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="jobs.vatrate"),
                ),
            ],
            options={
                "ordering": ["quote", "place"],
            },
        ),
        migrations.CreateModel(
            name="UsualPart",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("conversion", "full conversion"),
                            ("unit and map", "unit and map"),
                            ("settings", "settings"),
                            ("check", "check"),
                            ("unit replaced", "unit replaced"),
                        ],
                        max_length=16,
                        verbose_name="kind of job",
                    ),
                ),
                (
                    "quantity",
                    models.DecimalField(
                        decimal_places=2, max_digits=6, validators=[garage.quantities.limits.Between(0, 1000)]
                    ),
                ),
                (
                    "part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="garage.pricedpart"
                    ),
                ),
            ],
            options={
                "ordering": ["kind", "part__name", "pk"],
            },
        ),
        migrations.CreateModel(
            name="WorkTimer",
            fields=[
                ("id", models.UUIDField(editable=False, primary_key=True, serialize=False)),
                (
                    "stage",
                    models.CharField(
                        choices=[
                            ("booked", "booked"),
                            ("inspection", "inspection"),
                            ("fitting", "fitting"),
                            ("base-timing", "base timing"),
                            ("map", "map"),
                            ("road-test", "road test"),
                            ("handover", "handover"),
                            ("after-care", "after-care"),
                        ],
                        max_length=16,
                    ),
                ),
                ("started_at", models.DateTimeField()),
                ("stopped_at", models.DateTimeField(blank=True, null=True)),
                (
                    "job",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="timers", to="jobs.job"
                    ),
                ),
                (
                    "line",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="timer",
                        to="jobs.costline",
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="timers", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ["started_at", "pk"],
            },
        ),
        migrations.CreateModel(
            name="LinkTry",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("at", models.DateTimeField()),
                (
                    "link",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="jobs.customerlink"
                    ),
                ),
            ],
            options={
                "indexes": [models.Index(fields=["link", "at"], name="tries_of_a_link")],
            },
        ),
        migrations.AddConstraint(
            model_name="quote",
            constraint=models.UniqueConstraint(fields=("number", "version"), name="quote_version_once"),
        ),
        migrations.AddConstraint(
            model_name="quote",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind", "quote"), models.Q(("reason", ""), _negated=True), _connector="OR"),
                name="supplement_says_why",
            ),
        ),
        migrations.AddConstraint(
            model_name="quote",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("replaces", None), ("version", 1)),
                    models.Q(("replaces__isnull", False), ("version__gt", 1)),
                    _connector="OR",
                ),
                name="quote_version_replaces_another",
            ),
        ),
        migrations.AddConstraint(
            model_name="quoteanswer",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("link__isnull", False), ("recorded_by", None), ("way", "link")),
                    models.Q(models.Q(("way", "link"), _negated=True), ("link", None), ("recorded_by__isnull", False)),
                    _connector="OR",
                ),
                name="quote_answer_from_link_or_by_staff",
            ),
        ),
        migrations.AddConstraint(
            model_name="quoteline",
            constraint=models.UniqueConstraint(fields=("quote", "place"), name="quote_line_place_once"),
        ),
        migrations.AddConstraint(
            model_name="usualpart",
            constraint=models.UniqueConstraint(fields=("kind", "part"), name="usual_part_of_a_kind_once"),
        ),
        migrations.AddConstraint(
            model_name="worktimer",
            constraint=models.UniqueConstraint(
                condition=models.Q(("stopped_at", None)), fields=("person",), name="one_running_timer_a_person"
            ),
        ),
        migrations.AddConstraint(
            model_name="worktimer",
            constraint=models.CheckConstraint(
                condition=models.Q(("stopped_at", None), ("stopped_at__gte", models.F("started_at")), _connector="OR"),
                name="timer_ends_after_it_began",
            ),
        ),
        migrations.AddIndex(
            model_name="bill",
            index=models.Index(fields=["issued_at", "id"], name="bills_in_order"),
        ),
        migrations.AddIndex(
            model_name="bill",
            index=models.Index(fields=["due_on", "id"], name="bills_by_day_due"),
        ),
        migrations.AddIndex(
            model_name="bill",
            index=models.Index(fields=["issued_on"], name="bills_by_day_issued"),
        ),
        *(KeepForEver(table, erasable=words) for table, words in WORDS.items()),
        KeepForEver("jobs_worktimer", when="OLD.stopped_at IS NOT NULL"),
    ]
