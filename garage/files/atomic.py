"""Files that are whole or not there at all, readable by their owner alone, and on the disk once kept."""

import os
import tempfile
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path


def private_folder(folder: Path) -> Path:
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    folder.chmod(0o700)
    return folder


def keep(file: Path, content: bytes) -> None:
    """Put `content` in the place of `file` in one step: who reads it sees the old one or the new one."""
    os.replace(written_beside(file, [content]), file)
    reach_the_disk(file.parent)


def keep_first(file: Path, content: bytes) -> bytes:
    """Keep `content` unless somebody else was first; gives back what is kept."""
    written = written_beside(file, [content])
    try:
        os.link(written, file)
        reach_the_disk(file.parent)
    except FileExistsError:
        return file.read_bytes()
    finally:
        written.unlink()
    return content


def kept_text(file: Path, make: Callable[[], str]) -> str:
    """What `file` says; where there is none, or somebody emptied it, what `make` gives, the same in every process."""
    if file.exists() and not file.read_text().strip():
        file.unlink(missing_ok=True)
    try:
        return file.read_text().strip()
    except FileNotFoundError:
        return keep_first(file, make().encode()).decode().strip()


def written_beside(file: Path, chunks: Iterable[bytes]) -> Path:
    """A file of `chunks` in the folder of `file`, with mode 0600, whose bytes are on the disk."""
    descriptor, name = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}-")
    written = Path(name)
    try:
        with os.fdopen(descriptor, "wb") as opened:
            for chunk in chunks:
                opened.write(chunk)
            opened.flush()
            os.fsync(opened.fileno())
    except BaseException:
        written.unlink(missing_ok=True)
        raise
    return written


def folder_on_the_disk(folder: Path, mode: int = 0o700) -> None:
    """Make `folder` and those above it that are missing, each entered in the one above it on the disk too."""
    missing = [folder, *folder.parents]
    missing = missing[: next(place for place, each in enumerate(missing) if each.exists())]
    for each in reversed(missing):
        each.mkdir(mode=mode, exist_ok=True)
        reach_the_disk(each.parent)


def reach_the_disk(folder: Path) -> None:
    """Return when the names in `folder` are on the disk: a file's own fsync does not keep its name."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        # Some network folders cannot do this for a folder, and do it by themselves.
        with suppress(OSError):
            os.fsync(descriptor)
    finally:
        os.close(descriptor)
