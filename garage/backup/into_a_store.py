"""The files of a restored book, put into an S3-compatible store instead of a folder."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from botocore.exceptions import BotoCoreError, ClientError
from django.core.files.base import ContentFile, File
from django.core.files.storage import FileSystemStorage, storages

from garage.backup.errors import BackupError
from garage.files.address import FilesAddressError, storage_at
from garage.files.kept import files_in, kept_files
from garage.files.storage import StorageError

if TYPE_CHECKING:
    from garage.files.objects import ObjectStorage


# Lies in the store from the first file to the last: what a killed restore left behind is nobody's book.
MARK = ".restoring"


def store_at(url: str) -> "ObjectStorage":
    """The store at `url`, which reads as FILES_URL does; empty, or emptied of what a killed restore left in it.

    Raises
    ------
    BackupError
        If it cannot be understood or reached, or holds the files of a book.
    """
    try:
        store: ObjectStorage = storages.create_storage(storage_at(url, Path()))  # type: ignore[assignment]
        if isinstance(store, FileSystemStorage):
            raise BackupError("The store for the files reads as FILES_URL does: s3://bucket/folder?endpoint=…")
        with _said_with("The store for the files cannot be used"):
            if store.exists(MARK):
                _empty(store)
            holds_files = next(kept_files(store), None) is not None
    except FilesAddressError as problem:
        raise BackupError(str(problem)) from problem
    if holds_files:
        raise BackupError(f"{url} is not empty. Name an empty folder in it: nothing is ever restored over a book.")
    return store


@contextmanager
def moved_into(store: "ObjectStorage", folder: Path) -> Iterator[None]:
    """Every file of `folder` is in `store` within this, under its own name, and `folder` is gone.

    They are taken out of the store again if what is done within this fails.

    Raises
    ------
    BackupError
        If the store did not take one.
    """
    try:
        with _said_with("The store did not take every file. Nothing was restored"):
            store.put_back(MARK, ContentFile(b"A restore is going on, or was killed."))
            for file in files_in(folder):
                with file.open() as opened:
                    store.put_back(file.name, File(opened))
                if store.size(file.name) != file.size():
                    raise BackupError(f"{file.name} is not whole in the store. Try again.")
        shutil.rmtree(folder)
        yield
        with _said_with("The book is restored, and the mark of the restore could not be taken out of the store"):
            store.delete(MARK)
    except BaseException:
        with suppress(BackupError), _said_with(""):
            _empty(store)
        raise


def _empty(store: "ObjectStorage") -> None:
    for file in kept_files(store):
        store.delete(file.name)
    store.delete(MARK)


@contextmanager
def _said_with(failed: str) -> Iterator[None]:
    """Refusals of the store, in a sentence that begins with `failed`."""
    try:
        yield
    except StorageError as problem:
        raise BackupError(f"{failed}: {problem}") from problem
    except (ClientError, BotoCoreError) as problem:
        raise BackupError(f"{failed}: {str(problem).splitlines()[0].rstrip('.')}.") from problem
