"""What the list of bills, issuing one, the accountant's list and a paper cost with 100 bills and with many.

Fills two books of its own, as rows, and asks the same of both in turns; medians and their ratio. With --beside, in
turns alone and while another process writes into a journal of the same book without a pause.
Run: python -m tests.bench.bench_bills [--many 10000] [--rounds 15] [--beside]
"""

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

FEW = 100
ROOT = Path(__file__).resolve().parents[2]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--many", type=int, default=10_000)
    parser.add_argument("--rounds", type=int, default=15)
    parser.add_argument("--beside", action="store_true", help="while another process writes as well")
    parser.add_argument("--measure", type=int, help=argparse.SUPPRESS)
    parser.add_argument("--write", type=int, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.write:
        write(asked.write)
        return
    if asked.measure:
        measure(asked.measure)
        return
    with _book(FEW) as few, _book(asked.many) as many:
        books = (few, many)
        names, _ = (json.loads(_line_of(book)) for book in books)
        kinds = ["alone", "beside"] if asked.beside else ["alone"]
        taken: dict[tuple[str, str], tuple[list[float], list[float]]] = {
            (name, kind): ([], []) for name in names for kind in kinds
        }
        for _ in range(asked.rounds + 1):
            for (name, kind), times in taken.items():
                for book, of_book in zip(books, times, strict=True):
                    of_book.append(float(_ask(book, name, kind)))
        lines = [_ask(book, "", "lines") for book in books]
    print(f"{'':36}{FEW:>12}{asked.many:>12}{'ratio':>8}   medians of {asked.rounds} in turns [ms]")
    for (name, kind), times in taken.items():
        of_few, of_many = (statistics.median(of_book[1:]) for of_book in times)  # the first warms up
        said = name if kind == "alone" else f"{name}, another writes"
        print(f"{said:36}{of_few:>12.1f}{of_many:>12.1f}{of_many / of_few:>8.2f}")
    if asked.beside:
        print(f"{'lines written meanwhile':36}{lines[0]:>12}{lines[1]:>12}")


@contextmanager
def _book(count: int) -> Iterator[Any]:
    """A process with a book of its own, which answers what is asked of it."""
    with tempfile.TemporaryDirectory() as folder:
        process = subprocess.Popen(
            [sys.executable, "-m", "tests.bench.bench_bills", "--measure", str(count)],
            cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
            env={**os.environ, "CRANKMARK_DATA": folder, "LOG_FORMAT": "text", "ALLOWED_HOSTS": "testserver",
                 "CRANKMARK_DEVELOPMENT": "true"},
        )  # fmt: skip
        try:
            yield process
        finally:
            process.stdin.close()  # type: ignore[union-attr]
            process.wait(timeout=60)


def _ask(book: Any, name: str, kind: str) -> str:
    book.stdin.write(f"{json.dumps([name, kind])}\n")
    book.stdin.flush()
    return _line_of(book)


def _line_of(book: Any) -> str:
    """The next answer; what else a process says is passed over."""
    for line in book.stdout:
        if line.startswith("> "):
            return str(line[2:].strip())
    raise SystemExit("A book ended before it had answered.")


def write(person: int) -> None:
    """Write lines into a journal from each 'go' to the next 'stop', and say how many came in between."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garage.site.settings")
    import django

    django.setup()
    from django.utils import timezone

    from garage.people.models import Staff
    from garage.record.actor import Actor
    from garage.record.events import Event
    from jobs.job import journal
    from jobs.job.models import Job

    by, job = Staff.objects.get(pk=person), Job.objects.order_by("pk").first()
    going, lines = threading.Event(), 0

    def keep_writing() -> None:
        nonlocal lines
        while going.wait():
            journal.write(job, Event.NOTED, "Points worn, gap set", actor=Actor(person=by, at=timezone.now()))
            lines += 1

    threading.Thread(target=keep_writing, daemon=True).start()
    for told in sys.stdin:
        (going.set if told == "go\n" else going.clear)()
        print(lines, flush=True)


class Writer:
    """Another process that writes into the same book while it is told to."""

    def __init__(self, person: int) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.bench.bench_bills", "--write", str(person)],
            cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        self.lines = 0

    @contextmanager
    def at_work(self) -> Iterator[None]:
        self._tell("go")
        time.sleep(0.05)  # it is under way
        try:
            yield
        finally:
            self.lines = self._tell("stop")

    def end(self) -> None:
        self._process.stdin.close()  # type: ignore[union-attr]
        self._process.wait(timeout=30)

    def _tell(self, word: str) -> int:
        self._process.stdin.write(f"{word}\n")  # type: ignore[union-attr]
        self._process.stdin.flush()  # type: ignore[union-attr]
        return int(self._process.stdout.readline())  # type: ignore[union-attr]


def measure(count: int) -> None:
    """Fill the book of this process, then say what each thing takes that is asked for."""
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
    print(f"> {json.dumps(list(work))}", flush=True)
    writer: Writer | None = None
    for line in sys.stdin:
        name, kind = json.loads(line)
        if kind == "lines":
            print(f"> {writer.lines if writer else 0}", flush=True)
        elif kind == "alone":
            print(f"> {_timed(work[name])}", flush=True)
        else:
            writer = writer or Writer(owner.pk)
            with writer.at_work():
                took = _timed(work[name])
            print(f"> {took}", flush=True)
    if writer:
        writer.end()


def _timed(do: Callable[[], object]) -> float:
    begun = time.perf_counter()
    do()
    return (time.perf_counter() - begun) * 1000


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
