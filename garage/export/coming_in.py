"""Bringing the open book back into an empty workshop: every row and file as it was, or nothing."""

import hashlib
import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import Any

from django.contrib.auth.hashers import make_password
from django.contrib.auth.models import Group
from django.core.exceptions import SuspiciousFileOperation, ValidationError
from django.core.files.base import File
from django.core.files.storage import default_storage
from django.core.management.color import no_style
from django.db import DatabaseError, connection, models, transaction

from garage.export.archive import CHUNK, FILES, MISSING, ExportError
from garage.export.reading import OpenBook, opened_book
from garage.export.rows import AT_ONCE, Row, hash_of_table, made_from, published_models
from garage.export.tables import file_fields
from garage.files.storage import discarded_on_failure
from garage.people.models import Role, Staff, Workshop
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event


@dataclass(frozen=True, slots=True)
class BroughtIn:
    """What came in, and the owners who may now set a password."""

    made_at: str
    release: str
    rows: int
    files: int
    damaged: list[str]
    owners: list[str]


def bring_in(file: Path, *, at: datetime) -> BroughtIn:
    """Put the book in `file` into this empty workshop.

    One transaction: killed on the way, the workshop is empty still, and what was saved of the photographs is taken up
    by the next try. People come in without a password or PIN, links of customers without what opens them.

    Raises
    ------
    ExportError
        If the workshop is not empty, or the archive is not whole, not ours or not what it says.
    """
    _refuse_a_used_workshop()
    with opened_book(file) as book:
        try:
            with discarded_on_failure(), transaction.atomic():
                _refuse_a_used_workshop()
                for model in published_models():
                    _insert(model, book.rows(model._meta.db_table))
                _count_on()
                connection.check_constraints()
                _refuse_other_rows(book)
                _save_files(book)
                owners = _owners()
                _note(book, owners, at)
        except (ValidationError, DatabaseError, ValueError, TypeError, KeyError, SuspiciousFileOperation) as problem:
            raise ExportError(f"The rows of this export do not fit together ({_short(problem)}).") from problem
        rows = sum(table["rows"] for table in book.manifest["tables"].values())
        return BroughtIn(
            made_at=book.manifest["made_at"],
            release=book.manifest["release"],
            rows=rows,
            files=len(book.files),
            damaged=book.manifest["damaged"],
            owners=[owner.username for owner in owners],
        )


def _short(problem: Exception) -> str:
    return str(problem).splitlines()[0][:200] if str(problem) else type(problem).__name__


def _refuse_a_used_workshop() -> None:
    used = [model for model in published_models() if model._base_manager.exists()]
    if used:
        raise ExportError("This workshop is not empty. A book is brought in only where there is none.")


def _insert(model: type[models.Model], rows: Iterable[Row]) -> None:
    rows = iter(rows)
    while some := list(islice(rows, AT_ONCE)):
        things = [made_from(model, row) for row in some]
        for thing in things:
            _without_what_opens(thing)
        model._base_manager.bulk_create(things, batch_size=200)
        if model is Staff:
            for person, row in zip(things, some, strict=True):
                person.groups.set(Group.objects.filter(name__in=row["roles"]))  # type: ignore[attr-defined]


def _without_what_opens(thing: models.Model) -> None:
    """Put in what stayed at home: what nobody knows, so that it opens nothing."""
    if isinstance(thing, Staff):
        thing.password = make_password(None)
    elif thing._meta.db_table == "jobs_customerlink":
        thing.token_sha256 = hashlib.sha256(secrets.token_bytes(32)).hexdigest()  # type: ignore[attr-defined]


def _count_on() -> None:
    """What is numbered next is numbered after the last that came in."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), published_models()):
            cursor.execute(statement)


def _refuse_other_rows(book: OpenBook) -> None:
    told: dict[str, Any] = book.manifest["tables"]
    for model in published_models():
        table = model._meta.db_table
        rows, digest = hash_of_table(model)
        if table in told and (told[table].get("rows"), told[table].get("rows_sha256")) != (rows, digest):
            raise ExportError(f"The rows of {table} are not what the export says. Nothing was brought in.")
    unknown = told.keys() - {model._meta.db_table for model in published_models()}
    if unknown:
        raise ExportError(f"This release has no table {min(unknown)}. Nothing was brought in.")


def _save_files(book: OpenBook) -> None:
    lost = {sentence.removesuffix(MISSING) for sentence in book.manifest["damaged"] if sentence.endswith(MISSING)}
    named = {
        name
        for model in published_models()
        for field in file_fields(model)
        for name in model._base_manager.exclude(**{field.attname: ""}).values_list(field.attname, flat=True)
    }
    if stray := sorted((named - lost) ^ set(book.files)):
        raise ExportError(f"The rows and the files differ: {stray[0]}. Nothing was brought in.")
    for name in book.files:
        if default_storage.exists(name):
            # Left by a try that was killed; anything else of that name is somebody's.
            if _same(name, book):
                continue
            if default_storage.size(name):
                raise ExportError(f"{name} is in the way in the folder of files. Nothing was brought in.")
            # Killed between taking the name and putting the file there.
            default_storage.delete(name)
        if default_storage.save(name, _Packed(book, name)) != name:
            raise ExportError(f"{name} cannot be kept under its name. Nothing was brought in.")


class _Packed(File):
    """A file in the archive, read as it is needed."""

    def __init__(self, book: OpenBook, name: str) -> None:
        super().__init__(book.archive.open(f"{FILES}/{name}"), name)


def _same(name: str, book: OpenBook) -> bool:
    kept, told = hashlib.sha256(), hashlib.sha256()
    with default_storage.open(name) as opened:
        for chunk in opened.chunks(CHUNK):
            kept.update(chunk)
    for chunk in book.chunks(name):
        told.update(chunk)
    return kept.digest() == told.digest()


def _owners() -> list[Staff]:
    owners = list(Staff.objects.filter(groups__name=Role.OWNER, is_active=True).order_by("pk"))
    if not owners or not Workshop.objects.exists():
        raise ExportError("The export has no workshop, or no owner who may sign in. Nothing was brought in.")
    return owners


def _note(book: OpenBook, owners: list[Staff], at: datetime) -> None:
    """Whoever sits at the machine's console is not known by name: it stands under the first owner, and says how."""
    made, release = book.manifest["made_at"], book.manifest["release"]
    sentence = f"Book of {made} (release {release}) brought in by import_book at the machine's console"
    trail.write(Event.BOOK_BROUGHT_IN, Workshop.objects.get(), sentence, actor=Actor(person=owners[0], at=at))
