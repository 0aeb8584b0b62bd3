"""The bench record set tight: who is who by initials, the key-in list in two columns, and what the owner overrode."""

from garage.record.plain import Plain
from jobs.checklists.models import Outcome
from jobs.documents.pictures import small_pictures


def bench_context(facts: Plain) -> Plain:
    """What the bench record shows besides the `document_data` it is made from."""
    rows = [row for sheet in facts["sheets"] for section in sheet["sections"] for row in section["rows"]]
    signs = signs_of([row["person"] for row in rows if row.get("person")])
    lines = facts["map"]["lines"] if facts["map"] else []
    half = (len(lines) + 1) // 2
    return {
        "sheets": [_with_signs(sheet, signs) for sheet in facts["sheets"]],
        "people": [[sign, name] for name, sign in signs.items()],
        "overridden": [row for row in rows if row["verdict"] == Outcome.LET_PASS.label],
        "keyed_halves": [lines[:half], lines[half:]] if lines else [],
        "pictures": small_pictures(facts.get("photographs", [])),
    }


def signs_of(names: list[str]) -> dict[str, str]:
    """Initials for each of `names`, by which a row says who wrote it; two people with the same have a figure behind."""
    signs: dict[str, str] = {}
    for name in dict.fromkeys(names):
        initials = "".join(part[0].upper() for part in name.split())
        taken = [sign for sign in signs.values() if sign.rstrip("0123456789") == initials]
        signs[name] = f"{initials}{len(taken) + 1}" if taken else initials
    return signs


def _with_signs(sheet: Plain, signs: dict[str, str]) -> Plain:
    def signed(row: Plain) -> Plain:
        name = row.get("person", "")
        return row | {"by": row["by"].replace(name, signs[name], 1) if name else row["by"]}

    sections = [section | {"rows": [signed(row) for row in section["rows"]]} for section in sheet["sections"]]
    return sheet | {"sections": sections}
