"""Erases again, after an older backup was restored, who was erased since it was made."""

import json
import uuid
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from garage.customers.models import Customer
from garage.people.models import Role, Staff
from garage.record.actor import Actor
from jobs.privacy.actions import forget


class Command(BaseCommand):
    help = "Erase again the customers of the list that is kept beside the backups. Done twice it changes nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("list", type=Path, help="erased-customers.jsonl, in the folder of the backups")

    def handle(self, *args: Any, **options: Any) -> None:
        owner = Staff.objects.filter(groups__name=Role.OWNER, is_active=True).order_by("pk").first()
        if owner is None:
            raise CommandError("There is no owner in this book.")
        try:
            rows = [json.loads(line) for line in options["list"].read_text().splitlines() if line.strip()]
        except (OSError, ValueError) as problem:
            raise CommandError(f"{options['list']} cannot be read ({problem}).") from problem
        done = 0
        for row in rows:
            customer = Customer.objects.filter(pk=row["customer"], forgotten_at=None).first()
            if customer is not None:
                forget(
                    customer=customer, reason="Erased before; the restored backup was older",
                    photographs=[uuid.UUID(one) for one in row["photographs"]], plates=row["plates"], words=[],
                    idempotency_key=uuid.uuid4(), actor=Actor(person=owner, at=timezone.now()),
                )  # fmt: skip
                done += 1
        self.stdout.write(f"{done} customers were erased again. Words that the owner had added are not known here.")
