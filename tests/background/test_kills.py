"""A worker that is killed in the middle loses nothing: its task is taken again, and done once.

Twice; `CRANKMARK_KILLS=50` kills as often.
"""

import os
import random
import signal
import subprocess
import sys
import time

import pytest

from tests.backup.book import managed
from tests.browser.real_server import ROOT
from tests.tables import lay_tables

KILLS = int(os.environ.get("CRANKMARK_KILLS", "2"))
PATIENCE = 60
PUT_IN = """
from garage.background.queue import put_in
from tests.background.tasks import noted
for key, file in {wanted!r}:
    put_in(noted, key, file=file, first_lasts=30.0)
"""


@pytest.fixture
def book(tmp_path):
    folder = tmp_path / "data"
    folder.mkdir()
    lay_tables(folder)
    return folder


def a_worker(folder, log):
    inherited = {name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "CRANKMARK_BACKUP")}
    return subprocess.Popen(
        [sys.executable, "manage.py", "work"], cwd=ROOT, stdout=log, stderr=log,
        env={
            **inherited, "CRANKMARK_DATA": str(folder), "SECRET_KEY": "a key for this test", "PYTHONPATH": str(ROOT),
            "CRANKMARK_BACKGROUND_SILENCE": "2",
        },
    )  # fmt: skip


def until(happened):
    deadline = time.monotonic() + PATIENCE
    while not happened():
        assert time.monotonic() < deadline, "it never happened"
        time.sleep(0.05)


def test_a_killed_workers_task_is_taken_again_and_done_once(book, tmp_path):
    files = [tmp_path / f"noted{n}" for n in range(KILLS)]
    wanted = [(file.name, str(file)) for file in files]
    put = managed(book, "shell", "-v0", "-c", PUT_IN.format(wanted=wanted))
    assert put.returncode == 0, put.stderr
    dice = random.Random(11)
    with (tmp_path / "log").open("wb") as log:
        for file in files:
            worker = a_worker(book, log)
            until(file.exists)
            time.sleep(dice.uniform(0, 0.2))
            worker.send_signal(signal.SIGKILL)
            worker.wait()
        last = a_worker(book, log)
        try:
            until(lambda: all("done" in file.read_text() for file in files))
        finally:
            last.terminate()
            last.wait()
    for file in files:
        said = [line.split()[0] for line in file.read_text().splitlines()]
        assert said == ["begun", "begun", "done"]
