"""What grows with the book: the pages of a small and of a large workshop, in turns in one run, on both databases.

Lays a book of each size (the same yard today, the rest handed over by and by, 5,000 jobs a year), asks for each page in
turns, and prints the times, how many times as long the large book takes, and the query plans of what grows.
Run: python -m tests.bench.bench_growth [--jobs 100 20000] [--only sqlite|postgresql]
"""

import argparse
import json
import os
import random
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
ROUNDS, ASKED_A_ROUND, A_YEAR, LINES = 4, 3, 5000, 10
ALLOWED, SHOWN_QUERIES = 1.3, 2
SECONDS = 60 * 60 * 24 * 365 / A_YEAR  # between two handovers


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--jobs", type=int, nargs=2, default=[100, 20_000])
    parser.add_argument("--only", choices=["sqlite", "postgresql"])
    parser.add_argument("--serve", type=int, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.serve:
        _answer(options.serve)
        return
    for vendor in [options.only] if options.only else ["sqlite", "postgresql"]:
        _compare(vendor, options.jobs)


def _compare(vendor: str, sizes: list[int]) -> None:
    with ExitStack() as stack:
        books = [stack.enter_context(_book(vendor, jobs)) for jobs in sizes]
        if not all(books):
            print(f"{vendor}: not installed")
            return
        filled = [json.loads(book.stdout.readline()) for book in books]  # type: ignore[union-attr]
        print(f"\n{vendor}: {sizes[0]} and {sizes[1]} jobs, the best of {ROUNDS * ASKED_A_ROUND} in turns [ms]")
        print("laid in {:.0f} and {:.0f} s".format(*(one["seconds"] for one in filled)), flush=True)
        took: dict[str, tuple[list[float], list[float]]] = {page: ([], []) for page in filled[0]["pages"]}
        for _ in range(ROUNDS):
            for page, times in took.items():
                for book, of_book in zip(books, times, strict=True):
                    of_book.extend(_ask(book, {"page": page})["ms"])
        for page, times in took.items():
            small, large = (min(of_book) for of_book in times)
            grows = large / small > ALLOWED
            print(
                f"{page:<34} {small:>8.1f} {large:>8.1f}  ×{large / small:.2f}{'  grows' if grows else ''}", flush=True
            )
            for query in _ask(books[1], {"plans": page})["plans"] if grows else []:
                print(f"    {query['ms']:.1f} ms: {query['sql'][:300]}\n      " + "\n      ".join(query["plan"][:14]))


@contextmanager
def _book(vendor: str, jobs: int) -> Iterator[Any]:
    from tests.postgres import thrown_away

    with ExitStack() as stack:
        folder = stack.enter_context(tempfile.TemporaryDirectory(prefix="crankmark-growth-"))
        environment = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
        environment |= {
            "CRANKMARK_DATA": folder,
            "DJANGO_SETTINGS_MODULE": "garage.site.settings",
            "ALLOWED_HOSTS": "testserver",
        }
        if vendor == "postgresql":
            url = stack.enter_context(thrown_away())
            if url is None:
                yield None
                return
            environment["DATABASE_URL"] = url
        process = subprocess.Popen(
            [sys.executable, "-m", "tests.bench.bench_growth", "--serve", str(jobs)],
            cwd=ROOT, env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        )  # fmt: skip
        try:
            yield process
        finally:
            process.stdin.close()  # type: ignore[union-attr]
            process.wait(timeout=60)


def _ask(book: Any, asked: dict[str, str]) -> Any:
    book.stdin.write(json.dumps(asked) + "\n")
    book.stdin.flush()
    return json.loads(book.stdout.readline())


def _answer(jobs: int) -> None:
    """In the process of one book: lay it, then answer the questions that come in."""
    import logging

    import django

    django.setup()
    from django.core.management import call_command

    from tests.signed_in import client_of

    logging.disable(logging.WARNING)
    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    began = time.perf_counter()
    person, pages = _lay(jobs)
    client = client_of(person)
    print(json.dumps({"seconds": time.perf_counter() - began, "pages": list(pages)}), flush=True)
    for line in sys.stdin:
        asked = json.loads(line)
        if "plans" in asked:
            print(json.dumps({"plans": _plans(client, pages[asked["plans"]])}), flush=True)
        else:
            print(json.dumps({"ms": [_time(client, pages[asked["page"]]) for _ in range(ASKED_A_ROUND)]}), flush=True)


def _time(client: Any, page: str) -> float:
    began = time.perf_counter()
    if page.endswith("+"):
        form = {"idempotency_key": str(uuid.uuid4()), "words": "Verdict of the road: pulls well"}
        answer = client.post(page[:-1], form)
    else:
        answer = client.get(page)
    if answer.status_code not in (200, 302):
        raise SystemExit(f"{page} answered {answer.status_code}")
    return (time.perf_counter() - began) * 1000


def _plans(client: Any, page: str) -> list[dict[str, Any]]:
    """The slowest questions of a page, and how the database goes about them."""
    from django.db import connection

    asked: list[dict[str, Any]] = []

    def timed(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        began = time.perf_counter()
        answer = execute(sql, params, many, context)
        asked.append({"ms": (time.perf_counter() - began) * 1000, "sql": sql, "params": params})
        return answer

    with connection.execute_wrapper(timed):
        client.get(page)
    slowest = sorted((one for one in asked if one["sql"].startswith(("SELECT", "WITH"))), key=lambda one: -one["ms"])
    explain = "EXPLAIN QUERY PLAN " if connection.vendor == "sqlite" else "EXPLAIN (ANALYZE, COSTS OFF) "
    with connection.cursor() as cursor:
        for one in slowest[:SHOWN_QUERIES]:
            cursor.execute(explain + one["sql"], one["params"])
            one["plan"] = [str(row[-1]) for row in cursor.fetchall()]
    return [{name: one[name] for name in ("ms", "sql", "plan")} for one in slowest[:SHOWN_QUERIES]]


def _lay(jobs: int) -> tuple[Any, dict[str, str]]:
    """A workshop of `jobs` jobs; its owner, and its pages by name."""
    from django.db import connection, transaction

    from garage.finding.index import put_together
    from garage.people.models import Role
    from tests.factories import StaffFactory, WorkshopFactory

    WorkshopFactory()
    person = StaffFactory(name="Rowan Vale", username="rowan", role=Role.OWNER)
    with transaction.atomic():
        pages = _rows(jobs, person)
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")  # as the server does by itself after a while
    put_together()  # as a worker does by night
    return person, pages


FIRST = ["Ada", "Bram", "Cleo", "Dora", "Edda", "Finn", "Greta", "Hugo", "Ida", "Joris", "Kara", "Lars", "Mina", "Nils"]
START = ["Bran", "Cald", "Dun", "Els", "Fair", "Gold", "Hart", "Ing", "Kes", "Lang", "Mar", "North", "Ost", "Pen"]
END = ["by", "combe", "dale", "er", "feldt", "gate", "holm", "ing", "ley", "mann", "ström", "ton", "wick", "worth"]
MAKES = ["Alder", "Belford", "Corvane", "Dunlow", "Eskdale", "Farrow", "Garrick", "Holmer"]
WORDS = """
    points worn condenser checked strobe reading base timing plug lead cap rotor spring weight advance curve idle rough
    smooth road hill pinking light none vacuum pipe split replaced earth strap cleaned loom relay fuse coil ballast
    resistor measured hot cold start customer rang collected tomorrow parts ordered arrived fitted tested
""".split()  # noqa: SIM905 - read as text


def _rows(jobs: int, person: Any) -> dict[str, str]:
    from django.utils import timezone

    from garage.models import Coil, Customer, Distributor, Engine, FittedUnit, Vehicle
    from garage.record.events import Event
    from garage.record.models import TrailEntry
    from jobs.job.models import GateCrossing, Job, JobSerial, Stage
    from tests.jobs_factories import FittedUnitFactory

    chance, now = random.Random(1), timezone.now()
    sayings = [" ".join(chance.choices(WORDS, k=9)).capitalize() for _ in range(5000)]
    described = FittedUnitFactory().revision
    cars = max(1, jobs * 2 // 3)

    def name_of(n: int) -> str:
        more = START[n // 2744 % 14].lower() if n >= 2744 else ""
        return f"{FIRST[n % 14]} {START[n // 14 % 14]}{END[n // 196 % 14]}{more}"

    def made(model: Any, rows: Any) -> list[Any]:
        return list(model.objects.bulk_create(rows, batch_size=500))

    customers = made(
        Customer,
        [Customer(name=name_of(n), phone=f"01632 {n:06d}", made_at=now, address=f"{n} Mill Lane") for n in range(cars)],
    )
    vehicles = [
            Vehicle(
                customer=customer, registration=f"{'ABCDEFGHJK'[n % 10]}{'LMNPRSTUVW'[n // 10 % 10]}K {n:05d} B",
                chassis_number=f"AL-{n:04d}/{chance.randrange(10**6):06d}", maker=MAKES[n % 8],
                model=f"{1000 + 100 * (n % 9)} saloon", made_at=now, notes=sayings[n % 5000],
            )
            for n, customer in enumerate(customers)
    ]  # fmt: skip
    for begin in range(0, cars, 100):  # a car and its parts are entered together
        some = list(enumerate(vehicles[begin : begin + 100], begin))
        made(Vehicle, [car for _, car in some])
        made(Engine, [Engine(vehicle=car, number=f"E {n:05d}-B") for n, car in some])
        made(Distributor, [Distributor(vehicle=car, number=f"D.{n:05d}") for n, car in some])
        made(Coil, [Coil(vehicle=car) for _, car in some])
    units = made(
        FittedUnit,
        [
            FittedUnit(
                revision=described, serial_number=f"F-{n:06d}", vehicle=car, batch=f"26-W{n % 50:02d}", made_at=now
            )
            for n, car in enumerate(vehicles)
        ],
    )
    yard = [Stage.FITTING, Stage.BASE_TIMING, Stage.INSPECTION, Stage.BOOKED, Stage.BOOKED]
    booked = made(
        Job,
        [
            Job(
                code=f"26-{n + 1:06d}", vehicle=vehicles[n % cars], unit=units[n % cars], wanted=sayings[n * 7 % 5000],
                stage=Stage.AFTER_CARE if n < jobs - 40 else yard[n % 5], made_at=now, made_by=person,
                booked_for=(now - timedelta(seconds=SECONDS * (jobs - n))).date(),
            )
            for n in range(jobs)
        ],
    )  # fmt: skip
    JobSerial.objects.update_or_create(year=2026, defaults={"last": jobs})
    gone = [now - timedelta(seconds=SECONDS * (jobs - n)) for n in range(jobs)]
    made(
        GateCrossing,
        [
            GateCrossing(job=job, left=Stage.HANDOVER, entered=Stage.AFTER_CARE, by=person, at=gone[n])
            for n, job in enumerate(booked)
            if job.stage == Stage.AFTER_CARE
        ],
    )
    for begin in range(0, jobs, 1000):
        made(
            TrailEntry,
            [
                TrailEntry(
                    at=gone[n], by=person, event=Event.NOTED, subject_kind="job", subject_id=booked[n].pk,
                    job_id=booked[n].pk, stage=booked[n].stage, sentence=sayings[(n * LINES + line) % 5000],
                )
                for n in range(begin, min(jobs, begin + 1000))
                for line in range(LINES)
            ],
        )  # fmt: skip
    marked, job = booked[jobs // 2], booked[-4]
    TrailEntry.objects.create(
        at=now, by=person, event=Event.NOTED, subject_kind="job", subject_id=marked.pk, job_id=marked.pk,
        stage=marked.stage, sentence="Verdigris under the clip of the ballast",
    )  # fmt: skip
    middle = vehicles[cars // 2]
    number, called = middle.registration.replace(" ", "").lower(), middle.customer.name
    return {
        "board": "/",
        "due back": "/lists/after-care/",
        "job": f"/jobs/{job.code}/",
        "journal": f"/jobs/{job.code}/journal/",
        "add a note": f"/jobs/{job.code}/journal/+",
        "cars": "/vehicles/",
        "cars, from the middle": f"/vehicles/?after={middle.pk}",
        "customers": "/customers/",
        "customers, from the middle": f"/customers/?after={middle.customer.pk}",
        "units": "/units/",
        "add car": "/vehicles/new/",
        "book car": "/jobs/book/",
        "choose unit": f"/jobs/{job.code}/unit/",
        "find: plate": f"/search/?q={number}",
        "find: name": f"/search/?q={called}",
        "find: name, a letter wrong": f"/search/?q={called[:-2]}x{called[-1]}",
        "find: chassis number": f"/search/?q={middle.chassis_number.split('/')[1]}",
        "find: rare word of a note": "/search/?q=verdigris",
        "find: word of every other note": "/search/?q=condenser",
        "find: make": "/search/?q=belford",
        "find: make and name": f"/search/?q={middle.maker} {called}",
        "find: nothing": "/search/?q=xylophones",
    }


if __name__ == "__main__":
    main()
