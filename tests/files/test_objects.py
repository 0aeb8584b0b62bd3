"""Files in a store that speaks S3, against moto's server in this process; and a store that is ill."""

import hashlib
import io
import socket
import threading
import uuid
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import boto3
import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from moto.server import ThreadedMotoServer

from garage.files.address import FilesAddressError, storage_at
from garage.files.storage import StorageAwayError, discarded_on_failure, files_answer
from jobs.checklists.actions import record_photograph
from jobs.checklists.models import Photograph
from jobs.checklists.photographs import prepared
from jobs.checklists.stored import PhotographDamagedError, stored_photograph
from tests.checklists.factories import photograph, sheet_with, signed_by

# botocore calls what Python 3.12 deprecates; it is not ours to mend.
pytestmark = pytest.mark.filterwarnings("default::DeprecationWarning")

BUCKET = "workshop"
LOOM = {"key": "loom", "kind": "photo"}


@pytest.fixture(scope="module")
def moto():
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    yield "http://{}:{}".format(*server.get_host_and_port())
    server.stop()


@pytest.fixture
def _keys(monkeypatch):
    for name, value in [
        ("AWS_ACCESS_KEY_ID", "id"),
        ("AWS_SECRET_ACCESS_KEY", "secret"),
        ("AWS_DEFAULT_REGION", "us-east-1"),
    ]:
        monkeypatch.setenv(name, value)


def kept_at(settings, endpoint):
    told = storage_at(f"s3://{BUCKET}/book?endpoint={endpoint}&region=us-east-1", None)
    told["OPTIONS"] |= {"connect_within": 0.5, "answer_within": 0.5}
    settings.STORAGES = {**settings.STORAGES, "default": told}


@pytest.fixture
def bucket(moto, _keys, settings):
    client = boto3.client("s3", endpoint_url=moto)
    client.create_bucket(Bucket=BUCKET)
    kept_at(settings, moto)
    yield boto3.resource("s3", endpoint_url=moto).Bucket(BUCKET)
    boto3.resource("s3", endpoint_url=moto).Bucket(BUCKET).objects.all().delete()
    client.delete_bucket(Bucket=BUCKET)


@pytest.fixture(params=["answers 500", "hangs", "is not there"])
def ill(request, _keys, settings):
    """A store that takes connections and does no good; nothing at all listens in the last case."""
    over = threading.Event()

    class Ill(BaseHTTPRequestHandler):
        def ill(self):
            if request.param == "hangs":
                over.wait(10)
            self.send_response(500)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *words):
            pass

    for method in ("GET", "HEAD", "PUT", "POST", "DELETE"):
        setattr(Ill, f"do_{method}", Ill.ill)
    server = ThreadingHTTPServer(("127.0.0.1", 0), Ill)
    server.daemon_threads = True
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    port = server.server_address[1]
    if request.param == "is not there":
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
    kept_at(settings, f"http://127.0.0.1:{port}")
    yield
    over.set()
    server.shutdown()
    server.server_close()


def recorded(person):
    record_photograph(
        sheet=sheet_with([LOOM], person=person), key="loom", id=uuid.uuid4(), entry_id=uuid.uuid4(),
        actor=signed_by(person), picture=prepared(io.BytesIO(photograph())),
    )  # fmt: skip


def test_what_is_saved_comes_back_as_it_was(bucket):
    name = default_storage.save("documents/label.pdf", ContentFile(b"a paper"))
    assert default_storage.open(name).read() == b"a paper"
    assert [each.key for each in bucket.objects.all()] == [f"book/{name}"]


def test_two_files_of_one_name_are_both_kept(bucket):
    names = [default_storage.save("documents/label.pdf", ContentFile(content)) for content in (b"first", b"second")]
    assert [default_storage.open(name).read() for name in names] == [b"first", b"second"]


def test_nobody_reads_a_file_without_the_keys(bucket, moto):
    name = default_storage.save("documents/label.pdf", ContentFile(b"a paper"))
    granted = bucket.Object(f"book/{name}").Acl().grants
    assert not [grant for grant in granted if "AllUsers" in str(grant) or "AuthenticatedUsers" in str(grant)]
    with pytest.raises(ValueError, match="no address"):
        default_storage.url(name)


def test_a_file_whose_record_fails_is_taken_away_again(bucket):
    def fails():
        with discarded_on_failure():
            default_storage.save("documents/lost.pdf", ContentFile(b"x"))
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fails()
    assert list(bucket.objects.all()) == []


def test_a_missing_file_is_a_missing_file(bucket):
    assert not default_storage.exists("documents/none.pdf")
    with pytest.raises(FileNotFoundError):
        default_storage.open("documents/none.pdf")


def test_a_store_that_answers_is_ready(bucket):
    assert files_answer()


def test_a_photograph_is_served_after_its_hash_was_checked(bucket, mechanic):
    recorded(mechanic)
    kept = Photograph.objects.get()
    assert hashlib.sha256(stored_photograph(kept)).hexdigest() == kept.sha256
    bucket.Object(f"book/{kept.file.name}").put(Body=b"something else")
    with pytest.raises(PhotographDamagedError):
        stored_photograph(Photograph.objects.get())


def test_no_fact_is_recorded_without_its_file(ill, mechanic):
    with pytest.raises(StorageAwayError, match=r"does not answer. Nothing was saved. Try again"):
        recorded(mechanic)
    assert not Photograph.objects.exists()


def test_an_ill_store_is_not_ready(ill):
    assert not files_answer()


def test_a_file_that_cannot_be_read_now_is_not_called_missing(ill):
    with pytest.raises(StorageAwayError, match="does not answer"):
        default_storage.open("documents/label.pdf")


@pytest.mark.parametrize(
    "url", ["https://bucket/", "s3://", "s3://key:secret@bucket/", "s3://bucket/?publik=yes", "bucket"]
)
def test_an_address_that_is_none_is_said_at_the_start(url, tmp_path):
    with pytest.raises(FilesAddressError, match="FILES_URL must read"):
        storage_at(url, tmp_path)
