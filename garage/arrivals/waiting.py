"""A list on its way: read, kept for its reader until it is brought in, and gone after a day."""

from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet

from garage.arrivals.columns import guessed, header_sha256, refusal_of
from garage.arrivals.doubles import the_book
from garage.arrivals.models import ColumnPlan, WaitingList
from garage.arrivals.plan import Choice, Plan, plan_of
from garage.arrivals.reading import Table
from garage.record.actor import Actor

KEPT_FOR = timedelta(days=1)
LONGEST_NAME = 120


@transaction.atomic
def wait(*, table: Table, file_name: str, actor: Actor) -> WaitingList:
    """Keep `table` for whoever uploaded it, in place of an earlier one of theirs and of everybody's of yesterday."""
    WaitingList.objects.filter(by=actor.person).delete()
    drop_old(actor.at)
    known = ColumnPlan.objects.filter(header_sha256=header_sha256(table.header)).first()
    return WaitingList.objects.create(
        by=actor.person,
        at=actor.at,
        file_name="".join(letter for letter in file_name if letter.isprintable())[-LONGEST_NAME:],
        header=table.header,
        rows=table.rows,
        columns=known.columns if known else guessed(table.header),
    )


def known_before(waiting: WaitingList) -> bool:
    """Whether a list with this header was brought in before."""
    return ColumnPlan.objects.filter(header_sha256=header_sha256(waiting.header)).exists()


@transaction.atomic
def choose_columns(*, waiting: WaitingList, columns: list[str], actor: Actor) -> None:
    """Say what the columns hold, and keep that for the next list of this header. Earlier choices begin again."""
    waiting.columns, waiting.choices = columns, {}
    waiting.save(update_fields=["columns", "choices"])
    ColumnPlan.objects.update_or_create(
        header_sha256=header_sha256(waiting.header), defaults={"columns": columns, "at": actor.at}
    )


@transaction.atomic
def choose(*, waiting_id: UUID, choices: dict[str, str], for_all: str = "") -> None:
    """Keep what is to be done with the doubles; `for_all` with every one of them. A list that is gone has none."""
    waiting = WaitingList.objects.select_for_update().filter(pk=waiting_id).first()
    if waiting is None:
        return
    waiting.choices |= {key: choice for key, choice in choices.items() if choice in list(Choice)}
    if for_all in list(Choice):
        asked = [
            (planned.row.line, part.kind) for planned in plan_for(waiting).rows for part in planned.parts if part.asks
        ]
        waiting.choices |= {f"{line} {kind}": for_all for line, kind in asked}
    waiting.save(update_fields=["choices"])


def drop(*, waiting_id: UUID, actor: Actor) -> None:
    WaitingList.objects.filter(pk=waiting_id, by=actor.person).delete()


def some_are_old(now: datetime) -> bool:
    return _old(now).exists()


def drop_old(now: datetime) -> int:
    """Remove the lists that waited for more than a day; how many."""
    return _old(now).delete()[0]


def _old(now: datetime) -> QuerySet[WaitingList]:
    return WaitingList.objects.filter(at__lt=now - KEPT_FOR)


def drop_all() -> None:
    """Lists that wait hold everybody: whoever is forgotten is in none of them."""
    WaitingList.objects.all().delete()


def plan_for(waiting: WaitingList) -> Plan:
    """What bringing `waiting` in would do to the book as it is now."""
    rows: list[tuple[int, list[str]]] = [(line, cells) for line, cells in waiting.rows]
    return plan_of(rows, header=waiting.header, columns=waiting.columns, choices=waiting.choices, book=the_book())


def is_mapped(waiting: WaitingList) -> bool:
    """Whether the columns that were chosen make customers and cars."""
    return not refusal_of(waiting.columns)
