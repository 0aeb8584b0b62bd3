"""What was acknowledged outlives the power: entries, photographs and papers, on a disk of which a copy is left.

The disk is an ext4 image on a loop device. Some time after the last answer, 0 to 2 s, the image is copied: what the
kernel has not written by then is not in the copy, as after a power cut. The copy is mounted and read. One cut; fifty
with `--long`. Skipped where nothing can be mounted.
"""

import hashlib
import os
import random
import shutil
import sqlite3
import subprocess
import time
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from tests.backup.tablet import Tablet
from tests.browser.real_server import RealServer
from tests.checklists.factories import photograph

ENTRIES, PHOTOGRAPHS = 7, 4
MEGABYTES = 192


def commanded(*arguments: object) -> bool:
    return subprocess.run([str(one) for one in arguments], check=False, capture_output=True).returncode == 0


@contextmanager
def mounted(image: Path, place: Path):
    place.mkdir()
    if not commanded("mount", "-o", "loop", image, place):
        pytest.skip("no disk image can be mounted here")
    try:
        yield place
    finally:
        subprocess.run(["umount", place], check=True)
        place.rmdir()


@pytest.fixture
def disk(tmp_path):
    image = tmp_path / "disk.img"
    with image.open("wb") as opened:
        opened.truncate(MEGABYTES * 1024 * 1024)
    if os.getuid() != 0 or not commanded("mkfs.ext4", "-q", image):
        pytest.skip("only root can make and mount a disk image")
    with mounted(image, tmp_path / "disk") as place:
        yield image, place


@pytest.fixture
def tablet(disk):
    _, place = disk
    server = RealServer(place / "data")
    server.folder.mkdir()
    scene = server.prepare("one_sheet")
    server.start()
    tablet = Tablet(server.url, scene["sessions"]["mechanic"], scene["people"]["mechanic"], scene["code"])
    tablet.tick("battery-isolated")  # a hold point: nothing else is entered before it
    yield tablet
    server.stop()


def sent_by(tablet) -> dict[str, list[str]]:
    """One turn of work, every part of it acknowledged."""
    return {
        "entries": [tablet.tick("routed", note=f"looked at {n}") for n in range(ENTRIES)],
        "photographs": [tablet.photograph("loom", photograph()) for _ in range(PHOTOGRAPHS)],
        "papers": [tablet.paper()],
    }


def survived(folder: Path, sent: dict[str, list[str]]) -> dict[str, int]:
    """How much of `sent` is in the book in `folder`, its file with the hash that the record names."""
    with closing(sqlite3.connect(folder / "crankmark.sqlite3")) as book:
        assert book.execute("PRAGMA integrity_check").fetchone() == ("ok",)

        def rows(query: str, ids: list[str]):
            return [row for one in ids for row in book.execute(query, [one.replace("-", "")])]

        kept = {
            "photographs": rows("SELECT file, sha256 FROM jobs_photograph WHERE id = ?", sent["photographs"]),
            "papers": rows("SELECT file, sha256 FROM jobs_issueddocument WHERE idempotency_key = ?", sent["papers"]),
        }
        found = {"entries": len(rows("SELECT id FROM jobs_entry WHERE id = ?", sent["entries"]))}
    for kind, files in kept.items():
        found[kind] = sum(_hash(folder / "files" / name) == sha256 for name, sha256 in files)
    return found


def _hash(file: Path) -> str:
    return hashlib.sha256(file.read_bytes()).hexdigest() if file.exists() else ""


def test_what_was_acknowledged_is_there_whole_after_a_power_cut(disk, tablet, tmp_path, request):
    image, _ = disk
    dice, cuts = random.Random(13), 50 if request.config.getoption("long") else 1
    all_sent, all_found = dict.fromkeys(("entries", "photographs", "papers"), 0), {}
    for n in range(cuts):
        sent = sent_by(tablet)
        time.sleep(dice.uniform(0, 2) if cuts > 1 else 0)
        shutil.copyfile(image, tmp_path / "cut.img")
        with mounted(tmp_path / "cut.img", tmp_path / f"cut{n}") as place:
            found = survived(place / "data", sent)
        for kind, ids in sent.items():
            all_sent[kind] += len(ids)
            all_found[kind] = all_found.get(kind, 0) + found[kind]
    if cuts > 1:
        with request.config.pluginmanager.getplugin("capturemanager").global_and_fixture_disabled():
            print(f"\n{cuts} power cuts: of {all_sent} acknowledged, {all_found} whole")
    assert all_found == all_sent
