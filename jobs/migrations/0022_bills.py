"""Bills, what is on them, and what was paid on them. Kept as issued; the words on them may be erased on their day."""

import django.db.models.deletion
import garage.quantities.limits
import uuid
from decimal import Decimal
from django.conf import settings
from django.db import migrations, models

from garage.record.triggers import KeepForEver


WORDS = {
    "jobs_bill": ["buyer_name", "buyer_address", "remarks", "made_from", "file"],
    "jobs_billline": ["description"],
    "jobs_payment": ["note"],
}


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0022_bills_of_the_workshop"),
        ("jobs", "0021_findable"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="BillSerial",
            fields=[
                ("series", models.PositiveSmallIntegerField(primary_key=True, serialize=False)),
                ("last", models.PositiveIntegerField(default=0)),
            ],
        ),
        migrations.CreateModel(
            name="Bill",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("kind", models.CharField(choices=[("bill", "bill"), ("credit note", "credit note")], max_length=12)),
                ("number", models.CharField(max_length=32, unique=True)),
                ("series", models.PositiveSmallIntegerField()),
                ("serial", models.PositiveIntegerField()),
                ("buyer_name", models.CharField(max_length=120, verbose_name="customer")),
                ("buyer_address", models.TextField(blank=True, max_length=500, verbose_name="address")),
                ("remarks", models.TextField(blank=True, max_length=1000)),
                ("issued_on", models.DateField()),
                ("supplied_on", models.DateField()),
                ("due_on", models.DateField(blank=True, null=True)),
                ("currency", models.CharField(max_length=3)),
                ("net", models.DecimalField(decimal_places=2, max_digits=12)),
                ("vat", models.DecimalField(decimal_places=2, max_digits=12)),
                ("gross", models.DecimalField(decimal_places=2, max_digits=12)),
                ("made_from", models.JSONField()),
                ("file", models.FileField(upload_to="bills")),
                ("sha256", models.CharField(max_length=64)),
                ("issued_at", models.DateTimeField()),
                ("idempotency_key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "credits",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="credit_notes",
                        to="jobs.bill",
                    ),
                ),
                (
                    "issued_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "job",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="bills", to="jobs.job"),
                ),
            ],
            options={
                "ordering": ["-issued_at", "-pk"],
            },
        ),
        migrations.CreateModel(
            name="Payment",
            fields=[
                ("id", models.UUIDField(editable=False, primary_key=True, serialize=False)),
                ("made_at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                ("withdrawn", models.BooleanField(default=False)),
                ("amount", models.DecimalField(decimal_places=2, max_digits=12)),
                ("refund", models.BooleanField(default=False)),
                ("paid_on", models.DateField()),
                (
                    "paid_by",
                    models.CharField(
                        choices=[
                            ("transfer", "bank transfer"),
                            ("card", "card"),
                            ("cash", "cash"),
                            ("cheque", "cheque"),
                            ("other", "other"),
                        ],
                        max_length=12,
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=160)),
                (
                    "bill",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="payments", to="jobs.bill"
                    ),
                ),
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
                    "supersedes",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="successors",
                        to="jobs.payment",
                    ),
                ),
            ],
            options={
                "ordering": ["paid_on", "made_at"],
            },
        ),
        migrations.CreateModel(
            name="VatRate",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=40)),
                (
                    "percent",
                    models.DecimalField(
                        decimal_places=2,
                        max_digits=5,
                        validators=[garage.quantities.limits.Between(0, 50, "%")],
                        verbose_name="rate",
                    ),
                ),
                ("wording", models.CharField(blank=True, max_length=300, verbose_name="wording on bills")),
                ("made_at", models.DateTimeField()),
                ("retired_at", models.DateTimeField(blank=True, null=True)),
                ("idempotency_key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
            ],
            options={
                "verbose_name": "VAT rate",
                "ordering": ["made_at", "pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("percent__gte", 0), ("percent__lte", 50)), name="vat_rate_is_a_rate"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="BillRateSum",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("percent", models.DecimalField(decimal_places=2, max_digits=5)),
                ("net", models.DecimalField(decimal_places=2, max_digits=12)),
                ("vat", models.DecimalField(decimal_places=2, max_digits=12)),
                (
                    "bill",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="rate_sums", to="jobs.bill"
                    ),
                ),
                (
                    "rate",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="jobs.vatrate"),
                ),
            ],
            options={
                "ordering": ["bill", "pk"],
            },
        ),
        migrations.CreateModel(
            name="BillLine",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("place", models.PositiveSmallIntegerField()),
                ("description", models.CharField(max_length=160)),
                ("quantity", models.DecimalField(decimal_places=2, max_digits=8)),
                ("unit_price", models.DecimalField(decimal_places=2, max_digits=10)),
                ("amount", models.DecimalField(decimal_places=2, max_digits=12)),
                ("percent", models.DecimalField(decimal_places=2, max_digits=5)),
                (
                    "bill",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="lines", to="jobs.bill"
                    ),
                ),
                (
                    "cost_line",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="billed", to="jobs.costline"
                    ),
                ),
                (
                    "credits",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="credited",
                        to="jobs.billline",
                    ),
                ),
                (
                    "rate",
                    models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="jobs.vatrate"),
                ),
            ],
            options={
                "ordering": ["bill", "place"],
            },
        ),
        migrations.AddConstraint(
            model_name="bill",
            constraint=models.UniqueConstraint(fields=("series", "serial"), name="bill_serial_once"),
        ),
        migrations.AddConstraint(
            model_name="bill",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("credits", None), ("due_on__isnull", False), ("kind", "bill")),
                    models.Q(
                        ("credits__isnull", False),
                        ("due_on", None),
                        ("kind", "credit note"),
                        models.Q(("remarks", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="credit_note_says_of_what_and_why",
            ),
        ),
        migrations.AddConstraint(
            model_name="bill",
            constraint=models.CheckConstraint(condition=models.Q(("serial__gte", 1)), name="bill_serial_begins_at_one"),
        ),
        migrations.AddConstraint(
            model_name="payment",
            constraint=models.CheckConstraint(
                condition=models.Q(("amount__gt", Decimal("0"))), name="payment_is_of_something"
            ),
        ),
        migrations.AddConstraint(
            model_name="billratesum",
            constraint=models.UniqueConstraint(fields=("bill", "rate"), name="bill_rate_sum_once"),
        ),
        migrations.AddConstraint(
            model_name="billline",
            constraint=models.UniqueConstraint(fields=("bill", "place"), name="bill_line_place_once"),
        ),
        *(KeepForEver(table, erasable=words) for table, words in WORDS.items()),
        KeepForEver("jobs_billratesum"),
    ]
