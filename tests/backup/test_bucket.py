"""The newest backup lies in a bucket too, and what the bucket does is never the end of the one on the disk.

The storage is moto's server in this very process, which speaks S3's protocol as boto3 sends it.
"""

import http.server
import os
import threading
from datetime import timedelta

import boto3
import pytest
from django.utils import timezone
from moto.server import ThreadedMotoServer

from garage.backup import bucket, encryption, restoring, shelf, workshop
from garage.backup.archive import NAME
from garage.backup.bucket import Place
from garage.backup.errors import BackupError, NotSentError
from garage.backup.soundness import unsound
from tests.backup.book import PAPER, laid_out

PLACE = "s3://workshop/backups"


@pytest.fixture(scope="module")
def storage():
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    yield "http://{}:{}".format(*server.get_host_and_port())
    server.stop()


@pytest.fixture
def credentials(monkeypatch, settings):
    for name, value in {
        "AWS_ACCESS_KEY_ID": "a key", "AWS_SECRET_ACCESS_KEY": "a secret", "AWS_DEFAULT_REGION": "us-east-1",
    }.items():  # fmt: skip
        monkeypatch.setenv(name, value)
    monkeypatch.setattr(bucket, "ATTEMPTS", 1)
    settings.BACKUP_BUCKET = PLACE


@pytest.fixture
def objects(storage, credentials, monkeypatch):
    """The bucket, empty."""
    monkeypatch.setenv("AWS_ENDPOINT_URL_S3", storage)
    opened = boto3.resource("s3").Bucket("workshop")
    opened.create()
    opened.objects.all().delete()
    return opened


@pytest.fixture
def second_place(settings, tmp_path, monkeypatch):
    """A folder for the backups of a small book, which is this workshop's for the test."""
    source = laid_out(tmp_path / "data")
    monkeypatch.setattr(workshop, "_this_workshop", lambda: source)
    settings.BACKUP_FOLDER = tmp_path / "shelf"
    settings.BACKUP_FOLDER.mkdir()
    return settings.BACKUP_FOLDER


def test_a_proven_backup_lies_in_the_bucket_too_byte_for_byte(objects, second_place):
    made = workshop.back_up(second_place)
    assert made.not_sent == ""
    assert objects.Object(f"backups/{made.file.name}").get()["Body"].read() == made.file.read_bytes()
    assert [backup.name for backup in workshop.in_the_bucket()] == [made.file.name]
    assert workshop.what_is_wrong(timezone.now()) == ""


def test_an_archive_of_many_parts_arrives_whole(objects, tmp_path, monkeypatch):
    monkeypatch.setattr(bucket, "PART", 5 * 1024 * 1024)
    (tmp_path / "large.tar").write_bytes(os.urandom(12 * 1024 * 1024))
    bucket.send(tmp_path / "large.tar", Place.named(PLACE))
    assert objects.Object("backups/large.tar").get()["Body"].read() == (tmp_path / "large.tar").read_bytes()


def test_a_book_is_restored_straight_from_the_bucket(objects, second_place, tmp_path):
    made = workshop.back_up(second_place)
    restoring.restore(f"{PLACE}/{made.file.name}", tmp_path / "new", check=unsound)
    assert (tmp_path / "new" / "files" / "documents" / "label.pdf").read_bytes() == PAPER


def test_an_encrypted_one_too(objects, second_place, tmp_path, settings, monkeypatch):
    monkeypatch.setattr(encryption, "WORK", 4)
    settings.BACKUP_PASSPHRASE_FILE = tmp_path / "passphrase"
    settings.BACKUP_PASSPHRASE_FILE.write_text("four words nobody guesses")
    settings.BACKUP_PASSPHRASE_FILE.chmod(0o600)
    made = workshop.back_up(second_place)
    workshop.restore(f"{PLACE}/{made.file.name}", tmp_path / "new", database=None, passphrase_file=None)
    assert (tmp_path / "new" / "files" / "documents" / "label.pdf").read_bytes() == PAPER


def test_the_bucket_keeps_seven_days_five_weeks_and_twelve_months_too(objects, second_place):
    objects.put_object(Key="backups/holiday.jpg", Body=b"x")
    for days in range(90):
        objects.put_object(Key=f"backups/{timezone.now() - timedelta(days=days):{NAME}}", Body=b"x")
    workshop.prune_the_bucket()
    kept = workshop.in_the_bucket()
    assert 7 + 3 <= len(kept) <= 7 + 5 + 4
    assert [backup.made_at.date() for backup in kept[:7]] == [
        (timezone.now() - timedelta(days=days)).date() for days in range(7)
    ]
    assert "backups/holiday.jpg" in {found.key for found in objects.objects.all()}


def test_parts_of_an_archive_that_was_killed_are_swept_away_a_day_later(objects, tmp_path, monkeypatch):
    """moto says of every such upload that it began in 2010."""
    left = objects.Object("backups/left.tar").initiate_multipart_upload()
    monkeypatch.setattr(bucket, "A_DAY", timedelta(days=36500))
    (tmp_path / "a.tar").write_bytes(b"x")
    bucket.send(tmp_path / "a.tar", Place.named(PLACE))
    assert [one.id for one in objects.multipart_uploads.all()] == [left.id]
    monkeypatch.setattr(bucket, "A_DAY", timedelta(days=1))
    bucket.send(tmp_path / "a.tar", Place.named(PLACE))
    assert list(objects.multipart_uploads.all()) == []


class Broken(http.server.BaseHTTPRequestHandler):
    """A storage that answers 500 to whatever it is asked; or, told so, says nothing."""

    hangs: threading.Event | None = None

    def answer(self):
        if self.hangs is not None:
            self.hangs.wait(20)
            return
        self.send_response(500)
        self.send_header("Content-Length", "0")
        self.end_headers()

    def log_message(self, *args):
        """Nobody reads it."""


@pytest.fixture
def broken(credentials, monkeypatch):
    """A storage that is there and is of no use; `broken.hangs = Event()` makes it silent."""
    methods = ("GET", "PUT", "POST", "HEAD", "DELETE")
    handler = type("Storage", (Broken,), {f"do_{method}": Broken.answer for method in methods})
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler)
    server.daemon_threads = True
    threading.Thread(target=server.serve_forever, daemon=True).start()
    monkeypatch.setenv("AWS_ENDPOINT_URL_S3", f"http://127.0.0.1:{server.server_address[1]}")
    yield handler
    if handler.hangs:
        handler.hangs.set()
    server.shutdown()
    server.server_close()


def test_a_storage_that_answers_500_is_said_and_the_backup_on_the_disk_stays(broken, second_place):
    made = workshop.back_up(second_place)
    assert "could not be sent to s3://workshop/backups/: the storage answered 500" in made.not_sent
    assert shelf.backups(second_place)[0].proven_at
    assert workshop.what_is_wrong(timezone.now()) == made.not_sent


def test_a_storage_that_hangs_is_given_up_and_said(broken, second_place, monkeypatch):
    broken.hangs = threading.Event()
    monkeypatch.setattr(bucket, "ANSWER_WITHIN", 0.3)
    made = workshop.back_up(second_place)
    assert "the storage did not answer in time" in made.not_sent
    assert shelf.backups(second_place)[0].proven_at


def test_a_storage_that_is_away_is_said(credentials, second_place, monkeypatch):
    monkeypatch.setenv("AWS_ENDPOINT_URL_S3", "http://127.0.0.1:9")
    assert "did not answer" in workshop.back_up(second_place).not_sent


def test_what_the_bucket_refused_is_sent_once_it_takes_it_again(objects, second_place, monkeypatch, storage):
    monkeypatch.setenv("AWS_ENDPOINT_URL_S3", "http://127.0.0.1:9")
    made = workshop.back_up(second_place)
    assert workshop.left_to_send(timezone.now()) == made.file.name
    with pytest.raises(NotSentError, match="did not answer"):
        workshop.send_on(made.file.name)
    monkeypatch.setenv("AWS_ENDPOINT_URL_S3", storage)
    assert "is in s3://workshop/backups now" in workshop.send_on(made.file.name)
    assert objects.Object(f"backups/{made.file.name}").get()["Body"].read() == made.file.read_bytes()
    assert workshop.left_to_send(timezone.now()) == ""


def test_a_sending_that_was_cut_off_is_done_again_the_same_day(objects, second_place):
    made = workshop.back_up(second_place)
    made.file.with_name(made.file.name + shelf.SENT).unlink()
    assert workshop.left_to_send(timezone.now()) == "", "it may be on its way"
    assert workshop.left_to_send(timezone.now() + timedelta(hours=7)) == made.file.name


def test_a_backup_that_is_gone_needs_no_sending(objects, second_place):
    assert workshop.send_on("crankmark-20260305-020000.tar") == "A newer backup has taken its place."


def test_a_key_that_is_not_in_the_bucket_is_said(objects, tmp_path):
    with pytest.raises(BackupError, match="could not be read: the storage answered 404 NoSuchKey"):
        restoring.restore(f"{PLACE}/nothing.tar", tmp_path / "new", check=unsound)


@pytest.mark.parametrize("address", ["workshop", "s3://", "https://example.org/workshop"])
def test_what_names_no_bucket_is_said(address):
    with pytest.raises(BackupError, match="Write s3://BUCKET"):
        Place.named(address)


def test_without_credentials_it_says_that_there_are_none(credentials, second_place, monkeypatch, tmp_path):
    for name in ("AWS_ACCESS_KEY_ID", "AWS_SECRET_ACCESS_KEY"):
        monkeypatch.delenv(name)
    monkeypatch.setenv("AWS_EC2_METADATA_DISABLED", "true")
    monkeypatch.setenv("AWS_SHARED_CREDENTIALS_FILE", str(tmp_path / "none"))
    assert "credentials" in workshop.back_up(second_place).not_sent


def test_a_backup_that_was_never_sent_is_said_on_the_day_s_page(settings, second_place):
    settings.BACKUP_BUCKET = ""
    workshop.back_up(second_place)
    settings.BACKUP_BUCKET = PLACE
    assert "has not been sent to s3://workshop/backups yet" in workshop.what_is_wrong(timezone.now())
