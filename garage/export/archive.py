"""Writing the open book: one zip archive, written straight to the disk, whole or not there."""

import csv
import hashlib
import io
import json
import os
import shutil
import tempfile
import time
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from django.core.files.storage import default_storage
from django.db import models

from garage.export import schema
from garage.export.rows import Row, hash_of, line_of, one_moment, published_models, rows_of
from garage.export.tables import LEFT_OUT, file_fields
from garage.files.atomic import reach_the_disk
from garage.people.queries import get_workshop
from garage.quantities.spreadsheet import as_text_cell

FORMAT = "crankmark book"
MANIFEST, SUMS, README = "manifest.json", "SHA256SUMS", "README.txt"
TABLES, CSV, FILES = "tables", "csv", "files"
NAME = "crankmark-book-%Y%m%d-%H%M%S.zip"
MAKING = ".making-"
MISSING = " is missing."
CHUNK = 1024 * 1024
A_DAY = 24 * 60 * 60


class ExportError(Exception):
    """A book that cannot be written as open files, or brought in from them. The text says why."""


@dataclass(slots=True)
class _Written:
    """What is in the archive so far."""

    archive: zipfile.ZipFile
    at: datetime
    files: dict[str, dict[str, Any]] = field(default_factory=dict)

    def add(self, name: str, chunks: Iterable[bytes], *, packed: bool = True) -> str:
        """Write one file; its SHA-256."""
        entry = zipfile.ZipInfo(name, self.at.timetuple()[:6])
        entry.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
        entry.external_attr = 0o600 << 16
        size, digest = 0, hashlib.sha256()
        with self.archive.open(entry, "w", force_zip64=True) as opened:
            for chunk in chunks:
                size += len(chunk)
                digest.update(chunk)
                opened.write(chunk)
        self.files[name] = {"bytes": size, "sha256": digest.hexdigest()}
        return digest.hexdigest()


def write_book(target: Path, *, at: datetime) -> Path:
    """The whole book in one archive in the folder `target`; on the disk and named when this returns.

    Raises
    ------
    ExportError
        If it cannot be written. Nothing is left of it then.
    """
    final = target / f"{at.astimezone(UTC):{NAME}}"
    if not target.is_dir():
        raise ExportError(f"The folder {target} is not there. Connect its disk, or make the folder.")
    if final.exists():
        raise ExportError(f"{final} is there already. Try again in a second.")
    _sweep(target)
    try:
        with tempfile.TemporaryDirectory(dir=target, prefix=MAKING) as scratch:
            written = Path(scratch) / "archive"
            with written.open("xb") as opened:
                os.fchmod(opened.fileno(), 0o600)
                with zipfile.ZipFile(opened, "w") as archive:
                    _fill(_Written(archive, at.astimezone(UTC)))
                opened.flush()
                os.fsync(opened.fileno())
            written.rename(final)
        reach_the_disk(target)
    except OSError as problem:
        raise ExportError(f"The export cannot be written to {target} ({problem.strerror or problem}).") from problem
    return final


def _sweep(target: Path) -> None:
    """Take away what was left half made when the machine went off."""
    for scratch in target.glob(f"{MAKING}*"):
        with suppress(OSError):
            if time.time() - scratch.stat().st_mtime > A_DAY:
                shutil.rmtree(scratch)


def _fill(written: _Written) -> None:
    written.add(README, [_about().encode()])
    written.add(schema.NAME, [json.dumps(schema.published(), indent=1, ensure_ascii=False).encode()])
    tables: dict[str, dict[str, Any]] = {}
    names: dict[str, None] = {}
    kept: dict[str, str] = {}
    with one_moment():
        workshop = get_workshop().name
        for model in published_models():
            table = model._meta.db_table
            # The second reading finds the same rows: both are of one moment.
            rows, digest = hash_of(line_of(row) for row in rows_of(model))
            tables[table] = {"rows": rows, "rows_sha256": digest}
            written.add(f"{TABLES}/{table}.json", _json_of(rows_of(model)))
            written.add(f"{CSV}/{table}.csv", _csv_of(schema.columns_of(table), rows_of(model)))
            names |= _named_by(model, kept)
    damaged = list(_files(written, names, kept))
    manifest = {
        "format": FORMAT,
        "version": schema.VERSION,
        "schema": schema.NAME,
        "release": _release(),
        "made_at": written.at.isoformat(timespec="seconds"),
        "workshop": workshop,
        "tables": tables,
        "files": dict(written.files),
        "damaged": damaged,
        "left_out": LEFT_OUT,
    }
    written.add(MANIFEST, [json.dumps(manifest, indent=1, ensure_ascii=False).encode()])
    sums = "".join(f"{row['sha256']}  {name}\n" for name, row in sorted(written.files.items()))
    written.add(SUMS, [sums.encode()])


def _about() -> str:
    text = (Path(__file__).parent / "about.txt").read_text(encoding="utf-8")
    return text.format(left_out="\n".join(f"  - {sentence}" for sentence in LEFT_OUT))


def _release() -> str:
    try:
        return version("crankmark")
    except PackageNotFoundError:  # run from a checkout that was never installed
        return "unknown"


def _json_of(rows: Iterator[Row]) -> Iterator[bytes]:
    yield b"["
    between = "\n"
    for row in rows:
        yield (between + line_of(row)).encode()
        between = ",\n"
    yield b"\n]\n"


def _csv_of(columns: list[str], rows: Iterator[Row]) -> Iterator[bytes]:
    page = io.StringIO(newline="")
    writer = csv.writer(page)  # commas, quotes where needed, lines that end as RFC 4180 says
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_cell(row[name]) for name in columns])
        if page.tell() > CHUNK:
            yield page.getvalue().encode()
            page.seek(0)
            page.truncate()
    yield page.getvalue().encode()


def _cell(value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list | dict):
        return json.dumps(value, ensure_ascii=False, sort_keys=True)
    return as_text_cell(value) if isinstance(value, str) else value


def _named_by(model: type[models.Model], kept: dict[str, str]) -> dict[str, None]:
    """The files that the rows of `model` name, in order; into `kept` goes the hash that the record has of one."""
    found: dict[str, None] = {}
    fields = list(file_fields(model))
    has_hash = any(one.name == "sha256" for one in model._meta.local_fields)
    for position, one in enumerate(fields):
        columns = [one.attname, "sha256"] if has_hash and not position else [one.attname, one.attname]
        for name, digest in model._base_manager.order_by("pk").values_list(*columns).iterator():
            if name:
                found[name] = None
                if columns[1] == "sha256":
                    kept[name] = digest
    return found


def _files(written: _Written, names: Iterable[str], kept: dict[str, str]) -> Iterator[str]:
    """Put the files in as they are; sentences about those that are not as the record has them."""
    for name in names:
        try:
            with default_storage.open(name) as opened:
                digest = written.add(f"{FILES}/{name}", opened.chunks(CHUNK), packed=False)
        except FileNotFoundError:
            yield f"{name}{MISSING}"
            continue
        if kept.get(name, digest) != digest:
            yield f"{name} is not as it was saved."
