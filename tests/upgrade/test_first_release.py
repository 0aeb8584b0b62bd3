"""A data folder that the first release filled opens under this one, with every page, seal and paper as it was.

`tests/fixtures/first-release-demo.tar.xz` was made by the first release's own `manage.py demo`, on 28 November 2026.
"""

import hashlib
import json
import os
import subprocess
import sys
import tarfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKED = ROOT / "tests" / "fixtures" / "first-release-demo.tar.xz"
# Counted in the folder as it was packed.
JOURNAL_LINES = 1036
TRIGGERS = 46


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    into = tmp_path_factory.mktemp("first-release")
    with tarfile.open(PACKED) as archive:
        archive.extractall(into, filter="data")
    return into / "data"


@pytest.fixture(scope="module")
def papers(folder):
    """The hash of every document's bytes, before this release has touched the folder."""
    return {
        f"documents/{file.name}": hashlib.sha256(file.read_bytes()).hexdigest()
        for file in (folder / "files" / "documents").iterdir()
    }


@pytest.fixture(scope="module")
def found(folder, papers):
    environment = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    done = subprocess.run(
        [sys.executable, "-m", "tests.upgrade.drive"],
        cwd=ROOT,
        env=environment | {"CRANKMARK_DATA": str(folder), "CRANKMARK_DEVELOPMENT": "true"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    return json.loads(done.stdout)


def test_every_page_of_every_job_opens(found):
    assert len(found["answers"]) > 80
    assert {name: status for name, status in found["answers"].items() if status != 200} == {}


def test_every_document_is_given_out_byte_for_byte_as_it_was_issued(found, papers):
    assert len(papers) == 3
    assert {name: given for name, (given, _) in found["documents"].items()} == papers
    assert all(given == kept for given, kept in found["documents"].values())


def test_every_seal_is_still_true(found):
    assert found["sound"]
    assert all(found["sound"])


def test_no_line_of_any_journal_is_lost(found):
    assert found["journal"] >= JOURNAL_LINES


def test_the_database_still_refuses_to_change_the_record(found):
    assert found["triggers"] >= TRIGGERS
    assert found["loose_ends"] == 0
