"""An import or an erasing that is killed leaves all of it or nothing, and is finished by doing it again.

Once each; with `--long` fifty times.
"""

import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing

import pytest

from tests.backup.book import managed
from tests.browser.real_server import ROOT
from tests.tables import lay_tables

BEGIN = """
import os, sys
os.environ["CRANKMARK_DATA"] = sys.argv[1]
os.environ["SECRET_KEY"] = "a key for this test"
os.environ["DJANGO_SETTINGS_MODULE"] = "garage.site.settings"
os.environ.pop("DATABASE_URL", None)
import django
django.setup()
from pathlib import Path
from django.utils import timezone
"""
FILL = (
    BEGIN
    + """
import hashlib, uuid
from datetime import timedelta
from django.contrib.auth.models import Group
from django.core.files.base import ContentFile
from django.db import transaction
from garage.export.archive import write_book
from garage.models import Customer, Staff, Vehicle, Workshop
from garage.record.actor import Actor
from jobs.job import journal
from jobs.models import IssuedDocument, Job
now = timezone.now()
with transaction.atomic():
    Workshop.objects.create(name="Lockgate Motor Works", set_up_at=now)
    owner = Staff.objects.create(username="rowan", name="Rowan Vale")
    owner.groups.set([Group.objects.get(name="owner")])
    customer = Customer.objects.create(name="Quillon Abernethy", phone="01632 960777", made_at=now)
    car = Vehicle.objects.create(customer=customer, registration="KLM 1 B", maker="Alder", model="1500", made_at=now)
    for n in range(25):
        job = Job.objects.create(code=f"26-{n:04d}", vehicle=car, wanted="Abernethy waits", made_at=now, made_by=owner)
        paper = b"%PDF-1.7 Quillon Abernethy " + os.urandom(200_000)
        IssuedDocument.objects.create(
            job=job, kind="label", number=1, file=ContentFile(paper, f"{n}.pdf"), issued_at=now, issued_by=owner,
            sha256=hashlib.sha256(paper).hexdigest(), made_from={"car": {"customer": customer.name}, "map": None})
        for line in range(20):
            journal.write(job, "noted", f"Quillon Abernethy rang ({line})", actor=Actor(person=owner, at=now))
Path(sys.argv[2]).mkdir()
write_book(Path(sys.argv[2]), at=now)
"""
)
IMPORT = (
    BEGIN
    + """
from garage.export.coming_in import bring_in
print("begun", flush=True)
bring_in(Path(sys.argv[2]), at=timezone.now())
"""
)
ERASE = (
    BEGIN
    + """
import uuid
from garage.models import Customer, Staff
from garage.record.actor import Actor
from jobs.privacy.actions import forget
actor = Actor(person=Staff.objects.get(), at=timezone.now())
print("begun", flush=True)
forget(customer=Customer.objects.get(), reason="asked", photographs=[], plates=False, words=[],
       idempotency_key=uuid.UUID(int=7), actor=actor)
"""
)
LEFTOVERS = BEGIN + "from jobs.privacy.files import remove_files\nremove_files()\n"


def run(code, *arguments):
    import subprocess
    import sys

    from tests.browser.real_server import ROOT

    subprocess.run([sys.executable, "-c", code, *map(str, arguments)], cwd=ROOT, check=True, capture_output=True)


def killed(code, *arguments, after):
    """Run `code` and kill it `after` so many seconds from its beginning; whether it was still running then."""
    running = subprocess.Popen([sys.executable, "-c", code, *map(str, arguments)], cwd=ROOT, stdout=subprocess.PIPE)
    with running:
        assert running.stdout.readline() == b"begun\n"
        time.sleep(after)
        running.send_signal(signal.SIGKILL)
        running.wait()
    return running.returncode == -signal.SIGKILL


@pytest.fixture
def kills(request) -> int:
    return 50 if request.config.getoption("long") else 1


@pytest.fixture(scope="module")
def filled(tmp_path_factory):
    """A book of sixty jobs with their papers, and its export."""
    folder = tmp_path_factory.mktemp("filled")
    (folder / "book").mkdir()
    lay_tables(folder / "book")
    shutil.copytree(folder / "book", folder / "empty")
    run(FILL, folder / "book", folder / "out")
    return folder


def counted(book):
    """Rows of the trail, papers on the disk, and rows and files that still name the person."""
    with closing(sqlite3.connect(book / "crankmark.sqlite3")) as opened:
        trail = opened.execute("SELECT count(*) FROM garage_change").fetchone()[0]
        names = opened.execute("SELECT count(*) FROM garage_change WHERE sentence LIKE '%Abernethy%'").fetchone()[0]
        persons = opened.execute("SELECT count(*) FROM garage_customer WHERE name LIKE '%Abernethy%'").fetchone()[0]
        open_guard = opened.execute("SELECT count(*) FROM garage_openerasing").fetchone()[0]
        whole = opened.execute("PRAGMA integrity_check(1)").fetchone()[0]
    papers = len(list((book / "files" / "documents").glob("*.pdf")))
    assert (open_guard, whole) == (0, "ok")
    return trail, names, persons, papers


def test_an_import_that_is_killed_is_whole_or_none_and_is_finished_by_the_next(filled, tmp_path, kills):
    archive, dice, cut_off = next((filled / "out").iterdir()), random.Random(13), 0
    told = counted(filled / "book")
    for n in range(kills):
        book = tmp_path / f"new{n}"
        shutil.copytree(filled / "empty", book)
        cut_off += killed(IMPORT, book, archive, after=dice.uniform(0.1, 1.5))
        trail, *_ = counted(book)
        assert trail in (0, told[0] + 1)
        if not trail:
            answer = managed(book, "import_book", str(archive))
            assert answer.returncode == 0, answer.stderr
        assert counted(book) == (told[0] + 1, *told[1:])
        shutil.rmtree(book)
    assert cut_off or kills == 1


def test_an_erasing_that_is_killed_is_whole_or_none_and_is_finished_by_the_next(filled, tmp_path, kills):
    dice, cut_off = random.Random(14), 0
    told = counted(filled / "book")
    for n in range(kills):
        book = tmp_path / f"book{n}"
        shutil.copytree(filled / "book", book)
        cut_off += killed(ERASE, book, after=dice.uniform(0.05, 1.2))
        trail, names, persons, papers = counted(book)
        assert (trail, names, persons) in ((*told[:3],), (told[0] + 1, 0, 0))
        if persons:
            assert papers == told[3]
            run(ERASE, book)
        else:
            run(LEFTOVERS, book)
        assert counted(book) == (told[0] + 1, 0, 0, 0)
        raw = b"".join(file.read_bytes() for file in book.rglob("*") if file.is_file())
        assert b"Abernethy" not in raw
        shutil.rmtree(book)
    assert cut_off or kills == 1
