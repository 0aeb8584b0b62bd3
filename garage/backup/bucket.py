"""A second place in a bucket of S3-compatible storage: `s3://bucket/folder`.

Credentials, region and the server's address are those that boto3 finds: AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY,
AWS_DEFAULT_REGION, AWS_ENDPOINT_URL_S3, or its own files.
"""

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import IO, Any

from garage.backup.errors import BackupError

SCHEME = "s3://"
# [seconds] A server that says nothing for so long is given up; asked once more, then the next hour.
CONNECT_WITHIN, ANSWER_WITHIN = 10, 60
ATTEMPTS = 2
A_DAY = timedelta(days=1)
PART = 16 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Place:
    """A bucket, and what all our keys in it begin with: empty, or a folder with its stroke."""

    bucket: str
    prefix: str

    @classmethod
    def named(cls, address: str) -> "Place":
        bucket, _, prefix = address.removeprefix(SCHEME).partition("/")
        if not address.startswith(SCHEME) or not bucket:
            raise BackupError(f"{address} names no bucket. Write s3://BUCKET or s3://BUCKET/FOLDER.")
        return cls(bucket, f"{prefix.strip('/')}/" if prefix.strip("/") else "")

    def __str__(self) -> str:
        return f"{SCHEME}{self.bucket}/{self.prefix}"


@dataclass(frozen=True, slots=True)
class Stored:
    """One object in the bucket, named within its place."""

    name: str
    size: int


def send(file: Path, place: Place) -> None:
    """Put `file` into the bucket; there under its name, whole, when this returns, or not at all.

    Raises
    ------
    BackupError
        If the storage does not take it. The file itself stays where it is.
    """
    with _talking(f"{file.name} could not be sent to {place}") as storage:
        from boto3.s3.transfer import TransferConfig

        _sweep(storage, place)
        parts = TransferConfig(multipart_threshold=PART, multipart_chunksize=PART, use_threads=False)
        with file.open("rb") as opened:
            storage.upload_fileobj(opened, place.bucket, place.prefix + file.name, Config=parts)
        there = storage.head_object(Bucket=place.bucket, Key=place.prefix + file.name)["ContentLength"]
    if there != file.stat().st_size:
        raise BackupError(f"{file.name} is not whole in {place}. It is sent again next time.")


def listed(place: Place) -> list[Stored]:
    with _talking(f"{place} could not be listed") as storage:
        pages = storage.get_paginator("list_objects_v2").paginate(Bucket=place.bucket, Prefix=place.prefix)
        return [
            Stored(row["Key"].removeprefix(place.prefix), row["Size"])
            for page in pages
            for row in page.get("Contents", [])
        ]


def take_away(name: str, place: Place) -> None:
    with _talking(f"{name} could not be taken away from {place}") as storage:
        storage.delete_object(Bucket=place.bucket, Key=place.prefix + name)


@contextmanager
def opened(address: str) -> Iterator[tuple[IO[bytes], int]]:
    """What lies at `s3://bucket/key`, as a stream, and its size in bytes."""
    place = Place.named(address)
    with _talking(f"{address} could not be read") as storage:
        answer = storage.get_object(Bucket=place.bucket, Key=place.prefix.rstrip("/"))
        yield answer["Body"], answer["ContentLength"]


def _sweep(storage: Any, place: Place) -> None:
    """Take away the parts of archives whose sending was killed: a storage keeps them, unseen, and has them paid."""
    from botocore.exceptions import ClientError

    with suppress(
        ClientError
    ):  # a key that may only write archives, or a storage without this, is no reason not to send
        for row in storage.list_multipart_uploads(Bucket=place.bucket, Prefix=place.prefix).get("Uploads", []):
            if datetime.now(UTC) - row["Initiated"] > A_DAY:
                storage.abort_multipart_upload(Bucket=place.bucket, Key=row["Key"], UploadId=row["UploadId"])


@contextmanager
def _talking(failed: str) -> Iterator[Any]:
    """The storage, and its refusals in a sentence that begins with `failed`."""
    try:
        import boto3
        from boto3.exceptions import Boto3Error
        from botocore.config import Config
        from botocore.exceptions import BotoCoreError, ClientError, ConnectionError, HTTPClientError
        from urllib3.exceptions import HTTPError
    except ImportError as problem:
        raise BackupError("A bucket needs one more package: pip install '.[s3]'.") from problem
    patience = Config(
        connect_timeout=CONNECT_WITHIN,
        read_timeout=ANSWER_WITHIN,
        retries={"total_max_attempts": ATTEMPTS, "mode": "standard"},
    )
    try:
        yield boto3.Session().client("s3", config=patience)
    except ClientError as problem:
        said = problem.response.get("Error", {})
        code = problem.response.get("ResponseMetadata", {}).get("HTTPStatusCode", "")
        raise BackupError(
            f"{failed}: the storage answered {code} {said.get('Code', '')}.".replace("  ", " ")
        ) from problem
    except (HTTPClientError, ConnectionError) as problem:
        raise BackupError(f"{failed}: the storage did not answer in time, or not at all.") from problem
    except (BotoCoreError, Boto3Error, HTTPError, ValueError) as problem:
        raise BackupError(f"{failed}: {str(problem).splitlines()[0].rstrip('.')}.") from problem
