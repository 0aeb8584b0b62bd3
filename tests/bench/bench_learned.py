"""What the learned page and the band of like cars take, by the number of cars in the book, side by side in one run.

Books of 40, 400 and 4,000 cars are made in turns in a throw-away folder, each given up before the next. The page, the
count of like cars and their band under a curve are asked for in each. Run: python -m tests.bench.bench_learned
"""

import os
import statistics
import tempfile
import time
from collections.abc import Callable

SIZES, ROUNDS, ASKED = (40, 400, 4000), 3, 3


def milliseconds(ask: Callable[[], object]) -> float:
    """The median of several askings, in processor time: other work on the machine does not count."""
    took = []
    for _ in range(ASKED):
        began = time.process_time()
        ask()
        took.append(1000 * (time.process_time() - began))
    return statistics.median(took)


def measured(cars: int) -> dict[str, float]:
    from django.core.cache import cache

    from garage.models import Staff, Vehicle
    from jobs.likeness import band
    from tests.learning.made_workshop import made_workshop
    from tests.signed_in import client_of

    made_workshop(cars)
    vehicle = Vehicle.objects.filter(engine__family="Wren twin").latest("pk")
    client = client_of(Staff.objects.get(username="bench-owner"))

    def opened(address: str) -> None:
        answer = client.get(address, headers={"host": "localhost"}, secure=True)
        if answer.status_code != 200:
            raise SystemExit(f"{address}: {answer.status_code}")

    def not_kept(ask: Callable[[Vehicle], object]) -> Callable[[], object]:
        def asked() -> object:
            cache.clear()
            return ask(vehicle)

        return asked

    return {
        "page, all engines": milliseconds(lambda: opened("/learned/")),
        "page, one family": milliseconds(lambda: opened("/learned/?family=Wren+twin")),
        "count of like cars": milliseconds(not_kept(band.like_count)),
        "band of like cars": milliseconds(not_kept(band.like_cars)),
        "band, kept": milliseconds(lambda: band.like_cars(vehicle)),
    }


def main() -> None:
    os.environ["CRANKMARK_DATA"] = tempfile.mkdtemp(prefix="crankmark-learned-")
    os.environ["DJANGO_SETTINGS_MODULE"] = "garage.site.settings"
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import transaction

    from garage.people.models import Role
    from tests.factories import StaffFactory, WorkshopFactory

    call_command("migrate", verbosity=0)
    call_command("collectstatic", verbosity=0, interactive=False)
    WorkshopFactory()
    StaffFactory(username="bench-owner", role=Role.OWNER)
    found: dict[int, list[dict[str, float]]] = {size: [] for size in SIZES}
    for _ in range(ROUNDS):
        for size in SIZES:
            with transaction.atomic():
                found[size].append(measured(size))
                transaction.set_rollback(True)
    print(f"{'[ms of processor]':22}" + "".join(f"{size:>9} cars" for size in SIZES))
    for name in found[SIZES[0]][0]:
        middles = (statistics.median(one[name] for one in found[size]) for size in SIZES)
        print(f"{name:22}" + "".join(f"{middle:>14.1f}" for middle in middles))


if __name__ == "__main__":
    main()
