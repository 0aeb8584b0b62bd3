"""Files that hold secrets: whole or not there at all, and readable by their owner alone."""

import os
import tempfile
from pathlib import Path


def private_folder(folder: Path) -> Path:
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    folder.chmod(0o700)
    return folder


def keep(file: Path, content: bytes) -> None:
    """Put `content` in the place of `file` in one step: who reads it sees the old one or the new one."""
    written = _written_beside(file, content)
    os.replace(written, file)


def keep_first(file: Path, content: bytes) -> bytes:
    """Keep `content` unless somebody else was first; gives back what is kept."""
    written = _written_beside(file, content)
    try:
        os.link(written, file)
    except FileExistsError:
        return file.read_bytes()
    finally:
        written.unlink()
    return content


def _written_beside(file: Path, content: bytes) -> Path:
    descriptor, name = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}-")  # made with mode 0600
    written = Path(name)
    try:
        with os.fdopen(descriptor, "wb") as opened:
            opened.write(content)
            opened.flush()
            os.fsync(opened.fileno())
    except OSError:
        written.unlink(missing_ok=True)
        raise
    return written
