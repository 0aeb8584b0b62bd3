"""The cars in the workshop by who works on them or by where they stand, what is late and promised soonest first."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from garage.rota.queries import absences_between
from jobs.board.queries import BoardRow

BY_PERSON, BY_BAY = "person", "bay"


@dataclass(frozen=True, slots=True)
class Group:
    """The cars of one person or bay; `note` says what is to be known of them today."""

    heading: str
    rows: list[BoardRow]
    note: str = ""


def in_groups(rows: Iterable[BoardRow], by: str, today: date) -> list[Group]:
    """`rows` by person or by bay, those of nobody or of no bay last."""
    found: dict[tuple[bool, str], list[BoardRow]] = defaultdict(list)
    without = "No bay" if by == BY_BAY else "Nobody yet"
    for row in sorted(rows, key=_most_urgent_first):
        named = row.job.bay if by == BY_BAY else row.job.mechanic
        found[named is None, str(named or without)].append(row)
    away = {str(absence.person): absence.days for absence in absences_between(today, today)} if by == BY_PERSON else {}
    return [
        Group(heading, group, f"away {away[heading]}" if heading in away else "")
        for (_, heading), group in sorted(found.items())
    ]


def _most_urgent_first(row: BoardRow) -> tuple[bool, date, str]:
    return (not row.late, row.job.promised_for or date.max, row.job.code)
