"""The figures of a log as they are kept: one file with its columns, one with the levels of its time line.

Both are numpy's npz without compression: a general format that any later program can read, a few times larger than the
smallest and as quick to open as a disk is. Columns are float32, which is finer than any logger; the time is float64,
for at 100 samples a second a drive of three hours has no room in less.
"""

import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import IO, Any

import numpy as np
from django.core.files import File
from django.core.files.storage import default_storage
from django.db import transaction
from django.db.models.fields.files import FieldFile
from numpy.typing import NDArray

from jobs.roadlogs.raw import DAMAGED
from jobs.roadlogs.refusals import LogRefusedError
from timing.roadlog import Level

DRAWN = ("rpm", "vacuum", "advance")


@dataclass(frozen=True, slots=True)
class KeptFigures:
    """The columns of a log: its time, speed, vacuum, commanded advance, and what else it has."""

    t_s: NDArray[np.float64]
    columns: dict[str, NDArray[np.float32]]


def keep_figures(name: str, kept: KeptFigures) -> str:
    """Keep the columns; gives back the name in the storage."""
    return _kept(name, {"t_s": kept.t_s, **{f"column_{key}": column for key, column in kept.columns.items()}})


def figures_kept(file: FieldFile, *wanted: str) -> KeptFigures:
    """The time and the `wanted` columns of a log, and no others.

    Raises
    ------
    LogRefusedError
        If the file is gone or damaged.
    """
    with _opened(file) as found:
        return KeptFigures(found["t_s"], {key: found[f"column_{key}"] for key in wanted if f"column_{key}" in found})


def keep_time_line(name: str, levels: tuple[Level, ...]) -> str:
    """Keep the levels of a time line; gives back the name in the storage."""
    arrays: dict[str, Any] = {}
    for place, level in enumerate(levels):
        arrays |= {f"t_s_{place}": level.t_s, f"low_{place}": level.low, f"high_{place}": level.high}
    return _kept(name, {"samples": np.array([level.samples for level in levels]), **arrays})


def time_line_kept(file: FieldFile) -> tuple[Level, ...]:
    """The levels of a time line, with the errors of `figures_kept`."""
    with _opened(file) as found:
        return tuple(
            Level(int(samples), found[f"t_s_{place}"], found[f"low_{place}"], found[f"high_{place}"])
            for place, samples in enumerate(found["samples"])
        )


def delete_once_kept(names: Sequence[str | None]) -> None:
    """Delete files of figures when the transaction has ended well: they can be read again from the log."""
    for name in names:
        if name:
            transaction.on_commit(lambda name=name: default_storage.delete(name), robust=True)  # type: ignore[misc]


def _kept(name: str, arrays: dict[str, Any]) -> str:
    with tempfile.TemporaryFile() as writing:
        np.savez(writing, **arrays)
        writing.seek(0)
        return default_storage.save(name, File(writing))


@contextmanager
def _opened(file: FieldFile) -> Iterator[Any]:
    try:
        with default_storage.open(str(file)) as kept, np.load(_seekable(kept), allow_pickle=False) as found:
            yield found
    except (OSError, ValueError, KeyError, EOFError) as problem:
        raise LogRefusedError(DAMAGED) from problem


def _seekable(kept: Any) -> IO[bytes]:
    return kept.file if kept.file is not None else kept
