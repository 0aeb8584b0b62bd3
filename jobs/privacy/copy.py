"""A customer's copy of what is held about them: one archive with a sheet to read, the same as JSON, and the files."""

import json
import zipfile
from typing import IO, Any

from django.core.files.storage import default_storage
from django.template.loader import render_to_string

from garage.customers.models import Customer
from garage.export.archive import CHUNK
from garage.people.queries import get_workshop
from jobs.privacy.held import bills_of, held_about, logs_of, papers_of, photographs_of, quotes_of

# What is held in rows, in the order of the sheet, and how each kind is called there.
KINDS = {
    "cars": "Your cars",
    "jobs": "Jobs",
    "papers": "Papers",
    "bills": "Bills",
    "quotes": "Quotes",
    "payments": "Payments",
    "photographs": "Photographs",
    "logs": "Logs of drives",
    "links": "Links to your papers",
    "mails": "Mail to you",
    "reminders": "Reminders",
}


def write_copy(customer: Customer, into: IO[bytes]) -> None:
    """Write the archive into the file `into`; a file that is missing is named in the sheet's place for it."""
    held = held_about(customer)
    files = [paper.file for paper in papers_of(customer)]
    files += [bill.file for bill in bills_of(customer)]
    files += [quote.file for quote in quotes_of(customer)]
    files += [one.row.file for one in photographs_of(customer)]
    files += [log.file for log in logs_of(customer)]
    names = [str(file) for file in files]
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as archive:
        missing = [name for name in names if not _added(archive, name)]
        shown = {
            "held": held,
            "person": _row_in_words(held["person"]),
            "kinds": [(words, [_row_in_words(row) for row in held[kind]]) for kind, words in KINDS.items()],
            "workshop": get_workshop(),
            "missing": missing,
        }
        sheet = render_to_string("jobs/privacy/copy.html", shown)
        archive.writestr("what-is-held.html", sheet)
        archive.writestr("what-is-held.json", json.dumps(held, indent=1, ensure_ascii=False))


def _row_in_words(row: dict[str, Any]) -> list[tuple[str, str]]:
    return [(name.replace("_", " "), _in_words(value)) for name, value in row.items()]


def _in_words(value: Any) -> str:
    match value:
        case None:
            return "not known"
        case bool():
            return "yes" if value else "no"
        case dict():
            return ", ".join(f"{name}: {said}" for name, said in _row_in_words(value))
        case list():
            return "; ".join(map(_in_words, value)) or "none"
        case _:
            return str(value)


def _added(archive: zipfile.ZipFile, name: str) -> bool:
    try:
        with default_storage.open(name) as kept, archive.open(f"files/{name}", "w", force_zip64=True) as opened:
            for chunk in kept.chunks(CHUNK):
                opened.write(chunk)
    except FileNotFoundError:
        return False
    return True
