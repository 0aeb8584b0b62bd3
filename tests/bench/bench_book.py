"""A backup, its proof and a restore of a large book, beside copying the same bytes; and the ticks of four meanwhile.

Lays a data folder of 10,000 jobs with their sheets and journals and 5 GB of photographs, opens a server on it, and lets
four tablets tick. Each figure is taken in the same run, on the same disk.
Run: python -m tests.bench.bench_book [--jobs 10000] [--gigabytes 5] [--folder /somewhere/with/room]
"""

import argparse
import hashlib
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.backup.tablet import Tablet
from tests.browser.real_server import ROOT, RealServer

WRITERS, ENTRIES, LINES, PHOTOGRAPH = 4, 40, 40, 1_250_000


def main() -> None:
    options = _asked_for()
    folder = Path(tempfile.mkdtemp(prefix="crankmark-bench-book-", dir=options.folder))
    try:
        server = RealServer(folder / "data")
        server.folder.mkdir()
        server.environment["CRANKMARK_DATA"] = str(server.folder)
        scene = server.prepare("one_sheet")
        server.run("-m", "tests.bench.bench_book", "--lay", str(server.folder), *_sizes(options))
        _say_what_is_there(server)
        server.start()
        try:
            _measure(server, scene, folder)
        finally:
            server.stop()
    finally:
        shutil.rmtree(folder)


def _asked_for() -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    parser.add_argument("--jobs", type=int, default=10_000)
    parser.add_argument("--gigabytes", type=float, default=5.0)
    parser.add_argument("--folder", type=Path, default=None)
    parser.add_argument("--lay", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.lay:
        _lay(options.lay, options.jobs, options.gigabytes)
        sys.exit(0)
    return options


def _sizes(options: argparse.Namespace) -> list[str]:
    return ["--jobs", str(options.jobs), "--gigabytes", str(options.gigabytes)]


def _lay(folder: Path, jobs: int, gigabytes: float) -> None:
    """Many jobs like the one of the scene: rows written in bulk, photographs of bytes that nobody can press."""
    import django

    django.setup()
    from django.db import transaction
    from django.utils import timezone

    from garage.people.models import Staff
    from garage.record.models import TrailEntry
    from jobs.models import ChecklistItem, Entry, Job, JobSheet, Photograph

    now, person, first = timezone.now(), Staff.objects.get(username="ines"), Job.objects.get()
    sheet, item = JobSheet.objects.get(), ChecklistItem.objects.get(key="routed")
    said = {"at": now, "by": person, "event": "noted", "subject_kind": "job", "sentence": "Routed clear of hot parts"}
    by = {"by": person, "made_at": now, "received_at": now}
    with transaction.atomic():
        made = Job.objects.bulk_create(
            [_like(first, code=f"B{n // 10_000:02}-{n % 10_000:04}") for n in range(jobs)], batch_size=500
        )
        sheets = JobSheet.objects.bulk_create([_like(sheet, job_id=job.pk) for job in made], batch_size=500)
        for start in range(0, jobs, 500):
            some = sheets[start : start + 500]
            Entry.objects.bulk_create(
                [
                    Entry(id=uuid.uuid4(), sheet=one, item=item, note="sound", **by)
                    for one in some
                    for _ in range(ENTRIES)
                ]
            )
            TrailEntry.objects.bulk_create(
                [TrailEntry(subject_id=one.job_id, job_id=one.job_id, **said) for one in some for _ in range(LINES)]
            )
    entries = list(Entry.objects.filter(sheet__in=[one.pk for one in sheets[:500]]).only("pk")[:20_000])
    photographs = folder / "files" / "photographs"
    photographs.mkdir(parents=True, exist_ok=True)
    rows = []
    for n in range(int(gigabytes * 1e9 / PHOTOGRAPH)):
        content = os.urandom(PHOTOGRAPH)
        (photographs / f"b{n}.jpg").write_bytes(content)
        name, digest = f"photographs/b{n}.jpg", hashlib.sha256(content).hexdigest()
        rows.append(
            Photograph(
                id=uuid.uuid4(),
                entry=entries[n % len(entries)],
                file=name,
                thumbnail=name,
                width=1600,
                height=1200,
                sha256=digest,
                **by,
            )
        )
    Photograph.objects.bulk_create(rows, batch_size=500)


def _like(row: Any, **changes: Any) -> Any:
    from django.db import models

    values = {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}
    for field in row._meta.concrete_fields:
        if field.unique and isinstance(field, models.UUIDField):
            values[field.attname] = uuid.uuid4()
    values[row._meta.pk.attname] = None if not isinstance(row._meta.pk, models.UUIDField) else uuid.uuid4()
    return type(row)(**values | changes)


def _say_what_is_there(server: RealServer) -> None:
    jobs, entries = (server.rows(f"SELECT count(*) FROM {table}")[0][0] for table in ("jobs_job", "jobs_entry"))
    files = [file.stat().st_size for file in (server.folder / "files").rglob("*") if file.is_file()]
    database = (server.folder / "crankmark.sqlite3").stat().st_size
    print(
        f"{jobs} jobs, {entries} entries, a database of {database / 1e6:.0f} MB, "
        f"{len(files)} photographs of {sum(files) / 1e9:.2f} GB",
        flush=True,
    )


class Writers:
    """Four tablets that tick without a pause, and how long each tick took."""

    def __init__(self, server: RealServer, scene: dict[str, Any]) -> None:
        self._tablets = [
            Tablet(server.url, scene["sessions"]["mechanic"], scene["people"]["mechanic"], scene["code"])
            for _ in range(WRITERS)
        ]
        self._tablets[0].tick("battery-isolated")
        self._stop, self.took, self.refused = threading.Event(), [], 0

    def during(self, work: Callable[[], object]) -> float:
        """How long `work` took [s]; the ticks meanwhile are in `took`."""
        self.took, self.refused, self._stop = [], 0, threading.Event()
        threads = [threading.Thread(target=self._tick, args=[tablet]) for tablet in self._tablets]
        for thread in threads:
            thread.start()
        began = time.perf_counter()
        try:
            work()
            return time.perf_counter() - began
        finally:
            self._stop.set()
            for thread in threads:
                thread.join()

    def _tick(self, tablet: Tablet) -> None:
        while not self._stop.is_set():
            began = time.perf_counter()
            try:
                tablet.tick("routed", note="looked at")
            except AssertionError:  # no answer: a tablet keeps its message and sends it again
                self.refused += 1
            self.took.append(time.perf_counter() - began)
            time.sleep(0.25)


def _measure(server: RealServer, scene: dict[str, Any], folder: Path) -> None:
    writers, shelf = Writers(server, scene), folder / "shelf"
    shelf.mkdir()
    words = folder / "passphrase"
    words.write_text("four words nobody guesses")
    words.chmod(0o600)
    manage = [sys.executable, "manage.py"]

    def run(*arguments: object) -> None:
        subprocess.run(
            [*manage, *map(str, arguments)], cwd=ROOT, env=server.environment, check=True, stdout=subprocess.DEVNULL
        )

    def backup_alone(*more: str) -> None:
        code = (
            "import sys, django; django.setup(); from pathlib import Path; from django.utils import timezone; "
            "from garage.backup import archive, passphrase, workshop; "
            "words = passphrase.read(Path(sys.argv[2])) if len(sys.argv) > 2 else None; "
            "archive.make(workshop._this_workshop(), Path(sys.argv[1]), at=timezone.now(), passphrase=words)"
        )
        subprocess.run([sys.executable, "-c", code, shelf, *more], cwd=ROOT, env=server.environment, check=True)

    print(f"{'work':<34} {'seconds':>8} {'to copying':>10}   ticks  median  slowest  refused", flush=True)
    said = _Table(writers)
    said.line("nothing (10 s)", lambda: time.sleep(10))
    base = said.line("copying the same bytes, fsynced", lambda: _copied(server.folder, folder / "copy"))
    shutil.rmtree(folder / "copy")
    said.base = base
    said.line("backup: the archive", backup_alone)
    newest = max(shelf.glob("*.tar"))
    said.line("restore", lambda: run("restore", newest, "--to", folder / "restored"))
    shutil.rmtree(folder / "restored")
    newest.unlink()
    said.line("backup command: archive, proof, check", lambda: run("backup", "--to", shelf))
    max(shelf.glob("*.tar")).unlink()
    said.line("encrypted: the archive", lambda: backup_alone(str(words)))
    newest = max(shelf.glob("*.age"))
    said.line("encrypted: restore", lambda: run("restore", newest, "--to", folder / "back", "--passphrase-file", words))


class _Table:
    def __init__(self, writers: Writers) -> None:
        self._writers, self.base = writers, None

    def line(self, what: str, work: Callable[[], object]) -> float:
        took = self._writers.during(work)
        ticks = self._writers.took
        beside = f"{took / self.base:.2f}" if self.base else ""
        print(
            f"{what:<34} {took:>8.1f} {beside:>10}  "
            f"{len(ticks):>6} {statistics.median(ticks):>7.3f} {max(ticks):>8.3f} {self._writers.refused:>8}",
            flush=True,
        )
        return took


def _copied(source: Path, target: Path) -> None:
    """The files and the database, byte for byte, each on the disk: what any backup has to do at the least."""
    shutil.copytree(source, target, ignore=shutil.ignore_patterns("static", "*.log"))
    for file in target.rglob("*"):
        if file.is_file():
            descriptor = os.open(file, os.O_RDONLY)
            os.fsync(descriptor)
            os.close(descriptor)


if __name__ == "__main__":
    main()
