"""The short list of parts with their prices."""

import uuid
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0022_bills_of_the_workshop"),
    ]

    operations = [
        migrations.CreateModel(
            name="PricedPart",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=120)),
                ("part_number", models.CharField(blank=True, max_length=40)),
                ("unit_price", models.DecimalField(decimal_places=2, max_digits=10)),
                ("offered", models.BooleanField(default=True, verbose_name="on the price list")),
                ("made_at", models.DateTimeField()),
                ("idempotency_key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("row_version", models.PositiveIntegerField(default=1, editable=False)),
            ],
            options={
                "ordering": ["name", "pk"],
            },
        ),
    ]
