"""Every file that the workshop keeps, one after the other, wherever its storage has them."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, Any

from django.core.files.storage import FileSystemStorage, Storage


@dataclass(frozen=True, slots=True)
class KeptFile:
    """A file under its name in the storage, `/` between folders."""

    name: str
    open: Callable[[], IO[bytes]]
    size: Callable[[], int]
    changed_at: Callable[[], float]


def kept_files(storage: Storage) -> Iterator[KeptFile]:
    """All of `storage`, in the order of their names; what is just being written begins with a point and is left out."""
    if isinstance(storage, FileSystemStorage):
        return files_in(Path(storage.path("")))
    return _stored(storage, "")


def files_in(folder: Path) -> Iterator[KeptFile]:
    for file in sorted(folder.rglob("*")):
        if file.is_file() and not file.is_symlink() and not file.name.startswith("."):
            yield on_disk(file, file.relative_to(folder).as_posix())


def on_disk(file: Path, name: str) -> KeptFile:
    return KeptFile(name, lambda: file.open("rb"), lambda: file.stat().st_size, lambda: file.stat().st_mtime)


def _stored(storage: Storage, folder: str) -> Iterator[KeptFile]:
    folders, names = storage.listdir(folder)
    for name in sorted(names):
        if name and not name.startswith("."):
            yield _one_stored(storage, f"{folder}{name}")
    for inner in sorted(folders):
        yield from _stored(storage, f"{folder}{inner}/")


def _one_stored(storage: Storage, name: str) -> KeptFile:
    def opened() -> Any:
        return storage.open(name)

    def changed_at() -> float:
        moment: datetime = storage.get_modified_time(name)
        return moment.timestamp()

    return KeptFile(name, opened, lambda: storage.size(name), changed_at)
