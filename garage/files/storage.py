"""Where photographs and documents are kept: on the disk before the record names them, gone if it never does."""

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from pathlib import Path

from django.core.files.base import File
from django.core.files.storage import FileSystemStorage, default_storage

from garage.files.atomic import folder_on_the_disk, reach_the_disk, written_beside

_saved: ContextVar[list[str] | None] = ContextVar("_saved", default=None)


class StorageError(Exception):
    """A file cannot be kept or read now. The text is a sentence for whoever sent or asked for it."""


class StorageAwayError(StorageError):
    """The store does not answer as it should. Nothing was saved; whoever sent it may send it again."""


class StorageFullError(StorageError):
    """There is no room for a file. Nothing was saved; whoever sent it may send it again."""


class DurableStorage(FileSystemStorage):
    """Django's file storage, except that a saved file survives a power cut from the moment `save` returns."""

    def _save(self, name: str, content: File) -> str:
        try:
            name = self._kept(name, content)
        except OSError as problem:
            if problem.errno in (errno.ENOSPC, errno.EDQUOT):
                raise StorageFullError("The disk is full. Nothing was saved. Tell the owner.") from problem
            raise
        note_saved(name)
        return name

    def _kept(self, name: str, content: File) -> str:
        file = Path(self.path(name))
        folder_on_the_disk(file.parent, self.directory_permissions_mode or 0o700)
        written = written_beside(file, content.chunks())
        try:
            while not _claimed(file):
                name = self.get_available_name(name)
                file = Path(self.path(name))
            os.replace(written, file)
        finally:
            written.unlink(missing_ok=True)
        reach_the_disk(file.parent)
        return name.replace("\\", "/")


def note_saved(name: str) -> None:
    """A storage has kept a file under `name`, which `discarded_on_failure` takes away again."""
    saved = _saved.get()
    if saved is not None:
        saved.append(name)


def _claimed(file: Path) -> bool:
    """Whether the name of `file` is ours alone now."""
    try:
        os.close(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
    except FileExistsError:
        return False
    return True


def files_are_here() -> bool:
    """Whether the photographs and documents lie in a folder, and not in a store elsewhere."""
    return isinstance(default_storage, FileSystemStorage)


def files_folder() -> Path:
    """Where the photographs and documents of this workshop lie."""
    return Path(default_storage.path(""))


def files_answer() -> bool:
    """Whether photographs and documents can be reached now."""
    try:
        default_storage.exists("ready")
    except (OSError, StorageError):
        return False
    return True


@contextmanager
def discarded_on_failure() -> Iterator[None]:
    """Files saved within this are deleted again if it fails. It stands around the transaction, not inside."""
    token = _saved.set([])
    try:
        yield
    except BaseException:
        for name in _saved.get() or []:
            with suppress(OSError, StorageError):
                default_storage.delete(name)
        raise
    finally:
        _saved.reset(token)
