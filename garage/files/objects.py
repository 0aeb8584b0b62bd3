"""Photographs and documents in an S3-compatible store: acknowledged before the record names them, never public."""

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import PurePosixPath
from typing import Any

from boto3.exceptions import Boto3Error
from boto3.s3.transfer import TransferConfig
from botocore.config import Config
from botocore.exceptions import BotoCoreError, ClientError
from django.core.files.base import ContentFile, File
from s3transfer.exceptions import RetriesExceededError
from storages.backends.s3 import S3Storage

from garage.files.storage import StorageAwayError, note_saved

# A person waits before a tablet, and whoever else writes to an SQLite book waits too.
CONNECT_WITHIN, ANSWER_WITHIN, TRIES = 2.0, 5.0, 2  # [seconds]


class ObjectStorage(S3Storage):
    """django-storages' own, except that it fails soon and in a sentence, never overwrites, and hands out no address."""

    def __init__(self, **options: Any) -> None:
        self.within = (options.pop("connect_within", CONNECT_WITHIN), options.pop("answer_within", ANSWER_WITHIN))
        config = Config(
            connect_timeout=self.within[0],
            read_timeout=self.within[1],
            retries={"mode": "standard", "total_max_attempts": TRIES},
            s3={"addressing_style": "path" if options.get("endpoint_url") else "auto"},
            signature_version="s3v4",
        )
        super().__init__(
            client_config=config,
            transfer_config=TransferConfig(use_threads=False),
            file_overwrite=False,
            querystring_auth=True,
            **options,
        )

    def get_available_name(self, name: str, max_length: int | None = None) -> str:
        """A name nobody else has. A store cannot be asked to take a name only if it is free, so chance sees to it."""
        path = PurePosixPath(name)
        mark = f"-{secrets.token_hex(6)}{path.suffix}"
        stem = str(path.with_suffix(""))
        return (stem[: max_length - len(mark)] if max_length else stem) + mark

    def _save(self, name: str, content: File) -> str:
        with _said_in_a_sentence("Nothing was saved. "):
            kept = str(super()._save(name, content))
        note_saved(kept)
        return kept

    def put_back(self, name: str, content: File) -> None:
        """Keep `content` under the very `name` it had, such as a row of a restored book says; nothing is overwritten.

        Raises
        ------
        FileExistsError
            If something lies there.
        StorageAwayError
            If the store does not answer.
        """
        if self.exists(name):
            raise FileExistsError(name)
        with _said_in_a_sentence(""):
            super()._save(name, content)

    def _open(self, name: str, mode: str = "rb") -> File:
        """The whole file: what is served is hashed first, and an answer that began must not stop half way."""
        key = self._normalize_name(name)
        # A photograph, a paper or a packed road log: `garage.site.uploads` says how large each may be.
        body = BytesIO()
        with _said_in_a_sentence(""):
            self.bucket.Object(key).download_fileobj(body, Config=self.transfer_config)
        return ContentFile(body.getvalue(), name)

    def exists(self, name: str) -> bool:
        with _said_in_a_sentence(""):
            try:
                self.connection.meta.client.head_object(Bucket=self.bucket_name, Key=self._normalize_name(name))
            except ClientError as answer:
                if _is_missing(answer):
                    return False
                raise
        return True

    def delete(self, name: str) -> None:
        with _said_in_a_sentence(""):
            super().delete(name)

    def url(self, name: str, *args: Any, **kwargs: Any) -> str:
        raise ValueError("A file of the workshop has no address: it is served after the sign-in, by its page.")


@contextmanager
def _said_in_a_sentence(done: str) -> Iterator[None]:
    try:
        yield
    except ClientError as answer:
        if _is_missing(answer):
            raise FileNotFoundError("not in the store") from answer
        raise _away(done) from answer
    except (BotoCoreError, Boto3Error, RetriesExceededError) as problem:
        raise _away(done) from problem


def _away(done: str) -> StorageAwayError:
    return StorageAwayError(f"The store of photographs does not answer. {done}Try again in a minute.")


def _is_missing(answer: ClientError) -> bool:
    return answer.response.get("Error", {}).get("Code") in ("404", "NoSuchKey")
