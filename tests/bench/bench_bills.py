"""What the list of bills, issuing one, the accountant's list and a paper cost with 100 bills and with many.

Fills a book of its own twice, as rows, and asks the same of both in one run; medians and their ratio.
Run: python -m tests.bench.bench_bills [--many 10000] [--rounds 15]
"""

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

FEW = 100
ROOT = Path(__file__).resolve().parents[2]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--many", type=int, default=10_000)
    parser.add_argument("--rounds", type=int, default=15)
    parser.add_argument("--measure", type=int, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.measure:
        measure(asked.measure, asked.rounds)
        return
    taken = {count: _in_a_book_of_its_own(count, asked.rounds) for count in (FEW, asked.many)}
    print(f"{'':24}{FEW:>12}{asked.many:>12}{'ratio':>8}   medians of {asked.rounds} [ms]")
    for name, few in taken[FEW].items():
        many = taken[asked.many][name]
        print(f"{name:24}{few:>12.1f}{many:>12.1f}{many / few:>8.2f}")


def _in_a_book_of_its_own(count: int, rounds: int) -> dict[str, float]:
    with tempfile.TemporaryDirectory() as folder:
        told = subprocess.run(
            [sys.executable, "-m", "tests.bench.bench_bills", "--measure", str(count), "--rounds", str(rounds)],
            cwd=ROOT, check=True, capture_output=True, text=True,
            env={**os.environ, "CRANKMARK_DATA": folder, "LOG_FORMAT": "text", "ALLOWED_HOSTS": "testserver",
                 "CRANKMARK_DEVELOPMENT": "true"},
        )  # fmt: skip
    rows = [line.rsplit(" ", 1) for line in told.stdout.splitlines() if line.startswith("> ")]
    return {name.removeprefix("> "): float(value) for name, value in rows}


def measure(count: int, rounds: int) -> None:
    """Fill the book of this process and print what each thing takes."""
    from tests.tables import lay_tables

    lay_tables(Path(os.environ["CRANKMARK_DATA"]))
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garage.site.settings")
    import django

    django.setup()
    from django.utils import timezone

    from garage.people.models import Role
    from garage.record.actor import Actor
    from jobs.billing.accounts import bills_as_csv
    from jobs.billing.actions import issue_bill
    from jobs.billing.models import Bill
    from jobs.billing.queries import stored_bill, to_bill
    from jobs.costs.actions import enter_cost
    from jobs.vat.actions import add_rate
    from tests.factories import JobFactory, StaffFactory, WorkshopFactory
    from tests.signed_in import client_of

    WorkshopFactory()
    owner = StaffFactory(name="Rowan Vale", username="rowan", role=Role.OWNER)
    actor = Actor(person=owner, at=timezone.now())
    rate = add_rate(name="Standard", percent=Decimal(20), wording="", idempotency_key=uuid.uuid4(), actor=actor)
    client, today = client_of(owner), timezone.localdate()

    def issue() -> Bill:
        job = JobFactory()
        enter_cost(
            job=job, id=uuid.uuid4(), kind="part", description="Rotor arm", quantity=Decimal(1),
            unit_price=Decimal("12.40"), actor=actor,
        )  # fmt: skip
        return issue_bill(
            job=job, rates={line.pk: rate for line in to_bill(job)}, supplied_on=today, due_on=today, remarks="",
            idempotency_key=uuid.uuid4(), actor=actor,
        )  # fmt: skip

    last = _fill(issue(), count, today)

    def page(**asked: object) -> None:
        assert client.get("/bills/", asked).status_code == 200

    quarter = (today - timedelta(days=90), today)
    work: dict[str, Callable[[], object]] = {
        "list, waiting": lambda: page(state="open"),
        "list, all": lambda: page(state=""),
        "list, all, last page": lambda: page(state="", before=last),
        "issue one": issue,
        "a stored paper": lambda: stored_bill(Bill.objects.order_by("-pk").first()),
        "accountant's quarter": lambda: bills_as_csv(*quarter),
    }
    for name, do in work.items():
        do()
        taken = []
        for _ in range(rounds):
            begun = time.perf_counter()
            do()
            taken.append((time.perf_counter() - begun) * 1000)
        print(f"> {name} {statistics.median(taken):.3f}")


def _fill(like: object, count: int, today: date) -> int:
    """`count` bills like the first, one a day backwards and all but the newest paid; gives back the oldest's key."""
    from jobs.billing.models import Bill, BillRateSum, PaidBy, Payment

    values = {field.attname: getattr(like, field.attname) for field in Bill._meta.concrete_fields if field.name != "id"}
    made = Bill.objects.bulk_create(
        [
            Bill(
                **values
                | {
                    "number": f"old-{place}",
                    "series": 1,
                    "serial": place,
                    "idempotency_key": uuid.uuid4(),
                    "issued_on": today - timedelta(days=place),
                    "due_on": today - timedelta(days=place - 14),
                    "issued_at": values["issued_at"] - timedelta(days=place),
                }
            )
            for place in range(1, count)
        ],
        batch_size=500,
    )
    rate = like.rate_sums.get()  # type: ignore[attr-defined]
    BillRateSum.objects.bulk_create(
        [
            BillRateSum(bill=bill, rate_id=rate.rate_id, percent=rate.percent, net=rate.net, vat=rate.vat)
            for bill in made
        ],
        batch_size=500,
    )
    Payment.objects.bulk_create(
        [
            Payment(
                id=uuid.uuid4(),
                bill=bill,
                amount=bill.gross,
                paid_on=today,
                paid_by=PaidBy.CARD,
                by_id=bill.issued_by_id,
                made_at=bill.issued_at,
                received_at=bill.issued_at,
            )
            for bill in made[60:]
        ],
        batch_size=500,
    )
    return int(made[-1].pk)


if __name__ == "__main__":
    main()
