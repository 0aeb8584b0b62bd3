"""A customer's country for electronic invoices, and what the owner decides about timers and PINs."""

from django.db import migrations, models

import garage.customers.countries
import garage.quantities.limits
from garage.finding.kept import KeepFindable


class Migration(migrations.Migration):
    dependencies = [
        ("garage", "0027_mail_server"),
    ]

    operations = [
        migrations.AddField(
            model_name="customer",
            name="country",
            field=models.CharField(blank=True, max_length=2, validators=[garage.customers.countries.known_country]),
        ),
        # SQLite laid the table afresh for the new column.
        KeepFindable(
            "garage_customer",
            room="customers",
            kind="customer",
            words=["name", "email", "address", "notes"],
            numbers=["phone"],
            when="{row}.forgotten_at IS NULL",
        ),
        migrations.AddField(
            model_name="workshop",
            name="pin_tries",
            field=models.PositiveSmallIntegerField(
                default=5,
                validators=[garage.quantities.limits.Between(3, 10)],
                verbose_name="wrong PINs before a wait",
            ),
        ),
        migrations.AddField(
            model_name="workshop",
            name="timer_hours",
            field=models.PositiveSmallIntegerField(
                default=14,
                validators=[garage.quantities.limits.Between(2, 24, "h")],
                verbose_name="a timer asks for its end after",
            ),
        ),
    ]
