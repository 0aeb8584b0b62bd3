"""A backup goes back to machines whose photographs and documents lie in a store: whole, or nothing is left of it.

The store is moto's server in this very process, which speaks S3's protocol as boto3 sends it.
"""

import boto3
import pytest
from moto.server import ThreadedMotoServer

from garage.backup import into_a_store, workshop
from garage.backup.errors import BackupError
from garage.files.storage import StorageAwayError
from tests.backup.book import laid_out

# botocore calls what Python 3.12 deprecates; it is not ours to mend.
pytestmark = pytest.mark.filterwarnings("default::DeprecationWarning")


@pytest.fixture(scope="module")
def moto():
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    yield "http://{}:{}".format(*server.get_host_and_port())
    server.stop()


@pytest.fixture
def bucket(moto, monkeypatch):
    for name, value in {
        "AWS_ACCESS_KEY_ID": "a key", "AWS_SECRET_ACCESS_KEY": "a secret", "AWS_DEFAULT_REGION": "us-east-1",
    }.items():  # fmt: skip
        monkeypatch.setenv(name, value)
    opened = boto3.resource("s3", endpoint_url=moto).Bucket("yard")
    opened.create()
    opened.objects.all().delete()
    return opened


@pytest.fixture
def url(moto, bucket):
    return f"s3://yard/book?endpoint={moto}&region=us-east-1"


@pytest.fixture
def source(tmp_path, monkeypatch):
    made = laid_out(tmp_path / "data")
    monkeypatch.setattr(workshop, "_this_workshop", lambda: made)
    return made


@pytest.fixture
def archive(source, tmp_path, settings):
    settings.BACKUP_BUCKET = ""
    (tmp_path / "shelf").mkdir()
    return workshop.back_up(tmp_path / "shelf").file


def restored(archive, folder, url):
    return workshop.restore(archive, folder, database=None, passphrase_file=None, files_to=url)


def lying_in(bucket):
    return {one.key: one.get()["Body"].read() for one in bucket.objects.all()}


def files_of(source):
    return {f"book/{file.name}": (source.folder / "files" / file.name).read_bytes() for file in source.files()}


def test_each_file_has_its_old_name_and_bytes_in_the_store(archive, source, bucket, url, tmp_path):
    restored(archive, tmp_path / "new", url)
    assert lying_in(bucket) == files_of(source)
    assert not (tmp_path / "new" / "files").exists()
    assert (tmp_path / "new" / "crankmark.sqlite3").exists()


def test_a_store_that_holds_something_is_refused(archive, bucket, url, tmp_path):
    bucket.put_object(Key="book/photographs/of-another-book.jpg", Body=b"kept")
    with pytest.raises(BackupError, match="is not empty"):
        restored(archive, tmp_path / "new", url)
    assert lying_in(bucket) == {"book/photographs/of-another-book.jpg": b"kept"}
    assert not (tmp_path / "new").exists()


def test_a_store_that_fails_half_way_leaves_nothing(archive, bucket, url, tmp_path, monkeypatch):
    from garage.files.objects import ObjectStorage

    put_back, asked = ObjectStorage.put_back, []

    def failing(self, name, content):
        asked.append(name)
        if len(asked) == 2:
            raise StorageAwayError("The store of photographs does not answer.")
        put_back(self, name, content)

    monkeypatch.setattr(ObjectStorage, "put_back", failing)
    with pytest.raises(BackupError, match="Nothing was restored: The store of photographs"):
        restored(archive, tmp_path / "new", url)
    assert lying_in(bucket) == {}
    assert not (tmp_path / "new").exists()


def test_what_a_killed_restore_left_in_the_store_is_taken_away(archive, source, bucket, url, tmp_path):
    bucket.put_object(Key=f"book/{into_a_store.MARK}", Body=b"")
    bucket.put_object(Key="book/photographs/half.jpg", Body=b"half")
    restored(archive, tmp_path / "new", url)
    assert lying_in(bucket) == files_of(source)


def test_what_names_no_store_is_said(archive, tmp_path):
    with pytest.raises(BackupError, match="FILES_URL must read"):
        restored(archive, tmp_path / "new", "https://example.org/yard")


def test_without_a_store_the_files_lie_in_the_folder(archive, tmp_path):
    restored(archive, tmp_path / "new", "")
    assert (tmp_path / "new" / "files").is_dir()


def test_a_store_that_is_away_is_said_and_nothing_is_restored(archive, bucket, tmp_path):
    with pytest.raises(BackupError, match="The store for the files cannot be used"):
        restored(archive, tmp_path / "new", "s3://yard/book?endpoint=http://127.0.0.1:9&region=us-east-1")
    assert not (tmp_path / "new").exists()
