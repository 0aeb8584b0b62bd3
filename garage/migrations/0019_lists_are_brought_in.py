"""Customers and cars come in from a list, and each knows from which; a permission for whoever brings lists in."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models

from garage.people import roles


def make_roles(apps, schema_editor):
    roles.make_roles(apps)


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0018_forgetting_a_person"),
    ]

    operations = [
        migrations.CreateModel(
            name="ColumnPlan",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("header_sha256", models.CharField(max_length=64, unique=True)),
                ("columns", models.JSONField()),
                ("at", models.DateTimeField()),
            ],
        ),
        migrations.AlterModelOptions(
            name="staff",
            options={
                "ordering": ["name"],
                "permissions": [
                    ("manage_workshop", "Can change the workshop, its people and its limits"),
                    ("edit_checklists", "Can write check-list templates"),
                    ("edit_unit_types", "Can describe unit types"),
                    ("book_jobs", "Can book cars and write customers and vehicles"),
                    ("import_lists", "Can bring in customers and cars from a list"),
                    ("keep_costs", "Can write hours, parts and bills"),
                    ("record_readings", "Can write measurements, fitting entries, maps and road notes"),
                    ("pass_gates", "Can let a car go past a gate that is not met, with a reason"),
                ],
                "verbose_name_plural": "staff",
            },
        ),
        migrations.CreateModel(
            name="Arrival",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("idempotency_key", models.UUIDField(editable=False, unique=True)),
                ("at", models.DateTimeField()),
                ("file_name", models.CharField(max_length=120)),
                ("row_count", models.PositiveIntegerField()),
                ("customers_made", models.PositiveIntegerField()),
                ("cars_made", models.PositiveIntegerField()),
                ("filled", models.PositiveIntegerField()),
                ("left_out", models.PositiveIntegerField()),
                ("undone_at", models.DateTimeField(null=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "undone_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-pk"],
            },
        ),
        migrations.CreateModel(
            name="Arrived",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("line", models.PositiveIntegerField()),
                ("filled", models.JSONField(default=list)),
                ("row_version", models.PositiveIntegerField()),
                (
                    "arrival",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="arrived", to="garage.arrival"
                    ),
                ),
                (
                    "customer",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="arrived",
                        to="garage.customer",
                    ),
                ),
                (
                    "vehicle",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="arrived",
                        to="garage.vehicle",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="WaitingList",
            fields=[
                ("id", models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False)),
                ("at", models.DateTimeField()),
                ("file_name", models.CharField(max_length=120)),
                ("header", models.JSONField()),
                ("rows", models.JSONField()),
                ("columns", models.JSONField(default=list)),
                ("choices", models.JSONField(default=dict)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
        ),
        migrations.AddConstraint(
            model_name="arrival",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("undone_at", None), ("undone_by", None)),
                    models.Q(("undone_at__isnull", False), ("undone_by__isnull", False)),
                    _connector="OR",
                ),
                name="arrival_undone_by_a_person_at_a_moment",
            ),
        ),
        migrations.AddConstraint(
            model_name="arrived",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("customer", None), ("vehicle__isnull", False)),
                    models.Q(("customer__isnull", False), ("vehicle", None)),
                    _connector="OR",
                ),
                name="arrived_is_a_customer_or_a_car",
            ),
        ),
        migrations.RunPython(make_roles, migrations.RunPython.noop),
    ]
